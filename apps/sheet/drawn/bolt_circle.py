"""Drawings of anchor bolts: their circle against the plans, the room in the holes, a template's chords, a bolt's lean."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

from apps.calc.bolt_circle import BoltCircle, Lean, Template
from apps.calc.working import number_text
from apps.sheet.drawn import Drawing, Table
from apps.sheet.drawn.chart import Chart
from apps.sheet.drawn.paper import DASHED, Paper, Point, View, nice_step, text_width

MINUS = "\N{MINUS SIGN}"
NAMED, NUMBERED = 6, 24
"""Up to so many bolts each gets its words, or its number; of more, only the worst."""
FINE_IN = 0.0005
"""Nothing smaller than so much off nominal is shown: the last figure that is written."""
STEEL = 6.0
"""Radius of a bolt of a template, on the paper."""


def thousandths(value: float) -> str:
    """Write a length with its sign, to the thousandth of an inch."""
    text = f"{value:+.3f}"
    return "0.000" if float(text) == 0 else text.replace("-", MINUS)


def enlarged(relief: float, across: float, room: float) -> float:
    """Return how many times a small length is enlarged to use the room: 1, 2 or 5 times a power of ten, 1 at least."""
    if relief * across <= 0:
        return 20.0
    most = room / (relief * across)
    if most < 1:
        return 1.0
    power = 10.0 ** math.floor(math.log10(most) + 1e-9)
    return next(each * power for each in (5, 2, 1) if each * power <= most * (1 + 1e-9))


def _bar(paper: Paper, at: Point, scale: float, words: str, longest: float = 90) -> None:
    """Draw a scale bar of a round length that is at most so long."""
    step = nice_step(longest / scale, 1) / 2
    paper.scale_bar(at, step * scale, f"{number_text(step)} {words}")


def _room(values: Mapping[str, Any]) -> float | None:
    bolt, hole = values.get("bolt_diameter"), values.get("hole_diameter")
    return None if bolt is None or hole is None else (float(hole) - float(bolt)) / 2


def _middle(points: Sequence[Point]) -> Point:
    return sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points)


# Measured bolts -----------------------------------------------------------------------------------------------------


def plan(values: Mapping[str, Any], result: BoltCircle) -> Paper:
    """Draw the bolts from above: the plans' pattern thin, what was measured heavy, all that is off nominal enlarged."""
    nominal, room = float(values["nominal"]), _room(values)
    paper = Paper(
        420,
        400,
        f"Bolts from above. Circle as measured {result.bolt_circle:.3f} in, on the plans {number_text(nominal)} in; "
        f"bolt {_worst(result)} is the worst, {result.worst:.3f} in off its place.",
    )
    centre = _middle(result.places)
    reach = max(result.bolt_circle / 2, *(math.dist(centre, each) for each in result.points))
    scale = min(190 / nominal, 125 / reach)
    opened = _Opened(View(*centre, 210, 176, scale, scale), result, room)
    paper.axis((84, 176), (336, 176))
    paper.axis((210, 54), (210, 298))
    paper.circle((210, 176), nominal / 2 * scale, "f-none s-line", 0.7)
    paper.circle(opened(centre, (result.x, result.y)), opened.radius(nominal), "f-none s-ink", 1.7)
    for index in range(len(result.points)):
        _bolt(paper, opened, index)
        _bolt_words(paper, opened, index)
    paper.text((210, 168), f"{result.bolt_circle:.3f} in measured", anchor="middle", bold=True, patch=True)
    paper.text((210, 193), f"{number_text(nominal)} in on the plans", anchor="middle", paint="f-line", patch=True)
    _bar(paper, (20, 364), opened.view.across, "in")
    if opened.times > 1:
        words = f"in off nominal, drawn {number_text(opened.times)} times"
        _bar(paper, (20, 388), opened.view.across * opened.times, words)
    if room is not None:
        paper.circle((262, 364), 6, "f-none s-red", 0.9, "3 2")
        paper.text((274, 368), "room in the hole", paint="f-ink-2")
    return paper


