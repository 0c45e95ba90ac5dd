"""The record: appending against bare inserts of the same rows, proofs against looking rows up by their key.

It works in a database of its own beside the configured one, made for the run and dropped after it.
"""

import atexit
import os
import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from multiprocessing import get_context
from typing import Any
from uuid import UUID

from django.db import connection, transaction

from apps.config.benches.timing import Case, Differs
from apps.record import merkle, proofs
from apps.record.acts import enter, open_log
from apps.record.ids import uuid7
from apps.record.models import Entry, Head, Node

APPENDS = 64
"""Entries of one measurement."""
WRITERS, LOGS = 16, 8
PROOFS = 50
AT = datetime(2026, 3, 2, 15, tzinfo=UTC)
PAYLOAD = {
    "stage": "pour",
    "attempt": 1,
    "measured": [{"requirement": f"pour.{n}", "value": "7 in"} for n in range(30)],
}


@dataclass
class _Pole:
    """What is entered about."""

    mark: str
    station_ft: Decimal


class _Writer:
    """Somebody who enters."""

    def get_username(self) -> str:
        """Return the sign-in name."""
        return "t.nakai"

    def __str__(self) -> str:
        return "T. Nakai"


def cases(sizes: Sequence[int] = ()) -> Iterator[Case]:
    """Yield appending and proving at each number of entries, and appending by many writers where the database takes them."""
    connection.settings_dict["OPTIONS"].pop("pool", None)  # a pool's threads do not live through a fork
    name = connection.creation.create_test_db(verbosity=0, autoclobber=True, serialize=False)
    atexit.register(_drop, name)
    for size in sizes or (10_000, 1_000_000):
        log = _filled(size)
        yield Case(
            "append one by one", size, _appending(log), _inserting(), f"bare inserts of the same rows, {APPENDS}"
        )
        yield Case(f"{PROOFS} inclusion proofs", size, _proving(log, size), _looking_up(log, size), "look-ups by key")
        yield Case(
            f"{PROOFS} consistency proofs", size, _extending(log, size), _looking_up(log, size), "look-ups by key"
        )
    if connection.vendor == "postgresql":
        logs = [_filled(0) for _ in range(LOGS)]
        yield Case(
            f"append, {WRITERS} writers, {LOGS} records",
            WRITERS * APPENDS,
            _together([_appending(logs[writer % LOGS]) for writer in range(WRITERS)]),
            _together([_inserting() for _ in range(WRITERS)]),
            "bare inserts of the same rows",
        )


def _drop(name: str) -> None:
    connection.close()
    connection.creation.destroy_test_db(name, verbosity=0)


def _filled(size: int) -> UUID:
    """Return a log whose tree has so many leaves; the entries themselves are left out, no proof and no append reads them."""
    log = uuid7()
    open_log(log=log, origin="Bench", at=AT)
    peaks: list[bytes] = []
    rows: list[Node] = []
    for place in range(size):
        peaks, made = merkle.append(place, peaks, merkle.leaf_hash(place.to_bytes(8, "big")))
        rows += [Node(log=log, level=level, place=at, hash=each.hex()) for level, at, each in made]
        if len(rows) >= 20_000:
            Node.objects.bulk_create(rows)
            rows = []
    Node.objects.bulk_create(rows)
    Head.objects.filter(log=log).update(size=size, peaks=[each.hex() for each in peaks], root=merkle.root(peaks).hex())
    return log


def _appending(log: UUID) -> Callable[[], None]:
    """Return work that appends, each entry in a transaction of its own, as an act does."""
    by, pole = _Writer(), _Pole("LP-047", Decimal(23140))

    def work() -> None:
        for number in range(APPENDS):
            with transaction.atomic():
                enter(
                    log=log, act="submit_inspection", subject="LP-047/pour", by=by, role="inspector",
                    at=AT + timedelta(seconds=number), payload=PAYLOAD, about=pole,
                )  # fmt: skip

    return work


def _inserting() -> Callable[[], None]:
    """Return work that writes as many rows as appending does, and computes and locks nothing."""
    text = "x" * 2500
    columns: dict[str, Any] = {
        "act": "submit_inspection", "subject": "LP-047/pour", "mark": "LP-047", "station": "23140", "actor": "t.nakai",
        "actor_name": "T. Nakai", "role": "inspector", "device_at": AT, "received_at": AT, "payload": PAYLOAD, "text": text,
        "leaf": "0" * 64,
    }  # fmt: skip

    def work() -> None:
        log = uuid7()
        open_log(log=log, origin="Bench", at=AT)
        for number in range(APPENDS):
            with transaction.atomic():
                Entry.objects.create(log=log, sequence=number + 1, **columns)
                Node.objects.bulk_create(Node(log=log, level=each, place=number, hash="0" * 64) for each in range(2))
                Head.objects.filter(log=log).update(
                    size=number,
                    peaks=["0" * 64] * 12,
                    root="0" * 64,
                    changed_at=AT,
                    statement=text[:300],
                    signature="0" * 128,
                )

    return work


def _together(works: list[Callable[[], None]]) -> Callable[[], None]:
    """Return work that does several at once, each in a process of its own, as servers are; their start counts on both sides."""
    fork = get_context("fork")

    def one(work: Callable[[], None]) -> None:
        work()
        connection.close()
        os._exit(0)  # what is to be done at the end of the run is its parent's

    def work() -> None:
        connection.close()
        running = [fork.Process(target=one, args=[each]) for each in works]
        for each in running:
            each.start()
        for each in running:
            each.join()
        if any(each.exitcode for each in running):
            raise Differs("a writer failed: its time says nothing")

    return work


def _chosen(size: int) -> list[int]:
    return random.Random(size).sample(range(1, size + 1), min(PROOFS, size))  # noqa: S311  a drawing of lots, not a secret


def _proving(log: UUID, size: int) -> Callable[[], None]:
    chosen = _chosen(size)

    def work() -> None:
        for sequence in chosen:
            proofs.inclusion(log, [sequence], size)

    return work


def _extending(log: UUID, size: int) -> Callable[[], None]:
    chosen = _chosen(size)

    def work() -> None:
        for old in chosen:
            proofs.consistency(log, old, size)

    return work


def _looking_up(log: UUID, size: int) -> Callable[[], None]:
    """Return work that reads one row by its key, as often."""
    keys = list(
        Node.objects.filter(log=log, level=0, place__in=[each - 1 for each in _chosen(size)]).values_list(
            "pk", flat=True
        )
    )

    def work() -> None:
        for key in keys:
            Node.objects.get(pk=key)

    return work
