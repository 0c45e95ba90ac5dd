"""The morning sheet on paper: always one page, nothing lost over its border, the numbers of the page, links to the server."""

import re
from dataclasses import replace
from datetime import datetime
from io import BytesIO
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from pypdf import PdfReader

from apps.board import paper, queries
from apps.board.done import Output
from apps.board.forecast import Finish
from apps.board.queries import Morning
from apps.board.trends import Series, Trends, Warned
from apps.calc.control.trend import Drift
from apps.corridor.models import Alignment, Corridor, Crew, Foundation
from apps.findings.models import Finding
from apps.people.models import Person
from apps.record.models import Head
from apps.sheet import pdf as sheets
from tests.factories import findings, materials
from tests.factories.corridor import bring_in, member
from tests.factories.followups import added
from tests.factories.holdpoints import after, at_stage, give_notice, hold_point
from tests.factories.times import DAY, HOUR, NOW

pytestmark = pytest.mark.django_db
SIZES = {"letter": (792, 612), "A4": (842, 595)}
AT = NOW + 30 * DAY
"""Thursday 2 April, 09:00 in the corridor."""
PX = 96 / 72
MARGIN = 0.25 * 96


def fresh(corridor: Corridor) -> Corridor:
    return Corridor.objects.select_related("edition", "tally").get(pk=corridor.pk)


def text_of(written: bytes) -> str:
    return " ".join(" ".join(page.extract_text().split()) for page in PdfReader(BytesIO(written)).pages)


def squeezed(text: str) -> str:
    return re.sub(r"\s", "", text)


def laid_out(corridor: Corridor, sheet: Morning, at: datetime, size: str) -> Any:
    with timezone.override(corridor.zone):
        context = paper.assembled(corridor, sheet, at, size=size)
        return sheets.laid_out(paper.TEMPLATE, context, at=at, size=size, across=True)


def classed(box: Any, name: str) -> Any:
    """Return the first box of an element with this class."""
    return next(
        each
        for each in box.descendants()
        if getattr(each, "element", None) is not None and name in (each.element.get("class") or "").split()
    )


def faults(document: Any, least: int = 100, spare_px: float = 0) -> list[str]:
    """Return what does not hold of a sheet as laid out: one page, the title block below everything, no text outside the border.

    `spare_px` is what the details could still grow by.
    """
    (page,) = document.pages
    whole = page._page_box
    sheet, body, block = (classed(whole, name) for name in ("sheet", "body", "titleblock"))
    found = []
    foot = body.position_y + body.margin_height() + spare_px
    if foot > block.position_y + 0.5:
        found.append(f"the details end {foot - block.position_y:.1f} px below the title block's upper edge")
    if block.position_y + block.margin_height() > sheet.position_y + sheet.margin_height() + 1:
        found.append("the title block stands below the border")
    texts = [
        each for part in (whole, block) for each in part.descendants() if (getattr(each, "text", None) or "").strip()
    ]
    assert len(texts) > least
    lines = [
        each for each in whole.descendants() if getattr(each, "style", None) and each.style["overflow"] == "hidden"
    ]
    cut = {id(text) for line in lines for text in line.descendants() if hasattr(text, "text") and line is not sheet}
    for text in texts:
        right, low = text.position_x + text.width, text.position_y + text.height
        inside = text.position_x > MARGIN - 1 and low < page.height - MARGIN + 1
        if not inside or (right > page.width - MARGIN and id(text) not in cut):
            found.append(f"outside: {text.text[:50]}")
    return found


def read(corridor: Corridor, at: datetime = AT) -> Morning:
    return queries.morning(fresh(corridor), at)


@pytest.fixture
def usual(corridor: Corridor) -> Corridor:
    """A corridor with work in every state: released, waiting, asked for today, returned, reopened, held, found."""
    made = bring_in(corridor, [f"LP-{number:03d}" for number in range(1, 9)])
    bring_in(corridor, ["PB-001"], "PB1")
    at_stage(made[0], "drill", "released")
    at_stage(made[1], "layout", "inspected")
    give_notice(hold_point(made[2], "layout"), AT - 2 * HOUR, asked_for=AT + 4 * HOUR)
    at_stage(made[3], "layout", "returned")
    at_stage(made[4], "drill", "reopened")
    findings.raised(made[5], stage="layout", grade="critical")
    findings.raised(made[6], stage="layout", grade="minor")
    materials.load(made[0], at=AT - DAY)
    return corridor


def shrinking() -> Warned:
    """A margin that shrinks, of a requirement with a long title."""
    series = Series(
        "base_set", "base_set.turned", "Bolt square against the tangent of the road, Crew 12", "Crew 12", "deg", (), ()
    )
    return Warned(series, Drift(tuple(range(1, 13)), run=True, chart=None))  # type: ignore[arg-type]  # not drawn here


