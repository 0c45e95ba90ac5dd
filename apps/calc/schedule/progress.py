"""How far the work is: weighted percent complete, earned value, earned schedule."""

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from apps.calc.errors import CalcError, counted, finite, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.working import Step, number_text


def percent_complete(released: Mapping[str, int], foundations: int, weights: Mapping[str, int | Fraction]) -> Fraction:
    """Return the weighted percent complete, exactly, 0 to 100.

    `released` counts the foundations released at each stage (a stage left out counts none), `foundations` all that
    are to be built (an abandoned one leaves the total, so leave it out of both), `weights` gives each stage its share
    in any unit: only the proportions count. No foundations at all: 0.

    Errors: CalcError on a count below zero or over the foundations, a stage without a weight, weights that sum to 0.
    Source: common practice, no source.

    >>> percent_complete({"drill": 2, "pour": 1}, 4, {"drill": 40, "pour": 60})
    Fraction(35, 1)
    """
    _whole("foundations", foundations)
    shares = {stage: not_negative("weights", _exact("weights", weight)) for stage, weight in weights.items()}
    for stage in shares:
        _whole(f"released[{stage}]", released.get(stage, 0))
    for stage, count in released.items():
        if stage not in weights:
            raise CalcError("released", f"stage {stage!r} has no weight; weights are given for {', '.join(weights)}")
        if count > foundations:
            raise CalcError("released", f"{count} released at {stage}, but there are {foundations} foundations")
    whole = sum(shares.values(), Fraction(0))
    if whole == 0:
        raise CalcError("weights", "at least one stage must weigh something")
    if foundations == 0:
        return Fraction(0)
    earned = sum((shares[stage] * count for stage, count in released.items()), Fraction(0))
    return 100 * earned / (whole * foundations)


def _whole(field: str, value: int) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise CalcError(field, f"expected a whole number, got {value!r}")
    return not_negative(field, value)


@dataclass(frozen=True, slots=True)
class WeightedProgress:
    """Weighted percent complete with its working."""

    percent: Fraction
    working: tuple[Step, ...]


@calculation(
    "schedule.progress",
    "Weighted percent complete",
    "Common practice, no source",
    inputs=(
        Input("released", "count", "", "foundations released at each stage, in work order", many=True, low=0),
        Input("weights", "ratio", "1", "weight of each stage, in work order", many=True, low=0),
        Input("foundations", "count", "", "foundations to be built, abandoned ones left out", low=0),
    ),
    outputs=(Output("percent", "percent", "%", "complete"),),
)
def weighted_progress(
    *, released: Sequence[int], weights: Sequence[int | Fraction], foundations: int
) -> WeightedProgress:
    """Return `percent_complete` of stages given in work order, with the working. Units: counts; percent 0 to 100.

    Errors: CalcError when the two lists differ in length, and those of `percent_complete`.
    Source: common practice, no source.

    >>> weighted_progress(released=[2, 1], weights=[40, 60], foundations=4).percent
    Fraction(35, 1)
    """
    counted("weights", weights, len(released), len(released))
    counts = {str(at): _as_whole("released", count) for at, count in enumerate(released)}
    shares = {str(at): _exact("weights", weight) for at, weight in enumerate(weights)}
    total = _as_whole("foundations", foundations)
    percent = percent_complete(counts, total, shares)
    earned = " + ".join(f"{number_text(shares[at])} × {counts[at]}" for at in counts)
    whole = f"({' + '.join(number_text(share) for share in shares.values())}) × {total}"
    step = Step("p", "100 · Σ wᵢ nᵢ / (Σ wᵢ · N)", f"100 · ({earned}) / ({whole})", percent, "%")
    return WeightedProgress(percent, (step,))


def _exact(field: str, value: float | Fraction) -> Fraction:
    return value if isinstance(value, Fraction) else Fraction(finite(field, value))


def _as_whole(field: str, value: float | Fraction) -> int:
    exact = _exact(field, value)
    if exact.denominator != 1:
        raise CalcError(field, f"expected a whole number, got {value}")
    return int(exact)


@dataclass(frozen=True, slots=True)
class EarnedValue:
    """Earned value at one date; money (or any one unit) as given. A ratio without a denominator is None."""

    schedule_variance: float
    cost_variance: float
    spi: float | None
    """Schedule performance index: over 1 is ahead of the plan."""
    cpi: float | None
    """Cost performance index: over 1 is under the cost."""
    estimate_at_completion: float | None
    estimate_to_complete: float | None
    variance_at_completion: float | None
    tcpi: float | None
    """The cost index that the rest of the work must reach to finish within the budget."""
    working: tuple[Step, ...]


def _ratio(over: float, under: float) -> float | None:
    return over / under if under else None


