"""Shaft concrete, steel, cover and hole against published tables, and what must always hold."""

import doctest
import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from apps.calc.errors import CalcError
from apps.calc.registry import find
from apps.calc.shaft import (
    bar,
    bar_weight,
    bars,
    cage,
    cage_of,
    cover,
    covering,
    curve,
    drilled,
    hole,
    neat_volume,
    pour,
    quantities,
    shaft,
    spiral_of,
    volume,
)


def test_examples_in_docstrings_run() -> None:
    for module in (bars, cage, covering, drilled, pour, quantities, volume):
        ran = doctest.testmod(module)
        assert ran.attempted and not ran.failed, module.__name__


@pytest.mark.parametrize(
    ("number", "diameter", "area", "weight", "perimeter"),
    [
        # R-D1 to R-D6: ASTM A615, Table 1, as reprinted at concreteconstruction.net; to the last printed digit.
        ("3", 0.375, 0.11, 0.376, 1.178),
        ("4", 0.500, 0.20, 0.668, 1.571),
        ("6", 0.750, 0.44, 1.502, 2.356),
        ("8", 1.000, 0.79, 2.670, 3.142),
        ("9", 1.128, 1.00, 3.400, 3.544),
        ("11", 1.410, 1.56, 5.313, 4.430),
    ],
)
def test_bars_carry_the_table(number: str, diameter: float, area: float, weight: float, perimeter: float) -> None:
    assert bar(number)[:4] == (diameter, area, weight, perimeter)


@pytest.mark.parametrize(("number", "metric"), [("4", ("13", 12.7, 129, 0.994)), ("8", ("25", 25.4, 510, 3.973))])
def test_bars_carry_the_metric_table(number: str, metric: tuple[Any, ...]) -> None:
    # R-D7: A615M values, Materials for Civil and Construction Engineers, Table 3.8.
    assert bar(number)[4:] == metric


@pytest.mark.parametrize("number", ["3", "4", "5", "6", "7", "8"])
def test_bars_to_no_8_follow_the_eighths(number: str) -> None:
    """Catches a slip in the rows from memory: d = n/8, A = π d²/4, 3.4 lb/ft for each square inch."""
    found, across = bar(number), int(number) / 8
    area = math.pi / 4 * across**2
    assert (found.diameter_in, found.perimeter_in) == pytest.approx((across, math.pi * across), abs=0.0006)
    assert found.area_in2 == pytest.approx(area, abs=0.005)
    assert found.weight_lbft == pytest.approx(3.4 * area, abs=0.0006)


def test_weight_of_eight_bars() -> None:
    # R-D8: table weight times length; tolerance 0.05.
    assert bar_weight("9", 8, 9.5) == pytest.approx(258.4, abs=0.05)


def test_published_helix() -> None:
    # R-D9: civildailyinfo.com, cutting length of a helix bar, in feet; tolerance 0.01 (it prints 64.59, cut off).
    found = spiral_of(centre_diameter=4, pitch=3, height=15)
    assert (found.turns, found.turn, found.total) == pytest.approx((5, 12.9195, 64.598), abs=0.01)


def test_cage_and_spiral_of_a_24_inch_shaft() -> None:
    # R-D10: formula, tolerance 0.01. R-D11: the shortcut turns × π Dc comes out at 1052.041, 0.49 % short.
    found_cage = cage_of(shaft_diameter=24, cover=3, spiral="3", vertical="8")
    assert found_cage == pytest.approx((18.000, 17.625, 16.250))
    found = spiral_of(centre_diameter=found_cage.spiral, pitch=6, height=96, flat_turns=3)
    assert (found.turn, found.helix, found.flat, found.total) == pytest.approx(
        (55.6947, 891.115, 166.112, 1057.227), abs=0.01
    )
    shortcut = found.turns * math.pi * found_cage.spiral + found.flat
    assert shortcut == pytest.approx(1052.041, abs=0.01)
    assert found.total != pytest.approx(shortcut, abs=1)


def test_cage_of_a_30_inch_shaft() -> None:
    # R-D12: geometry, tolerance 0.001.
    assert cage_of(shaft_diameter=30, cover=3, spiral="4", vertical="9") == pytest.approx((24, 23.5, 21.872), abs=0.001)


