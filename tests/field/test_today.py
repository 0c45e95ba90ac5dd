"""The first page of the phone: the inspector's list by time, the foreman's work, notices given and taken back."""

from collections.abc import Callable
from datetime import datetime, timedelta
from html import unescape
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from apps.corridor.models import Corridor, Crew, Foundation
from apps.holdpoints.models import HoldPoint, Notice
from apps.people.models import Person
from apps.record.ids import uuid7
from apps.record.models import Entry
from tests.factories.corridor import bring_in
from tests.factories.findings import decided, raised
from tests.factories.holdpoints import after, at_stage, attempt, give_notice, hold_point, send_back
from tests.factories.times import DAY, HOUR, NOW
from tests.field.conftest import inspect_url

pytestmark = pytest.mark.django_db
Stand = Callable[..., HoldPoint]


def text_of(answer: Any) -> str:
    """Return a page's text as a reader has it."""
    assert answer.status_code in {200, 409, 422}
    return unescape(answer.content.decode())


def tomorrow(corridor: Corridor, at: datetime = NOW) -> str:
    """Return the next day as the form's field has it."""
    return (corridor.day(at) + timedelta(days=1)).isoformat()


def noticed(corridor: Corridor, marks: list[str], **changed: Any) -> dict[str, Any]:
    """Return the fields of a notice for layout, tomorrow at 07:30."""
    fields = {"stage": "layout", "marks": marks, "day": tomorrow(corridor), "clock": "07:30", "note": "Gate at 110+00"}
    return fields | {"client_id": str(uuid7())} | changed


@pytest.fixture
def notice_url(corridor: Corridor) -> str:
    """Where notices are sent."""
    return reverse("field:notice", args=[corridor.slug])


@pytest.fixture
def three(corridor: Corridor, clock: Any) -> list[Foundation]:
    """LP-011 to LP-013, layout ready."""
    return bring_in(corridor, ["LP-011", "LP-012", "LP-013"])


# ---- the inspector's list


def test_notices_stand_by_time_and_the_first_is_gone_on_with(
    three: list[Foundation], as_person: Any, inspector: Person, today_url: str
) -> None:
    for foundation, hours in zip(three, (3, 1, 2), strict=True):
        give_notice(hold_point(foundation, "layout"), NOW, asked_for=NOW + hours * HOUR, note=f"in {hours} h")
    page = text_of(as_person(inspector).get(today_url))
    rows = page[page.index("Notices until tonight") :]
    assert rows.index("LP-012") < rows.index("LP-013") < rows.index("LP-011")
    assert "in 2 h" in rows
    here = page[page.index('class="here"') : page.index("Notices until tonight")]
    assert inspect_url(hold_point(three[1], "layout")) in here


def test_a_notice_past_the_promised_time_is_late(
    three: list[Foundation], as_person: Any, inspector: Person, today_url: str, clock: Any, corridor: Corridor
) -> None:
    give_notice(hold_point(three[0], "layout"), NOW, asked_for=NOW + HOUR)
    clock.move_to(NOW + HOUR * (1 + corridor.inspection_promise_hours))
    assert '<span class="when late">' not in text_of(as_person(inspector).get(today_url))
    clock.move_to(NOW + HOUR * (1 + corridor.inspection_promise_hours) + timedelta(minutes=1))
    page = text_of(as_person(inspector).get(today_url))
    assert '<span class="when late">' in page
    assert "1 late" in page


def test_a_notice_for_another_day_stands_apart(
    three: list[Foundation], as_person: Any, inspector: Person, today_url: str
) -> None:
    give_notice(hold_point(three[0], "layout"), NOW, asked_for=NOW + 2 * DAY)
    page = text_of(as_person(inspector).get(today_url))
    assert page.index("Nothing is asked for today") < page.index("Asked for later") < page.index("LP-011")


def test_a_returned_hold_point_stands_with_its_reason(
    foundation: Foundation, stand_at: Stand, as_person: Any, inspector: Person, today_url: str
) -> None:
    stand_at(foundation, "layout", "returned")
    page = text_of(as_person(inspector).get(today_url))
    assert "Returned: Show the tape" in page  # the reason in tests/factories/holdpoints.py, send_back()


def test_what_the_engineer_wants_to_see_stands_in_the_list_and_on_the_form_of_the_next_look(
    foundation: Foundation, as_person: Any, inspector: Person, today_url: str
) -> None:
    point = at_stage(foundation, "layout", "inspected")
    send_back(point, after(foundation), reason="The photo is dark.", show="The stake by day")
    client = as_person(inspector)
    assert "Returned: The photo is dark. Next time: The stake by day" in text_of(client.get(today_url))
    form = text_of(client.get(inspect_url(point)))
    assert "Show now:" in form and "The stake by day" in form


@pytest.mark.parametrize("role", ["engineer", "office", "auditor"])
def test_others_read_the_list_and_only_those_who_measure_get_the_form(
    three: list[Foundation], as_person: Any, today_url: str, request: Any, role: str
) -> None:
    point = give_notice(hold_point(three[0], "layout"), NOW)
    page = text_of(as_person(request.getfixturevalue(role)).get(today_url))
    assert "LP-011" in page
    assert (inspect_url(point) in page) == (role == "engineer")


