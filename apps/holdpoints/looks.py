"""Looking at an open hole again before the work in it goes on."""

from datetime import datetime
from uuid import UUID

from apps.corridor import access, tally
from apps.corridor.models import Foundation
from apps.holdpoints.models import HoldPoint, HoleLook
from apps.people.models import Person
from apps.record.acts import Answer, Refused, act, enter, within

ROLES = frozenset({access.Role.INSPECTOR, access.Role.ENGINEER})


@act
def look_again(*, foundation: Foundation, by: Person, at: datetime, client_id: UUID, note: str = "") -> Answer:
    """Enter that depth, water, walls and bottom of an open hole are as they were released. Between drill and pour only."""
    corridor = foundation.corridor
    role = access.role_for(by, corridor, ROLES, at)
    fresh = Foundation.objects.select_for_update().get(pk=foundation.pk)
    if fresh.abandoned_at:
        raise Refused(f"{fresh.mark} is abandoned.")
    states = dict(HoldPoint.objects.filter(foundation=fresh, stage__in=["drill", "pour"]).values_list("stage", "state"))
    if states["drill"] not in {HoldPoint.State.INSPECTED, HoldPoint.State.RELEASED}:
        raise Refused(f"{fresh.mark} has no inspected hole: inspect the drill first.")
    if states["pour"] == HoldPoint.State.RELEASED:
        raise Refused(f"{fresh.mark} is poured: there is no hole to look at.")
    said = within(note, 300, "The note")
    tally.apply(corridor, tally.Change(), at)
    look = HoleLook(foundation=fresh, by=by, at=at, note=said)
    look.entry = enter(
        log=corridor.pk,
        act="look_again",
        subject=fresh.mark,
        by=by,
        role=role,
        at=at,
        payload={"stage": "drill", "note": said},
        about=fresh,
        rows=[look],
    ).sequence
    look.save()
    return {"entry": look.entry}
