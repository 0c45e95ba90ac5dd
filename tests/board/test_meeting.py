"""The meeting's pages: follow-ups given and ended, minutes read from the record, flagged things one at a time."""

import re
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from apps.board import queries
from apps.board.meeting.followups import due_first
from apps.board.meeting.items import items
from apps.corridor.models import Corridor, Foundation
from apps.followups import acts
from apps.followups.models import FollowUp
from apps.people.models import Person
from apps.record.ids import uuid7
from tests.factories.corridor import bring_in
from tests.factories.findings import raised
from tests.factories.followups import added
from tests.factories.holdpoints import at_stage, hold_point, release
from tests.factories.times import DAY, HOUR, NOW

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _now(clock: Any) -> None:
    clock.move_to(NOW + HOUR)


def page(client: Any, corridor: Corridor, name: str, *more: Any, **query: str) -> str:
    answer = client.get(reverse(f"board:{name}", args=[corridor.slug, *more]), query)
    assert answer.status_code == 200
    return str(answer.content.decode())


def send(client: Any, corridor: Corridor, name: str, *more: Any, **said: Any) -> Any:
    return client.post(reverse(f"board:{name}", args=[corridor.slug, *more]), {"client_id": uuid7(), **said})


def filled(to: Person, **more: Any) -> dict[str, Any]:
    return {"text": "Bring the gauge", "owner": to.pk, "due_on": "2026-03-05", "mark": ""} | more


# ---- given


def test_one_is_added_about_a_foundation_or_a_finding(
    as_person: Any, foundation: Foundation, office: Person, inspector: Person
) -> None:
    corridor, client = foundation.corridor, as_person(office)
    raised(foundation)
    for about in ("lp-001", " F-001 ", ""):
        assert send(client, corridor, "add_follow_up", **filled(inspector, mark=about)).status_code == 302
    rows = [(row.foundation, getattr(row.finding, "name", "")) for row in FollowUp.objects.order_by("number")]
    assert rows == [(foundation, ""), (foundation, "F-001"), (None, "")]
    listed = page(client, corridor, "follow_ups")
    assert 'data-count="3"' in listed and "D. Reyes, until" in listed


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"text": ""}, "This field is required"),
        ({"due_on": "soon"}, "Enter a valid date"),
        ({"mark": "LP-999"}, "LP-999 is no foundation and no finding"),
        ({"mark": "F-99"}, "F-99 is no foundation and no finding"),
        ({"owner": "0"}, "Select a valid choice"),
    ],
)
def test_wrong_input_is_said_and_nothing_is_lost(
    as_person: Any, foundation: Foundation, office: Person, inspector: Person, wrong: dict[str, Any], said: str
) -> None:
    answer = send(as_person(office), foundation.corridor, "add_follow_up", **filled(inspector, **wrong))
    assert answer.status_code == 422
    text = answer.content.decode()
    assert said in text
    assert "text" in wrong or "Bring the gauge" in text
    assert not FollowUp.objects.exists()


def test_a_refused_one_keeps_what_was_typed(
    as_person: Any, corridor: Corridor, office: Person, inspector: Person
) -> None:
    answer = send(as_person(office), corridor, "add_follow_up", **filled(inspector, due_on="2026-03-01"))
    assert answer.status_code == 409
    assert "lies in the past" in answer.content.decode() and "Bring the gauge" in answer.content.decode()


def test_who_only_reads_sees_no_form_and_is_refused(
    as_person: Any, corridor: Corridor, auditor: Person, inspector: Person
) -> None:
    client = as_person(auditor)
    assert "Add a follow-up" not in page(client, corridor, "follow_ups")
    assert send(client, corridor, "add_follow_up", **filled(inspector)).status_code == 409
    assert not FollowUp.objects.exists()


def test_the_way_back_is_never_another_site(
    as_person: Any, corridor: Corridor, office: Person, inspector: Person
) -> None:
    client, own = as_person(office), reverse("board:morning", args=[corridor.slug])
    listed = reverse("board:follow_ups", args=[corridor.slug])
    for asked, led in (
        (own, own),
        ("https://elsewhere.example/", listed),
        ("//elsewhere.example", listed),
        ("", listed),
    ):
        assert send(client, corridor, "add_follow_up", **filled(inspector), next=asked)["Location"] == led


