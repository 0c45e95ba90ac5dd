"""The flow of foundations through the stages: crews, cure, weather, response times → finish, bottleneck, one more crew.

The model, in the trade's words. Foundations are taken in order. A crew of a stage takes the next foundation as soon as
it is released to that stage and the crew is free. Work advances only on workable days; cure and the wait for a release
run on every day. Durations and waits are drawn for each foundation, the weather for each day, all independent of each
other, and `mean_cv` says how well each stage's mean itself is known (one draw for the whole job).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from apps.calc.errors import between, counted, not_negative
from apps.calc.schedule.plan import StagePlan, queue_of
from apps.calc.schedule.said import days, written
from apps.calc.schedule.simulation import Block, simulate
from apps.calc.schedule.workdays import WorkCalendar
from apps.calc.shown import share_text
from apps.calc.working import Step, number_text

__all__ = ["FlowForecast", "StagePlan", "forecast"]

MOST_DRAWS = 1_000_000
ASSUMPTIONS = (
    "Foundations are taken in order; durations, waits and weather are drawn independently of each other; "
    "a crew never moves to another stage. A forecast, not a promise."
)


@dataclass(frozen=True, slots=True)
class FlowForecast:
    """When the last foundation is released, in calendar days from day 0, and what holds the flow up."""

    p10: float
    p50: float
    p80: float
    p90: float
    mean: float
    sd: float
    quantiles: tuple[float, ...]
    """Finish at 0, 1, 2 … 100 % of the draws."""
    bottleneck: str
    """The stage that had the most work for each of its crews in the most draws."""
    governs: tuple[float, ...]
    """Share of the draws in which each stage was that one."""
    busy: tuple[float, ...]
    """Mean share of the workable time, start to finish, that each stage's crews worked."""
    lines: tuple[tuple[float, ...], ...]
    """Mean day on which each foundation (outer) is released at each stage (inner): the time–location lines. 0 where it
    was released before day 0."""
    stages: tuple[str, ...]
    """Their names, in order."""
    start: date | None
    """Day 0, where the calendar has one."""
    draws: int
    seed: int
    assumptions: str
    sentence: str
    working: tuple[Step, ...]

    def chance_by(self, days: float) -> float:
        """Return the chance, 0 to 1, that all is released within `days` calendar days of day 0."""
        import numpy as np

        return float(np.interp(days, self.quantiles, np.linspace(0, 1, 101), left=0.0, right=1.0))


def forecast(
    stages: Sequence[StagePlan],
    foundations: int,
    *,
    calendar: WorkCalendar | None = None,
    first_stage: Sequence[int] | None = None,
    ready_in: Sequence[float] | None = None,
    draws: int = 1_000,
    seed: int = 1,
) -> FlowForecast:
    """Simulate the stages in order over the foundations and return the distribution of the finish.

    `first_stage` gives for each foundation the position of its first stage still to do (0 to the number of stages;
    that number: nothing left); `ready_in` the calendar days until that stage may begin, such as cure that is left.
    The same seed gives the same forecast, whatever the numbers of crews (so that two plans meet the same luck).
    Durations: a cubed normal variable that follows the gamma distribution closely (E. B. Wilson and M. M. Hilferty,
    The distribution of chi-square, 1931): mean exact to 0.2 %, never negative.

    Errors: CalcError naming the field on no stage, no foundation, lists of the wrong length, an impossible plan.
    Source: recursion of a flow line with unlimited room between stations, as in queueing texts; the choice of what
    is drawn is common practice, no source.

    >>> plan = (StagePlan("drill", 1.0), StagePlan("pour", 2.0, lag_days=7.0), StagePlan("base set", 0.5))
    >>> forecast(plan, 20, draws=10).p50
    48.5
    """
    counted("stages", stages, 1)
    calendar = calendar or WorkCalendar()
    queue = queue_of(foundations, len(stages), first_stage, ready_in)
    between("draws", draws, 1, MOST_DRAWS)
    not_negative("seed", seed)
    blocks = simulate(tuple(stages), queue, calendar, draws, seed)
    return _summary(tuple(stages), blocks, calendar, draws, seed)


def _summary(
    stages: tuple[StagePlan, ...], blocks: list[Block], calendar: WorkCalendar, draws: int, seed: int
) -> FlowForecast:
    import numpy as np

    finish = np.concatenate([block.finish for block in blocks])
    crews = np.array([each.crews for each in stages])[:, None]
    load = np.concatenate([block.work for block in blocks], axis=1) / crews
    span = np.concatenate([block.span for block in blocks])
    busy = (load / np.where(span > 0, span, 1.0)).mean(axis=1)
    governs = np.bincount(load.argmax(axis=0), minlength=len(stages)) / draws
    quantiles = tuple(float(each) for each in np.quantile(finish, np.linspace(0, 1, 101)))
    lines = sum((block.lines for block in blocks), np.zeros_like(blocks[0].lines)) / draws
    bottleneck = stages[int(governs.argmax())].name
    working = _steps(stages, load.mean(axis=1).tolist(), quantiles, calendar, draws)
    return FlowForecast(
        p10=quantiles[10],
        p50=quantiles[50],
        p80=quantiles[80],
        p90=quantiles[90],
        mean=float(finish.mean()),
        sd=float(finish.std()),
        quantiles=quantiles,
        bottleneck=bottleneck,
        governs=tuple(governs.tolist()),
        busy=tuple(busy.tolist()),
        lines=tuple(tuple(row) for row in lines.tolist()),
        stages=tuple(each.name for each in stages),
        start=calendar.start,
        draws=draws,
        seed=int(seed),
        assumptions=ASSUMPTIONS,
        sentence=_sentence(quantiles, bottleneck, float(governs.max()), calendar, len(stages)),
        working=working,
    )


def _sentence(quantiles: tuple[float, ...], bottleneck: str, share: float, calendar: WorkCalendar, stages: int) -> str:
    if quantiles[100] == 0:
        return "Nothing is left to build."
    even, sure = (_when(quantiles[each], calendar) for each in (50, 80))
    if quantiles[0] == quantiles[100]:
        said = f"Without variation the last foundation is released {even}."
    elif even == sure:
        said = f"The last foundation is released {even}, at an even chance and 80 % sure alike."
    else:
        said = f"Even chance that the last foundation is released {even}; 80 % sure {sure}."
    if stages == 1:
        return said
    return f"{said} {bottleneck[:1].upper()}{bottleneck[1:]} holds the flow up in {share_text(share)} of the draws."


def _when(time: float, calendar: WorkCalendar) -> str:
    day = calendar.date_of(time)
    return f"by {written(day)}" if day else f"within {days(time)}"


def _steps(
    stages: tuple[StagePlan, ...], load: list[float], quantiles: tuple[float, ...], calendar: WorkCalendar, draws: int
) -> tuple[Step, ...]:
    loads = [
        Step(
            f"W {each.name}",
            "work of the stage / crews, mean of the draws",
            f"{number_text(days * each.crews)} / {each.crews}",
            days,
            "workable days",
        )
        for each, days in zip(stages, load, strict=True)
    ]
    finishes = [
        Step(
            f"P{percent}", f"finish not later in {percent} % of the draws", f"{draws} draws", quantiles[percent], "days"
        )
        for percent in (10, 50, 80, 90)
    ]
    dates = [
        Step(f"date P{percent}", "day 0 + days", str(calendar.start), str(calendar.date_of(quantiles[percent])))
        for percent in (50, 80)
        if calendar.start
    ]
    return (*loads, *finishes, *dates)
