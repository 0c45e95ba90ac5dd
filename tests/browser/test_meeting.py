"""The morning meeting before one screen: it steps through what is flagged by keys, and gives a follow-up without leaving its place."""

from collections.abc import Callable

import pytest

from apps.corridor.models import Corridor, Foundation
from apps.followups.models import FollowUp
from apps.people.models import Person
from tests.browser.conftest import Visitor
from tests.factories.findings import raised

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_the_meeting_steps_by_keys_and_gives_a_follow_up_from_where_it_is(
    visit: Callable[..., Visitor],
    corridor: Corridor,
    foundation: Foundation,
    pedestal: Foundation,
    office: Person,
    inspector: Person,
) -> None:
    for each in (foundation, pedestal):
        raised(each, stage="layout")
    visitor = visit(office)
    page = visitor.go(f"/c/{corridor.slug}/morning/items/1/")

    page.keyboard.press("j")
    page.wait_for_url("**/morning/items/2/")
    assert page.get_by_role("link", name="F-002 at PB-001").first.is_visible()

    page.get_by_label("What is to be done").fill("jk Bring the gauge")  # the letters step only outside fields
    page.get_by_label("Who").select_option(label="D. Reyes, inspector")
    page.keyboard.press("Tab")
    page.get_by_label("About").press("Enter")
    page.get_by_text("Follow-up 1 is added").wait_for()
    assert page.url.endswith("/morning/items/2/")
    row = FollowUp.objects.get()
    assert (row.text, row.owner, row.finding.name if row.finding else "") == ("jk Bring the gauge", inspector, "F-002")

    page.keyboard.press("k")
    page.wait_for_url("**/morning/items/1/")
    page.get_by_role("link", name="Next").click()
    page.wait_for_url("**/morning/items/2/")
    page.get_by_role("link", name="To the sheet").click()
    page.wait_for_url("**/morning/")
    assert page.get_by_role("link", name="1 to do").is_visible()
    assert visitor.complaints == []
