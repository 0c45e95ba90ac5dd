"""Papers: the file of a certificate, a ticket or a calibration, sealed where photos are. A PDF is known by its bytes, never by its name.

What is looked at in a PDF: that it begins as one and ends as one, that it is not encrypted, that it has a page, and that none of
the names of REFUSED stands in it. Names are read as they are written, with their #-escapes undone, and inside object streams, which
are unpacked for it. Other streams are not unpacked and nothing is drawn: that a file is harmless is not shown by it. So it is handed
out to be kept by the reader, never shown by a page of ours.

Source: ISO 32000-1:2008, Document management, Portable document format, PDF 1.7: 7.5.2 (header), 7.5.5 (trailer), 7.5.7 (object
streams), 7.3.5 (names), 7.6 (encryption), 7.11.4 (embedded files), 12.6.4.5 (launch), 12.6.4.16 (JavaScript). Clauses from memory.
"""

import re
import zlib
from collections.abc import Iterator
from datetime import datetime
from hashlib import sha256
from typing import Any
from uuid import UUID

from django.core.files.storage import default_storage
from django.core.files.uploadedfile import UploadedFile

from apps.record import photos
from apps.record.models import Attachment
from apps.record.photos import NotAPhoto

PDF = "application/pdf"
MAX_BYTES = 10 * 1024 * 1024
MAX_UNPACKED = 40 * 1024 * 1024
"""Bytes that the object streams of one file may unpack to: more is a bomb, or no certificate."""
ACCEPT = ".pdf,image/jpeg,image/png"
"""What a file field offers; what came is known by its bytes."""
PICTURES = (b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n")
"""How a JPEG and a PNG begin."""

_HEADER = re.compile(rb"%PDF-[12]\.\d")
_TRAILER = re.compile(rb"startxref\s+\d+\s+%%EOF\s*\Z")
_STREAM = re.compile(rb">>[\x00\t\n\f\r ]*stream\r?\n")
_ESCAPE = re.compile(rb"#([0-9a-fA-F]{2})")
_PAGE = re.compile(rb"/Type\s*/Page\b")
_ENCRYPTED = re.compile(rb"/Encrypt\b")
_PACKED = re.compile(rb"/ObjStm\b")
REFUSED: dict[str, "re.Pattern[bytes]"] = {
    "JavaScript": re.compile(rb"/(?:JavaScript|JS)\b"),
    "an action that starts a program": re.compile(rb"/Launch\b"),
    "files inside it": re.compile(rb"/(?:EmbeddedFiles?|EF)\b"),
}
"""What a paper may not carry, by the names that stand for it."""


class NotAPaper(ValueError):
    """Bytes that are no paper which we keep; the message says what to do."""


def keep(*, log: UUID, file: "UploadedFile[Any]", at: datetime) -> Attachment:
    """Seal the file of a paper and return its row. NotAPaper with a sentence if it cannot be taken.

    A JPEG or PNG goes the way of a photo. A PDF is sealed as it is; it has no pixels, so its row says 0 by 0.
    """
    name = (file.name or "The file")[:200]
    file.seek(0)
    begin = file.read(8)
    if begin.startswith(PICTURES):
        try:
            return photos.keep(log=log, file=file, at=at)
        except NotAPhoto as fault:
            raise NotAPaper(str(fault)) from fault
    if not begin.startswith(b"%PDF-"):
        what = "is neither a PDF nor a JPEG or PNG picture" if begin else "is empty"
        raise NotAPaper(f"{name} {what}. Scan or save it as one of these.")
    if (file.size or 0) > MAX_BYTES:
        raise NotAPaper(f"{name} is larger than {MAX_BYTES // 1024**2} MB. Scan it in a lower resolution.")
    file.seek(0)
    data = file.read()
    if said := fault_of(data):
        raise NotAPaper(f"{name} {said}")
    digest = sha256(data).hexdigest()
    if known := Attachment.objects.filter(log=log, sha256=digest).first():
        return known
    photos.store(photos.sealed_name(digest), data)
    return Attachment.objects.create(
        log=log, sha256=digest, size=len(data), kind=PDF, name=name, width=0, height=0, added_at=at
    )


def copy_of(row: Attachment) -> tuple[bytes, str]:
    """Return what a reader is handed, and its media type: the very PDF, of a picture the copy that pages show. OSError if it is missing."""
    of_paper = row.kind == PDF
    with default_storage.open((photos.sealed_name if of_paper else photos.shown_name)(row.sha256)) as file:
        return file.read(), PDF if of_paper else photos.KINDS["JPEG"]


# ---- what a PDF's bytes say


def fault_of(data: bytes) -> str:
    """Return why the bytes of a PDF are not taken, as the end of a sentence after its name; empty where they are."""
    if not _HEADER.match(data) or not _TRAILER.search(data, max(len(data) - 1024, 0)):
        return "does not begin and end as a PDF does: it may be cut off. Save it again."
    encrypted = "is encrypted, so nobody could read it later without its password. Save it without."
    if _ENCRYPTED.search(data):
        return encrypted
    try:
        written = b"\n".join(_written(data))
    except ValueError:
        return "is a PDF that cannot be read to its end. Print it to a new PDF."
    if _ENCRYPTED.search(written):
        return encrypted
    carried = [words for words, name in REFUSED.items() if name.search(written)]
    if carried:
        return f"carries {' and '.join(carried)}. Print it to a new PDF, which leaves that out."
    return "" if _PAGE.search(written) else "is a PDF without a page. Save it again."


def _unescaped(found: "re.Match[bytes]") -> bytes:
    return bytes([int(found[1], 16)])


def _written(data: bytes) -> Iterator[bytes]:
    """Yield what is written in a PDF: all that stands outside of its streams, and its object streams unpacked, in one pass.

    ValueError for a stream without an end, and for an object stream that is not found as one or cannot be unpacked.
    """
    at, named, room = 0, 0, MAX_UNPACKED
    while found := _STREAM.search(data, at):
        end = data.find(b"endstream", found.end())
        if end < 0:
            raise ValueError("a stream has no end")
        outside = _ESCAPE.sub(_unescaped, data[at : found.start()])
        yield outside
        named += len(_PACKED.findall(outside))
        dictionary = outside[max(outside.rfind(b" obj"), 0) :]
        if _PACKED.search(dictionary):
            inside = _unpacked(dictionary, data[found.end() : end], room)
            room, named = room - len(inside), named - 1
            yield _ESCAPE.sub(_unescaped, inside)
        at = end + len(b"endstream")
    rest = _ESCAPE.sub(_unescaped, data[at:])
    yield rest
    if named + len(_PACKED.findall(rest)):
        raise ValueError("an object stream is written in a way that is not read here")


def _unpacked(dictionary: bytes, body: bytes, room: int) -> bytes:
    """Return what an object stream holds. ValueError if it is packed in another way than everybody does, or holds more than `room`."""
    if dictionary.count(b"/FlateDecode") != 1 or b"/DecodeParms" in dictionary:
        raise ValueError("an object stream is packed in a way that is not read here")
    packed = zlib.decompressobj()
    try:
        inside = packed.decompress(body, max(room, 1))  # 0 would mean without bound
    except zlib.error as fault:
        raise ValueError("an object stream cannot be unpacked") from fault
    if not packed.eof:
        raise ValueError("an object stream is cut off, or unpacks to too much")
    return inside
