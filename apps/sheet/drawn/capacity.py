"""Drawings of lateral capacity: wind on a pole, a shaft and a post in the ground, bolts under a moment."""

import math
from collections.abc import Callable, Mapping, Sequence
from itertools import pairwise
from typing import Any

from apps.calc.capacity.bolts import BoltForces, arms_of
from apps.calc.capacity.broms import Demand, Ground, capacity_factor, soil_pressure
from apps.calc.capacity.post import DEEPEST_FT, PostDepth
from apps.calc.capacity.pressure import LOWEST_FT, Pressure, pressure
from apps.calc.capacity.shaft import Shaft, factored, percent
from apps.calc.capacity.wind import BaseReaction, Pole, Site, load_a_foot
from apps.calc.working import number_text
from apps.sheet.drawn import Drawing
from apps.sheet.drawn.chart import Chart
from apps.sheet.drawn.paper import DASHED, Paper, Point, View, nice_step

MINUS = "\N{MINUS SIGN}"
SLICES = 60
LONGEST = 5.0
"""Bars and curves of what a shaft carries end at so many times its factored load."""
FEWEST_NAMED = 8
"""Up to so many bolts each gets its force written; of more, the greatest only."""


def apart(places: Sequence[float], gap: float = 17) -> list[float]:
    """Return places pushed apart downward, in order of size, so that words at them do not touch."""
    moved = list(places)
    order = sorted(range(len(moved)), key=moved.__getitem__)
    for upper, lower in pairwise(order):
        moved[lower] = max(moved[lower], moved[upper] + gap)
    return moved


def _scale_bar(paper: Paper, at: Point, scale: float, unit: str = "ft", longest: float = 90) -> None:
    step = nice_step(longest / scale, 1) / 2 if longest else 1
    paper.scale_bar(at, step * scale, f"{number_text(step)} {unit}")


# Shaft --------------------------------------------------------------------------------------------------------------


def _ground(values: Mapping[str, Any]) -> Ground:
    return Ground(values["soil"], values["cohesion_psf"], values["weight_pcf"], values["friction_deg"])


def _demand(values: Mapping[str, Any]) -> Demand:
    return factored(
        values["shear_lbf"],
        values["moment_ftlb"],
        values["load_factor"],
        values["under_capacity"],
        values["neglected_ft"],
    )


def section(values: Mapping[str, Any], result: Shaft) -> Paper:
    """Draw the shaft in its ground: ordered thin, built heavy, what the method asks for, and the soil's pressure."""
    built, ordered, wide = values["depth_ft"], values.get("ordered_ft"), values["diameter_ft"]
    levels = [(built, "built"), (result.required_ft, "needed")] + ([(ordered, "ordered")] if ordered else [])
    paper = Paper(
        420,
        424,
        f"Shaft in section: {', '.join(f'{number_text(depth, 3)} ft {word}' for depth, word in levels)}, "
        f"{number_text(wide, 3)} ft across. It carries {percent(result.capacity_ratio)} of its factored load.",
    )
    view = View.fit((-wide / 2, wide / 2), (0, -max(depth for depth, _ in levels)), (150, 80, 110, 290))
    view = View(view.left, 0, view.x, 80, view.across, view.up)
    _load(paper, view, values)
    if values["neglected_ft"]:
        floor = view(0, -values["neglected_ft"])[1]
        paper.rect(20, 80, 380, floor - 80, "s-rule-2", 0.7, fill="within")
        paper.text((400, min(floor, 366) - 5), "not counted on", anchor="end", paint="f-ink-2", patch=True)
    corners = [view(-wide / 2, 0), view(wide / 2, 0), view(wide / 2, -built), view(-wide / 2, -built)]
    if ordered:
        foot = view(0, -ordered)[1]
        paper.rect(corners[0][0], 80, corners[1][0] - corners[0][0], foot - 80, "f-none s-line", 0.7)
    if built:
        paper.area(*corners, paint="f-sheet")
        paper.area(*corners, paint="s-ink", weight=1.8, fill="concrete")
    paper.ground(20, 400, 80)
    _missing(paper, view, wide, built, result.required_ft)
    _levels(paper, view, levels, corners[1][0], built < result.required_ft)
    _soil(paper, view, values, result)
    paper.text((205, view(0, -max(depth for depth, _ in levels))[1] + 18), f"{number_text(wide, 3)} ft across",
               anchor="middle", paint="f-ink-2")  # fmt: skip
    _scale_bar(paper, (20, 412), view.across)
    return paper


