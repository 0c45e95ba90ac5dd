"""Evaporation from a fresh surface, by two published formulas."""

import math
from dataclasses import dataclass

from apps.calc.errors import between, not_negative
from apps.calc.fresh_concrete.caution import CAUTION
from apps.calc.registry import Input, Output, calculation
from apps.calc.scales import FOOT, POUND, POUND_FORCE
from apps.calc.working import Step
from apps.calc.working import number_text as text

LB_FT2_IN_KG_M2 = float(POUND / FOOT**2)
"""1 lb/ft² in kg/m², 4.882 428."""
PSI_IN_KPA = float(POUND_FORCE / (FOOT / 12) ** 2 / 1000)
ACT_ABOVE = 0.2
"""lb/(ft² h): act above it. ACI 305R-91 (as quoted), UFGS 03300."""


def saturation_kpa(temperature_c: float) -> float:
    """Return the saturation pressure of water vapour [kPa] at a temperature [°C], Magnus form.

    Errors: CalcError outside -40 to 60 °C. Source: 0.61094 exp(17.625 T/(T + 243.04)), Alduchov and Eskridge, 1996.

    >>> round(saturation_kpa(20), 3)
    2.333
    """
    between("temperature_c", temperature_c, -40, 60)
    return 0.61094 * math.exp(17.625 * temperature_c / (temperature_c + 243.04))


def uno_us(*, concrete_f: float, air_f: float, humidity: float, wind_mph: float) -> float:
    """Return Uno's evaporation rate [lb/(ft² h)] as it comes, below zero when dew would fall.

    Temperatures [°F] from 0, humidity 0 to 1, wind [mph] 0.5 m above the surface. E = (Tc^2.5 − r Ta^2.5)(1 + 0.4 V)/10⁶.
    Errors: CalcError on a value out of range. Source: P. J. Uno, ACI Materials Journal 95-M34, 1998.

    >>> round(uno_us(concrete_f=87, air_f=80, humidity=0.5, wind_mph=12), 4)
    0.2435
    """
    for name, value in (("concrete_f", concrete_f), ("air_f", air_f)):
        between(name, value, 0, 140)
    between("humidity", humidity, 0, 1)
    return (
        (math.pow(concrete_f, 2.5) - humidity * math.pow(air_f, 2.5))
        * (1 + 0.4 * not_negative("wind_mph", wind_mph))
        * 1e-6
    )


def uno_si(*, concrete_c: float, air_c: float, humidity: float, wind_kmh: float, rounded: bool = True) -> float:
    """Return Uno's evaporation rate [kg/(m² h)] as it comes, below zero when dew would fall.

    The published SI form has rounded constants and gives about 4 % less than the US form; `rounded=False` uses the
    constants that agree with it (5.275, 17.778, 4.02336). Temperatures [°C] from −17.7, humidity 0 to 1, wind [km/h].
    Errors: CalcError on a value out of range. Source: P. J. Uno, ACI Materials Journal 95-M34, 1998.

    >>> round(uno_si(concrete_c=31, air_c=27, humidity=0.5, wind_kmh=19), 4)
    1.1517
    """
    factor, shift, calm = (5.0, 18.0, 4.0) if rounded else (5.275, 160 / 9, 4.02336)
    for name, value in (("concrete_c", concrete_c), ("air_c", air_c)):
        between(name, value, -17.7, 60)
    between("humidity", humidity, 0, 1)
    rise = math.pow(concrete_c + shift, 2.5) - humidity * math.pow(air_c + shift, 2.5)
    return factor * rise * (not_negative("wind_kmh", wind_kmh) + calm) * 1e-6


def menzel_us(*, concrete_f: float, air_f: float, humidity: float, wind_mph: float) -> float:
    """Return Menzel's evaporation rate [lb/(ft² h)], the basis of the ACI 305R nomograph, as it comes.

    W = 0.44 (e0 − r es)(0.253 + 0.096 V), vapour pressures [psi]. Arguments and errors: as `uno_us`.
    Source: C. A. Menzel, 1954, in ACI 305R (constants from memory).

    >>> round(menzel_us(concrete_f=87, air_f=80, humidity=0.5, wind_mph=12), 4)
    0.2357
    """
    for name, value in (("concrete_f", concrete_f), ("air_f", air_f)):
        between(name, value, 0, 140)
    over, air = (saturation_kpa((each - 32) / 1.8) / PSI_IN_KPA for each in (concrete_f, air_f))
    return (
        0.44 * (over - between("humidity", humidity, 0, 1) * air) * (0.253 + 0.096 * not_negative("wind_mph", wind_mph))
    )


def menzel_si(*, concrete_c: float, air_c: float, humidity: float, wind_kmh: float) -> float:
    """Return Menzel's evaporation rate [kg/(m² h)] by the SI form in circulation, 0.315 (e0 − r es)(0.253 + 0.060 V).

    Exact conversion of the US form has 0.3116 and 0.0597, 1.1 % less. Arguments and errors: as `uno_si`.
    Source: C. A. Menzel, 1954, in ACI 305R (constants from memory).

    >>> round(menzel_si(concrete_c=30, air_c=25, humidity=0.5, wind_kmh=20), 3)
    1.216
    """
    over, air = saturation_kpa(concrete_c), saturation_kpa(air_c)
    return (
        0.315
        * (over - between("humidity", humidity, 0, 1) * air)
        * (0.253 + 0.060 * not_negative("wind_kmh", wind_kmh))
    )


