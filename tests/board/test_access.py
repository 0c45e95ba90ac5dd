"""Who may open the board's pages and do what stands on them."""

from typing import Any

import pytest
from django.urls import reverse

from apps.corridor.models import Corridor, Foundation
from apps.people.models import Person
from apps.record.ids import uuid7
from apps.record.models import Head
from tests.factories.corridor import member
from tests.factories.doing import standing
from tests.factories.holdpoints import at_stage, hold_point
from tests.factories.people import person

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clock")]
PAGES = ("board:morning", "board:forecast", "board:charts", "board:time_location", "board:corridor")
READERS = ("d.reyes", "r.halvorsen", "j.brandt", "p.lindqvist", "e.marsh")


@pytest.mark.parametrize("page", PAGES)
def test_a_stranger_gets_404_as_if_there_were_no_such_corridor(
    page: str, as_person: Any, corridor: Corridor, stranger: Person
) -> None:
    client = as_person(stranger)
    assert client.get(reverse(page, args=[corridor.slug])).status_code == 404
    assert client.get(reverse(page, args=["no-such-road"])).status_code == 404


def test_a_stranger_gets_404_for_a_foundation(as_person: Any, foundation: Foundation, stranger: Person) -> None:
    url = reverse("board:foundation", args=[foundation.corridor.slug, foundation.mark])
    assert as_person(stranger).get(url).status_code == 404


def test_an_unknown_mark_is_404(as_person: Any, foundation: Foundation, office: Person) -> None:
    url = reverse("board:foundation", args=[foundation.corridor.slug, "LP-999"])
    assert as_person(office).get(url).status_code == 404


@pytest.mark.parametrize("page", PAGES)
def test_nobody_reads_without_signing_in(page: str, client: Any, corridor: Corridor) -> None:
    answer = client.get(reverse(page, args=[corridor.slug]))
    assert answer.status_code == 302 and reverse("account_login") in answer["Location"]


@pytest.mark.parametrize("username", READERS)
def test_every_member_reads_every_page(username: str, as_person: Any, foundation: Foundation) -> None:
    client, slug = as_person(person(username)), foundation.corridor.slug
    for page in PAGES:
        assert client.get(reverse(page, args=[slug])).status_code == 200
    assert client.get(reverse("board:foundation", args=[slug, foundation.mark])).status_code == 200


def test_home_goes_to_the_only_corridor(as_person: Any, corridor: Corridor, office: Person) -> None:
    answer = as_person(office).get(reverse("home"))
    assert answer["Location"] == reverse("board:morning", args=[corridor.slug])


@pytest.mark.parametrize("role", ["inspector", "foreman"])
def test_home_of_who_works_at_the_roadside_is_the_field(as_person: Any, corridor: Corridor, role: str) -> None:
    answer = as_person(member(corridor, role)).get(reverse("home"))
    assert answer["Location"] == reverse("field:today", args=[corridor.slug])


def test_home_says_what_to_do_where_there_is_no_corridor(as_person: Any, stranger: Person) -> None:
    answer = as_person(stranger).get(reverse("home"))
    assert answer.status_code == 200
    assert b"administrator" in answer.content.lower()


def test_home_leads_an_administrator_to_all_corridors(as_person: Any, admin: Person) -> None:
    assert as_person(admin).get(reverse("home"))["Location"] == reverse("installation:overview")


# ---- reopen


def reopening(
    foundation: Foundation, stage: str = "layout", reason: str = "Stake struck by a truck"
) -> tuple[str, Any]:
    """Return address and form of a reopening."""
    url = reverse("board:reopen", args=[foundation.corridor.slug, foundation.mark])
    return url, {"client_id": str(uuid7()), "stage": stage, "reason": reason}


@pytest.mark.parametrize("username", ["d.reyes", "r.halvorsen"])
def test_inspector_and_engineer_reopen_with_a_reason(username: str, as_person: Any, foundation: Foundation) -> None:
    at_stage(foundation, "layout", "released")
    url, form = reopening(foundation)
    answer = as_person(person(username)).post(url, form)
    assert answer.status_code == 302
    assert hold_point(foundation, "layout").state == "reopened"


