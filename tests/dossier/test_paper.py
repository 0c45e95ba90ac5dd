"""The dossier on paper: it says what the record says, keeps its margins whatever people typed, and fetches nothing."""

import json
import re
import zipfile
from datetime import timedelta
from hashlib import sha256
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from django.core.files.storage import default_storage
from django.urls import reverse
from pypdf import PdfReader

from apps.corridor.models import Corridor, Foundation
from apps.dossier import batch, paper
from apps.findings.models import Finding
from apps.holdpoints.models import Measurement
from apps.jobs import queue
from apps.jobs.models import Job
from apps.people.models import Person
from apps.record import merkle, photos
from apps.record.models import Attachment, Entry, Head
from apps.sheet import pdf as sheets
from tests.factories import findings
from tests.factories.corridor import bring_in
from tests.factories.holdpoints import after, at_stage, give_notice, hold_point, inspect, photos_for
from tests.factories.places import fix, on_grid
from tests.factories.times import NOW

pytestmark = [
    pytest.mark.django_db,
    # The colour profile of the archive form is opened inside the library and left to the collector.
    pytest.mark.filterwarnings("ignore:unclosed file.*sRGB2014:ResourceWarning"),
]
ADDRESS = "https://lamps.example.org/c/alder-mesa/record/LP-001/"
AT = NOW + timedelta(days=40)
SIZES = ("letter", "A4")


def made(foundation: Foundation, **more: Any) -> bytes:
    return paper.dossier(foundation.corridor, foundation.mark, at=AT, address=ADDRESS, **more)


def text_of(written: bytes) -> str:
    return " ".join(" ".join(page.extract_text().split()) for page in PdfReader(BytesIO(written)).pages)


def squeezed(text: str) -> str:
    """A text without blanks: where a long one is broken over lines, the PDF has more of them."""
    return re.sub(r"\s", "", text)


def faces(written: bytes) -> set[str]:
    found = set()
    for page in PdfReader(BytesIO(written)).pages:
        for each in page["/Resources"].get("/Font", {}).values():  # type: ignore[attr-defined]
            font = each.get_object()
            found.add(str(font["/BaseFont"]))
            assert "+" in font["/BaseFont"], "a face that is not embedded"
    return found


def outside(foundation: Foundation, size: str) -> list[str]:
    """Return every text that stands outside the margins of its page, as laid out."""
    context = paper.assembled(foundation.corridor, foundation, at=AT, address=ADDRESS)
    document = sheets.laid_out(paper.TEMPLATE, context, at=AT, size=size)
    margin, lost, seen = 0.6 * 96, [], 0
    for page in document.pages:
        for box in page._page_box.descendants():
            if getattr(box, "text", None) and box.text.strip():
                seen += 1
                right, low = box.position_x + box.width, box.position_y + box.height
                if (
                    box.position_x < margin - 1
                    or right > page.width - margin + 1
                    or not 0 < low < page.height - 0.2 * 96
                ):
                    lost.append(box.text[:60])
    assert seen > 100
    return lost


