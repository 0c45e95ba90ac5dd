"""The key that signs heads of the record: an Ed25519 seed (RFC 8032) in a file of its own, outside the database.

Whoever can change the database cannot sign with it alone, and whoever finds a copy of the database finds no key there.
"""

import os
from functools import lru_cache
from pathlib import Path
from secrets import token_bytes
from typing import NamedTuple

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from django.conf import settings

from apps.record.models import SignedHead


class Signature(NamedTuple):
    """Who signed, and what came out; both hex."""

    key: str
    signature: str


def _file() -> Path:
    return Path(settings.RECORD_KEY)


def new_seed() -> bytes:
    """Return the seed of a new key."""
    return token_bytes(32)


def write(seed: bytes) -> None:
    """Put a seed in place of the one in use, readable by the owner alone."""
    file = _file()
    file.parent.mkdir(parents=True, exist_ok=True)
    fresh = file.with_name(f"{file.name}.{os.getpid()}.new")
    handle = os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(handle, "w") as out:
        out.write(f"{seed.hex()}\n")
        out.flush()
        os.fsync(out.fileno())
    fresh.replace(file)


class KeyMissing(Exception):
    """Heads were signed before, and the file of their key is gone: a new one made silently would leave heads that no entry explains."""


def seed() -> bytes:
    """Return the seed in use; the first call of an installation makes it."""
    file = _file()
    if not file.exists():
        file.parent.mkdir(parents=True, exist_ok=True)
        try:
            handle = os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        except FileExistsError:
            pass  # another process was quicker: its key is the key
        else:
            with os.fdopen(handle, "w") as out:
                out.write(f"{new_seed().hex()}\n")
    return bytes.fromhex(file.read_text().strip())


@lru_cache(8)
def _private(seed: bytes) -> tuple[str, Ed25519PrivateKey]:
    key = Ed25519PrivateKey.from_private_bytes(seed)
    return key.public_key().public_bytes_raw().hex(), key


@lru_cache(2)
def _read(file: str, changed: int) -> bytes:
    return seed()


def _in_use() -> bytes:
    """Return the seed in use, read again when the file changed: another process may have replaced it."""
    file = _file()
    if file.exists():
        return _read(str(file), file.stat().st_mtime_ns)
    if SignedHead.objects.exists():
        raise KeyMissing
    return seed()


def public_key() -> str:
    """Return the public key in use, hex."""
    return _private(_in_use())[0]


def sign(message: bytes, by: bytes | None = None) -> Signature:
    """Sign with the key in use, or with that of another seed."""
    public, key = _private(by or _in_use())
    return Signature(public, key.sign(message).hex())


def is_signed(key: str, message: bytes, signature: str) -> bool:
    """Say whether a signature over a message is by a key; both hex. False for what is no key or no signature."""
    try:
        Ed25519PublicKey.from_public_bytes(bytes.fromhex(key)).verify(bytes.fromhex(signature), message)
    except (InvalidSignature, ValueError):
        return False
    return True
