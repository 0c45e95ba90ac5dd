"""Seating against worked corners, a linear programme as referee, and what must always hold."""

import doctest
import math
from fractions import Fraction
from types import ModuleType
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from apps.calc.errors import CalcError
from apps.calc.registry import find
from apps.calc.seating import (
    Seating,
    TorqueRule,
    answer,
    check_torque,
    least_grinding,
    least_squares,
    minimum_zone,
    on_circle,
    plan_torque,
    seat,
    seats,
    tightening,
)

HALF_SIDE = 15 / (2 * math.sqrt(2))
EIGHTH, SIXTEENTH = Fraction(1, 8), Fraction(1, 16)
PLACES = ((1, 1), (-1, 1), (-1, -1), (1, -1))

# Five points of eng-tips.com question 393584 (no answer shown there): S-D5.
FIVE = [(11.5, 7, 1.1), (18.5, 6.9, 1.03), (4.5, 13, 1.02), (25.5, 30, 1.03), (11.5, 37.5, 1.02)]


def four(*heights: Any, **more: Any) -> Seating:
    return seat(**dict(zip("abcd", heights, strict=True)), bolt_circle=15, **more)


def points(heights: tuple[float, ...]) -> list[tuple[float, float, float]]:
    return [(x * HALF_SIDE, y * HALF_SIDE, z) for (x, y), z in zip(PLACES, heights, strict=True)]


@pytest.mark.parametrize("module", [answer, tightening])
def test_examples_in_docstrings_run(module: ModuleType) -> None:
    ran = doctest.testmod(module)
    assert ran.attempted and not ran.failed


# Worked corners: structural reference, section 6 (plane geometry, computed with numpy and scipy) -------------------


def test_corners_of_s_d1_rest_on_two_and_four() -> None:
    found = four(0, "0.06", "0.02", 0)
    assert found.twist_in == Fraction("-0.04")
    assert found.gap_in == Fraction("0.04")
    assert all({"B", "D"} <= set(each.carries) for each in found.seats)
    assert found.flatness_in == pytest.approx(0.020, abs=1e-6)
    plane = least_squares(points((0, 0.06, 0.02, 0)))
    assert plane.slope == pytest.approx(0.0042164, abs=1e-6)
    downhill = math.degrees(math.atan2(-plane.slope_y, -plane.slope_x)) % 360
    assert downhill == pytest.approx(333.4, abs=0.1)


def test_both_positions_of_s_d2() -> None:
    found = four(0, "0.06", "0.02", 0)
    by_open = {name: each for each in found.seats for name in "ABCD" if name not in each.carries}
    assert set(by_open) == {"A", "C"}
    assert by_open["A"].slope == pytest.approx(0.0042164, abs=1e-6)
    assert by_open["C"].slope == pytest.approx(0.0056569, abs=1e-6)
    assert found.tilt_deg == pytest.approx(math.degrees(math.atan(0.0056569)), abs=1e-4)


def test_flat_but_tilted_corners_of_s_d3() -> None:
    found = four("0.125", 0, "-0.125", 0)
    assert (found.twist_in, found.gap_in, found.flatness_in, found.rocks) == (0, 0, 0, False)
    assert found.seats[0].slope == pytest.approx(0.0166667, abs=1e-7)
    assert found.toward == "C"
    assert found.toward_deg == pytest.approx(225)


def test_a_level_best_fit_does_not_hide_a_rocking_base_of_s_d4() -> None:
    found = four("0.10", 0, "0.10", 0)
    assert (found.twist_in, found.gap_in) == (Fraction("0.2"), Fraction("0.2"))
    assert found.flatness_in == pytest.approx(0.10, abs=1e-9)
    assert least_squares(points((0.1, 0, 0.1, 0))).slope == pytest.approx(0, abs=1e-12)
    assert [each.slope for each in found.seats] == pytest.approx([0.0133333, 0.0133333], abs=1e-7)
    assert found.rocks


def test_least_squares_and_minimum_zone_of_five_points() -> None:
    # S-D5, tolerance 1e-5: points retrieved, values computed with scipy linprog and Nelder-Mead.
    assert least_squares(FIVE).width == pytest.approx(0.07210, abs=1e-5)
    zone = minimum_zone(FIVE)
    assert zone.width == pytest.approx(0.06726, abs=1e-5)
    assert (zone.level, zone.slope_x, zone.slope_y) == pytest.approx((1.089658, -0.00042857, -0.00262295), abs=1e-6)


