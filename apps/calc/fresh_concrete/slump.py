"""Slump: its tolerance, how it is reported, how far two operators may differ."""

import math
from fractions import Fraction
from typing import NamedTuple

from apps.calc.errors import finite, not_negative, positive


class Tolerance(NamedTuple):
    """What a measured value may be above and below the value ordered."""

    plus: Fraction
    minus: Fraction


def _exact(field: str, value: float | Fraction) -> Fraction:
    return value if isinstance(value, Fraction) else Fraction(finite(field, value))


def slump_tolerance(ordered_in: Fraction | float, *, as_maximum: bool = False) -> Tolerance:
    """Return the tolerance [in] on a slump ordered "about" a value, or as a maximum [in].

    About: to 2 in ±1/2, over 2 to 4 in ±1, over 4 in ±1 1/2. Maximum: to 3 in +0/−1 1/2, over 3 in +0/−2 1/2.
    Errors: CalcError on a slump of zero or less. Source: ASTM C94/C94M, slump tolerances (from memory).

    >>> slump_tolerance(4)
    Tolerance(plus=Fraction(1, 1), minus=Fraction(1, 1))
    """
    ordered = positive("ordered_in", _exact("ordered_in", ordered_in))
    if as_maximum:
        return Tolerance(Fraction(0), Fraction(3, 2) if ordered <= 3 else Fraction(5, 2))
    room = Fraction(1, 2) if ordered <= 2 else Fraction(1) if ordered <= 4 else Fraction(3, 2)
    return Tolerance(room, room)


def reported_slump(measured_in: float | Fraction) -> Fraction:
    """Return a slump [in] as it is reported, to the nearest 1/4 in, halves up.

    Errors: CalcError on a negative slump. Source: ASTM C143/C143M (rounding read in a trade note).

    >>> float(reported_slump(4.37))
    4.25
    """
    return Fraction(math.floor(4 * not_negative("measured_in", _exact("measured_in", measured_in)) + Fraction(1, 2)), 4)


def operators_agree(
    one_in: float | Fraction, other_in: float | Fraction, range_in: Fraction = Fraction(83, 100)
) -> bool:
    """Say whether two operators' slumps [in] of one sample lie within the multi-operator range.

    0.83 in is the range of an older precision statement; newer editions let it grow with slump (from memory).
    Errors: CalcError on a negative slump. Source: ASTM C143/C143M, older editions.

    >>> operators_agree(4, 4.75), operators_agree(4, 5)
    (True, False)
    """
    one, other = (not_negative("slump_in", _exact("slump_in", each)) for each in (one_in, other_in))
    return abs(one - other) <= range_in