def test_a_stranger_finds_no_field(stranger: Person, as_person: Any, today_url: str, notice_url: str) -> None:
    client = as_person(stranger)
    assert client.get(today_url).status_code == 404
    assert client.post(notice_url, {}).status_code == 404


@pytest.mark.parametrize("role", ["inspector", "foreman"])
def test_the_number_of_queries_does_not_grow_with_the_list(
    corridor: Corridor, clock: Any, as_person: Any, today_url: str, request: Any, role: str
) -> None:
    client, counts = as_person(request.getfixturevalue(role)), []
    for marks in (["LP-021", "LP-022"], [f"LP-0{number}" for number in range(31, 39)]):
        first, *others = bring_in(corridor, marks)
        at_stage(first, "layout", "returned")
        for foundation in others[::2]:
            give_notice(hold_point(foundation, "layout"), NOW)
        clock.move_to(after(first))
        client.get(today_url)  # the hour's renewal of the session is not counted
        with CaptureQueriesContext(connection) as caught:
            client.get(today_url)
        counts.append(len(caught))
    assert counts[0] == counts[1] <= 20


# ---- the foreman's page


def test_the_foreman_sees_the_reason_and_the_finding_of_what_came_back(
    foundation: Foundation, stand_at: Stand, as_person: Any, foreman: Person, today_url: str
) -> None:
    stand_at(foundation, "layout", "returned")
    finding = raised(foundation, stage="layout", grade="minor")
    page = text_of(as_person(foreman).get(today_url))
    assert "Show the tape" in page
    assert reverse("desk:finding", args=["alder-mesa", finding.number]) in page
    assert "work goes on" in page
    assert "Ready again" in page


def test_a_held_foundation_is_not_to_be_built(
    three: list[Foundation], as_person: Any, foreman: Person, today_url: str
) -> None:
    finding = raised(three[0], stage="layout", grade="critical")
    page = text_of(as_person(foreman).get(today_url))
    build = page[page.index("You may build") : page.index("Give notice <")]
    assert "2 in all" in build
    assert f"{finding.name}, critical, waits for a decision" in build
    assert 'value="LP-012"' in page
    assert 'value="LP-011"' not in page, "a locked foundation has no box to tick"


def test_the_work_of_another_crew_stands_apart(
    three: list[Foundation], as_person: Any, foreman: Person, today_url: str, corridor: Corridor
) -> None:
    three[0].crew = Crew.objects.create(corridor=corridor, name="Crew 2")
    three[0].save()
    page = text_of(as_person(foreman).get(today_url))
    build = page[page.index("You may build") : page.index("Give notice <")]
    assert "LP-011" not in build
    assert "LP-012" in build
    assert page.index("Of other crews, 1") < page.index('value="LP-011"')


def test_a_correction_to_report_leads_to_its_finding(
    three: list[Foundation], as_person: Any, foreman: Person, today_url: str
) -> None:
    todo = decided(raised(three[0], stage="layout"))
    kept = decided(raised(three[1], stage="layout"), kind="concession")
    page = text_of(as_person(foreman).get(today_url))
    corrections = page[page.index("Corrections to report") : page.index("You may build")]
    assert todo.name in corrections
    assert kept.name not in corrections, "what may stay needs no correction"


def test_the_stage_after_one_under_way_is_locked_with_its_reason(
    foundation: Foundation, stand_at: Stand, as_person: Any, foreman: Person, today_url: str
) -> None:
    stand_at(foundation, "layout", "inspected")
    page = text_of(as_person(foreman).get(f"{today_url}?stage=drill"))
    assert "Layout is not released: inspected, awaiting release." in page


def test_base_set_waits_for_the_concrete_in_the_gates_own_words(
    foundation: Foundation, clock: Any, as_person: Any, foreman: Person, today_url: str
) -> None:
    at_stage(foundation, "pour", "released")
    poured = attempt(hold_point(foundation, "pour")).looked_at
    clock.move_to(after(foundation))
    early = text_of(as_person(foreman).get(today_url))
    assert "set base" not in early[early.index("You may build") :]
    clock.move_to(poured + 6 * DAY)
    page = text_of(as_person(foreman).get(today_url))
    assert "at 7 d of cure" in page[page.index("You may build") :]
    assert ": set base" in page


# ---- notices


def test_each_ticked_foundation_gets_a_notice_and_an_entry_of_its_own(
    three: list[Foundation],
    as_person: Any,
    foreman: Person,
    notice_url: str,
    today_url: str,
    corridor: Corridor,
    crew: Crew,
) -> None:
    answer = as_person(foreman).post(notice_url, noticed(corridor, ["LP-011", "LP-013"]))
    assert (answer.status_code, answer.url) == (302, today_url)
    given = Notice.objects.order_by("hold_point__foundation__mark")
    assert [notice.hold_point.foundation.mark for notice in given] == ["LP-011", "LP-013"]
    assert {(notice.crew, notice.note, notice.given_by) for notice in given} == {(crew, "Gate at 110+00", foreman)}
    assert [f"{notice.asked_for.astimezone(corridor.zone):%H:%M}" for notice in given] == ["07:30", "07:30"]
    assert Entry.objects.of_log(corridor.pk).filter(act="give_notice").count() == 2
    assert hold_point(three[1], "layout").state == "ready"