@calculation(
    "schedule.earned_value",
    "Earned value",
    "ANSI/EIA-748, terms as on the DAU earned value Gold Card; ISO 21508",
    inputs=(
        Input("planned", "ratio", "1", "planned value to date, PV", low=0),
        Input("earned", "ratio", "1", "earned value to date, EV", low=0),
        Input("actual", "ratio", "1", "actual cost to date, AC", low=0),
        Input("budget", "ratio", "1", "budget at completion, BAC", low=0),
    ),
    outputs=(
        Output("spi", "ratio", "1", "schedule performance index"),
        Output("cpi", "ratio", "1", "cost performance index"),
        Output("estimate_at_completion", "ratio", "1", "estimate at completion"),
    ),
)
def earned_value(*, planned: float, earned: float, actual: float, budget: float) -> EarnedValue:
    """Return variances, indices and estimates at completion from planned, earned and actual value to date.

    All four in one unit (money, or foundations, or hours). SPI = EV/PV, CPI = EV/AC, EAC = BAC/CPI, ETC = EAC - AC,
    VAC = BAC - EAC, TCPI = (BAC - EV)/(BAC - AC). Nothing is rounded on the way.

    Errors: CalcError on a negative value or a budget of zero.
    Source: ANSI/EIA-748 and ISO 21508 terms, formulas as on the DAU Gold Card.

    >>> result = earned_value(planned=3000, earned=2500, actual=2800, budget=4000)
    >>> round(result.spi, 4), round(result.cpi, 4), round(result.estimate_at_completion)
    (0.8333, 0.8929, 4480)
    """
    for name, value in (("planned", planned), ("earned", earned), ("actual", actual)):
        not_negative(name, value)
    positive("budget", budget)
    spi, cpi = _ratio(earned, planned), _ratio(earned, actual)
    at_completion = budget / cpi if cpi else None
    left = None if at_completion is None else at_completion - actual
    variance = None if at_completion is None else budget - at_completion
    tcpi = _ratio(budget - earned, budget - actual)
    pv, ev, ac, bac, eac = (number_text(each) for each in (planned, earned, actual, budget, at_completion))
    working = (
        Step("SV", "EV − PV", f"{ev} − {pv}", earned - planned),
        Step("CV", "EV − AC", f"{ev} − {ac}", earned - actual),
        Step("SPI", "EV / PV", f"{ev} / {pv}", spi),
        Step("CPI", "EV / AC", f"{ev} / {ac}", cpi),
        Step("EAC", "BAC / CPI", f"{bac} / {number_text(cpi)}", at_completion),
        Step("ETC", "EAC − AC", f"{eac} − {ac}", left),
        Step("VAC", "BAC − EAC", f"{bac} − {eac}", variance),
        Step("TCPI", "(BAC − EV) / (BAC − AC)", f"({bac} − {ev}) / ({bac} − {ac})", tcpi),
    )
    return EarnedValue(earned - planned, earned - actual, spi, cpi, at_completion, left, variance, tcpi, working)


@dataclass(frozen=True, slots=True)
class EarnedSchedule:
    """Earned schedule: when the plan meant to be where the work is now. All in periods of the plan."""

    earned_periods: float
    variance_periods: float
    """Earned less actual: below zero is late."""
    spi_t: float
    planned_periods: float
    forecast_periods: float | None
    """Independent estimate at completion, None while nothing is earned."""
    working: tuple[Step, ...]


@calculation(
    "schedule.earned_schedule",
    "Earned schedule",
    "W. Lipke, earned schedule: ES = C + (EV − PV_C) / (PV_C+1 − PV_C), as in Lipke and Henderson's training slides",
    inputs=(
        Input("planned", "ratio", "1", "cumulative planned value at the end of each period", many=True, low=0),
        Input("earned", "ratio", "1", "earned value now", low=0),
        Input("periods", "ratio", "1", "periods since the start", low=0),
    ),
    outputs=(
        Output("spi_t", "ratio", "1", "schedule performance index in time"),
        Output("forecast_periods", "ratio", "1", "duration forecast, in periods"),
    ),
)
def earned_schedule(*, planned: Sequence[float], earned: float, periods: float) -> EarnedSchedule:
    """Return earned schedule, SPI(t), SV(t) and the forecast duration, in periods of the plan.

    `planned` is cumulative, one value at the end of each period, never falling; the plan's duration is the first
    period that reaches its last value. `earned` in the same unit, at most the plan's total; `periods` is the actual
    time since the start (AT).

    Errors: CalcError on an empty or falling plan, a plan of nothing, earned over the total, a time of zero or less.
    Source: W. Lipke, earned schedule (formula read in Lipke and Henderson's training slides).

    >>> result = earned_schedule(planned=[10, 25, 45, 70, 90, 100], earned=40, periods=4)
    >>> result.earned_periods, result.spi_t, round(result.forecast_periods, 4)
    (2.75, 0.6875, 8.7273)
    """
    _check_plan(planned)
    positive("periods", periods)
    if not_negative("earned", earned) > planned[-1]:
        raise CalcError("earned", f"{earned} is over the plan's total of {planned[-1]}")
    curve = [0.0, *map(float, planned)]
    duration = curve.index(curve[-1])
    whole = min(max(at for at, value in enumerate(curve) if value <= earned), duration)
    before, after = curve[whole], curve[min(whole + 1, duration)]
    part = (float(earned) - before) / (after - before) if after > before else 0.0
    es, at = whole + part, float(periods)
    spi_t = es / at
    forecast = duration / spi_t if spi_t else None
    numbers = (
        f"{whole} + ({number_text(earned)} − {number_text(before)}) / ({number_text(after)} − {number_text(before)})"
    )
    working = (
        Step("ES", "C + (EV − PV_C) / (PV_C+1 − PV_C)", numbers if part else str(whole), es, "periods"),
        Step("SV(t)", "ES − AT", f"{number_text(es)} − {number_text(at)}", es - at, "periods"),
        Step("SPI(t)", "ES / AT", f"{number_text(es)} / {number_text(at)}", spi_t),
        Step("IEAC(t)", "PD / SPI(t)", f"{duration} / {number_text(spi_t)}", forecast, "periods"),
    )
    return EarnedSchedule(es, es - at, spi_t, float(duration), forecast, working)


def _check_plan(planned: Sequence[float]) -> None:
    counted("planned", planned, 1)
    for value in planned:
        not_negative("planned", value)
    if any(later < earlier for earlier, later in itertools.pairwise(planned)):
        raise CalcError("planned", "a cumulative plan never falls")
    if planned[-1] == 0:
        raise CalcError("planned", "the plan has no value at all")
