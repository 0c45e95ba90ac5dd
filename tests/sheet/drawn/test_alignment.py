"""Drawings along an alignment say and measure what the result says."""

import math
import re
from itertools import pairwise

import pytest

from apps.calc import registry
from apps.calc.alignment import line_from_text
from apps.sheet.drawn.alignment import whole_line
from apps.sheet.drawn.paper import Paper
from apps.sheet.drawn.words import Words
from tests.sheet.drawn.sheet_reader import drawn

ROAD = {"elements": ["tangent 500", "curve 400 radius 500 right", "tangent 600"], "start_bearing_deg": 45.0}
PLACE = ROAD | {"station": "7+00", "offset": -60.0}
CURVE = {"radius": 381.97, "deflection_deg": 75, "pi_station": "18+00"}
SPIRAL = {"radius": 3000, "spiral_length": 210, "deflection_deg": 15, "pi_station": "243+18.72"}


def found(name, values):
    return registry.find(name).run(values)


def middle(box):
    return (box[0] + box[2]) / 2, (box[1] + box[3]) / 2


def points(shape):
    numbers = [float(each) for each in re.findall(r"-?[0-9.]+", shape.get("d"))]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def test_the_place_stands_at_its_coordinates_from_the_start_of_the_line():
    line, result = drawn("alignment", PLACE)[0], found("alignment", PLACE)
    start = points(line.shapes("s-ink", weight="1.8")[0])[0]
    x, y = middle(line.boxes("f-ink", weight="1.4")[0])
    assert ((x - start[0]) / line.a_unit, (start[1] - y) / line.a_unit) == pytest.approx((result.e, result.n), abs=1)
    assert {"0+00", "2+00", "7+00.00, 60.00 ft left", "R 500 ft", "15+00"} <= set(line.words)


def test_the_foot_lies_square_to_the_place_at_the_offset():
    near = drawn("alignment", PLACE)[1]
    place, foot = middle(near.boxes("f-ink", weight="1.4")[0]), middle(near.boxes("f-ink")[1])
    assert math.dist(place, foot) == pytest.approx(60 * near.a_unit, abs=0.2)
    tangent = points(near.shapes("s-line", weight="0.7")[0])
    square = (tangent[1][0] - tangent[0][0]) * (place[0] - foot[0]) + (tangent[1][1] - tangent[0][1]) * (
        place[1] - foot[1]
    )
    assert abs(square) / math.dist(*tangent) < 0.2
    result = found("alignment", PLACE)
    assert {f"E {result.e:,.2f} ft", f"N {result.n:,.2f} ft", "7+00.00", "60.00 ft left"} <= set(near.words)


def test_a_point_is_drawn_on_the_side_where_it_was_found():
    there = found("alignment", PLACE)
    for sheets in (drawn("alignment", PLACE), drawn("alignment.project", ROAD | {"e": there.e, "n": there.n})):
        assert "7+00.00, 60.00 ft left" in sheets[0].words


def test_a_station_equation_is_written_where_it_lies():
    values = ROAD | {"equations": ["2+00 = 12+00"], "station": "12+50"}
    line = drawn("alignment", values)[0]
    assert "2+00.00 = 12+00.00" in line.words
    assert not {"3+00", "4+00"} & set(line.words)


def test_the_curve_is_to_scale():
    (sheet,), result = drawn("alignment.curve", CURVE), found("alignment.curve", CURVE)
    (bend,) = sheet.boxes("s-ink", weight="2.2")
    assert bend[2] - bend[0] == pytest.approx(result.long_chord * sheet.a_unit, abs=0.3)
    assert bend[3] - bend[1] == pytest.approx(result.middle_ordinate * sheet.a_unit, abs=0.3)
    tangents = [points(each) for each in sheet.shapes("s-line", weight="0.9")[:2]]
    assert [math.dist(*each) / sheet.a_unit for each in tangents] == pytest.approx([result.tangent] * 2, abs=0.5)
    assert {"PI 18+00.00", "15+06.90", "20+06.90", "T 293.10 ft", "L 500.00 ft"} <= set(sheet.words)


def test_tangents_that_cross_off_the_drawing_are_cut_and_no_crossing_is_named():
    (sheet,) = drawn("alignment.curve", CURVE | {"deflection_deg": 179.9})
    assert "PI" not in sheet.said


def test_the_spiralled_curve_is_to_scale_with_its_circular_part_heavy():
    whole, result = drawn("alignment.spiral", SPIRAL)[0], found("alignment.spiral", SPIRAL)
    bend = points(next(each for each in whole.shapes("s-ink", weight="3") if each.get("d").count("L") > 1))
    long = sum(math.dist(one, other) for one, other in pairwise(bend))
    assert long / whole.a_unit == pytest.approx(result.arc_length, rel=0.002)
    assert {"238+18.69", "240+28.69", "246+04.08", "248+14.08", "PI 243+18.72"} <= set(whole.words)


