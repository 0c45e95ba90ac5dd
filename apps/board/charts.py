"""The bars of a count per week, laid out for the template that draws them."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import NamedTuple
from urllib.parse import urlencode

WIDTH, HEIGHT = 352.0, 150.0
_LEFT, _RIGHT, _TOP, _GROUND = 4.0, 320.0, 18.0, 128.0
_STEPS = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000)


class Bar(NamedTuple):
    """One week, placed on the drawing."""

    monday: date
    number: int
    running: bool
    """The week is not over."""
    x: float
    y: float
    width: float
    height: float
    named: bool
    """Whether its figure is written: the most, the last whole week and the running one."""

    @property
    def query(self) -> str:
        """The week as the filter of what was done has it."""
        return urlencode({"first": self.monday.isoformat(), "last": (self.monday + timedelta(days=6)).isoformat()})

    @property
    def middle(self) -> float:
        """Where its figure stands."""
        return round(self.x + self.width / 2, 1)

    @property
    def above(self) -> float:
        """How high its figure stands."""
        return round(self.y - 4, 1)


class Bars(NamedTuple):
    """The whole chart: bars, and lines across with their figures."""

    bars: list[Bar]
    lines: list[tuple[float, float, int]]
    """(height of the line, height of its figure, figure)."""
    total: int

    @property
    def running(self) -> Bar:
        """The week that is not over."""
        return self.bars[-1]

    @property
    def last_whole(self) -> Bar:
        """The week before it."""
        return self.bars[-2]

    @property
    def label(self) -> str:
        """Say the chart in words."""
        running, whole = self.running, self.last_whole
        return (
            f"Hold points released per week since {self.bars[0].monday:%-d %b}: "
            f"{whole.number} in the last whole week, {running.number} so far in the running one"
        )


def bars(weeks: Sequence[tuple[date, int]]) -> Bars:
    """Lay out a count per week, the last of them running."""
    counts = [count for _, count in weeks]
    most = max([*counts, 1])
    step = next((step for step in _STEPS if most / step <= 3), _STEPS[-1])
    scale, pitch = (_GROUND - _TOP) / most, (_RIGHT - _LEFT) / len(weeks)
    named = {counts.index(max(counts)), len(counts) - 2, len(counts) - 1}
    drawn = [
        Bar(
            monday,
            count,
            place == len(weeks) - 1,
            round(_LEFT + place * pitch + 2, 1),
            round(_GROUND - count * scale, 1),
            round(pitch - 4, 1),
            round(count * scale, 1),
            place in named,
        )
        for place, (monday, count) in enumerate(weeks)
    ]
    figures = range(step, most + 1, step)
    return Bars(
        drawn, [(round(_GROUND - n * scale, 1), round(_GROUND - n * scale + 4, 1), n) for n in figures], sum(counts)
    )
