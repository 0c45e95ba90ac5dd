"""Fresh concrete: evaporation, time to discharge, slump, temperature limits, water added on site, yield."""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import NamedTuple

from apps.calc.errors import CalcError, between, counted, finite, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.scales import FOOT, POUND, POUND_FORCE
from apps.calc.working import Step
from apps.calc.working import number_text as text

CAUTION = "Wet concrete burns skin and eyes: gloves, boots, glasses, and wash at once (warning carried by ASTM C94)."
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
    over, air = (saturation_kpa((each - 32) / 1.8) / PSI_IN_KPA for each in (concrete_f, air_f))
    working = (
        Step(
            "E",
            "(Tc^2.5 − r Ta^2.5)(1 + 0.4 V) · 10⁻⁶",
            f"({tc}^2.5 − {text(r)} · {ta}^2.5)(1 + 0.4 · {v}) · 10⁻⁶",
            uno,
            "lb/ft²/h",
        ),
        Step(
            "e₀, e_s",
            "saturation pressure at Tc and Ta",
            f"{tc} °F, {ta} °F",
            f"{text(over, 4)}, {text(air, 4)}",
            "psi",
        ),
        Step(
            "W",
            "0.44 (e₀ − r e_s)(0.253 + 0.096 V)",
            f"0.44 · ({text(over, 4)} − {text(r)} · {text(air, 4)})(0.253 + 0.096 · {v})",
            menzel,
            "lb/ft²/h",
        ),
        Step("rate", "the greater, 0 at least", f"max({text(uno)}, {text(menzel)}, 0)", rate, "lb/ft²/h"),
    )
    return Evaporation(rate, max(uno, 0.0), max(menzel, 0.0), rate > ACT_ABOVE, working)


class DischargeRule(NamedTuple):
    """The default of one span of editions of ASTM C94: minutes and drum revolutions, None where it sets none."""

    minutes: int | None
    revolutions: int | None


# ASTM C94/C94M by edition: revolutions went out with C94-13a (2013), the default time with C94-21.
DISCHARGE = {
    "to C94-13": DischargeRule(90, 300),
    "C94-13a to C94-20": DischargeRule(90, None),
    "C94-21 on": DischargeRule(None, None),
}


@dataclass(frozen=True, slots=True)
class Discharge:
    """Whether a load was discharged in time."""

    limit_minutes: float | None
    limit_revolutions: float | None
    within: bool | None
    """None: nobody stated a limit, so nothing can be said."""
    working: tuple[Step, ...]
    caution: str = CAUTION


@calculation(
    "fresh_concrete.discharge",
    "Time to discharge",
    "ASTM C94/C94M: 90 min and 300 revolutions to C94-13, 90 min to C94-20, the producer's stated limit from C94-21",
    inputs=(
        Input("minutes", "time", "min", "minutes from batching to the end of discharge", low=0),
        Input("edition", "choice", "", "edition of ASTM C94", choices=tuple(DISCHARGE)),
        Input("revolutions", "count", "", "drum revolutions", optional=True, low=0),
        Input("stated_minutes", "time", "min", "limit stated by purchaser or producer", optional=True, low=0),
        Input("stated_revolutions", "count", "", "limit stated by purchaser or producer", optional=True, low=0),
    ),
    outputs=(Output("limit_minutes", "time", "min", "limit that holds"),),
    caution=CAUTION,
)
def discharge(
    *,
    minutes: float,
    edition: str,
    revolutions: float | None = None,
    stated_minutes: float | None = None,
    stated_revolutions: float | None = None,
) -> Discharge:
    """Say whether a load was out in time [min] and revolutions under an edition's default or a stated limit.

    A stated limit takes the place of the default. On the limit is within (our choice: the standard says "within").
    Errors: CalcError on a negative value or an unknown edition.
    Source: ASTM C94/C94M by edition (read in trade notes on C94-13a and C94-21).

    >>> discharge(minutes=91, edition="to C94-13").within
    False
    """
    if edition not in DISCHARGE:
        raise CalcError("edition", f"expected one of {', '.join(DISCHARGE)}, got {edition!r}")
    not_negative("minutes", minutes)
    default = DISCHARGE[edition]
    time = default.minutes if stated_minutes is None else positive("stated_minutes", stated_minutes)
    turns = default.revolutions if stated_revolutions is None else positive("stated_revolutions", stated_revolutions)
    checks = []
    if time is not None:
        checks.append(("t", minutes, time, "min"))
    if turns is not None and revolutions is not None:
        checks.append(("n", not_negative("revolutions", revolutions), turns, "revolutions"))
    within = all(found <= limit for _, found, limit, _ in checks) if checks else None
    working = tuple(
        Step(symbol, f"{symbol} ≤ limit", f"{text(found)} ≤ {text(limit)}", found <= limit, unit)
        for symbol, found, limit, unit in checks
    )
    return Discharge(time, turns, within, working)