def _load(paper: Paper, view: View, values: Mapping[str, Any]) -> None:
    """Write shear and moment at the ground, as given."""
    x, y = view(-values["diameter_ft"] / 2, 0)
    if values["shear_lbf"]:
        paper.line((x - 44, y - 9), (x - 3, y - 9), weight=1.8, end="arrow")
    paper.text((20, 36), f"{values['shear_lbf']:,.0f} lbf", bold=True)
    paper.text((20, 52), f"{values['moment_ftlb']:,.0f} ft-lb", bold=True)
    paper.text((20, 20), "at the ground, as given", paint="f-ink-2")


def _missing(paper: Paper, view: View, wide: float, built: float, needed: float) -> None:
    """Hatch in red what the shaft is short of the depth that the method asks for."""
    if built >= needed:
        return
    left, top = view(-wide / 2, -built)
    right, foot = view(wide / 2, -needed)
    paper.rect(left, top, right - left, foot - top, "s-red", 0.9, fill="over")


def _levels(paper: Paper, view: View, levels: Sequence[tuple[float, str]], right: float, short: bool) -> None:
    """Write each depth at its level, to the left."""
    heights = [view(0, -depth)[1] for depth, _ in levels]
    for (depth, word), at, y in zip(levels, heights, apart(heights), strict=True):
        paint = {"built": "red" if short else "ink", "needed": "ink-2", "ordered": "line"}[word]
        built = word == "built"
        paper.text(
            (110, y + 4), f"{number_text(depth, 3)} ft {word}", anchor="end", bold=built, paint=f"f-{paint}", patch=True
        )
        dash = DASHED if word == "needed" else ""
        weight = 1.6 if built else 0.9
        paper.line((114, y), (128, at), (right + 8, at), paint=f"s-{paint}", weight=weight, dash=dash)


def _soil(paper: Paper, view: View, values: Mapping[str, Any], result: Shaft) -> None:
    """Draw what the soil can press with down the built shaft, to the depth scale of the section."""
    lost = values["neglected_ft"]
    points = soil_pressure(_demand(values), _ground(values), values["diameter_ft"], max(values["depth_ft"] - lost, 0))
    axis = 336.0
    paper.text((axis, 36), "soil at its limit", anchor="middle", paint="f-ink-2")
    if not points:
        paper.text((axis, 104), "gives nothing", anchor="middle", bold=True, paint="f-red", patch=True)
        return
    most = max(abs(each) for _, each in points)
    edge = [(axis + each / most * 58, view(0, -depth - lost)[1]) for depth, each in points]
    tip = edge[-1][1]
    paper.area(*edge, (axis, tip), (axis, edge[0][1]), paint="f-line-3 s-line", weight=0.9)
    for (x, upper), (below, lower) in pairwise(edge):
        if x == below != axis:
            paper.line((x, (upper + lower) / 2), (axis, (upper + lower) / 2), paint="s-line", weight=0.9, end="arrow")
    paper.line((axis, 80), (axis, tip), weight=1)
    paper.text((axis, 54), f"{most:,.0f} psf at most", anchor="middle", bold=True)
    if values["soil"] == "sand":
        paper.line((axis - 50, tip), (axis - 2, tip), weight=1.8, end="arrow")
        paper.text((axis, tip + 17), "single force at the tip", anchor="middle", paint="f-ink-2", patch=True)