class _Opened:
    """A plan to scale on which whatever is off nominal is drawn so many times as large."""

    def __init__(self, view: View, result: BoltCircle, room: float | None) -> None:
        self.view, self.result, self.room = view, result, room
        widest = max(result.worst, abs(result.off_nominal) / 2, room or 0)
        self.times = enlarged(widest, view.across, 30) if widest > FINE_IN else 1.0

    def __call__(self, place: Point, found: Point) -> Point:
        """Return where something found stands, its distance from its place enlarged."""
        (x, y), (at_x, at_y) = self.view(*place), self.view(*found)
        return x + (at_x - x) * self.times, y + (at_y - y) * self.times

    def radius(self, nominal: float) -> float:
        """Return the radius of the circle as measured, at least a dot."""
        return max((nominal + self.result.off_nominal * self.times) / 2 * self.view.across, 2)


def _worst(result: BoltCircle) -> int:
    return list(result.errors).index(result.worst) + 1


def _over(room: float | None, off: float) -> bool:
    return room is not None and off > room


def _bolt(paper: Paper, opened: _Opened, index: int) -> None:
    """Draw a bolt's place, the room that its hole leaves round it, and where its centre was measured."""
    result, room = opened.result, opened.room
    place, found = opened.view(*result.places[index]), opened(result.places[index], result.points[index])
    if room is not None:
        paper.circle(place, room * opened.view.across * opened.times, "f-none s-red", 0.9, "3 2")
    for x, y in ((6, 0), (0, 6)):
        paper.line((place[0] - x, place[1] - y), (place[0] + x, place[1] + y), paint="s-line", weight=0.7)
    over = _over(room, result.errors[index])
    paper.line(place, found, paint="s-red" if over else "s-ink", weight=1)
    if over:
        paper.circle(found, 6.5, "s-red", 1.2, fill="over")
    paper.dot(found, 3.6, "f-red" if over else "f-ink")


def _bolt_words(paper: Paper, opened: _Opened, index: int) -> None:
    """Write a bolt's number, how far it is off its place, and how far outside its own circle, outward of it."""
    result = opened.result
    count, off = len(result.points), result.errors[index]
    full = count <= NAMED or index + 1 == _worst(result)
    if count > NUMBERED and not full:
        return
    at = opened.view(*result.places[index])
    if math.dist(at, (210, 176)) < 60:
        at = opened(result.places[index], result.points[index])
    away = math.atan2(at[1] - 176, at[0] - 210)
    side, down = math.cos(away), math.sin(away)
    words = f"{index + 1}: {off:.3f} in off" if full else str(index + 1)
    anchor, wide = "middle" if abs(side) < 0.3 else "start" if side > 0 else "end", text_width(words, bold=True) * 1.08
    x, y = (
        at[0] + (48 if full else 44) * side,
        at[1] + (52 * down + (2 if down > 0 else -12) if full else 44 * down + 4),
    )
    x = min(x, 416 - wide) if anchor == "start" else max(x, wide + 4) if anchor == "end" else x
    paper.text(
        (x, y), words, anchor=anchor, bold=True, paint="f-red" if _over(opened.room, off) else "f-ink", patch=True
    )
    if count <= NAMED:
        beside = result.residuals[index]
        words = (
            f"{abs(beside):.3f} {'outside' if beside > 0 else 'inside'}" if abs(beside) > FINE_IN else "on its circle"
        )
        paper.text((x, y + 16), words, anchor=anchor, paint="f-ink-2", patch=True)


def _bolt_axis(count: int, room: float) -> tuple[tuple[float, float], dict[float, str]]:
    """Return the range of an axis of bolts, with room for words after the last, and the names on it."""
    step = max(1, math.ceil(count / 14))
    return (0.4, count + 0.6 + count * room), {float(each): str(each) for each in range(1, count + 1, step)}


def offsets(values: Mapping[str, Any], result: BoltCircle) -> Paper:
    """Draw how far each bolt is off its place, against the room in the holes where both diameters are given."""
    room, worst, count = _room(values), result.worst, len(result.errors)
    spare = "" if room is None else f" The holes leave {room:.3f} in."
    paper = Paper(420, 280, f"Bolt {_worst(result)} is {worst:.3f} in off its place, the most of {count}.{spare}")
    across, names = _bolt_axis(count, 0 if room is None else 0.34)
    top = max(worst, room or 0) * 1.25
    chart = Chart(paper, across, (0, top if top > FINE_IN else 0.01), "bolt", "off its place, in", x_words=names)
    if room is not None:
        chart.limit(room, f"room {room:.3f} in")
    for number, off in enumerate(result.errors, 1):
        over = _over(room, off)
        chart.bar(number, min(off, room) if over and room is not None else off, 0.6)
        if over and room is not None:
            chart.bar(number, off, 0.6, "s-red", "over", floor=room)
        if count <= NAMED or number == _worst(result):
            _bar_words(chart, number, off, over)
    return paper


