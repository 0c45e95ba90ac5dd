"""The plans brought in by hand: a line looked at and kept by keyboard alone, a file chosen from, pages of one line and one design."""

from collections.abc import Callable
from pathlib import Path

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from apps.corridor.models import Corridor, Foundation
from apps.people.models import Person
from tests.browser.conftest import Visitor
from tests.browser.test_every_page import check

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

Visit = Callable[..., Visitor]
FILE = Path(__file__).parents[1] / "vectors" / "two_lines.landxml"
TYPED = (
    "Ramp A",
    "10+00",
    "53000",
    "88000",
    "N 12°30'00\" W",
    "tangent 400\ncurve 600 R 1000 right",
    "",
    "12+00 Elm St",
)
"""In the order of the fields."""


@pytest.mark.parametrize("width", [390, 1366])
def test_a_line_is_brought_in_by_keyboard_alone(visit: Visit, corridor: Corridor, office: Person, width: int) -> None:
    visitor = visit(office, width=width)
    address = reverse("setup:alignments", args=[corridor.slug])
    page = visitor.go(address)
    page.get_by_label("Name", exact=True).first.focus()
    for number, text in enumerate(TYPED):
        page.keyboard.type(text)
        page.keyboard.press("Tab")
        if number == 0:
            expect(page.get_by_label("Station at the start")).to_be_focused()
    page.keyboard.press("Tab")  # past the heading of the grid
    page.keyboard.press("Enter")
    expect(page.get_by_role("button", name="Bring in Ramp A")).to_be_visible()
    check(visitor, "a line looked at")
    page.get_by_role("button", name="Bring in Ramp A").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_text("Ramp A is brought in")).to_be_visible()
    assert corridor.alignments.filter(name="Ramp A").exists()


def test_what_is_wrong_is_focused_and_tied_to_its_field(visit: Visit, corridor: Corridor, office: Person) -> None:
    visitor = visit(office, width=390)
    page = visitor.go(reverse("setup:alignments", args=[corridor.slug]))
    for label, text in zip(
        ("Name", "Station at the start", "East at the start", "North at the start"), TYPED, strict=False
    ):
        page.get_by_label(label, exact=True).first.fill(text)
    page.get_by_label("Bearing at the start").fill("N 95 E")
    page.get_by_label("Elements").fill("tangent 400")
    page.get_by_role("button", name="Look at the line").first.click()
    expect(page.get_by_role("alert")).to_be_focused()
    expect(page.get_by_label("Bearing at the start")).to_have_attribute("aria-invalid", "true")
    expect(page.get_by_label("Elements")).to_have_value("tangent 400")
    visitor.complaints = [each for each in visitor.complaints if "422" not in each]
    check(visitor, "a line with a fault")


@pytest.mark.parametrize("width", [390, 1366])
def test_a_file_is_chosen_from(visit: Visit, corridor: Corridor, office: Person, width: int) -> None:
    visitor = visit(office, width=width)
    page = visitor.go(reverse("setup:alignments", args=[corridor.slug]))
    page.get_by_label("LandXML 1.2 file").set_input_files(FILE)
    page.get_by_role("button", name="Read file").click()
    page.get_by_label("Alignment in the file").select_option("Frontage")
    check(visitor, "a file to choose from")
    page.get_by_role("button", name="Look at the line").nth(1).click()
    page.get_by_role("button", name="Bring in Frontage").click()
    expect(page.get_by_text("Frontage is brought in")).to_be_visible()


@pytest.mark.parametrize("theme", [Person.Theme.PAPER, Person.Theme.NIGHT])
@pytest.mark.parametrize("width", [390, 1366])
def test_one_line_and_one_design_are_whole(
    visit: Visit, corridor: Corridor, foundation: Foundation, office: Person, width: int, theme: str
) -> None:
    office.theme = theme
    office.save()
    visitor = visit(office, width=width)
    free = corridor.designs.get(name="PB1")
    for route, row in (("alignment", foundation.alignment), ("design", foundation.design), ("design", free)):
        visitor.go(reverse(f"setup:{route}", args=[corridor.slug, row.pk]))
        check(visitor, f"{route} {row}")
