"""Wind, shafts, posts and bolts against published cases, independent statics and what must always hold."""

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import fsolve

from apps.calc.capacity.bolts import bolts
from apps.calc.capacity.broms import (
    Demand,
    Ground,
    capacity_factor,
    greatest_moment,
    required_depth,
    soil_pressure,
    zero_shear_depth,
)
from apps.calc.capacity.post import post, post_a
from apps.calc.capacity.pressure import height_factor, pressure, round_drag
from apps.calc.capacity.shaft import shaft
from apps.calc.capacity.wind import wind
from apps.calc.errors import CalcError
from apps.calc.registry import all as every
from apps.calc.registry import find
from apps.calc.typed import read_inputs

FOOT_M, KIP_KN, KSF_KPA = 0.3048, 4.4482216152605, 47.880258980
CLAY = Ground("clay", cohesion_psf=1000)
SAND = Ground("sand", weight_pcf=120, friction_deg=30)
LOAD = Demand(2000, 50_000)

# --- wind


@pytest.mark.parametrize(
    ("height", "table", "formula"),
    [(16.4, 0.87, 0.8650), (32.8, 1.00, 1.0009), (49.2, 1.09, 1.0901), (65.6, 1.16, 1.1581)],
)
def test_height_factor_is_that_of_the_table(height, table, formula):
    # W-D1: AASHTO LTS Kz table, from memory, abs 0.005; the formula recomputed, print.
    assert height_factor(height) == pytest.approx(table, abs=0.0051)
    assert height_factor(height) == pytest.approx(formula, abs=5e-5)


@pytest.mark.parametrize(("c", "drag"), [(30, 1.100), (39, 1.100), (45, 0.915), (60, 0.6295), (78, 0.45), (90, 0.45)])
def test_drag_of_a_round_tube_is_that_of_the_table(c, drag):
    # W-D2: AASHTO LTS Table 3-6, rule from memory, abs 0.001.
    assert round_drag(c, 1.0) == pytest.approx(drag, abs=1e-3)


@pytest.mark.parametrize(("height", "expected"), [(30, 23.22), (10, 20.45)])
def test_pressure_by_formula(height, expected):
    # W-D3, W-D4: computed, abs 0.02; below 16.4 ft the height factor stays.
    assert pressure(height_ft=height, speed_mph=90).pressure_psf == pytest.approx(expected, abs=0.02)


def test_pressure_and_force_of_the_published_sign():
    # W-D6: sign sheet by ASCE 7-10, scribd.com/document/391952847: Kz 1.083, q 56.62 psf, F 648 lb, 0.6 F 389 lb.
    # ASCE keeps the gust factor out of q and counts heights from 15 ft.
    found = pressure(height_ft=20, speed_mph=155, gust=1, directionality=0.85, exposure="D", lowest_ft=15)
    assert found.height_factor == pytest.approx(1.083, abs=5e-4)
    assert found.pressure_psf == pytest.approx(56.62, abs=0.01)
    force = found.pressure_psf * 0.85 * 1.80 * 7.48
    assert (force, 0.6 * force) == pytest.approx((648, 389), abs=0.5)


def test_wind_on_a_tapered_pole_with_a_luminaire():
    # W-D5: independent integration with scipy, 0.5 %.
    result = wind(height_ft=30, base_diameter_in=8, top_diameter_in=3.8, speed_mph=90, luminaire_area_ft2=2)
    found = (result.pole_shear_lbf, result.pole_moment_ftlb, result.other_shear_lbf, result.other_moment_ftlb)
    assert found == pytest.approx((275.0, 4156, 46.44, 1393), rel=5e-3)
    assert (result.shear_lbf, result.moment_ftlb) == pytest.approx((321.4, 5550), rel=5e-3)


def test_wind_on_a_straight_pole_is_pressure_times_area():
    # Below 16.4 ft pressure and drag are constant: closed form q Cd d h, at h / 2.
    result = wind(height_ft=16, base_diameter_in=6, top_diameter_in=6, speed_mph=90)
    shear = pressure(height_ft=0, speed_mph=90).pressure_psf * round_drag(90, 0.5) * 0.5 * 16
    assert (result.shear_lbf, result.moment_ftlb) == pytest.approx((shear, shear * 8))


