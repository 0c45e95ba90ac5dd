"""The corridor's list as a CSV file: the rows of the page, text cells safe to open in a spreadsheet."""

import csv
from collections.abc import Iterable

from django.http import HttpResponse

from apps.board.rows import Row
from apps.calc.stages import FAMILIES
from apps.calc.stationing import show_station
from apps.corridor.models import Corridor
from apps.sheet.cells import safe_cell

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
    answer = HttpResponse(content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="{corridor.slug}-foundations.csv"'
    writer = csv.writer(answer)
    writer.writerow(HEAD)
    for row in rows:
        foundation, since = row.foundation, row.way.since
        writer.writerow(
            safe_cell(cell)
            for cell in (
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
        )
    return answer
