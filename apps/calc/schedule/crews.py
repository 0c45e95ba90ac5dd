"""What one more crew at each stage would do to the finish."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from apps.calc.schedule.flow import FlowForecast, forecast
from apps.calc.schedule.plan import StagePlan
from apps.calc.schedule.workdays import WorkCalendar


@dataclass(frozen=True, slots=True)
class OneMoreCrew:
    """What one more crew at a stage would do to the finish, in calendar days; over zero is earlier."""

    stage: str
    p50_earlier: float
    p80_earlier: float


def one_more_crew(
    stages: Sequence[StagePlan],
    foundations: int,
    *,
    calendar: WorkCalendar | None = None,
    first_stage: Sequence[int] | None = None,
    ready_in: Sequence[float] | None = None,
    draws: int = 1_000,
    seed: int = 1,
) -> tuple[OneMoreCrew, ...]:
    """Return for each stage, best first, how much earlier the finish is with one more crew there.

    Arguments, errors and source: as `forecast`. Every plan meets the same drawn durations, waits and weather, so a
    difference is the crew's and not luck's.

    >>> plan = (StagePlan("drill", 1.0), StagePlan("pour", 2.0))
    >>> one_more_crew(plan, 20, draws=10)[0]
    OneMoreCrew(stage='pour', p50_earlier=19.0, p80_earlier=19.0)
    """

    def finish(plan: Sequence[StagePlan]) -> FlowForecast:
        return forecast(
            plan, foundations, calendar=calendar, first_stage=first_stage, ready_in=ready_in, draws=draws, seed=seed
        )

    now = finish(stages)
    effects = []
    for at, each in enumerate(stages):
        more = finish([*stages[:at], replace(each, crews=each.crews + 1), *stages[at + 1 :]])
        effects.append(OneMoreCrew(each.name, now.p50 - more.p50, now.p80 - more.p80))
    return tuple(sorted(effects, key=lambda effect: -effect.p80_earlier))
