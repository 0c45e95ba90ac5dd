"""The outbox: letters put in, taken in small batches, given to the mail server, and each marked with what became of it.

Nothing is sent inside an act's transaction, nor inside any: a batch is taken (PostgreSQL: FOR UPDATE SKIP LOCKED; SQLite: the immediate
transaction), the mails go, the rows are marked. A worker killed in between leaves its batch as being sent; after a while that is
marked uncertain and not sent again, because nothing may come twice. What it told still waits on the pages and in the next digest.
"""

import logging
from collections.abc import Iterable
from datetime import datetime, timedelta
from itertools import groupby
from threading import Event
from typing import NamedTuple
from uuid import UUID

from django.core.mail import get_connection
from django.db import transaction
from django.db.models import F

from apps.mailing import compose
from apps.mailing.models import TRIES, Letter
from apps.mailing.readers import Reader
from apps.record.acts import cut

log = logging.getLogger(__name__)
BATCH = 50
"""Letters taken at once: so many are uncertain at most when a worker is killed."""
SILENCE = timedelta(minutes=15)
"""A batch that was taken so long ago has lost its worker."""
REST = timedelta(minutes=5)
"""After a refusal of the mail server, doubled with each."""
KEPT = timedelta(days=400)


class Wanted(NamedTuple):
    """A letter to be put in, if it was not before."""

    reader: Reader
    kind: str
    once: str
    corridor: UUID | None = None
    about: str = ""

    @property
    def key(self) -> tuple[int, str, str, UUID | None, str]:
        """What makes it the same letter."""
        return (self.reader.person.pk, self.kind, self.once, self.corridor, self.about)


def put(wanted: Iterable[Wanted], at: datetime) -> int:
    """Put letters in that their readers want; one that is there already stays alone. Returns how many were asked for."""
    rows = [
        Letter(
            person=each.reader.person,
            kind=each.kind,
            once=each.once,
            corridor_id=each.corridor,
            about=each.about,
            made_at=at,
            not_before=each.reader.free_at(at),
        )
        for each in wanted
        if each.reader.wants(each.kind)
    ]
    if rows:
        Letter.objects.bulk_create(rows, ignore_conflicts=True)
    return len(rows)


def take(at: datetime) -> list[Letter]:
    """Take the letters that may go now, a batch at most."""
    if not Letter.objects.due(at).exists():  # on SQLite a transaction would take the write lock for nothing
        return []
    with transaction.atomic():
        found = _whole(list(Letter.objects.due(at).select_for_update(skip_locked=True)[: BATCH + 1]))
        Letter.objects.filter(pk__in=[each.pk for each in found]).update(
            state="sending", taken_at=at, tries=F("tries") + 1
        )
    for each in found:
        each.tries += 1
    return found


def _whole(found: list[Letter]) -> list[Letter]:
    """Return a batch that does not end amid what belongs into one mail, unless that alone fills it."""
    if len(found) <= BATCH:
        return found
    groups = [list(group) for _, group in groupby(found, key=compose.together)]
    return [letter for group in groups[:-1] for letter in group] or found[:BATCH]


def send(at: datetime, stop: Event) -> int:
    """Send what is due, batch after batch, until nothing is or the worker is asked to end. Returns how many mails went."""
    went, facts = 0, compose.Facts(at)
    while not stop.is_set() and (batch := take(at)):
        went += _send(batch, facts, at)
    return went


def _send(batch: list[Letter], facts: compose.Facts, at: datetime) -> int:
    """Write and send a batch over one connection; what becomes of each letter is marked before the next batch."""
    ends, went = _Ends(at), 0
    mails, kept = compose.mails(batch, facts, at)
    for letter, reason in kept.dropped:
        ends.mark(letter, "dropped", reason)
    for letter, until in kept.later:
        Letter.objects.filter(pk=letter.pk, state="sending").update(
            state="waiting", not_before=until, tries=F("tries") - 1
        )
    try:
        if mails:
            went = _give(mails, ends)
    finally:
        ends.write()
    return went


def _give(mails: list[compose.Mail], ends: "_Ends") -> int:
    """Give mails to the mail server over one connection; return how many it took.

    A server that took a mail and lost the line before it said so gets it again later, under the same Message-ID.
    """
    connection, went = get_connection(), 0
    try:
        connection.open()
    except OSError as fault:  # smtplib's own among them
        log.warning("the mail server is not to be reached: %s", type(fault).__name__)
        for each in mails:
            ends.refuse(each.letters, fault)
        return 0
    try:
        for each in mails:
            try:
                connection.send_messages([each.message])
            except Exception as fault:  # an address that cannot be spelled must not cost the others their mail
                log.warning("a mail was not taken: %s", type(fault).__name__)
                ends.refuse(each.letters, fault)
            else:
                went += 1
                ends.sent += each.letters
    finally:
        connection.close()
    return went


class _Ends:
    """What became of a batch: sent in one update, the few others one by one."""

    def __init__(self, at: datetime) -> None:
        self.at = at
        self.sent: list[Letter] = []

    def mark(self, letter: Letter, state: str, why: str) -> None:
        Letter.objects.filter(pk=letter.pk, state="sending").update(state=state, why=cut(why, 200), ended_at=self.at)

    def refuse(self, letters: list[Letter], fault: Exception) -> None:
        """Try again after a rest, a few times; the address never goes into a log or a reason."""
        for letter in letters:
            why = f"The mail server did not take it ({type(fault).__name__})."
            if letter.tries >= TRIES:
                self.mark(letter, "failed", why)
                continue
            rest = REST * 2 ** (letter.tries - 1)
            Letter.objects.filter(pk=letter.pk, state="sending").update(
                state="waiting", why=why, not_before=self.at + rest
            )

    def write(self) -> None:
        if self.sent:
            rows = Letter.objects.filter(pk__in=[each.pk for each in self.sent])
            rows.update(state="sent", why="", ended_at=self.at)


def reap(at: datetime) -> int:
    """Mark what a killed worker had in hand as uncertain, and return how many."""
    lost = Letter.objects.filter(state="sending", taken_at__lt=at - SILENCE)
    return lost.update(state="uncertain", ended_at=at, why="Its worker was killed over it; it may have gone.")


def clear(at: datetime) -> None:
    """Forget letters of long ago."""
    old = Letter.objects.filter(made_at__lt=at - KEPT)
    if old.exists():
        old.delete()
