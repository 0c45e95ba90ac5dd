"""The lengths by which a template is laid out and checked."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from apps.calc.bolt_circle.caution import CAUTION
from apps.calc.errors import CalcError, finite, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.working import Step
from apps.calc.working import number_text as text


@dataclass(frozen=True, slots=True)
class Template:
    """Chords of a template [in]: from a bolt to the next, the one after, and so on to the opposite one."""

    chords: tuple[float, ...]
    side: float
    diagonal: float
    sentence: str
    working: tuple[Step, ...]
    caution: str = CAUTION


@calculation(
    "bolt_circle.template",
    "Chords of a template",
    "Plane geometry: chord = B sin(k π / n)",
    inputs=(
        Input("bolt_circle", "length", "in", "bolt circle", low=1, high=120),
        Input("count", "count", "", "bolts", default=4, low=3, high=36),
    ),
    outputs=(
        Output("side", "length", "in", "from a bolt to the next"),
        Output("diagonal", "length", "in", "the longest chord"),
    ),
    caution=CAUTION,
    beyond="Whether the template is drilled to it: measure the side and both diagonals on the template itself.",
    # invented: a plan's bolt circle of 15 in
    example={"bolt_circle": "15 in", "count": "4"},
)
def template(*, bolt_circle: float, count: float = 4) -> Template:
    """Return the chords of an equally spaced pattern [in]; bolt_circle [in] over 0, a whole count of 3 to 36.

    Source: plane geometry; n = 4: side B / √2, diagonal B. CalcError otherwise.

    >>> round(template(bolt_circle=15).side, 4)
    10.6066
    """
    diameter = float(positive("bolt_circle", bolt_circle))
    if finite("count", count) != int(count) or not 3 <= count <= 36:
        raise CalcError("count", f"expected a whole number of bolts from 3 to 36, got {count}")
    bolts = int(count)
    chords = tuple(diameter * math.sin(step * math.pi / bolts) for step in range(1, bolts // 2 + 1))
    working = tuple(
        Step(f"chord {step}", "B sin(k π / n)", f"{text(diameter)} × sin({step} × π / {bolts})", chord, "in")
        for step, chord in enumerate(chords, 1)
    )
    return Template(chords, chords[0], chords[-1], _sentence(diameter, bolts, chords), working)


def _sentence(diameter: float, bolts: int, chords: Sequence[float]) -> str:
    said = f"{bolts} bolts on {text(diameter, 5)} in stand {text(chords[0], 5)} in apart, centre to centre"
    if bolts == 3:
        return f"{said}, each from both others."
    across = "opposite bolts" if bolts % 2 == 0 else "the bolts furthest apart"
    said += f"; {across} {text(chords[-1], 5)} in."
    return f"{said} Four equal sides and two equal diagonals: it is square." if bolts == 4 else said
