"""A corridor with as many foundations as a test wants, written in bulk: for how pages look and what they cost, not for the record.

Acts would take minutes. Rows are shaped as acts leave them: released from below, one next hold point, attempts where one was made.
"""

from collections import Counter
from datetime import timedelta
from decimal import Decimal
from typing import Any

from django.db import connection

from apps.calc.stages import STAGES
from apps.corridor.models import Alignment, Corridor, Foundation, Tally
from apps.findings.models import Finding
from apps.holdpoints.models import HoldPoint, Inspection
from tests.factories.corridor import member
from tests.factories.times import NOW

FIRST_FT, LAST_FT = 20.0, 29_980.0
"""Along "Parkway", which is 30,000 ft long and begins at station 100+00."""
NEXT = ("ready", "ready", "notified", "inspected", "ready", "returned", "ready", "inspected")


def crowd(corridor: Corridor, count: int, *, first: int = 0, alignment: Alignment | None = None) -> list[Foundation]:
    """Write `count` foundations at even distances, sides in turn: the nearer to the start, the further along.

    Every 29th has a finding that holds it, every 31st a minor one, every 97th is abandoned. `first`: so many were written before.
    """
    foundations = _foundations(corridor, count, first, alignment or corridor.alignments.get())
    Foundation.objects.bulk_create(foundations, batch_size=2000)
    points = [point for i, each in enumerate(foundations) for point in _points(corridor, each, i, count)]
    HoldPoint.objects.bulk_create(points, batch_size=2000)
    inspector = member(corridor, "inspector")
    attempts = [_attempt(point, inspector) for point in points if point.attempts]
    Inspection.objects.bulk_create(attempts, batch_size=2000)
    Finding.objects.bulk_create(
        [_finding(corridor, each, first, i, inspector) for i, each in enumerate(foundations) if _grade(i)]
    )
    _count(corridor, foundations, points)
    _analyze()
    return foundations


def _analyze() -> None:
    """Let PostgreSQL count its tables, as its autovacuum would have: without, it plans as for a few rows, ten times slower."""
    if connection.vendor == "postgresql":
        tables = ", ".join(model._meta.db_table for model in (Foundation, HoldPoint, Inspection, Finding))
        with connection.cursor() as cursor:
            cursor.execute(f"ANALYZE {tables}")


def released(i: int, count: int) -> int:
    """Return how many stages the i-th of `count` has behind it, 0 to 6."""
    return min(max(round(8 - 9.5 * (i + (i * 7919 % 13) * count / 200) / count), 0), len(STAGES))


def _foundations(corridor: Corridor, count: int, first: int, alignment: Alignment) -> list[Foundation]:
    crew = corridor.crews.get()
    designs = {design.name: design for design in corridor.designs.all()}
    step = (LAST_FT - FIRST_FT) / max(count - 1, 1)
    made = []
    for i in range(count):
        pedestal = i % 7 == 3
        at = Decimal(str(round(FIRST_FT + step * i, 2)))
        gone = i % 97 == 50
        made.append(
            Foundation(
                corridor=corridor, alignment=alignment, design=designs["PB1" if pedestal else "LP1"], crew=crew,
                mark=f"{'PB' if pedestal else 'LP'}-{first + i + 1:05d}", station_ft=at + 10_000, distance_ft=at, offset_ft=28,
                side="LR"[i % 2], east_ft=51_200, north_ft=88_400, depth_in=96, notes="",
                abandoned_at=NOW if gone else None, abandoned_why="Rock at 3 ft" if gone else "",
            )
        )  # fmt: skip
    return made


def _points(corridor: Corridor, foundation: Foundation, i: int, count: int) -> list[HoldPoint]:
    done, since = released(i, count), NOW - timedelta(hours=1 + i % 90)
    points = []
    for place, stage in enumerate(STAGES):
        state = "released" if place < done else NEXT[i % len(NEXT)] if place == done else "not_ready"
        tried = state in ("released", "inspected", "returned")
        points.append(
            HoldPoint(
                corridor=corridor, foundation=foundation, stage=stage.key, place=place, state=state, since=since,
                attempts=int(tried), edition=corridor.edition if tried else None,
                asked_for=since if state == "notified" else None,
            )
        )  # fmt: skip
    return points


def _attempt(point: HoldPoint, inspector: Any) -> Inspection:
    return Inspection(
        hold_point=point, attempt=1, edition_id=point.edition_id, inspector=inspector, looked_at=point.since,
        received_at=point.since, tally={"conforms": 3}, entry=1,
    )  # fmt: skip


def _grade(i: int) -> str:
    return "major" if i % 29 == 8 else "minor" if i % 31 == 11 else ""


def _finding(corridor: Corridor, foundation: Foundation, first: int, i: int, inspector: Any) -> Finding:
    return Finding(
        corridor=corridor, number=first + i + 1, foundation=foundation, stage="layout", title="Stake disturbed", grade=_grade(i),
        state="open", raised_at=NOW - timedelta(days=i % 20), raised_by=inspector, since=NOW, due_on=NOW.date(),
    )  # fmt: skip


def _count(corridor: Corridor, foundations: list[Foundation], points: list[HoldPoint]) -> None:
    """Set the running counts to what was written last: enough for how a page looks."""
    counted: dict[str, Counter[str]] = {stage.key: Counter() for stage in STAGES}
    for point in points:
        if not point.foundation.abandoned_at:
            counted[point.stage][point.state] += 1
    gone = sum(each.abandoned_at is not None for each in foundations)
    Tally.objects.filter(corridor=corridor).update(
        foundations=len(foundations) - gone,
        abandoned=gone,
        hold_points={stage: dict(states) for stage, states in counted.items()},
        findings=dict(Counter(_grade(i) for i, each in enumerate(foundations) if _grade(i) and not each.abandoned_at)),
    )
