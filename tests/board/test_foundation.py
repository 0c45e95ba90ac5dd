"""One foundation's page: what each person may do next there, what stands in the way, and where it leads."""

import re
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from apps.corridor.models import Foundation
from tests.factories.findings import raised
from tests.factories.holdpoints import at_stage
from tests.factories.people import person
from tests.factories.times import DAY, NOW

pytestmark = pytest.mark.django_db


@pytest.fixture
def page_of(as_person: Any, foundation: Foundation, clock: Any) -> Any:
    """Return the foundation's page as someone sees it, long after everything that was done."""

    def get(username: str) -> str:
        clock.move_to(NOW + 30 * DAY)
        answer = as_person(person(username)).get(
            reverse("board:foundation", args=[foundation.corridor.slug, foundation.mark])
        )
        assert answer.status_code == 200
        return str(answer.content.decode())

    return get


def offered(page: str) -> set[str]:
    """Return the titles of the steps that may be taken."""
    links = re.findall(r'<a class="btn(?: main)?" href="[^"]+">([^<]+)</a>', page)
    forms = re.findall(r"<summary>([^<]+)</summary>", page)
    return {*links, *forms}


RAISE = "Raise finding"
NOTICE = "Give notice for layout"
REOPEN, ABANDON = "Reopen a released hold point", "Abandon LP-001 and name its successor"


@pytest.mark.parametrize(
    ("state", "username", "expected"),
    [
        ("ready", "j.brandt", {NOTICE}),
        ("ready", "d.reyes", {NOTICE, RAISE}),
        ("ready", "p.lindqvist", {NOTICE, RAISE}),
        ("ready", "r.halvorsen", {NOTICE, RAISE, ABANDON}),
        ("ready", "e.marsh", set()),
        ("notified", "j.brandt", {"Withdraw notice for layout"}),
        ("notified", "d.reyes", {"Inspect layout", RAISE}),
        ("notified", "p.lindqvist", {RAISE}),
        ("inspected", "r.halvorsen", {"Decide on layout", RAISE, ABANDON}),
        ("inspected", "d.reyes", {RAISE}),
        ("inspected", "j.brandt", set()),
        ("returned", "d.reyes", {"Inspect layout", NOTICE, RAISE}),
    ],
)
def test_each_person_is_offered_what_the_table_of_moves_leaves_open(
    state: str, username: str, expected: set[str], foundation: Foundation, page_of: Any
) -> None:
    if state != "ready":
        at_stage(foundation, "layout", state)
    assert offered(page_of(username)) == expected


def test_reopening_is_offered_to_those_who_may(foundation: Foundation, page_of: Any) -> None:
    at_stage(foundation, "layout", "released")
    assert {
        name for name in ("d.reyes", "r.halvorsen", "j.brandt", "p.lindqvist", "e.marsh") if REOPEN in page_of(name)
    } == {
        "d.reyes",
        "r.halvorsen",
    }


def test_a_held_foundation_says_which_finding_holds_it_and_offers_no_inspection(
    foundation: Foundation, page_of: Any
) -> None:
    at_stage(foundation, "layout", "notified")
    finding = raised(foundation, stage="layout", at=NOW + DAY)
    page = page_of("d.reyes")
    assert "Inspect layout" not in offered(page)
    assert "waits for a decision: Casing left in the hole" in page
    assert reverse("desk:finding", args=[foundation.corridor.slug, finding.number]) in page


def test_the_page_leads_to_the_station_record(foundation: Foundation, page_of: Any) -> None:
    assert reverse("dossier:station", args=[foundation.corridor.slug, foundation.mark]) in page_of("e.marsh")


def test_the_page_says_what_the_plans_say(foundation: Foundation, page_of: Any) -> None:
    page = page_of("j.brandt")
    for words in ("LP1", "8 ft 0 in", "24 in", "8 No. 6", "4 of 1 1/4 in", "14 in", "4,000 psi", "40 ft", "C1"):
        assert words in page


def test_the_page_costs_the_same_however_far_the_work_is(as_person: Any, foundation: Foundation, clock: Any) -> None:
    url = reverse("board:foundation", args=[foundation.corridor.slug, foundation.mark])
    at_stage(foundation, "layout", "inspected")
    clock.move_to(NOW + 30 * DAY)
    client = as_person(person("r.halvorsen"))

    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            assert client.get(url).status_code == 200
        return len(queries)

    early = asked()
    at_stage(foundation, "cage", "released")
    for number in range(5):
        raised(foundation, stage="pour", grade="minor", at=NOW + number * DAY)
    assert (
        asked() <= early + 3 <= 17
    )  # three more: when the hole was looked at, and again, and the certificates before a pour
