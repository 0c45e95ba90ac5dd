"""Signed heads: what a record was at a moment, in one sentence that anybody can keep and hold against it years later."""

import json
from collections.abc import Callable, Iterable
from datetime import UTC, date, datetime, timedelta
from typing import NamedTuple
from uuid import UUID

from apps.record import signing
from apps.record.canonical import canonical
from apps.record.models import Head, SignedHead

EVERY = timedelta(minutes=5)
"""A head is kept for good at least this often while the record grows, and at each release."""


ADVANCED = ("size", "peaks", "root", "changed_at", "statement", "signature", "kept_at")
"""Columns of a head that an entry changes."""


class Kept(NamedTuple):
    """A signed head as it leaves the house: the statement is canonical JSON, the signature is over its bytes."""

    statement: str
    signature: str

    @property
    def said(self) -> dict[str, str | int]:
        """What the statement says: origin, log, size, root, at, key."""
        found: dict[str, str | int] = json.loads(self.statement)
        return found

    @property
    def key(self) -> str:
        """The public key that it names."""
        return str(self.said["key"])

    @property
    def size(self) -> int:
        """How many entries it covers."""
        return int(self.said["size"])

    @property
    def root(self) -> str:
        """Their root."""
        return str(self.said["root"])

    def is_signed(self) -> bool:
        """Say whether the signature is by the key that the statement names. Whether that is the right key, it does not say."""
        return signing.is_signed(self.key, self.statement.encode(), self.signature)

    def as_text(self) -> str:
        """Return it as a file holds it."""
        return canonical({"statement": self.said, "signature": self.signature}) + "\n"


def from_text(text: str) -> Kept:
    """Return a head from a file. ValueError with a sentence if it is none."""
    try:
        kept = json.loads(text)
        statement, signature = canonical(kept["statement"]), str(kept["signature"])
        found = Kept(statement, signature)
        log = UUID(str(found.said["log"]))
        if not (found.size >= 0 and len(bytes.fromhex(found.root)) == 32 and found.key and log):
            raise ValueError
    except (KeyError, TypeError, ValueError, AttributeError) as fault:
        raise ValueError("This is no signed head of a record.") from fault
    return found


def statement(head: Head, key: str) -> str:
    """Return what is signed of a head."""
    return canonical(
        {
            "origin": head.origin,
            "log": str(head.log),
            "size": head.size,
            "root": head.root,
            "at": head.changed_at.astimezone(UTC).isoformat(timespec="microseconds"),
            "key": key,
        }
    )


def advance(head: Head, at: datetime, *, keep: bool) -> None:
    """Sign a head that has grown, and keep the signature for good where it is time to, or asked. Called with its lock held."""
    key = signing.public_key()
    head.statement = statement(head, key)
    head.signature = signing.sign(head.statement.encode()).signature
    if keep or head.kept_at is None or at - head.kept_at >= EVERY or at < head.kept_at:
        SignedHead.objects.create(
            log=head.log, size=head.size, statement=head.statement, signature=head.signature, at=at
        )
        head.kept_at = at


def current(log: UUID) -> Kept | None:
    """Return the newest signed head of a log; None while it has no entry."""
    head = Head.objects.get(log=log)
    return Kept(head.statement, head.signature) if head.signature else None


def newest(logs: Iterable[UUID]) -> dict[UUID, Kept]:
    """Return the newest signed head of each log that has an entry: one query."""
    rows = Head.objects.filter(log__in=list(logs)).exclude(signature="")
    return {head.log: Kept(head.statement, head.signature) for head in rows}


def daily(log: UUID, day: Callable[[datetime], date], size: int | None = None) -> dict[date, SignedHead]:
    """Return the last kept head of each local day, the oldest first; of those that cover at most `size` entries where it is given."""
    kept = SignedHead.objects.filter(log=log).order_by("size")
    return {day(row.at): row for row in (kept if size is None else kept.filter(size__lte=size))}


def upto(log: UUID, size: int) -> Kept | None:
    """Return the first kept head that covers so many entries, else the newest."""
    row = SignedHead.objects.filter(log=log, size__gte=size).order_by("size", "pk").first()
    return Kept(row.statement, row.signature) if row else current(log)
