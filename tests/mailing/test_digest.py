"""The day's digest: at its hour, once, what waits for this person; the signed head for those who keep it; one query set for all."""

from collections.abc import Callable
from datetime import datetime, time, timedelta
from io import StringIO
from threading import Event
from typing import Any

import pytest
from django.core.management import call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from apps.corridor.models import Corridor, Foundation, Membership
from apps.mailing import digest, minute, outbox
from apps.mailing.models import Letter, Wish
from apps.people.models import Person
from apps.record import heads
from tests.factories import findings
from tests.factories.corridor import bring_in, grant, light_pole, open_corridor
from tests.factories.followups import added
from tests.factories.holdpoints import at_stage, give_notice, hold_point, inspect, send_back
from tests.factories.times import DAY, FIRST_DAY, HOUR, NOW, START

pytestmark = pytest.mark.django_db
Look = Callable[[datetime], None]
SIX = NOW + 22 * HOUR
"""06:00 of the next day in the corridor."""


class TestItsHour:
    def test_it_comes_once_a_day_from_its_hour_on(self, foundation: Foundation, pass_minute: Look, box: Any) -> None:
        pass_minute(SIX - HOUR - DAY)
        at_stage(foundation, "layout", "notified")
        pass_minute(SIX - HOUR)
        assert box("d.reyes", digests=True) == []
        for later in (0, 1, 5):
            pass_minute(SIX + later * HOUR)
        assert len(box("d.reyes", digests=True)) == 1
        pass_minute(SIX + DAY)
        assert len(box("d.reyes", digests=True)) == 1

    def test_a_worker_that_ran_late_sends_it_the_same_day(
        self, foundation: Foundation, pass_minute: Look, box: Any
    ) -> None:
        at_stage(foundation, "layout", "notified")
        pass_minute(SIX + 9 * HOUR)
        assert len(box("d.reyes", digests=True)) == 1

    def test_a_person_chooses_the_hour(
        self, foundation: Foundation, inspector: Person, pass_minute: Look, box: Any
    ) -> None:
        Wish.objects.create(person=inspector, digest_at=time(9))
        at_stage(foundation, "layout", "notified")
        pass_minute(SIX + 2 * HOUR)
        assert (box("d.reyes", digests=True), len(box("a.whitlock", digests=True))) == ([], 1)
        pass_minute(SIX + 3 * HOUR)
        assert len(box("d.reyes", digests=True)) == 1

    def test_nothing_waits_and_nothing_happened_is_no_mail(
        self, corridor: Corridor, pass_minute: Look, mailoutbox: list[Any]
    ) -> None:
        pass_minute(SIX + 7 * DAY)
        assert mailoutbox == []
        assert set(Letter.objects.values_list("state", flat=True)) == {"dropped"}


