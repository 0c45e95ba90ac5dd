"""Sending: members only, as they wish, once, whatever dies in between; a refusal is tried again and given up at last."""

import threading
from collections.abc import Callable
from datetime import datetime, time, timedelta
from smtplib import SMTPRecipientsRefused
from threading import Event
from typing import Any

import pytest
from django.core import mail
from django.core.mail.backends.locmem import EmailBackend
from django.db import IntegrityError, connections, transaction

from apps.corridor.models import Corridor, Foundation, Membership
from apps.mailing import kinds, minute, outbox
from apps.mailing.models import TRIES, Letter, Wish
from apps.mailing.readers import readers
from apps.people.models import Person
from tests.factories.corridor import light_pole, open_corridor
from tests.factories.holdpoints import give_notice, hold_point, inspect
from tests.factories.times import DAY, HOUR, NOW

pytestmark = pytest.mark.django_db
Look = Callable[[datetime], None]
LATER = NOW + 2 * HOUR
"""10:00 in the corridor."""
NIGHT = NOW + 12 * HOUR
"""20:00 in the corridor: quiet unless a person wishes otherwise."""
MORNING = NOW + 22 * HOUR
"""06:00 in the corridor, when quiet hours end."""


def inspected(foundation: Foundation, at: datetime = LATER) -> Any:
    return inspect(give_notice(hold_point(foundation, "layout"), at - HOUR), at)


def states(kind: str = kinds.RELEASE_WAITS) -> dict[str, str]:
    return dict(Letter.objects.filter(kind=kind).values_list("person__username", "state"))


class Refusing(EmailBackend):
    """A mail server that knows no R. Halvorsen."""

    fault: Exception = SMTPRecipientsRefused({})

    def send_messages(self, messages: Any) -> int:
        if messages[0].to == ["r.halvorsen@example.org"]:
            raise self.fault
        return super().send_messages(messages)


class Away(EmailBackend):
    """A mail server that is not there."""

    def open(self) -> None:
        raise ConnectionRefusedError


class Killing(EmailBackend):
    """A mail server over which the worker is killed: nothing after it runs."""

    def send_messages(self, messages: Any) -> int:
        super().send_messages(messages)
        raise SystemExit


class TestMembersOnly:
    def test_who_left_between_making_and_sending_gets_nothing(
        self, foundation: Foundation, engineer: Person, pass_minute: Look, box: Any
    ) -> None:
        inspected(foundation, NIGHT)
        pass_minute(NIGHT)
        assert states()["r.halvorsen"] == "waiting"
        Membership.objects.filter(person=engineer).update(ends_on=foundation.corridor.day(NIGHT))
        pass_minute(MORNING)
        assert box("r.halvorsen") + box("r.halvorsen", digests=True) == []
        assert states() == {"r.halvorsen": "dropped", "s.okafor": "sent"}

    def test_who_changed_the_role_gets_nothing_that_is_not_for_it(
        self, foundation: Foundation, engineer: Person, pass_minute: Look, box: Any
    ) -> None:
        inspected(foundation, NIGHT)
        pass_minute(NIGHT)
        Membership.objects.filter(person=engineer).update(role="auditor")
        pass_minute(MORNING)
        assert box("r.halvorsen") == []

    def test_an_account_out_of_use_or_without_address_gets_nothing(
        self, foundation: Foundation, pass_minute: Look, mailoutbox: list[Any]
    ) -> None:
        Person.objects.filter(username="r.halvorsen").update(is_active=False)
        Person.objects.filter(username="s.okafor").update(email="")
        inspected(foundation)
        pass_minute(LATER)
        assert {each.to[0] for each in mailoutbox} & {"r.halvorsen@example.org", ""} == set()
        assert states() == {}

    def test_nobody_reads_of_a_corridor_that_is_not_theirs(
        self, foundation: Foundation, stranger: Person, admin: Person, pass_minute: Look, mailoutbox: list[Any]
    ) -> None:
        other = open_corridor("copper-flat")
        Membership.objects.create(corridor=other, person=stranger, role="engineer", starts_on=NOW.date())
        inspected(foundation)
        pass_minute(LATER)
        assert {each.to[0] for each in mailoutbox} & {"admin@example.org"} == set()
        theirs = [each for each in mailoutbox if each.to == ["n.stranger@example.org"]]
        assert not any("alder-mesa" in each.body or "LP-001" in each.subject for each in theirs)
        assert len(mailoutbox) > 3


