"""Pictures as a phone would send them, only smaller; papers as a mill would."""

import zlib
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


def certificate_pdf(catalog: bytes = b"", *, pages: int = 1, trailer: bytes = b"", more: bytes = b"") -> bytes:
    """Return a small PDF by hand, with further entries of its catalog and trailer and further objects."""
    kids = b" ".join(b"%d 0 R" % (3 + each) for each in range(pages))
    body = b"%%PDF-1.7\n1 0 obj << /Type /Catalog /Pages 2 0 R %s >> endobj\n" % catalog
    body += b"2 0 obj << /Type /Pages /Kids [%s] /Count %d >> endobj\n" % (kids, pages)
    for each in range(pages):
        body += b"%d 0 obj << /Type /Page /Parent 2 0 R /MediaBox [0 0 200 200] >> endobj\n" % (3 + each)
    body += more
    return body + b"trailer << /Root 1 0 R %s >>\nstartxref\n%d\n%%%%EOF\n" % (trailer, len(body))


def packed(text: bytes) -> bytes:
    """Return an object stream that holds a text, deflated."""
    inside = zlib.compress(text)
    said = b"20 0 obj << /Type /ObjStm /N 1 /First 0 /Filter /FlateDecode /Length %d >>\nstream\n" % len(inside)
    return said + inside + b"\nendstream endobj\n"


def paper(name: str = "mill.pdf", **said: bytes) -> SimpleUploadedFile:
    """Return the upload of a certificate; `said` as in certificate_pdf."""
    return SimpleUploadedFile(name, certificate_pdf(**said), "application/pdf")  # type: ignore[arg-type]


def node_of(log: object) -> "dict[tuple[int, int], bytes]":
    """Return the kept nodes of a log's tree."""
    rows = Node.objects.filter(log=log).values_list("level", "place", "hash")
    return {(level, place): bytes.fromhex(text) for level, place, text in rows}


def last_entry(log: object) -> Entry:
    """Return the last entry of a log."""
    found = Entry.objects.of_log(log).last()
    assert found is not None
    return found
