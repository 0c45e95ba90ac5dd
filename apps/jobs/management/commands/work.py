"""`manage.py work`: the worker of background jobs."""

import os
import signal
import sys
import threading
import time
from argparse import ArgumentParser
from datetime import timedelta
from pathlib import Path
from types import FrameType
from typing import IO, Any

from django.conf import settings
from django.core.management.base import BaseCommand
from django.db import close_old_connections
from django.utils import timezone

from apps.jobs import minute, queue, registry
from apps.jobs.models import Job

TIDY_EVERY = timedelta(minutes=1)
MEMORY_BYTES = 4 * 1024**3
"""Address space of a worker: a job that wants more fails alone, instead of taking the machine with it."""


class Command(BaseCommand):
    """Take jobs one after another, and send mail beside them, until asked to end; what is under way then goes back into the queue."""

    help = "Works on background jobs, one after another, and sends mail. Several workers may run, also on several machines."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Add the options."""
        parser.add_argument("--once", action="store_true", help="end when nothing waits")
        parser.add_argument("--pause", type=float, default=1.0, help="seconds between looks at an empty queue")
        parser.add_argument(
            "--beside", action="store_true", help="end with the process that holds this one's input open; one at a time"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Work until asked to end."""
        held: IO[str] | None = None
        try:
            if options["beside"]:
                threading.Thread(target=_end_with_parent, daemon=True).start()
                held = _alone()
            _limit_memory()
            for name in (signal.SIGTERM, signal.SIGINT):
                signal.signal(name, _interrupt)
            if options["once"]:
                minute.look(timezone.now(), threading.Event())
                self._work(once=True, pause=options["pause"])
                return
            with minute.Minute():
                self._work(once=False, pause=options["pause"])
        except queue.Interrupted:
            self.stderr.write("The worker ends; what was under way is back in the queue.")
        finally:
            if held is not None:
                held.close()

    def _work(self, *, once: bool, pause: float) -> None:
        """Take and run jobs; look after what other workers left, once a minute."""
        tidied = None
        while True:
            close_old_connections()
            now = timezone.now()
            if tidied is None or now - tidied > TIDY_EVERY:
                queue.reap(now)
                queue.clear(now)
                tidied = now
            job = queue.take(now)
            if job is not None:
                self.stdout.write(f"{job.kind} {job.pk}, try {job.tries}")
                _run(job)
            elif once:
                return
            else:
                time.sleep(pause)


def _run(job: Job) -> None:
    """Run a job under an alarm of its kind's limit, for a step that never reports."""
    if sys.platform == "win32" or job.kind not in registry.KINDS:
        queue.run(job, timezone.now)
        return
    signal.signal(signal.SIGALRM, _over_time)
    signal.setitimer(signal.ITIMER_REAL, registry.find(job.kind).limit.total_seconds())
    try:
        queue.run(job, timezone.now)
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)


def _over_time(number: int, where: FrameType | None) -> None:
    raise queue.OverTime


def _interrupt(number: int, where: FrameType | None) -> None:
    raise queue.Interrupted


def _end_with_parent() -> None:
    """Wait for the end of our input, which the server holds open while it lives, however it dies."""
    sys.stdin.buffer.read()
    os.kill(os.getpid(), signal.SIGTERM)


def _alone() -> "IO[str] | None":
    """Wait until no other worker runs beside a server of this data folder, and hold the place."""
    if sys.platform == "win32":
        return None
    import fcntl

    file = (Path(settings.DATA_DIR) / "worker.lock").open("w")
    fcntl.flock(file, fcntl.LOCK_EX)
    return file


def _limit_memory() -> None:
    if sys.platform == "win32":
        return
    import resource

    _, hard = resource.getrlimit(resource.RLIMIT_AS)
    wanted = MEMORY_BYTES if hard == resource.RLIM_INFINITY else min(MEMORY_BYTES, hard)
    resource.setrlimit(resource.RLIMIT_AS, (wanted, hard))
