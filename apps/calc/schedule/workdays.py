"""Workable days: which days may be worked, what weather is drawn for them, and how work and calendar time relate."""

import math
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from apps.calc.errors import CalcError, between, counted, positive

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[tuple[int, ...], np.dtype[np.float64]]

EVERY_DAY = (True,) * 7


@dataclass(frozen=True, slots=True)
class WorkCalendar:
    """Which days may be worked, and the chance that the weather lets them be."""

    start: date | None = None
    """Day 0. Needed when weekdays, holidays or months matter."""
    weekdays: tuple[bool, ...] = EVERY_DAY
    """Monday to Sunday."""
    holidays: frozenset[date] = frozenset()
    workable: tuple[float, ...] = (1.0,)
    """Chance that a day is workable: one for all year, or twelve, January to December."""

    def __post_init__(self) -> None:
        counted("weekdays", self.weekdays, 7, 7)
        if len(self.workable) not in (1, 12):
            raise CalcError("workable", f"needs 1 chance or 12, got {len(self.workable)}")
        for chance in self.workable:
            between("workable", positive("workable", chance), 0, 1)
        if not any(self.weekdays):
            raise CalcError("weekdays", "at least one day of the week must be worked")
        if self.start is None and (self.weekdays != EVERY_DAY or self.holidays or len(self.workable) == 12):
            raise CalcError("start", "weekdays, holidays and months need the date of day 0")

    def chances(self, days: int) -> list[float]:
        """Return the chance that each of the first `days` calendar days is workable, 0 to 1."""
        if self.start is None:
            return [self.workable[0]] * days
        dates = (self.start + timedelta(each) for each in range(days))
        return [self._chance(each) for each in dates]

    def _chance(self, day: date) -> float:
        if not self.weekdays[day.weekday()] or day in self.holidays:
            return 0.0
        return self.workable[day.month - 1] if len(self.workable) == 12 else self.workable[0]

    def date_of(self, days: float) -> date | None:
        """Return the date on which `days` calendar days since day 0 are over; None without a start."""
        return None if self.start is None else self.start + timedelta(max(math.ceil(days - 1e-6) - 1, 0))


@dataclass(frozen=True, slots=True)
class WeatherClock:
    """Each draw's weather as two tables: work done by each morning, and the calendar day of each workable day."""

    done: "Array"
    day: "Array"
    open: "Array"
    row: "np.ndarray[tuple[int, ...], np.dtype[np.int64]]"
    last: int

    def calendar(self, work: "Array") -> "Array":
        """Return the calendar time at which an amount of workable time is used up."""
        import numpy as np

        whole = np.clip(np.ceil(work) - 1, 0, self.last)
        found: Array = self.day.take(self.row + whole.astype(np.int64)) + (work - whole)
        return found

    def work(self, time: "Array") -> "Array":
        """Return the workable time passed at a calendar time."""
        import numpy as np

        whole = np.minimum(np.floor(time), self.last)
        at = self.row + whole.astype(np.int64)
        return self.done.take(at) + self.open.take(at) * (time - whole)


def weather_clock(calendar: WorkCalendar, size: int, horizon: int, rng: "np.random.Generator") -> WeatherClock | None:
    """Draw the weather of every day; None when every day is workable, so that the two times are one."""
    import numpy as np

    chances = np.asarray(calendar.chances(horizon))
    if (chances == 1).all():
        return None
    opened = chances > rng.random((horizon, size)).T
    done = np.zeros((size, horizon + 1))
    np.cumsum(opened, axis=1, out=done[:, 1:])
    # Past the horizon every day counts as workable: enough to notice that the stretch was too short.
    day = horizon + np.arange(horizon + 1) - done[:, -1:]
    draw, found = np.nonzero(opened)
    day[draw, done[draw, found].astype(np.int64)] = found
    whole = np.ones((size, horizon + 1))
    whole[:, :horizon] = opened
    row = np.arange(size, dtype=np.int64) * (horizon + 1)
    return WeatherClock(done.ravel(), day.ravel(), whole.ravel(), row, horizon)
