"""What happened since the last look, read from the record's entries: acts need not know of mail, and one that failed left no entry."""

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from typing import NamedTuple
from uuid import UUID

from django.db import transaction

from apps.corridor.models import Corridor, Foundation
from apps.findings.models import Finding
from apps.holdpoints.models import Inspection
from apps.mailing import kinds, outbox
from apps.mailing.models import Bookmark
from apps.mailing.readers import Reader, readers
from apps.record.models import Entry, Head

TOLD = {
    "submit_inspection": kinds.RELEASE_WAITS,
    "return_inspection": kinds.RETURNED,
    "raise_finding": kinds.FINDING_RAISED,
    "reopen_finding": kinds.FINDING_RAISED,
    "decide_disposition": kinds.FINDING_DECIDED,
    "refuse_correction": kinds.FINDING_DECIDED,
    "add_follow_up": kinds.FOLLOW_UP,
}
"""Act → the kind of mail that tells of it."""
FRESH = timedelta(days=1)
"""What is older when it is read, because no worker ran, is no news: what of it still waits stands in the digest."""


class Concerned(NamedTuple):
    """Whom entries concern besides their roles, found for all of them at once."""

    crews: Mapping[tuple[UUID, str], UUID | None]
    """(corridor, mark) → crew last at work there."""
    inspectors: Mapping[tuple[UUID, int, str], int]
    """(corridor, attempt, hold point) → person."""
    raisers: Mapping[tuple[UUID, str], int]
    """(corridor, finding) → person."""


def read(at: datetime) -> int:
    """Make the letters of what was entered since the last look, and return how many."""
    known = dict(Bookmark.objects.values_list("corridor", "sequence"))
    sizes = Head.objects.filter(log__in=Corridor.objects.values("pk"), size__gt=0).values_list("log", "size")
    grown = {log: size for log, size in sizes if size > known.get(log, 0)}
    if not grown:
        return 0
    Bookmark.objects.bulk_create(
        [Bookmark(corridor_id=log) for log in grown if log not in known], ignore_conflicts=True
    )
    able = readers(at)
    return sum(_read(log, size, able, at) for log, size in grown.items())


def _read(log: UUID, size: int, able: Mapping[int, Reader], at: datetime) -> int:
    """Read one record on, from its bookmark to a size. Letters and bookmark are one transaction; another worker at it is left alone."""
    with transaction.atomic():
        mark = Bookmark.objects.select_for_update(skip_locked=True).filter(corridor=log).first()
        if mark is None or mark.sequence >= size:
            return 0
        new = Entry.objects.of_log(log).filter(sequence__gt=mark.sequence, sequence__lte=size, act__in=TOLD)
        fresh = list(new.filter(received_at__gt=at - FRESH).defer("text", "rows"))
        mark.sequence = size
        mark.save(update_fields=["sequence"])
        return outbox.put(_letters(fresh, able), at)


def _letters(entries: list[Entry], able: Mapping[int, Reader]) -> Iterable[outbox.Wanted]:
    if not entries:
        return
    concerned = _concerned(entries)
    for entry in entries:
        for key in _receivers(entry, able, concerned):
            if able[key].person.get_username() != entry.actor:  # nobody is told what they did themselves
                yield outbox.Wanted(able[key], TOLD[entry.act], f"entry {entry.sequence}", entry.log, entry.subject)


def _receivers(entry: Entry, able: Mapping[int, Reader], concerned: Concerned) -> list[int]:
    """Return the keys of those who are told of an entry."""
    kind, log = TOLD[entry.act], entry.log
    crew = concerned.crews.get((log, entry.mark))
    named = {
        kinds.RETURNED: concerned.inspectors.get((log, entry.payload.get("attempt", 0), entry.subject)),
        kinds.FINDING_DECIDED: concerned.raisers.get((log, entry.subject)),
    }.get(kind)

    def concerns(key: int, reader: Reader) -> bool:
        if kind == kinds.FOLLOW_UP:
            return reader.person.get_username() == entry.payload.get("sign_in")
        if kind in {kinds.RELEASE_WAITS, kinds.FINDING_RAISED} and "engineer" in reader.roles(log):
            return True
        return key == named or (kind != kinds.RELEASE_WAITS and reader.leads(log, crew))

    return [key for key, reader in able.items() if reader.roles(log) and concerns(key, reader)]


def _concerned(entries: list[Entry]) -> Concerned:
    """Find whom entries of one corridor concern: three queries, however many there are."""
    log, marks = entries[0].log, {entry.mark for entry in entries}
    crews = Foundation.objects.filter(corridor=log, mark__in=marks).values_list("mark", "crew")
    returned = [entry.mark for entry in entries if entry.act == "return_inspection"]
    tries = Inspection.objects.filter(hold_point__corridor=log, hold_point__foundation__mark__in=returned)
    looked = tries.values_list("attempt", "hold_point__foundation__mark", "hold_point__stage", "inspector")
    findings = Finding.objects.filter(corridor=log, foundation__mark__in=marks)
    return Concerned(
        {(log, mark): crew for mark, crew in crews},
        {(log, attempt, f"{mark}/{stage}"): person for attempt, mark, stage, person in looked},
        {(log, f"F-{number:03d}"): person for number, person in findings.values_list("number", "raised_by")},
    )
