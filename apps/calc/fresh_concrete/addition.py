"""Water added on site: the water-cementitious ratio, and what the ratio and the ticket still allow."""

from dataclasses import dataclass

from apps.calc.errors import not_negative, positive
from apps.calc.fresh_concrete.caution import CAUTION
from apps.calc.registry import Input, Output, calculation
from apps.calc.working import Step
from apps.calc.working import number_text as text

POUNDS_A_GALLON = 8.33
"""Water, lb/gal: as used in ASTM C94 and ACI mix proportioning (from memory)."""


@dataclass(frozen=True, slots=True)
class Water:
    """Water in a load after water was added on site."""

    ratio: float
    """Water to cementitious material, by mass."""
    gallons_left: float
    """What may still be added: the least of what the ratio and what the ticket allow, 0 at least."""
    within: bool
    sentence: str
    working: tuple[Step, ...]
    caution: str = CAUTION


@calculation(
    "fresh_concrete.water",
    "Water added on site",
    "ASTM C94/C94M: no more than the water held back on the ticket; water-cement ratio by mass",
    inputs=(
        Input("batch_water_lb", "mass", "lb", "water batched, moisture of the aggregate included", low=0),
        Input("cementitious_lb", "mass", "lb", "cement and other cementitious material", low=0.01),
        Input("added_gal", "volume", "gal", "water added on site", low=0),
        Input("withheld_gal", "volume", "gal", "water held back on the ticket", low=0),
        Input("highest_ratio", "ratio", "1", "highest water-cementitious ratio", low=0.1, high=1.5),
    ),
    outputs=(
        Output("ratio", "ratio", "1", "water-cementitious ratio"),
        Output("gallons_left", "volume", "gal", "water that may still be added"),
    ),
    caution=CAUTION,
    beyond="That water may be added again: the standard lets it be added once, at the start, and the mixer turned after it.",
    # Invented: a load of 8 yd³.
    example={
        "batch_water_lb": "1960 lb",
        "cementitious_lb": "4700 lb",
        "added_gal": "10 gal",
        "withheld_gal": "16 gal",
        "highest_ratio": "0.45",
    },
)
def water(
    *, batch_water_lb: float, cementitious_lb: float, added_gal: float, withheld_gal: float, highest_ratio: float
) -> Water:
    """Return the water-cementitious ratio of a load after water was added, and what may still be added [gal].

    All masses [lb] of the load. Errors: CalcError on a negative value, no cement, no ratio.
    Source: ASTM C94/C94M (one addition, not over the water withheld; from memory); 8.33 lb a gallon (from memory).

    >>> result = water(batch_water_lb=240, cementitious_lb=600, added_gal=2, withheld_gal=5, highest_ratio=0.45)
    >>> round(result.ratio, 4), round(result.gallons_left, 2)
    (0.4278, 1.6)
    """
    cement = positive("cementitious_lb", cementitious_lb)
    whole = not_negative("batch_water_lb", batch_water_lb) + POUNDS_A_GALLON * not_negative("added_gal", added_gal)
    by_ratio = (positive("highest_ratio", highest_ratio) * cement - whole) / POUNDS_A_GALLON
    by_ticket = not_negative("withheld_gal", withheld_gal) - added_gal
    left, shown = max(0.0, min(by_ratio, by_ticket)), text(added_gal)
    numbers = f"({text(highest_ratio)} · {text(cement)} − {text(whole)}) / 8.33"
    working = (
        Step("W", "batched + 8.33 · added", f"{text(batch_water_lb)} + 8.33 · {shown}", whole, "lb"),
        Step("w/cm", "W / C", f"{text(whole)} / {text(cement)}", whole / cement),
        Step("by ratio", "((w/cm)_max C − W) / 8.33", numbers, by_ratio, "gal"),
        Step("by ticket", "withheld − added", f"{text(withheld_gal)} − {shown}", by_ticket, "gal"),
    )
    within = whole <= highest_ratio * cement and by_ticket >= 0
    sentence = _sentence(whole / cement, highest_ratio, whole > highest_ratio * cement, by_ticket, left)
    return Water(whole / cement, left, within, sentence, working)


def _sentence(ratio: float, highest: float, wet: bool, by_ticket: float, left: float) -> str:
    said = f"water-cementitious ratio {text(ratio, 3)}, highest {text(highest, 3)}"
    over = [f"{text(ratio - highest, 2)} on the ratio"] if wet else []
    over += [f"{text(-by_ticket, 3)} gal on the ticket"] if by_ticket < 0 else []
    if over:
        return f"Over the limit by {' and by '.join(over)}: {said}."
    return f"Conforms: {said}. " + (f"{text(left, 3)} gal less than allowed." if left else "No water is left to add.")
