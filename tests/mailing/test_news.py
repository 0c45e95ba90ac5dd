"""What happened is told once, to those whom it concerns, when it is still so; what failed is not told."""

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

import pytest
from django.db import transaction

from apps.corridor.models import Corridor, Crew, Foundation
from apps.followups.acts import finish_follow_up
from apps.mailing import kinds, news
from apps.mailing.models import Bookmark, Letter
from apps.people.models import Person
from apps.record.acts import Refused
from apps.record.ids import uuid7
from apps.record.models import Head
from tests.factories import findings
from tests.factories.corridor import grant, light_pole
from tests.factories.followups import added
from tests.factories.holdpoints import (
    after,
    at_stage,
    give_notice,
    hold_point,
    inspect,
    nonconforming_at,
    release,
    send_back,
)
from tests.factories.people import person
from tests.factories.times import DAY, HOUR, NOW

pytestmark = pytest.mark.django_db
Look = Callable[[datetime], None]


def inspected(foundation: Foundation) -> Any:
    """Layout inspected at NOW + 2 h, 10:00 in the corridor."""
    return inspect(give_notice(hold_point(foundation, "layout"), NOW + HOUR), NOW + 2 * HOUR)


class TestAReleaseWaits:
    def test_the_engineers_are_told_where_it_is(self, foundation: Foundation, pass_minute: Look, box: Any) -> None:
        inspected(foundation)
        pass_minute(NOW + 2 * HOUR)
        for name in ("r.halvorsen", "s.okafor"):
            (mail,) = box(name)
            assert mail.subject == "LP-001 layout: a release waits (Alder Mesa Parkway lighting)"
            assert "http://localhost:8000/c/alder-mesa/desk/LP-001/layout/" in mail.body
            assert "Attempt 1 by D. Reyes" in mail.body
        assert box("d.reyes") + box("j.brandt") + box("p.lindqvist") + box("e.marsh") == []

    def test_several_are_one_mail(self, corridor: Corridor, pass_minute: Look, box: Any) -> None:
        for mark in ("LP-001", "LP-002", "LP-003"):
            inspected(light_pole(corridor, mark))
        pass_minute(NOW + 3 * HOUR)
        (mail,) = box("r.halvorsen")
        assert mail.subject.startswith("3 hold points wait for your release")
        assert all(f"{mark} layout: waits" in mail.body for mark in ("LP-001", "LP-002", "LP-003"))

    def test_what_was_released_meanwhile_is_not_told(self, foundation: Foundation, pass_minute: Look, box: Any) -> None:
        release(inspected(foundation), NOW + 3 * HOUR)
        pass_minute(NOW + 3 * HOUR)
        assert box("r.halvorsen") == []
        told = Letter.objects.filter(kind=kinds.RELEASE_WAITS)
        assert set(told.values_list("state", "why")) == {("dropped", "No longer so, or nothing to tell.")}

    def test_an_inspector_who_is_engineer_too_is_not_told_of_their_own(
        self, foundation: Foundation, inspector: Person, pass_minute: Look, box: Any
    ) -> None:
        grant(foundation.corridor, inspector, "engineer")
        inspected(foundation)
        pass_minute(NOW + 2 * HOUR)
        assert box("d.reyes") == []
        assert len(box("r.halvorsen")) == 1


class TestAReturn:
    def test_who_inspected_and_the_foreman_read_the_reason(
        self, foundation: Foundation, pass_minute: Look, box: Any
    ) -> None:
        point = inspected(foundation)
        pass_minute(NOW + 2 * HOUR)
        send_back(point, NOW + 3 * HOUR, reason="Show the tape at the south")
        pass_minute(NOW + 3 * HOUR)
        for name in ("d.reyes", "j.brandt"):
            (mail,) = box(name)
            assert mail.subject.startswith("LP-001 layout: an inspection is returned")
            assert "by R. Halvorsen, PE: Show the tape at the south" in mail.body
            assert "/c/alder-mesa/foundations/LP-001/" in mail.body
        assert box("a.whitlock") == []

    def test_the_foreman_of_another_crew_is_not_told(self, foundation: Foundation, pass_minute: Look, box: Any) -> None:
        grant(
            foundation.corridor,
            person("m.ortega"),
            "foreman",
            Crew.objects.create(corridor=foundation.corridor, name="Crew 2"),
        )
        send_back(inspected(foundation), NOW + 3 * HOUR)
        pass_minute(NOW + 3 * HOUR)
        assert (len(box("j.brandt")), box("m.ortega")) == (1, [])


