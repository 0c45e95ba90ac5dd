"""Photos: the original's bytes are sealed under their SHA-256; what pages show is re-encoded, upright and without metadata."""

import struct
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from io import BytesIO
from typing import Any
from uuid import UUID

from django.conf import settings
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import UploadedFile

from apps.record.models import Attachment
from apps.record.positions import Position, position_of

KINDS = {"JPEG": "image/jpeg", "PNG": "image/png", "WEBP": "image/webp"}
MAX_PIXELS = 50_000_000
SHOWN_SIDE = 1600
GPS = 0x8825
"""The Exif tag of the GPS attributes."""
PRINTED_SIDE = 480
"""Longest side of a photo on paper: three a row, about 200 points an inch."""


class NotAPhoto(ValueError):
    """Bytes that are not a picture we keep; the message says what to do."""


def sealed_name(digest: str) -> str:
    """Return where the original with this SHA-256 is kept."""
    return f"sealed/{digest[:2]}/{digest}"


def shown_name(digest: str) -> str:
    """Return where the copy that pages show is kept."""
    return f"shown/{digest[:2]}/{digest}.jpg"


def store(path: str, data: bytes) -> None:
    """Put bytes in the store under a name made of their hash; what is there already stays."""
    if not default_storage.exists(path):
        default_storage.save(path, ContentFile(data))


def is_shown(digest: str) -> bool:
    """Say whether the copy that pages show is in the store."""
    return default_storage.exists(shown_name(digest))


def printed(digest: str) -> bytes:
    """Return the copy that pages show, small enough for paper: the same bytes each time. FileNotFoundError if the store lacks it."""
    from PIL import Image

    with default_storage.open(shown_name(digest)) as file, Image.open(file, formats=["JPEG"]) as picture:
        picture.draft("RGB", (PRINTED_SIDE, PRINTED_SIDE))
        small = picture.convert("RGB")
        small.thumbnail((PRINTED_SIDE, PRINTED_SIDE))
        copy = BytesIO()
        small.save(copy, "JPEG", quality=80)
    return copy.getvalue()


@dataclass(frozen=True, slots=True)
class _Seen:
    """What a picture's bytes are: format, size in pixels, re-encoded JPEG, position."""

    kind: str
    width: int
    height: int
    shown: bytes
    position: Position | None


def _position(picture: Any) -> Position | None:
    """Return where a picture says that it was taken; metadata that cannot be read says nothing, and the picture is taken all the same."""
    try:
        return position_of(picture.getexif().get_ifd(GPS))
    except (OSError, SyntaxError, ValueError, TypeError, LookupError, struct.error):
        return None


def _looked_at(data: bytes, name: str) -> _Seen:
    """Look at a picture's bytes. NotAPhoto if they are none, or too large."""
    from PIL import Image, ImageOps, UnidentifiedImageError

    try:
        with Image.open(BytesIO(data), formats=list(KINDS)) as picture:
            kind, (width, height) = str(picture.format), picture.size
            if width * height > MAX_PIXELS:
                raise NotAPhoto(
                    f"{name} has {width} by {height} pixels; at most {MAX_PIXELS // 1_000_000} million are taken."
                )
            position = _position(picture)
            picture.draft("RGB", (SHOWN_SIDE, SHOWN_SIDE))
            shown = ImageOps.exif_transpose(picture).convert("RGB")
            shown.thumbnail((SHOWN_SIDE, SHOWN_SIDE))
            copy = BytesIO()
            shown.save(copy, "JPEG", quality=82)
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError, Image.DecompressionBombError) as fault:
        if isinstance(fault, NotAPhoto):
            raise
        raise NotAPhoto(f"{name} is not a JPEG, PNG or WebP picture that can be read. Take the photo again.") from fault
    return _Seen(kind, width, height, copy.getvalue(), position)


def keep(*, log: UUID, file: "UploadedFile[Any]", at: datetime, taken_at: datetime | None = None) -> Attachment:
    """Seal a picture's bytes and keep the copy that pages show; return its row. NotAPhoto with a sentence if it cannot be taken."""
    name = (file.name or "The photo")[:200]
    if (file.size or 0) > settings.PHOTO_MAX_BYTES:
        raise NotAPhoto(f"{name} is larger than {settings.PHOTO_MAX_BYTES // 1024**2} MB. Take it in a smaller size.")
    file.seek(0)
    data = file.read()
    digest = sha256(data).hexdigest()
    if known := Attachment.objects.filter(log=log, sha256=digest).first():
        return known
    seen = _looked_at(data, name)
    store(sealed_name(digest), data)
    store(shown_name(digest), seen.shown)
    return Attachment.objects.create(
        log=log,
        sha256=digest,
        size=len(data),
        kind=KINDS[seen.kind],
        name=name,
        width=seen.width,
        height=seen.height,
        position=seen.position,
        taken_at=taken_at,
        added_at=at,
    )
