"""The flow of foundations: the simulation against closed forms, and the closed forms against published cases."""

import itertools
import math
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from apps.calc.errors import CalcError
from apps.calc.registry import find
from apps.calc.schedule.balance import line_of_balance
from apps.calc.schedule.crews import one_more_crew
from apps.calc.schedule.flow import StagePlan, forecast
from apps.calc.schedule.line import flow_line
from apps.calc.schedule.three_point import three_point, three_point_network
from apps.calc.schedule.under_way import cycle_time_by_little, work_under_way
from apps.calc.schedule.waits import erlang
from apps.calc.schedule.weather import calendar_days, chance_within
from apps.calc.schedule.workdays import WorkCalendar

SIX = (1.0, 2.0, 1.5, 1.0, 0.5, 0.5)
LAGS = (0.0, 0.0, 1.0, 7.0, 0.0, 0.0)


def line(days=SIX, lags=LAGS, **more):
    return tuple(
        StagePlan(str(at), work, lag_days=lag, **more) for at, (work, lag) in enumerate(zip(days, lags, strict=True))
    )


# --- the simulation against what is known in closed form


def test_a_line_without_variation_finishes_as_the_closed_form_says():
    # SC-S12: recursion of a flow line, computed: first out 14.5, last out 52.5, exact.
    result = forecast(line(), 20, draws=3)
    assert set(result.quantiles) == {52.5}
    assert result.lines[0][-1] == 14.5
    assert result.bottleneck == "1"


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.integers(0, 16), min_size=1, max_size=6),
    st.integers(0, 8),
    st.integers(1, 12),
)
def test_any_line_without_variation_finishes_as_the_closed_form_says(quarters, lag, foundations):
    days = [each / 4 for each in quarters]
    lags = [float(lag)] + [0.0] * (len(days) - 1)
    found = forecast(line(days, lags), foundations, draws=1).p50
    assert found == flow_line(days=days, lags=lags, foundations=foundations).last_out


def test_equal_rhythm_takes_units_and_stages_less_one():
    # SC-S13: equal-rhythm flow, T = (m + n - 1) K + lag = (20 + 6 - 1) 1 + 8 = 33 d (m.izhixiu.com, formula retrieved).
    assert forecast(line([1.0] * 6, [8.0, 0, 0, 0, 0, 0]), 20, draws=1).p50 == 33
    assert flow_line(days=[1] * 6, lags=[8, 0, 0, 0, 0, 0], foundations=20).last_out == 33


def test_waits_one_after_the_other_sum_to_the_erlang_distribution():
    # SC-S08: Erlang k 3, theta 2, computed with SciPy: mean 6, sd 3.4641, P50 5.3481, P80 8.5581, P90 10.6446.
    # 2 % for 1e5 draws; three stages without work, each released after a mean of 2 days.
    plan = tuple(StagePlan(name, 0.0, response_days=2.0) for name in "abc")
    result = forecast(plan, 1, draws=100_000)
    found = (result.mean, result.sd, result.p50, result.p80, result.p90)
    assert found == pytest.approx((6, 3.4641, 5.3481, 8.5581, 10.6446), rel=0.02)


def test_work_of_one_crew_sums_to_the_gamma_distribution():
    # A sum of gamma variables of one scale is gamma (any text on probability): referee scipy.stats.
    result = forecast((StagePlan("drill", 0.5, cv=0.5),), 40, draws=20_000)
    referee = stats.gamma(40 / 0.5**2, scale=0.5 * 0.5**2)
    assert (result.p10, result.p80) == pytest.approx((referee.ppf(0.1), referee.ppf(0.8)), rel=0.005)
    assert (result.mean, result.sd) == pytest.approx((referee.mean(), referee.std()), rel=0.02)


def test_two_crews_halve_a_single_stage():
    assert forecast((StagePlan("drill", 1.0, crews=2),), 21, draws=1).p50 == 11


def test_three_crews_take_foundations_as_each_is_free():
    # Referee: a heap of crews that are free, one draw at a time, no variation but unequal first releases.
    import heapq

    wait = [0.0, 0.0, 5.0, 5.5, 1.0, 2.0, 9.0]
    crews = [0.0] * 3
    ended = []
    for ready in wait:
        ended.append(max(heapq.heappop(crews), ready) + 2.0)
        heapq.heappush(crews, ended[-1])
    result = forecast((StagePlan("drill", 2.0, crews=3),), len(wait), ready_in=wait, draws=2)
    assert [row[0] for row in result.lines] == ended


