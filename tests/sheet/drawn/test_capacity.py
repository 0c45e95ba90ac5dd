"""Drawings of capacity say and measure what the result says."""

import math

import pytest

from apps.calc import registry
from tests.sheet.drawn.sheet_reader import drawn

SHORT = {
    "shear_lbf": 700,
    "moment_ftlb": 17_500,
    "diameter_ft": 2.5,
    "depth_ft": 6.4,
    "ordered_ft": 8,
    "soil": "clay",
    "cohesion_psf": 1000,
}
POLE = {"height_ft": 30, "base_diameter_in": 8, "top_diameter_in": 3.8, "speed_mph": 90}
LAMP = {"luminaire_area_ft2": 2, "arm_length_ft": 6, "arm_diameter_in": 2.375}
BOLTS = {"moment_ftlb": 30_000, "bolt_circle_in": 15, "axial_lbf": 1200}


def height(box):
    return box[3] - box[1]


def width(box):
    return box[2] - box[0]


def test_a_short_shaft_is_drawn_to_scale_built_heavy_and_ordered_thin():
    section = drawn("capacity.shaft", SHORT)[0]
    (built,) = section.boxes("s-ink", "conc")
    ordered = next(each for each in section.boxes("s-line", weight="0.7") if width(each) == pytest.approx(width(built)))
    assert height(built) == pytest.approx(6.4 * section.a_unit, abs=0.2)
    assert width(built) == pytest.approx(2.5 * section.a_unit, abs=0.2)
    assert height(ordered) == pytest.approx(8 * section.a_unit, abs=0.2)
    assert {"6.4 ft built", "8 ft ordered", "7.04 ft needed"} <= set(section.words)


def test_what_a_shaft_is_short_of_is_hatched_red_and_only_then():
    section, bars, _ = drawn("capacity.shaft", SHORT)
    (short,) = section.boxes("s-red", "over")
    assert height(short) == pytest.approx((7.0388 - 6.4) * section.a_unit, abs=0.2)
    (missing,) = bars.boxes("s-red", "over")
    (carried,) = bars.boxes("f-conc")
    assert width(carried) / (width(carried) + width(missing)) == pytest.approx(0.656, abs=0.004)
    for sheet in drawn("capacity.shaft", SHORT | {"depth_ft": 8}):
        assert not sheet.shapes(fill="over")


def test_the_soil_presses_where_the_statics_say():
    section = drawn("capacity.shaft", SHORT)[0]
    (soil,) = section.boxes("f-line-3", weight="0.9")
    (built,) = section.boxes("s-ink", "conc")
    # Broms: nothing to 1.5 diameters, then to the tip.
    assert (soil[1] - built[1]) / section.a_unit == pytest.approx(3.75, abs=0.02)
    assert soil[3] == pytest.approx(built[3], abs=0.2)
    assert "9,000 psf at most" in section.words


def test_a_shaft_in_the_dead_zone_says_that_the_soil_gives_nothing():
    section = drawn("capacity.shaft", SHORT | {"depth_ft": 3})[0]
    assert "gives nothing" in section.words
    assert not section.shapes("f-line-3")


def test_the_curve_of_depths_passes_its_load_at_the_depth_needed():
    curve = drawn("capacity.shaft", SHORT)[2]
    assert {"needs 7.04 ft", "built 66 %", "factored load, 100 %"} <= set(curve.words)


def test_pole_arm_and_luminaire_are_to_scale_and_the_resultant_stands_at_its_height():
    (sheet,) = drawn("capacity.wind", POLE | LAMP)
    result = registry.find("capacity.wind").run(POLE | LAMP)
    (pole,) = sheet.boxes("f-ink", weight="0.8")
    (lamp,) = sheet.boxes("f-conc-2", weight="1.6")
    arrow = sheet.boxes("s-ink", weight="2.4")[0]
    assert height(pole) == pytest.approx(30 * sheet.a_unit, abs=0.2)
    assert width(pole) == pytest.approx(8 / 12 * sheet.a_unit, abs=0.2)
    assert width(lamp) * height(lamp) == pytest.approx(2 * sheet.a_unit**2, rel=0.02)
    assert (lamp[0] + lamp[2]) / 2 - (pole[0] + pole[2]) / 2 == pytest.approx(6 * sheet.a_unit, abs=0.2)
    assert pole[3] - arrow[1] == pytest.approx(result.resultant_ft * sheet.a_unit, abs=0.3)
    assert {f"{result.shear_lbf:,.0f} lbf", f"{result.moment_ftlb:,.0f} ft-lb"} <= set(sheet.words)


def test_no_arm_and_no_luminaire_are_drawn_when_none_is_given():
    (sheet,) = drawn("capacity.wind", POLE)
    assert not sheet.shapes("f-conc-2")
    assert "luminaire" not in sheet.said


def test_the_pressure_is_marked_at_its_height():
    (sheet,) = drawn("capacity.pressure", {"height_ft": 30, "speed_mph": 90})
    assert "23.2 psf at 30 ft" in sheet.words


