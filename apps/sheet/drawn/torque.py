"""Drawings of the wrench: preload that a torque means, a double-nut joint and its order, deviations of a wrench."""

import math
from collections.abc import Mapping
from itertools import pairwise
from typing import Any

from apps.calc.torque import GRADES, DoubleNut, Preload, WrenchCheck
from apps.calc.torque.calibration import SMALL_FTLB, limit_at
from apps.calc.torque.joint import TURN_ALLOWED
from apps.calc.working import number_text
from apps.sheet.drawn import Drawing
from apps.sheet.drawn.chart import Chart
from apps.sheet.drawn.paper import Paper, Point

NAMED = 12
"""Up to so many bolts or readings each carry their figure."""


def tension(values: Mapping[str, Any], result: Preload) -> Paper:
    """Draw the preload against the torque, between both nut factors, with the yield limit where a grade is given."""
    torque, grade = values["torque_ftlb"], values.get("grade")
    limit = result.stress_area_in2 * GRADES[grade].yield_ksi if grade else None
    high, low = result.high_lbf / 1000, result.low_lbf / 1000
    shown = limit is not None and limit <= 5 * high
    right = (torque or 100) * 1.3
    top = max(high * 1.3, limit * 1.12 if shown and limit else 0) or 1.0
    paper = Paper(
        420,
        330,
        f"{number_text(torque)} ft-lb gives {result.low_lbf:,.0f} to {result.high_lbf:,.0f} lbf of preload.",
    )
    chart = Chart(paper, (0, right), (0, top), "torque, ft-lb", "preload, kip")
    ends = right / torque if torque else 0
    paper.area(chart.at(0, 0), chart.at(right, high * ends), chart.at(right, low * ends), paint="f-line-3")
    for force in (high, low):
        chart.curve([(0, 0), (right, force * ends)], "s-line", 1.2)
    top_end, along = chart.at(right, high * ends), chart.at(right * 0.42, low * ends * 0.42)
    k_low, k_high = (f"K {number_text(values[each], 3)}" for each in ("low_factor", "high_factor"))
    paper.text((top_end[0] - 4, top_end[1] - 6), k_low, anchor="end", paint="f-line")
    if ends and high > low:
        paper.text((along[0] + 8, along[1] + 16), k_high, paint="f-line")
    if shown and limit:
        chart.limit(limit, f"yield, grade {grade}: {number_text(limit, 3)} kip", first=True)
    over = limit is not None and high > limit
    foot, tip = chart.at(torque, low), chart.at(torque, high)
    paper.line(chart.at(torque, 0), tip, paint="s-ink-2", weight=0.7)
    paper.line(foot, tip, paint="s-red" if over else "s-ink", weight=2.4)
    _preloads(paper, foot, tip, result, limit)
    return paper


def _preloads(paper: Paper, foot: Point, tip: Point, result: Preload, limit: float | None) -> None:
    """Mark and write the greatest preload above its line and the least below its own; one of them where they are the same."""
    ends = [(tip, result.high_lbf, -1), (foot, result.low_lbf, 1)]
    for at, force, side in ends if result.high_lbf > result.low_lbf else ends[:1]:
        red = "red" if limit is not None and force / 1000 > limit else "ink"
        paper.dot(at, 4, f"f-{red}")
        left = side < 0 and at[0] > 140
        words = (at[0] + (-9 if left else 9), at[1] + (-6 if side < 0 else 19))
        paper.text(
            words, f"{force:,.0f} lbf", anchor="end" if left else "start", bold=True, paint=f"f-{red}", patch=left
        )


