"""The straight plan: what a contract's days ask for where no plan is given, stage by stage and in percent."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate

from apps.calc.errors import CalcError, counted, not_negative


@dataclass(frozen=True, slots=True)
class StraightPlan:
    """Every stage at one steady pace, each as far behind the one before as it must be."""

    days: int
    """Working days from the first to the last."""
    begins: tuple[int, ...]
    """Working days before each stage begins."""
    run: int
    """Working days that each stage takes."""

    def share(self, place: int, day: float) -> Fraction:
        """Return the share of a stage, 0 to 1, that is to be done when so many working days are over."""
        done = (Fraction(day) - self.begins[place]) / self.run
        return min(max(done, Fraction(0)), Fraction(1))

    def percent(self, day: float, weights: Mapping[str, int | Fraction]) -> Fraction:
        """Return the weighted percent that is to be complete then. `weights` in work order, as in percent_complete."""
        whole = sum((Fraction(weight) for weight in weights.values()), Fraction(0))
        parts = (Fraction(weight) * self.share(place, day) for place, weight in enumerate(weights.values()))
        return 100 * sum(parts, Fraction(0)) / whole

    def day_of(self, percent: Fraction, weights: Mapping[str, int | Fraction]) -> float:
        """Return after how many working days the plan means to be so far: the inverse of `percent`, straight within a day."""
        for day in range(self.days):
            low, high = self.percent(day, weights), self.percent(day + 1, weights)
            if percent <= high:
                return day + float((percent - low) / (high - low)) if high > low and percent > low else float(day)
        return float(self.days)


def straight_plan(days: int, lags: Sequence[int]) -> StraightPlan:
    """Return the straight plan over so many working days; `lags` are the working days from each stage to the next.

    The first stage begins with the first day, the last ends with the last, all run equally long: parallel lines, as the line
    of balance draws them. Errors: CalcError where the lags leave no day. Source: definition; common practice, no source.

    >>> plan = straight_plan(20, [1, 4])
    >>> plan.begins, plan.run, plan.share(2, 10)
    ((0, 1, 5), 15, Fraction(1, 3))
    """
    for lag in counted("lags", lags, 1):
        not_negative("lags", lag)
    run = days - sum(lags)
    if run < 1:
        raise CalcError("days", f"{days} working days leave none for work: the stages are {sum(lags)} apart together")
    return StraightPlan(days, tuple(accumulate(lags, initial=0)), run)