class TestFindings:
    def test_one_raised_by_a_reading_goes_to_engineers_and_foreman(
        self, foundation: Foundation, pass_minute: Look, box: Any
    ) -> None:
        point = give_notice(hold_point(foundation, "layout"), NOW + HOUR)
        _, answers = nonconforming_at(point, "major")
        inspect(point, NOW + 2 * HOUR, answers)
        pass_minute(NOW + 2 * HOUR)
        (mail,) = box("j.brandt")
        assert mail.subject.startswith("F-001 LP-001: a finding is raised or reopened")
        assert "/c/alder-mesa/findings/1/" in mail.body
        assert {each.subject.split(":")[0] for each in box("r.halvorsen")} == {"F-001 LP-001", "LP-001 layout"}
        assert box("d.reyes") == []

    def test_a_decision_goes_to_the_foreman_and_who_raised_it(
        self, foundation: Foundation, pass_minute: Look, box: Any
    ) -> None:
        finding = findings.raised(foundation)
        pass_minute(NOW)
        box("j.brandt")
        findings.decided(finding)
        pass_minute(NOW + HOUR)
        for name in ("j.brandt", "d.reyes"):
            (mail,) = box(name)
            assert mail.subject.startswith("F-001 LP-001: a finding is decided")
        assert len(box("r.halvorsen")) == 1  # the engineer read of the raising, not of the own decision

    def test_a_correction_sent_back_is_told_like_a_decision(
        self, foundation: Foundation, inspector: Person, pass_minute: Look, box: Any
    ) -> None:
        from apps.findings import acts
        from apps.record.ids import uuid7

        finding = findings.in_state(foundation, "answered")
        at = finding.since + HOUR
        pass_minute(finding.since)
        box("j.brandt")
        acts.refuse_correction(finding=finding, reading="Still there", by=inspector, at=at, client_id=uuid7())
        pass_minute(at)
        assert [mail.subject.split(" (")[0] for mail in box("j.brandt")] == ["F-001 LP-001: a finding is decided"]


class TestOnce:
    def test_looking_again_tells_nothing_again(self, foundation: Foundation, pass_minute: Look, box: Any) -> None:
        inspected(foundation)
        for step in range(3):
            pass_minute(NOW + 2 * HOUR + timedelta(minutes=step))
        assert len(box("r.halvorsen")) == 1

    def test_a_lost_bookmark_tells_nothing_again(self, foundation: Foundation, pass_minute: Look, box: Any) -> None:
        inspected(foundation)
        pass_minute(NOW + 2 * HOUR)
        Bookmark.objects.all().delete()
        pass_minute(NOW + 2 * HOUR)
        assert len(box("r.halvorsen")) == 1

    def test_a_second_attempt_is_told_again(self, foundation: Foundation, pass_minute: Look, box: Any) -> None:
        point = inspected(foundation)
        pass_minute(NOW + 2 * HOUR)
        inspect(send_back(point, NOW + 3 * HOUR), NOW + 4 * HOUR)
        pass_minute(NOW + 4 * HOUR)
        assert len(box("r.halvorsen")) == 2

    def test_what_no_worker_told_within_a_day_is_no_news(
        self, foundation: Foundation, pass_minute: Look, box: Any
    ) -> None:
        inspected(foundation)
        pass_minute(NOW + 2 * HOUR + DAY + HOUR)
        assert not Letter.objects.filter(kind=kinds.RELEASE_WAITS).exists()
        assert "1 waits for you" in box("s.okafor", digests=True)[0].subject

    def test_a_record_that_did_not_grow_costs_two_queries(
        self, foundation: Foundation, pass_minute: Look, django_assert_num_queries: Any
    ) -> None:
        inspected(foundation)
        pass_minute(NOW + 2 * HOUR)
        with django_assert_num_queries(2):
            assert news.read(NOW + 3 * HOUR) == 0


class TestActs:
    def test_an_act_makes_no_letter_and_sends_nothing(self, foundation: Foundation, mailoutbox: list[Any]) -> None:
        inspected(foundation)
        assert (Letter.objects.count(), mailoutbox) == (0, [])

    def test_an_act_that_is_refused_tells_nothing(
        self, foundation: Foundation, pass_minute: Look, mailoutbox: list[Any]
    ) -> None:
        point = at_stage(foundation, "layout", "notified")
        with pytest.raises(Refused):
            inspect(point, NOW + 5 * HOUR, {})
        pass_minute(after(foundation))
        assert [mail for mail in mailoutbox if "The day's digest" not in mail.body] == []

    def test_an_act_that_is_rolled_back_tells_nothing(
        self, foundation: Foundation, pass_minute: Look, box: Any
    ) -> None:
        point = give_notice(hold_point(foundation, "layout"), NOW + HOUR)
        size = Head.objects.get(log=foundation.corridor_id).size
        with transaction.atomic():
            inspect(point, NOW + 2 * HOUR)
            transaction.set_rollback(True)
        pass_minute(NOW + 2 * HOUR)
        assert box("r.halvorsen") == []
        assert Bookmark.objects.get().sequence == size


class TestAFollowUpIsGiven:
    def test_its_owner_is_told_and_nobody_else(self, foundation: Foundation, pass_minute: Look, box: Any) -> None:
        added(foundation.corridor, person("j.brandt"), text="Pump the hole", foundation=foundation, at=NOW + HOUR)
        pass_minute(NOW + HOUR)
        (mail,) = box("j.brandt")
        assert mail.subject == "Follow-up 1: a follow-up is yours (Alder Mesa Parkway lighting)"
        assert "Follow-up 1, LP-001: Pump the hole, due 4 Mar" in mail.body
        assert "http://localhost:8000/c/alder-mesa/follow-ups/#follow-up-1" in mail.body
        assert box("r.halvorsen") + box("d.reyes") + box("p.lindqvist") == []

    def test_ones_own_and_what_is_done_already_are_not_told(
        self, corridor: Corridor, office: Person, pass_minute: Look, box: Any
    ) -> None:
        added(corridor, office, at=NOW + HOUR)
        done = added(corridor, person("j.brandt"), at=NOW + HOUR)
        finish_follow_up(follow_up=done, how="Pumped", by=office, at=NOW + HOUR, client_id=uuid7())
        pass_minute(NOW + HOUR)
        assert box("p.lindqvist") + box("j.brandt") == []
