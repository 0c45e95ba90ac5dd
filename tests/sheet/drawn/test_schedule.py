"""Drawings of the schedule say and measure what the result says."""

import re

import pytest

from apps.calc import registry
from apps.calc.typed import read_inputs
from apps.sheet.drawn.schedule import DRAWINGS
from tests.sheet.drawn.sheet_reader import Box, Sheet, drawn
from tests.sheet.drawn.words import cut_off, meeting

SIX = {"days": [1.0, 2.0, 1.5, 1.0, 0.5, 0.5], "lags": [0.0, 0.0, 1.0, 7.0, 0.0, 0.0], "foundations": 20.0}
STEADY = {
    "foundations": 20.0, "days": [1.0, 2.0, 0.5], "crews": [1.0] * 3, "cv": [0.0] * 3, "lags": [0.0, 7.0, 0.0],
    "responses": [0.0] * 3, "names": ["drill", "pour", "base set"], "draws": 10.0,
}  # fmt: skip


def example(name: str) -> list[Sheet]:
    found = registry.find(name)
    return drawn(name, read_inputs(found, found.example)[0])


def height(sheet: Sheet, words: str) -> float:
    """Where a figure along y stands."""
    found = [each for each in sheet.root.iter("text") if each.text == words and each.get("text-anchor") == "end"]
    return float(found[0].get("y", "")) - 4


def along(sheet: Sheet, words: str) -> float:
    """Where a figure along x stands."""
    found = [each for each in sheet.root.iter("text") if each.text == words and each.get("text-anchor") == "middle"]
    return float(found[-1].get("x", ""))


def points(sheet: Sheet, paint: str, many: int = 1) -> list[list[tuple[float, float]]]:
    """The lines of a paint with at least so many points."""
    found = []
    for each in sheet.shapes(paint):
        numbers = [float(one) for one in re.findall(r"-?[0-9.]+", each.get("d", ""))]
        found.append(list(zip(numbers[::2], numbers[1::2], strict=True)))
    return [each for each in found if len(each) >= many]


def wide(box: Box) -> float:
    return box[2] - box[0]


def test_lines_of_the_stages_end_on_the_day_that_the_last_is_out() -> None:
    # recursion of a flow line: first out 14.5, last out 52.5, stage 2 sets the pace
    (sheet,) = drawn("schedule.flow_line", SIX)
    day = (height(sheet, "50") - height(sheet, "0")) / 50
    last = max((each for each in points(sheet, "s-conc")), key=lambda each: each[-1][1])
    assert [each[1] - height(sheet, "0") for each in last] == pytest.approx([14.5 * day, 52.5 * day], abs=0.3)
    (pace,) = [each for each in points(sheet, "s-ink") if each[0][1] != each[-1][1] and each[-1][0] - each[0][0] > 300]
    assert pace[-1][1] - pace[0][1] == pytest.approx(19 * 2 * day, abs=0.3)
    assert {"stage 6, 52.5", "stage 2, 41"} <= set(sheet.words)


def test_the_bottleneck_is_in_ink_and_the_busy_share_is_to_scale() -> None:
    lines, busy = drawn("schedule.flow", STEADY)  # without variation there is no distribution of the finish
    assert "pour, 48" in lines.words
    (ink,) = busy.boxes("f-ink")
    drill, base = busy.boxes("f-conc")
    assert wide(ink) / wide(drill) == pytest.approx(2, abs=0.02)
    assert wide(drill) / wide(base) == pytest.approx(2, abs=0.04)


def test_the_finish_has_its_band_and_its_percentiles() -> None:
    sheet = example("schedule.flow")[1]
    found = registry.find("schedule.flow")
    result = found.run(read_inputs(found, found.example)[0])
    (band,) = sheet.boxes("f-line-3")
    day = (along(sheet, "45") - along(sheet, "40")) / 5
    assert wide(band) == pytest.approx((result.p90 - result.p10) * day, abs=0.3)
    assert f"even chance {round(result.p50, 1):g}" in sheet.words


