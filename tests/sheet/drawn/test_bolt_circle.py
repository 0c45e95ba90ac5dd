"""Drawings of bolts say and measure what the result says."""

import math

import pytest

from apps.calc import registry
from apps.sheet.drawn import tables
from tests.sheet.drawn.sheet_reader import drawn

MEASURED = {"x": [5.31, -5.29, -5.33, 5.26], "y": [5.28, 5.34, -5.22, -5.35], "nominal": 15}
TIGHT = MEASURED | {"bolt_diameter": 1, "hole_diameter": 1.05}
MANY = {
    "x": [7.5 * math.cos(each) for each in range(40)],
    "y": [7.5 * math.sin(each) for each in range(40)],
    "nominal": 15,
}
ROOMY = MEASURED | {"bolt_diameter": 1, "hole_diameter": 1.0625}


def found(name, values):
    return registry.find(name).run(values)


def width(box):
    return box[2] - box[0]


def height(box):
    return box[3] - box[1]


def middle(box):
    return (box[0] + box[2]) / 2, (box[1] + box[3]) / 2


def largest(boxes):
    return max(boxes, key=width)


def test_the_plans_are_to_scale_and_what_is_off_them_is_opened_as_said():
    plan, result = drawn("bolt_circle", MEASURED)[0], found("bolt_circle", MEASURED)
    (times,) = (float(each.split("drawn ")[1].split()[0]) for each in plan.words if "drawn" in each)
    round_ones = [box for box in plan.boxes("s-line", weight="0.7") if 20 < height(box) == pytest.approx(width(box))]
    assert width(largest(round_ones)) == pytest.approx(15 * plan.a_unit, abs=0.3)
    measured = largest(plan.boxes("s-ink", weight="1.7"))
    assert width(measured) == pytest.approx((15 + result.off_nominal * times) * plan.a_unit, abs=0.3)
    ways = [math.hypot(width(box), height(box)) for box in plan.boxes("s-ink", weight="1")[: len(result.errors)]]
    assert ways == pytest.approx([each * times * plan.a_unit for each in result.errors], abs=0.3)


def test_a_bolt_beyond_the_room_of_its_hole_is_hatched_red_and_no_other():
    result = found("bolt_circle", TIGHT)
    over = [each for each in result.errors if each > 0.025]
    plan, bars, _ = drawn("bolt_circle", TIGHT)
    assert len(plan.shapes(fill="over")) == len(bars.shapes(fill="over")) == len(over) > 0
    for sheet in drawn("bolt_circle", ROOMY):
        assert not sheet.shapes(fill="over")


def test_a_bar_is_red_from_the_room_up():
    bars, worst = drawn("bolt_circle", TIGHT)[1], found("bolt_circle", TIGHT).worst
    beyond = max(bars.boxes(fill="over"), key=height)
    within = next(box for box in bars.boxes("f-conc") if box[0] == beyond[0])
    assert height(within) / (height(within) + height(beyond)) == pytest.approx(0.025 / worst, abs=0.005)
    assert {f"{worst:.3f}", "room 0.025 in"} <= set(bars.words)


def test_a_circle_beyond_its_tolerance_is_hatched_from_the_limit_to_it():
    size = drawn("bolt_circle", MEASURED | {"nominal": 14.75})[2]
    (beyond,), (allowed,) = size.boxes(fill="over"), size.boxes("f-line-3")
    assert height(beyond) / height(allowed) == pytest.approx((0.234 - 0.125) / 0.25, abs=0.01)
    assert "circle +0.234 in" in size.words
    assert not drawn("bolt_circle", MEASURED)[2].shapes(fill="over")


def test_the_table_has_every_bolt():
    values = registry.find("bolt_circle").arguments(MEASURED)
    (table,) = tables("bolt_circle", values, found("bolt_circle", MEASURED))
    assert [row[0] for row in table.rows] == ["1", "2", "3", "4"]
    assert table.rows[0][1] == "5.310, 5.280"


@pytest.mark.parametrize("count", [3, 4, 5, 8])
def test_chords_of_a_template_are_as_long_as_said(count):
    values = {"bolt_circle": 12.75, "count": count}
    (sheet,) = drawn("bolt_circle.template", values)
    chords = found("bolt_circle.template", values).chords
    lines = sheet.boxes("s-ink", weight="0.9") + [box for box in sheet.boxes("s-ink", weight="1.8") if box]
    long = sorted(math.hypot(width(box), height(box)) / sheet.a_unit for box in lines)
    assert long == pytest.approx(sorted(chords), abs=0.05)


def test_a_lean_is_drawn_as_said_and_hatched_only_when_over():
    values = {"along": 0.5, "length": 10}
    side, above = drawn("bolt_circle.lean", values)
    (bolt,) = side.boxes("s-ink", weight="3.4")
    assert width(bolt) == pytest.approx(0.5 * side.a_unit, abs=0.2)
    assert len(side.shapes(fill="over")) == len(above.shapes(fill="over")) == 1
    (beyond,) = above.boxes(fill="over")
    assert width(beyond) == pytest.approx(0.25 * above.a_unit, abs=0.2)
    assert {"1 in 20", "0.25 in allowed"} <= set(side.words)
    for sheet in drawn("bolt_circle.lean", {"along": 0.25, "length": 10}):
        assert not sheet.shapes(fill="over")


def test_the_top_of_a_bolt_stands_where_it_leans_to():
    _, above = drawn("bolt_circle.lean", {"along": -0.1, "across": 0.05, "length": 10})
    foot, top = (middle(box) for box in (above.boxes("f-ink")[-1], above.boxes("f-ink", weight="1.4")[0]))
    assert ((top[0] - foot[0]) / above.a_unit, (foot[1] - top[1]) / above.a_unit) == pytest.approx(
        (-0.1, 0.05), abs=0.002
    )


@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("bolt_circle", {"sides": [10.6066017] * 4, "diagonals": [15, 15], "nominal": 15}),
        ("bolt_circle", {"x": [0, 1, 40], "y": [0, 30, 1], "nominal": 1, "tolerance": 0}),
        ("bolt_circle", MANY),
        ("bolt_circle", {"x": [7.5, -3.75, -3.75], "y": [0, 6.5, -6.5], "nominal": 15}),
        ("bolt_circle", TIGHT | {"nominal": 120}),
        ("bolt_circle.template", {"bolt_circle": 120, "count": 36}),
        ("bolt_circle.template", {"bolt_circle": 1, "count": 3}),
        ("bolt_circle.lean", {"along": 0, "length": 120}),
        ("bolt_circle.lean", {"along": 500, "across": -0.1, "length": 0.1}),
        ("bolt_circle.lean", {"along": 1e-9, "length": 3, "one_in": 1}),
    ],
)  # fmt: skip
def test_extreme_values_are_drawn_on_the_paper(name, values):
    for sheet in drawn(name, values):
        assert sheet.words and not sheet.words_off_paper
