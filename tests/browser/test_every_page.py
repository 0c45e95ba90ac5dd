"""Every page, as the person who uses it: no complaint of the browser, no sideways scroll, one heading, no serious axe finding."""

from collections.abc import Callable

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse

from apps.corridor.models import Corridor, Foundation
from apps.people.models import Person
from tests.browser.conftest import Visitor
from tests.factories import audits, findings, materials, requirements
from tests.factories.holdpoints import after, at_stage
from tests.factories.passkeys import Passkey, authenticator

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

Visit = Callable[..., Visitor]

# Path under the corridor, and who opens it.
PAGES = {
    "morning/": "office",
    "corridor/": "office",
    "forecast/?crew=pour": "office",
    "charts/": "office",
    "time-location/": "office",
    "foundations/LP-001/": "engineer",
    "field/": "inspector",
    "foundations/LP-001/drill/inspect/": "inspector",
    "desk/": "engineer",
    "desk/LP-001/drill/": "engineer",
    "desk/together/": "engineer",
    "desk/conditions/": "office",
    "done/": "office",
    "follow-ups/?about=LP-001": "office",
    "minutes/": "office",
    "morning/items/1/": "office",
    "findings/raise/": "inspector",
    "findings/": "engineer",
    "findings/1/": "engineer",
    "record/": "auditor",
    "record/LP-001/": "auditor",
    "record/audits/": "auditor",
    "record/audits/new/": "auditor",
    "record/audits/1/": "engineer",
    "record/audits/1/1/": "auditor",
    "requirements/": "engineer",
    "bench/": "inspector",
    "bench/seating/?a=0&b=0.078&c=-0.016&d=0.046&pole_height=35": "engineer",
    "requirements/editions/": "engineer",
    "requirements/editions/1/": "auditor",
    "requirements/editions/1/base_set.corner_gap/?reading=3/16": "inspector",
    "requirements/editions/2/": "engineer",
    "requirements/editions/2/edit/base_set.corner_gap/": "engineer",
    "requirements/editions/2/tried/": "engineer",
    "materials/": "office",
    "setup/": "office",
    "setup/schedule/": "office",
    "setup/alignments/": "office",
    "setup/designs/": "engineer",
}
SERIOUS = {"serious", "critical"}


def faults(visitor: Visitor) -> list[str]:
    """Return what axe finds serious on the open page."""
    found = Axe().run(visitor.page).response["violations"]
    return [f"{each['id']}: {each['nodes'][0]['html'][:160]}" for each in found if each["impact"] in SERIOUS]


def check(visitor: Visitor, path: str) -> None:
    """Look at one page as it stands in the window."""
    page = visitor.page
    width = page.viewport_size["width"] if page.viewport_size else 0
    assert page.evaluate("document.documentElement.scrollWidth") <= width, f"{path} scrolls sideways at {width}"
    assert page.locator("h1").count() == 1, f"{path} has {page.locator('h1').count()} main headings"
    assert faults(visitor) == [], path
    assert visitor.complaints == [], path


@pytest.fixture
def people(
    corridor: Corridor, inspector: Person, engineer: Person, office: Person, auditor: Person
) -> dict[str, Person]:
    """Everyone who opens a page here."""
    return {"inspector": inspector, "engineer": engineer, "office": office, "auditor": auditor}


@pytest.fixture
def at_work(foundation: Foundation, pedestal: Foundation) -> Foundation:
    """LP-001 with drill notified, PB-001 with a drill awaiting release and a finding; their layouts are drawn for an audit;
    a certificate has its paper on file."""
    at_stage(foundation, "drill", "notified")
    at_stage(pedestal, "drill", "inspected")
    findings.raised(pedestal)
    requirements.drafted(foundation.corridor, limit="3/32")
    audits.drawn(foundation.corridor, at=after(foundation))
    materials.certificate(foundation.corridor)
    materials.lot(foundation, number="C-77")
    return foundation


@pytest.mark.parametrize("width", [390, 1366])
def test_every_page_is_whole(
    visit: Visit, people: dict[str, Person], corridor: Corridor, at_work: Foundation, width: int
) -> None:
    for role, person in people.items():
        visitor = visit(person, width=width)
        for path in (path for path, who in PAGES.items() if who == role):
            visitor.go(f"/c/{corridor.slug}/{path}")
            check(visitor, path)


def test_pages_are_whole_by_night(
    visit: Visit, people: dict[str, Person], corridor: Corridor, at_work: Foundation
) -> None:
    for role, person in people.items():
        person.theme = Person.Theme.NIGHT
        person.save()
        visitor = visit(person)
        for path in (path for path, who in PAGES.items() if who == role):
            visitor.go(f"/c/{corridor.slug}/{path}")
            check(visitor, path)


def test_sign_in_page_is_whole(visit: Visit, corridor: Corridor) -> None:
    visitor = visit(width=390)
    visitor.go("/account/login/")
    check(visitor, "sign-in")


@pytest.mark.parametrize("width", [390, 1366])
def test_pages_of_an_administrator_are_whole(
    visit: Visit, corridor: Corridor, at_work: Foundation, admin: Person, width: int
) -> None:
    visitor = visit(admin, width=width)
    own = [reverse(f"installation:{name}") for name in ("overview", "open_corridor", "add_person")]
    theirs = reverse("installation:person", args=["d.reyes"])
    here = [reverse(f"setup:{name}", args=[corridor.slug]) for name in ("setup", "members", "terms", "requirements")]
    for path in (*own, theirs, *here):
        visitor.go(path)
        check(visitor, path)
    visitor.go(theirs)
    visitor.page.get_by_role("button", name="Show a new link to set a password").click()
    visitor.page.get_by_role("heading", name="Link to set a password").wait_for()
    check(visitor, "a link is shown")
    visitor.go(reverse("installation:open_corridor"))
    visitor.page.get_by_label("Name", exact=True).fill("Calder Bench Road")
    visitor.page.get_by_label("Owner").fill("Calder County")
    visitor.page.get_by_label("Time zone").fill("Denver")
    visitor.page.get_by_label("First day of work").fill("2026-03-02")
    visitor.page.get_by_label("Contract date").fill("2026-08-28")
    visitor.page.get_by_role("button", name="Open the corridor").click()
    visitor.page.get_by_text("Denver is no time zone").wait_for()
    assert faults(visitor) == []  # the browser complains of 422 itself


@pytest.mark.parametrize("width", [390, 1366])
def test_pages_beside_a_corridor_are_whole(
    visit: Visit, corridor: Corridor, at_work: Foundation, engineer: Person, width: int
) -> None:
    visitor = visit(engineer, width=width)
    authenticator(engineer)  # after signing in, which would ask for it
    Passkey().give(engineer)
    own = [reverse(name) for name in ("desks", "mfa_index", "mfa_list_webauthn")]
    for path in (*own, f"/c/{corridor.slug}/desk/PB-001/drill/"):
        visitor.go(path)
        check(visitor, path)
    assert visitor.page.locator("[data-passkey]").is_visible()
