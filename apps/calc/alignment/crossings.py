"""Cross streets along an alignment: where each crosses it, and what it is called, as a line of text and as plain data."""

import re
from collections.abc import Mapping
from fractions import Fraction

from apps.calc.alignment.line import Alignment
from apps.calc.errors import CalcError, NotAReading
from apps.calc.stationing import parse_station, show_station

LONGEST_NAME = 60
EXPECTED = "station and name, such as 231+40 Juniper Street"
_LINE = re.compile(r"(?P<station>[0-9+.]+)[ \t]+(?:(?P<part>back|ahead)[ \t]+)?(?P<name>\S.*)", re.IGNORECASE)


def crossing_from_text(text: str) -> dict[str, str]:
    """Return a cross street as an alignment keeps it: station, name, and back or ahead where the line says so.

    CalcError says what was typed and what is expected.

    >>> crossing_from_text("253+90 ahead Sage Ave")
    {'station': '253+90.00', 'name': 'Sage Ave', 'part': 'ahead'}
    """
    match = _LINE.fullmatch(text.strip())
    if match is None:
        raise CalcError("crossings", f'"{text.strip()[:60]}" is not read. Expected {EXPECTED}.')
    try:
        found = {"station": show_station(parse_station(match["station"])), "name": " ".join(match["name"].split())}
    except NotAReading as error:
        raise CalcError("crossings", error.message) from None
    return found | ({"part": match["part"].lower()} if match["part"] else {})


def crossing_text(crossing: Mapping[str, str]) -> str:
    """Return a cross street as a line of text that crossing_from_text reads."""
    return " ".join(filter(None, (crossing["station"], crossing.get("part", ""), crossing["name"])))


def crossing_distance(line: Alignment, crossing: Mapping[str, str]) -> Fraction:
    """Return how far along the line a street crosses it [ft]. OffAlignment where the line has no such station, or two."""
    return line.distance(crossing["station"], crossing.get("part"))


def crossing_fault(line: Alignment, crossing: Mapping[str, str]) -> str:
    """Say why a cross street cannot stand along a line; empty where it can."""
    name = str(crossing.get("name", ""))
    if not name.strip() or len(name) > LONGEST_NAME:
        return f"A cross street needs a name of at most {LONGEST_NAME} characters, got {name[:80]!r}."
    try:
        crossing_distance(line, crossing)
    except CalcError as error:
        return f"{name}: {error.message}."
    except KeyError:
        return f"{name} has no station."
    return ""