class Tolerance(NamedTuple):
    """What a measured value may be above and below the value ordered."""

    plus: Fraction
    minus: Fraction


def _exact(field: str, value: float | Fraction) -> Fraction:
    return value if isinstance(value, Fraction) else Fraction(finite(field, value))


def slump_tolerance(ordered_in: Fraction | float, *, as_maximum: bool = False) -> Tolerance:
    """Return the tolerance [in] on a slump ordered "about" a value, or as a maximum [in].

    About: to 2 in ±1/2, over 2 to 4 in ±1, over 4 in ±1 1/2. Maximum: to 3 in +0/−1 1/2, over 3 in +0/−2 1/2.
    Errors: CalcError on a slump of zero or less. Source: ASTM C94/C94M, slump tolerances (from memory).

    >>> slump_tolerance(4)
    Tolerance(plus=Fraction(1, 1), minus=Fraction(1, 1))
    """
    ordered = positive("ordered_in", _exact("ordered_in", ordered_in))
    if as_maximum:
        return Tolerance(Fraction(0), Fraction(3, 2) if ordered <= 3 else Fraction(5, 2))
    room = Fraction(1, 2) if ordered <= 2 else Fraction(1) if ordered <= 4 else Fraction(3, 2)
    return Tolerance(room, room)


def reported_slump(measured_in: float | Fraction) -> Fraction:
    """Return a slump [in] as it is reported, to the nearest 1/4 in, halves up.

    Errors: CalcError on a negative slump. Source: ASTM C143/C143M (rounding read in a trade note).

    >>> float(reported_slump(4.37))
    4.25
    """
    return Fraction(math.floor(4 * not_negative("measured_in", _exact("measured_in", measured_in)) + Fraction(1, 2)), 4)


def operators_agree(
    one_in: float | Fraction, other_in: float | Fraction, range_in: Fraction = Fraction(83, 100)
) -> bool:
    """Say whether two operators' slumps [in] of one sample lie within the multi-operator range.

    0.83 in is the range of an older precision statement; newer editions let it grow with slump (from memory).
    Errors: CalcError on a negative slump. Source: ASTM C143/C143M, older editions.

    >>> operators_agree(4, 4.75), operators_agree(4, 5)
    (True, False)
    """
    one, other = (not_negative("slump_in", _exact("slump_in", each)) for each in (one_in, other_in))
    return abs(one - other) <= range_in


HOTTEST_F = 95
"""°F at discharge, unless the mixture was qualified for more: ACI 305.1-14, 3.3.1; ACI 301-20."""


def coldest_f(section_in: float) -> int:
    """Return the lowest temperature [°F] of concrete as placed and kept, by the section's least dimension [in].

    Under 12 in 55, 12 to 36 in 50, over 36 to 72 in 45, thicker 40 °F.
    Errors: CalcError on a dimension of zero or less.
    Source: ACI 306R (55 and 50 read in Masonry and Concrete, 2004, fig. 3-37; 45 and 40 from memory).

    >>> coldest_f(24)
    50
    """
    section = positive("section_in", section_in)
    return 55 if section < 12 else 50 if section <= 36 else 45 if section <= 72 else 40


@dataclass(frozen=True, slots=True)
class Cooling:
    """How fast concrete cooled after its protection ended."""

    fastest_hour_f: float
    fastest_day_f: float
    within: bool
    working: tuple[Step, ...]


