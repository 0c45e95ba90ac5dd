"""The page of what is mailed, the way out of a kind, mail as files, and the worker's minute."""

import stat
import threading
from email import message_from_bytes, policy
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core import mail
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from apps.corridor.models import Corridor
from apps.jobs import minute
from apps.mailing import kinds, stop
from apps.mailing.kinds import KINDS
from apps.mailing.models import Letter, Wish
from apps.people.models import Person
from tests.factories.times import HOUR, NOW

pytestmark = pytest.mark.django_db


UNASKED = [kind for kind in KINDS if not kind.asked]


def way_out(person: Person, kind: str = kinds.DIGEST) -> str:
    return stop.address(person, kind).removeprefix("http://localhost:8000")


class TestTheWayOut:
    def test_a_look_asks_and_turns_nothing_off(self, engineer: Person, client: Client) -> None:
        page = client.get(way_out(engineer)).content.decode()
        assert "No more of these mails?" in page
        assert not Wish.objects.exists()

    def test_one_click_of_the_mail_program_turns_the_kind_off(self, engineer: Person) -> None:
        strict = Client(enforce_csrf_checks=True)  # RFC 8058, section 3.2: a POST without cookies or a page of ours
        answer = strict.post(way_out(engineer), {"List-Unsubscribe": "One-Click"})
        assert answer.status_code == 200
        assert Wish.objects.get().off == [kinds.DIGEST]
        strict.post(way_out(engineer))
        strict.post(way_out(engineer, kinds.RETURNED))
        assert Wish.objects.get(person=engineer).off == [kinds.DIGEST, kinds.RETURNED]

    def test_it_names_no_person_and_no_corridor(self, engineer: Person, client: Client) -> None:
        for page in (client.get(way_out(engineer)), client.post(way_out(engineer))):
            said = page.content.decode()
            assert "Halvorsen" not in said
            assert "Alder" not in said

    @pytest.mark.parametrize("change", [lambda path: path[:-3] + "xx/", lambda _: "/you/mail/stop/nonsense/"])
    def test_a_link_that_we_did_not_make_is_unknown(self, engineer: Person, client: Client, change: Any) -> None:
        for ask in (client.get, client.post):
            assert ask(change(way_out(engineer))).status_code == 404
        assert not Wish.objects.exists()

    def test_a_link_signed_for_something_else_is_unknown(self, engineer: Person, client: Client) -> None:
        from django.core import signing

        other = signing.dumps([engineer.pk, kinds.DIGEST], salt="another purpose")
        assert client.post(reverse("mailing:stop", args=[other])).status_code == 404

    def test_a_person_who_is_gone_changes_nothing(self, stranger: Person, client: Client) -> None:
        path = way_out(stranger)
        stranger.delete()
        assert client.post(path).status_code == 200
        assert not Wish.objects.exists()


