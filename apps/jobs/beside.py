"""A worker beside the server: a child process that ends with it, so that one command is enough on one machine."""

import subprocess
import sys
import threading
import time
from pathlib import Path

MANAGE = Path(__file__).resolve().parents[2] / "manage.py"
PAUSE_S = 5
"""Before a worker that ended is started again: it may have been killed for want of memory."""
_started = threading.Event()


def start() -> None:
    """Keep a worker running for the life of this process, started again when it is killed. Once a process, however often called."""
    if not _started.is_set():
        _started.set()
        threading.Thread(target=_keep, name="worker of jobs", daemon=True).start()


def _keep() -> None:
    while True:
        # Its input stays open while this process lives, and its end ends the worker: `manage.py work --beside`.
        with worker() as child:
            child.wait()
        time.sleep(PAUSE_S)


def worker() -> "subprocess.Popen[bytes]":
    """Start one worker that ends when its input is closed; where one runs already on this data folder, it waits its turn."""
    command = [sys.executable, str(MANAGE), "work", "--beside"]
    # What it writes goes where the server writes: with EMAIL_URL=console that is the mail.
    return subprocess.Popen(command, stdin=subprocess.PIPE)  # noqa: S603
