"""Weighted percent complete, earned value, earned schedule. Case ids are those of the project's reference cases."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.calc.errors import CalcError
from apps.calc.registry import find
from apps.calc.schedule.earned import earned_value
from apps.calc.schedule.earned_time import earned_schedule
from apps.calc.schedule.progress import percent_complete, weighted_progress
from apps.calc.stages import DEFAULT_WEIGHTS, STAGE_KEYS

TEXTBOOK_WEEKS = (10, 25, 45, 70, 90, 100)


def test_nothing_released_is_zero_percent():
    assert percent_complete({}, 150, DEFAULT_WEIGHTS) == 0


def test_everything_released_is_exactly_a_hundred():
    assert percent_complete(dict.fromkeys(STAGE_KEYS, 148), 148, DEFAULT_WEIGHTS) == 100


def test_no_foundations_is_zero_percent():
    assert percent_complete({}, 0, DEFAULT_WEIGHTS) == 0


def test_a_third_stays_exact():
    assert percent_complete({"drill": 1}, 3, {"drill": 1}) == Fraction(100, 3)


def test_only_the_proportion_of_the_weights_counts():
    released = {"layout": 7, "drill": 5, "cage": 2}
    doubled = {stage: 2 * weight for stage, weight in DEFAULT_WEIGHTS.items()}
    assert percent_complete(released, 9, doubled) == percent_complete(released, 9, DEFAULT_WEIGHTS)


@given(st.lists(st.integers(0, 40), min_size=6, max_size=6), st.sampled_from(STAGE_KEYS))
def test_percent_stays_between_0_and_100_and_rises_with_every_release(counts, stage):
    released = dict(zip(STAGE_KEYS, counts, strict=True))
    before = percent_complete(released, 41, DEFAULT_WEIGHTS)
    released[stage] += 1
    assert 0 <= before < percent_complete(released, 41, DEFAULT_WEIGHTS) <= 100


@pytest.mark.parametrize(
    ("released", "foundations", "weights", "field"),
    [
        ({"drill": 4}, 3, {"drill": 1}, "released"),
        ({"paint": 1}, 3, {"drill": 1}, "released"),
        ({"drill": -1}, 3, {"drill": 1}, "released[drill]"),
        ({"drill": 1.5}, 3, {"drill": 1}, "released[drill]"),
        ({}, -1, {"drill": 1}, "foundations"),
        ({}, True, {"drill": 1}, "foundations"),
        ({}, 3, {"drill": -1}, "weights"),
        ({}, 3, {"drill": 0}, "weights"),
        ({}, 3, {}, "weights"),
    ],
)
def test_percent_complete_refuses_impossible_counts(released, foundations, weights, field):
    with pytest.raises(CalcError) as error:
        percent_complete(released, foundations, weights)
    assert error.value.field == field


def test_weighted_progress_shows_the_numbers_put_in():
    result = weighted_progress(released=[2, 1], weights=[40, 60], foundations=4)
    assert result.percent == 35
    assert result.working[0].numbers == "100 · (40 × 2 + 60 × 1) / ((40 + 60) × 4)"


def test_weighted_progress_refuses_lists_of_different_length():
    with pytest.raises(CalcError, match="weights"):
        weighted_progress(released=[2, 1], weights=[40], foundations=4)


def test_earned_value_of_the_fence_exercise():
    # SC-S01: Mulcahy fence exercise, studylib.net/doc/5898152. It prints 4479, 1679, -479 from CPI rounded to 0.893.
    result = earned_value(planned=3000, earned=2500, actual=2800, budget=4000)
    assert (result.schedule_variance, result.cost_variance) == (-500, -300)
    assert result.spi == pytest.approx(0.8333, abs=1e-3)
    assert result.cpi == pytest.approx(0.8929, abs=1e-3)
    assert result.tcpi == pytest.approx(1.25, abs=1e-3)
    assert result.estimate_at_completion == pytest.approx(4480, abs=1)
    assert result.estimate_to_complete == pytest.approx(1680, abs=1)
    assert result.variance_at_completion == pytest.approx(-480, abs=1)


def test_earned_value_gives_no_index_where_nothing_was_planned_or_spent():
    result = earned_value(planned=0, earned=0, actual=0, budget=10)
    assert (result.spi, result.cpi, result.estimate_at_completion) == (None, None, None)


def test_planned_value_and_schedule_index_of_a_half_planned_project():
    # SC-S02: documentation of the PRA package, paulgovan.github.io/PRA (PV, EV, SPI printed there).
    result = earned_value(planned=0.4 * 100_000, earned=0.35 * 100_000, actual=1, budget=100_000)
    assert result.spi == pytest.approx(0.875, abs=1e-4)


@pytest.mark.parametrize(
    ("planned", "earned", "periods", "expected"),
    [
        # SC-S02: plan of the PRA documentation; earned schedule computed from Lipke's definition.
        ((10_000, 20_000, 40_000, 70_000, 100_000), 35_000, 3, (2.75, 0.9167, -0.25, 5.4545)),
        # SC-S03: computed from Lipke's definition.
        (TEXTBOOK_WEEKS, 40, 4, (2.75, 0.6875, -1.25, 8.7273)),
    ],
)
def test_earned_schedule_of_published_plans(planned, earned, periods, expected):
    result = earned_schedule(planned=planned, earned=earned, periods=periods)
    found = (result.earned_periods, result.spi_t, result.variance_periods, result.forecast_periods)
    assert found == pytest.approx(expected, abs=1e-4)


def test_work_on_plan_has_an_index_of_one():
    result = earned_schedule(planned=TEXTBOOK_WEEKS, earned=45, periods=3)
    assert (result.spi_t, result.forecast_periods) == (1, 6)


def test_finished_work_has_earned_the_whole_plan_even_with_a_flat_end():
    result = earned_schedule(planned=[*TEXTBOOK_WEEKS, 100], earned=100, periods=8)
    assert (result.earned_periods, result.planned_periods, result.forecast_periods) == (6, 6, 8)


def test_nothing_earned_gives_no_forecast():
    assert earned_schedule(planned=TEXTBOOK_WEEKS, earned=0, periods=2).forecast_periods is None


@given(st.floats(0, 100), st.floats(0, 100))
def test_earning_more_never_lowers_earned_schedule(first, second):
    low, high = sorted((first, second))
    assert (
        earned_schedule(planned=TEXTBOOK_WEEKS, earned=low, periods=4).earned_periods
        <= earned_schedule(planned=TEXTBOOK_WEEKS, earned=high, periods=4).earned_periods
    )


@pytest.mark.parametrize(
    ("arguments", "field"),
    [
        ({"planned": [], "earned": 1, "periods": 1}, "planned"),
        ({"planned": [2, 1], "earned": 1, "periods": 1}, "planned"),
        ({"planned": [0, 0], "earned": 0, "periods": 1}, "planned"),
        ({"planned": [1, float("nan")], "earned": 1, "periods": 1}, "planned"),
        ({"planned": [1, 2], "earned": 3, "periods": 1}, "earned"),
        ({"planned": [1, 2], "earned": 1, "periods": 0}, "periods"),
    ],
)
def test_earned_schedule_refuses_an_impossible_plan(arguments, field):
    with pytest.raises(CalcError) as error:
        earned_schedule(**arguments)
    assert error.value.field == field


def test_earned_value_refuses_a_budget_of_nothing():
    with pytest.raises(CalcError, match="budget"):
        earned_value(planned=1, earned=1, actual=1, budget=0)


def test_the_registry_runs_progress_from_floats():
    assert (
        find("schedule.progress").run({"released": [2.0, 1.0], "weights": [40.0, 60.0], "foundations": 4.0}).percent
        == 35
    )


def test_progress_says_its_percent_and_the_last_stage():
    result = weighted_progress(released=[2, 1], weights=[40, 60], foundations=4)
    assert result.sentence == "35 % complete, by weight. 1 of 4 foundations are through the last stage."
    assert result.parts == (20, 15)
    assert weighted_progress(released=[0], weights=[1], foundations=0).sentence == "Nothing is to be built."


@pytest.mark.parametrize(
    ("sums", "words"),
    [
        # SC-S01: Mulcahy fence exercise (as above).
        (
            (3000, 2500, 2800, 4000),
            "500 behind the plan, and 300 over its cost. At this rate it comes to 4480, 480 over the budget of 4000.",
        ),
        (
            (2000, 2500, 2000, 4000),
            "500 ahead of the plan, and 500 under its cost. At this rate it comes to 3200, 800 under the budget of 4000.",
        ),
        ((10, 10, 10, 40), "On the plan, and at its cost. At this rate it comes to 40, just the budget of 40."),
        ((10, 0, 5, 40), "10 behind the plan, and 5 over its cost. Nothing is earned yet, so nothing is foretold."),
    ],
)
def test_earned_value_says_late_and_dear_first(sums, words):
    planned, earned, actual, budget = sums
    assert earned_value(planned=planned, earned=earned, actual=actual, budget=budget).sentence == words


def test_earned_schedule_says_how_late_and_when():
    # SC-S03: computed from Lipke's definition.
    late = earned_schedule(planned=TEXTBOOK_WEEKS, earned=40, periods=4).sentence
    assert late == "1.25 periods behind the plan. At this rate all is done after 8.727 periods instead of 6."
    assert earned_schedule(planned=TEXTBOOK_WEEKS, earned=45, periods=3).sentence.startswith(
        "Just where the plan has it."
    )
    assert "nothing is foretold" in earned_schedule(planned=TEXTBOOK_WEEKS, earned=0, periods=3).sentence
