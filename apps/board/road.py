"""The road as strip and plan draw it: one course for each alignment that foundations stand along."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from django.urls import reverse

from apps.board.rows import Row
from apps.calc.stationing import show_station
from apps.corridor.models import Alignment, Corridor
from apps.sheet.strip import Road, Spot

CREW_BAR_FT = 1300
"""Length of the bar that shows where a crew is: long enough for its name, short enough to be a place."""


@dataclass(frozen=True, slots=True)
class Course:
    """One alignment with its foundations."""

    alignment: Alignment
    road: Road
    spots: list[Spot]
    rows: list[Row]

    @property
    def reach(self) -> str:
        """From where to where, in stations."""
        return f"{self.road.short_figure(self.road.start)} to {self.road.short_figure(self.road.end)}"


def courses(corridor: Corridor, rows: Sequence[Row]) -> list[Course]:
    """Return the alignments that these foundations stand along, each drawn from its start to its end. No query."""
    found: dict[object, list[Row]] = {}
    for row in rows:
        found.setdefault(row.foundation.alignment_id, []).append(row)
    made = [_course(corridor, its[0].foundation.alignment, its) for its in found.values()]
    return sorted(made, key=lambda course: course.alignment.name)


def _course(corridor: Corridor, alignment: Alignment, rows: list[Row]) -> Course:
    line = alignment.geometry
    figure = figures(alignment)

    def reach(low: float, high: float) -> str:
        return f"{reverse('board:corridor', args=[corridor.slug])}?start={figure(low)}&to={figure(high)}"

    road = Road(
        start=0.0,
        end=float(line.length),
        curves=curves(alignment),
        crossings=crossings(alignment),
        equations=equations(alignment),
        crews=_crews(rows, float(line.length)),
        figure=figure,
        reach=reach,
    )
    return Course(alignment, road, [_spot(corridor, row) for row in rows], rows)


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
        (float(line.distance(each["back"], "back")), each["back"].split(".")[0], each["ahead"].split(".")[0])
        for each in alignment.definition.get("equations", [])
    ]


def crossings(alignment: Alignment) -> list[tuple[float, str]]:
    """Return the cross streets: true distance and name."""
    line = alignment.geometry
    return [(float(line.distance(each["station"])), str(each["name"])) for each in alignment.crossings]


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


def _spot(corridor: Corridor, row: Row) -> Spot:
    foundation = row.foundation
    return Spot(
        mark=foundation.mark,
        station=float(foundation.distance_ft),
        label_station=show_station(foundation.station_ft),
        side=foundation.side,
        href=reverse("board:foundation", args=[corridor.slug, foundation.mark]),
        standing=row.standing,
        title=row.sentence,
    )
