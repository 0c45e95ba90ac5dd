"""Cooling of concrete after its protection ended, against what cold-weather rules allow."""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from apps.calc.errors import CalcError, counted, finite
from apps.calc.registry import Input, Output, calculation
from apps.calc.working import Step
from apps.calc.working import number_text as text

HOUR_FALL_F, DAY_FALL_F = 5.0, 50.0
"""°F allowed in any hour and in any 24 hours: UFGS 03300, cold weather."""
SAME = 1e-9
"""°F that readings straight between may be off for rounding."""


class Fall(NamedTuple):
    """The greatest fall [°F] within a span, and the hours that it lies between."""

    fall_f: float
    start_h: float
    end_h: float


@dataclass(frozen=True, slots=True)
class Cooling:
    """How fast concrete cooled after its protection ended."""

    hour: Fall
    day: Fall
    within: bool
    sentence: str
    working: tuple[Step, ...]

    @property
    def fastest_hour_f(self) -> float:
        """Greatest fall in an hour [°F]."""
        return self.hour.fall_f

    @property
    def fastest_day_f(self) -> float:
        """Greatest fall in 24 hours [°F]."""
        return self.day.fall_f


@calculation(
    "fresh_concrete.cooling",
    "Cooling after protection ends",
    "UFGS 03300, cold weather: at most 5 °F in any hour and 50 °F in any 24 hours",
    inputs=(
        Input("hours", "time", "h", "time of each reading, rising", many=True, low=0),
        Input("temperatures_f", "temperature", "F", "temperature at each", many=True, low=-40, high=200),
    ),
    outputs=(
        Output("fastest_hour_f", "number", "1", "greatest fall in an hour, °F"),
        Output("fastest_day_f", "number", "1", "greatest fall in 24 hours, °F"),
    ),
    beyond="What happened between readings, or at a face without a sensor; nor that the concrete was protected long enough.",
    # Invented: blankets off in steps, the second step too fast.
    example={"hours": "0, 2, 4, 5, 8, 14, 24", "temperatures_f": "82, 76, 70, 63, 56, 48, 44"},
)
def cooling(*, hours: Sequence[float], temperatures_f: Sequence[float]) -> Cooling:
    """Return the greatest fall [°F] in any 1 h and any 24 h of a log (hours rising, °F), straight between readings.

    Errors: CalcError on fewer than two readings, lists of different length, hours that do not rise.
    Source: UFGS 03300, cold weather.

    >>> cooling(hours=[0, 10, 20], temperatures_f=[60, 30, 20]).within
    True
    """
    counted("temperatures_f", temperatures_f, len(counted("hours", hours, 2)), len(hours))
    for name, values in (("hours", hours), ("temperatures_f", temperatures_f)):
        for value in values:
            finite(name, value)
    if any(later <= earlier for earlier, later in itertools.pairwise(hours)):
        raise CalcError("hours", "the readings must be in order of time")
    hour, day = (_greatest_fall(hours, temperatures_f, span) for span in (1, 24))
    working = (
        Step("ΔT₁", "greatest fall in any 1 h, at most 5 °F", _between(hour), hour.fall_f, "°F"),
        Step("ΔT₂₄", "greatest fall in any 24 h, at most 50 °F", _between(day), day.fall_f, "°F"),
    )
    within = hour.fall_f <= HOUR_FALL_F + SAME and day.fall_f <= DAY_FALL_F + SAME
    return Cooling(hour, day, within, _sentence(hour, day), working)


def _greatest_fall(hours: Sequence[float], temperatures: Sequence[float], span: float) -> Fall:
    """The greatest fall within a window: at its ends lie readings, or points a whole window from one."""
    import numpy as np

    ends = np.union1d(hours, np.concatenate([np.asarray(hours) + span, np.asarray(hours) - span]))
    ends = ends[(ends >= hours[0]) & (ends <= hours[-1])]
    at = np.interp(ends, hours, temperatures)
    falls = []
    for place, value in enumerate(at):
        last = int(np.searchsorted(ends, ends[place] + span, side="right"))
        lowest = place + int(at[place:last].argmin())
        falls.append(Fall(float(value - at[lowest]), float(ends[place]), float(ends[lowest])))
    return max(falls, key=lambda each: each.fall_f)


def _between(fall: Fall) -> str:
    return f"from {text(fall.start_h, 4)} h to {text(fall.end_h, 4)} h"


def _sentence(hour: Fall, day: Fall) -> str:
    said = f"at most {text(hour.fall_f, 3)} °F in an hour and {text(day.fall_f, 3)} °F in a day; 5 and 50 are allowed"
    rules = ((hour, HOUR_FALL_F, "an hour"), (day, DAY_FALL_F, "a day"))
    over = [(fall, limit, span) for fall, limit, span in rules if fall.fall_f > limit + SAME]
    if not over:
        return f"Conforms: it cooled by {said}."
    parts = [
        f"by {text(fall.fall_f - limit, 2)} °F in {span}, from {text(fall.start_h, 3)} h on"
        for fall, limit, span in over
    ]
    return f"Over the limit {' and '.join(parts)}. It cooled by {said}."
