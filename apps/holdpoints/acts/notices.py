"""Notice: the foreman's word that a hold point will be ready, and its withdrawal."""

from datetime import datetime
from uuid import UUID

from apps.corridor import tally
from apps.corridor.models import Crew
from apps.holdpoints import blockers
from apps.holdpoints.acts.moving import begin, enter_point, refuse, set_state
from apps.holdpoints.models import HoldPoint, Notice
from apps.people.models import Person
from apps.record.acts import Answer, Refused, act, within


@act
def give_notice(
    *,
    hold_point: HoldPoint,
    asked_for: datetime,
    by: Person,
    at: datetime,
    client_id: UUID,
    crew: Crew | None = None,
    note: str = "",
    device_at: datetime | None = None,
) -> Answer:
    """Say that a hold point will be ready to be looked at, and when."""
    hold_point, move, role = begin(hold_point, "give_notice", by, at)
    note = within(note, 200, "The note")
    if asked_for < at:
        raise Refused("The time that you ask for lies in the past.")
    refuse(blockers.to_give_notice(blockers.situation(hold_point, at), asked_for))
    notice = Notice.objects.create(
        hold_point=hold_point, asked_for=asked_for, crew=crew, note=note, given_by=by, given_at=at
    )
    change = tally.Change(rows=[notice])
    set_state(hold_point, move.new, at, change, asked_for=asked_for)
    if crew is not None and hold_point.foundation.crew_id != crew.pk:
        hold_point.foundation.crew = crew
        hold_point.foundation.save(update_fields=["crew"])
        change.rows.append(hold_point.foundation)
    tally.apply(hold_point.foundation.corridor, change, at)
    payload = {"asked_for": asked_for, "crew": crew.name if crew else None, "note": note}
    return {"entry": enter_point(hold_point, "give_notice", by, role, at, payload, device_at, rows=change.rows)}


@act
def withdraw_notice(
    *,
    hold_point: HoldPoint,
    by: Person,
    at: datetime,
    client_id: UUID,
    reason: str = "",
    device_at: datetime | None = None,
) -> Answer:
    """Take a notice back: the work will not be ready."""
    hold_point, move, role = begin(hold_point, "withdraw_notice", by, at)
    change = tally.Change()
    if last := hold_point.notices.last():
        last.withdrawn_at = at
        last.save(update_fields=["withdrawn_at"])
        change.rows.append(last)
    set_state(hold_point, move.new, at, change, asked_for=None)
    tally.apply(hold_point.foundation.corridor, change, at)
    said = {"reason": reason.strip()}
    return {"entry": enter_point(hold_point, "withdraw_notice", by, role, at, said, device_at, rows=change.rows)}
