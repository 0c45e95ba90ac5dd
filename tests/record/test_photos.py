"""Photos: sealed byte for byte, shown without metadata, refused with a sentence when they are none."""

from hashlib import sha256
from io import BytesIO

import pytest
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile

from apps.record.ids import uuid7
from apps.record.models import Attachment
from apps.record.photos import NotAPhoto, keep, sealed_name, shown_name
from tests.factories.record import picture, png
from tests.factories.times import NOW

pytestmark = pytest.mark.django_db


def jpeg_with_place(orientation: int = 6) -> bytes:
    """A 40 by 20 picture that says in its metadata where it was taken and that it lies on its side."""
    from PIL import Image

    marked = Image.Exif()
    marked[0x0112] = orientation
    marked[0x010F] = "A phone"
    marked.get_ifd(0x8825)[1] = "N"
    marked.get_ifd(0x8825)[2] = (39.0, 30.0, 0.0)
    kept = BytesIO()
    Image.new("RGB", (40, 20), "brown").save(kept, "JPEG", exif=marked)
    return kept.getvalue()


def upload(data: bytes, name: str = "photo.jpg") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, data, "image/jpeg")


def test_the_original_is_sealed_byte_for_byte() -> None:
    data = jpeg_with_place()
    kept = keep(log=uuid7(), file=upload(data), at=NOW)
    assert kept.sha256 == sha256(data).hexdigest()
    with default_storage.open(sealed_name(kept.sha256)) as file:
        assert file.read() == data


def test_the_shown_copy_is_upright_and_says_nothing_of_the_place() -> None:
    from PIL import Image

    kept = keep(log=uuid7(), file=upload(jpeg_with_place()), at=NOW)
    with default_storage.open(shown_name(kept.sha256)) as file, Image.open(file) as shown:
        assert shown.format == "JPEG"
        assert shown.size == (20, 40)
        assert dict(shown.getexif()) == {}


def test_the_kind_is_what_the_bytes_are() -> None:
    kept = keep(log=uuid7(), file=upload(png(), "claims-to-be.jpg"), at=NOW)
    assert (kept.kind, kept.width, kept.height, kept.name) == ("image/png", 8, 8, "claims-to-be.jpg")


def test_the_same_picture_twice_is_sealed_once() -> None:
    log = uuid7()
    first, second = (keep(log=log, file=picture(), at=NOW) for _ in range(2))
    assert first == second
    assert Attachment.objects.filter(log=log).count() == 1


def test_the_same_picture_in_two_records_is_named_in_both() -> None:
    first, second = (keep(log=uuid7(), file=picture(), at=NOW) for _ in range(2))
    assert first.sha256 == second.sha256
    assert first.pk != second.pk


@pytest.mark.parametrize(
    "data", [b"", b"no picture at all", png()[:40], b"<svg xmlns='http://www.w3.org/2000/svg'/>", b"GIF89a" + bytes(40)]
)
def test_what_is_no_picture_is_refused(data: bytes) -> None:
    with pytest.raises(NotAPhoto, match="Take the photo again"):
        keep(log=uuid7(), file=upload(data, "strange.jpg"), at=NOW)
    assert not Attachment.objects.exists()


def test_a_picture_too_large_to_store_is_refused(settings: object) -> None:
    settings.PHOTO_MAX_BYTES = 20  # type: ignore[attr-defined]
    with pytest.raises(NotAPhoto, match="Take it in a smaller size"):
        keep(log=uuid7(), file=picture(), at=NOW)


def test_a_picture_with_too_many_pixels_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    from apps.record import photos

    monkeypatch.setattr(photos, "MAX_PIXELS", 63)
    with pytest.raises(NotAPhoto, match="8 by 8 pixels"):
        keep(log=uuid7(), file=picture(), at=NOW)


def test_identifiers_made_later_sort_later() -> None:
    made = [uuid7() for _ in range(2000)]
    assert len(set(made)) == 2000
    assert {(each.version, each.variant) for each in made} == {(7, "specified in RFC 4122")}
    stamps = [each.int >> 80 for each in made]
    assert stamps == sorted(stamps)