def test_weather_stretches_work_as_the_negative_binomial_distribution():
    # SC-S09: days for 6 workable ones, p 0.7, computed with SciPy: mean 8.5714, P50 8, P80 10, P90 11.
    calendar = WorkCalendar(workable=(0.7,))
    result = forecast((StagePlan("drill", 1.0),), 6, calendar=calendar, draws=50_000)
    assert (result.p50, result.p80, result.p90) == (8, 10, 11)
    assert result.mean == pytest.approx(8.5714, abs=0.05)
    assert result.chance_by(8.0) == pytest.approx(0.551774, abs=0.02)


def test_cure_runs_through_days_that_are_not_workable():
    # Poured on Friday 5 June, cured 7 days: the base may go on from Friday 12 June, and is set on it.
    calendar = WorkCalendar(date(2026, 6, 5), weekdays=(True,) * 5 + (False,) * 2)
    result = forecast((StagePlan("pour", 1.0, lag_days=6.0), StagePlan("base", 1.0)), 1, calendar=calendar, draws=1)
    assert result.p50 == 8
    assert calendar.date_of(result.p50) == date(2026, 6, 12)


def test_work_waits_for_monday_and_for_the_end_of_a_holiday():
    calendar = WorkCalendar(
        date(2026, 6, 5), weekdays=(True,) * 5 + (False,) * 2, holidays=frozenset({date(2026, 6, 8)})
    )
    result = forecast((StagePlan("drill", 1.0),), 2, calendar=calendar, draws=1)
    assert calendar.date_of(result.p50) == date(2026, 6, 9)


def test_a_stage_without_work_never_ends_before_it_could_begin():
    calendar = WorkCalendar(date(2026, 6, 5), weekdays=(True,) * 5 + (False,) * 2)
    result = forecast(
        (StagePlan("layout", 0.0, response_days=1.0, response_cv=0.0),), 1, calendar=calendar, ready_in=[2.5], draws=1
    )
    assert result.p50 == 3.5


def test_a_month_of_bad_weather_costs_more_than_a_good_one():
    chances = (0.2,) + (0.9,) * 11
    plan = (StagePlan("drill", 1.0),)
    january = forecast(plan, 15, calendar=WorkCalendar(date(2026, 1, 1), workable=chances), draws=200)
    june = forecast(plan, 15, calendar=WorkCalendar(date(2026, 6, 1), workable=chances), draws=200)
    assert january.p50 > june.p50 + 10


def test_a_stretch_of_weather_that_is_far_worse_than_guessed_is_drawn_again():
    # Every day of the year but the first two of January is free of work: the first guess of the span is far too short.
    closed = frozenset(date(2026, 1, 1) + (date(2026, 1, 2) - date(2026, 1, 1)) * at for at in range(2, 600))
    calendar = WorkCalendar(date(2026, 1, 1), holidays=closed)
    assert forecast((StagePlan("drill", 1.0),), 3, calendar=calendar, draws=1).p50 == 601


def test_released_foundations_are_not_built_again():
    whole = forecast(line(), 20, draws=1).p50
    half = forecast(line(), 20, first_stage=[6] * 10 + [0] * 10, draws=1)
    assert half.p50 == whole - 10 * 2.0
    assert half.lines[0] == (0.0,) * 6


def test_cure_that_is_left_delays_the_base():
    assert forecast(line(), 1, first_stage=[4], ready_in=[3.0], draws=1).p50 == 4.0


def test_a_finished_contract_finishes_now():
    assert forecast(line(), 2, first_stage=[6, 6], draws=5).p90 == 0


def test_the_same_seed_gives_the_same_forecast_and_another_seed_another():
    plan = line(cv=0.4)
    first, again, other = (forecast(plan, 12, draws=200, seed=seed) for seed in (7, 7, 8))
    assert first == again
    assert first.quantiles != other.quantiles


