"""Shapes of the demo's foundations: what is read of one at several stages belongs to one thing."""

from fractions import Fraction
from random import Random

import pytest

from apps.calc.readings import read
from apps.calc.seating import seat
from apps.calc.verdict import judge
from apps.config.demo import readings
from apps.config.demo.shape import CHORDS, GAUGE, Shape, fitted, shape_of
from apps.corridor.models import Foundation
from apps.holdpoints.judging import Answered
from tests.factories.holdpoints import hold_point, requirements

MARKS = [f"LP-{number:03}" for number in range(1, 41)]


def numbers(answer: Answered, spec: object) -> list[Fraction]:
    found = [read(spec, each.place, each.text).value for each in answer.readings]  # type: ignore[arg-type]
    assert all(isinstance(value, Fraction) for value in found)
    return found  # type: ignore[return-value]


@pytest.mark.parametrize("mark", MARKS)
def test_gaps_are_those_of_a_rigid_base_on_its_corners(mark: str) -> None:
    """The gauge reads what the heights of the concrete give (statics of three supports), and at most one corner stands open."""
    shape = shape_of(mark)
    gaps = shape.gaps(Random(1))
    assert sorted(gaps)[:3] == [0, 0, 0]
    assert max(gaps) == seat(readings=shape.heights).gap_in == abs(shape.twist)
    assert seat(gaps=gaps).gap_in == max(gaps)


def test_foundations_differ_and_each_is_the_same_each_time() -> None:
    shapes = {mark: shape_of(mark) for mark in MARKS}
    assert shapes == {mark: shape_of(mark) for mark in MARKS}
    assert len({shape.twist for shape in shapes.values()}) > 5
    assert len({shape.bolts for shape in shapes.values()}) == len(MARKS)


@pytest.mark.parametrize("mark", MARKS)
def test_what_is_left_standing_is_no_less_than_bolts_above_ground(mark: str) -> None:
    shape = shape_of(mark)
    for turn in CHORDS.values():
        assert shape.standing(turn) == pytest.approx(max(*shape.bolts, *shape.conduits) + shape.above_grade)
        assert shape.standing(turn) < 4


def answered(foundation: Foundation, stage: str, shape: Shape) -> dict[str, tuple[object, Answered]]:
    rows = requirements(hold_point(foundation, stage))
    specs = {row.key: row.spec for row in rows}
    typed = readings.all_conforming(rows, foundation.plan, Random(4))
    return {key: (specs[key], answer) for key, answer in fitted(shape, typed, specs).items()}


@pytest.mark.parametrize("mark", MARKS[:8])
def test_readings_of_all_stages_agree_and_conform_or_refer(foundation: Foundation, mark: str) -> None:
    shape = shape_of(mark)
    by_stage = {stage: answered(foundation, stage, shape) for stage in ("cage", "pour", "base_set")}
    bolts = [numbers(each["cage.bolt_projection" if stage == "cage" else "pour.bolt_projection"][1], spec)
             for stage, each in by_stage.items() if stage != "base_set"
             for spec in [each[f"{stage}.bolt_projection"][0]]]  # fmt: skip
    assert bolts[0] == bolts[1]
    spec, answer = by_stage["base_set"]["base_set.stub_height"]
    assert min(numbers(answer, spec)) >= max(bolts[1]) - Fraction(1, 16)
    for each in by_stage.values():
        for key, (spec, answer) in each.items():
            if key in {"base_set.corner_gap", "base_set.stub_height", "base_set.ground", "pour.wind"}:
                said = [read(spec, one.place, one.text) for one in answer.readings]  # type: ignore[arg-type]
                outcome = judge(spec, said, plan=foundation.plan).outcome  # type: ignore[arg-type]
                assert outcome in {"conforms", "refer"}, (key, answer)


def test_a_gap_that_goes_wrong_stays_as_wide(foundation: Foundation) -> None:
    rows = requirements(hold_point(foundation, "base_set"))
    specs = {row.key: row.spec for row in rows}
    typed = readings.all_conforming(rows, foundation.plan, Random(4))
    typed["base_set.corner_gap"] = readings.beyond(specs["base_set.corner_gap"], foundation.plan, Random(5))
    found = numbers(fitted(shape_of("LP-001"), typed, specs)["base_set.corner_gap"], specs["base_set.corner_gap"])
    assert max(found) > Fraction(1, 8) and sorted(found)[:3] == [0, 0, 0]
    assert all(value % GAUGE == 0 for value in found)
