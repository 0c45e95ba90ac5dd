"""Anchor bolts and the wrench: stress area, preload from torque, pretension, tightening order, wrench deviation.

What is written here for double-nut joints (pretension, turn of nut, verification torque) is not for a breakaway base
seated on its concrete: there the base maker's torque rules, because the base was crash-tested with it.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import NamedTuple

from apps.calc.errors import CalcError, between, counted, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.scales import convert
from apps.calc.working import Step
from apps.calc.working import number_text as text

CAUTION = (
    "A bolt that lets go throws the wrench and the hand: pull steadily, stand clear of its path, no cheater bar. "
    "On a breakaway base the base maker's torque rules."
)


class Grade(NamedTuple):
    """An anchor rod grade of ASTM F1554: strengths [ksi] and the colour of its end."""

    yield_ksi: float
    tensile_low_ksi: float
    tensile_high_ksi: float
    colour: str
    pretension: float
    """Share of the least tensile strength for a double-nut joint: AISC Design Guide 1, 2nd ed., Table A1."""


# ASTM F1554: yield, tensile range, colour (read in two independent summaries that agree).
GRADES = {
    "36": Grade(36, 58, 80, "blue", 0.50),
    "55": Grade(55, 75, 95, "yellow", 0.60),
    "105": Grade(105, 125, 150, "red", 0.60),
}

# ASME B1.1, coarse threads (UNC): nominal diameter [in] and threads per inch.
COARSE = {
    Fraction(1, 2): 13.0,
    Fraction(5, 8): 11.0,
    Fraction(3, 4): 10.0,
    Fraction(7, 8): 9.0,
    Fraction(1): 8.0,
    Fraction(9, 8): 7.0,
    Fraction(5, 4): 7.0,
    Fraction(11, 8): 6.0,
    Fraction(3, 2): 6.0,
    Fraction(7, 4): 5.0,
    Fraction(2): 4.5,
    Fraction(9, 4): 4.5,
    Fraction(5, 2): 4.0,
}

# zipfastener.com engineering data. Other handbooks differ (zinc 0.20 to 0.295), so the factor is always an input.
NUT_FACTORS = {
    "dry steel": (0.18, 0.27),
    "machine oil": (0.10, 0.26),
    "cadmium": (0.15, 0.19),
    "phosphate and oil": (0.15, 0.22),
    "zinc": (0.17, 0.35),
}
VERIFICATION_FACTOR = 0.12
"""Tv = 0.12 D Fi: FHWA NHI 05-036 (2005), chapter 6, and the AASHTO LTS commentary (relation from memory)."""
SNUG_SHARES = (0.20, 0.30)
"""Snug, of the verification torque: Wisconsin DOT form DT2321 (6/2016), steps 5 to 7."""
STEEPEST = Fraction(1, 40)
"""Lean of a rod in a double-nut joint: DT2321 steps 2 and 4; AISC Design Guide 1, Table A2 footnote."""


def threads_per_inch(diameter_in: float | Fraction) -> float:
    """Return the coarse threads per inch of a nominal diameter [in]. CalcError on a size that the table lacks.

    Source: ASME B1.1, coarse series.

    >>> threads_per_inch(0.75)
    10.0
    """
    size = Fraction(positive("diameter_in", float(diameter_in))).limit_denominator(64)
    if size not in COARSE:
        raise CalcError("diameter_in", f"no coarse thread of {diameter_in} in is listed; give the threads per inch")
    return COARSE[size]


def stress_area(diameter_in: float, threads: float) -> float:
    """Return the tensile stress area At = π/4 (D − 0.9743/n)² [in²] of a nominal diameter [in] and threads per inch.

    Errors: CalcError on a value of zero or less, or a thread deeper than the bolt. Source: ASME B1.1.

    >>> round(stress_area(1, 8), 3)
    0.606
    """
    core = positive("diameter_in", diameter_in) - 0.9743 / positive("threads", threads)
    if core <= 0:
        raise CalcError("threads", f"a thread of {threads} per inch leaves nothing of a {diameter_in} in bolt")
    return math.pi / 4 * core**2


def torque_for(*, preload_lbf: float, diameter_in: float, nut_factor: float) -> float:
    """Return the torque T = K D F [ft-lb] for a preload [lbf], diameter [in] and nut factor.

    Errors: CalcError on a value of zero or less. Source: common bolting formula, e.g. Bickford.

    >>> round(torque_for(preload_lbf=4940, diameter_in=0.375, nut_factor=0.20), 1)
    30.9
    """
    positive("preload_lbf", preload_lbf)
    return positive("nut_factor", nut_factor) * positive("diameter_in", diameter_in) * preload_lbf / 12


@dataclass(frozen=True, slots=True)
class Preload:
    """Preload of a bolt under a torque, between the ends of the nut factor's range."""

    low_lbf: float
    high_lbf: float
    stress_area_in2: float
    highest_yield_ratio: float | None
    """Stress at the high end over the grade's yield; None without a grade."""
    working: tuple[Step, ...]
    caution: str = CAUTION


