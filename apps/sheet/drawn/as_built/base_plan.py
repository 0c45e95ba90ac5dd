"""The base of a foundation from above: hole and cage, bolts where measured lengths put them, corners that bear or stand open."""

import math
from fractions import Fraction
from typing import NamedTuple

from apps.calc.shown import show
from apps.sheet.drawn.as_built.said import WORDS, feet_inches, inches
from apps.sheet.drawn.as_built.values import CORNERS, Base, Bolt, Cage
from apps.sheet.drawn.paper import DASHED, Paper, Point, View

PLAN_POINTS = 0.6
"""Points for a unit of the base plan on paper: 7.5 units an inch are then 3/4 in = 1 ft."""
SCALE = 7.5
BEYOND = 2.5
"""How far the outline of a base stands outside its bolts [in]: its size is not on file, so it is dashed and says so."""
WEDGE = 0.3
"""Part of a side that a wedge at an open corner takes."""


class _Plan(NamedTuple):
    """The base plan on its paper."""

    paper: Paper
    view: View
    half: float
    """Half the side of the base's outline [in]."""
    reach: float
    """Radius of hole and plans, the greater [in]."""


def base_plan(given: Base) -> Paper:
    """Draw a base from above, the road along the top, from what was measured of it.

    True to scale, 7.5 units an inch; a scale bar stands at its foot. The bolt pair is drawn square to the sheet, and the road's
    direction off it either way: by how much was measured, which way was not.
    """
    radii = [given.diameter, *(each for each in (given.along, given.across) if each is not None)]
    reach = float(max(radii)) / 2
    half = max(200.0, reach * SCALE + 84)
    paper = Paper(round(2 * half), round(64 + 2 * (reach * SCALE + 16) + 76), _name(given))
    bolts = given.bolts or _on_plan(given)
    side = max(max(abs(each.x), abs(each.y)) for each in bolts) + BEYOND
    plan = _Plan(paper, View(0, 0, half, 64 + reach * SCALE + 16, SCALE, SCALE), side, reach)
    _road(plan, given)
    _shaft(plan, given)
    if given.cage:
        _cage(plan, given.cage, given.right_side)
    if given.set:
        _base(plan, given)
    _circle(plan, given)
    _conduits(plan, given)
    _bolts(plan, given)
    if given.angle is not None:
        _angle(plan, given.angle, given.angle_limit)
    for number, corner in enumerate(CORNERS):
        _corner(plan, given, corner, number)
    _foot(plan, given)
    return paper


def _on_plan(given: Base) -> tuple[Bolt, ...]:
    """Return four bolts where the plans put them."""
    at = float(given.bolt_circle) / 2 / math.sqrt(2)
    return tuple(Bolt(x * at, y * at) for x, y in ((-1, 1), (1, 1), (1, -1), (-1, -1)))


def _name(given: Base) -> str:
    """Say the plan in words, with its main numbers."""
    way = "up-station" if given.right_side else "down-station"
    said = [f"{given.name}, as-built base plan, the road above and {way} to the right."]
    if given.along is not None and given.across is not None:
        said.append(
            f"Hole {inches(given.along)} along and {inches(given.across)} across the road, plan {inches(given.diameter)}."
        )
    if given.fitted is not None:
        said.append(f"Bolt circle {given.fitted:.2f} in, plan {inches(given.bolt_circle)}.")
    if given.angle is not None:
        said.append(f"Bolt pair {show(given.angle, 'deg')} off the road.")
    if given.gaps:
        said.append(f"{', '.join(f'{corner} {_gap_words(gap)}' for corner, gap in given.gaps.items())}.")
    return " ".join(said)


def _gap_words(gap: Fraction) -> str:
    return f"gap {inches(gap)}" if gap else "bears"


def _road(plan: _Plan, given: Base) -> None:
    """Draw the edge of the road and the way up-station; on the left side the sheet is turned, never mirrored."""
    paper = plan.paper
    paper.line((18, 14), (paper.width - 18, 14), paint="s-line", weight=1.2)
    paper.line((18, 21), (paper.width - 18, 21), paint="s-line", weight=0.8, dash="2 3")
    if given.right_side:
        paper.text((18, 39), "toward the road", paint="f-ink-2", size=WORDS)
        paper.text((paper.width - 42, 39), "up-station", anchor="end", paint="f-ink-2", size=WORDS)
        paper.line((paper.width - 38, 35), (paper.width - 18, 35), weight=1, end="arrow")
    else:
        paper.text((paper.width - 18, 39), "toward the road", anchor="end", paint="f-ink-2", size=WORDS)
        paper.text((42, 39), "up-station", paint="f-ink-2", size=WORDS)
        paper.line((38, 35), (18, 35), weight=1, end="arrow")


