"""Tangents, arcs and spirals as arrays: positions along them, and the nearest place on them.

A point is one complex number, north + east·i, so that a bearing (clockwise from north) is its angle and a turn to the
right is positive. Every element is described from its own start: curvature k0 there and k1 at its end [1/ft], over a
length [ft]; tangent k0 = k1 = 0, arc k0 = k1, spiral (clothoid) linear between them.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Reals = NDArray[np.float64]
    Points = NDArray[np.complex128]
    Places = NDArray[np.intp]

CHUNK = 2048
"""Points handled at once: keeps the table of distances to every element inside the processor's cache."""
SAMPLES = 9
"""Places on a spiral among which the search for the nearest one starts."""
CLOSE_FT = 1e-10
"""The search along a spiral ends when it moves less than this."""


class Shape(NamedTuple):
    """An element as numbers: length [ft], curvature at its start and at its end, right positive [1/ft]."""

    length: float
    k0: float
    k1: float


class Nearest(NamedTuple):
    """For each point: distance along [ft], offset [ft, right positive], and how far it lies past an end [ft]."""

    distance: "Reals"
    offset: "Reals"
    beyond: "Reals"


@dataclass(frozen=True)
class Table:
    """All elements of an alignment side by side."""

    start: "Reals"
    length: "Reals"
    k0: "Reals"
    k1: "Reals"
    bearing: "Reals"
    origin: "Points"
    middle: "Points"
    samples: "Points"

    @property
    def total(self) -> float:
        return float(self.start[-1] + self.length[-1])


def lay_out(shapes: Sequence[Shape], origin: complex, bearing: float) -> Table:
    """Join elements end to end, each starting where and as the one before it ends. Bearing [radians]."""
    import numpy as np

    length, k0, k1 = (np.array(column, dtype=float) for column in zip(*shapes, strict=True))
    turns = length * (k0 + k1) / 2
    bearings = bearing + np.concatenate(([0.0], np.cumsum(turns)[:-1]))
    steps = run(k0, k1, length, length) * np.exp(1j * bearings)
    origins = origin + np.concatenate(([0.0], np.cumsum(steps)[:-1]))
    starts = np.concatenate(([0.0], np.cumsum(length)[:-1]))
    middles = origins + run(k0, k1, length, length / 2) * np.exp(1j * bearings)
    fractions = np.linspace(0, 1, SAMPLES)
    wide = np.broadcast_to(length[:, None], (len(length), SAMPLES))
    samples = run(
        np.broadcast_to(k0[:, None], wide.shape), np.broadcast_to(k1[:, None], wide.shape), wide, wide * fractions
    )
    return Table(starts, length, k0, k1, bearings, origins, middles, samples)


def run(k0: "Reals", k1: "Reals", length: "Reals", along: "Reals") -> "Points":
    """Return where each element is after `along` feet, in its own frame: ahead + right·i."""
    import numpy as np

    place: Points = along * np.sinc(k0 * along / (2 * np.pi)) * np.exp(0.5j * k0 * along)
    bent = k0 != k1
    if np.any(bent):
        place[bent] = _run_spiral(k0[bent], k1[bent], length[bent], along[bent])
    return place


def _run_spiral(k0: "Reals", k1: "Reals", length: "Reals", along: "Reals") -> "Points":
    """Integrate exp(i (k0 s + c s²/2)) by completing the square and scipy.special.fresnel (DLMF 7.2(iii))."""
    import numpy as np
    from scipy.special import fresnel

    rate = (k1 - k0) / length
    scale = np.sqrt(np.abs(rate) / np.pi)
    sign = np.sign(rate)
    shift = k0 / rate
    sine_from, cosine_from = fresnel(scale * shift)
    sine_to, cosine_to = fresnel(scale * (shift + along))
    swept: Points = (cosine_to - cosine_from) + 1j * sign * (sine_to - sine_from)
    swept *= np.exp(-0.5j * k0 * shift) / scale
    return swept


def heading(table: Table, which: "Places", along: "Reals") -> "Reals":
    """Return the bearing [radians] of element `which` after `along` feet of it."""
    k0 = table.k0[which]
    turned: Reals = along * (k0 + (table.k1[which] - k0) * along / (2 * table.length[which]))
    return table.bearing[which] + turned


def element_at(table: Table, distance: "Reals") -> "Places":
    """Return which element each distance from the start falls on; a joint belongs to the element that begins there."""
    import numpy as np

    return np.clip(np.searchsorted(table.start, distance, side="right") - 1, 0, len(table.start) - 1)


def points(table: Table, distance: "Reals", offset: "Reals") -> "Points":
    """Return the points at these distances [ft] and offsets [ft, right positive]."""
    import numpy as np

    which = element_at(table, distance)
    along = distance - table.start[which]
    aside: Points = 1j * offset * np.exp(1j * heading(table, which, along))
    return points_on(table, which, along) + aside


def nearest(table: Table, targets: "Points") -> Nearest:
    """Find the nearest place of the alignment to each point. Exact over all elements, not a search near a guess."""
    import numpy as np

    found = [_nearest_few(table, targets[at : at + CHUNK]) for at in range(0, max(len(targets), 1), CHUNK)]
    return Nearest(*(np.concatenate(column) for column in zip(*found, strict=True)))


