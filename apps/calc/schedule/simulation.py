"""The flow drawn many times: foundations passed through the stages, all draws of a block side by side."""

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, NamedTuple

from apps.calc.schedule.plan import Queue, StagePlan
from apps.calc.schedule.workdays import WeatherClock, WorkCalendar, weather_clock

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[tuple[int, ...], np.dtype[np.float64]]

BLOCK = 2_000
"""Draws simulated together: arrays of this length stay in a processor's cache."""


class Block(NamedTuple):
    """One block of draws: finish and work per stage by draw, span of work, summed releases by foundation and stage."""

    finish: "Array"
    work: "Array"
    span: "Array"
    lines: "Array"


def simulate(stages: tuple[StagePlan, ...], queue: Queue, calendar: WorkCalendar, draws: int, seed: int) -> list[Block]:
    """Return the draws in blocks. The same seed gives the same draws, whatever the numbers of crews."""
    import numpy as np

    sizes = [min(BLOCK, draws - at) for at in range(0, draws, BLOCK)]
    seeds = np.random.SeedSequence(int(seed)).spawn(len(sizes))
    return [_block(stages, queue, calendar, size, each) for size, each in zip(sizes, seeds, strict=True)]


def _block(
    stages: tuple[StagePlan, ...], queue: Queue, calendar: WorkCalendar, size: int, seed: "np.random.SeedSequence"
) -> Block:
    """Simulate one block, over a longer stretch of weather if the first guess of it was too short."""
    import numpy as np

    work_seed, weather_seed = seed.spawn(2)
    horizon = horizon_of(stages, queue, calendar)
    while True:
        clock = weather_clock(calendar, size, horizon, np.random.default_rng(weather_seed))
        block = _run(stages, queue, clock, size, np.random.default_rng(work_seed))
        if clock is None or block.finish.max() < horizon:
            return block
        horizon *= 2


def horizon_of(stages: Sequence[StagePlan], queue: Queue, calendar: WorkCalendar) -> int:
    """Return a number of calendar days that nearly always suffices."""
    year = calendar.chances(365)
    rate = max(sum(year), 1) / len(year)
    counts = [sum(first <= at for first in queue.first) for at in range(len(stages))]
    work = max(each.mean_days * count / each.crews for each, count in zip(stages, counts, strict=True))
    once = sum(each.mean_days for each in stages) / rate + sum(each.lag_days + each.response_days for each in stages)
    return int(1.4 * work / rate + 3 * once + max(queue.wait)) + 30


def _run(
    stages: tuple[StagePlan, ...], queue: Queue, clock: WeatherClock | None, size: int, rng: "np.random.Generator"
) -> Block:
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
    return Block(finish, work, span, lines)


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