def _bar_words(chart: Chart, number: int, off: float, over: bool) -> None:
    """Write a bar's value in its top, or above it where it is red or too low for words."""
    x, y = chart.at(number, off)
    if over or y > chart.at(number, 0)[1] - 24:
        chart.label(number, off, f"{off:.3f}", anchor="middle", dx=0, dy=-5, paint="f-red" if over else "f-ink")
    else:
        chart.paper.text((x, y + 16), f"{off:.3f}", anchor="middle", bold=True, paint="f-sheet", size=12)


def size(values: Mapping[str, Any], result: BoltCircle) -> Paper:
    """Draw the circle as measured between the limits of the plans, with each bolt inside or outside of it."""
    off, allowed, count = result.off_nominal, float(values["tolerance"]), len(result.points)
    reach = [2 * each + off for each in result.residuals]
    high = max(*map(abs, reach), abs(off), allowed) * 1.3
    over = abs(off) > allowed + 1e-9
    paper = Paper(
        420,
        280,
        f"Bolt circle {thousandths(off)} in from nominal, {'beyond' if over else 'within'} plus and minus {allowed:.3f} in.",
    )
    high = high if high > FINE_IN else 0.01
    across, names = _bolt_axis(count, 0.34)
    chart = Chart(paper, across, (-high, high), "bolt", "diameter less nominal, in", x_words=names)
    chart.band(-allowed, allowed)
    if over:
        edge = math.copysign(allowed, off)
        chart.band(min(off, edge), max(off, edge), "s-red", "over")
    chart.limit(allowed, f"{thousandths(allowed)} in", first=True)
    chart.limit(-allowed, f"{thousandths(-allowed)} in", first=True)
    chart.curve([(across[0], 0), (across[1], 0)], paint="s-line", weight=0.7)
    chart.curve([(across[0], off), (across[1], off)], paint="s-red" if over else "s-ink", weight=1.8)
    for number, each in enumerate(reach, 1):
        chart.curve([(number, off), (number, each)], weight=0.9)
        paper.dot(chart.at(number, each))
    x, y = chart.at(across[1], off)
    words, paint = f"circle {thousandths(off)} in", "f-red" if over else "f-ink"
    paper.text((x, y + (-7 if off >= 0 else 18)), words, anchor="end", bold=True, paint=paint, patch=True)
    return paper


def bolts(values: Mapping[str, Any], result: BoltCircle) -> Table:
    """Return what was found of each bolt."""
    rows = zip(result.points, result.places, result.errors, result.residuals, strict=True)
    return Table(
        "Each bolt",
        ("Bolt", "Measured at, in", "Its place, in", "Off its place, in", "Outside its circle, in"),
        tuple(
            (str(number), _pair(found), _pair(place), f"{off:.3f}", thousandths(outside))
            for number, (found, place, off, outside) in enumerate(rows, 1)
        ),
    )


def _pair(point: Point) -> str:
    return f"{point[0]:.3f}, {point[1]:.3f}".replace("-", MINUS)


# Template -----------------------------------------------------------------------------------------------------------


