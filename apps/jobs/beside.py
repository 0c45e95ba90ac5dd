"""A worker beside the server: a child process that ends with it, so that one command is enough on one machine."""

import subprocess
import sys
from pathlib import Path

MANAGE = Path(__file__).resolve().parents[2] / "manage.py"
_held: list["subprocess.Popen[bytes]"] = []
"""Kept for the life of the server: the child ends when its input closes."""


def start() -> "subprocess.Popen[bytes]":
    """Start the worker, once a process. Its input stays open while this process lives; where one runs already, it waits its turn."""
    if not _held:
        command = [sys.executable, str(MANAGE), "work", "--beside"]
        _held.append(subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.DEVNULL))  # noqa: S603
    return _held[0]
