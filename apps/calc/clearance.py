"""Breakaway clearance: how far what is left standing rises above a straightedge laid from ground to ground over it.

One level for all heights, in inches: the top of the concrete is a good one. x and y in inches from the centre of the
foundation, on the same axes as the bolts; directions in degrees counter-clockwise from +x.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any, NamedTuple

from apps.calc.errors import CalcError, counted, finite, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.working import Step
from apps.calc.working import number_text as text

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Reals = NDArray[np.float64]

CHORD_IN = 60.0
LIMIT_IN = 4.0
"""4 in (100 mm) over a chord of 60 in (1.5 m): Highway Engineering Handbook, Sign and luminaire supports, Fig. 7.3;
the rule of AASHTO LTS, breakaway section (wording from memory). The metric and the US limit differ by 1.6 mm."""
SOURCE = (
    "Highway Engineering Handbook, Sign and luminaire supports, Fig. 7.3; AASHTO LTS breakaway section (from memory)"
)
STEP_IN = 0.25
"""The chord is slid by this much."""
TURN_DEG = 5
"""The chord is turned by this much."""
NEAR_LIMIT_IN = 1e-6
GRAVITY_FTS2 = 32.174
"""Standard gravity, 9.80665 m/s² in ft/s²: NIST SP 811, B.8."""
CAUTION = (
    "What is left standing can snag a car and roll it. Check with the straightedge itself in four directions; "
    "plans, the base's eligibility letter and the engineer govern."
)


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


@dataclass(frozen=True, slots=True)
class Profile:
    """One thing against chords along one measured line [in]."""

    worst: float
    begins: float
    """Where the worst chord begins, from the thing: -60 to 0."""
    over: float
    working: tuple[Step, ...]
    caution: str = CAUTION


def momentum_change(weight_lb: float, change_fps: float) -> float:
    """Return the change of momentum [lb-s] of a car of that weight [lb] at a change of velocity [ft/s].

    The limit on the change is 16 ft/s (5.0 m/s), preferred 10 ft/s (3.0 m/s): Highway Engineering Handbook, Sign and
    luminaire supports. 5 m/s is 16.40 ft/s, so the unit of a limit is kept with it.

    >>> round(momentum_change(1800, 16), 1)
    895.1
    """
    return float(positive("weight_lb", weight_lb)) / GRAVITY_FTS2 * float(not_negative("change_fps", change_fps))


@calculation(
    "clearance.profile",
    "Left standing, along one line",
    SOURCE,
    inputs=(
        Input(
            "distances",
            "length",
            "in",
            "distance of each ground reading from the thing, against the line negative",
            many=True,
        ),
        Input("heights", "length", "in", "height of the ground there", many=True),
        Input("top", "length", "in", "top of the thing"),
        Input("limit", "length", "in", "limit", default=LIMIT_IN, low=0),
        Input("chord", "length", "in", "chord", default=CHORD_IN, low=1, high=240),
    ),
    outputs=(Output("worst", "length", "in", "highest projection"), Output("over", "length", "in", "over the limit")),
    caution=CAUTION,
)
def profile(
    *,
    distances: Sequence[float],
    heights: Sequence[float],
    top: float,
    limit: float = LIMIT_IN,
    chord: float = CHORD_IN,
) -> Profile:
    """Return how far a thing at distance 0 stands above a chord slid along one line of ground readings [in].

    distances rise and reach a chord's length to both sides; heights of the ground at them, straight between; top on the
    same level; limit 0 or more, chord over 0. CalcError otherwise.
    Source: Highway Engineering Handbook, Fig. 7.3: h(a) = top − [z(a) + (z(a + 60) − z(a)) (−a / 60)], -60 <= a <= 0.

    >>> found = profile(distances=[-60, 0, 60], heights=[0, 0, -10], top=3)
    >>> found.worst, found.begins
    (5.5, -30.0)
    """
    import numpy as np

    length, allowed = float(positive("chord", chord)), float(not_negative("limit", limit))
    at = [float(finite("distances", each)) for each in counted("distances", distances, 2)]
    ground = [float(finite("heights", each)) for each in counted("heights", heights, len(at), len(at))]
    if any(after <= before for before, after in pairwise(at)):
        raise CalcError("distances", "must rise from one reading to the next")
    if at[0] > -length or at[-1] < length:
        raise CalcError("distances", f"must reach from -{length:g} to {length:g}, got {at[0]:g} to {at[-1]:g}")
    corners = [place - shift for place in at for shift in (0, length)]
    begins = np.unique(np.clip([*corners, *np.arange(-length, 0, STEP_IN), 0.0], -length, 0.0))
    back, ahead = np.interp(begins, at, ground), np.interp(begins + length, at, ground)
    over_chord = float(finite("top", top)) - _under(back, ahead, begins, length)
    worst = int(over_chord.argmax())
    a, z_back, z_ahead, most = (float(each[worst]) for each in (begins, back, ahead, over_chord))
    over = _over(most, allowed)
    steps = (
        Step(
            "chord",
            "z(a) + (z(a + L) − z(a)) (−a / L)",
            f"{text(z_back)} + ({text(z_ahead)} − {text(z_back)}) × {text(-a)} / {text(length)}",
            float(top) - most,
            "in",
        ),
        Step("h", "top − chord", f"{text(top)} − ({text(float(top) - most)})", most, "in"),
        Step("verdict", "h ≤ limit", f"{text(most)} ≤ {text(allowed)}", over == 0),
    )
    return Profile(most, a, over, steps)


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
    ground = _ground(directions, distances, heights)
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


def _ground(directions: Sequence[float], distances: Sequence[float], heights: Sequence[float]) -> Any:
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
    projection = top - _under(back, ahead, begins, length)
    known = np.isfinite(projection)
    if not known.any(axis=(1, 2)).all():
        raise CalcError("distances", f"the ground was not measured far enough out for a chord of {length:g} in")
    flat = np.where(known, projection, -np.inf).reshape(len(things), -1)
    places = flat.argmax(axis=1)
    found = []
    for thing, place, row in zip(things, places, flat, strict=True):
        turn, slide = divmod(int(place), begins.shape[-1])
        most = float(row[place])
        found.append(
            Standing(thing.name, most, float(turn * TURN_DEG), float(begins[0, 0, slide]), _over(most, allowed))
        )
    return tuple(sorted(found, key=lambda each: -each.projection)), float(known.mean())


def _under(back: "Reals", ahead: "Reals", begins: "Reals", length: float) -> "Reals":
    """Height of the chord where the thing stands."""
    return back + (ahead - back) * (-begins / length)


def _over(projection: float, allowed: float) -> float:
    """By how much a projection is over the limit; rounding of the arithmetic is not over."""
    over = projection - allowed
    return over if over > NEAR_LIMIT_IN else 0.0


def _sentence(standing: Sequence[Standing], allowed: float, judged: float) -> str:
    offends = [each for each in standing if each.over]
    if offends:
        listed = "; ".join(f"{each.name} by {each.over:.2f} in" for each in offends)
        said = f"Over the limit of {allowed:g} in: {listed}. "
        said += "Lower what stands, or raise the ground within 6:1; the engineer decides."
    else:
        highest = standing[0]
        said = f"Nothing stands over {allowed:g} in; the highest is {highest.name}, {highest.projection:.2f} in."
    if judged == 1:
        return said
    return f"{said} {1 - judged:.0%} of the chords have an end on ground that was not measured."


def _working(standing: Sequence[Standing], things: Sequence[Thing], allowed: float, length: float) -> tuple[Step, ...]:
    tops = {each.name: each.top for each in things}
    steps = [
        Step(
            each.name,
            f"top − chord of {text(length)} in, worst of all directions",
            f"{text(tops[each.name])} − ({text(tops[each.name] - each.projection)}), "
            f"chord at {each.direction_deg:g}° from {each.begins:g} in",
            each.projection,
            "in",
        )
        for each in standing
    ]
    worst = standing[0]
    return (*steps, Step("verdict", "h ≤ limit", f"{text(worst.projection)} ≤ {text(allowed)}", worst.over == 0))