@dataclass(frozen=True, slots=True)
class Evaporation:
    """Evaporation from a fresh surface, by two published formulas."""

    rate_lb_ft2_h: float
    """The greater of the two, never below zero."""
    uno_lb_ft2_h: float
    menzel_lb_ft2_h: float
    act: bool
    """Over 0.2 lb/(ft² h): fog, wind break, evaporation retarder."""
    sentence: str
    working: tuple[Step, ...]
    caution: str = CAUTION


@calculation(
    "fresh_concrete.evaporation",
    "Evaporation from a fresh surface",
    "P. J. Uno, ACI Materials Journal 95-M34, 1998; Menzel as in ACI 305R; limit ACI 305R-91",
    inputs=(
        Input("concrete_f", "temperature", "F", "concrete temperature", low=32, high=140),
        Input("air_f", "temperature", "F", "air temperature", low=0, high=140),
        Input("humidity_percent", "percent", "%", "relative humidity", low=0, high=100),
        Input("wind_mph", "speed", "mph", "wind, 20 in above the surface", low=0, high=100),
    ),
    outputs=(Output("rate_lb_ft2_h", "rate", "lb/ft2/h", "evaporation rate"),),
    caution=CAUTION,
    beyond=(
        "That the surface will crack, or will not: bleed water decides as well, and the true rate can lie 40 % to either side "
        "(Hover, ACI SP-338, 2020)."
    ),
    # Worked example on the ACI 305R-99 nomograph, read there as 0.25 (tests/calc/test_fresh_concrete.py, FC-S01; from memory).
    example={"concrete_f": "87 F", "air_f": "80 F", "humidity_percent": "50 %", "wind_mph": "12 mph"},
)
def evaporation(*, concrete_f: float, air_f: float, humidity_percent: float, wind_mph: float) -> Evaporation:
    """Return the evaporation rate [lb/(ft² h)] from concrete [°F] under air [°F], humidity [%] and wind [mph].

    Zero stands where dew would fall. Hover (ACI SP-338, 2020) puts true against estimated rates at up to ±40 %.
    Errors: CalcError naming a value out of range. Source: Uno 1998; Menzel in ACI 305R; limit ACI 305R-91.

    >>> result = evaporation(concrete_f=87, air_f=80, humidity_percent=50, wind_mph=12)
    >>> round(result.rate_lb_ft2_h, 4), result.act
    (0.2435, True)
    """
    r = between("humidity_percent", humidity_percent, 0, 100) / 100
    uno = uno_us(concrete_f=concrete_f, air_f=air_f, humidity=r, wind_mph=wind_mph)
    menzel = menzel_us(concrete_f=concrete_f, air_f=air_f, humidity=r, wind_mph=wind_mph)
    rate = max(uno, menzel, 0.0)
    tc, ta, v = text(concrete_f), text(air_f), text(wind_mph)
    over, air = (text(saturation_kpa((each - 32) / 1.8) / PSI_IN_KPA, 4) for each in (concrete_f, air_f))
    by_uno = f"({tc}^2.5 − {text(r)} · {ta}^2.5)(1 + 0.4 · {v}) · 10^-6"
    by_menzel = f"0.44 · ({over} − {text(r)} · {air})(0.253 + 0.096 · {v})"
    working = (
        Step("E", "(Tc^2.5 − r Ta^2.5)(1 + 0.4 V) · 10^-6", by_uno, uno, "lb/ft²/h"),
        Step("e0, e_s", "saturation pressure at Tc and Ta", f"{tc} °F, {ta} °F", f"{over}, {air}", "psi"),
        Step("W", "0.44 (e0 − r e_s)(0.253 + 0.096 V)", by_menzel, menzel, "lb/ft²/h"),
        Step("rate", "the greater, 0 at least", f"max({text(uno)}, {text(menzel)}, 0)", rate, "lb/ft²/h"),
    )
    act = rate > ACT_ABOVE
    return Evaporation(rate, max(uno, 0.0), max(menzel, 0.0), act, _sentence(rate), working)


def _sentence(rate: float) -> str:
    """Say the rate against the limit; a rate just over it is not written as the limit itself."""
    if rate == 0:
        return "Within the limit: nothing evaporates, dew would fall."
    digits = next((each for each in (3, 4, 5) if float(text(rate, each)) != ACT_ABOVE), 6)
    rest = text(abs(rate - ACT_ABOVE), 2)
    found = f"{text(rate, digits)} lb/ft²/h evaporates"
    if rate > ACT_ABOVE:
        return (
            f"Over the limit by {rest}: {found}, {text(ACT_ABOVE)} is the limit. "
            "Fog, a wind break or an evaporation retarder before the surface is left."
        )
    return f"Within the limit: {found}, {text(ACT_ABOVE)} is the limit." if float(rest) else f"At the limit: {found}."
