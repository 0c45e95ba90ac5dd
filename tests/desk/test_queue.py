"""The queue: order, what must be judged, filters, evidence beside it, and clean ones released together."""

import re
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from apps.corridor.models import Corridor, Foundation
from apps.desk.queries import awaiting as attempts_awaiting
from apps.desk.queries import queue
from apps.desk.views import FIRST, PAGE
from apps.holdpoints.models import Decision, HoldPoint, Opened
from apps.people.models import Person
from apps.record.ids import uuid7
from apps.record.models import Entry
from apps.sheet.standing import standings
from tests.desk.doing import PASSWORD, address, awaiting, clean, referring, signs, size, text
from tests.factories import findings, materials
from tests.factories.corridor import bring_in, grant, light_pole, whole_corridor
from tests.factories.doing import standing
from tests.factories.holdpoints import (
    at_stage,
    attempt,
    give_notice,
    hold_point,
    inspect,
    release,
    send_back,
)
from tests.factories.people import person
from tests.factories.times import DAY, HOUR, NOW

pytestmark = pytest.mark.django_db


def desk(corridor: Corridor, **asked: str) -> str:
    """Return the address of the queue, narrowed."""
    return reverse("desk:queue", args=[corridor.slug], query=asked or None)


def waiting_marks(answer: Any) -> list[str]:
    """Return the marks of the queue in its order."""
    return [each.point.foundation.mark for each in answer.context["waiting"]]


def test_the_longest_waiting_stands_first_with_its_evidence(
    as_person: Any, corridor: Corridor, engineer: Person
) -> None:
    second, first = bring_in(corridor, ["LP-001", "LP-002"])
    give_notice(hold_point(second, "layout"), NOW)
    awaiting(first)
    inspect(hold_point(second, "layout"), NOW + 9 * HOUR)
    answer = as_person(engineer).get(desk(corridor))
    assert waiting_marks(answer) == ["LP-002", "LP-001"]
    assert answer.context["chosen"].foundation == first
    follows = address(hold_point(first, "layout"))
    assert f'hx-get="{follows}" hx-trigger="load"' in text(answer) and "Open its evidence" in text(answer)
    assert "18 of 18 conform, nothing is missing." in text(as_person(engineer).get(follows))


def test_ages_are_late_past_the_promise(as_person: Any, corridor: Corridor, engineer: Person, clock: Any) -> None:
    point = awaiting(bring_in(corridor, ["LP-001"])[0])
    clock.move_to(point.since + timedelta(hours=24))
    assert as_person(engineer).get(desk(corridor)).context["late"] == 0
    clock.move_to(point.since + timedelta(hours=24, minutes=1))
    answer = as_person(engineer).get(desk(corridor))
    assert answer.context["late"] == 1 and "1 past the promise" in text(answer)


def test_the_queue_says_what_must_be_judged(as_person: Any, foundation: Foundation, engineer: Person) -> None:
    referring(foundation)
    page = text(as_person(engineer).get(desk(foundation.corridor)))
    assert "1 reading refers to you" in page


def test_every_member_reads_the_desk_and_only_the_engineer_gets_a_form(
    as_person: Any, foundation: Foundation, engineer: Person
) -> None:
    point = awaiting(foundation)
    for username in ("d.reyes", "j.brandt", "p.lindqvist", "e.marsh"):
        assert "LP-001" in text(as_person(person(username)).get(desk(foundation.corridor)))
        page = text(as_person(person(username)).get(address(point)))
        assert "18 of 18 conform" in page
        assert 'type="password"' not in page
    assert 'type="password"' in text(as_person(engineer).get(address(point)))


def test_an_empty_desk_says_so(as_person: Any, corridor: Corridor, engineer: Person) -> None:
    answer = as_person(engineer).get(desk(corridor))
    assert answer.status_code == 200 and "Nothing waits for the engineer" in text(answer)


def test_a_hold_point_that_nobody_inspected_says_so(as_person: Any, foundation: Foundation, engineer: Person) -> None:
    answer = as_person(engineer).get(address(hold_point(foundation, "drill")))
    assert answer.status_code == 200 and "Nobody has inspected it yet" in text(answer)


def test_a_decided_hold_point_shows_its_evidence_and_no_form(
    as_person: Any, foundation: Foundation, engineer: Person
) -> None:
    point = at_stage(foundation, "layout", "released")
    page = text(as_person(engineer).get(address(point)))
    assert "<b>Released</b>" in page and 'name="decision"' not in page


