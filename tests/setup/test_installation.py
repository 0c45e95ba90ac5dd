"""The installation's pages: an administrator opens a corridor and makes people there; for all others they do not exist."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from apps.corridor.models import Corridor
from apps.people.models import Person
from apps.record.ids import uuid7
from apps.record.models import Entry
from tests.factories.times import NOW

OPENING = {
    "name": "Calder Bench Road",
    "slug": "",
    "owner": "Calder County",
    "contract": "CC-9",
    "time_zone": "America/Denver",
    "starts_on": "2026-03-02",
    "finishes_on": "2026-08-28",
    "working_days": ["1", "2", "3", "4"],
    "holidays": "2026-07-03\n2026-05-25",
    "notice_hours": "14",
    "inspection_promise_hours": "4",
    "release_promise_hours": "24",
    "photo_reach_ft": "50",
}


def fresh(**said: Any) -> dict[str, Any]:
    return {**said, "client_id": str(uuid7())}


@pytest.mark.parametrize("name", ["overview", "open_corridor", "add_person"])
def test_for_others_there_is_no_such_page(corridor: Corridor, office: Person, as_person: Any, name: str) -> None:
    address = reverse(f"installation:{name}")
    assert as_person(office).get(address).status_code == 404
    assert Client().get(address).status_code == 302


def test_an_administrator_opens_a_corridor_and_lands_on_its_setup(
    corridor: Corridor, admin: Person, as_person: Any, clock: Any
) -> None:
    client = as_person(admin)
    answer = client.post(reverse("installation:open_corridor"), fresh(**OPENING, edition=corridor.edition.pk))
    made = Corridor.objects.get(slug="calder-bench-road")
    assert answer["Location"] == reverse("setup:setup", args=[made.slug])
    assert (made.working_days, made.holidays, made.contract) == ("1234", ["2026-05-25", "2026-07-03"], "CC-9")
    page = client.get(answer["Location"]).content.decode()
    assert "4 of 6 steps are missing" in page
    assert Entry.objects.of_log(made.pk).get().act == "open_corridor"
    assert "Calder Bench Road" in client.get(reverse("installation:overview")).content.decode()


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"time_zone": "Calder"}, "Calder is no time zone"),
        ({"name": "Parkway", "slug": "alder-mesa"}, "There is a corridor alder-mesa already"),
        ({"name": "???"}, "No address can be made from this name"),
        ({"finishes_on": "2026-03-01"}, "before the first day of work"),
        ({"holidays": "4 July"}, "a day is written 2026-11-26"),
        ({"working_days": []}, "This field is required"),
    ],
)
def test_a_corridor_that_cannot_be_is_said_and_nothing_typed_is_lost(
    corridor: Corridor, admin: Person, as_person: Any, clock: Any, changed: dict[str, Any], said: str
) -> None:
    sent = fresh(**{**OPENING, **changed}, edition=corridor.edition.pk)
    answer = as_person(admin).post(reverse("installation:open_corridor"), sent)
    text = answer.content.decode()
    assert (answer.status_code, Corridor.objects.count()) == (422, 1)
    assert said in text
    assert "CC-9" in text


def test_a_person_is_made_begins_by_the_link_and_gets_a_role(
    corridor: Corridor, admin: Person, as_person: Any, clock: Any
) -> None:
    mine, client = as_person(admin), Client()
    said = {"username": "k.abara", "name": "K. Abara", "credential": "", "email": ""}
    page = mine.post(reverse("installation:add_person"), fresh(**said)).content.decode()
    link = page.split("<code>", 1)[1].split("</code>", 1)[0]
    assert link.startswith("http://testserver/")
    form = client.get(link.removeprefix("http://testserver"), follow=True)
    password = "a lamp on every third pole"
    client.post(form.redirect_chain[-1][0], {"password1": password, "password2": password})
    client.post(reverse("account_login"), {"login": "k.abara", "password": password})
    morning = reverse("board:morning", args=[corridor.slug])
    assert client.get(morning).status_code == 404
    grant = {"person": "k.abara", "role": "engineer", "starts_on": f"{corridor.day(NOW):%Y-%m-%d}"}
    answer = mine.post(reverse("setup:members", args=[corridor.slug]), fresh(**grant))
    assert answer.status_code == 302, answer.content.decode()
    assert client.get(morning).status_code == 200
    assert "Resident engineer" in mine.get(reverse("installation:person", args=["k.abara"])).content.decode()


def test_how_a_person_is_written_is_changed_and_an_account_closed_and_opened(
    corridor: Corridor, inspector: Person, admin: Person, as_person: Any, clock: Any
) -> None:
    client, at = as_person(admin), [inspector.username]
    said = fresh(name="D. Reyes", credential="CI", email="d@example.org")
    assert client.post(reverse("installation:person", args=at), said).status_code == 302
    wrong = client.post(reverse("installation:person", args=at), fresh(name="", credential="CI", email="x"))
    assert (wrong.status_code, "Enter a valid email address" in wrong.content.decode()) == (422, True)
    for move, active in (("close", False), ("open", True)):
        sent = fresh(do=move)
        for _ in range(2):  # pressed twice is done once
            client.post(reverse("installation:account", args=at), sent)
            inspector.refresh_from_db()
            assert inspector.is_active is active
    entries = Entry.objects.of_log(corridor.pk)
    assert [entries.filter(act=name).count() for name in ("close_account", "open_account")] == [1, 1]
    refused = client.post(reverse("installation:account", args=at), fresh(do="open"), follow=True).content.decode()
    assert "may sign in already" in refused
    assert (
        "There is no such move" in client.post(reverse("installation:account", args=at), follow=True).content.decode()
    )
    assert str(inspector) == "D. Reyes, CI"
    assert (
        "<code>http://testserver/"
        in client.post(reverse("installation:account", args=at), fresh(do="link")).content.decode()
    )


def test_an_administrator_reads_setup_and_requirements_of_a_corridor_and_nothing_else(
    corridor: Corridor, admin: Person, as_person: Any
) -> None:
    client = as_person(admin)
    for name in ("setup:setup", "setup:members", "setup:terms", "setup:requirements", "setup:editions"):
        assert client.get(reverse(name, args=[corridor.slug])).status_code == 200, name
    for name in ("board:morning", "field:today", "desk:queue", "dossier:stations", "setup:materials"):
        assert client.get(reverse(name, args=[corridor.slug])).status_code == 404, name
    places = (
        client.get(reverse("setup:setup", args=[corridor.slug])).content.decode().split("<nav", 1)[1].split("</nav>")[0]
    )
    assert places.count("<li>") == 2
