"""Stations and coordinates against worked curves, independent integration, and what must always hold."""

import doctest
import math
import time
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from types import ModuleType
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import minimize_scalar

from apps.calc import alignment
from apps.calc.alignment import (
    Alignment,
    OffAlignment,
    bearings,
    build,
    circular,
    crossing_fault,
    crossing_from_text,
    crossing_text,
    crossings,
    decimal_text,
    element_text,
    elements_from_text,
    landxml,
    pair,
    places,
    read_bearing,
    read_degrees,
    read_station,
    show_bearing,
    spiralled,
    write_station,
)
from apps.calc.errors import CalcError, NotAReading, exact
from apps.calc.registry import find


def dms(degrees: int, minutes: int, seconds: float) -> float:
    return degrees + minutes / 60 + seconds / 3600


def tangent(length: float | str) -> dict[str, Any]:
    return {"kind": "tangent", "length": length}


def arc(length: float | str, radius: float | str, turn: str) -> dict[str, Any]:
    return {"kind": "curve", "length": length, "radius": radius, "turn": turn}


def spiral(length: float | str, into: float | str | None, out: float | str | None, turn: str) -> dict[str, Any]:
    return {"kind": "spiral", "length": length, "radius_in": into, "radius_out": out, "turn": turn}


def line(*elements: dict[str, Any], **more: Any) -> Alignment:
    return build({"start_station": "100+00.00", "start_bearing_deg": 78.0, "elements": list(elements), **more})


@pytest.fixture(scope="module")
def a_d8() -> Alignment:
    """500 ft straight at azimuth 45, right arc R 500 through 60 degrees, straight: structural reference A-D8."""
    return line(
        tangent(500),
        arc(500 * math.pi / 3, 500, "right"),
        tangent(1000),
        start_station="10+00",
        start_e=2000,
        start_n=5000,
        start_bearing_deg=45,
    )


@pytest.fixture(scope="module")
def demo() -> Alignment:
    """A line with every kind of element, both turns, and one equation."""
    return line(
        tangent("5200"),
        spiral("250", None, "2000", "right"),
        arc("1200", "2000", "right"),
        spiral("250", "2000", None, "right"),
        tangent("6000"),
        arc("2475", "4000", "left"),
        tangent("15840"),
        equations=[{"back": "253+75.00", "ahead": "254+10.00"}],
    )


@pytest.mark.parametrize("module", [bearings, crossings, circular, pair, places, spiralled])
def test_examples_in_docstrings_run(module: ModuleType) -> None:
    ran = doctest.testmod(module)
    assert ran.attempted and not ran.failed


# Published and worked curves ------------------------------------------------------------------------------------


def test_simple_curve_agrees_with_the_army_manual() -> None:
    # A-D1: U.S. Army FM 5-233 (TM 3-34.55), ch. 3, simple curve; tolerance 0.02. Inputs and T, L, PC, PT from memory.
    radius = alignment.radius_of_degree(15)
    found = alignment.circular_curve(radius=radius, deflection_deg=75, pi_station="18+00")
    got = (radius, found.tangent, found.length, found.external, found.middle_ordinate, found.long_chord)
    assert got == pytest.approx((381.97, 293.10, 500.00, 99.49, 78.93, 465.06), abs=0.02)
    assert (found.pc, found.pt) == pytest.approx((1506.90, 2006.90), abs=0.02)


def test_spiralled_curve_agrees_with_the_montana_manual() -> None:
    # A-D2: Montana DOT Road Design Manual, app. K, example 3-1, p. 16-17; tolerance 0.01.
    found = alignment.spiralled_curve(radius=3000, spiral_length=210, deflection_deg=15, pi_station="243+18.72")
    assert found.spiral_angle_deg == pytest.approx(dms(2, 0, 19), abs=0.5 / 3600)
    assert (found.shift, found.shift_along) == pytest.approx((0.612, 104.996), abs=0.0006)
    got = (found.tangent, found.external, found.arc_length, found.ts, found.sc, found.cs, found.st)
    book = (500.03, 26.50, 575.40, 23818.69, 24028.69, 24604.09, 24814.09)
    assert got == pytest.approx(book, abs=0.01)


def test_end_of_curve_is_not_found_by_taking_the_tangent_from_the_station_number() -> None:
    # A-D3: qammunity.org question 4888327 prints 1287.02 for the end; the formula gives 156+45.43. Tolerance 0.01.
    radius = 1200 / math.tan(math.radians(29.86 / 2))
    found = alignment.circular_curve(radius=radius, deflection_deg=29.86, pi_station="145+00")
    assert (radius, found.length) == pytest.approx((4500.45, 2345.43), abs=0.01)
    assert write_station(found.pt) == "156+45.43"


