"""Anchor bolts on their circle: which circle fits, how far each bolt is off its place, whether a base goes on.

Points are bolt centres in inches, in order round the circle; x and y on any two square axes of the foundation's top.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from typing import TYPE_CHECKING

from apps.calc.errors import CalcError, counted, finite, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.working import Step
from apps.calc.working import number_text as text

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

Points = Sequence[tuple[float, float]]

CAUTION = (
    "Cap or guard upright bolt ends. Never slot, cut or force a casting, and never bend a bolt to fit: "
    "the base's eligibility letter and the engineer govern."
)
TOLERANCE_IN = 0.125
"""On the bolt circle: common practice, no source; AISC 303 section 7.5 asks 1/8 in between any two rods of a group."""
STEEPEST = 40.0
"""Lean of a bolt at most 1 in 40: Wisconsin DOT form DT2321 (6/2016), step 2; AISC Design Guide 1, Table A2."""


@dataclass(frozen=True, slots=True)
class Circle:
    """A circle: centre and radius, in the unit of the points."""

    x: float
    y: float
    radius: float


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
    errors: tuple[float, ...]
    """Distance of each bolt from its place in the nominal pattern, laid where the worst of them is least."""
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


@dataclass(frozen=True, slots=True)
class Template:
    """Chords of a template [in]: from a bolt to the next, the one after, and so on to the opposite one."""

    chords: tuple[float, ...]
    side: float
    diagonal: float
    working: tuple[Step, ...]
    caution: str = CAUTION


@dataclass(frozen=True, slots=True)
class Lean:
    """How far a bolt leans."""

    slope: float
    """Rise over run against plumb: 0.025 is 1 in 40."""
    one_in: float | None
    """The same as 1 in this; None for a plumb bolt."""
    lean_deg: float
    toward_deg: float | None
    """Direction of the lean, counter-clockwise from `along`; None for a plumb bolt."""
    conforms: bool
    working: tuple[Step, ...]
    caution: str = CAUTION


def linear_circle(points: Points) -> Circle:
    """Return the circle of the linear fit, least squares of x² + y² − (2 a x + 2 b y + c); at least three points.

    Only a start for `fit_circle`: on short arcs it comes out too small. Source: Coope, Circle fitting by linear and
    nonlinear least squares, J. Optim. Theory Appl. 76 (1993) (from memory). CalcError on points in one line.
    """
    import numpy as np

    array = _array(points)
    middle = array.mean(axis=0)
    at = array - middle
    if np.linalg.svd(at, compute_uv=False)[1] <= 1e-9 * max(1.0, float(np.abs(array).max())):
        raise CalcError("points", "all lie in one line: no circle goes through them")
    design = np.column_stack((2 * at, np.ones(len(at))))
    a, b, c = np.linalg.lstsq(design, (at**2).sum(axis=1), rcond=None)[0]
    return Circle(float(a + middle[0]), float(b + middle[1]), math.sqrt(float(c + a * a + b * b)))


def fit_circle(points: Points) -> Circle:
    """Return the circle with the least sum of squared distances from the points; at least three, not in one line.

    Source: Gander, Golub, Strebel, Least-squares fitting of circles and ellipses, BIT 34 (1994), sec. 3;
    scipy.optimize.least_squares. CalcError on fewer points, NaN, infinity, or points in one line.

    >>> circle = fit_circle([(1, 7), (2, 6), (5, 8), (7, 7), (9, 5), (3, 7)])
    >>> round(circle.x, 4), round(circle.y, 4), round(circle.radius, 4)
    (4.7398, 2.9835, 4.7142)
    """
    import numpy as np
    from scipy.optimize import least_squares

    start = linear_circle(points)
    array = _array(points)
    scale = start.radius

    def away(unknown: "NDArray[np.float64]") -> "NDArray[np.float64]":
        out: NDArray[np.float64] = np.hypot(array[:, 0] - unknown[0], array[:, 1] - unknown[1]) - unknown[2]
        return out

    found = least_squares(away, (start.x, start.y, start.radius), x_scale=scale, xtol=1e-14, ftol=1e-14, gtol=1e-14)
    x, y, radius = (float(each) for each in found.x)
    return Circle(x, y, abs(radius))


def from_tape(sides: Sequence[float], diagonals: Sequence[float]) -> tuple[tuple[tuple[float, float], ...], float]:
    """Return four bolt centres from sides AB, BC, CD, DA and diagonals AC, BD, and the worst misclosure [in].

    Six lengths fix four points once over: the points fit them by least squares, B on the +x side of A, and what is left
    over shows a slip of the tape. CalcError when the lengths cannot close. Source: plane geometry,
    scipy.optimize.least_squares.
    """
    import numpy as np
    from scipy.optimize import least_squares

    ab, bc, cd, da = (float(positive("sides", each)) for each in counted("sides", sides, 4, 4))
    ac, bd = (float(positive("diagonals", each)) for each in counted("diagonals", diagonals, 2, 2))
    for name, one, two, three in (("ABC", ab, bc, ac), ("CDA", cd, da, ac), ("ABD", ab, da, bd), ("BCD", bc, cd, bd)):
        if max(one, two, three) >= one + two + three - max(one, two, three):
            raise CalcError("diagonals", f"the lengths of {name} do not close to a triangle")
    measured = np.array((ab, bc, cd, da, ac, bd))
    pairs = np.array(((0, 1), (1, 2), (2, 3), (3, 0), (0, 2), (1, 3)))
    c_x, d_x = (ab**2 + ac**2 - bc**2) / (2 * ab), (ab**2 + da**2 - bd**2) / (2 * ab)
    start = (ab, c_x, math.sqrt(ac**2 - c_x**2), d_x, math.sqrt(da**2 - d_x**2))

    def spread(unknown: "NDArray[np.float64]") -> "NDArray[np.float64]":
        return np.array(((0.0, 0.0), (unknown[0], 0.0), (unknown[1], unknown[2]), (unknown[3], unknown[4])))

    def left_over(unknown: "NDArray[np.float64]") -> "NDArray[np.float64]":
        at = spread(unknown)
        out: NDArray[np.float64] = np.linalg.norm(at[pairs[:, 0]] - at[pairs[:, 1]], axis=1) - measured
        return out

    found = least_squares(left_over, start, xtol=1e-14, ftol=1e-14, gtol=1e-14)
    places = tuple((float(x), float(y)) for x, y in spread(found.x))
    return places, float(np.abs(found.fun).max())


def pattern_errors(points: Points, bolt_circle: float) -> tuple[tuple[float, ...], float]:
    """Return each bolt's distance [in] from an equally spaced pattern, and the pattern's turn from its mean [degrees].

    The pattern of that bolt circle [in] is laid where the worst distance is least, which is how a base finds its place.
    Points in order round the circle, either way. Source: minimax over shift and turn, scipy.optimize.minimize (SLSQP).
    """
    import numpy as np
    from scipy.optimize import minimize

    array = _array(points)
    at = array[:, 0] + 1j * array[:, 1]
    at = at - at.mean()
    count, radius = len(at), float(positive("bolt_circle", bolt_circle)) / 2
    way = 1 if float(np.sum(np.imag(np.conj(at) * np.roll(at, -1)))) > 0 else -1
    spokes = radius * np.exp(way * 2j * np.pi * np.arange(count) / count)
    first = float(np.angle(np.sum(at * np.conj(spokes))))

    def away(unknown: "NDArray[np.float64]") -> "NDArray[np.float64]":
        laid = spokes * np.exp(1j * (first + unknown[2])) + radius * (unknown[0] + 1j * unknown[1])
        out: NDArray[np.float64] = np.abs(at - laid) / radius
        return out

    start = np.zeros(4)
    start[3] = away(start).max()
    found = minimize(
        lambda unknown: unknown[3],
        start,
        jac=lambda _: np.array((0.0, 0.0, 0.0, 1.0)),
        constraints={"type": "ineq", "fun": lambda unknown: unknown[3] ** 2 - away(unknown) ** 2},
        bounds=[(None, None)] * 3 + [(0, None)],
        method="SLSQP",
        options={"ftol": 1e-14, "maxiter": 300},
    )
    best = min((start, found.x), key=lambda unknown: float(away(unknown).max()))
    return tuple(float(each) * radius for each in away(best)), math.degrees(first + best[2])


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
    circle = fit_circle(points)
    errors, turn = pattern_errors(points, target)
    diameter, worst = 2 * circle.radius, max(errors)
    clearance = _clearance(worst, bolt_diameter, hole_diameter)
    ring = [*points, points[0]]
    across = tuple(math.dist(points[at], points[at + len(points) // 2]) for at in range(len(points) // 2))
    diagonal = across if len(points) % 2 == 0 else ()
    conforms = abs(diameter - target) <= allowed + 1e-9 and (clearance is None or clearance >= 0)
    return BoltCircle(
        bolt_circle=diameter,
        x=circle.x,
        y=circle.y,
        residuals=tuple(math.dist(point, (circle.x, circle.y)) - circle.radius for point in points),
        points=points,
        sides=tuple(math.dist(one, other) for one, other in pairwise(ring)),
        diagonals=diagonal,
        diagonal_difference=max(diagonal) - min(diagonal) if diagonal else 0.0,
        off_nominal=diameter - target,
        errors=errors,
        worst=worst,
        turn_deg=turn,
        misclosure=misclosure,
        clearance=clearance,
        conforms=conforms,
        sentence=_sentence(diameter, target, allowed, errors, clearance),
        working=_working(points, circle, target, allowed, worst, clearance),
    )


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


def _clearance(worst: float, bolt: float | None, hole: float | None) -> float | None:
    if bolt is None or hole is None:
        return None
    if hole < positive("bolt_diameter", bolt):
        raise CalcError("hole_diameter", f"a {text(bolt)} in bolt does not enter a {text(hole)} in hole")
    return (float(positive("hole_diameter", hole)) - float(bolt)) / 2 - worst


def _sentence(diameter: float, target: float, allowed: float, errors: Sequence[float], clearance: float | None) -> str:
    off, worst = diameter - target, max(errors)
    within = "within" if abs(off) <= allowed + 1e-9 else "over"
    said = f"The bolts stand on a circle of {diameter:.3f} in, {off:+.3f} in from nominal, {within} ± {allowed:.3f}. "
    said += f"The worst bolt, number {list(errors).index(worst) + 1}, is {worst:.3f} in off its place."
    if clearance is None:
        return said
    if clearance < 0:
        return f"{said} The base does not go on, by {-clearance:.3f} in: another approved base, or the engineer."
    return f"{said} The base goes on with {clearance:.3f} in to spare."


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


def _array(points: Points) -> "NDArray[np.float64]":
    import numpy as np

    for index, point in enumerate(counted("points", points, 3)):
        for value in counted(f"points[{index}]", point, 2, 2):
            finite(f"points[{index}]", value)
    for (one, here), (other, there) in combinations(enumerate(points), 2):
        if tuple(here) == tuple(there):
            raise CalcError("points", f"points {one + 1} and {other + 1} are the same place")
    return np.array(points, dtype=float)


@calculation(
    "bolt_circle.template",
    "Chords of a template",
    "Plane geometry: chord = B sin(k π / n)",
    inputs=(
        Input("bolt_circle", "length", "in", "bolt circle", low=1, high=120),
        Input("count", "count", "", "bolts", default=4, low=3, high=36),
    ),
    outputs=(
        Output("side", "length", "in", "from a bolt to the next"),
        Output("diagonal", "length", "in", "the longest chord"),
    ),
    caution=CAUTION,
)
def template(*, bolt_circle: float, count: float = 4) -> Template:
    """Return the chords of an equally spaced pattern [in]; bolt_circle [in] over 0, a whole count of 3 to 36.

    Source: plane geometry; n = 4: side B / √2, diagonal B. CalcError otherwise.

    >>> round(template(bolt_circle=15).side, 4)
    10.6066
    """
    diameter = float(positive("bolt_circle", bolt_circle))
    if finite("count", count) != int(count) or not 3 <= count <= 36:
        raise CalcError("count", f"expected a whole number of bolts from 3 to 36, got {count}")
    bolts = int(count)
    chords = tuple(diameter * math.sin(step * math.pi / bolts) for step in range(1, bolts // 2 + 1))
    working = tuple(
        Step(f"chord {step}", "B sin(k π / n)", f"{text(diameter)} × sin({step} × π / {bolts})", chord, "in")
        for step, chord in enumerate(chords, 1)
    )
    return Template(chords, chords[0], chords[-1], working)


@calculation(
    "bolt_circle.lean",
    "Lean of a bolt",
    "Wisconsin DOT form DT2321 (6/2016), step 2; AISC Design Guide 1, 2nd ed., Table A2: 1 in 40 at most",
    inputs=(
        Input("along", "length", "in", "out of plumb on one face"),
        Input("across", "length", "in", "out of plumb on the face square to it", default=0.0),
        Input("length", "length", "in", "length over which it was read", low=0.1, high=120),
        Input("one_in", "ratio", "1", "steepest lean allowed: one in this", default=STEEPEST, low=1),
    ),
    outputs=(
        Output("slope", "ratio", "1", "lean, rise over run"),
        Output("lean_deg", "angle", "deg", "lean"),
    ),
    caution=CAUTION,
)
def lean(*, along: float, length: float, across: float = 0.0, one_in: float = STEEPEST) -> Lean:
    """Return how far a bolt leans from two readings square to each other [in] over a length [in].

    Any finite readings, length and one_in over 0. CalcError otherwise. Source: Wisconsin DOT form DT2321, step 2
    (slope at most 1 in 40: 1/4 in over 10 in).

    >>> lean(along=0.25, length=10).conforms
    True
    """
    off = math.hypot(float(finite("along", along)), float(finite("across", across)))
    over, steepest = float(positive("length", length)), float(positive("one_in", one_in))
    slope = off / over
    working = (
        Step("off plumb", "√(along² + across²)", f"√({text(along)}² + {text(across)}²)", off, "in"),
        Step("slope", "off plumb / length", f"{text(off)} / {text(over)}", slope, "1"),
        Step("verdict", "slope × limit ≤ 1", f"{text(slope)} × {text(steepest)} ≤ 1", off * steepest <= over),
    )
    return Lean(
        slope=slope,
        one_in=1 / slope if slope else None,
        lean_deg=math.degrees(math.atan(slope)),
        toward_deg=math.degrees(math.atan2(float(across), float(along))) % 360 if slope else None,
        conforms=off * steepest <= over,
        working=working,
    )
