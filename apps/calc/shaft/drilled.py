"""Where a drilled hole stands, how plumb it is, and how clean at the bottom."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from apps.calc.errors import counted, finite, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.shaft.caution import CAUTION
from apps.calc.shaft.said import feet, inches
from apps.calc.working import Step
from apps.calc.working import number_text as text

BOTTOM_ALLOWED_IN = 0.5
"""Sediment counts as thin under this: FHWA GEC-10 (FHWA-NHI-10-016), guide specification (from memory)."""


@dataclass(frozen=True, slots=True)
class Hole:
    """Where a hole stands and how clean it is."""

    off_centre_in: float
    off_plumb_in: float
    plumb_percent: float
    """Off plumb over depth."""
    plumb_in_per_ft: float
    thin_percent: float | None
    """Share of the bottom soundings with less sediment than 1/2 in; None without soundings."""
    thickest_in: float | None
    over: tuple[str, ...]
    """Which of the limits that were given are exceeded: "stake", "plumb"."""
    sentence: str
    working: tuple[Step, ...]
    caution: str = CAUTION


@calculation(
    "shaft.hole",
    "Place, plumb and bottom of a hole",
    "Plane geometry; sediment: FHWA GEC-10 (FHWA-NHI-10-016), guide specification (from memory)",
    inputs=(
        Input("depth", "length", "ft", "depth", low=0.5, high=200),
        Input("off_x", "length", "in", "top off its stake, one way", default=0.0),
        Input("off_y", "length", "in", "and square to it", default=0.0),
        Input("lean_x", "length", "in", "bottom off plumb, one way", default=0.0),
        Input("lean_y", "length", "in", "and square to it", default=0.0),
        Input("sediment", "length", "in", "sediment at points of equal area", many=True, optional=True, low=0),
        Input("thin", "length", "in", "sediment that counts as thin is under this", default=BOTTOM_ALLOWED_IN, low=0),
        Input("off_limit", "length", "in", "limit off the stake", optional=True, low=0),
        Input("plumb_limit", "percent", "%", "limit off plumb, of the depth", optional=True, low=0),
    ),
    outputs=(
        Output("off_centre_in", "length", "in", "off the stake"),
        Output("off_plumb_in", "length", "in", "off plumb"),
        Output("plumb_percent", "percent", "%", "off plumb, of the depth"),
        Output("plumb_in_per_ft", "length", "in", "off plumb in each foot"),
        Output("thin_percent", "percent", "%", "share of the bottom with thin sediment"),
        Output("thickest_in", "length", "in", "thickest sediment"),
    ),
    caution=CAUTION,
    beyond=(
        "Whether the hole is straight or round between the two levels, or the ground at its bottom sound. The limits are the "
        "project's: guides differ."
    ),
    # Off the stake: City of Everett project specification, document 972587 p. 416, item 1 (within 3 in). Plumb 2 %: ACI 117M-10.
    # Soundings computed for FHWA GEC-10 (tests/calc/test_shaft.py, T-D1 to T-D3).
    example={
        "depth": "10 ft",
        "off_x": "2 in",
        "off_y": "1.5 in",
        "lean_x": "2.2 in",
        "sediment": "1/4, 3/4, 1/4, 1/2, 1 1/4",
        "off_limit": "3 in",
        "plumb_limit": "2 %",
    },
)
def hole(
    *,
    depth: float,
    off_x: float = 0.0,
    off_y: float = 0.0,
    lean_x: float = 0.0,
    lean_y: float = 0.0,
    sediment: Sequence[float] | None = None,
    thin: float = BOTTOM_ALLOWED_IN,
    off_limit: float | None = None,
    plumb_limit: float | None = None,
) -> Hole:
    """Return how far a hole is off its stake and off plumb, and how much of its bottom is clean.

    depth [ft] over 0; off and lean in two square directions [in]; sediment at points of equal area [in].
    off_limit [in] and plumb_limit [% of the depth] are met exactly at the limit; which applies is the project's:
    1/4 in per ft, 2 % and 1.5 % are all in use. CalcError otherwise.
    Source: plane geometry; FHWA GEC-10, guide specification (from memory): half the bottom under 1/2 in.

    >>> found = hole(depth=10, lean_x=2.2)
    >>> round(found.plumb_percent, 3)
    1.833
    """
    deep = float(positive("depth", depth))
    off = math.hypot(float(finite("off_x", off_x)), float(finite("off_y", off_y)))
    lean = math.hypot(float(finite("lean_x", lean_x)), float(finite("lean_y", lean_y)))
    steps = [
        Step("off centre", "√(x² + y²)", f"√({text(off_x)}² + {text(off_y)}²)", off, "in"),
        Step("off plumb", "√(x² + y²)", f"√({text(lean_x)}² + {text(lean_y)}²)", lean, "in"),
        Step("plumb", "off plumb / depth", f"{text(lean)} / ({text(deep)} × 12)", lean / deep / 12 * 100, "%"),
    ]
    over = tuple(
        name
        for name, found, limit in (
            ("stake", (off_x, off_y), off_limit),
            ("plumb", (lean_x, lean_y), None if plumb_limit is None else plumb_limit * deep * 12 / 100),
        )
        if limit is not None and _beyond(found, not_negative(f"{name} limit", limit))
    )
    clean, thickest = None, None
    if sediment is not None:
        depths = [float(not_negative("sediment", each)) for each in counted("sediment", sediment, 1)]
        less = sum(each < float(not_negative("thin", thin)) for each in depths)
        clean, thickest = 100 * less / len(depths), max(depths)
        steps.append(Step("thin", "points under the limit / points", f"{less} / {len(depths)}", clean, "%"))
    judged = [word for word, limit in (("place", off_limit), ("plumb", plumb_limit)) if limit is not None]
    said = _sentence(off, lean, deep, over, judged) + _bottom(clean, thickest, thin)
    return Hole(off, lean, lean / deep / 12 * 100, lean / deep, clean, thickest, over, said, tuple(steps))


def _beyond(found: tuple[float, float], limit: float) -> bool:
    """Whether a distance of two parts is over a limit, exactly as the numbers are written."""
    x, y, most = (Fraction(str(each)) for each in (*found, limit))
    return x**2 + y**2 > most**2


def _sentence(off: float, lean: float, deep: float, over: tuple[str, ...], judged: list[str]) -> str:
    words = {"stake": "too far off its stake", "plumb": "too far off plumb"}
    met = f"Conforms in {' and '.join(judged)}. " if judged else ""
    verdict = f"Nonconforming: {' and '.join(words[each] for each in over)}. " if over else met
    return (
        f"{verdict}The hole is {inches(off)} off its stake and {inches(lean)} off plumb in {feet(deep)}, "
        f"{lean / deep / 12 * 100:.2f} % of its depth."
    )


def _bottom(clean: float | None, thickest: float | None, thin: float) -> str:
    if clean is None or thickest is None:
        return ""
    return f" {clean:.0f} % of the bottom has less than {inches(thin)} of sediment; the thickest is {inches(thickest)}."