def chords(values: Mapping[str, Any], result: Template) -> Paper:
    """Draw the template: every bolt, and the chords from the first to each other one."""
    count, radius = round(values["count"]), float(values["bolt_circle"]) / 2
    paper = Paper(
        420,
        340,
        f"{count} bolts on {number_text(values['bolt_circle'])} in: {number_text(result.side, 5)} in from one to the next, "
        f"{number_text(result.diagonal, 5)} in at most.",
    )
    view = View.fit((-radius, radius), (-radius, radius), (95, 40, 230, 230))
    first = math.pi / 2 + math.pi / count
    places = [
        (radius * math.cos(first - math.tau * each / count), radius * math.sin(first - math.tau * each / count))
        for each in range(count)
    ]
    paper.circle(view(0, 0), radius * view.across, "f-none s-line", 0.7, DASHED)
    paper.area(*(view(*each) for each in places), paint="f-none s-line", weight=0.7)
    for start, end in (((-1.1, 0), (1.1, 0)), ((0, -1.1), (0, 1.1))):
        paper.axis(view(start[0] * radius, start[1] * radius), view(end[0] * radius, end[1] * radius))
    for step in range(len(result.chords), 0, -1):
        ends = step in (1, len(result.chords))
        paper.line(view(*places[0]), view(*places[step]), weight=1.8 if ends else 0.9)
    for index, place in enumerate(places):
        _template_bolt(paper, view, index, place, count)
    _chord_words(paper, view, places, result)
    _bar(paper, (20, 326), view.across, "in")
    paper.text((400, 330), f"bolt circle {number_text(values['bolt_circle'])} in", anchor="end", paint="f-line")
    return paper


def _template_bolt(paper: Paper, view: View, index: int, place: Point, count: int) -> None:
    at = view(*place)
    paper.circle(at, STEEL if count <= NUMBERED else 3, "f-sheet s-ink", 1.6)
    if count <= NUMBERED or index == 0:
        away = math.atan2(-place[1], place[0])
        paper.text(
            (at[0] + 19 * math.cos(away), at[1] + 19 * math.sin(away) + 4), str(index + 1), anchor="middle", bold=True
        )


def _chord_words(paper: Paper, view: View, places: Sequence[Point], result: Template) -> None:
    """Write a chord's length on it: the shortest and the longest, and those between where there is room."""
    last = len(result.chords)
    shown = range(1, last + 1) if last <= 3 else (1, last)
    for step in shown:
        start, end = view(*places[0]), view(*places[step])
        part = 0.5 if step == 1 else 0.64
        at = start[0] + (end[0] - start[0]) * part, start[1] + (end[1] - start[1]) * part
        words = f"{number_text(result.chords[step - 1], 5)} in"
        if step == 1 and math.dist(start, end) < text_width(words, bold=True) + 40:
            paper.leader((at[0], at[1] - 1), (286, 16))
            paper.text((290, 20), words, bold=True)
        else:
            paper.text((at[0], at[1] + 4), words, anchor="middle", bold=True, patch=True)


def chord_table(values: Mapping[str, Any], result: Template) -> Table:
    """Return every chord from the first bolt."""
    return Table(
        "Chords from bolt 1",
        ("To bolt", "Chord, in"),
        tuple((str(step + 1), number_text(chord)) for step, chord in enumerate(result.chords, 1)),
    )


# Lean ---------------------------------------------------------------------------------------------------------------


def lean_side(values: Mapping[str, Any], result: Lean) -> Paper:
    """Draw the bolt from the side that shows all of its lean, sideways enlarged, against the steepest allowed."""
    length = float(values["length"])
    off, allowed = result.slope * length, length / float(values["one_in"])
    up = min(212 / length, 150 / max(off, allowed))
    times = enlarged(max(off, allowed), up, 150)
    leans = "plumb" if result.one_in is None else f"1 in {number_text(result.one_in, 3)}"
    paper = Paper(
        420,
        320,
        f"Bolt from the side, sideways drawn {number_text(times)} times: {leans} over {number_text(length)} in; "
        f"1 in {number_text(values['one_in'], 3)} allowed.",
    )
    foot, top = (150.0, 272.0), 272 - length * up
    tip, limit = foot[0] + off * up * times, foot[0] + allowed * up * times
    paper.area(foot, (foot[0], top), (limit, top), paint="f-line-3")
    paper.axis(foot, (foot[0], top - 14))
    paper.text((foot[0] - 8, top + 14), "plumb", anchor="end", paint="f-line")
    paper.ground(30, 390, foot[1])
    paper.line(foot, (tip, top), weight=3.4)
    if not result.conforms:
        paper.area(foot, (limit, top), (tip, top), paint="s-red", weight=0.9, fill="over")
    paper.line(foot, (limit, top), paint="s-red", weight=1.2, dash=DASHED)
    _lean_words(paper, (max(tip, limit) + 12, top), leans, off, allowed, result.conforms)
    paper.dimension((62, foot[1]), (62, top), f"{number_text(length)} in", kind="plan")
    _bar(paper, (24, 308), up * times, f"in sideways, {number_text(times)} times", 70)
    high = nice_step(28 / up, 1) / 2
    paper.height_bar((330, 312), high * up, f"{number_text(high)} in up")
    return paper


