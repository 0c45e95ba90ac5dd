"""Drawings of how a base seats: its plan, both diagonals, the pole's lean, and what the gap means for the nuts."""

import math
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any

from apps.calc.seating.answer import Seating, inches
from apps.calc.seating.planes import DIAGONAL, Seat
from apps.calc.seating.tightening import HOLD
from apps.calc.working import number_text
from apps.sheet.drawn import Drawing, Table
from apps.sheet.drawn.chart import Chart
from apps.sheet.drawn.paper import DASHED, Paper, Point, View, nice_step

ENLARGED = (1, 2, 5, 10, 20, 50, 100, 200, 500)


def _open_by(result: Seating) -> list[Fraction]:
    """The greatest gap at each corner over every position, in corner order."""
    return [max(each.gaps[index] for each in result.seats) for index in range(len(result.corners))]


def _radius(values: Mapping[str, Any]) -> float:
    return float(values["bolt_circle"]) / 2


def _places(result: Seating, radius: float) -> list[Point]:
    """Where the corners stand [in] with the road above: A is then the upper left one."""
    return [(-float(each.x) * radius / DIAGONAL, float(each.y) * radius / DIAGONAL) for each in result.corners]


def _upstation(paper: Paper, *, left: bool) -> None:
    """Name the road over the sheet and point the way up-station."""
    ends: tuple[tuple[Point, Point], tuple[Point, Point]] = (((400, 31), (46, 31)), ((40, 27), (18, 27)))
    if not left:
        ends = (((20, 31), (374, 31)), ((380, 27), (402, 27)))
    (road, words), (start, tip) = ends
    paper.text(road, "road", anchor="end" if left else "start", paint="f-ink-2")
    paper.text(words, "upstation", anchor="start" if left else "end", paint="f-ink-2")
    paper.line(start, tip, weight=1, end="arrow")


def plan(values: Mapping[str, Any], result: Seating) -> Paper:
    """Draw the base from above: what bears, what stands open, the axis it rocks on, the order of the nuts.

    Upstation lies to the right, as on the right side of a road; with `left_side` among the values, to the left.
    """
    open_by, radius = _open_by(result), _radius(values)
    bears = [each.name for each, gap in zip(result.corners, open_by, strict=True) if gap == 0]
    paper = Paper(
        420,
        372,
        f"Base from above, the road above and upstation to the {'left' if values.get('left_side') else 'right'}. "
        f"Bears on {', '.join(bears) or 'no corner at all'}; "
        f"greatest gap {inches(result.gap_in)}.",
    )
    places = _places(result, radius)
    view = View.fit((-radius, radius), (-radius, radius), (110, 76, 200, 200))
    paper.line((20, 14), (400, 14), paint="s-line", weight=1.2)
    _upstation(paper, left=bool(values.get("left_side")))
    paper.circle(view(0, 0), radius * view.across, "s-line", 0.8, DASHED, fill="concrete")
    paper.area(*(view(*each) for each in places), paint="f-sheet s-ink", weight=2.2)
    _wedges(paper, view, places, open_by, values["limit"])
    if result.rocks and len(places) == 4:
        paper.line(*(view(*each) for each, gap in zip(places, open_by, strict=True) if gap == 0), weight=1, dash="7 4")
    for start, end in (((-1.1, 0), (1.1, 0)), ((0, -1.1), (0, 1.1))):
        paper.axis(view(start[0] * radius, start[1] * radius), view(end[0] * radius, end[1] * radius))
    for index, corner in enumerate(result.corners):
        _corner(paper, view, places[index], corner.name, result, open_by[index], values["limit"])
    step = nice_step(2 * radius, 3)
    paper.scale_bar((20, 360), step * view.across, f"{number_text(step)} in")
    paper.square((190, 359))
    paper.text((200, 364), "bears", paint="f-ink-2")
    paper.text((402, 364), "figures: order of the nuts", anchor="end", paint="f-ink-2")
    return paper


def _wedges(paper: Paper, view: View, places: Sequence[Point], open_by: Sequence[Fraction], limit: Any) -> None:
    """Hatch every corner that can stand open, red when over the limit."""
    for index, gap in enumerate(open_by):
        if not gap:
            continue
        here = places[index]
        beside = [places[index - 1], places[(index + 1) % len(places)]]
        ends = [(here[0] + (x - here[0]) * 0.34, here[1] + (y - here[1]) * 0.34) for x, y in beside]
        over = gap > limit
        paper.area(
            view(*here), view(*ends[0]), view(*ends[1]),
            paint="s-red" if over else "s-line", weight=1, fill="over" if over else "within",
        )  # fmt: skip