@pytest.mark.parametrize("place", ["LP-999/layout", "LP-001/roof", "LP-001/LAYOUT"])
def test_an_unknown_mark_or_stage_is_not_found(
    place: str, as_person: Any, foundation: Foundation, engineer: Person
) -> None:
    assert as_person(engineer).get(f"{desk(foundation.corridor)}{place}/").status_code == 404


def test_htmx_gets_the_evidence_and_the_queue_without_the_frame(
    as_person: Any, foundation: Foundation, engineer: Person
) -> None:
    point, client = awaiting(foundation), as_person(engineer)
    asked = {"HX-Request": "true", "HX-Target": "evidence"}
    part = text(client.get(address(point), headers=asked))
    assert "<html" not in part and "18 of 18 conform" in part and 'hx-swap-oob="true"' in part
    back = client.get(address(point), headers=asked | {"HX-History-Restore-Request": "true"})
    assert "<html" in text(back)
    assert "<html" in text(client.get(address(point)))


def test_a_clock_that_is_off_by_more_than_five_minutes_is_shown(
    as_person: Any, corridor: Corridor, engineer: Person
) -> None:
    near, far = bring_in(corridor, ["LP-001", "LP-002"])
    for foundation, minutes in ((near, 5), (far, 6)):
        point = give_notice(hold_point(foundation, "layout"), NOW)
        inspect(point, NOW + HOUR, looked_at=NOW + HOUR - timedelta(minutes=minutes))
    client = as_person(engineer)
    assert "apart" not in text(client.get(address(hold_point(near, "layout"))))
    assert "6 min" in text(client.get(address(hold_point(far, "layout"))))


def test_what_was_typed_is_shown_as_typed(as_person: Any, foundation: Foundation, engineer: Person) -> None:
    point = give_notice(hold_point(foundation, "layout"), NOW)
    inspect(point, NOW + HOUR, note="<b>Mud</b> at the stake")
    page = text(as_person(engineer).get(address(hold_point(foundation, "layout"))))
    assert "&lt;b&gt;Mud&lt;/b&gt; at the stake" in page
    for row in attempt(point).measurements.all():
        assert row.title.replace("'", "&#x27;") in page


def test_earlier_attempts_and_their_decisions_stand_beside(
    as_person: Any, foundation: Foundation, engineer: Person
) -> None:
    point = send_back(awaiting(foundation), NOW + 4 * HOUR, by=engineer, reason="Photo of the stake is dark")
    inspect(give_notice(point, NOW + 5 * HOUR), NOW + 6 * HOUR)
    page = text(as_person(engineer).get(address(point)))
    assert "Layout, attempt 1, returned by R. Halvorsen, PE: Photo of the stake is dark" in page
    assert "second attempt" in page


# ---- filters


def test_filters_narrow_by_stage_crew_and_verdict(as_person: Any, corridor: Corridor, engineer: Person) -> None:
    first, second, third = bring_in(corridor, ["LP-001", "LP-002", "LP-003"])
    awaiting(first)
    awaiting(second, "drill")
    referring(third)
    client, crew = as_person(engineer), corridor.crews.get()
    assert waiting_marks(client.get(desk(corridor, stage="drill"))) == ["LP-002"]
    assert waiting_marks(client.get(desk(corridor, verdict="refer"))) == ["LP-003"]
    assert sorted(waiting_marks(client.get(desk(corridor, verdict="clean")))) == ["LP-001", "LP-002"]
    assert waiting_marks(client.get(desk(corridor, verdict="nonconforming"))) == []
    assert len(waiting_marks(client.get(desk(corridor, crew=str(crew.pk))))) == 3
    page = text(client.get(desk(corridor, stage="drill")))
    assert f"{address(hold_point(second, 'drill'))}?stage=drill" in page


@pytest.mark.parametrize(
    "asked", [{"stage": "roof"}, {"crew": "x"}, {"crew": str(uuid7())}, {"verdict": "' or 1=1"}, {"stage": "\x00"}]
)
def test_a_filter_that_cannot_be_read_hides_no_work(
    asked: dict[str, str], as_person: Any, foundation: Foundation, engineer: Person
) -> None:
    awaiting(foundation)
    answer = as_person(engineer).get(desk(foundation.corridor, **asked))
    assert answer.status_code == 200
    assert waiting_marks(answer) == ["LP-001"]
    assert answer.context["filter"].form.errors