def order(values: Mapping[str, Any], result: DoubleNut) -> Paper:
    """Draw the bolts numbered round, each with its place in the order, and the way from one to the next."""
    count = len(result.order)
    paper = Paper(420, 330, f"Order of {count} bolts numbered round: {', '.join(map(str, result.order))}.")
    centre, radius = (210.0, 152.0), 100.0
    size = min(14.0, 150 / count + 4)

    def at(bolt: int) -> Point:
        turn = 2 * math.pi * (bolt - 1) / count - math.pi / 2
        return centre[0] + radius * math.cos(turn), centre[1] + radius * math.sin(turn)

    paper.circle(centre, radius, "f-none s-line", 0.8, "5 3")
    for one, other in pairwise(result.order):
        (x1, y1), (x2, y2) = at(one), at(other)
        long = math.dist((x1, y1), (x2, y2))
        part = (size + 3) / long
        start, end = (x1 + (x2 - x1) * part, y1 + (y2 - y1) * part), (x2 - (x2 - x1) * part, y2 - (y2 - y1) * part)
        paper.line(start, end, paint="s-line", weight=0.9, end="arrow" if count <= NAMED else "")
    for place, bolt in enumerate(result.order, 1):
        x, y = at(bolt)
        paper.circle((x, y), size, "f-ink s-ink" if place == 1 else "f-sheet s-ink", 1.6)
        paper.text((x, y + 4.5), str(place), anchor="middle", bold=True, size=13 if count <= NAMED else 12,
                   paint="f-on-ink" if place == 1 else "f-ink")  # fmt: skip
        side = (x - centre[0]) / radius, (y - centre[1]) / radius
        anchor = "middle" if abs(side[0]) < 0.3 else "start" if side[0] > 0 else "end"
        words = f"bolt {bolt}" if count <= NAMED else str(bolt)
        paper.text((x + side[0] * (size + 7), y + side[1] * (size + 12) + 4), words, anchor=anchor, paint="f-ink-2")
    paper.text((20, 318), "in the bolt: order of its nut", paint="f-ink-2")
    paper.text((400, 318), "snug: two full cycles", anchor="end", paint="f-ink-2")
    return paper


def turn(values: Mapping[str, Any], result: DoubleNut) -> Paper:
    """Draw the nut from above with the mark at snug, the turn, and how far it may go on."""
    angle, more = result.rotation_deg, result.rotation_deg + TURN_ALLOWED
    paper = Paper(
        420, 300, f"Turn of the nut past snug: {number_text(angle)} degrees, {number_text(more)} at most.",
    )  # fmt: skip
    centre, arm = (190.0, 158.0), 112.0

    def at(degrees: float, reach: float) -> Point:
        return centre[0] + reach * math.sin(math.radians(degrees)), centre[1] - reach * math.cos(math.radians(degrees))

    allowed = [at(angle + TURN_ALLOWED * step / 12, arm) for step in range(13)]
    paper.area(centre, *allowed, paint="f-line-3 s-line-2", weight=0.7)
    paper.area(*(at(60 * each + angle, 58) for each in range(6)), paint="f-conc-2 s-ink", weight=1.8)
    paper.circle(centre, 28, "f-sheet s-ink", 1.6)
    paper.line(at(0, 30), at(0, arm + 8), paint="s-line", weight=0.9, dash="7 4")
    paper.line(at(angle, 30), at(angle, arm + 8), weight=2.2)
    arc = [at(angle * step / 48, 90) for step in range(48)]
    paper.line(*arc, at(angle - 1, 90), weight=1.8, end="arrow")
    top = at(0, arm + 8)
    paper.text((top[0] - 8, top[1] + 8), "snug", anchor="end", paint="f-line")
    end = at(more, arm + 8)
    paper.text((max(end[0], 200) + 30, min(end[1] + 8, 284)), f"up to {number_text(more)}°", paint="f-line", bold=True)
    paper.text((20, 32), f"{number_text(angle)}°", bold=True, size=20)
    paper.text((20, 52), f"1/{360 / angle:.0f} of a turn", paint="f-ink-2")
    return paper