class TestWhatItSays:
    @pytest.fixture
    def morning(self, corridor: Corridor) -> datetime:
        """One hold point waits for its release and is late, one came back, one is asked for; a finding is to be decided."""
        inspect(
            give_notice(hold_point(light_pole(corridor, "LP-001"), "layout"), NOW - 3 * HOUR), NOW - 2 * HOUR - HOUR
        )
        send_back(
            at_stage(light_pole(corridor, "LP-002"), "layout", "inspected"), NOW + 6 * HOUR, reason="Show the tape"
        )
        third = light_pole(corridor, "LP-003")
        findings.raised(third, grade="minor", at=NOW)
        give_notice(hold_point(third, "layout"), NOW + 21 * HOUR, asked_for=SIX + 3 * HOUR)
        return SIX

    def mail_to(self, name: str, at: datetime, pass_minute: Look, box: Any) -> Any:
        pass_minute(at)
        (found,) = box(name, digests=True)
        return found

    def test_engineer(self, morning: datetime, pass_minute: Look, box: Any) -> None:
        mail = self.mail_to("r.halvorsen", morning, pass_minute, box)
        assert mail.subject == "Alder Mesa Parkway lighting: 2 wait for you, 1 of them late"
        assert "LATE LP-001 layout: waits for release" in mail.body
        assert "http://localhost:8000/c/alder-mesa/desk/LP-001/layout/" in mail.body
        assert "F-001 LP-003: minor, Casing left in the hole. Waits for a decision" in mail.body
        assert "LP-002" not in mail.body

    def test_inspector(self, morning: datetime, pass_minute: Look, box: Any) -> None:
        mail = self.mail_to("a.whitlock", morning, pass_minute, box)
        assert mail.subject == "Alder Mesa Parkway lighting: 2 wait for you"
        assert "LP-003 layout: inspection asked for Wed 4 Mar 09:00" in mail.body
        assert "http://localhost:8000/c/alder-mesa/foundations/LP-003/layout/inspect/" in mail.body
        assert "LP-002 layout: returned Tue 3 Mar 14:00 by R. Halvorsen, PE: Show the tape" in mail.body
        assert "LP-001" not in mail.body

    def test_foreman(self, morning: datetime, pass_minute: Look, box: Any) -> None:
        mail = self.mail_to("j.brandt", morning, pass_minute, box)
        assert mail.subject == "Alder Mesa Parkway lighting: 1 waits for you"
        assert "LP-002 layout: returned" in mail.body

    def test_office_sees_what_is_late(self, morning: datetime, pass_minute: Look, box: Any) -> None:
        mail = self.mail_to("p.lindqvist", morning, pass_minute, box)
        assert mail.subject == "Alder Mesa Parkway lighting: 1 waits for you, 1 of them late"
        assert "LP-001 layout" in mail.body

    def test_auditor_reads_what_happened(self, morning: datetime, pass_minute: Look, box: Any) -> None:
        mail = self.mail_to("e.marsh", morning, pass_minute, box)
        assert "Nothing waits for you." in mail.body
        assert "In the last 24 h: 2 notices, 1 inspection, 1 return, 1 finding raised." in mail.body

    def test_long_lists_are_counted(self, corridor: Corridor, pass_minute: Look, box: Any) -> None:
        marks = [f"LP-{number:03d}" for number in range(1, digest.SHOWN + 4)]
        for each in bring_in(corridor, marks):
            give_notice(hold_point(each, "layout"), NOW)
        mail = self.mail_to("d.reyes", SIX, pass_minute, box)
        assert mail.body.count("/inspect/") == digest.SHOWN
        assert "and 3 more on the pages" in mail.body


class TestTheHead:
    def test_auditor_engineer_and_office_get_the_newest_head(
        self, foundation: Foundation, pass_minute: Look, mailoutbox: list[Any]
    ) -> None:
        at_stage(foundation, "layout", "released")
        pass_minute(SIX)
        digests = {each.to[0].split("@")[0]: each for each in mailoutbox if "The day's digest:" in each.body}
        holders = {name for name, each in digests.items() if each.attachments}
        assert holders == {"r.halvorsen", "s.okafor", "p.lindqvist", "e.marsh"}
        assert {"d.reyes", "j.brandt"} <= set(digests)
        (name, content, kind), head = digests["e.marsh"].attachments[0], heads.current(foundation.corridor_id)
        assert head is not None
        assert heads.from_text(content) == head
        assert head.is_signed()
        assert (name, kind) == (f"head-alder-mesa-{head.size}.json", "application/json")
        assert f"root {head.root}" in digests["e.marsh"].body
        assert head.root not in digests["d.reyes"].body

    def test_a_record_without_an_entry_has_none(self, corridor: Corridor) -> None:
        assert set(heads.newest([corridor.pk])) == {corridor.pk}
        assert heads.newest([]) == {}


