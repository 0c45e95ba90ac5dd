"""Units of measurement as exact fractions: which units a kind has, and how one turns into another. No text here.

Factors: NIST SP 811 (2008), appendix B.8 and B.9. Where it names the definition the exact number is used: inch 25.4 mm,
pound 0.453 592 37 kg and standard gravity 9.806 65 m/s2, gallon 231 cubic inches. Everything else is built from these.
US survey foot 1200/3937 m: NIST SP 811, B.6; retired for new work at the end of 2022 (Federal Register 85 FR 62698),
so it is used only where a drawing names it.
"""

from fractions import Fraction
from typing import NamedTuple

INCH = Fraction(254, 10_000)  # m, exact: NIST SP 811 B.6
FOOT = 12 * INCH
POUND = Fraction(45_359_237, 100_000_000)  # kg, exact: NIST SP 811 B.8
GRAVITY = Fraction(980_665, 100_000)  # m/s2, exact: CGPM 1901, in NIST SP 811 B.8
POUND_FORCE = POUND * GRAVITY  # N
GALLON = 231 * INCH**3  # m3, exact: NIST SP 811 B.6

US, SI, BOTH = "US", "SI", ""


class Unit(NamedTuple):
    """A unit: value in the base of its dimension = value * factor + zero."""

    name: str
    dimension: str
    factor: Fraction
    system: str
    other: str
    """The unit of the other system that a page shows beside it; empty: none."""
    spellings: tuple[str, ...]
    sign: str = ""
    """As a page writes it after a number; empty: the name."""
    zero: Fraction = Fraction(0)


def _unit(
    name: str, dimension: str, factor: Fraction | int, system: str, other: str, words: str, sign: str = ""
) -> Unit:
    return Unit(name, dimension, Fraction(factor), system, other, tuple(filter(None, words.split(","))), sign)


_TABLE = (
    _unit("in", "length", INCH, US, "mm", 'in,in.,inch,inches,"'),
    _unit("ft", "length", FOOT, US, "m", "ft,ft.,foot,feet,'"),
    _unit("mm", "length", Fraction(1, 1000), SI, "in", "mm,millimetre,millimetres,millimeter,millimeters"),
    _unit("cm", "length", Fraction(1, 100), SI, "in", "cm,centimetre,centimetres,centimeter,centimeters"),
    _unit("m", "length", 1, SI, "ft", "m,metre,metres,meter,meters"),
    _unit("us_survey_ft", "length", Fraction(1200, 3937), US, "m", "us survey ft,us survey foot", "US survey ft"),
    _unit("deg", "angle", 1, BOTH, "", "deg,degree,degrees,°", "°"),
    _unit("H:V", "slope", 1, BOTH, "", "h:v"),
    _unit("1", "ratio", 1, BOTH, "", ""),
    _unit("1:n", "ratio", 1, BOTH, "", ""),
    _unit("%", "ratio", Fraction(1, 100), BOTH, "", "%,percent"),
    _unit("in/h", "rise", INCH, US, "mm/h", 'in/h,in/hr,"/h,inches per hour'),
    _unit("ft/h", "rise", FOOT, US, "m/h", "ft/h,ft/hr"),
    _unit("mm/h", "rise", Fraction(1, 1000), SI, "in/h", "mm/h,mm/hr"),
    _unit("m/h", "rise", 1, SI, "ft/h", "m/h"),
    _unit("lb/ft2/h", "evaporation", POUND / FOOT**2, US, "kg/m2/h", "lb/ft2/h,lb/ft²/h,lb/ft2/hr", "lb/ft²/h"),
    _unit("kg/m2/h", "evaporation", 1, SI, "lb/ft2/h", "kg/m2/h,kg/m²/h", "kg/m²/h"),
    _unit("s", "time", 1, BOTH, "", "s,sec,second,seconds"),
    _unit("min", "time", 60, BOTH, "", "min,min.,minute,minutes"),
    _unit("h", "time", 3600, BOTH, "", "h,hr,hrs,hour,hours"),
    _unit("d", "time", 86_400, BOTH, "", "d,day,days"),
    _unit("C", "temperature", 1, SI, "F", "c,°c,degc,deg c", "°C"),
    # t/C = (t/F - 32) / 1.8: NIST SP 811 B.8, affine.
    _unit("F", "temperature", Fraction(5, 9), US, "C", "f,°f,degf,deg f", "°F")._replace(zero=Fraction(-160, 9)),
    _unit("yd3", "volume", 27 * FOOT**3, US, "m3", "yd3,yd³,cu yd,cy,yard,yards", "yd³"),
    _unit("ft3", "volume", FOOT**3, US, "m3", "ft3,ft³,cu ft,cf", "ft³"),
    _unit("gal", "volume", GALLON, US, "L", "gal,gal.,gallon,gallons"),
    _unit("m3", "volume", 1, SI, "yd3", "m3,m³", "m³"),
    _unit("L", "volume", Fraction(1, 1000), SI, "gal", "l,litre,litres,liter,liters"),
    _unit("lb", "mass", POUND, US, "kg", "lb,lb.,lbs,pound,pounds"),
    _unit("kg", "mass", 1, SI, "lb", "kg,kilogram,kilograms"),
    _unit("psi", "pressure", POUND_FORCE / INCH**2, US, "MPa", "psi,lb/in2"),
    _unit("ksi", "pressure", 1000 * POUND_FORCE / INCH**2, US, "MPa", "ksi"),
    _unit("psf", "pressure", POUND_FORCE / FOOT**2, US, "kPa", "psf,lb/ft2"),
    _unit("kPa", "pressure", 1000, SI, "psi", "kpa"),
    _unit("MPa", "pressure", 1_000_000, SI, "psi", "mpa,n/mm2"),
    _unit("ft-lb", "torque", POUND_FORCE * FOOT, US, "N m", "ft-lb,ft lb,ft·lb,ftlb,lb-ft,lb ft,ft-lbf,lbf-ft,ft-lbs"),
    _unit("in-lb", "torque", POUND_FORCE * INCH, US, "N m", "in-lb,in lb,in·lb,lb-in"),
    # The space does not break: some faces lose the dot of N·m at small sizes.
    _unit("N m", "torque", 1, SI, "ft-lb", "n m,n·m,nm,n-m,n*m", "N\u00a0m"),
    _unit("lbf", "force", POUND_FORCE, US, "N", "lbf,lb,lbs,pounds"),
    _unit("kip", "force", 1000 * POUND_FORCE, US, "kN", "kip,kips"),
    _unit("N", "force", 1, SI, "lbf", "n,newton,newtons"),
    _unit("kN", "force", 1000, SI, "kip", "kn"),
    _unit("in2", "area", INCH**2, US, "mm2", "in2,in²,sq in", "in²"),
    _unit("ft2", "area", FOOT**2, US, "m2", "ft2,ft²,sq ft", "ft²"),
    _unit("mm2", "area", Fraction(1, 1_000_000), SI, "in2", "mm2,mm²", "mm²"),
    _unit("m2", "area", 1, SI, "ft2", "m2,m²", "m²"),
    _unit("mph", "speed", 5280 * FOOT / 3600, US, "m/s", "mph,mi/h"),
    _unit("m/s", "speed", 1, SI, "mph", "m/s"),
    _unit("km/h", "speed", Fraction(1000, 3600), SI, "mph", "km/h,kph"),
    _unit("lb/ft3", "density", POUND / FOOT**3, US, "kg/m3", "lb/ft3,lb/ft³,pcf", "lb/ft³"),
    _unit("kg/m3", "density", 1, SI, "lb/ft3", "kg/m3,kg/m³", "kg/m³"),
    _unit("ohm", "resistance", 1, BOTH, "", "ohm,ohms"),
    _unit("ohm m", "resistivity", 1, BOTH, "", "ohm m,ohm-m,ohm·m,ohm metre,ohm metres,ohm meter,ohm meters"),
    _unit("ohm cm", "resistivity", Fraction(1, 100), BOTH, "", "ohm cm,ohm-cm,ohm·cm"),
    _unit("V", "voltage", 1, BOTH, "", "v,volt,volts"),
    _unit("A", "current", 1, BOTH, "", "a,amp,amps,ampere,amperes"),
    _unit("", "count", 1, BOTH, "", ""),
)
UNITS: dict[str, Unit] = {unit.name: unit for unit in _TABLE}

