"""Drawings of what is left standing: chords from above, the worst chord in section, every thing against the limit."""

import math
from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from apps.calc.clearance import Clearance, Profile, Standing
from apps.calc.clearance.along import slid
from apps.calc.clearance.around import ground_of
from apps.calc.clearance.chord import under
from apps.calc.working import number_text
from apps.sheet.drawn import Drawing, Table
from apps.sheet.drawn.chart import Chart
from apps.sheet.drawn.paper import DASHED, Paper, Point, View, nice_step
from apps.sheet.drawn.words import Words

MINUS = "\N{MINUS SIGN}"
ROWS = 14
"""So many things are drawn as bars, the highest first; the table has all."""
ENLARGED = (100, 50, 20, 10, 5, 2)
BESIDE = [
    (far * x, far * y) for far in (18, 30, 44, 60, 80) for x, y in ((0.8, -0.7), (-0.8, -0.7), (0.8, 0.7), (-0.8, 0.7))
]
"""Ways to words beside a thing, the nearest first."""
LEVELS_WRITTEN = 16
"""Up to so many readings of the ground have their height written beside them."""


def _signed(value: float, places: int = 2) -> str:
    return f"{value:.{places}f}".replace("-", MINUS)


def _bar(paper: Paper, at: Point, scale: float, words: str = "in", longest: float = 90) -> None:
    step = nice_step(longest / scale, 1) / 2
    paper.scale_bar(at, step * scale, f"{number_text(step)} {words}")


# From above ---------------------------------------------------------------------------------------------------------


def plan(values: Mapping[str, Any], result: Clearance) -> Paper:
    """Draw the readings of the ground, what is left standing, and the worst chord over each thing."""
    readings = [
        (away * math.cos(math.radians(turn)), away * math.sin(math.radians(turn)))
        for turn, away in zip(values["directions"], values["distances"], strict=True)
    ]
    places = _places(values)
    worst = result.standing[0]
    chords = {each: _ends(places[each.number], each, values["chord"]) for each in result.standing}
    paper = Paper(
        420,
        430,
        f"From above: {len(places)} things left standing, ground read at {len(readings)} places. The worst chord lies over "
        f"{worst.name} at {worst.direction_deg:g} degrees.",
    )
    xs, ys = zip(*readings, *places, *(end for ends in chords.values() for end in ends), strict=True)
    view = View.fit(xs, ys, (40, 36, 340, 340))
    words = Words(paper)
    for each, ends in chords.items():
        if each is not worst:
            paper.line(view(*ends[0]), view(*ends[1]), paint="s-rule-2", weight=0.8)
    paint = "red" if worst.over else "ink"
    paper.line(*(view(*each) for each in chords[worst]), paint=f"s-{paint}", weight=2)
    words.keep(view(*each) for each in chords[worst])
    for place in readings:
        paper.circle(view(*place), 2.8, "f-sheet s-line", 1)
        words.off(view(*place), 4)
    _things(paper, words, view, values, result)
    if len(readings) <= LEVELS_WRITTEN:
        for place, height in zip(readings, values["heights"], strict=True):
            words.write(
                view(*place),
                number_text(height, 3).replace("-", MINUS),
                ((8, 0), (-8, 0), (0, -12), (0, 13)),
                paint="f-line",
            )
    _bar(paper, (20, 416), view.across)
    paper.text((400, 420), "rings: ground read; figures: its height, in", anchor="end", paint="f-ink-2")
    return paper


def _places(values: Mapping[str, Any]) -> list[Point]:
    return [(float(x), float(y)) for x, y in zip(values["x"], values["y"], strict=True)]


def _ends(place: Point, each: Standing, length: float) -> tuple[Point, Point]:
    turn = math.radians(each.direction_deg)
    way = math.cos(turn), math.sin(turn)
    return tuple((place[0] + way[0] * at, place[1] + way[1] * at) for at in (each.begins, each.begins + length))  # type: ignore[return-value]