@calculation(
    "torque.preload",
    "Preload that a torque gives",
    "T = K D F; stress area ASME B1.1; nut factors zipfastener.com engineering data",
    inputs=(
        Input("torque_ftlb", "torque", "ft-lb", "torque", low=0),
        Input("diameter_in", "length", "in", "nominal diameter", low=0.2, high=6),
        Input("low_factor", "ratio", "1", "lowest nut factor K", default=0.18, low=0.05, high=1),
        Input("high_factor", "ratio", "1", "highest nut factor K", default=0.27, low=0.05, high=1),
        Input("threads", "ratio", "1", "threads per inch (absent: coarse)", optional=True, low=1, high=80),
        Input("grade", "choice", "", "grade, ASTM F1554", optional=True, choices=tuple(GRADES)),
    ),
    outputs=(
        Output("low_lbf", "force", "lbf", "least preload"),
        Output("high_lbf", "force", "lbf", "greatest preload"),
        Output("highest_yield_ratio", "ratio", "1", "greatest stress over yield"),
    ),
    caution=CAUTION,
)
def preload(
    *,
    torque_ftlb: float,
    diameter_in: float,
    low_factor: float = 0.18,
    high_factor: float = 0.27,
    threads: float | None = None,
    grade: str | None = None,
) -> Preload:
    """Return the range of preload [lbf] that a torque [ft-lb] can mean, F = T/(K D), for a range of nut factors.

    The same torque gives twice the preload on an oiled thread: that is why a range comes back and not a number.
    Errors: CalcError on a value of zero or less, factors the wrong way round, an unknown grade or thread.
    Source: T = K D F, common bolting formula; stress area ASME B1.1; F1554 strengths.

    >>> result = preload(torque_ftlb=150, diameter_in=1)
    >>> round(result.low_lbf), round(result.high_lbf)
    (6667, 10000)
    """
    not_negative("torque_ftlb", torque_ftlb)
    if positive("low_factor", low_factor) > positive("high_factor", high_factor):
        raise CalcError("low_factor", f"{low_factor} is over the highest factor, {high_factor}")
    if grade is not None and grade not in GRADES:
        raise CalcError("grade", f"expected one of {', '.join(GRADES)}, got {grade!r}")
    n = threads_per_inch(diameter_in) if threads is None else threads
    area = stress_area(diameter_in, n)
    low, high = (12 * torque_ftlb / (factor * diameter_in) for factor in (high_factor, low_factor))
    ratio = None if grade is None else high / 1000 / area / GRADES[grade].yield_ksi
    shown = f"12 · {text(torque_ftlb)}"
    working = [
        Step("A_t", "π/4 (D − 0.9743/n)²", f"π/4 · ({text(diameter_in)} − 0.9743/{text(n)})²", area, "in²"),
        Step("F_low", "12 T / (K_high D)", f"{shown} / ({high_factor} · {text(diameter_in)})", low, "lbf"),
        Step("F_high", "12 T / (K_low D)", f"{shown} / ({low_factor} · {text(diameter_in)})", high, "lbf"),
    ]
    if grade is not None:
        numbers = f"{text(high / 1000)} / {text(area)} / {GRADES[grade].yield_ksi}"
        working.append(Step("f / F_y", "F_high / A_t / F_y", numbers, ratio))
    return Preload(low, high, area, ratio, tuple(working))