def test_an_arm_adds_a_tube_at_the_luminaire():
    bare, armed = (
        wind(height_ft=30, base_diameter_in=8, top_diameter_in=4, speed_mph=90, arm_length_ft=arm, arm_diameter_in=3)
        for arm in (0, 8)
    )
    added = pressure(height_ft=30, speed_mph=90).pressure_psf * round_drag(90, 0.25) * 8 * 0.25
    assert armed.shear_lbf - bare.shear_lbf == pytest.approx(added)
    assert armed.moment_ftlb - bare.moment_ftlb == pytest.approx(30 * added)


@settings(max_examples=40, deadline=None)
@given(st.floats(5, 60), st.floats(3, 14), st.floats(2, 14), st.floats(60, 160))
def test_wind_agrees_with_a_plain_integration(height, base, top, speed):
    result = wind(height_ft=height, base_diameter_in=base, top_diameter_in=top, speed_mph=speed)

    def strip(z):
        diameter = (base + (top - base) * z / height) / 12
        return pressure(height_ft=z, speed_mph=speed).pressure_psf * round_drag(speed, diameter) * diameter

    steps = [height * (at + 0.5) / 4000 for at in range(4000)]
    assert result.shear_lbf == pytest.approx(sum(map(strip, steps)) * height / 4000, rel=2e-3)
    assert 0 < result.moment_ftlb < result.shear_lbf * height


@settings(max_examples=30, deadline=None)
@given(st.floats(60, 150), st.floats(1.001, 1.3))
def test_a_square_of_the_speed_on_the_luminaire(speed, more):
    slow, fast = (
        wind(height_ft=30, base_diameter_in=8, top_diameter_in=4, speed_mph=each, luminaire_area_ft2=2).other_shear_lbf
        for each in (speed, speed * more)
    )
    assert fast / slow == pytest.approx(more**2)


# --- shafts


def test_the_published_pipe_pile_in_clay():
    # L-D1: Appendix A, Broms method for single piles, sec. A.1.1.1 p. 370-371, scribd.com/document/339904414 (scan
    # damaged, cu recovered): b 0.305 m, e 0.61 m, L 2.44 m, cu 47.9 kPa: P 59.4 kN abs 0.1, f 0.452 m, Mmax 76.8 kN m abs 0.2.
    # L-D2: the same statics by the rotation point: P 59.486 kN, abs 0.001.
    ground = Ground("clay", cohesion_psf=1000 * 47.9 / KSF_KPA)
    width = 0.305 / FOOT_M
    unit = Demand(1.0, 0.61 / FOOT_M)
    load_lbf = capacity_factor(unit, ground, width, 2.44 / FOOT_M)
    load_kn = load_lbf / 1000 * KIP_KN
    assert load_kn == pytest.approx(59.4, abs=0.1)
    assert load_kn == pytest.approx(59.486, abs=1e-3)
    demand = Demand(load_lbf, load_lbf * 0.61 / FOOT_M)
    assert (zero_shear_depth(demand, ground, width) - 1.5 * width) * FOOT_M == pytest.approx(0.452, abs=1e-3)
    assert greatest_moment(demand, ground, width) / 1000 * KIP_KN * FOOT_M == pytest.approx(76.8, abs=0.2)


def test_clay_agrees_with_equilibrium_about_the_rotation_point():
    # L-D2: uniform 9 cu b below 1.5 b, reversing at z0: force and moment solved with scipy.optimize.fsolve, z0 1.675 m.
    b, e, length, cu = 0.305, 0.61, 2.44, 47.9

    def balance(unknown):
        p, z0 = unknown
        line, top = 9 * cu * b, 1.5 * b
        force = p - line * (z0 - top) + line * (length - z0)
        moment = p * e + line * (z0 - top) * (z0 + top) / 2 - line * (length - z0) * (length + z0) / 2
        return force, moment

    p, z0 = fsolve(balance, (50, 1.6))
    unit = Demand(1.0, e / FOOT_M)
    found = capacity_factor(unit, Ground("clay", 1000 * cu / KSF_KPA), b / FOOT_M, length / FOOT_M) / 1000 * KIP_KN
    assert found == pytest.approx(p, rel=1e-6)
    assert z0 == pytest.approx(1.675, abs=1e-3)


