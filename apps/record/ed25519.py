"""Checking an Ed25519 signature (RFC 8032, 5.1.7) with nothing but the standard library, for an auditor's own computer.

It checks; it never signs: keys are used by record.signing through a library that keeps them from leaking through timing.
"""

from hashlib import sha512

PRIME = 2**255 - 19
ORDER = 2**252 + 27742317777372353535851937790883648493
_D = -121665 * pow(121666, PRIME - 2, PRIME) % PRIME
_ROOT_OF_MINUS_ONE = pow(2, (PRIME - 1) // 4, PRIME)

Point = tuple[int, int, int, int]
"""Extended coordinates (X, Y, Z, T) with x = X/Z, y = Y/Z, x y = T/Z."""


def _x_of(y: int, sign: int) -> int | None:
    """Return the x of a y on the curve whose lowest bit is `sign`; None where there is none (RFC 8032, 5.1.3)."""
    if y >= PRIME:
        return None
    square = (y * y - 1) * pow(_D * y * y + 1, PRIME - 2, PRIME) % PRIME
    if square == 0:
        return None if sign else 0
    x = pow(square, (PRIME + 3) // 8, PRIME)
    if (x * x - square) % PRIME:
        x = x * _ROOT_OF_MINUS_ONE % PRIME
    if (x * x - square) % PRIME:
        return None
    return PRIME - x if x & 1 != sign else x


_BASE_Y = 4 * pow(5, PRIME - 2, PRIME) % PRIME
_BASE_X = _x_of(_BASE_Y, 0) or 0
_BASE: Point = (_BASE_X, _BASE_Y, 1, _BASE_X * _BASE_Y % PRIME)


def _add(one: Point, other: Point) -> Point:
    """Return the sum of two points (RFC 8032, 5.1.4)."""
    a = (one[1] - one[0]) * (other[1] - other[0]) % PRIME
    b = (one[1] + one[0]) * (other[1] + other[0]) % PRIME
    c = 2 * one[3] * other[3] * _D % PRIME
    d = 2 * one[2] * other[2] % PRIME
    e, f, g, h = b - a, d - c, d + c, b + a
    return e * f % PRIME, g * h % PRIME, f * g % PRIME, e * h % PRIME


def _times(factor: int, point: Point) -> Point:
    """Return a point added to itself so many times."""
    total: Point = (0, 1, 1, 0)
    while factor:
        if factor & 1:
            total = _add(total, point)
        point, factor = _add(point, point), factor >> 1
    return total


def _same(one: Point, other: Point) -> bool:
    return (one[0] * other[2] - other[0] * one[2]) % PRIME == 0 and (one[1] * other[2] - other[1] * one[2]) % PRIME == 0


def _point(packed: bytes) -> Point | None:
    """Return the point of 32 bytes, None if they are none (RFC 8032, 5.1.3)."""
    number = int.from_bytes(packed, "little")
    y = number & ((1 << 255) - 1)
    x = _x_of(y, number >> 255)
    return None if x is None else (x, y, 1, x * y % PRIME)


def is_signed(public: bytes, message: bytes, signature: bytes) -> bool:
    """Say whether a signature of 64 bytes over a message is by the holder of a public key of 32 bytes."""
    if len(public) != 32 or len(signature) != 64:
        return False
    key, first = _point(public), _point(signature[:32])
    factor = int.from_bytes(signature[32:], "little")
    if key is None or first is None or factor >= ORDER:
        return False
    challenge = int.from_bytes(sha512(signature[:32] + public + message).digest(), "little") % ORDER
    return _same(_times(factor, _BASE), _add(first, _times(challenge, key)))
