"""Drawings along an alignment: the line and a place on it, curves with and without spirals, a bolt pair against the road."""

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

from apps.calc.alignment import (
    Alignment,
    CircularCurve,
    Orientation,
    Place,
    SpiralledCurve,
    build,
    joints,
    line_from_text,
    write_station,
)
from apps.calc.alignment.circular import signed_station
from apps.calc.alignment.places import aside
from apps.calc.working import number_text
from apps.sheet.drawn import Drawing
from apps.sheet.drawn.paper import CHAIN, DASHED, Paper, Point, View, nice_step, number, text_width
from apps.sheet.drawn.words import Words

LINE = ("elements", "equations", "start_station", "start_e", "start_n", "start_bearing_deg")
"""The inputs that make an alignment."""
BENT = 32
"""A curve or a spiral is drawn through so many places."""
OPENED = (6, 4, 2, 1)
"""How many times the angle of a bolt pair is opened, the most that stays under STEEPEST."""
STEEPEST = 84.0
LEAST_SCALE = 3.0
"""The scale of an angle reaches so many degrees to both sides at least."""


def _line(values: Mapping[str, Any]) -> Alignment:
    return line_from_text(**{name: values[name] for name in LINE if name in values})


def _along(line: Alignment, start: float, end: float, parts: int) -> list[Point]:
    """Return east and north of evenly spaced places from one distance to another."""
    steps = [start + (end - start) * each / parts for each in range(parts + 1)]
    return [(float(e), float(n)) for e, n in line.points(steps)]


def _ways(bearing_deg: float) -> tuple[Point, Point]:
    """Return the directions ahead and to the right of a bearing, as east and north."""
    turn = math.radians(bearing_deg)
    return (math.sin(turn), math.cos(turn)), (math.cos(turn), -math.sin(turn))


def _bar(paper: Paper, at: Point, scale: float, unit: str = "ft", longest: float = 110) -> None:
    step = nice_step(longest / scale, 1) / 2
    paper.scale_bar(at, step * scale, f"{number_text(step)} {unit}")


def _north(paper: Paper, at: Point) -> None:
    x, y = at
    paper.line((x, y), (x, y - 30), weight=1.2, end="arrow")
    paper.text((x, y - 35), "N", anchor="middle", bold=True)


def _both(way: Point, *lengths: float) -> list[Point]:
    """Return steps on the paper along a way on the ground and against it, the nearest first."""
    return [(way[0] * sign * long, -way[1] * sign * long) for long in lengths for sign in (1, -1)]


def _drawn(times: float) -> str:
    return f", drawn {number_text(times)} times" if times > 1 else ", to the same scale"


# The line and a place on it -----------------------------------------------------------------------------------------


def line_plan(values: Mapping[str, Any], result: Place) -> Paper:
    """Draw the whole line with its stations, where its elements join, its equations, and where the place lies."""
    line = _line(values)
    paper, words, view = _laid(
        line,
        f"The line from above, north up, {number_text(line.length)} ft long. "
        f"The place is at {result.station}, {aside(result.offset)}.",
        (result.e, result.n),
    )
    _the_place(paper, words, view, line, result)
    _equations(paper, words, view, line)
    _joints(paper, words, view, line)
    _stations(paper, words, view, line)
    return paper


def whole_line(line: Alignment, streets: Sequence[tuple[float, str]] = ()) -> Paper:
    """Draw the whole line: where its elements join with their stations, its equations, the streets that cross it [ft along]."""
    found = joints(line)
    paper, words, view = _laid(
        line,
        f"The line from above, north up, from {found[0].station} to {found[-1].station}, {number_text(line.length)} ft long, "
        f"elements: {len(line.elements)}, station equations: {len(line.equations)}, cross streets: {len(streets)}.",
    )
    _joints(paper, words, view, line)
    for each in found:
        at, (_, right) = view(each.e, each.n), _ways(each.bearing_deg)
        words.write(at, f"{each.name} {each.station}", _both(right, 22, 36, 50, 64), paint="f-ink", bold=True)
    _equations(paper, words, view, line)
    for distance, name in streets:
        at, (_, right) = view(*line.point(distance)), _ways(line.bearing(distance))
        _tick(paper, at, right, 14)
        words.write(at, name, _both(right, 24, 38, 52, 66, 80), paint="f-line")
    _stations(paper, words, view, line, ends_named=False)
    return paper