def test_the_crews_of_another_corridor_are_not_offered(as_person: Any, corridor: Corridor, engineer: Person) -> None:
    other = whole_corridor("other-road")
    answer = as_person(engineer).get(desk(corridor, crew=str(other.crews.get().pk)))
    assert "crew" in answer.context["filter"].form.errors


# ---- how much a page costs


def queries_with(client: Any, url: str) -> int:
    with CaptureQueriesContext(connection) as counted:
        assert client.get(url).status_code == 200
    return len(counted)


def test_the_queue_costs_the_same_with_2_and_with_40(as_person: Any, corridor: Corridor, engineer: Person) -> None:
    client = as_person(engineer)
    foundations = bring_in(corridor, [f"LP-{number:03d}" for number in range(1, 41)])
    for foundation in foundations[:2]:
        inspect(give_notice(hold_point(foundation, "layout"), NOW), NOW + HOUR)
    shown = address(hold_point(foundations[0], "layout"))
    client.get(desk(corridor))
    client.get(shown)
    two, beside = queries_with(client, desk(corridor)), queries_with(client, shown)
    for foundation in foundations[2:]:
        inspect(give_notice(hold_point(foundation, "layout"), NOW), NOW + HOUR)
    answer = client.get(desk(corridor))
    assert answer.context["total"] == 40 and len(waiting_marks(answer)) == FIRST
    whole = client.get(desk(corridor, page="2", whole="1"))
    assert len(waiting_marks(whole)) == 15
    assert queries_with(client, desk(corridor)) == two <= 10
    assert queries_with(client, shown) == beside <= 35


# ---- the rest of a page


@pytest.fixture
def thirty(corridor: Corridor) -> list[HoldPoint]:
    """Thirty that wait: a page and five more."""
    return clean(corridor, *(f"LP-{number:03d}" for number in range(1, 31)))


def test_the_bare_queue_brings_the_first_and_a_link_to_the_rest(
    as_person: Any, corridor: Corridor, engineer: Person, thirty: list[HoldPoint]
) -> None:
    client = as_person(engineer)
    page = text(client.get(desk(corridor)))
    assert page.count('id="wait-') == FIRST
    assert f'<a href="?whole=1">{PAGE - FIRST} more</a>' in page
    whole = client.get(desk(corridor, whole="1"))
    assert text(whole).count('id="wait-') == PAGE and "more</a>" not in text(whole)
    assert waiting_marks(whole)[:FIRST] == waiting_marks(client.get(desk(corridor)))


def test_the_rest_follows_with_the_first_ones_evidence(
    as_person: Any, corridor: Corridor, engineer: Person, thirty: list[HoldPoint]
) -> None:
    """What htmx asks for as soon as the page stands swaps the whole queue and what may be released together."""
    client = as_person(engineer)
    page = text(client.get(desk(corridor)))
    follows = re.search(r'id="evidence"[^>]*hx-get="([^"]+)"', page)
    assert follows is not None
    part = text(client.get(follows[1], headers={"HX-Request": "true", "HX-Target": "evidence"}))
    assert part.count('id="wait-') == PAGE
    assert '<nav class="detail" id="queue"' in part and part.count('hx-swap-oob="true"') == 2
    assert "Clean ones" in part


def test_the_rest_keeps_how_the_queue_is_narrowed(
    as_person: Any, corridor: Corridor, engineer: Person, thirty: list[HoldPoint]
) -> None:
    client = as_person(engineer)
    page = text(client.get(desk(corridor, stage="layout")))
    assert f'<a href="?whole=1&amp;stage=layout">{PAGE - FIRST} more</a>' in page
    whole = text(client.get(desk(corridor, stage="layout", whole="1")))
    assert (
        "/layout/?stage=layout#evidence" in whole and "whole=1" not in re.findall(r'href="([^"]*)#evidence"', whole)[0]
    )


def test_a_lines_address_is_that_of_its_hold_point(
    as_person: Any, corridor: Corridor, engineer: Person, thirty: list[HoldPoint]
) -> None:
    page = text(as_person(engineer).get(desk(corridor, whole="1")))
    listed = re.findall(r'id="wait-[^"]+" href="([^"#]+)#evidence"', page)
    assert len(listed) == PAGE
    assert set(listed) <= {address(point) for point in thirty}