class TestOneQuerySet:
    def people(self, corridor: Corridor, number: int) -> None:
        made = [
            Person(username=f"p{place}", name=f"P. {place}", email=f"p{place}@example.org") for place in range(number)
        ]
        Person.objects.bulk_create(made)
        roles = ["engineer", "inspector", "office", "auditor", "foreman"]
        Membership.objects.bulk_create(
            Membership(corridor=corridor, person=each, role=roles[place % 5], starts_on=FIRST_DAY)
            for place, each in enumerate(made)
        )

    def cost(self, at: datetime) -> int:
        with CaptureQueriesContext(
            connection,
        ) as queries:
            minute.mail(at, Event())
        return len(queries)

    def test_fifty_digests_cost_what_five_do(self, foundation: Foundation, mailoutbox: list[Any]) -> None:
        at_stage(foundation, "layout", "returned")
        findings.raised(foundation, grade="minor")
        Membership.objects.all().delete()
        self.people(foundation.corridor, 5)
        minute.mail(NOW + 9 * HOUR, Event())  # what happened is told the evening before
        mailoutbox.clear()
        few = self.cost(SIX)
        assert len(mailoutbox) == 5
        Letter.objects.all().delete()
        Membership.objects.all().delete()
        Person.objects.filter(username__startswith="p").exclude(username="p.lindqvist").delete()
        self.people(foundation.corridor, outbox.BATCH)
        mailoutbox.clear()
        many = self.cost(SIX)
        assert len(mailoutbox) == outbox.BATCH == 50
        assert many == few < 40

    def test_facts_cost_the_same_for_every_number_of_things(
        self, corridor: Corridor, django_assert_num_queries: Any
    ) -> None:
        at_stage(light_pole(corridor, "LP-001"), "layout", "returned")
        with django_assert_num_queries(8):
            digest.read(SIX)
        for mark in ("LP-002", "LP-003", "LP-004"):
            findings.raised(at_stage(light_pole(corridor, mark), "layout", "returned").foundation, grade="minor")
        with django_assert_num_queries(8):
            digest.read(SIX)


def test_one_person_on_two_corridors_gets_one_digest(
    foundation: Foundation, inspector: Person, pass_minute: Look, box: Any
) -> None:
    grant(open_corridor("copper-flat"), inspector, "inspector")
    pass_minute(START + HOUR)
    (mail,) = box("d.reyes", digests=True)
    assert mail.subject == "2 corridors: nothing waits for you"
    assert "/c/alder-mesa/morning/" in mail.body
    assert "/c/copper-flat/morning/" in mail.body


def test_the_workers_command_reads_the_clock(foundation: Foundation, box: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    import time_machine

    from apps.jobs.management.commands import work

    for name in ("close_old_connections", "_limit_memory"):  # the test's own connection and memory
        monkeypatch.setattr(work, name, lambda: None)
    at_stage(foundation, "layout", "notified")
    for at, number in ((SIX - timedelta(seconds=1), 0), (SIX, 1), (SIX + HOUR, 0), (SIX + DAY, 1)):
        with time_machine.travel(at, tick=False):
            call_command("work", once=True, stdout=StringIO())
        assert len(box("d.reyes", digests=True)) == number


def test_a_follow_up_stands_in_its_owners_digest_from_three_days_before(
    foundation: Foundation, foreman: Person, pass_minute: Look, box: Any
) -> None:
    row = added(foundation.corridor, foreman, days=5, text="Pump the hole", foundation=foundation)
    told, others = [], ""
    for day in range(7):
        pass_minute(SIX + day * DAY)
        body = "".join(mail.body for mail in box("j.brandt", digests=True))
        others += "".join(mail.body for mail in box("d.reyes", digests=True))
        told.append(("Pump the hole" in body, "LATE Follow-up 1" in body))
    # From 5 March to 7 March it stands there, on its day, 8 March, too; from the day after it is late.
    assert told == [(False, False), *[(True, False)] * 4, *[(True, True)] * 2]
    assert "Pump the hole" not in others
    assert row.owner == foreman
