"""Directions and angles as plans write them: N 84°30'00" E, 84.5, 105°30' W. Exact, in and out.

Quadrant bearings are read as surveyors write them: so many degrees from north or south toward east or west. Common practice,
no source.
"""

import re
from fractions import Fraction

from apps.calc.errors import NotAReading

PLACES = 10
"""Decimals of a degree that are kept: a tenth of a millionth of a foot over a hundred miles."""
BEARING = "a bearing such as N 84°30'00\" E, or 84.5 clockwise from north"
DEGREES = "degrees such as 34.75 or 34°45'00\""
_PART = r"[0-9]+(?:\.[0-9]+)?"
_ANGLE = (
    rf"(?P<degrees>{_PART})(?: ?(?:°|deg|d|-| ) ?(?P<minutes>{_PART})"
    rf"(?: ?(?:'|min|m|-| ) ?(?P<seconds>{_PART}) ?(?:\"|sec|s)?| ?(?:'|min|m))?| ?(?:°|deg|d))?"
)
_QUADRANT = re.compile(rf"(?P<from>[NS]) ?{_ANGLE} ?(?P<toward>[EW])", re.IGNORECASE)
_DEGREES = re.compile(rf"(?P<before>[NSEW])? ?(?P<sign>[-+])? ?{_ANGLE} ?(?P<after>[NSEW])?", re.IGNORECASE)
_SAME = str.maketrans({"\u2032": "'", "\u2019": "'", "\u2033": '"', "\u201d": '"', "\u2212": "-", "\u00ba": "°"})


def _plain(text: str) -> str:
    return " ".join(text.translate(_SAME).replace("''", '"').split())[:60]


def _angle(match: "re.Match[str]", text: str, expected: str) -> Fraction:
    minutes, seconds = (Fraction(match[each] or 0) for each in ("minutes", "seconds"))
    if minutes >= 60 or seconds >= 60:
        raise NotAReading(f'"{text}": minutes and seconds run to 59. Expected {expected}.')
    whole = Fraction(match["degrees"])
    if (match["minutes"] and whole.denominator != 1) or (match["seconds"] and minutes.denominator != 1):
        raise NotAReading(f'"{text}": only the last part has decimals. Expected {expected}.')
    return whole + minutes / 60 + seconds / 3600


def read_bearing(text: str) -> Fraction:
    """Return a direction in degrees clockwise from north, 0 to 360. Exact. NotAReading says what is expected.

    >>> read_bearing("S 45 30 00 E")
    Fraction(269, 2)
    """
    plain = _plain(text)
    if match := _QUADRANT.fullmatch(plain):
        angle = _angle(match, plain, BEARING)
        if angle > 90:
            raise NotAReading(f'"{plain}": a bearing runs to 90 degrees from north or south. Expected {BEARING}.')
        east = angle if match["from"].upper() == "N" else 180 - angle
        return east if match["toward"].upper() == "E" else (360 - east) % 360
    match = _DEGREES.fullmatch(plain)
    if match is None or match["before"] or match["after"] or match["sign"] == "-":
        raise NotAReading(f'"{plain}" is not read. Expected {BEARING}.')
    angle = _angle(match, plain, BEARING)
    if angle > 360:
        raise NotAReading(f'"{plain}" is more than a whole turn. Expected {BEARING}.')
    return angle


def read_degrees(text: str, letters: str = "") -> Fraction:
    """Return an angle in degrees; `letters` are those that may stand with it, the second one negative: "NS", "EW". Exact.

    >>> read_degrees("105°30' W", "EW")
    Fraction(-211, 2)
    """
    plain = _plain(text)
    match = _DEGREES.fullmatch(plain)
    named = [match[each].upper() for each in ("before", "after") if match[each]] if match else []
    if match is None or len(named) > 1 or any(each not in letters for each in named) or (named and match["sign"]):
        raise NotAReading(f'"{plain}" is not read. Expected {DEGREES}{f" {letters[0]}" if letters else ""}.')
    negative = match["sign"] == "-" or named == [letters[1:]]
    return _angle(match, plain, DEGREES) * (-1 if negative else 1)


def show_bearing(degrees: float) -> str:
    """Write a direction as a quadrant bearing to the second: 84.5 becomes N 84°30'00" E."""
    turn = round(degrees % 360 * 3600) % (360 * 3600)
    half = turn % (180 * 3600)
    north, east = not 90 * 3600 < turn < 270 * 3600, turn <= 180 * 3600
    seconds = half if half <= 90 * 3600 else 180 * 3600 - half
    minutes, second = divmod(seconds, 60)
    degree, minute = divmod(minutes, 60)
    return f"{'N' if north else 'S'} {degree}°{minute:02d}'{second:02d}\" {'E' if east else 'W'}"


def decimal_text(value: Fraction, places: int = PLACES) -> str:
    """Write a number as a decimal to so many places, without zeros at its end: 1267/15 becomes 84.4666666667."""
    scale = 10**places
    whole, rest = divmod(abs(round(value * scale)), scale)
    digits = f"{rest:0{places}d}".rstrip("0")
    sign = "-" if value < 0 and (whole or digits) else ""
    return f"{sign}{whole}{'.' + digits if digits else ''}"
