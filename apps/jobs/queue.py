"""The queue: asking, cancelling, taking, running, and finding what a killed worker left behind.

The table is the queue, so nothing else is installed and a restart loses nothing. A job is taken under its row's lock (PostgreSQL:
FOR UPDATE SKIP LOCKED; SQLite: the immediate transaction is the lock). From then on every word about it is one UPDATE that
names state and worker: a job that was cancelled, or given to another worker, takes no word from the old one, and the old one
learns it from the count of rows and stops. The clock is read by the caller, as everywhere.
"""

import logging
import re
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

from django.conf import settings
from django.db import transaction
from django.db.models import F

from apps.corridor.models import Corridor
from apps.jobs import registry
from apps.jobs.models import TRIES, Job, JobQuerySet, result_path
from apps.people.models import Person
from apps.record.acts import Refused, cut

log = logging.getLogger(__name__)
SILENCE = timedelta(minutes=2)
"""A running job whose worker said nothing for this long has lost it. A kind reports at least every minute."""
KEPT = timedelta(days=14)
"""How long a result is kept."""
UNDER_WAY_EACH = 3
"""How many jobs of one person may wait or run: a queue is shared."""

Clock = Callable[[], datetime]
_OURS = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}(\.|$)")


class Stopped(Exception):
    """The job is no longer this worker's: cancelled, or given to another."""


class Interrupted(BaseException):
    """The worker is asked to end. No Exception, so that a job's own handling does not swallow it."""


class OverTime(Exception):
    """The job took longer than its kind may."""


# ---- asking


def ask(
    *, kind: str, by: Person, at: datetime, corridor: Corridor | None = None, arguments: dict[str, Any] | None = None
) -> Job:
    """Put a job into the queue; the same question while one waits or runs is that one. Refused when a person has too many."""
    found, arguments = registry.find(kind), arguments or {}
    with transaction.atomic():
        # The person's row is the lock: two clicks at once are one job.
        Person.objects.select_for_update().get(pk=by.pk)
        mine = list(Job.objects.under_way().filter(asked_by=by))
        for each in mine:
            if (each.kind, each.corridor_id, each.arguments) == (kind, corridor and corridor.pk, arguments):
                return each
        if len(mine) >= UNDER_WAY_EACH:
            raise Refused(
                f"{len(mine)} of your jobs wait or run already. Wait for one of them, or cancel it, then ask for: {found.title.lower()}."
            )
        return Job.objects.create(corridor=corridor, kind=kind, asked_by=by, arguments=arguments, created_at=at)


def cancel(*, job: Job, at: datetime) -> bool:
    """Cancel a job that waits or runs, and say whether it did; one that ended stays as it ended. A worker stops at its next word."""
    ended = {"state": "cancelled", "ended_at": at, "worker": None, "now_at": ""}
    return bool(Job.objects.under_way().filter(pk=job.pk).update(**ended))


# ---- working


class Report:
    """A worker's words about its job: `report(done, total, "LP-047")` after each step, `report.file("x.zip")` for the result."""

    def __init__(self, job: Job, limit: timedelta, clock: Clock) -> None:
        self.job, self.limit, self.clock = job, limit, clock
        self.begun = clock()

    def __call__(self, done: int, total: int, now_at: str = "") -> None:
        """Say how far the job is. Stopped when it was cancelled or taken away; OverTime past its limit."""
        at = self.clock()
        words = {"done": done, "total": total, "now_at": cut(now_at, 120), "heartbeat_at": at}
        if not _mine(self.job).update(**words):
            raise Stopped(f"job {self.job.pk} is no longer this worker's")
        if at - self.begun > self.limit:
            raise OverTime

    def file(self, name: str) -> Path:
        """Return where the result is written, to be offered under a name; it counts once the job is done."""
        self.job.result_name = cut(name, 120)
        path = _unfinished(self.job)
        path.parent.mkdir(parents=True, exist_ok=True)
        return path


def _mine(job: Job) -> JobQuerySet:
    """Return the row while it runs under this very start."""
    return Job.objects.filter(pk=job.pk, state="running", worker=job.worker)


