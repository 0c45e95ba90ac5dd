"""The desk over several corridors: all that waits in those whose desk a person reads, and nothing of others."""

import re
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from apps.corridor.access import Role
from apps.corridor.models import Corridor, Membership
from apps.desk import several
from apps.holdpoints.models import HoldPoint
from apps.people.models import Person
from tests.desk.doing import address, clean, referring, text
from tests.factories.corridor import bring_in, grant, light_pole, open_corridor, whole_corridor
from tests.factories.times import DAY, NOW

pytestmark = pytest.mark.django_db

Desks = tuple[Corridor, Corridor]


@pytest.fixture
def two(corridor: Corridor) -> Desks:
    """Two corridors of which each has two that wait; the second promises an answer within two hours."""
    clean(corridor, "LP-001", "LP-002")
    other = whole_corridor("second-road")
    Corridor.objects.filter(pk=other.pk).update(release_promise_hours=2, name="Second road")
    referring(light_pole(other, "LP-001"))
    clean(other, "LP-002")
    return corridor, Corridor.objects.get(pk=other.pk)


def marks(page: str) -> list[str]:
    """Return the addresses that the lines of the list lead to."""
    return re.findall(r'<a class="tag" href="([^"]+)"', page)


def test_both_corridors_stand_on_one_page_and_lead_to_their_desks(two: Desks, as_person: Any, engineer: Person) -> None:
    page = text(as_person(engineer).get(reverse("desks")))
    points = HoldPoint.objects.awaiting_release().select_related("foundation__corridor")
    assert sorted(marks(page)) == sorted(address(point) for point in points)
    assert len(marks(page)) == 4
    assert "4 wait for release" in page
    for each in marks(page):
        assert as_person(engineer).get(each).status_code == 200


def test_the_longest_against_its_own_promise_stands_first(two: Desks, as_person: Any, engineer: Person) -> None:
    """The second road was inspected in the same hour, but promised an answer within two."""
    first, second = two
    waited = HoldPoint.objects.awaiting_release()
    waited.filter(corridor=first).update(since=NOW)
    waited.filter(corridor=second).update(since=NOW + DAY)
    page = text(as_person(engineer).get(reverse("desks")))
    # First: 24 h promised, two days waiting, 24 h over. Second: 2 h promised, one day waiting, 22 h over.
    assert [each.split("/")[2] for each in marks(page)] == [first.slug] * 2 + [second.slug] * 2
    waited.filter(corridor=second).update(since=NOW + DAY * 0.8)
    page = text(as_person(engineer).get(reverse("desks")))
    assert [each.split("/")[2] for each in marks(page)] == [second.slug] * 2 + [first.slug] * 2
    assert "4 past the promise" in page


def test_only_those_past_their_own_promise_are_late(two: Desks) -> None:
    first, second = two
    rows = several.by_promise(several.queries.awaiting(first, second), two)
    HoldPoint.objects.awaiting_release().update(since=NOW)
    assert several.late(rows, two, NOW + DAY / 2) == 2
    assert several.late(rows, two, NOW + 2 * DAY) == 4
    assert several.late(rows, two, NOW) == 0
    assert several.late(rows, (), NOW) == 0


@pytest.mark.parametrize(
    ("asked", "number"),
    [
        ({"corridor": "second-road"}, 2),
        ({"corridor": "alder-mesa"}, 2),
        ({"verdict": "refer"}, 1),
        ({"verdict": "clean"}, 3),
        ({"stage": "layout"}, 4),
        ({"stage": "pour"}, 0),
        ({"corridor": "alder-mesa", "verdict": "refer"}, 0),
    ],
)
def test_the_list_is_narrowed(two: Desks, as_person: Any, engineer: Person, asked: dict[str, str], number: int) -> None:
    page = text(as_person(engineer).get(reverse("desks"), asked))
    assert len(marks(page)) == number