def _laid(line: Alignment, name: str, *more: Point) -> tuple[Paper, Words, View]:
    """Begin a drawing of a whole line, north up, with room for `more` places: its course, north arrow and scale bar."""
    course = [
        _along(line, float(start), float(end), 1 if each.kind == "tangent" else BENT)
        for each, (start, end) in zip(line.elements, pairwise(line.joints), strict=True)
    ]
    xs, ys = zip(*(point for part in course for point in part), *more, strict=True)
    tall = min(max(740 * (max(ys) - min(ys)) / ((max(xs) - min(xs)) or 1), 60), 340)
    paper = Paper(860, tall + 130, name)
    view = View.fit(xs, ys, (60, 56, 740, tall))
    words = Words(paper)
    for part in course:
        paper.line(*(view(*point) for point in part), weight=1.8)
        words.keep(view(*point) for point in part)
    words.keep([(810, 20), (830, 80)])
    _north(paper, (826, 70))
    _bar(paper, (24, tall + 112), view.across)
    return paper, words, view


def _the_place(paper: Paper, words: Words, view: View, line: Alignment, result: Place) -> None:
    at, (_, right) = view(result.e, result.n), _ways(result.bearing_deg)
    side = -1 if result.offset < 0 else 1
    paper.diamond(at, 6)
    words.off(at, 8)
    ways = _both((right[0] * side, right[1] * side), 24, 40, 60)
    words.write(at, f"{result.station}, {aside(result.offset)}", ways, bold=True, paint="f-ink", must=True)


def _equations(paper: Paper, words: Words, view: View, line: Alignment) -> None:
    for part, equation in zip(line.parts, line.equations, strict=False):
        at, (_, right) = view(*line.point(part.end)), _ways(line.bearing(part.end))
        for shift in (-1.6, 1.6):
            _tick(paper, (at[0] + shift * right[1], at[1] + shift * right[0]), right, 11)
        named = f"{write_station(equation.back)} = {write_station(equation.ahead)}"
        words.write(at, named, _both(right, 22, 36, 50), paint="f-ink")


def _joints(paper: Paper, words: Words, view: View, line: Alignment) -> None:
    """Mark where elements join, and write the radius of every curve on its inside."""
    for joint in line.joints[1:-1]:
        paper.circle(view(*line.point(joint)), 3, "f-sheet s-ink", 1.2)
    for each, (start, end) in zip(line.elements, pairwise(line.joints), strict=True):
        if each.kind != "curve" or each.radius_in is None:
            continue
        middle = (start + end) / 2
        at, (_, right) = view(*line.point(middle)), _ways(line.bearing(middle))
        inward = -1 if each.turn == "left" else 1
        ways = [(right[0] * inward * long, -right[1] * inward * long) for long in (20, 34, 48)]
        words.write(at, f"R {float(each.radius_in):,.0f} ft", ways, paint="f-line")


def _stations(paper: Paper, words: Words, view: View, line: Alignment, *, ends_named: bool = True) -> None:
    """Draw a tick at round stations, and write those that have room, the ends of the line first if they bear no name yet."""
    step = max(round(nice_step(float(line.length) / 100, 14)), 1) * 100
    ends, near = [0.0, float(line.length)], 16 / view.across
    round_ones = [
        float(part.start) + each - float(part.first)
        for part in line.parts
        for each in range(math.ceil(part.first / step) * step, math.floor(part.last) + 1, step)
    ]
    for at in ends + [each for each in round_ones if near < each < ends[1] - near]:
        place, (_, right) = view(*line.point(at)), _ways(line.bearing(at))
        _tick(paper, place, right, 7 if at in ends else 5)
        if ends_named or at not in ends:
            words.write(place, write_station(line.label(at)).removesuffix(".00"), _both(right, 18, 30))