def _things(paper: Paper, words: Words, view: View, values: Mapping[str, Any], result: Clearance) -> None:
    """Mark what stands, red what is over; name the worst and whatever is over where there is room."""
    places = _places(values)
    for each in result.standing:
        at = view(*places[each.number])
        paper.square(at, 6, "f-red" if each.over else "f-ink")
        words.off(at, 4)
    for rank, each in enumerate(result.standing):
        if rank and not each.over:
            continue
        said, paint = f"{_short(each.name)}, {_signed(each.projection)} in", "f-red" if each.over else "f-ink"
        words.write(view(*places[each.number]), said, BESIDE, bold=True, paint=paint, must=not rank)


# In section ---------------------------------------------------------------------------------------------------------


class _Cut(NamedTuple):
    """What a section along a chord shows [in]: distances from the thing."""

    name: str
    ground: list[Point]
    begins: float
    ends: float
    back: float
    """Ground under the beginning of the chord."""
    ahead: float
    top: float
    limit: float
    projection: float

    def chord(self, at: float) -> float:
        """Height of the chord at a distance."""
        return self.back + (self.ahead - self.back) * (at - self.begins) / (self.ends - self.begins)


def worst_chord(values: Mapping[str, Any], result: Clearance) -> Paper:
    """Draw the worst chord of all in section."""
    worst = result.standing[0]
    (x, y), turn, length = _places(values)[worst.number], math.radians(worst.direction_deg), float(values["chord"])
    ground = ground_of(values["directions"], values["distances"], values["heights"])
    steps = [worst.begins - 6 + (length + 12) * each / 144 for each in range(145)]

    def height(at: float) -> float:
        return float(ground(x + at * math.cos(turn), y + at * math.sin(turn)))

    surface = [(at, level) for at in steps if math.isfinite(level := height(at))]
    ends = worst.begins, worst.begins + length
    cut = _Cut(
        worst.name, surface, *ends, height(ends[0]), height(ends[1]),
        float(values["tops"][worst.number]), float(values["limit"]), worst.projection,
    )  # fmt: skip
    return _section(cut, f"Section along the worst chord, at {worst.direction_deg:g} degrees over {worst.name}")


def line_section(values: Mapping[str, Any], result: Profile) -> Paper:
    """Draw the worst chord of one line of readings in section."""
    at, heights = ([float(each) for each in values[name]] for name in ("distances", "heights"))
    length, low = float(values["chord"]), result.begins - 6
    inside = [(x, z) for x, z in zip(at, heights, strict=True) if low < x < low + length + 12]
    edges = [max(low, at[0]), min(low + length + 12, at[-1])]
    surface = sorted({*inside, *((x, _between(at, heights, x)) for x in edges)})
    ends = result.begins, result.begins + length
    cut = _Cut(
        "what stands", surface, *ends, _between(at, heights, ends[0]), _between(at, heights, ends[1]),
        float(values["top"]), float(values["limit"]), result.worst,
    )  # fmt: skip
    return _section(cut, "Section along the worst chord of the line")


def _between(at: Sequence[float], heights: Sequence[float], x: float) -> float:
    """Return the height at x, straight between readings."""
    after = next((index for index, each in enumerate(at) if each >= x), len(at) - 1)
    if after == 0 or at[after] == x:
        return heights[after]
    part = (x - at[after - 1]) / (at[after] - at[after - 1])
    return heights[after - 1] + (heights[after] - heights[after - 1]) * part


def _section(cut: _Cut, said: str) -> Paper:
    """Draw ground, chord, the limit above it and what stands, hatched red where it is over."""
    levels = [z for _, z in cut.ground] + [cut.back + cut.limit, cut.ahead + cut.limit, cut.top, cut.back, cut.ahead]
    low, high = min(levels), max(levels)
    across = 640 / (cut.ends - cut.begins + 12)
    relief = max(high - low, 0.5)
    times = next((each for each in ENLARGED if relief * across * each <= 200), 1)
    across = min(across, 260 / relief) if times == 1 else across
    tall = relief * across * times
    paper = Paper(
        860,
        tall + 150,
        f"{said}, heights drawn {times} times. It stands {_signed(cut.projection)} in above the chord; "
        f"{number_text(cut.limit)} in is allowed.",
    )
    wide = (cut.ends - cut.begins + 12) * across
    view = View(cut.begins - 6, low, 24 + (690 - wide) / 2, tall + 62, across, across * times)
    _ground(paper, view, cut.ground, tall + 92)
    _lines(paper, view, cut)
    _stands(paper, view, cut)
    _bar(paper, (24, tall + 130), across, "in along")
    step = nice_step(30 / (across * times), 1) / 2
    drawn = f", heights drawn {times} times" if times > 1 else ", heights to the same scale"
    paper.height_bar((300, tall + 136), step * across * times, f"{number_text(step)} in up{drawn}")
    return paper