def test_curve_of_radius_400() -> None:
    # A-D4: problem 3 of transtutors.com id 13352712, values computed; tolerance 0.005.
    found = alignment.circular_curve(radius=400, deflection_deg=44, pi_station="12+72.18")
    got = (found.tangent, found.length, found.external, found.middle_ordinate, found.long_chord)
    assert got == pytest.approx((161.610, 307.178, 31.414, 29.126, 299.685), abs=0.005)
    assert (found.pc, found.pt) == pytest.approx((1110.57, 1417.75), abs=0.005)


def test_chord_definition_of_degree() -> None:
    # A-D5: problem of tutorsglobe.com 5820771, values computed; tolerance 0.005.
    radius = alignment.radius_of_degree(2, "chord")
    found = alignment.circular_curve(radius=radius, deflection_deg=18, pi_station="25+50.00")
    got = (radius, found.tangent, found.length, found.external, found.middle_ordinate, found.long_chord)
    assert got == pytest.approx((2864.934, 453.761, 900.046, 35.712, 35.272, 896.349), abs=0.005)
    assert (found.pc, found.pt) == pytest.approx((2096.24, 2996.28), abs=0.005)


def test_curve_in_coordinates() -> None:
    # A-D6: problem of assignmentexpert.com 166540 (right turn assumed), values computed; tolerance 0.002.
    back, radius = dms(65, 35, 20), alignment.radius_of_degree(4)
    found = alignment.circular_curve(radius=radius, deflection_deg=40, pi_station="23+25.00")
    assert (radius, found.tangent, found.length) == pytest.approx((1432.394, 521.349, 1000.0), abs=0.002)
    away = math.radians(back)
    road = line(
        arc(found.length, radius, "right"),
        start_station=found.pc,
        start_e=1654.32 - found.tangent * math.sin(away),
        start_n=1234.56 - found.tangent * math.cos(away),
        start_bearing_deg=back,
    )
    assert write_station(road.label(0)) == "18+03.65"
    assert write_station(road.label(road.length)) == "28+03.65"
    assert road.point(0) == pytest.approx((1179.578, 1019.096), abs=0.002)
    assert road.point(road.length) == pytest.approx((2156.491, 1094.456), abs=0.002)
    assert road.bearing(road.length) == pytest.approx(dms(105, 35, 20), abs=0.0001)
    e, n = road.point(500)
    assert (e, n) == pytest.approx((1661.390, 1142.904), abs=0.002)
    start_e, start_n = road.point(0)
    assert math.dist((e, n), (start_e, start_n)) == pytest.approx(497.465, abs=0.002)
    assert math.degrees(math.atan2(e - start_e, n - start_n)) - back == pytest.approx(10, abs=0.0005)


def test_clothoid_of_radius_200() -> None:
    # A-D7: closed form, computed with scipy.special.fresnel and quad; tolerance 1e-5.
    found = alignment.spiralled_curve(radius=200, spiral_length=60, deflection_deg=40)
    got = (found.spiral_angle_deg, found.x, found.y, found.shift, found.shift_along)
    assert got == pytest.approx((8.594367, 59.86514, 2.99518, 0.74940, 29.97751), abs=1e-5)
    assert (found.long_tangent, found.short_tangent) == pytest.approx((40.04725, 20.04296), abs=1e-5)
    road = line(spiral(60, None, 200, "right"), start_bearing_deg=0)
    assert road.point(30) == pytest.approx((0.37496, 29.99578), abs=1e-5)
    assert road.bearing(30) == pytest.approx(2.148592, abs=1e-5)


@pytest.mark.parametrize(
    ("station", "offset", "e", "n", "azimuth"),
    [
        ("17+00", 0, 2519.1427, 5463.3244, dms(67, 55, 5.9)),
        ("17+00", "-18.5", 2512.1880, 5480.4674, dms(67, 55, 5.9)),
        ("17+00", 12, 2523.6539, 5452.2046, dms(67, 55, 5.9)),
        ("21+00", 25, 2903.8437, 5439.0407, 105),
    ],
)
def test_station_and_offset_to_coordinates(
    a_d8: Alignment, station: str, offset: float | str, e: float, n: float, azimuth: float
) -> None:
    # A-D8 and A-D9: closed form; tolerance 0.0005.
    at = a_d8.distance(station)
    assert a_d8.point(at, offset) == pytest.approx((e, n), abs=0.0005)
    assert a_d8.bearing(at) == pytest.approx(azimuth, abs=0.05 / 3600)


def test_point_to_station_and_offset(a_d8: Alignment) -> None:
    # A-D10: computed with scipy minimize_scalar; tolerance 0.001.
    at, offset = a_d8.project(2450, 5540)
    assert float(a_d8.label(at)) == pytest.approx(1670.517, abs=0.001)
    assert offset == pytest.approx(-98.084, abs=0.001)


