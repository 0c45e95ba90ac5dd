"""The worker's minute: what is looked at again and again while a worker lives, such as mail. What is due is read from the database.

An app above registers a function `(at, stop)` with `@each_minute`. It is called about once a minute in every worker, in a thread beside
the jobs, so that an hour's job does not hold it up; several workers call it at the same time. `stop` is set when the worker is asked
to end: the function then ends after what it has in hand.
"""

import logging
import threading
from collections.abc import Callable
from datetime import datetime

from django.db import close_old_connections, connections
from django.utils import timezone

log = logging.getLogger(__name__)
PAUSE_S = 60.0
ENDS_WITHIN_S = 20.0
"""How long a worker that is asked to end waits for a mail in hand; a mail server answers within 10 s or not at all."""

Look = Callable[[datetime, threading.Event], None]
LOOKS: dict[str, Look] = {}


def each_minute(name: str) -> Callable[[Look], Look]:
    """Register what is to be looked at each minute. ValueError for a name that is taken."""

    def register(look: Look) -> Look:
        if name in LOOKS:
            raise ValueError(f"something is looked at each minute as {name!r} already")
        LOOKS[name] = look
        return look

    return register


def look(at: datetime, stop: threading.Event) -> None:
    """Look at everything once. A fault in one goes to the log and stops neither the others nor the worker."""
    for name, each in LOOKS.items():
        if stop.is_set():
            return
        try:
            each(at, stop)
        except Exception:
            log.exception("the minute's %s failed; it is tried again in a minute", name)


class Minute:
    """A thread that looks each minute, for a with block: it ends with it, after what it has in hand."""

    def __init__(self) -> None:
        self.stop = threading.Event()
        self.thread = threading.Thread(target=self._go, name="each minute", daemon=True)

    def __enter__(self) -> "Minute":
        self.thread.start()
        return self

    def __exit__(self, *fault: object) -> None:
        self.stop.set()
        self.thread.join(ENDS_WITHIN_S)

    def _go(self) -> None:
        try:
            while not self.stop.is_set():
                close_old_connections()
                look(timezone.now(), self.stop)
                self.stop.wait(PAUSE_S)
        finally:
            connections.close_all()
