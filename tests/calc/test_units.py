"""Units: exact factors, readings as people write them, and how they are written back."""

from decimal import Decimal
from fractions import Fraction as Exact

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from apps.calc.errors import NotAReading
from apps.calc.units import (
    KINDS,
    UNITS,
    convert,
    convert_difference,
    parse,
    parse_station,
    same_system,
    show,
    show_other,
    show_station,
)

# NIST SP 811 (2008), appendix B.8: exact factors are printed in bold there, the rest rounded to seven figures.
NIST_SP_811 = [
    ("in", "mm", Exact("25.4"), True),
    ("ft", "m", Exact("0.3048"), True),
    ("lb", "kg", Exact("0.45359237"), True),
    ("gal", "L", Exact("3.785412"), False),
    ("yd3", "m3", Exact("0.7645549"), False),
    ("ft3", "m3", Exact("0.02831685"), False),
    ("psi", "kPa", Exact("6.894757"), False),
    ("ksi", "kPa", Exact("6894.757"), False),
    ("psf", "kPa", Exact("0.04788026"), False),
    ("ft-lb", "N m", Exact("1.355818"), False),
    ("in-lb", "N m", Exact("0.1129848"), False),
    ("lbf", "N", Exact("4.448222"), False),
    ("kip", "N", Exact("4448.222"), False),
    ("mph", "m/s", Exact("0.44704"), True),
    ("mph", "km/h", Exact("1.609344"), True),
    ("lb/ft3", "kg/m3", Exact("16.01846"), False),
    ("us_survey_ft", "m", Exact("0.3048006"), False),
    ("d", "h", Exact(24), True),
]


@pytest.mark.parametrize(("unit", "other", "factor", "exact"), NIST_SP_811)
def test_factors_are_those_of_nist_sp_811(unit, other, factor, exact):
    found = convert(1, unit, other)
    assert found == factor if exact else abs(found / factor - 1) < Exact(1, 10**6)


@pytest.mark.parametrize(
    ("unit", "referee"),
    [
        ("in", constants.inch),
        ("ft", constants.foot),
        ("us_survey_ft", constants.survey_foot),
        ("lb", constants.lb),
        ("lbf", constants.lbf),
        ("psi", constants.psi),
        ("gal", constants.gallon),
        ("mph", constants.mph),
        ("d", constants.day),
        ("ft-lb", constants.lbf * constants.foot),
        ("yd3", constants.yard**3),
    ],
)
def test_factors_agree_with_an_independent_library(unit, referee):
    """Referee: scipy.constants, whose unit factors are kept apart from ours."""
    assert float(UNITS[unit].factor) == pytest.approx(referee, rel=1e-14)


@pytest.mark.parametrize(("fahrenheit", "celsius"), [(32, 0), (212, 100), (95, 35), (50, 10), (-40, -40)])
def test_temperature_has_a_zero_point_but_a_difference_has_none(fahrenheit, celsius):
    """Freezing and boiling point, and t/C = (t/F - 32)/1.8: NIST SP 811, B.8."""
    assert convert(fahrenheit, "F", "C") == celsius
    assert convert(celsius, "C", "F") == fahrenheit
    assert convert_difference(9, "F", "C") == 5


def test_an_eighth_is_exactly_3_175_mm():
    assert convert(Exact(1, 8), "in", "mm") == Exact("3.175")


def test_converting_between_kinds_is_refused():
    with pytest.raises(ValueError, match="kg is mass, in is length"):
        convert(1, "kg", "in")
    with pytest.raises(ValueError, match="unknown unit 'furlong'"):
        convert(1, "furlong", "in")


@given(st.fractions(), st.sampled_from([(a, b) for names in KINDS.values() for a in names for b in names]))
def test_converting_there_and_back_loses_nothing(value, pair):
    one, two = pair
    if UNITS[one].dimension == UNITS[two].dimension:
        assert convert(convert(value, one, two), two, one) == value


