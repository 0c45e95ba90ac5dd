"""Identifiers made here or by a phone without asking a server: time-ordered UUIDs (RFC 9562, section 5.7, version 7)."""

import secrets
import time
import uuid


def uuid7() -> uuid.UUID:
    """Return a new version 7 UUID: 48 bits of milliseconds, then random bits, so that rows made later sort later."""
    value = (time.time_ns() // 1_000_000) << 80 | secrets.randbits(80)
    value = value & ~(0xF << 76) | 0x7 << 76
    value = value & ~(0x3 << 62) | 0x2 << 62
    return uuid.UUID(int=value)
