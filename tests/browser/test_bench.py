"""A base that rocks, calculated on a phone at the roadside and put to its foundation; and the same without a script."""

from collections.abc import Callable

import pytest

from apps.corridor.models import Corridor, Foundation
from apps.materials.models import Computation
from apps.people.models import Person
from tests.browser.conftest import Visitor

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.mark.parametrize("script", [True, False])
def test_an_inspector_calculates_a_seating_and_puts_it_to_the_foundation(
    corridor: Corridor, foundation: Foundation, inspector: Person, visit: Callable[..., Visitor], script: bool
) -> None:
    visitor = visit(inspector, width=390, script=script)
    page = visitor.go(f"/c/{corridor.slug}/foundations/LP-001/")
    page.get_by_role("link", name="Calculate at the Bench for LP-001").click()
    page.get_by_role("link", name="Seating on four corners").first.click()
    assert page.get_by_label("Bolt circle").input_value() == "14 in"

    for corner, typed in {"A": "0", "B": "1/32", "C": "3/16 inches thick", "D": "0"}.items():
        page.get_by_label(f"Corner {corner}, as read").fill(typed)
    page.get_by_role("button", name="Calculate").click()
    assert "Nothing was calculated, nothing is lost" in page.locator("[role=alert]").inner_text()
    if script:
        assert page.evaluate("document.activeElement.getAttribute('role')") == "alert"
    assert page.get_by_label("Corner B, as read").input_value() == "1/32"

    page.get_by_label("Corner C, as read").fill("3/16")
    page.get_by_role("button", name="Calculate").click()
    assert "stands open by 5/32 in" in page.locator(".lead").inner_text()
    assert page.locator(".results svg.drawn").count() == 4
    assert page.evaluate("document.documentElement.scrollWidth") <= 390

    page.get_by_label("Stage").select_option("Base set")
    page.get_by_label("Note").fill("Before grinding")
    page.get_by_role("button", name="Put to foundation").click()
    page.wait_for_url("**/foundations/LP-001/")
    assert "is put to LP-001, entry" in page.locator(".messages").inner_text()
    assert "Before grinding" in page.locator(".computation").inner_text()
    assert Computation.objects.get().stage == "base_set"

    page.get_by_role("link", name="Open at the Bench").click()
    assert "stands open by 5/32 in" in page.locator(".lead").inner_text()
    assert visitor.complaints == []