def test_the_crews_of_all_are_named_with_their_corridor(two: Desks, as_person: Any, engineer: Person) -> None:
    crew = two[1].crews.get()
    page = text(as_person(engineer).get(reverse("desks")))
    assert "Crew 1, Second road" in page
    two[1].foundations.update(crew=None)
    two[1].foundations.filter(mark="LP-002").update(crew=crew)
    assert len(marks(text(as_person(engineer).get(reverse("desks"), {"crew": crew.pk})))) == 1


@pytest.mark.parametrize("asked", [{"corridor": "third-road"}, {"corridor": "\x00"}, {"crew": "x"}, {"page": "-3"}])
def test_what_is_asked_for_wrongly_shows_nothing_of_others(
    two: Desks, as_person: Any, engineer: Person, asked: dict[str, str]
) -> None:
    answer = as_person(engineer).get(reverse("desks"), asked)
    assert answer.status_code == 200
    assert len(marks(text(answer))) in {0, 4}


@pytest.mark.parametrize("role", Role.values)
def test_only_desks_that_the_person_reads_are_shown(two: Desks, as_person: Any, stranger: Person, role: str) -> None:
    """Foreman and auditor have no desk; the others read it, and only the engineer decides."""
    grant(two[1], stranger, role, two[1].crews.get() if role == "foreman" else None)
    page = text(as_person(stranger).get(reverse("desks")))
    if role in {"foreman", "auditor"}:
        assert marks(page) == [] and "You read no desk of a corridor." in page
    else:
        assert [each.split("/")[2] for each in marks(page)] == ["second-road"] * 2
        assert ("you read along" in page) is (role != "engineer")
    assert two[0].name not in page


def test_a_membership_that_is_over_opens_no_desk(two: Desks, as_person: Any, engineer: Person) -> None:
    Membership.objects.filter(person=engineer, corridor=two[1]).update(ends_on=NOW.date())
    page = text(as_person(engineer).get(reverse("desks")))
    assert {each.split("/")[2] for each in marks(page)} == {two[0].slug}
    assert two[1].name not in page


def test_a_stranger_is_asked_who_is_there_and_sees_no_corridor(two: Desks, as_person: Any, stranger: Person) -> None:
    assert Client().get(reverse("desks")).status_code == 302
    assert Client().post(reverse("desks")).status_code in {302, 405}
    page = text(as_person(stranger).get(reverse("desks")))
    assert marks(page) == [] and "No desk is open to you" in page


def test_the_number_of_queries_is_the_same_for_many_corridors_and_many_that_wait(
    two: Desks, as_person: Any, engineer: Person
) -> None:
    client = as_person(engineer)
    client.get(reverse("desks"))
    with CaptureQueriesContext(connection) as few:
        assert len(marks(text(client.get(reverse("desks"))))) == 4
    clean(two[0], *(f"LP-{number:03}" for number in range(20, 30)))
    third = whole_corridor("third-road")
    clean(third, "LP-001", "LP-002")
    with CaptureQueriesContext(connection) as many:
        assert len(marks(text(client.get(reverse("desks"))))) == 16
    assert len(many) == len(few)


def test_pages_of_the_list(two: Desks, as_person: Any, engineer: Person, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(several, "PAGE", 3)
    client = as_person(engineer)
    pages = [marks(text(client.get(reverse("desks"), {"page": number}))) for number in (1, 2)]
    assert [len(page) for page in pages] == [3, 1]
    assert len({*pages[0], *pages[1]}) == 4


def test_home_and_desk_lead_here(two: Desks, as_person: Any, engineer: Person) -> None:
    client = as_person(engineer)
    assert f'href="{reverse("desks")}"' in text(client.get(reverse("home")))
    assert f'href="{reverse("desks")}"' in text(client.get(reverse("desk:queue", args=[two[0].slug])))


def test_an_empty_corridor_says_that_nothing_waits(as_person: Any, engineer: Person, corridor: Corridor) -> None:
    open_corridor("third-road")
    bring_in(corridor, ["LP-009"])
    page = text(as_person(engineer).get(reverse("desks")))
    assert "Nothing waits for the engineer" in page