def _ground(paper: Paper, view: View, surface: Sequence[Point], floor: float) -> None:
    if len(surface) < 2:
        return
    line = [view(*each) for each in surface]
    paper.area(*line, (line[-1][0], floor), (line[0][0], floor), paint="f-well")
    paper.line(*line, weight=1.4)
    paper.text((line[0][0] + 8, floor - 8), "ground", paint="f-ink-2")


def _lines(paper: Paper, view: View, cut: _Cut) -> None:
    """Draw the chord thin from ground to ground, and the limit over it dashed; both named after their end."""
    ends = [(cut.begins, cut.back), (cut.ends, cut.ahead)]
    chord, limit = [view(*each) for each in ends], [view(x, z + cut.limit) for x, z in ends]
    paper.line(*chord, paint="s-line", weight=0.9)
    for each in chord:
        paper.circle(each, 3, "f-sheet s-line", 1)
    paper.line(*limit, paint="s-red", weight=1.2, dash=DASHED)
    x = view(cut.ends + 6, 0)[0] + 10
    apart = max(chord[1][1] - limit[1][1], 17)
    for y in (chord[1][1], chord[1][1] - apart):
        paper.leader((chord[1][0] + 4, y), (x - 4, y))
    paper.text((x, chord[1][1] + 4 - apart), f"{number_text(cut.limit)} in over the chord", bold=True, paint="f-red")
    paper.text((x, chord[1][1] + 4), f"{number_text(cut.ends - cut.begins)}-in chord", paint="f-line")


def _stands(paper: Paper, view: View, cut: _Cut) -> None:
    """Draw the thing from the ground to its top, its height over the chord beside it."""
    base = min((z for _, z in sorted(cut.ground, key=lambda each: abs(each[0]))[:1]), default=cut.chord(0))
    (x, top), (_, foot), (_, chord) = view(0, cut.top), view(0, min(base, cut.top)), view(0, cut.chord(0))
    limit = view(0, cut.chord(0) + cut.limit)[1]
    over = cut.projection - cut.limit > 1e-6
    paper.rect(
        x - 5,
        max(top, limit) if over else top,
        10,
        max(foot - (max(top, limit) if over else top), 0.5),
        "f-conc s-ink",
        1.6,
    )
    if over:
        paper.rect(x - 5, top, 10, limit - top, "s-red", 1.6, fill="over")
    paint = "over" if over else "built"
    if abs(chord - top) > 26:
        side = 1 if cut.ends >= -cut.begins else -1
        paper.dimension((x + 44 * side, chord), (x + 44 * side, top), f"{_signed(cut.projection)} in", kind=paint)
        for y in (top, chord):
            paper.leader((x + 7 * side, y), (x + 50 * side, y))
    else:
        paper.text(
            (x + 14, top + 4),
            f"{_signed(cut.projection)} in",
            bold=True,
            paint="f-red" if over else "f-ink",
            patch=True,
        )
    name = f"{cut.name}, over by {_signed(cut.projection - cut.limit)} in" if over else cut.name
    paper.text(
        (x, min(top, limit) - 14), name, anchor="middle", bold=True, paint="f-red" if over else "f-ink", patch=True
    )


# Against the limit --------------------------------------------------------------------------------------------------


