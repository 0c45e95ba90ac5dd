"""What every act on a hold point is made of: lock, check against the table of moves, set the state, enter."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django.db import models

from apps.corridor import access, tally
from apps.corridor.models import Foundation
from apps.holdpoints import moves
from apps.holdpoints.models import Decision, HoldPoint
from apps.people.models import Person
from apps.record.acts import Refused, enter


def lock(hold_point: HoldPoint) -> HoldPoint:
    """Lock the foundation, then return its hold point fresh: every act on a foundation waits here for the one before it."""
    Foundation.objects.select_for_update().get(pk=hold_point.foundation_id)
    return HoldPoint.objects.select_related(
        "foundation__design", "foundation__crew", "foundation__corridor__edition"
    ).get(pk=hold_point.pk)


def begin(hold_point: HoldPoint, act_name: str, by: Person, at: datetime) -> tuple[HoldPoint, moves.Move, str]:
    """Lock, and check role and state against the table of moves. Returns the fresh hold point, its move and the role."""
    fresh = lock(hold_point)
    role = access.role_for(by, fresh.foundation.corridor, moves.roles(act_name), at)
    if fresh.foundation.abandoned_at:
        raise Refused(f"{fresh.foundation.mark} is abandoned.")
    move = moves.find(act_name, fresh.state)
    if move is None:
        raise Refused(
            f"{fresh} is {fresh.get_state_display().lower()} since {since_words(fresh)}: {act_words(act_name)} is not possible."
        )
    return fresh, move, role


def act_words(act_name: str) -> str:
    """Return an act's name in words: give_notice → give notice."""
    return act_name.replace("_", " ")


def since_words(hold_point: HoldPoint) -> str:
    """Return since when, and by whom if it was decided, so that the slower of two people knows what happened."""
    when = f"{hold_point.since.astimezone(hold_point.foundation.corridor.zone):%-d %b %H:%M}"
    decision = (
        Decision.objects.filter(inspection__hold_point=hold_point, at=hold_point.since).select_related("by").first()
    )
    return f"{when} by {decision.by}" if decision else when


def refuse(reasons: list[str]) -> None:
    if reasons:
        raise Refused(*reasons)


def set_state(hold_point: HoldPoint, state: str, at: datetime, change: tally.Change, **more: Any) -> None:
    """Bring a hold point into a state and note it in the counts."""
    change.move(hold_point.stage, hold_point.state, state)
    change.rows.append(hold_point)
    hold_point.state, hold_point.since = state, at
    for name, value in more.items():
        setattr(hold_point, name, value)
    hold_point.save(update_fields=["state", "since", *more])


def enter_point(
    hold_point: HoldPoint,
    act_name: str,
    by: Person,
    role: str,
    at: datetime,
    payload: dict[str, Any],
    device_at: datetime | None = None,
    *,
    rows: Iterable[models.Model],
    keep_head: bool = False,
) -> int:
    """Write the entry of an act on a hold point; return its sequence."""
    foundation = hold_point.foundation
    return enter(
        log=hold_point.corridor_id,
        act=act_name,
        subject=f"{foundation.mark}/{hold_point.stage}",
        by=by,
        role=role,
        at=at,
        device_at=device_at,
        about=foundation,
        payload={"stage": hold_point.stage, **payload},
        rows=rows,
        keep_head=keep_head,
    ).sequence