WORDLESS = ("choice", "check", "text")
"""Kinds that carry no number and no unit."""

KINDS: dict[str, tuple[str, ...]] = {
    "length": ("in", "ft", "mm", "cm", "m", "us_survey_ft"),
    "angle": ("deg",),
    "slope": ("H:V",),
    "ratio": ("1", "%", "1:n"),
    "number": ("1",),
    "percent": ("%",),
    "rate": ("in/h", "ft/h", "mm/h", "m/h", "lb/ft2/h", "kg/m2/h"),
    "count": ("",),
    "time": ("min", "h", "d", "s"),
    "temperature": ("F", "C"),
    "volume": ("yd3", "ft3", "m3", "gal", "L"),
    "mass": ("lb", "kg"),
    "pressure": ("psi", "ksi", "psf", "kPa", "MPa"),
    "torque": ("ft-lb", "in-lb", "N m"),
    "force": ("lbf", "kip", "N", "kN"),
    "area": ("in2", "ft2", "mm2", "m2"),
    "speed": ("mph", "m/s", "km/h"),
    "density": ("lb/ft3", "kg/m3"),
    "resistance": ("ohm",),
    "resistivity": ("ohm m", "ohm cm"),
    "voltage": ("V",),
    "current": ("A",),
    **dict.fromkeys(WORDLESS, ()),
}
"""Every kind of reading with the units that it may be written in, the usual one first."""


def _named(unit: str) -> Unit:
    try:
        return UNITS[unit]
    except KeyError:
        raise ValueError(f"unknown unit {unit!r}; known are {', '.join(sorted(filter(None, UNITS)))}") from None


def _pair(from_unit: str, to_unit: str) -> tuple[Unit, Unit]:
    source, target = _named(from_unit), _named(to_unit)
    if source.dimension != target.dimension:
        raise ValueError(
            f"{from_unit or 'a count'} is {source.dimension}, {to_unit or 'a count'} is {target.dimension}"
        )
    return source, target


def convert(value: Fraction | int, from_unit: str, to_unit: str) -> Fraction:
    """Return the same quantity in another unit, exactly: convert(Fraction(1, 8), "in", "mm") is 127/40. ValueError."""
    source, target = _pair(from_unit, to_unit)
    return (Fraction(value) * source.factor + source.zero - target.zero) / target.factor


def convert_difference(value: Fraction | int, from_unit: str, to_unit: str) -> Fraction:
    """Convert a margin or a tolerance: like convert, but 9 °F of difference are 5 °C: no zero point. ValueError."""
    source, target = _pair(from_unit, to_unit)
    return Fraction(value) * source.factor / target.factor


def same_system(one: str, two: str) -> bool:
    """Say whether two units of one dimension belong to the same system, US customary or SI."""
    return _named(one).system == _named(two).system
