"""The drawing board: lines, areas, words, dimensions, hatching and a scale bar, as SVG in paint classes.

A Paper counts in its own units, x to the right and y down, one unit about a pixel. A View maps what is drawn, in inches
or feet with y up, onto a part of it. Weights: plan lines 0.7 in line, as built 1.6 to 1.8 in ink, base 2.2, axes 0.7 chain,
nothing under 0.5. Paint is a class ("s-ink", "f-conc-2"), never a colour, so night and print need no second drawing.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe

Point = tuple[float, float]

_KEY = "\0"
"""Stands in the parts of a drawing for the key that svg() gives it; no words can hold it."""
SIZE = 12.5
"""Height of a drawing's words."""
CHAIN, DASHED, DOTTED = "14 3 3 3", "5 3", "2 3"

_STIPPLE = (
    '<pattern id="\0-conc" width="30" height="30" patternUnits="userSpaceOnUse"><rect width="30" height="30" class="f-line-3"/>'
    '<g class="f-conc"><circle cx="4" cy="5" r=".7"/><circle cx="13" cy="3" r=".6"/><circle cx="23" cy="7" r=".8"/>'
    '<circle cx="8" cy="14" r=".6"/><circle cx="19" cy="16" r=".7"/><circle cx="27" cy="20" r=".6"/>'
    '<circle cx="5" cy="24" r=".8"/><circle cx="14" cy="27" r=".6"/></g>'
    '<path d="M15.5 8.5l2.6 3.6h-4zM7 18l3.4 1-2.2 2.6zM23.5 13.2l2.4 2.6-3 .6z" class="f-none s-conc" stroke-width=".7"/></pattern>'
)
_HATCH = (
    '<pattern id="\0-{name}" width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    '<path d="M0 0V5" class="s-{paint}" stroke-width="{weight}"/></pattern>'
)
_FILLS = {
    "concrete": _STIPPLE,
    "over": _HATCH.replace("{name}", "over").replace("{paint}", "red").replace("{weight}", "2"),
    "within": _HATCH.replace("{name}", "within").replace("{paint}", "line").replace("{weight}", "1.4"),
    "maybe": _HATCH.replace("{name}", "maybe").replace("{paint}", "ochre").replace("{weight}", "1.4"),
}
_NAMES = {"concrete": "conc", "over": "over", "within": "within", "maybe": "maybe"}


def number(value: float) -> str:
    """Write a coordinate with a tenth of a unit at most."""
    text = f"{value:.1f}"
    return text.removesuffix(".0") if text != "-0.0" else "0"


@dataclass(frozen=True, slots=True)
class View:
    """What is drawn, x from `left` and y from `bottom` up, mapped onto a Paper at (x, y) with one scale or two."""

    left: float
    bottom: float
    x: float
    """Where `left` stands on the paper."""
    y: float
    """Where `bottom` stands on the paper: the lower edge."""
    across: float
    """Paper units for one unit drawn, along x."""
    up: float
    """The same along y."""

    @classmethod
    def fit(cls, xs: Iterable[float], ys: Iterable[float], box: tuple[float, float, float, float]) -> "View":
        """Fit points into box (left, top, width, height) of the paper at one scale, centred. A zero extent is given room."""
        x_list, y_list = list(xs), list(ys)
        wide, high = max(x_list) - min(x_list), max(y_list) - min(y_list)
        left, top, width, height = box
        scale = min(width / wide if wide else math.inf, height / high if high else math.inf)
        scale = scale if math.isfinite(scale) else 1.0
        return cls(
            min(x_list), min(y_list), left + (width - wide * scale) / 2, top + (height + high * scale) / 2, scale, scale
        )

    def __call__(self, x: float, y: float) -> Point:
        """Return where a point drawn stands on the paper."""
        return self.x + (float(x) - self.left) * self.across, self.y - (float(y) - self.bottom) * self.up

    @property
    def times(self) -> float:
        """How many times heights are enlarged against lengths."""
        return self.up / self.across


