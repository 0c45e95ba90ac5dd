"""Earned value: planned, earned and actual at one date, and what they foretell."""

import math
from dataclasses import dataclass

from apps.calc.errors import not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.schedule.said import short
from apps.calc.working import Step, number_text


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
    sentence: str
    working: tuple[Step, ...]


def _ratio(over: float, under: float) -> float | None:
    return over / under if under else None


@calculation(
    "schedule.earned_value",
    "Earned value",
    "ANSI/EIA-748, terms as on the DAU earned value Gold Card; ISO 21508",
    inputs=(
        Input("planned", "number", "1", "planned value to date, PV", low=0),
        Input("earned", "number", "1", "earned value to date, EV", low=0),
        Input("actual", "number", "1", "actual cost to date, AC", low=0),
        Input("budget", "number", "1", "budget at completion, BAC", low=0),
    ),
    outputs=(
        Output("spi", "number", "1", "schedule performance index"),
        Output("cpi", "number", "1", "cost performance index"),
        Output("estimate_at_completion", "number", "1", "estimate at completion"),
    ),
    beyond="When it will be done, or whether the work earned conforms: it compares sums. A cost over the plan says nothing of "
    "its reason.",
    # R. Mulcahy, fence exercise (studylib.net/doc/5898152): SPI 0.833, CPI 0.893, about 4480 at completion
    example={"planned": "3000", "earned": "2500", "actual": "2800", "budget": "4000"},
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
    said = _sentence(earned - planned, earned - actual, at_completion, budget)
    return EarnedValue(earned - planned, earned - actual, spi, cpi, at_completion, left, variance, tcpi, said, working)


def _sentence(schedule: float, cost: float, at_completion: float | None, budget: float) -> str:
    late = _side(schedule, "ahead of the plan", "behind the plan", "On the plan")
    dear = _side(cost, "under its cost", "over its cost", "at its cost")
    said = f"{late}, and {dear}."
    if at_completion is None:
        return f"{said} Nothing is earned yet, so nothing is foretold."
    over = _side(budget - at_completion, "under", "over", "just")
    return f"{said} At this rate it comes to {short(at_completion)}, {over} the budget of {short(budget)}."


def _side(difference: float, above: str, below: str, level: str) -> str:
    if math.isclose(difference, 0, abs_tol=1e-9):
        return level
    return f"{short(abs(difference))} {above if difference > 0 else below}"
