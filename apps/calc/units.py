"""Readings as people write them, in and out: "8'-1 7/16", "3/32 in", "150 ft-lb", "6:1". Exact, ASCII digits only.

The table of units is in scales.py, writing in shown.py, stations in stationing.py; all can be used from here.
"""

import re
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from apps.calc.errors import NotAReading
from apps.calc.scales import KINDS, UNITS, WORDLESS, convert, convert_difference, same_system
from apps.calc.shown import show, show_other
from apps.calc.stationing import parse_station, show_station

__all__ = [
    "KINDS",
    "UNITS",
    "WORDLESS",
    "NotAReading",
    "Quantity",
    "convert",
    "convert_difference",
    "parse",
    "parse_station",
    "same_system",
    "show",
    "show_other",
    "show_station",
]

NOTATIONS = ("inches", "feet_inches", "decimal")
LONGEST = 40
EXAMPLES = {
    "length": "a length such as 2 1/4 in, 8 ft 1 7/16 in, 6 mm or 2.44 m",
    "angle": "an angle such as 1.5 deg",
    "slope": "a slope as run to rise, such as 6:1",
    "ratio": "a ratio such as 1:40 or 2.5 %",
    "number": "a plain number such as 1.25 or 5000",
    "percent": "a share such as 75 %",
    "rate": "a rate such as 12 in/h or 300 mm/h",
    "count": "a whole number such as 8",
    "time": "a time such as 90 min, 8 h or 7 d",
    "temperature": "a temperature such as 95 F or 35 C",
    "volume": "a volume such as 1.45 yd3 or 1.11 m3",
    "mass": "a mass such as 1000 lb or 454 kg",
    "pressure": "a pressure such as 3000 psi or 20.7 MPa",
    "torque": "a torque such as 150 ft-lb or 203 N m",
    "force": "a force such as 9000 lbf or 40 kN",
    "resistivity": "a resistivity such as 100 ohm m or 10000 ohm cm",
}
"""What is expected, for messages."""


class Quantity(NamedTuple):
    """A reading: exact value, the unit it was typed in, and the text as typed."""

    value: Fraction
    unit: str
    typed: str


_SAME = str.maketrans(
    {
        "\u00a0": " ",
        "\u202f": " ",
        "\u2009": " ",
        "\u2212": "-",
        "\u2032": "'",
        "\u2019": "'",
        "\u2033": '"',
        "\u201d": '"',
    }
)
_NUMBER = r"(?:[0-9]+(?: ?- ?| )[0-9]+/[0-9]+|[0-9]+/[0-9]+|[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)"
_ONE = re.compile(rf"({_NUMBER}) ?(.*)")
_THOUSANDS = re.compile(r"[1-9][0-9]{0,2}(?:,[0-9]{3})+(?:\.[0-9]*)?(?![0-9/,])")
_FEET_INCHES = re.compile(
    rf"(?P<feet>[0-9]+) ?(?:ft\.?|feet|foot|') ?[-,]? ?(?P<inches>{_NUMBER}) ?(?:in\.?|inch|inches|\")?", re.IGNORECASE
)
_BARE_FEET_INCHES = re.compile(r"(?P<feet>[0-9]+)[ -](?P<inches>[0-9]+(?:[ -][0-9]+/[0-9]+)?)")
_RATIO = re.compile(rf"({_NUMBER}) ?(?::|to) ?({_NUMBER})")
_SPAN = re.compile(rf"(?:({_NUMBER}) ?(?:d|days?) )?(?:({_NUMBER}) ?(?:h|hrs?|hours?)(?: |$))?(?:({_NUMBER}) ?min)?")
_SPELLINGS: dict[str, dict[str, str]] = {
    kind: {word: name for name in reversed(names) for word in (*UNITS[name].spellings, name.casefold())}
    for kind, names in KINDS.items()
}


def parse(text: str, kind: str, unit: str, *, notation: str = "", signed: bool = False) -> Quantity:
    """Read a typed quantity of a kind of KINDS; a number without unit is in `unit`. The unit typed is kept.

    Feet and inches together come back in inches. NotAReading says what was typed and what is expected. Negative values
    need signed=True. A comma before one, two or four digits is a decimal point; before three digits it is questioned.
    """
    if kind not in KINDS or kind in WORDLESS:
        raise ValueError(f"kind {kind!r} has no numbers; kinds that have are {', '.join(EXAMPLES)}")
    typed = text.strip()
    plain = " ".join(typed.translate(_SAME).replace("''", '"').split())
    if not plain:
        raise NotAReading(f"Nothing is typed. Expected {_expected(kind)}.")
    if len(plain) > LONGEST:
        raise NotAReading(f'"{typed[:LONGEST]}..." is too long. Expected {_expected(kind)}.')
    sign = -1 if plain[0] == "-" else 1
    if plain[0] in "+-":
        plain = plain[1:].lstrip()
        if not signed:
            raise NotAReading(f'"{typed}" has a sign. Expected {_expected(kind)}, zero or more.')
    reader = _READERS.get(kind, _read_one)
    value, found = reader(plain, kind, unit, notation)
    return Quantity(sign * value, found, typed)


def _expected(kind: str) -> str:
    return EXAMPLES.get(kind) or f"a number, in {', '.join(KINDS[kind])}"


