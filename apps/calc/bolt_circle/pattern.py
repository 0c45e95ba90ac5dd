"""Where an equally spaced pattern lies best on measured bolts, which is how a base finds its place."""

import math
from typing import TYPE_CHECKING, NamedTuple

from apps.calc.bolt_circle.fit import Points, checked_array
from apps.calc.errors import positive

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


class Laid(NamedTuple):
    """A pattern laid where its worst bolt is least off."""

    places: tuple[tuple[float, float], ...]
    """The pattern's place for each bolt, on the axes of the points."""
    errors: tuple[float, ...]
    """Distance of each bolt from its place."""
    turn_deg: float
    """Direction of the first place from the pattern's middle, counter-clockwise."""


def lay_pattern(points: Points, bolt_circle: float) -> Laid:
    """Lay an equally spaced pattern of that bolt circle [in] on points in order round the circle, either way.

    It is laid where the greatest distance of a point from its place is least. CalcError on fewer than three points, or
    two at one place. Source: minimax over shift and turn, scipy.optimize.minimize (SLSQP).
    """
    import numpy as np

    array = checked_array(points)
    at = array[:, 0] + 1j * array[:, 1]
    middle = at.mean()
    count, radius = len(at), float(positive("bolt_circle", bolt_circle)) / 2
    way = 1 if float(np.sum(np.imag(np.conj(at - middle) * np.roll(at - middle, -1)))) > 0 else -1
    spokes = np.exp(way * 2j * np.pi * np.arange(count) / count)
    x, y, turn = _least_worst((at - middle) / radius, spokes)
    laid = middle + radius * (spokes * np.exp(1j * turn) + x + 1j * y)
    errors = tuple(float(each) for each in np.abs(at - laid))
    return Laid(tuple((float(each.real), float(each.imag)) for each in laid), errors, math.degrees(turn))


def _least_worst(at: "NDArray[np.complex128]", spokes: "NDArray[np.complex128]") -> tuple[float, float, float]:
    """Return the shift and the turn [radians] of unit spokes for which the greatest distance from `at` is least."""
    import numpy as np
    from scipy.optimize import minimize

    first = float(np.angle(np.sum(at * np.conj(spokes))))

    def away(unknown: "NDArray[np.float64]") -> "NDArray[np.float64]":
        laid = spokes * np.exp(1j * (first + unknown[2])) + unknown[0] + 1j * unknown[1]
        out: NDArray[np.float64] = np.abs(at - laid)
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
    return float(best[0]), float(best[1]), first + float(best[2])