def _corner(paper: Paper, view: View, place: Point, name: str, result: Seating, gap: Fraction, limit: Any) -> None:
    """Mark a corner, its nut's place in the order, and write what was found beside it."""
    at, centre = view(*place), view(0, 0)
    away = math.atan2(at[1] - centre[1], at[0] - centre[0])
    paper.square(at) if gap == 0 else paper.dot(at)
    paper.text(
        (at[0] - 22 * math.cos(away), at[1] - 22 * math.sin(away) + 5),
        str(result.plan.order.index(name) + 1), anchor="middle", bold=True, size=14, patch=True,
    )  # fmt: skip
    side = math.cos(away)
    anchor = "middle" if abs(side) < 0.2 else "start" if side > 0 else "end"
    x, y = at[0] + 30 * side, at[1] + 34 * math.sin(away) - (10 if math.sin(away) < 0 else -4)
    paper.leader((at[0] + 6 * side, at[1] + 6 * math.sin(away)), (x - 3 * side, y - 3))
    found = "bears" if gap == 0 else f"{'or ' if result.rocks else ''}gap {inches(gap)}"
    height = next(each.height for each in result.corners if each.name == name)
    paper.text((x, y), f"{name}  {found}", anchor=anchor, bold=True, paint="f-red" if gap > limit else "f-ink")
    paper.text((x, y + 15), f"{float(height):+.3f} in".replace("-", "\N{MINUS SIGN}"), anchor=anchor, paint="f-ink-2")


def _enlarged(relief: float, across: float, room: float) -> int:
    """Return how many times heights are enlarged to use the room, from the round ones."""
    if relief <= 0:
        return 20
    return next((each for each in reversed(ENLARGED) if relief * across * each <= room), 1)


def diagonals(values: Mapping[str, Any], result: Seating) -> Paper | None:
    """Draw the concrete along both diagonals with the base on it in every position. Four corners only."""
    if len(result.corners) != 4:
        return None
    circle = 2 * _radius(values)
    across = 140 / circle
    heights = [float(each.height) for each in result.corners]
    tops = [
        float(each.height) + float(gap)
        for seat in result.seats
        for each, gap in zip(result.corners, seat.gaps, strict=True)
    ]
    times = _enlarged(max(tops) - min(heights), across, 62)
    paper = Paper(
        420,
        252,
        f"Sections along the diagonals, heights drawn {times} times. {_gap_words(result)}",
    )
    low = min(heights)
    for pair, left in (((0, 2), 40.0), ((1, 3), 244.0)):
        view = View(0, low, left, 138, across, across * times)
        _diagonal(paper, view, pair, circle, result, values["limit"])
    step = nice_step(circle, 3)
    paper.scale_bar((24, 236), step * across, f"{number_text(step)} in along")
    high = nice_step(34 / (across * times), 1)
    paper.height_bar((244, 246), high / 2 * across * times, f"{number_text(high / 2)} in up, {times} times")
    return paper


def _gap_words(result: Seating) -> str:
    where = [each.name for each, gap in zip(result.corners, _open_by(result), strict=True) if gap]
    return f"Open by {inches(result.gap_in)} at {' or '.join(where)}." if where else "Every corner bears."


def _diagonal(paper: Paper, view: View, pair: tuple[int, int], circle: float, result: Seating, limit: Any) -> None:
    """Draw one diagonal: concrete, the first position as plate, another dashed, the gap as a dimension."""
    ends = [result.corners[each] for each in pair]
    ground = [view(0, float(ends[0].height)), view(circle, float(ends[1].height))]
    paper.area(ground[0], ground[1], (ground[1][0], 172), (ground[0][0], 172), paint="", fill="concrete")
    paper.line(*ground, weight=1.8)
    for number, seat in reversed(list(enumerate(result.seats))):
        plate = [
            view(x, float(end.height) + float(seat.gaps[each]))
            for x, end, each in zip((0.0, circle), ends, pair, strict=True)
        ]
        if number:
            paper.line(*plate, paint="s-ink-2", weight=1, dash="7 4")
        else:
            paper.area(*plate, *((x, y - 9) for x, y in reversed(plate)), paint="f-sheet s-ink", weight=1.8)
    for x, end, each, at in zip((0.0, circle), ends, pair, ground, strict=True):
        gap = result.seats[0].gaps[each]
        if gap:
            kind = "over" if gap > limit else "built"
            top = view(x, float(end.height) + float(gap))
            paper.line(at, top, paint="s-red" if kind == "over" else "s-ink", weight=1.6)
            inward = 1 if x == 0 else -1
            paper.text(
                (at[0] + 8 * inward, top[1] - 18), inches(gap), bold=True, anchor="start" if inward > 0 else "end",
                paint="f-red" if kind == "over" else "f-ink", patch=True,
            )  # fmt: skip
        else:
            paper.square(at)
        paper.text(
            (at[0], 189),
            f"{end.name} {float(end.height):+.3f}".replace("-", "\N{MINUS SIGN}"),
            anchor="middle",
            bold=True,
        )


