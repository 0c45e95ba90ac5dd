"""The rule of the straightedge: a chord of 60 in from ground to ground, and 4 in above it at most."""

from typing import TYPE_CHECKING

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
NEAR_LIMIT_IN = 1e-6
"""So little over the limit is the arithmetic's."""
EQUAL_IN = 1e-9
"""Chords that differ by no more are equal."""
CAUTION = (
    "What is left standing can snag a car and roll it. Check with the straightedge itself in four directions; "
    "plans, the base's eligibility letter and the engineer govern."
)


def under(back: "Reals", ahead: "Reals", begins: "Reals", length: float) -> "Reals":
    """Height of the chord where the thing stands."""
    return back + (ahead - back) * (-begins / length)


def centred(projection: "Reals", begins: "Reals", length: float) -> "Reals":
    """Return projections that prefer, among chords as good as equal, the one that lies most evenly over the thing."""
    even: Reals = projection - EQUAL_IN * abs(begins / length + 0.5)
    return even


def over_limit(projection: float, allowed: float) -> float:
    """By how much a projection is over the limit; rounding of the arithmetic is not over."""
    over = projection - allowed
    return over if over > NEAR_LIMIT_IN else 0.0
