"""Drawings of grounding and wiring: the rod in its soil, the readings of a test, a conduit's inside, the way to the load."""

import math
from collections.abc import Mapping
from typing import Any

from apps.calc.electrical.grounding import SLOPE_RANGE, Electrode, FallOfPotential, rod_resistance_ohm
from apps.calc.electrical.wiring import CONDUITS, THHN_AREA_IN2, Fill, VoltageDrop
from apps.calc.working import number_text as text
from apps.sheet.drawn import Drawing
from apps.sheet.drawn.chart import Chart
from apps.sheet.drawn.paper import Paper, Point, View, nice_step

FOOT_M, INCH_M = 0.3048, 0.0254
LIMIT_OHM = 25
MOST_WIRES = 60
"""So many wires are drawn; a conduit for a pole holds a dozen."""


def rod_section(values: Mapping[str, Any], result: Electrode) -> Paper:
    """Draw the rod in the earth, to scale along, its thickness not."""
    length = float(values["length_ft"])
    paper = Paper(420, 300, f"A rod {text(length)} ft in the earth: about {text(result.resistance_ohm, 3)} ohm.")
    view = View(0, -length, 130, 238, 170 / length, 170 / length)
    paper.line((30, 68), (390, 68), weight=1.4)
    for x in range(36, 390, 14):
        paper.line((x, 68), (x - 7, 75), weight=0.6)
    top, foot = view(0, 0), view(0, -length)
    for share in (1.0, 0.66, 0.33):
        _shell(paper, top, foot, 90 * share)
    paper.line((top[0], top[1] - 12), foot, weight=3.4)
    paper.dimension((262, top[1]), (262, foot[1]), f"{text(length)} ft")
    paper.text((288, 100), f"soil {text(values['resistivity_ohm_m'])} ohm m", paint="f-ink-2")
    paper.text(
        (170, 48),
        f"{text(result.resistance_ohm, 3)} ohm to earth",
        bold=True,
        paint="f-red" if result.supplement_needed else "f-ink",
    )
    step = nice_step(length, 3)
    paper.scale_bar((30, 291), step * view.up, f"{text(step)} ft; the thickness is not to scale")
    return paper


def _shell(paper: Paper, top: Point, foot: Point, wide: float) -> None:
    """Draw one shell of soil that the current passes: round below, upright beside the rod."""
    left, right, high = top[0] - wide, top[0] + wide, min(wide, 30)
    arc = f"A{wide:.1f} {high:.1f} 0 0 0 {right:.1f} {foot[1]:.1f}"
    path = f"M{left:.1f} {top[1]:.1f}V{foot[1]:.1f}{arc}V{top[1]:.1f}"
    paper.path(path, "f-none s-line", 0.7, "5 3")


def rod_depth(values: Mapping[str, Any], result: Electrode) -> Paper:
    """Draw how the resistance falls with the length of the rod, with the 25 ohm of a single one."""
    length, thick = float(values["length_ft"]), float(values["diameter_in"]) * INCH_M
    longest = max(2.2 * length, 12.0)
    lengths = [max(longest * share / 60, 4 * thick / FOOT_M) for share in range(3, 61)]
    soil = float(values["resistivity_ohm_m"])
    curve = [
        (each, rod_resistance_ohm(resistivity_ohm_m=soil, length_m=each * FOOT_M, diameter_m=thick)) for each in lengths
    ]
    top = min(max(2.2 * result.resistance_ohm, 1.3 * LIMIT_OHM), max(each for _, each in curve) * 1.05)
    paper = Paper(
        420, 300, f"Resistance against length of the rod: {text(result.resistance_ohm, 3)} ohm at {text(length)} ft."
    )
    chart = Chart(paper, (0, longest), (0, top), "length of the rod, ft", "resistance to earth, ohm")
    chart.curve([each for each in curve if each[1] <= top])
    if top >= LIMIT_OHM:
        chart.limit(LIMIT_OHM, f"over {LIMIT_OHM} ohm: a second one", first=True)
    chart.points([(length, result.resistance_ohm)], "f-red" if result.supplement_needed else "f-ink", 4.5)
    chart.label(length, result.resistance_ohm, f"{text(result.resistance_ohm, 3)} ohm")
    return paper