def test_clay_design_form():
    # L-D3: AASHTO form, computed, abs 0.002 (kip, ft): q 0.08889, L 7.039, Mmax 57.59.
    assert required_depth(LOAD, CLAY, 2.5) == pytest.approx(7.039, abs=2e-3)
    assert zero_shear_depth(LOAD, CLAY, 2.5) - 3.75 == pytest.approx(0.08889, abs=1e-5)
    assert greatest_moment(LOAD, CLAY, 2.5) / 1000 == pytest.approx(57.59, abs=6e-3)


def test_sand_design_form():
    # L-D4: cubic solved with scipy brentq, abs 0.002: Kp 3.000, L 5.115, zero shear 1.217, Mmax 51.62.
    assert SAND.passive == pytest.approx(3)
    assert required_depth(LOAD, SAND, 2.5) == pytest.approx(5.115, abs=2e-3)
    assert zero_shear_depth(LOAD, SAND, 2.5) == pytest.approx(1.217, abs=2e-3)
    assert greatest_moment(LOAD, SAND, 2.5) / 1000 == pytest.approx(51.62, abs=5e-3)
    # 0.544 of the printed form is 2/3 √(1/1.5).
    printed = 50 + 2 * 0.544 * math.sqrt(2 / (0.120 * 2.5 * 3))
    assert greatest_moment(LOAD, SAND, 2.5) / 1000 == pytest.approx(printed, abs=2e-3)


soils = st.one_of(
    st.builds(Ground, st.just("clay"), cohesion_psf=st.floats(100, 6000)),
    st.builds(Ground, st.just("sand"), weight_pcf=st.floats(50, 140), friction_deg=st.floats(20, 45)),
)
demands = st.one_of(
    st.builds(Demand, st.floats(10, 2e4), st.floats(0, 4e5)),
    st.builds(Demand, st.just(0.0), st.floats(10, 4e5)),
)


@settings(deadline=None)
@given(demands, soils, st.floats(1, 6))
def test_a_shaft_of_the_required_depth_carries_exactly_its_load(demand, ground, diameter):
    depth = required_depth(demand, ground, diameter)
    assert capacity_factor(demand, ground, diameter, depth) == pytest.approx(1, rel=1e-6)


@given(demands, soils, st.floats(1, 6), st.floats(0, 40), st.floats(0, 10))
def test_more_depth_never_lowers_capacity(demand, ground, diameter, depth, more):
    low = capacity_factor(demand, ground, diameter, depth)
    assert low <= capacity_factor(demand, ground, diameter, depth + more) * (1 + 1e-12)


@given(demands, st.floats(100, 3000), st.floats(1, 6), st.floats(1.01, 3))
def test_stronger_clay_never_needs_more_depth(demand, cohesion, diameter, more):
    depth = required_depth(demand, Ground("clay", cohesion), diameter)
    assert required_depth(demand, Ground("clay", cohesion * more), diameter) <= depth


@settings(deadline=None)
@given(demands, soils, st.floats(1, 6), st.floats(1, 5))
def test_the_greatest_moment_is_never_under_the_applied_one(demand, ground, diameter, more):
    assert greatest_moment(demand, ground, diameter) >= demand.moment_ftlb
    grown = Demand(demand.shear_lbf * more, demand.moment_ftlb * more)
    assert required_depth(grown, ground, diameter) >= required_depth(demand, ground, diameter)


def test_clay_no_deeper_than_its_dead_zone_carries_nothing():
    assert capacity_factor(LOAD, CLAY, 2.5, 3.75) == 0


STOPPED = {"shear_lbf": 700, "moment_ftlb": 17_500, "diameter_ft": 2.5, "soil": "clay", "cohesion_psf": 1000}


def test_a_shaft_that_stopped_short_says_what_it_lost_and_who_decides():
    result = shaft(**STOPPED, depth_ft=6.4, ordered_ft=8)
    assert result.required_ft == pytest.approx(required_depth(LOAD, CLAY, 2.5))
    assert result.kept == pytest.approx(result.capacity_ratio / result.ordered_ratio)
    assert result.capacity_ratio < 1 < result.ordered_ratio
    assert result.sentence == (
        "At 6.4 ft instead of 8 ft this shaft carries only 66 % of its factored load, 40 % of what the ordered depth "
        "carries; the method asks for 7.04 ft. Assumed: one layer of clay of 1,000 psf to below the tip, level ground, a short "
        "rigid shaft with a free head, load × 2 / 0.7. A licensed engineer decides."
    )
    assert (
        result.assumptions[0] == "one layer of clay of 1,000 psf from the surface to below the tip, the same all round"
    )
    assert "(3.75 ft)" in result.assumptions[1]
    assert "2.6 diameters deep" in result.assumptions[2]
    assert "multiplied by 2 and divided by 0.7" in result.assumptions[3]
    assert "licensed engineer decides" in result.caution
    assert [step.symbol for step in result.working] == [
        *("V_F", "M_F", "f", "M_max", "g", "L", "capacity", "ordered", "kept")
    ]