def shares(values: Mapping[str, Any], result: Shaft) -> Paper:
    """Draw what the built and the ordered depth carry of the factored load, as bars; past LONGEST they end there."""
    rows = [("built", values["depth_ft"], result.capacity_ratio)]
    if result.ordered_ratio is not None:
        rows.insert(0, ("ordered", values["ordered_ft"], result.ordered_ratio))
    most = max(1.0, *(min(ratio, LONGEST) for _, _, ratio in rows))
    said = ", ".join(f"{word} {number_text(depth, 3)} ft {percent(ratio)}" for word, depth, ratio in rows)
    paper = Paper(420, 64 + 46 * len(rows), f"Carried of the factored load: {said}.")
    left, long, foot = 104.0, 222.0, 40.0 + 46 * len(rows)
    whole = left + long / most
    for row, (word, depth, ratio) in enumerate(rows):
        y, end = 44.0 + 46 * row, left + long * min(ratio, LONGEST) / most
        thin = word == "ordered"
        paper.rect(left, y, end - left, 26, "f-sheet s-line" if thin else "f-conc s-ink", 0.7 if thin else 1.6)
        if ratio < 1:
            paper.rect(end, y, whole - end, 26, "s-red", 0.9, fill="over")
        if ratio > LONGEST:
            paper.line((end - 10, y + 30), (end - 4, y - 4), paint="s-sheet", weight=4)
        paper.text((left - 8, y + 11), word, anchor="end", paint="f-ink-2")
        paper.text((left - 8, y + 25), f"{number_text(depth, 3)} ft", anchor="end", bold=not thin)
        at = (max(end, whole) + 8, y + 18)
        paper.text(at, percent(ratio), bold=True, paint="f-red" if ratio < 1 else "f-ink")
    paper.line((left, 36), (left, foot), weight=1)
    paper.line((whole, 32), (whole, foot), paint="s-red", weight=1.2, dash=DASHED)
    paper.text((max(whole, left + 60), 24), "factored load, 100 %", anchor="middle", bold=True, paint="f-red")
    return paper


def by_depth(values: Mapping[str, Any], result: Shaft) -> Paper:
    """Draw what each depth would carry of the factored load, up to LONGEST times of it."""
    demand, ground, lost = _demand(values), _ground(values), values["neglected_ft"]
    built, ordered, needed = values["depth_ft"], values.get("ordered_ft"), result.required_ft
    deepest = max(built, ordered or 0, needed) * 1.2
    top = max(1.3, 1.2 * min(LONGEST, max(result.capacity_ratio, result.ordered_ratio or 0)))

    def carried(depth: float) -> float:
        return capacity_factor(demand, ground, values["diameter_ft"], max(depth - lost, 0))

    paper = Paper(420, 300, f"What each depth carries: {needed:.2f} ft carry just the factored load.")
    chart = Chart(paper, (0, deepest), (0, 100 * top), "depth, ft", "% of the factored load")
    chart.limit(100, "factored load, 100 %", first=needed > deepest / 2)
    last = _depth_of(carried, top, deepest)
    depths = [last * at / SLICES for at in range(SLICES + 1)]
    chart.curve([(each, 100 * min(carried(each), top)) for each in depths], weight=1.8)
    paper.dot(chart.at(needed, 100), 4, "f-sheet s-ink")
    chart.limit(needed, f"needs {needed:.2f} ft", upright=True, paint="line", first=needed > deepest / 2)
    if ordered and carried(ordered) <= top:
        chart.points([(ordered, 100 * carried(ordered))], "f-line", 4)
        chart.label(ordered, 100 * carried(ordered), "ordered", dx=8, dy=14, paint="f-line", bold=False)
    short, at = result.capacity_ratio < 1, 100 * min(result.capacity_ratio, top)
    mark = chart.at(built, at)
    if result.capacity_ratio > top:
        paper.line((mark[0], mark[1] + 26), mark, weight=1.6, end="arrow")
    else:
        paper.diamond(mark, 6, "f-red" if short else "f-ink")
    beyond = built > deepest * 0.6
    chart.label(
        built, at, f"built {percent(result.capacity_ratio)}", anchor="end" if beyond else "start",
        dx=-12 if beyond else 12, dy=20 if at == 100 * top else 4 if at > 10 * top else -8,
        paint="f-red" if short else "f-ink",
    )  # fmt: skip
    return paper


