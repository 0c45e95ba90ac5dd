"""A page that somebody holds is answered with 304 while nothing changed, and anew once anything did."""

from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from apps.corridor.models import Foundation
from apps.people.models import Person
from tests.factories import materials
from tests.factories.corridor import member
from tests.factories.times import NOW

pytestmark = pytest.mark.django_db


@pytest.fixture
def morning(foundation: Foundation) -> str:
    return reverse("board:morning", args=[foundation.corridor.slug])


def test_unchanged_it_is_304_with_nothing_but_the_sign_in_asked(
    foundation: Foundation, morning: str, office: Person, as_person: Any, clock: Any
) -> None:
    client = as_person(office)
    first = client.get(morning)
    assert (first.status_code, first["Cache-Control"]) == (200, "private, no-cache")
    with CaptureQueriesContext(
        connection,
    ) as asked:
        again = client.get(morning, headers={"If-None-Match": first["ETag"]})
    assert (again.status_code, again.content, again["ETag"]) == (304, b"", first["ETag"])
    tables = [each["sql"].split('FROM "')[1].split('"')[0] for each in asked.captured_queries]
    assert tables == ["django_session", "people_person", "corridor_membership"]  # the last brings the counts with it


def test_an_act_makes_it_new(foundation: Foundation, morning: str, office: Person, as_person: Any, clock: Any) -> None:
    client = as_person(office)
    first = client.get(morning)
    materials.load(foundation)
    assert client.get(morning, headers={"If-None-Match": first["ETag"]}).status_code == 200


def test_time_makes_it_new(foundation: Foundation, morning: str, office: Person, as_person: Any, clock: Any) -> None:
    client = as_person(office)
    first = client.get(morning)
    clock.move_to(NOW + timedelta(minutes=10))
    assert client.get(morning, headers={"If-None-Match": first["ETag"]}).status_code == 200


def test_it_is_anothers_for_another_person_and_theme(
    foundation: Foundation, morning: str, office: Person, as_person: Any, clock: Any
) -> None:
    mine = as_person(office).get(morning)["ETag"]
    assert as_person(member(foundation.corridor, "engineer")).get(morning)["ETag"] != mine
    office.theme = "night"
    office.save()
    assert as_person(office).get(morning)["ETag"] != mine


def test_a_message_that_waits_is_shown(
    foundation: Foundation, morning: str, office: Person, as_person: Any, clock: Any
) -> None:
    client = as_person(office)
    first = client.get(morning)
    client.post(reverse("dossier:station_bundle", args=[foundation.corridor.slug, foundation.mark]), {})
    client.post(reverse("setup:material", args=[foundation.corridor.slug, "instrument"]), {"name": ""})
    day = f"{NOW:%Y-%m-%d}"
    said = {
        "client_id": "01900000-0000-7000-8000-000000000001",
        "name": "TG-1",
        "kind": "gauge",
        "calibrated_until": day,
    }
    client.post(reverse("setup:material", args=[foundation.corridor.slug, "instrument"]), said)
    answer = client.get(morning, headers={"If-None-Match": first["ETag"]})
    assert answer.status_code == 200
    assert "is entered, entry" in answer.content.decode()
    assert "ETag" not in answer.headers


def test_on_the_wall_it_asks_for_itself(morning: str, foundation: Foundation, office: Person, as_person: Any) -> None:
    client = as_person(office)
    wall = client.get(morning, {"wall": "1"}).content.decode()
    assert f'hx-get="{morning}?wall=1" hx-trigger="every 60s" hx-select="#main"' in wall
    assert "hx-trigger" not in client.get(morning).content.decode()
