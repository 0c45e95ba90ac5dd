"""The morning sheet: its numbers equal a recount, it compares with the last working morning, it costs the same at any size."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from apps.board import queries
from apps.board.charts import bars
from apps.board.waits import x_of
from apps.calc.stages import STAGE_KEYS
from apps.corridor.models import Corridor, Foundation
from apps.holdpoints import acts, recount
from apps.people.models import Person
from apps.record.ids import uuid7
from tests.factories.corridor import bring_in
from tests.factories.findings import decided, raised
from tests.factories.holdpoints import at_stage, give_notice, hold_point, inspect, release
from tests.factories.materials import load
from tests.factories.times import DAY, HOUR, NOW

pytestmark = pytest.mark.django_db
MOST_QUERIES = 25
KEPT_QUERIES = 19
"""With the finish and the trends kept from the last look: they are drawn anew only when something changed."""


def fresh(corridor: Corridor) -> Corridor:
    """Return the corridor as a page has it."""
    return Corridor.objects.select_related("edition", "tally").get(pk=corridor.pk)


def sheet(corridor: Corridor, at: datetime) -> queries.Morning:
    return queries.morning(fresh(corridor), at)


@pytest.fixture
def mixed(corridor: Corridor) -> list[Foundation]:
    """Foundations in every state that the sheet counts."""
    made = bring_in(corridor, [f"LP-{number:03d}" for number in range(1, 9)])
    at_stage(made[0], "layout", "released")
    at_stage(made[1], "layout", "inspected")
    at_stage(made[2], "layout", "notified")
    at_stage(made[3], "layout", "returned")
    at_stage(made[4], "drill", "reopened")
    raised(made[5], stage="layout", grade="critical")
    raised(made[6], stage="layout", grade="minor")
    at_stage(made[7], "base_set", "ready")
    return made


def test_the_flow_equals_a_recount_from_the_rows(corridor: Corridor, mixed: list[Foundation]) -> None:
    morning, counted = sheet(corridor, NOW + 30 * DAY), recount.from_rows(corridor)
    for column in morning.flow:
        states = counted["hold_points"].get(column.stage.key, {})
        assert column.released == states.get("released", 0)
        assert column.inspected == states.get("inspected", 0)
        assert column.notified == states.get("notified", 0)
        assert column.ready == states.get("ready", 0)
        assert column.returned == states.get("returned", 0) + states.get("reopened", 0)
    assert morning.tally.foundations == counted["foundations"] == 8
    assert morning.findings == sum(counted["findings"].values()) == 2
    assert morning.releases + morning.contract.to_make == 8 * len(STAGE_KEYS)


def test_held_counts_foundations_at_the_stage_that_comes_next(corridor: Corridor, mixed: list[Foundation]) -> None:
    raised(mixed[0], stage="layout")
    raised(mixed[0], stage="layout", grade="critical")
    held = {column.stage.key: column.held for column in sheet(corridor, NOW + 30 * DAY).flow}
    assert held == {"layout": 1, "drill": 1, "cage": 0, "pour": 0, "base_set": 0, "pole_set": 0}


def test_percent_is_the_weighted_share_of_releases(corridor: Corridor) -> None:
    one, _ = bring_in(corridor, ["LP-001", "LP-002"])
    at_stage(one, "drill", "released")
    # Default weights: layout 5, drill 20 of 100. Common practice, no source. One of two foundations: 25 / 2 = 12.5 %.
    assert sheet(corridor, NOW + DAY).percent == Decimal("12.5")


def test_an_abandoned_foundation_leaves_every_count(corridor: Corridor, engineer: Person) -> None:
    one = bring_in(corridor, ["LP-001", "LP-002"])[0]
    at_stage(one, "layout", "inspected")
    acts.abandon(foundation=one, reason="Rock", by=engineer, at=NOW + DAY, client_id=uuid7())
    morning = sheet(corridor, NOW + 2 * DAY)
    assert morning.tally.foundations == 1
    assert [party.number for party in morning.parties] == [0] * 6
    assert [row.foundation.mark for row in morning.build] == ["LP-002"]
    assert [spot.mark for spot in morning.courses[0].spots] == ["LP-001", "LP-002"]


# ---- since the last working morning


def test_there_is_nothing_to_compare_on_the_first_morning(corridor: Corridor) -> None:
    bring_in(corridor, ["LP-001"])
    morning = sheet(corridor, NOW - HOUR)
    assert morning.change is None
    assert morning.change_words == "no earlier morning to compare"


def released_on(foundation: Foundation, stage: str, at: datetime) -> None:
    point = give_notice(hold_point(foundation, stage), at)
    release(inspect(point, at + timedelta(minutes=1)), at + timedelta(minutes=2))


def test_monday_compares_with_friday_morning(corridor: Corridor) -> None:
    """Weights 5 and 20: Thursday releases layout, Friday drill; Friday's morning stood at 5 %, Monday's at 25 %."""
    foundation = bring_in(corridor, ["LP-001"])[0]
    thursday, friday = datetime(2026, 3, 5, 17, tzinfo=UTC), datetime(2026, 3, 6, 17, tzinfo=UTC)
    monday = datetime(2026, 3, 9, 14, tzinfo=UTC)
    released_on(foundation, "layout", thursday)
    released_on(foundation, "drill", friday)
    morning = sheet(corridor, monday)
    assert (morning.percent, morning.change) == (Decimal("25.0"), Decimal("20.0"))
    assert morning.change_words == "20.0 up since Friday"


def test_days_without_change_are_no_progress(corridor: Corridor) -> None:
    foundation = bring_in(corridor, ["LP-001"])[0]
    released_on(foundation, "layout", datetime(2026, 3, 5, 17, tzinfo=UTC))
    wednesday = datetime(2026, 3, 11, 14, tzinfo=UTC)
    assert sheet(corridor, wednesday).change_words == "the same as yesterday"


def test_holidays_are_no_working_mornings(corridor: Corridor) -> None:
    corridor.holidays = ["2026-03-06"]
    assert queries.last_working_day(corridor, date(2026, 3, 9)) == date(2026, 3, 5)


# ---- who is waited for


def test_waits_are_the_oldest_first_and_late_past_the_promise(corridor: Corridor) -> None:
    made = bring_in(corridor, ["LP-001", "LP-002"])
    for foundation, at in zip(made, (NOW, NOW + 10 * HOUR), strict=True):
        inspect(give_notice(hold_point(foundation, "layout"), at), at)
    promised = timedelta(hours=corridor.release_promise_hours)
    engineer = sheet(corridor, NOW + promised).parties[0]
    assert ([item.name for item in engineer.items], engineer.late) == (["LP-001 layout", "LP-002 layout"], 0)
    assert sheet(corridor, NOW + promised + timedelta(seconds=1)).parties[0].late == 1


def test_an_inspection_is_waited_for_from_the_time_asked_for(corridor: Corridor) -> None:
    foundation = bring_in(corridor, ["LP-001"])[0]
    give_notice(hold_point(foundation, "layout"), NOW, asked_for=NOW + 5 * HOUR)
    before, after = sheet(corridor, NOW + 4 * HOUR).parties[2], sheet(corridor, NOW + 10 * HOUR).parties[2]
    assert (before.number, before.coming, before.late) == (1, 1, 0)
    assert (after.number, after.coming, after.late) == (1, 0, 1)


def test_the_contractor_is_waited_for_with_returns_and_decided_findings(corridor: Corridor) -> None:
    one, two = bring_in(corridor, ["LP-001", "LP-002"])
    at_stage(one, "layout", "returned")
    decided(raised(two, stage="layout"))
    returns, findings = sheet(corridor, NOW + DAY).parties[4:]
    assert [item.name for item in returns.items] == ["LP-001 layout"]
    assert [item.name for item in findings.items] == ["F-001 LP-002"]


def test_findings_stand_by_grade_and_age(corridor: Corridor) -> None:
    foundation = bring_in(corridor, ["LP-001"])[0]
    for days, grade in ((0, "minor"), (3, "minor"), (4, "major"), (14, "critical"), (15, "critical")):
        raised(foundation, stage="layout", grade=grade, at=NOW + (15 - days) * DAY)
    grades = {row.title: [cell.number for cell in row.cells] for row in sheet(corridor, NOW + 15 * DAY).grades}
    assert grades == {"Critical": [0, 0, 1, 1], "Major": [0, 1, 0, 0], "Minor": [2, 0, 0, 0]}


# ---- what may be built, what is asked for, what was placed


def test_a_gate_that_opens_today_may_be_built_from_then(corridor: Corridor) -> None:
    foundation = bring_in(corridor, ["LP-001"])[0]
    at_stage(foundation, "pour", "released")
    inspected = hold_point(foundation, "pour").inspections.get().looked_at
    opens = inspected + 7 * DAY
    day_before, same_morning = opens - DAY, opens - timedelta(minutes=30)
    assert sheet(corridor, day_before).may_build == 0
    row = sheet(corridor, same_morning).build[0]
    assert row.from_when == f"from {opens.astimezone(corridor.zone):%H:%M}"
    assert sheet(corridor, opens + HOUR).build[0].from_when == "now"


def test_what_is_held_may_not_be_built(corridor: Corridor) -> None:
    one = bring_in(corridor, ["LP-001", "LP-002"])[0]
    raised(one, stage="layout")
    assert [row.foundation.mark for row in sheet(corridor, NOW + HOUR).build] == ["LP-002"]


def test_the_list_of_what_may_be_built_is_short_and_says_how_many_there_are(corridor: Corridor) -> None:
    bring_in(corridor, [f"LP-{number:03d}" for number in range(1, 13)])
    morning = sheet(corridor, NOW)
    assert (len(morning.build), morning.may_build) == (queries.BUILD_SHOWN, 12)
    assert queries.BUILD_SHOWN <= 8


def test_notices_are_grouped_by_time_stage_and_crew(corridor: Corridor) -> None:
    made = bring_in(corridor, ["LP-001", "LP-002", "LP-003"])
    for foundation, hours in zip(made, (2, 2, 30), strict=True):
        give_notice(hold_point(foundation, "layout"), NOW, asked_for=NOW + hours * HOUR)
    morning = sheet(corridor, NOW)
    assert [[row.foundation.mark for row in notices.rows] for notices in morning.notices] == [["LP-001", "LP-002"]]
    assert (morning.notified_today, morning.notified_later) == (2, 1)


def test_concrete_is_compared_with_the_drawing(corridor: Corridor) -> None:
    """Neat volume of a 24 in shaft 8 ft deep: π/4 · 2² · 8 / 27 = 0.93 yd³ (computed); 0.95 placed is 2 % over."""
    one, two = bring_in(corridor, ["LP-001", "LP-002"])
    load(one, at=NOW)
    load(two, ticket="T-1002", at=NOW - 7 * DAY)
    concrete = sheet(corridor, NOW + HOUR).concrete
    assert (concrete.shafts, concrete.placed_yd3, concrete.over_words) == (1, Decimal("0.95"), "2 % over")


def test_weeks_hold_every_release_of_their_days(corridor: Corridor) -> None:
    for number, foundation in enumerate(bring_in(corridor, ["LP-001", "LP-002", "LP-003"])):
        released_on(foundation, "layout", NOW + number * 5 * DAY)
    weeks = sheet(corridor, NOW + 10 * DAY).weeks.bars
    assert len(weeks) == queries.WEEKS
    assert [bar.number for bar in weeks[-2:]] == [2, 1]
    assert [bar.running for bar in weeks] == [False] * (queries.WEEKS - 1) + [True]


def test_bars_stand_on_the_ground_and_the_highest_reaches_the_top() -> None:
    weeks = [(date(2026, 3, 2) + timedelta(weeks=week), number) for week, number in enumerate((3, 0, 12, 6))]
    drawn = bars(weeks).bars
    assert {round(bar.y + bar.height, 1) for bar in drawn} == {128.0}
    assert max(bar.height for bar in drawn) == drawn[2].height == 2 * drawn[3].height


def test_the_time_axis_is_logarithmic_from_an_hour_to_sixteen_days() -> None:
    hour, half, end = x_of(HOUR), x_of(timedelta(hours=384**0.5)), x_of(16 * DAY)
    assert (hour, end) == (6, 366) and half == pytest.approx((hour + end) / 2, abs=0.1)
    assert (x_of(timedelta(0)), x_of(90 * DAY)) == (hour, end)


# ---- the page


def queries_of(client: Any, corridor: Corridor) -> int:
    with CaptureQueriesContext(connection) as asked:
        assert client.get(reverse("board:morning", args=[corridor.slug])).status_code == 200
    return len(asked)


def test_the_sheet_asks_as_many_questions_for_sixty_as_for_three(
    as_person: Any, corridor: Corridor, office: Person, clock: Any
) -> None:
    one, two, three = bring_in(corridor, ["LP-001", "LP-002", "LP-003"])
    for foundation in (one, two):  # with a load and without: each way to know when it was poured
        at_stage(foundation, "base_set", "ready")
    load(one, at=NOW + 20 * DAY)
    at_stage(three, "layout", "inspected")
    raised(three, stage="layout")
    clock.move_to(NOW + 21 * DAY)
    client = as_person(office)
    few = queries_of(client, corridor)
    more = bring_in(corridor, [f"LP-{number:03d}" for number in range(4, 61)])
    for number, foundation in enumerate(more[:6]):
        at_stage(foundation, "layout", ("inspected", "notified", "returned")[number % 3])
        raised(foundation, stage="layout")
    at_stage(more[7], "base_set", "ready")
    assert queries_of(client, corridor) == few <= MOST_QUERIES
    assert queries_of(client, corridor) <= KEPT_QUERIES


def test_the_sheet_says_the_answer_first_and_no_forecast(
    as_person: Any, corridor: Corridor, mixed: list[Foundation], office: Person, clock: Any
) -> None:
    clock.move_to(NOW + 30 * DAY)
    page = as_person(office).get(reverse("board:morning", args=[corridor.slug])).content.decode()
    percent = sheet(corridor, NOW + 30 * DAY).percent
    assert f"<b>{percent} % complete</b>" in page
    assert page.index('class="say"') < page.index('id="detail-1"')
    assert "26 Jun 2026" in page
    assert "even chance" not in page and "% sure" not in page


def test_marks_of_the_strip_lead_to_their_foundations(
    as_person: Any, corridor: Corridor, mixed: list[Foundation], office: Person, clock: Any
) -> None:
    page = as_person(office).get(reverse("board:morning", args=[corridor.slug])).content.decode()
    for foundation in mixed:
        assert reverse("board:foundation", args=[corridor.slug, foundation.mark]) in page
