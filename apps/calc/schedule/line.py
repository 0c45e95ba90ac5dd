"""A flow line without variation, in closed form: the simulation is checked against it."""

from collections.abc import Sequence
from dataclasses import dataclass

from apps.calc.errors import CalcError, counted, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.schedule.said import days as day_count
from apps.calc.working import Step, number_text


@dataclass(frozen=True, slots=True)
class FlowLine:
    """A line of stages without variation: when the first and the last foundation leave it, in days."""

    first_out: float
    last_out: float
    bottleneck: int
    """Stage with the longest work, 1 for the first."""
    sentence: str
    working: tuple[Step, ...]


@calculation(
    "schedule.flow_line",
    "First and last foundation out of a line without variation",
    "Recursion of a flow line with unlimited room between stations; last out = Σp + Σlag + (N − 1) max p",
    inputs=(
        Input("days", "time", "d", "work of each stage on one foundation", many=True, low=0),
        Input("lags", "time", "d", "days after each stage before the next may begin", many=True, low=0),
        Input("foundations", "count", "", "foundations", low=1),
    ),
    outputs=(Output("first_out", "time", "d", "first out"), Output("last_out", "time", "d", "last out")),
    beyond="A forecast: real work varies, and variation only ever makes the last foundation later than this.",
    # recursion of a flow line, computed: first out 14.5 days, last out 52.5; the days are invented
    example={"days": "1, 2, 1.5, 1, 0.5, 0.5", "lags": "0, 0, 1, 7, 0, 0", "foundations": "20"},
)
def flow_line(*, days: Sequence[float], lags: Sequence[float], foundations: int) -> FlowLine:
    """Return when the first and last of N foundations leave a line with one crew a stage. Days; no variation.

    The lag after the last stage delays nothing that is counted here, so leave it 0 or read `last_out` as released.
    An equal rhythm is the case of equal days: T = (N + n - 1) K + total lag.

    Errors: CalcError on lists of different length, no stage, no foundation, a negative time.
    Source: flow line recursion (C. Hopp and M. Spearman, Factory Physics, treat its limits); closed form derived.

    >>> result = flow_line(days=[1, 2, 1.5, 1, 0.5, 0.5], lags=[0, 0, 1, 7, 0, 0], foundations=20)
    >>> result.first_out, result.last_out, result.bottleneck
    (14.5, 52.5, 2)
    """
    counted("lags", lags, len(counted("days", days, 1)), len(days))
    for name, values in (("days", days), ("lags", lags)):
        for value in values:
            not_negative(name, value)
    if foundations != int(positive("foundations", foundations)):
        raise CalcError("foundations", f"expected a whole number, got {foundations}")
    longest = max(days)
    first = float(sum(days) + sum(lags))
    last = first + (foundations - 1) * longest
    worked, waited = " + ".join(map(number_text, days)), " + ".join(map(number_text, lags))
    working = (
        Step("T₁", "Σ p + Σ lag", f"({worked}) + ({waited})", first, "d"),
        Step(
            "T_N",
            "T₁ + (N − 1) · max p",
            f"{number_text(first)} + ({number_text(foundations)} − 1) · {number_text(longest)}",
            last,
            "d",
        ),
    )
    bottleneck = list(days).index(longest) + 1
    return FlowLine(first, last, bottleneck, _sentence(first, last, bottleneck, longest, foundations), working)


def _sentence(first: float, last: float, bottleneck: int, longest: float, foundations: float) -> str:
    said = f"The first foundation is out after {day_count(first)}"
    if foundations == 1:
        return f"{said}."
    return (
        f"{said}, the last of {foundations:,.0f} after {day_count(last)}. Stage {bottleneck} sets the pace: one every "
        f"{day_count(longest)}."
    )
