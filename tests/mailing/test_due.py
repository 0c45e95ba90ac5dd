"""What the clock makes due: once for each promise that passed, whenever and however often it is looked at."""

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

import pytest

from apps.corridor.models import Corridor, Foundation
from apps.holdpoints import acts
from apps.holdpoints.models import Condition
from apps.mailing import due, kinds
from apps.mailing.models import Letter
from apps.people.models import Person
from apps.record.ids import uuid7
from tests.factories import findings
from tests.factories.holdpoints import attempt, give_notice, hold_point, inspect
from tests.factories.times import DAY, HOUR, NOW

pytestmark = pytest.mark.django_db
Look = Callable[[datetime], None]
WAITING_SINCE = NOW + 2 * HOUR
"""Tuesday 10:00 in the corridor, whose promise is 24 h."""


@pytest.fixture
def waiting(foundation: Foundation) -> Any:
    return inspect(give_notice(hold_point(foundation, "layout"), NOW + HOUR), WAITING_SINCE)


class TestALateRelease:
    def test_it_is_late_after_the_promise_not_at_it(self, waiting: Any, pass_minute: Look, box: Any) -> None:
        pass_minute(WAITING_SINCE)
        box("p.lindqvist")
        pass_minute(WAITING_SINCE + DAY)
        assert box("p.lindqvist") == []
        pass_minute(WAITING_SINCE + DAY + timedelta(minutes=1))
        (mail,) = box("p.lindqvist")
        assert mail.subject.startswith("LP-001 layout: a release is overdue")
        assert "over the promised 24 h" in mail.body

    def test_it_is_told_once_an_attempt_to_engineers_and_office(
        self, waiting: Any, pass_minute: Look, box: Any
    ) -> None:
        pass_minute(WAITING_SINCE)
        box("r.halvorsen")
        for day in (1, 2, 3):
            pass_minute(WAITING_SINCE + day * DAY + HOUR)
        counts = {name: len(box(name)) for name in ("r.halvorsen", "s.okafor", "p.lindqvist", "d.reyes", "j.brandt")}
        assert counts == {"r.halvorsen": 1, "s.okafor": 2, "p.lindqvist": 1, "d.reyes": 0, "j.brandt": 0}


class TestALateFinding:
    @pytest.mark.parametrize(
        ("state", "told"),
        [
            ("open", {"r.halvorsen", "s.okafor", "p.lindqvist"}),
            ("decided", {"j.brandt", "p.lindqvist"}),
            ("answered", {"d.reyes", "a.whitlock", "p.lindqvist"}),
            ("verified", {"r.halvorsen", "s.okafor", "p.lindqvist"}),
            ("closed", set()),
        ],
    )
    def test_whoever_it_waits_for_is_told(
        self, foundation: Foundation, state: str, told: set[str], pass_minute: Look, box: Any
    ) -> None:
        finding = findings.in_state(foundation, state)
        last = datetime.combine(finding.due_on, datetime.min.time(), foundation.corridor.zone)
        pass_minute(last + 23 * HOUR)
        assert not Letter.objects.filter(kind=kinds.FINDING_LATE).exists()
        pass_minute(last + 24 * HOUR + 9 * HOUR)
        assert set(Letter.objects.values_list("person__username", flat=True).filter(kind=kinds.FINDING_LATE)) == told
        for name in told:
            (mail,) = box(name)
            assert mail.subject.startswith("F-001 LP-001: a finding is overdue")


class TestACondition:
    @pytest.fixture
    def condition(self, waiting: Any, engineer: Person, corridor: Corridor) -> Condition:
        acts.release_with_condition(
            hold_point=waiting,
            inspection=attempt(waiting),
            condition="Coat the bolts",
            owner="Crew 1",
            due_on=corridor.day(NOW + 3 * DAY),
            by=engineer,
            at=NOW + 3 * HOUR,
            client_id=uuid7(),
        )
        return Condition.objects.get()

    def test_it_is_told_on_its_day(self, condition: Condition, pass_minute: Look, box: Any) -> None:
        pass_minute(NOW + 2 * DAY)
        assert not Letter.objects.filter(kind=kinds.CONDITION_DUE).exists()
        pass_minute(NOW + 3 * DAY)
        pass_minute(NOW + 4 * DAY)
        for name in ("r.halvorsen", "j.brandt", "p.lindqvist"):
            (mail,) = box(name)
            assert "LP-001 layout, condition: Coat the bolts. Crew 1 sees to it" in mail.body
        assert box("s.okafor") + box("d.reyes") == []

    def test_one_that_is_met_is_not(self, condition: Condition, office: Person, pass_minute: Look, box: Any) -> None:
        acts.meet_condition(condition=condition, how="Seen", by=office, at=NOW + DAY, client_id=uuid7())
        pass_minute(NOW + 3 * DAY)
        assert not Letter.objects.filter(kind=kinds.CONDITION_DUE).exists()


def test_a_look_at_which_nothing_is_new_writes_nothing_and_costs_the_same(
    waiting: Any, foundation: Foundation, django_assert_num_queries: Any
) -> None:
    findings.raised(foundation)
    at = NOW + 30 * DAY
    assert due.find(at) > 0
    with django_assert_num_queries(5):
        assert due.find(at) == 0
