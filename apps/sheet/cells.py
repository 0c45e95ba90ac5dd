"""CSV exports whose text cells stay text when a spreadsheet opens them."""

import csv
from collections.abc import Iterable

from django.http import HttpResponse

# OWASP: a cell that begins with one of these may be run as a formula; tab and carriage return were added later.
RISKY = ("=", "+", "-", "@", "\t", "\r", "\0")


def safe_cell(value: object) -> object:
    """Return text with an apostrophe before it where a spreadsheet would take it for a formula; numbers as they are."""
    return f"'{value}" if isinstance(value, str) and value.startswith(RISKY) else value


def csv_answer(name: str, head: Iterable[str], rows: Iterable[Iterable[object]]) -> HttpResponse:
    """Return rows as a CSV attachment of this name, UTF-8, every text cell safe."""
    answer = HttpResponse(content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="{name}.csv"'
    writer = csv.writer(answer)
    writer.writerow(head)
    for row in rows:
        writer.writerow(safe_cell(cell) for cell in row)
    return answer
