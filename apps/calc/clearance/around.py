"""Everything left standing, against chords in every direction."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from apps.calc.clearance.chord import CAUTION, CHORD_IN, LIMIT_IN, SOURCE, STEP_IN, centred, over_limit, under
from apps.calc.errors import CalcError, counted, finite, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.working import Step
from apps.calc.working import number_text as text

TURN_DEG = 5
"""The chord is turned by this much."""
EXAMPLE = {
    "directions": "0, 45, 90, 135, 180, 225, 270, 315, 0, 45, 90, 135, 180, 225, 270, 315",
    "distances": "24, 24, 24, 24, 24, 24, 24, 24, 84, 84, 84, 84, 84, 84, 84, 84",
    "heights": "-1, -1, -1, -1, -1, -1, -1, -1, -1, -1, -1, -1, -1, -8, -11, -8",
    "names": "bolt 1, bolt 2, bolt 3, bolt 4, conduit",
    "x": "5.3, -5.3, -5.3, 5.3, 0",
    "y": "5.3, 5.3, -5.3, -5.3, 1.5",
    "tops": "1 1/2, 1 1/2, 1 1/2, 1 1/2, 2 1/2",
}
"""Invented: ground 1 in under the concrete, from 24 in outward falling 6:1 on the side away from the road."""


class Thing(NamedTuple):
    """What stays after the base lets go: a bolt, a conduit, a rod, the concrete itself [in]."""

    name: str
    x: float
    y: float
    top: float


@dataclass(frozen=True, slots=True)
class Standing:
    """One thing against the chord where it stands out most [in, degrees]."""

    name: str
    projection: float
    """Height above the chord."""
    direction_deg: float
    """Direction of that chord, 0 up to 180."""
    begins: float
    """Where it begins: inches from the thing, against the direction; -60 to 0."""
    over: float
    """Projection less limit; 0 when within."""
    number: int
    """Which of the things it is, in the order given, from 0."""


@dataclass(frozen=True, slots=True)
class Clearance:
    """Everything left standing against the chord, the worst first."""

    worst: float
    """The highest projection [in]."""
    over: float
    """By how much it is over the limit [in]; 0 when within."""
    standing: tuple[Standing, ...]
    verdict: str
    """"conforms"; "nonconforming"; "refer" when the ground was not measured under both ends of every chord."""
    judged: float
    """Share of the chords that have measured ground under both ends."""
    sentence: str
    working: tuple[Step, ...]
    caution: str = CAUTION


@calculation(
    "clearance",
    "Breakaway clearance",
    SOURCE,
    inputs=(
        Input("directions", "angle", "deg", "direction of each ground reading, counter-clockwise from +x", many=True),
        Input("distances", "length", "in", "its distance from the centre", many=True, low=0),
        Input("heights", "length", "in", "height of the ground there", many=True),
        Input("names", "text", "", "what is left standing", many=True),
        Input("x", "length", "in", "x of each", many=True),
        Input("y", "length", "in", "y of each", many=True),
        Input("tops", "length", "in", "top of each", many=True),
        Input("limit", "length", "in", "limit", default=LIMIT_IN, low=0),
        Input("chord", "length", "in", "chord", default=CHORD_IN, low=1, high=240),
    ),
    outputs=(
        Output("worst", "length", "in", "highest projection"),
        Output("over", "length", "in", "over the limit"),
        Output("judged", "ratio", "1", "share of the chords judged"),
    ),
    caution=CAUTION,
    beyond=(
        "Whether the base breaks away at all, or what a car does then; and nothing of ground between the readings that is "
        "not as flat as it was taken to be."
    ),
    example=EXAMPLE,
)
def clearance(
    *,
    directions: Sequence[float],
    distances: Sequence[float],
    heights: Sequence[float],
    names: Sequence[str],
    x: Sequence[float],
    y: Sequence[float],
    tops: Sequence[float],
    limit: float = LIMIT_IN,
    chord: float = CHORD_IN,
) -> Clearance:
    """Return how far each thing left standing rises above a chord laid over it in every direction [in, degrees].

    Ground readings round the foundation by direction and distance from its centre, three or more not in one line, best
    out to 72 in in eight directions; between them the ground is taken as flat triangles. Things with their place and
    top, at least one. The chord is turned by 5 degrees and slid by 1/4 in. CalcError names the argument at fault.
    Source: Highway Engineering Handbook, Fig. 7.3; triangles by scipy.interpolate.LinearNDInterpolator.

    >>> ring = [45 * k for k in range(8)]
    >>> found = clearance(directions=ring, distances=[80] * 8, heights=[0] * 8,
    ...                   names=["bolt 1", "conduit"], x=[7, 0], y=[0, 2], tops=[3.5, 4.25])
    >>> found.standing[0].name, round(found.over, 6), found.verdict
    ('conduit', 0.25, 'nonconforming')
    """
    length, allowed = float(positive("chord", chord)), float(not_negative("limit", limit))
    ground = ground_of(directions, distances, heights)
    things = _things(names, x, y, tops)
    standing, judged = _sweep(ground, things, length, allowed)
    worst = standing[0]
    verdict = "nonconforming" if worst.over else "conforms" if judged == 1 else "refer"
    return Clearance(
        worst.projection,
        worst.over,
        standing,
        verdict,
        judged,
        _sentence(standing, allowed, judged),
        _working(standing, things, allowed, length),
    )


def _things(names: Sequence[str], x: Sequence[float], y: Sequence[float], tops: Sequence[float]) -> tuple[Thing, ...]:
    counted("names", names, 1)
    rows = {"x": x, "y": y, "tops": tops}
    for field, values in rows.items():
        for each in counted(field, values, len(names), len(names)):
            finite(field, each)
    return tuple(Thing(str(name), *(float(rows[field][at]) for field in rows)) for at, name in enumerate(names))


def ground_of(directions: Sequence[float], distances: Sequence[float], heights: Sequence[float]) -> Any:
    """Return the ground as a function of x and y: NaN where it was not measured."""
    import numpy as np
    from scipy.interpolate import LinearNDInterpolator

    count = len(counted("directions", directions, 3))
    angles = np.radians([float(finite("directions", each)) for each in directions])
    away = np.array([float(not_negative("distances", each)) for each in counted("distances", distances, count, count)])
    level = [float(finite("heights", each)) for each in counted("heights", heights, count, count)]
    places = np.column_stack((away * np.cos(angles), away * np.sin(angles)))
    if np.linalg.svd(places - places.mean(axis=0), compute_uv=False)[1] < 1e-6:
        raise CalcError("directions", "the ground readings all lie in one line; for one line use clearance.profile")
    return LinearNDInterpolator(places, level)


def _sweep(ground: Any, things: Sequence[Thing], length: float, allowed: float) -> tuple[tuple[Standing, ...], float]:
    """Lay every chord over every thing at once: axes are thing, direction, place of the chord's beginning."""
    import numpy as np

    angles = np.radians(np.arange(0, 180, TURN_DEG))[None, :, None]
    begins = np.arange(-length, STEP_IN / 2, STEP_IN)[None, None, :]
    x, y, top = (np.array([each[column] for each in things])[:, None, None] for column in (1, 2, 3))
    back = ground(x + begins * np.cos(angles), y + begins * np.sin(angles))
    ahead = ground(x + (begins + length) * np.cos(angles), y + (begins + length) * np.sin(angles))
    projection = top - under(back, ahead, begins, length)
    known = np.isfinite(projection)
    if not known.any(axis=(1, 2)).all():
        raise CalcError("distances", f"the ground was not measured far enough out for a chord of {length:g} in")
    flat = np.where(known, projection, -np.inf).reshape(len(things), -1)
    places = np.where(known, centred(projection, begins, length), -np.inf).reshape(len(things), -1).argmax(axis=1)
    found = []
    for number, (thing, place, row) in enumerate(zip(things, places, flat, strict=True)):
        turn, slide = divmod(int(place), begins.shape[-1])
        most, at = float(row[place]), float(begins[0, 0, slide])
        found.append(Standing(thing.name, most, float(turn * TURN_DEG), at, over_limit(most, allowed), number))
    return tuple(sorted(found, key=lambda each: -each.projection)), float(known.mean())


