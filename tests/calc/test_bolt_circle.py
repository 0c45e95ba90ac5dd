"""Bolt circles against published fits and plane geometry, and what must always hold."""

import cmath
import doctest
import math
from types import ModuleType
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.calc.bolt_circle import (
    Circle,
    chords,
    fit,
    fit_circle,
    from_tape,
    lay_pattern,
    lean,
    leaning,
    linear_circle,
    measured,
    measured_circle,
    template,
    unit_norm_circle,
)
from apps.calc.errors import CalcError
from apps.calc.registry import find

GANDER = [(1, 7), (2, 6), (5, 8), (7, 7), (9, 5), (3, 7)]
COOKBOOK = list(zip((9, 35, -13, 10, 23, 0), (34, 10, 6, -14, 27, -10), strict=True))
ANCHORS_X, ANCHORS_Y = [5.31, -5.29, -5.33, 5.26], [5.28, 5.34, -5.22, -5.35]


def ring(count: int, diameter: float, turn: float = 0.0, at: complex = 0, way: int = 1) -> list[tuple[float, float]]:
    places = [at + cmath.rect(diameter / 2, turn + way * math.tau * step / count) for step in range(count)]
    return [(each.real, each.imag) for each in places]


@pytest.mark.parametrize("module", [chords, fit, leaning, measured])
def test_examples_in_docstrings_run(module: ModuleType) -> None:
    ran = doctest.testmod(module)
    assert ran.attempted and not ran.failed


def test_geometric_fit_agrees_with_gander_golub_strebel() -> None:
    # C-D1: BIT 34 (1994), sec. 2-3 (from memory, recomputed with scipy); tolerance 1e-4.
    found = fit_circle(GANDER)
    assert (found.x, found.y, found.radius) == pytest.approx((4.7398, 2.9835, 4.7142), abs=1e-4)
    squares = sum((math.dist(point, (found.x, found.y)) - found.radius) ** 2 for point in GANDER)
    assert squares == pytest.approx(1.2276, abs=1e-4)


def test_linear_fit_is_another_circle_and_not_the_answer() -> None:
    # C-D2: linear (Kasa) fit of the same points, computed; tolerance 1e-4.
    found = linear_circle(GANDER)
    assert (found.x, found.y, found.radius) == pytest.approx((4.7423, 3.8351, 4.1088), abs=1e-4)


def test_unit_norm_fit_is_a_third_circle() -> None:
    # C-D2: the algebraic fit of Gander, Golub, Strebel, BIT 34 (1994), sec. 2 (from memory, recomputed); tolerance 1e-4.
    found = unit_norm_circle(GANDER)
    assert found is not None
    assert (found.x, found.y, found.radius) == pytest.approx((5.3794, 7.2532, 3.0370), abs=1e-4)


def test_unit_norm_fit_of_a_true_circle_is_that_circle() -> None:
    found = unit_norm_circle(ring(5, 15, 0.4, 3 - 2j))
    assert found is not None
    assert (found.x, found.y, found.radius) == pytest.approx((3, -2, 7.5))


def test_no_circle_of_either_algebraic_fit_is_nearer_to_the_points() -> None:
    def squares(circle: Circle) -> float:
        return sum((math.dist(each, (circle.x, circle.y)) - circle.radius) ** 2 for each in GANDER)

    unit_norm = unit_norm_circle(GANDER)
    assert unit_norm is not None
    assert squares(fit_circle(GANDER)) < min(squares(linear_circle(GANDER)), squares(unit_norm))


def test_fits_of_the_scipy_cookbook_points() -> None:
    # C-D3: points of the SciPy cookbook page "Least Squares Circle" (from memory, recomputed); tolerance 1e-4.
    # The page prints 23.33482 for its linear method: the mean distance, another definition of the radius.
    found, start = fit_circle(COOKBOOK), linear_circle(COOKBOOK)
    assert (found.x, found.y, found.radius) == pytest.approx((10.50009, 9.65995, 23.33353), abs=1e-4)
    assert (start.x, start.y, start.radius) == pytest.approx((10.55231, 9.70590, 23.36241), abs=1e-4)
    mean = sum(math.dist(point, (start.x, start.y)) for point in COOKBOOK) / len(COOKBOOK)
    assert mean == pytest.approx(23.33482, abs=1e-4)


