"""Audits drawn, answered and closed by the acts."""

from datetime import datetime
from typing import Any

from apps.audits import acts
from apps.audits.acts import Said
from apps.audits.frame import Lot
from apps.audits.models import Audit, Drawn
from apps.audits.planning import Plan
from apps.audits.standing import Judged, standing
from apps.corridor.models import Corridor
from apps.people.models import Person
from tests.factories.corridor import member
from tests.factories.kept import done
from tests.factories.times import DAY, NOW

LATER = NOW + 60 * DAY
"""After everything that the factories of hold points do."""


def drawn(corridor: Corridor, at: datetime = LATER, by: Person | None = None, **more: Any) -> Audit:
    """Draw an audit, by the auditor: simple, from the table, seed 2207."""
    said: dict[str, Any] = {"title": "Spring", "lot": Lot(), "strata": "simple", "plan": Plan(), "seed": "2207", **more}
    answer = done(acts.draw_audit, corridor=corridor, by=by or member(corridor, "auditor"), at=at, **said
    )  # fmt: skip
    return Audit.objects.select_related("corridor").get(corridor=corridor, number=answer["audit"])


def item(audit: Audit, place: int = 1) -> Drawn:
    """Return a drawn hold point."""
    return Drawn.objects.select_related("audit__corridor", "inspection").get(audit=audit, place=place)


def judged(audit: Audit, place: int = 1) -> Judged:
    """Return how far a drawn hold point is answered."""
    return next(each for each in standing(audit).judged if each.drawn.place == place)


def all_yes(audit: Audit, place: int = 1) -> dict[str, Said]:
    """Return yes to every question of a drawn hold point."""
    return {line.question.key: Said("yes") for line in judged(audit, place).lines}


def answer(
    audit: Audit, place: int = 1, by: Person | None = None, at: datetime = LATER, **changed: Said
) -> dict[str, Any]:
    """Answer a drawn hold point with yes, but for what is changed, having seen what stands there."""
    return done(  # type: ignore[no-any-return]
        acts.answer_drawn,
        drawn=item(audit, place), answers={**all_yes(audit, place), **changed}, seen=judged(audit, place).last_entry,
        by=by or member(audit.corridor, "auditor"), at=at,
    )  # fmt: skip


def answer_all(audit: Audit, *, wrong: int = 0, at: datetime = LATER) -> None:
    """Answer every drawn hold point; the first `wrong` of them get one no."""
    for each in standing(audit).judged:
        place = each.drawn.place
        answer(audit, place, at=at, **({"photos_show": Said("no", "Too dark to read")} if place <= wrong else {}))


def closed(audit: Audit, at: datetime = LATER, remarks: str = "") -> Audit:
    """Close an audit, by the auditor."""
    done(acts.close_audit, audit=audit, remarks=remarks, by=member(audit.corridor, "auditor"), at=at
    )  # fmt: skip
    return Audit.objects.select_related("corridor", "closed_by").get(pk=audit.pk)
