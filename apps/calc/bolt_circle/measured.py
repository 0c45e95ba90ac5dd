"""Measured bolts against the plans: their circle, how far each is off its place, whether a base goes on."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from apps.calc.bolt_circle.caution import CAUTION
from apps.calc.bolt_circle.fit import Circle, Points, fit_circle
from apps.calc.bolt_circle.pattern import lay_pattern
from apps.calc.bolt_circle.tape import from_tape
from apps.calc.errors import CalcError, counted, finite, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.shown import show
from apps.calc.working import Step
from apps.calc.working import number_text as text

TOLERANCE_IN = 0.125
"""On the bolt circle: common practice, no source; AISC 303 section 7.5 asks 1/8 in between any two rods of a group."""
ROUNDING_IN = 1e-9
"""So little over a limit is the arithmetic's, not the bolts'."""


@dataclass(frozen=True, slots=True)
class BoltCircle:
    """Measured bolts against a nominal pattern. All in inches but the turn, in degrees counter-clockwise."""

    bolt_circle: float
    """Diameter of the circle that fits best (least squares of radial distances)."""
    x: float
    y: float
    residuals: tuple[float, ...]
    """How far each bolt stands outside (positive) or inside that circle."""
    points: tuple[tuple[float, float], ...]
    sides: tuple[float, ...]
    diagonals: tuple[float, ...]
    """Lengths between opposite bolts; empty for an odd number."""
    diagonal_difference: float
    off_nominal: float
    """Bolt circle measured less nominal."""
    places: tuple[tuple[float, float], ...]
    """The place of each bolt in the nominal pattern, laid where the worst of them is least off."""
    errors: tuple[float, ...]
    """Distance of each bolt from that place."""
    worst: float
    turn_deg: float
    misclosure: float
    """By how much the six tape lengths disagree with any four points, at worst; 0 for coordinates."""
    clearance: float | None
    """Room left round the worst bolt in its hole; negative: the base does not go on. None: no hole was given."""
    conforms: bool
    sentence: str
    working: tuple[Step, ...]
    caution: str = CAUTION

    @property
    def off_size(self) -> float:
        """Bolt circle off nominal, without sign: what a limit compares."""
        return abs(self.off_nominal)


@calculation(
    "bolt_circle",
    "Bolt circle as measured",
    "Gander, Golub, Strebel, BIT 34 (1994): least-squares circle; tolerance: common practice, no source",
    inputs=(
        Input("x", "length", "in", "bolt centres, x", many=True, optional=True),
        Input("y", "length", "in", "bolt centres, y", many=True, optional=True),
        Input("sides", "length", "in", "or four sides: AB, BC, CD, DA", many=True, optional=True, low=0),
        Input("diagonals", "length", "in", "and two diagonals: AC, BD", many=True, optional=True, low=0),
        Input("nominal", "length", "in", "bolt circle on the plans", low=1, high=120),
        Input("tolerance", "length", "in", "tolerance on the bolt circle", default=TOLERANCE_IN, low=0),
        Input("bolt_diameter", "length", "in", "bolt diameter", optional=True, low=0),
        Input("hole_diameter", "length", "in", "hole, or width of the slot, in the base", optional=True, low=0),
    ),
    outputs=(
        Output("bolt_circle", "length", "in", "bolt circle as measured"),
        Output("off_size", "length", "in", "off nominal, without sign"),
        Output("worst", "length", "in", "worst bolt off its place"),
        Output("diagonal_difference", "length", "in", "difference of the diagonals"),
        Output("misclosure", "length", "in", "disagreement of the tape lengths"),
        Output("clearance", "length", "in", "room round the worst bolt in its hole"),
    ),
    caution=CAUTION,
    beyond=(
        "Whether the bolts are plumb, at the right height, turned square to the road, or sound; and not what a base of "
        "another make would ask for."
    ),
    # Corners of a square pattern, measured in inches from the middle of the template: invented; the nominal of 15 in too.
    example={
        "x": "5.31, -5.29, -5.33, 5.26",
        "y": "5.28, 5.34, -5.22, -5.35",
        "nominal": "15 in",
        "bolt_diameter": "1 in",
        "hole_diameter": "1 1/16 in",
    },
)
def measured_circle(
    *,
    nominal: float,
    x: Sequence[float] | None = None,
    y: Sequence[float] | None = None,
    sides: Sequence[float] | None = None,
    diagonals: Sequence[float] | None = None,
    tolerance: float = TOLERANCE_IN,
    bolt_diameter: float | None = None,
    hole_diameter: float | None = None,
) -> BoltCircle:
    """Return the bolt circle that fits measured bolts, how far each is off its place, and whether a base goes on [in].

    Either x and y of three bolts or more in order round the circle, or four sides with two diagonals by tape.
    nominal over 0; tolerance 0 or more; with both diameters the room in the holes is worked out too. A base goes on
    when no bolt is further from its place than half of hole less bolt. CalcError names the argument at fault.
    Source: Gander, Golub, Strebel, BIT 34 (1994); common practice for the tolerance, no source.

    >>> found = measured_circle(sides=[10.6, 10.56, 10.591, 10.63], diagonals=[14.949, 15.019], nominal=15)
    >>> round(found.bolt_circle, 2), found.conforms
    (14.98, True)
    """
    target, allowed = float(positive("nominal", nominal)), float(not_negative("tolerance", tolerance))
    points, misclosure = _measured(x, y, sides, diagonals)
    room = _room(bolt_diameter, hole_diameter)
    return _against(points, misclosure, target, allowed, room)


def _against(points: Points, misclosure: float, target: float, allowed: float, room: float | None) -> BoltCircle:
    circle, laid = fit_circle(points), lay_pattern(points, target)
    diameter, worst = 2 * circle.radius, max(laid.errors)
    clearance = None if room is None else room - worst
    ring = [*points, points[0]]
    half = len(points) // 2
    diagonal = tuple(math.dist(points[at], points[at + half]) for at in range(half)) if len(points) % 2 == 0 else ()
    return BoltCircle(
        bolt_circle=diameter,
        x=circle.x,
        y=circle.y,
        residuals=tuple(math.dist(point, (circle.x, circle.y)) - circle.radius for point in points),
        points=tuple(points),
        sides=tuple(math.dist(one, other) for one, other in pairwise(ring)),
        diagonals=diagonal,
        diagonal_difference=max(diagonal) - min(diagonal) if diagonal else 0.0,
        off_nominal=diameter - target,
        places=laid.places,
        errors=laid.errors,
        worst=worst,
        turn_deg=laid.turn_deg,
        misclosure=misclosure,
        clearance=clearance,
        conforms=_within(diameter, target, allowed) and (clearance is None or clearance >= 0),
        sentence=_sentence(diameter, target, allowed, laid.errors, clearance),
        working=_working(points, circle, target, allowed, worst, clearance),
    )


def _within(diameter: float, target: float, allowed: float) -> bool:
    return abs(diameter - target) <= allowed + ROUNDING_IN


def _measured(
    x: Sequence[float] | None,
    y: Sequence[float] | None,
    sides: Sequence[float] | None,
    diagonals: Sequence[float] | None,
) -> tuple[tuple[tuple[float, float], ...], float]:
    if (x is None) != (y is None):
        raise CalcError("x" if x is None else "y", "x and y come together")
    if (sides is None) != (diagonals is None):
        raise CalcError("sides" if sides is None else "diagonals", "sides and diagonals come together")
    if (x is None) == (sides is None):
        raise CalcError("x", "give either x and y, or sides and diagonals")
    if sides is not None and diagonals is not None:
        return from_tape(sides, diagonals)
    counted("x", x or (), 3)
    counted("y", y or (), len(x or ()), len(x or ()))
    places = zip(x or (), y or (), strict=True)
    return tuple((float(finite("x", one)), float(finite("y", other))) for one, other in places), 0.0


def _room(bolt: float | None, hole: float | None) -> float | None:
    """How far a bolt may stand off its place and still enter its hole; None when a diameter is missing."""
    if bolt is None or hole is None:
        return None
    if hole < positive("bolt_diameter", bolt):
        raise CalcError("hole_diameter", f"a {text(bolt)} in bolt does not enter a {text(hole)} in hole")
    return (float(positive("hole_diameter", hole)) - float(bolt)) / 2


def inches(value: float) -> str:
    """Write a measured length to the thousandth, as a fraction where it is one: 0.016 in, 1/8 in."""
    return show(Fraction(f"{value:.3f}"), "in")


def _off_words(off: float, allowed: float) -> str:
    """Say how far a circle is off nominal; with more places where rounding would put it on the limit."""
    if not round(off, 3):
        return "nominal to 0.001 in"
    hidden = _within(off, 0, allowed) != (round(abs(off), 3) <= allowed)
    return f"{text(abs(off)) + ' in' if hidden else inches(abs(off))} {'over' if off > 0 else 'under'} nominal"


def _sentence(diameter: float, target: float, allowed: float, errors: Sequence[float], clearance: float | None) -> str:
    worst, within = max(errors), _within(diameter, target, allowed)
    verdict = "Conforms" if within and (clearance is None or clearance >= 0) else "Nonconforming"
    said = f"{verdict}: the bolts stand on a circle of {inches(diameter)}, {_off_words(diameter - target, allowed)}, "
    said += f"{'within' if within else 'beyond'} the \N{PLUS-MINUS SIGN} {inches(allowed)} allowed. "
    said += f"The worst bolt, number {list(errors).index(worst) + 1}, is {inches(worst)} off its place."
    if clearance is not None and clearance >= 0:
        return f"{said} The base goes on with {inches(clearance)} to spare."
    if clearance is not None:
        return f"{said} The base does not go on, by {inches(-clearance)}: another approved base, or the engineer."
    return said if within else f"{said} The engineer decides."


def _working(
    points: Points, circle: Circle, target: float, allowed: float, worst: float, clearance: float | None
) -> tuple[Step, ...]:
    diameter = 2 * circle.radius
    shown = "; ".join(f"{x:.3f}, {y:.3f}" for x, y in points)
    steps = [
        Step(
            "x0, y0, r",
            "least Σ (√((x − x0)² + (y − y0)²) − r)²",
            shown,
            f"{circle.x:.4f}, {circle.y:.4f}, {circle.radius:.4f}",
            "in",
        ),
        Step("B", "2 r", f"2 × {circle.radius:.4f}", diameter, "in"),
        Step("off nominal", "B − nominal", f"{diameter:.4f} − {text(target)}", diameter - target, "in"),
        Step(
            "verdict",
            "|off nominal| ≤ tolerance",
            f"{abs(diameter - target):.4f} ≤ {text(allowed)}",
            abs(diameter - target) <= allowed + 1e-9,
        ),
        Step("worst", "greatest distance of a bolt from its place, pattern laid for the least", shown, worst, "in"),
    ]
    if clearance is not None:
        steps.append(
            Step("room", "(hole − bolt) / 2 − worst", f"{clearance + worst:.4f} − {worst:.4f}", clearance, "in")
        )
    return tuple(steps)
