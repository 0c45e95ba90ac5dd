"""A schedule's file in every shape that a project office sends, and in the shapes that it should not."""

import io
import zipfile

import pytest

from apps.corridor.schedule_file import COLUMNS, NotASchedule, read

HEAD = "mark,alignment,station,offset,side,design,depth,pole height,arm,circuit,notes"
LINE = "LP-001,Parkway,101+00.00,38 ft,L,LP1,8 ft,35 ft,6 ft,A1,by the gate"


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
    data = f"Mark,ALIGNMENT,Station,Offset (ft),Side,Design,Depth,Pole_Height\n{LINE.rsplit(',', 3)[0]}".encode()
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


def test_the_example_file_is_a_schedule_of_148_foundations() -> None:
    from django.conf import settings

    lines = read((settings.BASE_DIR / "fixtures" / "demo" / "schedule.csv").read_bytes())
    assert len(lines) == 148
    assert sum(line.cells["mark"].startswith("PB-") for line in lines) == 22