def _shaft(plan: _Plan, given: Base) -> None:
    """Draw the hole at its top as measured, filled once it was poured, and the plans' circle thin."""
    centre = plan.view(0, 0)
    if given.along is not None and given.across is not None:
        half = float(given.along) / 2 * SCALE, float(given.across) / 2 * SCALE
        if given.poured:
            plan.paper.ellipse(centre, *half, "s-ink", 1.8, fill="concrete")
        else:
            plan.paper.ellipse(centre, *half, "f-void s-ink", 1.8)
    plan.paper.circle(centre, float(given.diameter) / 2 * SCALE, "f-none s-line", 0.7)
    for x, y in ((1, 0), (0, 1)):
        reach = plan.reach + 2
        plan.paper.axis(plan.view(-x * reach, -y * reach), plan.view(x * reach, y * reach))


def _cage(plan: _Plan, cage: Cage, right_side: bool) -> None:
    """Draw the spiral as measured where its cover puts it, and the bars evenly in it: how many was counted, not where."""
    if cage.along is None or cage.across is None:
        return
    toward, away, up, down = ("left", "right", "up-station", "down-station")
    x, y = cage.off_centre(up, down), cage.off_centre(toward, away)
    centre = plan.view(x, y) if right_side else plan.view(-x, -y)
    wide, high = (float(each) / 2 * SCALE for each in (cage.along, cage.across))
    plan.paper.ellipse(centre, wide, high, "f-none s-ink", 1, "3 3")
    inside = (cage.spiral_in + cage.bar_in / 2) * SCALE
    for each in range(cage.bars):
        turn = math.tau * each / cage.bars
        at = centre[0] + (wide - inside) * math.cos(turn), centre[1] - (high - inside) * math.sin(turn)
        plan.paper.dot(at, max(cage.bar_in / 2 * SCALE, 1.4))


def _corner_at(plan: _Plan, corner: str) -> Point:
    """Return where a corner of the base's outline stands."""
    x, y = {"A": (-1, 1), "B": (1, 1), "C": (1, -1), "D": (-1, -1)}[corner]
    return plan.view(x * plan.half, y * plan.half)


def _base(plan: _Plan, given: Base) -> None:
    """Draw the base's outline with a hatched wedge at each open corner, a square where it bears, the high diagonal dashed."""
    corners = [_corner_at(plan, each) for each in CORNERS]
    plan.paper.area(*corners, paint="f-sheet")
    for one, other in zip(corners, [*corners[1:], corners[0]], strict=True):
        plan.paper.line(one, other, weight=1.6, dash=DASHED)
    for corner, gap in given.gaps.items():
        if gap:
            _wedge(plan, CORNERS.index(corner), given.gap_limit is not None and gap > given.gap_limit)
        else:
            plan.paper.square(_corner_at(plan, corner))
    if given.high:
        plan.paper.line(*(_corner_at(plan, each) for each in given.high), weight=0.9, dash="7 4")


def _wedge(plan: _Plan, index: int, over: bool) -> None:
    """Hatch an open corner, red when its gap is over the limit."""
    here = _corner_at(plan, CORNERS[index])
    beside = [_corner_at(plan, CORNERS[(index + step) % 4]) for step in (-1, 1)]
    ends = [(here[0] + (x - here[0]) * WEDGE, here[1] + (y - here[1]) * WEDGE) for x, y in beside]
    plan.paper.area(here, *ends, paint="s-red" if over else "s-line", weight=1, fill="over" if over else "within")


def _circle(plan: _Plan, given: Base) -> None:
    """Draw the bolt circle of the plans, and the one that fits the bolts."""
    plan.paper.circle(plan.view(0, 0), float(given.bolt_circle) / 2 * SCALE, "f-none s-line", 0.7, DASHED)
    if given.fitted is not None:
        paint = "f-none s-red" if given.off else "f-none s-ink"
        plan.paper.circle(plan.view(0, 0), given.fitted / 2 * SCALE, paint, 0.8)


def _conduits(plan: _Plan, given: Base) -> None:
    """Draw each conduit at its distance from the centre line; on which side of it was not measured."""
    for number, each in enumerate(given.conduits):
        at = plan.view(float(each.off) * (-1 if number % 2 == 0 else 1), 0)
        plan.paper.circle(at, (each.size or 1.0) / 2 * SCALE, "f-sheet s-ink", 1.2)


