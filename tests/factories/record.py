"""Pictures as a phone would send them, only smaller."""

from functools import cache
from io import BytesIO

from django.core.files.uploadedfile import SimpleUploadedFile

from apps.record.models import Entry, Node


@cache
def png(colour: str = "gray", side: int = 8) -> bytes:
    """Return the bytes of a one-coloured PNG."""
    from PIL import Image

    kept = BytesIO()
    Image.new("RGB", (side, side), colour).save(kept, "PNG")
    return kept.getvalue()


def picture(name: str = "photo.png", colour: str = "gray") -> SimpleUploadedFile:
    """Return an upload; a new one for each submission, since an act reads it to its end."""
    return SimpleUploadedFile(name, png(colour), "image/png")


def node_of(log: object) -> "dict[tuple[int, int], bytes]":
    """Return the kept nodes of a log's tree."""
    rows = Node.objects.filter(log=log).values_list("level", "place", "hash")
    return {(level, place): bytes.fromhex(text) for level, place, text in rows}


def last_entry(log: object) -> Entry:
    """Return the last entry of a log."""
    found = Entry.objects.of_log(log).last()
    assert found is not None
    return found