def test_least_squares_and_minimum_zone_of_a_grid() -> None:
    # S-D6, tolerance 1e-6: computed with scipy linprog.
    heights = (0, 0.010, 0.004, 0.012, 0.031, 0.015, 0.006, 0.018, 0.002)
    grid = [(4.0 * (at % 3), 4.0 * (at // 3), z) for at, z in enumerate(heights)]
    assert least_squares(grid).width == pytest.approx(0.0315, abs=1e-6)
    assert minimum_zone(grid).width == pytest.approx(0.0300, abs=1e-6)


# The torque decision: common practice, no source (trade reference, torque rule for transformer bases) ---------------


@pytest.mark.parametrize(
    ("gap", "outcome", "torques"),
    [
        (0, "tighten", (150,)),
        (SIXTEENTH, "tighten", (150,)),
        (SIXTEENTH + Fraction(1, 10**6), "step", (150, 175, 200, 225, 250)),
        (EIGHTH, "step", (150, 175, 200, 225, 250)),
        (Fraction(3175, 25_400), "step", (150, 175, 200, 225, 250)),
        (EIGHTH + Fraction(1, 10**6), "do not tighten", ()),
        (0.125, "step", (150, 175, 200, 225, 250)),
    ],
)
def test_torque_decision_is_exact_at_its_limits(gap: Any, outcome: str, torques: tuple[int, ...]) -> None:
    plan = plan_torque([0, 0, gap, 0], "ABCD")
    assert (plan.outcome, plan.torques) == (outcome, torques)
    assert plan.order == ("A", "C", "B", "D")


@pytest.mark.parametrize(
    ("gap", "applied", "contact", "outcome"),
    [
        (0, 150, None, "conforms"),
        (0, 149, None, "nonconforming"),
        (0, 251, True, "nonconforming"),
        (EIGHTH, 200, True, "conforms"),
        (EIGHTH, 200, None, "refer"),
        (EIGHTH, 250, False, "nonconforming"),
        (Fraction(1, 4), 150, True, "nonconforming"),
    ],
)
def test_applied_torque_is_judged_by_the_plan(gap: Any, applied: int, contact: bool | None, outcome: str) -> None:
    found = check_torque(plan_torque([0, 0, gap, 0], "ABCD"), [applied] * 4, contact)
    assert found.outcome == outcome


def test_torque_short_and_over_are_told_apart() -> None:
    found = four(0, 0, 0, 0, torques=[140, 150, 160, 255])
    assert (found.short_ftlb, found.over_ftlb) == (10, 5)
    assert four(0, 0, 0, 0).short_ftlb is None


def test_a_contract_may_set_its_own_limits() -> None:
    rule = TorqueRule(limit=SIXTEENTH, close=Fraction(1, 32), first=Fraction(100), last=Fraction(120))
    assert plan_torque([0, 0, EIGHTH, 0], "ABCD", rule).outcome == "do not tighten"
    assert plan_torque([0, 0, SIXTEENTH, 0], "ABCD", rule).torques == (100, 120)


# Ways of reading -----------------------------------------------------------------------------------------------------


def test_a_greater_rod_reading_lies_lower() -> None:
    heights, rods = (0, "0.06", "0.02", 0), ("5.00", "4.94", "4.98", "5.00")
    by_height, by_rod = four(*heights), four(*rods, read_as="rod")
    assert by_rod.seats == by_height.seats
    assert by_rod.tilt_deg == by_height.tilt_deg


def test_feeler_gauge_finds_the_twist_however_the_base_was_rocked() -> None:
    on_three = seat(gaps=[0, 0, Fraction("0.14"), 0])
    midway = seat(gaps=[Fraction("0.07"), 0, Fraction("0.07"), 0])
    assert on_three.gap_in == midway.gap_in == Fraction("0.14")
    assert on_three.plan.outcome == midway.plan.outcome == "do not tighten"
    assert (midway.tilt_deg, midway.lean_in, midway.toward) == (None, None, "")


def test_a_measured_gap_is_never_made_smaller() -> None:
    found = seat(gaps=[0, 0, 2 * EIGHTH, 2 * EIGHTH])
    assert (found.gap_in, found.plan.outcome) == (2 * EIGHTH, "do not tighten")
    assert "did not rest free" in found.sentence


def test_load_on_one_side_of_the_high_diagonal_settles_the_base() -> None:
    free = four(0, "0.06", "0.02", 0)
    held = four(0, "0.06", "0.02", 0, load_x=1, load_y=1)
    assert (len(free.seats), len(held.seats)) == (2, 1)
    assert held.seats[0].carries == ("A", "B", "D")


def test_lean_is_height_times_slope() -> None:
    # The worked base of the demo contract (plane geometry): lean 420 in times the slope of the plane through B, C, D.
    found = seat(a=0, b="0.078", c="-0.016", d="0.046", bolt_circle=14, pole_height=35)
    side = 14 / math.sqrt(2)
    plane = np.linalg.solve(
        [(1, -side, side), (1, -side, -side), (1, side, -side)], np.array((0.078, -0.016, 0.046)) * 2
    )
    assert found.lean_in == pytest.approx(420 * math.hypot(plane[1], plane[2]), rel=1e-9)
    assert "rocks on B and D" in found.sentence


# Least grinding ------------------------------------------------------------------------------------------------------


def test_least_grinding_takes_off_the_excess_of_the_twist_and_no_more() -> None:
    corners = on_circle([0, "0.078", "-0.016", "0.046"])
    for target in (EIGHTH, SIXTEENTH, Fraction(0)):
        found = least_grinding(corners, target)
        assert found.total == pytest.approx(0.140 - float(target), abs=1e-5)
        assert found.off[0] == found.off[2] == 0
        assert found.gap_after <= max(target, Fraction(1, 64))


def test_grinding_levels_the_seat_where_it_is_asked_to() -> None:
    found = least_grinding(on_circle([1, 0, -1, 0]), EIGHTH, EIGHTH)
    left = [z - cut for z, cut in zip((1, 0, -1, 0), found.off, strict=True)]
    assert abs(left[0] - left[2]) <= 0.125 + 1e-5
    assert abs(left[1] - left[3]) <= 0.125 + 1e-5


def test_cuts_are_sixty_fourths() -> None:
    found = least_grinding(on_circle([0, "0.078", "-0.016", "0.046"]), SIXTEENTH)
    assert all((cut * 64).denominator == 1 for cut in found.cuts)
    assert found.gap_after <= SIXTEENTH


inches = st.decimals("-0.5", "0.5", places=3).map(Fraction)
quads = st.tuples(inches, inches, inches, inches)


@settings(deadline=None, max_examples=40)
@given(heights=quads, target=st.sampled_from([Fraction(0), SIXTEENTH, EIGHTH]))
def test_no_smaller_grinding_exists(heights: tuple[Fraction, ...], target: Fraction) -> None:
    """The referee: |A − B + C − D| within the target is the whole condition for four corners of a square."""
    found = least_grinding(on_circle(heights), target)
    twist = np.array((1.0, -1.0, 1.0, -1.0))
    now = float(twist @ np.array([float(each) for each in heights]))
    referee = linprog(
        np.ones(4),
        A_ub=np.vstack((-twist, twist)),
        b_ub=[float(target) - now, float(target) + now],
        bounds=[(0, None)] * 4,
    )
    assert found.total == pytest.approx(referee.fun, abs=1e-5)
    left = now - float(twist @ np.array(found.off))
    assert abs(left) <= float(target) + 1e-5


# What must always hold -----------------------------------------------------------------------------------------------


@given(heights=quads)
def test_gaps_are_never_negative_and_the_open_one_is_the_twist(heights: tuple[Fraction, ...]) -> None:
    found = seats(on_circle(heights))
    twist = abs(heights[0] - heights[1] + heights[2] - heights[3])
    for each in found:
        assert min(each.gaps) == 0
        assert max(each.gaps) == twist
        assert len(each.carries) >= 3
    assert len(found) == (2 if twist else 1)


@settings(deadline=None, max_examples=40)
@given(heights=quads, turn=st.integers(1, 3))
def test_rotating_the_corners_rotates_the_answer(heights: tuple[Fraction, ...], turn: int) -> None:
    names = "ABCD"
    here, there = seats(on_circle(heights)), seats(on_circle([*heights[-turn:], *heights[:-turn]]))

    def described(found: Any, shift: int) -> set[tuple[Any, ...]]:
        return {
            (
                tuple(sorted(names[(names.index(name) + shift) % 4] for name in each.carries)),
                tuple(each.gaps[(at - shift) % 4] for at in range(4)),
                round(each.slope, 9),
            )
            for each in found
        }

    assert described(here, turn) == described(there, 0)
    directions = sorted(
        round((each.toward_deg + 90 * turn) % 360, 6) % 360 for each in here if each.toward_deg is not None
    )
    assert directions == pytest.approx(
        sorted(round(each.toward_deg, 6) % 360 for each in there if each.toward_deg is not None), abs=1e-5
    )


@settings(deadline=None, max_examples=40)
@given(heights=quads)
def test_scaling_units_leaves_the_decision(heights: tuple[Fraction, ...]) -> None:
    mm = Fraction(254, 10)
    scaled = seats(on_circle([each * mm for each in heights]))
    inch, metric = max(each.gap for each in seats(on_circle(heights))), max(each.gap for each in scaled)
    rule = TorqueRule(limit=EIGHTH * mm, close=SIXTEENTH * mm)
    assert metric == inch * mm
    assert plan_torque([inch] * 4, "ABCD").outcome == plan_torque([metric] * 4, "ABCD", rule).outcome


@settings(deadline=None, max_examples=30)
@given(heights=st.lists(st.floats(-0.3, 0.3), min_size=5, max_size=9))
def test_any_number_of_corners_rests_where_a_linear_programme_says(heights: list[float]) -> None:
    """The lowest plane at the centre that no corner rises above: its height there is what every position shares."""
    corners = on_circle(heights)
    table = np.array([[1.0, float(each.x), float(each.y)] for each in corners])
    z = np.array([float(each.height) for each in corners])
    referee = linprog((1, 0, 0), A_ub=-table, b_ub=-z, bounds=[(None, None)] * 3)
    for each in seats(corners):
        assert min(each.gaps) >= 0
        plane = [float(corner.height + gap) for corner, gap in zip(corners, each.gaps, strict=True)]
        centre = np.linalg.lstsq(table, np.array(plane), rcond=None)[0][0]
        assert centre == pytest.approx(referee.fun, abs=1e-6)


@settings(deadline=None, max_examples=30)
@given(heights=st.lists(st.floats(-1, 1), min_size=4, max_size=9))
def test_minimum_zone_is_never_wider_than_least_squares(heights: list[float]) -> None:
    draw = np.random.default_rng(3).uniform(-5, 5, (len(heights), 2))
    cloud = [(float(x), float(y), z) for (x, y), z in zip(draw, heights, strict=True)]
    assert minimum_zone(cloud).width <= least_squares(cloud).width + 1e-7


@given(heights=quads)
def test_flatness_of_four_corners_agrees_with_the_linear_programme(heights: tuple[Fraction, ...]) -> None:
    zone = minimum_zone(points(tuple(float(each) for each in heights)))
    assert float(abs(heights[0] - heights[1] + heights[2] - heights[3])) / 2 == pytest.approx(zone.width, abs=1e-7)


# Input that cannot be taken ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("given_values", "field"),
    [
        ({"a": 0, "b": 0, "c": 0}, "d"),
        ({"a": 0, "b": 0, "c": math.nan, "d": 0}, "c"),
        ({"a": 0, "b": math.inf, "c": 0, "d": 0}, "b"),
        ({"a": 0, "b": True, "c": 0, "d": 0}, "b"),
        ({}, "corners"),
        ({"a": 0, "b": 0, "c": 0, "d": 0, "gaps": [0, 0, 0, 0]}, "corners"),
        ({"readings": [0, 0, 0]}, "readings"),
        ({"readings": [0] * 13}, "readings"),
        ({"gaps": [0, 0, -1, 0]}, "gaps"),
        ({"gaps": [1, 1, 1, 1]}, "gaps"),
        ({"readings": [0] * 4, "read_as": "guess"}, "read_as"),
        ({"readings": [0] * 4, "bolt_circle": 0}, "bolt_circle"),
        ({"readings": [0] * 4, "pole_height": -3}, "pole_height"),
        ({"readings": [0] * 4, "load_x": 50}, "load"),
        ({"readings": [0] * 4, "close": 1}, "close"),
        ({"readings": [0] * 4, "last": 100}, "last"),
        ({"readings": [0] * 4, "torques": [150, 150, 150]}, "torques"),
        ({"readings": [0] * 4, "torques": [150, 150, 150, -1]}, "torques"),
    ],
)
def test_bad_input_names_the_field(given_values: dict[str, Any], field: str) -> None:
    with pytest.raises(CalcError) as caught:
        seat(**given_values)
    assert caught.value.field == field


def test_bad_planes_and_targets_name_the_field() -> None:
    for call, field in (
        (lambda: minimum_zone([(0, 0, 0), (1, 1, 0), (2, 2, 1)]), "points"),
        (lambda: least_squares([(0, 0, 0), (1, 0, math.nan), (0, 1, 0)]), "points[1]"),
        (lambda: least_grinding(on_circle([0] * 4), -1), "target"),
        (lambda: least_grinding(on_circle([0] * 4), 0, -1), "level"),
    ):
        with pytest.raises(CalcError) as caught:
            call()
        assert caught.value.field == field


def test_the_registry_answers_with_working_and_caution() -> None:
    found = find("seating").run({"a": Fraction(0), "b": Fraction(1, 32), "c": Fraction(3, 16), "d": Fraction(0)})
    assert found.gap_in == Fraction(5, 32)
    assert {"w", "gap", "slope"} <= {step.symbol for step in found.working}
    assert "Fingers" in found.caution
    for each in find("seating").outputs:
        assert hasattr(found, each.name)
