"""How far a bolt is out of plumb."""

import math
from dataclasses import dataclass

from apps.calc.bolt_circle.caution import CAUTION
from apps.calc.errors import finite, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.working import Step
from apps.calc.working import number_text as text

STEEPEST = 40.0
"""Lean of a bolt at most 1 in 40: Wisconsin DOT form DT2321 (6/2016), step 2; AISC Design Guide 1, Table A2."""


@dataclass(frozen=True, slots=True)
class Lean:
    """How far a bolt leans."""

    slope: float
    """Rise over run against plumb: 0.025 is 1 in 40."""
    one_in: float | None
    """The same as 1 in this; None for a plumb bolt."""
    lean_deg: float
    toward_deg: float | None
    """Direction of the lean, counter-clockwise from `along`; None for a plumb bolt."""
    conforms: bool
    sentence: str
    working: tuple[Step, ...]
    caution: str = CAUTION


@calculation(
    "bolt_circle.lean",
    "Lean of a bolt",
    "Wisconsin DOT form DT2321 (6/2016), step 2; AISC Design Guide 1, 2nd ed., Table A2: 1 in 40 at most",
    inputs=(
        Input("along", "length", "in", "out of plumb on one face"),
        Input("across", "length", "in", "out of plumb on the face square to it", default=0.0),
        Input("length", "length", "in", "length over which it was read", low=0.1, high=120),
        Input("one_in", "ratio", "1", "steepest lean allowed: one in this", default=STEEPEST, low=1),
    ),
    outputs=(
        Output("slope", "ratio", "1", "lean, rise over run"),
        Output("lean_deg", "angle", "deg", "lean"),
    ),
    caution=CAUTION,
    beyond="Why it leans, or whether it may be straightened: a bolt is never bent to fit, the engineer decides.",
    # The limit itself, 1/4 in over 10 in: Wisconsin DOT form DT2321 (6/2016), step 2; the reading across is invented.
    example={"along": "1/4 in", "across": "1/16 in", "length": "10 in"},
)
def lean(*, along: float, length: float, across: float = 0.0, one_in: float = STEEPEST) -> Lean:
    """Return how far a bolt leans from two readings square to each other [in] over a length [in].

    Any finite readings, length and one_in over 0. CalcError otherwise. Source: Wisconsin DOT form DT2321, step 2
    (slope at most 1 in 40: 1/4 in over 10 in).

    >>> lean(along=0.25, length=10).conforms
    True
    """
    off = math.hypot(float(finite("along", along)), float(finite("across", across)))
    over, steepest = float(positive("length", length)), float(positive("one_in", one_in))
    slope, conforms = off / over, off * steepest <= over
    working = (
        Step("off plumb", "√(along² + across²)", f"√({text(along)}² + {text(across)}²)", off, "in"),
        Step("slope", "off plumb / length", f"{text(off)} / {text(over)}", slope, "1"),
        Step("verdict", "slope × limit ≤ 1", f"{text(slope)} × {text(steepest)} ≤ 1", conforms),
    )
    return Lean(
        slope=slope,
        one_in=1 / slope if slope else None,
        lean_deg=math.degrees(math.atan(slope)),
        toward_deg=math.degrees(math.atan2(float(across), float(along))) % 360 if slope else None,
        conforms=conforms,
        sentence=_sentence(off, over, steepest, conforms),
        working=working,
    )


def _sentence(off: float, over: float, steepest: float, conforms: bool) -> str:
    allowed = f"1 in {text(steepest, 4)}, {text(over / steepest, 3)} in here, is allowed"
    if not off:
        return f"Conforms: the bolt is plumb over {text(over, 4)} in; {allowed}."
    said = f"the bolt leans {text(off, 3)} in over {text(over, 4)} in, 1 in {text(over / off, 3)}; {allowed}."
    return (
        f"Conforms: {said}"
        if conforms
        else f"Nonconforming: {said} Over by {text(off - over / steepest, 2)} in: the engineer decides."
    )