READ = [
    ("1/8", "length", "in", Exact(1, 8), "in"),
    ('2 1/4"', "length", "in", Exact(9, 4), "in"),
    ("2-1/4", "length", "in", Exact(9, 4), "in"),
    ("2'-6", "length", "in", Exact(30), "in"),
    ("2'-4 3/16\"", "length", "in", Exact(451, 16), "in"),
    ("8 ft 1 7/16 in", "length", "in", Exact(1559, 16), "in"),
    ("8'1-7/16", "length", "in", Exact(1559, 16), "in"),
    ("8\u2032\u20111 7/16\u2033".replace("\u2011", "-"), "length", "in", Exact(1559, 16), "in"),
    ("97.4375", "length", "in", Exact(1559, 16), "in"),
    ("8 ft", "length", "in", Exact(8), "ft"),
    ("6 mm", "length", "in", Exact(6), "mm"),
    ("2.44 m", "length", "ft", Exact("2.44"), "m"),
    ("3,5", "length", "in", Exact(7, 2), "in"),
    ("0,125", "length", "in", Exact(1, 8), "in"),
    (".5", "length", "in", Exact(1, 2), "in"),
    ("100", "resistivity", "ohm m", Exact(100), "ohm m"),
    ("10000 ohm-cm", "resistivity", "ohm m", Exact(10_000), "ohm cm"),
    ("62.5 ohm·m", "resistivity", "ohm m", Exact("62.5"), "ohm m"),
    ("1.250", "number", "1", Exact(5, 4), "1"),
    ("150 ft-lb", "torque", "ft-lb", Exact(150), "ft-lb"),
    ("150 lb-ft", "torque", "ft-lb", Exact(150), "ft-lb"),
    ("203 N·m", "torque", "ft-lb", Exact(203), "N m"),
    ("203\u00a0N\u00a0m", "torque", "ft-lb", Exact(203), "N m"),
    ("1.5°", "angle", "deg", Exact(3, 2), "deg"),
    ("1 1/2 deg", "angle", "deg", Exact(3, 2), "deg"),
    ("6:1", "slope", "H:V", Exact(6), "H:V"),
    ("6 to 1", "slope", "H:V", Exact(6), "H:V"),
    ("10", "slope", "H:V", Exact(10), "H:V"),
    ("1:40", "ratio", "1:n", Exact(1, 40), "1:n"),
    ("2.5 %", "ratio", "1:n", Exact(5, 2), "%"),
    ("0", "ratio", "1:n", Exact(0), "1:n"),
    ("1.30", "ratio", "1", Exact("1.3"), "1"),
    ("75%", "percent", "%", Exact(75), "%"),
    ("95 °F", "temperature", "F", Exact(95), "F"),
    ("35 C", "temperature", "F", Exact(35), "C"),
    ("12 in/h", "rate", "in/h", Exact(12), "in/h"),
    ("0.2 lb/ft²/h", "rate", "in/h", Exact(1, 5), "lb/ft2/h"),
    ("8", "count", "", Exact(8), ""),
    ("90", "time", "min", Exact(90), "min"),
    ("1 d 4 h", "time", "h", Exact(7, 6), "d"),
    ("2 h 30 min", "time", "min", Exact(5, 2), "h"),
    ("1.45 yd³", "volume", "yd3", Exact("1.45"), "yd3"),
    ("5 gal", "volume", "yd3", Exact(5), "gal"),
    ("3420 psi", "pressure", "psi", Exact(3420), "psi"),
    ("20.7 MPa", "pressure", "psi", Exact("20.7"), "MPa"),
    ("1000 lbs", "mass", "lb", Exact(1000), "lb"),
    ("9000 lb", "force", "lbf", Exact(9000), "lbf"),
]


@pytest.mark.parametrize(("text", "kind", "unit", "value", "found"), READ)
def test_what_people_write_is_read(text, kind, unit, value, found):
    assert parse(text, kind, unit) == (value, found, text)


def test_bare_feet_and_inches_are_read_only_on_a_feet_inches_field():
    assert parse("8 1 7/16", "length", "in", notation="feet_inches").value == Exact(1559, 16)
    assert parse("8 1", "length", "in", notation="feet_inches").value == 97
    with pytest.raises(NotAReading):
        parse("8 1 7/16", "length", "in")


def test_one_number_and_a_fraction_on_a_feet_inches_field_is_questioned():
    with pytest.raises(NotAReading, match=r"Is it 8 ft 7/16 in, or 8 7/16 in\?") as found:
        parse("8 7/16", "length", "in", notation="feet_inches")
    values = [parse(each, "length", "in", notation="inches").value for each in found.value.suggestions]
    assert values == [Exact(1543, 16), Exact(135, 16)]


def test_inches_over_twelve_are_questioned_with_both_likely_readings():
    with pytest.raises(NotAReading) as found:
        parse("8 ft 13 7/16 in", "length", "in")
    assert found.value.message == "Inches run to 11 15/16. Is it 9 ft 1 7/16 in, or 8 ft 3 7/16 in?"
    assert found.value.suggestions == ("9 ft 1 7/16 in", "8 ft 3 7/16 in")


