"""A schedule's file in every shape that a project office sends, and in the shapes that it should not."""

import io
import zipfile

import pytest

from apps.corridor.schedule_file import COLUMNS, MAX_ROWS, REST, NotASchedule, read

HEAD = "mark,alignment,station,offset,side,design,depth,pole height,arm,circuit,notes,setback,barrier,barrier clearance,walk,button"
LINE = "LP-001,Parkway,101+00.00,38 ft,L,LP1,8 ft,35 ft,6 ft,A1,by the gate,14 ft,no,,no,no"


def xlsx(rows: list[list[object]]) -> bytes:
    from openpyxl import Workbook

    book = Workbook()
    for row in rows:
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


@pytest.mark.parametrize(
    "data",
    [
        f"{HEAD}\n{LINE}\n".encode(),
        f"\ufeff{HEAD}\r\n{LINE}\r\n".encode(),
        f"{HEAD}\n{LINE}".replace(",", ";").encode(),
        f"{HEAD}\n\n{LINE}\n\n".replace(",", "\t").encode(),
        xlsx([HEAD.split(","), LINE.split(",")]),
    ],
    ids=["plain", "byte order mark and CRLF", "semicolons", "tabs and blank lines", "workbook"],
)
def test_the_same_line_is_read_from_every_shape(data: bytes) -> None:
    (line,) = read(data)
    assert dict(line.cells) == dict(zip(COLUMNS, LINE.split(","), strict=True))


def test_lines_are_numbered_as_a_person_counts_them() -> None:
    assert [line.number for line in read(f"{HEAD}\n{LINE}\n\n{LINE}\n".encode())] == [2, 4]


def test_headings_are_read_whatever_their_case_and_unit() -> None:
    data = f"Mark,ALIGNMENT,Station,Offset (ft),Side,Design,Depth,Pole_Height\n{LINE.rsplit(',', 8)[0]}".encode()
    assert read(data)[0].cells["pole height"] == "35 ft"


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "empty"),
        (b"mark,station\nLP-001,1", "lacks alignment, offset, side, design, depth"),
        (f"{HEAD},mark\n{LINE},x".encode(), "mark twice"),
        (f"{HEAD}\n{LINE}".encode("utf-16"), "not UTF-8"),
        (f"{HEAD}\nLP-001,Parkway,Bøvik".encode("latin-1"), "not UTF-8"),
        (b"PK\x03\x04 no workbook at all", "cannot be read"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1 and so on", "old or a locked workbook"),
        (b"\n \n;;;\n", "empty"),
        (f"{HEAD}\n\n".encode(), "there is no line"),
        (f'{HEAD}\nLP-001,"Park'.encode(), "not whole as CSV near line 2"),
        (HEAD.replace(",", "|").encode(), "lacks mark"),
        (f"{HEAD}\n\0".encode(), "not text"),
    ],
)
def test_a_file_that_is_no_schedule_is_refused_with_what_to_do(data: bytes, said: str) -> None:
    with pytest.raises(NotASchedule, match=said):
        read(data)


def test_a_workbook_that_unpacks_to_too_much_is_refused_before_it_is_opened() -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/worksheets/sheet1.xml", b"0" * (65 * 1024 * 1024))
    with pytest.raises(NotASchedule, match="more than 64 MB"):
        read(out.getvalue())


def test_a_workbook_that_pretends_to_be_wide_is_read_without_filling_memory() -> None:
    from openpyxl import Workbook

    book = Workbook()
    for row in (HEAD.split(","), LINE.split(",")):
        book.active.append(row)
    for number in range(3, 3000):
        book.active.cell(number, 16_384, "x")
    out = io.BytesIO()
    book.save(out)
    assert [line.number for line in read(out.getvalue())] == [2]


def test_numbers_of_a_workbook_are_read_as_a_person_sees_them() -> None:
    # 0.1 + 0.2 is 0.30000000000000004 in binary floating point (IEEE 754); the sheet shows 0.3.
    rows = [HEAD.split(","), ["LP-001", "Parkway", 10100.1 + 0.2, 28, "R", "LP1", 7.5, None, None, None, None]]
    (line,) = read(xlsx(rows))
    assert [line.cells[name] for name in ("station", "offset", "depth", "arm")] == ["10100.3", "28", "7.5", ""]


def test_lines_beyond_the_most_are_refused_and_blank_ones_do_not_count() -> None:
    blank, lines = "\n" * 20_000, f"{LINE}\n" * MAX_ROWS
    assert len(read(f"{HEAD}\n{blank}{lines}".encode())) == MAX_ROWS
    with pytest.raises(NotASchedule, match="more than 10,000 lines"):
        read(f"{HEAD}\n{lines}{LINE}\n".encode())


def test_columns_that_nobody_reads_are_named() -> None:
    lines = read(f"{HEAD},Pole hight,Remarks\n{LINE},35 ft,none\n".encode())
    assert lines.unread == ("pole hight", "remarks")
    assert set(lines[0].cells) == set(COLUMNS)
    assert read(f"{HEAD}\n{LINE}\n".encode()).unread == ()


def test_what_stands_past_the_last_heading_is_kept_apart() -> None:
    assert read(f"{HEAD}\n{LINE}, second,, third\n".encode())[0].cells[REST] == "second  third"
    assert REST not in read(f"{HEAD}\n{LINE},,,\n".encode())[0].cells


def test_a_quoted_cell_may_hold_the_delimiter_and_a_line_break() -> None:
    start, rest = LINE.split("by the gate")
    first, second = read(f'{HEAD}\n{start}"by the gate, east\nof it"{rest}\n{LINE}\n'.encode())
    assert first.cells["notes"] == "by the gate, east\nof it"
    assert (first.number, second.number) == (2, 3)


def test_a_short_line_lacks_its_last_cells_only() -> None:
    (line,) = read(f"{HEAD}\nLP-001,Parkway\n".encode())
    assert line.cells == {"mark": "LP-001", "alignment": "Parkway"}


def test_the_example_file_is_a_schedule_of_148_foundations() -> None:
    from django.conf import settings

    lines = read((settings.BASE_DIR / "fixtures" / "demo" / "schedule.csv").read_bytes())
    assert len(lines) == 148
    assert sum(line.cells["mark"].startswith("PB-") for line in lines) == 22
