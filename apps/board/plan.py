"""The plan: the true alignment from above, laid level on the page, with a square for each foundation filled by sixths.

Where squares have no room, blocks along both sides of the road stand for the foundations of a reach.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import atan2, degrees
from typing import TYPE_CHECKING, NamedTuple

from apps.board.road import Course, RowSpot, figures
from apps.calc.stages import STAGES
from apps.sheet.reaches import LEAST_PX, Reach, cut, cuts
from apps.sheet.strip_near import spread

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Complexes = NDArray[np.complex128]
    Reals = NDArray[np.float64]

WIDTH, MARGIN, SQUARE = 1200.0, 62.0, 9.0
ASIDE, LABEL, HALF_ROAD = 17.0, 38.0, 6.5
"""From the centre line to the middle of a square, to a label, to the edge, px of the drawing. The road is drawn wider than it is."""
PITCH = SQUARE + 1.6
"""What a square takes along the road, px; with less room for each on the fuller side, blocks are drawn."""
NEAR, DEEP, FAR_LABEL = 10.0, 16.0, 46.0
"""From the centre line to a block, how deep a block is that is released throughout, and to a label beyond its flag, px."""
SAMPLES = 400
FIGURES_FT = (100, 200, 500, 1000, 2000, 5000, 10_000, 20_000, 50_000, 100_000)


class Square(NamedTuple):
    """One foundation: outline, what is released, and a flag where it is held; `d` of paths."""

    title: str
    href: str
    """Where its page is; empty where the filter leaves it out."""
    outline: str
    filled: str
    flag: str
    abandoned: bool


class Block(NamedTuple):
    """The foundations of a reach on one side: outline, the share released, filled outward from the road, and a flag where some are held."""

    reach: Reach
    outline: str
    filled: str
    flag: str
    x: float
    """Where the number of the held stands."""
    y: float
    held: int


class Label(NamedTuple):
    """Words beside the road, with a leader to it."""

    x: float
    y: float
    text: str
    leader: str
    anchor: str
    """Which end of the words stands at x."""


class Bar(NamedTuple):
    """The scale bar: its left end, half and whole length in px, height on the page, and what it measures."""

    x: float
    y: float
    half: float
    length: float
    words: str


@dataclass(frozen=True, slots=True)
class Plan:
    """The whole drawing, ready for the template."""

    height: float
    roads: list[str]
    centres: list[str]
    ticks: str
    tinted: list[str]
    squares: list[Square]
    blocks: list[Block]
    names: list[Label]
    figures: list[Label]
    north_deg: float
    bar: Bar
    label: str

    @property
    def fact(self) -> str:
        """How it is to be read."""
        if self.blocks:
            return "block filled outward from the road: share of hold points released; number at a flag: held; road drawn wider than it is"
        return "square filled from below: hold points released, of six; road drawn wider than it is"

    @property
    def arrow(self) -> tuple[float, float]:
        """Where the north arrow stands."""
        return WIDTH - 34, 44.0


class _Paper:
    """From the ground to the page: turned so that the first road runs from left to right, shrunk to fit."""

    def __init__(self, grounds: Sequence["Complexes"]) -> None:
        import numpy as np

        chord = grounds[0][-1] - grounds[0][0]
        self.turn = atan2(chord.imag, chord.real)
        turned = np.concatenate([each * np.exp(-1j * self.turn) for each in grounds])
        wide = float(np.ptp(turned.real)) or 1.0
        high = float(np.ptp(turned.imag))
        self.scale = min((WIDTH - 2 * MARGIN) / wide, 420 / high if high else 1e9)
        self.left = (WIDTH - wide * self.scale) / 2 - float(turned.real.min()) * self.scale
        self.top = MARGIN + float(turned.imag.max()) * self.scale
        self.height = high * self.scale + 2 * MARGIN + 14

    def at(self, ground: "Complexes") -> "Complexes":
        """Return where places of the ground are on the page: x + y·i, y downward."""
        import numpy as np

        turned = ground * np.exp(-1j * self.turn) * self.scale
        return (self.left + turned.real) + 1j * (self.top - turned.imag)


def _n(value: float) -> str:
    return f"{value:.1f}"


def _path(places: Iterable[complex]) -> str:
    return "M" + "L".join(f"{_n(place.real)} {_n(place.imag)}" for place in places)


def _ground(course: Course, distances: "Reals | Sequence[float]", offset: float = 0.0) -> "Complexes":
    """Return places along an alignment as east + north·i."""
    import numpy as np

    places = course.alignment.geometry.points(np.clip(distances, 0, float(course.alignment.geometry.length)), offset)
    return np.asarray(places[:, 0] + 1j * places[:, 1])


class _Line:
    """One course on the page."""

    def __init__(self, course: Course, paper: _Paper) -> None:
        self.course, self.paper = course, paper

    @property
    def long(self) -> float:
        """How long the road is on the page, px."""
        return (self.course.road.end - self.course.road.start) * self.paper.scale

    def along(self, start: float, end: float) -> str:
        """Return the centre line between two true distances."""
        import numpy as np

        return _path(self.paper.at(_ground(self.course, np.linspace(start, end, SAMPLES))))

    def band(self, start: float, end: float) -> str:
        """Return the outline of the road between two true distances."""
        import numpy as np

        at = np.linspace(start, end, SAMPLES)
        return f"{_path([*self.beside(at, -HALF_ROAD), *self.beside(at, HALF_ROAD)[::-1]])}Z"

    def beside(self, distances: "Reals | Sequence[float]", away: float) -> "Complexes":
        """Return places `away` px from the centre line, to the right of the road for more than zero."""
        import numpy as np

        foot = self.paper.at(_ground(self.course, distances))
        aside = self.paper.at(_ground(self.course, distances, 10.0)) - foot
        return foot + aside / np.abs(aside) * away


def plan(courses: Sequence[Course], shown: set[object], reach: tuple[float, float] | None) -> Plan | None:
    """Draw the courses; foundations not in `shown` faint, the reach between two stations [ft] tinted. None without a course."""
    import numpy as np

    if not courses:
        return None
    paper = _Paper([_ground(each, np.linspace(each.road.start, each.road.end, SAMPLES)) for each in courses])
    lines = [_Line(course, paper) for course in courses]
    near = all(_has_room(line) for line in lines)
    squares = [square for line in lines for square in _squares(line, shown)] if near else []
    blocks = [] if near else [block for line in lines for block in _blocks(line, shown)]
    held = sum(bool(square.flag and square.href) for square in squares) + sum(block.held for block in blocks)
    every = sum(len(course.spots) for course in courses)
    return Plan(
        height=round(paper.height, 1),
        roads=[line.band(line.course.road.start, line.course.road.end) for line in lines],
        centres=[line.along(line.course.road.start, line.course.road.end) for line in lines],
        ticks="".join(_ticks(line) for line in lines),
        tinted=[line.band(*tint) for line in lines if (tint := _tint(line.course, reach))],
        squares=squares,
        blocks=blocks,
        names=[label for line in lines for label in _names(line, LABEL if near else FAR_LABEL)],
        figures=[label for line in lines for label in _figures(line, LABEL - 8 if near else FAR_LABEL)],
        north_deg=round(degrees(paper.turn), 1),
        bar=_bar(paper),
        label=f"Plan: {len(shown)} of {every} foundations shown, {held} held",
    )


def _tint(course: Course, reach: tuple[float, float] | None) -> tuple[float, float] | None:
    """Return the true distances of a reach given in stations, from the foundations that stand in it."""
    if reach is None:
        return None
    inside = [
        float(row.foundation.distance_ft) for row in course.rows if reach[0] <= row.foundation.station_ft <= reach[1]
    ]
    return (min(inside), max(inside)) if len(inside) > 1 else None


def _has_room(line: _Line) -> bool:
    """Whether every foundation of the fuller side has room for its square."""
    left = sum(spot.side == "L" for spot in line.course.spots)
    return max(left, len(line.course.spots) - left) * PITCH <= line.long


def _squares(line: _Line, shown: set[object]) -> list[Square]:
    """Return the squares up-station, those of both sides in turn; those that would overlap dodge along the road."""
    made: list[tuple[float, Square]] = []
    road, scale = line.course.road, line.paper.scale
    for side, away in (("L", -ASIDE), ("R", ASIDE)):
        spots = sorted((spot for spot in line.course.spots if spot.side == side), key=lambda spot: spot.station)
        if not spots:
            continue
        wanted = [spot.station * scale for spot in spots]
        places = spread(wanted, [PITCH / 2] * len(spots), road.start * scale, road.end * scale)
        middles = line.beside([place / scale for place in places], away)
        made += [
            (spot.station, _square(spot, complex(middle), spot.row.foundation.pk in shown))
            for spot, middle in zip(spots, middles, strict=True)
        ]
    return [square for _, square in sorted(made, key=lambda each: each[0])]


def _blocks(line: _Line, shown: set[object]) -> list[Block]:
    """Return the blocks up-station, those of both sides in turn; every foundation shown stands in exactly one."""
    road, made = line.course.road, []
    ends = cuts(road, road.start, road.end, line.paper.scale, LEAST_PX)
    for side in ("L", "R"):
        spots = [spot for spot in line.course.spots if spot.side == side and spot.row.foundation.pk in shown]
        made += [_block(line, reach) for reach in cut(road, ends, spots, side=side)]
    return sorted(made, key=lambda block: block.reach.start)


def _block(line: _Line, reach: Reach) -> Block:
    import numpy as np

    gap, out = 0.8 / line.paper.scale, -1 if reach.side == "L" else 1
    at = np.linspace(reach.start + gap, reach.end - gap, 4)
    inner, outer = line.beside(at, out * NEAR), line.beside(at, out * (NEAR + DEEP))
    full = line.beside(at, out * (NEAR + DEEP * reach.share))
    held = reach.counts["held"]
    pole = complex(line.beside([(reach.start + reach.end) / 2], out * (NEAR + DEEP))[0])
    away = 1 if pole.imag > inner.imag.mean() else -1
    x, y = pole.real - 6, pole.imag + away
    return Block(
        reach,
        f"{_path([*inner, *outer[::-1]])}Z",
        f"{_path([*inner, *full[::-1]])}Z" if reach.share else "",
        f"M{_n(x)} {_n(y)}v{12 * away}l8 {-3.2 * away}l-8 {-3.2 * away}" if held else "",
        round(x + 10, 1),
        round(y + (13 if away > 0 else -3), 1),
        held,
    )


def _square(spot: RowSpot, middle: complex, shown: bool) -> Square:
    row, href = spot.row, spot.href if shown else ""
    left, top = middle.real - SQUARE / 2, middle.imag - SQUARE / 2
    high = SQUARE * row.standing.released / len(STAGES)
    if row.standing.abandoned:
        cross = f"M{_n(left)} {_n(top)}l{SQUARE} {SQUARE}m0 -{SQUARE}l-{SQUARE} {SQUARE}"
        return Square(spot.title, href, cross, "", "", True)
    filled = f"M{_n(left)} {_n(top + SQUARE - high)}h{SQUARE}v{_n(high)}h-{SQUARE}z" if high else ""
    flag = f"M{_n(middle.real)} {_n(top)}v-13l9 3.6l-9 3.6" if row.held else ""
    return Square(spot.title, href, f"M{_n(left)} {_n(top)}h{SQUARE}v{SQUARE}h-{SQUARE}z", filled, flag, False)


def _step(line: _Line) -> float:
    """Return how far apart figures stand: some eight along the drawing."""
    length = line.course.road.end - line.course.road.start
    return next((step for step in FIGURES_FT if length / step <= 8), FIGURES_FT[-1])


def _ticks(line: _Line) -> str:
    """Return short lines across the road, five to a figure."""
    road = line.course.road
    at = list(road.even_stations(road.start, road.end, _step(line) / 5))
    if not at:
        return ""
    pairs = zip(line.beside(at, -HALF_ROAD), line.beside(at, HALF_ROAD), strict=True)
    return "".join(f"M{_n(a.real)} {_n(a.imag)}L{_n(b.real)} {_n(b.imag)}" for a, b in pairs)


def _labels(line: _Line, at: Sequence[float], words: Sequence[str], away: float) -> list[Label]:
    """Return words beside the road, each pushed off along the road's normal and set so that it does not lie over squares."""
    if not at:
        return []
    feet, ends = line.beside(at, HALF_ROAD if away > 0 else -HALF_ROAD), line.beside(at, away)
    labels = []
    for foot, end, text in zip(feet, ends, words, strict=True):
        lean = (end.real - foot.real) / abs(end - foot)
        anchor = "start" if lean > 0.3 else "end" if lean < -0.3 else "middle"
        below = end.imag > foot.imag
        leader = f"M{_n(foot.real)} {_n(foot.imag)}L{_n(end.real)} {_n(end.imag)}"
        wide = 7.5 * len(text) * {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor]
        x = end.real + (3 if anchor == "start" else -3 if anchor == "end" else 0)
        x = min(max(x, wide + 2), WIDTH - 2 - 7.5 * len(text) + wide)
        labels.append(Label(round(x, 1), round(end.imag + (11 if below else -3), 1), text, leader, anchor))
    return labels


def _names(line: _Line, away: float) -> list[Label]:
    """Return the cross streets, left of the road."""
    road = line.course.road
    crossings = [(at, name) for at, name in road.crossings if road.start <= at <= road.end]
    return _labels(line, [at for at, _ in crossings], [name for _, name in crossings], -away)


def _figures(line: _Line, away: float) -> list[Label]:
    """Return the even stations, right of the road."""
    road = line.course.road
    at = list(road.even_stations(road.start, road.end, _step(line)))
    figure = figures(line.course.alignment)
    return _labels(line, at, [figure(each) for each in at], away)


def _bar(paper: _Paper) -> Bar:
    """Return the scale bar: the longest round length under a tenth of the drawing."""
    feet = max((step for step in FIGURES_FT if step * paper.scale <= WIDTH / 8), default=FIGURES_FT[0])
    length = feet * paper.scale
    return Bar(
        round(WIDTH - MARGIN - length, 1),
        round(paper.height - 14, 1),
        round(length / 2, 1),
        round(length, 1),
        f"{feet:,} ft",
    )