def test_gap_equation_keeps_distance_running() -> None:
    # A-D11: exact.
    road = line(tangent(3000), start_station="20+00", equations=[{"back": "28+25.00", "ahead": "30+00.00"}])
    assert road.distance("32+10") == 1035
    with pytest.raises(OffAlignment, match=r"29\+00.00 does not exist.*28\+25.00 back = 30\+00.00 ahead"):
        road.distance("29+00")


def test_ahead_station_counts_from_the_equation() -> None:
    # A-D12: exact: ahead 15+50 after 12+00 back = 13+00 ahead is 14+50 on the stations before it.
    road = line(tangent(3000), start_station="0+00", equations=[{"back": "12+00", "ahead": "13+00"}])
    assert road.distance("15+50") == 1450


LAND = """<?xml version="1.0"?>
<LandXML xmlns="http://www.landxml.org/schema/LandXML-1.2" version="1.2" date="2025-01-01" time="12:00:00">
  <Units><Imperial linearUnit="foot" areaUnit="squareFoot" volumeUnit="cubicYard" temperatureUnit="fahrenheit"
    pressureUnit="inchHG"/></Units>
  <Alignments><Alignment name="A" length="{length}" staStart="{start}">
    <CoordGeom>{shapes}</CoordGeom>{equations}
  </Alignment></Alignments>
</LandXML>"""
STRAIGHT = "<Line><Start>5000 2000</Start><End>5000 3000</End></Line>"


def land(equations: str = "", shapes: str = STRAIGHT, length: object = 1000, start: object = 1000) -> str:
    return LAND.format(equations=equations, shapes=shapes, length=length, start=start)


def test_station_equation_of_landxml_needs_its_internal_station() -> None:
    # A-D13: LandXML-1.2.xsd (7/29/2008): StaEquation requires staAhead and staInternal; staBack may be left out.
    given = '<StaEquation staBack="1200" staAhead="1300" staInternal="1200"/>'
    read = landxml.definitions(land(given))["A"]
    assert build(read).distance("13+00") == build(read).distance("12+00") == 200
    with pytest.raises(CalcError) as caught:
        landxml.definitions(land('<StaEquation staBack="1200" staAhead="1300"/>'))
    assert caught.value.field == "Alignment[0].StaEquation[0].staInternal"
    without_back = landxml.definitions(land('<StaEquation staAhead="1300" staInternal="1200"/>'))["A"]
    assert build(without_back).equations == build(read).equations


def test_a_file_of_landxml_says_its_foot() -> None:
    assert landxml.foot(land()) == "international"
    assert landxml.foot(land().replace('"foot"', '"USSurveyFoot"')) == "us_survey"


def test_a_second_equation_of_landxml_is_counted_from_the_first() -> None:
    given = (
        '<StaEquation staAhead="1300" staInternal="1200"/>'
        '<StaEquation staBack="1500" staAhead="1400" staInternal="1400"/>'
    )
    road = build(landxml.definitions(land(given))["A"])
    assert [float(each.back) for each in road.equations] == [1200, 1500]
    assert road.distance("14+50", "ahead") == 450


@pytest.mark.parametrize("turn", ["right", "left"])
def test_landxml_gives_back_the_line_that_it_was_written_from(turn: str) -> None:
    road = line(
        tangent(500),
        spiral(250, None, 2000, turn),
        arc(700, 2000, turn),
        spiral(250, 2000, None, turn),
        tangent(300),
        start_e=2000,
        start_n=5000,
        start_bearing_deg=33,
    )
    shapes = "".join(as_landxml(road, number, turn) for number in range(len(road.elements)))
    read = build(landxml.definitions(land(shapes=shapes, length=2000, start=10_000))["A"])
    assert [each.kind for each in read.elements] == [each.kind for each in road.elements]
    for at in (0, 400, 650, 1100, 1600, 1999.99):
        assert read.point(at) == pytest.approx(road.point(at), abs=0.001)


def as_landxml(road: Alignment, number: int, turn: str) -> str:
    """Write one element as LandXML holds it: radius and length of an arc left for the points to tell."""
    each, (start, end) = road.elements[number], road.joints[number : number + 2]
    places = {"Start": road.point(start), "End": road.point(end)}
    rot = "cw" if turn == "right" else "ccw"
    if each.kind == "curve":
        places["Center"] = road.point(start, 2000 if turn == "right" else -2000)
        head = f'Curve rot="{rot}"'
    elif each.kind == "spiral":
        e, n = places["Start"]
        bearing = math.radians(road.bearing(start))
        places["PI"] = (e + math.sin(bearing), n + math.cos(bearing))
        ends = ["INF" if radius is None else radius for radius in (each.radius_in, each.radius_out)]
        head = f'Spiral rot="{rot}" spiType="clothoid" length="250" radiusStart="{ends[0]}" radiusEnd="{ends[1]}"'
    else:
        head = "Line"
    inside = "".join(f"<{name}>{n:.6f} {e:.6f}</{name}>" for name, (e, n) in places.items())
    return f"<{head}>{inside}</{head.split()[0]}>"


