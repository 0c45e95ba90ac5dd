"""Where foundations stand, as their glyphs draw it: three queries for any number of them."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from typing import Any

from apps.calc.stages import STAGE_KEYS
from apps.corridor.models import Foundation
from apps.findings.models import BLOCKING_GRADES, Finding
from apps.holdpoints.models import Condition, HoldPoint
from apps.sheet.glyphs import Standing

RELEASED = HoldPoint.State.RELEASED


def standings(foundations: Iterable[Foundation]) -> dict[object, Standing]:
    """Return the standing of each foundation by key. The foundations come with `design` selected."""
    rows = list(foundations)
    wanted = [foundation.pk for foundation in rows]
    states: dict[object, dict[str, str]] = defaultdict(dict)
    for foundation, stage, state in HoldPoint.objects.filter(foundation__in=wanted).values_list(
        "foundation", "stage", "state"
    ):
        states[foundation][stage] = state
    grades: dict[object, set[str]] = defaultdict(set)
    for foundation, grade in (
        Finding.objects.unsettled().filter(foundation__in=wanted).values_list("foundation", "grade")
    ):
        grades[foundation].add(grade)
    conditions = _conditions(wanted)
    return {
        row.pk: standing(row, *_next(states[row.pk]), grades[row.pk], condition=row.pk in conditions) for row in rows
    }


def waiting_standings(points: Iterable[HoldPoint], findings: Iterable[Finding]) -> dict[object, Standing]:
    """Return the standing, by key, of foundations of which a stage waits for the engineer: what is below it is released. One query.

    The points come with their foundations and designs, `findings` are the unsettled ones there.
    """
    rows = list(points)
    grades: dict[object, set[str]] = defaultdict(set)
    for finding in findings:
        grades[finding.foundation_id].add(finding.grade)
    conditions = _conditions([row.foundation_id for row in rows])
    return {
        row.foundation_id: standing(
            row.foundation, row.place, row.state, grades[row.foundation_id], condition=row.foundation_id in conditions
        )
        for row in rows
    }


def _conditions(foundations: Sequence[Any]) -> set[object]:
    """Return those of these foundations at which a condition of a release is still to be met."""
    unmet = Condition.objects.filter(met_at=None, decision__inspection__hold_point__foundation__in=foundations)
    return set(unmet.values_list("decision__inspection__hold_point__foundation", flat=True))


def standing(
    foundation: Foundation, released: int, next_state: str, grades: Collection[str], *, condition: bool
) -> Standing:
    """Return how a foundation is drawn: so many stages released from below, the next one's state, its open findings by grade."""
    return Standing(
        family=foundation.design.family,
        released=released,
        next_state=next_state,
        held=any(grade in BLOCKING_GRADES for grade in grades),
        open_finding=bool(grades),
        condition=condition,
        abandoned=foundation.abandoned_at is not None,
    )


def _next(states: dict[str, str]) -> tuple[int, str]:
    """Count the stages released from below; what comes next is the first that is not."""
    released = 0
    while released < len(STAGE_KEYS) and states.get(STAGE_KEYS[released]) == RELEASED:
        released += 1
    return released, states.get(STAGE_KEYS[released], "") if released < len(STAGE_KEYS) else ""
