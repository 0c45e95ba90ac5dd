"""Four bolts from the lengths between them, as a tape gives them."""

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from apps.calc.errors import CalcError, counted, positive

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


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
