"""The chart of single values with their moving ranges."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

from apps.calc.control.said import BEYOND, HANDBOOK, beyond_words, short
from apps.calc.errors import counted, finite
from apps.calc.registry import Input, Output, calculation
from apps.calc.working import Step
from apps.calc.working import number_text as text

D2_EXACT = 2 / math.sqrt(math.pi)
D3_EXACT = math.sqrt(2 - 4 / math.pi)
D4_EXACT = 1 + 3 * D3_EXACT / D2_EXACT
D2_TABLED, D4_TABLED = 1.128, 3.267
"""For ranges of two, as the NIST/SEMATECH e-Handbook prints and uses them in 6.3.2; exact 1.128379 and 3.2665."""
RUN = 8
"""Points in a row on one side of the centre that signal a shift: e-Handbook 6.3.2 (from memory)."""


@dataclass(frozen=True, slots=True)
class Individuals:
    """A chart of single values with its moving ranges, in the unit of the values."""

    centre: float
    upper: float
    lower: float
    mean_range: float
    range_upper: float
    ranges: tuple[float, ...]
    signals: tuple[int, ...]
    """Values beyond a limit, 1 for the first. A value on the limit is no signal."""
    range_signals: tuple[int, ...]
    """Values whose range from the one before is over its limit."""
    runs: tuple[int, ...]
    """Values that complete eight or more in a row on one side of the centre."""
    in_control: bool
    sentence: str
    working: tuple[Step, ...]


@calculation(
    "control.individuals",
    "Individuals and moving range chart",
    f"{HANDBOOK}, 6.3.2.2",
    inputs=(Input("values", "number", "1", "values in order of time, any one unit", many=True),),
    outputs=(
        Output("centre", "number", "1", "centre"),
        Output("upper", "number", "1", "upper limit"),
        Output("lower", "number", "1", "lower limit"),
        Output("range_upper", "number", "1", "limit of the moving range"),
    ),
    beyond=BEYOND,
    # NIST/SEMATECH e-Handbook 6.3.2.2, flow rates of ten batches
    example={"values": "49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1"},
)
def individuals(*, values: Sequence[float], exact_constants: bool = False) -> Individuals:
    """Return centre ± 3 MR̄/d2 of values in order of time, and D4 MR̄ for their moving ranges of two.

    Any one unit. Constants as tabled (1.128, 3.267), or exact: they differ in the fourth digit.
    Errors: CalcError on fewer than two values, NaN, infinity. Source: NIST/SEMATECH e-Handbook 6.3.2.2.

    >>> chart = individuals(values=[49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1])
    >>> round(chart.centre, 2), round(chart.upper, 3), round(chart.lower, 3)
    (50.81, 55.804, 45.816)
    """
    for each in counted("values", values, 2):
        finite("values", each)
    d2, d4 = (D2_EXACT, D4_EXACT) if exact_constants else (D2_TABLED, D4_TABLED)
    ranges = tuple(float(abs(later - earlier)) for earlier, later in pairwise(values))
    centre, mean_range = math.fsum(values) / len(values), math.fsum(ranges) / len(ranges)
    width, top = 3 * mean_range / d2, d4 * mean_range
    signals = tuple(at for at, each in enumerate(values, 1) if abs(each - centre) > width)
    range_signals = tuple(at for at, each in enumerate(ranges, 2) if each > top)
    runs = _runs(values, centre)
    mr, xbar = text(mean_range), text(centre)
    working = (
        Step("x̄", "Σ x / n", f"{text(math.fsum(values))} / {len(values)}", centre),
        Step("MR̄", "Σ |xᵢ − xᵢ₋₁| / (n − 1)", f"{text(math.fsum(ranges))} / {len(ranges)}", mean_range),
        Step("UCL", "x̄ + 3 MR̄ / d₂", f"{xbar} + 3 · {mr} / {text(d2)}", centre + width),
        Step("LCL", "x̄ − 3 MR̄ / d₂", f"{xbar} − 3 · {mr} / {text(d2)}", centre - width),
        Step("UCL_MR", "D₄ MR̄", f"{text(d4)} · {mr}", top),
    )
    ends = (centre - width, centre + width)
    return Individuals(
        centre=centre,
        upper=ends[1],
        lower=ends[0],
        mean_range=mean_range,
        range_upper=top,
        ranges=ranges,
        signals=signals,
        range_signals=range_signals,
        runs=runs,
        in_control=not (signals or range_signals or runs),
        sentence=_sentence(len(values), centre, ends, signals, range_signals, runs),
        working=working,
    )


def _sentence(
    count: int,
    centre: float,
    ends: tuple[float, float],
    signals: Sequence[int],
    ranges: Sequence[int],
    runs: Sequence[int],
) -> str:
    limits = f"{short(ends[0])} to {short(ends[1])}"
    said = [beyond_words("value", signals, f"beyond the limits {limits}")] if signals else []
    said += [beyond_words("value", ranges, "farther from the one before than chance explains")] if ranges else []
    said += (
        [beyond_words("value", runs, f"the eighth or later in a row on one side of {short(centre)}")] if runs else []
    )
    if said:
        return f"Signal: {'; '.join(said)}. Look for what was different there."
    return f"No signal: all {count} values stand within {limits}, about a centre of {short(centre)}."


def _runs(values: Sequence[float], centre: float) -> tuple[int, ...]:
    """Positions of the eighth and later values of every run on one side; a value on the centre ends a run."""
    found, at = [], 0
    for side, group in groupby(values, key=lambda each: (each > centre) - (each < centre)):
        length = len(list(group))
        if side:
            found += [at + place for place in range(RUN, length + 1)]
        at += length
    return tuple(found)