def test_the_form_knows_what_it_is_asked_about(as_person: Any, foundation: Foundation, office: Person) -> None:
    text = page(as_person(office), foundation.corridor, "follow_ups", about="LP-001")
    assert 'value="LP-001"' in text
    own = as_person(office).get(reverse("board:foundation", args=[foundation.corridor.slug, "LP-001"]))
    assert f"{reverse('board:follow_ups', args=[foundation.corridor.slug])}?about=LP-001" in own.content.decode()


# ---- ended


def test_its_owner_says_that_it_is_done(as_person: Any, corridor: Corridor, inspector: Person) -> None:
    row, client = added(corridor, inspector), as_person(inspector)
    text = page(client, corridor, "follow_ups")
    assert "<b>You</b>" in text and "Drop it" not in text
    assert send(client, corridor, "end_follow_up", row.number, move="done", how="It is here").status_code == 302
    row.refresh_from_db()
    assert (row.state, row.ended_how) == ("done", "It is here")
    again = send(client, corridor, "end_follow_up", row.number, move="done", how="It is here")
    assert again.status_code == 409 and "done already" in again.content.decode()


def test_dropping_it_is_not_the_owners(as_person: Any, corridor: Corridor, inspector: Person, office: Person) -> None:
    row = added(corridor, inspector)
    assert (
        send(as_person(inspector), corridor, "end_follow_up", row.number, move="drop", how="No need").status_code == 409
    )
    assert send(as_person(office), corridor, "end_follow_up", row.number, move="drop", how="No need").status_code == 302
    row.refresh_from_db()
    assert row.state == "dropped"


def test_another_day(as_person: Any, corridor: Corridor, inspector: Person, office: Person) -> None:
    row, client = added(corridor, inspector), as_person(office)
    wrong = send(client, corridor, "postpone_follow_up", row.number, due_on="", how="Closed")
    assert wrong.status_code == 422 and 'value="Closed"' in wrong.content.decode()
    sent = send(client, corridor, "postpone_follow_up", row.number, due_on="2026-03-20", how="Closed")
    assert sent.status_code == 302
    row.refresh_from_db()
    assert row.due_on.isoformat() == "2026-03-20"


def test_a_list_of_forty_asks_as_much_as_a_list_of_two(as_person: Any, foundation: Foundation, office: Person) -> None:
    corridor, client, counts = foundation.corridor, as_person(office), []
    raised(foundation)
    for number in (2, 38):
        for _ in range(number):
            added(corridor, office, foundation=foundation)
        with CaptureQueriesContext(connection) as asked:
            page(client, corridor, "follow_ups")
        counts.append(len(asked))
    assert counts[0] == counts[1] <= 10


def test_the_sheet_shows_those_due_first_and_is_new_after_one(
    as_person: Any, corridor: Corridor, office: Person, inspector: Person
) -> None:
    bring_in(corridor, ["LP-001"])
    client, address = as_person(office), reverse("board:morning", args=[corridor.slug])
    tag = client.get(address)["ETag"]
    added(corridor, inspector, text="Bring the gauge")
    answer = client.get(address, headers={"If-None-Match": tag})
    assert answer.status_code == 200 and "Bring the gauge" in answer.content.decode()
    assert "1 to do" in answer.content.decode()