def test_the_spiral_ends_at_x_and_y_off_its_tangent():
    detail, result = drawn("alignment.spiral", SPIRAL)[1], found("alignment.spiral", SPIRAL)
    (times,) = (float(each.split("drawn ")[1].split()[0]) for each in detail.words if "drawn" in each)
    way = points(detail.shapes("s-ink", weight="2.2")[0])
    assert (way[-1][0] - way[0][0]) / detail.a_unit == pytest.approx(result.x, abs=0.1)
    assert (way[0][1] - way[-1][1]) / detail.a_unit / times == pytest.approx(result.y, abs=0.01)
    assert {"X 209.97 ft", "Y 2.45 ft", "p 0.612 ft", "k 105.00 ft"} <= set(detail.words)


@pytest.mark.parametrize(
    ("bolt", "limit", "over"), [(79.3, 2, False), (81.5, 2, True), (74.5, 2, True), (81.5, None, False)]
)
def test_the_angle_is_opened_as_said_and_hatched_only_over_a_limit(bolt, limit, over):
    values = {"tangent_deg": 78, "bolt_deg": bolt} | ({} if limit is None else {"limit": limit})
    plan, sheet = drawn("alignment.orientation", values)
    assert "angles drawn 6 times" in sheet.words
    paint = "s-red" if over else "s-ink"
    pivot, end = points(next(each for each in sheet.shapes(paint, weight="2") if each.get("d").count("L") == 1))
    turned = math.degrees(math.atan2(end[1] - pivot[1], end[0] - pivot[0]))
    assert turned == pytest.approx(6 * (bolt - 78), abs=0.1)
    assert len(sheet.shapes(fill="over")) == over
    assert bool(sheet.shapes("f-line-3")) == (limit is not None)
    assert len(plan.shapes("s-red", weight="1.8")) == (2 if over else 0)


def test_a_pair_square_to_the_road_is_drawn_as_it_is():
    _, sheet = drawn("alignment.orientation", {"tangent_deg": 10, "bolt_deg": 100})
    assert "angles as they are" in sheet.words


def test_words_move_aside_for_words_and_are_left_out_where_none_is_free():
    paper = Paper(200, 100, "two words at one place")
    words = Words(paper)
    ways = ((10, 0), (-10, 0))
    assert [words.write((100, 50), "231+40", ways) for _ in range(3)] == [True, True, False]
    first, second = words.taken
    assert second[2] <= first[0]


@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("alignment", {"elements": ["tangent 500"], "station": "2+00"}),
        ("alignment", {"elements": ["tangent 0.5"], "start_bearing_deg": 45, "station": "0+00", "offset": 1e6}),
        ("alignment", {"elements": ["curve 6000 radius 1000 left"], "start_e": 7e6, "start_n": 1e6, "station": "59+00", "offset": 3}),
        ("alignment", {"elements": ["tangent 200", "curve 50 radius 900 right", "curve 50 radius 900 left"] * 40, "station": "99+99"}),
        ("alignment.curve", {"radius": 1e6, "deflection_deg": 0.001, "pi_station": "999+00"}),
        ("alignment.curve", {"radius": 0.01, "deflection_deg": 179.99}),
        ("alignment.spiral", {"radius": 2000, "spiral_length": 349.0658503, "deflection_deg": 10}),
        ("alignment.spiral", {"radius": 200, "spiral_length": 20, "deflection_deg": 175}),
        ("alignment.spiral", {"radius": 1e6, "spiral_length": 1, "deflection_deg": 1}),
        ("alignment.orientation", {"tangent_deg": 10, "bolt_deg": 10, "limit": 0}),
        ("alignment.orientation", {"tangent_deg": -720.5, "bolt_deg": 1e4, "limit": 90}),
    ],
)  # fmt: skip
def test_extreme_values_are_drawn_on_the_paper(name, values):
    for sheet in drawn(name, values):
        assert sheet.words and not sheet.words_off_paper


def test_a_whole_line_names_its_joints_its_equation_and_its_streets():
    line = line_from_text(
        elements=["tangent 500", "curve 400 radius 500 right", "tangent 600"],
        equations=["12+00 = 13+00"],
        start_station="0+00",
        start_bearing_deg=45,
    )
    paper = whole_line(line, [(250.0, "Juniper St")])
    svg = str(paper.svg("k"))
    for words in ("start 0+00.00", "PC 5+00.00", "PT 9+00.00", "end 16+00.00", "12+00.00 = 13+00.00", "Juniper St"):
        assert f">{words}</text>" in svg
    assert "from 0+00.00 to 16+00.00, 1500 ft long, elements: 3, station equations: 1, cross streets: 1" in paper.name