def _tick(paper: Paper, at: Point, right: Point, half: float) -> None:
    paper.line(
        (at[0] - right[0] * half, at[1] + right[1] * half), (at[0] + right[0] * half, at[1] - right[1] * half), weight=1
    )


def near_plan(values: Mapping[str, Any], result: Place) -> Paper:
    """Draw the place and its foot on the line, the tangent there, and the offset between them."""
    line, reach = _line(values), max(abs(result.offset) * 0.8, 10.0)
    (ahead, right), offset = _ways(result.bearing_deg), result.offset
    foot = result.e - right[0] * offset, result.n - right[1] * offset
    middle = foot[0] + right[0] * offset / 2, foot[1] + right[1] * offset / 2
    paper = Paper(
        420,
        400,
        f"At {result.station}, north up: the place {aside(offset)}, east {result.e:.2f}, north {result.n:.2f} ft; "
        f"the road bears {result.bearing_deg:.4f} degrees.",
    )
    view = View.fit((middle[0] - reach, middle[0] + reach), (middle[1] - reach, middle[1] + reach), (100, 76, 220, 220))
    words = Words(paper)
    start, end = max(result.distance - 2 * reach, 0), min(result.distance + 2 * reach, float(line.length))
    course = [view(*each) for each in _along(line, start, end, 80)]
    course = [each for each in course if 24 <= each[0] <= 396 and 50 <= each[1] <= 350]
    if len(course) > 1:
        paper.line(*course, weight=1.8, end="arrow")
        words.keep(course)
    tangent = [view(foot[0] + ahead[0] * reach * each, foot[1] + ahead[1] * reach * each) for each in (-1.4, 1.4)]
    paper.line(*tangent, paint="s-line", weight=0.7, dash=CHAIN)
    words.keep(tangent)
    _offset(paper, words, view, foot, result)
    paper.text((20, 24), f"the road bears {result.bearing_deg:.4f}°", paint="f-ink-2")
    _north(paper, (396, 52))
    _bar(paper, (20, 386), view.across, longest=90)
    return paper


def _offset(paper: Paper, words: Words, view: View, foot: Point, result: Place) -> None:
    (ahead, right), offset = _ways(result.bearing_deg), result.offset
    at, below = view(result.e, result.n), view(*foot)
    if round(abs(offset), 2):
        paper.line(below, at, weight=1)
        words.keep([below, at])
    paper.dot(below, 4)
    paper.diamond(at, 6.5)
    for x, y in (at, below):
        words.off((x, y), 8)
    side = -1 if offset < 0 else 1
    out = right[0] * side, right[1] * side
    for dy, said in ((-4, f"E {result.e:,.2f} ft"), (13, f"N {result.n:,.2f} ft")):
        words.write((at[0], at[1] + dy), said, [(13 if out[0] >= 0 else -13, 0)], bold=True, paint="f-ink", must=True)
    words.write(below, result.station, _both((-out[0], -out[1]), 22, 36), bold=True, paint="f-ink", must=True)
    middle = (at[0] + below[0]) / 2, (at[1] + below[1]) / 2
    words.write(middle, aside(offset), _both(ahead, 16, 28, 40), bold=True, paint="f-ink")


# One curve ----------------------------------------------------------------------------------------------------------


