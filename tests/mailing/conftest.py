"""A worker's minute at a moment, and the mails that it sent by address."""

from collections.abc import Callable
from datetime import datetime
from threading import Event
from typing import Any

import pytest
from django.core.mail import EmailMessage

from apps.corridor.models import Corridor
from apps.mailing import minute

Box = Callable[[str], list[EmailMessage]]


@pytest.fixture
def pass_minute(corridor: Corridor) -> Callable[[datetime], None]:
    """Let the worker look once at a moment."""

    def look(at: datetime) -> None:
        minute.mail(at, Event())

    return look


@pytest.fixture
def box(mailoutbox: list[Any]) -> Box:
    """Return the mails to a sign-in name, taken out of the box; digests only where they are asked for."""

    def taken(name: str, *, digests: bool = False) -> list[EmailMessage]:
        to = [mail for mail in mailoutbox if mail.to == [f"{name}@example.org"]]
        found = [mail for mail in to if ("The day's digest:" in mail.body) == digests]
        for mail in found:
            mailoutbox.remove(mail)
        return found

    return taken
