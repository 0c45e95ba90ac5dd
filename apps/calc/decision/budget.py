"""The uncertainty budget: what each component gives, and what they come to together."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from apps.calc.decision.ends import short
from apps.calc.errors import CalcError, counted, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.shown import share_text
from apps.calc.working import Step
from apps.calc.working import number_text as text

GUM = "JCGM 100:2008 (GUM)"

DIVISORS = {
    "standard": 1.0,
    "k = 2": 2.0,
    "rectangular": math.sqrt(3),
    "triangular": math.sqrt(6),
    "arcsine": math.sqrt(2),
}
"""What half a width, or an expanded uncertainty, is divided by for a standard uncertainty: GUM 4.3."""


@dataclass(frozen=True, slots=True)
class Budget:
    """A combined standard uncertainty, in the unit of the measurement."""

    combined: float
    expanded: float
    coverage: float
    parts: tuple[float, ...]
    """Standard uncertainty of each component."""
    shares: tuple[float, ...]
    """Share of each component in the combined variance."""
    sentence: str
    working: tuple[Step, ...]


@calculation(
    "decision.uncertainty",
    "Combined uncertainty of a measurement",
    f"{GUM}, 5.1.2: u² = Σ uᵢ²",
    inputs=(
        Input("half_widths", "number", "1", "half-width or uncertainty of each component, one unit", many=True, low=0),
        Input("kinds", "choice", "", "distribution of each", many=True, choices=tuple(DIVISORS)),
        Input("coverage", "number", "1", "coverage factor k", default=2.0, low=0.1, high=10),
    ),
    outputs=(Output("combined", "number", "1", "standard uncertainty"), Output("expanded", "number", "1", "expanded")),
    beyond="Whether a component was forgotten, or two of them move together: it adds what is named, as if independent.",
    # invented: a gap read with a taper gauge, in inches: graduation, certificate, two people
    example={"half_widths": "1/128, 0.004, 0.006", "kinds": "rectangular, k = 2, standard"},
)
def uncertainty(*, half_widths: Sequence[float], kinds: Sequence[str], coverage: float = 2.0) -> Budget:
    """Return the root sum of squares of independent components, each divided by its distribution's divisor.

    A tape read to 1/16 in is rectangular with half-width 1/32 in; a certificate's U with k = 2 is "k = 2". Any one unit.
    Errors: CalcError on no component, lists of different length, an unknown kind. Source: GUM 4.3 and 5.1.2.

    >>> round(uncertainty(half_widths=[0.03, 0.02], kinds=["rectangular", "k = 2"]).combined, 4)
    0.02
    """
    counted("kinds", kinds, len(counted("half_widths", half_widths, 1)), len(half_widths))
    parts, steps = [], []
    for width, kind in zip(half_widths, kinds, strict=True):
        if kind not in DIVISORS:
            raise CalcError("kinds", f"expected one of {', '.join(DIVISORS)}, got {kind!r}")
        parts.append(not_negative("half_widths", width) / DIVISORS[kind])
        steps.append(Step("uᵢ", f"a / divisor ({kind})", f"{text(width)} / {text(DIVISORS[kind])}", parts[-1]))
    combined = math.hypot(*parts)
    positive("coverage", coverage)
    steps.append(Step("u", "√Σ uᵢ²", f"√({' + '.join(f'{text(part)}²' for part in parts)})", combined))
    steps.append(Step("U", "k u", f"{text(coverage)} · {text(combined)}", coverage * combined))
    shares = tuple((part / combined) ** 2 if combined else 0.0 for part in parts)
    sentence = _sentence(combined, coverage, shares)
    return Budget(combined, coverage * combined, coverage, tuple(parts), shares, sentence, tuple(steps))


def _sentence(combined: float, coverage: float, shares: Sequence[float]) -> str:
    said = f"U = {short(coverage * combined)} with k = {short(coverage)}, from a standard uncertainty of {short(combined)}."
    if not combined:
        return f"{said} Every component is zero."
    most = max(range(len(shares)), key=lambda at: shares[at])
    return f"{said} Component {most + 1} gives {share_text(shares[most])} of the variance."
