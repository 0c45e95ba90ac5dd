"""Drawings of what is left standing say and measure what the result says."""

import math

import pytest

from apps.calc import registry
from apps.sheet.drawn import tables
from tests.sheet.drawn.sheet_reader import drawn

EIGHT = [45.0 * each for each in range(8)]
LEVEL = {"directions": EIGHT, "distances": [90.0] * 8, "heights": [0.0] * 8}
TWO = {"names": ["bolt", "conduit"], "x": [5.0, 0.0], "y": [5.0, 2.0], "tops": [3.5, 5.0]}
MANY = {
    "names": [f"thing {each}" for each in range(40)],
    "x": [each * 0.3 for each in range(40)],
    "y": [0.0] * 40,
    "tops": [each / 4 for each in range(40)],
}
BREAK = {"distances": [-60, 0, 60], "heights": [0, 0, -10], "top": 3}


def width(box):
    return box[2] - box[0]


def height(box):
    return box[3] - box[1]


def times(sheet):
    return next(float(each.split("drawn ")[1].split()[0]) for each in sheet.words if "heights drawn" in each)


def test_the_section_is_to_scale_with_the_limit_over_the_chord():
    section = drawn("clearance.profile", BREAK)[0]
    (chord,) = section.boxes("s-line", weight="0.9")
    (limit,) = [box for box in section.boxes("s-red", weight="1.2") if width(box) == width(chord)]
    assert width(chord) == pytest.approx(60 * section.a_unit, abs=0.2)
    assert height(chord) == pytest.approx(5 * section.a_unit * times(section), abs=0.2)
    assert chord[1] - limit[1] == pytest.approx(4 * section.a_unit * times(section), abs=0.2)
    assert {"60-in chord", "4 in over the chord", "5.50 in"} <= set(section.words)


def test_what_stands_over_is_hatched_red_and_only_then():
    section, slid = drawn("clearance.profile", BREAK)
    (over,) = section.boxes("s-red", "over")
    assert height(over) == pytest.approx(1.5 * section.a_unit * times(section), abs=0.2)
    assert len(slid.shapes(fill="over")) == 1
    assert "over by 1.50 in" in section.said
    for sheet in drawn("clearance.profile", BREAK | {"top": 1.5}):
        assert not sheet.shapes(fill="over")


def test_only_the_thing_that_is_over_is_red():
    section, plan, bars = drawn("clearance", LEVEL | TWO)
    (over,) = bars.boxes(fill="over")
    carried = max(bars.boxes("f-conc"), key=width)
    assert width(carried) / width(over) == pytest.approx(4.0, abs=0.02)
    assert [width(box) / bars.a_unit for box in bars.boxes("f-conc")] == pytest.approx([4, 3.5], abs=0.02)
    assert len(plan.boxes("f-red")) == 1 and "conduit, 5.00 in" in plan.words
    assert "conduit, over by 1.00 in" in section.words
    for sheet in drawn("clearance", LEVEL | TWO | {"tops": [3.5, 4.0]}):
        assert not sheet.shapes(fill="over") and not sheet.shapes("f-red")


def test_the_worst_chord_is_laid_over_its_thing_in_its_direction():
    readings = {"directions": [*EIGHT, 90.0, 270.0], "distances": [90.0] * 8 + [20.0] * 2}
    values = readings | {"heights": [-15.0, 0.0, 0, 0, 0, 0, 0, 0, 0, 0]} | TWO
    plan, worst = drawn("clearance", values)[1], registry.find("clearance").run(values).standing[0]
    chord = next(box for box in plan.boxes("s-red", weight="2"))
    assert math.hypot(width(chord), height(chord)) == pytest.approx(60 * plan.a_unit, abs=0.3)
    assert width(chord) == pytest.approx(60 * plan.a_unit * abs(math.cos(math.radians(worst.direction_deg))), abs=0.3)
    thing = plan.boxes("f-red")[worst.number if len(plan.boxes("f-red")) > 1 else 0]
    assert chord[0] - 4 <= (thing[0] + thing[2]) / 2 <= chord[2] + 4


def test_ground_that_was_not_measured_is_not_drawn():
    near = {"directions": EIGHT, "distances": [50.0] * 8, "heights": [0.0] * 8}
    section = drawn("clearance", near | {"names": ["rod"], "x": [20.0], "y": [0.0], "tops": [3.0]})[0]
    (ground,) = section.boxes("f-well")
    assert width(ground) < 72 * section.a_unit


def test_the_table_names_each_thing_with_its_own_top():
    values = registry.find("clearance").arguments(LEVEL | TWO | {"names": ["bolt", "bolt"]})
    (table,) = tables("clearance", values, registry.find("clearance").run(values))
    assert [row[:4] for row in table.rows] == [("bolt", "5.00", "5.00", "1.00"), ("bolt", "3.50", "3.50", "")]


@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("clearance", LEVEL | {"names": ["a rod of quite some length and name"], "x": [-29.0], "y": [0.0], "tops": [0.0]}),
        ("clearance", LEVEL | {"names": ["a"], "x": [0.0], "y": [0.0], "tops": [-3.0], "limit": 0.0}),
        ("clearance", LEVEL | {"names": ["a"], "x": [0.0], "y": [0.0], "tops": [500.0]}),
        ("clearance", LEVEL | MANY),
        ("clearance.profile", BREAK | {"top": 0, "limit": 0, "heights": [0, 0, 0]}),
        ("clearance.profile", {"distances": [-100, -3, 0, 3, 90], "heights": [0, 0, 80, 0, 0], "top": 90}),
        ("clearance.profile", {"distances": [-1, 1], "heights": [0, 0], "top": -2, "chord": 1}),
    ],
)  # fmt: skip
def test_extreme_values_are_drawn_on_the_paper(name, values):
    for sheet in drawn(name, values):
        assert sheet.words and not sheet.words_off_paper