@pytest.mark.parametrize(("diameter", "yards"), [(12, 0.029), (18, 0.065), (24, 0.116)])
def test_volume_of_a_foot_of_round_column(diameter: float, yards: float) -> None:
    # R-D13: engineeringtoolbox.com, concrete column, yd³ per ft; to the last printed digit.
    assert neat_volume(diameter, 1) == pytest.approx(yards, abs=0.0005)


def test_rows_of_that_table_that_were_cut_are_not_copied() -> None:
    # The same table prints 16 in = 0.051 and 22 in = 0.097; the formula gives 0.0517 and 0.0978.
    assert neat_volume(16, 1) == pytest.approx(0.0517, abs=0.00005)
    assert neat_volume(22, 1) == pytest.approx(0.0978, abs=0.00005)


def test_volume_of_eight_piers() -> None:
    # R-D14: novacalculator.com, concrete pier example 1: 25.13 ft³, 0.93 yd³.
    assert 8 * neat_volume(12, 4) * 27 == pytest.approx(25.13, abs=0.005)
    assert 8 * neat_volume(12, 4) == pytest.approx(0.93, abs=0.005)


def test_overbreak_of_a_30_inch_shaft() -> None:
    # R-D15: formula, tolerance 0.0005.
    found = shaft(shaft_diameter=30, depth=8, placed=1.75)
    assert (found.volume_yd3, found.ratio) == pytest.approx((1.4544, 1.2032), abs=0.0005)
    assert found.overbreak_percent == pytest.approx(20.3, abs=0.05)
    assert shaft(shaft_diameter=30, depth=8).ratio is None


def test_steel_of_a_shaft_adds_up() -> None:
    found = shaft(shaft_diameter=24, depth=8, bar_size="8", bar_count=8, bar_length=8, flat_turns=3)
    assert found.spiral.total == pytest.approx(1057.227, abs=0.01)
    assert found.bars_lb == pytest.approx(8 * 8 * 2.670)
    assert found.spiral_lb == pytest.approx(1057.227 / 12 * 0.376, abs=0.001)
    assert found.steel_lb == found.bars_lb + found.spiral_lb


def test_bars_stop_a_cover_short_of_both_ends() -> None:
    found = shaft(shaft_diameter=30, depth=8, cover=3, bar_count=6)
    assert found.bars_lb == pytest.approx(6 * 7.5 * 0.668)


@given(diameter=st.floats(2, 200), pitch=st.floats(1, 40), height=st.floats(0, 400))
def test_helix_agrees_with_integration(diameter: float, pitch: float, height: float) -> None:
    found = spiral_of(centre_diameter=diameter, pitch=pitch, height=height)
    climb = math.hypot(1, math.pi * diameter / pitch)
    assert found.helix == pytest.approx(quad(lambda _: climb, 0, height)[0], rel=1e-9, abs=1e-9)
    assert found.helix >= height


# The concrete curve --------------------------------------------------------------------------------------------------


def test_curve_names_the_stretch_that_closed_in_and_the_one_that_caved() -> None:
    neat = neat_volume(30, 1)
    found = curve(shaft_diameter=30, depth=8, soundings=[6, 4, 0], placed=[2.2 * neat, 4.0 * neat, 9.6 * neat])
    assert [each.ratio for each in found.intervals] == pytest.approx([1.1, 0.9, 1.4])
    assert (found.least, found.greatest, found.ratio) == pytest.approx((0.9, 1.4, 1.2))
    assert "From 6 to 4 ft, 0.90: the hole closed in" in found.sentence
    assert "From 4 to 0 ft, 1.40: caving" in found.sentence
    assert "8 to 6" not in found.sentence


@given(
    shares=st.lists(st.floats(0.1, 3), min_size=1, max_size=6), ratios=st.lists(st.floats(0, 3), min_size=6, max_size=6)
)
def test_stretches_add_up_to_the_whole(shares: list[float], ratios: list[float]) -> None:
    depth = sum(shares)
    levels = [max(depth - sum(shares[: at + 1]), 0.0) for at in range(len(shares))]
    stretches = [upper - lower for upper, lower in zip([depth, *levels], levels, strict=False)]
    added = [ratio * neat_volume(24, each) for ratio, each in zip(ratios, stretches, strict=False)]
    placed = [sum(added[: at + 1]) for at in range(len(added))]
    found = curve(shaft_diameter=24, depth=depth, soundings=levels, placed=placed)
    assert sum(each.placed_yd3 for each in found.intervals) == pytest.approx(placed[-1], abs=1e-9)
    assert found.least - 1e-9 <= found.ratio <= found.greatest + 1e-9