@pytest.mark.parametrize(
    ("text", "field"),
    [
        ("<LandXML", "file"),
        ("<LandXML/>", "file"),
        (land().encode("utf-16"), "file"),
        ('<!DOCTYPE x [<!ENTITY a "b">]><LandXML/>', "file"),
        (land().replace("foot", "mile"), "Units"),
        (land(shapes=""), "Alignment[0].CoordGeom"),
        (land(shapes="<Chain>1 2</Chain>"), "Alignment[0].Chain[0].Start"),
        (land(length=1001), "Alignment[0].length"),
        (land(shapes=STRAIGHT + STRAIGHT, length=2000), "Alignment[0].Line[1].End"),
        (land(shapes=STRAIGHT.replace("5000 3000", "5000")), "Alignment[0].Line[0].End"),
        (land('<StaEquation staBack="1100" staAhead="1300" staInternal="1200"/>'), "Alignment[0].StaEquation[0].staBack"),
        (
            land('<StaEquation staAhead="1300" staInternal="1200" staIncrement="decreasing"/>'),
            "Alignment[0].StaEquation[0].staIncrement",
        ),
    ],
)  # fmt: skip
def test_landxml_that_cannot_be_taken_names_what_is_wrong(text: str | bytes, field: str) -> None:
    with pytest.raises(CalcError) as caught:
        landxml.definitions(text)
    assert caught.value.field == field


# Station labels -------------------------------------------------------------------------------------------------


def test_labels_stay_exact_through_an_equation(demo: Alignment) -> None:
    assert demo.length == 31_215
    assert demo.label("13140.37") == Fraction("23140.37")
    assert demo.label(13140.37) == Fraction("23140.37")
    assert demo.label(Decimal("15375.01")) == Fraction("25410.01")
    assert demo.distance("254+10.01") == Fraction("15375.01")
    assert write_station(demo.label(demo.length)) == "412+50.00"


def test_the_equation_itself_is_one_place_with_two_labels(demo: Alignment) -> None:
    assert demo.distance("253+75.00") == demo.distance("254+10.00") == 15_375
    assert demo.label(15_375) == read_station("254+10.00")
    assert demo.part(15_375) == 2
    assert demo.part(Fraction("15374.99")) == 1


def test_overlap_needs_back_or_ahead() -> None:
    road = line(tangent(2000), start_station="0+00", equations=[{"back": "12+00", "ahead": "11+00"}])
    with pytest.raises(OffAlignment, match=r"11\+50.00 occurs 2 times.*back, ahead"):
        road.distance("11+50")
    assert road.distance("11+50", "back") == road.distance("11+50", 1) == 1150
    assert road.distance("11+50", "ahead") == road.distance("11+50", 2) == 1250
    assert road.distance("10+50", "ahead") == 1050
    with pytest.raises(OffAlignment, match="not in part 1"):
        road.distance("18+00", 1)


@pytest.mark.parametrize("station", ["99+99.99", "412+50.01"])
def test_a_station_off_the_line_names_the_range(demo: Alignment, station: str) -> None:
    with pytest.raises(OffAlignment, match=r"100\+00.00 to 253\+75.00 and 254\+10.00 to 412\+50.00"):
        demo.distance(station)


@pytest.mark.parametrize("text", ["231+4", "231+400", "", "NaN", "inf", "1e4", "٢٣١+40", "-5"])
def test_what_is_no_station_is_refused(demo: Alignment, text: str) -> None:
    with pytest.raises(CalcError) as caught:
        demo.distance(text)
    assert caught.value.field == "station"


@given(feet=st.decimals(0, 31_215, places=2))
def test_label_and_distance_return_exactly(feet: Decimal) -> None:
    road = line(
        tangent("31215"), equations=[{"back": "150+00", "ahead": "149+00"}, {"back": "253+75", "ahead": "254+10"}]
    )
    at = exact("distance", feet)
    assert road.distance(road.label(at), road.part(at)) == at
    assert read_station(write_station(road.label(at))) == road.label(at)


# Geometry -------------------------------------------------------------------------------------------------------

lengths = st.floats(20, 900)
radii = st.floats(400, 5000)
turns = st.sampled_from(["left", "right"])
elements = st.one_of(
    st.builds(tangent, lengths),
    st.builds(arc, lengths, radii, turns),
    st.builds(spiral, lengths, st.none(), radii, turns),
    st.builds(spiral, lengths, radii, st.none(), turns),
    st.builds(lambda length, radius, turn: spiral(length, radius, 2 * radius, turn), lengths, radii, turns),
)


