"""Plan against actual: the straight plan that a corridor's dates ask for, and the weighted percent of every day.

A corridor has no plan of its own but its first and its contract day; the page says so.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

from apps.calc.errors import CalcError
from apps.calc.schedule.straight import StraightPlan, straight_plan
from apps.calc.stages import STAGE_KEYS
from apps.corridor.models import Corridor, Tally

SAID = (
    "No plan is entered, so it is the straight one: every stage at one steady pace over the working days from the first to "
    "the contract day, each behind the one before by a day of notice, base set by the cure of the concrete."
)


@dataclass(frozen=True)
class Progress:
    """Weighted percent complete by day, and what the straight plan asks."""

    days: list[tuple[date, Decimal]]
    """At the close of each day on which something changed; the last is now."""
    plan: StraightPlan | None
    """None where the dates leave no day for work."""
    workdays: list[date]
    """The working days of the contract, in order."""
    weights: dict[str, int]
    changed_on: date
    """The last day on which something changed."""

    def before(self, morning: date) -> Fraction | None:
        """Return percent complete as a day began, None where nothing was entered before it.

        A day is closed by the first change of a later one: where nothing changed since, it is what it was.
        """
        if self.changed_on < morning:
            return Fraction(self.percent)
        return next((Fraction(percent) for day, percent in reversed(self.days[:-1]) if day < morning), None)

    def planned(self, day: date) -> Fraction:
        """Return the percent that the plan asks for by the close of a day."""
        return self.plan.percent(self._over(day), self.weights) if self.plan else Fraction(0)

    def _over(self, day: date) -> int:
        return sum(each <= day for each in self.workdays)

    @property
    def curve(self) -> list[tuple[date, Fraction]]:
        """The plan, day by day."""
        return [(day, self.planned(day)) for day in self.workdays] if self.plan else []

    @property
    def percent(self) -> Decimal:
        """Percent complete now."""
        return self.days[-1][1]

    @property
    def behind(self) -> Fraction:
        """Points behind the plan; below zero ahead of it."""
        day, percent = self.days[-1]
        return self.planned(day) - Fraction(percent)

    @property
    def meant_on(self) -> date | None:
        """The working day on which the plan meant to be where the work is now: the earned schedule. None without a plan."""
        if self.plan is None:
            return None
        over = math.ceil(self.plan.day_of(Fraction(self.percent), self.weights) - 1e-9)
        return self.workdays[min(max(over, 1), len(self.workdays)) - 1]

    @property
    def days_behind(self) -> int:
        """Working days between that day and now; below zero ahead."""
        meant = self.meant_on
        return 0 if meant is None else self._over(self.days[-1][0]) - self._over(meant)

    @property
    def sentence(self) -> str:
        """Say it: 18.6 points behind the straight plan, which meant to be here on 28 Oct, 19 working days ago."""
        said = f"{_tenth(self.percent)} % complete"
        if self.plan is None:
            return f"{said}. The contract's dates leave no day for work, so there is no plan to compare with."
        side = "behind" if self.behind > 0 else "ahead of"
        said += f", {_tenth(abs(self.behind))} points {side} the straight plan"
        meant, off = self.meant_on, self.days_behind
        if not off or meant is None:
            return f"{said}."
        count = f"{abs(off)} working day{'' if abs(off) == 1 else 's'}"
        meant_words = (
            f"meant to be here on {meant:%-d %b}, {count} ago"
            if off > 0
            else f"means to be here on {meant:%-d %b}, in {count}"
        )
        return f"{said}, which {meant_words}."


def _tenth(value: Fraction | Decimal) -> Decimal:
    return Decimal(round(Fraction(value) * 10)).scaleb(-1)


def progress(corridor: Corridor, tally: Tally, today: date) -> Progress:
    """Return the percent of every day and the plan, in one query."""
    closed = corridor.snapshots.filter(day__lt=tally.day).order_by("day").values_list("day", "percent")
    now = Decimal(round(tally.percent() * 1000)) / 1000
    span = range((corridor.finishes_on - corridor.starts_on).days + 1)
    workdays = [day for each in span if corridor.works_on(day := corridor.starts_on + timedelta(days=each))]
    weights = {stage: corridor.weights.get(stage, 0) for stage in STAGE_KEYS}
    return Progress(
        [*closed, (max(today, tally.day), now)], _plan(corridor, len(workdays)), workdays, weights, tally.day
    )


def lags(corridor: Corridor) -> list[int]:
    """Return the working days that each stage must stay behind the one before: a day of notice, the cure before base set."""
    week = max(len(corridor.working_days), 1)
    cure = math.ceil(int(corridor.edition.gates.get("concrete_age_d") or 0) * week / 7)
    notice = math.ceil(corridor.notice_hours / 24)
    return [max(cure, notice) if stage == "base_set" else notice for stage in STAGE_KEYS[1:]]


def _plan(corridor: Corridor, workdays: int) -> StraightPlan | None:
    try:
        return straight_plan(workdays, lags(corridor))
    except CalcError:
        return None


def planned_days(plan: StraightPlan, workdays: Sequence[date], place: int) -> tuple[date, date]:
    """Return on which day a stage begins and is over by the plan."""
    return workdays[plan.begins[place]], workdays[plan.begins[place] + plan.run - 1]
