"""The time–location page: lines equal a recount, never cross, and cost the same at any size."""

from datetime import date, datetime
from itertools import pairwise

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from apps.board.forecast import forecast_of
from apps.board.planned import progress
from apps.board.time_location import Diagram, diagram
from apps.corridor.models import Corridor
from apps.holdpoints import acts
from apps.record.ids import uuid7
from tests.factories.corridor import bring_in, member
from tests.factories.findings import raised
from tests.factories.holdpoints import at_stage
from tests.factories.times import DAY, NOW

pytestmark = pytest.mark.django_db
LATER = NOW + 60 * DAY


def made(corridor: Corridor, at: datetime = LATER) -> Diagram | None:
    corridor = Corridor.objects.select_related("edition", "tally").get(pk=corridor.pk)
    done = progress(corridor, corridor.tally, corridor.day(at))
    return diagram(corridor, at, forecast_of(corridor, at, whole=False), done)


def test_an_empty_corridor_has_none(corridor: Corridor) -> None:
    assert made(corridor) is None


def test_every_line_counts_what_is_released_and_stands_at_that_foundation(corridor: Corridor) -> None:
    rows = bring_in(corridor, [f"LP-{number:03d}" for number in range(1, 7)])
    for foundation, stage in zip(rows, ["drill", "drill", "layout", "layout"], strict=False):
        at_stage(foundation, stage, "released")
    sheet = made(corridor)
    assert sheet is not None
    released = corridor.tally.__class__.objects.get(pk=corridor.pk).released()
    assert [line.released for line in sheet.lines] == list(released.values()) == [4, 2, 0, 0, 0, 0]
    along = sorted(float(each.distance_ft) for each in rows)
    assert sheet.told.tracks[0].made[-1][0] == along[3] and sheet.told.tracks[1].made[-1][0] == along[1]
    assert [line.gap for line in sheet.lines] == [2, 2, 2, 0, 0, 0]
    assert sheet.widest.stage == "Drill" and sheet.before_widest == "Layout"


def test_a_later_stage_never_crosses_an_earlier_one_whatever_the_order_of_the_crews(corridor: Corridor) -> None:
    rows = bring_in(corridor, [f"LP-{number:03d}" for number in range(1, 7)])
    for foundation, stage in zip(reversed(rows), ["pole_set", "cage", "pour", "drill"], strict=False):
        at_stage(foundation, stage, "released")
    sheet = made(corridor)
    assert sheet is not None
    days = sorted({day for track in sheet.told.tracks for _, day in track.made})

    def reached(track: int, on: date) -> float:
        return max((place for place, day in sheet.told.tracks[track].made if day <= on), default=-1.0)

    for on in days:
        assert all(later <= earlier for earlier, later in pairwise(reached(track, on) for track in range(6)))


def test_an_abandoned_foundation_leaves_the_lines_and_a_held_one_is_flagged(corridor: Corridor) -> None:
    rows = bring_in(corridor, [f"LP-{number:03d}" for number in range(1, 4)])
    at_stage(rows[0], "layout", "released")
    at_stage(rows[1], "layout", "released")
    raised(rows[1], stage="drill", grade="critical")
    acts.abandon(
        foundation=rows[0],
        reason="Rock",
        successor=None,
        by=member(corridor, "engineer"),
        at=NOW + 3 * DAY,
        client_id=uuid7(),
    )
    sheet = made(corridor)
    assert sheet is not None
    assert sheet.lines[0].released == 1
    assert [place for place, _ in sheet.told.held] == [float(rows[1].distance_ft)]


def test_the_number_of_queries_does_not_grow(corridor: Corridor) -> None:
    rows = bring_in(corridor, [f"LP-{number:03d}" for number in range(1, 7)])

    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            made(corridor)
        return len(queries)

    at_stage(rows[0], "layout", "released")
    few = asked()
    for foundation in rows[1:]:
        at_stage(foundation, "drill", "released")
    assert asked() == few <= 8
