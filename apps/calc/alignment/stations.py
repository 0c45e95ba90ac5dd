"""Station labels: how a distance along an alignment is written, and what station equations do to it. All exact."""

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from apps.calc.errors import CalcError, Exactable, NotAReading, exact, not_negative
from apps.calc.stationing import parse_station, show_station


class OffAlignment(CalcError):
    """A station, distance or point that the alignment does not have, or has more than once."""


class Equation(NamedTuple):
    """A station equation: the point called `back` by what lies before it is called `ahead` by what follows [ft]."""

    back: Fraction
    ahead: Fraction


class Part(NamedTuple):
    """A stretch without a station equation inside: number from 1, distances and labels at both ends [ft]."""

    number: int
    start: Fraction
    end: Fraction
    first: Fraction
    last: Fraction


def read_station(value: Exactable, field: str = "station") -> Fraction:
    """Return the feet of a station: "231+40.00" is 23140 ft; a number is feet already. Exact, zero or more.

    CalcError when the text is no station, such as "231+4" or "231+400", or the number is negative.
    """
    if not isinstance(value, str):
        return not_negative(field, exact(field, value))
    try:
        return parse_station(value)
    except NotAReading as error:
        raise CalcError(field, error.message) from None


def write_station(value: Exactable) -> str:
    """Write feet as a station, rounded to the hundredth: 23140 becomes "231+40.00". CalcError on a negative number."""
    return show_station(exact("station", value))


def divide(start: Fraction, length: Fraction, equations: Sequence[Equation]) -> tuple[Part, ...]:
    """Cut an alignment at its station equations, in order along it. CalcError names the equation out of place."""
    parts: list[Part] = []
    at, label = Fraction(0), start
    for index, each in enumerate(equations):
        end = at + each.back - label
        if not at < end < length:
            last = label + length - at
            raise CalcError(
                f"equations[{index}].back",
                f"{write_station(each.back)} must lie between {write_station(label)} and {write_station(last)}",
            )
        parts.append(Part(index + 1, at, end, label, each.back))
        at, label = end, each.ahead
    parts.append(Part(len(parts) + 1, at, length, label, label + length - at))
    return tuple(parts)


def find(parts: Sequence[Part], station: Fraction, which: int | str | None) -> Fraction:
    """Return the distance from the start [ft] of a station. OffAlignment when there is none, or more than one.

    `which` settles a station that an equation makes occur twice: "back", "ahead", or the number of a part.
    """
    if isinstance(which, int) and not isinstance(which, bool):
        return _find_in(parts, station, which)
    if which not in (None, "back", "ahead"):
        raise CalcError("part", f"expected back, ahead or the number of a part, got {which!r}")
    found = [part for part in parts if part.first <= station <= part.last]
    if not found:
        raise OffAlignment("station", _why_absent(parts, station))
    distances = sorted({part.start + station - part.first for part in found})
    if len(distances) == 1:
        return distances[0]
    if which is None or len(distances) > 2:
        where = ", ".join(f"part {part.number} ({_range(part)})" for part in found)
        raise OffAlignment(
            "station", f"{write_station(station)} occurs {len(distances)} times: {where}; say back, ahead or the part"
        )
    return distances[0] if which == "back" else distances[-1]


def _find_in(parts: Sequence[Part], station: Fraction, number: int) -> Fraction:
    if not 1 <= number <= len(parts):
        raise CalcError("part", f"the alignment has parts 1 to {len(parts)}, not {number}")
    part = parts[number - 1]
    if not part.first <= station <= part.last:
        raise OffAlignment("station", f"{write_station(station)} is not in part {number} ({_range(part)})")
    return part.start + station - part.first


def _range(part: Part) -> str:
    return f"{write_station(part.first)} to {write_station(part.last)}"


def _why_absent(parts: Sequence[Part], station: Fraction) -> str:
    for back, ahead in pairwise(parts):
        if back.last < station < ahead.first:
            return (
                f"{write_station(station)} does not exist: the equation {write_station(back.last)} back = "
                f"{write_station(ahead.first)} ahead leaves a gap there"
            )
    return f"{write_station(station)} is off the alignment, which runs {' and '.join(map(_range, parts))}"