def curve(values: Mapping[str, Any], result: CircularCurve) -> Paper:
    """Draw the curve between its tangents, the chord level and the crossing above, turning right."""
    half, long = math.radians(float(values["deflection_deg"])) / 2, result.long_chord
    top, centre = result.external + result.middle_ordinate, -result.radius * math.cos(half)
    crossing, deep = top <= 2.4 * long, -centre <= 1.4 * long
    stub = 0.5 * long
    low, high = centre if deep else -stub, top if crossing else 0.6 * long + result.middle_ordinate
    paper = Paper(
        420,
        440,
        f"The curve from {signed_station(result.pc)} to {signed_station(result.pt)}: radius {result.radius:.2f} ft, "
        f"tangents {result.tangent:.2f} ft, length {result.length:.2f} ft.",
    )
    wide = max(long / 2, result.radius if half > math.pi / 4 else 0)
    view = View.fit((-wide, wide), (low, high), (84, 56, 252, 264))
    ends = ((-long / 2, 0.0), (long / 2, 0.0))
    _tangents(paper, view, ends, half, top if crossing else 0, high)
    for x, y in ends:
        turn = math.atan2(centre, -x)
        foot = (0.0, centre) if deep else (x + stub * math.cos(turn), y + stub * math.sin(turn))
        paper.line(view(x, y), view(*foot), paint="s-line", weight=0.7, dash="" if deep else DASHED)
    paper.line(view(*ends[0]), view(*ends[1]), paint="s-line", weight=0.7, dash=DASHED)
    bend = [math.pi / 2 + half - 2 * half * each / BENT for each in range(BENT + 1)]
    paper.line(*(view(result.radius * math.cos(a), centre + result.radius * math.sin(a)) for a in bend), weight=2.2)
    _letters(paper, view, result, centre if deep else None, top if crossing else None)
    if crossing:
        _crossing(paper, view, result, half, top)
    for (x, y), name, station in zip(ends, ("PC", "PT"), (result.pc, result.pt), strict=True):
        _named(paper, view(x, y), name, station, -1 if x < 0 else 1)
    _figures(paper, result)
    _bar(paper, (20, 426), view.across, longest=90)
    paper.text(
        (400, 430), f"I {number_text(values['deflection_deg'])}°, drawn turning right", anchor="end", paint="f-ink-2"
    )
    return paper


def _tangents(paper: Paper, view: View, ends: Sequence[Point], half: float, top: float, high: float) -> None:
    """Draw both tangents to where they cross; to the edge when they cross too far off (top 0)."""
    for x, y in ends:
        sign = 1 if x < 0 else -1
        long = (top or high) / math.sin(half)
        tip = x + sign * long * math.cos(half), long * math.sin(half)
        paper.line(view(x, y), view(*tip), paint="s-line", weight=0.9)
    if top:
        onward = 0.2 * (ends[1][0] - ends[0][0])
        paper.line(
            view(0, top),
            view(onward * math.cos(half), top + onward * math.sin(half)),
            paint="s-line",
            weight=0.7,
            dash=DASHED,
        )


def _letters(paper: Paper, view: View, result: CircularCurve, centre: float | None, top: float | None) -> None:
    """Write the letters of the lengths where they lie; only those that have room."""
    rise, x = result.middle_ordinate, view(0, 0)[0]
    paper.axis(view(0, -0.06 * result.long_chord if centre is None else centre), view(0, rise if top is None else top))
    if rise * view.up >= 30:
        quarter = result.length / result.radius / 4
        paper.text(
            (view(-result.long_chord / 4, 0)[0], view(0, 0)[1] + 4), "LC", anchor="middle", bold=True, patch=True
        )
        at = view(result.radius * math.sin(quarter), result.radius * (math.cos(quarter) - 1) + rise)
        paper.text((at[0], at[1] + 4), "L", anchor="middle", bold=True, patch=True)
    spans = [("M", 0.0, rise)] + ([("E", rise, top)] if top is not None else [])
    for letter, low, high in spans:
        if (high - low) * view.up >= 26:
            paper.text((x, view(0, (low + high) / 2)[1] + 4), letter, anchor="middle", bold=True, patch=True)
    if centre is not None:
        at = view(result.long_chord / 4, centre / 2)
        paper.text((at[0] + 8, at[1] + 8), "R", bold=True, patch=True)
        paper.dot(view(0, centre), 2.6)
    else:
        y = min(view(0, -0.5 * result.long_chord)[1], 330)
        paper.text((x, y), "R, centre off the drawing", anchor="middle", paint="f-ink-2", patch=True)