class Paper:
    """A drawing under way. Every method draws on top of what stands; svg() writes it out."""

    def __init__(self, width: float, height: float, name: str) -> None:
        """Begin a drawing; `name` says for those who do not see it what it shows, with its main numbers."""
        self.width, self.height, self.name = width, height, name
        self._parts: list[str] = []
        self._fills: set[str] = set()

    def line(self, *points: Point, paint: str = "s-ink", weight: float = 1.2, dash: str = "", end: str = "") -> None:
        """Draw a line through points; end="arrow" puts a head on its end."""
        if len(points) < 2:
            raise ValueError("a line needs two points")
        path = "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points)
        self.path(path, f"f-none {paint}", weight, dash)
        if end == "arrow":
            self._head(points[-2], points[-1], paint)

    def _head(self, start: Point, tip: Point, paint: str) -> None:
        angle = math.atan2(tip[1] - start[1], tip[0] - start[0])
        wings = [(tip[0] - 7 * math.cos(angle + turn), tip[1] - 7 * math.sin(angle + turn)) for turn in (-0.4, 0.4)]
        self.area(wings[0], tip, wings[1], paint=paint.replace("s-", "f-", 1))

    def area(self, *points: Point, paint: str = "f-conc-2", weight: float = 0, fill: str = "") -> None:
        """Draw a closed area. fill: "concrete", "over" (red hatching), "within" (line hatching), "maybe" (ochre hatching)."""
        path = "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points) + "Z"
        self.path(path, paint, weight, fill=fill)

    def rect(
        self,
        x: float,
        y: float,
        width: float,
        height: float,
        paint: str = "f-conc-2",
        weight: float = 0,
        fill: str = "",
    ) -> None:
        """Draw an upright rectangle from its upper left corner."""
        self.area(
            (x, y), (x + width, y), (x + width, y + height), (x, y + height), paint=paint, weight=weight, fill=fill
        )

    def circle(
        self,
        centre: Point,
        radius: float,
        paint: str = "f-none s-ink",
        weight: float = 1.2,
        dash: str = "",
        fill: str = "",
    ) -> None:
        """Draw a circle."""
        self._parts.append(
            f'<circle cx="{number(centre[0])}" cy="{number(centre[1])}" r="{number(radius)}"{self._paint(paint, weight, dash, fill)}/>'
        )

    def ellipse(
        self,
        centre: Point,
        across: float,
        up: float,
        paint: str = "f-none s-ink",
        weight: float = 1.2,
        dash: str = "",
        fill: str = "",
    ) -> None:
        """Draw an upright ellipse by its half widths."""
        x, y = centre
        half = f"A{number(across)} {number(up)} 0 0 1"
        left, right = f"{number(x - across)} {number(y)}", f"{number(x + across)} {number(y)}"
        self.path(f"M{left}{half} {right}{half} {left}Z", paint, weight, dash, fill)

    def path(self, d: str, paint: str, weight: float = 1.2, dash: str = "", fill: str = "") -> None:
        """Draw an SVG path."""
        self._parts.append(f'<path d="{d}"{self._paint(paint, weight, dash, fill)}/>')

    def _paint(self, paint: str, weight: float, dash: str, fill: str) -> str:
        if fill:
            self._fills.add(fill)
            paint = " ".join(each for each in paint.split() if not each.startswith("f-"))
        said = f' class="{paint}"' if paint else ""
        said += f' fill="url(#\0-{_NAMES[fill]})"' if fill else ""
        said += f' stroke-width="{number(weight) if weight >= 1 else f"{weight:.2g}"}"' if weight else ""
        return said + (f' stroke-dasharray="{dash}"' if dash else "")

    def text(
        self,
        at: Point,
        words: str,
        *,
        anchor: str = "start",
        bold: bool = False,
        paint: str = "f-ink",
        size: float = SIZE,
        patch: bool = False,
        turn: float = 0,
    ) -> None:
        """Write words with their base line at a point; `patch` lays sheet under them; `turn` in degrees, clockwise."""
        x, y = at
        if patch:
            width = text_width(words, size, bold) + 6
            left = x - {"start": 3, "middle": width / 2, "end": width - 3}[anchor]
            self.rect(left, y - size * 0.86, width, size * 1.14, "f-sheet")
        turned = f' transform="rotate({number(turn)} {number(x)} {number(y)})"' if turn else ""
        weight = ' font-weight="600"' if bold else ""
        self._parts.append(
            f'<text x="{number(x)}" y="{number(y)}" text-anchor="{anchor}" font-size="{number(size)}"{weight} class="{paint}"{turned}>'
            f"{escape(words.replace(_KEY, ''))}</text>"
        )

    def dot(self, at: Point, radius: float = 3.6, paint: str = "f-ink") -> None:
        """Draw a point that was measured or fixed."""
        self.circle(at, radius, paint, 0)

    def square(self, at: Point, side: float = 8.4, paint: str = "f-ink") -> None:
        """Draw a filled square: a corner that bears, a support."""
        self.rect(at[0] - side / 2, at[1] - side / 2, side, side, paint)

    def diamond(self, at: Point, radius: float = 5.5, paint: str = "f-ink") -> None:
        """Draw a reading: filled conforms; "f-sheet s-ink" refers; "f-red" is over."""
        x, y = at
        self.area((x, y - radius), (x + radius, y), (x, y + radius), (x - radius, y), paint=paint, weight=1.4)

    def leader(self, start: Point, end: Point) -> None:
        """Draw a thin line from words to what they are about."""
        self.line(start, end, paint="s-ink-2", weight=0.7)

    def axis(self, start: Point, end: Point) -> None:
        """Draw a centre line."""
        self.line(start, end, paint="s-line", weight=0.7, dash=CHAIN)

    def ground(self, start: float, end: float, y: float) -> None:
        """Draw level ground from x to x: a line with ticks into the soil below it."""
        for step in range(int((end - start) // 14)):
            x = start + 14 * (step + 1)
            self.line((x, y), (x - 6, y + 6), paint="s-rule-2", weight=0.7)
        self.line((start, y), (end, y), weight=1.4)

    def dimension(self, start: Point, end: Point, words: str, *, kind: str = "built", shift: float = 0) -> None:
        """Draw a dimension line with oblique ticks and its words on a patch in the middle.

        kind: "built" (bold, ink), "plan" (regular, line), "over" (bold, red). `shift` moves the words along the line, in
        parts of its length.
        """
        paint = {"built": "ink", "plan": "line", "over": "red"}[kind]
        self.line(start, end, paint=f"s-{paint}", weight=0.9)
        for x, y in (start, end):
            self.line((x - 4, y + 4), (x + 4, y - 4), paint=f"s-{paint}", weight=1.2)
        middle = (
            (start[0] + end[0]) / 2 + shift * (end[0] - start[0]),
            (start[1] + end[1]) / 2 + shift * (end[1] - start[1]),
        )
        self.text(
            (middle[0], middle[1] + SIZE * 0.34),
            words,
            anchor="middle",
            bold=kind != "plan",
            paint=f"f-{paint}",
            patch=True,
        )

    def scale_bar(self, at: Point, long: float, words: str) -> None:
        """Draw a scale bar `long` paper units from a point, its first half filled, its words after it."""
        x, y = at
        self.line((x, y), (x + long, y), weight=1)
        self.line((x, y), (x + long / 2, y), weight=3)
        for end in (x, x + long):
            self.line((end, y - 4), (end, y + 4), weight=1)
        self.text((x + long + 7, y + 4), words, paint="f-ink-2")

    def height_bar(self, at: Point, high: float, words: str) -> None:
        """Draw the second bar, upright, where heights are enlarged; its words after it."""
        x, y = at
        self.line((x, y), (x, y - high), weight=1)
        for end in (y, y - high):
            self.line((x - 4, end), (x + 4, end), weight=1)
        self.text((x + 8, y - high / 2 + 4), words, paint="f-ink-2")

    def key_mark(self, at: Point, words: str, paint: str = "f-conc-2", weight: float = 0.9, fill: str = "") -> None:
        """Draw a small filled box with its words: a key where a label would not fit."""
        self.rect(at[0], at[1] - 9, 14, 10, paint, weight, fill)
        self.text((at[0] + 20, at[1]), words, paint="f-ink-2")

    def svg(self, key: str) -> SafeString:
        """Write the drawing out; `key` keeps the patterns of several drawings on one page apart."""
        defs = "".join(_FILLS[each].replace(_KEY, key) for each in sorted(self._fills))
        body = "".join(self._parts).replace(_KEY, key)
        return mark_safe(
            f'<svg class="drawing drawn" viewBox="0 0 {number(self.width)} {number(self.height)}" width="{number(self.width)}" '
            f'height="{number(self.height)}" role="img" aria-label="{escape(self.name)}">'
            f"{f'<defs>{defs}</defs>' if defs else ''}{body}</svg>"
        )


def text_width(words: str, size: float = SIZE, bold: bool = False) -> float:
    """Return about how wide words are, in paper units: mean advance of the face's Latin letters and figures."""
    return len(words) * size * (0.49 if bold else 0.47)


def nice_step(span: float, most: int = 6) -> float:
    """Return a step of 1, 2 or 5 times a power of ten that parts a span into at most `most` parts."""
    if span <= 0:
        return 1.0
    raw = span / most
    power = 10.0 ** math.floor(math.log10(raw))
    return next(power * each for each in (1, 2, 5, 10) if power * each >= raw * (1 - 1e-9))


def nice_ticks(low: float, high: float, most: int = 6) -> list[float]:
    """Return the round values from low to high at most `most` apart."""
    step = nice_step(high - low, most)
    first = math.ceil(low / step - 1e-9)
    return [
        round((first + each) * step, 12)
        for each in range(int((high - low) / step + 1e-6) + 2)
        if (first + each) * step <= high + step * 1e-6
    ]


def spread(values: Sequence[float], part: float = 0.08) -> tuple[float, float]:
    """Return a range that holds values with some room at both ends."""
    low, high = min(values), max(values)
    room = (high - low) * part or abs(high) * part or 1.0
    return low - room, high + room