def test_twelve_inches_after_feet_are_questioned_and_less_is_not():
    with pytest.raises(NotAReading, match=r"Is it 9 ft 0 in, or 8 ft 2 in\?"):
        parse("8 ft 12 in", "length", "in")
    assert parse("8 ft 11 63/64 in", "length", "in").value == 108 - Exact(1, 64)


@pytest.mark.parametrize(("text", "offers"), [("2,436", ("2436", "2.436")), ("1,500 mm", ("1500 mm", "1.500 mm"))])
def test_a_comma_before_three_digits_is_questioned(text, offers):
    with pytest.raises(NotAReading, match="more than one way") as found:
        parse(text, "length", "mm")
    assert found.value.suggestions == offers


REFUSED = [
    "", " ", "x", "1_0", "1e3", "1E3", "nan", "inf", "-inf", "Infinity", "١٢", "１２", "²", "½", "⅛", "1/0", "1 9/8", "1 8/8",
    "1//8", "1/8/2", "3 kg", "2''6''8", "--3", "1.2.3", "8.5 ft 3 in", "12 12", "1" * 41, "3 in; 4 in",
]  # fmt: skip


@pytest.mark.parametrize("text", REFUSED)
def test_what_is_no_reading_is_refused_with_what_was_expected(text):
    with pytest.raises(NotAReading, match="Expected a length such as"):
        parse(text, "length", "in", signed=True)


@pytest.mark.parametrize("minus", ["-", "\u2212"])
def test_a_minus_needs_a_place_that_may_be_below_zero(minus):
    assert parse(f"{minus}1/2", "length", "in", signed=True).value == Exact(-1, 2)
    with pytest.raises(NotAReading, match="has a sign"):
        parse(f"{minus}1/2", "length", "in")


@pytest.mark.parametrize(
    ("text", "kind", "unit"),
    [
        ("2.5", "count", ""),
        ("6:0", "slope", "H:V"),
        ("40", "ratio", "1:n"),
        ("1:0", "ratio", "1"),
        ("5 %", "number", "1"),
        ("5 1", "number", "1"),
    ],
)
def test_figures_that_mean_nothing_in_their_kind_are_refused(text, kind, unit):
    with pytest.raises(NotAReading):
        parse(text, kind, unit)


def test_a_plain_number_may_be_below_zero_and_a_resistivity_has_two_units():
    assert parse("-0.5", "number", "1", signed=True).value == Exact(-1, 2)
    assert convert(10_000, "ohm cm", "ohm m") == 100


def test_a_kind_without_numbers_is_a_mistake_of_the_caller():
    with pytest.raises(ValueError, match="has no numbers"):
        parse("yes", "check", "")


@given(st.text(max_size=50))
def test_any_text_is_read_or_refused_and_never_breaks(text):
    for kind in ("length", "slope", "ratio", "time", "count", "torque"):
        try:
            found = parse(text, kind, KINDS[kind][0], notation="feet_inches")
        except NotAReading:
            continue
        assert found.value >= 0
        assert found.unit in KINDS[kind]


SHOWN = [
    (Exact(1559, 16), "in", "feet_inches", "8 ft 1 7/16 in"),
    (Exact(96), "in", "feet_inches", "8 ft 0 in"),
    (Exact(7, 16), "in", "feet_inches", "7/16 in"),
    (Exact(8), "ft", "feet_inches", "8 ft 0 in"),
    (Exact(3, 32), "in", "", "3/32 in"),
    (Exact(57, 4), "in", "", "14 1/4 in"),
    (Exact("13.98"), "in", "", "13.98 in"),
    (Exact(57, 4), "in", "decimal", "14.25 in"),
    (Exact(1, 3), "in", "", "0.333 in"),
    (Exact(0), "in", "", "0 in"),
    (Exact(-1, 4), "in", "", "-1/4 in"),
    (Exact(2436), "mm", "", "2,436 mm"),
    (Exact("3.175"), "mm", "", "3.175 mm"),
    (Exact(225), "ft-lb", "", "225 ft-lb"),
    (Exact(203), "N m", "", "203 N\u00a0m"),
    (Exact("0.31"), "deg", "", "0.31°"),
    (Exact(1, 96), "1:n", "", "1:96"),
    (Exact(10), "H:V", "", "10:1"),
    (Exact("5.1"), "%", "", "5.1 %"),
    (Exact(95), "F", "", "95 °F"),
    (Exact("1.45"), "yd3", "", "1.45 yd³"),
    (Exact(49, 6), "d", "", "8 d 4 h"),
    (Exact(7), "d", "", "7 d"),
    (Exact(8), "", "", "8"),
    (Exact(1, 10**7), "mm", "", "0.0000001 mm"),
]


