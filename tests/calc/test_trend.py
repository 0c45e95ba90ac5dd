"""Margins that shrink: the rules of the individuals chart on one side, at the end of the row, and how often chance alone trips them."""

import doctest

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.calc.control import trend
from apps.calc.control.singles import individuals
from apps.calc.control.trend import LEAST_VALUES, RECENT, by_chance, drift, is_enough
from apps.calc.errors import CalcError

HIGH, LOW = [5.0, 6.0] * 6, [2.0, 3.0] * 4


def test_a_run_of_eight_under_the_centre_warns_with_the_values_behind_it() -> None:
    # The run rule of NIST/SEMATECH e-Handbook 6.3.2, as calc.control.singles takes it.
    made = drift(HIGH + LOW)
    assert made is not None and made.run
    assert made.places == tuple(range(13, 21)) and made.rule == "8 in a row under their centre"


def test_seven_in_a_row_do_not_warn() -> None:
    assert drift(HIGH + LOW[:7]) is None


def test_a_run_over_the_centre_is_no_warning() -> None:
    assert drift(LOW * 2 + HIGH[:9]) is None


def test_one_value_under_the_lower_limit_warns_alone() -> None:
    # Mean moving range 1 but for the fall at the end: by hand, the last is far under centre - 3 MR / 1.128.
    margins = [10.0, 11.0, 10.0, 11.5, 10.0, 11.0, 10.5, 11.0, 10.0, 11.0, 10.0, 11.0, 10.0, 11.0, 4.0]
    made = drift(margins)
    assert made is not None and not made.run and made.places == (15,)
    assert individuals(values=margins).signals == (15,)


def test_what_is_over_long_since_is_no_warning() -> None:
    assert drift(HIGH + LOW + [6.0, 7.0, 6.0]) is None
    assert drift(HIGH + LOW + [6.0, 7.0]) is not None


def test_a_value_that_does_not_conform_is_a_finding_and_no_warning() -> None:
    assert drift([each - 5.5 for each in HIGH] + [-2.0, -3.0] * 4) is None


@pytest.mark.parametrize("margins", [[5.0, 6.0] * 5 + [1.0], [1.0, 0.0] * 20], ids=["few", "hardly different"])
def test_too_little_sets_no_limits(margins: list[float]) -> None:
    assert not is_enough(margins) and drift(margins) is None


@given(st.lists(st.floats(0.01, 100), min_size=LEAST_VALUES, max_size=40), st.floats(0.1, 50))
def test_the_unit_of_the_margin_decides_nothing(margins: list[float], factor: float) -> None:
    # Whole multiples of two keep floats exact, so that only the scale changes.
    scale = 2.0 ** round(np.log2(factor))
    one, other = drift(margins), drift([each * scale for each in margins])
    assert (one and one.places) == (other and other.places)


def test_the_chance_of_a_run_is_that_of_coins() -> None:
    # Every row of ten coins, counted out: how many have eight under in a row that ends at one of the last three.
    rows = [[bit >> at & 1 for at in range(10)] for bit in range(1024)]  # the last three ends see ten values back
    met = sum(any(all(row[end - 7 : end + 1]) for end in (7, 8, 9)) for row in rows)
    assert by_chance(1) == pytest.approx(met / 1024 + 3 * 0.0013499)


def test_chance_alone_warns_no_oftener_than_said_and_about_as_often() -> None:
    # Normal margins that never change, drawn and counted; their own mean gives way to a run, so fewer trip than about a true one.
    rows = np.random.default_rng(5).normal(10, 1, (6_000, 30))
    warned = sum(drift(row.tolist()) is not None for row in rows) / len(rows)
    assert by_chance(1) / 2 < warned < by_chance(1)
    assert by_chance(0) == 0 and RECENT == 3


def test_fewer_charts_than_none_are_refused() -> None:
    with pytest.raises(CalcError):
        by_chance(-1)


def test_the_examples_of_the_docstrings_run() -> None:
    ran = doctest.testmod(trend)
    assert ran.attempted > 0 and ran.failed == 0