def test_neglected_ground_costs_its_depth_and_lengthens_the_lever():
    whole, lost = (shaft(**STOPPED, depth_ft=8, neglected_ft=each) for each in (0, 1.5))
    assert lost.required_ft > whole.required_ft + 1.5
    assert lost.capacity_ratio < whole.capacity_ratio
    assert shaft(**STOPPED, depth_ft=1, neglected_ft=1.5).capacity_ratio == 0


def test_the_working_of_sand_repeats_the_result():
    result = shaft(
        shear_lbf=700, moment_ftlb=17_500, diameter_ft=2.5, depth_ft=6, soil="sand", weight_pcf=120, friction_deg=30
    )
    values = {step.symbol: step.value for step in result.working}
    assert values["L"] == result.required_ft == pytest.approx(5.115, abs=2e-3)
    assert values["M_max"] == result.greatest_moment_ftlb


# --- posts


def test_the_published_flagpole_free_at_the_ground():
    # L-D5: flagpole sheet, IBC ch. 18, scribd.com/document/612680534: converged 30.64 ft abs 0.01.
    # MISMATCH 0.3 %: the sheet prints 30.55, having stopped iterating early.
    result = post(shear_lbf=100_000, height_ft=62.11, width_ft=6, pressure_psf_ft=200, increase=2)
    assert result.depth_ft == pytest.approx(30.64, abs=0.01)
    assert result.depth_ft == pytest.approx(30.55, rel=3.5e-3)


def test_the_published_flagpole_held_by_pavement():
    # L-D6: IBC 2018 sheet, scribd.com/document/560795266: d 1.509 m (4.952 ft), S3 1.660e5 Pa, print.
    result = post(shear_lbf=30_000, height_ft=3, width_ft=4.5, pressure_psf_ft=350, increase=2, constrained=True)
    assert result.depth_ft == pytest.approx(4.952, abs=5e-4)
    assert result.depth_ft * FOOT_M == pytest.approx(1.509, abs=5e-4)
    assert result.pressure_psf / 1000 * KSF_KPA == pytest.approx(166.0, abs=0.05)
    # Its S1 5.532e4 Pa at a third of that depth, and A 13.501.
    s1 = 700 * result.depth_ft / 3
    assert s1 / 1000 * KSF_KPA == pytest.approx(55.32, abs=0.005)
    assert post_a(shear_lbf=30_000, pressure_psf=s1, width_ft=4.5) == pytest.approx(13.501, abs=5e-4)


@pytest.mark.parametrize(("increase", "depth"), [(1, 6.44), (2, 4.877), (4 / 3, 5.733)])
def test_the_published_sign_post(increase, depth):
    # L-D7: eng-tips.com qid=266547: 6.44 ft ("almost 6.5"), abs 0.01; the two increases recomputed.
    result = post(shear_lbf=480, height_ft=5, width_ft=1.5, pressure_psf_ft=100, increase=increase)
    assert result.depth_ft == pytest.approx(depth, abs=0.01)


def test_the_published_a_of_a_trial_depth():
    # L-D8: eng-tips.com qid=276653: A 17.6 at a trial depth of 6 ft, S 150 psf/ft, increase printed as 1.33.
    assert post_a(shear_lbf=3000, pressure_psf=150 * 6 / 3 * 1.33, width_ft=1) == pytest.approx(17.6, abs=0.05)


@settings(deadline=None)
@given(st.floats(50, 1e5), st.floats(0.5, 60), st.floats(0.5, 8), st.floats(50, 500), st.booleans())
def test_a_post_meets_its_own_formula(shear, height, width, rate, constrained):
    result = post(shear_lbf=shear, height_ft=height, width_ft=width, pressure_psf_ft=rate, constrained=constrained)
    d, s = result.depth_ft, result.pressure_psf
    if constrained:
        assert d**2 == pytest.approx(4.25 * shear * height / (s * width), rel=1e-6)
        assert s == pytest.approx(rate * min(d, 12))
    else:
        a = post_a(shear_lbf=shear, pressure_psf=s, width_ft=width)
        assert d == pytest.approx(a / 2 * (1 + math.sqrt(1 + 4.36 * height / a)), rel=1e-6)
        assert s == pytest.approx(rate * min(d / 3, 12))


