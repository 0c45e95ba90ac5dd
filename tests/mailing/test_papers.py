"""The morning sheet by mail: for who asks, each working morning at its hour, once, its paper made once for all."""

from collections.abc import Callable
from datetime import datetime, time, timedelta
from io import BytesIO
from threading import Event
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from pypdf import PdfReader

from apps.board import mailed, queries
from apps.corridor.models import Corridor, Foundation
from apps.mailing import kinds, minute, papers, stop
from apps.mailing.models import Letter, Paper, Wish
from apps.mailing.papers import Made
from apps.people.models import Person
from tests.factories.holdpoints import at_stage
from tests.factories.times import DAY, HOUR, NOW

pytestmark = pytest.mark.django_db
Look = Callable[[datetime], None]
SIX = NOW + 22 * HOUR
"""06:00 of Wednesday 4 March in the corridor."""


OTHERS = [kind.key for kind in kinds.KINDS if not kind.asked]


def asks(person: Person, **more: Any) -> None:
    """Let a person ask for the morning sheet."""
    Wish.objects.filter(person=person).update(on=[kinds.MORNING], **more)


@pytest.fixture
def made(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, str]]:
    """Stand in for the maker, which takes a second, and return what it was asked for: corridor and size."""
    calls: list[tuple[str, str]] = []

    def maker(corridor: Corridor, at: datetime, size: str) -> Made:
        calls.append((corridor.slug, size))
        return Made(f"Sheet for {size}", f"Made as number {len(calls)}.\n", "sheet.pdf", b"%PDF " + size.encode())

    monkeypatch.setitem(papers.MAKERS, kinds.MORNING, maker)
    return calls


@pytest.fixture
def at_work(foundation: Foundation) -> Corridor:
    """A corridor with work, whose members want no mail of the other kinds."""
    at_stage(foundation, "layout", "notified")
    members = foundation.corridor.memberships.values_list("person", flat=True).distinct()
    Wish.objects.bulk_create(Wish(person_id=each, off=OTHERS) for each in members)
    return foundation.corridor


class TestWhoAndWhen:
    def test_nobody_gets_it_unasked(
        self, foundation: Foundation, made: Any, pass_minute: Look, mailoutbox: list[Any]
    ) -> None:
        at_stage(foundation, "layout", "notified")
        pass_minute(SIX + HOUR)
        assert not Letter.objects.filter(kind=kinds.MORNING).exists()
        assert made == [] and mailoutbox  # the digests went

    def test_from_its_hour_on_once_a_day(
        self, at_work: Corridor, office: Person, made: Any, pass_minute: Look, mailoutbox: list[Any]
    ) -> None:
        asks(office)
        pass_minute(SIX - timedelta(minutes=1))
        assert mailoutbox == []
        for later in (0, 1, 9):
            pass_minute(SIX + later * HOUR)
        assert [each.to for each in mailoutbox] == [["p.lindqvist@example.org"]]
        pass_minute(SIX + DAY)
        assert len(mailoutbox) == 2 and len(made) == 2

    def test_at_the_hour_that_a_person_chose_in_the_corridors_time(
        self, at_work: Corridor, office: Person, made: Any, pass_minute: Look, mailoutbox: list[Any]
    ) -> None:
        asks(office, morning_at=time(7, 30), time_zone="America/New_York")
        pass_minute(SIX + HOUR)  # 07:00 here, 09:00 there
        assert mailoutbox == []
        pass_minute(SIX + HOUR + timedelta(minutes=30))
        assert len(mailoutbox) == 1

    def test_only_on_working_days_of_the_corridor(
        self, at_work: Corridor, office: Person, made: Any, pass_minute: Look, mailoutbox: list[Any]
    ) -> None:
        at_work.holidays = ["2026-03-05"]
        at_work.save()
        asks(office)
        for day in range(7):  # Wednesday to Tuesday; Thursday is a holiday
            pass_minute(SIX + day * DAY + HOUR)
        days = Letter.objects.filter(kind=kinds.MORNING).order_by("once").values_list("once", flat=True)
        assert list(days) == ["2026-03-04", "2026-03-06", "2026-03-09", "2026-03-10"]
        assert len(mailoutbox) == 4

    def test_quiet_hours_put_it_off_the_same_day_and_not_into_the_next(
        self, at_work: Corridor, office: Person, engineer: Person, made: Any, pass_minute: Look, mailoutbox: list[Any]
    ) -> None:
        asks(office, quiet_from=time(19), quiet_until=time(9))
        asks(engineer, quiet_from=time(5), quiet_until=time(4))
        pass_minute(SIX)
        assert mailoutbox == []
        pass_minute(SIX + 3 * HOUR)
        assert [each.to for each in mailoutbox] == [["p.lindqvist@example.org"]]
        pass_minute(SIX + 22 * HOUR + timedelta(minutes=30))  # 04:30 of the next day
        letter = Letter.objects.get(person=engineer, once="2026-03-04")
        assert (letter.state, letter.why) == ("dropped", "Its day is over.")
        assert len(mailoutbox) == 1

    def test_not_before_there_is_a_foundation(
        self, corridor: Corridor, office: Person, made: Any, pass_minute: Look, mailoutbox: list[Any]
    ) -> None:
        Wish.objects.create(person=office, on=[kinds.MORNING], off=OTHERS)
        pass_minute(SIX)
        assert (mailoutbox, made) == ([], [])

    def test_nobody_who_is_no_member_any_more(
        self, at_work: Corridor, office: Person, made: Any, pass_minute: Look, mailoutbox: list[Any]
    ) -> None:
        asks(office, quiet_from=time(19), quiet_until=time(9))
        pass_minute(SIX)
        at_work.memberships.filter(person=office).delete()
        pass_minute(SIX + 4 * HOUR)
        assert mailoutbox == []


