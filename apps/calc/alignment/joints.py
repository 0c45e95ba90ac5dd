"""A line as a table to hold against the plans: where its elements join, what each joint is called, and what looks odd."""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from apps.calc.alignment.line import Alignment, Element
from apps.calc.alignment.stations import write_station

NAMES = {
    ("tangent", "curve"): "PC",
    ("curve", "tangent"): "PT",
    ("tangent", "spiral"): "TS",
    ("spiral", "curve"): "SC",
    ("curve", "spiral"): "CS",
    ("spiral", "tangent"): "ST",
    ("spiral", "spiral"): "SS",
    ("tangent", "tangent"): "POT",
}
"""What a joint is called on plans. U.S. Army FM 5-233, ch. 3 (from memory); SS and POT: common practice, no source."""
SHORT_FT = 1
"""An element shorter than this is asked about: common practice, no source."""
SAME = Fraction(1, 10**6)
"""Curvatures [1/ft] nearer than this are the same: a radius of 2,000 ft to 4 ft."""


@dataclass(frozen=True, slots=True)
class Joint:
    """Where one element ends and the next begins [ft, degrees]; the last joint is the end of the line, no element begins there."""

    name: str
    station: str
    distance: Fraction
    element: Element | None
    bearing_deg: float
    e: float
    n: float


def joints(line: Alignment) -> tuple[Joint, ...]:
    """Return every joint from the start to the end of a line."""
    ends = [None, *line.elements, None]
    return tuple(
        Joint(_name(before, after), write_station(line.label(at)), at, after, line.bearing(at), *line.point(at))
        for at, (before, after) in zip(line.joints, pairwise(ends), strict=True)
    )


def _name(before: Element | None, after: Element | None) -> str:
    if before is None or after is None:
        return "start" if before is None else "end"
    if before.kind == after.kind == "curve":
        return "PCC" if before.turn == after.turn else "PRC"
    return NAMES[before.kind, after.kind]


def oddities(line: Alignment) -> tuple[str, ...]:
    """Return what a surveyor should look at before a line is used, as sentences. Nothing here is an error."""
    return (*_from_nowhere(line), *_short(line), *_jumps(line), *_equations(line))


def _from_nowhere(line: Alignment) -> Iterator[str]:
    if line.start_e == 0 and line.start_n == 0:
        yield "The line starts at east 0, north 0: coordinates of foundations will be its own, not those of the plans."


def _short(line: Alignment) -> Iterator[str]:
    for number, each in enumerate(line.elements, start=1):
        if each.length < SHORT_FT:
            yield f"Element {number}, a {each.kind}, is only {float(each.length):.2f} ft long."


def _curvature(radius: Fraction | None, turn: str | None) -> Fraction:
    return Fraction(0) if not radius else (-1 if turn == "left" else 1) / radius


def _radius(radius: Fraction | None, turn: str | None) -> str:
    return f"radius {float(radius):,.2f} ft {turn}" if radius else "straight"


def _jumps(line: Alignment) -> Iterator[str]:
    """A spiral leads into the radius of what follows it: where it does not, one of the two is mistyped."""
    for at, (before, after) in zip(line.joints[1:], pairwise(line.elements), strict=False):
        ends, begins = _curvature(before.radius_out, before.turn), _curvature(after.radius_in, after.turn)
        if "spiral" in (before.kind, after.kind) and abs(ends - begins) > SAME:
            yield (
                f"At {write_station(line.label(at))} the {before.kind} ends {_radius(before.radius_out, before.turn)}, the "
                f"{after.kind} begins {_radius(after.radius_in, after.turn)}: a spiral meets what follows it with the same radius."
            )


def _equations(line: Alignment) -> Iterator[str]:
    for each in line.equations:
        low, high = sorted((each.back, each.ahead))
        if low == high:
            continue
        span = f"Stations {write_station(low)} to {write_station(high)}"
        named = f"equation {write_station(each.back)} back = {write_station(each.ahead)} ahead"
        yield (
            f"{span} do not exist: {named} leaves a gap."
            if each.back < each.ahead
            else f"{span} occur twice: {named}. The schedule says back or ahead there."
        )
