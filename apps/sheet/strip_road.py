"""The road of the corridor strip: what a strip is made from, where a station falls in a row, and the road drawn there.

Lengths of the corridor are feet of true distance along the alignment; lengths of the drawing are px of its own box.
"""

import itertools
import re
from bisect import bisect_right
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Protocol

from django.utils.html import escape

from apps.sheet.glyphs import Standing

STEPS = (100, 200, 500, 1000, 2000, 5000, 10_000, 20_000, 50_000, 100_000, 200_000)
_FIGURE = re.compile(r"(\d+)\+(\d\d(?:\.\d+)?)")


def plain_figure(distance: float) -> str:
    """Write a distance in feet as a station of hundreds, for a road without equations: 23140 is 231+40."""
    hundreds, feet = divmod(round(distance), 100)
    return f"{hundreds}+{feet:02d}"


class Spotted(Protocol):
    """One foundation as strip and plan ask for it. From far only `station`, `side` and `standing` are asked for."""

    @property
    def mark(self) -> str:
        """Its mark."""

    @property
    def station(self) -> float:
        """Its true distance in ft."""

    @property
    def side(self) -> str:
        """L or R."""

    @property
    def href(self) -> str:
        """Where its page is."""

    @property
    def standing(self) -> Standing:
        """What stands there."""

    @property
    def title(self) -> str:
        """Its sentence (glyphs.sentence)."""


@dataclass(frozen=True, slots=True)
class Spot:
    """One foundation with everything said beforehand."""

    mark: str
    station: float
    side: str
    href: str
    standing: Standing
    title: str