def stages(values: Mapping[str, Any], result: DoubleNut) -> Paper:
    """Draw snug, and the torque that verifies, on one scale of torque."""
    verify, low, high = result.verification_ftlb, result.snug_low_ftlb, result.snug_high_ftlb
    paper = Paper(
        420, 150, f"Snug {number_text(low, 4)} to {number_text(high, 4)} ft-lb; verification torque {number_text(verify, 4)} ft-lb.",
    )  # fmt: skip
    left, long = 24.0, 330.0

    def x(torque: float) -> float:
        return left + long * torque / (verify * 1.05)

    paper.line((left, 78), (left + long * 1.1, 78), weight=1, end="arrow")
    paper.line((left, 72), (left, 84), weight=1)
    paper.text((left, 102), "0", anchor="middle", paint="f-ink-2")
    paper.rect(x(low), 66, x(high) - x(low), 24, "f-conc s-ink", 1.6)
    paper.text(
        ((x(low) + x(high)) / 2, 40),
        f"{number_text(low, 4)} to {number_text(high, 4)} ft-lb",
        anchor="middle",
        bold=True,
    )
    paper.text(((x(low) + x(high)) / 2, 57), "snug", anchor="middle", paint="f-ink-2")
    paper.line((x(verify), 62), (x(verify), 94), weight=2.4)
    paper.text((x(verify), 40), f"{number_text(verify, 4)} ft-lb", anchor="middle", bold=True)
    paper.text((x(verify), 57), "verify", anchor="middle", paint="f-ink-2")
    paper.text((left, 138), f"{number_text(result.pretension_kip)} kip of pretension in each rod", paint="f-ink-2")
    return paper


def deviations(values: Mapping[str, Any], result: WrenchCheck) -> Paper:
    """Draw how far each reading is off, with the permitted band, red where it is beyond it."""
    torques = [float(each) for each in values["set_ftlb"]]
    own = values.get("limit_percent")
    most = max(limit_at(0, own), *(abs(each) for each in result.deviations_percent)) * 1.25
    right = max(torques) * 1.12
    paper = Paper(
        420, 330, f"Deviation of the wrench at {len(torques)} readings, farthest {result.worst_percent:+.2f} %: "
        f"{'all' if result.within else 'not all'} within the limit.",
    )  # fmt: skip
    chart = Chart(paper, (0, right), (-most, most), "set to, ft-lb", "off by, % of the reference")
    edge = min(SMALL_FTLB, right)
    steps = [
        (0.0, limit_at(0, own)),
        (edge, limit_at(0, own)),
        (edge, limit_at(right, own)),
        (right, limit_at(right, own)),
    ]
    paper.area(*(chart.at(*each) for each in steps), *(chart.at(x, -y) for x, y in reversed(steps)), paint="f-line-3")
    for sign in (1, -1):
        chart.curve([(x, sign * y) for x, y in steps], "s-red", 1.2, "5 3")
        at = chart.at(0, sign * steps[-1][1])
        paper.text((chart.left + chart.width, at[1] + (-5 if sign > 0 else 15)),
                   f"{'+' if sign > 0 else '−'}{number_text(steps[-1][1])} %", anchor="end", bold=True, paint="f-red")  # fmt: skip
    chart.curve([(0, 0), (right, 0)], "s-ink", 1)
    worst = result.deviations_percent.index(result.worst_percent)
    for index, (torque, off, limit) in enumerate(
        zip(torques, result.deviations_percent, result.limits_percent, strict=True)
    ):
        over = abs(off) > limit
        at = chart.at(torque, off)
        paper.line(chart.at(torque, 0), at, paint="s-red" if over else "s-ink-2", weight=0.9)
        paper.diamond(at, 5.5, "f-red" if over else "f-ink")
        if index == worst or len(torques) <= NAMED:
            far = at[0] > chart.left + chart.width - 60
            paper.text((at[0] + (-10 if far else 10), at[1] + 4), f"{off:+.1f} %".replace("-", "−"), bold=True, patch=True,
                       anchor="end" if far else "start", paint="f-red" if over else "f-ink")  # fmt: skip
    return paper


DRAWINGS = {
    "torque.preload": (Drawing("What the torque means", "between both nut factors", tension),),
    "torque.double_nut": (
        Drawing("Order of the nuts", "not to scale: no bolt circle is given", order),
        Drawing("Turn past snug", "angle true, nut not to scale", turn),
        Drawing("Torque", "snug, then verified", stages),
    ),
    "torque.wrench": (Drawing("Deviations", "below 0 it gives more than it is set to", deviations),),
}