def test_measured_anchors() -> None:
    # C-D4: computed with scipy; tolerance 1e-4, lengths 1e-3.
    found = measured_circle(x=ANCHORS_X, y=ANCHORS_Y, nominal=15)
    assert (found.x, found.y, found.bolt_circle) == pytest.approx((0.00502, 0.01469, 14.9840), abs=1e-4)
    assert found.residuals == pytest.approx((-0.0176, 0.0177, -0.0178, 0.0176), abs=1e-4)
    assert found.sides == pytest.approx((10.600, 10.560, 10.591, 10.630), abs=1e-3)
    assert found.diagonals == pytest.approx((14.949, 15.019), abs=1e-3)


def test_chords_of_a_square_pattern() -> None:
    # C-D5: formula, tolerance 1e-4. C-D6: bolt circle guide of jarvislighting.com, printed 7.07.
    assert (template(bolt_circle=15).side, template(bolt_circle=15).diagonal) == pytest.approx((10.6066, 15), abs=1e-4)
    assert template(bolt_circle=10).side == pytest.approx(7.07, abs=0.005)
    assert 7.07 / 0.707 == pytest.approx(10.0, abs=0.05)


@given(count=st.integers(3, 36), diameter=st.floats(5, 60))
def test_template_chords_are_distances_between_bolts(count: int, diameter: float) -> None:
    places = ring(count, diameter)
    chords = template(bolt_circle=diameter, count=count).chords
    assert chords == pytest.approx([math.dist(places[0], places[step]) for step in range(1, count // 2 + 1)])


def test_tape_lengths_give_the_bolts_back() -> None:
    places = list(zip(ANCHORS_X, ANCHORS_Y, strict=True))
    sides = [math.dist(places[at], places[(at + 1) % 4]) for at in range(4)]
    diagonals = [math.dist(places[0], places[2]), math.dist(places[1], places[3])]
    taped = measured_circle(sides=sides, diagonals=diagonals, nominal=15)
    plotted = measured_circle(x=ANCHORS_X, y=ANCHORS_Y, nominal=15)
    assert taped.misclosure < 1e-9
    assert taped.bolt_circle == pytest.approx(plotted.bolt_circle, abs=1e-8)
    assert taped.worst == pytest.approx(plotted.worst, abs=1e-6)


def test_a_slip_of_the_tape_shows_as_misclosure() -> None:
    side = 15 / math.sqrt(2)
    _, misclosure = from_tape([side, side, side, side], [15, 14.5])
    assert misclosure > 0.05


@settings(deadline=None, max_examples=40)
@given(
    count=st.integers(3, 8),
    turn=st.floats(0, math.tau),
    x=st.floats(-50, 50),
    y=st.floats(-50, 50),
    way=st.sampled_from((1, -1)),
)
def test_a_true_pattern_has_no_errors_wherever_it_lies(count: int, turn: float, x: float, y: float, way: int) -> None:
    places = ring(count, 15, turn, complex(x, y), way)
    found = fit_circle(places)
    assert (found.x, found.y, 2 * found.radius) == pytest.approx((x, y, 15), abs=1e-6)
    assert max(lay_pattern(places, 15).errors) < 1e-5


def spoiled(seed: int) -> list[tuple[float, float]]:
    draw = np.random.default_rng(seed).normal(0, 0.05, (4, 2))
    return [(x + float(dx), y + float(dy)) for (x, y), (dx, dy) in zip(ring(4, 15, math.pi / 4), draw, strict=True)]


@settings(deadline=None, max_examples=30)
@given(seed=st.integers(0, 10_000), turn=st.floats(0, math.tau), factor=st.floats(0.5, 30))
def test_turning_and_scaling_leave_the_answer(seed: int, turn: float, factor: float) -> None:
    places = spoiled(seed)
    moved = [cmath.rect(factor, turn) * complex(*each) for each in places]
    here = measured_circle(x=[x for x, _ in places], y=[y for _, y in places], nominal=15)
    there = measured_circle(
        x=[each.real for each in moved], y=[each.imag for each in moved], nominal=15 * factor, tolerance=0.125 * factor
    )
    assert there.bolt_circle == pytest.approx(here.bolt_circle * factor, rel=1e-8)
    assert there.worst == pytest.approx(here.worst * factor, rel=1e-3, abs=1e-6)
    if abs(here.off_size - 0.125) > 1e-6:
        assert there.conforms == here.conforms


@settings(deadline=None, max_examples=20)
@given(seed=st.integers(0, 10_000))
def test_the_pattern_is_laid_where_the_worst_bolt_is_least_off(seed: int) -> None:
    """The referee: no small shift or turn of the pattern makes the worst bolt better."""
    places = spoiled(seed)
    _, errors, turn = lay_pattern(places, 15)
    at = np.array([complex(*each) for each in places])
    spokes = 7.5 * np.exp(1j * (np.radians(turn) + np.arange(4) * np.pi / 2))
    tried = [
        np.abs(at - (spokes * np.exp(1j * more) + shift)).max()
        for shift in np.ravel(np.linspace(-0.1, 0.1, 21)[:, None] + 1j * np.linspace(-0.1, 0.1, 21))
        for more in np.linspace(-0.005, 0.005, 5)
    ]
    assert max(errors) <= min(tried) + 1e-4


def test_the_base_goes_on_when_the_worst_bolt_has_room() -> None:
    fits = measured_circle(x=ANCHORS_X, y=ANCHORS_Y, nominal=15, bolt_diameter=1, hole_diameter=1.0625)
    tight = measured_circle(x=ANCHORS_X, y=ANCHORS_Y, nominal=15, bolt_diameter=1, hole_diameter=1.05)
    assert fits.clearance is not None and tight.clearance is not None
    assert fits.clearance == pytest.approx(0.03125 - fits.worst)
    assert fits.conforms and fits.clearance > 0
    assert not tight.conforms and "does not go on" in tight.sentence


def test_a_circle_off_by_exactly_the_tolerance_conforms() -> None:
    places = ring(4, 14.125, 0.3)
    x, y = [each[0] for each in places], [each[1] for each in places]
    assert measured_circle(x=x, y=y, nominal=14).conforms
    assert not measured_circle(x=x, y=y, nominal=14, tolerance=0.124).conforms


def test_lean_of_one_in_forty_conforms() -> None:
    # B-D12: Wisconsin DOT form DT2321 steps 2 and 4: slope at most 1:40, 1/4 in in 10 in.
    assert lean(along=0.25, length=10).conforms
    assert not lean(along=0.25, across=0.05, length=10).conforms
    found = lean(along=0.3, across=0.4, length=10)
    assert (found.slope, found.one_in) == pytest.approx((0.05, 20))
    assert found.toward_deg == pytest.approx(math.degrees(math.atan2(0.4, 0.3)))
    assert lean(along=0, length=10).one_in is None


@pytest.mark.parametrize(
    ("given_values", "field"),
    [
        ({"x": [1, 2], "y": [1, 2]}, "x"),
        ({"x": [0, 1, 2], "y": [0, 1, 2]}, "points"),
        ({"x": [0, 1, 2], "y": [0, 1]}, "y"),
        ({"x": [0, 0, 2], "y": [0, 0, 1]}, "points"),
        ({"x": [0, math.nan, 2], "y": [0, 1, 0]}, "x"),
        ({"x": [0, 1, 2]}, "y"),
        ({}, "x"),
        ({"sides": [1, 1, 1, 1]}, "diagonals"),
        ({"sides": [1, 1, 1], "diagonals": [1, 1]}, "sides"),
        ({"sides": [1, 1, 1, 1], "diagonals": [3, 1]}, "diagonals"),
        ({"sides": [1, 1, 1, -1], "diagonals": [1, 1]}, "sides"),
        ({"x": ANCHORS_X, "y": ANCHORS_Y, "nominal": 0}, "nominal"),
        ({"x": ANCHORS_X, "y": ANCHORS_Y, "bolt_diameter": 1, "hole_diameter": 0.9}, "hole_diameter"),
    ],
)
def test_bad_input_names_the_field(given_values: dict[str, Any], field: str) -> None:
    with pytest.raises(CalcError) as caught:
        measured_circle(**{"nominal": 15, **given_values})
    assert caught.value.field == field


def test_bad_lean_and_template_name_the_field() -> None:
    for call, field in (
        (lambda: lean(along=1, length=0), "length"),
        (lambda: lean(along=math.inf, length=1), "along"),
        (lambda: template(bolt_circle=15, count=2), "count"),
        (lambda: template(bolt_circle=15, count=4.5), "count"),
    ):
        with pytest.raises(CalcError) as caught:
            call()
        assert caught.value.field == field


def test_the_registry_answers_with_working_and_caution() -> None:
    found = find("bolt_circle").run({"x": ANCHORS_X, "y": ANCHORS_Y, "nominal": 15.0})
    assert found.working and "slot" in found.caution
    for each in find("bolt_circle").outputs:
        assert hasattr(found, each.name)


def test_the_sentence_says_the_verdict_first_and_its_numbers() -> None:
    fits = measured_circle(x=ANCHORS_X, y=ANCHORS_Y, nominal=15, bolt_diameter=1, hole_diameter=1.0625)
    assert fits.sentence.startswith("Conforms: the bolts stand on a circle of 14.984 in, 0.016 in under nominal")
    assert fits.sentence.endswith("number 3, is 0.029 in off its place. The base goes on with 0.002 in to spare.")
    off = measured_circle(x=ANCHORS_X, y=ANCHORS_Y, nominal=14.75)
    assert off.sentence.startswith("Nonconforming") and "0.234 in over nominal, beyond" in off.sentence
    assert off.sentence.endswith("The engineer decides.")


def test_a_circle_just_beyond_the_tolerance_is_not_written_as_on_it() -> None:
    places = ring(4, 14.12501)
    found = measured_circle(x=[x for x, _ in places], y=[y for _, y in places], nominal=14)
    assert "0.12501 in over nominal, beyond" in found.sentence


def test_the_lean_is_said_against_what_is_allowed() -> None:
    assert lean(along=0.25, length=10).sentence == (
        "Conforms: the bolt leans 0.25 in over 10 in, 1 in 40; 1 in 40, 0.25 in here, is allowed."
    )
    assert lean(along=0.5, length=10).sentence.endswith("Over by 0.25 in: the engineer decides.")
    assert lean(along=0, length=10).sentence.startswith("Conforms: the bolt is plumb")


def test_the_template_says_its_longest_chord() -> None:
    assert "opposite bolts 15 in" in template(bolt_circle=15).sentence
    assert "furthest apart 14.266 in" in template(bolt_circle=15, count=5).sentence
    assert "from both others" in template(bolt_circle=15, count=3).sentence


def test_the_places_of_the_pattern_lie_as_far_from_the_bolts_as_said() -> None:
    found = measured_circle(x=ANCHORS_X, y=ANCHORS_Y, nominal=15)
    apart = [math.dist(one, other) for one, other in zip(found.points, found.places, strict=True)]
    assert apart == pytest.approx(found.errors)
    assert math.dist(found.places[0], found.places[2]) == pytest.approx(15)
