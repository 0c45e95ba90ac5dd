"""The limits of a decision, and whole numbers, checked the same way by every calculation of the room."""

import math

from apps.calc.errors import CalcError, finite
from apps.calc.working import number_text

JCGM_106 = "JCGM 106:2012, The role of measurement uncertainty in conformity assessment"


def ends(low: float | None, high: float | None) -> tuple[float, float]:
    """Return both limits, infinite where there is none. CalcError on no limit, or limits the wrong way round."""
    if low is None and high is None:
        raise CalcError("high", "give a lower limit, an upper limit or both")
    bottom = -math.inf if low is None else finite("low", low)
    top = math.inf if high is None else finite("high", high)
    if bottom > top:
        raise CalcError("low", f"the lower limit {low} is over the upper limit {high}")
    return bottom, top


def whole(field: str, value: float, low: int, high: float = math.inf) -> int:
    """Return the value if it is a whole number between two ends. CalcError otherwise."""
    if finite(field, value) != int(value) or not low <= value <= high:
        raise CalcError(field, f"expected a whole number from {low} to {number_text(high)}, got {number_text(value)}")
    return int(value)


def short(value: float) -> str:
    """Write a number in a sentence, to four figures."""
    return number_text(value, 4)