def pretension_kip(diameter_in: float, grade: str, threads: float | None = None) -> float:
    """Return the least pretension [kip, unrounded] of an F1554 rod in a double-nut joint: 0.50 or 0.60 Fu At.

    The printed table rounds to a kip. Errors: CalcError on an unknown grade or thread.
    Source: AISC Design Guide 1, 2nd ed., Table A1, p. 52.

    >>> round(pretension_kip(1, "55"), 2)
    27.26
    """
    if grade not in GRADES:
        raise CalcError("grade", f"expected one of {', '.join(GRADES)}, got {grade!r}")
    area = stress_area(diameter_in, threads_per_inch(diameter_in) if threads is None else threads)
    return GRADES[grade].pretension * GRADES[grade].tensile_low_ksi * area


def nut_rotation_deg(diameter_in: float, grade: str) -> float:
    """Return the turn of the nut past snug [degrees; tolerance +20] of a coarse-thread rod in a double-nut joint.

    To 1 1/2 in: grade 36 one sixth of a turn, 55 and 105 one third; thicker: half of that (for grade 36 from memory).
    Errors: CalcError on an unknown grade or a diameter of zero. Source: AISC Design Guide 1, 2nd ed., Table A2.

    >>> nut_rotation_deg(1, "36"), nut_rotation_deg(1, "105")
    (60.0, 120.0)
    """
    if grade not in GRADES:
        raise CalcError("grade", f"expected one of {', '.join(GRADES)}, got {grade!r}")
    turn = 60.0 if grade == "36" else 120.0
    return turn if positive("diameter_in", diameter_in) <= 1.5 else turn / 2


def tightening_order(count: int) -> tuple[int, ...]:
    """Return the order in which to tighten bolts numbered 1 to n round the circle, each as nearly opposite as can be.

    Even n: opposite pairs, each next pair as far as possible from those done. Odd n: a star.
    Errors: CalcError on fewer than three bolts. Source: crisscross rule, common practice, no source.

    >>> tightening_order(4), tightening_order(8)
    ((1, 3, 2, 4), (1, 5, 3, 7, 2, 6, 4, 8))
    """
    if isinstance(count, bool) or not isinstance(count, int) or count < 3:
        raise CalcError("count", f"expected a whole number of bolts, three at least, got {count!r}")
    half = count // 2
    if count % 2:
        return tuple(at * half % count + 1 for at in range(count))
    done = [0]
    while len(done) < half:
        left = (at for at in range(half) if at not in done)
        done.append(max(left, key=lambda at: (min(_apart(at, each, half) for each in done), -at)))
    return tuple(bolt for at in done for bolt in (at + 1, at + 1 + half))


def _apart(one: int, other: int, half: int) -> int:
    """How far two diameters are apart, in steps of the circle, either way round."""
    return min((one - other) % half, (other - one) % half)


@dataclass(frozen=True, slots=True)
class DoubleNut:
    """How a double-nut joint is tightened and verified."""

    pretension_kip: float
    """Rounded to a kip, as the table prints it."""
    verification_ftlb: float
    snug_low_ftlb: float
    snug_high_ftlb: float
    rotation_deg: float
    order: tuple[int, ...]
    working: tuple[Step, ...]
    caution: str = CAUTION


