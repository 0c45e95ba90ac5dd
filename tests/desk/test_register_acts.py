"""The register's own doings: several findings assigned at once, views kept by a person, a finding raised at a reading, a reject
that gives the foundation up, and what the export tells of all this."""

import csv
from io import StringIO
from typing import Any

import pytest
from django.http import QueryDict
from django.urls import reverse

from apps.corridor.models import Corridor, Crew, Foundation
from apps.findings import saved
from apps.findings.models import Finding, SavedView
from apps.people.models import Person
from apps.record.acts import Refused
from apps.record.ids import uuid7
from apps.record.models import Entry
from tests.desk.doing import text
from tests.desk.test_findings import decide, listed, move, names, page_of
from tests.factories import findings
from tests.factories.corridor import bring_in
from tests.factories.doing import standing
from tests.factories.holdpoints import at_stage, attempt
from tests.factories.people import person

pytestmark = pytest.mark.django_db


def to_assign(corridor: Corridor, *numbers: int, **said: str) -> tuple[str, dict[str, Any]]:
    """Return address and filled form that assign findings."""
    sent = {"client_id": str(uuid7()), "crew": "", "cause": "", "due_on": "", **said}
    return reverse("desk:assign", args=[corridor.slug]), {**sent, "findings": [str(each) for each in numbers]}


@pytest.fixture
def three(corridor: Corridor) -> list[Finding]:
    """Three findings, the last closed."""
    one, two, gone = bring_in(corridor, ["LP-001", "LP-002", "LP-003"])
    return [findings.raised(one), findings.raised(two), findings.in_state(gone, "closed")]


def test_the_ticked_ones_are_assigned_each_by_its_own_act_and_a_closed_one_is_named(
    as_person: Any, three: list[Finding], crew: Crew, office: Person, corridor: Corridor
) -> None:
    url, sent = to_assign(corridor, 1, 2, 3, crew=str(crew.pk), cause="ground", due_on="2026-03-20")
    client = as_person(office)
    answer = client.post(url, sent, follow=True)
    page = text(answer)
    assert "F-001 is assigned." in page and "F-002 is assigned." in page
    assert "F-003: F-003 is closed" in page
    told = Entry.objects.filter(act="assign_finding")
    assert [(entry.subject, entry.payload["cause"]) for entry in told] == [("F-001", "ground"), ("F-002", "ground")]
    assert set(Finding.objects.filter(crew=crew, cause="ground").values_list("number", flat=True)) >= {1, 2}
    client.post(url, sent)
    assert Entry.objects.filter(act="assign_finding").count() == 2  # sent twice is done once


@pytest.mark.parametrize(
    ("numbers", "said", "why"),
    [
        ((), {"cause": "ground"}, "Tick at least one finding."),
        ((1,), {}, "Choose a cause, a crew or a day to assign."),
        ((1,), {"due_on": "soon"}, "Enter a valid date."),
        ((1,), {"cause": "fate"}, "Select a valid choice."),
    ],
)
def test_what_cannot_be_assigned_is_shown_back(
    numbers: tuple[int, ...], said: dict[str, str], why: str, as_person: Any, three: list[Finding], engineer: Person
) -> None:
    before = standing(three[0].corridor)
    url, sent = to_assign(three[0].corridor, *numbers, **said)
    answer = as_person(engineer).post(url, sent)
    assert answer.status_code == 422 and why in text(answer)
    assert standing(three[0].corridor) == before


@pytest.mark.parametrize("username", ["d.reyes", "j.brandt", "e.marsh"])
def test_a_hand_made_post_assigns_nothing_for_who_may_not(
    username: str, as_person: Any, three: list[Finding], corridor: Corridor, auditor: Person, foreman: Person
) -> None:
    client, before = as_person(person(username)), standing(corridor)
    url, sent = to_assign(corridor, 1, cause="ground")
    answer = client.post(url, sent, follow=True)
    assert "F-001: This is for" in text(answer)
    assert standing(corridor) == before
    assert 'id="assign"' not in text(client.get(listed(corridor)))
    one = client.post(page_of(three[0]), move("assign_finding", cause="ground", due_on="", crew=""))
    assert one.status_code == 409
    assert standing(corridor) == before


def test_the_page_of_a_finding_says_what_it_costs(as_person: Any, foundation: Foundation, engineer: Person) -> None:
    finding, client = findings.raised(foundation), as_person(engineer)
    sent = move("assign_finding", cause="ground", due_on="", crew="", cost="1850", delay_d="1.5")
    assert client.post(page_of(finding), sent).status_code == 302
    page = text(client.get(page_of(finding)))
    assert "1,850 dollars, 1.5 working days, as estimated" in page
    assert client.post(page_of(finding), sent | {"cost": "-4"}).status_code == 422


def test_the_export_tells_age_effect_and_what_it_came_back_after(
    as_person: Any, corridor: Corridor, engineer: Person, three: list[Finding]
) -> None:
    Finding.objects.filter(number=2).update(again_of=three[0], cost="12.50", delay_d="3.0")
    answer = as_person(engineer).get(listed(corridor, format="csv", state=""))
    rows = list(csv.DictReader(StringIO(text(answer).lstrip("\ufeff"))))
    second = next(row for row in rows if row["number"] == "F-002")
    told = ("open days", "cost, dollars", "delay, working days", "came back after")
    assert [second[name] for name in told] == ["2", "12.50", "3.0", "F-001"]


