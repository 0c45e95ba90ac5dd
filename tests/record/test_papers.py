"""The files of papers: a PDF known by its bytes, refused with a sentence where it may not be kept; pictures the way of photos."""

import zlib
from hashlib import sha256
from io import BytesIO

import pytest
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from pypdf import PdfReader, PdfWriter
from pypdf.actions import JavaScript
from weasyprint import HTML

from apps.record import papers
from apps.record.ids import uuid7
from apps.record.models import Attachment
from apps.record.papers import MAX_BYTES, NotAPaper, copy_of, fault_of, keep
from apps.record.photos import sealed_name, shown_name
from tests.factories.record import certificate_pdf, packed, png
from tests.factories.times import NOW


def upload(data: bytes, name: str = "mill.pdf") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, data, "text/html")


@pytest.mark.django_db
def test_a_pdf_is_sealed_byte_for_byte_and_handed_out_so() -> None:
    data = certificate_pdf()
    kept = keep(log=uuid7(), file=upload(data, "named.exe"), at=NOW)
    assert (kept.kind, kept.name, kept.size, kept.width) == ("application/pdf", "named.exe", len(data), 0)
    assert kept.sha256 == sha256(data).hexdigest()
    with default_storage.open(sealed_name(kept.sha256)) as file:
        assert file.read() == data
    assert not default_storage.exists(shown_name(kept.sha256))
    assert copy_of(kept) == (data, "application/pdf")


@pytest.mark.django_db
def test_a_picture_of_a_paper_goes_the_way_of_photos() -> None:
    kept = keep(log=uuid7(), file=upload(png(), "scan.pdf"), at=NOW)
    assert (kept.kind, kept.width) == ("image/png", 8)
    copy, kind = copy_of(kept)
    assert kind == "image/jpeg" and copy.startswith(b"\xff\xd8")


@pytest.mark.django_db
def test_the_same_paper_twice_is_sealed_once() -> None:
    log = uuid7()
    assert len({keep(log=log, file=upload(certificate_pdf()), at=NOW).pk for _ in range(2)}) == 1


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"", "is empty"),
        (b"<html>no certificate</html>", "neither a PDF nor a JPEG or PNG picture"),
        (b"GIF89a" + bytes(40), "neither a PDF nor a JPEG or PNG picture"),
        (b"RIFF\x00\x00\x00\x00WEBP", "neither a PDF nor a JPEG or PNG picture"),
        (b"MZ" + certificate_pdf(), "neither a PDF nor a JPEG or PNG picture"),
        (png()[:40], "not a JPEG, PNG or WebP picture that can be read"),
        (certificate_pdf()[:-20], "does not begin and end as a PDF does"),
        (certificate_pdf() + b"<script>", "does not begin and end as a PDF does"),
        (certificate_pdf(pages=0), "without a page"),
        (certificate_pdf(trailer=b"/Encrypt 9 0 R"), "is encrypted"),
        (certificate_pdf(trailer=b"/Encr#79pt 9 0 R"), "is encrypted"),
        (certificate_pdf(b"/OpenAction << /S /JavaScript /JS (app.alert) >>"), "carries JavaScript"),
        (certificate_pdf(b"/OpenAction << /S /Rendition /JS(app.alert) >>"), "carries JavaScript"),
        (certificate_pdf(b"/OpenAction << /S /J#61vaScript >>"), "carries JavaScript"),
        (certificate_pdf(b"/AA << /O << /S /Launch /F (a) >> >>"), "starts a program"),
        (certificate_pdf(b"/Names << /EmbeddedFiles 7 0 R >>"), "files inside it"),
        (certificate_pdf(b"/AF [<< /EF << /F 7 0 R >> >>]"), "files inside it"),
        (certificate_pdf(more=packed(b"<< /S /JavaScript /JS (app.alert) >>")), "carries JavaScript"),
        (certificate_pdf(more=packed(b"<< /S /Launc#68 >>")), "starts a program"),
        (certificate_pdf(more=packed(b"<< >>").replace(b"/FlateDecode", b"/LZWDecode  ")), "cannot be read to its end"),
        (certificate_pdf(more=packed(b"<< >>").replace(b"endstream", b"")), "cannot be read to its end"),
        (certificate_pdf(more=packed(b"<< >>").replace(b">>\nstream", b">> % \nstream")), "cannot be read to its end"),
    ],
)
def test_what_is_no_paper_is_refused_by_its_bytes(data: bytes, why: str) -> None:
    with pytest.raises(NotAPaper, match=why):
        keep(log=uuid7(), file=upload(data), at=NOW)
    assert not Attachment.objects.exists()


@pytest.mark.django_db
def test_a_pdf_over_ten_megabytes_is_refused() -> None:
    with pytest.raises(NotAPaper, match="larger than 10 MB"):
        keep(log=uuid7(), file=upload(certificate_pdf(more=b"%" + bytes(MAX_BYTES) + b"\n")), at=NOW)


def test_pages_may_stand_in_an_object_stream() -> None:
    assert fault_of(certificate_pdf(pages=0, more=packed(b"<< /Type /Page >>"))) == ""


def test_what_unpacks_to_too_much_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(papers, "MAX_UNPACKED", 1000)
    assert fault_of(certificate_pdf(more=packed(b" " * 900))) == ""
    assert "cannot be read to its end" in fault_of(certificate_pdf(more=packed(b" " * 1100)))
    assert "cannot be read to its end" in fault_of(certificate_pdf(more=packed(b" " * 600) * 2))


def test_words_in_drawn_text_and_chance_bytes_of_a_stream_are_no_fault() -> None:
    """What a page draws may speak of these things, and packed bytes may look like a short name."""
    drawn = b"9 0 obj << /Length 3 >>\nstream\n(Steel) /JS /EF \nendstream endobj\n"
    assert fault_of(certificate_pdf(more=drawn)) == ""
    assert zlib.decompress(packed(b"x").split(b"stream\n")[1].split(b"\nendstream")[0]) == b"x"


def test_papers_made_by_other_hands_are_judged_alike() -> None:
    """WeasyPrint packs its objects into streams; pypdf writes them out, locks them, gives them an action or a file."""
    plain = HTML(string="<html lang=en><title>C</title><p>Heat 20814</p>").write_pdf(
        pdf_variant="pdf/ua-1", pdf_tags=True
    )
    assert b"/ObjStm" in plain
    assert fault_of(plain) == fault_of(rewritten(plain, "add_metadata", {"/Title": "C"})) == ""
    assert "JavaScript" in fault_of(rewritten(plain, "add_open_action", JavaScript("app.alert(1)")))
    assert "is encrypted" in fault_of(rewritten(plain, "encrypt", "secret"))
    assert "files inside it" in fault_of(rewritten(plain, "add_attachment", "a.txt", b"a"))


def rewritten(plain: bytes, change: str, *said: object) -> bytes:
    """Return a PDF as pypdf writes it after a change."""
    writer, kept = PdfWriter(clone_from=PdfReader(BytesIO(plain))), BytesIO()
    getattr(writer, change)(*said)
    writer.write(kept)
    return kept.getvalue()