def test_not_knowing_the_mean_widens_the_forecast():
    known, unknown = (
        forecast((StagePlan("drill", 1.0, cv=0.3, mean_cv=mean_cv),), 50, draws=2_000) for mean_cv in (0.0, 0.2)
    )
    assert unknown.p90 - unknown.p10 > 3 * (known.p90 - known.p10)
    assert unknown.sd == pytest.approx(math.hypot(known.sd, 50 * 0.2), rel=0.05)


@settings(max_examples=20, deadline=None)
@given(
    st.lists(st.floats(0.1, 3), min_size=2, max_size=4),
    st.integers(1, 10),
    st.floats(0.3, 1),
    st.integers(0, 1000),
)
def test_percentiles_rise_and_shares_stay_in_0_to_1(days, foundations, workable, seed):
    plan = tuple(StagePlan(str(at), work, cv=0.5, response_days=0.5) for at, work in enumerate(days))
    result = forecast(plan, foundations, calendar=WorkCalendar(workable=(workable,)), draws=40, seed=seed)
    assert list(result.quantiles) == sorted(result.quantiles)
    assert sum(result.governs) == pytest.approx(1)
    assert all(0 <= share <= 1 + 1e-9 for share in result.busy)
    assert all(0 <= result.chance_by(day) <= 1 for day in (0, result.p50, 1e4))
    assert all(earlier <= later for row in result.lines for earlier, later in itertools.pairwise(row))


@settings(max_examples=15, deadline=None)
@given(st.lists(st.floats(0.1, 3), min_size=2, max_size=4), st.integers(1, 12))
def test_one_more_crew_never_makes_the_finish_later(days, foundations):
    plan = tuple(StagePlan(str(at), work, cv=0.4) for at, work in enumerate(days))
    assert all(effect.p80_earlier >= -1e-9 for effect in one_more_crew(plan, foundations, draws=30))


def test_one_more_crew_helps_at_the_bottleneck_and_nowhere_else():
    effects = one_more_crew(line(), 20, draws=1)
    assert (effects[0].stage, effects[0].p50_earlier) == ("1", 9.5)
    assert {effect.p50_earlier for effect in effects[1:]} == {0.0}


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: StagePlan("drill", -1.0), "mean_days"),
        (lambda: StagePlan("drill", math.nan), "mean_days"),
        (lambda: StagePlan("drill", 1.0, cv=1.5), "cv"),
        (lambda: StagePlan("drill", 1.0, crews=0), "crews"),
        (lambda: StagePlan("drill", 1.0, crews=1.5), "crews"),
        (lambda: StagePlan("pour", 1.0, lag_days=math.inf), "lag_days"),
        (lambda: WorkCalendar(workable=(0.0,)), "workable"),
        (lambda: WorkCalendar(workable=(0.5, 0.5)), "workable"),
        (lambda: WorkCalendar(weekdays=(True,) * 5), "weekdays"),
        (lambda: WorkCalendar(date(2026, 1, 1), weekdays=(False,) * 7), "weekdays"),
        (lambda: WorkCalendar(holidays=frozenset({date(2026, 1, 1)})), "start"),
        (lambda: forecast((), 3), "stages"),
        (lambda: forecast(line(), 0), "foundations"),
        (lambda: forecast(line(), 2, first_stage=[0]), "first_stage"),
        (lambda: forecast(line(), 1, first_stage=[7]), "first_stage"),
        (lambda: forecast(line(), 1, first_stage=[0.5]), "first_stage"),
        (lambda: forecast(line(), 1, ready_in=[-1.0]), "ready_in"),
        (lambda: forecast(line(), 1, draws=0), "draws"),
        (lambda: forecast(line(), 1, seed=-1), "seed"),
    ],
)
def test_an_impossible_plan_is_refused_by_name(make, field):
    with pytest.raises(CalcError) as error:
        make()
    assert error.value.field == field


def test_the_registry_runs_the_flow_from_lists_of_floats():
    six = len(SIX)
    values = {"foundations": 20.0, "days": list(SIX), "crews": [1.0] * six, "cv": [0.0] * six, "lags": list(LAGS)}
    result = find("schedule.flow").run({**values, "responses": [0.0] * six, "draws": 2.0})
    assert result.p80 == 52.5
    assert result.working[-1].symbol == "P90"


