"""Strip and plan in a browser: one stop of the Tab key, arrows along and across the road, Enter to the rows, words below, and on paper."""

import re
from collections.abc import Callable
from io import BytesIO

import pytest
from playwright.sync_api import Locator, Page
from pypdf import PdfReader

from apps.corridor.models import Corridor, Foundation
from apps.people.models import Person
from tests.browser.conftest import Visitor
from tests.factories.corridor import bring_in
from tests.factories.crowd import crowd
from tests.factories.holdpoints import at_stage

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

Visit = Callable[..., Visitor]
INCH = 72


@pytest.fixture
def ten(corridor: Corridor) -> list[Foundation]:
    """LP-001 right of the road, LP-002 left, and so on, 120 ft apart."""
    return bring_in(corridor, [f"LP-{number:03d}" for number in range(1, 11)])


def here(page: Page) -> str:
    """Return the accessible name of what has the focus."""
    return str(page.evaluate("document.activeElement.getAttribute('aria-label') || ''"))


def strip_of(page: Page) -> Locator:
    return page.locator("[data-along]:visible").last


def enter(page: Page, drawing: Locator) -> None:
    """Come to a drawing by the Tab key, from what stands before it."""
    drawing.evaluate("each => { const mark = document.createElement('button'); each.before(mark); mark.focus(); }")
    page.keyboard.press("Tab")


@pytest.mark.parametrize("which", ["plan", "strip"])
def test_arrows_go_along_the_road_and_enter_opens_the_foundation(
    visit: Visit, corridor: Corridor, ten: list[Foundation], office: Person, which: str
) -> None:
    visitor = visit(office)
    page = visitor.go(f"/c/{corridor.slug}/corridor/")
    drawing = page.locator("[data-along].plan-course") if which == "plan" else strip_of(page)
    enter(page, drawing)
    assert here(page).startswith("LP-001,")
    for key, mark in [
        ("ArrowRight", "LP-002"),
        ("ArrowRight", "LP-003"),
        ("ArrowLeft", "LP-002"),
        ("End", "LP-010"),
        ("ArrowRight", "LP-010"),
        ("Home", "LP-001"),
        ("PageDown", "LP-010"),
        ("PageUp", "LP-001"),
    ]:
        page.keyboard.press(key)
        assert here(page).startswith(f"{mark},"), key
    page.keyboard.press("ArrowRight")
    assert drawing.locator("[data-say]").inner_text() == here(page)
    assert drawing.locator("[data-where]").inner_text() == "2 of 10"
    page.keyboard.press("Enter")
    page.wait_for_url("**/foundations/LP-002/")
    assert visitor.complaints == []


def test_up_and_down_cross_the_road(visit: Visit, corridor: Corridor, ten: list[Foundation], office: Person) -> None:
    page = visit(office).go(f"/c/{corridor.slug}/corridor/")
    drawing = strip_of(page)
    enter(page, drawing)
    sides = {"left": "ArrowDown", "right": "ArrowUp"}
    for _ in range(4):
        before = here(page)
        side = "left" if " left," in before else "right"
        page.keyboard.press(sides[side])
        assert (" left," in here(page)) == (side == "right"), before
    page.keyboard.press("Home")
    page.keyboard.press("ArrowDown" if " right," in here(page) else "ArrowUp")
    assert here(page).startswith("LP-001,"), "nothing lies farther out: the focus stays"


def test_a_drawing_is_one_stop_and_keeps_its_place(
    visit: Visit, corridor: Corridor, ten: list[Foundation], office: Person
) -> None:
    page = visit(office).go(f"/c/{corridor.slug}/corridor/")
    drawing = strip_of(page)
    assert drawing.locator("a[tabindex='0']").count() == 1
    enter(page, drawing)
    page.keyboard.press("End")
    page.keyboard.press("Tab")
    assert not drawing.evaluate("each => each.contains(document.activeElement)")
    assert drawing.locator("[data-where]").inner_text() == ""
    page.keyboard.press("Shift+Tab")
    assert here(page).startswith("LP-010,")


def test_keys_with_a_modifier_are_left_to_the_browser(
    visit: Visit, corridor: Corridor, ten: list[Foundation], office: Person
) -> None:
    page = visit(office).go(f"/c/{corridor.slug}/corridor/")
    enter(page, strip_of(page))
    page.keyboard.press("Control+ArrowRight")
    assert here(page).startswith("LP-001,")


def test_the_pointer_reads_it_too_without_speaking(
    visit: Visit, corridor: Corridor, ten: list[Foundation], office: Person
) -> None:
    page = visit(office).go(f"/c/{corridor.slug}/corridor/")
    drawing = strip_of(page)
    link = drawing.locator("a").nth(4)
    link.hover()
    assert drawing.locator("[data-say]").inner_text() == link.get_attribute("aria-label")
    assert drawing.locator("[data-where]").inner_text() == ""


def test_without_scripts_every_foundation_is_a_stop_and_a_link(
    visit: Visit, corridor: Corridor, ten: list[Foundation], office: Person
) -> None:
    page = visit(office, script=False).go(f"/c/{corridor.slug}/corridor/")
    drawing = strip_of(page)
    assert drawing.locator("a").count() == 10 and drawing.locator("a[tabindex]").count() == 0
    drawing.locator("a").nth(2).click()
    page.wait_for_url("**/foundations/LP-003/")


