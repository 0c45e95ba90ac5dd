"""How far a reading of an instrument may be off: its expanded uncertainty as a certificate states it, for one judged value."""

from fractions import Fraction
from typing import NamedTuple

from apps.calc.errors import NotAReading
from apps.calc.requirement import Requirement
from apps.calc.scales import KINDS, UNITS, WORDLESS, convert_difference
from apps.calc.units import parse

SHARE = "%"


class Doubt(NamedTuple):
    """Expanded uncertainty U, k about 2: a quantity, or a share of the reading in percent."""

    value: Fraction
    unit: str


def read_doubt(text: str) -> Doubt:
    """Read "1/16 in", "0.2°" or "4 %". NotAReading for anything else, and for a negative one."""
    for kind in (each for each in KINDS if each not in WORDLESS and each != "count"):
        try:
            found = parse(text, kind, "")
        except (NotAReading, ValueError):
            continue
        if found.unit in UNITS and found.unit not in ("", "1", "1:n", "H:V"):
            return Doubt(found.value, found.unit)
    raise NotAReading(f'"{text}" is not read. Expected an uncertainty with its unit, such as 1/16 in, 0.2 deg or 4 %.')


def doubt_of(doubt: Doubt, requirement: Requirement, readings: tuple[Fraction, ...]) -> Fraction | None:
    """Return U of the value that is judged, in the requirement's unit; None where the instrument does not measure such.

    readings are in the requirement's unit. A sum of n readings has n U, a spread 2 U: the most that it can be off.
    Source: JCGM 100:2008, 5.2.2, readings of one instrument taken as fully correlated.
    """
    if doubt.unit == SHARE and requirement.kind not in ("percent", "ratio"):
        one = doubt.value / 100 * max((abs(each) for each in readings), default=Fraction(0))
    elif requirement.unit in UNITS and UNITS[requirement.unit].dimension == UNITS[doubt.unit].dimension:
        one = convert_difference(doubt.value, doubt.unit, requirement.unit)
    else:
        return None
    return one * {"sum": max(len(readings), 1), "spread": 2}.get(requirement.take, 1)
