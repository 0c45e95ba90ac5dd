"""A schedule file as rows of text: CSV in UTF-8 with or without BOM, comma, semicolon or tab, and XLSX. Nothing is judged here."""

import csv
import io
import zipfile
from typing import NamedTuple

COLUMNS = (
    "mark",
    "alignment",
    "station",
    "offset",
    "side",
    "design",
    "depth",
    "pole height",
    "arm",
    "circuit",
    "notes",
)
NEEDED = COLUMNS[:7]
MAX_ROWS = 50_000
MAX_UNPACKED = 64 * 1024 * 1024


class NotASchedule(ValueError):
    """A file that cannot be read as a schedule; the message says why and what to do."""


class Line(NamedTuple):
    """One line of the file: its number as a person counts it, and its cells by column."""

    number: int
    cells: dict[str, str]


def _heading(cell: object) -> str:
    """Return a column heading as COLUMNS writes it: "Pole_Height (ft)" → "pole height"."""
    return " ".join(str(cell or "").split("(")[0].replace("_", " ").lower().split())


def _csv_rows(data: bytes) -> list[list[str]]:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        raise NotASchedule(
            f"The file is not UTF-8 (byte {fault.start + 1}). Save it as CSV UTF-8 and bring it again."
        ) from fault
    if "\0" in text:
        raise NotASchedule("The file is not text. Save it as CSV UTF-8 or XLSX and bring it again.")
    first = text.split("\n", 1)[0]
    delimiter = max(",;\t", key=first.count)
    try:
        return list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True))
    except csv.Error as fault:
        raise NotASchedule(f"The file is not whole as CSV: {fault}.") from fault


def _xlsx_rows(data: bytes) -> list[list[str]]:
    from openpyxl import load_workbook

    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            if sum(part.file_size for part in packed.infolist()) > MAX_UNPACKED:
                raise NotASchedule("The workbook unpacks to more than 64 MB. Bring only the schedule's sheet.")
        sheet = load_workbook(io.BytesIO(data), read_only=True, data_only=True).worksheets[0]
        return [
            ["" if cell is None else str(cell) for cell in row]
            for row in sheet.iter_rows(values_only=True, max_row=MAX_ROWS + 2)
        ]
    except NotASchedule:
        raise
    except (
        Exception
    ) as fault:  # the reader raises a dozen kinds on a broken workbook; each means the same to the person
        raise NotASchedule(
            "The workbook cannot be read. Open it, save it again as XLSX or CSV UTF-8, and bring that."
        ) from fault


def read(data: bytes, name: str = "") -> list[Line]:
    """Return the lines of a schedule. NotASchedule if it is no file of the named columns."""
    rows = _xlsx_rows(data) if data[:4] == b"PK\x03\x04" or name.lower().endswith(".xlsx") else _csv_rows(data)
    if not rows or not any(cell.strip() for cell in rows[0]):
        raise NotASchedule("The file is empty: its first line names the columns.")
    if len(rows) > MAX_ROWS + 1:
        raise NotASchedule(f"The file has more than {MAX_ROWS:,} lines. Bring it in parts.")
    headings = [_heading(cell) for cell in rows[0]]
    if missing := [column for column in NEEDED if column not in headings]:
        raise NotASchedule(f"The first line lacks {', '.join(missing)}. Expected: {', '.join(COLUMNS)}.")
    if twice := {column for column in COLUMNS if headings.count(column) > 1}:
        raise NotASchedule(f"The first line names {', '.join(sorted(twice))} twice.")
    return [
        Line(
            number,
            {heading: cell.strip() for heading, cell in zip(headings, cells, strict=False) if heading in COLUMNS},
        )
        for number, cells in enumerate(rows[1:], start=2)
        if any(cell.strip() for cell in cells)
    ]
