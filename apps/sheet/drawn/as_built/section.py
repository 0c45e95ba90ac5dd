"""The section of a foundation along the road: hole or concrete, cage, bolts, conduits, what stands over the chord."""

import math
from collections.abc import Iterable
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from apps.calc.clearance.chord import CHORD_IN
from apps.calc.shown import show
from apps.sheet.drawn.as_built.said import WORDS, Column, feet_inches, inches, span
from apps.sheet.drawn.as_built.values import Bolt, Cage, Pole, Section, Stub
from apps.sheet.drawn.paper import DASHED, Paper, Point, View

SECTION_POINTS = 0.75
"""Points for a unit of the section on paper: 4 units an inch are then 1/2 in = 1 ft, 2 units 1/4 in = 1 ft."""
SCALE, SMALL = 4.0, 2.0
"""Units an inch, and for a shaft deeper than DEEP."""
DEEP = 150
LEFT, RIGHT = 144.0, 122.0
"""Widths of the columns of labels."""
LEVELS = {"top": 0.0, "quarter": 0.25, "middle": 0.5, "three-quarter": 0.75, "bottom": 1.0}
"""Where on the cage a pitch of the spiral was measured, from its top."""
CHORD_WORDS = 7.5
"""Height of the dimension of the chord over the ground [in]."""
MOST_TURNS = 200
BEYOND = 2.5
"""How far the outline of a base stands outside its bolts [in]: its size is not on file, so it is dashed and says so."""


class _Cut(NamedTuple):
    """The section on its paper."""

    paper: Paper
    view: View
    """x from the axis up-station, y up from the finished top on the plans."""
    left: Column
    right: Column
    pole: Column
    """Left and right of what stands above the chord."""
    base: Column
    edge: float
    """Half of the widest of shaft and hole [in]."""


def section(given: Section) -> Paper:
    """Draw a foundation in section along the road, up-station to the right, from what was measured of it.

    True to scale, 4 units an inch (2 below 12 1/2 ft); a scale bar stands at its foot. Not drawn, because this edition does
    not measure it: the ground's profile, which way a hole or a pole leans, where bars stand in the circle of the cage.
    """
    deepest = float(max([given.depth, *given.depths.values()]))
    scale = SCALE if deepest <= DEEP else SMALL
    edge = float(max([given.diameter, *given.widths.values()])) / 2
    high = 150.0 if given.base or given.pole else 62.0
    reach = max(edge * scale, CHORD_IN / 2 * scale * 0.55 if given.stub else 0)
    axis = LEFT + 16 + reach
    column = axis + reach + 14
    paper = Paper(round(column + RIGHT + 92), round(high + deepest * scale + 118), _name(given))
    left, right = Column(4, LEFT, False), Column(column, RIGHT, True)
    above = Column(4, axis - 50, False), Column(column, paper.width - column - 6, True)
    cut = _Cut(paper, View(0, 0, axis, high, scale, scale), left, right, *above, edge)
    _earth(cut)
    _outline(cut, given)
    if given.cage:
        _cage(cut, given, given.cage)
    _conduits(cut, given)
    _bolts(cut, given)
    _standing(cut, given)
    if given.stub:
        _chord(cut, given.stub)
    floor = high + deepest * scale
    _depths(cut, given, column + RIGHT)
    for each in (cut.left, cut.right):
        each.draw(paper, high + 18, floor)
    for each in (cut.pole, cut.base):
        each.draw(paper, 28, high - 64)
    _widths(cut, given, floor)
    _foot(cut, given, floor + 84)
    return paper


def _name(given: Section) -> str:
    """Say the section in words, with its main numbers."""
    said = [f"{given.name}, as-built section along the road, up-station to the right."]
    if given.widths:
        said.append(f"Shaft {span(given.widths.values())} wide, {inches(given.diameter)} on the plans.")
    if given.depths:
        least = show(min(given.depths.values()), "in", "feet_inches")
        said.append(f"Least depth {least}, ordered {show(given.depth, 'in', 'feet_inches')}.")
    if above := [each.above for each in given.bolts if each.above is not None]:
        said.append(f"{len(above)} bolts stand {span(above)} above the concrete.")
    if given.stub:
        said.append(
            f"{inches(given.stub.greatest)} left standing over the 60 in chord, limit {inches(given.stub.limit)}."
        )
    return " ".join(said)