def test_the_forecast_hands_out_plain_numbers():
    result = forecast(line(), 2, draws=1)
    for value in (result.p10, result.mean, *result.busy, *result.governs, *result.lines[0]):
        assert type(value) is float
        assert not isinstance(value, np.generic)


# --- closed forms against published cases


def test_the_published_flow_line_is_met():
    # SC-S12: recursion, computed: first out 14.5, last out 52.5, bottleneck station 2, exact.
    result = flow_line(days=SIX, lags=LAGS, foundations=20)
    assert (result.first_out, result.last_out, result.bottleneck) == (14.5, 52.5, 2)


def test_line_of_balance_of_the_lecture_is_met():
    # SC-S06: I. Odeh, Columbia University, lecture LOB Example, activity A; abs 0.01 (29.05 there, rate rounded to 3.27).
    result = line_of_balance(person_hours=110, crew_size=3, target_a_week=3, foundations=20)
    assert (result.theoretical_people, result.crews, result.people) == (8.25, 3, 9)
    found = (result.rate_a_week, result.unit_days, result.last_start_days, result.finish_days)
    assert found == pytest.approx((3.2727, 4.583, 29.03, 33.61), abs=0.01)


def test_line_of_balance_of_the_fifteen_houses_is_met():
    # SC-S14: 15-house sheet, scribd.com/document/350846344, row F, as printed.
    result = line_of_balance(person_hours=120, crew_size=3, target_a_week=3, foundations=15)
    assert (result.theoretical_people, result.crews, result.people, result.rate_a_week) == (9, 3, 9, 3)
    assert (result.unit_days, round(result.last_start_days, 2)) == (5, 23.33)


def test_a_crew_of_two_takes_four_days_for_sixty_four_hours():
    # SC-S07: Alkass, line-of-balance notes: 64 person-hours, crew of 2, 8 h day, 4 d exact.
    assert line_of_balance(person_hours=64, crew_size=2, target_a_week=1, foundations=1).unit_days == 4


def test_three_point_network_of_the_published_example_is_met():
    # SC-S04: pmknowledgecenter.be, PERT worked example, abs 0.001.
    activities = {
        "A": (2, 5, 8),
        "B": (1, 2, 9),
        "C": (0.25, 0.5, 3.75),
        "D": (1, 1, 7),
        "E": (1, 2, 9),
        "F": (1, 3, 11),
    }
    after = {"B": "A", "C": "A", "D": "B", "E": "BC", "F": "DE"}
    result = three_point_network(activities, after)
    assert result.path == ("A", "B", "E", "F")
    assert (result.mean, result.variance, result.sd) == pytest.approx((15, 7.3333, 2.7080), abs=1e-3)
    assert result.chance_by(18) == pytest.approx(0.8660, abs=1e-3)
    assert result.time_at(0.95) == pytest.approx(19.454, abs=1e-3)


def test_mean_durations_add_up_along_a_path():
    # SC-S05: schematex documentation: 3.167 + 8.5 + 4.167 + 2 = 17.833, abs 0.001 (a mean alone is a = m = b here).
    means = (19 / 6, 8.5, 25 / 6, 2)
    assert three_point(optimistic=means, likely=means, pessimistic=means).mean == pytest.approx(17.833, abs=1e-3)


def test_a_path_without_spread_is_certain():
    result = three_point(optimistic=[2], likely=[2], pessimistic=[2])
    assert (result.chance_by(1.9), result.chance_by(2.0)) == (0, 1)


def test_critical_work_under_way_of_the_penny_line():
    # SC-S10: Hopp and Spearman, Factory Physics, Penny Fab One (lecture slides): W0 = 4 exact.
    # SC-S15: practical worst case there with w 4: TH 0.285714, CT 14, abs 1e-6.
    result = work_under_way(rate=0.5, raw_time=8, wip=4)
    assert result.critical_wip == 4
    assert (result.throughput, result.cycle_time) == pytest.approx((0.285714, 14), abs=1e-6)


def test_throughput_and_cycle_time_keep_to_littles_law():
    result = work_under_way(rate=0.5, raw_time=8, wip=7)
    assert cycle_time_by_little(wip=7, throughput=result.throughput) == pytest.approx(result.cycle_time)


