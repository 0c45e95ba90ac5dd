"""The flow of foundations through the stages: crews, cure, weather, response times → finish, bottleneck, one more crew.

The model, in the trade's words. Foundations are taken in order. A crew of a stage takes the next foundation as soon as
it is released to that stage and the crew is free. Work advances only on workable days; cure and the wait for a release
run on every day. Durations and waits are drawn for each foundation, the weather for each day, all independent of each
other, and `mean_cv` says how well each stage's mean itself is known (one draw for the whole job).
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

from apps.calc.errors import CalcError, between, counted, not_negative
from apps.calc.registry import Input, Output, calculation
from apps.calc.schedule.workdays import WeatherClock, WorkCalendar, weather_clock
from apps.calc.working import Step, number_text

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[tuple[int, ...], np.dtype[np.float64]]

BLOCK = 2_000
"""Draws simulated together: arrays of this length stay in a processor's cache."""
MOST_DRAWS = 1_000_000
ASSUMPTIONS = (
    "Foundations are taken in order; durations, waits and weather are drawn independently of each other; "
    "a crew never moves to another stage. A forecast, not a promise."
)


@dataclass(frozen=True, slots=True)
class StagePlan:
    """How one stage works. Days of work are crew-days on one foundation; lag and response are calendar days."""

    name: str
    mean_days: float
    cv: float = 0.0
    """Coefficient of variation between foundations, 0 to 1."""
    crews: int = 1
    lag_days: float = 0.0
    """Fixed time after the work before the next stage may begin, such as cure."""
    response_days: float = 0.0
    """Mean time from the end of the work to its release."""
    response_cv: float = 1.0
    mean_cv: float = 0.0
    """How well the mean itself is known, as a coefficient of variation: cv / √n when it comes from n foundations."""

    def __post_init__(self) -> None:
        for name in ("mean_days", "lag_days", "response_days"):
            not_negative(name, getattr(self, name))
        for name in ("cv", "response_cv", "mean_cv"):
            between(name, getattr(self, name), 0, 1)
        if isinstance(self.crews, bool) or not isinstance(self.crews, int) or self.crews < 1:
            raise CalcError("crews", f"expected a whole number of crews, one at least, got {self.crews!r}")


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
    draws: int
    seed: int
    assumptions: str
    working: tuple[Step, ...]

    def chance_by(self, days: float) -> float:
        """Return the chance, 0 to 1, that all is released within `days` calendar days of day 0."""
        import numpy as np

        return float(np.interp(days, self.quantiles, np.linspace(0, 1, 101), left=0.0, right=1.0))


class _Queue(NamedTuple):
    """What is still to do: the first stage open at each foundation, and the days until that stage may begin."""

    first: tuple[int, ...]
    wait: tuple[float, ...]


class _Block(NamedTuple):
    """One block of draws: finish and work per stage by draw, span of work, summed releases by foundation and stage."""

    finish: "Array"
    work: "Array"
    span: "Array"
    lines: "Array"


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
    queue = _queue(foundations, len(stages), first_stage, ready_in)
    between("draws", draws, 1, MOST_DRAWS)
    not_negative("seed", seed)
    blocks = _simulate(tuple(stages), queue, calendar, draws, seed)
    return _summary(tuple(stages), blocks, calendar, draws, seed)


def _queue(
    foundations: int, stages: int, first_stage: Sequence[int] | None, ready_in: Sequence[float] | None
) -> _Queue:
    if isinstance(foundations, bool) or not isinstance(foundations, int) or foundations < 1:
        raise CalcError("foundations", f"expected a whole number, one at least, got {foundations!r}")
    first = tuple(first_stage) if first_stage is not None else (0,) * foundations
    wait = tuple(ready_in) if ready_in is not None else (0.0,) * foundations
    counted("first_stage", first, foundations, foundations)
    counted("ready_in", wait, foundations, foundations)
    for position in first:
        if between("first_stage", position, 0, stages) != int(position):
            raise CalcError("first_stage", f"expected a whole number, got {position}")
    for days in wait:
        not_negative("ready_in", days)
    return _Queue(first, wait)