@calculation(
    "fresh_concrete.cooling",
    "Cooling after protection ends",
    "UFGS 03300, cold weather: at most 5 °F in any hour and 50 °F in any 24 hours",
    inputs=(
        Input("hours", "time", "h", "time of each reading, rising", many=True, low=0),
        Input("temperatures_f", "temperature", "F", "temperature at each", many=True, low=-40, high=200),
    ),
    outputs=(
        Output("fastest_hour_f", "ratio", "1", "greatest drop in an hour, °F"),
        Output("fastest_day_f", "ratio", "1", "greatest drop in 24 hours, °F"),
    ),
)
def cooling(*, hours: Sequence[float], temperatures_f: Sequence[float]) -> Cooling:
    """Return the greatest drop [°F] in any 1 h and any 24 h of a log (hours rising, °F), straight between readings.

    Errors: CalcError on fewer than two readings, lists of different length, hours that do not rise.
    Source: UFGS 03300, cold weather.

    >>> cooling(hours=[0, 10, 20], temperatures_f=[60, 30, 20]).within
    True
    """
    counted("temperatures_f", temperatures_f, len(counted("hours", hours, 2)), len(hours))
    for name, values in (("hours", hours), ("temperatures_f", temperatures_f)):
        for value in values:
            finite(name, value)
    if any(later <= earlier for earlier, later in itertools.pairwise(hours)):
        raise CalcError("hours", "the readings must be in order of time")
    hour, day = (_greatest_drop(hours, temperatures_f, span) for span in (1, 24))
    working = (
        Step("ΔT₁", "greatest drop in any 1 h, at most 5 °F", f"{len(hours)} readings", hour, "°F"),
        Step("ΔT₂₄", "greatest drop in any 24 h, at most 50 °F", f"{len(hours)} readings", day, "°F"),
    )
    return Cooling(hour, day, hour <= 5 + 1e-9 and day <= 50 + 1e-9, working)


def _greatest_drop(hours: Sequence[float], temperatures: Sequence[float], span: float) -> float:
    """The greatest drop within a window: at its ends lie readings, or points a whole window from one."""
    import numpy as np

    ends = np.union1d(hours, np.concatenate([np.asarray(hours) + span, np.asarray(hours) - span]))
    ends = ends[(ends >= hours[0]) & (ends <= hours[-1])]
    at = np.interp(ends, hours, temperatures)
    drops = [
        float(value - at[place : np.searchsorted(ends, ends[place] + span, side="right")].min())
        for place, value in enumerate(at)
    ]
    return max(drops)


def thermometer_due(*, verified_on: date, used_on: date) -> bool:
    """Say whether a thermometer's yearly verification is overdue on the day it is used.

    The anniversary itself is still in date. Errors: CalcError on use before verification.
    Source: ASTM C1064/C1064M (yearly; read in summaries).

    >>> thermometer_due(verified_on=date(2025, 3, 1), used_on=date(2026, 3, 2))
    True
    """
    if used_on < verified_on:
        raise CalcError("used_on", f"{used_on} is before the verification of {verified_on}")
    leap = (verified_on.month, verified_on.day) == (2, 29)
    next_year = date(verified_on.year + 1, 2, 28) if leap else verified_on.replace(year=verified_on.year + 1)
    return used_on > next_year


POUNDS_A_GALLON = 8.33
"""Water, lb/gal: as used in ASTM C94 and ACI mix proportioning (from memory)."""


@dataclass(frozen=True, slots=True)
class Water:
    """Water in a load after water was added on site."""

    ratio: float
    """Water to cementitious material, by mass."""
    gallons_left: float
    """What may still be added: the least of what the ratio and what the ticket allow, 0 at least."""
    within: bool
    working: tuple[Step, ...]
    caution: str = CAUTION


