"""Entering into the record, and what makes every act of the domain atomic, answerable and repeatable.

An act is a function decorated with `@act`. It is called with keywords only, among them `by` (who), `at` (the server's clock, read
at the edge), `client_id` (made by the client, so that the same submission twice is one submission) and optionally `device_at`.
Rows, entry and counts are written in one transaction; whatever the act returns is kept and given again to a repeat.
"""

import inspect
from collections.abc import Callable, Iterable
from datetime import UTC, date, datetime
from decimal import Decimal
from fractions import Fraction
from functools import wraps
from hashlib import sha256
from typing import Any, ParamSpec, Protocol, TypeVar
from uuid import UUID

from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.db import IntegrityError, models, transaction

from apps.record import heads, merkle
from apps.record.canonical import canonical, members
from apps.record.models import Entry, Head, Node, Receipt
from apps.record.rows import named
from apps.record.signing import KeyMissing

P = ParamSpec("P")
Row = TypeVar("Row", bound=models.Model)
Answer = dict[str, Any]


class Refused(Exception):
    """An act that may not be done now, or not by this person. `reasons` are sentences, the same that the page shows."""

    def __init__(self, *reasons: str) -> None:
        super().__init__(" ".join(reasons))
        self.reasons = reasons


class OtherPayload(Refused):
    """The same client id came with other content: 422 for a machine, a question for a person."""


def within(text: str, longest: int, what: str) -> str:
    """Return a person's text without blanks around it. Refused, naming `what`, if it is longer than its place in the record."""
    text = text.strip()
    if len(text) > longest:
        raise Refused(f"{what} has {len(text)} characters; at most {longest} are kept. Say it shorter.")
    return text


def cut(text: str, longest: int) -> str:
    """Return a text that the program wrote, cut to its column; the whole of it stands in the entry's payload."""
    return text if len(text) <= longest else f"{text[: longest - 1]}…"


def checked(row: Row, *leave: str) -> Row:
    """Return a row whose fields keep their rules. Refused with a sentence for each that does not.

    `leave` names fields that are not looked at.
    """
    try:
        row.full_clean(exclude=leave)
    except ValidationError as fault:
        raise Refused(*_sentences(row, fault)) from fault
    return row


def _sentences(row: models.Model, fault: ValidationError) -> list[str]:
    """Say what is wrong, each with its field in front."""
    said = []
    for name, messages in fault.message_dict.items():
        label = "" if name == NON_FIELD_ERRORS else f"{str(row._meta.get_field(name).verbose_name).capitalize()}: "  # type: ignore[union-attr]
        said += [f"{label}{message}" for message in messages]
    return said


_PLAIN = frozenset((str, int, bool, type(None)))
"""Types that stay as they are, looked at first: most values of a payload are text."""


def plain(value: Any) -> Any:
    """Return a value as canonical JSON can hold it: rows by key, times in RFC 3339 and UTC, exact numbers as text, files by hash."""
    if type(value) in _PLAIN:
        return value
    if isinstance(value, models.Model):
        return str(value.pk)
    if isinstance(value, datetime):
        if value.tzinfo is None:
            raise ValueError(f"{value} has no time zone: a record needs one")
        return value.astimezone(UTC).isoformat(timespec="microseconds")
    if isinstance(value, Decimal | Fraction | UUID | date):
        return str(value)
    if isinstance(value, UploadedFile | bytes):
        return _hash(value)
    if isinstance(value, dict):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple | set | frozenset):
        return [plain(item) for item in value]
    return value


def _hash(value: "UploadedFile[Any] | bytes") -> str:
    """Return the SHA-256 of a file's bytes; an upload is left at its beginning."""
    if isinstance(value, bytes):
        return sha256(value).hexdigest()
    value.seek(0)
    digest = sha256(value.read()).hexdigest()
    value.seek(0)
    return digest


def _fingerprint(name: str, arguments: dict[str, Any]) -> str:
    counted = {
        key: plain(value) for key, value in arguments.items() if key not in {"by", "at", "client_id", "device_at"}
    }
    return sha256(canonical({"act": name, "arguments": counted}).encode()).hexdigest()


def _first_answer(actor: str, client_id: UUID, fingerprint: str) -> Answer | None:
    receipt = Receipt.objects.filter(actor=actor, client_id=client_id).first()
    if receipt is None:
        return None
    if receipt.fingerprint != fingerprint:
        raise OtherPayload(
            "This submission was received before with other content. Nothing was changed: open the page again and send anew."
        )
    return dict(receipt.answer)


