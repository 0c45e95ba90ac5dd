"""Members, crews and terms on pages: who may, what is refused with all that was typed, what stands afterwards."""

from typing import Any

import pytest
from django.urls import reverse

from apps.corridor.models import Corridor
from apps.people.models import Person
from apps.record.ids import uuid7
from apps.record.models import Entry
from tests.factories import people
from tests.factories.times import DAY, NOW


def post(client: Any, corridor: Corridor, name: str, /, *more: object, **said: Any) -> Any:
    sent = {"client_id": uuid7(), **said}
    return client.post(reverse(f"setup:{name}", args=[corridor.slug, *more]), sent)


def text(client: Any, corridor: Corridor, name: str = "members") -> str:
    return str(client.get(reverse(f"setup:{name}", args=[corridor.slug])).content.decode())


def test_the_office_grants_a_role_and_ends_it(corridor: Corridor, office: Person, as_person: Any, clock: Any) -> None:
    client, someone = as_person(office), people.person("n.stranger")
    crew, today = corridor.crews.get(name="Crew 1"), corridor.day(NOW)
    said = {"person": "N.Stranger", "role": "foreman", "crew": crew.pk, "starts_on": f"{today}"}
    assert post(client, corridor, "members", **said).status_code == 302
    row = corridor.memberships.get(person=someone)
    assert (row.role, row.crew, row.ends_on) == ("foreman", crew, None)
    assert "N. Stranger is foreman here from" in text(client, corridor)
    assert post(client, corridor, "end_role", row.pk, ends_on=f"{today}").status_code == 302
    row.refresh_from_db()
    assert row.ends_on == today
    assert Entry.objects.of_log(corridor.pk).last().act == "end_role"  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("changed", "status", "said"),
    [
        ({"person": "nobody.here"}, 422, "Nobody signs in as nobody.here"),
        ({"role": "engineer"}, 422, "engineer is not one of the available choices"),
        ({"role": "auditor", "crew": True}, 422, "Only a foreman leads a crew here"),
        ({"role": "foreman"}, 422, "Choose the crew that the foreman leads"),
        ({"person": "p.lindqvist"}, 409, "Nobody grants a role to themselves"),
        ({"ends_on": "2020-01-01"}, 409, "The last day lies before the first"),
        ({"starts_on": "soon"}, 422, "Enter a valid date"),
    ],
)
def test_what_cannot_be_granted_is_said_and_kept(
    corridor: Corridor, office: Person, as_person: Any, clock: Any, changed: dict[str, Any], status: int, said: str
) -> None:
    people.person("n.stranger")
    sent = {"person": "n.stranger", "role": "auditor", "starts_on": f"{corridor.day(NOW)}", **changed}
    if changed.get("crew"):
        sent["crew"] = corridor.crews.get(name="Crew 1").pk
    answer = post(as_person(office), corridor, "members", **sent)
    page = answer.content.decode()
    assert (answer.status_code, said in page) == (status, True), page
    assert f'value="{sent["person"]}"' in page
    assert not corridor.memberships.filter(person__username="n.stranger").exists()


def test_a_crew_is_brought_in_once(corridor: Corridor, office: Person, as_person: Any, clock: Any) -> None:
    client = as_person(office)
    assert post(client, corridor, "add_crew", name="Crew 7").status_code == 302
    again = post(client, corridor, "add_crew", name="Crew 7")
    assert (again.status_code, "There is a crew Crew 7 already" in again.content.decode()) == (409, True)


def test_terms_are_changed_from_now_on(corridor: Corridor, office: Person, as_person: Any, clock: Any) -> None:
    client = as_person(office)
    page = client.get(reverse("setup:terms", args=[corridor.slug]))
    form = page.context["form"]
    same = {name: value for name, value in form.initial.items() if value is not None} | {"client_id": uuid7()}
    unchanged = client.post(reverse("setup:terms", args=[corridor.slug]), same)
    assert (unchanged.status_code, "Nothing is changed" in unchanged.content.decode()) == (422, True)
    later = {**same, "client_id": uuid7(), "finishes_on": f"{corridor.finishes_on + DAY}", "holidays": "2026-07-03"}
    assert client.post(reverse("setup:terms", args=[corridor.slug]), later).status_code == 302
    was = corridor.finishes_on
    corridor.refresh_from_db()
    assert (corridor.finishes_on, corridor.holidays) == (was + DAY, ["2026-07-03"])


def test_others_read_and_change_nothing(corridor: Corridor, inspector: Person, as_person: Any, clock: Any) -> None:
    client = as_person(inspector)
    assert "Grant a role" not in text(client, corridor)
    assert "administrators change them" in text(client, corridor, "terms")
    people.person("n.stranger")
    said = {"person": "n.stranger", "role": "auditor", "starts_on": f"{corridor.day(NOW)}"}
    answer = post(client, corridor, "members", **said)
    assert (answer.status_code, "This is for the resident engineer or project office" in answer.content.decode()) == (
        409,
        True,
    )
    assert as_person(people.person("n.stranger")).get(reverse("setup:members", args=[corridor.slug])).status_code == 404
