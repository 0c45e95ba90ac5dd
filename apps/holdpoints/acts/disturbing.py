"""Accepted work that was disturbed, and foundations that are given up."""

from collections import Counter
from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from apps.calc.stages import after
from apps.corridor import access, tally
from apps.corridor.models import Foundation
from apps.findings import acts as finding_acts
from apps.holdpoints import moves
from apps.holdpoints.acts.moving import begin, enter_point, set_state
from apps.holdpoints.models import HoldPoint, Reopening
from apps.people.models import Person
from apps.record.acts import Answer, Refused, act, enter


@act
def reopen(
    *, hold_point: HoldPoint, reason: str, by: Person, at: datetime, client_id: UUID, device_at: datetime | None = None
) -> Answer:
    """Withdraw a release because accepted work was disturbed, and pull back what stands on it."""
    hold_point, move, role = begin(hold_point, "reopen", by, at)
    if not reason.strip():
        raise Refused("Give the reason: what disturbed the accepted work.")
    change, pulled = tally.Change(), []
    set_state(hold_point, move.new, at, change)
    for later in HoldPoint.objects.filter(
        foundation=hold_point.foundation_id, stage__in=after(hold_point.stage)
    ).order_by("place"):
        if back := moves.find("pull_back", later.state):
            pulled.append(later.stage)
            set_state(later, back.new, at, change, asked_for=None)
    tally.apply(hold_point.foundation.corridor, change, at)
    made = Reopening(hold_point=hold_point, reason=reason.strip(), pulled_back=pulled, by=by, at=at)
    said = {"reason": made.reason, "pulled_back": pulled}
    made.entry = enter_point(hold_point, "reopen", by, role, at, said, device_at, rows=[*change.rows, made])
    made.save()
    return {"entry": made.entry, "pulled_back": pulled}


@act
def abandon(
    *,
    foundation: Foundation,
    reason: str,
    by: Person,
    at: datetime,
    client_id: UUID,
    successor: Mapping[str, Any] | None = None,
) -> Answer:
    """Give up a rejected foundation: it stays in the record and leaves the counts. `successor` are the fields of what replaces it."""
    return give_up(foundation, reason, by, at, successor)


def give_up(
    foundation: Foundation, reason: str, by: Person, at: datetime, successor: Mapping[str, Any] | None = None
) -> Answer:
    """Abandon inside an act's transaction."""
    from apps.holdpoints.schedule import add_foundation_rows, row_for_successor

    Foundation.objects.select_for_update().get(pk=foundation.pk)
    foundation = Foundation.objects.select_related("corridor", "design", "alignment").get(pk=foundation.pk)
    role = access.role_for(by, foundation.corridor, moves.ABANDON_ROLES, at)
    if foundation.abandoned_at:
        raise Refused(f"{foundation.mark} is abandoned already.")
    if not reason.strip():
        raise Refused("Give the reason why it is abandoned.")
    foundation.abandoned_at, foundation.abandoned_why = at, reason.strip()
    foundation.save(update_fields=["abandoned_at", "abandoned_why"])
    states = Counter(foundation.hold_points.values_list("stage", "state"))
    change = tally.Change(foundations=-1, abandoned=1)
    change.hold_points.subtract(states)
    tally.apply(foundation.corridor, change, at)
    for finding in foundation.findings.unsettled().select_related("foundation", "corridor"):
        finding_acts.close(
            finding=finding, by=by, role=role, at=at, note=f"{foundation.mark} is abandoned: {reason.strip()}"
        )
    mark = str(successor.get("mark", "")) if successor else None
    entry = enter(
        log=foundation.corridor_id,
        act="abandon",
        subject=foundation.mark,
        by=by,
        role=role,
        at=at,
        about=foundation,
        payload={"reason": reason.strip(), "successor": mark},
        rows=[foundation],
    ).sequence
    if successor:
        add_foundation_rows(
            [row_for_successor(foundation, successor)], corridor=foundation.corridor, by=by, role=role, at=at
        )
    return {"entry": entry, "successor": mark}