@calculation(
    "fresh_concrete.water",
    "Water added on site",
    "ASTM C94/C94M: no more than the water held back on the ticket; water-cement ratio by mass",
    inputs=(
        Input("batch_water_lb", "mass", "lb", "water batched, moisture of the aggregate included", low=0),
        Input("cementitious_lb", "mass", "lb", "cement and other cementitious material", low=0.01),
        Input("added_gal", "volume", "gal", "water added on site", low=0),
        Input("withheld_gal", "volume", "gal", "water held back on the ticket", low=0),
        Input("highest_ratio", "ratio", "1", "highest water-cementitious ratio", low=0.1, high=1.5),
    ),
    outputs=(
        Output("ratio", "ratio", "1", "water-cementitious ratio"),
        Output("gallons_left", "volume", "gal", "water that may still be added"),
    ),
    caution=CAUTION,
)
def water(
    *, batch_water_lb: float, cementitious_lb: float, added_gal: float, withheld_gal: float, highest_ratio: float
) -> Water:
    """Return the water-cementitious ratio of a load after water was added, and what may still be added [gal].

    All masses [lb] of the load. Errors: CalcError on a negative value, no cement, no ratio.
    Source: ASTM C94/C94M (one addition, not over the water withheld; from memory); 8.33 lb a gallon (from memory).

    >>> result = water(batch_water_lb=240, cementitious_lb=600, added_gal=2, withheld_gal=5, highest_ratio=0.45)
    >>> round(result.ratio, 4), round(result.gallons_left, 2)
    (0.4278, 1.6)
    """
    cement = positive("cementitious_lb", cementitious_lb)
    whole = not_negative("batch_water_lb", batch_water_lb) + POUNDS_A_GALLON * not_negative("added_gal", added_gal)
    by_ratio = (positive("highest_ratio", highest_ratio) * cement - whole) / POUNDS_A_GALLON
    by_ticket = not_negative("withheld_gal", withheld_gal) - added_gal
    left, shown = max(0.0, min(by_ratio, by_ticket)), text(added_gal)
    working = (
        Step("W", "batched + 8.33 · added", f"{text(batch_water_lb)} + 8.33 · {shown}", whole, "lb"),
        Step("w/cm", "W / C", f"{text(whole)} / {text(cement)}", whole / cement),
        Step(
            "by ratio",
            "((w/cm)_max C − W) / 8.33",
            f"({highest_ratio} · {text(cement)} − {text(whole)}) / 8.33",
            by_ratio,
            "gal",
        ),
        Step("by ticket", "withheld − added", f"{text(withheld_gal)} − {shown}", by_ticket, "gal"),
    )
    return Water(whole / cement, left, whole <= highest_ratio * cement and by_ticket >= 0, working)


@dataclass(frozen=True, slots=True)
class Yield:
    """Volume that a batch really makes."""

    volume_yd3: float
    relative: float | None
    """Over the volume ordered: below 1 the load is short. None without an order."""
    working: tuple[Step, ...]


@calculation(
    "fresh_concrete.yield",
    "Yield of a load",
    "ASTM C138/C138M: yield = mass of all materials batched / density",
    inputs=(
        Input("batch_lb", "mass", "lb", "mass of all materials batched", low=0.01),
        Input("density_pcf", "density", "lb/ft3", "measured density", low=50, high=300),
        Input("ordered_yd3", "volume", "yd3", "volume on the ticket", optional=True, low=0.01),
    ),
    outputs=(
        Output("volume_yd3", "volume", "yd3", "volume made"),
        Output("relative", "ratio", "1", "relative yield"),
    ),
)
def batch_yield(*, batch_lb: float, density_pcf: float, ordered_yd3: float | None = None) -> Yield:
    """Return the volume [yd³] that a batch [lb] of a measured density [lb/ft³] makes, and its share of the order.

    Errors: CalcError on a value of zero or less. Source: ASTM C138/C138M (formula from memory).

    >>> result = batch_yield(batch_lb=3915 * 8, density_pcf=145, ordered_yd3=8)
    >>> round(result.volume_yd3, 3), round(result.relative, 3)
    (8.0, 1.0)
    """
    volume = positive("batch_lb", batch_lb) / positive("density_pcf", density_pcf) / 27
    relative = None if ordered_yd3 is None else volume / positive("ordered_yd3", ordered_yd3)
    working = [Step("Y", "M / (27 D)", f"{text(batch_lb)} / (27 · {text(density_pcf)})", volume, "yd³")]
    if ordered_yd3 is not None:
        working.append(Step("R_y", "Y / Y_d", f"{text(volume)} / {text(ordered_yd3)}", relative))
    return Yield(volume, relative, tuple(working))