@calculation(
    "torque.double_nut",
    "Tightening and verifying a double-nut joint",
    "AISC Design Guide 1, 2nd ed., Tables A1 and A2; FHWA NHI 05-036 chapter 6; Wisconsin DOT DT2321 (6/2016)",
    inputs=(
        Input("diameter_in", "length", "in", "nominal diameter", low=0.2, high=6),
        Input("grade", "choice", "", "grade, ASTM F1554", choices=tuple(GRADES)),
        Input("count", "count", "", "bolts", default=4, low=3, high=24),
        Input("threads", "ratio", "1", "threads per inch (absent: coarse)", optional=True, low=1, high=80),
    ),
    outputs=(
        Output("verification_ftlb", "torque", "ft-lb", "verification torque"),
        Output("rotation_deg", "angle", "deg", "turn past snug"),
    ),
    caution=CAUTION,
)
def double_nut(*, diameter_in: float, grade: str, count: float = 4, threads: float | None = None) -> DoubleNut:
    """Return pretension [kip], snug and verification torque [ft-lb], turn past snug [deg] and the order of the bolts.

    For joints with levelling nuts, not for a breakaway base on concrete. Snug is 20 to 30 % of the verification torque,
    both nuts, in star order, two full cycles; verify within days and again after about 48 hours (from memory).
    Errors: CalcError on an unknown grade, size or count. Source: see the parts.

    >>> result = double_nut(diameter_in=1, grade="55")
    >>> result.pretension_kip, round(result.verification_ftlb, 1), result.order
    (27.0, 270.0, (1, 3, 2, 4))
    """
    if count != int(count):
        raise CalcError("count", f"expected a whole number, got {count}")
    exact = pretension_kip(diameter_in, grade, threads)
    force = float(math.floor(exact + 0.5))
    verify = torque_for(preload_lbf=1000 * force, diameter_in=diameter_in, nut_factor=VERIFICATION_FACTOR)
    low, high = (share * verify for share in SNUG_SHARES)
    rotation, strength = nut_rotation_deg(diameter_in, grade), GRADES[grade]
    area = exact / strength.pretension / strength.tensile_low_ksi
    working = (
        Step(
            "F_i",
            "share · F_u · A_t, to a kip",
            f"{strength.pretension} · {strength.tensile_low_ksi} · {text(area)}",
            force,
            "kip",
        ),
        Step("T_v", "0.12 D F_i", f"0.12 · {text(diameter_in)} · {text(1000 * force)} / 12", verify, "ft-lb"),
        Step(
            "snug",
            "20 to 30 % of T_v",
            f"0.20 · {text(verify)} to 0.30 · {text(verify)}",
            f"{text(low)} to {text(high)}",
            "ft-lb",
        ),
        Step("turn", "past snug, +20°", f"grade {grade}, {text(diameter_in)} in", rotation, "deg"),
    )
    return DoubleNut(force, verify, low, high, rotation, tightening_order(int(count)), working)


def rod_stands_true(*, lean_in: float, length_in: float, standoff_in: float, diameter_in: float) -> bool:
    """Say whether a rod of a double-nut joint leans at most 1:40 and its lower nut is within one diameter of concrete.

    Lean over a length, stand-off to the underside of the lower nut and rod diameter, all [in].
    Errors: CalcError on a negative lean or stand-off, a length or diameter of zero.
    Source: Wisconsin DOT DT2321 (6/2016), steps 2 and 4; AISC Design Guide 1, 2nd ed., Table A2 footnote.

    >>> rod_stands_true(lean_in=0.25, length_in=10, standoff_in=1, diameter_in=1)
    True
    """
    slope = Fraction(not_negative("lean_in", lean_in)) / Fraction(positive("length_in", length_in))
    return slope <= STEEPEST and not_negative("standoff_in", standoff_in) <= positive("diameter_in", diameter_in)


@dataclass(frozen=True, slots=True)
class WrenchCheck:
    """Deviation of a torque wrench from the reference device, reading by reading."""

    deviations_percent: tuple[float, ...]
    limits_percent: tuple[float, ...]
    worst_percent: float
    """The deviation farthest from zero, with its sign: below zero the wrench gives more than it is set to."""
    within: bool
    working: tuple[Step, ...]