def _simulate(
    stages: tuple[StagePlan, ...], queue: _Queue, calendar: WorkCalendar, draws: int, seed: int
) -> list[_Block]:
    import numpy as np

    sizes = [min(BLOCK, draws - at) for at in range(0, draws, BLOCK)]
    seeds = np.random.SeedSequence(int(seed)).spawn(len(sizes))
    return [_block(stages, queue, calendar, size, each) for size, each in zip(sizes, seeds, strict=True)]


def _block(
    stages: tuple[StagePlan, ...], queue: _Queue, calendar: WorkCalendar, size: int, seed: "np.random.SeedSequence"
) -> _Block:
    """Simulate one block, over a longer stretch of weather if the first guess of it was too short."""
    import numpy as np

    work_seed, weather_seed = seed.spawn(2)
    horizon = _guess(stages, queue, calendar)
    while True:
        clock = weather_clock(calendar, size, horizon, np.random.default_rng(weather_seed))
        block = _run(stages, queue, clock, size, np.random.default_rng(work_seed))
        if clock is None or block.finish.max() < horizon:
            return block
        horizon *= 2


def _guess(stages: tuple[StagePlan, ...], queue: _Queue, calendar: WorkCalendar) -> int:
    """Return a number of calendar days that nearly always suffices."""
    year = calendar.chances(365)
    rate = sum(year) / len(year)
    counts = [sum(first <= at for first in queue.first) for at in range(len(stages))]
    work = max(each.mean_days * count / each.crews for each, count in zip(stages, counts, strict=True))
    once = sum(each.mean_days for each in stages) / rate + sum(each.lag_days + each.response_days for each in stages)
    return int(1.4 * work / rate + 3 * once + max(queue.wait)) + 30


def _run(
    stages: tuple[StagePlan, ...], queue: _Queue, clock: WeatherClock | None, size: int, rng: "np.random.Generator"
) -> _Block:
    """Pass the foundations through the stages, all draws of a block side by side."""
    import numpy as np

    draw = _sampler(stages, size, rng)
    free = [np.zeros((each.crews, size)) for each in stages]
    work, lines = (np.zeros((len(stages), size)), np.zeros((len(queue.first), len(stages))))
    finish, span = np.zeros(size), np.zeros(size)
    for number, (first, wait) in enumerate(zip(queue.first, queue.wait, strict=True)):
        durations, waits = draw()
        released = np.full(size, float(wait))
        for at in range(first, len(stages)):
            ready = clock.work(released) if clock else released
            ended = np.maximum(free[at][0], ready)
            ended += durations[at]
            _occupy(free[at], ended)
            work[at] += durations[at]
            released = (np.maximum(clock.calendar(ended), released) if clock else ended) + waits[at]
            lines[number, at] = released.sum()
            np.maximum(span, ended, out=span)
        if first < len(stages):
            np.maximum(finish, released, out=finish)
    return _Block(finish, work, span, lines)


def _occupy(free: "Array", ended: "Array") -> None:
    """The crew free first works until `ended`; keep the crews in order of when they are free."""
    import numpy as np

    last = len(free) - 1
    carried = ended
    for at in range(last):
        free[at] = np.minimum(carried, free[at + 1])
        carried = np.maximum(carried, free[at + 1])
    free[last] = carried


