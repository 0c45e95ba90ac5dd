"""The cover that a cage leaves in its hole, centred and where it stands."""

from dataclasses import dataclass
from fractions import Fraction

from apps.calc.errors import CalcError, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.shaft.caution import CAUTION
from apps.calc.shaft.said import inches
from apps.calc.working import Step
from apps.calc.working import number_text as text


@dataclass(frozen=True, slots=True)
class Cover:
    """Clear cover between cage and soil [in]."""

    centred: float
    """All round, with the cage in the middle of the hole."""
    least: float
    """On the side that the cage stands off to."""
    short_in: float | None
    """By how much the least cover is under what is asked for; None when nothing is asked, 0 when it is met."""
    sentence: str
    working: tuple[Step, ...]
    caution: str = CAUTION


@calculation(
    "shaft.cover",
    "Cover round the cage",
    "Plane geometry",
    inputs=(
        Input("hole_diameter", "length", "in", "smallest diameter of the hole", low=6, high=240),
        Input("cage_diameter", "length", "in", "diameter over the spiral", low=1, high=240),
        Input("off_centre", "length", "in", "cage off the centre of the hole", default=0.0, low=0),
        Input("asked", "length", "in", "least clear cover asked for", optional=True, low=0),
    ),
    outputs=(
        Output("least", "length", "in", "least clear cover"),
        Output("centred", "length", "in", "clear cover, cage centred"),
        Output("short_in", "length", "in", "short of what is asked for"),
    ),
    caution=CAUTION,
    beyond="Cover further down: a cage can lean, and a hole is not round. It is the cover where the two were measured.",
    # Invented: a cage for 3 in of cover in a 30 in hole, off centre.
    example={"hole_diameter": "30 in", "cage_diameter": "24 in", "off_centre": "3/4 in", "asked": "3 in"},
)
def cover(*, hole_diameter: float, cage_diameter: float, off_centre: float = 0.0, asked: float | None = None) -> Cover:
    """Return the clear cover [in] that a cage leaves in a hole, centred and where it stands off centre.

    Diameters [in] over 0; off_centre and the cover asked for [in] 0 or more; a cover of exactly what is asked for meets it.
    CalcError when the cage is not smaller than the hole, or stands into the soil.
    Source: plane geometry, (hole − cage) / 2 − off centre.

    >>> cover(hole_diameter=30, cage_diameter=24, off_centre=0.75).least
    2.25
    """
    hole, over = float(positive("hole_diameter", hole_diameter)), float(positive("cage_diameter", cage_diameter))
    off = float(not_negative("off_centre", off_centre))
    if over >= hole:
        raise CalcError("cage_diameter", f"a cage of {text(over)} in does not go into a hole of {text(hole)} in")
    centred = (hole - over) / 2
    if off > centred:
        raise CalcError(
            "off_centre", f"{text(off)} in puts the cage into the soil: there are {text(centred)} in all round"
        )
    least = centred - off
    short = None if asked is None else _short(hole_diameter, cage_diameter, off_centre, not_negative("asked", asked))
    return Cover(
        centred,
        least,
        short,
        _sentence(centred, least, off, asked, short),
        (
            Step("centred", "(hole − cage) / 2", f"({text(hole)} − {text(over)}) / 2", centred, "in"),
            Step("least", "centred − off centre", f"{text(centred)} − {text(off)}", least, "in"),
        ),
    )


def _short(hole: float, cage: float, off: float, asked: float) -> float:
    """By how much the least cover is under the one asked for, exactly as the numbers are written."""
    across, over, away, wanted = (Fraction(str(each)) for each in (hole, cage, off, asked))
    return float(max(Fraction(0), wanted - (across - over) / 2 + away))


def _sentence(centred: float, least: float, off: float, asked: float | None, short: float | None) -> str:
    where = "on the side that the cage stands off to" if off else "all round"
    said = f"The least cover is {inches(least)} {where}"
    if off:
        said += f"; with the cage in the middle it would be {inches(centred)}"
    if asked is None or short is None:
        return f"{said}."
    if short:
        return f"Nonconforming, {inches(short)} short of {inches(asked)}. {said}."
    return f"Conforms to {inches(asked)}. {said}."