def _unfinished(job: Job) -> Path:
    return result_path(job.pk).with_suffix(f".{job.worker}.part")


def take(at: datetime) -> Job | None:
    """Begin the oldest job that waits; None when there is none."""
    if not Job.objects.waiting().exists():  # on SQLite a transaction would take the write lock for nothing
        return None
    with transaction.atomic():
        job = Job.objects.waiting().select_for_update(skip_locked=True).first()
        if job is None:
            return None
        job.state, job.worker, job.tries = Job.State.RUNNING, uuid4(), job.tries + 1
        job.started_at = job.heartbeat_at = at
        job.done, job.now_at = 0, ""
        job.save(update_fields=["state", "worker", "tries", "started_at", "heartbeat_at", "done", "now_at"])
    return job


def run(job: Job, clock: Clock) -> None:
    """Do a job that was taken, and write how it ended. Interrupted goes through, with the job back in the queue."""
    try:
        kind = registry.find(job.kind)
        report = Report(job, kind.limit, clock)
        kind.work(job, report)
        _finish(job, clock())
    except Stopped:
        log.info("job %s stopped: cancelled or taken away", job.pk)
    except Interrupted:
        _mine(job).update(state="waiting", worker=None, tries=F("tries") - 1, now_at="")
        raise
    except Exception as fault:
        log.exception("job %s failed", job.pk)
        _mine(job).update(state="failed", error=cut(_sentence(job, fault), 400), ended_at=clock(), worker=None)
    finally:
        _unfinished(job).unlink(missing_ok=True)


def _finish(job: Job, at: datetime) -> None:
    """Put the result in its place, then say so: a download that is offered is whole."""
    with transaction.atomic():
        if not _mine(job).update(state="done", ended_at=at, heartbeat_at=at, now_at="", result_name=job.result_name):
            raise Stopped(f"job {job.pk} is no longer this worker's")
        if job.result_name:
            _unfinished(job).replace(result_path(job.pk))


def _sentence(job: Job, fault: Exception) -> str:
    """Say to the person who asked why it failed; the worker's log has the rest."""
    if isinstance(fault, Refused):
        return " ".join(fault.reasons)
    if isinstance(fault, OverTime):
        return f"It took longer than {registry.find(job.kind).limit} and was stopped. Ask for less at once."
    if isinstance(fault, MemoryError):
        return "It needed more memory than a job may take. Ask for less at once."
    if isinstance(fault, registry.UnknownKind):
        return "This version of the program does not know this kind of job any more. Ask again."
    return f"Something unforeseen stopped it ({type(fault).__name__}); the log has it under {job.pk}. No record was changed. Ask again."


# ---- after a worker's death


def reap(at: datetime) -> int:
    """Put back into the queue what a killed worker left running; failed after TRIES starts. Returns how many were found."""
    silent = Job.objects.filter(state="running", heartbeat_at__lt=at - SILENCE)
    given_up = silent.filter(tries__gte=TRIES).update(
        state="failed",
        ended_at=at,
        worker=None,
        error=f"Its worker was lost {TRIES} times, the last time without a word. The machine may lack memory. Ask for less at once.",
    )
    return given_up + silent.update(state="waiting", worker=None, now_at="")


def clear(at: datetime) -> int:
    """Remove results older than KEPT, and what killed workers left half written; return how many files went."""
    folder = Path(settings.RESULTS_ROOT)
    if not folder.is_dir():
        return 0
    there = list(folder.iterdir())  # before the rows are read: what is begun meanwhile is not in the list
    running = list(Job.objects.filter(state="running"))
    recent = Job.objects.filter(state="done", ended_at__gte=at - KEPT)
    kept = {result_path(pk) for pk in recent.values_list("pk", flat=True)}
    kept |= {path for job in running for path in (_unfinished(job), result_path(job.pk))}
    gone = [path for path in there if _OURS.match(path.name) and path not in kept]
    for path in gone:
        path.unlink(missing_ok=True)
    return len(gone)