def answered(actor: str, client_ids: Iterable[UUID]) -> int:
    """Return how many of these client ids of a person were acted on already. One query."""
    return Receipt.objects.filter(actor=actor, client_id__in=list(client_ids)).count()


def act(function: Callable[P, Answer]) -> Callable[P, Answer]:
    """Make a function an act: one transaction, one effect per (person, client id), the first answer to every repeat.

    Raises what the act raises, mostly Refused; OtherPayload when the client id is known with other arguments.
    """
    name = function.__name__
    wanted = {"by", "at", "client_id"}
    if missing := wanted - set(inspect.signature(function).parameters):
        raise TypeError(f"act {name} lacks {sorted(missing)}")

    @wraps(function)
    def once(*args: P.args, **kwargs: P.kwargs) -> Answer:
        if args:
            raise TypeError(f"{name} takes keywords only")
        actor, client_id = kwargs["by"].get_username(), kwargs["client_id"]  # type: ignore[attr-defined]
        assert isinstance(client_id, UUID) and isinstance(kwargs["at"], datetime)
        fingerprint = _fingerprint(name, kwargs)
        known = _first_answer(actor, client_id, fingerprint)
        if known is not None:
            return known
        try:
            with transaction.atomic():
                answer = plain(function(*args, **kwargs))
                Receipt.objects.create(
                    actor=actor, client_id=client_id, act=name, fingerprint=fingerprint, answer=answer, at=kwargs["at"]
                )
        except (IntegrityError, Refused):
            # A twin of this submission may have been quicker: then its answer is the answer.
            known = _first_answer(actor, client_id, fingerprint)
            if known is None:
                raise
            return known
        return dict(answer)

    once.is_act = True  # type: ignore[attr-defined]
    return once


def open_log(*, log: UUID, origin: str, at: datetime) -> None:
    """Begin a corridor's record: an empty tree. Nothing if it exists."""
    Head.objects.get_or_create(log=log, defaults={"origin": origin, "root": merkle.EMPTY_ROOT.hex(), "changed_at": at})


class Stationed(Protocol):
    """What an entry may be about: a mark at a station [ft] of the road."""

    mark: str
    station_ft: Decimal


def enter(
    *,
    log: UUID,
    act: str,
    subject: str,
    by: Any,
    role: str,
    at: datetime,
    payload: dict[str, Any],
    device_at: datetime | None = None,
    about: Stationed | None = None,
    rows: Iterable[models.Model] = (),
    keep_head: bool = False,
) -> Entry:
    """Append one entry to a log and advance its signed head. Called inside an act's transaction.

    `about` is the foundation that it tells of, whose history it is part of. `rows` are all rows that the act wrote or is about to
    write: the entry names each with its digest. `keep_head`: the head signed here is kept for good, whatever the time. The head's
    row lock is taken here and held to the commit: it is what gives the log one order.
    """
    columns: dict[str, Any] = {
        "log": log,
        "act": act,
        "subject": subject,
        "mark": about.mark if about else "",
        "station": str(about.station_ft) if about else "",
        "actor": by.get_username(),
        "actor_name": str(by),
        "role": role,
        "device_at": device_at or at,
        "received_at": at,
        "payload": plain(payload),
    }
    if written := named(rows):
        columns["rows"] = written
    # Everything is spelled before the lock is taken, so that others wait for the writing alone.
    spelled = {name: canonical(value if name == "payload" else plain(value)) for name, value in columns.items()}
    head = Head.objects.select_for_update().get(log=log)
    sequence = head.size + 1
    text = members({**spelled, "sequence": str(sequence)})
    leaf = merkle.leaf_hash(text.encode())
    peaks, made = merkle.append(head.size, [bytes.fromhex(peak) for peak in head.peaks], leaf)
    entry = Entry.objects.create(**columns, sequence=sequence, text=text, leaf=leaf.hex())
    Node.objects.bulk_create(Node(log=log, level=level, place=place, hash=node.hex()) for level, place, node in made)
    head.size, head.root, head.changed_at = sequence, merkle.root(peaks).hex(), at
    head.peaks = [peak.hex() for peak in peaks]
    try:
        heads.advance(head, at, keep=keep_head)
    except KeyMissing as fault:
        raise Refused(
            "The key that signs the record is missing from the server, so nothing was written. Keep what you typed, and tell the "
            "administrator: the file is put back, or manage.py rotate_key --lost begins another key."
        ) from fault
    Head.objects.filter(log=log).update(**{name: getattr(head, name) for name in heads.ADVANCED})
    return entry