def lean(values: Mapping[str, Any], result: Seating) -> Paper | None:
    """Draw the pole upright and as it would lean in each position, sideways enlarged. Needs a height and level readings."""
    height = values.get("pole_height")
    if not height or result.lean_in is None:
        return None
    tops = [float(height) * 12 * seat.slope for seat in result.seats]
    paper = Paper(420, 300, f"Lean at the top of a {number_text(height)} ft pole: {_leans(tops)}.")
    up = 215 / (float(height) * 12)
    times = _enlarged(max(tops), up, 110)
    foot, top = (150.0, 262.0), 47.0
    paper.line((40, foot[1]), (380, foot[1]), weight=1.4)
    paper.axis(foot, (foot[0], top - 10))
    for number, each in enumerate(tops):
        tip = (foot[0] + each * up * times, top)
        paper.line(foot, tip, weight=2.2 if number == 0 else 1.2, dash="" if number == 0 else "7 4")
        paper.text(
            (foot[0] + max(tops) * up * times + 12, top + 4 + 20 * number),
            f"{each:.2f} in, {_carried(result.seats[number])}",
            bold=number == 0,
        )
    paper.text((foot[0] - 8, top + 4), "plumb", anchor="end", paint="f-line")
    paper.dimension((70, foot[1]), (70, top), f"{number_text(height)} ft", kind="plan")
    step = nice_step(100 / (up * times), 2)
    paper.scale_bar((180, 288), step * up * times, f"{number_text(step)} in sideways, {times} times")
    return paper


def _carried(seat: Seat) -> str:
    return f"on {', '.join(seat.carries)}"


def _leans(tops: Sequence[float]) -> str:
    return " or ".join(f"{each:.2f} in" for each in tops)


def torque(values: Mapping[str, Any], result: Seating) -> Paper:
    """Draw the gap against what may be done with the nuts at it."""
    close, limit, gap = float(values["close"]), float(values["limit"]), float(result.gap_in)
    first, last = float(values["first"]), float(values["last"])
    top = max(limit * 1.6, gap * 1.15)
    paper = Paper(420, 300, f"Gap {inches(result.gap_in)}: {result.plan.sentence}")
    chart = Chart(paper, (0, last * 1.18), (0, top), "torque, ft-lb", "gap with the base free, in")
    chart.band(limit, top, paint="f-red-2")
    chart.band(close, limit, paint="f-ochre-2")
    chart.limit(limit, f"over {inches(Fraction(values['limit']))}: nobody tightens", paint="red")
    chart.limit(close, f"over {inches(Fraction(values['close']))}: in steps, look after each", paint="ochre")
    chart.points([(float(each), 0) for each in result.plan.torques], radius=4)
    for each in result.plan.torques:
        if each in (first, last):
            chart.label(float(each), 0, number_text(each), anchor="middle", dx=0, dy=-9)
    at = chart.at(0, gap)
    paper.diamond((at[0] + 7, at[1]), 6, "f-red" if result.plan.outcome == HOLD else "f-ink")
    above = gap < close * 0.4 or gap > limit
    paper.text((at[0] + 18, at[1] + (-7 if above else 15)), f"found {inches(result.gap_in)}", bold=True, patch=True,
               paint="f-red" if result.plan.outcome == HOLD else "f-ink")  # fmt: skip
    return paper


def positions(values: Mapping[str, Any], result: Seating) -> Table:
    """Return every position that the base can take: what carries, what stands open, tilt and lean."""
    head = ("Position", "Carries", "Open", "Tilt", "Lean at the top")
    rows = []
    for number, seat in enumerate(result.seats, 1):
        opened = [f"{corner.name} {inches(gap)}" for corner, gap in zip(result.corners, seat.gaps, strict=True) if gap]
        level = result.tilt_deg is not None
        lean = float(values["pole_height"]) * 12 * seat.slope if values.get("pole_height") and level else None
        rows.append(
            (
                str(number),
                ", ".join(seat.carries),
                ", ".join(opened) or "nowhere",
                f"{seat.tilt_deg:.2f}°" if level else "not read",
                f"{lean:.2f} in" if lean is not None else "not asked",
            )
        )
    return Table("Positions that the base can take", head, tuple(rows))


def grinding(values: Mapping[str, Any], result: Seating) -> Table:
    """Return the least grinding for a gap to be stepped, to be tightened, and for none."""
    head = ("To leave at most", *(corner.name for corner in result.corners), "In all", "Leaves")
    rows = tuple(
        (
            inches(each.target),
            *(inches(cut) if cut else "none" for cut in each.cuts),
            f"{each.total:.3f} in",
            inches(each.gap_after),
        )
        for each in result.grindings
    )
    return Table("Least grinding, off each corner to the next 1/64 in", head, rows)


def nuts(values: Mapping[str, Any], result: Seating) -> Table:
    """Return what to do with the nuts, round by round."""
    order = "-".join(result.plan.order)
    rows = tuple(
        (f"{number}", f"{number_text(each)} ft-lb", order) for number, each in enumerate(result.plan.torques, 1)
    )
    return Table("Tightening, crosswise, looking at the gap after each round", ("Round", "To", "Order"), rows)


DRAWINGS = {
    "seating": (
        Drawing("Which corners carry", "to scale", plan),
        Drawing("Along the diagonals", "heights enlarged", diagonals),
        Drawing("Lean of the pole", "sideways enlarged", lean),
        Drawing("What the gap allows", "", torque),
    ),
}

TABLES = {"seating": (positions, grinding, nuts)}
