"""Temperature of concrete: hottest and coldest, the thermometer, how a reading is taken."""

import math
from datetime import date

from apps.calc.errors import CalcError, between, finite, not_negative, positive

HOTTEST_F = 95
"""°F at discharge, unless the mixture was qualified for more: ACI 305.1-14, 3.3.1; ACI 301-20."""


def coldest_f(section_in: float) -> int:
    """Return the lowest temperature [°F] of concrete as placed and kept, by the section's least dimension [in].

    Under 12 in 55, 12 to 36 in 50, over 36 to 72 in 45, thicker 40 °F.
    Errors: CalcError on a dimension of zero or less.
    Source: ACI 306R (55 and 50 read in Masonry and Concrete, 2004, fig. 3-37; 45 and 40 from memory).

    >>> coldest_f(24)
    50
    """
    section = positive("section_in", section_in)
    return 55 if section < 12 else 50 if section <= 36 else 45 if section <= 72 else 40


def thermometer_due(*, verified_on: date, used_on: date) -> bool:
    """Say whether a thermometer's yearly verification is overdue on the day it is used.

    The anniversary itself is still in date. Errors: CalcError on use before verification.
    Source: ASTM C1064/C1064M (yearly; read in summaries).

    >>> thermometer_due(verified_on=date(2025, 3, 1), used_on=date(2026, 3, 2))
    True
    """
    if used_on < verified_on:
        raise CalcError("used_on", f"{used_on} is before the verification of {verified_on}")
    leap = (verified_on.month, verified_on.day) == (2, 29)
    next_year = date(verified_on.year + 1, 2, 28) if leap else verified_on.replace(year=verified_on.year + 1)
    return used_on > next_year


def thermometer_true(*, reference_f: float, shown_f: float) -> bool:
    """Say whether a thermometer shows a reference temperature [°F] within 1 °F; the limit itself is true.

    Errors: CalcError on a reference outside 30 to 120 °F, the range that it is asked for.
    Source: ASTM C1064/C1064M (read in summaries).

    >>> thermometer_true(reference_f=70, shown_f=71), thermometer_true(reference_f=70, shown_f=71.5)
    (True, False)
    """
    between("reference_f", reference_f, 30, 120)
    return abs(finite("shown_f", shown_f) - reference_f) <= 1


def taken_as_asked(*, cover_in: float, minutes_in: float, minutes_after_sample: float) -> bool:
    """Say whether a temperature was taken as the standard asks.

    At least 3 in [in] of concrete round the sensor in every direction, left in 2 to 5 min [min], done within 5 min [min]
    of the sample. Limits themselves are as asked.
    Errors: CalcError on a negative value. Source: ASTM C1064/C1064M (read in summaries).

    >>> taken_as_asked(cover_in=3, minutes_in=2, minutes_after_sample=5)
    True
    """
    return (
        not_negative("cover_in", cover_in) >= 3
        and 2 <= not_negative("minutes_in", minutes_in) <= 5
        and not_negative("minutes_after_sample", minutes_after_sample) <= 5
    )


def reported_temperature_f(measured_f: float) -> int:
    """Return a temperature [°F] as it is reported, to the nearest degree, halves up.

    Errors: CalcError on no number. Source: ASTM C1064/C1064M (read in summaries; halves up is our choice).

    >>> reported_temperature_f(71.5)
    72
    """
    return math.floor(finite("measured_f", measured_f) + 0.5)
