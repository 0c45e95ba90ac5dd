"""The straight plan: closed forms of parallel lines, and that it begins at 0 and ends at 100."""

import doctest
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.calc.errors import CalcError
from apps.calc.schedule import straight
from apps.calc.schedule.earned_time import earned_schedule
from apps.calc.schedule.straight import straight_plan

WEIGHTS = {"layout": 5, "drill": 20, "cage": 15, "pour": 30, "base_set": 15, "pole_set": 15}


def test_stages_run_parallel_and_the_last_ends_with_the_last_day() -> None:
    plan = straight_plan(74, [1, 1, 1, 5, 1])
    assert plan.begins == (0, 1, 2, 3, 8, 9) and plan.run == 74 - 9
    assert plan.share(5, 9) == 0 and plan.share(5, 74) == 1
    assert plan.share(0, 65) == 1 and plan.share(0, 64) < 1


def test_two_equal_stages_a_day_apart_give_the_percent_worked_out_by_hand() -> None:
    # Five days, one apart: each runs four. After two days the first is 2/4 done, the second 1/4: (50 + 25) / 2 percent.
    assert straight_plan(5, [1]).percent(2, {"a": 1, "b": 1}) == Fraction(75, 2)


def test_its_inverse_is_the_earned_schedule() -> None:
    # W. Lipke's earned schedule, as apps.calc.schedule.earned_time takes it from his training slides.
    plan = straight_plan(30, [1, 1, 1, 5, 1])
    curve = [float(plan.percent(day, WEIGHTS)) for day in range(1, 31)]
    for earned in (3, 41, 77):
        told = earned_schedule(planned=curve, earned=earned, periods=20)
        assert plan.day_of(Fraction(earned), WEIGHTS) == pytest.approx(told.earned_periods)


@given(st.integers(1, 300), st.lists(st.integers(0, 9), min_size=5, max_size=5))
def test_percent_rises_from_0_to_100(days: int, lags: list[int]) -> None:
    if days <= sum(lags):
        with pytest.raises(CalcError):
            straight_plan(days, lags)
        return
    plan = straight_plan(days, lags)
    told = [plan.percent(day, WEIGHTS) for day in range(days + 1)]
    assert told[0] == 0 and told[-1] == 100 and told == sorted(told)


@pytest.mark.parametrize("lags", [[], [-1]])
def test_impossible_lags_are_refused_by_name(lags: list[int]) -> None:
    with pytest.raises(CalcError) as fault:
        straight_plan(20, lags)
    assert fault.value.field == "lags"


def test_the_examples_of_the_docstrings_run() -> None:
    ran = doctest.testmod(straight)
    assert ran.attempted > 0 and ran.failed == 0