# --- bolts


@pytest.mark.parametrize(("angle", "tension"), [(90, 23.70), (45, 16.67), (60, 20.48)])
def test_tension_in_four_bolts(angle, tension):
    # W-D7: statics, computed with numpy, abs 0.01 kip: diagonal, side, bolt line 60° from the bending axis.
    result = bolts(moment_ftlb=30_000, bolt_circle_in=15, axial_lbf=1200, angle_deg=angle)
    assert result.tension_lbf / 1000 == pytest.approx(tension, abs=0.01)


def test_compression_on_the_other_side():
    # W-D8: -24.30 kip on the diagonal, abs 0.01.
    result = bolts(moment_ftlb=30_000, bolt_circle_in=15, axial_lbf=1200)
    assert result.compression_lbf / 1000 == pytest.approx(24.30, abs=0.01)


def test_bolt_stress_over_yield_when_size_and_grade_are_given():
    result = bolts(moment_ftlb=5_550, bolt_circle_in=15, area_in2=0.606, yield_ksi=55)
    assert result.stress_ksi == pytest.approx(5.550 * 12 / 15 / 0.606)
    assert result.yield_ratio == pytest.approx(result.stress_ksi / 55)


@given(st.floats(0, 1e5), st.floats(5, 40), st.floats(0, 5e3), st.integers(3, 12), st.floats(0, 360))
def test_bolt_forces_balance_the_moment_and_the_weight(moment, circle, axial, count, angle):
    result = bolts(moment_ftlb=moment, bolt_circle_in=circle, axial_lbf=axial, count=count, angle_deg=angle)
    arms = [circle / 2 * math.sin(math.radians(angle + 360 * at / count)) for at in range(count)]
    assert sum(result.forces_lbf) == pytest.approx(-axial, abs=1e-6 * (moment + axial + 1))
    found = sum(force * arm for force, arm in zip(result.forces_lbf, arms, strict=True)) / 12
    assert found == pytest.approx(moment, abs=1e-6 * (moment + axial * circle + 1))


# --- refusals and the registry


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: height_factor(-1), "height_ft"),
        (lambda: height_factor(30, "A"), "exposure"),
        (lambda: round_drag(0, 1), "speed_mph"),
        (lambda: pressure(height_ft=math.nan, speed_mph=90), "height_ft"),
        (lambda: pressure(height_ft=30, speed_mph=math.inf), "speed_mph"),
        (lambda: wind(height_ft=0, base_diameter_in=8, top_diameter_in=4, speed_mph=90), "height_ft"),
        (lambda: wind(height_ft=9, base_diameter_in=8, top_diameter_in=0, speed_mph=90), "top_diameter_in"),
        (
            lambda: wind(height_ft=9, base_diameter_in=8, top_diameter_in=4, speed_mph=90, arm_length_ft=4),
            "arm_diameter_in",
        ),
        (lambda: required_depth(Demand(0, 0), CLAY, 2.5), "moment_ftlb"),
        (lambda: required_depth(Demand(-1, 0), CLAY, 2.5), "shear_lbf"),
        (lambda: required_depth(LOAD, Ground("rock"), 2.5), "soil"),
        (lambda: required_depth(LOAD, Ground("clay"), 2.5), "cohesion_psf"),
        (lambda: required_depth(LOAD, Ground("sand", weight_pcf=120, friction_deg=60), 2.5), "friction_deg"),
        (lambda: required_depth(LOAD, Ground("sand", friction_deg=30), 2.5), "weight_pcf"),
        (lambda: required_depth(LOAD, CLAY, 0), "diameter_ft"),
        (lambda: capacity_factor(LOAD, CLAY, 2.5, -1), "depth_ft"),
        (lambda: shaft(**STOPPED, depth_ft=8, under_capacity=1.2), "under_capacity"),
        (lambda: shaft(**STOPPED, depth_ft=8, neglected_ft=-1), "neglected_ft"),
        (lambda: post(shear_lbf=1, height_ft=1, width_ft=0, pressure_psf_ft=1), "width_ft"),
        (lambda: post(shear_lbf=1, height_ft=1, width_ft=1, pressure_psf_ft=-1), "pressure_psf_ft"),
        (lambda: bolts(moment_ftlb=1, bolt_circle_in=15, count=2), "count"),
        (lambda: bolts(moment_ftlb=1, bolt_circle_in=0), "bolt_circle_in"),
        (lambda: bolts(moment_ftlb=math.nan, bolt_circle_in=15), "moment_ftlb"),
    ],
)
def test_impossible_input_is_refused_by_name(make, field):
    with pytest.raises(CalcError) as error:
        make()
    assert error.value.field == field