# Cover and hole ------------------------------------------------------------------------------------------------------


def test_cover_is_lost_on_the_side_the_cage_stands_off_to() -> None:
    found = cover(hole_diameter=30, cage_diameter=24, off_centre=0.75)
    assert (found.centred, found.least) == (3, 2.25)


@given(hole_in=st.floats(12, 60), share=st.floats(0.1, 0.9), off=st.floats(0, 1))
def test_cover_is_never_negative(hole_in: float, share: float, off: float) -> None:
    found = cover(
        hole_diameter=hole_in, cage_diameter=hole_in * share, off_centre=off * hole_in * (1 - share) / 2 * 0.999
    )
    assert 0 <= found.least <= found.centred


def test_place_of_a_hole() -> None:
    # T-D1: City of Everett project specification, document 972587 p. 416, item 1; tolerance 0.001.
    assert hole(depth=8, off_x=2.0, off_y=1.5).off_centre_in == pytest.approx(2.5, abs=0.001)


def test_plumb_of_a_hole_against_three_published_limits() -> None:
    # T-D2: Everett (1/4 in per ft), ACI 117M-10 (2 %), FHWA GEC-10 (1.5 %, from memory); tolerance 0.001.
    found = hole(depth=10, lean_x=2.2)
    assert found.plumb_percent == pytest.approx(1.833, abs=0.001)
    assert found.plumb_in_per_ft <= 0.25
    assert found.plumb_percent <= 2
    assert found.plumb_percent > 1.5


def test_sediment_of_a_hole() -> None:
    # T-D3: FHWA GEC-10, guide specification (rule from memory): half the bottom under 1/2 in.
    found = hole(depth=8, sediment=[0.25, 0.75, 0.25, 0.5, 1.25])
    assert (found.thin_percent, found.thickest_in) == (40, 1.25)
    assert hole(depth=8).thin_percent is None


def test_a_quarter_inch_per_foot_is_2_083_percent() -> None:
    # T-D6: conversion, tolerance 0.001.
    assert hole(depth=1, lean_x=0.25).plumb_percent == pytest.approx(2.083, abs=0.001)


# Input that cannot be taken ------------------------------------------------------------------------------------------


def test_bad_input_names_the_field() -> None:
    for call, field in (
        (lambda: bar("12"), "bar"),
        (lambda: bar_weight("4", -1, 3), "count"),
        (lambda: cage_of(shaft_diameter=6, cover=3, spiral="3", vertical="4"), "cover"),
        (lambda: spiral_of(centre_diameter=17, pitch=0, height=96), "pitch"),
        (lambda: spiral_of(centre_diameter=17, pitch=6, height=math.inf), "height"),
        (lambda: neat_volume(-30, 8), "diameter_in"),
        (lambda: neat_volume(30, math.nan), "depth_ft"),
        (lambda: shaft(shaft_diameter=30, depth=8, placed=-1), "placed"),
        (lambda: cover(hole_diameter=24, cage_diameter=24), "cage_diameter"),
        (lambda: cover(hole_diameter=30, cage_diameter=24, off_centre=3.5), "off_centre"),
        (lambda: curve(shaft_diameter=30, depth=8, soundings=[4, 4], placed=[1, 2]), "soundings"),
        (lambda: curve(shaft_diameter=30, depth=8, soundings=[9], placed=[1]), "soundings"),
        (lambda: curve(shaft_diameter=30, depth=8, soundings=[4, 0], placed=[2, 1]), "placed"),
        (lambda: curve(shaft_diameter=30, depth=8, soundings=[4, 0], placed=[2]), "placed"),
        (lambda: hole(depth=0), "depth"),
        (lambda: hole(depth=8, sediment=[]), "sediment"),
        (lambda: find("shaft").run({"shaft_diameter": 2, "depth": 8}), "shaft_diameter"),
        (lambda: find("shaft").run({"shaft_diameter": 30, "depth": 8, "bar_size": "12"}), "bar_size"),
    ):
        with pytest.raises(CalcError) as caught:
            call()
        assert caught.value.field == field


