"""Earned schedule: when the plan meant to be where the work is now."""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

from apps.calc.errors import CalcError, counted, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.schedule.said import short
from apps.calc.working import Step, number_text


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
    sentence: str
    working: tuple[Step, ...]


@calculation(
    "schedule.earned_schedule",
    "Earned schedule",
    "W. Lipke, earned schedule: ES = C + (EV − PV_C) / (PV_C+1 − PV_C), as in Lipke and Henderson's training slides",
    inputs=(
        Input("planned", "number", "1", "cumulative planned value at the end of each period", many=True, low=0),
        Input("earned", "number", "1", "earned value now", low=0),
        Input("periods", "number", "1", "periods since the start", low=0),
    ),
    outputs=(
        Output("spi_t", "number", "1", "schedule performance index in time"),
        Output("variance_periods", "number", "1", "ahead, in periods; under zero: late"),
        Output("forecast_periods", "number", "1", "duration forecast, in periods"),
    ),
    beyond="That the rest goes as the work so far did. It sees one curve, not which work stands in the way.",
    # computed from Lipke's definition: ES 2.75, SPI(t) 0.6875, forecast 8.727 periods; the plan is invented
    example={"planned": "10, 25, 45, 70, 90, 100", "earned": "40", "periods": "4"},
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
    said = _sentence(es - at, duration, forecast)
    return EarnedSchedule(es, es - at, spi_t, float(duration), forecast, said, working)


def _sentence(variance: float, duration: int, forecast: float | None) -> str:
    if abs(variance) < 1e-9:
        said = "Just where the plan has it."
    else:
        said = f"{short(abs(variance))} periods {'ahead of' if variance > 0 else 'behind'} the plan."
    if forecast is None:
        return f"{said} Nothing is earned yet, so nothing is foretold."
    return f"{said} At this rate all is done after {short(forecast)} periods instead of {duration}."


def _check_plan(planned: Sequence[float]) -> None:
    counted("planned", planned, 1)
    for value in planned:
        not_negative("planned", value)
    if any(later < earlier for earlier, later in itertools.pairwise(planned)):
        raise CalcError("planned", "a cumulative plan never falls")
    if planned[-1] == 0:
        raise CalcError("planned", "the plan has no value at all")
