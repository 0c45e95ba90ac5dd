"""Paper: tagged, our own faces inside, the same bytes for the same content, and nothing fetched from anywhere."""

import warnings
from datetime import UTC, datetime
from io import BytesIO
from typing import Any

import pytest
from django.urls import reverse
from pypdf import PdfReader

from apps.corridor.models import Corridor
from apps.people.models import Person
from apps.sheet.letters import plain
from apps.sheet.pdf import Fetched, fetch, on_paper, pdf

AT = datetime(2026, 3, 3, 14, 30, tzinfo=UTC)
ROCKS = {"a": "0", "b": "1/32", "c": "3/16 in", "d": "0", "pole_height": "35"}


@pytest.mark.parametrize(
    "url",
    [
        "http://192.0.2.1/x.png",
        "https://localhost/",
        "file:///etc/passwd",
        "ftp://192.0.2.1/x",
        "data:text/css,body{}",
        "sheet:../manage.py",
        "sheet:/etc/passwd",
        "sheet:css",
        "sheet:nothing.css",
    ],
)
def test_nothing_outside_our_own_folder_is_fetched(url: str) -> None:
    with pytest.raises(Fetched, match="may not fetch"):
        fetch(url)


def test_our_own_files_are() -> None:
    assert fetch("sheet:css/paper.css").read().startswith(b"/* paper.css")


def test_another_size_is_no_paper() -> None:
    with pytest.raises(ValueError, match="letter or A4"):
        pdf("bench/paper.html", {}, at=AT, size="A5")


def test_a_drawing_on_paper_has_its_size_and_its_colours() -> None:
    svg = '<svg class="drawing drawn" viewBox="0 0 420 210" width="420" height="210"><path class="s-ink f-none"/></svg>'
    made = on_paper(svg, 250)
    assert 'width="250pt" height="125.0pt"' in made
    assert 'stroke="#14263d" fill="none"' in made
    assert 'width="420"' not in made


def test_the_pattern_of_a_hatching_keeps_its_size() -> None:
    svg = '<svg class="drawing" viewBox="0 0 352 150"><pattern id="running" width="5" height="5"></pattern></svg>'
    made = on_paper(svg, 176)
    assert 'width="176pt" height="75.0pt"' in made
    assert '<pattern id="running" width="5" height="5">' in made


def sheet(client: Any, corridor: Corridor, **more: str) -> bytes:
    answer = client.get(reverse("bench:paper", args=[corridor.slug, "seating"]), {**ROCKS, **more})
    assert answer["Content-Type"] == "application/pdf"
    return bytes(answer.content)


def test_the_sheet_says_what_the_page_says(corridor: Corridor, engineer: Person, as_person: Any) -> None:
    client = as_person(engineer)
    page = client.get(reverse("bench:calculation", args=[corridor.slug, "seating"]), ROCKS)
    with warnings.catch_warnings(record=True) as said:
        read = PdfReader(BytesIO(sheet(client, corridor)))
    assert said == []
    text = " ".join(" ".join(each.extract_text().split()) for each in read.pages)
    assert " ".join(page.context["result"].sentence.split()) in text
    for row in page.context["steps"]:
        assert " ".join(plain(row["numbers"]).split()) in text, row
    assert page.context["calculation"].beyond in text
    assert f"1 of {len(read.pages)}" in text
    assert read.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert read.trailer["/Root"]["/Lang"] == "en"
    assert [each.title for each in read.outline if not isinstance(each, list)] == ["Seating on four corners"]


@pytest.mark.once  # faces, bytes and size are WeasyPrint's; no value on the sheet is stored
def test_only_faces_that_are_embedded_stand_in_it(corridor: Corridor, engineer: Person, as_person: Any) -> None:
    fonts = {
        font["/BaseFont"]
        for page in PdfReader(BytesIO(sheet(as_person(engineer), corridor))).pages
        for each in page["/Resources"]["/Font"].values()
        for font in [each.get_object()]
    }
    assert fonts and all("Overpass" in name for name in fonts)
    assert all("+" in name for name in fonts)  # a subset prefix: its glyphs are inside


@pytest.mark.once  # faces, bytes and size are WeasyPrint's; no value on the sheet is stored
def test_the_same_content_gives_the_same_bytes(
    corridor: Corridor, engineer: Person, as_person: Any, clock: Any
) -> None:
    client = as_person(engineer)
    assert sheet(client, corridor) == sheet(client, corridor)


@pytest.mark.once  # faces, bytes and size are WeasyPrint's; no value on the sheet is stored
@pytest.mark.parametrize(("size", "box"), [("letter", (612, 792)), ("A4", (595, 842))])
def test_letter_and_a4(corridor: Corridor, engineer: Person, as_person: Any, size: str, box: tuple[int, int]) -> None:
    page = PdfReader(BytesIO(sheet(as_person(engineer), corridor, size=size))).pages[0]
    assert (round(page.mediabox.width), round(page.mediabox.height)) == box


def test_without_values_there_is_no_sheet_but_the_page(corridor: Corridor, engineer: Person, as_person: Any) -> None:
    answer = as_person(engineer).get(reverse("bench:paper", args=[corridor.slug, "seating"]), {"a": "x"})
    assert answer.url.startswith(reverse("bench:calculation", args=[corridor.slug, "seating"]))