def _lean_words(paper: Paper, at: Point, leans: str, off: float, allowed: float, conforms: bool) -> None:
    x, y, paint = at[0], min(at[1], 200), "f-ink" if conforms else "f-red"
    paper.text((x, y + 6), leans, bold=True, paint=paint)
    if off:
        paper.text((x, y + 22), f"{number_text(off, 3)} in", paint=paint)
    paper.text((x, y + 46), f"{number_text(allowed, 3)} in allowed", bold=True, paint="f-red")


def lean_plan(values: Mapping[str, Any], result: Lean) -> Paper:
    """Draw from above where the top of the bolt stands from its foot, against the circle that is allowed."""
    along, across, length = (float(values[each]) for each in ("along", "across", "length"))
    allowed, off = length / float(values["one_in"]), result.slope * length
    widest = max(allowed, off)
    paper = Paper(
        420,
        320,
        f"Top of the bolt from above: {number_text(along, 3)} in along, {number_text(across, 3)} in across; "
        f"{number_text(allowed, 3)} in allowed.",
    )
    view = View.fit((-widest, widest), (-widest, widest), (100, 40, 220, 220))
    foot, tip = view(0, 0), view(along, across)
    paper.circle(foot, allowed * view.across, "f-line-3 s-red", 1.2, DASHED)
    for end, words in (((1.16, 0), "along"), ((0, 1.16), "across")):
        paper.axis(view(-end[0] * widest, -end[1] * widest), view(end[0] * widest, end[1] * widest))
        x, y = view(end[0] * widest, end[1] * widest)
        paper.text((x + 6, y + (4 if end[0] else 2)), words, paint="f-line")
    paint = "ink" if result.conforms else "red"
    if along and across:
        paper.line(tip, view(along, 0), paint="s-ink-2", weight=0.7)
        paper.line(tip, view(0, across), paint="s-ink-2", weight=0.7)
    if off:
        paper.line(foot, tip, paint=f"s-{paint}", weight=1.8)
    if not result.conforms:
        _beyond(paper, view, (along, across), allowed, off)
    paper.diamond(tip, 6, f"f-{paint}")
    paper.dot(foot, 3)
    _tip_words(paper, foot, tip, f"{number_text(off, 3)} in", f"f-{paint}")
    paper.text((20, 276), f"allowed {number_text(allowed, 3)} in all round", bold=True, paint="f-red")
    _bar(paper, (20, 306), view.across, "in")
    return paper


def _beyond(paper: Paper, view: View, tip: Point, allowed: float, off: float) -> None:
    """Hatch a strip from the circle that is allowed to the top of the bolt."""
    part, wide = allowed / off, 7 / view.across
    aside = -tip[1] / off * wide, tip[0] / off * wide
    ends = [(tip[0] * part, tip[1] * part), tip]
    corners = [(x + aside[0], y + aside[1]) for x, y in ends] + [(x - aside[0], y - aside[1]) for x, y in ends[::-1]]
    paper.area(*(view(*each) for each in corners), paint="s-red", weight=0.9, fill="over")


def _tip_words(paper: Paper, foot: Point, tip: Point, words: str, paint: str) -> None:
    right = tip[0] >= foot[0]
    y = tip[1] + (-10 if tip[1] <= foot[1] else 20)
    paper.text(
        (tip[0] + (9 if right else -9), y),
        words,
        anchor="start" if right else "end",
        bold=True,
        paint=paint,
        patch=True,
    )


DRAWINGS = {
    "bolt_circle": (
        Drawing("Bolts against the plans", "what is off nominal enlarged", plan),
        Drawing("Off their places", "", offsets),
        Drawing("Size of the circle", "", size),
    ),
    "bolt_circle.template": (Drawing("The template", "to scale", chords),),
    "bolt_circle.lean": (
        Drawing("From the side", "sideways enlarged", lean_side),
        Drawing("From above", "to scale", lean_plan),
    ),
}

TABLES = {"bolt_circle": (bolts,), "bolt_circle.template": (chord_table,)}