@settings(deadline=None, max_examples=150)
@given(
    parts=st.lists(elements, min_size=1, max_size=4),
    bearing=st.floats(0, 360),
    share=st.floats(0, 1),
    offset=st.floats(-150, 150),
)
def test_station_to_coordinates_and_back_returns(
    parts: list[dict[str, Any]], bearing: float, share: float, offset: float
) -> None:
    road = line(*parts, start_bearing_deg=bearing, start_e=1_500_000, start_n=600_000)
    at = share * float(road.length)
    e, n = road.point(at, offset)
    found_at, found_offset = road.project(e, n)
    turned = sum(abs(each.shape.k0 + each.shape.k1) / 2 * each.shape.length for each in road.elements)
    if turned < math.pi:
        assert found_at == pytest.approx(at, abs=1e-5)
        assert found_offset == pytest.approx(offset, abs=1e-5)
    else:
        assert abs(found_offset) <= abs(offset) + 1e-6


@settings(deadline=None, max_examples=60)
@given(parts=st.lists(elements, min_size=1, max_size=5), e=st.floats(-3000, 3000), n=st.floats(-3000, 3000))
def test_no_place_on_the_line_is_nearer_than_the_nearest(parts: list[dict[str, Any]], e: float, n: float) -> None:
    road = line(*parts)
    distances, offsets = road.project_many([(e, n)])
    dense = road.points(np.linspace(0, float(road.length), 4001))
    least = np.hypot(dense[:, 0] - e, dense[:, 1] - n).min()
    if np.isnan(distances[0]):
        ends = road.points([0, float(road.length)])
        assert min(np.hypot(ends[:, 0] - e, ends[:, 1] - n)) <= least + 1e-9
    else:
        assert abs(offsets[0]) <= least + 1e-9
        assert np.hypot(*(road.point(distances[0], offsets[0]) - np.array((e, n)))) < 1e-6


@settings(deadline=None, max_examples=40)
@given(length=lengths, into=radii, out=st.one_of(st.none(), radii), turn=turns)
def test_spirals_agree_with_numerical_integration(length: float, into: float, out: float | None, turn: str) -> None:
    if out is not None and abs(into - out) < 1:
        out = None
    road = line(spiral(length, into, out, turn), start_bearing_deg=0)
    sign = 1 if turn == "right" else -1
    k0, k1 = sign / into, sign / out if out else 0.0

    def angle(along: float) -> float:
        return k0 * along + (k1 - k0) * along**2 / (2 * length)

    n = quad(lambda along: math.cos(angle(along)), 0, length, epsabs=1e-10)[0]
    e = quad(lambda along: math.sin(angle(along)), 0, length, epsabs=1e-10)[0]
    assert road.point(road.length) == pytest.approx((e, n), abs=1e-7)


def test_elements_join_without_a_bend(demo: Alignment) -> None:
    for joint in demo.joints[1:-1]:
        before, after = float(joint) - 1e-6, float(joint) + 1e-6
        assert math.dist(demo.point(before), demo.point(after)) < 1e-5
        assert demo.bearing(before) == pytest.approx(demo.bearing(after), abs=1e-6)


@pytest.mark.parametrize("offset", [-300.0, -0.01, 0.0, 0.01, 300.0])
def test_projection_is_right_at_every_joint(demo: Alignment, offset: float) -> None:
    for joint in demo.joints:
        for shift in (-0.001, 0.0, 0.001):
            at = min(max(float(joint) + shift, 0.0), float(demo.length))
            assert demo.project(*demo.point(at, offset)) == pytest.approx((at, offset), abs=1e-5)


def test_projection_on_a_spiral_agrees_with_a_bounded_search() -> None:
    road = line(spiral(400, None, 600, "right"), start_bearing_deg=0)
    e, n = 140.0, 190.0
    found = minimize_scalar(
        lambda at: math.dist(road.point(at), (e, n)), bounds=(0, 400), method="bounded", options={"xatol": 1e-9}
    )
    at, offset = road.project(e, n)
    assert at == pytest.approx(found.x, abs=1e-4)
    assert abs(offset) == pytest.approx(found.fun, abs=1e-8)


def test_offset_is_right_positive_looking_up_station() -> None:
    road = line(tangent(100), start_bearing_deg=0)
    assert road.point(50, 10) == pytest.approx((10, 50))
    assert road.project(-10, 50) == pytest.approx((50, -10))


def test_a_point_past_an_end_is_refused_not_moved(demo: Alignment) -> None:
    e, n = demo.point(0)
    bearing = math.radians(demo.bearing(0))
    before = e - 5 * math.sin(bearing), n - 5 * math.cos(bearing)
    with pytest.raises(OffAlignment, match=r"5.00 ft past the start"):
        demo.project(*before)
    distances, offsets = demo.project_many([before, demo.point(100, 7)])
    assert np.isnan(distances[0]) and np.isnan(offsets[0])
    assert (distances[1], offsets[1]) == pytest.approx((100, 7))


