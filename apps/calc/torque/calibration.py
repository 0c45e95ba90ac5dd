"""Torque wrenches: deviation from the reference device, and when a wrench is due again."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from apps.calc.errors import CalcError, between, counted, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.scales import convert
from apps.calc.working import Step
from apps.calc.working import number_text as text

SMALL_NM = 10
"""Up to this torque a setting wrench of type II class A may be 6 % off, above it 4 %: ISO 6789-1:2017, as quoted."""
SMALL_FTLB = float(convert(SMALL_NM, "N m", "ft-lb"))


@dataclass(frozen=True, slots=True)
class WrenchCheck:
    """Deviation of a torque wrench from the reference device, reading by reading."""

    deviations_percent: tuple[float, ...]
    limits_percent: tuple[float, ...]
    worst_percent: float
    """The deviation farthest from zero, with its sign: below zero the wrench gives more than it is set to."""
    within: bool
    sentence: str
    working: tuple[Step, ...]


@calculation(
    "torque.wrench",
    "Deviation of a torque wrench",
    "ISO 6789-1:2017; limit of a setting wrench with scale (type II class A) as quoted in a maker's manual",
    inputs=(
        Input("set_ftlb", "torque", "ft-lb", "what the wrench is set to or shows", many=True, low=0, exact=True),
        Input("reference_ftlb", "torque", "ft-lb", "what the calibration device reads", many=True, low=0, exact=True),
        Input("limit_percent", "percent", "%", "permitted deviation (absent: type II class A)", optional=True, low=0.1),
    ),
    outputs=(
        Output("worst_percent", "percent", "%", "worst deviation"),
        Output("deviations_percent", "percent", "%", "deviations, in order"),
        Output("limits_percent", "percent", "%", "limit of each"),
    ),
    beyond=(
        "That the wrench is in date, or was right when it was used before. It does not replace a calibration by a laboratory."
    ),
    # Set 200 N m, reference 205 N m: inside 4 %, ISO 6789 type II class A as quoted in a maker's manual
    # (tests/calc/test_torque.py, TQ-S02); the other two readings are invented.
    example={"set_ftlb": "40 N m, 120 N m, 200 N m", "reference_ftlb": "40.5 N m, 121 N m, 205 N m"},
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
        limits.append(limit_at(set_to, limit_percent))
        numbers = f"({text(set_to)} − {text(read)}) / {text(read)} · 100"
        working.append(Step("d", "(set − reference) / reference · 100", numbers, float(100 * exact), "%"))
    within = all(abs(each) <= limit for each, limit in zip(deviations, limits, strict=True))
    worst = max(deviations, key=abs)
    said = _sentence(set_ftlb, deviations, limits, within)
    return WrenchCheck(tuple(map(float, deviations)), tuple(limits), float(worst), within, said, tuple(working))


def limit_at(torque_ftlb: float, own_percent: float | None = None) -> float:
    """Return the permitted deviation [%] at a torque [ft-lb]: type II class A, or an own one. CalcError at zero or less.

    Source: ISO 6789-1:2017, limits as quoted in a maker's manual.

    >>> limit_at(5), limit_at(100), limit_at(100, 1.5)
    (6.0, 4.0, 1.5)
    """
    if own_percent is not None:
        return positive("limit_percent", own_percent)
    return 6.0 if convert(Fraction(torque_ftlb), "ft-lb", "N m") <= SMALL_NM else 4.0


def _sentence(set_to: Sequence[float], deviations: Sequence[Fraction], limits: Sequence[float], within: bool) -> str:
    """Name the reading that stands nearest to its limit, or farthest beyond it."""
    at = max(range(len(limits)), key=lambda each: abs(deviations[each]) / Fraction(limits[each]))
    off, most = deviations[at], text(limits[at])
    gives = (
        "gives more than it is set to"
        if off < 0
        else "gives less than it is set to"
        if off > 0
        else "gives what it is set to"
    )
    reading = f"Set to {text(set_to[at], 4)} ft-lb it {gives}, off by {text(abs(off), 3)} %"
    if within:
        return f"Conforms. {reading}, within {most} %."
    return (
        f"Nonconforming. {reading}, over {most} %. Take the wrench out of use until it is adjusted and checked again."
    )


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