def test_the_form_that_narrows_follows_when_it_is_asked_for(
    as_person: Any, corridor: Corridor, engineer: Person, thirty: list[HoldPoint]
) -> None:
    client = as_person(engineer)
    bare = text(client.get(desk(corridor)))
    assert 'name="stage"' not in bare and f'href="{desk(corridor)}?narrow=1"' in bare
    assert 'name="stage"' in text(client.get(desk(corridor, narrow="1")))
    part = text(client.get(desk(corridor, narrow="1"), headers={"HX-Request": "true", "HX-Target": "narrowing"}))
    assert part.strip().startswith('<div class="narrowing" id="narrowing">') and "<html" not in part
    assert 'name="stage"' in text(client.get(desk(corridor, stage="layout")))


def test_what_waits_stands_as_its_glyph_says_elsewhere(corridor: Corridor, thirty: list[HoldPoint]) -> None:
    """The queue takes from the order of work what other pages read stage by stage."""
    awaiting(bring_in(corridor, ["LP-050"])[0], "drill")
    awaiting(bring_in(corridor, ["LP-051"])[0], "pour")
    flagged = awaiting(bring_in(corridor, ["LP-052"])[0], "cage")
    findings.raised(flagged.foundation, stage="cage", grade="major")
    lines = queue(list(attempts_awaiting(corridor)))
    assert len(lines) == 33
    assert {line.point.foundation_id: line.standing for line in lines} == standings(
        [line.point.foundation for line in lines]
    )


# ---- together


def send_together(client: Any, corridor: Corridor, points: list[HoldPoint], *, seen: bool = True, **more: Any) -> Any:
    """Release attempts together, after looking at the evidence of each."""
    for point in points if seen else []:
        client.get(address(point))
    sent = {
        "client_id": str(uuid7()),
        "inspections": [str(attempt(point).pk) for point in points],
        "password": PASSWORD,
        **more,
    }
    return client.post(reverse("desk:together", args=[corridor.slug]), sent, follow=True)


def test_clean_ones_are_released_each_with_its_own_entry(as_person: Any, corridor: Corridor, signing: Person) -> None:
    points = clean(corridor, "LP-001", "LP-002", "LP-003")
    before, client = size(corridor), as_person(signing)
    assert reverse("desk:together", args=[corridor.slug]) in text(client.get(desk(corridor)))
    page = text(client.get(reverse("desk:together", args=[corridor.slug])))
    assert page.count('type="checkbox" name="inspections"') == 3
    assert "checked" not in page
    assert attempt(points[0]).tightest.replace(": ", ", ", 1) in page
    answer = send_together(client, corridor, points[:2])
    for given in Decision.objects.all():
        assert f"{given.inspection.hold_point} is released, entry {given.entry}." in text(answer)
    assert Decision.objects.count() == 2 and size(corridor) == before + 2
    assert hold_point(points[2].foundation, "layout").state == "inspected"


def test_sent_twice_together_is_once(as_person: Any, corridor: Corridor, signing: Person) -> None:
    points, client = clean(corridor, "LP-001", "LP-002"), as_person(signing)
    one = str(uuid7())
    send_together(client, corridor, points, client_id=one)
    entries = size(corridor)
    answer = send_together(client, corridor, points, client_id=one)
    assert text(answer).count("is released, entry") == 2
    assert size(corridor) == entries


def test_a_wrong_password_releases_none_and_keeps_the_ticks(
    as_person: Any, corridor: Corridor, signing: Person
) -> None:
    points = clean(corridor, "LP-001", "LP-002")
    answer = send_together(as_person(signing), corridor, points[:1], password="guess")
    assert answer.status_code == 422
    assert "This is not your password" in text(answer)
    assert f'value="{attempt(points[0]).pk}" checked' in text(answer)
    assert f'value="{attempt(points[1]).pk}" checked' not in text(answer)
    assert not Decision.objects.exists()


def test_one_that_was_decided_meanwhile_is_named_and_the_others_go_through(
    as_person: Any, corridor: Corridor, second_engineer: Person, signing: Person
) -> None:
    points = clean(corridor, "LP-001", "LP-002")
    release(points[0], NOW + 5 * HOUR, by=second_engineer)
    page = text(send_together(as_person(signing), corridor, points))
    assert "by S. Okafor, PE" in page
    assert "LP-002, layout is released" in page
    assert Decision.objects.get(inspection=attempt(points[0])).by == second_engineer