# Earth, hole, concrete ----------------------------------------------------------------------------------------------


def _earth(cut: _Cut) -> None:
    """Draw finished grade, thin: its profile was not measured; the top of concrete was measured from it."""
    paper, (axis, y) = cut.paper, cut.view(0, 0)
    reach = max(cut.edge + 8, CHORD_IN / 2 + 2) * cut.view.across
    hole = cut.edge * cut.view.across
    for start, end in ((axis - reach, axis - hole), (axis + hole, axis + reach)):
        begin = max(start, 4)
        for step in range(int((end - begin - 4) // 14) + 1):
            paper.line((begin + 12 + 14 * step, y), (begin + 6 + 14 * step, y + 6), paint="s-rule-2", weight=0.7)
        paper.line((begin, y), (end, y), paint="s-line", weight=0.7)


def _bottom(given: Section) -> list[tuple[float, float]]:
    """Return the measured points of the bottom, from down-station on [in]."""
    half = float(given.widths.get("bottom", given.diameter)) / 2
    places = (("down-station", -half), ("centre", 0.0), ("up-station", half))
    return [(x, -float(given.depths[place])) for place, x in places if place in given.depths]


def _outline(cut: _Cut, given: Section) -> None:
    """Draw the hole, filled with concrete once it was poured: measured sides heavy, the plans' outline thin over them."""
    paper, view = cut.paper, cut.view
    top, half, deep = float(given.top or 0), float(given.diameter) / 2, float(given.depth)
    wide, narrow = (float(given.widths.get(each, given.diameter)) / 2 for each in ("top", "bottom"))
    bottom = _bottom(given) or [(-narrow, -deep), (narrow, -deep)]
    shape = [(-wide, top), (-narrow, bottom[0][1]), *bottom, (narrow, bottom[-1][1]), (wide, top)]
    poured = given.volume is not None or given.top is not None
    paper.area(*(view(*each) for each in shape), paint="f-void", fill="concrete" if poured else "")
    _short_of_depth(cut, given, bottom)
    paper.rect(*view(-half, 0), 2 * half * view.across, deep * view.up, "f-none s-line", 0.7)
    if {"top", "bottom"} <= given.widths.keys():
        for side in (-1, 1):
            end = bottom[0] if side < 0 else bottom[-1]
            paper.line(view(side * wide, top), view(side * narrow, end[1]), weight=1.8)
    if len(bottom) > 1 and given.depths:
        paper.line(*(view(*each) for each in bottom), weight=1.8)
    if given.top is not None:
        paper.line(view(-wide, top), view(wide, top), weight=1.8)
        cut.right.add(view(wide * 0.8, top), "top of concrete", f"{_signed(given.top)} to grade")
    if given.volume is not None:
        neat = f"{show(given.neat, 'yd3')} on the plans" if given.neat is not None else ""
        cut.left.add(view(-narrow * 0.93, bottom[0][1] * 0.9), f"concrete {show(given.volume, 'yd3')}", neat)


def _signed(value: Fraction) -> str:
    sign = "+" if value > 0 else "\N{MINUS SIGN}" if value < 0 else ""
    return sign + inches(abs(value))


def _short_of_depth(cut: _Cut, given: Section, bottom: list[tuple[float, float]]) -> None:
    """Hatch red what is missing of the depth ordered."""
    deep = -float(given.depth)
    if not given.shallow or max(y for _, y in bottom) <= deep:
        return
    found = [(bottom[0][0], max(bottom[0][1], deep))]
    for (x, y), (far, end) in pairwise(bottom):
        if (y - deep) * (end - deep) < 0:
            found.append((x + (far - x) * (deep - y) / (end - y), deep))
        found.append((far, max(end, deep)))
    points = [*found, (bottom[-1][0], deep), (bottom[0][0], deep)]
    cut.paper.area(*(cut.view(*each) for each in points), paint="s-red", weight=0.9, fill="over")


# Cage ---------------------------------------------------------------------------------------------------------------


def _cage(cut: _Cut, given: Section, cage: Cage) -> None:
    """Draw the cage where its cover puts it: turns at the pitch measured at each level, bars of measured length."""
    if cage.along is None or cage.length is None or cage.top_cover is None:
        return
    top = float(given.top or 0) - float(cage.top_cover)
    low, half, at = top - float(cage.length), float(cage.along) / 2, cage.off_centre("up-station", "down-station")
    _turns(cut, cage, (at - half, at + half), top, low)
    _bars(cut, cage, at, top, low)
    _covers(cut, given, cage, (at - half, at + half), top, low)
    left = cut.view(at - half + cage.spiral_in + cage.bar_in / 2, top - (top - low) * 0.42)
    cut.left.add(left, f"{cage.bars} bars No. {cage.bar_size}", feet_inches(cage.length))
    if cage.pitches:
        cut.right.add(
            cut.view(at + half, top - (top - low) * 0.5),
            f"spiral No. {cage.spiral_size}",
            span(cage.pitches.values()),
        )


def turn_heights(pitches: dict[str, float], tall: float) -> list[float]:
    """Return how far below the top of the cage each turn of the spiral passes one side [in].

    The pitch between two measured levels is taken on a straight line between them.
    """
    levels = sorted((LEVELS[place], pitch) for place, pitch in pitches.items() if place in LEVELS and pitch > 0)
    if not levels or tall <= 0:
        return []
    found = [0.0]
    while len(found) < MOST_TURNS:
        here = found[-1] + _between(levels, found[-1] / tall)
        if here > tall:
            break
        found.append(here)
    return found


def _between(levels: list[tuple[float, float]], at: float) -> float:
    """Return the pitch at a part of the height."""
    for (low, one), (high, other) in pairwise(levels):
        if low <= at <= high:
            return one + (other - one) * (at - low) / (high - low)
    return levels[0][1] if at < levels[0][0] else levels[-1][1]


def _turns(cut: _Cut, cage: Cage, sides: tuple[float, float], top: float, low: float) -> None:
    """Draw the far halves of the turns thin, the near halves heavier over them, and the flat turns at both ends."""
    view, paper = cut.view, cut.paper
    left, right = sides[0] + cage.spiral_in / 2, sides[1] - cage.spiral_in / 2
    heights = turn_heights({place: float(each) for place, each in cage.pitches.items()}, top - low)
    for paint, weight in (("s-conc", 0.6), ("s-ink", 1.1)):
        for one, other in pairwise(heights):
            middle = (one + other) / 2
            ends = ((right, middle), (left, other)) if paint == "s-conc" else ((left, one), (right, middle))
            paper.line(*(view(x, top - down) for x, down in ends), paint=paint, weight=weight)
    for place, start, way in (("top", top, -1), ("bottom", low, 1)):
        for turn in range(min(int(cage.flat.get(place, 0)), 6)):
            y = start + way * (turn + 0.5) * max(cage.spiral_in, 0.25) * 1.6
            paper.line(view(left, y), view(right, y), weight=1.2)


def _bars(cut: _Cut, cage: Cage, at: float, top: float, low: float) -> None:
    """Draw the bars evenly round the circle, as seen from the side; how many was counted, where they stand was not."""
    along = float(cage.along or 0)
    radius = along / 2 - cage.spiral_in - cage.bar_in / 2
    xs = {round(radius * math.cos(math.tau * each / cage.bars), 3) for each in range(cage.bars)} if cage.bars else set()
    for x in sorted(xs):
        outer = abs(x) > radius - 0.01
        weight = max(cage.bar_in * cut.view.across, 1.4) if outer else 1
        cut.paper.line(cut.view(at + x, top), cut.view(at + x, low), weight=weight)


def _covers(cut: _Cut, given: Section, cage: Cage, sides: tuple[float, float], top: float, low: float) -> None:
    """Dimension the side cover at both sides, and the cover under the bars."""
    wall = [float(given.widths.get(each, given.diameter)) / 2 for each in ("top", "bottom")]
    for place, side, column, part in (("down-station", -1, cut.left, 0.62), ("up-station", 1, cut.right, 0.68)):
        if place not in cage.covers:
            continue
        y = top - (top - low) * part
        outer = side * (wall[0] + (wall[1] - wall[0]) * part)
        start, end = cut.view(outer, y), cut.view(sides[0] if side < 0 else sides[1], y)
        short = cage.cover_limit is not None and cage.covers[place] < cage.cover_limit
        _ticked(cut.paper, start, end, short)
        column.add(((start[0] + end[0]) / 2, start[1]), f"{inches(cage.covers[place])} cover", bold=True, red=short)
    if cage.bottom_cover is not None:
        x = sides[1] - cage.spiral_in - cage.bar_in / 2
        start, end = cut.view(x, low), cut.view(x, low - float(cage.bottom_cover))
        _ticked(cut.paper, start, end, False)
        cut.right.add((start[0], (start[1] + end[1]) / 2), f"{inches(cage.bottom_cover)} under bars", bold=True)


def _ticked(paper: Paper, start: Point, end: Point, over: bool) -> None:
    """Draw a short dimension without words: they stand in the column."""
    paint = "s-red" if over else "s-ink"
    paper.line(start, end, paint=paint, weight=0.9)
    for x, y in (start, end):
        paper.line((x - 3, y + 3), (x + 3, y - 3), paint=paint, weight=1.2)


# Bolts, conduits, what stands on them -------------------------------------------------------------------------------


def _conduits(cut: _Cut, given: Section) -> None:
    """Draw the conduits upright at their distance from the centre line, broken off where their run begins."""
    for number, each in enumerate(given.conduits):
        x = float(each.off) * (-1 if number % 2 == 0 else 1)
        half, top = (each.size or 1.0) / 2, float(given.top or 0) + float(each.above or 0)
        low = -float(given.buried) if given.buried is not None else top - 12
        corners = [cut.view(x - half, low), cut.view(x - half, top), cut.view(x + half, top), cut.view(x + half, low)]
        cut.paper.area(*corners, paint="f-sheet")
        cut.paper.line(*corners, weight=1)
        _break(cut.paper, corners[0], corners[3])
    if given.conduits:
        first = given.conduits[0]
        x, above = -float(first.off), [each.above for each in given.conduits if each.above is not None]
        low = float(given.buried if given.buried is not None else 12)
        cut.left.add(
            cut.view(x, -low * 0.8),
            f"conduits {given.conduit_size}",
            f"{span(above)} above" if above else "",
            f"{span(each.off for each in given.conduits)} off",
        )


def _break(paper: Paper, start: Point, end: Point) -> None:
    """Draw a break line from point to point."""
    wide = (end[0] - start[0]) / 2
    paper.path(f"M{start[0]:.1f} {start[1]:.1f}q{wide / 2:.1f} -4 {wide:.1f} 0t{wide:.1f} 0", "f-none s-ink-2", 1)


def _across(given: Section, each: Bolt) -> float:
    """Return where a bolt of the base plan stands in the section."""
    return -each.x if given.mirrored else each.x


def _bolts(cut: _Cut, given: Section) -> None:
    """Draw the bolts in their true width, those on the far side of the road behind the others."""
    shown = [each for each in given.bolts if each.above is not None]
    if not shown or given.bolt_diameter is None:
        return
    top, weight = float(given.top or 0), float(given.bolt_diameter) * cut.view.across
    for each in sorted(shown, key=lambda bolt: bolt.y):
        head = top + float(each.above or 0)
        foot = head - float(each.length) if each.length is not None else top - 6
        paint = "s-ink" if each.y >= 0 else "s-conc"
        cut.paper.line(
            cut.view(_across(given, each), head), cut.view(_across(given, each), foot), paint=paint, weight=weight
        )
    first = min(shown, key=lambda bolt: _across(given, bolt))
    lengths = [each.length for each in shown if each.length is not None]
    long = f" × {span(lengths)}" if lengths and max(lengths) == min(lengths) else ""
    cut.left.add(
        cut.view(_across(given, first), top - 5),
        f"bolts {inches(given.bolt_diameter)}{long}",
        f"{span(each.above for each in shown if each.above is not None)} above",
        f"grade {given.bolt_grade}" if given.bolt_grade else "",
    )


def _foot_of_base(given: Section) -> float:
    """Return half the width of a base's outline [in]."""
    return max([abs(each.x) for each in given.bolts] or [float(given.diameter) / 4]) + BEYOND


def _standing(cut: _Cut, given: Section) -> None:
    """Draw base and pole as dashed outlines, broken off: they were set, their sizes are not on file."""
    top, foot = float(given.top or 0), _foot_of_base(given)
    rise = 44 / cut.view.up
    if given.base:
        left, right = ((-foot, top), (-foot * 0.78, top + rise)), ((foot, top), (foot * 0.78, top + rise))
        for side in (left, right):
            cut.paper.line(*(cut.view(*each) for each in side), paint="s-ink-2", weight=1.2, dash=DASHED)
        cut.paper.line(cut.view(*left[1]), cut.view(*right[1]), paint="s-ink-2", weight=1.2, dash=DASHED)
        torque = f"{span(given.torques, 'ft-lb')}" if given.torques else ""
        cut.base.add(cut.view(foot * 0.78, top + rise), given.base, torque)
    if given.pole:
        _pole(cut, given.pole, foot * 0.42, top + rise)
    cut.paper.axis(
        (cut.view(0, 0)[0], 12 if given.pole else cut.view(0, top)[1] - 26), cut.view(0, -float(given.depth) - 5)
    )


def _pole(cut: _Cut, pole: Pole, half: float, foot: float) -> None:
    end = foot + 58 / cut.view.up
    for side in (-half, half):
        cut.paper.line(cut.view(side, foot), cut.view(side, end), paint="s-ink-2", weight=1.2, dash=DASHED)
    _break(cut.paper, cut.view(-half, end), cut.view(half, end))
    height = f"pole {show(pole.height_ft, 'ft')}" if pole.height_ft is not None else "pole"
    leans = [f"{show(each, 'deg')} {place.split()[0]}" for place, each in pole.leans.items()]
    cut.pole.add(cut.view(-half, foot + 22 / cut.view.up), height, f"lean {', '.join(leans)}" if leans else "")


def _chord(cut: _Cut, stub: Stub) -> None:
    """Draw the chord from ground to ground, the limit over it, and what stands over it in this plane."""
    paper, view, half = cut.paper, cut.view, CHORD_IN / 2
    limit = float(stub.limit)
    over = stub.greatest > stub.limit
    paper.line(view(-half, 0), view(half, 0), paint="s-line", weight=0.9)
    paper.line(view(-half, limit), view(half, limit), paint="s-ink", weight=1.1, dash="6 3")
    for x in (-half, half):
        paper.line(view(x, 0), view(x, 8), paint="s-ink-2", weight=0.7)
    paper.dimension(view(-half, CHORD_WORDS), view(half, CHORD_WORDS), "60 in chord", kind="plan", shift=-0.33)
    foot = cut.edge * 0.42
    if stub.along is not None:
        height = float(stub.along)
        if height > limit:
            (left, top), (right, low) = view(-foot, height), view(foot, limit)
            paper.rect(left, top, right - left, low - top, "s-red", 0.9, fill="over")
        paper.line(view(-foot, height), view(foot, height), paint="s-red" if height > limit else "s-ink", weight=2.2)
    other = stub.where != "along the road"
    x, y = view(half, 0)
    rows: Iterable[tuple[str, bool, str]] = (
        (f"stub {inches(stub.greatest)}", True, "f-red" if over else "f-ink"),
        (stub.where, False, "f-ink-2"),
        (f"{inches(stub.along)} along the road" if other and stub.along is not None else "", False, "f-ink-2"),
        (f"limit {inches(stub.limit)}", False, "f-ink-2"),
    )
    for number, (words, bold, paint) in enumerate(row for row in rows if row[0]):
        paper.text((x + 8, y - 46 + 14 * number), words, bold=bold, paint=paint, size=WORDS, patch=True)


# Dimensions and foot ------------------------------------------------------------------------------------------------


def _depths(cut: _Cut, given: Section, x: float) -> None:
    """Dimension the least depth measured, and outside of it the depth ordered."""
    paper, view = cut.paper, cut.view
    (_, top), deep = view(0, 0), view(0, -float(given.depth))[1]
    edge = view(cut.edge, 0)[0] + 6
    _extend(paper, (edge, top), (x + 72, top))
    _extend(paper, (edge, deep), (x + 72, deep))
    paper.dimension((x + 66, top), (x + 66, deep), feet_inches(given.depth), kind="plan", shift=0.12)
    paper.text(
        (x + 66, top + (deep - top) * 0.62 + 18), "ordered", anchor="middle", paint="f-line", size=11, patch=True
    )
    if given.depths:
        least = min(given.depths.values())
        low = view(0, -float(least))[1]
        _extend(paper, (edge, low), (x + 26, low))
        kind = "over" if given.shallow else "built"
        paper.dimension((x + 20, top), (x + 20, low), feet_inches(least), kind=kind, shift=-0.12)
        paper.text(
            (x + 20, top + (low - top) * 0.38 + 18), "least", anchor="middle", paint="f-ink-2", size=11, patch=True
        )


def _extend(paper: Paper, start: Point, end: Point) -> None:
    paper.line(start, end, paint="s-ink-2", weight=0.5)


def _widths(cut: _Cut, given: Section, floor: float) -> None:
    """Dimension the width on the plans, and under it the width measured at the bottom, with that at the top in words."""
    paper, view, half = cut.paper, cut.view, float(given.diameter) / 2
    left, right = view(-half, 0)[0], view(half, 0)[0]
    paper.dimension((left, floor + 24), (right, floor + 24), feet_inches(given.diameter), kind="plan")
    paper.text((right + 12, floor + 28), "plan", paint="f-line", size=WORDS)
    place = next((each for each in ("bottom", "top") if each in given.widths), "")
    if place:
        width = given.widths[place]
        left, right = view(-float(width) / 2, 0)[0], view(float(width) / 2, 0)[0]
        kind = "over" if given.narrow and width < given.diameter else "built"
        paper.dimension((left, floor + 48), (right, floor + 48), feet_inches(width), kind=kind)
        also = f", {feet_inches(given.widths['top'])} at the top" if place == "bottom" and "top" in given.widths else ""
        paper.text((right + 12, floor + 52), f"at the {place}{also}", paint="f-ink-2", size=WORDS)


def _foot(cut: _Cut, given: Section, y: float) -> None:
    """Draw the scale bar, the keys and the way up-station."""
    paper = cut.paper
    paper.scale_bar((10, y), 24 * cut.view.across, "2 ft")
    keys = [("plan", "s-line", 0.7, "", 0.0, 0.0), ("as measured", "s-ink", 1.8, "", 64.0, 0.0)]
    if given.base or given.pole:
        keys.append(("outline, size not on file", "s-ink-2", 1.2, DASHED, 0.0, 18.0))
    for words, paint, weight, dash, across, down in keys:
        x = paper.width - 196 + across
        paper.line((x, y + down), (x + 22, y + down), paint=paint, weight=weight, dash=dash)
        paper.text((x + 28, y + down + 4), words, paint="f-ink-2", size=WORDS)
    paper.text((paper.width - 34, 16), "up-station", anchor="end", paint="f-ink-2", size=WORDS)
    paper.line((paper.width - 30, 12), (paper.width - 8, 12), weight=1, end="arrow")