class TestThePage:
    SAID = {
        "digest_at": "07:30", "quiet_from": "20:00", "quiet_until": "07:00", "time_zone": "America/Denver",
        "morning_at": "06:00", "paper_size": "letter",
    }  # fmt: skip

    def test_everything_but_what_is_asked_for_is_ticked_at_first(self, as_person: Any, engineer: Person) -> None:
        page = as_person(engineer).get(reverse("mailing:wishes")).content.decode()
        assert page.count('type="checkbox"') == len(KINDS)
        assert page.count(" checked") == len(UNASKED) < len(KINDS)
        assert "r.halvorsen@example.org" in page
        assert 'value="19:00"' in page

    def test_what_is_not_ticked_is_off(self, as_person: Any, engineer: Person) -> None:
        ticked = {kind.key: "on" for kind in KINDS if kind.key != kinds.RETURNED}
        answer = as_person(engineer).post(reverse("mailing:wishes"), {**self.SAID, **ticked})
        assert answer.status_code == 302
        wish = Wish.objects.get(person=engineer)
        assert (wish.off, wish.digest_at.hour, wish.quiet_from.hour) == ([kinds.RETURNED], 7, 20)  # type: ignore[union-attr]
        page = as_person(engineer).get(reverse("mailing:wishes")).content.decode()
        assert page.count(" checked") == len(KINDS) - 1

    def test_both_ends_empty_are_no_quiet_hours(self, as_person: Any, engineer: Person) -> None:
        as_person(engineer).post(reverse("mailing:wishes"), {**self.SAID, "quiet_from": "", "quiet_until": ""})
        wish = Wish.objects.get(person=engineer)
        assert (wish.quiet_from, wish.quiet_until, len(wish.off)) == (None, None, len(UNASKED))

    @pytest.mark.parametrize(
        ("wrong", "said"),
        [
            ({"quiet_from": ""}, "Say from when the quiet hours last"),
            ({"quiet_until": ""}, "Say until when the quiet hours last"),
            ({"time_zone": "Denver"}, "is no time zone"),
            ({"digest_at": "half past"}, "Enter a valid time"),
        ],
    )
    def test_what_is_wrong_is_said_beside_its_field(
        self, as_person: Any, engineer: Person, wrong: dict[str, str], said: str
    ) -> None:
        page = as_person(engineer).post(reverse("mailing:wishes"), {**self.SAID, **wrong}).content.decode()
        assert said in page
        assert f'id="id_{next(iter(wrong))}_error"' in page
        assert not Wish.objects.exists()

    def test_what_was_mailed_lately_stands_with_what_became_of_it(
        self, as_person: Any, corridor: Corridor, engineer: Person, office: Person
    ) -> None:
        letter = {"person": engineer, "corridor": corridor, "made_at": NOW, "not_before": NOW}
        Letter.objects.create(kind=kinds.RETURNED, once="a", state="sent", ended_at=NOW + HOUR, **letter)
        Letter.objects.create(
            kind=kinds.DIGEST, once="b", state="dropped", ended_at=NOW, why="Not wanted any more.", **letter
        )
        page = as_person(engineer).get(reverse("mailing:wishes")).content.decode()
        assert "Times of America/Denver" in page
        assert f"{(NOW + HOUR).astimezone(corridor.zone):%H:%M}" in page
        assert "Not wanted any more." in page
        assert "Nothing was mailed to you yet" in as_person(office).get(reverse("mailing:wishes")).content.decode()

    def test_a_wrong_zone_is_said_where_letters_went(
        self, as_person: Any, corridor: Corridor, engineer: Person
    ) -> None:
        Letter.objects.create(person=engineer, kind=kinds.DIGEST, once="a", made_at=NOW, not_before=NOW)
        answer = as_person(engineer).post(reverse("mailing:wishes"), {**self.SAID, "time_zone": "Denver"})
        assert "is no time zone" in answer.content.decode()

    def test_it_is_ones_own(self, as_person: Any, engineer: Person, office: Person) -> None:
        as_person(engineer).post(reverse("mailing:wishes"), self.SAID)
        assert list(Wish.objects.values_list("person__username", flat=True)) == ["r.halvorsen"]


def test_mail_as_files_is_one_file_a_mail_for_its_owner_alone(settings: Any, tmp_path: Path) -> None:
    settings.EMAIL_BACKEND = "apps.mailing.folder.FolderBackend"
    settings.MAIL_ROOT = tmp_path / "mail"
    for number in (1, 2):
        mail.send_mail(f"Subject {number}", "Grüße, 3 × 2", None, ["e.marsh@example.org"])
    files = sorted(settings.MAIL_ROOT.iterdir())
    assert [path.suffix for path in files] == [".eml", ".eml"]
    read = [message_from_bytes(path.read_bytes(), policy=policy.default) for path in files]
    assert {each["Subject"] for each in read} == {"Subject 1", "Subject 2"}
    assert read[0].get_content().strip() == "Grüße, 3 × 2"  # type: ignore[attr-defined]
    assert [stat.S_IMODE(path.stat().st_mode) for path in (*files, settings.MAIL_ROOT)] == [0o600, 0o600, 0o700]


class TestTheMinute:
    @pytest.fixture
    def looks(self, monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
        """What is looked at each minute, empty at first."""
        mine: dict[str, Any] = {}
        monkeypatch.setattr(minute, "LOOKS", mine)
        return mine

    def test_mail_is_in_it(self) -> None:
        assert list(minute.LOOKS) == ["mail"]
        with pytest.raises(ValueError, match="already"):
            minute.each_minute("mail")(lambda at, stop: None)

    def test_a_fault_in_one_stops_no_other(self, looks: dict[str, Any], caplog: pytest.LogCaptureFixture) -> None:
        went: list[Any] = []

        def broken(at: Any, stop: Any) -> None:
            raise RuntimeError

        minute.each_minute("broken")(broken)
        minute.each_minute("sound")(lambda at, stop: went.append(at))
        minute.look(NOW, threading.Event())
        assert went == [NOW]
        assert "the minute's broken failed" in caplog.text

    def test_a_worker_looks_once_where_it_works_once(
        self, looks: dict[str, Any], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        from apps.jobs.management.commands import work

        for name in ("close_old_connections", "_limit_memory"):  # the test's own connection and memory
            monkeypatch.setattr(work, name, lambda: None)
        went: list[Any] = []
        minute.each_minute("count")(lambda at, stop: went.append(at))
        call_command("work", once=True, stdout=StringIO())
        assert len(went) == 1

    def test_a_worker_looks_beside_its_jobs_until_it_ends(
        self, looks: dict[str, Any], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(minute, "PAUSE_S", 0.01)
        thrice, left = threading.Event(), iter(range(2))
        minute.each_minute("count")(lambda at, stop: None if next(left, None) is not None else thrice.set())
        with minute.Minute() as running:
            assert thrice.wait(10)
        assert not running.thread.is_alive()