def _nearest_few(table: Table, targets: "Points") -> Nearest:
    """Measure the likeliest element of each point, then every other that could still be nearer, and keep the least.

    No point of an element is further than half its length from its middle, which bounds its distance from below.
    """
    import numpy as np

    least = _lower_bounds(table, targets)
    which = least.argmin(axis=1)
    along, away = _foot(table, targets, which)
    least[np.arange(len(targets)), which] = np.inf
    rows, others = np.nonzero(least < away[:, None])
    if len(rows):
        along_others, away_others = _foot(table, targets[rows], others)
        np.minimum.at(away, rows, away_others)
        nearer = away_others <= away[rows]
        which[rows[nearer]], along[rows[nearer]] = others[nearer], along_others[nearer]
    return _describe(table, targets, which, along)


def _lower_bounds(table: Table, targets: "Points") -> "Reals":
    import numpy as np

    north = np.subtract.outer(targets.real, table.middle.real)
    east = np.subtract.outer(targets.imag, table.middle.imag)
    north *= north
    east *= east
    north += east
    np.sqrt(north, out=north)
    north -= table.length / 2
    return north


def _describe(table: Table, targets: "Points", which: "Places", along: "Reals") -> Nearest:
    import numpy as np

    distance = table.start[which] + along
    gap = (targets - points_on(table, which, along)) * np.exp(-1j * heading(table, which, along))
    beyond = np.where(distance <= 0, -gap.real, np.where(distance >= table.total, gap.real, 0.0))
    return Nearest(distance, gap.imag, np.maximum(beyond, 0.0))


def points_on(table: Table, which: "Places", along: "Reals") -> "Points":
    """Return the points of the elements `which` after `along` feet of each."""
    import numpy as np

    ahead: Points = run(table.k0[which], table.k1[which], table.length[which], along)
    ahead *= np.exp(1j * table.bearing[which])
    return table.origin[which] + ahead


def _foot(table: Table, targets: "Points", which: "Places") -> tuple["Reals", "Reals"]:
    """Return, for pairs of point and element, the place on the element nearest the point and how far away it is."""
    import numpy as np

    local = (targets - table.origin[which]) * np.exp(-1j * table.bearing[which])
    length, k0, k1 = table.length[which], table.k0[which], table.k1[which]
    along = np.clip(local.real, 0, length)
    arc = (k0 == k1) & (k0 != 0)
    along[arc] = _foot_on_arc(local[arc], length[arc], k0[arc])
    spiral = k0 != k1
    if np.any(spiral):
        along[spiral] = _foot_on_spiral(
            local[spiral], length[spiral], k0[spiral], k1[spiral], table.samples[which[spiral]]
        )
    return along, np.abs(local - run(k0, k1, length, along))


def _foot_on_arc(local: "Points", length: "Reals", curvature: "Reals") -> "Reals":
    import numpy as np

    turn = np.sign(curvature)
    swept = turn * np.angle((local * curvature - 1j) * 1j)
    along: Reals = np.mod(swept, 2 * np.pi) / np.abs(curvature)
    past = along - length
    to_start = 2 * np.pi / np.abs(curvature) - along
    return np.where(past <= 0, along, np.where(past < to_start, length, 0.0))


def _foot_on_spiral(local: "Points", length: "Reals", k0: "Reals", k1: "Reals", samples: "Points") -> "Reals":
    """Start from the nearest sample, then Newton's method on the angle to the tangent, kept inside a bracket."""
    import numpy as np

    best = np.abs(samples - local[:, None]).argmin(axis=1)
    spacing = length / (SAMPLES - 1)
    middle: Reals = best * spacing
    ahead = _toward(local, length, k0, k1, middle)[0] > 0
    low = np.where(ahead, middle, np.maximum(middle - spacing, 0))
    high = np.where(ahead, np.minimum(middle + spacing, length), middle)
    along = middle.copy()
    active = np.flatnonzero(high > low)
    for _ in range(60):
        if not len(active):
            break
        at = along[active]
        pull, slope = _toward(local[active], length[active], k0[active], k1[active], at)
        low[active] = np.where(pull > 0, at, low[active])
        high[active] = np.where(pull > 0, high[active], at)
        step = at - pull / np.where(slope < 0, slope, -np.inf)
        inside = (slope < 0) & (step >= low[active]) & (step <= high[active])
        along[active] = np.where(inside, step, (low[active] + high[active]) / 2)
        active = active[np.abs(along[active] - at) > CLOSE_FT]
    return along


def _toward(local: "Points", length: "Reals", k0: "Reals", k1: "Reals", along: "Reals") -> tuple["Reals", "Reals"]:
    """Return how far ahead of the place the point lies, along the tangent there, and how that changes by the foot."""
    import numpy as np

    rate = (k1 - k0) / length
    gap = local - run(k0, k1, length, along)
    gap *= np.exp(-1j * along * (k0 + rate * along / 2))
    return gap.real, -1 + (k0 + rate * along) * gap.imag