def test_what_is_not_clean_is_neither_listed_nor_released(as_person: Any, corridor: Corridor, signing: Person) -> None:
    refers, again, flagged, own = bring_in(corridor, ["LP-001", "LP-002", "LP-003", "LP-004"])
    points = [referring(refers)]
    returned = send_back(awaiting(again), NOW + 4 * HOUR)
    points.append(inspect(give_notice(returned, NOW + 5 * HOUR), NOW + 6 * HOUR))
    points.append(awaiting(flagged))
    findings.raised(flagged, stage="layout", grade="minor", at=NOW + 8 * HOUR)
    grant(corridor, signing, "inspector")
    points.append(inspect(give_notice(hold_point(own, "layout"), NOW), NOW + HOUR, by=signing))
    client = as_person(signing)
    assert client.get(desk(corridor)).context["clean"] == []
    page = text(send_together(client, corridor, points))
    assert "1 reading refers to the engineer." in page
    assert "It is attempt 2: see what changed." in page
    assert "F-001 is open at its foundation." in page
    assert "another engineer decides on it" in page
    assert not Decision.objects.exclude(kind="return").exists()


def test_what_was_not_opened_today_is_not_released_with_others(
    as_person: Any, corridor: Corridor, signing: Person, second_engineer: Person, clock: Any
) -> None:
    seen, unseen, others, yesterday = clean(corridor, "LP-001", "LP-002", "LP-003", "LP-004")
    client, url = as_person(signing), reverse("desk:together", args=[corridor.slug])
    client.get(address(yesterday))
    clock.move_to(NOW + 3 * DAY)
    client = as_person(signing)  # a session does not last that long
    client.get(address(seen))
    as_person(second_engineer).get(address(others))
    client = as_person(signing)
    page = text(client.get(url))
    assert page.count("opened 08:00") == 1 and page.count("open it</a> first") == 3
    assert page.count('name="inspections"') == 4 and page.count(" disabled>") == 3
    page = text(send_together(client, corridor, [seen, unseen, others, yesterday], seen=False))
    assert page.count("you have not opened its evidence today") == 3
    assert "LP-001, layout is released" in page
    entry = Entry.objects.get(act="release", mark="LP-001", payload__stage="layout")
    assert entry.payload["opened_at"] == (NOW + 3 * DAY).isoformat(timespec="microseconds")


def test_reading_along_opens_nothing_and_a_decided_attempt_is_not_noted(
    as_person: Any, corridor: Corridor, office: Person, engineer: Person
) -> None:
    (point,) = clean(corridor, "LP-001")
    as_person(office).get(address(point))
    release(point, NOW + 5 * HOUR)
    as_person(engineer).get(address(point))
    assert not Opened.objects.exists()


@pytest.mark.parametrize("username", ["d.reyes", "j.brandt", "p.lindqvist", "e.marsh"])
def test_nobody_but_the_engineer_releases_together(username: str, as_person: Any, corridor: Corridor) -> None:
    points = clean(corridor, "LP-001")
    client, before = as_person(signs(person(username))), standing(corridor)
    assert "This is for the resident engineer" in text(send_together(client, corridor, points))
    assert standing(corridor) == before


@pytest.mark.parametrize("ticked", [[], ["x"], ["00000000-0000-7000-8000-000000000000"]])
def test_a_tick_that_is_none_releases_nothing(
    ticked: list[str], as_person: Any, corridor: Corridor, signing: Person
) -> None:
    clean(corridor, "LP-001")
    answer = send_together(as_person(signing), corridor, [], inspections=ticked)
    assert answer.status_code == 422
    assert not Decision.objects.exists()


def test_an_attempt_of_another_corridor_is_not_released_here(
    as_person: Any, corridor: Corridor, signing: Person
) -> None:
    elsewhere = awaiting(light_pole(whole_corridor("other-road")))
    answer = send_together(as_person(signing), corridor, [elsewhere])
    assert answer.status_code == 422
    assert not Decision.objects.exists()


# ---- a load that was found wanting elsewhere


def test_concrete_of_a_load_with_an_open_finding_is_named_and_not_clean(
    as_person: Any, corridor: Corridor, engineer: Person, clock: Any
) -> None:
    poor, near = bring_in(corridor, ["LP-001", "LP-002"])
    point = awaiting(near, "pour")
    at_stage(poor, "pour", "inspected")
    load = materials.load(poor, near, at=point.since, ticket="T-77")
    test = materials.strength(load, 1500, 7, point.since + 7 * DAY)
    assert test.finding is not None
    clock.move_to(point.since + 8 * DAY)
    answer = as_person(engineer).get(desk(corridor))
    elsewhere = next(each for each in answer.context["waiting"] if each.point.foundation != test.finding.foundation)
    assert elsewhere.shared == (f"load T-77 also in {test.finding.foundation.mark} ({test.finding.name})",)
    assert not elsewhere.clean