@pytest.mark.parametrize("count", [3, 4, 6])
def test_bolts_stand_on_their_circle_filled_in_tension_hatched_in_compression(count):
    values = BOLTS | {"count": count, "angle_deg": 80}
    sheet = drawn("capacity.bolts", values)[0]
    forces = registry.find("capacity.bolts").run(values).forces_lbf
    (circle,) = sheet.boxes("s-line", weight="0.8")
    centre, radius = ((circle[0] + circle[2]) / 2, (circle[1] + circle[3]) / 2), width(circle) / 2
    assert radius == pytest.approx(7.5 * sheet.a_unit, abs=0.3)
    pulled, pressed = sheet.boxes("f-ink", weight="1.4"), sheet.boxes(fill="within")
    assert (len(pulled), len(pressed)) == (sum(each > 0 for each in forces), sum(each <= 0 for each in forces))
    for each in pulled + pressed:
        at = (each[0] + each[2]) / 2, (each[1] + each[3]) / 2
        assert math.dist(at, centre) == pytest.approx(radius, abs=0.3)
    # The side in tension is up.
    assert max((each[1] + each[3]) / 2 for each in pulled) < min((each[1] + each[3]) / 2 for each in pressed)


def test_a_bolt_over_yield_is_red_and_no_other():
    for strength, red in ((55, 0), (30, 1)):
        values = BOLTS | {"area_in2": 0.606, "yield_ksi": strength}
        plan, forces = drawn("capacity.bolts", values)
        assert len(plan.shapes("f-red")) == len(forces.shapes("f-red")) == red
        assert f"yield, {0.606 * strength:.1f} kip" in forces.words


def test_the_force_of_a_bolt_is_drawn_against_its_distance():
    forces = drawn("capacity.bolts", BOLTS)[1]
    (pulled,) = forces.boxes("f-ink")
    pressed = max(forces.boxes(fill="within"), key=height)
    assert height(pulled) / height(pressed) == pytest.approx(23_700 / 24_300, abs=0.005)
    assert {"+23,700 lbf", "−24,300 lbf"} <= set(forces.words)


def test_a_post_is_as_deep_as_its_answer():
    values = {"shear_lbf": 480, "height_ft": 5, "width_ft": 1.5, "pressure_psf_ft": 100}
    (sheet,) = drawn("capacity.post", values)
    (body,) = sheet.boxes("s-ink", "conc")
    assert height(body) == pytest.approx(6.44 * sheet.a_unit, abs=0.3)
    assert width(body) == pytest.approx(1.5 * sheet.a_unit, abs=0.2)
    assert {"6.44 ft", "215 psf", "at a third"} <= set(sheet.words)
    assert "pavement holds it" not in sheet.said
    assert "pavement holds it" in drawn("capacity.post", values | {"constrained": True})[0].said


@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("capacity.shaft", SHORT | {"depth_ft": 0, "shear_lbf": 0}),
        ("capacity.shaft", SHORT | {"depth_ft": 200, "moment_ftlb": 1e-6, "shear_lbf": 0, "diameter_ft": 15}),
        ("capacity.shaft", SHORT | {"depth_ft": 1, "ordered_ft": 1, "neglected_ft": 50, "moment_ftlb": 1e9}),
        ("capacity.shaft", SHORT | {"soil": "sand", "weight_pcf": 120, "friction_deg": 30, "depth_ft": 0.001}),
        ("capacity.wind", POLE | {"height_ft": 200, "luminaire_height_ft": 0, "luminaire_area_ft2": 0.001}),
        ("capacity.wind", POLE | {"height_ft": 1, "base_diameter_in": 60, "arm_length_ft": 500, "arm_diameter_in": 1}),
        ("capacity.pressure", {"height_ft": 0, "speed_mph": 1, "drag": 0}),
        ("capacity.bolts", {"moment_ftlb": 0, "bolt_circle_in": 1, "count": 24}),
        ("capacity.bolts", {"moment_ftlb": 1e9, "bolt_circle_in": 1, "count": 24, "area_in2": 0.1, "yield_ksi": 36}),
        ("capacity.bolts", {"moment_ftlb": 0, "bolt_circle_in": 15, "axial_lbf": -1e6, "area_in2": 1, "yield_ksi": 1}),
        ("capacity.post", {"shear_lbf": 1e6, "height_ft": 0.01, "width_ft": 0.01, "pressure_psf_ft": 1}),
        ("capacity.post", {"shear_lbf": 0.01, "height_ft": 900, "width_ft": 30, "pressure_psf_ft": 1e4, "constrained": True}),
    ],
)  # fmt: skip
def test_extremes_are_drawn_within_the_paper(name, values):
    for sheet in drawn(name, values):
        width, high = (float(sheet.root.get(each)) for each in ("width", "height"))
        for left, top, right, bottom in sheet.boxes("s-ink") + sheet.boxes("f-ink") + sheet.boxes(fill="over"):
            assert -1 <= left <= right <= width + 1
            assert -1 <= top <= bottom <= high + 1
