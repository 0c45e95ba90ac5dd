"""From what a stage has done so far to the plan of its flow: pace, spread, returns and responses as they were seen."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from apps.calc.errors import CalcError, between, counted, not_negative
from apps.calc.schedule.plan import StagePlan

LEAST_ATTEMPTS = 8
LEAST_DAYS = 5
"""Fewer than these say nothing of a stage. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Observed:
    """One stage over a stretch of days."""

    name: str
    crews: int
    """Crews that worked at it."""
    counts: tuple[int, ...]
    """How many were brought to inspection on each workable day that had work for every crew."""
    returned: int
    """Of the decided attempts."""
    decided: int
    answer_days: float
    """Mean calendar days from inspection to decision."""
    again_days: float
    """Mean calendar days from a return to the next inspection."""
    lag_days: float
    """Calendar days until the next stage may be inspected, cure and notice in it."""

    @property
    def attempts(self) -> int:
        """Inspections on those days."""
        return sum(self.counts)

    @property
    def return_share(self) -> float:
        """Share of the decided attempts that were returned, 0 to 1."""
        return self.returned / self.decided if self.decided else 0.0

    @property
    def is_enough(self) -> bool:
        """Whether there is enough of it to forecast from."""
        return self.attempts >= LEAST_ATTEMPTS and len(self.counts) >= LEAST_DAYS and self.returned < self.decided


def dispersion(counts: Sequence[int]) -> float:
    """Return the index of dispersion of daily counts: sample variance / mean. 0 where every day is the same.

    Errors: CalcError on fewer than two days or no count at all. Source: definition; for a renewal process it tends to the
    squared coefficient of variation of the time between events (D. R. Cox, Renewal Theory, 1962, from memory).

    >>> dispersion([1, 3])
    1.0
    """
    days = len(counted("counts", counts, 2))
    mean = math.fsum(counts) / days
    if mean <= 0:
        raise CalcError("counts", "nothing was done on any day")
    return math.fsum((each - mean) ** 2 for each in counts) / (days - 1) / mean


def attempts_needed(return_share: float) -> float:
    """Return the mean number of attempts until one is released, each returned with the same chance.

    Errors: CalcError on a share outside 0 to 1, or 1. Source: geometric distribution, the negative binomial of one success.

    >>> attempts_needed(0.2)
    1.25
    """
    if between("return_share", return_share, 0, 1) == 1:
        raise CalcError("return_share", "every attempt was returned: there is no end to it")
    return 1 / (1 - return_share)


def stage_plan(seen: Observed, *, more_crews: int = 0, response: float = 1.0, returns: float = 1.0) -> StagePlan:
    """Return the plan of a stage as it was seen; `more_crews` beside those, `response` and `returns` times what they were.

    Work for one foundation [crew-days] is crews × days / attempts, times the attempts that one needs; a crew that also works
    at other stages is counted here with the part of its day that it gave to this one. From work done to release [calendar
    days]: an answer for each attempt, and for each return the days until the next. The spread between foundations is the
    square root of the dispersion of the daily counts, at most 1; the mean is known to spread / √attempts.

    Errors: CalcError where too little was seen, or on a factor below zero.
    Source: geometric number of attempts; the rest common practice, no source.

    >>> seen = Observed("drill", 2, (2, 2, 2, 2, 2), returned=2, decided=10, answer_days=1.0, again_days=2.0, lag_days=0.0)
    >>> plan = stage_plan(seen)
    >>> plan.mean_days, plan.response_days
    (1.25, 1.75)
    """
    if not seen.is_enough:
        raise CalcError(seen.name, "too little was done to forecast from")
    share = min(seen.return_share * not_negative("returns", returns), 0.99)
    needed = attempts_needed(share)
    spread = math.sqrt(min(dispersion(seen.counts), 1.0))
    answers = seen.answer_days * not_negative("response", response)
    return StagePlan(
        seen.name,
        seen.crews * len(seen.counts) / seen.attempts * needed,
        spread,
        seen.crews + more_crews,
        seen.lag_days,
        answers * needed + seen.again_days * (needed - 1),
        mean_cv=min(spread / math.sqrt(seen.attempts), 1.0),
    )
