"""The road as strip and plan draw it: one course for each alignment that foundations stand along."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, NamedTuple

from django.http import QueryDict
from django.urls import reverse

from apps.board.rows import Row
from apps.calc.alignment import crossing_distance
from apps.calc.stationing import show_station
from apps.corridor.models import Alignment, Corridor, Foundation
from apps.sheet.glyphs import Standing
from apps.sheet.reaches import Reach
from apps.sheet.strip import Road, reaches

CREW_BAR_FT = 1300
"""Length of the bar that shows where a crew is: long enough for its name, short enough to be a place."""
TABLE_WIDTH = 1280
"""The strip that the table beside it repeats, px."""
LEAST_FT = 100.0
"""A shorter reach is drawn this long."""
Bounds = tuple[float, float]
"""Two stations, ft as labelled."""


@dataclass(frozen=True)
class RowSpot:
    """One foundation for strip and plan. Its sentence and address are made where they are asked for, once: from far nobody does,
    from near a sheet draws each for a wide screen and for a narrow one.
    """

    row: Row
    mark: str
    station: float
    side: str

    @cached_property
    def href(self) -> str:
        """Where its page is."""
        return reverse("board:foundation", args=[self.row.foundation.corridor.slug, self.mark])

    @property
    def standing(self) -> Standing:
        """What stands there."""
        return self.row.standing

    @cached_property
    def title(self) -> str:
        """Its sentence."""
        return self.row.sentence


@dataclass(frozen=True, slots=True)
class Course:
    """One alignment with its foundations."""

    alignment: Alignment
    road: Road
    spots: list[RowSpot]
    rows: list[Row]

    @property
    def reach(self) -> str:
        """From where to where, in stations."""
        return f"{self.road.short_figure(self.road.start)} to {self.road.short_figure(self.road.end)}"

    @property
    def reaches(self) -> list[Reach]:
        """The rows of the table where foundations are too many for one each; else none."""
        return reaches(self.spots, self.road, width=TABLE_WIDTH)


def courses(
    corridor: Corridor, rows: Sequence[Row], bounds: Bounds | None = None, query: QueryDict | None = None
) -> list[Course]:
    """Return the alignments that these foundations stand along. No query.

    Each is drawn from its start to its end, or between two stations, `bounds`. `query` is what else limits the list: a reach one
    level nearer keeps it.
    """
    found: dict[object, list[Row]] = {}
    for row in rows:
        found.setdefault(row.foundation.alignment_id, []).append(row)
    several = len(found) > 1
    made = [
        _course(corridor, its[0].foundation.alignment, its, bounds, _Onward(corridor, query, several))
        for its in found.values()
    ]
    return sorted(made, key=lambda course: course.alignment.name)


def _spot(row: Row, foundation: Foundation) -> RowSpot:
    return RowSpot(row, foundation.mark, float(foundation.distance_ft), foundation.side)


class _Onward(NamedTuple):
    """Where the links of reaches lead: the corridor's list, limited to the reach besides what limits it already."""

    corridor: Corridor
    query: QueryDict | None
    several: bool
    """More than one alignment is drawn: two may have the same stations, so the reach says which."""


def _course(
    corridor: Corridor, alignment: Alignment, rows: list[Row], bounds: Bounds | None, onward: _Onward
) -> Course:
    start, end = _between(alignment, bounds)
    road = Road(
        start=start,
        end=end,
        curves=curves(alignment),
        crossings=crossings(alignment),
        equations=equations(alignment),
        crews=_crews(rows, float(alignment.geometry.length)),
        figure=figures(alignment),
        reach=_addresses(alignment, onward),
    )
    spots = [_spot(row, row.foundation) for row in rows]
    return Course(alignment, road, spots, rows)


def _between(alignment: Alignment, bounds: Bounds | None) -> tuple[float, float]:
    """Return the true distances that two stations lie at; through every part of the road that has stations between them."""
    line = alignment.geometry
    length = float(line.length)
    if bounds is None:
        return 0.0, length
    ends = []
    for part in line.parts:
        low, high = max(float(part.first), bounds[0]), min(float(part.last), bounds[1])
        if low <= high:
            shift = float(part.start - part.first)
            ends += [low + shift, high + shift]
    if not ends:
        return 0.0, length
    start, end = round(min(ends), 2), round(max(ends), 2)
    if end - start < LEAST_FT:
        middle = min(max((start + end) / 2, LEAST_FT / 2), max(length - LEAST_FT / 2, LEAST_FT / 2))
        start, end = round(middle - LEAST_FT / 2, 2), round(middle + LEAST_FT / 2, 2)
    return start, end


def _addresses(alignment: Alignment, onward: _Onward) -> Callable[[float, float, str], str]:
    """Return the function that gives the address of a reach, from, to and of one side."""
    line, url = alignment.geometry, reverse("board:corridor", args=[onward.corridor.slug])
    length = float(line.length)

    def station(distance: float) -> str:
        return show_station(line.label(round(min(max(distance, 0.0), length), 2))).removesuffix(".00")

    def reach(low: float, high: float, side: str) -> str:
        asked = onward.query.copy() if onward.query is not None else QueryDict(mutable=True)
        for name in ("page", "format"):
            asked.pop(name, None)
        asked["start"], asked["to"] = station(low), station(high)
        if onward.several:
            asked["alignment"] = str(alignment.pk)
        if side:
            asked["side"] = side
        return f"{url}?{asked.urlencode()}"

    return reach


def figures(alignment: Alignment) -> Callable[[float], str]:
    """Return the function that writes a true distance along an alignment as its station, to the foot."""
    line = alignment.geometry
    length = float(line.length)

    def figure(distance: float) -> str:
        at = min(max(round(distance, 2), 0.0), length)
        return show_station(round(line.label(at))).removesuffix(".00")

    return figure


def curves(alignment: Alignment) -> list[tuple[float, float, str]]:
    """Return where the alignment bends: from, to, and the side that it turns to."""
    bends, at = [], 0.0
    for element in alignment.geometry.elements:
        end = at + float(element.length)
        if element.turn:
            bends.append((at, end, "L" if element.turn == "left" else "R"))
        at = end
    return bends


def equations(alignment: Alignment) -> list[tuple[float, str, str]]:
    """Return the station equations: true distance, figure back and figure ahead."""
    line = alignment.geometry
    return [
        (float(part.end), show_station(equation.back).split(".")[0], show_station(equation.ahead).split(".")[0])
        for part, equation in zip(line.parts, line.equations, strict=False)
    ]


def crossings(alignment: Alignment) -> list[tuple[float, str]]:
    """Return the cross streets: true distance and name."""
    line = alignment.geometry
    return [(float(crossing_distance(line, each)), str(each["name"])) for each in alignment.crossings]


def _crews(rows: Sequence[Row], length: float) -> list[tuple[float, float, str]]:
    """Return where each crew asked for the inspector next: a short bar there, moved along where two would overlap."""
    asked: dict[str, Any] = {}
    for row in rows:
        crew, wanted = row.foundation.crew, row.point.asked_for
        if crew and wanted and (crew.name not in asked or wanted < asked[crew.name][0]):
            asked[crew.name] = (wanted, float(row.foundation.distance_ft))
    bars: list[tuple[float, float, str]] = []
    for name, (_, place) in sorted(asked.items(), key=lambda item: item[1][1]):
        start = max(place - CREW_BAR_FT / 2, bars[-1][1] + 150 if bars else 0.0)
        start = min(start, length - CREW_BAR_FT)
        bars.append((start, start + CREW_BAR_FT, name))
    return bars
