"""The queue: one job once, cancelled when asked, found again after its worker's death, and a result only for members."""

import re
import subprocess
from collections.abc import Iterator
from datetime import datetime, timedelta
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command
from django.db import IntegrityError
from django.urls import reverse

from apps.corridor.models import Corridor
from apps.jobs import beside, queue, registry
from apps.jobs.models import TRIES, Job
from apps.people.models import Person
from apps.record.acts import Refused
from tests.factories.corridor import grant, open_corridor
from tests.factories.times import NOW

pytestmark = pytest.mark.django_db
LATER = NOW + queue.SILENCE + timedelta(seconds=1)


def clock() -> datetime:
    return NOW


@pytest.fixture(autouse=True)
def _results(settings: Any, tmp_path: Path) -> None:
    settings.RESULTS_ROOT = tmp_path


@pytest.fixture
def kind() -> Iterator[list[Any]]:
    """A kind "counting" of three steps that writes a file; what stands in the list is done at step 2."""
    at_two: list[Any] = []

    def work(job: Job, report: queue.Report) -> None:
        path = report.file("three.txt")
        for step in range(1, 4):
            if step == 2:
                for each in at_two:
                    each(job)
            report(step, 3, f"step {step}")
        path.write_text("1 2 3")

    registry.kind("counting", "Counting", minutes=1)(work)
    yield at_two
    del registry.KINDS["counting"]


def asked(by: Person, corridor: Corridor, **arguments: Any) -> Job:
    return queue.ask(kind="counting", by=by, at=NOW, corridor=corridor, arguments=arguments)


def taken(at: datetime = NOW) -> Job:
    job = queue.take(at)
    assert job is not None
    return job


def fresh(job: Job) -> Job:
    return Job.objects.get(pk=job.pk)


@pytest.mark.usefixtures("kind")
class TestAsking:
    def test_the_same_question_while_it_waits_is_the_same_job(self, corridor: Corridor, office: Person) -> None:
        first = asked(office, corridor, mark="LP")
        assert asked(office, corridor, mark="LP") == first
        assert asked(office, corridor, mark="PB") != first

    def test_after_its_end_it_is_a_new_one(self, corridor: Corridor, office: Person) -> None:
        first = asked(office, corridor)
        queue.run(taken(), clock)
        assert asked(office, corridor) != first

    def test_a_person_may_not_fill_the_queue(self, corridor: Corridor, office: Person, auditor: Person) -> None:
        for number in range(queue.UNDER_WAY_EACH):
            asked(office, corridor, number=number)
        with pytest.raises(Refused, match="3 of your jobs wait or run already"):
            asked(office, corridor, number=99)
        assert asked(auditor, corridor, number=99).state == "waiting"

    def test_an_unknown_kind_is_named(self, corridor: Corridor, office: Person) -> None:
        with pytest.raises(registry.UnknownKind, match="'juggling'"):
            queue.ask(kind="juggling", by=office, at=NOW, corridor=corridor)

    def test_a_name_is_taken_once(self) -> None:
        with pytest.raises(ValueError, match="named 'counting' already"):
            registry.kind("counting", "Again", minutes=1)(lambda job, report: None)