@pytest.mark.parametrize(("value", "unit", "notation", "text"), SHOWN)
def test_values_are_written_as_the_trade_does(value, unit, notation, text):
    assert show(value, unit, notation) == text


# The pairs of the trade's tables, as inch-pound drawings give them beside each other; factors as above.
@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (150, "ft-lb", "203 N\u00a0m"),
        (250, "ft-lb", "339 N\u00a0m"),
        (Exact(1, 8), "in", "3.2 mm"),
        (14, "in", "356 mm"),
        (8, "ft", "2.44 m"),
        (95, "F", "35 °C"),
        (Exact("1.45"), "yd3", "1.11 m³"),
        (3000, "psi", "20.7 MPa"),
        (1000, "lb", "454 kg"),
        (12, "in/h", "305 mm/h"),
        (2436, "mm", "7 ft 11 29/32 in"),
        (Exact(1559, 16), "in", "2,475 mm"),
        (2, "deg", ""),
        (-10, "C", "14 °F"),
    ],
)
def test_the_other_unit_is_rounded_as_the_trade_does(value, unit, text):
    assert show_other(value, unit) == text


def test_systems_are_told_apart():
    assert same_system("in", "ft")
    assert not same_system("in", "mm")


@given(st.integers(0, 64 * 12 * 100), st.sampled_from(["inches", "feet_inches"]))
def test_every_64th_survives_being_written_and_read(sixty_fourths, notation):
    value = Exact(sixty_fourths, 64)
    text = show(value, "in", notation, grouped=False)
    assert parse(text, "length", "in", notation=notation).value == value


@given(
    st.decimals(0, 10**6, places=4), st.sampled_from(["mm", "ft", "m", "psi", "ft-lb", "N m", "F", "yd3", "lb", "deg"])
)
def test_four_decimals_survive_being_written_and_read(value, unit):
    kind = next(kind for kind, units in KINDS.items() if unit in units)
    found = parse(show(Exact(value), unit, grouped=False), kind, unit)
    assert (found.value, found.unit) == (Exact(value), unit)


@given(st.fractions(0, 10**5))
def test_nothing_above_zero_is_written_as_zero(value):
    assert (show(value, "mm") == "0 mm") == (value < Exact(5, 10**13))


@pytest.mark.parametrize(
    ("text", "feet"),
    [
        ("231+40.00", 23140),
        ("231+40", 23140),
        ("0+05.5", Exact("5.5")),
        ("23140", 23140),
        ("23140.5", Exact("23140.5")),
        (" 1+00 ", 100),
    ],
)
def test_stations_are_read(text, feet):
    assert parse_station(text) == feet


@pytest.mark.parametrize(
    "text",
    [
        "12+5",
        "12+050.0",
        "1_0",
        "١٢+٣٤",
        "12+34.",
        "12 + 34",
        "+34",
        "-1+00",
        "12+34+56",
        "1e3",
        "nan",
        "",
        "12,34",
        "231+40\n",
    ],
)
def test_what_is_no_station_is_refused(text):
    with pytest.raises(NotAReading, match=r"231\+40\.00"):
        parse_station(text)


@given(st.integers(0, 99_999_99))
def test_stations_survive_being_written_and_read(hundredths):
    assert parse_station(show_station(Exact(hundredths, 100))) == Exact(hundredths, 100)


@pytest.mark.parametrize(
    ("feet", "text"),
    [(23140, "231+40.00"), (Decimal("23939.996"), "239+40.00"), (Exact(99999, 1000), "1+00.00"), (0, "0+00.00")],
)
def test_stations_are_written_to_the_hundredth(feet, text):
    assert show_station(feet) == text


@pytest.mark.parametrize("feet", [Decimal("NaN"), Decimal("Infinity"), -1])
def test_impossible_stations_are_refused(feet):
    with pytest.raises(ValueError, match="station"):
        show_station(feet)


def test_the_datum_of_maturity_in_both_scales():
    # ST-S15: 14 F is −10 C, the datum of the temperature–time factor (ASTM C1074). Exact, NIST SP 811 B.8.
    assert convert(Exact(14), "F", "C") == -10
