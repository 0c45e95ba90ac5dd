"""Drawings of a drilled shaft: its cage in section and plan, concrete placed, cover round the cage, place and plumb of the hole."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

from apps.calc.shaft.bars import bar
from apps.calc.shaft.covering import Cover
from apps.calc.shaft.drilled import Hole
from apps.calc.shaft.pour import Curve
from apps.calc.shaft.quantities import Shaft, bar_length_of
from apps.calc.shaft.said import feet, inches
from apps.calc.shaft.volume import neat_volume
from apps.calc.working import number_text
from apps.sheet.drawn import Drawing
from apps.sheet.drawn.chart import Chart
from apps.sheet.drawn.paper import DASHED, Paper, Point, View, nice_step

ENLARGED = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000)
CLOSEST = 3.5
"""Turns of a spiral nearer than this on the paper are drawn as hatching."""
MOST_BARS = 24
"""Up to so many soundings are named under their bars."""


def _scale_bar(paper: Paper, at: Point, scale: float, longest: float = 80) -> None:
    """Draw a scale bar in inches, or in feet where a foot is short."""
    unit, size = ("ft", 12 * scale) if 12 * scale < longest else ("in", scale)
    step = nice_step(longest / size, 1) / 2
    paper.scale_bar(at, step * size, f"{number_text(step)} {unit}")


# Concrete and steel -------------------------------------------------------------------------------------------------


def section(values: Mapping[str, Any], result: Shaft) -> Paper:
    """Draw the shaft upright: concrete, vertical bars, the turns of the spiral, depth, diameter and cover."""
    across, deep, cover = values["shaft_diameter"], values["depth"] * 12, values["cover"]
    long = 12 * bar_length_of(values["depth"], cover, values.get("bar_length"))
    tall = values.get("spiral_height")
    up_to = max(long, tall or 0) + cover
    paper = Paper(
        420,
        440,
        f"Shaft in section, {inches(across)} across and {feet(values['depth'])} deep, cage {inches(result.cage.outside)} over the "
        f"spiral, {result.steel_lb:,.0f} lb of steel.",
    )
    scale = min(340 / max(deep, up_to), 150 / across)
    view = View(0, 0, 214, 396, scale, scale)
    top = view(0, deep)[1]
    paper.rect(*view(-across / 2, deep), across * scale, deep * scale, "s-ink", 1.8, fill="concrete")
    paper.ground(20, 400, top)
    _spiral(paper, view, result, values["pitch"], cover, long if tall is None else tall)
    _uprights(paper, view, result, values, cover, long)
    paper.dimension((70, 396), (70, top), feet(values["depth"]), kind="plan")
    left, right = view(-across / 2, 0)[0], view(across / 2, 0)[0]
    paper.dimension((left, 414), (right, 414), inches(across), kind="plan")
    at = view(result.cage.spiral / 2, deep / 2)
    middle = min(at[1], top - 70) if deep * scale < 70 else at[1]
    paper.leader(at, (right + 16, middle - 12))
    paper.text((right + 20, middle - 10), f"spiral No. {values['spiral_size']}", bold=True)
    paper.text((right + 20, middle + 6), f"{inches(values['pitch'])} pitch", paint="f-ink-2")
    paper.text((right + 20, middle + 36), f"{int(values['bar_count'])} bars No. {values['bar_size']}", bold=True)
    paper.text((right + 20, middle + 52), f"{feet(long / 12)} long", paint="f-ink-2")
    _scale_bar(paper, (20, 430), scale, 60)
    return paper


def _spiral(paper: Paper, view: View, result: Shaft, pitch: float, cover: float, tall: float) -> None:
    """Draw the turns: the near half of each heavy, the far half thin; hatching where they stand too close."""
    half = result.cage.spiral / 2
    if not tall:
        return
    if pitch * view.up < CLOSEST:
        left, top = view(-half, cover + tall)
        paper.rect(left, top, 2 * half * view.across, tall * view.up, "s-ink-2", 0.9, fill="within")
        return
    for turn in range(math.ceil(result.spiral.turns - 1e-9)):
        low, high = cover + turn * pitch, cover + min((turn + 1) * pitch, tall)
        middle = min(low + pitch / 2, cover + tall)
        paper.line(view(half, middle), view(-half, high), paint="s-line", weight=0.7)
        paper.line(view(-half, low), view(half, middle), weight=1.2)
    for level in (cover, cover + tall):
        paper.line(view(-half, level), view(half, level), weight=1.2)


def _uprights(paper: Paper, view: View, result: Shaft, values: Mapping[str, Any], cover: float, long: float) -> None:
    """Draw the vertical bars of the near half where they stand in the circle."""
    count, radius = int(values["bar_count"]), result.cage.bars / 2
    weight = max(bar(values["bar_size"]).diameter_in * view.across, 1.4)
    for index in range(count):
        turn = 2 * math.pi * index / count
        if math.sin(turn) >= -1e-9 and long:
            x = radius * math.cos(turn)
            paper.line(view(x, cover), view(x, cover + long), weight=weight)


def across(values: Mapping[str, Any], result: Shaft) -> Paper:
    """Draw the shaft from above, cut: concrete, spiral and bars with their thickness, and the cover."""
    wide, cover = values["shaft_diameter"], values["cover"]
    thin, thick = bar(values["spiral_size"]).diameter_in, bar(values["bar_size"]).diameter_in
    paper = Paper(
        420,
        330,
        f"Shaft cut across: {int(values['bar_count'])} bars on a {inches(result.cage.bars)} circle in a spiral of "
        f"{inches(result.cage.outside)} over all, {inches(cover)} of cover.",
    )
    view = View.fit((-wide / 2, wide / 2), (-wide / 2, wide / 2), (40, 30, 236, 236))
    centre, scale = view(0, 0), view.across
    paper.circle(centre, wide / 2 * scale, "s-ink", 1.8, fill="concrete")
    paper.circle(centre, result.cage.spiral / 2 * scale, "f-none s-ink", max(thin * scale, 1))
    for index in range(int(values["bar_count"])):
        turn = 2 * math.pi * index / int(values["bar_count"])
        x, y = result.cage.bars / 2 * math.cos(turn), result.cage.bars / 2 * math.sin(turn)
        paper.dot(view(x, y), max(thick / 2 * scale, 1))
    paper.axis(view(-wide * 0.55, 0), view(wide * 0.55, 0))
    paper.axis(view(0, -wide * 0.55), view(0, wide * 0.55))
    edge = wide / 2 * math.cos(math.pi / 6)
    for inner, high, head, words in (
        (wide / 2 - cover / 2, 0.5, f"{inches(cover)}", "cover"),
        (result.cage.spiral / 2, 0.22, f"{inches(result.cage.outside)}", "over the spiral"),
        (result.cage.bars / 2, -0.3, f"{inches(result.cage.bars)}", "circle of the bars"),
    ):
        start = view(inner * math.cos(math.asin(high)), inner * high)
        at = view(edge * 1.16, 0)[0] + 12, view(0, wide / 2 * high)[1]
        paper.leader(start, (at[0] - 3, at[1]))
        paper.text((at[0], at[1] + 1), head, bold=True)
        paper.text((at[0], at[1] + 16), words, paint="f-ink-2")
    _scale_bar(paper, (20, 316), scale)
    return paper


def placed(values: Mapping[str, Any], result: Shaft) -> Paper | None:
    """Draw the concrete placed against the neat volume, as bars; nothing when none was placed."""
    given = values.get("placed")
    if given is None or result.ratio is None:
        return None
    paper = Paper(
        420, 150, f"Placed {number_text(given, 4)} yd³, {result.ratio:.2f} times the neat {result.volume_yd3:.2f} yd³."
    )
    left, long, most = 84.0, 236.0, max(given, result.volume_yd3)
    neat, end = left + long * result.volume_yd3 / most, left + long * given / most
    paper.rect(left, 34, neat - left, 26, "f-sheet s-line", 0.7)
    paper.rect(left, 82, min(end, neat) - left, 26, "f-conc s-ink", 1.6)
    if end > neat:
        paper.rect(neat, 82, end - neat, 26, "s-ink", 1.6, fill="within")
    paper.line((neat, 26), (neat, 116), paint="s-line", weight=0.9, dash=DASHED)
    paper.line((left, 26), (left, 116), weight=1)
    paper.text((left - 8, 51), "neat", anchor="end", paint="f-ink-2")
    paper.text((left - 8, 99), "placed", anchor="end", bold=True)
    paper.text((neat + 8, 51), f"{result.volume_yd3:.2f} yd³", paint="f-line", patch=True)
    paper.text((max(end, neat) + 8, 99), f"{number_text(given, 4)} yd³", bold=True)
    away = (result.ratio - 1) * 100
    paper.text(
        (left, 138),
        f"{result.ratio:.2f} of neat, {abs(away):.0f} % {'over' if away >= 0 else 'short'}",
        paint="f-ink-2",
    )
    return paper


# Concrete curve -----------------------------------------------------------------------------------------------------


def _out(values: Mapping[str, Any], ratio: float) -> bool:
    return not values["least"] <= ratio <= values["most"]


def curve(values: Mapping[str, Any], result: Curve) -> Paper:
    """Draw the volume placed against the depth of the concrete, the neat line, the band between both limits."""
    deep = values["depth"]
    whole = neat_volume(values["shaft_diameter"], deep)
    most = max(values["most"] * whole, values["placed"][-1]) * 1.12
    paper = Paper(
        420,
        380,
        f"Concrete curve: {number_text(values['placed'][-1], 4)} yd³ placed, {result.ratio:.2f} times the neat volume; "
        f"stretches from {result.least:.2f} to {result.greatest:.2f}.",
    )
    chart = Chart(paper, (0, most), (deep, 0), "placed in all, yd³", "depth to the concrete, ft")
    paper.area(
        chart.at(0, deep), chart.at(values["least"] * whole, 0), chart.at(values["most"] * whole, 0), paint="f-line-3"
    )
    chart.curve([(0, deep), (whole, 0)], "s-line", 0.9)
    points = [(0.0, deep), *zip(values["placed"], values["soundings"], strict=True)]
    for start, end, each in zip(points, points[1:], result.intervals, strict=False):
        out = _out(values, each.ratio)
        chart.curve([start, end], "s-red" if out else "s-ink", 2.4 if out else 1.8)
    chart.points(points[1:])
    top = chart.at(whole, 0)
    free = top[0] >= 230
    words = (top[0], top[1] - 6) if free else (max(top[0], 176), top[1] - 6)
    paper.text(words, f"neat {whole:.2f}", anchor="end" if free else "start", paint="f-line", bold=True)
    last = chart.at(*points[-1])
    ahead = last[0] < 340
    paper.text(
        (last[0] + (9 if ahead else -9), last[1] + 14), f"{number_text(points[-1][0], 4)} yd³", bold=True, patch=True,
        anchor="start" if ahead else "end",
    )  # fmt: skip
    at = chart.at(most * 0.5, deep * 0.92)
    paper.rect(at[0], at[1], 14, 10, "f-line-3 s-line-2", 0.7)
    low, high = (number_text(values[each], 3) for each in ("least", "most"))
    paper.text((at[0] + 20, at[1] + 9), f"{low} to {high} of neat", paint="f-ink-2")
    return paper


def stretches(values: Mapping[str, Any], result: Curve) -> Paper:
    """Draw the ratio of each stretch at its depth, red where it is under or over."""
    low, high = values["least"], values["most"]
    most = max(result.greatest, high) * 1.2
    paper = Paper(
        420, 380, "Ratio of each stretch: " + ", ".join(
            f"{number_text(each.low_ft, 3)} to {number_text(each.high_ft, 3)} ft {each.ratio:.2f}" for each in result.intervals
        ),
    )  # fmt: skip
    chart = Chart(paper, (0, most), (values["depth"], 0), "placed over neat", "depth, ft")
    chart.band(low, high, upright=True)
    for each in result.intervals:
        out = _out(values, each.ratio)
        (x, y), (right, foot) = chart.at(0, each.high_ft), chart.at(min(each.ratio, high), each.low_ft)
        paper.rect(x, y, right - x, foot - y, "f-conc s-ink", 0.9)
        if out:
            (start, _), (end, _) = sorted((chart.at(each.ratio, 0), chart.at(low if each.ratio < low else high, 0)))
            paper.rect(start, y, end - start, foot - y, "s-red", 1.2, fill="over")
        if foot - y >= 13:
            at = chart.left + chart.width, (y + foot) / 2 + 4
            paper.text(at, f"{each.ratio:.2f}", anchor="end", bold=True, paint="f-red" if out else "f-ink")
    for value, first in ((low, True), (high, False)):
        x = chart.at(value, 0)[0]
        paper.line((x, chart.top), (x, chart.top + chart.height), paint="s-red", weight=1.2, dash=DASHED)
        paper.text(
            (x, chart.top - 5), number_text(value, 3), bold=True, paint="f-red", anchor="end" if first else "start"
        )
    return paper


# Cover --------------------------------------------------------------------------------------------------------------


def cover(values: Mapping[str, Any], result: Cover) -> Paper:
    """Draw the cage in its hole from above, standing off to the right; where cover is short it is hatched red."""
    hole, cage, off = values["hole_diameter"] / 2, values["cage_diameter"] / 2, values["off_centre"]
    asked = values.get("asked")
    paper = Paper(
        420,
        344,
        f"Cage of {inches(2 * cage)} in a hole of {inches(2 * hole)}, off centre by {inches(off)}: least cover {inches(result.least)}.",
    )
    view = View.fit((-hole, hole), (-hole, hole), (40, 36, 250, 250))
    scale = view.across
    paper.circle(view(0, 0), hole * scale, "s-ink", 1.8, fill="concrete")
    paper.circle(view(off, 0), cage * scale, "f-sheet s-ink", 1.8)
    if asked is not None and 0 < asked < hole:
        paper.circle(view(0, 0), (hole - asked) * scale, "f-none s-line", 0.9, DASHED)
    if result.short_in and asked is not None:
        paper.area(*(view(*each) for each in _short(hole, cage, off, asked)), paint="s-red", weight=1, fill="over")
    for x, paint in ((0.0, "s-line"), (off, "s-ink")):
        at = view(x, 0)
        paper.line((at[0] - 8, at[1]), (at[0] + 8, at[1]), paint=paint, weight=1.2)
        paper.line((at[0], at[1] - 8), (at[0], at[1] + 8), paint=paint, weight=1.2)
    if off:
        middle = view(off / 2, 0)
        paper.text((middle[0], middle[1] + 24), f"{inches(off)} off centre", anchor="middle", bold=True)
    _covers(paper, view, values, result)
    _scale_bar(paper, (20, 330), scale)
    return paper


def _short(hole: float, cage: float, off: float, asked: float) -> list[Point]:
    """What of the cage stands outside the circle that leaves the cover asked for."""
    inner = max(hole - asked, 0.0)

    def reach(turn: float) -> float:
        return off * math.cos(turn) + math.sqrt(max(cage**2 - (off * math.sin(turn)) ** 2, 0))

    steps = [math.pi * each / 180 for each in range(-180, 181)]
    outer = [turn for turn in steps if reach(turn) > inner + 1e-9] or [0.0]
    there = [(reach(turn) * math.cos(turn), reach(turn) * math.sin(turn)) for turn in outer]
    return there + [(inner * math.cos(turn), inner * math.sin(turn)) for turn in reversed(outer)]


def _covers(paper: Paper, view: View, values: Mapping[str, Any], result: Cover) -> None:
    """Write the least cover at its side, what is asked for, and the cover with the cage in the middle."""
    hole, cage, off = values["hole_diameter"] / 2, values["cage_diameter"] / 2, values["off_centre"]
    (left, y), (right, _) = view(off + cage, 0), view(hole, 0)
    paint = "red" if result.short_in else "ink"
    paper.line((left, y), (right, y), paint=f"s-{paint}", weight=1.6)
    for x in (left, right):
        paper.line((x - 4, y + 4), (x + 4, y - 4), paint=f"s-{paint}", weight=1.4)
    paper.leader(((left + right) / 2, y), (304, y - 24))
    paper.text((306, y - 26), inches(result.least), bold=True, paint=f"f-{paint}", size=14)
    paper.text((306, y - 44), "least cover", paint="f-ink-2")
    lines = [("f-line", f"asked {inches(values['asked'])}")] if values.get("asked") is not None else []
    if result.short_in:
        lines.insert(0, ("f-red", f"short {inches(result.short_in)}"))
    lines.append(("f-ink-2", f"centred {inches(result.centred)}"))
    for row, (fill, words) in enumerate(lines):
        paper.text((306, y + 4 + 18 * row), words, paint=fill, bold=fill == "f-red")


# Hole ---------------------------------------------------------------------------------------------------------------


def place(values: Mapping[str, Any], result: Hole) -> Paper:
    """Draw the stake, the centre of the hole at the top and at the bottom, and the limit round the stake."""
    top = values["off_x"], values["off_y"]
    bottom = top[0] + values["lean_x"], top[1] + values["lean_y"]
    limit = values.get("off_limit")
    reach = max(abs(each) for each in (*top, *bottom, limit or 0)) * 1.08 or 1.0
    paper = Paper(
        420, 372, f"Hole from above: its top {inches(result.off_centre_in)} off the stake"
        + (f", limit {inches(limit)}." if limit else "."),
    )  # fmt: skip
    view = View.fit((-reach, reach), (-reach, reach), (85, 30, 250, 250))
    if limit:
        paper.circle(view(0, 0), limit * view.across, "f-line-3 s-red", 1.2, DASHED)
        words = view(0, -limit)
        paper.text(
            (words[0], words[1] + 15), f"limit {inches(limit)}", anchor="middle", bold=True, paint="f-red", patch=True
        )
    paper.axis(view(-reach, 0), view(reach, 0))
    paper.axis(view(0, -reach), view(0, reach))
    over = "stake" in result.over
    stake = view(0, 0)
    paper.line(stake, view(*top), paint="s-red" if over else "s-ink", weight=1.8)
    if bottom != top:
        paper.line(view(*top), view(*bottom), paint="s-ink-2", weight=1.2, dash="7 4")
        paper.dot(view(*bottom), 5, "f-sheet s-ink")
        paper.circle(view(*bottom), 5, "f-none s-ink", 1.6)
    paper.square(stake, 10, "f-line")
    paper.dot(view(*top), 5, "f-red" if over else "f-ink")
    _legend(paper, result, over, bottom != top)
    _scale_bar(paper, (20, 358), view.across)
    return paper


def _legend(paper: Paper, result: Hole, over: bool, leans: bool) -> None:
    """Name the three marks at the foot; they can stand on one another."""
    paper.square((26, 316), 10, "f-line")
    paper.text((38, 320), "stake", paint="f-line")
    paper.dot((92, 316), 5, "f-red" if over else "f-ink")
    paper.text((104, 320), f"top, {inches(result.off_centre_in)} off", bold=True, paint="f-red" if over else "f-ink")
    if leans:
        paper.circle((238, 316), 5, "f-none s-ink", 1.6)
        paper.text((250, 320), f"bottom, {inches(result.off_plumb_in)} on", paint="f-ink-2")


def lean(values: Mapping[str, Any], result: Hole) -> Paper:
    """Draw the axis of the hole in the direction that it leans, sideways enlarged, with the limit at the bottom."""
    deep, limit = values["depth"] * 12, values.get("plumb_limit")
    allowed = limit * deep / 100 if limit else 0.0
    widest, top = max(result.off_plumb_in, allowed), 60.0
    up = min(240 / deep, 150 / widest if widest else math.inf)
    foot = top + deep * up
    times = next((each for each in reversed(ENLARGED) if widest * up * each <= 150), 1) if widest else 20
    paper = Paper(
        420, 366, f"Hole upright, sideways drawn {times} times: {inches(result.off_plumb_in)} off plumb at the bottom, "
        f"{result.plumb_percent:.2f} % of its depth.",
    )  # fmt: skip
    start, over = (150.0, top), "plumb" in result.over
    paper.ground(20, 400, top)
    if allowed:
        paper.area(start, (start[0] + allowed * up * times, foot), (start[0], foot), paint="f-line-3")
    end = (start[0] + result.off_plumb_in * up * times, foot)
    edge = (start[0] + allowed * up * times, foot)
    if over:
        paper.area(start, edge, end, paint="s-red", weight=0.9, fill="over")
    if allowed:
        paper.line(start, edge, paint="s-red", weight=1.2, dash=DASHED)
    paper.axis(start, (start[0], foot + 8))
    paper.line(start, end, paint="s-red" if over else "s-ink", weight=2.4)
    paper.dot(end, 4.5, "f-red" if over else "f-ink")
    paper.dimension((70, foot), (70, top), feet(values["depth"]), kind="plan")
    said = f"{inches(result.off_plumb_in)}, {result.plumb_percent:.2f} %"
    paper.text((end[0] + 10, foot - 4), said, bold=True, paint="f-red" if over else "f-ink", patch=True)
    if limit:
        paper.text((edge[0] + 4, foot + 18), f"limit {number_text(limit, 3)} %", paint="f-red", bold=True)
    paper.text((start[0], top - 9), "plumb", anchor="middle", paint="f-line")
    step = nice_step(100 / (up * times), 1) / 2
    paper.scale_bar((150, 350), step * up * times, f"{number_text(step)} in sideways, {times} times")
    return paper


def bottom(values: Mapping[str, Any], result: Hole) -> Paper | None:
    """Draw the sediment at each point; filled where it counts as thin. Nothing without soundings."""
    depths: Sequence[float] | None = values.get("sediment")
    if not depths or result.thin_percent is None or result.thickest_in is None:
        return None
    thin = values["thin"]
    top = max(result.thickest_in, thin, 0.1) * 1.25
    paper = Paper(
        420, 300, f"Sediment at {len(depths)} points: {result.thin_percent:.0f} % under {inches(thin)}, "
        f"thickest {inches(result.thickest_in)}.",
    )  # fmt: skip
    named = {float(at): str(at) for at in range(1, len(depths) + 1)} if len(depths) <= MOST_BARS else None
    chart = Chart(paper, (0.4, len(depths) + 0.6), (0, top), "point, of equal area", "sediment, in", x_words=named)
    for at, each in enumerate(depths, 1):
        if each < thin:
            chart.bar(at, each, 0.6, "f-conc s-ink")
        else:
            chart.bar(at, each, 0.6, "s-ink", fill="within")
    chart.curve([(chart.x[0], thin), (chart.x[1], thin)], "s-line", 1.2, DASHED)
    paper.text((404, 25), f"dashed: under {inches(thin)} is thin", anchor="end", paint="f-line", bold=True)
    worst = depths.index(result.thickest_in) + 1
    chart.label(worst, result.thickest_in, inches(result.thickest_in), anchor="middle", dx=0)
    return paper


DRAWINGS = {
    "shaft": (
        Drawing("Shaft and cage", "to scale; near half of the cage", section),
        Drawing("Cut across", "to scale", across),
        Drawing("Concrete placed", "against the neat volume", placed),
    ),
    "shaft.curve": (
        Drawing("Concrete curve", "from the bottom up", curve),
        Drawing("Each stretch", "placed over neat", stretches),
    ),
    "shaft.cover": (Drawing("Cage in its hole", "to scale; drawn off to the right", cover),),
    "shaft.hole": (
        Drawing("Place", "from above, to scale", place),
        Drawing("Plumb", "sideways enlarged", lean),
        Drawing("Bottom", "", bottom),
    ),
}