def readings(values: Mapping[str, Any], result: FallOfPotential) -> Paper:
    """Draw the three readings along the way to the current probe, the curve through them, and where the true value is."""
    three = [float(values[name]) for name in ("near_ohm", "middle_ohm", "far_ohm")]
    paper = Paper(
        420,
        300,
        f"Readings at 20, 40 and 60 %: the true {text(result.true_resistance_ohm, 3)} ohm lies at {text(100 * result.place, 3)} %.",
    )
    chart = Chart(
        paper, (0, 100), (0, three[2] * 1.25), "potential probe, % of the way to the current probe", "reading, ohm"
    )

    def curve(x: float) -> float:
        t = (x - 20) / 20
        return three[0] + t * (three[1] - three[0]) + t * (t - 1) / 2 * (three[2] - 2 * three[1] + three[0])

    end = max(60.0, 100 * result.place)
    chart.curve([(x, curve(x)) for x in (20 + (end - 20) * k / 40 for k in range(41))])
    chart.points(list(zip((20.0, 40.0, 60.0), three, strict=True)))
    at = chart.at(100 * result.place, result.true_resistance_ohm)
    paper.line((at[0], at[1] + 6), (at[0], chart.top + chart.height), paint="s-line", weight=0.8, dash="5 3")
    paper.diamond(at, 6)
    paper.text(
        (at[0], at[1] - 12), f"{text(result.true_resistance_ohm, 3)} ohm", anchor="middle", bold=True, patch=True
    )
    return paper


def place(values: Mapping[str, Any], result: FallOfPotential) -> Paper:
    """Draw the test from the side: electrode, probes, and where the potential probe belongs."""
    paper = Paper(
        420, 150, f"Electrode, potential probe at {text(100 * result.place, 3)} % and current probe in a line."
    )
    left, right, ground = 50.0, 380.0, 78.0
    at = left + (right - left) * result.place
    paper.line((20, ground), (410, ground), weight=1.4)
    for x, deep, weight in ((left, 44, 3.4), (at, 20, 2.2), (right, 20, 2.2)):
        paper.line((x, ground - 10), (x, ground + deep), weight=weight)
    for x, words in ((left, "electrode"), (at, "potential"), (right, "current")):
        paper.text((x, ground - 18), words, anchor="middle", paint="f-ink-2")
    paper.dimension((left, 132), (at, 132), f"{text(100 * result.place, 3)} %")
    paper.dimension((at, 132), (right, 132), f"{text(100 - 100 * result.place, 3)} %", kind="plan")
    low, high = SLOPE_RANGE
    paper.text((20, 22), f"slope {text(result.slope, 3)}; usable from {low} to {high}", paint="f-ink-2")
    return paper


def _wires(values: Mapping[str, Any]) -> list[tuple[str, float]]:
    """Return gauge and diameter [in] of every wire, the thickest first."""
    found = [
        (gauge, 2 * math.sqrt(THHN_AREA_IN2[gauge] / math.pi))
        for gauge, count in zip(values["gauges"], values["counts"], strict=True)
        for _ in range(int(count))
    ]
    return sorted(found, key=lambda each: -each[1])[:MOST_WIRES]


def conduit(values: Mapping[str, Any], result: Fill) -> Paper:
    """Draw the conduit's inside to scale with its wires lying in it, row upon row from the bottom."""
    inside = 2 * math.sqrt(CONDUITS[values["conduit"]][values["size"]] / math.pi)
    paper = Paper(
        420,
        320,
        f"{values['conduit']} {values['size']}: {text(result.percent, 3)} % filled, {result.limit_percent} % allowed.",
    )
    scale = 220 / inside
    centre = (210.0, 142.0)
    paper.circle(centre, 110, "f-sheet s-ink", 2.2)
    placed, left = _laid(_wires(values), inside)
    for (gauge, wide), (x, y) in placed:
        at = (centre[0] + x * scale, centre[1] + y * scale)
        paper.circle(at, wide / 2 * scale, "f-conc-2 s-ink", 1)
        if wide * scale > 22:
            paper.text((at[0], at[1] + 4), gauge, anchor="middle", size=12)
    kinds = ", ".join(
        f"{int(count)} of No. {gauge}" for gauge, count in zip(values["gauges"], values["counts"], strict=True)
    )
    paper.text(
        (210, 278), kinds if len(kinds) < 64 else f"{len(placed) + left} wires", anchor="middle", paint="f-ink-2"
    )
    if left:
        paper.text((210, 22), f"{left} find no room in the drawing", anchor="middle", bold=True, paint="f-red")
    step = nice_step(inside, 4)
    paper.scale_bar((20, 310), step * scale, f"{text(step)} in")
    paper.text((400, 314), "areas true; how the wires lie is not", anchor="end", paint="f-ink-2")
    return paper