def test_a_finish_over_a_calendar_is_written_as_dates() -> None:
    lines, finish, _ = example("schedule.dates")
    assert "1 Jun" in lines.words
    assert any(re.fullmatch(r"80 % sure \d+ Jul", each) for each in finish.words)


def test_one_more_crew_is_drawn_where_it_helps() -> None:
    (sheet,) = drawn("schedule.crew", STEADY | {"lags": [0.0] * 3})
    assert len(sheet.shapes("f-ink")) >= 1
    assert "19 days" in sheet.words
    assert not sheet.boxes("f-conc")  # no bar where it helps nothing


def test_the_line_of_balance_is_to_scale() -> None:
    # I. Odeh, lecture LOB Example, activity A: unit 4.583 days, last start 29.03, done 33.61
    (sheet,) = example("schedule.line_of_balance")
    day = (along(sheet, "30") - along(sheet, "10")) / 20
    units = sheet.boxes("s-conc")
    assert len(units) == 20
    assert all(wide(each) == pytest.approx(4.583 * day, abs=0.3) for each in units)
    assert max(each[0] for each in units) - min(each[0] for each in units) == pytest.approx(29.03 * day, abs=0.3)
    assert "done 33.6 days" in sheet.words


def test_columns_of_progress_are_as_wide_as_their_weight_and_as_high_as_released() -> None:
    (sheet,) = drawn("schedule.progress", {"released": [4, 2, 0], "weights": [10, 30, 60], "foundations": 4})
    full = sheet.boxes("f-sheet", weight="0.7")
    filled = sheet.boxes("f-conc")
    assert wide(full[1]) / wide(full[0]) == pytest.approx(3, abs=0.02)
    assert len(filled) == 2
    areas = [wide(each) * (each[3] - each[1]) for each in filled]
    whole = sum(wide(each) * (each[3] - each[1]) for each in full[:3])
    assert sum(areas) / whole == pytest.approx(0.25, abs=0.002)
    assert "filled: 25 % of the whole, 4 foundations" in sheet.words


def test_an_estimate_over_the_budget_is_hatched_red_and_one_under_is_not() -> None:
    sums = {"planned": 3000.0, "earned": 2500.0, "actual": 2800.0, "budget": 4000.0}
    over, under = (drawn("schedule.earned_value", sums | {"actual": each})[0] for each in (2800.0, 2000.0))
    (bar,) = over.boxes("s-red", "over")
    budget = over.boxes("s-line", "within")[-1]
    assert wide(bar) / wide(budget) == pytest.approx(4480 / 4000, abs=0.01)
    assert not under.shapes(fill="over")


def test_the_plan_and_the_work_are_apart_by_the_variance() -> None:
    (sheet,) = example("schedule.earned_schedule")
    period = (along(sheet, "4") - along(sheet, "2")) / 2
    (late,) = [each for each in sheet.boxes("s-red") if each[1] == each[3]]
    assert wide(late) == pytest.approx(1.25 * period, abs=0.3)
    assert {"1.25 late", "at this rate 8.727", "plan 6"} <= set(sheet.words)


def test_days_over_the_eightieth_percentile_are_hatched() -> None:
    (sheet,) = drawn("schedule.weather", {"workable_days": 6.0, "chance": 0.7})
    assert len(sheet.shapes("f-conc")) == 5  # 6 to 10 days; P80 is 10
    assert {"80 % sure 10", "95 % 12"} <= set(sheet.words)


def test_activities_begin_where_the_mean_of_the_one_before_ends() -> None:
    path, total = example("schedule.three_point")
    # means 5, 3, 3, 4: the second box begins at 5 + 1
    boxes = path.boxes("f-conc-2")
    unit = (along(path, "20") - along(path, "10")) / 10
    assert boxes[1][0] - along(path, "0") == pytest.approx(6 * unit, abs=0.3)
    assert wide(boxes[1]) == pytest.approx(8 * unit, abs=0.3)
    assert {"even chance 15", "95 % 19.45"} <= set(total.words)


