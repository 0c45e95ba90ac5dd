"""Timing work against a floor: alternately in one process, so that a busy machine slows both; ratios, never limits."""

import statistics
import time
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from typing import Any

Clock = Callable[[], float]


class Differs(ValueError):
    """Work and floor do not give the same answer: then their times say nothing."""


@dataclass(frozen=True, slots=True)
class Case:
    """One size of one comparison. `scale` turns the floor's time into that of the whole, where it does only a part."""

    name: str
    size: int
    work: Callable[[], Any]
    floor: Callable[[], Any]
    against: str
    scale: float = 1.0
    same: Callable[[Any, Any], bool] | None = None
    """Whether the two answers agree; None: they are no answers to the same question."""


@dataclass(frozen=True, slots=True)
class Line:
    """What was measured. Times in seconds; `low` and `high` hold the middle half of the repeats."""

    name: str
    size: int
    median: float
    low: float
    high: float
    floor: float
    against: str
    ratio: float
    growth: float = 1.0
    """The ratio over that of the smallest size of the same name."""

    def as_dict(self) -> dict[str, Any]:
        """Return it as JSON takes it."""
        return asdict(self)


def measure(case: Case, repeat: int, clock: Clock = time.perf_counter) -> Line:
    """Run work and floor in turn, once unmeasured and then `repeat` times. Differs when their answers do not agree."""
    if repeat < 1:
        raise ValueError("repeat must be at least 1")
    done, bare = case.work(), case.floor()
    if case.same is not None and not case.same(done, bare):
        raise Differs(f"{case.name} {case.size}: the work and {case.against} give different answers")
    pairs = [(_timed(case.work, clock), _timed(case.floor, clock) * case.scale) for _ in range(repeat)]
    times = sorted(work for work, _ in pairs)
    low, high = (times[0], times[-1]) if repeat < 4 else statistics.quantiles(times, n=4)[::2]
    return Line(
        case.name,
        case.size,
        statistics.median(times),
        low,
        high,
        statistics.median(floor for _, floor in pairs),
        case.against,
        statistics.median(work / floor if floor else float("inf") for work, floor in pairs),
    )


def _timed(call: Callable[[], Any], clock: Clock) -> float:
    begun = clock()
    call()
    return clock() - begun


def with_growth(lines: Sequence[Line]) -> list[Line]:
    """Return the lines with each ratio set against that of the smallest size of its name."""
    first: dict[str, Line] = {}
    for line in sorted(lines, key=lambda line: line.size):
        first.setdefault(line.name, line)
    return [Line(**{**line.as_dict(), "growth": line.ratio / first[line.name].ratio}) for line in lines]


def grown(lines: Sequence[Line], kept: Sequence[dict[str, Any]], most: float = 1.5) -> list[str]:
    """Return a sentence for every line whose ratio grew beyond `most` times the kept one."""
    before = {(str(each["name"]), int(each["size"])): float(each["ratio"]) for each in kept}
    return [
        f"{line.name} {line.size}: ratio {line.ratio:.3g}, kept {old:.3g}"
        for line in lines
        if (old := before.get((line.name, line.size))) and line.ratio > most * old
    ]


def table(lines: Sequence[Line]) -> str:
    """Write the lines for a terminal."""
    head = ("name", "size", "median", "spread", "floor", "ratio", "growth", "against")
    rows = [
        (
            line.name,
            f"{line.size:,}",
            _time(line.median),
            f"{_time(line.low)} to {_time(line.high)}",
            _time(line.floor),
            f"{line.ratio:.3g}",
            f"{line.growth:.2f}",
            line.against,
        )
        for line in lines
    ]
    widths = [max(len(row[column]) for row in (head, *rows)) for column in range(len(head))]
    return "\n".join(
        "  ".join(word.ljust(width) for word, width in zip(row, widths, strict=True)).rstrip() for row in (head, *rows)
    )


def _time(seconds: float) -> str:
    for unit, factor in (("s", 1), ("ms", 1e3), ("µs", 1e6)):
        if seconds * factor >= 1:
            return f"{seconds * factor:.3g} {unit}"
    return f"{seconds * 1e9:.0f} ns"
