"""Control charts against published data sets, and Pareto."""

import csv
import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from apps.calc.control import (
    D2_EXACT,
    D2_TABLED,
    D3_EXACT,
    D4_EXACT,
    D4_TABLED,
    c_chart,
    individuals,
    np_chart,
    p_chart,
    pareto,
    u_chart,
)
from apps.calc.errors import CalcError
from apps.calc.registry import find

VECTORS = Path(__file__).parents[1] / "vectors"


def rows(name):
    """The rows of a data file; its source stands in its first lines."""
    return list(csv.DictReader(line for line in (VECTORS / name).read_text().splitlines() if not line.startswith("#")))


def test_individuals_chart_of_the_handbook():
    # QC-S01: NIST/SEMATECH e-Handbook 6.3.2.2: mean 50.81, MR 1.8778, limits 55.8041, 45.8159, MR limit 6.1347; 0.001.
    values = [float(row["flow_rate"]) for row in rows("calc_nist_individuals_flow_rate.csv")]
    chart = individuals(values=values)
    found = (chart.centre, chart.mean_range, chart.upper, chart.lower, chart.range_upper)
    assert found == pytest.approx((50.81, 1.8778, 55.8041, 45.8159, 6.1347), abs=1e-3)
    assert chart.in_control


def test_constants_for_ranges_of_two():
    # QC-S02: e-Handbook 6.3.2 (print from memory), abs 0.0005; d2 and d3 again by integrating |x − y|.
    assert pytest.approx((D2_EXACT, D4_EXACT), abs=5e-4) == (D2_TABLED, D4_TABLED)
    assert pytest.approx((2.6587, 0.8525, 3.2665), abs=5e-4) == (3 / D2_EXACT, D3_EXACT, D4_EXACT)
    spread = stats.norm(scale=math.sqrt(2))
    mean = 2 * integrate.quad(lambda x: x * spread.pdf(x), 0, 20)[0]
    assert mean == pytest.approx(D2_EXACT, abs=1e-9)
    assert math.sqrt(2 - mean**2) == pytest.approx(D3_EXACT, abs=1e-9)


def test_p_chart_of_the_wafers():
    # QC-S03: e-Handbook 6.3.3.2, MONITOR-6_3_3_2.DAT: 0.2313, 0.4102, 0.0524, out 15 and 23; abs 0.0001.
    data = rows("calc_nist_p_chart_wafers.csv")
    bad = [round(50 * float(row["fraction_defective"])) for row in data]
    chart = p_chart(nonconforming=bad, sizes=[50] * len(bad))
    assert (chart.centre, chart.uppers[0], chart.lowers[0]) == pytest.approx((0.2313, 0.4102, 0.0524), abs=1e-4)
    assert chart.signals == (15, 23)
    assert np_chart(nonconforming=bad, size=50).signals == (15, 23)


def test_p_chart_of_samples_of_unequal_size():
    # QC-S04: Ishikawa, Guide to Quality Control, pp 77-79, PCC.DAT: 465/4678, rows 1, 7, 17; out row 14; abs 0.0001.
    data = rows("calc_nist_p_chart_motors_variable_n.csv")
    chart = p_chart(
        nonconforming=[int(row["defective"]) for row in data], sizes=[int(row["inspected"]) for row in data]
    )
    assert chart.centre == pytest.approx(0.0994015, abs=1e-4)
    limits = {1: (0.0191, 0.1797), 7: (0.0539, 0.1449), 17: (0.0, 0.2204)}
    for row, (lower, upper) in limits.items():
        assert (chart.lowers[row - 1], chart.uppers[row - 1]) == pytest.approx((lower, upper), abs=1e-4)
    assert chart.signals == (14,)


def test_p_chart_of_two_samples():
    # QC-S05: 1 of 10 and 1 of 90: upper limits 15.2816 % and 6.4272 %, lower 0; abs 0.001.
    chart = p_chart(nonconforming=[1, 1], sizes=[10, 90])
    assert [100 * each for each in chart.uppers] == pytest.approx([15.2816, 6.4272], abs=1e-3)
    assert chart.lowers == (0, 0)


def test_a_point_on_the_limit_is_no_signal():
    # QC-S06: e-Handbook 6.3.1 (from memory). Mean 4 of 19 samples of 4 - 6/18 and one of 10: its limit is just 10.
    chart = c_chart(counts=[4 - 6 / 18] * 18 + [10])
    assert chart.uppers[-1] == pytest.approx(10)
    assert chart.signals == ()
    assert c_chart(counts=[4 - 7 / 18] * 18 + [11]).signals == (19,)


def test_u_chart_centres_on_total_over_total():
    # The centre is total count over total size, not the mean of the ratios (trap 16 of the reference cases).
    chart = u_chart(counts=[1, 30], sizes=[1, 10])
    assert chart.centre == pytest.approx(31 / 11)
    assert chart.uppers[1] == pytest.approx(31 / 11 + 3 * math.sqrt(31 / 11 / 10))


