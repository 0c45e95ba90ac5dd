"""One thing left standing, against chords along one line of ground readings."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from apps.calc.clearance.chord import CAUTION, CHORD_IN, LIMIT_IN, SOURCE, STEP_IN, centred, over_limit, under
from apps.calc.errors import CalcError, counted, finite, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.working import Step
from apps.calc.working import number_text as text

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Reals = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Profile:
    """One thing against chords along one measured line [in]."""

    worst: float
    begins: float
    """Where the worst chord begins, from the thing: -60 to 0."""
    over: float
    """By how much it is over the limit; 0 when within."""
    sentence: str
    working: tuple[Step, ...]
    caution: str = CAUTION


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
    beyond="Any other line: the chord is to be tried in every direction a car can come from. Nor whether the base breaks away.",
    # Level, then 6:1 down from the support: computed from the rule, no published case.
    example={"distances": "-60, 0, 60", "heights": "0, 0, -10", "top": "3 in"},
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
    length, allowed = float(positive("chord", chord)), float(not_negative("limit", limit))
    at, ground = _readings(distances, heights, length)
    begins, back, ahead = slid(at, ground, length)
    over_chord = float(finite("top", top)) - under(back, ahead, begins, length)
    worst = int(centred(over_chord, begins, length).argmax())
    a, z_back, z_ahead, most = (float(each[worst]) for each in (begins, back, ahead, over_chord))
    over = over_limit(most, allowed)
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
    return Profile(most, a, over, _sentence(most, a, over, allowed, length), steps)


def _readings(distances: Sequence[float], heights: Sequence[float], length: float) -> tuple[list[float], list[float]]:
    at = [float(finite("distances", each)) for each in counted("distances", distances, 2)]
    ground = [float(finite("heights", each)) for each in counted("heights", heights, len(at), len(at))]
    if any(after <= before for before, after in pairwise(at)):
        raise CalcError("distances", "must rise from one reading to the next")
    if at[0] > -length or at[-1] < length:
        raise CalcError("distances", f"must reach from -{length:g} to {length:g}, got {at[0]:g} to {at[-1]:g}")
    return at, ground


def slid(at: Sequence[float], ground: Sequence[float], length: float) -> tuple["Reals", "Reals", "Reals"]:
    """Return where chords begin, slid over a thing at 0, and the ground under both ends of each [in].

    Every break of the ground is met by an end of some chord, so that the worst one is among them.
    """
    import numpy as np

    corners = [place - shift for place in at for shift in (0, length)]
    begins = np.unique(np.clip([*corners, *np.arange(-length, 0, STEP_IN), 0.0], -length, 0.0))
    return begins, np.interp(begins, at, ground), np.interp(begins + length, at, ground)


def _sentence(most: float, begins: float, over: float, allowed: float, length: float) -> str:
    stands = f"it stands {text(most, 3)} in above a {text(length)}-in chord that begins {text(-begins, 3)} in before it"
    if over:
        return (
            f"Over the limit by {text(over, 3)} in: {stands}; {text(allowed)} in is allowed. "
            "Lower what stands, or raise the ground within 6:1; the engineer decides."
        )
    return f"Conforms: {stands}, the worst of this line; {text(allowed)} in is allowed."
