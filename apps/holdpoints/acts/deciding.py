"""The engineer's word on an attempt: release, release with a condition, return; and that a condition is met."""

from datetime import date, datetime
from typing import Any
from uuid import UUID

from apps.corridor import access, tally
from apps.holdpoints import blockers, clean, moves
from apps.holdpoints.acts.moving import begin, enter_point, lock, refuse, set_state
from apps.holdpoints.models import Condition, Decision, HoldPoint, Inspection
from apps.people.models import Person
from apps.record.acts import Answer, Refused, act, within


def _decide(
    hold_point: HoldPoint,
    inspection: Inspection,
    act_name: str,
    kind: str,
    reason: str,
    by: Person,
    at: datetime,
    condition: Condition | None = None,
    show: str = "",
    *,
    signed: str = "",
    together: bool = False,
) -> Answer:
    """Write the engineer's word on one attempt, with its move, entry and counts. `signed`: with what, a key of signing.IN_WORDS."""
    fresh, move, role = begin(hold_point, act_name, by, at)
    now = blockers.situation(fresh, at)
    opened = _clean(now, inspection, by, at) if together else None
    returning = kind == Decision.Kind.RETURN
    refuse(blockers.to_decide(now, inspection, by) if returning else blockers.to_release(now, inspection, by, reason))
    decision = Decision(inspection=inspection, kind=kind, reason=reason.strip(), show=show, by=by, at=at)
    change = tally.Change(rows=[decision])
    set_state(fresh, move.new, at, change)
    payload: dict[str, Any] = {"attempt": inspection.attempt, "reason": decision.reason}
    if signed:
        payload["signed"] = signed
    if show:
        payload["show"] = show
    if opened:
        payload["opened_at"] = opened
    if condition is not None:
        condition.decision = decision
        change.rows.append(condition)
        payload |= {"condition": condition.text, "owner": condition.owner, "due_on": condition.due_on}
    if not returning:
        _make_next_ready(fresh, at, change)
    tally.apply(fresh.foundation.corridor, change, at)
    decision.entry = enter_point(fresh, act_name, by, role, at, payload, rows=change.rows, keep_head=not returning)
    decision.save()
    if condition is not None:
        condition.save()
    return {"decision": str(decision.pk), "entry": decision.entry}


def _clean(now: blockers.Situation, inspection: Inspection, by: Person, at: datetime) -> datetime | None:
    """Refuse an attempt that needs judgement or was not opened today; return when it was opened."""
    refuse(blockers.to_decide(now, inspection, by))
    inspection.hold_point = now.hold_point
    why, opened = clean.to_release_together(inspection, by, at)
    refuse(why)
    return opened


def _make_next_ready(hold_point: HoldPoint, at: datetime, change: tally.Change) -> None:
    """A release makes the next stage ready, if it was waiting for nothing else."""
    following = HoldPoint.objects.filter(foundation=hold_point.foundation_id, place=hold_point.place + 1).first()
    if following is not None and (move := moves.find("make_ready", following.state)):
        set_state(following, move.new, at, change)


@act
def release(
    *,
    hold_point: HoldPoint,
    inspection: Inspection,
    by: Person,
    at: datetime,
    client_id: UUID,
    reason: str = "",
    signed: str = "",
) -> Answer:
    """Release a hold point on one attempt. A reading that refers needs the reason why it is acceptable."""
    return _decide(hold_point, inspection, "release", Decision.Kind.RELEASE, reason, by, at, signed=signed)


@act
def release_clean(
    *, hold_point: HoldPoint, inspection: Inspection, by: Person, at: datetime, client_id: UUID, signed: str = ""
) -> Answer:
    """Release one of several that are signed for together: clean, and opened by the signer today. The entry says when."""
    return _decide(hold_point, inspection, "release", Decision.Kind.RELEASE, "", by, at, signed=signed, together=True)


@act
def release_with_condition(
    *,
    hold_point: HoldPoint,
    inspection: Inspection,
    condition: str,
    owner: str,
    due_on: date,
    by: Person,
    at: datetime,
    client_id: UUID,
    reason: str = "",
    signed: str = "",
) -> Answer:
    """Release with what must still happen, by whom and until when."""
    condition, owner = within(condition, 200, "The condition"), within(owner, 60, "The name of who sees to it")
    if not condition or not owner:
        raise Refused("Say what must still happen, and who sees to it.")
    if due_on < hold_point.foundation.corridor.day(at):
        raise Refused(f"The day of the condition, {due_on:%-d %b %Y}, lies in the past.")
    kind = Decision.Kind.RELEASE_WITH_CONDITION
    follow_up = Condition(text=condition, owner=owner, due_on=due_on)
    return _decide(hold_point, inspection, "release_with_condition", kind, reason, by, at, follow_up, signed=signed)


@act
def return_inspection(
    *,
    hold_point: HoldPoint,
    inspection: Inspection,
    reason: str,
    by: Person,
    at: datetime,
    client_id: UUID,
    show: str = "",
    signed: str = "",
) -> Answer:
    """Send an attempt back with its reason; `show` is what to measure or show next time, in the words of the engineer."""
    show = within(show, 300, "What to show next time")
    if not reason.strip():
        raise Refused("Give the reason why it is returned.")
    return _decide(
        hold_point, inspection, "return_inspection", Decision.Kind.RETURN, reason, by, at, show=show, signed=signed
    )


@act
def meet_condition(*, condition: Condition, how: str, by: Person, at: datetime, client_id: UUID) -> Answer:
    """Report that a release's condition is met, and how it shows."""
    hold_point = lock(condition.decision.inspection.hold_point)
    role = access.role_for(by, hold_point.foundation.corridor, moves.CONDITION_ROLES, at)
    fresh = Condition.objects.select_related("met_by").get(pk=condition.pk)
    if hold_point.foundation.abandoned_at:
        raise Refused(f"{hold_point.foundation.mark} is abandoned.")
    if fresh.met_at:
        when = f"{fresh.met_at.astimezone(hold_point.foundation.corridor.zone):%-d %b %H:%M}"
        raise Refused(f"The condition is met already: {when} by {fresh.met_by}.")
    how = within(how, 200, "How it shows")
    if not how:
        raise Refused("Say how it shows that the condition is met.")
    fresh.met_at, fresh.met_by, fresh.met_how = at, by, how
    fresh.save(update_fields=["met_at", "met_by", "met_how"])
    tally.apply(hold_point.foundation.corridor, tally.Change(), at)
    said = {"condition": fresh.text, "how": fresh.met_how}
    return {"entry": enter_point(hold_point, "meet_condition", by, role, at, said, rows=[fresh])}