def _depth_of(carried: Callable[[float], float], ratio: float, deepest: float) -> float:
    """Return the depth at which so much is carried, at most the deepest: the curve ends there."""
    low, high = 0.0, deepest
    if carried(deepest) <= ratio:
        return deepest
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (middle, high) if carried(middle) < ratio else (low, middle)
    return high


# Wind ---------------------------------------------------------------------------------------------------------------


def on_pole(values: Mapping[str, Any], result: BaseReaction) -> Paper:
    """Draw pole, arm and luminaire to scale, the wind's load up the pole, the resultant and what reaches the base."""
    height, arm = values["height_ft"], values["arm_length_ft"]
    at_lamp = values.get("luminaire_height_ft")
    lamp = height if at_lamp is None else at_lamp
    side = math.sqrt(values["luminaire_area_ft2"] / 2)
    scale = min(288 / max(height, lamp, 1), 120 / max(arm + side, 1e-9))
    paper = Paper(
        420,
        430,
        f"Wind on a {number_text(height, 4)} ft pole: {result.shear_lbf:,.0f} lbf acting {result.resultant_ft:.1f} ft up, "
        f"{result.moment_ftlb:,.0f} ft-lb at the base.",
    )
    view = View(0, 0, 236, 366, scale, scale)
    paper.ground(20, 400, 366)
    _profile(paper, view, values)
    _pole(paper, view, values, lamp)
    if result.other_shear_lbf:
        x, y = view(0, lamp)
        above = max(side * scale / 2, 4) + 8
        paper.text((x + 10, y - above), f"arm, luminaire {result.other_shear_lbf:,.0f} lbf", bold=True, patch=True)
    _resultant(paper, view, result)
    tall = (392.0, view(0, 0)[1]), (392.0, view(0, height)[1])
    paper.dimension(*tall, f"{number_text(height, 4)} ft", kind="plan", shift=-0.12)
    _scale_bar(paper, (20, 414), scale)
    return paper


def _profile(paper: Paper, view: View, values: Mapping[str, Any]) -> None:
    """Draw the load on each foot of pole as arrows that end at one line, to a scale of its own."""
    height, wall = values["height_ft"], 212.0
    site = Site(*(values[each] for each in ("speed_mph", "gust", "importance", "directionality", "exposure")))
    load = load_a_foot(site, Pole(height, values["base_diameter_in"] / 12, values["top_diameter_in"] / 12))
    heights = [height * at / SLICES for at in range(SLICES + 1)]
    loads = [load(each) for each in heights]
    most = max(loads)
    edge = [(wall - each / most * 84, view(0, z)[1]) for z, each in zip(heights, loads, strict=True)]
    paper.area((wall, edge[0][1]), *edge, (wall, edge[-1][1]), paint="f-line-3")
    for x, y in edge[4:-1:7]:
        paper.line((x, y), (wall, y), paint="s-line", weight=0.9, end="arrow")
    paper.line(*edge, paint="s-line", weight=1.2)
    paper.text((wall, 384), f"{number_text(most, 3)} lbf/ft at most", anchor="end", paint="f-line", bold=True)


def _pole(paper: Paper, view: View, values: Mapping[str, Any], lamp: float) -> None:
    """Draw pole, arm and luminaire; a luminaire is known by its area, so it is a rectangle of that area."""
    height, base, top = values["height_ft"], values["base_diameter_in"] / 24, values["top_diameter_in"] / 24
    paper.area(view(-base, 0), view(base, 0), view(top, height), view(-top, height), paint="f-ink s-ink", weight=0.8)
    arm, across = values["arm_length_ft"], values["arm_diameter_in"] / 12 * view.up
    if arm:
        paper.line(view(0, lamp), view(arm, lamp), weight=max(across, 1.4))
    area = values["luminaire_area_ft2"]
    if area:
        x, y = view(arm, lamp)
        high = math.sqrt(area / 2) * view.up
        paper.rect(x - high, y - high / 2, 2 * high, high, "f-conc-2 s-ink", 1.6)