class TestWhatItSays:
    def test_mark_readings_findings_root_and_pages(self, foundation: Foundation) -> None:
        at_stage(foundation, "drill", "released")
        finding = findings.raised(foundation, stage="cage", at=after(foundation))
        written = made(foundation)
        read, text = PdfReader(BytesIO(written)), text_of(written)
        head = Head.objects.get(log=foundation.corridor_id)
        assert foundation.mark in text and "105+20.00" in text
        assert head.root in squeezed(text)
        assert finding.name in text and "Casing left in the hole" in text and "Not complete." in text
        assert f"1 of {len(read.pages)}" in text and f"{len(read.pages)} of {len(read.pages)}" in text
        rows = Measurement.objects.filter(foundation=foundation)
        assert rows.count() > 20
        for row in rows:
            assert squeezed(row.title) in squeezed(text), row.title
            assert squeezed(row.value_text) in squeezed(text), row.value_text
        for entry in Entry.objects.of_log(foundation.corridor_id).about(foundation.mark):
            assert entry.leaf[:12] in text
        assert "There is no box for signature and seal" in text

    def test_a_complete_one_has_the_box_for_signature_and_seal(self, pedestal: Foundation) -> None:
        at_stage(pedestal, "pole_set", "released")
        text = text_of(made(pedestal))
        assert "Complete." in text and "place for seal" in text and "I reviewed the record of PB-001" in text
        assert "Computed checks" in text

    def test_a_foundation_where_nothing_happened_has_one_too(self, foundation: Foundation) -> None:
        text = text_of(made(foundation))
        assert "No hold point was inspected yet." in text and "1 entry, all of them" in text and "1 entries" not in text

    def test_it_is_tagged_with_bookmarks_title_and_language(self, foundation: Foundation) -> None:
        at_stage(foundation, "layout", "inspected")
        read = PdfReader(BytesIO(made(foundation)))
        root = read.trailer["/Root"]
        assert root["/MarkInfo"]["/Marked"] and root["/Lang"] == "en"
        assert "StructTreeRoot" in str(root.keys())
        assert read.metadata is not None and read.metadata.title == "LP-001, record of one foundation"
        titles = [each.title for each in read.outline if not isinstance(each, list)]
        assert titles == ["LP-001, record of one foundation"]
        assert b"pdfuaid" in root["/Metadata"].get_data()

    def test_what_did_not_conform_of_an_earlier_attempt_stands_there(self, foundation: Foundation) -> None:
        at_stage(foundation, "layout", "returned")
        inspect(hold_point(foundation, "layout"), after(foundation))
        text = text_of(made(foundation))
        assert "Layout, attempt 1" in text and "returned, Show the tape" in text and "All of it conformed." in text

    def test_the_last_page_leads_from_leaf_to_root(self, foundation: Foundation) -> None:
        at_stage(foundation, "layout", "released")
        bring_in(foundation.corridor, ["LP-002"])  # so that the last entry here is not the last of all
        context = paper.assembled(foundation.corridor, foundation, at=AT, address=ADDRESS)
        found = context["integrity"]
        last = Entry.objects.of_log(foundation.corridor_id).about("LP-001").last()
        assert last is not None and (found.entry, found.leaf) == (last.sequence, last.leaf)
        assert found.leads_there and found.path
        path = [bytes.fromhex(each) for each in found.path]
        root = merkle.root_from_inclusion(found.entry - 1, found.size, bytes.fromhex(found.leaf), path)
        assert root.hex() == Head.objects.get(log=foundation.corridor_id).root
        text = squeezed(text_of(made(foundation)))
        assert all(each in text for each in found.path)

    def test_a_head_that_the_path_does_not_lead_to_is_said(self, foundation: Foundation) -> None:
        Head.objects.filter(log=foundation.corridor_id).update(root="0" * 64)
        text = text_of(made(foundation))
        assert "do not lead to the root below" in text and "Yes, as far as" not in text


@pytest.mark.once  # form, size and bytes are WeasyPrint's; what they say is asked on both databases above
class TestForms:
    def test_the_same_content_gives_the_same_bytes(self, foundation: Foundation) -> None:
        at_stage(foundation, "layout", "released")
        for more in ({}, {"form": "archive"}, {"size": "A4"}):
            assert made(foundation, **more) == made(foundation, **more), more

    def test_the_archive_form_carries_the_entries(self, foundation: Foundation) -> None:
        at_stage(foundation, "layout", "released")
        read = PdfReader(BytesIO(made(foundation, form="archive")))
        metadata = read.trailer["/Root"]["/Metadata"].get_data()
        assert re.search(rb"pdfaid:part[^0-9]*3", metadata) and re.search(rb"pdfaid:conformance[^A-Z]*U", metadata)
        inside = json.loads(read.attachments["LP-001-record.json"][0])
        entries = list(Entry.objects.of_log(foundation.corridor_id).about("LP-001"))
        assert [each["text"] for each in inside["entries"]] == [each.text for each in entries]
        for each in inside["entries"]:  # checked as a stranger would: RFC 9162, 2.1.1
            assert sha256(b"\x00" + each["text"].encode()).hexdigest() == each["leaf"]
        assert inside["head"]["root"] == Head.objects.get(log=foundation.corridor_id).root

    def test_the_form_for_reading_carries_nothing(self, foundation: Foundation) -> None:
        assert PdfReader(BytesIO(made(foundation))).attachments == {}

    @pytest.mark.parametrize(("size", "box"), [("letter", (612, 792)), ("A4", (595, 842))])
    def test_letter_and_a4(self, foundation: Foundation, size: str, box: tuple[int, int]) -> None:
        for page in PdfReader(BytesIO(made(foundation, size=size))).pages:
            assert (round(page.mediabox.width), round(page.mediabox.height)) == box

    def test_another_form_is_none(self, foundation: Foundation) -> None:
        with pytest.raises(ValueError, match="ua or archive"):
            made(foundation, form="x")