@pytest.mark.parametrize(
    "name", ["capacity.pressure", "capacity.wind", "capacity.shaft", "capacity.post", "capacity.bolts"]
)
def test_every_capacity_calculation_carries_a_caution(name):
    assert find(name).caution


def test_the_registry_runs_the_shaft():
    assert find("capacity.shaft").run({**STOPPED, "depth_ft": 6.4}).capacity_ratio == pytest.approx(0.656, abs=1e-3)


def test_every_answer_says_who_decides():
    room = [each for each in every() if each.name.startswith("capacity.")]
    assert len(room) == 5
    for each in room:
        values, faults = read_inputs(each, each.example)
        assert not faults, each.name
        assert each.run(values).sentence.endswith("A licensed engineer decides."), each.name


def test_the_wind_is_said_with_its_parts():
    pole = {"height_ft": 30, "base_diameter_in": 8, "top_diameter_in": 3.8, "speed_mph": 90}
    result = wind(**pole, luminaire_area_ft2=2)
    assert result.sentence.startswith(
        "The wind brings 5,550 ft-lb and 321 lbf to the base: 275 lbf on the pole, 46 lbf on arm and luminaire."
    )
    assert result.resultant_ft == pytest.approx(5550 / 321.4, rel=1e-3)
    assert "to the base, all of it on the pole." in wind(**pole).sentence


def test_bolts_over_yield_say_so_first():
    load = {"moment_ftlb": 30_000, "bolt_circle_in": 15, "axial_lbf": 1200, "area_in2": 0.606}
    assert bolts(**load, yield_ksi=55).sentence.startswith(
        "The greatest tension in a bolt is 23,700 lbf, the greatest compression 24,300 lbf. That is 71 % of yield."
    )
    assert bolts(**load, yield_ksi=36).sentence.startswith("Over yield: 109 % of yield.")
    assert bolts(moment_ftlb=0, bolt_circle_in=15, axial_lbf=400).sentence.startswith(
        "No bolt is in tension; the greatest compression is 100 lbf."
    )


def test_a_post_says_where_the_ground_presses():
    post_of = {"shear_lbf": 480, "height_ft": 5, "width_ft": 1.5, "pressure_psf_ft": 100}
    assert post(**post_of).sentence.startswith(
        "The post needs 6.44 ft of depth: the ground may then press with 215 psf at a third of it."
    )
    assert "at its foot" in post(**post_of, constrained=True).sentence


@given(demands, soils, st.floats(1, 6), st.floats(0.1, 40))
def test_the_soil_at_its_limit_balances_the_load_that_the_depth_carries(demand, ground, diameter, depth):
    points = soil_pressure(demand, ground, diameter, depth)
    factor = capacity_factor(demand, ground, diameter, depth)
    assert bool(points) == (factor > 0)
    if not points:
        return
    pushed = (
        sum((low + high) / 2 * (below - above) for (above, low), (below, high) in itertools.pairwise(points)) * diameter
    )
    turned = diameter * sum(
        (below - above) * (above * (2 * low + high) + below * (low + 2 * high)) / 6
        for (above, low), (below, high) in itertools.pairwise(points)
    )
    # Sand leaves a single force at the tip, which takes the rest of the shear; moments are taken about the tip there.
    arm = depth if ground.soil == "sand" else 0
    size = demand.moment_ftlb + demand.shear_lbf * depth
    assert arm * pushed - turned == pytest.approx(
        factor * (demand.moment_ftlb + arm * demand.shear_lbf), rel=1e-6, abs=1e-6 * size
    )
    if ground.soil == "clay":
        assert pushed == pytest.approx(factor * demand.shear_lbf, rel=1e-6, abs=1e-6 * size)
