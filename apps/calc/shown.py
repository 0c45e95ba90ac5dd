"""Quantities as the trade writes them: 8 ft 1 7/16 in, 3/32 in, 225 ft-lb, 0.31°, 1:96. No float noise."""

from fractions import Fraction

from apps.calc.scales import UNITS, convert

SMALLEST = 64
"""Inches are written as fractions down to 1/64, the finest mark of a taper gauge; otherwise as decimals."""
EXACT_PLACES = 4
"""A decimal that ends within so many places is written whole; others are rounded to PLACES."""
PLACES = {"in": 3, "mm": 1, "m": 3, "psi": 0, "kPa": 0, "ft-lb": 1, "N m": 1, "F": 1, "C": 1, "%": 1, "lb": 1, "kg": 1}
OTHER_PLACES = {"mm": 1, "N m": 0, "MPa": 1, "kg": 0, "lb": 0, "mm/h": 0, "ft-lb": 0, "kPa": 1, "C": 1, "F": 0}
"""Decimals of a converted value that is shown beside the typed one and never kept."""


def show(value: Fraction | int, unit: str, notation: str = "", *, grouped: bool = True) -> str:
    """Write a quantity with its unit. notation: inches, feet_inches, decimal; empty means inches for in, else decimal.

    grouped writes thousands with a comma, as pages do; parse() questions such a comma, so a form field takes
    grouped=False.
    """
    value = Fraction(value)
    if value < 0:
        return "-" + show(-value, unit, notation, grouped=grouped)
    if notation == "feet_inches" and unit in ("in", "ft"):
        return _feet_inches(convert(value, unit, "in"), grouped)
    if unit == "in" and notation != "decimal":
        return f"{_fraction(value, grouped)} in"
    if unit == "H:V":
        return f"{decimal(value, 1, grouped)}:1"
    if unit == "1:n":
        return f"1:{decimal(1 / value, 1, grouped)}" if value else "0"
    if unit in ("d", "h") and value.denominator != 1 and (value * (24 if unit == "d" else 1)) >= 1:
        return _span(value, unit, grouped)
    return _with_sign(decimal(value, PLACES.get(unit, 2), grouped), unit)


def show_other(value: Fraction | int, unit: str, notation: str = "") -> str:
    """Write a quantity in the unit of the other system, rounded as the trade does. Empty when there is none."""
    other = UNITS[unit].other
    if not other:
        return ""
    turned = convert(value, unit, other)
    if other == "in":
        turned = Fraction(round(turned * SMALLEST), SMALLEST)
        return show(turned, "in", notation or ("feet_inches" if abs(turned) >= 36 else "inches"))
    places = 0 if other == "mm" and abs(turned) >= 100 else OTHER_PLACES.get(other, 2)
    return ("-" if turned < 0 else "") + _with_sign(decimal(_rounded(abs(turned), places), places), other)


def share_text(share: float) -> str:
    """Write a share of 0 to 1 in percent, finer where it or the rest is small: 8.1 %, 99.97 %, over 99.9999 %."""
    rest = min(share, 1 - share)
    if rest < 1e-12:
        return "100 %" if share > 0.5 else "0 %"
    if rest < 1e-6:
        return "over 99.9999 %" if share > 0.5 else "under 0.0001 %"
    places = 1 if rest >= 0.01 else 2 if rest >= 0.001 else 3 if rest >= 0.0001 else 4
    written = f"{100 * share:.{places}f}".rstrip("0").rstrip(".")
    return f"{written} %"


def decimal(value: Fraction, places: int, grouped: bool = True) -> str:
    """Write a number, zero or more, in plain decimals: whole if it ends within 4 places, else to `places` at least.

    A value under the last place keeps two significant figures, so that a margin never reads as 0.
    """
    if (value * 10**EXACT_PLACES).denominator == 1:
        places = EXACT_PLACES
    scaled = _rounded(value, places)
    while value and scaled * 10**places < 10 and scaled != value and places < 12:
        places += 1
        scaled = _rounded(value, places)
    whole, rest = divmod(int(scaled * 10**places), 10**places)
    tail = f"{rest:0{places}d}".rstrip("0") if places else ""
    return (f"{whole:,}" if grouped else str(whole)) + (f".{tail}" if tail else "")


def _rounded(value: Fraction, places: int) -> Fraction:
    return Fraction(round(value * 10**places), 10**places)


def _with_sign(number: str, unit: str) -> str:
    sign = UNITS[unit].sign or unit
    if unit in ("", "1"):
        return number
    return number + sign if unit == "deg" else f"{number} {sign}"


def _fraction(value: Fraction, grouped: bool) -> str:
    """Write inches: 2 1/4, 3/32, 0; decimals when it is not a 64th."""
    if (value * SMALLEST).denominator != 1:
        return decimal(value, PLACES["in"], grouped)
    whole, rest = divmod(value, 1)
    shown = f"{whole:,}" if grouped else str(whole)
    if not rest:
        return shown
    return f"{shown} {rest}" if whole else str(rest)


def _feet_inches(inches: Fraction, grouped: bool) -> str:
    feet, rest = divmod(inches, 12)
    text = _fraction(rest, grouped)
    if text == "12":  # decimals rounded up to the next foot
        feet, text = feet + 1, "0"
    if not feet:
        return f"{text} in"
    return f"{feet:,} ft {text} in" if grouped else f"{feet} ft {text} in"


def _span(value: Fraction, unit: str, grouped: bool) -> str:
    """Write a time of days or hours in parts, to the minute: 8 d 4 h, 2 h 30 min."""
    minutes = round(convert(value, unit, "min"))
    days, minutes = divmod(minutes, 1440) if unit == "d" else (0, minutes)
    hours, minutes = divmod(minutes, 60)
    parts = ((days, "d"), (hours, "h"), (minutes, "min"))
    return " ".join(f"{part:,} {name}" if grouped else f"{part} {name}" for part, name in parts if part)
