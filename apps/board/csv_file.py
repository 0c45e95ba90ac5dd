"""The corridor's lists as CSV files: the rows of the pages, text cells safe to open in a spreadsheet."""

from collections.abc import Iterable

from django.http import HttpResponse

from apps.board.rows import Row
from apps.calc.stages import FAMILIES
from apps.calc.stationing import show_station
from apps.corridor.models import Corridor
from apps.holdpoints.models import Decision
from apps.sheet.cells import csv_answer

HEAD = (
    "mark",
    "station",
    "side",
    "offset (ft)",
    "design",
    "family",
    "last released",
    "next step",
    "what stands in the way",
    "since",
    "late",
)


def csv_file(corridor: Corridor, rows: Iterable[Row]) -> HttpResponse:
    """Return the rows as an attachment, times in the corridor's zone."""
    return csv_answer(f"{corridor.slug}-foundations", HEAD, (_cells(corridor, row) for row in rows))


def _cells(corridor: Corridor, row: Row) -> tuple[object, ...]:
    foundation, since = row.foundation, row.way.since
    return (
        foundation.mark,
        show_station(foundation.station_ft),
        foundation.get_side_display(),
        foundation.offset_ft,
        foundation.design.name,
        FAMILIES[foundation.family],
        row.last,
        row.way.step,
        row.way.text,
        f"{since.astimezone(corridor.zone):%Y-%m-%d %H:%M}" if since else "",
        "late" if row.late else "",
    )


RELEASES_HEAD = (
    "released",
    "mark",
    "station",
    "side",
    "hold point",
    "attempt",
    "crew",
    "inspected by",
    "released by",
    "entry",
)


def releases_file(corridor: Corridor, rows: Iterable[Decision]) -> HttpResponse:
    """Return releases as an attachment, times in the corridor's zone."""
    return csv_answer(f"{corridor.slug}-releases", RELEASES_HEAD, (_release(corridor, row) for row in rows))


def _release(corridor: Corridor, row: Decision) -> tuple[object, ...]:
    attempt, point = row.inspection, row.inspection.hold_point
    return (
        f"{row.at.astimezone(corridor.zone):%Y-%m-%d %H:%M}",
        point.foundation.mark,
        show_station(point.foundation.station_ft),
        point.foundation.get_side_display(),
        point.get_stage_display(),
        attempt.attempt,
        str(attempt.crew or ""),
        str(attempt.inspector),
        str(row.by),
        row.entry,
    )
