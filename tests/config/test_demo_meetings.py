"""The demo's morning meetings: what they asked stands as it was planned at whatever hour the season ends, and follows the board."""

from collections import Counter
from datetime import date, datetime, time, timedelta
from random import Random
from uuid import UUID

import pytest

from apps.config.demo import meetings
from apps.config.demo.scene import build
from apps.config.demo.season import Season
from apps.config.demo.whole import WEEKS, ZONE
from apps.corridor.models import Foundation
from apps.findings import acts as finding_acts
from apps.findings.models import Finding
from apps.followups.models import FollowUp
from apps.record import verify
from apps.record.models import Entry

pytestmark = pytest.mark.django_db
FIRST = date(2026, 3, 2)  # a Monday


class Idle(Season):
    """A season in which the crews do nothing: only the meetings sit."""

    def ask_for_tomorrow(self, at: datetime, number: int) -> None:
        """Nobody asks for anything."""


def idle(until: datetime) -> Idle:
    """Return the season of the invented corridor, not yet run."""
    ids = Random("ids")

    def new_id() -> UUID:
        return UUID(int=ids.getrandbits(128), version=4)

    start = datetime.combine(FIRST - timedelta(days=3), time(9), ZONE)
    return Idle(build(start, new_id, WEEKS * 7), seed=1, new_id=new_id, first=FIRST, until=until)


def untold(done: int, days: int) -> None:
    """Say nothing."""


@pytest.mark.parametrize(("weekday", "hour"), [(0, 0), (0, 20), (3, 8), (6, 12)])
def test_errands_stand_as_they_were_planned_at_whatever_hour_it_ends(weekday: int, hour: int) -> None:
    last = FIRST + timedelta(weeks=WEEKS - 1, days=weekday)
    until = datetime.combine(last, time(hour, 5), ZONE)
    season = idle(until)
    meetings.plan_meetings(season)
    season.run(untold)
    rows = {row.text: row for row in FollowUp.objects.select_related("owner")}
    assert set(rows) == {errand.text for errand in meetings.ERRANDS}
    today = season.corridor.day(until)
    for errand in meetings.ERRANDS:
        row = rows[errand.text]
        assert row.owner == season.scene.people[errand.role][errand.which]
        if row.is_open:
            assert errand.ended is None or errand.ended >= errand.before - 1
        else:
            assert (row.state, row.ended_how) == ("dropped" if errand.dropped else "done", errand.word)
    states = Counter(row.state for row in rows.values())
    assert min(states["open"], states["done"], states["dropped"]) >= 1
    assert FollowUp.objects.late(today).exists()
    assert FollowUp.objects.to_do().exclude(pk__in=FollowUp.objects.late(today)).exists()


def test_the_record_of_them_is_whole_and_says_that_one_was_moved() -> None:
    season = idle(datetime.combine(FIRST + timedelta(weeks=WEEKS - 1, days=3), time(12), ZONE))
    meetings.plan_meetings(season)
    season.run(untold)
    assert not verify.verify(season.corridor.pk).faults
    acts = Counter(row.act for row in Entry.objects.of_log(season.corridor.pk))
    assert (acts["add_follow_up"], acts["postpone_follow_up"]) == (len(meetings.ERRANDS), 1)


def test_meetings_draw_no_chance_numbers() -> None:
    """Else the season around them would be another one."""
    season = idle(datetime.combine(FIRST + timedelta(weeks=WEEKS - 1), time(12), ZONE))
    before = season.random.getstate()
    meetings.plan_meetings(season)
    season.run(untold)
    assert season.random.getstate() == before


def test_a_season_too_short_has_none() -> None:
    season = idle(datetime.combine(FIRST + timedelta(weeks=3), time(12), ZONE))
    meetings.plan_meetings(season)
    season.run(untold)
    assert not FollowUp.objects.exists()


def raise_at(season: Season, mark: str, at: datetime) -> None:
    """Raise a major finding at a foundation, which nobody settles."""
    foundation = Foundation.objects.get(corridor=season.corridor, mark=mark)
    finding_acts.raise_finding(
        foundation=foundation, stage="layout", title="The stake is gone", grade="major", at=at,
        by=season.scene.people["inspector"][0], client_id=season.new_id(),
    )  # fmt: skip


def close(season: Season, at: datetime) -> None:
    """Let a finding end as it is, by both engineers."""
    common = {"finding": Finding.objects.get(corridor=season.corridor), "at": at}
    one, two = season.scene.people["engineer"]
    finding_acts.decide_disposition(
        kind="concession", reason="It is near enough", consent="Letter 1", by=one, client_id=season.new_id(), **common
    )
    finding_acts.close_finding(by=two, client_id=season.new_id(), **common)


def test_a_finding_that_holds_work_for_long_is_asked_about_once_and_done_when_it_is_closed() -> None:
    season = idle(datetime.combine(FIRST + timedelta(weeks=WEEKS - 1, days=3), time(12), ZONE))
    meetings.plan_meetings(season)
    mark = Foundation.objects.filter(corridor=season.corridor).order_by("mark")[0].mark
    season.later(season.at(season.days[10], 9), lambda at: raise_at(season, mark, at))
    season.later(season.at(season.days[20], 9), lambda at: close(season, at))
    season.run(untold)
    row = FollowUp.objects.get(finding__isnull=False)
    engineer = season.scene.people["engineer"][0]
    assert (row.foundation, row.owner) == (row.finding.foundation, engineer)
    assert row.text == "Decide what happens"
    asked = row.added_at.astimezone(ZONE)
    assert asked.date() > season.days[10] + meetings.LONG and asked.hour == 7
    assert row.ended_at is not None
    assert (row.ended_at.astimezone(ZONE).date(), row.ended_how) == (season.days[21], "F-001 is closed")
