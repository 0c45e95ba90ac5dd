"""How numbers and names are written on the as-built drawings, and where a column of labels stands."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from apps.calc.shown import show
from apps.sheet.drawn.paper import Paper, Point, text_width

WORDS = 12.0
"""Height of the words."""
LINE = 14.2
"""From one line of a label to the next."""
BETWEEN = 8.0
"""Between two labels."""


def inches(value: Fraction) -> str:
    """Write inches: 30 3/8 in."""
    return show(value, "in")


def feet_inches(value: Fraction) -> str:
    """Write a dimension as drawings do, feet and inches with primes: 6′-6 11/16″, 9 1/2″."""
    feet, rest = divmod(value, 12)
    written = show(rest, "in").removesuffix(" in")
    if not feet:
        return f"{written}\N{DOUBLE PRIME}"
    return f"{feet}\N{PRIME}-{'0 ' if 0 < rest < 1 else ''}{written}\N{DOUBLE PRIME}"


def clipped(words: str, room: float, bold: bool = False) -> str:
    """Return words that fit a width, cut off with an ellipsis where they do not: a word of the plans may be long."""
    if text_width(words, WORDS, bold) <= room:
        return words
    return words[: int(room / text_width("n", WORDS, bold)) - 1].rstrip() + "\N{HORIZONTAL ELLIPSIS}"


def span(values: Iterable[Fraction], unit: str = "in", notation: str = "") -> str:
    """Write what lies between the least and the greatest: 190 to 205 ft-lb, or one value where they are the same."""
    known = sorted(values)
    last = show(known[-1], unit, notation)
    if known[0] == known[-1]:
        return last
    first = show(known[0], unit, notation)
    shared = f" {last.rpartition(' ')[2]}"
    return f"{first.removesuffix(shared)} to {last}"


@dataclass(frozen=True, slots=True)
class Label:
    """Words of one to three lines about a place on the drawing; the first line in ink, the others quieter."""

    target: Point
    lines: Sequence[str]
    bold: bool = False
    red: bool = False


@dataclass(slots=True)
class Column:
    """Labels under each other beside a drawing, each as near to its own height as the others leave room."""

    x: float
    width: float
    right: bool
    """Whether it stands right of what it names: its leaders then begin before the words."""
    labels: list[Label] = field(default_factory=list)

    def add(self, target: Point, *lines: str, bold: bool = False, red: bool = False) -> None:
        """Add a label; empty lines are left out, and a label without any line too."""
        if kept := [clipped(each, self.width, bold) for each in lines if each]:
            self.labels.append(Label(target, kept, bold, red))

    def draw(self, paper: Paper, top: float, bottom: float) -> None:
        """Draw every label with its leader, between two heights of the paper."""
        ordered = sorted(self.labels, key=lambda each: each.target[1])
        for label, y in zip(ordered, self._heights(ordered, top, bottom), strict=True):
            self._one(paper, label, y)

    def _heights(self, ordered: Sequence[Label], top: float, bottom: float) -> list[float]:
        """Return the base line of each first line: pushed down by the one above, then up by the one below."""
        found: list[float] = []
        for each in ordered:
            found.append(max(each.target[1] + 4, top))
            top = found[-1] + len(each.lines) * LINE + BETWEEN
        for index in range(len(found) - 1, -1, -1):
            room = bottom - (len(ordered[index].lines) - 1) * LINE
            found[index] = min(found[index], room)
            bottom = found[index] - LINE - BETWEEN
        return found

    def _one(self, paper: Paper, label: Label, y: float) -> None:
        first = text_width(label.lines[0], WORDS, label.bold)
        start = self.x - 4 if self.right else self.x + first + 8
        paper.leader((start, y - 4), label.target)
        paper.dot(label.target, 1.7, "f-ink-2")
        for number, words in enumerate(label.lines):
            paint = "f-red" if label.red and not number else "f-ink-2" if number else "f-ink"
            paper.text(
                (self.x, y + number * LINE),
                words,
                size=WORDS,
                bold=label.bold and not number,
                paint=paint,
                patch=self.right,
            )