def heavy(corridor: Corridor) -> Morning:
    """The sheet of that corridor with every detail full to its bound, and everything that people typed as long as it may be."""
    for _ in range(paper.FOLLOW_UPS + 1):
        added(corridor, member(corridor, "office"), at=AT, text="Wide words about what is to be done " * 5)
    Finding.objects.update(title="Wide words about what was found " * 5)
    Crew.objects.update(name="Night crew of the northern viaduct, 40 ")
    Alignment.objects.update(name="Frontage road of the northern viaduct 40")
    Corridor.objects.update(name="Alder Mesa Parkway lighting " * 3, owner="Calder County (invented) " * 3)
    sheet = read(corridor)
    assert sheet.build and sheet.holding and sheet.notices and sheet.parties[0].items
    course, rows = sheet.courses[0], sheet.build[:1] * 9
    spots = [replace(spot, station=course.road.end * k / 900) for k, spot in enumerate((course.spots * 900)[:900])]
    waiting = next(party for party in sheet.parties if party.items)
    return replace(
        sheet,
        build=sheet.build[:1] * queries.BUILD_SHOWN,
        may_build=9999,
        all_holding=sheet.all_holding[:1] * queries.HOLDING_SHOWN,
        notices=[each._replace(crew="Night crew of the viaduct", rows=rows) for each in sheet.notices[:1]]
        * queries.NOTICES_SHOWN,
        notified_today=999,
        notified_later=999,
        parties=[waiting._replace(items=waiting.items * 80) for _ in sheet.parties],
        output=[Output("Night crew of the northern viaduct", "x", 999, 999)] * 12,
        courses=[replace(course, spots=spots)] * 7,
        families=[("transformer_base", 99999), ("pedestal_base", 99999)],
        finish=Finish(sheet.contract.day + 90 * DAY, sheet.contract.day + 120 * DAY, "pour"),
        trends=Trends(warned=(shrinking(),) * 4, charts=9),
    )


@pytest.mark.once  # it measures the layout; what the sheet says is asked on both databases below
class TestOnePage:
    @pytest.mark.parametrize("size", SIZES)
    def test_of_an_empty_corridor(self, corridor: Corridor, size: str) -> None:
        written = paper.morning_paper(fresh(corridor), AT, size=size)
        assert len(PdfReader(BytesIO(written)).pages) == 1
        assert "No foundations yet." in text_of(written)
        assert faults(laid_out(fresh(corridor), read(corridor), AT, size), least=10) == []

    @pytest.mark.parametrize("size", SIZES)
    def test_of_a_usual_one(self, usual: Corridor, size: str) -> None:
        (page,) = PdfReader(BytesIO(paper.morning_paper(fresh(usual), AT, size=size))).pages
        assert (round(page.mediabox.width), round(page.mediabox.height)) == SIZES[size]
        assert faults(laid_out(fresh(usual), read(usual), AT, size)) == []

    @pytest.mark.parametrize("size", SIZES)
    def test_of_a_heavily_loaded_one(self, usual: Corridor, size: str) -> None:
        sheet = heavy(usual)
        strips, left_out = paper.strips_of(sheet.courses, size)
        spare_pt = paper.HIGH_PT[size] - sum(paper.high_of(each.drawn) for each in strips)
        assert faults(laid_out(fresh(usual), sheet, AT, size), spare_px=spare_pt * PX) == []
        with timezone.override(usual.zone):
            written = paper.printed(fresh(usual), sheet, AT, size=size)
        assert len(PdfReader(BytesIO(written)).pages) == 1
        text = text_of(written)
        assert f"{left_out} more alignment" in text and 0 < left_out < len(sheet.courses)
        assert f"and {999 - 9 * paper.NOTICES} foundations more" in text

    def test_of_one_that_writes_in_another_script(self, usual: Corridor) -> None:
        Finding.objects.update(title="נמצא בור פתוח " * 9)
        Crew.objects.update(name="قال محمد")
        written = paper.morning_paper(fresh(usual), AT)
        assert len(PdfReader(BytesIO(written)).pages) == 1
        assert "[Hebrew text" in text_of(written)
        assert faults(laid_out(fresh(usual), read(usual), AT, "letter")) == []

    def test_another_size_is_none(self, corridor: Corridor) -> None:
        with pytest.raises(ValueError, match="letter or A4"):
            paper.morning_paper(fresh(corridor), AT, size="A5")


class TestTheStrips:
    def test_they_share_one_height_and_what_finds_no_room_is_counted(self, usual: Corridor) -> None:
        course = read(usual).courses[0]
        for size, high in paper.HIGH_PT.items():
            for number in (1, 2, 3, 12):
                drawn, left_out = paper.strips_of([course] * number, size)
                assert len(drawn) + left_out == number and drawn
                heights = [float(re.findall(r'height="([\d.]+)pt"', each.drawn)[0]) for each in drawn]
                assert sum(heights) <= high
            assert left_out
        assert [each.title for each in paper.strips_of([course], "letter")[0]] == [""]


