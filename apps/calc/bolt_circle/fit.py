"""Which circle fits points best: least squares of distances, and two algebraic fits that it starts from."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

from apps.calc.errors import CalcError, counted, finite

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

Points = Sequence[tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Circle:
    """A circle: centre and radius, in the unit of the points."""

    x: float
    y: float
    radius: float


def linear_circle(points: Points) -> Circle:
    """Return the circle of the linear fit, least squares of x² + y² − (2 a x + 2 b y + c); at least three points.

    Only a start for `fit_circle`: on short arcs it comes out too small. Source: Coope, Circle fitting by linear and
    nonlinear least squares, J. Optim. Theory Appl. 76 (1993) (from memory). CalcError on points in one line.
    """
    import numpy as np

    array = checked_array(points)
    middle = array.mean(axis=0)
    at = array - middle
    if np.linalg.svd(at, compute_uv=False)[1] <= 1e-9 * max(1.0, float(np.abs(array).max())):
        raise CalcError("points", "all lie in one line: no circle goes through them")
    design = np.column_stack((2 * at, np.ones(len(at))))
    a, b, c = np.linalg.lstsq(design, (at**2).sum(axis=1), rcond=None)[0]
    return Circle(float(a + middle[0]), float(b + middle[1]), math.sqrt(float(c + a * a + b * b)))


def unit_norm_circle(points: Points) -> Circle | None:
    """Return the circle a (x² + y²) + b₁ x + b₂ y + c = 0 whose coefficients, of norm 1, leave the least sum of squares.

    Another start for `fit_circle`, and another answer than its: it depends on where the axes lie. None when the
    coefficients make no circle. Source: Gander, Golub, Strebel, BIT 34 (1994), sec. 2. CalcError as `fit_circle`.
    """
    import numpy as np

    at = checked_array(points)
    design = np.column_stack(((at**2).sum(axis=1), at, np.ones(len(at))))
    a, b1, b2, c = (float(each) for each in np.linalg.svd(design)[2][3])
    if abs(a) < 1e-12:
        return None
    x, y = -b1 / (2 * a), -b2 / (2 * a)
    squared = x * x + y * y - c / a
    return Circle(x, y, math.sqrt(squared)) if squared > 0 else None


def fit_circle(points: Points) -> Circle:
    """Return the circle with the least sum of squared distances from the points; at least three, not in one line.

    Sought from two starts, the better end kept. Source: Gander, Golub, Strebel, Least-squares fitting of circles and
    ellipses, BIT 34 (1994), sec. 3; scipy.optimize.least_squares. CalcError on fewer points, NaN, infinity, or points
    in one line.

    >>> circle = fit_circle([(1, 7), (2, 6), (5, 8), (7, 7), (9, 5), (3, 7)])
    >>> round(circle.x, 4), round(circle.y, 4), round(circle.radius, 4)
    (4.7398, 2.9835, 4.7142)
    """
    import numpy as np
    from scipy.optimize import least_squares

    array = checked_array(points)
    starts = [each for each in (linear_circle(points), unit_norm_circle(points)) if each is not None]

    def away(unknown: "NDArray[np.float64]") -> "NDArray[np.float64]":
        out: NDArray[np.float64] = np.hypot(array[:, 0] - unknown[0], array[:, 1] - unknown[1]) - unknown[2]
        return out

    ends = [
        least_squares(away, (each.x, each.y, each.radius), x_scale=each.radius, xtol=1e-14, ftol=1e-14, gtol=1e-14)
        for each in starts
    ]
    x, y, radius = (float(each) for each in min(ends, key=lambda end: float(end.cost)).x)
    return Circle(x, y, abs(radius))


def checked_array(points: Points) -> "NDArray[np.float64]":
    import numpy as np

    for index, point in enumerate(counted("points", points, 3)):
        for value in counted(f"points[{index}]", point, 2, 2):
            finite(f"points[{index}]", value)
    for (one, here), (other, there) in combinations(enumerate(points), 2):
        if tuple(here) == tuple(there):
            raise CalcError("points", f"points {one + 1} and {other + 1} are the same place")
    return np.array(points, dtype=float)