@pytest.mark.parametrize("name", DRAWINGS)
def test_the_words_of_an_example_stand_clear_of_each_other(name: str) -> None:
    for sheet in example(name):
        assert not meeting(sheet)
        assert not cut_off(sheet)


MANY = {"foundations": 2.0, "crews": [3.0] * 30, "cv": [1.0] * 30, "lags": [0.0] * 30, "responses": [0.0] * 30}


@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("flow", STEADY | {"days": [0.0] * 3, "lags": [0.0] * 3}),
        ("flow", STEADY | {"foundations": 1.0, "cv": [1.0] * 3, "workable": 0.01, "draws": 20.0}),
        ("flow", STEADY | {"foundations": 5000.0, "cv": [0.1] * 3, "names": ["a name that is far too long for its place"] * 3}),
        ("flow", MANY | {"days": [0.001] * 30, "draws": 5.0}),
        ("dates", STEADY | {"start": "2026-12-24", "cv": [1.0] * 3, "foundations": 300.0}),
        ("crew", STEADY | {"days": [0.0] * 3}),
        ("flow_line", {"days": [0.0], "lags": [0.0], "foundations": 1.0}),
        ("flow_line", {"days": [1e-3, 1e3] * 5, "lags": [0.0] * 10, "foundations": 1e5}),
        ("line_of_balance", {"person_hours": 1.0, "crew_size": 50.0, "target_a_week": 1000.0, "foundations": 1.0}),
        ("line_of_balance", {"person_hours": 1e4, "crew_size": 1.0, "target_a_week": 0.01, "foundations": 1e4}),
        ("work_under_way", {"rate": 1e-3, "raw_time": 1e3, "wip": 1.0}),
        ("work_under_way", {"rate": 1e3, "raw_time": 1e3, "wip": 2.0}),
        ("erlang", {"count": 1.0, "mean": 1e-3}),
        ("erlang", {"count": 1e6, "mean": 1e3}),
        ("weather", {"workable_days": 1.0, "chance": 1.0}),
        ("weather", {"workable_days": 1e6, "chance": 0.001}),
        ("three_point", {"optimistic": [0.0], "likely": [0.0], "pessimistic": [0.0]}),
        ("three_point", {"optimistic": [0.0] * 40, "likely": [1.0] * 40, "pessimistic": [1e5] * 40}),
        ("progress", {"released": [0] * 30, "weights": [1] * 30, "foundations": 9}),
        ("progress", {"released": [10**6], "weights": [0.001], "foundations": 10**6}),
        ("earned_value", {"planned": 0.0, "earned": 0.0, "actual": 0.0, "budget": 1e9}),
        ("earned_value", {"planned": 1e-3, "earned": 1e6, "actual": 1.0, "budget": 10.0}),
        ("earned_schedule", {"planned": [1e6], "earned": 0.0, "periods": 0.1}),
        ("earned_schedule", {"planned": [1.0, 1.0, 1.0], "earned": 1.0, "periods": 500.0}),
        ("earned_schedule", {"planned": [10.0, 100.0], "earned": 1e-6, "periods": 2.0}),
    ],
)  # fmt: skip
def test_extremes_are_drawn_within_the_paper(name: str, values: dict[str, object]) -> None:
    for sheet in drawn(f"schedule.{name}", values):
        across, down = (float(sheet.root.get(each, "")) for each in ("width", "height"))
        for left, top, right, bottom in sheet.boxes("s-ink") + sheet.boxes("f-ink") + sheet.boxes("f-conc"):
            assert -1 <= left <= right <= across + 1
            assert -1 <= top <= bottom <= down + 1
        assert not meeting(sheet)
        assert not cut_off(sheet)