def test_the_registry_answers_with_working_and_caution() -> None:
    for name, values in (
        ("shaft", {"shaft_diameter": 30.0, "depth": 8.0, "placed": 1.75}),
        ("shaft.cover", {"hole_diameter": 30.0, "cage_diameter": 24.0}),
        ("shaft.hole", {"depth": 8.0, "sediment": [0.25]}),
        ("shaft.curve", {"shaft_diameter": 30.0, "depth": 8.0, "soundings": [0.0], "placed": [1.6]}),
    ):
        found = find(name).run(values)
        assert found.working and "Never enter the hole" in found.caution
        for each in find(name).outputs:
            assert hasattr(found, each.name)


# What is said --------------------------------------------------------------------------------------------------------


def test_a_cover_that_is_short_is_nonconforming_by_how_much() -> None:
    found = cover(hole_diameter=30, cage_diameter=24, off_centre=0.75, asked=3)
    assert found.short_in == 0.75
    assert found.sentence.startswith("Nonconforming, 3/4 in short of 3 in. The least cover is 2 1/4 in on the side")
    assert cover(hole_diameter=30, cage_diameter=24, off_centre=0.75).sentence.startswith("The least cover is 2 1/4 in")


@pytest.mark.parametrize(("across", "over", "off", "asked"), [(30.2, 24.2, 0, 3), (30, 23.8, 0.1, 3), (30, 24, 0, 3)])
def test_a_cover_of_exactly_what_is_asked_conforms(across: float, over: float, off: float, asked: float) -> None:
    found = cover(hole_diameter=across, cage_diameter=over, off_centre=off, asked=asked)
    assert found.short_in == 0
    assert found.sentence.startswith("Conforms to 3 in. The least cover is 3 in")


def test_a_hole_says_which_limit_it_exceeds() -> None:
    # T-D1 and T-D2 again, each limit of its own source: Everett 3 in; ACI 117M-10 2 %; FHWA GEC-10 1.5 % (from memory).
    measured = {"depth": 10, "off_x": 2.0, "off_y": 1.5, "lean_x": 2.2}
    within = hole(**measured, off_limit=3, plumb_limit=2)
    assert (within.over, within.sentence) == (
        (),
        "Conforms in place and plumb. The hole is 2 1/2 in off its stake and 2.2 in off plumb in 10 ft, 1.83 % of its depth.",
    )
    beyond = hole(**measured, off_limit=2.4, plumb_limit=1.5)
    assert beyond.over == ("stake", "plumb")
    assert beyond.sentence.startswith("Nonconforming: too far off its stake and too far off plumb. ")
    assert hole(**measured).sentence.startswith("The hole is 2 1/2 in off its stake")


@pytest.mark.parametrize(("lean", "over"), [(2.4, ()), (2.401, ("plumb",))])
def test_a_hole_exactly_at_its_limit_conforms(lean: float, over: tuple[str, ...]) -> None:
    assert hole(depth=10, lean_x=lean, plumb_limit=2).over == over
    assert hole(depth=10, off_x=2.4, off_y=0.7, off_limit=2.5).over == ()


def test_a_hole_says_how_clean_its_bottom_is() -> None:
    said = hole(depth=8, sediment=[0.25, 0.75, 0.25, 0.5, 1.25]).sentence
    assert said.endswith("40 % of the bottom has less than 1/2 in of sediment; the thickest is 1 1/4 in.")


def test_a_shaft_says_what_it_takes_and_what_was_placed() -> None:
    assert shaft(shaft_diameter=30, depth=8, placed=1.75).sentence.startswith(
        "The shaft takes 1.45 yd³ of concrete; 1.75 yd³ were placed, 1.20 times that, 20 % over. It takes "
    )
    assert ", 31 % short. " in shaft(shaft_diameter=30, depth=8, placed=1).sentence
    assert "placed" not in shaft(shaft_diameter=30, depth=8).sentence


def test_an_even_pour_says_so() -> None:
    neat = neat_volume(30, 1)
    found = curve(shaft_diameter=30, depth=8, soundings=[4, 0], placed=[4.4 * neat, 8.8 * neat])
    assert found.sentence == "Placed 1.10 times the neat volume. Every stretch lies between 1 and 1.3."