class TestWishes:
    def test_a_kind_that_is_off_is_not_sent(
        self, foundation: Foundation, engineer: Person, pass_minute: Look, box: Any
    ) -> None:
        Wish.objects.create(person=engineer, off=[kinds.RELEASE_WAITS])
        inspected(foundation)
        pass_minute(LATER)
        assert (box("r.halvorsen"), len(box("s.okafor"))) == ([], 1)
        assert len(box("r.halvorsen", digests=True)) == 1

    def test_turned_off_while_it_waits_it_is_not_sent_either(
        self, foundation: Foundation, engineer: Person, pass_minute: Look, box: Any
    ) -> None:
        inspected(foundation, NIGHT)
        pass_minute(NIGHT)
        Wish.objects.create(person=engineer, off=[kinds.RELEASE_WAITS])
        pass_minute(MORNING)
        assert (box("r.halvorsen"), states()["r.halvorsen"]) == ([], "dropped")

    def test_what_comes_in_quiet_hours_is_one_mail_when_they_end(
        self, corridor: Corridor, pass_minute: Look, box: Any
    ) -> None:
        for place, mark in enumerate(("LP-001", "LP-002")):
            inspected(light_pole(corridor, mark), NIGHT + place * HOUR)
            pass_minute(NIGHT + place * HOUR)
        pass_minute(MORNING - timedelta(minutes=1))
        assert box("r.halvorsen") == []
        pass_minute(MORNING)
        assert [each.subject.split(" (")[0] for each in box("r.halvorsen")] == ["2 hold points wait for your release"]

    def test_quiet_hours_wished_meanwhile_hold_what_waits(
        self, foundation: Foundation, engineer: Person, pass_minute: Look, box: Any
    ) -> None:
        inspected(foundation, NIGHT)
        pass_minute(NIGHT)
        Wish.objects.create(person=engineer, quiet_from=time(19), quiet_until=time(8))
        pass_minute(MORNING)
        assert (box("r.halvorsen"), states()["r.halvorsen"]) == ([], "waiting")
        pass_minute(MORNING + 2 * HOUR)
        assert len(box("r.halvorsen")) == 1

    @pytest.mark.parametrize(
        ("begin", "end", "hour", "free"),
        [
            (time(19), time(6), 18, 18),
            (time(19), time(6), 19, 30),
            (time(19), time(6), 23, 30),
            (time(19), time(6), 3, 6),
            (time(19), time(6), 6, 6),
            (time(12), time(13), 12, 13),
            (time(12), time(13), 13, 13),
            (time(12), time(12), 12, 12),
            (None, None, 3, 3),
        ],
    )
    def test_quiet_hours_end_in_the_corridors_time(
        self, corridor: Corridor, engineer: Person, begin: time | None, end: time | None, hour: int, free: int
    ) -> None:
        Wish.objects.create(person=engineer, quiet_from=begin, quiet_until=end)
        day = corridor.day_begins(corridor.day(NOW))
        at = day + hour * HOUR
        assert readers(at)[engineer.pk].free_at(at) == day + free * HOUR

    def test_a_persons_own_zone_counts(self, corridor: Corridor, engineer: Person) -> None:
        Wish.objects.create(person=engineer, time_zone="UTC")
        at = datetime.combine(NOW.date(), time(20), NOW.tzinfo)
        assert readers(at)[engineer.pk].free_at(at) == at + 10 * HOUR

    def test_quiet_from_alone_is_refused_by_the_database(self, engineer: Person) -> None:
        with pytest.raises(IntegrityError), transaction.atomic():
            Wish.objects.create(person=engineer, quiet_from=time(19), quiet_until=None)