class TestMadeOnce:
    def test_for_a_corridor_day_and_size_whoever_gets_it(
        self, at_work: Corridor, office: Person, engineer: Person, inspector: Person, foreman: Person, made: Any,
        pass_minute: Look, mailoutbox: list[Any],
    ) -> None:  # fmt: skip
        for each in (office, engineer):
            asks(each)
        asks(inspector, paper_size="A4")
        asks(foreman, morning_at=time(8))
        pass_minute(SIX)
        assert sorted(made) == [("alder-mesa", "A4"), ("alder-mesa", "letter")]
        pass_minute(SIX + 2 * HOUR)  # the foreman's, from what was kept
        assert len(made) == 2 and len(mailoutbox) == 4
        attached = {each.to[0].split("@")[0]: each.attachments[0] for each in mailoutbox}
        assert attached["d.reyes"] == ("sheet.pdf", b"%PDF A4", "application/pdf")
        assert attached["j.brandt"] == attached["p.lindqvist"] == ("sheet.pdf", b"%PDF letter", "application/pdf")

    def test_a_second_worker_waits_for_the_first(
        self,
        at_work: Corridor,
        office: Person,
        engineer: Person,
        monkeypatch: pytest.MonkeyPatch,
        mailoutbox: list[Any],
    ) -> None:
        """While one worker makes the paper, another one looks: it finds the paper begun, sends nothing, and asks again a minute later."""
        asks(office)
        asks(engineer, morning_at=time(6, 1))
        made: list[datetime] = []

        def maker(corridor: Corridor, at: datetime, size: str) -> Made:
            made.append(at)
            minute.mail(SIX + timedelta(minutes=1), Event())  # the other worker's look
            assert mailoutbox == []
            return Made("Sheet", "Text", "sheet.pdf", b"%PDF")

        monkeypatch.setitem(papers.MAKERS, kinds.MORNING, maker)
        minute.mail(SIX, Event())
        waiting = Letter.objects.get(person=engineer, kind=kinds.MORNING)
        assert (waiting.state, waiting.not_before, waiting.tries) == ("waiting", SIX + timedelta(minutes=2), 0)
        minute.mail(SIX + timedelta(minutes=2), Event())
        assert made == [SIX]
        assert sorted(each.to[0] for each in mailoutbox) == ["p.lindqvist@example.org", "r.halvorsen@example.org"]

    def test_one_that_a_killed_worker_began_is_begun_again(
        self, at_work: Corridor, office: Person, made: Any, pass_minute: Look, mailoutbox: list[Any]
    ) -> None:
        Paper.objects.create(kind=kinds.MORNING, corridor=at_work, day=at_work.day(SIX), size="letter", begun_at=SIX)
        asks(office)
        for later in range(15):
            pass_minute(SIX + timedelta(minutes=later))
        assert (made, mailoutbox) == ([], [])
        pass_minute(SIX + papers.SILENCE + timedelta(minutes=1))
        assert len(made) == len(mailoutbox) == 1

    def test_a_maker_that_fails_is_told_to_the_log_and_leaves_nothing_begun(
        self, at_work: Corridor, office: Person, monkeypatch: pytest.MonkeyPatch, pass_minute: Look, mailoutbox: list[Any],
        caplog: pytest.LogCaptureFixture,
    ) -> None:  # fmt: skip
        def maker(corridor: Corridor, at: datetime, size: str) -> Made:
            raise ZeroDivisionError

        asks(office)
        monkeypatch.setitem(papers.MAKERS, kinds.MORNING, maker)
        pass_minute(SIX)
        assert mailoutbox == [] and not Paper.objects.exists()
        assert "a mail of kind morning could not be written" in caplog.text
        letter = Letter.objects.get(kind=kinds.MORNING)
        assert (letter.state, letter.why) == ("dropped", "It could not be written (ZeroDivisionError).")

    def test_it_is_forgotten_when_its_day_is_long_over(
        self, at_work: Corridor, office: Person, made: Any, pass_minute: Look
    ) -> None:
        asks(office)
        pass_minute(SIX)
        assert Paper.objects.count() == 1
        Wish.objects.update(on=[])
        pass_minute(SIX + papers.KEPT)
        assert Paper.objects.count() == 1
        pass_minute(SIX + papers.KEPT + HOUR)
        assert not Paper.objects.exists()

    def test_five_of_them_ask_what_two_do(
        self, at_work: Corridor, office: Person, engineer: Person, inspector: Person, foreman: Person, auditor: Person,
        made: Any, mailoutbox: list[Any],
    ) -> None:  # fmt: skip
        def cost(at: datetime) -> int:
            with CaptureQueriesContext(
                connection,
            ) as asked:
                minute.mail(at, Event())
            return len(asked)

        minute.mail(SIX - 2 * HOUR, Event())  # what happened the day before is read
        for each in (office, engineer):
            asks(each)
        few = cost(SIX)
        for each in (inspector, foreman, auditor):
            asks(each)
        many = cost(SIX + DAY)
        assert len(mailoutbox) == 2 + 5 and many == few

    def test_a_kind_has_one_maker(self) -> None:
        with pytest.raises(ValueError, match="already"):
            papers.goes_with(kinds.MORNING)(mailed.morning_mail)


