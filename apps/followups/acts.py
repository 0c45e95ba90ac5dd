"""Everything that may be done to a follow-up. Each act is one transaction: row, record entry, counts."""

from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.db.models import Max

from apps.corridor import access, tally
from apps.corridor.models import Corridor, Foundation
from apps.findings.models import Finding
from apps.followups import moves
from apps.followups.models import FollowUp
from apps.people.models import Person
from apps.record.acts import Answer, Refused, act, enter, within


def _enter(row: FollowUp, act_name: str, by: Person, role: str, at: datetime, said: dict[str, Any]) -> int:
    return enter(
        log=row.corridor_id,
        act=act_name,
        subject=row.name,
        by=by,
        role=role,
        at=at,
        about=row.foundation,
        payload={"follow_up": row.number, "text": row.text, **said},
        rows=[row],
    ).sequence


def _later_day(due_on: date, corridor: Corridor, at: datetime) -> None:
    if due_on < corridor.day(at):
        raise Refused(f"The day, {due_on:%-d %b %Y}, lies in the past.")


@act
def add_follow_up(
    *,
    corridor: Corridor,
    text: str,
    owner: Person,
    due_on: date,
    by: Person,
    at: datetime,
    client_id: UUID,
    foundation: Foundation | None = None,
    finding: Finding | None = None,
) -> Answer:
    """Add what a member of the corridor is to do by a day; `foundation` or `finding` say what it is about."""
    role = access.role_for(by, corridor, moves.ADD_ROLES, at)
    text = within(text, 200, "What is to be done")
    if not text:
        raise Refused("Say what is to be done.")
    if not access.memberships(owner, corridor, at):
        raise Refused(f"{owner} is no member of {corridor.name} today: choose who is.")
    _later_day(due_on, corridor, at)
    if finding is not None and foundation is None:
        foundation = finding.foundation
    if any(each is not None and each.corridor_id != corridor.pk for each in (foundation, finding)):
        raise Refused("What it is about belongs to another corridor.")
    # The corridor's counts row is locked first, so that two added at once get two numbers.
    tally.apply(corridor, tally.Change(), at)
    last = FollowUp.objects.filter(corridor=corridor).aggregate(last=Max("number"))["last"] or 0
    row = FollowUp.objects.create(
        corridor=corridor,
        number=last + 1,
        text=text,
        owner=owner,
        due_on=due_on,
        foundation=foundation,
        finding=finding,
        added_at=at,
        added_by=by,
    )
    said = {
        "owner": str(owner),
        "sign_in": owner.get_username(),
        "due_on": due_on,
        "finding": finding.name if finding else None,
    }
    return {"follow_up": row.number, "entry": _enter(row, "add_follow_up", by, role, at, said)}


def _begin(follow_up: FollowUp, name: str, by: Person, at: datetime) -> tuple[FollowUp, str]:
    """Lock the corridor's counts and the row, check who and state, and return the row as it is now and the role."""
    corridor = follow_up.corridor
    tally.apply(corridor, tally.Change(), at)
    asked = FollowUp.objects.select_for_update(of=("self",))
    row = asked.select_related("corridor", "foundation", "owner", "added_by", "ended_by").get(pk=follow_up.pk)
    move = moves.MOVE[name]
    allowed: frozenset[str] = moves.OFFICES
    if (move.owner and row.owner_id == by.pk) or (move.adder and row.added_by_id == by.pk):
        allowed = frozenset(map(str, access.Role))
    role = access.role_for(by, corridor, allowed, at)
    if not row.is_open:
        when = f"{row.ended_at.astimezone(corridor.zone):%-d %b %H:%M}" if row.ended_at else ""
        raise Refused(f"{row.name} is {row.get_state_display().lower()} already: {when} by {row.ended_by}.")
    return row, role


def _end(follow_up: FollowUp, name: str, word: str, missing: str, by: Person, at: datetime) -> Answer:
    row, role = _begin(follow_up, name, by, at)
    word = within(word, 200, "The word on it")
    if not word:
        raise Refused(missing)
    row.state, row.ended_at, row.ended_by, row.ended_how = moves.MOVE[name].new, at, by, word
    row.save(update_fields=["state", "ended_at", "ended_by", "ended_how"])
    return {"entry": _enter(row, name, by, role, at, {"how": word})}


@act
def finish_follow_up(*, follow_up: FollowUp, how: str, by: Person, at: datetime, client_id: UUID) -> Answer:
    """Report that it is done, and how it shows."""
    return _end(follow_up, "finish_follow_up", how, "Say how it shows that it is done.", by, at)


@act
def drop_follow_up(*, follow_up: FollowUp, reason: str, by: Person, at: datetime, client_id: UUID) -> Answer:
    """Drop what need not be done any more, with the reason."""
    return _end(follow_up, "drop_follow_up", reason, "Say why it need not be done.", by, at)


@act
def postpone_follow_up(
    *, follow_up: FollowUp, due_on: date, reason: str, by: Person, at: datetime, client_id: UUID
) -> Answer:
    """Give it another day, with the reason; the days before stay in the record."""
    row, role = _begin(follow_up, "postpone_follow_up", by, at)
    reason = within(reason, 200, "The reason")
    if not reason:
        raise Refused("Say why it gets another day.")
    _later_day(due_on, row.corridor, at)
    said = {"before": row.due_on, "due_on": due_on, "reason": reason}
    row.due_on = due_on
    row.save(update_fields=["due_on"])
    return {"entry": _enter(row, "postpone_follow_up", by, role, at, said)}