def _resultant(paper: Paper, view: View, result: BaseReaction) -> None:
    """Draw the whole wind as one arrow at its height, and moment and shear at the base."""
    x, y = view(0, result.resultant_ft)
    paper.line((40, y), (x - 4, y), weight=2.4, end="arrow")
    paper.text((20, y - 8), f"{result.shear_lbf:,.0f} lbf", bold=True, size=14, patch=True)
    paper.text((20, y + 17), f"{result.resultant_ft:.1f} ft up", paint="f-ink-2", patch=True)
    foot = view(0, 0)
    paper.path(
        f"M{foot[0] - 18:.1f} {foot[1] - 22:.1f}A28 28 0 0 1 {foot[0] + 26:.1f} {foot[1] - 10:.1f}", "f-none s-ink", 2
    )
    paper.line((foot[0] + 25, foot[1] - 14), (foot[0] + 28, foot[1] - 3), weight=2, end="arrow")
    paper.text((foot[0] + 38, foot[1] - 10), f"{result.moment_ftlb:,.0f} ft-lb", bold=True, size=14, patch=True)


def by_height(values: Mapping[str, Any], result: Pressure) -> Paper:
    """Draw the pressure against height above ground."""
    height = values["height_ft"]
    top = max(height * 1.3, 40.0)
    names = ("speed_mph", "gust", "importance", "directionality", "drag", "exposure")

    def at(z: float) -> float:
        return pressure(height_ft=z, **{each: values[each] for each in names}).pressure_psf

    paper = Paper(420, 320, f"Wind pressure by height: {result.pressure_psf:.1f} psf at {number_text(height, 4)} ft.")
    chart = Chart(paper, (0, max(at(top), 0.1) * 1.2), (0, top), "pressure, psf", "height above ground, ft")
    chart.limit(LOWEST_FT, f"below {LOWEST_FT} ft the pressure stays", paint="line", first=True)
    chart.curve([(at(top * step / 120), top * step / 120) for step in range(121)], weight=1.8)
    chart.points([(result.pressure_psf, height)], radius=4.5)
    x, y = chart.at(result.pressure_psf, height)
    paper.line((chart.left, y), (x, y), paint="s-ink-2", weight=0.7, dash=DASHED)
    chart.label(
        result.pressure_psf,
        height,
        f"{result.pressure_psf:,.1f} psf at {number_text(height, 4)} ft",
        anchor="end",
        dx=-9,
    )
    return paper


# Bolts --------------------------------------------------------------------------------------------------------------


def _signed(force: float) -> str:
    return "0 lbf" if abs(force) < 0.5 else f"{'+' if force > 0 else MINUS}{abs(force):,.0f} lbf"


def _over(result: BoltForces, force: float) -> bool:
    """Whether the bolt of this force is stressed over yield in tension."""
    ratio = result.yield_ratio
    return ratio is not None and force > 0 and ratio * force > result.tension_lbf


def bolt_plan(values: Mapping[str, Any], result: BoltForces) -> Paper:
    """Draw the bolts from above: pulled ones filled, pressed ones hatched, each with its force, and the bending axis."""
    radius, count = values["bolt_circle_in"] / 2, int(values["count"])
    paper = Paper(
        420,
        372,
        f"{count} bolts from above on a {number_text(2 * radius, 4)} in circle: greatest tension {result.tension_lbf:,.0f} lbf, "
        f"greatest compression {result.compression_lbf:,.0f} lbf.",
    )
    view = View.fit((-radius, radius), (-radius, radius), (125, 84, 176, 176))
    paper.circle(view(0, 0), radius * view.across, "f-none s-line", 0.8, DASHED)
    paper.axis(view(-1.5 * radius, 0), view(1.5 * radius, 0))
    paper.line((30, 40), (30, 92), weight=1.8, end="arrow")
    paper.text((42, 56), "the pole leans", paint="f-ink-2")
    paper.text((42, 71), "this way", paint="f-ink-2")
    most = max(result.tension_lbf, result.compression_lbf, 1e-9)
    for index, force in enumerate(result.forces_lbf):
        turn = math.radians(values["angle_deg"] + 360 * index / count)
        at = view(radius * math.cos(turn), radius * math.sin(turn))
        size = (4 + 9 * math.sqrt(abs(force) / most)) * min(1.0, 8 / count + 0.3)
        _bolt(paper, at, size, force, _over(result, force))
        extreme = force in (max(result.forces_lbf), min(result.forces_lbf))
        if count <= FEWEST_NAMED or (extreme and result.forces_lbf.index(force) == index):
            _force(paper, at, turn, size, index, force, _over(result, force))
    _scale_bar(paper, (20, 360), view.across, "in", 70)
    paper.text((402, 328), "chain: bending axis", anchor="end", paint="f-ink-2")
    paper.text((402, 345), "filled: tension", anchor="end", paint="f-ink-2")
    paper.text((402, 362), "hatched: compression", anchor="end", paint="f-ink-2")
    return paper


