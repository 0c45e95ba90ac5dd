"""From what was seen to the plan of a stage, against closed forms: geometric attempts, dispersion, Erlang and negative binomial sums."""

import doctest
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.calc.errors import CalcError
from apps.calc.schedule import observed
from apps.calc.schedule.flow import forecast
from apps.calc.schedule.observed import Observed, attempts_needed, dispersion, stage_plan
from apps.calc.schedule.workdays import WorkCalendar


def seen(counts=(2, 2, 2, 2, 2), **more):
    told = {"returned": 0, "decided": 10, "answer_days": 1.0, "again_days": 2.0, "lag_days": 0.0}
    return Observed("drill", more.pop("crews", 1), tuple(counts), **(told | more))


def test_attempts_until_a_release_are_geometric():
    # Geometric distribution, mean 1 / (1 - p): the negative binomial of one success (any text on probability). Drawn and counted.
    share = 0.3
    drawn = np.random.default_rng(7).geometric(1 - share, 200_000)
    assert attempts_needed(share) == pytest.approx(1 / 0.7)
    assert attempts_needed(share) == pytest.approx(drawn.mean(), rel=0.01)


def test_daily_counts_of_a_poisson_flow_have_a_dispersion_of_one():
    # A Poisson count's variance is its mean: exponential times between events, coefficient of variation 1 (D. R. Cox, Renewal Theory).
    counts = np.random.default_rng(1).poisson(2.5, 100_000).tolist()
    assert dispersion(counts) == pytest.approx(1.0, abs=0.02)


def test_daily_counts_of_an_erlang_flow_tend_to_the_squared_variation():
    # Times between events Erlang of order 4: squared coefficient of variation 1/4; counted over long days (D. R. Cox, from memory).
    at = np.cumsum(np.random.default_rng(2).gamma(4, 1 / 4, 400_000))
    counts = np.bincount((at // 50).astype(int))[:-1].tolist()
    assert dispersion(counts) == pytest.approx(0.25, abs=0.015)


def test_without_returns_the_plan_is_pace_and_answer():
    plan = stage_plan(seen((1, 2, 3, 2, 2), crews=2))
    assert plan.mean_days == pytest.approx(2 * 5 / 10)
    assert plan.response_days == 1.0 and plan.crews == 2
    assert plan.cv == pytest.approx(math.sqrt(0.5 / 2))  # variance of the five counts 0.5, mean 2
    assert plan.mean_cv == pytest.approx(plan.cv / math.sqrt(10))


def test_a_return_costs_another_attempt_another_answer_and_the_days_between():
    plan = stage_plan(seen(returned=2))  # one in five: 1.25 attempts
    assert plan.mean_days == pytest.approx(0.5 * 1.25)
    assert plan.response_days == pytest.approx(1.0 * 1.25 + 2.0 * 0.25)


def test_half_the_returns_and_half_the_answer_are_what_they_say():
    plan = stage_plan(seen(returned=2), response=0.5, returns=0.5, more_crews=1)
    needed = 1 / 0.9
    assert plan.response_days == pytest.approx(0.5 * needed + 2.0 * (needed - 1))
    assert plan.mean_days == pytest.approx(0.5 * needed) and plan.crews == 2


def test_waits_of_exponential_answers_add_up_to_an_erlang_sum():
    # Erlang: the sum of k exponential waits of mean m has mean k m and variance k m squared (any text on probability).
    # Stages without work, one foundation: the finish is the sum of the answers.
    still = stage_plan(seen((9, 9, 9, 9, 9), answer_days=2.0))
    idle = [type(still)(f"{at}", 0.0, response_days=still.response_days) for at in range(4)]
    made = forecast(idle, 1, draws=10_000, seed=3)
    assert made.mean == pytest.approx(4 * 2.0, rel=0.02)
    assert made.sd == pytest.approx(math.sqrt(4) * 2.0, rel=0.03)


def test_days_that_may_be_lost_add_up_to_a_negative_binomial_sum():
    # Negative binomial: r workable days at chance p take r / p days, variance r (1 - p) / p squared (any text on probability).
    plan = stage_plan(seen((1,) * 8, answer_days=0.0))
    made = forecast([plan], 12, calendar=WorkCalendar(workable=(0.7,)), draws=10_000, seed=3)
    assert made.mean == pytest.approx(12 / 0.7, rel=0.01)
    assert made.sd == pytest.approx(math.sqrt(12 * 0.3) / 0.7, rel=0.03)


@pytest.mark.parametrize(
    "short",
    [{"counts": (2, 2, 2)}, {"counts": (1, 1, 1, 1, 1)}, {"returned": 10}],
    ids=["days", "attempts", "all returned"],
)
def test_too_little_is_said_and_refused(short):
    assert not seen(**short).is_enough
    with pytest.raises(CalcError):
        stage_plan(seen(**short))


@pytest.mark.parametrize("counts", [(3,), (0, 0, 0)])
def test_dispersion_of_nothing_is_refused(counts):
    with pytest.raises(CalcError):
        dispersion(counts)


@given(st.lists(st.integers(0, 9), min_size=5, max_size=40).filter(lambda counts: sum(counts) >= 8), st.integers(0, 9))
def test_fewer_returns_and_faster_answers_never_cost_time(counts, returned):
    as_is = stage_plan(seen(tuple(counts), returned=returned))
    better = stage_plan(seen(tuple(counts), returned=returned), response=0.5, returns=0.5)
    assert better.mean_days <= as_is.mean_days + 1e-12
    assert better.response_days <= as_is.response_days + 1e-12


def test_the_examples_of_the_docstrings_run() -> None:
    ran = doctest.testmod(observed)
    assert ran.attempted > 0 and ran.failed == 0
