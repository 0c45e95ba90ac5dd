"""Anchor rods: grades, coarse threads, stress area."""

import math
from fractions import Fraction
from typing import NamedTuple

from apps.calc.errors import CalcError, positive


class Grade(NamedTuple):
    """An anchor rod grade of ASTM F1554: strengths [ksi] and the colour of its end."""

    yield_ksi: float
    tensile_low_ksi: float
    tensile_high_ksi: float
    colour: str
    pretension: float
    """Share of the least tensile strength for a double-nut joint: AISC Design Guide 1, 2nd ed., Table A1."""


# ASTM F1554: yield, tensile range, colour (read in two independent summaries that agree).
GRADES = {
    "36": Grade(36, 58, 80, "blue", 0.50),
    "55": Grade(55, 75, 95, "yellow", 0.60),
    "105": Grade(105, 125, 150, "red", 0.60),
}

# ASME B1.1, coarse threads (UNC): nominal diameter [in] and threads per inch.
COARSE = {
    Fraction(1, 2): 13.0,
    Fraction(5, 8): 11.0,
    Fraction(3, 4): 10.0,
    Fraction(7, 8): 9.0,
    Fraction(1): 8.0,
    Fraction(9, 8): 7.0,
    Fraction(5, 4): 7.0,
    Fraction(11, 8): 6.0,
    Fraction(3, 2): 6.0,
    Fraction(7, 4): 5.0,
    Fraction(2): 4.5,
    Fraction(9, 4): 4.5,
    Fraction(5, 2): 4.0,
}


def threads_per_inch(diameter_in: float | Fraction) -> float:
    """Return the coarse threads per inch of a nominal diameter [in]. CalcError on a size that the table lacks.

    Source: ASME B1.1, coarse series.

    >>> threads_per_inch(0.75)
    10.0
    """
    size = Fraction(positive("diameter_in", float(diameter_in))).limit_denominator(64)
    if size not in COARSE:
        raise CalcError("diameter_in", f"no coarse thread of {diameter_in} in is listed; give the threads per inch")
    return COARSE[size]


def stress_area(diameter_in: float, threads: float) -> float:
    """Return the tensile stress area At = π/4 (D − 0.9743/n)² [in²] of a nominal diameter [in] and threads per inch.

    Errors: CalcError on a value of zero or less, or a thread deeper than the bolt. Source: ASME B1.1.

    >>> round(stress_area(1, 8), 3)
    0.606
    """
    core = positive("diameter_in", diameter_in) - 0.9743 / positive("threads", threads)
    if core <= 0:
        raise CalcError("threads", f"a thread of {threads} per inch leaves nothing of a {diameter_in} in bolt")
    return math.pi / 4 * core**2
