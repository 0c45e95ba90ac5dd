"""Days, dates and counts as the sentences of the room write them."""

import math
from datetime import date

from apps.calc.working import number_text


def short(value: float) -> str:
    """Write a number in a sentence, to four figures."""
    return number_text(value, 4)


def days(value: float) -> str:
    """Write a number of days to a tenth: 48.5 days, 1 day."""
    shown = number_text(round(value, 1))
    return f"{shown} day{'' if shown == '1' else 's'}"


def written(day: date) -> str:
    """Write a date: 5 Jun 2026."""
    return f"{day.day} {day:%b %Y}"


def ordinary(value: float) -> int:
    """Return the day that a time falls in, counted from 1; 0 for no time at all."""
    return max(math.ceil(value - 1e-6), 0)