def _bolt(paper: Paper, at: Point, size: float, force: float, over: bool) -> None:
    if force > 0:
        paper.circle(at, size, "f-red s-red" if over else "f-ink s-ink", 1.4)
    else:
        paper.circle(at, size, "f-sheet s-ink", 1.6)
        paper.circle(at, size, "s-ink", 1.6, fill="within")


def _force(paper: Paper, at: Point, turn: float, size: float, index: int, force: float, over: bool) -> None:
    side, rise = math.cos(turn), math.sin(turn)
    anchor = "middle" if abs(side) < 0.3 else "start" if side > 0 else "end"
    x, y = at[0] + (size + 7) * side, at[1] - (size + 12) * rise + 4
    if anchor == "middle":
        y += -6 if rise > 0 else 8
    paper.text(
        (x, y),
        f"{index + 1}  {_signed(force)}",
        anchor=anchor,
        bold=True,
        paint="f-red" if over else "f-ink",
        patch=True,
    )


def bolt_forces(values: Mapping[str, Any], result: BoltForces) -> Paper:
    """Draw the force of each bolt against its distance from the bending axis, with the yield limit where it is given."""
    arms = arms_of(int(values["count"]), values["bolt_circle_in"], values["angle_deg"])
    reach = max(abs(each) for each in arms) * 1.25
    most = max(result.tension_lbf, result.compression_lbf) or 1000.0
    area, strength = values.get("area_in2"), values.get("yield_ksi")
    limit = 1000 * area * strength if area and strength else None
    shown = limit is not None and limit <= 4 * most
    top = max(result.tension_lbf, limit if shown and limit else 0, most * 0.15) * 1.22
    floor = -max(result.compression_lbf, most * 0.15) * 1.36
    paper = Paper(
        420,
        320,
        f"Force of each bolt by its distance from the bending axis: {', '.join(map(_signed, result.forces_lbf))}.",
    )
    chart = Chart(
        paper, (-reach, reach), (floor / 1000, top / 1000), "distance from the bending axis, in", "kip, tension up"
    )
    for arm, force in zip(arms, result.forces_lbf, strict=True):
        wide = reach * min(0.12, 1.2 / len(arms))
        chart.bar(arm, force / 1000, wide, "f-red" if _over(result, force) else "f-ink" if force > 0 else "s-ink",
                  fill="" if force > 0 else "within")  # fmt: skip
    ends = sorted(zip(arms, result.forces_lbf, strict=True))
    chart.curve([(arm, force / 1000) for arm, force in (ends[0], ends[-1])], "s-line", 0.9)
    chart.curve([(-reach, 0), (reach, 0)], weight=1)
    if shown and limit:
        chart.limit(limit / 1000, f"yield, {number_text(limit / 1000, 3)} kip", first=True)
    for arm, force in dict.fromkeys((ends[-1], ends[0])):
        chart.label(arm, force / 1000, f"{_signed(force)}", anchor="middle", dx=0, dy=-7 if force > 0 else 16,
                    paint="f-red" if _over(result, force) else "f-ink")  # fmt: skip
    return paper


# Post ---------------------------------------------------------------------------------------------------------------