def test_a_hundred_thousand_points_are_projected_in_under_a_second() -> None:
    parts: list[dict[str, Any]] = []
    for number in range(50):
        turn = "right" if number % 2 else "left"
        parts += [
            tangent(400),
            spiral(200, None, 2000, turn),
            arc(500, 2000, turn),
            spiral(200, 2000, None, turn),
        ]
    road = line(*parts)
    assert len(road.elements) == 200
    draw = np.random.default_rng(7)
    distances, offsets = draw.uniform(0, float(road.length), 100_000), draw.uniform(-200, 200, 100_000)
    places = road.points(distances, offsets)
    road.project_many(places[:10])
    took = []
    for _ in range(3):
        begun = time.process_time()
        found, aside = road.project_many(places)
        took.append(time.process_time() - begun)
    assert np.abs(found - distances).max() < 1e-6
    assert np.abs(aside - offsets).max() < 1e-6
    assert min(took) < 1.0


# Bolt pair ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("tangent_deg", "bolt_deg", "difference"),
    [
        (78, 79.3, 1.3),
        (78, 259.3, 1.3),
        (0, 359, -1),
        (359, 1, 2),
        (10, 100, 90),
        (10, 280, 90),
        (100, 10, 90),
        (0, 0, 0),
    ],
)
def test_bolt_pair_is_read_from_either_end(tangent_deg: float, bolt_deg: float, difference: float) -> None:
    found = alignment.bolt_pair(tangent_deg=tangent_deg, bolt_deg=bolt_deg)
    assert found.difference_deg == pytest.approx(difference, abs=1e-9)
    assert found.away_deg == pytest.approx(abs(difference), abs=1e-9)


@given(road=st.floats(0, 360), bolt=st.floats(-720, 720))
def test_bolt_pair_difference_lies_over_minus_90_up_to_90(road: float, bolt: float) -> None:
    found = alignment.bolt_pair(tangent_deg=road, bolt_deg=bolt)
    assert -90 < found.difference_deg <= 90


def test_orientation_takes_the_road_from_the_alignment(demo: Alignment) -> None:
    at = demo.distance("163+00")
    found = alignment.orientation(demo, at, demo.bearing(at) + 181.3)
    assert found.difference_deg == pytest.approx(1.3, abs=1e-9)
    assert found.working[0].unit == "deg"
    assert "traffic" in found.caution


# Input that cannot be taken -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"elements": []}, "elements"),
        ({"elements": "tangent"}, "elements"),
        ({"elements": [{"kind": "parabola", "length": 1}]}, "elements[0].kind"),
        ({"elements": [tangent(0)]}, "elements[0].length"),
        ({"elements": [tangent("-5")]}, "elements[0].length"),
        ({"elements": [tangent(math.nan)]}, "elements[0].length"),
        ({"elements": [tangent("12,5")]}, "elements[0].length"),
        ({"elements": [arc(10, 0, "left")]}, "elements[0].radius"),
        ({"elements": [arc(10, math.inf, "left")]}, "elements[0].radius"),
        ({"elements": [arc(10, 50, "up")]}, "elements[0].turn"),
        ({"elements": [arc(700, 100, "left")]}, "elements[0].length"),
        ({"elements": [spiral(10, None, None, "left")]}, "elements[0].radius_out"),
        ({"elements": [spiral(10, 50, "50.0", "left")]}, "elements[0].radius_out"),
        ({"elements": [5]}, "elements[0]"),
        ({"start_station": "1+0"}, "start_station"),
        ({"start_station": None}, "start_station"),
        ({"start_bearing_deg": 361}, "start_bearing_deg"),
        ({"start_e": math.inf}, "start_e"),
        ({"equations": [{"back": "99+00", "ahead": "120+00"}]}, "equations[0].back"),
        ({"equations": [{"back": "101+00"}]}, "equations[0].ahead"),
        (
            {"equations": [{"back": "102+00", "ahead": "200+00"}, {"back": "103+00", "ahead": "104+00"}]},
            "equations[1].back",
        ),
    ],
)
def test_bad_alignment_names_the_field(change: dict[str, Any], field: str) -> None:
    with pytest.raises(CalcError) as caught:
        line(tangent(1000), **change)
    assert caught.value.field == field


def test_bad_places_name_the_field(demo: Alignment) -> None:
    for call, field in (
        (lambda: demo.point(40_000), "distance"),
        (lambda: demo.point(10, math.nan), "offset"),
        (lambda: demo.project(math.inf, 0), "e"),
        (lambda: demo.points([1, 2], [1, 2, 3]), "offsets"),
        (lambda: demo.points([math.nan]), "distances"),
        (lambda: demo.points([-5]), "distances"),
        (lambda: demo.project_many([1, 2, 3]), "places"),
        (lambda: demo.project_many([(1, math.nan)]), "places"),
        (lambda: demo.distance("120+00", "middle"), "part"),
        (lambda: demo.distance("120+00", 3), "part"),
        (lambda: alignment.orientation(demo, 10, math.nan), "bolt_bearing_deg"),
        (lambda: alignment.circular_curve(radius=0, deflection_deg=10), "radius"),
        (lambda: alignment.circular_curve(radius=100, deflection_deg=180), "deflection_deg"),
        (lambda: alignment.spiralled_curve(radius=100, spiral_length=100, deflection_deg=10), "spiral_length"),
        (lambda: alignment.radius_of_degree(15, "rail"), "definition"),
        (lambda: alignment.line_from_text(elements=["bend 5"]), "elements[0]"),
        (lambda: alignment.line_from_text(elements=["tangent 5"], equations=["1+00"]), "equations[0]"),
    ):
        with pytest.raises(CalcError) as caught:
            call()
        assert caught.value.field == field


