"""What is done about entries of the record themselves: one is corrected, some are handed over."""

from datetime import datetime
from typing import Any
from uuid import UUID

from apps.corridor import access, tally
from apps.corridor.models import Corridor, Foundation
from apps.people.models import Person
from apps.record.acts import Answer, Refused, act, enter, within
from apps.record.models import Entry

CORRECTORS = frozenset({access.Role.INSPECTOR, access.Role.ENGINEER, access.Role.OFFICE, access.Role.FOREMAN})
"""An entry is corrected by whoever made it, in one of these roles, or by the engineer."""
RECEIVERS = frozenset({access.Role.AUDITOR, access.Role.ENGINEER, access.Role.OFFICE})
LONGEST = 500


@act
def correct_entry(
    *, corridor: Corridor, sequence: int, right: str, reason: str, by: Person, at: datetime, client_id: UUID
) -> Answer:
    """Say that an entry is mistaken, what is right, and why. Both stay; no verdict and no state changes by it."""
    role = access.role_for(by, corridor, CORRECTORS, at)
    right, reason = within(right, LONGEST, "What is right"), within(reason, LONGEST, "The reason")
    if not right or not reason:
        raise Refused("Say what is right, and how the mistake came about.")
    old = Entry.objects.filter(log=corridor.pk, sequence=sequence).first()
    if old is None:
        raise Refused(f"There is no entry {sequence}.")
    if old.actor != by.get_username() and access.Role.ENGINEER not in _held(by, corridor, at):
        raise Refused(f"Entry {sequence} is by {old.actor_name}: they or the engineer correct it.")
    if old.actor != by.get_username():
        role = access.Role.ENGINEER
    tally.apply(corridor, tally.Change(), at)
    payload: dict[str, Any] = {"corrects": sequence, "act": old.act, "right": right, "reason": reason}
    if stage := old.payload.get("stage"):
        payload["stage"] = stage
    entry = enter(
        log=corridor.pk,
        act="correct_entry",
        subject=f"entry {sequence}",
        by=by,
        role=role,
        at=at,
        payload=payload,
        about=_named(corridor, old.mark),
    )
    return {"entry": entry.sequence}


def _named(corridor: Corridor, mark: str) -> Foundation | None:
    return Foundation.objects.filter(corridor=corridor, mark=mark).first()


def _held(by: Person, corridor: Corridor, at: datetime) -> set[str]:
    return {membership.role for membership in access.memberships(by, corridor, at)}


@act
def hand_over(
    *,
    corridor: Corridor,
    subject: str,
    marks: list[str],
    originals: bool,
    by: Person,
    at: datetime,
    client_id: UUID,
) -> Answer:
    """Enter that a bundle is handed over, before it is made: so it holds this entry too. `marks` empty: the whole record."""
    role = access.role_for(by, corridor, RECEIVERS, at)
    tally.apply(corridor, tally.Change(), at)
    entry = enter(
        log=corridor.pk,
        act="hand_over",
        subject=subject,
        by=by,
        role=role,
        at=at,
        payload={"marks": marks, "originals": originals},
        about=_named(corridor, marks[0]) if len(marks) == 1 else None,
        keep_head=True,
    )
    return {"entry": entry.sequence}
