"""Yield: the volume that a batch really makes."""

from dataclasses import dataclass

from apps.calc.errors import positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.working import Step
from apps.calc.working import number_text as text

CUBIC_FEET_A_YARD = 27
EVEN = 0.0005
"""Parts of the order that are written as no difference."""


@dataclass(frozen=True, slots=True)
class Yield:
    """Volume that a batch really makes."""

    volume_yd3: float
    relative: float | None
    """Over the volume ordered: below 1 the load is short. None without an order."""
    sentence: str
    working: tuple[Step, ...]


@calculation(
    "fresh_concrete.yield",
    "Yield of a load",
    "ASTM C138/C138M: yield = mass of all materials batched / density",
    inputs=(
        Input("batch_lb", "mass", "lb", "mass of all materials batched", low=0.01),
        Input("density_pcf", "density", "lb/ft3", "measured density", low=50, high=300),
        Input("ordered_yd3", "volume", "yd3", "volume on the ticket", optional=True, low=0.01),
    ),
    outputs=(
        Output("volume_yd3", "volume", "yd3", "volume made"),
        Output("relative", "ratio", "1", "relative yield"),
    ),
    beyond="What reached the hole: waste, pump lines and overbreak come off. A short load is settled over many, not by one.",
    # Invented: a load of 8 yd³.
    example={"batch_lb": "30800 lb", "density_pcf": "145.6 lb/ft3", "ordered_yd3": "8 yd3"},
)
def batch_yield(*, batch_lb: float, density_pcf: float, ordered_yd3: float | None = None) -> Yield:
    """Return the volume [yd³] that a batch [lb] of a measured density [lb/ft³] makes, and its share of the order.

    Errors: CalcError on a value of zero or less. Source: ASTM C138/C138M (formula from memory).

    >>> result = batch_yield(batch_lb=3915 * 8, density_pcf=145, ordered_yd3=8)
    >>> round(result.volume_yd3, 3), round(result.relative, 3)
    (8.0, 1.0)
    """
    volume = positive("batch_lb", batch_lb) / positive("density_pcf", density_pcf) / CUBIC_FEET_A_YARD
    relative = None if ordered_yd3 is None else volume / positive("ordered_yd3", ordered_yd3)
    working = [Step("Y", "M / (27 D)", f"{text(batch_lb)} / (27 · {text(density_pcf)})", volume, "yd³")]
    if ordered_yd3 is not None:
        working.append(Step("R_y", "Y / Y_d", f"{text(volume)} / {text(ordered_yd3)}", relative))
    return Yield(volume, relative, _sentence(volume, ordered_yd3), tuple(working))


def _sentence(volume: float, ordered: float | None) -> str:
    made = f"the batch makes {text(volume, 3)} yd³"
    if ordered is None:
        return f"T{made[1:]}."
    said = f"{made} of {text(ordered, 3)} yd³ ordered, relative yield {text(volume / ordered, 3)}"
    off = volume - ordered
    if abs(off) <= EVEN * ordered:
        return f"As ordered: {said}."
    return f"{'Over' if off > 0 else 'Short'} by {text(abs(off), 2)} yd³: {said}."
