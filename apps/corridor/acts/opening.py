"""Opening a corridor, and changing its terms afterwards."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any
from uuid import UUID

from apps.corridor import tally
from apps.corridor.acts.setting import entered, setter
from apps.corridor.models import Corridor, Tally
from apps.people.models import Person
from apps.record.acts import Answer, Refused, act, checked, open_log
from apps.record.signing import public_key
from apps.requirements.models import Edition

TERMS = (
    "owner", "contract", "finishes_on", "working_days", "holidays", "notice_hours", "inspection_promise_hours",
    "release_promise_hours", "photo_reach_ft",
)  # fmt: skip
"""What may be changed of an open corridor. Its name signs the record's heads, and its days are counted in its time zone: both stay."""


def _terms_hold(corridor: Corridor) -> None:
    """Refuse terms that no calendar or contract can have."""
    if corridor.finishes_on < corridor.starts_on:
        raise Refused("The contract date lies before the first day of work.")
    if not corridor.working_days or set(corridor.working_days) - set("1234567"):
        raise Refused("Name at least one day of the week on which work is done.")
    try:
        corridor.holidays = sorted({date.fromisoformat(each).isoformat() for each in corridor.holidays})
    except (TypeError, ValueError) as fault:
        raise Refused("A holiday is a date, as 2026-11-26.") from fault
    checked(corridor, "holidays")


@act
def open_corridor(
    *,
    slug: str,
    name: str,
    owner: str,
    edition: Edition,
    starts_on: date,
    finishes_on: date,
    by: Person,
    at: datetime,
    client_id: UUID,
    more: Mapping[str, Any] | None = None,
) -> Answer:
    """Open a corridor with an empty record. For administrators; `more` are further fields of Corridor."""
    if not by.is_superuser:
        raise Refused("An administrator opens a corridor.")
    if Corridor.objects.filter(slug=slug).exists():
        raise Refused(f"There is a corridor {slug} already.")
    corridor = Corridor(
        slug=slug, name=name, owner=owner, edition=edition, starts_on=starts_on, finishes_on=finishes_on, **(more or {})
    )
    _terms_hold(corridor)
    corridor.save()
    Tally.objects.create(corridor=corridor, day=corridor.day(at))
    open_log(log=corridor.pk, origin=name, at=at)
    payload = {
        "name": name,
        "owner": owner,
        "edition": edition.number,
        "digest": edition.digest,
        "starts_on": starts_on,
        "record_key": public_key(),
    }
    return {"corridor": slug, "entry": entered(corridor, "open_corridor", slug, by, "administrator", at, payload)}


@act
def change_corridor(
    *, corridor: Corridor, fields: Mapping[str, Any], by: Person, at: datetime, client_id: UUID
) -> Answer:
    """Change the terms of a corridor, TERMS, from now on. What was promised and counted before stays as it was."""
    role = setter(by, corridor, at)
    if strange := sorted(set(fields) - set(TERMS)):
        raise Refused(f"{', '.join(strange)} cannot be changed once a corridor is open.")
    tally.lock(corridor)
    row = Corridor.objects.get(pk=corridor.pk)
    before = {name: getattr(row, name) for name, value in fields.items() if getattr(row, name) != value}
    if not before:
        raise Refused("Nothing is changed: every term stands as it was.")
    after = {name: fields[name] for name in before}
    for name, value in after.items():
        setattr(row, name, value)
    _terms_hold(row)
    row.save(update_fields=list(after))
    return {"entry": entered(row, "change_corridor", row.slug, by, role, at, {"before": before, "after": after})}