def _laid(wires: list[tuple[str, float]], inside: float) -> tuple[list[tuple[tuple[str, float], Point]], int]:
    """Lay circles into a circle: each at the lowest place that is free. Returns them about the centre, y down, and how many are left."""
    placed: list[tuple[tuple[str, float], Point]] = []
    left = 0
    for wire in wires:
        reach = (inside - wire[1]) / 2
        spots = [
            (reach * ring / 24 * math.cos(turn), reach * ring / 24 * math.sin(turn))
            for ring in range(25)
            for turn in (math.tau * k / max(6 * ring, 1) for k in range(max(6 * ring, 1)))
        ] if reach >= 0 else []  # fmt: skip
        free = [
            spot
            for spot in spots
            if all(math.hypot(spot[0] - x, spot[1] - y) >= (wire[1] + other[1]) / 2 - 1e-9 for other, (x, y) in placed)
        ]
        if free:
            placed.append((wire, max(free, key=lambda spot: spot[1])))
        else:
            left += 1
    return placed, left


def fill_bar(values: Mapping[str, Any], result: Fill) -> Paper:
    """Draw how full the conduit is against what may be filled."""
    paper = Paper(420, 120, f"{text(result.percent, 3)} % filled of {result.limit_percent} % allowed.")
    top = max(100.0, result.percent * 1.05)
    view = View(0, 0, 20, 78, 380 / top, 1)
    paper.rect(20, 46, 380, 32, "f-sheet s-rule-2", 1)
    (end, _), (limit, _) = view(result.percent, 0), view(result.limit_percent, 0)
    paper.rect(20, 46, min(end, limit) - 20, 32, "f-conc")
    if end > limit:
        paper.rect(limit, 46, end - limit, 32, "s-red", 1, fill="over")
    paper.line((limit, 38), (limit, 86), paint="s-red", weight=1.8)
    paper.text((limit, 104), f"{result.limit_percent} % allowed", anchor="middle", paint="f-red", bold=True)
    paper.text((min(max(end, 60), 360), 32), f"{text(result.percent, 3)} % filled", anchor="middle", bold=True)
    return paper


def along(values: Mapping[str, Any], result: VoltageDrop) -> Paper:
    """Draw the voltage along the run."""
    volts, length = float(values["volts"]), float(values["one_way_ft"]) or 1.0
    paper = Paper(
        420, 300, f"{text(volts)} V at the supply, {text(result.at_load_v, 4)} V at the load {text(length)} ft away."
    )
    low = max(min(result.at_load_v, 0.9 * volts) - 0.04 * volts, 0)
    chart = Chart(paper, (0, length), (low, volts * 1.02), "along the run, ft", "voltage, V")
    chart.under([(0, volts), (length, result.at_load_v)], "f-line-3")
    chart.curve([(0, volts), (length, result.at_load_v)], weight=2.2)
    chart.limit(volts, f"supply {text(volts)} V", paint="line", first=True)
    chart.points([(length, result.at_load_v)], radius=4.5)
    words = f"{text(result.at_load_v, 4)} V, {text(result.percent, 3)} % lost"
    chart.label(length, result.at_load_v, words, anchor="end", dx=-10, dy=18)
    return paper


DRAWINGS = {
    "electrical.rod": (
        Drawing("The rod in the earth", "length to scale", rod_section),
        Drawing("Resistance against length", "in this soil", rod_depth),
    ),
    "electrical.fall_of_potential": (
        Drawing("The three readings", "and the curve through them", readings),
        Drawing("Where the probe belongs", "", place),
    ),
    "electrical.fill": (
        Drawing("Inside the conduit", "to scale", conduit),
        Drawing("Filled and allowed", "", fill_bar),
    ),
    "electrical.drop": (Drawing("Voltage along the run", "", along),),
}
