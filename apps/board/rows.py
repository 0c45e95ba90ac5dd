"""The corridor's list: for each foundation what was released last, what is next and what stands in the way."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from apps.calc.stages import STAGE_BY_KEY, STAGES
from apps.corridor.models import Foundation
from apps.findings.models import Finding
from apps.holdpoints import blockers
from apps.holdpoints.models import HoldPoint
from apps.sheet.glyphs import Standing
from apps.sheet.standing import standings

STEPS = {
    "not_ready": "Wait",
    "ready": "{}",
    "notified": "Inspect {}",
    "inspected": "Release {}",
    "returned": "Correct {}",
    "reopened": "Correct {}",
}


@dataclass(frozen=True, slots=True)
class Row:
    """One foundation of the list."""

    foundation: Foundation
    standing: Standing
    last: str
    step: str
    state: str
    way: str
    """What stands in the way, in words; the gate's words where nothing does."""
    finding: Finding | None
    since: datetime | None
    point: HoldPoint | None

    @property
    def held(self) -> bool:
        """Whether a finding holds it."""
        return self.standing.held


WAITS = {
    "inspected": "Waits for the engineer",
    "notified": "Waits for the inspector",
    "returned": "Returned to the contractor",
    "reopened": "Reopened",
}


def rows(foundations: Sequence[Foundation], now: datetime) -> list[Row]:
    """Return the rows of these foundations, with a fixed number of queries. They come with design, crew and corridor.edition."""
    drawn = standings(foundations)
    by_foundation: dict[object, list[HoldPoint]] = defaultdict(list)
    known = {each.pk: each for each in foundations}
    for point in HoldPoint.objects.filter(foundation__in=known).order_by("place"):
        point.foundation = known[point.foundation_id]
        by_foundation[point.foundation_id].append(point)
    following = {key: next((p for p in points if p.state != "released"), None) for key, points in by_foundation.items()}
    situations = blockers.situations([point for point in following.values() if point is not None], now)
    return [
        _row(each, drawn[each.pk], by_foundation[each.pk], following.get(each.pk), situations, now)
        for each in foundations
    ]


def _row(
    foundation: Foundation,
    standing: Standing,
    points: Iterable[HoldPoint],
    point: HoldPoint | None,
    situations: dict[Any, blockers.Situation],
    now: datetime,
) -> Row:
    last = STAGES[standing.released - 1].title if standing.released else "none"
    if foundation.abandoned_at is not None:
        return Row(foundation, standing, last, "None", "abandoned", "Abandoned", None, foundation.abandoned_at, None)
    if point is None:
        return Row(foundation, standing, last, "None", "done", "Complete", None, None, None)
    stage = STAGE_BY_KEY[point.stage]
    words = stage.to_do if point.state == "ready" else stage.title.lower()
    step = STEPS[point.state].format(words)
    situation = situations[point.pk]
    finding = situation.holding[0] if situation.holding else None
    reasons = blockers.to_build(situation, now)
    way = WAITS.get(point.state) or (reasons[0] if reasons else situation.gate.sentence or "Nothing: may be built")
    if point.state == "notified" and point.asked_for:
        way = f"{way}, asked for {point.asked_for.astimezone(foundation.corridor.zone):%a %H:%M}"
    return Row(foundation, standing, last, step[:1].upper() + step[1:], point.state, way, finding, point.since, point)