def _crossing(paper: Paper, view: View, result: CircularCurve, half: float, top: float) -> None:
    """Name where the tangents cross, and their angle where there is room for it."""
    at, middle = view(0, top), view(-result.long_chord / 4, top / 2)
    paper.dot(at, 3)
    steep = top * view.up >= 44
    words = f"PI {signed_station(result.pc + result.tangent)}"
    paper.text(
        (at[0] - 10, at[1] - 6) if steep else (at[0], at[1] - 22), words, anchor="end" if steep else "middle", bold=True
    )
    if steep:
        start, end = ((at[0] + 16 * math.cos(half), at[1] + 16 * sign * math.sin(half)) for sign in (-1, 1))
        paper.path(
            f"M{number(start[0])} {number(start[1])}A16 16 0 0 1 {number(end[0])} {number(end[1])}",
            "f-none s-line",
            0.9,
        )
        paper.text((at[0] + 24, at[1] + 4), "I", bold=True)
        paper.text((middle[0] - 9, middle[1] - 5), "T", anchor="end", bold=True)


def _named(paper: Paper, at: Point, name: str, station: float, side: int) -> None:
    """Mark a point of a curve and write its name over its station, outside of it."""
    paper.circle(at, 3.4, "f-sheet s-ink", 1.4)
    anchor, x = ("end", at[0] - 8) if side < 0 else ("start", at[0] + 8)
    width = text_width(signed_station(station), bold=True)
    x = max(x, width + 4) if side < 0 else min(x, paper.width - width - 4)
    paper.text((x, at[1] - 21), name, anchor=anchor, bold=True)
    paper.text((x, at[1] - 6), signed_station(station), anchor=anchor, bold=True)


