"""The smallest plan for two risks: every smaller one tried, published operating curves, and what a lot allows."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.calc.decision import risks, two_points
from apps.calc.decision.sampling import accepts_lot, accepts_process
from apps.calc.decision.two_points import bad, good
from apps.calc.errors import CalcError


@pytest.mark.parametrize(("limit", "limiting"), [(0.025, 0.15), (0.0, 0.05), (0.05, 0.3), (0.01, 0.02)])
@pytest.mark.parametrize("lot", [2, 10, 37, 90])
def test_no_smaller_sample_keeps_both_risks(lot, limit, limiting):
    found = two_points(lot=lot, limit=limit, limiting=limiting)
    assert found.producer <= 0.05 and found.consumer <= 0.10
    few, many = good(lot, limit), bad(lot, limiting)
    for n in range(1, found.sample):
        for c in range(n + 1):
            keeps = 1 - accepts_lot(n, c, lot, few) <= 0.05 and accepts_lot(n, c, lot, many) <= 0.10
            assert not keeps, f"n {n}, c {c} keeps them too"


@given(st.integers(2, 400), st.floats(0, 0.2), st.floats(0.01, 0.3))
def test_every_lot_has_a_plan_with_the_risks_it_states(lot, limit, wider):
    found = two_points(lot=lot, limit=limit, limiting=limit + wider)
    again = risks(lot=lot, sample=found.sample, accept=found.accept, limit=limit, limiting=limit + wider)
    assert (again.producer, again.consumer) == (found.producer, found.consumer)
    assert again.producer <= 0.05 and again.consumer <= 0.10 and 1 <= found.sample <= lot


@pytest.mark.parametrize(
    ("share", "chance"),
    # e-Handbook 6.2.2, operating curve of n 52, c 3 (print from memory); a lot of 100,000 is as good as a process.
    [
        (0.01, 0.998),
        (0.02, 0.980),
        (0.03, 0.930),
        (0.04, 0.845),
        (0.05, 0.739),
        (0.06, 0.620),
        (0.08, 0.394),
        (0.10, 0.223),
    ],
)
def test_a_large_lot_is_a_process_of_the_handbook(share, chance):
    found = risks(lot=100_000, sample=52, accept=3, limit=share, limiting=share)
    assert found.consumer == pytest.approx(chance, abs=2e-3)
    assert found.producer == pytest.approx(1 - chance, abs=2e-3)


@pytest.mark.parametrize(("accept", "limiting"), [(0, 0.11), (1, 0.18), (2, 0.25), (3, 0.30)])
def test_limiting_quality_of_letter_f(accept, limiting):
    # MIL-STD-105E, table VI-A: limiting quality, percent, at which 10 % are accepted: n 20, 11, 18, 25, 30 (from memory).
    assert accepts_process(20, accept, limiting) == pytest.approx(0.10, abs=0.012)


def test_a_share_of_a_lot_is_counted_in_whole_items():
    # 0.07 · 100 is 7.000000000000001 in floating point: still 7 items.
    assert (good(100, 0.07), bad(100, 0.07)) == (7, 7)
    assert (good(148, 0.025), bad(148, 0.15)) == (3, 23)


def test_it_says_what_it_does():
    told = two_points(lot=148, limit=0.025, limiting=0.15).sentence
    assert told.startswith("Look at 31 of 148, drawn by chance: accept where at most 2 is nonconforming.")
    assert "one at the limiting quality accepted 9.2 % of the time" in told


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"lot": 1}, "lot"),
        ({"limiting": 0.02}, "limiting"),
        ({"limiting": 1.2}, "limiting"),
        ({"producer": 1.2}, "producer"),
    ],
)
def test_what_cannot_be_planned_is_refused(wrong, field):
    with pytest.raises(CalcError) as refused:
        two_points(**{"lot": 100, "limit": 0.02, "limiting": 0.1, **wrong})
    assert refused.value.field == field