class TestOnce:
    def test_the_database_refuses_the_same_letter_twice(self, corridor: Corridor, engineer: Person) -> None:
        for where in (corridor, None):
            same = {"person": engineer, "corridor": where, "kind": kinds.DIGEST, "once": "2026-03-03"}
            Letter.objects.create(**same, made_at=NOW, not_before=NOW)
            with pytest.raises(IntegrityError), transaction.atomic():
                Letter.objects.create(**same, made_at=NOW, not_before=NOW)

    def test_a_killed_worker_sends_nothing_twice(
        self, foundation: Foundation, settings: Any, mailoutbox: list[Any]
    ) -> None:
        inspected(foundation)
        ordinary, settings.EMAIL_BACKEND = settings.EMAIL_BACKEND, f"{__name__}.Killing"
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(outbox._Ends, "write", lambda ends: None)  # a killed worker runs no clean-up
            with pytest.raises(SystemExit):
                minute.mail(LATER, Event())
        went = [each.to[0] for each in mailoutbox]
        settings.EMAIL_BACKEND = ordinary
        for later in (timedelta(minutes=1), outbox.SILENCE + timedelta(minutes=1), HOUR):
            minute.mail(LATER + later, Event())
        assert went == [each.to[0] for each in mailoutbox] != []
        assert set(Letter.objects.values_list("state", flat=True)) == {"uncertain"}

    def test_a_worker_asked_to_end_takes_no_more(self, foundation: Foundation, mailoutbox: list[Any]) -> None:
        inspected(foundation)
        stop = Event()
        stop.set()
        minute.mail(LATER, stop)
        assert (mailoutbox, set(states().values())) == ([], {"waiting"})
        minute.mail(LATER, Event())
        assert set(states().values()) == {"sent"}

    def test_a_batch_does_not_cut_what_belongs_into_one_mail(
        self, corridor: Corridor, pass_minute: Look, box: Any, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(outbox, "BATCH", 4)
        for mark in ("LP-001", "LP-002", "LP-003"):
            inspected(light_pole(corridor, mark))
        pass_minute(LATER)
        for name in ("r.halvorsen", "s.okafor"):
            assert [each.subject[:13] for each in box(name)] == ["3 hold points"]

    def test_letters_of_long_ago_are_forgotten(self, foundation: Foundation, pass_minute: Look) -> None:
        inspected(foundation)
        pass_minute(LATER)
        Membership.objects.update(ends_on=NOW.date())
        outbox.clear(LATER + outbox.KEPT)
        assert Letter.objects.exists()
        outbox.clear(LATER + outbox.KEPT + timedelta(seconds=1))
        assert not Letter.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_two_workers_at_the_same_moment_send_each_mail_once(corridor: Corridor, mailoutbox: list[Any]) -> None:
    for mark in ("LP-001", "LP-002", "LP-003"):
        inspected(light_pole(corridor, mark))
    faults: list[BaseException] = []
    start = threading.Barrier(4)

    def work() -> None:
        try:
            start.wait(10)
            minute.mail(LATER, Event())
        except BaseException as fault:
            faults.append(fault)
        finally:
            connections.close_all()

    workers = [threading.Thread(target=work) for _ in range(4)]
    for each in workers:
        each.start()
    for each in workers:
        each.join(60)
    assert faults == []
    minute.mail(LATER, Event())  # what one left alone because another had it
    told = [line for each in mailoutbox if "A release waits:" in each.body for line in each.body.splitlines()]
    lines = [line for line in told if line.startswith("LP-")]
    assert len(lines) == 6
    assert set(states().values()) == {"sent"}
    assert sum("The day's digest:" in each.body for each in mailoutbox) == 7


class TestRefusals:
    @pytest.mark.parametrize("fault", [SMTPRecipientsRefused({}), ValueError("no such address")])
    def test_one_address_refused_holds_up_nobody_else(
        self,
        foundation: Foundation,
        settings: Any,
        pass_minute: Look,
        box: Any,
        fault: Exception,
        monkeypatch: pytest.MonkeyPatch,
    ) -> None:
        monkeypatch.setattr(Refusing, "fault", fault)
        settings.EMAIL_BACKEND = f"{__name__}.Refusing"
        inspected(foundation)
        pass_minute(LATER)
        assert (len(box("s.okafor")), states()) == (1, {"r.halvorsen": "waiting", "s.okafor": "sent"})
        settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
        pass_minute(LATER + outbox.REST - timedelta(seconds=1))
        assert box("r.halvorsen") == []
        pass_minute(LATER + outbox.REST)
        assert len(box("r.halvorsen")) == 1

    def test_a_server_that_stays_away_is_given_up_with_a_reason(
        self, foundation: Foundation, settings: Any, pass_minute: Look, mailoutbox: list[Any]
    ) -> None:
        settings.EMAIL_BACKEND = f"{__name__}.Away"
        inspected(foundation)
        for step in range(TRIES + 1):
            pass_minute(LATER + step * 2 * HOUR)
        letter = Letter.objects.get(person__username="s.okafor", kind=kinds.RELEASE_WAITS)
        assert (letter.state, letter.tries) == ("failed", TRIES)
        assert letter.why == "The mail server did not take it (ConnectionRefusedError)."
        assert mailoutbox == []

    def test_one_that_cannot_be_written_is_dropped_alone(
        self, foundation: Foundation, pass_minute: Look, box: Any, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        from apps.mailing import compose

        def broken(*arguments: Any) -> None:
            raise ValueError

        monkeypatch.setattr(compose, "_digest", broken)
        inspected(foundation)
        pass_minute(LATER)
        assert len(box("s.okafor")) == 1
        assert set(states(kinds.DIGEST).values()) == {"dropped"}


def test_a_mail_carries_its_ways_out(foundation: Foundation, pass_minute: Look, box: Any) -> None:
    inspected(foundation)
    pass_minute(LATER)
    (sent,) = box("r.halvorsen")
    head = sent.message()
    assert head["Auto-Submitted"] == "auto-generated"  # RFC 3834, section 5
    assert head["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"  # RFC 8058, section 3.1
    assert head["List-Unsubscribe"].strip("<>") in sent.body
    letter = Letter.objects.get(person__username="r.halvorsen", kind=kinds.RELEASE_WAITS)
    assert head["Message-ID"] == f"<{letter.pk}@localhost>"
    assert len(mail.outbox) > 0


def test_a_day_later_nothing_of_yesterday_comes_again(foundation: Foundation, pass_minute: Look, box: Any) -> None:
    inspected(foundation)
    pass_minute(LATER)
    box("s.okafor")
    pass_minute(LATER + DAY)
    assert box("s.okafor") == []