def _sentence(standing: Sequence[Standing], allowed: float, judged: float) -> str:
    offends = [each for each in standing if each.over]
    if offends:
        listed = "; ".join(f"{each.name} by {each.over:.2f} in" for each in offends)
        said = f"Over the limit of {allowed:g} in: {listed}. "
        said += "Lower what stands, or raise the ground within 6:1; the engineer decides."
    else:
        highest = standing[0]
        verdict = "Conforms" if judged == 1 else "Refers to the engineer"
        said = f"{verdict}: nothing stands over {allowed:g} in; the highest is {highest.name}, {highest.projection:.2f} in."
    if judged == 1:
        return said
    return f"{said} {1 - judged:.0%} of the chords have an end on ground that was not measured."


def _working(standing: Sequence[Standing], things: Sequence[Thing], allowed: float, length: float) -> tuple[Step, ...]:
    steps = [
        Step(
            each.name,
            f"top − chord of {text(length)} in, worst of all directions",
            f"{text(things[each.number].top)} − ({text(things[each.number].top - each.projection)}), "
            f"chord at {each.direction_deg:g}° from {each.begins:g} in",
            each.projection,
            "in",
        )
        for each in standing
    ]
    worst = standing[0]
    return (*steps, Step("verdict", "h ≤ limit", f"{text(worst.projection)} ≤ {text(allowed)}", worst.over == 0))