def heights(values: Mapping[str, Any], result: Clearance) -> Paper:
    """Draw how high each thing stands above its worst chord, the highest first, against the limit."""
    shown, limit = result.standing[:ROWS], float(values["limit"])
    more = len(result.standing) - len(shown)
    paper = Paper(
        420,
        86 + 24 * len(shown) + (18 if more else 0),
        f"{result.standing[0].name} stands {_signed(result.worst)} in above its worst chord, the most of "
        f"{len(result.standing)}; {number_text(limit)} in is allowed.",
    )
    left, top, floor = 130.0, 44.0, 50.0 + 24 * len(shown)
    scale = 200 / (max(result.worst, limit, 0) or 1.0)
    edge = left + limit * scale
    for row, each in enumerate(shown):
        y = top + 24 * row
        paper.text((left - 8, y + 13), _short(each.name), anchor="end", paint="f-red" if each.over else "f-ink")
        within = max(min(each.projection, limit), 0) * scale
        paper.rect(left, y + 2, within, 15, "f-conc")
        if each.over:
            paper.rect(edge, y + 2, each.over * scale, 15, "s-red", 0.9, fill="over")
        end = max(left + max(each.projection, 0) * scale, edge if each.over else left)
        beyond = edge if not each.over and abs(end + 20 - edge) < 40 else end
        paint = "f-red" if each.over else "f-ink"
        paper.text((max(end, beyond) + 7, y + 14), f"{_signed(each.projection)} in", bold=True, paint=paint, patch=True)
    paper.line((left, top - 4), (left, floor), weight=1)
    paper.line((edge, top - 10), (edge, floor), paint="s-red", weight=1.2, dash=DASHED)
    anchor = "start" if edge < 300 else "end"
    paper.text((edge, top - 16), f"{number_text(limit)} in allowed", anchor=anchor, bold=True, paint="f-red")
    if more:
        paper.text((left, floor + 18), f"and {more} lower", paint="f-ink-2")
    _bar(paper, (left, paper.height - 12), scale, "in above the chord", 60)
    return paper


def _short(name: str) -> str:
    return name if len(name) <= 18 else f"{name[:17]}\N{HORIZONTAL ELLIPSIS}"


def along(values: Mapping[str, Any], result: Profile) -> Paper:
    """Draw how far the thing stands above the chord as the chord is slid over it."""
    length, limit, top = (float(values[each]) for each in ("chord", "limit", "top"))
    begins, back, ahead = slid(values["distances"], values["heights"], length)
    rises = [(float(a), float(z)) for a, z in zip(begins, top - under(back, ahead, begins, length), strict=True)]
    low, high = min(z for _, z in rises), max(z for _, z in rises)
    paper = Paper(
        420,
        300,
        f"Slid over the thing, the chord leaves {_signed(low)} to {_signed(high)} in standing; "
        f"most where it begins {number_text(-result.begins)} in before it.",
    )
    top_edge = max(high, limit, 0) * 1.25 or 1.0
    chart = Chart(
        paper,
        (-length, 0),
        (min(low * 1.1, 0), top_edge),
        "the chord begins at, in from the thing",
        "above the chord, in",
    )
    if result.over:
        chart.under([(a, max(z, limit)) for a, z in rises], "s-red", "over", floor=limit)
    chart.curve(rises)
    chart.curve([(-length, limit), (0, limit)], paint="s-red", weight=1.2, dash=DASHED)
    words = f"{number_text(limit)} in allowed"
    paper.text((chart.left + chart.width, chart.top - 9), words, anchor="end", bold=True, paint="f-red")
    paint = "f-red" if result.over else "f-ink"
    chart.points([(result.begins, result.worst)], paint, 4)
    right = result.begins > -length * 0.35
    chart.label(
        result.begins,
        result.worst,
        f"{_signed(result.worst)} in",
        paint=paint,
        anchor="end" if right else "start",
        dx=-8 if right else 8,
    )
    return paper


def things(values: Mapping[str, Any], result: Clearance) -> Table:
    """Return each thing against the chord where it stands out most."""
    return Table(
        "Each thing against its worst chord",
        ("Thing", "Top, in", "Above the chord, in", "Over, in", "Chord at", "Begins, in from it"),
        tuple(
            (
                each.name,
                _signed(float(values["tops"][each.number])),
                _signed(each.projection),
                _signed(each.over) if each.over else "",
                f"{each.direction_deg:g}°",
                _signed(each.begins),
            )
            for each in result.standing
        ),
    )


DRAWINGS = {
    "clearance": (
        Drawing("The worst chord in section", "heights enlarged", worst_chord, True),
        Drawing("From above", "to scale", plan),
        Drawing("Above their chords", "to scale", heights),
    ),
    "clearance.profile": (
        Drawing("The worst chord in section", "heights enlarged", line_section, True),
        Drawing("The chord slid along", "", along),
    ),
}

TABLES = {"clearance": (things,)}