def test_no_points_give_empty_arrays(demo: Alignment) -> None:
    distances, offsets = demo.project_many(np.empty((0, 2)))
    assert distances.shape == offsets.shape == (0,)


def test_registered_calculations_answer() -> None:
    given_line = {"elements": ["tangent 500", "curve 300 radius 1000 right"], "start_station": "10+00"}
    there = find("alignment").run({**given_line, "station": "16+00", "offset": -12.0})
    back = find("alignment.project").run({**given_line, "e": there.e, "n": there.n})
    assert (back.station, back.offset) == ("16+00.00", pytest.approx(-12))
    assert back.working and back.caution


# What is said ---------------------------------------------------------------------------------------------------


def test_a_place_is_said_with_its_side_and_a_point_with_its_station() -> None:
    road = {"elements": ["tangent 500"], "start_bearing_deg": 90.0}
    there = find("alignment").run({**road, "station": "2+00", "offset": -10.0})
    assert there.sentence == "2+00.00, 10.00 ft left: east 200.00 ft, north 10.00 ft. The road bears 90.0000° there."
    back = find("alignment.project").run({**road, "e": 200.0, "n": -10.0})
    assert back.sentence.startswith("The point stands at 2+00.00, 10.00 ft right of the line.")
    assert "2+00.00, on the line." in find("alignment.project").run({**road, "e": 200.0, "n": 0.0}).sentence


def test_curves_are_said_from_beginning_to_end() -> None:
    plain = alignment.circular_curve(radius=400, deflection_deg=44, pi_station="12+72.18").sentence
    assert plain.startswith("The curve begins at 11+10.57 and ends at 14+17.75: 307.18 ft along it.")
    with_spirals = alignment.spiralled_curve(
        radius=3000, spiral_length=210, deflection_deg=15, pi_station="243+18.72"
    ).sentence
    assert "begins at 238+18.69" in with_spirals and "575.40 ft of circular curve" in with_spirals


def test_a_bolt_pair_is_judged_only_against_a_limit_that_is_given() -> None:
    free = alignment.bolt_pair(tangent_deg=78, bolt_deg=80.5)
    within = alignment.bolt_pair(tangent_deg=78, bolt_deg=80, limit=2)
    beyond = alignment.bolt_pair(tangent_deg=78, bolt_deg=75.5, limit=2)
    assert free.over_deg is None and free.sentence.endswith("No limit was given.")
    assert within.over_deg == 0 and within.sentence.startswith("Conforms: the bolt pair stands 2.00°")
    assert beyond.over_deg == pytest.approx(0.5)
    assert beyond.sentence.startswith("Over the limit by 0.5°: the bolt pair stands 2.50° off parallel to the road")
    assert "turned counter-clockwise; 2° is allowed" in beyond.sentence
    assert "turn the template clockwise" in beyond.sentence


# Lines, bearings and cross streets as people type them -----------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "degrees"),
    [
        ("84.5", 84.5),
        ("84°30'", 84.5),
        ("84-30-00", 84.5),
        ("84 30 00", 84.5),
        ("N 84°30'00\" E", 84.5),
        ("n84d30m00se", 84.5),
        ("N 84\u00ba30\u203200\u2033 E", 84.5),
        ("S 10°15'30\" E", 180 - 10 - 15 / 60 - 30 / 3600),
        ("S 10 W", 190),
        ("N 0 W", 0),
        ("N 90 W", 270),
        ("360", 360),
    ],
)
def test_bearings_are_read_as_plans_write_them(typed: str, degrees: float) -> None:
    # By definition: degrees from north or south toward east or west.
    assert float(read_bearing(typed)) == pytest.approx(degrees, abs=1e-12)


@pytest.mark.parametrize("typed", ["", "east", "N 91 E", "361", "84 60 00", "84.5 30", "N 84 30", "-4", "84°30.5'10\""])
def test_a_bearing_that_is_none_says_what_is_expected(typed: str) -> None:
    with pytest.raises(NotAReading, match="Expected a bearing such as N 84"):
        read_bearing(typed)