@pytest.mark.parametrize(("throughput", "expected"), [(1400, 34), (71.8, 663)])
def test_little_gives_the_published_time(throughput, expected):
    # SC-S11: Hopp and Spearman, Factory Physics, ch. 7, HAL case, slides: 34 d and 663 h, abs 1.
    assert cycle_time_by_little(wip=47_600, throughput=throughput) == pytest.approx(expected, abs=1)


def test_erlang_percentiles_are_those_of_the_gamma_quantile():
    # SC-S08: computed with SciPy, abs 1e-3.
    result = erlang(count=3, mean=2)
    found = (result.mean, result.sd, result.p50, result.p80, result.p90)
    assert found == pytest.approx((6, 3.4641, 5.3481, 8.5581, 10.6446), abs=1e-3)


def test_calendar_days_are_those_of_the_negative_binomial():
    # SC-S09: computed with SciPy; exact on percentiles.
    result = calendar_days(workable_days=6, chance=0.7)
    assert (result.p50, result.p80, result.p90, result.p95) == (8, 10, 11, 12)
    assert result.mean == pytest.approx(8.5714, abs=1e-4)
    assert chance_within(workable_days=6, chance=0.7, days=8) == pytest.approx(0.551774, abs=1e-6)


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: flow_line(days=[], lags=[], foundations=1), "days"),
        (lambda: flow_line(days=[1, 2], lags=[0], foundations=1), "lags"),
        (lambda: flow_line(days=[1], lags=[0], foundations=0), "foundations"),
        (lambda: flow_line(days=[1], lags=[0], foundations=1.5), "foundations"),
        (lambda: line_of_balance(person_hours=0, crew_size=1, target_a_week=1, foundations=1), "person_hours"),
        (lambda: three_point(optimistic=[3], likely=[2], pessimistic=[4]), "activities"),
        (lambda: three_point(optimistic=[1, 1], likely=[2], pessimistic=[4, 4]), "likely"),
        (lambda: three_point_network({"a": (1, 1, 1)}, {"a": ["b"]}), "after"),
        (lambda: three_point_network({"a": (1, 1, 1), "b": (1, 1, 1)}, {"a": "b", "b": "a"}), "after"),
        (lambda: three_point(optimistic=[1], likely=[1], pessimistic=[1]).time_at(1), "chance"),
        (lambda: work_under_way(rate=0, raw_time=1, wip=1), "rate"),
        (lambda: work_under_way(rate=1, raw_time=1, wip=0), "wip"),
        (lambda: erlang(count=1.5, mean=1), "count"),
        (lambda: erlang(count=1, mean=math.inf), "mean"),
        (lambda: calendar_days(workable_days=1, chance=0), "chance"),
        (lambda: calendar_days(workable_days=1, chance=1.1), "chance"),
    ],
)
def test_a_closed_form_refuses_impossible_input_by_name(make, field):
    with pytest.raises(CalcError) as error:
        make()
    assert error.value.field == field


# --- what the answers say


def test_a_forecast_says_even_chance_and_eighty_percent():
    told = forecast(line(cv=0.4), 20, draws=500)
    assert told.sentence.startswith(
        f"Even chance that the last foundation is released within {told.p50:.1f} days".replace(".0 ", " ")
    )
    assert "; 80 % sure within " in told.sentence
    assert "1 holds the flow up in " in told.sentence


def test_a_forecast_without_variation_says_so_and_one_of_nothing_too():
    assert forecast(line(), 20, draws=2).sentence.startswith(
        "Without variation the last foundation is released within 52.5 days."
    )
    assert forecast(line(), 1, first_stage=[6], draws=2).sentence == "Nothing is left to build."


DATED = {"crews": [1.0], "cv": [0.0], "lags": [0.0], "responses": [0.0], "days": [1.0], "draws": 1.0}


def test_the_flow_over_a_calendar_says_its_dates():
    # Friday 5 June, then Monday; with that Monday a holiday, Tuesday. By hand.
    room = find("schedule.dates")
    told = room.run(DATED | {"start": "2026-06-05", "foundations": 2.0})
    assert told.sentence == "Without variation the last foundation is released by 8 Jun 2026."
    later = room.run(DATED | {"start": "2026-06-05", "foundations": 2.0, "holidays": ["2026-06-08"]})
    assert "by 9 Jun 2026" in later.sentence
    saturday = room.run(DATED | {"start": "2026-06-05", "foundations": 2.0, "week": "Monday to Saturday"})
    assert "by 6 Jun 2026" in saturday.sentence


