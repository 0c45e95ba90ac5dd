"""Bars that lie: one row a name, its length to one scale, its value written at its end."""

from collections.abc import Sequence
from typing import NamedTuple

from apps.sheet.drawn.paper import SIZE, Paper, text_width

ROW = 27.0
"""From one bar to the next."""
MOST_ROWS = 14
LONGEST_NAME = 24


class Bar(NamedTuple):
    """One row: its name, its length in any unit, what is written at its end, and how it is painted."""

    name: str
    value: float
    words: str
    paint: str = "f-conc"
    fill: str = ""
    bold: bool = False
    rule: bool = False
    """Draw a rule under it."""
    last: str = ""
    """What stands at the right edge of the row."""


def lying(paper: Paper, bars: Sequence[Bar], top: float = 10, most: float | None = None) -> None:
    """Draw bars from `top` down, the longest (or `most`) as long as the words leave room for."""
    names = [cut(each.name) for each in bars]
    left = 12 + max(text_width(name, bold=each.bold) for name, each in zip(names, bars, strict=True))
    edge = paper.width - 4 - max(text_width(each.last) + 14 * bool(each.last) for each in bars)
    room = edge - left - 12 - max(text_width(each.words, bold=True) for each in bars)
    longest = most if most is not None else max(each.value for each in bars)
    scale = room / longest if longest > 0 else 0.0
    for at, (name, each) in enumerate(zip(names, bars, strict=True)):
        y = top + ROW * at
        paper.text((left - 8, y + 14), name, anchor="end", bold=each.bold, paint="f-ink" if each.bold else "f-ink-2")
        long = max(each.value, 0.0) * scale
        if long:
            paper.rect(left, y + 3, long, ROW - 11, each.paint, 1.2 if each.fill else 0, each.fill)
        paper.text((left + long + 6, y + 14), each.words, bold=True)
        paper.text((paper.width - 4, y + 14), each.last, anchor="end", paint="f-ink-2") if each.last else None
        if each.rule:
            paper.line((0, y + ROW - 3), (paper.width, y + ROW - 3), paint="s-ink", weight=1)
    paper.line((left, top), (left, top + ROW * len(bars) - 4), weight=1)


def cut(name: str, longest: int = LONGEST_NAME) -> str:
    """Return a name no longer than a row holds."""
    return name if len(name) <= longest else f"{name[: longest - 1].rstrip()}\N{HORIZONTAL ELLIPSIS}"


def height_of(rows: int) -> float:
    """Return how high so many rows are."""
    return ROW * rows + SIZE
