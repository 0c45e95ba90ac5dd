"""Where words of a drawing go so that they do not touch."""

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

from apps.sheet.drawn.paper import SIZE, Paper, Point, text_width


class Words:
    """Words on a drawing that keep clear of each other: each goes to the first of its places that is free."""

    def __init__(self, paper: Paper) -> None:
        self.paper = paper
        self.taken: list[tuple[float, float, float, float]] = []

    def off(self, at: Point, reach: float) -> None:
        """Keep words off a mark."""
        self.taken.append((at[0] - reach, at[1] - reach, at[0] + reach, at[1] + reach))

    def keep(self, points: Iterable[Point]) -> None:
        """Keep words off the way between points."""
        for start, end in pairwise(points):
            parts = max(1, int(math.dist(start, end) / 8))
            for each in range(parts + 1):
                x, y = (a + (b - a) * each / parts for a, b in zip(start, end, strict=True))
                self.taken.append((x - 1, y - 1, x + 1, y + 1))

    def write(
        self,
        at: Point,
        words: str,
        ways: Sequence[Point],
        *,
        bold: bool = False,
        paint: str = "f-ink-2",
        must: bool = False,
    ) -> bool:
        """Write words beside a point, along the first way that is free; the last one if they must stand."""
        wide = text_width(words, bold=bold)
        for index, (dx, dy) in enumerate(ways):
            anchor = "middle" if abs(dx) < abs(dy) * 0.5 else "start" if dx > 0 else "end"
            x, y = at[0] + dx, at[1] + dy + SIZE * 0.34
            left = x - {"start": 0, "middle": wide / 2, "end": wide}[anchor]
            box = (left - 2, y - SIZE * 0.8, left + wide + 2, y + 3)
            if must and index == len(ways) - 1:
                shift = max(0.0, 2 - box[0]) - max(0.0, box[2] - self.paper.width + 2)
                x, box = x + shift, (box[0] + shift, box[1], box[2] + shift, box[3])
            inside = box[0] >= 2 and box[2] <= self.paper.width - 2 and box[1] >= 2
            if (inside and not any(_meet(box, each) for each in self.taken)) or (must and index == len(ways) - 1):
                self.taken.append(box)
                self.paper.text((x, y), words, anchor=anchor, bold=bold, paint=paint)
                return True
        return False


def _meet(one: tuple[float, float, float, float], other: tuple[float, float, float, float]) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]