@calculation(
    "torque.wrench",
    "Deviation of a torque wrench",
    "ISO 6789-1:2017; limit of a setting wrench with scale (type II class A) as quoted in a maker's manual",
    inputs=(
        Input("set_ftlb", "torque", "ft-lb", "what the wrench is set to or shows", many=True, low=0),
        Input("reference_ftlb", "torque", "ft-lb", "what the calibration device reads", many=True, low=0),
        Input("limit_percent", "percent", "%", "permitted deviation (absent: type II class A)", optional=True, low=0.1),
    ),
    outputs=(Output("worst_percent", "percent", "%", "worst deviation"),),
)
def wrench(
    *, set_ftlb: Sequence[float], reference_ftlb: Sequence[float], limit_percent: float | None = None
) -> WrenchCheck:
    """Return the deviation (set − reference)/reference [%] of each reading [ft-lb] and whether all are permitted.

    Type II class A: ±6 % to 10 N m, ±4 % above; other types and classes have their own limits: give `limit_percent`.
    Check at 20, 60 and 100 % of the largest value, reference within 1 %, 18 to 28 °C. On the limit is within.
    Errors: CalcError on no reading, lists of different length, a torque of zero or less.
    Source: ISO 6789-1:2017 (limits as quoted in a maker's manual).

    >>> result = wrench(set_ftlb=[200], reference_ftlb=[205])
    >>> round(result.worst_percent, 3), result.within
    (-2.439, True)
    """
    counted("reference_ftlb", reference_ftlb, len(counted("set_ftlb", set_ftlb, 1)), len(set_ftlb))
    deviations, limits, working = [], [], []
    for set_to, read in zip(set_ftlb, reference_ftlb, strict=True):
        exact = Fraction(positive("set_ftlb", set_to)) / Fraction(positive("reference_ftlb", read)) - 1
        deviations.append(100 * exact)
        small = convert(Fraction(set_to), "ft-lb", "N m") <= 10
        limits.append((6.0 if small else 4.0) if limit_percent is None else positive("limit_percent", limit_percent))
        numbers = f"({text(set_to)} − {text(read)}) / {text(read)} · 100"
        working.append(Step("d", "(set − reference) / reference · 100", numbers, float(100 * exact), "%"))
    within = all(abs(each) <= limit for each, limit in zip(deviations, limits, strict=True))
    worst = max(deviations, key=abs)
    return WrenchCheck(tuple(map(float, deviations)), tuple(limits), float(worst), within, tuple(working))


def calibration_due(
    *,
    calibrated_on: date,
    used_on: date,
    cycles: int = 0,
    overload_percent: float = 0.0,
    own_months: int | None = None,
    own_cycles: int | None = None,
) -> bool:
    """Say whether a torque wrench is due: 12 months or 5,000 cycles, whichever first, or an overload of over 25 %.

    A user's own control procedure (`own_months`, `own_cycles`) takes the place of both defaults. The anniversary itself
    is still in date; the day after is due.
    Errors: CalcError on use before calibration, negative cycles or months.
    Source: ISO 6789-1:2017 defaults (read in calibration houses' summaries).

    >>> calibration_due(calibrated_on=date(2026, 1, 10), used_on=date(2026, 4, 10), cycles=5000)
    True
    """
    if used_on < calibrated_on:
        raise CalcError("used_on", f"{used_on} is before the calibration of {calibrated_on}")
    not_negative("cycles", cycles)
    own = own_months is not None or own_cycles is not None
    months, most = (own_months, own_cycles) if own else (12, 5000)
    late = months is not None and used_on > add_months(calibrated_on, int(positive("own_months", months)))
    worn = most is not None and cycles >= positive("own_cycles", most)
    return late or worn or not_negative("overload_percent", overload_percent) > 25


def add_months(day: date, months: int) -> date:
    """Return the same day of the month some months later, or the month's last day where that day does not exist.

    >>> add_months(date(2024, 2, 29), 12)
    datetime.date(2025, 2, 28)
    """
    between("months", months, 1, 1200)
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    for last in (day.day, 30, 29, 28):
        try:
            return date(year, month + 1, min(day.day, last))
        except ValueError:
            continue
    raise CalcError("months", f"no such day {months} months after {day}")
