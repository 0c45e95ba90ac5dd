"""A chart on a Paper: axes with units, hairlines across only, limits in red with their value, labels instead of a legend."""

import math
from collections.abc import Sequence

from apps.calc.working import number_text
from apps.sheet.drawn.paper import DASHED, Paper, Point, View, nice_ticks, text_width

MARGINS = (52.0, 16.0, 20.0, 46.0)
"""Room left, top, right and bottom for figures and titles."""


def figure(value: float) -> str:
    """Write a value as an axis does: four figures, a minus sign."""
    return number_text(value, 4).replace("-", "\N{MINUS SIGN}")


class Chart:
    """Axes on a paper, and what is drawn between them in the units of the axes."""

    def __init__(
        self,
        paper: Paper,
        x: tuple[float, float],
        y: tuple[float, float],
        x_title: str,
        y_title: str,
        box: tuple[float, float, float, float] | None = None,
        x_words: dict[float, str] | None = None,
        y_words: dict[float, str] | None = None,
    ) -> None:
        """Draw axes over x and y: (low, high), or (high, low) for depths, which grow downward.

        box: left, top, width, height on the paper. x_words, y_words: names of places along x and y; {} for y: none.
        """
        left, top, right, bottom = MARGINS
        heights = {each: figure(each) for each in nice_ticks(min(y), max(y), 5)} if y_words is None else y_words
        left = max(left, 14 + max((text_width(words) for words in heights.values()), default=0))
        self.paper = paper
        self.left, self.top, self.width, self.height = box or (
            left,
            top + 14,
            paper.width - left - right,
            paper.height - top - bottom - 14,
        )
        self.x, self.y = x, y
        self.view = View(
            x[0], y[0], self.left, self.top + self.height, self.width / (x[1] - x[0]), self.height / (y[1] - y[0])
        )
        self._axes(x_title, y_title, x_words, heights)

    def _axes(self, x_title: str, y_title: str, x_words: dict[float, str] | None, heights: dict[float, str]) -> None:
        floor = self.top + self.height
        for each, words in heights.items():
            _, y = self.view(self.x[0], each)
            self.paper.line((self.left, y), (self.left + self.width, y), paint="s-rule", weight=0.8)
            self.paper.text((self.left - 7, y + 4), words, anchor="end", paint="f-ink-2")
        self.paper.line((self.left, floor), (self.left + self.width, floor), weight=1)
        for at, words in (x_words or self._along()).items():
            x, _ = self.view(at, self.y[0])
            self.paper.line((x, floor), (x, floor + 4), weight=1)
            self.paper.text((x, floor + 17), words, anchor="middle", paint="f-ink-2")
        self.paper.text((self.left + self.width, floor + 34), x_title, anchor="end", paint="f-ink-2")
        self.paper.text((self.left - 44, self.top - 9), y_title, paint="f-ink-2")

    def _along(self) -> dict[float, str]:
        """Round values along x with their words, as many as stand side by side."""
        words: dict[float, str] = {}
        for most in (7, 5, 4, 3, 2):
            words = {each: figure(each) for each in nice_ticks(*self.x, most)}
            if sum(text_width(each) + 8 for each in words.values()) <= self.width:
                break
        return words

    def at(self, x: float, y: float) -> Point:
        """Return where a value stands on the paper."""
        return self.view(x, y)

    def curve(self, points: Sequence[Point], paint: str = "s-ink", weight: float = 1.7, dash: str = "") -> None:
        """Draw a line through values."""
        self.paper.line(*(self.view(*each) for each in points), paint=paint, weight=weight, dash=dash)

    def under(
        self, points: Sequence[Point], paint: str = "f-line-3", fill: str = "", floor: float | None = None
    ) -> None:
        """Fill what lies between values and the axis, or the height `floor`."""
        low = self.y[0] if floor is None else floor
        edge = [self.view(*each) for each in points]
        self.paper.area(self.view(points[0][0], low), *edge, self.view(points[-1][0], low), paint=paint, fill=fill)

    def band(self, low: float, high: float, paint: str = "f-line-3", fill: str = "", upright: bool = False) -> None:
        """Fill a band of heights, or of widths when `upright`: the allowed range, a forecast."""
        if upright:
            (x1, _), (x2, _) = self.view(max(low, self.x[0]), 0), self.view(min(high, self.x[1]), 0)
            self.paper.rect(x1, self.top, x2 - x1, self.height, paint, fill=fill)
        else:
            (_, y1), (_, y2) = self.view(0, min(high, self.y[1])), self.view(0, max(low, self.y[0]))
            self.paper.rect(self.left, y1, self.width, y2 - y1, paint, fill=fill)

    def limit(self, value: float, words: str, upright: bool = False, paint: str = "red", first: bool = False) -> None:
        """Draw a limit across, or upright, with its words at its end (at its beginning when `first`)."""
        if upright:
            x, _ = self.view(value, 0)
            self.paper.line((x, self.top), (x, self.top + self.height), paint=f"s-{paint}", weight=1.2, dash=DASHED)
            anchor, x = ("end", x - 5) if first else ("start", x + 5)
            self.paper.text((x, self.top + 11), words, bold=True, paint=f"f-{paint}", anchor=anchor, patch=True)
            return
        _, y = self.view(0, value)
        self.paper.line((self.left, y), (self.left + self.width, y), paint=f"s-{paint}", weight=1.2, dash=DASHED)
        anchor, x = ("start", self.left + 4) if first else ("end", self.left + self.width)
        self.paper.text((x, y - 5), words, anchor=anchor, bold=True, paint=f"f-{paint}", patch=True)

    def marks(self, marks: Sequence[tuple[float, str, str]], dash: str = DASHED) -> None:
        """Draw upright lines (x, words, paint), such as limits and percentiles; words that would meet stand lower."""
        taken: list[tuple[float, float, int]] = []
        for at, _, paint in marks:
            x, _ = self.view(at, 0)
            self.paper.line((x, self.top), (x, self.top + self.height), paint=f"s-{paint}", weight=1.2, dash=dash)
        for at, words, paint in sorted(marks):
            x, _ = self.view(at, 0)
            wide = text_width(words, bold=True) + 12
            start = x if x + wide <= self.left + self.width + 10 else x - wide
            met = {row for low, high, row in taken if low < start + wide and start < high}
            row = next(row for row in range(len(marks)) if row not in met)
            taken.append((start, start + wide, row))
            self.paper.text((start + 6, self.top + 11 + 17 * row), words, bold=True, paint=f"f-{paint}", patch=True)

    def points(self, values: Sequence[Point], paint: str = "f-ink", radius: float = 3.4) -> None:
        """Draw values as dots."""
        for each in values:
            self.paper.dot(self.view(*each), radius, paint)

    def label(
        self,
        x: float,
        y: float,
        words: str,
        *,
        anchor: str = "start",
        bold: bool = True,
        paint: str = "f-ink",
        dx: float = 8,
        dy: float = -6,
    ) -> None:
        """Write a value beside its mark."""
        at = self.view(x, y)
        self.paper.text((at[0] + dx, at[1] + dy), words, anchor=anchor, bold=bold, paint=paint, patch=True)

    def bar(
        self, x: float, value: float, wide: float, paint: str = "f-conc", fill: str = "", floor: float = 0.0
    ) -> None:
        """Draw an upright bar of a width in units of x, from `floor` to a value."""
        (x1, y1), (x2, y2) = self.view(x - wide / 2, value), self.view(x + wide / 2, floor)
        self.paper.rect(x1, min(y1, y2), x2 - x1, abs(y2 - y1), paint, fill=fill)


def whole_ticks(low: int, high: int, most: int = 8, room: float = 340) -> dict[float, str]:
    """Return whole numbers along an axis with their words, from `low`, at most so many and as many as have room."""
    most = min(most, int(room / (text_width(f"{high:,}") + 12)))
    step = max(1, math.ceil((high - low) / max(most - 1, 1)))
    return {float(each): f"{each:,}" for each in range(low, high + 1, step)}


def bell(mean: float, sd: float, low: float, high: float, points: int = 141) -> list[Point]:
    """Return the normal curve between two ends, 1 at its mean; without spread only what stands at the mean."""
    xs = [low + (high - low) * at / (points - 1) for at in range(points)]
    if sd <= 0:
        return [(mean, 0.0), (mean, 1.0), (mean, 0.0)]
    return [(x, math.exp(-(((x - mean) / sd) ** 2) / 2)) for x in sorted({*xs, mean, low, high})]
