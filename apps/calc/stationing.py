"""Stations of 100 ft as text: 231+40.00 is 23,140 ft along the alignment. Strict, for a slip moves a foundation."""

import re
from decimal import Decimal
from fractions import Fraction

from apps.calc.errors import CalcError, NotAReading

_STATION = re.compile(r"([0-9]{1,5})\+([0-9]{2}(?:\.[0-9]{1,4})?)")
_FEET = re.compile(r"[0-9]{1,7}(?:\.[0-9]{1,4})?")

EXPECTED = "a station such as 231+40.00, or feet such as 23140.5"


def parse_station(text: str) -> Fraction:
    """Return a station in ft: two digits stand after the plus, decimals after a point. NotAReading."""
    typed = text.strip(" ")
    if match := _STATION.fullmatch(typed):
        return int(match[1]) * 100 + Fraction(match[2])
    if _FEET.fullmatch(typed):
        return Fraction(typed)
    raise NotAReading(f'"{text[:40]}" is not {EXPECTED}.')


def show_station(station: Fraction | Decimal | int) -> str:
    """Write a station in ft to the hundredth: 23140 becomes 231+40.00. CalcError on a negative or non-finite one."""
    if isinstance(station, Decimal) and not station.is_finite():
        raise CalcError("station", f"expected a finite number, got {station}")
    hundredths = round(Fraction(station) * 100)
    if hundredths < 0:
        raise CalcError("station", f"must be zero or more, got {station}")
    whole, rest = divmod(hundredths, 10_000)
    return f"{whole}+{rest // 100:02d}.{rest % 100:02d}"