def _not(text: str, kind: str) -> NotAReading:
    return NotAReading(f'"{text}" is not read. Expected {_expected(kind)}.')


def _number(text: str, kind: str) -> Fraction:
    """Read one number of the form _NUMBER: whole, decimal, fraction, or whole and fraction."""
    parts = re.split(r" ?- ?| ", text)
    if "/" not in parts[-1]:
        return Fraction(Decimal(text.replace(",", ".")))
    top, bottom = (int(part) for part in parts[-1].split("/"))
    if bottom == 0:
        raise NotAReading(f'"{text}" divides by zero. Expected {_expected(kind)}.')
    if len(parts) == 2 and top >= bottom:
        raise NotAReading(f'"{text}": a fraction after a whole number is less than one. Expected {_expected(kind)}.')
    return (int(parts[0]) if len(parts) == 2 else 0) + Fraction(top, bottom)


def _read_one(text: str, kind: str, unit: str, notation: str) -> tuple[Fraction, str]:
    """One number and perhaps a unit."""
    if match := _THOUSANDS.match(text):
        number, rest = match[0], text[match.end() :]
        offers = tuple(
            each + rest for each in (number.replace(",", ""), number.replace(",", ".")) if each.count(".") < 2
        )
        raise NotAReading(f'"{text}" can be read in more than one way. Is it {" or ".join(offers)}?', offers)
    match = _ONE.fullmatch(text)
    if not match:
        raise _not(text, kind)
    found = _SPELLINGS[kind].get(match[2].casefold()) if match[2] else unit
    if found is None:
        raise _not(text, kind)
    return _number(match[1], kind), found


def _read_length(text: str, kind: str, unit: str, notation: str) -> tuple[Fraction, str]:
    match = _FEET_INCHES.fullmatch(text)
    if not match and notation == "feet_inches":
        match = _BARE_FEET_INCHES.fullmatch(text)
        if mixed := re.fullmatch(r"([0-9]+)[ -]([0-9]+/[0-9]+)", text):
            offers = (f"{mixed[1]} ft {mixed[2]} in", f"{mixed[1]} {mixed[2]} in")
            raise NotAReading(f'"{text}" can be read in two ways. Is it {offers[0]}, or {offers[1]}?', offers)
    if not match:
        return _read_one(text, kind, unit, notation)
    feet, inches = int(match["feet"]), _number(match["inches"].replace("-", " "), kind)
    if inches >= 12:
        raise _too_many_inches(feet, inches)
    return feet * 12 + inches, "in"


def _too_many_inches(feet: int, inches: Fraction) -> NotAReading:
    """Both likely readings: inches that were not carried, or a digit too many."""
    whole = int(inches)
    fewer = int(str(whole)[1:] or "0") + inches - whole
    if fewer >= 12:
        fewer = int(str(whole)[0]) + inches - whole
    offers = tuple(show(each, "in", "feet_inches") for each in (feet * 12 + inches, feet * 12 + fewer))
    return NotAReading(f"Inches run to 11 15/16. Is it {offers[0]}, or {offers[1]}?", offers)


def _read_slope(text: str, kind: str, unit: str, notation: str) -> tuple[Fraction, str]:
    if match := _RATIO.fullmatch(text):
        run, rise = (_number(part, kind) for part in match.groups())
        if rise == 0:
            raise NotAReading(f'"{text}" has no rise. For level ground write 100:1.', ("100:1",))
        return run / rise, "H:V"
    return _read_one(text, kind, unit, notation)


def _read_ratio(text: str, kind: str, unit: str, notation: str) -> tuple[Fraction, str]:
    if match := _RATIO.fullmatch(text):
        one, many = (_number(part, kind) for part in match.groups())
        if many == 0:
            raise _not(text, kind)
        return one / many, "1:n"
    value, found = _read_one(text, kind, unit, notation)
    if found == "1:n" and value:
        raise NotAReading(f'"{text}" lacks its other half. Expected {_expected(kind)}.', (f"1:{text}", f"{text} %"))
    return value, found


def _read_number(text: str, kind: str, unit: str, notation: str) -> tuple[Fraction, str]:
    """A number and nothing after it."""
    if (match := _ONE.fullmatch(text)) and match[2]:
        raise _not(text, kind)
    return _read_one(text, kind, unit, notation)


def _read_count(text: str, kind: str, unit: str, notation: str) -> tuple[Fraction, str]:
    if not re.fullmatch(r"[0-9]+", text):
        raise _not(text, kind)
    return Fraction(int(text)), ""


def _read_time(text: str, kind: str, unit: str, notation: str) -> tuple[Fraction, str]:
    """A span of two or three parts, 1 d 4 h, comes back in its greatest unit."""
    match = _SPAN.fullmatch(text.casefold())
    parts = (
        [(part, name) for part, name in zip(match.groups(), ("d", "h", "min"), strict=True) if part] if match else []
    )
    if len(parts) < 2:
        return _read_one(text, kind, unit, notation)
    top = parts[0][1]
    return sum((convert(_number(part, kind), name, top) for part, name in parts), Fraction(0)), top


_READERS: dict[str, Callable[[str, str, str, str], tuple[Fraction, str]]] = {
    "length": _read_length,
    "slope": _read_slope,
    "ratio": _read_ratio,
    "number": _read_number,
    "count": _read_count,
    "time": _read_time,
}
