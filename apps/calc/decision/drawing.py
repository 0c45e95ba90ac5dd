"""Drawing a sample by chance so that anyone can draw it again: by the SHA-256 of a seed and each item's name.

Every item gets the digest of "seed:item" in UTF-8; the items with the smallest digests are drawn. No generator of chance numbers
is asked, so that the draw is the same in every version of every language, and on paper. It is as fair as the seed: whoever may
try seeds until the sample pleases has not drawn by chance, so the seed comes from dice before witnesses, or from the program.

Source: FIPS 180-4, Secure Hash Standard, SHA-256; a published seed that everyone can check, as RFC 3797 (2004) has it for people
(RFC 3797 from memory; it uses another digest). Standard library only, so that an auditor's script can carry this file.
"""

from collections.abc import Iterable, Mapping
from hashlib import sha256
from typing import NamedTuple

from apps.calc.decision.ends import whole
from apps.calc.errors import CalcError


def ticket(seed: str, item: str) -> str:
    """Return the digest by which an item is drawn, 64 hexadecimal digits.

    >>> ticket("a", "bc") == sha256(b"a:bc").hexdigest()
    True
    """
    return sha256(f"{seed}:{item}".encode()).hexdigest()


def draw(frame: Iterable[str], seed: str, n: int) -> tuple[str, ...]:
    """Return n items of a frame, those with the smallest tickets, in that order. The frame's own order does not matter.

    Errors: CalcError on an empty seed, on an item that stands twice, on n under 0 or over the frame.

    >>> draw(["LP-001", "LP-002", "LP-003"], "2207", 2)
    ('LP-002', 'LP-001')
    """
    items = list(frame)
    if not seed:
        raise CalcError("seed", "give a seed")
    if len(set(items)) != len(items):
        raise CalcError("frame", "an item stands twice in the frame")
    count = whole("n", n, 0, len(items))
    return tuple(sorted(items, key=lambda item: (ticket(seed, item), item))[:count])


def digest(frame: Iterable[str]) -> str:
    """Return the SHA-256 of a frame: its items sorted, a line feed between them. The same items give the same digest.

    >>> digest(["b", "a"]) == sha256(b"a\\nb").hexdigest()
    True
    """
    return sha256("\n".join(sorted(frame)).encode()).hexdigest()


def allocate(sizes: Mapping[str, int], n: int) -> dict[str, int]:
    """Return how many of n are drawn from each stratum: in proportion to its size, at least one each, never more than it holds.

    Whole parts first, the rest by largest remainder (the greater stratum, then the name, settles a tie). A stratum that gets
    none takes one from the stratum that has most above its proportion.
    Errors: CalcError on an empty stratum, on n under the number of strata or over all items.
    Source: proportional allocation, W. G. Cochran, Sampling Techniques, 3rd edition, 5.5 (from memory); largest remainders are
    Hamilton's rule of apportionment; at least one each is common practice, no source.

    >>> allocate({"drill": 60, "pour": 30, "layout": 10}, 8)
    {'drill': 5, 'pour': 2, 'layout': 1}
    """
    for name, size in sizes.items():
        whole(name, size, 1)
    total = sum(sizes.values())
    count = whole("n", n, len(sizes), total)
    given = {name: count * size // total for name, size in sizes.items()}
    order = sorted(sizes, key=lambda name: (-(count * sizes[name] % total), -sizes[name], name))
    for name in order[: count - sum(given.values())]:
        given[name] += 1
    for name in sorted(name for name in given if not given[name]):
        # In whole numbers: what a stratum has above its proportion, times the total.
        most = max(given, key=lambda each: (given[each] > 1, given[each] * total - count * sizes[each], each))
        given[most] -= 1
        given[name] += 1
    return given


class Drawn(NamedTuple):
    """One drawn item: its stratum, itself, its ticket."""

    stratum: str
    item: str
    ticket: str


def draw_strata(frame: Mapping[str, Iterable[str]], seed: str, n: int) -> tuple[Drawn, ...]:
    """Return n items drawn from a frame by strata, strata in the frame's order, each drawn by `draw` with the same seed.

    One stratum is a simple draw. Errors: as `draw` and `allocate`.
    """
    parts = {name: list(items) for name, items in frame.items()}
    counts = allocate({name: len(items) for name, items in parts.items()}, n)
    return tuple(
        Drawn(name, item, ticket(seed, item))
        for name, items in parts.items()
        for item in draw(items, seed, counts[name])
    )