def _sampler(
    stages: tuple[StagePlan, ...], size: int, rng: "np.random.Generator"
) -> Callable[[], tuple["Array", "Array"]]:
    """Return a function that draws one foundation's durations and waits (stages × draws, days)."""
    import numpy as np

    def column(values: list[float]) -> "Array":
        return np.array(values, dtype=float)[:, None]

    means = column([each.mean_days for each in stages] + [each.response_days for each in stages])
    cvs = column([each.cv for each in stages] + [each.response_cv for each in stages])
    known, lags = column([each.mean_cv for each in stages]), column([each.lag_days for each in stages])
    scale = np.repeat(means, size, axis=1)
    scale[: len(stages)] *= _gamma_like(rng.standard_normal((len(stages), size)), known)
    varied = np.flatnonzero((means * cvs)[:, 0])
    drawn = np.repeat(means, size, axis=1)
    drawn[: len(stages)] = scale[: len(stages)]
    normal, spread, scales = np.empty((len(varied), size)), cvs[varied], scale[varied]

    def draw() -> tuple["Array", "Array"]:
        rng.standard_normal(out=normal)
        drawn[varied] = _gamma_like(normal, spread) * scales
        return drawn[: len(stages)], drawn[len(stages) :] + lags

    return draw


def _gamma_like(normal: "Array", cv: "Array") -> "Array":
    """Turn standard normals into values of mean 1 and the given coefficient of variation, never negative."""
    import numpy as np

    third = cv / 3
    root = normal * third
    root += 1 - third**2
    np.maximum(root, 0.0, out=root)
    return root * root * root


def _summary(
    stages: tuple[StagePlan, ...], blocks: list[_Block], calendar: WorkCalendar, draws: int, seed: int
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
        draws=draws,
        seed=int(seed),
        assumptions=ASSUMPTIONS,
        working=working,
    )


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


@calculation(
    "schedule.flow",
    "When the foundations will be finished",
    "Flow line simulated draw by draw; what is drawn is common practice, no source",
    inputs=(
        Input("foundations", "count", "", "foundations to be built", low=1, high=100_000),
        Input("days", "time", "d", "mean work on one foundation, each stage in order", many=True, low=0),
        Input("crews", "count", "", "crews at each stage", many=True, low=1),
        Input(
            "cv", "ratio", "1", "variation of the work, coefficient of variation, each stage", many=True, low=0, high=1
        ),
        Input("lags", "time", "d", "fixed days after each stage, such as cure", many=True, low=0),
        Input("responses", "time", "d", "mean days from the end of each stage to its release", many=True, low=0),
        Input("workable", "ratio", "1", "chance that a day is workable", default=1.0, low=0.01, high=1),
        Input("draws", "count", "", "draws", default=1_000, low=1, high=MOST_DRAWS),
        Input("seed", "count", "", "seed: the same seed repeats the forecast", default=1, low=0),
    ),
    outputs=(
        Output("p10", "time", "d", "finish, 10 % sure"),
        Output("p50", "time", "d", "finish, 50 % sure"),
        Output("p80", "time", "d", "finish, 80 % sure"),
        Output("p90", "time", "d", "finish, 90 % sure"),
    ),
)
def flow(
    *,
    foundations: float,
    days: Sequence[float],
    crews: Sequence[float],
    cv: Sequence[float],
    lags: Sequence[float],
    responses: Sequence[float],
    workable: float = 1.0,
    draws: float = 1_000,
    seed: float = 1,
) -> FlowForecast:
    """Return `forecast` for stages given as plain lists, one value for each stage (1, 2 … in the working).

    Units: days of work for one crew on one foundation; calendar days for lags and responses; 0 to 1 for `cv` and
    `workable`. Errors and source: as `forecast`; CalcError also when the lists differ in length.

    >>> flow(foundations=20, days=[1, 2], crews=[1, 1], cv=[0, 0], lags=[0, 0], responses=[0, 0]).p80
    41.0
    """
    for name, values in (("crews", crews), ("cv", cv), ("lags", lags), ("responses", responses)):
        counted(name, values, len(days), len(days))
    plan = tuple(
        StagePlan(f"stage {at + 1}", days[at], cv[at], _whole("crews", crews[at]), lags[at], responses[at])
        for at in range(len(days))
    )
    return forecast(
        plan,
        _whole("foundations", foundations),
        calendar=WorkCalendar(workable=(workable,)),
        draws=_whole("draws", draws),
        seed=_whole("seed", seed),
    )


def _whole(field: str, value: float) -> int:
    if value != int(value):
        raise CalcError(field, f"expected a whole number, got {value}")
    return int(value)