@pytest.mark.parametrize("width", [390, 1366, 1920])
def test_from_far_enter_leads_one_level_nearer_until_it_is_a_foundation(
    visit: Visit, corridor: Corridor, office: Person, width: int
) -> None:
    crowd(corridor, 2000)
    visitor = visit(office, width=width)
    page = visitor.go(f"/c/{corridor.slug}/morning/")
    for _ in range(5):
        enter(page, strip_of(page))
        page.keyboard.press("ArrowRight")
        told, href = here(page), str(page.evaluate("document.activeElement.getAttribute('href')"))
        page.keyboard.press("Enter")
        page.wait_for_url(lambda url, href=href: url.endswith(href))
        if "/foundations/" in href:
            break
        number = re.search(r": (\d+) foundations?", told)
        assert number and page.locator("[data-count]").get_attribute("data-count") == number[1]
        assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert "/foundations/" in page.url
    assert visitor.complaints == []


# ---- paper

PAPER = {"corridor/": 3, "charts/": 4, "forecast/": 3, "time-location/": 2}
"""Least number of sheets: one for each subject."""


def printed(page: Page, size: str) -> PdfReader:
    return PdfReader(BytesIO(page.pdf(prefer_css_page_size=True, format=size)))


@pytest.mark.parametrize("size", ["Letter", "A4"])
@pytest.mark.parametrize("path", list(PAPER))
def test_a_sheet_lies_across_with_one_subject_and_the_title_block(
    visit: Visit, corridor: Corridor, ten: list[Foundation], office: Person, path: str, size: str
) -> None:
    for foundation, stage in zip(ten, ["drill", "layout", "layout"], strict=False):
        at_stage(foundation, stage, "released")
    page = visit(office).go(f"/c/{corridor.slug}/{path}")
    page.wait_for_timeout(600)
    heads = [head.strip() for head in page.locator("h2").all_inner_texts()]
    sheets = printed(page, size).pages
    assert len(sheets) >= PAPER[path]
    for number, sheet in enumerate(sheets, start=1):
        assert float(sheet.mediabox.width) > float(sheet.mediabox.height)
        words = re.sub(r"\s+", " ", sheet.extract_text())
        assert "Calder County" in words and "As of" in words, f"sheet {number} has no title block"
        assert f"{number} of {len(sheets)}" in words
        on_it = [head for head in heads if re.search(rf"\d {re.escape(head)}\b", words)]
        assert len(on_it) <= (2 if path == "forecast/" else 1), f"sheet {number} has {on_it}"


@pytest.mark.parametrize("path", list(PAPER))
def test_nothing_lies_beyond_the_margins_of_a_sheet(
    visit: Visit, corridor: Corridor, ten: list[Foundation], office: Person, path: str
) -> None:
    """Words of drawings and tables alike: each begins inside the margins, .4 in at the sides."""
    at_stage(ten[0], "drill", "released")
    page = visit(office).go(f"/c/{corridor.slug}/{path}")
    page.wait_for_timeout(600)
    out: list[str] = []
    seen: list[str] = []
    for sheet in printed(page, "Letter").pages:
        right, top = float(sheet.mediabox.width) - 0.3 * INCH, float(sheet.mediabox.height) - 0.3 * INCH

        def look(
            text: str, cm: list[float], tm: list[float], *_: object, right: float = right, top: float = top
        ) -> None:
            x, y = tm[4] * cm[0] + tm[5] * cm[2] + cm[4], tm[4] * cm[1] + tm[5] * cm[3] + cm[5]
            seen.extend(text.split())
            if text.strip() and not (0.3 * INCH <= x <= right and 0.2 * INCH <= y <= top):
                out.append(f"{text.strip()} at {x:.0f}, {y:.0f}")

        sheet.extract_text(visitor_text=look)
    assert len(seen) > 60
    assert out == []


def test_a_chart_on_paper_is_as_wide_as_the_sheet_or_as_high_as_its_place(
    visit: Visit, corridor: Corridor, ten: list[Foundation], office: Person
) -> None:
    at_stage(ten[0], "drill", "released")
    page = visit(office).go(f"/c/{corridor.slug}/charts/")
    page.wait_for_function(
        "[...document.querySelectorAll('[data-figure]')].every(each => each.querySelector('.main-svg[viewBox]'))"
    )
    page.set_viewport_size({"width": 980, "height": 700})
    page.emulate_media(media="print")
    page.wait_for_timeout(400)
    boxes = page.eval_on_selector_all(
        ".main-svg:first-child",
        "all => all.map(each => [each.getBoundingClientRect(), each.viewBox.baseVal, each.closest('.chart').getBoundingClientRect()])"
        ".map(([box, view, place]) => [box.width, box.height, view.width, view.height, place.width, place.height])",
    )
    assert len(boxes) >= 2
    for wide, high, view_wide, view_high, place_wide, place_high in boxes:
        assert view_wide > 0 and view_high > 0
        assert abs(wide - place_wide) < 2 and high <= place_high + 1
        assert high <= 3.9 * 96 + 1
