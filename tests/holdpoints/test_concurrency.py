"""Two at once: real threads with connections of their own, on both databases. One wins, the other is told what happened."""

from collections.abc import Callable
from threading import Barrier, Thread
from typing import Any

import pytest
from django.db import connections

from apps.corridor import acts as corridor_acts
from apps.corridor.models import Corridor, Foundation
from apps.findings.models import Finding
from apps.followups import acts as follow_up_acts
from apps.followups.models import FollowUp
from apps.holdpoints import acts, clean, recount
from apps.holdpoints.models import Decision, Inspection
from apps.people.models import Person
from apps.record.acts import Refused
from apps.record.ids import uuid7
from apps.record.models import Entry, Head
from tests.factories import corridor as corridors
from tests.factories import findings as steps
from tests.factories.followups import added
from tests.factories.holdpoints import (
    after,
    answers_that_conform,
    at_stage,
    attempt,
    give_notice,
    hold_point,
    nonconforming_at,
    photos_for,
    requirements,
)
from tests.factories.people import administrator, person
from tests.factories.times import HOUR, NOW

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def foundation() -> Foundation:
    """LP-001 in a corridor whose rows are committed, so that every thread sees them."""
    return corridors.light_pole(corridors.whole_corridor())


def at_once(*calls: Callable[[], Any]) -> list[Any]:
    """Start calls together, each in a thread with its own connection; return each answer, or the exception that ended it."""
    ready, found = Barrier(len(calls)), [None] * len(calls)

    def run(place: int) -> None:
        try:
            ready.wait(10)
            found[place] = calls[place]()
        except Exception as fault:  # whatever it is, the test wants to see it
            found[place] = fault
        finally:
            connections.close_all()

    threads = [Thread(target=run, args=(place,)) for place in range(len(calls))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    assert not any(thread.is_alive() for thread in threads)
    return found


def sound(corridor: Corridor) -> None:
    """The record has no gap, its head is its last entry, and the counts agree with the rows."""
    numbers = list(Entry.objects.of_log(corridor.pk).values_list("sequence", flat=True))
    assert numbers == list(range(1, len(numbers) + 1))
    assert Head.objects.get(log=corridor.pk).size == len(numbers)
    assert recount.differences(Corridor.objects.get(pk=corridor.pk)) == []


def split(found: list[Any]) -> tuple[list[dict[str, Any]], list[Refused]]:
    """Return the answers and the refusals; any other exception is a fault of ours."""
    unexpected = [each for each in found if not isinstance(each, dict | Refused)]
    assert not unexpected
    return [each for each in found if isinstance(each, dict)], [each for each in found if isinstance(each, Refused)]


def test_two_engineers_release_one_attempt_and_one_of_them_does(foundation: Foundation) -> None:
    point = at_stage(foundation, "layout", "inspected")
    kept, at = attempt(point), after(foundation)

    def release(by: Person) -> dict[str, Any]:
        return acts.release(hold_point=point, inspection=kept, by=by, at=at, client_id=uuid7())

    done, refused = split(at_once(lambda: release(person("r.halvorsen")), lambda: release(person("s.okafor"))))
    assert (len(done), len(refused)) == (1, 1)
    decision = Decision.objects.get()
    assert done[0]["decision"] == str(decision.pk)
    assert str(refused[0]).startswith("LP-001, layout is released since ")
    assert f"by {decision.by}" in str(refused[0])
    assert hold_point(foundation, "drill").state == "ready"
    sound(foundation.corridor)


def test_two_engineers_sign_for_the_same_clean_one_and_one_of_them_releases_it(foundation: Foundation) -> None:
    point = at_stage(foundation, "layout", "inspected")
    kept, at = attempt(point), after(foundation)
    both = (person("r.halvorsen"), person("s.okafor"))
    for by in both:
        clean.note_opened(by, kept, at)

    def release(by: Person) -> dict[str, Any]:
        return acts.release_clean(hold_point=point, inspection=kept, by=by, at=at, client_id=uuid7())

    done, refused = split(at_once(lambda: release(both[0]), lambda: release(both[1])))
    assert (len(done), len(refused)) == (1, 1)
    assert str(refused[0]).startswith("LP-001, layout is released since ")
    sound(foundation.corridor)


def test_one_releases_while_another_returns(foundation: Foundation) -> None:
    point = at_stage(foundation, "layout", "inspected")
    kept, at = attempt(point), after(foundation)
    common = {"hold_point": point, "inspection": kept, "at": at}
    one, two = person("r.halvorsen"), person("s.okafor")
    done, refused = split(
        at_once(
            lambda: acts.release(by=one, client_id=uuid7(), **common),
            lambda: acts.return_inspection(by=two, reason="Show the tape", client_id=uuid7(), **common),
        )
    )
    assert (len(done), len(refused)) == (1, 1)
    assert hold_point(foundation, "layout").state in {"released", "returned"}
    assert Decision.objects.count() == 1
    sound(foundation.corridor)


def test_a_submission_that_arrives_twice_at_once_is_one_inspection(foundation: Foundation) -> None:
    point = at_stage(foundation, "layout", "notified")
    by, at, client_id = person("d.reyes"), after(foundation), uuid7()
    answers = answers_that_conform(point)

    def send() -> dict[str, Any]:
        return acts.submit_inspection(
            hold_point=point,
            answers=answers,
            photos=photos_for(point),
            by=by,
            at=at,
            client_id=client_id,
            looked_at=at,
        )

    done, refused = split(at_once(send, send, send))
    assert not refused
    assert done[0] == done[1] == done[2]
    assert done[0]["inspection"] == str(Inspection.objects.get().pk)
    sound(foundation.corridor)


def test_two_inspectors_send_at_once_and_one_attempt_is_kept(foundation: Foundation) -> None:
    point = at_stage(foundation, "layout", "notified")
    at, answers = after(foundation), answers_that_conform(point)

    def send(by: Person) -> dict[str, Any]:
        return acts.submit_inspection(
            hold_point=point, answers=answers, photos=photos_for(point), by=by, at=at, client_id=uuid7(), looked_at=at
        )

    done, refused = split(at_once(lambda: send(person("d.reyes")), lambda: send(person("a.whitlock"))))
    assert (len(done), len(refused)) == (1, 1)
    assert "inspected, awaiting release" in str(refused[0])
    assert Inspection.objects.count() == 1
    sound(foundation.corridor)


def test_findings_raised_at_once_get_numbers_of_their_own(foundation: Foundation) -> None:
    others = corridors.bring_in(foundation.corridor, ["LP-002", "LP-003", "LP-004"])
    at_once(*(lambda each=each: steps.raised(each, "layout", "minor") for each in (foundation, *others)))
    assert sorted(Finding.objects.values_list("number", flat=True)) == [1, 2, 3, 4]
    sound(foundation.corridor)


def test_work_at_many_foundations_at_once_leaves_one_record(foundation: Foundation) -> None:
    others = corridors.bring_in(foundation.corridor, ["LP-002", "LP-003", "LP-004"])
    points = [hold_point(each, "layout") for each in (foundation, *others)]
    done = at_once(*(lambda point=point: give_notice(point, NOW) for point in points))
    assert [each.state for each in done] == ["notified"] * 4
    sound(foundation.corridor)


def test_a_finding_and_a_release_at_once_end_in_one_order(foundation: Foundation) -> None:
    point = at_stage(foundation, "layout", "inspected")
    kept, at, engineer = attempt(point), after(foundation), person("r.halvorsen")
    found = at_once(
        lambda: acts.release(hold_point=point, inspection=kept, by=engineer, at=at, client_id=uuid7()),
        lambda: steps.raised(foundation, "layout", "critical", at),
    )
    assert isinstance(found[1], Finding)
    order = list(
        Entry.objects.of_log(foundation.corridor_id)
        .filter(act__in=["release", "raise_finding"])
        .values_list("act", flat=True)
    )
    # A release after the finding must have been refused; one before it stands.
    assert order == (["raise_finding"] if isinstance(found[0], Refused) else ["release", "raise_finding"])
    sound(foundation.corridor)


def test_the_same_nonconforming_reading_sent_by_two_raises_one_finding(foundation: Foundation) -> None:
    point = at_stage(foundation, "layout", "notified")
    _, answers = nonconforming_at(point, "critical")
    at = after(foundation)
    assert len(answers) == len(requirements(point))

    def send(by: Person) -> dict[str, Any]:
        return acts.submit_inspection(
            hold_point=point, answers=answers, photos=photos_for(point), by=by, at=at, client_id=uuid7(), looked_at=at
        )

    split(at_once(lambda: send(person("d.reyes")), lambda: send(person("a.whitlock"))))
    assert Finding.objects.count() == 1
    sound(foundation.corridor)


def test_two_crews_of_one_name_are_not_made(foundation: Foundation) -> None:
    corridor, by = foundation.corridor, administrator()

    def add() -> dict[str, Any]:
        return corridor_acts.add_crew(corridor=corridor, name="Crew 2", by=by, at=NOW + HOUR, client_id=uuid7())

    done, refused = split(at_once(add, add))
    assert (len(done), len(refused)) == (1, 1)
    assert corridor.crews.filter(name="Crew 2").count() == 1
    sound(corridor)


def test_two_follow_ups_added_at_once_get_two_numbers(foundation: Foundation) -> None:
    corridor = foundation.corridor
    owner, office, at = person("d.reyes"), corridors.member(corridor, "office"), after(foundation)

    def add(text: str) -> dict[str, Any]:
        return follow_up_acts.add_follow_up(
            corridor=corridor, text=text, owner=owner, due_on=corridor.day(at), by=office, at=at, client_id=uuid7()
        )

    done, refused = split(at_once(*(lambda text=text: add(text) for text in ("Gauge", "Pump", "Lights"))))  # type: ignore[misc]
    assert refused == []
    assert sorted(each["follow_up"] for each in done) == [1, 2, 3]
    assert FollowUp.objects.count() == 3
    sound(corridor)


def test_a_follow_up_done_and_dropped_at_once_ends_once(foundation: Foundation) -> None:
    corridor = foundation.corridor
    row, office, at = added(corridor, person("d.reyes")), corridors.member(corridor, "office"), after(foundation)
    common: dict[str, Any] = {"follow_up": row, "at": at}
    done, refused = split(
        at_once(
            lambda: follow_up_acts.finish_follow_up(how="It is here", by=row.owner, client_id=uuid7(), **common),
            lambda: follow_up_acts.drop_follow_up(reason="No need", by=office, client_id=uuid7(), **common),
        )
    )
    assert (len(done), len(refused)) == (1, 1)
    assert "already" in str(refused[0])
    ended = FollowUp.objects.get()
    assert ended.ended_how == {"done": "It is here", "dropped": "No need"}[ended.state]
    sound(corridor)