def post(values: Mapping[str, Any], result: PostDepth) -> Paper:
    """Draw the post in its ground, the load at its height, and the pressure that the ground may press with."""
    depth, height, wide = result.depth_ft, values["height_ft"], values["width_ft"]
    paper = Paper(
        420,
        430,
        f"Post {number_text(wide, 3)} ft wide, {depth:.2f} ft deep, under {values['shear_lbf']:,.0f} lbf "
        f"{number_text(height, 3)} ft above ground; the ground presses with {result.pressure_psf:,.0f} psf.",
    )
    scale = min(300 / (height + depth), 100 / wide)
    view = View(0, 0, 170, 56 + height * scale, scale, scale)
    ground = view(0, 0)[1]
    paper.axis(view(0, 0), (170, view(0, height)[1] - 6))
    paper.area(
        view(-wide / 2, 0), view(wide / 2, 0), view(wide / 2, -depth), view(-wide / 2, -depth),
        paint="s-ink", weight=1.8, fill="concrete",
    )  # fmt: skip
    paper.ground(20, 400, ground)
    if values["constrained"]:
        for left, right in ((20, view(-wide / 2, 0)[0]), (view(wide / 2, 0)[0], 400)):
            paper.rect(left, ground, right - left, 8, "f-conc s-ink", 0.9)
        paper.text((400, ground - 6), "pavement holds it", anchor="end", paint="f-ink-2", patch=True)
    load = view(0, height)
    paper.line((92, load[1]), (load[0] - 3, load[1]), weight=2.2, end="arrow")
    paper.text((20, load[1] - 8), f"{values['shear_lbf']:,.0f} lbf", bold=True, size=14)
    left = 96 if height * scale > 30 else 60
    paper.dimension(
        (left, ground), (left, load[1]), f"{number_text(height, 3)} ft", kind="plan"
    ) if height * scale > 30 else None
    paper.dimension((60, ground), (60, view(0, -depth)[1]), f"{depth:.2f} ft")
    _allowable(paper, view, values, result)
    foot = view(0, -depth)[1]
    paper.text((170, foot + 18), f"{number_text(wide, 3)} ft wide", anchor="middle", paint="f-line")
    _scale_bar(paper, (20, 416), scale)
    return paper


def _allowable(paper: Paper, view: View, values: Mapping[str, Any], result: PostDepth) -> None:
    """Draw the allowable pressure down the post, and the depth at which the formula reads it."""
    depth, axis = result.depth_ft, 266.0
    rate = values["pressure_psf_ft"] * values["increase"]
    marks = sorted({0.0, min(depth, DEEPEST_FT), depth})
    most = rate * min(depth, DEEPEST_FT)
    edge = [(axis + rate * min(each, DEEPEST_FT) / most * 64, view(0, -each)[1]) for each in marks]
    paper.area(*edge, (axis, edge[-1][1]), paint="f-line-3 s-line", weight=0.9)
    paper.line((axis, edge[0][1]), (axis, edge[-1][1]), weight=1)
    read = depth if values["constrained"] else depth / 3
    end, y = axis + rate * min(read, DEEPEST_FT) / most * 64, view(0, -read)[1]
    paper.line((axis, y), (end, y), weight=2)
    paper.dot((end, y))
    x, lines = (axis, (y + 18, y + 33)) if values["constrained"] else (end + 8, (y - 16, y - 2))
    paper.text((x, lines[0]), f"{result.pressure_psf:,.0f} psf", bold=True, patch=True)
    said = "at the foot" if values["constrained"] else "at a third"
    paper.text((x, lines[1]), said, paint="f-ink-2", patch=True)


DRAWINGS = {
    "capacity.shaft": (
        Drawing("Ordered, built, needed", "depth and soil to one scale", section),
        Drawing("What it carries", "of the factored load", shares),
        Drawing("What each depth would carry", "same ground, same load", by_depth),
    ),
    "capacity.wind": (Drawing("Wind on the pole", "to scale; the wind's load laid at the left", on_pole),),
    "capacity.pressure": (Drawing("Pressure by height", "", by_height),),
    "capacity.bolts": (
        Drawing("Bolts from above", "to scale; dots by force", bolt_plan),
        Drawing("Force of each bolt", "", bolt_forces),
    ),
    "capacity.post": (Drawing("Post in its ground", "to scale", post),),
}