def _figures(paper: Paper, result: CircularCurve) -> None:
    named = (
        ("T", result.tangent), ("L", result.length), ("R", result.radius),
        ("E", result.external), ("M", result.middle_ordinate), ("LC", result.long_chord),
    )  # fmt: skip
    for index, (letter, value) in enumerate(named):
        paper.text((24 + 134 * (index % 3), 378 + 20 * (index // 3)), f"{letter} {value:,.2f} ft", bold=letter in "TL")


# A curve with spirals -----------------------------------------------------------------------------------------------


def spiralled(values: Mapping[str, Any], result: SpiralledCurve) -> Paper:
    """Draw both spirals and the circular part between their tangents, turning right."""
    radius, ls, deflection = (float(values[each]) for each in ("radius", "spiral_length", "deflection_deg"))
    parts: list[dict[str, Any]] = [{"kind": "spiral", "length": ls, "radius_out": radius, "turn": "right"}]
    if result.arc_length > 1e-6:
        parts.append({"kind": "curve", "length": result.arc_length, "radius": radius, "turn": "right"})
    parts.append({"kind": "spiral", "length": ls, "radius_in": radius, "turn": "right"})
    bearing = 90 - deflection / 2
    line = build({"start_station": "0+00", "start_bearing_deg": bearing, "elements": parts})
    course = [_along(line, float(start), float(end), BENT) for start, end in pairwise(line.joints)]
    ends, way = (course[0][0], course[-1][-1]), _ways(bearing)[0]
    crossing = way[0] * result.tangent, way[1] * result.tangent
    seen = crossing[1] <= 1.5 * ends[1][0]
    xs, ys = zip(*(point for part in course for point in part), *([crossing] if seen else []), strict=True)
    tall = min(max(640 * (max(ys) - min(ys)) / (max(xs) - min(xs)), 70), 300)
    paper = Paper(
        860,
        tall + 170,
        f"Curve with spirals from {signed_station(result.ts)} to {signed_station(result.st)}: two spirals of "
        f"{ls:.2f} ft, {result.arc_length:.2f} ft of circular curve, tangents {result.tangent:.2f} ft.",
    )
    view = View.fit(xs, ys, (110, 60, 640, tall))
    for end in ends:
        paper.line(
            view(*end),
            view(*crossing) if seen else _toward(view(*end), view(*crossing), 60),
            paint="s-line",
            weight=0.9,
        )
    for index, part in enumerate(course):
        circular = len(course) == 3 and index == 1
        paper.line(*(view(*point) for point in part), weight=1.8 if not circular else 3)
    turn = math.radians(deflection / 2 - result.spiral_angle_deg)
    _spiral_words(paper, view, course, result, turn, crossing if seen else None)
    _bar(paper, (24, tall + 152), view.across)
    paper.text((836, tall + 156), "drawn turning right; heavy: the circular part", anchor="end", paint="f-ink-2")
    return paper


def _toward(start: Point, end: Point, long: float) -> Point:
    away = math.dist(start, end) or 1
    return start[0] + (end[0] - start[0]) * long / away, start[1] + (end[1] - start[1]) * long / away


def _spiral_words(
    paper: Paper,
    view: View,
    course: Sequence[Sequence[Point]],
    result: SpiralledCurve,
    turn: float,
    crossing: Point | None,
) -> None:
    """Name the four points with their stations, and the crossing; `turn` is how steep the circular part begins."""
    marks = [("TS", result.ts, course[0][0]), ("SC", result.sc, course[0][-1])]
    marks += [("CS", result.cs, course[-1][0]), ("ST", result.st, course[-1][-1])]
    merged = math.dist(view(*marks[1][2]), view(*marks[2][2])) < 90
    for index, (name, station, place) in enumerate(marks):
        at, side = view(*place), -1 if index < 2 else 1
        paper.circle(at, 3.4, "f-sheet s-ink", 1.4)
        if index in (0, 3):
            x, y = at[0] + 8 * side, at[1] + 20
        elif merged:
            x, y = at[0] + 10 * side, at[1] + 24
        else:
            x, y = at[0] - 26 * side * math.sin(turn), at[1] + 8 + 18 * math.cos(turn)
        inward = index in (1, 2) and not merged
        anchor = "middle" if inward and abs(math.sin(turn)) < 0.4 else "end" if (side < 0) != inward else "start"
        paper.text((x, y), name, anchor=anchor, bold=True)
        paper.text((x, y + 16), signed_station(station), anchor=anchor, bold=True)
    if crossing is not None:
        at = view(*crossing)
        paper.dot(at, 3)
        paper.text((at[0], at[1] - 12), f"PI {signed_station(result.ts + result.tangent)}", anchor="middle", bold=True)
        start = view(*course[0][0])
        middle = (at[0] + start[0]) / 2 - 10, (at[1] + start[1]) / 2 - 8
        paper.text(middle, f"Ts {result.tangent:,.2f} ft", anchor="end", paint="f-line")


def spiral(values: Mapping[str, Any], result: SpiralledCurve) -> Paper:
    """Draw the first spiral off its tangent, offsets enlarged, with the circle that it leads to."""
    radius, ls = float(values["radius"]), float(values["spiral_length"])
    across = 640 / result.x
    times = next((each for each in (50, 20, 10, 5, 2) if result.y * across * each <= 190), 1)
    across = min(across, 190 / (result.y * times))
    floor = 66 + result.y * across * times
    paper = Paper(
        860,
        floor + 100,
        f"The first spiral off its tangent, offsets drawn {times} times: X {result.x:.2f}, Y {result.y:.2f}, "
        f"shift {result.shift:.3f}, {result.shift_along:.2f} ft along.",
    )
    view = View(0, 0, 60, floor, across, across * times)
    line = build({"start_station": "0+00", "start_bearing_deg": 90, "elements": [
        {"kind": "spiral", "length": ls, "radius_out": radius, "turn": "left"}]})  # fmt: skip
    course = [view(*each) for each in _along(line, 0, float(line.length), BENT)]
    turn = math.radians(result.spiral_angle_deg)
    circle = [
        view(
            result.shift_along + radius * math.sin(turn * each / BENT),
            result.shift + radius * (1 - math.cos(turn * each / BENT)),
        )
        for each in range(BENT + 1)
    ]
    paper.line((30, floor), (830, floor), paint="s-line", weight=0.9)
    paper.line(view(result.long_tangent, 0), view(result.x, result.y), paint="s-line", weight=0.7, dash=DASHED)
    paper.line(*circle, paint="s-ink", weight=0.9, dash=DASHED)
    paper.line(*course, weight=2.2)
    _spiral_offsets(paper, view, result)
    paper.circle(view(0, 0), 3.4, "f-sheet s-ink", 1.4)
    paper.circle(view(result.x, result.y), 3.4, "f-sheet s-ink", 1.4)
    paper.text((view(0, 0)[0], floor - 14), f"TS {signed_station(result.ts)}", bold=True)
    x, y = view(result.x, result.y)
    paper.text((x - 10, y - 12), f"SC {signed_station(result.sc)}", anchor="end", bold=True)
    _bar(paper, (24, floor + 86), across)
    high = nice_step(30 / (across * times), 1) / 2
    paper.height_bar((330, floor + 90), high * across * times, f"{number_text(high)} ft off the tangent{_drawn(times)}")
    paper.text((836, floor + 90), "dashed: the circle, shifted", anchor="end", paint="f-ink-2")
    return paper


def _spiral_offsets(paper: Paper, view: View, result: SpiralledCurve) -> None:
    """Draw X and k along the tangent, Y and p off it, each with its length."""
    (x, y), (start, floor) = view(result.x, result.y), view(0, 0)
    paper.line((x, y), (x + 56, y), paint="s-ink-2", weight=0.7)
    paper.line((x, y), (x, floor + 46), paint="s-ink-2", weight=0.7)
    words = f"Y {result.y:,.2f} ft"
    if floor - y > 30:
        paper.dimension((x + 50, floor), (x + 50, y), words)
    else:
        paper.text((x + 60, y + 4), words, bold=True)
    paper.dimension((start, floor + 42), (x, floor + 42), f"X {result.x:,.2f} ft", shift=0.28)
    k, top = view(result.shift_along, result.shift)
    paper.line((k, floor), (k, floor + 24), paint="s-ink-2", weight=0.7)
    paper.dimension((start, floor + 20), (k, floor + 20), f"k {result.shift_along:,.2f} ft", kind="plan")
    paper.line((k, floor), (k, top), weight=1.8)
    paper.leader((k - 2, (floor + top) / 2), (k - 26, floor - 46))
    paper.text((k - 30, floor - 50), f"p {result.shift:,.3f} ft", anchor="end", bold=True)


# A bolt pair against the road ---------------------------------------------------------------------------------------


def directions(values: Mapping[str, Any], result: Orientation) -> Paper:
    """Draw the direction of the road and of the bolt pair as they lie, north up."""
    tangent, bolt = float(values["tangent_deg"]), float(values["bolt_deg"])
    paper = Paper(
        420,
        320,
        f"Directions, north up: the road bears {number_text(tangent)} degrees, the bolt pair {number_text(bolt)} degrees.",
    )
    at = 200.0, 165.0
    (road, _), (pair, _) = _ways(tangent), _ways(tangent + result.difference_deg)
    ends = [(at[0] + road[0] * 125 * sign, at[1] - road[1] * 125 * sign) for sign in (-1, 1)]
    paper.line(*ends, paint="s-line", weight=0.9, dash=CHAIN, end="arrow")
    bolts = [(at[0] + pair[0] * 62 * sign, at[1] - pair[1] * 62 * sign) for sign in (-1, 1)]
    beyond = [(at[0] + pair[0] * 96 * sign, at[1] - pair[1] * 96 * sign) for sign in (-1, 1)]
    over = bool(result.over_deg)
    paper.line(*beyond, paint="s-red" if over else "s-ink", weight=1)
    for each in bolts:
        paper.circle(each, 8, f"f-sheet {'s-red' if over else 's-ink'}", 1.8)
    words = Words(paper)
    words.keep(ends)
    words.keep(beyond)
    for x, y in bolts:
        words.off((x, y), 10)
    words.keep([(388, 16), (404, 60)])
    _, right = _ways(tangent)
    words.write(ends[1], f"road {number_text(tangent)}°", _both(right, 18, 32, 46), paint="f-line", must=True)
    said = f"bolt pair {number_text(bolt)}°"
    words.write(bolts[0], said, _both(right, 24, 38, 52), bold=True, paint="f-red" if over else "f-ink", must=True)
    _north(paper, (396, 56))
    paper.text((20, 304), "directions only: no distance was given", paint="f-ink-2")
    return paper


def opened(values: Mapping[str, Any], result: Orientation) -> Paper:
    """Draw the angle between road and bolt pair opened, with what is allowed when a limit was given."""
    limit = None if values.get("limit") is None else float(values["limit"])
    widest = max(result.away_deg, limit or 0, LEAST_SCALE)
    times = next(each for each in OPENED if widest * each <= STEEPEST or each == 1)
    steep = math.radians(min(widest * times, 90))
    radius = min(290.0, 120 / math.sin(steep))
    paper = Paper(
        420,
        340,
        f"The bolt pair is {result.away_deg:.2f} degrees off parallel, drawn {times} times"
        + ("." if limit is None else f"; {number_text(limit)} degrees are allowed."),
    )
    start = 40.0, 170.0

    def at(degrees: float, long: float = radius) -> Point:
        turn = math.radians(degrees * times)
        return start[0] + long * math.cos(turn), start[1] + long * math.sin(turn)

    if limit is not None:
        _fan(paper, start, [at(limit * (each / 12 - 1)) for each in range(25)], "f-line-3")
        if result.over_deg:
            sign = math.copysign(1, result.difference_deg)
            rim = [at(sign * (limit + result.over_deg * each / 12)) for each in range(13)]
            paper.area(start, *rim, paint="s-red", weight=0.9, fill="over")
    _degrees(paper, at, widest, radius)
    paper.line((start[0] - 20, start[1]), at(0, radius + 12), paint="s-line", weight=0.9, dash=CHAIN)
    if limit is not None:
        for sign in (-1, 1):
            paper.line(start, at(sign * limit), paint="s-red", weight=1.2, dash=DASHED)
    paint = "red" if result.over_deg else "ink"
    paper.line(start, at(result.difference_deg), paint=f"s-{paint}", weight=2)
    paper.dot(start, 3)
    _opened_words(paper, result, limit, times, paint)
    return paper


def _fan(paper: Paper, start: Point, rim: Sequence[Point], paint: str) -> None:
    paper.area(start, *rim, paint=paint)


def _degrees(paper: Paper, at: Any, widest: float, radius: float) -> None:
    """Draw the scale: degrees as they are, at places opened."""
    step = nice_step(widest, 3)
    most = int(widest / step + 1e-9)
    rim = [at(widest * (each / 24 - 1), radius) for each in range(49)]
    paper.line(*rim, paint="s-rule-2", weight=0.8)
    for each in range(-most, most + 1):
        inner, outer, words = (at(each * step, radius + out) for out in (0, 5, 11))
        paper.line(inner, outer, weight=1)
        paper.text((words[0], words[1] + 4), f"{number_text(abs(each) * step)}°", paint="f-ink-2")


def _opened_words(paper: Paper, result: Orientation, limit: float | None, times: int, paint: str) -> None:
    way = "" if round(result.away_deg, 2) == 0 else " clockwise" if result.difference_deg > 0 else " counter-clockwise"
    paper.text((20, 20), f"bolt pair {result.away_deg:.2f}° off{way}", bold=True, paint=f"f-{paint}")
    if limit is not None:
        paper.text((400, 20), f"{number_text(limit)}° allowed", anchor="end", bold=True, paint="f-red")
    paper.text((20, 328), "chain line: the road, upstation to the right", paint="f-line")
    said = f"angles drawn {times} times" if times > 1 else "angles as they are"
    paper.text((400, 328), said, anchor="end", paint="f-ink-2")


_LINE_DRAWINGS = (Drawing("The line", "to scale", line_plan, True), Drawing("At the station", "to scale", near_plan))
DRAWINGS = {
    "alignment": _LINE_DRAWINGS,
    "alignment.project": _LINE_DRAWINGS,
    "alignment.curve": (Drawing("The curve", "to scale", curve),),
    "alignment.spiral": (
        Drawing("The curve", "to scale", spiralled, True),
        Drawing("The first spiral", "offsets enlarged", spiral, True),
    ),
    "alignment.orientation": (
        Drawing("As they lie", "directions only", directions),
        Drawing("The angle", "opened", opened),
    ),
}