class TestWhateverPeopleTyped:
    def long(self, foundation: Foundation, note: str) -> None:
        point = give_notice(hold_point(foundation, "layout"), after(foundation))
        inspect(point, after(foundation), note=note)

    @pytest.mark.parametrize("size", SIZES)
    def test_a_word_of_4000_letters_keeps_the_margins(self, foundation: Foundation, size: str) -> None:
        self.long(foundation, "W" * 4000)
        assert outside(foundation, size) == []
        assert text_of(made(foundation, size=size)).count("W") >= 4000

    @pytest.mark.once  # where lines break is the layout's; findings are read on both databases elsewhere
    @pytest.mark.parametrize("size", SIZES)
    def test_60_findings_keep_the_margins(self, foundation: Foundation, size: str) -> None:
        at_stage(foundation, "layout", "released")
        for _ in range(60):
            findings.raised(foundation, grade="minor", at=after(foundation))
        assert outside(foundation, size) == []
        text = text_of(made(foundation, size=size))
        assert all(each.name in text for each in Finding.objects.filter(foundation=foundation))

    def test_a_reason_of_4000_letters_is_whole(self, foundation: Foundation) -> None:
        finding = findings.raised(foundation, at=NOW)
        Finding.objects.filter(pk=finding.pk).update(title="M" * 160, reading="M" * 200)
        assert outside(foundation, "letter") == []

    def test_names_in_other_scripts_bring_no_other_face(self, foundation: Foundation, inspector: Person) -> None:
        Person.objects.filter(pk=inspector.pk).update(name="משה כהן")
        self.long(foundation, "قال محمد: 3 ≤ 4, done 🙂")
        written = made(foundation)
        text = text_of(written)
        assert "[Hebrew text" in text and "[Arabic text" in text and "[sign" in text
        assert "U+05DE U+05E9 U+05D4" in text and "3 at most 4" in text
        assert all("Overpass" in name for name in faces(written))
        assert outside(foundation, "letter") == []

    def test_markup_in_a_note_is_text_and_nothing_is_fetched(
        self, foundation: Foundation, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        note = '<img src="http://192.0.2.1/a.png"><img src="file:///etc/passwd"><link rel=stylesheet href=//192.0.2.1>'
        self.long(foundation, note)
        asked: list[str] = []
        whole = sheets.fetch
        monkeypatch.setattr(sheets, "fetch", lambda url: (asked.append(url), whole(url))[1])
        text = text_of(made(foundation))
        assert squeezed(note) in squeezed(text)
        assert asked and all(url.startswith(("sheet:css/", "sheet:fonts/", "stored:")) for url in asked)


class TestPhotos:
    def test_every_photo_stands_there_small(self, foundation: Foundation) -> None:
        at_stage(foundation, "layout", "inspected")
        read = PdfReader(BytesIO(made(foundation)))
        hashes = {each.sha256 for each in Attachment.objects.all()}
        assert hashes and all(each[:8] in text_of(made(foundation)) for each in hashes)
        images = [image for page in read.pages for image in page.images]
        assert images and all(max(image.image.size) <= photos.PRINTED_SIDE for image in images if image.image)

    def test_each_says_where_it_is_from(self, foundation: Foundation) -> None:
        gridded = on_grid(foundation)
        point = at_stage(gridded, "layout", "notified")
        placed, *others = photos_for(point)
        shots = [placed._replace(fix=fix(gridded, 400)), *others]
        inspect(point, after(gridded), photos=shots)
        text = text_of(made(gridded))
        said = "Farther than 50 ft: 400 ft from the station, ± 40 ft, position of the phone, ± 12 m, 40 s before the photo was sent"
        assert squeezed(said) in squeezed(text)
        assert squeezed(
            "neither proves a place. 50 ft is this corridor’s limit: common practice, no source."
        ) in squeezed(text)
        assert squeezed(text).count(squeezed("No position in the file, none of the phone")) == len(others) > 0
        assert [outside(gridded, size) for size in SIZES] == [[], []]

    def test_one_that_the_store_lacks_is_said(self, foundation: Foundation) -> None:
        at_stage(foundation, "layout", "inspected")
        photo = Attachment.objects.first()
        assert photo is not None
        name = photos.shown_name(photo.sha256)
        with default_storage.open(name) as file:
            kept = file.read()
        default_storage.delete(name)
        try:
            assert squeezed(f"The store lacks this picture. Its hash: {photo.sha256}") in squeezed(
                text_of(made(foundation))
            )
        finally:
            default_storage.save(name, BytesIO(kept))  # type: ignore[arg-type]

    @pytest.mark.parametrize("url", ["stored:" + "0" * 64, "stored:../x", "stored:" + "A" * 64, "stored:" + "0" * 63])
    def test_only_a_stored_copy_by_its_hash_is_handed_out(self, url: str) -> None:
        with pytest.raises(sheets.Fetched):
            sheets.fetch(url)


@pytest.mark.usefixtures("clock")
class TestPages:
    def test_a_member_gets_it_and_a_stranger_404(
        self, as_person: Any, foundation: Foundation, auditor: Person, stranger: Person
    ) -> None:
        url = reverse("dossier:dossier", args=[foundation.corridor.slug, foundation.mark])
        answer = as_person(auditor).get(url, {"form": "archive"})
        assert answer["Content-Type"] == "application/pdf" and answer.content.startswith(b"%PDF")
        assert as_person(auditor).get(url.replace("LP-001", "LP-999")).status_code == 404
        assert as_person(stranger).get(url).status_code == 404

    def test_the_station_page_offers_the_three_and_compares_a_prints_root(
        self, as_person: Any, foundation: Foundation, auditor: Person
    ) -> None:
        head = Head.objects.get(log=foundation.corridor_id)
        url = reverse("dossier:station", args=[foundation.corridor.slug, foundation.mark])
        bring_in(foundation.corridor, ["LP-002"])
        page = as_person(auditor).get(url, {"size": head.size, "root": head.root}).content.decode()
        assert "dossier.pdf?size=A4" in page and "dossier.pdf?form=archive" in page
        assert f"is the one that this record had at entry {head.size}" in page
        other = as_person(auditor).get(url, {"size": head.size, "root": "0" * 64}).content.decode()
        assert "is not the one that this record had" in other
        beyond = as_person(auditor).get(url, {"size": head.size + 9, "root": head.root}).content.decode()
        assert "is not the one" in beyond

    def test_a_filtered_list_becomes_a_job_and_a_zip(
        self, as_person: Any, corridor: Corridor, office: Person, settings: Any, tmp_path: Path
    ) -> None:
        settings.RESULTS_ROOT = tmp_path
        bring_in(corridor, ["LP-001", "LP-002", "LP-010"])
        answer = as_person(office).post(
            reverse("dossier:dossiers", args=[corridor.slug]), {"find": "lp-00", "size": "A4"}
        )
        job = Job.objects.get()
        assert answer["Location"] == reverse("jobs:job", args=[corridor.slug, job.pk])
        taken = queue.take(NOW)
        assert taken == job
        queue.run(taken, lambda: NOW)
        job.refresh_from_db()
        assert (job.state, job.done, job.total, job.error) == ("done", 2, 2, "")
        with zipfile.ZipFile(job.result) as file:
            assert file.namelist() == ["LP-001.pdf", "LP-002.pdf"]
            page = PdfReader(BytesIO(file.read("LP-002.pdf"))).pages[0]
        assert round(page.mediabox.width) == 595

    def test_a_cancelled_one_stops_after_the_dossier_under_way(
        self, corridor: Corridor, office: Person, settings: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        settings.RESULTS_ROOT = tmp_path
        bring_in(corridor, ["LP-001", "LP-002", "LP-003"])
        arguments = {"marks": [], "size": "letter", "form": "ua", "address": f"https://x/{batch.MARK}/"}
        job = queue.ask(kind=batch.KIND, by=office, at=NOW, corridor=corridor, arguments=arguments)
        made: list[str] = []

        def instead(corridor: Corridor, mark: str, **more: Any) -> bytes:
            made.append(mark)
            if mark == "LP-002":
                queue.cancel(job=job, at=NOW)
            return b"%PDF"

        monkeypatch.setattr(paper, "dossier", instead)
        taken = queue.take(NOW)
        assert taken is not None
        queue.run(taken, lambda: NOW)
        job.refresh_from_db()
        assert (job.state, job.done, made) == ("cancelled", 1, ["LP-001", "LP-002"])
        assert list(tmp_path.iterdir()) == []

    def test_a_list_that_finds_nothing_asks_for_nothing(
        self, as_person: Any, foundation: Foundation, office: Person
    ) -> None:
        as_person(office).post(reverse("dossier:dossiers", args=[foundation.corridor.slug]), {"find": "ZZ"})
        assert not Job.objects.exists()
