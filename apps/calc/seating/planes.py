"""A rigid flat base over corners of different height: where it can rest, how it tilts, how flat the corners are."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations
from typing import TYPE_CHECKING, NamedTuple

from apps.calc.errors import CalcError, Exactable, counted, exact, finite, positive

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

FEWEST, MOST = 4, 12
NAMES = "ABCDEFGHIJKL"
CENTRE = (Fraction(0), Fraction(0))
DIAGONAL = math.sqrt(2)
"""Diagonal of a square over its side, and radius of the circle through corners at (±1, ±1)."""
ROUNDING = Fraction(1, 10**9)
"""Inches closer than this are the same: other patterns than the square have no exact positions."""


class Corner(NamedTuple):
    """A point of support: its name, its place on the plan and its height, all in one unit, usually inches."""

    name: str
    x: Fraction
    y: Fraction
    height: Fraction


@dataclass(frozen=True, slots=True)
class Seat:
    """One position in which the base can rest."""

    carries: tuple[str, ...]
    gaps: tuple[Fraction, ...]
    """Gap under the base at each corner, in corner order. Never negative."""
    slope_x: float
    slope_y: float

    @property
    def gap(self) -> Fraction:
        """The greatest gap."""
        return max(self.gaps)

    @property
    def slope(self) -> float:
        """Rise over run of the tilt."""
        return math.hypot(self.slope_x, self.slope_y)

    @property
    def tilt_deg(self) -> float:
        """The tilt from level [degrees]."""
        return math.degrees(math.atan(self.slope))

    @property
    def toward_deg(self) -> float | None:
        """Where the base leans to: downhill, degrees counter-clockwise from +x. None when it is level."""
        return downhill(self.slope_x, self.slope_y)


@dataclass(frozen=True, slots=True)
class Zone:
    """The plane z = level + slope_x·x + slope_y·y about which heights vary least, and the width of their zone."""

    level: float
    slope_x: float
    slope_y: float
    width: float

    @property
    def slope(self) -> float:
        """Rise over run of the plane."""
        return math.hypot(self.slope_x, self.slope_y)


def downhill(slope_x: float, slope_y: float) -> float | None:
    """Return the direction of descent [degrees counter-clockwise from +x, 0 to 360]; None on the level."""
    if math.hypot(slope_x, slope_y) < 1e-12:
        return None
    return math.degrees(math.atan2(-slope_y, -slope_x)) % 360


def toward(corners: Sequence[Corner], degrees: float | None) -> str:
    """Return the corner, or the two corners, nearest a direction [degrees counter-clockwise from +x]; "" when level."""
    if degrees is None:
        return ""
    step = 360 / len(corners)
    place, rest = divmod((degrees - step / 2) % 360 / step, 1)
    here, after = corners[int(place) % len(corners)].name, corners[(int(place) + 1) % len(corners)].name
    return here if rest < 0.25 else after if rest > 0.75 else f"{here} and {after}"


def on_circle(heights: Sequence[Exactable], names: Sequence[str] | None = None) -> tuple[Corner, ...]:
    """Place corners in order round a circle of radius √2, the first at 45° when there are four.

    Four corners so stand at (±1, ±1) and everything about gaps stays exact. The half side of the square,
    bolt circle / (2 √2), is the unit of length.
    """
    count = len(counted("corners", heights, FEWEST, MOST))
    labels = names or NAMES[:count]
    if count == 4:
        places = [(Fraction(x), Fraction(y)) for x, y in ((1, 1), (-1, 1), (-1, -1), (1, -1))]
    else:
        angles = [math.tau * (index + 0.5) / count for index in range(count)]
        places = [(Fraction(DIAGONAL * math.cos(each)), Fraction(DIAGONAL * math.sin(each))) for each in angles]
    return tuple(
        Corner(label, x, y, exact(label, height)) for label, height, (x, y) in zip(labels, heights, places, strict=True)
    )


def seats(corners: Sequence[Corner], load: tuple[Fraction, Fraction] = CENTRE) -> tuple[Seat, ...]:
    """Return every position in which a rigid flat base can rest on the corners under a vertical load at `load`.

    A base rests on three corners that hold the load between them and leave nothing above it: a face of the convex hull
    over the load. Two positions at most unless more corners lie in one face; with the load on a line between two
    corners the base rocks on that line. Slopes are per unit of x and y. CalcError when the load is outside all corners.
    Source: statics of three supports (plane geometry).
    """
    counted("corners", corners, FEWEST, MOST)
    found: list[Seat] = []
    for three in combinations(corners, 3):
        plane = _plane(three)
        if plane is None or not holds(three, load):
            continue
        level, slope_x, slope_y = plane
        gaps = [level + slope_x * corner.x + slope_y * corner.y - corner.height for corner in corners]
        if min(gaps) < -ROUNDING:
            continue
        clean = tuple(gap.limit_denominator(10**9) if gap > ROUNDING else Fraction(0) for gap in gaps)
        if not any(_same(clean, seat.gaps) for seat in found):
            carries = tuple(corner.name for corner, gap in zip(corners, clean, strict=True) if gap == 0)
            found.append(Seat(carries, clean, float(slope_x), float(slope_y)))
    if not found:
        raise CalcError("load", "stands outside the corners: the base would tip over")
    return tuple(sorted(found, key=lambda seat: -seat.slope))


def _plane(three: Sequence[Corner]) -> tuple[Fraction, Fraction, Fraction] | None:
    (_, x1, y1, z1), (_, x2, y2, z2), (_, x3, y3, z3) = three
    area = (x2 - x1) * (y3 - y1) - (x3 - x1) * (y2 - y1)
    if abs(area) <= ROUNDING:
        return None
    slope_x = ((z2 - z1) * (y3 - y1) - (z3 - z1) * (y2 - y1)) / area
    slope_y = ((x2 - x1) * (z3 - z1) - (x3 - x1) * (z2 - z1)) / area
    return z1 - slope_x * x1 - slope_y * y1, slope_x, slope_y


def holds(three: Sequence[Corner], load: tuple[Fraction, Fraction]) -> bool:
    """Say whether the load lies in the triangle, its sides included."""
    x, y = load
    sides = [
        (b.x - a.x) * (y - a.y) - (b.y - a.y) * (x - a.x)
        for a, b in ((three[0], three[1]), (three[1], three[2]), (three[2], three[0]))
    ]
    return min(sides) >= -ROUNDING or max(sides) <= ROUNDING


def _same(one: Sequence[Fraction], other: Sequence[Fraction]) -> bool:
    return all(abs(a - b) <= ROUNDING for a, b in zip(one, other, strict=True))


def opposite(corners: Sequence[Corner]) -> Iterator[tuple[int, int]]:
    """Return the pairs of corners furthest from each other, as places in the sequence: the diagonals."""
    for index, corner in enumerate(corners):
        away = [math.hypot(float(corner.x - other.x), float(corner.y - other.y)) for other in corners]
        for other, distance in enumerate(away):
            if other > index and distance >= max(away) - ROUNDING:
                yield index, other


def least_squares(points: Sequence[tuple[float, float, float]]) -> Zone:
    """Return the least-squares plane through points (x, y, z) and the width of the zone about it, one unit throughout.

    At least three points not in a line. Source: ISO 12781-1:2011 names it as a reference plane; numpy.linalg.lstsq.
    """
    import numpy as np

    array = _spread(points)
    design = np.column_stack((np.ones(len(array)), array[:, :2]))
    level, slope_x, slope_y = np.linalg.lstsq(design, array[:, 2], rcond=None)[0]
    rest = array[:, 2] - design @ (level, slope_x, slope_y)
    return Zone(float(level), float(slope_x), float(slope_y), float(np.ptp(rest)))


def minimum_zone(points: Sequence[tuple[float, float, float]]) -> Zone:
    """Return the plane half way through the narrowest zone, measured along z, that holds all points (x, y, z).

    At least three points not in a line, one unit throughout. Source: ISO 12781-1:2011, minimum zone reference plane;
    a linear programme, scipy.optimize.linprog.
    """
    import numpy as np
    from scipy.optimize import linprog

    array = _spread(points)
    ones = np.ones((len(array), 1))
    plane = np.column_stack((ones, array[:, :2]))
    found = linprog(
        (0, 0, 0, 1),
        A_ub=np.vstack((np.hstack((-plane, -ones)), np.hstack((plane, -ones)))),
        b_ub=np.concatenate((-array[:, 2], array[:, 2])),
        bounds=[(None, None)] * 3 + [(0, None)],
    )
    level, slope_x, slope_y, half = (float(each) for each in found.x)
    return Zone(level, slope_x, slope_y, 2 * half)


def _spread(points: Sequence[tuple[float, float, float]]) -> "NDArray[np.float64]":
    import numpy as np

    for index, point in enumerate(counted("points", points, 3)):
        for value in counted(f"points[{index}]", point, 3, 3):
            finite(f"points[{index}]", value)
    array = np.array(points, dtype=float)
    if np.linalg.matrix_rank(array[:, :2] - array[0, :2]) < 2:
        raise CalcError("points", "all lie in one line: no plane is fixed by them")
    return array


def half_side_of(bolt_circle: Exactable) -> float:
    """Return half the side of the square on a bolt circle: the unit in which `on_circle` places corners."""
    return float(positive("bolt_circle", exact("bolt_circle", bolt_circle))) / (2 * DIAGONAL)