def test_beyond_what_is_shown_the_numbers_hold_and_ones_own_stand_first(
    as_person: Any, corridor: Corridor, office: Person, inspector: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("apps.board.meeting.followups.MOST", 3)
    bring_in(corridor, ["LP-001"])
    for _ in range(5):
        added(corridor, inspector, text="Bring the gauge")
    added(corridor, office, days=9, text="Ask the mill")
    client = as_person(office)
    text = page(client, corridor, "follow_ups")
    assert re.findall(r'<li id="follow-up-(\d)">', text) == ["6", "1", "2"]
    assert 'data-count="6"' in text and "1 is yours" in text and "3 are shown" in text
    assert "6 to do" in client.get(reverse("board:morning", args=[corridor.slug])).content.decode()


def test_the_sheet_asks_once_for_three_and_for_all_their_number(
    corridor: Corridor, office: Person, django_assert_num_queries: Any
) -> None:
    with django_assert_num_queries(1):
        none = due_first(corridor)
    assert (none.rows, none.count) == ([], 0)
    for days in (3, 1, 2, 9, 8):
        added(corridor, office, days=days)
    with django_assert_num_queries(1):
        due = due_first(corridor)
    assert ([row.number for row in due.rows], due.count) == ([2, 3, 1], 5)


# ---- minutes


def test_minutes_begin_with_the_last_working_morning(
    as_person: Any, corridor: Corridor, office: Person, inspector: Person, clock: Any
) -> None:
    """What was done on the Friday before a Monday stands in its minutes, what was done on the Tuesday does not."""
    one, two = bring_in(corridor, ["LP-001", "LP-002"])
    release(at_stage(one, "layout", "inspected"), NOW + 2 * HOUR)
    added(corridor, inspector, at=NOW + 3 * DAY, text="Bring the gauge")
    clock.move_to(NOW + 6 * DAY)
    text = page(as_person(office), corridor, "minutes")
    assert "Fri 6 Mar to Mon 9 Mar 2026" in " ".join(re.sub(r"<[^>]+>", "", text).split())
    assert "Bring the gauge" in text and "Layout released" not in text
    text = page(as_person(office), corridor, "minutes", first="2026-03-03", last="2026-03-03")
    assert "Layout released" in text and "Bring the gauge" not in text
    assert two.mark not in text


def test_a_line_of_the_minutes_leads_to_its_row(
    as_person: Any, foundation: Foundation, office: Person, inspector: Person
) -> None:
    corridor = foundation.corridor
    added(corridor, inspector, text="Bring the gauge")
    raised(foundation)
    client = as_person(office)
    text = page(client, corridor, "minutes")
    own = re.findall(r'<a href="([^"]+)">([^<]+(?:Bring the gauge|Casing left in the hole))</a>', text)
    assert [address for address, _ in own] == [
        f"{reverse('board:follow_ups', args=[corridor.slug])}#follow-up-1",
        reverse("desk:finding", args=[corridor.slug, 1]),
    ]
    for address, _ in own:
        assert client.get(address).status_code == 200


def test_minutes_of_a_day_past_show_what_was_to_do_then(
    as_person: Any, corridor: Corridor, office: Person, clock: Any
) -> None:
    done, late = (added(corridor, office, days=days, text=text) for days, text in ((1, "Ask the mill"), (0, "Pump")))
    at = NOW + 3 * DAY
    acts.finish_follow_up(follow_up=done, how="It came", by=office, at=at, client_id=uuid7())
    clock.move_to(at + HOUR)
    day = corridor.day(NOW + DAY).isoformat()
    then = page(as_person(office), corridor, "minutes", first=day, last=day)
    todo = then.split('id="detail-2"')[0]
    assert "Ask the mill" in todo and "Pump" in todo
    assert todo.count("late</span>") == 1  # the one of the day itself is due, not late
    now = page(as_person(office), corridor, "minutes").split('id="detail-2"')[0]
    assert "Ask the mill" not in now and "Pump" in now
    assert late.is_open


def test_minutes_of_days_that_make_no_sense(as_person: Any, corridor: Corridor, office: Person) -> None:
    client = as_person(office)
    assert "The span ends before it begins" in page(client, corridor, "minutes", first="2026-03-05", last="2026-03-02")
    assert "Enter a valid date" in page(client, corridor, "minutes", first="x", last="2026-03-02")


# ---- flagged


def flagged(corridor: Corridor, at: Any) -> list[tuple[str, str]]:
    fresh = Corridor.objects.select_related("edition", "tally").get(pk=corridor.pk)
    return [(each.kind, each.title) for each in items(queries.morning(fresh, at), fresh, at)]


def test_what_holds_work_comes_first_then_what_is_late(corridor: Corridor, inspector: Person) -> None:
    one, two, three = bring_in(corridor, ["LP-001", "LP-002", "LP-003"])
    at_stage(one, "layout", "inspected")
    raised(two, stage="layout", grade="critical")
    raised(three, stage="layout", grade="minor")
    added(corridor, inspector, days=2)
    assert flagged(corridor, NOW + HOUR) == [("A critical finding holds work", "F-001 at LP-002")]
    assert flagged(corridor, NOW + 30 * DAY) == [
        ("A critical finding holds work", "F-001 at LP-002"),
        ("A release is late", "LP-001 layout"),
        ("A finding waits too long", "F-002 LP-003"),
        ("A follow-up is late", "Follow-up 1"),
    ]


def test_critical_stands_before_major_and_the_older_before_the_newer(corridor: Corridor) -> None:
    one, two, three = bring_in(corridor, ["LP-001", "LP-002", "LP-003"])
    raised(one, stage="layout", grade="major")
    raised(two, stage="layout", grade="critical", at=NOW + timedelta(minutes=5))
    raised(three, stage="layout", grade="critical", at=NOW + timedelta(minutes=9))
    titles = [title for _, title in flagged(corridor, NOW + HOUR)]
    assert titles == ["F-002 at LP-002", "F-003 at LP-003", "F-001 at LP-001"]


def test_an_instrument_past_its_day_is_flagged(corridor: Corridor) -> None:
    bring_in(corridor, ["LP-001"])
    wrench = corridor.instruments.get(name="TW-00")
    past = wrench.calibrated_until + timedelta(days=1)
    assert flagged(corridor, corridor.day_begins(past))[-1] == ("An instrument is past its calibration", "TW-00")
    assert flagged(corridor, corridor.day_ends(past - timedelta(days=1))) == []


def test_stepping_goes_from_the_first_to_the_last_without_scripts(
    as_person: Any, corridor: Corridor, office: Person
) -> None:
    for foundation in bring_in(corridor, ["LP-001", "LP-002", "LP-003"]):
        raised(foundation, stage="layout")
    client, seen, address = as_person(office), [], reverse("board:item", args=[corridor.slug, 1])
    while address:
        text = client.get(address).content.decode()
        seen.append(re.findall(r"F-\d+ at LP-\d+", text)[0])
        assert f'name="mark" value="{seen[-1][:5]}"' in text  # the form is about it
        following = re.search(r'rel="next" href="([^"]+)"', text)
        address = following[1] if following else ""
    assert seen == ["F-001 at LP-001", "F-002 at LP-002", "F-003 at LP-003"]
    assert client.get(reverse("board:item", args=[corridor.slug, 4]))["Location"].endswith("/morning/items/3/")
    assert client.get(reverse("board:item", args=[corridor.slug, 0])).status_code == 404


def test_nothing_flagged_is_a_page_too(as_person: Any, corridor: Corridor, office: Person) -> None:
    foundation = bring_in(corridor, ["LP-001"])[0]
    assert hold_point(foundation, "layout").state == "ready"
    assert "Nothing is flagged" in page(as_person(office), corridor, "item", 1)


# ---- what it costs


@pytest.mark.parametrize("name", ["item", "minutes"])
def test_thirty_flagged_ask_as_much_as_three(as_person: Any, corridor: Corridor, office: Person, name: str) -> None:
    client, counts, given = as_person(office), [], [1] if name == "item" else []
    marks = [f"LP-{number:03}" for number in range(1, 34)]
    foundations = bring_in(corridor, marks)
    for some in (foundations[:3], foundations[3:]):
        for foundation in some:
            added(corridor, office, foundation=foundation, finding=raised(foundation, stage="layout"))
        with CaptureQueriesContext(connection) as asked:
            page(client, corridor, name, *given)
        counts.append(len(asked))
    assert counts[0] == counts[1]