class TestWorking:
    def test_a_job_is_done_with_progress_and_result(self, kind: list[Any], corridor: Corridor, office: Person) -> None:
        seen: list[Job] = []
        kind.append(lambda job: seen.append(fresh(job)))
        job = asked(office, corridor)
        queue.run(taken(), clock)
        assert [(each.state, each.done, each.total, each.now_at) for each in seen] == [("running", 1, 3, "step 1")]
        assert not seen[0].has_result  # nothing is offered before it is whole
        job = fresh(job)
        assert (job.state, job.done, job.total, job.ended_at, job.tries) == ("done", 3, 3, NOW, 1)
        assert job.has_result and job.result.read_text() == "1 2 3"

    @pytest.mark.usefixtures("kind")
    def test_the_oldest_is_taken_and_none_twice(self, corridor: Corridor, office: Person) -> None:
        first = asked(office, corridor, number=1)
        second = queue.ask(
            kind="counting", by=office, at=NOW + timedelta(seconds=1), corridor=corridor, arguments={"number": 2}
        )
        assert [taken(), taken(), queue.take(NOW)] == [first, second, None]

    def test_a_cancelled_job_stops_at_its_next_word(
        self, kind: list[Any], corridor: Corridor, office: Person, tmp_path: Path
    ) -> None:
        kind.append(lambda job: queue.cancel(job=job, at=NOW))
        job = asked(office, corridor)
        queue.run(taken(), clock)
        job = fresh(job)
        assert (job.state, job.done) == ("cancelled", 1)
        assert not job.has_result
        assert list(tmp_path.iterdir()) == []

    @pytest.mark.usefixtures("kind")
    def test_one_that_waits_is_never_taken_after_that(self, corridor: Corridor, office: Person) -> None:
        job = asked(office, corridor)
        assert queue.cancel(job=job, at=NOW)
        assert queue.take(NOW) is None
        assert not queue.cancel(job=job, at=NOW)

    @pytest.mark.parametrize(
        ("fault", "said"),
        [
            (Refused("There is no such mark."), "There is no such mark."),
            (MemoryError(), "more memory than a job may take"),
            (queue.OverTime(), "longer than 0:01:00"),
            (KeyError("secret"), r"\(KeyError\)"),
        ],
    )
    def test_a_failure_is_said_in_a_sentence(
        self, kind: list[Any], corridor: Corridor, office: Person, fault: Exception, said: str
    ) -> None:
        def fail(job: Job) -> None:
            raise fault

        kind.append(fail)
        job = asked(office, corridor)
        queue.run(taken(), clock)
        job = fresh(job)
        assert job.state == "failed"
        assert re.search(said, job.error)
        assert "secret" not in job.error

    @pytest.mark.usefixtures("kind")
    def test_a_job_over_its_time_is_stopped(self, corridor: Corridor, office: Person) -> None:
        ticks = iter([NOW, NOW, NOW + timedelta(minutes=2), NOW + timedelta(minutes=2)])
        job = asked(office, corridor)
        queue.run(taken(), lambda: next(ticks))
        assert "took longer" in fresh(job).error

    def test_the_command_works_until_nothing_waits(
        self, kind: list[Any], corridor: Corridor, office: Person, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        from apps.jobs.management.commands import work

        monkeypatch.setattr(work, "_limit_memory", lambda: None)  # it would hold for the rest of the test run
        monkeypatch.setattr(work, "close_old_connections", lambda: None)  # the test's own is inside a transaction
        job = asked(office, corridor)
        call_command("work", once=True, stdout=StringIO())
        assert fresh(job).state == "done"


class TestAWorkersDeath:
    def test_a_running_job_without_a_word_is_tried_again_three_times(
        self, kind: list[Any], corridor: Corridor, office: Person
    ) -> None:
        job, now = asked(office, corridor), NOW
        for tries in range(1, TRIES + 1):
            assert taken(now).tries == tries  # and its worker is killed here
            assert queue.reap(now + queue.SILENCE) == 0
            now += queue.SILENCE + timedelta(seconds=1)
            assert queue.reap(now) == 1
        job = fresh(job)
        assert (job.state, job.tries, job.ended_at) == ("failed", 4, now)
        assert "lost 4 times" in job.error
        assert queue.take(now) is None

    @pytest.mark.usefixtures("kind")
    def test_the_second_try_finishes_it(self, corridor: Corridor, office: Person) -> None:
        job = asked(office, corridor)
        taken()
        queue.reap(LATER)
        queue.run(taken(LATER), lambda: LATER)
        job = fresh(job)
        assert (job.state, job.tries, job.has_result) == ("done", 2, True)

    @pytest.mark.usefixtures("kind")
    def test_a_worker_that_was_thought_dead_changes_nothing(self, corridor: Corridor, office: Person) -> None:
        asked(office, corridor)
        lost = taken()
        queue.reap(LATER)
        again = taken(LATER)
        queue.run(lost, lambda: LATER)
        assert (fresh(again).state, fresh(again).done, fresh(again).worker) == ("running", 0, again.worker)

    def test_a_worker_asked_to_end_gives_its_job_back(
        self, kind: list[Any], corridor: Corridor, office: Person
    ) -> None:
        def end(job: Job) -> None:
            raise queue.Interrupted

        kind.append(end)
        job = asked(office, corridor)
        with pytest.raises(queue.Interrupted):
            queue.run(taken(), clock)
        assert (fresh(job).state, fresh(job).tries) == ("waiting", 0)

    def test_the_database_refuses_a_running_job_without_worker(self, corridor: Corridor, office: Person) -> None:
        with pytest.raises(IntegrityError, match="job_runs_under_a_worker"):
            Job.objects.create(corridor=corridor, kind="x", asked_by=office, created_at=NOW, state="running")

    @pytest.mark.usefixtures("kind")
    def test_what_it_had_half_written_goes_and_what_is_being_written_stays(
        self, corridor: Corridor, office: Person, tmp_path: Path
    ) -> None:
        asked(office, corridor)
        lost = queue.Report(taken(), timedelta(minutes=1), clock).file("three.txt")
        lost.write_text("1")
        assert queue.clear(NOW) == 0
        queue.reap(LATER)
        current = queue.Report(taken(LATER), timedelta(minutes=1), clock).file("three.txt")
        current.write_text("1 2")
        assert queue.clear(LATER) == 1
        assert list(tmp_path.iterdir()) == [current]

    @pytest.mark.usefixtures("kind")
    def test_old_results_are_cleared_away(self, corridor: Corridor, office: Person, tmp_path: Path) -> None:
        job = asked(office, corridor)
        queue.run(taken(), clock)
        (tmp_path / "notes.txt").write_text("not ours")
        assert queue.clear(NOW + queue.KEPT) == 0
        assert queue.clear(NOW + queue.KEPT + timedelta(seconds=1)) == 1
        assert not fresh(job).has_result
        assert (tmp_path / "notes.txt").exists()


@pytest.mark.usefixtures("kind", "clock")
class TestPages:
    def url(self, name: str, job: Job) -> str:
        assert job.corridor is not None
        return reverse(f"jobs:{name}", args=[job.corridor.slug, job.pk])

    def test_a_member_downloads_the_result_and_a_stranger_gets_404(
        self, as_person: Any, corridor: Corridor, office: Person, auditor: Person, stranger: Person
    ) -> None:
        job = asked(office, corridor)
        assert as_person(auditor).get(self.url("result", job)).status_code == 404  # not done yet
        queue.run(taken(), clock)
        answer = as_person(auditor).get(self.url("result", job))
        assert b"".join(answer.streaming_content) == b"1 2 3"
        assert answer["Content-Disposition"] == 'attachment; filename="three.txt"'
        for name in ("job", "result"):
            assert as_person(stranger).get(self.url(name, job)).status_code == 404
        assert as_person(stranger).post(self.url("cancel", job)).status_code == 404

    def test_a_member_of_another_corridor_does_not_reach_it(
        self, as_person: Any, corridor: Corridor, office: Person
    ) -> None:
        other = open_corridor("juniper-road")
        grant(other, office, "office")
        job = asked(office, corridor)
        assert as_person(office).get(reverse("jobs:job", args=["juniper-road", job.pk])).status_code == 404

    def test_the_page_refreshes_itself_while_the_job_lasts_and_without_script(
        self, as_person: Any, corridor: Corridor, office: Person
    ) -> None:
        job = asked(office, corridor)
        client = as_person(office)
        page = client.get(self.url("job", job)).content.decode()
        assert 'hx-trigger="every 2s"' in page and "Look again" in page and "Cancel this job" in page
        part = client.get(self.url("job", job), headers={"HX-Request": "true"}).content.decode()
        assert part.startswith("<section") and "<html" not in part
        queue.run(taken(), clock)
        ended = client.get(self.url("job", job)).content.decode()
        assert "hx-trigger" not in ended and "Download three.txt" in ended and "Cancel" not in ended

    def test_only_who_asked_and_the_office_cancel(
        self, as_person: Any, corridor: Corridor, office: Person, auditor: Person, engineer: Person
    ) -> None:
        job = asked(auditor, corridor)
        as_person(engineer).post(self.url("cancel", job))
        assert fresh(job).state == "waiting"
        as_person(office).post(self.url("cancel", job))
        assert fresh(job).state == "cancelled"

    def test_the_list_costs_the_same_with_more_jobs(
        self, as_person: Any, corridor: Corridor, office: Person, django_assert_max_num_queries: Any
    ) -> None:
        for number in range(20):
            Job.objects.create(corridor=corridor, kind="gone", asked_by=office, created_at=NOW, arguments={"n": number})
        client = as_person(office)
        with django_assert_max_num_queries(8):
            page = client.get(reverse("jobs:jobs", args=[corridor.slug]))
        assert len(page.context["rows"]) == 20


def test_a_worker_beside_ends_when_its_server_does(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The real command, in its own data folder: closing its input ends it."""
    for name, value in (("DATA_DIR", str(tmp_path)), ("SECRET_KEY", "only-for-tests"), ("DATABASE_URL", "")):
        monkeypatch.setenv(name, value)
    monkeypatch.setenv("DJANGO_SETTINGS_MODULE", "apps.config.settings")
    with beside.worker() as child:
        assert child.stdin is not None
        with pytest.raises(subprocess.TimeoutExpired):
            child.wait(0.2)
        child.stdin.close()
        assert child.wait(30) is not None