def _bolts(plan: _Plan, given: Base) -> None:
    """Draw the bolts in their true size where measured lengths put them, numbered from A clockwise."""
    size = float(given.bolt_diameter or 1) / 2 * SCALE
    for number, each in enumerate(given.bolts, 1):
        x, y = plan.view(each.x, each.y)
        for across, up in ((size + 5, 0), (0, size + 5)):
            plan.paper.line((x - across, y - up), (x + across, y + up), weight=0.6)
        plan.paper.circle((x, y), size, "f-ink", 0)
        inward = math.atan2(-each.y, -each.x)
        at = x + (size + 13) * math.cos(inward), y - (size + 13) * math.sin(inward) + 4.5
        plan.paper.text(at, str(number), anchor="middle", bold=True, size=13)


def _angle(plan: _Plan, angle: Fraction, limit: Fraction | None) -> None:
    """Draw how far the road's direction lies off the bolt pair, either way."""
    far, turn = plan.reach + 2.2, math.radians(float(angle))
    over = limit is not None and angle > limit
    paint = "s-red" if over else "s-ink"
    for way in (-1, 1):
        plan.paper.line(
            plan.view(0, 0), plan.view(far * math.cos(turn), way * far * math.sin(turn)), paint=paint, weight=0.9
        )
    x, y = plan.view(far, 0)
    plan.paper.text((x + 6, y + 1), show(angle, "deg"), bold=True, paint="f-red" if over else "f-ink", size=WORDS)
    if limit is not None:
        plan.paper.text((x + 6, y + 15), f"of {show(limit, 'deg')}", paint="f-ink-2", size=WORDS)


def _corner(plan: _Plan, given: Base, corner: str, number: int) -> None:
    """Name a corner at the edge of the sheet, with what was found there."""
    left, up = number in (0, 3), number < 2
    paper, (x, y) = plan.paper, plan.view(0, plan.reach if up else -plan.reach)
    x = 6 if left else paper.width - 6
    y = y + 12 if up else y - 22
    anchor = "start" if left else "end"
    lines: list[tuple[str, bool, str]] = []
    if corner in given.gaps:
        gap = given.gaps[corner]
        over = given.gap_limit is not None and gap > given.gap_limit
        lines.append((_gap_words(gap), bool(gap), "f-red" if over else "f-ink"))
    if corner in given.torques:
        lines.append((show(given.torques[corner], "ft-lb"), False, "f-ink-2"))
    if lines or given.set:
        end = _corner_at(plan, corner)
        paper.leader((x + (58 if left else -58), y + 2), (end[0] + (-5 if left else 5), end[1] + (-5 if up else 5)))
    paper.text((x, y), corner, anchor=anchor, bold=True, size=15, patch=True)
    for row, (words, bold, paint) in enumerate(lines, 1):
        paper.text((x, y + 15 * row), words, anchor=anchor, bold=bold, paint=paint, size=WORDS, patch=True)


def _foot(plan: _Plan, given: Base) -> None:
    """Write the measured sizes of what is drawn, then scale bar and keys."""
    paper, high = plan.paper, plan.paper.height
    said = []
    if given.along is not None and given.across is not None:
        said.append(f"hole {feet_inches(given.along)} × {feet_inches(given.across)}")
    if given.fitted is not None:
        said.append(f"bolt circle {given.fitted:.2f} in")
    paper.text((paper.width / 2, high - 54), ", ".join(said), anchor="middle", bold=True, size=WORDS)
    paper.scale_bar((10, high - 14), 12 * SCALE, "1 ft")
    x = 10 + 12 * SCALE + 40
    for words, paint, weight, dash, at in (
        ("plan", "s-line", 0.7, "", 0.0),
        ("as measured", "s-ink", 1.8, "", 60.0),
        ("base, size not on file", "s-ink", 1.6, DASHED, 156.0),
    ):
        if dash and not given.set:
            continue
        if dash:
            paper.line((10, high - 36), (32, high - 36), paint=paint, weight=weight, dash=dash)
            paper.text((38, high - 32), words, paint="f-ink-2", size=WORDS)
            continue
        paper.line((x + at, high - 14), (x + at + 20, high - 14), paint=paint, weight=weight)
        paper.text((x + at + 24, high - 10), words, paint="f-ink-2", size=WORDS)
    if any(gap == 0 for gap in given.gaps.values()):
        paper.square((x + 172, high - 14))
        paper.text((x + 182, high - 10), "bears", paint="f-ink-2", size=WORDS)
