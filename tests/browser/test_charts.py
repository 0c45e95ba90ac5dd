"""The charts in a browser: drawn under the strict policy as under none, in the theme's colours, and readable without scripts."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Route

from apps.corridor.models import Corridor, Foundation
from apps.people.models import Person
from apps.sheet import inks
from tests.browser.conftest import Visitor
from tests.factories import findings
from tests.factories.holdpoints import at_stage

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

Visit = Callable[..., Visitor]
DRAWN = "() => [...document.querySelectorAll('[data-figure]')].every(place => place.querySelector('.main-svg'))"


@pytest.fixture
def worked(foundation: Foundation) -> Foundation:
    at_stage(foundation, "drill", "released")
    findings.raised(foundation, stage="cage", grade="minor")
    return foundation


def opened(visitor: Visitor, corridor: Corridor) -> Visitor:
    page = visitor.go(f"/c/{corridor.slug}/charts/")
    page.wait_for_function(DRAWN)
    page.wait_for_timeout(300)
    return visitor


def without_policy(route: Route) -> None:
    """Let a page through as the server made it, without its policy."""
    made = route.fetch()
    route.fulfill(response=made, headers={**made.headers, "content-security-policy": ""})


def test_charts_under_the_strict_policy_look_as_under_none(
    visit: Visit, corridor: Corridor, worked: Foundation, office: Person
) -> None:
    strict = opened(visit(office), corridor)
    assert strict.complaints == []
    free = visit(office)
    free.page.route("**/charts/", without_policy)
    opened(free, corridor)
    places = strict.page.locator("[data-figure]")
    assert places.count() >= 3
    for number in range(places.count()):
        assert places.nth(number).screenshot() == free.page.locator("[data-figure]").nth(number).screenshot()


def test_by_night_the_words_of_a_chart_have_the_ink_of_the_night(
    visit: Visit, corridor: Corridor, worked: Foundation, office: Person
) -> None:
    office.theme = Person.Theme.NIGHT
    office.save()
    page = opened(visit(office), corridor).page
    fills = page.eval_on_selector_all(
        "[data-figure] .xtick text", "all => all.map(each => getComputedStyle(each).fill)"
    )
    red, green, blue = (int(inks.night()["ink-2"][at : at + 2], 16) for at in (1, 3, 5))
    assert fills and set(fills) == {f"rgb({red}, {green}, {blue})"}


def test_without_scripts_sentence_and_table_stand(
    visit: Visit, corridor: Corridor, worked: Foundation, office: Person
) -> None:
    page = visit(office, script=False).go(f"/c/{corridor.slug}/charts/")
    assert not page.locator("[data-figure]").first.is_visible()
    first = page.locator("details.same").first
    first.locator("summary").click()
    assert first.locator("table").is_visible()