class TestWhatItSays:
    def test_the_numbers_of_the_page(self, usual: Corridor) -> None:
        sheet, text = read(usual), text_of(paper.morning_paper(fresh(usual), AT))
        pressed = squeezed(text)
        assert f"{sheet.percent}%complete" in pressed
        assert squeezed(f"{sheet.findings} open, {sheet.holding_count} hold") in pressed
        for column in sheet.flow:
            assert column.stage.title in text
        rows = {
            "Released": [column.released for column in sheet.flow],
            "Awaiting release": [column.inspected for column in sheet.flow],
            "Notified": [column.notified for column in sheet.flow],
            "Ready to do": [column.ready for column in sheet.flow],
            "Held": [column.held for column in sheet.flow],
        }
        for title, numbers in rows.items():
            assert squeezed(title) + "".join(map(str, numbers)) in pressed, title
        for party in sheet.parties:
            assert squeezed(f"{party.number} {party.what} with {party.who}") in pressed
        for row in sheet.build:
            assert squeezed(f"{row.foundation.mark} {row.way.step}".split()[0]) in pressed
        assert squeezed(f"{sheet.contract.to_make}") in pressed
        numbers = re.findall(
            r"\b([1-9])\s+(?=Complete|Hold points|Finish|Corridor|Open findings|Who is|May be|Notified for|Releases per)",
            text,
        )
        assert sorted(numbers) == list("123456789")

    def test_the_newest_signed_root_as_every_paper(self, usual: Corridor) -> None:
        head = Head.objects.get(log=usual.pk)
        assert squeezed(f"root {head.root[:8]}") in squeezed(text_of(paper.morning_paper(fresh(usual), AT)))

    def test_links_lead_to_the_server(self, usual: Corridor, settings: Any) -> None:
        settings.SITE_ADDRESS = "https://lamps.example.org"
        (page,) = PdfReader(BytesIO(paper.morning_paper(fresh(usual), AT))).pages
        found = [each.get_object()["/A"]["/URI"] for each in page["/Annots"] if "/A" in each.get_object()]
        assert f"https://lamps.example.org{reverse('board:morning', args=[usual.slug])}" in found
        assert f"https://lamps.example.org{reverse('board:corridor', args=[usual.slug])}?state=held" in found
        assert all(each.startswith("https://lamps.example.org/c/alder-mesa/") for each in found)

    def test_it_is_tagged_and_the_same_content_gives_the_same_bytes(self, usual: Corridor) -> None:
        written = paper.morning_paper(fresh(usual), AT)
        root = PdfReader(BytesIO(written)).trailer["/Root"]
        assert root["/MarkInfo"]["/Marked"] and root["/Lang"] == "en"
        assert written == paper.morning_paper(fresh(usual), AT)

    def test_only_our_faces_stand_in_it(self, usual: Corridor) -> None:
        (page,) = PdfReader(BytesIO(paper.morning_paper(fresh(usual), AT))).pages
        fonts = [each.get_object()["/BaseFont"] for each in page["/Resources"]["/Font"].values()]
        assert fonts and all("+Overpass" in name for name in fonts)


@pytest.mark.usefixtures("clock")
class TestThePage:
    @pytest.fixture
    def url(self, foundation: Foundation) -> str:
        return reverse("board:morning_paper", args=[foundation.corridor.slug])

    @pytest.mark.parametrize(
        ("asked", "size"), [("", "letter"), ("a4", "A4"), ("A4", "A4"), ("letter", "letter"), ("x", "letter")]
    )
    def test_letter_unless_a4_is_asked_for(
        self, as_person: Any, office: Person, url: str, asked: str, size: str
    ) -> None:
        answer = as_person(office).get(url, {"size": asked})
        assert answer["Content-Type"] == "application/pdf"
        assert answer["Content-Disposition"] == 'inline; filename="alder-mesa-morning-2026-03-03.pdf"'
        (page,) = PdfReader(BytesIO(answer.content)).pages
        assert (round(page.mediabox.width), round(page.mediabox.height)) == SIZES[size]

    def test_a_stranger_gets_404_and_nobody_may_post(
        self, as_person: Any, office: Person, stranger: Person, url: str
    ) -> None:
        assert as_person(stranger).get(url).status_code == 404
        assert as_person(office).post(url).status_code == 405

    def test_one_that_the_browser_holds_is_304(self, as_person: Any, office: Person, url: str) -> None:
        client = as_person(office)
        first = client.get(url)
        assert client.get(url, headers={"If-None-Match": first["ETag"]}).status_code == 304
        assert client.get(f"{url}?size=a4", headers={"If-None-Match": first["ETag"]}).status_code == 200

    def test_morning_offers_both(self, as_person: Any, office: Person, url: str, foundation: Foundation) -> None:
        page = as_person(office).get(reverse("board:morning", args=[foundation.corridor.slug])).content.decode()
        assert f'href="{url}"' in page and f'href="{url}?size=a4"' in page

    def test_it_asks_no_more_for_more_foundations(self, corridor: Corridor) -> None:
        def cost() -> int:
            with CaptureQueriesContext(
                connection,
            ) as asked:
                paper.morning_paper(fresh(corridor), AT)
            return len(asked)

        at_stage(bring_in(corridor, ["LP-001"])[0], "layout", "notified")
        few = cost()
        for each in bring_in(corridor, [f"LP-{number:03d}" for number in range(2, 9)]):
            at_stage(each, "layout", "notified")
            findings.raised(each, stage="layout", grade="critical", at=after(each))
        assert cost() <= few + 1  # releases or trends that are there only with more on file
