"""The time–location diagram: where its lines stand is what went in; nothing is drawn that is not known."""

from datetime import date, timedelta
from typing import Any

import pytest

from apps.sheet.drawn.paper import number
from apps.sheet.drawn.time_location import (
    HEIGHT,
    LEFT,
    RIGHT,
    TOP,
    WIDTH,
    Rows,
    StageTrack,
    TimeLocation,
    time_location,
)
from tests.sheet.drawn.sheet_reader import Sheet

FIRST = date(2026, 3, 2)


def day(number: int) -> date:
    return FIRST + timedelta(days=number)


def told(**more: Any) -> TimeLocation:
    tracks = [
        StageTrack(
            "Layout", ((0.0, day(0)), (1000.0, day(80))), [(200.0, day(10)), (600.0, day(30))], (day(60), day(70))
        ),
        StageTrack("Drill", ((0.0, day(5)), (1000.0, day(90))), [(300.0, day(35))], (day(95), day(110))),
    ]
    fields: dict[str, Any] = {
        "start_ft": 0.0,
        "end_ft": 1000.0,
        "figure": lambda place: f"{place:.0f} ft",
        "stations": [0.0, 500.0, 1000.0],
        "crossings": [(400.0, "Juniper St")],
        "first": FIRST,
        "today": day(40),
        "contract": day(90),
        "tracks": tracks,
        "lost": [],
        "held": [],
    }
    return TimeLocation(**(fields | more))


def drawn(**more: Any) -> Sheet:
    return Sheet(time_location(told(**more)).svg("t"))


def where(place: float, on: date, last: date) -> str:
    """Return where a place stands on a day, worked out from the margins alone."""
    x = LEFT + (WIDTH - RIGHT - LEFT) * place / 1000
    y = TOP + (HEIGHT - 18 - TOP) * (on - FIRST).days / (last - FIRST).days
    return f"{number(x)} {number(y)}"


def test_its_last_day_leaves_a_week_after_the_latest_end() -> None:
    assert told().last == day(117)


def test_the_actual_line_steps_from_release_to_release_and_down_to_today() -> None:
    layout = drawn().shapes("s-ink", weight="1.2")
    path = next(each.get("d", "") for each in layout if where(600, day(30), day(117)) in each.get("d", ""))
    expected = [(0, 10), (0, 10), (200, 10), (200, 30), (600, 30), (600, 40)]
    assert path == "M" + "L".join(where(place, day(on), day(117)) for place, on in expected)


def test_a_later_stage_is_heavier() -> None:
    sheet = drawn()
    heavy = [each.get("d", "") for each in sheet.shapes("s-ink", weight="4")]
    assert len(heavy) == 1 and where(300, day(35), day(117)) in heavy[0]


def test_forecast_is_hatched_from_an_even_chance_to_80_percent_at_the_end_of_the_road() -> None:
    hatched = [each.get("d", "") for each in drawn().shapes(fill="within")]
    corners = [where(600, day(40), day(117)), where(1000, day(60), day(117)), where(1000, day(70), day(117))]
    assert hatched[0] == "M" + "L".join(corners) + "Z"


def test_without_a_forecast_or_a_plan_neither_is_drawn() -> None:
    bare = [StageTrack("Layout", None, [(200.0, day(10))], None)]
    sheet = drawn(tracks=bare)
    assert not sheet.shapes(fill="within")
    assert not [each for each in sheet.shapes("s-line") if each.get("stroke-dasharray") == "5 3"]


def test_nothing_done_draws_no_line_and_says_so() -> None:
    sheet = drawn(tracks=[StageTrack("Layout", None, [], None)])
    assert "nothing released yet" in sheet.name
    assert sheet.shapes("s-ink", weight="1.2") == []  # the weight of a single stage


def test_the_contract_date_is_red_with_its_day_and_today_is_named() -> None:
    sheet = drawn()
    assert "contract date 31 May" in sheet.said and "today" in sheet.words


def test_lost_days_are_tinted_with_their_reason_and_held_foundations_flagged() -> None:
    sheet = drawn(lost=[Rows(day(12), day(16), "nothing inspected")], held=[(300.0, day(20))])
    assert "nothing inspected" in sheet.words and len(sheet.shapes("f-well")) == 1
    assert len(sheet.shapes("f-red")) == 1 and "1 held" in sheet.name


@pytest.mark.parametrize("more", [{}, {"today": day(89)}, {"contract": day(41)}, {"crossings": [(990.0, "Mesa ramp")]}])
def test_no_word_leaves_the_paper(more: dict[str, Any]) -> None:
    assert drawn(**more).words_off_paper == []
