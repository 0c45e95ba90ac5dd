"""Several corridors on one page: what a programme's meeting asks of each, from counts, snapshots and the straight plan."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db.models import Min

from apps.board.planned import Progress, progress
from apps.board.queries import last_working_day, tenth
from apps.corridor.models import Corridor
from apps.findings.models import BLOCKING_GRADES
from apps.holdpoints.models import HoldPoint


@dataclass(frozen=True, slots=True)
class OneOfSeveral:
    """How one corridor stands."""

    corridor: Corridor
    percent: Decimal
    change: Decimal | None
    """Points since the last working morning; None without an earlier one."""
    progress: Progress
    foundations: int
    waiting: int
    """Hold points inspected and not decided."""
    oldest: datetime | None
    findings: int
    holding: int
    """Open findings of a grade that holds its foundation."""

    @property
    def behind(self) -> Decimal:
        """Points behind the straight plan; below zero ahead of it."""
        return tenth(self.progress.behind)

    @property
    def ahead(self) -> Decimal:
        """Points ahead of it."""
        return -self.behind


def several(corridors: Sequence[Corridor], at: datetime) -> list[OneOfSeveral]:
    """Return how these corridors stand; they come with their counts. One query, and one a corridor."""
    keys = [each.pk for each in corridors]
    waiting = HoldPoint.objects.filter(
        corridor__in=keys, state=HoldPoint.State.INSPECTED, foundation__abandoned_at=None
    )
    oldest = dict(waiting.order_by().values_list("corridor").annotate(first=Min("since")))
    return [_one(each, oldest.get(each.pk), at) for each in corridors]


def _one(corridor: Corridor, oldest: datetime | None, at: datetime) -> OneOfSeveral:
    tally, today = corridor.tally, corridor.day(at)
    tally.corridor = corridor
    percent = tally.percent()
    plan = progress(corridor, tally, today)
    before = plan.before(last_working_day(corridor, today))
    return OneOfSeveral(
        corridor=corridor,
        percent=tenth(percent),
        change=None if before is None else tenth(percent - before),
        progress=plan,
        foundations=tally.foundations,
        waiting=sum(states.get("inspected", 0) for states in tally.hold_points.values()),
        oldest=oldest,
        findings=sum(tally.findings.values()),
        holding=sum(number for grade, number in tally.findings.items() if grade in BLOCKING_GRADES),
    )
