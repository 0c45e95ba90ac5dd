"""A schedule file as rows of text: CSV in UTF-8 with or without BOM, comma, semicolon or tab, and XLSX. Nothing is judged here."""

import csv
import io
import zipfile
from collections.abc import Iterator
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
    "setback",
    "barrier",
    "barrier clearance",
    "walk",
    "button",
)
NEEDED = COLUMNS[:7]
MAX_ROWS = 10_000
"""Lines that hold anything: many times the longest corridor."""
MAX_WIDTH = 64
"""Columns that are looked at: a workbook may pretend to have sixteen thousand."""
MAX_UNPACKED = 64 * 1024 * 1024
REST = ""
"""Key of what stands in a line past its last heading."""
ZIP, OLD_WORKBOOK = b"PK\x03\x04", b"\xd0\xcf\x11\xe0"


class NotASchedule(ValueError):
    """A file that cannot be read as a schedule; the message says why and what to do."""


class Line(NamedTuple):
    """One line of the file: its number as a person counts it, and its cells by column."""

    number: int
    cells: dict[str, str]


class Lines(list[Line]):
    """The lines of a file, and the headings of columns that nobody reads."""

    unread: tuple[str, ...] = ()


Rows = Iterator[tuple[int, list[str]]]


def _heading(cell: str) -> str:
    """Return a column heading as COLUMNS writes it: "Pole_Height (ft)" → "pole height"."""
    return " ".join(cell.split("(", maxsplit=1)[0].replace("_", " ").lower().split())


def _csv_rows(data: bytes) -> Rows:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        raise NotASchedule(
            f"The file is not UTF-8 (byte {fault.start + 1}). Save it as CSV UTF-8 and bring it again."
        ) from fault
    if "\0" in text:
        raise NotASchedule("The file is not text. Save it as CSV UTF-8 or XLSX and bring it again.")
    first = next((line for line in text.splitlines() if line.strip()), "")
    delimiter = max(",;\t", key=first.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    try:
        yield from enumerate(reader, start=1)
    except csv.Error as fault:
        raise NotASchedule(f"The file is not whole as CSV near line {reader.line_num}: {fault}.") from fault


def _shown(cell: object) -> str:
    """Return a workbook's cell as a person sees it: 23140.1, not the float's last bits; a date is no reading and stays odd."""
    if cell is None:
        return ""
    return f"{cell:.12g}" if isinstance(cell, float) else str(cell)


def _xlsx_rows(data: bytes) -> Rows:
    from openpyxl import load_workbook

    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            if sum(part.file_size for part in packed.infolist()) > MAX_UNPACKED:
                raise NotASchedule("The workbook unpacks to more than 64 MB. Bring only the schedule's sheet.")
        sheet = load_workbook(io.BytesIO(data), read_only=True, data_only=True).worksheets[0]
        for number, row in enumerate(sheet.iter_rows(values_only=True, max_col=MAX_WIDTH), start=1):
            yield number, [_shown(cell) for cell in row]
    except NotASchedule:
        raise
    except (
        Exception
    ) as fault:  # the reader raises a dozen kinds on a broken workbook; each means the same to the person
        raise NotASchedule(
            "The workbook cannot be read. Open it, save it again as XLSX or CSV UTF-8, and bring that."
        ) from fault


def _rows(data: bytes, name: str) -> Rows:
    """Yield the rows that hold anything, each with its number."""
    if data[:4] == OLD_WORKBOOK:
        raise NotASchedule(
            "The file is an old or a locked workbook. Save it as XLSX without a password and bring that."
        )
    packed = data[:4] == ZIP or name.lower().endswith(".xlsx")
    kept = 0
    for number, cells in _xlsx_rows(data) if packed else _csv_rows(data):
        if not any(cell.strip() for cell in cells):
            continue
        kept += 1
        if kept > MAX_ROWS + 1:
            raise NotASchedule(f"The file has more than {MAX_ROWS:,} lines. Bring it in parts.")
        yield number, cells


def _headings(cells: list[str]) -> list[str]:
    """Return the columns that the first line names. NotASchedule if a needed one lacks or one stands twice."""
    headings = [_heading(cell) for cell in cells]
    if missing := [column for column in NEEDED if column not in headings]:
        raise NotASchedule(f"The first line lacks {', '.join(missing)}. Expected: {', '.join(COLUMNS)}.")
    if twice := {column for column in COLUMNS if headings.count(column) > 1}:
        raise NotASchedule(f"The first line names {', '.join(sorted(twice))} twice.")
    return headings


def read(data: bytes, name: str = "") -> Lines:
    """Return the lines of a schedule. NotASchedule if it is no file of the named columns."""
    rows = _rows(data, name)
    _, first = next(rows, (0, []))
    if not first:
        raise NotASchedule("The file is empty: its first line names the columns.")
    headings = _headings(first)
    found = Lines(Line(number, _cells(headings, cells)) for number, cells in rows)
    if not found:
        raise NotASchedule("Under the names of the columns there is no line.")
    found.unread = tuple(heading for heading in headings if heading and heading not in COLUMNS)
    return found


def _cells(headings: list[str], cells: list[str]) -> dict[str, str]:
    """Return a line's cells by column, and what stands past the last heading under REST."""
    kept = {heading: cell.strip() for heading, cell in zip(headings, cells, strict=False) if heading in COLUMNS}
    rest = " ".join(cell.strip() for cell in cells[len(headings) :]).strip()
    return {**kept, REST: rest} if rest else kept