# ---- filters and views


def test_the_register_is_narrowed_by_crew_age_and_what_came_back(
    as_person: Any, three: list[Finding], engineer: Person, crew: Crew, corridor: Corridor
) -> None:
    Finding.objects.update(crew=None)
    Finding.objects.filter(number=1).update(crew=crew, due_on="2026-03-01")
    Finding.objects.filter(number=2).update(again_of=three[0])
    client = as_person(engineer)
    assert names(client.get(listed(corridor, crew=str(crew.pk)))) == ["F-001"]
    assert names(client.get(listed(corridor, age="late"))) == ["F-001"]
    assert names(client.get(listed(corridor, age="again"))) == ["F-002"]
    assert names(client.get(listed(corridor, age="30"))) == []


def test_a_view_is_kept_for_its_person_alone_and_replaced_by_name(
    as_person: Any, three: list[Finding], engineer: Person, office: Person, corridor: Corridor
) -> None:
    url = reverse("desk:views", args=[corridor.slug])
    client = as_person(engineer)
    client.post(f"{url}?grade=major&format=csv&next=//else.where", {"name": "Major ones"})
    assert SavedView.objects.get().query == "grade=major"
    assert "Major ones" in text(client.get(listed(corridor)))
    client.post(f"{url}?state=open&sort=-due_on", {"name": "Major ones"})
    assert SavedView.objects.get().query == "sort=-due_on&state=open"
    client.get(listed(corridor))  # the word that it was kept is said once
    assert "Major ones" not in text(as_person(office).get(listed(corridor)))
    as_person(office).post(url, {"name": "Major ones", "act": "drop"})
    assert SavedView.objects.count() == 1
    as_person(engineer).post(url, {"name": "Major ones", "act": "drop"})
    assert not SavedView.objects.exists()


def test_a_view_needs_a_name_and_there_are_so_many_at_most(engineer: Person, corridor: Corridor) -> None:
    asked, known = QueryDict("state=open"), frozenset({"state"})
    with pytest.raises(Refused, match="Give the view a name"):
        saved.keep(engineer, corridor, "  ", asked, known)
    with pytest.raises(Refused, match="at most 40"):
        saved.keep(engineer, corridor, "x" * 41, asked, known)
    for number in range(saved.MOST):
        saved.keep(engineer, corridor, f"View {number}", asked, known)
    with pytest.raises(Refused, match="20 views are kept at most"):
        saved.keep(engineer, corridor, "One more", asked, known)
    assert saved.keep(engineer, corridor, "View 3", asked, known).name == "View 3"


# ---- raised at a reading, rejected


def test_a_reading_fills_in_what_is_known_and_the_page_cannot_say_otherwise(
    as_person: Any, foundation: Foundation, engineer: Person
) -> None:
    row = attempt(at_stage(foundation, "layout", "inspected")).measurements.order_by("place")[0]
    url = reverse("desk:raise_finding", args=[foundation.corridor.slug], query={"reading": str(row.pk)})
    client = as_person(engineer)
    page = text(client.get(url))
    assert row.title in page and row.limit_text in page and 'name="mark"' not in page
    sent = {"client_id": str(uuid7()), "title": "Stake leans", "grade": "minor", "cause": "survey", "crew": ""}
    forged = {"mark": "LP-999", "stage": "pour", "reading": "0 in", "limit": "none", "requirement_key": "pour.slump"}
    assert client.post(url, sent | forged).status_code == 302
    finding = Finding.objects.get()
    assert (finding.stage, finding.requirement_key) == ("layout", row.requirement_key)
    assert (finding.reading, finding.limit) == (row.value_text, row.limit_text)
    assert row.value_text in text(client.get(page_of(finding)))


@pytest.mark.parametrize("asked", ["no-key", "01900000-0000-7000-8000-000000000000"])
def test_a_reading_that_is_none_is_not_found(
    asked: str, as_person: Any, foundation: Foundation, engineer: Person
) -> None:
    url = reverse("desk:raise_finding", args=[foundation.corridor.slug], query={"reading": asked})
    assert as_person(engineer).get(url).status_code == 404


def test_a_reject_asks_for_the_successor_and_does_both(
    as_person: Any, foundation: Foundation, engineer: Person
) -> None:
    finding, client = findings.raised(foundation), as_person(engineer)
    answer = client.post(page_of(finding), decide("rework", abandon="on"))
    assert answer.status_code == 422 and "abandoned with the disposition Reject" in text(answer)
    answer = client.post(page_of(finding), decide("reject", mark="LP-001R"))
    assert answer.status_code == 422 and "Tick that the foundation is abandoned" in text(answer)
    sent = decide("reject", abandon="on", mark="LP-001R", reason="Rock from 4 ft")
    assert client.post(page_of(finding), sent).status_code == 302
    foundation.refresh_from_db()
    assert foundation.abandoned_at is not None
    assert Foundation.objects.get(mark="LP-001R").replaces == foundation
    assert text(client.get(page_of(finding))).count("Rock from 4 ft") >= 2