@dataclass(frozen=True, slots=True)
class Road:
    """The road from `start` to `end`, true distances in ft.

    curves: (from, to, side the curve turns to, L or R); crossings: (distance, name); equations: (distance, back figure, ahead
    figure); crews: (from, to, name). `figure` writes a true distance as a station. `reach` gives the address that shows a reach
    one level nearer; without it the far levels carry no links.
    """

    start: float
    end: float
    curves: Sequence[tuple[float, float, str]] = ()
    crossings: Sequence[tuple[float, str]] = ()
    equations: Sequence[tuple[float, str, str]] = ()
    crews: Sequence[tuple[float, float, str]] = ()
    figure: Callable[[float], str] = plain_figure
    reach: Callable[[float, float, str], str] | None = None

    def __post_init__(self) -> None:
        if not self.end > self.start:
            raise ValueError(
                f"the road ends at {self.end} ft and starts at {self.start} ft; the end must lie beyond the start"
            )

    def short_figure(self, distance: float) -> str:
        return self.figure(distance).removesuffix(".00")

    def even_stations(self, start: float, end: float, step: float) -> Iterator[float]:
        """Yield the true distances whose figures are multiples of `step`, in order; an equation shifts them."""
        breaks = sorted({self.start, self.end, *(d for d, _, _ in self.equations if self.start < d < self.end)})
        for low, high in itertools.pairwise(breaks):
            shift = self._shift((low + high) / 2)
            at = -(-(low + shift) // step) * step - shift
            while at <= high:
                if start <= at <= end and (at < high or high == self.end):
                    yield at
                at += step

    def _shift(self, distance: float) -> float:
        """Return what the figure reads more than the true distance, from the figure itself."""
        match = _FIGURE.search(self.figure(distance))
        if match is None:
            return 0.0
        return round(int(match[1]) * 100 + float(match[2]) - distance, 0 if "." not in match[2] else 2)


@dataclass(frozen=True, slots=True)
class Row:
    """One row of the strip: the reach it shows and where.

    `top` is its upper edge, `road` the upper edge of the road, `foot` its lower edge.
    """

    start: float
    end: float
    left: float
    right: float
    top: float
    road: float
    thick: float
    foot: float
    first: bool = True
    last: bool = True
    taken: bool = False
    """A foundation of the next row stands exactly at the end."""
    spots: Sequence[Spotted] = field(default=(), repr=False)

    @property
    def scale(self) -> float:
        """px for one foot."""
        return (self.right - self.left) / (self.end - self.start)

    def x(self, distance: float) -> float:
        return self.left + (distance - self.start) * self.scale

    def has(self, distance: float) -> bool:
        return self.start <= distance <= self.end

    @property
    def low(self) -> float:
        """The lower edge of the road."""
        return self.road + self.thick


def n(value: float) -> str:
    """Write a length of the drawing with one decimal, none where it is whole."""
    return f"{value:.1f}".removesuffix(".0")


def text(x: float, y: float, words: str, paint: str = "f-ink-2", anchor: str = "middle", more: str = "") -> str:
    return f'<text x="{n(x)}" y="{n(y)}" text-anchor="{anchor}" class="{paint}"{more}>{escape(words)}</text>'


def width_of(words: str, size: float = 13) -> float:
    """Return about how wide words stand, px: Overpass averages .55 of its size."""
    return len(words) * size * 0.55


def breaks(road: Road, distances: Sequence[float], rows: int) -> list[float]:
    """Return the ends of the rows: near equal parts, moved to the widest gap between foundations close by."""
    length, ends = road.end - road.start, [road.start]
    for k in range(1, rows):
        even, reach = road.start + length * k / rows, length * 0.015
        near = distances[bisect_right(distances, even - reach) : bisect_right(distances, even + reach)]
        inside = [even - reach, *near, even + reach]
        _, at = max((b - a, (a + b) / 2) for a, b in itertools.pairwise(inside))
        ends.append(round(at / 5) * 5 if near else round(even, 2))
    return [*ends, road.end]


def even_step(scale: float, room: float) -> int:
    """Return the smallest round step of stations that keeps `room` px between neighbours."""
    return next((step for step in STEPS if step * scale >= room), STEPS[-1])


def road_band(road: Road, row: Row) -> str:
    """Return band, edges, openings of cross streets, centre line, ticks and crews, in this order."""
    crossings = [row.x(at) for at, _ in road.crossings if row.start + 9 / row.scale < at < row.end - 9 / row.scale]
    band = f'<path d="M{n(row.left)} {n(row.road)}H{n(row.right)}V{n(row.low)}H{n(row.left)}Z" class="f-road"/>'
    edges, x = "", row.left
    for at in sorted(crossings):
        if at - 9 > x:
            edges += f"M{n(x)} {n(row.road)}H{n(at - 9)}M{n(x)} {n(row.low)}H{n(at - 9)}"
        x = max(x, at + 9)
    edges += f"M{n(x)} {n(row.road)}H{n(row.right)}M{n(x)} {n(row.low)}H{n(row.right)}"
    openings, sides, out = "", "", 7 if row.thick > 20 else 3
    for at in crossings:
        openings += f"M{n(at - 9)} {n(row.road - out)}h18V{n(row.low + out)}h-18Z"
        sides += "".join(f"M{n(at + dx)} {n(row.road)}v{-out}M{n(at + dx)} {n(row.low)}v{out}" for dx in (-9, 9))
    if openings:
        band += f'<path d="{openings}" class="f-road"/>'
    band += f'<path d="{edges}{sides}" class="f-none s-line" stroke-width="1.2"/>'
    return band + _centre_line(road, row) + _ticks(road, row) + _crews(road, row)


def _centre_line(road: Road, row: Row) -> str:
    """Return the centre line, bowed to the side of each curve: a bow says "curve here", it is not to scale."""
    middle, bow = row.road + row.thick / 2, min(6.0, row.thick / 4)
    d, x = f"M{n(row.left)} {n(middle)}", row.left
    for start, end, side in sorted(road.curves):
        a, b = max(row.x(start), row.left), min(row.x(end), row.right)
        if b - a < 8 or a < x:
            continue
        ease = min(13.0, (b - a) / 4)
        y = middle + (-bow if side == "L" else bow)
        d += f"H{n(a)}C{n(a + ease)} {n(middle)} {n(a + ease)} {n(y)} {n(a + 2 * ease)} {n(y)}"
        d += f"H{n(b - 2 * ease)}C{n(b - ease)} {n(y)} {n(b - ease)} {n(middle)} {n(b)} {n(middle)}"
        x = b
    d += f"H{n(row.right)}"
    return f'<path d="{d}" class="f-none s-line" stroke-width="1" stroke-dasharray="13 3 3 3"/>'


def _ticks(road: Road, row: Row) -> str:
    step = even_step(row.scale, 26)
    middle, half = row.road + row.thick / 2, row.thick / 4
    large = "".join(
        f"M{n(row.x(at))} {n(middle - half)}v{n(2 * half)}" for at in road.even_stations(row.start, row.end, 2 * step)
    )
    small = "".join(
        f"M{n(row.x(at))} {n(middle - half / 1.8)}v{n(2 * half / 1.8)}"
        for at in road.even_stations(row.start, row.end, step)
    )
    return f'<path d="{large}" class="f-none s-line" stroke-width="1.3"/><path d="{small}" class="f-none s-line" stroke-width="1"/>'


def _crews(road: Road, row: Row) -> str:
    """Return crews as ink bars. Crews that work the same reach share the width of the road."""
    bars = sorted(
        (max(a, row.start), min(b, row.end), name) for a, b, name in road.crews if a <= row.end and b >= row.start
    )
    out, lanes = [], _lanes(bars)
    for (start, end, name), (lane, of) in zip(bars, lanes, strict=True):
        high = (row.thick - 4) / of
        x, y = row.x(start), row.road + 2 + lane * high
        wide = max(row.x(end) - x, 8.0)
        out.append(
            f'<path d="M{n(x)} {n(y)}h{n(wide)}v{n(high)}h{n(-wide)}Z" class="f-ink s-sheet" stroke-width=".5">'
            f"<title>{escape(name)}</title></path>"
        )
        size = width_of(name) + 8
        if high < 10:
            continue
        if wide >= size:
            out.append(text(x + wide / 2, y + high / 2 + 4.3, name, "crew" if high >= 14 else "crew tight"))
        elif high >= 14:
            side = x + wide if x + wide + size < row.right else x - size
            out.append(f'<path d="M{n(side)} {n(y)}h{n(size)}v{n(high)}h{n(-size)}Z" class="f-road"/>')
            out.append(text(side + size / 2, y + high / 2 + 4.3, name, "own"))
    return "".join(out)


def _lanes(bars: Sequence[tuple[float, float, str]]) -> list[tuple[int, int]]:
    """Return lane and number of lanes for each bar; bars that do not overlap keep the whole width."""
    lanes: list[int] = []
    for i, (start, _, _) in enumerate(bars):
        taken = {lanes[j] for j in range(i) if bars[j][1] > start}
        lanes.append(next(k for k in range(len(bars)) if k not in taken))
    crowded = {i for i, a in enumerate(bars) for j, b in enumerate(bars) if i != j and a[0] < b[1] and b[0] < a[1]}
    most = max(lanes, default=0) + 1
    return [(lane, most) if i in crowded else (0, 1) for i, lane in enumerate(lanes)]


def figures(road: Road, row: Row) -> str:
    """Return the station figures under a row, as many as stand apart, each with its tick."""
    sample = width_of(road.short_figure(row.end), 13) + 18
    out, ticks, taken = [], "", row.left - sample
    for at in road.even_stations(row.start, row.end, even_step(row.scale, sample)):
        x = row.x(at)
        if x - taken < sample - 6:
            continue
        ticks += f"M{n(x)} {n(row.foot - 20)}v3"
        out.append(text(x, row.foot - 5, road.short_figure(at), "num f-ink-2"))
        taken = x
    return f'<path d="{ticks}" class="f-none s-rule-2"/>' + "".join(out)


def names(road: Road, row: Row) -> str:
    """Return the names over a row: equations first, then cross streets. A name moves aside by up to 48 px, then it is dropped."""
    wanted = [(at, f"{back} = {ahead}", "num f-ink-2") for at, back, ahead in road.equations if row.has(at)]
    wanted += [(at, name, "f-ink-2 halo") for at, name in sorted(road.crossings) if row.has(at)]
    taken: list[tuple[float, float]] = []
    out = []
    for at, name, paint in wanted:
        half, true = width_of(name) / 2 + 5, row.x(at)
        for shift in (0, 16, -16, 32, -32, 48, -48):
            x = min(max(true + shift, row.left - 30 + half), row.right + 30 - half)
            if all(x + half < a or x - half > b for a, b in taken):
                taken.append((x - half, x + half))
                out.append(text(x, row.top + 13, name, paint))
                break
    return "".join(out)


def match_lines(road: Road, row: Row) -> str:
    """Return the chain lines where a row breaks off, the figure written along them, and those of station equations."""
    out = []
    top, foot = row.top + 16, row.foot - 21
    for at, x, ends in ((row.start, row.left - 12, row.first), (row.end, row.right + 19, row.last)):
        if ends:
            continue
        out.append(_chain(row.x(at), top, foot))
        long = f"Match line {road.short_figure(at)}"
        words = long if width_of(long) < foot - top else road.short_figure(at)
        out.append(
            f'<text transform="translate({n(x)} {n((top + foot) / 2)}) rotate(-90)" text-anchor="middle" class="f-ink-2">'
            f"{escape(words)}</text>"
        )
    out += [_chain(row.x(at), top, foot) for at, _, _ in road.equations if row.has(at)]
    return "".join(out)


def _chain(x: float, top: float, foot: float) -> str:
    return f'<path d="M{n(x)} {n(top)}V{n(foot)}" class="f-none s-ink" stroke-width="1.1" stroke-dasharray="14 3 2 3 2 3"/>'
