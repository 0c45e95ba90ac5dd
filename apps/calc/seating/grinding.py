"""The least grinding that lets a rigid base sit: which corners, how deep."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations
from typing import TYPE_CHECKING

from apps.calc.errors import CalcError, Exactable, exact, not_negative
from apps.calc.seating.planes import CENTRE, ROUNDING, Corner, holds, opposite, seats

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

CUT_STEP = Fraction(1, 64)
"""Cuts are named to the sixty-fourth of an inch: finer is not ground by hand."""
SLACK = 1e-9
"""By how much a later goal may undo an earlier one [in]: the solver's own tolerance."""


@dataclass(frozen=True, slots=True)
class Grinding:
    """What to take off so that no gap is over `target` [in] and no diagonal falls more than `level` [in]."""

    target: Fraction
    level: Fraction | None
    off: tuple[float, ...]
    """Off each corner [in], in corner order: the least in total, and of those the most level."""
    cuts: tuple[Fraction, ...]
    """The same to the next 1/64 in, as a crew grinds it."""
    gap_after: Fraction
    """The greatest gap that the cuts leave."""

    @property
    def total(self) -> float:
        """Sum of what comes off [in]."""
        return sum(self.off)


def least_grinding(corners: Sequence[Corner], target: Exactable, level: Exactable | None = None) -> Grinding:
    """Return the least total grinding that keeps gaps within target [in] and falls of diagonals within level [in].

    Heights in inches, x and y in any one unit, load at the centre; `level` None leaves the fall alone. Four corners in
    a square are solved exactly; for other patterns no three corners around the centre may leave more than the target
    at any other, which is at least as strict as needed. CalcError on a negative target or level.
    Source: linear programmes over depths d >= 0 (scipy.optimize.linprog): least sum, then least fall, then least depth.
    """
    import numpy as np

    goal = not_negative("target", exact("target", target))
    fall = None if level is None else not_negative("level", exact("level", level))
    gap_rows, level_rows = _gap_rows(corners), _level_rows(corners)
    heights = np.array([float(each.height) for each in corners])
    rows, most = [gap_rows], [float(goal) + gap_rows @ heights]
    if fall is not None:
        rows.append(level_rows)
        most.append(float(fall) + level_rows @ heights)
    off = _solve(np.vstack(rows), np.concatenate(most), level_rows, heights)
    cuts = _cuts(corners, off, goal)
    return Grinding(goal, fall, off, cuts, _gap_left(corners, cuts))


def _gap_rows(corners: Sequence[Corner]) -> "NDArray[np.float64]":
    """Rows r with gap = -r·height: of each corner under the plane of three others that stand around the centre."""
    import numpy as np

    rows = []
    for three in combinations(range(len(corners)), 3):
        chosen = [corners[index] for index in three]
        base = np.array([[1.0, float(each.x), float(each.y)] for each in chosen])
        if abs(np.linalg.det(base)) <= ROUNDING or not holds(chosen, CENTRE):
            continue
        for index in set(range(len(corners))) - set(three):
            at = np.array([1.0, float(corners[index].x), float(corners[index].y)])
            row = np.zeros(len(corners))
            row[list(three)] = -np.linalg.solve(base.T, at)
            row[index] = 1.0
            rows.append(row)
    if not rows:
        raise CalcError("corners", "no three of them stand around the centre")
    return np.array(rows)


def _level_rows(corners: Sequence[Corner]) -> "NDArray[np.float64]":
    import numpy as np

    rows = []
    for one, other in opposite(corners):
        row = np.zeros(len(corners))
        row[one], row[other] = 1.0, -1.0
        rows += [row, -row]
    return np.array(rows)


def _solve(
    rows: "NDArray[np.float64]",
    most: "NDArray[np.float64]",
    level_rows: "NDArray[np.float64]",
    heights: "NDArray[np.float64]",
) -> tuple[float, ...]:
    """Minimise the sum of depths; keep it, and minimise the worst fall; keep both, and minimise the deepest cut.

    A row bounds the heights that are left: -row·(height - depth) <= target, that is row·depth <= target + row·height.
    The last two unknowns are the worst fall and the deepest cut.
    """
    import numpy as np
    from scipy.optimize import linprog

    count, zero = len(heights), np.zeros
    falls = np.hstack((level_rows, -np.ones((len(level_rows), 1)), zero((len(level_rows), 1))))
    depths = np.hstack((np.eye(count), zero((count, 1)), -np.ones((count, 1))))
    limits = np.vstack((np.hstack((rows, zero((len(rows), 2)))), falls, depths))
    bounds = np.concatenate((most, level_rows @ heights, zero(count)))
    wanted = (np.r_[np.ones(count), 0, 0], np.r_[zero(count), 1, 0], np.r_[zero(count), 0, 1])
    for goal in wanted:
        found = linprog(goal, A_ub=limits, b_ub=bounds)
        if found.status:
            raise CalcError("corners", f"no grinding was found: {found.message}")
        limits, bounds = np.vstack((limits, goal)), np.append(bounds, found.fun + SLACK)
    return tuple(round(float(each), 6) for each in found.x[:count])


def _cuts(corners: Sequence[Corner], off: Sequence[float], target: Fraction) -> tuple[Fraction, ...]:
    """Round depths up to the next step; to the nearest one instead where rounding up would leave the larger gap."""
    up = tuple(-((-Fraction(each) + Fraction(2, 10**6)) // CUT_STEP) * CUT_STEP for each in off)
    near = tuple(round(Fraction(each) / CUT_STEP) * CUT_STEP for each in off)
    return min((up, near), key=lambda cuts: max(_gap_left(corners, cuts) - target, Fraction(0)))


def _gap_left(corners: Sequence[Corner], cuts: Sequence[Fraction]) -> Fraction:
    left = [each._replace(height=each.height - cut) for each, cut in zip(corners, cuts, strict=True)]
    return max(seat.gap for seat in seats(left))