class TestWhatItBrings:
    def test_the_numbers_in_the_text_and_the_page_attached(
        self, at_work: Corridor, office: Person, pass_minute: Look, mailoutbox: list[Any]
    ) -> None:
        asks(office)
        pass_minute(SIX)
        (mail,) = mailoutbox
        corridor = Corridor.objects.select_related("tally", "edition").get()
        sheet = queries.morning(corridor, SIX)
        assert mail.subject == f"Alder Mesa Parkway lighting, Wed 4 Mar: {sheet.percent} % complete, 0 releases wait"
        assert f"{sheet.percent} % complete, {sheet.change_words}." in mail.body
        assert "1 foundation\n" in mail.body
        assert "Layout     0 released, 0 awaiting release, 1 notified" in mail.body
        assert "1 inspections with the inspectors" in mail.body
        assert f"{sheet.contract.to_make} releases to make" in mail.body
        for place in (
            "morning/",
            "forecast/",
            "corridor/?state=may_build",
            "findings/?state=unsettled",
            "charts/#percent",
        ):
            assert f"http://localhost:8000/c/alder-mesa/{place}" in mail.body, place
        assert "<" not in mail.body and "&amp;" not in mail.body
        ((name, content, kind),) = mail.attachments
        assert (name, kind) == ("alder-mesa-morning-2026-03-04.pdf", "application/pdf")
        (page,) = PdfReader(BytesIO(content)).pages
        assert "Morning, Wednesday 4 March 2026" in " ".join(page.extract_text().split())

    def test_every_address_in_it_answers(
        self, at_work: Corridor, office: Person, pass_minute: Look, mailoutbox: list[Any], as_person: Any, clock: Any
    ) -> None:
        asks(office)
        pass_minute(SIX)
        clock.move_to(SIX)
        client, host = as_person(office), "http://localhost:8000"
        found = [
            line.strip() for line in mailoutbox[0].body.split("\n-- ")[0].splitlines() if line.strip().startswith(host)
        ]
        assert len(found) > 7
        for each in found:
            assert client.get(each.removeprefix(host)).status_code == 200, each

    def test_its_way_out_takes_the_asking_back(
        self, at_work: Corridor, office: Person, made: Any, pass_minute: Look, mailoutbox: list[Any]
    ) -> None:
        asks(office)
        pass_minute(SIX)
        out = stop.address(office, kinds.MORNING)
        assert mailoutbox[0].extra_headers["List-Unsubscribe"] == f"<{out}>" and out in mailoutbox[0].body
        for _ in range(2):
            Client().post(out.removeprefix("http://localhost:8000"))
        wish = Wish.objects.get(person=office)
        assert wish.on == [] and kinds.MORNING not in wish.off
        pass_minute(SIX + DAY)
        assert len(mailoutbox) == 1


class TestThePageOfWishes:
    SAID = {
        "digest_at": "06:00", "quiet_from": "19:00", "quiet_until": "06:00", "morning_at": "06:30", "paper_size": "A4",
    }  # fmt: skip

    def test_ticked_it_is_asked_for(self, as_person: Any, office: Person) -> None:
        client, url = as_person(office), reverse("mailing:wishes")
        assert 'name="morning" id="id_morning">' in client.get(url).content.decode().replace(
            ' aria-describedby="id_morning_helptext"', ""
        )
        client.post(url, {**self.SAID, kinds.MORNING: "on"})
        wish = Wish.objects.get()
        assert (wish.on, wish.morning_at, wish.paper_size) == ([kinds.MORNING], time(6, 30), "A4")
        assert kinds.MORNING not in wish.off and kinds.DIGEST in wish.off
        client.post(url, self.SAID)
        assert Wish.objects.get().on == []

    def test_an_hour_after_noon_is_refused(self, as_person: Any, office: Person) -> None:
        page = as_person(office).post(reverse("mailing:wishes"), {**self.SAID, "morning_at": "12:01"}).content.decode()
        assert "Write an hour until 12:00" in page and not Wish.objects.exists()