def test_a_year_of_holidays_ends():
    days = [str(date(2026, 1, 1) + timedelta(each)) for each in range(400)]
    told = find("schedule.dates").run(DATED | {"start": "2026-01-01", "foundations": 1.0, "holidays": days})
    assert "by 5 Feb 2027" in told.sentence  # 1 January and 400 days is 5 February, a Friday


@pytest.mark.parametrize(
    ("name", "more", "field"),
    [
        ("schedule.dates", {"start": "5 June"}, "start"),
        ("schedule.dates", {"start": "1066-10-14"}, "start"),
        ("schedule.dates", {"start": "2026-06-05", "holidays": ["soon"]}, "holidays"),
        ("schedule.dates", {"start": "2026-06-05", "workable": [0.5] * 5}, "workable"),
        ("schedule.flow", {"names": ["one", "two"]}, "names"),
        ("schedule.flow", {"foundations": 100_000.0, "draws": 1_000_000.0}, "draws"),
        ("schedule.flow", {"days": [1e9]}, "days"),
        ("schedule.flow", {"foundations": 500.0, "workable": 0.01, "draws": 2000.0}, "draws"),
    ],
)
def test_what_is_no_date_or_would_take_minutes_is_refused_by_name(name, more, field):
    with pytest.raises(CalcError) as error:
        find(name).run({**DATED, "foundations": 2.0, **more})
    assert error.value.field == field


def test_one_more_crew_says_where_and_by_how_much():
    plan = {"foundations": 20.0, "days": [1.0, 2.0], "crews": [1.0, 1.0], "cv": [0.0, 0.0], "lags": [0.0, 0.0]}
    plan |= {"responses": [0.0, 0.0], "names": ["drill", "pour"], "draws": 1.0}
    told = find("schedule.crew").run(plan)
    assert told.best_days == 19
    assert told.sentence == (
        "One more crew helps most at pour: 19 days earlier, 80 % sure within 22 days instead of 41 days."
    )
    nowhere = find("schedule.crew").run(plan | {"foundations": 1.0})
    assert nowhere.sentence.startswith("One more crew helps nowhere: 80 % sure within 3 days either way.")


@pytest.mark.parametrize(
    ("result", "words"),
    [
        (
            flow_line(days=SIX, lags=LAGS, foundations=20),
            "the last of 20 after 52.5 days. Stage 2 sets the pace: one every 2 days.",
        ),
        (
            line_of_balance(person_hours=110, crew_size=3, target_a_week=3, foundations=20),
            "3 crews, 9 people: 3.273 foundations a week, more than the 3 wanted.",
        ),
        (line_of_balance(person_hours=120, crew_size=3, target_a_week=3, foundations=15), "just the 3 wanted"),
        (work_under_way(rate=0.5, raw_time=8, wip=3), "3 under way, fewer than the 4 that keep"),
        (
            erlang(count=3, mean=2),
            "6 days of waiting on average; an even chance within 5.3 days, 80 % sure within 8.6 days",
        ),
        (
            calendar_days(workable_days=6, chance=0.7),
            "6 days of work take 8.6 days on average; an even chance within 8 days, 80 % sure within 10 days",
        ),
        (
            three_point(optimistic=[2, 1, 1, 1], likely=[5, 2, 2, 3], pessimistic=[8, 9, 9, 11]),
            "15 on average, standard deviation 2.708: an even chance by 15, 80 % sure by 17.28, 95 % by 19.45.",
        ),
        (three_point(optimistic=[2], likely=[2], pessimistic=[2]), "2, without any spread."),
    ],
)
def test_closed_forms_say_what_came_out(result, words):
    assert words in result.sentence


def test_a_bottleneck_alone_cannot_take_longer_than_all_stages():
    with pytest.raises(CalcError) as error:
        work_under_way(rate=0.5, raw_time=1.9, wip=1)
    assert error.value.field == "raw_time"