def test_eight_in_a_row_on_one_side_signal_and_seven_do_not():
    assert individuals(values=[1, -1] * 8 + [1] * 7 + [-7]).runs == ()
    assert individuals(values=[-4, -4, *[1] * 8]).runs == (10,)


def test_a_jump_signals_on_both_charts():
    chart = individuals(values=[10, 11, 10, 11, 10, 11, 10, 11, 10, 30])
    assert (chart.signals, chart.range_signals, chart.in_control) == ((10,), (10,), False)


@given(st.lists(st.floats(-1e3, 1e3), min_size=2, max_size=30), st.floats(-1e3, 1e3), st.floats(0.1, 10))
def test_shifting_and_scaling_the_values_moves_the_limits_alike(values, shift, scale):
    first, second = individuals(values=values), individuals(values=[scale * each + shift for each in values])
    assert second.upper == pytest.approx(scale * first.upper + shift, abs=1e-6)
    assert second.lower == pytest.approx(scale * first.lower + shift, abs=1e-6)


@given(st.lists(st.tuples(st.integers(0, 50), st.integers(50, 90)), min_size=1, max_size=20))
def test_limits_of_a_share_stay_in_0_to_1(samples):
    chart = p_chart(nonconforming=[each[0] for each in samples], sizes=[each[1] for each in samples])
    assert all(
        0 <= lower <= chart.centre <= upper <= 1 for lower, upper in zip(chart.lowers, chart.uppers, strict=True)
    )


def test_pareto_adds_up_the_same_label():
    # QC-S09: A 2, B 3, A 4, C 1: A 60 %, B to 90 %, C to 100 %. Exact.
    found = [
        (row.label, row.count, row.percent, row.cumulative_percent)
        for row in pareto(labels="ABAC", counts=[2, 3, 4, 1]).rows
    ]
    assert found == [("A", 6, 60, 60), ("B", 3, 30, 90), ("C", 1, 10, 100)]


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: individuals(values=[1]), "values"),
        (lambda: individuals(values=[1, math.nan]), "values"),
        (lambda: p_chart(nonconforming=[], sizes=[]), "nonconforming"),
        (lambda: p_chart(nonconforming=[1], sizes=[1, 2]), "sizes"),
        (lambda: p_chart(nonconforming=[2], sizes=[1]), "nonconforming"),
        (lambda: p_chart(nonconforming=[-1], sizes=[1]), "nonconforming"),
        (lambda: u_chart(counts=[1], sizes=[0]), "sizes"),
        (lambda: pareto(labels=[], counts=[]), "labels"),
        (lambda: pareto(labels=["A"], counts=[1, 2]), "counts"),
        (lambda: pareto(labels=["A"], counts=[0]), "counts"),
    ],
)
def test_impossible_input_is_refused_by_name(make, field):
    with pytest.raises(CalcError) as error:
        make()
    assert error.value.field == field


def test_the_registry_runs_the_room():
    assert find("control.individuals").run({"values": [1.0, 2.0, 3.0]}).centre == 2
    assert find("control.p").run({"nonconforming": [1.0, 1.0], "sizes": [10.0, 90.0]}).centre == 0.02


def test_a_calm_chart_says_that_nothing_signals():
    told = individuals(values=[49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]).sentence
    assert told == "No signal: all 10 values stand within 45.82 to 55.8, about a centre of 50.81."


def test_a_chart_names_what_signals():
    told = individuals(values=[10, 11, 10, 11, 10, 11, 10, 11, 10, 30]).sentence
    assert told.startswith("Signal: value 10 is beyond the limits ")
    assert "value 10 is farther from the one before than chance explains" in told
    assert "value 10 is the eighth or later in a row" in individuals(values=[-4, -4, *[1] * 8]).sentence


def test_attributes_name_their_samples_and_their_centre():
    data = rows("calc_nist_p_chart_wafers.csv")
    bad = [round(50 * float(row["fraction_defective"])) for row in data]
    told = np_chart(nonconforming=bad, size=50).sentence
    assert told.startswith("Signal: samples 15 and 23 are beyond the limits. The centre is 11.57 of 50.")
    assert "about a centre of 4 to a sample" in c_chart(counts=[4, 4]).sentence


def test_the_few_that_matter_reach_eighty_percent_together():
    found = pareto(labels="ABAC", counts=[2, 3, 4, 1])
    assert (found.few, found.few_percent) == (2, 90)
    assert found.sentence == "A comes first: 6 of 10, 60 %. 2 of 3 causes make up 90 %."
    assert pareto(labels="AB", counts=[9, 1]).few == 1
    assert pareto(labels="A", counts=[2]).sentence == "A comes first: 2 of 2, 100 %."


def test_the_registry_runs_pareto_and_the_chart_of_equal_samples():
    assert find("control.pareto").run({"labels": ["gap", "slump"], "counts": [3.0, 1.0]}).few == 2
    assert find("control.c").run({"counts": [4.0, 4.0]}).uppers == (10, 10)