@pytest.mark.parametrize("degrees", [0, 0.5, 84.5, 90, 90.5, 179.99, 180, 180.5, 270, 270.25, 359.5])
def test_a_bearing_that_is_shown_is_read_again(degrees: float) -> None:
    assert float(read_bearing(show_bearing(degrees))) == pytest.approx(degrees, abs=1 / 7200)


def test_a_second_that_is_rounded_up_is_carried() -> None:
    assert show_bearing(89.99999) == "N 90°00'00\" E"
    assert show_bearing(359.99999) == "N 0°00'00\" E"


@pytest.mark.parametrize(
    ("typed", "letters", "degrees"),
    [("105°30' W", "EW", -105.5), ("-105.5", "EW", -105.5), ("36 40 N", "NS", 36 + 2 / 3), ("W 105 30", "EW", -105.5), ("35", "NS", 35)],
)  # fmt: skip
def test_latitudes_and_longitudes_are_read_with_their_letter(typed: str, letters: str, degrees: float) -> None:
    assert float(read_degrees(typed, letters)) == pytest.approx(degrees, abs=1e-12)


@pytest.mark.parametrize("typed", ["105 N", "-105 W", "W 105 W", "here"])
def test_a_longitude_that_is_none_is_refused(typed: str) -> None:
    with pytest.raises(NotAReading, match="Expected degrees"):
        read_degrees(typed, "EW")


def test_a_number_is_written_without_zeros_at_its_end() -> None:
    given = [Fraction(169, 2), Fraction(1267, 15), Fraction(-1, 20), Fraction(0), Fraction(-1, 10**12)]
    assert [decimal_text(each) for each in given] == ["84.5", "84.4666666667", "-0.05", "0", "0"]


def test_elements_are_read_as_people_type_them_and_written_back() -> None:
    typed = ["Tangent 5200.00'", "CURVE 1200 R 2000 rt", "spiral 250 ft 2000 to - L"]
    read = elements_from_text(typed)
    assert [element_text(each) for each in read] == [
        "tangent 5200.00",
        "curve 1200 radius 2000 right",
        "spiral 250 2000 to - left",
    ]
    assert elements_from_text([element_text(each) for each in read]) == read


def test_cross_streets_are_read_and_written_back(demo: Alignment) -> None:
    read = crossing_from_text("254+00  Ahead   Sage  Ave ") | {"station": "254+20.00"}
    assert read == {"station": "254+20.00", "name": "Sage Ave", "part": "ahead"}
    assert crossing_from_text(crossing_text(read)) == read
    assert crossing_fault(demo, read) == ""
    assert "leaves a gap" in crossing_fault(demo, {**read, "station": "254+00.00"})
    for text in ("Juniper St", "231+4 Juniper St", "231+40"):
        with pytest.raises(CalcError):
            crossing_from_text(text)


# The table to hold against the plans ----------------------------------------------------------------------------


def test_joints_are_named_as_plans_name_them() -> None:
    # U.S. Army FM 5-233, ch. 3 (from memory): PC, PT, PCC, PRC; TS, SC, CS, ST.
    road = line(
        tangent(500),
        spiral(200, None, 1000, "right"),
        arc(300, 1000, "right"),
        spiral(200, 1000, None, "right"),
        tangent(300),
        arc(200, 800, "left"),
        arc(200, 600, "left"),
        arc(200, 600, "right"),
        tangent(100),
        start_station="10+00",
    )
    found = alignment.joints(road)
    assert [each.name for each in found] == ["start", "TS", "SC", "CS", "ST", "PC", "PCC", "PRC", "PT", "end"]
    assert [each.station for each in found[:3]] == ["10+00.00", "15+00.00", "17+00.00"]
    assert found[-1].element is None
    assert (found[-1].e, found[-1].n) == road.point(road.length)


def test_what_looks_odd_about_a_line_is_said() -> None:
    # A spiral of radius 2000 before a curve of 2600, half a foot of tangent, an overlap, coordinates left out.
    road = line(
        tangent(500),
        spiral(200, None, 2000, "right"),
        arc(300, 2600, "right"),
        tangent("0.5"),
        equations=[{"back": "2+00", "ahead": "1+50"}],
        start_station="0+00",
        start_e=0,
        start_n=0,
    )
    odd = " ".join(alignment.oddities(road))
    assert "starts at east 0, north 0" in odd
    assert "Element 4, a tangent, is only 0.50 ft long" in odd
    assert "At 6+50.00 the spiral ends radius 2,000.00 ft right, the curve begins radius 2,600.00 ft right" in odd
    assert "Stations 1+50.00 to 2+00.00 occur twice" in odd


def test_nothing_looks_odd_about_a_line_that_fits(demo: Alignment) -> None:
    gap = "Stations 253+75.00 to 254+10.00 do not exist: equation 253+75.00 back = 254+10.00 ahead leaves a gap."
    assert alignment.oddities(replace(demo, start_e=51200.0, start_n=88400.0)) == (gap,)