@pytest.mark.parametrize("username", ["j.brandt", "p.lindqvist", "e.marsh"])
def test_nobody_else_reopens_and_nothing_changes(username: str, as_person: Any, foundation: Foundation) -> None:
    at_stage(foundation, "layout", "released")
    before = standing(foundation.corridor)
    url, form = reopening(foundation)
    answer = as_person(person(username)).post(url, form)
    assert answer.status_code in {403, 409}
    assert "you are not that today" in answer.content.decode()
    assert standing(foundation.corridor) == before


def test_a_stranger_does_not_reopen(as_person: Any, foundation: Foundation, stranger: Person) -> None:
    at_stage(foundation, "layout", "released")
    before = standing(foundation.corridor)
    url, form = reopening(foundation)
    assert as_person(stranger).post(url, form).status_code == 404
    assert standing(foundation.corridor) == before


def test_reopening_without_a_reason_says_so_beside_the_field(
    as_person: Any, foundation: Foundation, engineer: Person
) -> None:
    at_stage(foundation, "layout", "released")
    url, form = reopening(foundation, reason=" ")
    answer = as_person(engineer).post(url, form)
    assert answer.status_code == 422
    assert "_reason_error" in answer.content.decode()
    assert hold_point(foundation, "layout").state == "released"


def test_reopening_what_is_not_released_keeps_the_words_typed(
    as_person: Any, foundation: Foundation, engineer: Person
) -> None:
    url, form = reopening(foundation, reason="A bolt struck by the excavator")
    answer = as_person(engineer).post(url, form)
    assert answer.status_code in {409, 422}
    assert "A bolt struck by the excavator" in answer.content.decode()


def test_the_same_reopening_twice_is_one(as_person: Any, foundation: Foundation, engineer: Person) -> None:
    at_stage(foundation, "layout", "released")
    url, form = reopening(foundation)
    client = as_person(engineer)
    assert client.post(url, form).status_code == 302
    size = Head.objects.get(log=foundation.corridor_id).size
    assert client.post(url, form).status_code == 302
    assert Head.objects.get(log=foundation.corridor_id).size == size


# ---- abandon


def giving_up(foundation: Foundation, **more: str) -> tuple[str, Any]:
    """Return address and form of an abandoning."""
    url = reverse("board:abandon", args=[foundation.corridor.slug, foundation.mark])
    return url, {"client_id": str(uuid7()), "reason": "Rock at 3 ft", "mark": "", "station": "", **more}


def test_the_engineer_abandons_and_the_two_name_each_other(
    as_person: Any, foundation: Foundation, engineer: Person
) -> None:
    client, slug = as_person(engineer), foundation.corridor.slug
    url, form = giving_up(foundation, mark="LP-001A", station="105+32.00")
    assert client.post(url, form).status_code == 302
    old = client.get(reverse("board:foundation", args=[slug, "LP-001"])).content.decode()
    new = client.get(reverse("board:foundation", args=[slug, "LP-001A"])).content.decode()
    assert "Rock at 3 ft" in old
    assert reverse("board:foundation", args=[slug, "LP-001A"]) in old
    assert reverse("board:foundation", args=[slug, "LP-001"]) + '"' in new


@pytest.mark.parametrize("username", ["d.reyes", "j.brandt", "p.lindqvist", "e.marsh"])
def test_nobody_but_the_engineer_abandons(username: str, as_person: Any, foundation: Foundation) -> None:
    before = standing(foundation.corridor)
    url, form = giving_up(foundation)
    answer = as_person(person(username)).post(url, form)
    assert answer.status_code in {403, 409}
    assert "you are not that today" in answer.content.decode()
    assert standing(foundation.corridor) == before


def test_a_successor_off_the_alignment_is_refused_with_everything_kept(
    as_person: Any, foundation: Foundation, engineer: Person
) -> None:
    before = standing(foundation.corridor)
    url, form = giving_up(foundation, mark="LP-001A", station="999+00.00")
    answer = as_person(engineer).post(url, form)
    page = answer.content.decode()
    assert answer.status_code in {409, 422}
    assert "Rock at 3 ft" in page and "999+00.00" in page and "LP-001A" in page
    assert standing(foundation.corridor) == before