def test_a_notice_shorter_than_agreed_says_so_and_none_is_proposed(
    three: list[Foundation], as_person: Any, foreman: Person, notice_url: str, today_url: str, corridor: Corridor
) -> None:
    """It is 8:00 in Denver; 24 h are agreed, so tomorrow at 8:00 is the first time."""
    corridor.notice_hours = 24
    corridor.save()
    client = as_person(foreman)
    page = client.get(today_url)
    assert (page.context["day"], page.context["clock"]) == (tomorrow(corridor), "08:00")
    answer = client.post(notice_url, noticed(corridor, ["LP-011"], clock="06:00"), follow=True)
    assert "That is 22 h ahead; 24 h are agreed: the inspector may not be there." in answer.content.decode()


def test_a_double_notice_is_one(
    three: list[Foundation], as_person: Any, foreman: Person, notice_url: str, corridor: Corridor
) -> None:
    client, fields = as_person(foreman), noticed(corridor, ["LP-011", "LP-012"])
    assert [client.post(notice_url, fields).status_code for _ in range(2)] == [302, 302]
    assert Notice.objects.count() == 2


def test_what_is_refused_stands_beside_its_foundation_and_the_rest_is_given(
    three: list[Foundation], as_person: Any, foreman: Person, notice_url: str, corridor: Corridor
) -> None:
    finding = raised(three[0], stage="layout", grade="critical")
    answer = as_person(foreman).post(notice_url, noticed(corridor, ["LP-011", "LP-012"]))
    assert answer.status_code == 409
    page = text_of(answer)
    assert f"LP-011</a>: {finding.name}, critical, waits for a decision" in page
    assert "Notice given: layout at LP-012" in page
    assert 'value="Gate at 110+00"' in page
    assert [notice.hold_point.foundation.mark for notice in Notice.objects.all()] == ["LP-012"]


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"day": "soon"}, "Choose a day and a time."),
        ({"clock": ""}, "Choose a day and a time."),
        ({"client_id": "7"}, "Choose a day and a time."),
        ({"marks": []}, "Tick at least one foundation."),
    ],
)
def test_a_notice_that_lacks_something_keeps_the_rest(
    three: list[Foundation],
    as_person: Any,
    foreman: Person,
    notice_url: str,
    corridor: Corridor,
    changed: dict[str, Any],
    said: str,
) -> None:
    answer = as_person(foreman).post(notice_url, noticed(corridor, ["LP-012"]) | changed)
    assert answer.status_code == 422
    page = text_of(answer)
    assert said in page
    assert 'value="Gate at 110+00"' in page
    assert ('value="LP-012" checked' in page) == bool(changed.get("marks", True))
    assert not Notice.objects.exists()


def test_a_notice_for_the_past_is_refused(
    three: list[Foundation], as_person: Any, foreman: Person, notice_url: str, corridor: Corridor
) -> None:
    fields = noticed(corridor, ["LP-011"], day=corridor.day(NOW).isoformat(), clock="06:00")
    assert "lies in the past" in text_of(as_person(foreman).post(notice_url, fields))


def test_a_mark_or_stage_that_does_not_exist_is_told(
    three: list[Foundation], as_person: Any, foreman: Person, notice_url: str, corridor: Corridor
) -> None:
    page = text_of(as_person(foreman).post(notice_url, noticed(corridor, ["LP-999"], stage="paint")))
    assert "LP-999</a>: There is no such hold point here." in page


def test_the_auditor_gives_no_notice(
    three: list[Foundation], as_person: Any, auditor: Person, notice_url: str, corridor: Corridor
) -> None:
    assert as_person(auditor).post(notice_url, noticed(corridor, ["LP-011"])).status_code == 403
    assert not Notice.objects.exists()


def test_a_notice_is_taken_back(
    three: list[Foundation], as_person: Any, foreman: Person, today_url: str, corridor: Corridor
) -> None:
    point, client = give_notice(hold_point(three[0], "layout"), NOW), as_person(foreman)
    url = reverse("field:withdraw", args=[corridor.slug])
    assert url in text_of(client.get(today_url))
    fields = {"mark": point.foundation.mark, "stage": point.stage, "client_id": str(uuid7())}
    assert [client.post(url, fields).status_code for _ in range(2)] == [302, 302]
    assert hold_point(three[0], "layout").state == "ready"
    assert Entry.objects.of_log(corridor.pk).filter(act="withdraw_notice").count() == 1


def test_nobody_withdraws_what_is_not_notified(
    three: list[Foundation], as_person: Any, foreman: Person, corridor: Corridor
) -> None:
    url = reverse("field:withdraw", args=[corridor.slug])
    fields = {"mark": "LP-011", "stage": "layout", "client_id": str(uuid7())}
    page = text_of(as_person(foreman).post(url, fields, follow=True))
    assert "withdraw notice is not possible" in page
