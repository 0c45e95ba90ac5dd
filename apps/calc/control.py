"""Control charts and Pareto: individuals and moving range, p, np, c and u charts. Control limits are not requirements."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

from apps.calc.errors import CalcError, counted, finite, not_negative, positive
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
HANDBOOK = "NIST/SEMATECH e-Handbook of Statistical Methods"


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
    working: tuple[Step, ...]


@calculation(
    "control.individuals",
    "Individuals and moving range chart",
    f"{HANDBOOK}, 6.3.2.2",
    inputs=(Input("values", "ratio", "1", "values in order of time, any one unit", many=True),),
    outputs=(
        Output("centre", "ratio", "1", "centre"),
        Output("upper", "ratio", "1", "upper limit"),
        Output("lower", "ratio", "1", "lower limit"),
    ),
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
    calm = not (signals or range_signals or runs)
    return Individuals(
        centre, centre + width, centre - width, mean_range, top, ranges, signals, range_signals, runs, calm, working
    )


def _runs(values: Sequence[float], centre: float) -> tuple[int, ...]:
    """Positions of the eighth and later values of every run on one side; a value on the centre ends a run."""
    found, at = [], 0
    for side, group in groupby(values, key=lambda each: (each > centre) - (each < centre)):
        length = len(list(group))
        if side:
            found += [at + place for place in range(RUN, length + 1)]
        at += length
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Attributes:
    """A chart of counts: centre, limits for each sample, and the samples beyond them."""

    centre: float
    points: tuple[float, ...]
    uppers: tuple[float, ...]
    lowers: tuple[float, ...]
    """Never below zero."""
    signals: tuple[int, ...]
    """Samples beyond a limit, 1 for the first. A point on the limit is no signal."""
    in_control: bool
    working: tuple[Step, ...]


def _chart(
    centre: float, points: Sequence[float], widths: Sequence[float], most: float, steps: tuple[Step, ...]
) -> Attributes:
    uppers = tuple(min(centre + width, most) for width in widths)
    lowers = tuple(max(centre - width, 0.0) for width in widths)
    rows = enumerate(zip(points, uppers, lowers, strict=True), 1)
    signals = tuple(at for at, (point, upper, lower) in rows if _beyond(point, upper, lower))
    return Attributes(centre, tuple(points), uppers, lowers, signals, not signals, steps)


def _beyond(point: float, upper: float, lower: float) -> bool:
    """Beyond a limit and not on it, as far as floats can tell."""
    return (point > upper and not math.isclose(point, upper)) or (point < lower and not math.isclose(point, lower))


def _samples(name: str, counts: Sequence[float], sizes: Sequence[float]) -> None:
    counted("sizes", sizes, len(counted(name, counts, 1)), len(counts))
    for count, size in zip(counts, sizes, strict=True):
        not_negative(name, count)
        positive("sizes", size)


@calculation(
    "control.p",
    "Chart of the share nonconforming",
    f"{HANDBOOK}, 6.3.3.2; p̄ ± 3 √(p̄(1 − p̄)/n)",
    inputs=(
        Input("nonconforming", "count", "", "nonconforming in each sample", many=True, low=0),
        Input("sizes", "count", "", "size of each sample", many=True, low=1),
    ),
    outputs=(Output("centre", "ratio", "1", "mean share"),),
)
def p_chart(*, nonconforming: Sequence[float], sizes: Sequence[float]) -> Attributes:
    """Return p̄ = Σ nonconforming / Σ sizes with limits p̄ ± 3 √(p̄(1 − p̄)/nᵢ) for each sample, within 0 and 1.

    Errors: CalcError on no sample, lists of different length, more nonconforming than inspected.
    Source: NIST/SEMATECH e-Handbook 6.3.3.2.

    >>> chart = p_chart(nonconforming=[1, 1], sizes=[10, 90])
    >>> chart.centre, round(chart.uppers[0], 6)
    (0.02, 0.152816)
    """
    _samples("nonconforming", nonconforming, sizes)
    for count, size in zip(nonconforming, sizes, strict=True):
        if count > size:
            raise CalcError("nonconforming", f"{count} of {size} cannot be nonconforming")
    centre = math.fsum(nonconforming) / math.fsum(sizes)
    widths = [3 * math.sqrt(centre * (1 - centre) / size) for size in sizes]
    points = [count / size for count, size in zip(nonconforming, sizes, strict=True)]
    p = text(centre)
    steps = (
        Step("p̄", "Σ nonconforming / Σ n", f"{text(math.fsum(nonconforming))} / {text(math.fsum(sizes))}", centre),
        Step("3σ₁", "3 √(p̄ (1 − p̄) / n₁)", f"3 √({p} · (1 − {p}) / {text(sizes[0])})", widths[0]),
    )
    return _chart(centre, points, widths, 1.0, steps)


@calculation(
    "control.np",
    "Chart of the number nonconforming",
    f"{HANDBOOK}, 6.3.3: n p̄ ± 3 √(n p̄ (1 − p̄))",
    inputs=(
        Input("nonconforming", "count", "", "nonconforming in each sample", many=True, low=0),
        Input("size", "count", "", "size of every sample", low=1),
    ),
    outputs=(Output("centre", "ratio", "1", "mean number"),),
)
def np_chart(*, nonconforming: Sequence[float], size: float) -> Attributes:
    """Return the p chart in numbers, for samples of one size. Errors and source: as `p_chart`.

    >>> np_chart(nonconforming=[2, 4], size=50).centre
    3.0
    """
    chart = p_chart(nonconforming=nonconforming, sizes=[size] * len(nonconforming))
    centre = math.fsum(nonconforming) / len(nonconforming)
    width = 3 * math.sqrt(centre * (1 - chart.centre))
    p = text(chart.centre)
    steps = (
        Step("n p̄", "Σ nonconforming / k", f"{text(math.fsum(nonconforming))} / {len(nonconforming)}", centre),
        Step("3σ", "3 √(n p̄ (1 − p̄))", f"3 √({text(centre)} · (1 − {p}))", width),
    )
    return _chart(centre, [float(each) for each in nonconforming], [width] * len(nonconforming), float(size), steps)


@calculation(
    "control.u",
    "Chart of findings per unit",
    f"{HANDBOOK}, 6.3.3.1: ū ± 3 √(ū/n), ū total count over total size",
    inputs=(
        Input("counts", "count", "", "findings in each sample", many=True, low=0),
        Input("sizes", "ratio", "1", "units in each sample", many=True, low=0),
    ),
    outputs=(Output("centre", "ratio", "1", "findings per unit"),),
)
def u_chart(*, counts: Sequence[float], sizes: Sequence[float]) -> Attributes:
    """Return ū = Σ counts / Σ sizes (not the mean of the ratios) with limits ū ± 3 √(ū/nᵢ), not below zero.

    Errors: CalcError on no sample, lists of different length, a size of zero. Source: e-Handbook 6.3.3.1.

    >>> chart = u_chart(counts=[4, 8], sizes=[2, 4])
    >>> chart.centre, round(chart.uppers[1], 4)
    (2.0, 4.1213)
    """
    _samples("counts", counts, sizes)
    centre = math.fsum(counts) / math.fsum(sizes)
    widths = [3 * math.sqrt(centre / size) for size in sizes]
    points = [count / size for count, size in zip(counts, sizes, strict=True)]
    steps = (
        Step("ū", "Σ counts / Σ n", f"{text(math.fsum(counts))} / {text(math.fsum(sizes))}", centre),
        Step("3σ₁", "3 √(ū / n₁)", f"3 √({text(centre)} / {text(sizes[0])})", widths[0]),
    )
    return _chart(centre, points, widths, math.inf, steps)


def c_chart(*, counts: Sequence[float]) -> Attributes:
    """Return the u chart of samples of one unit each: c̄ ± 3 √c̄. Errors and source: as `u_chart`.

    >>> c_chart(counts=[4, 4]).uppers
    (10.0, 10.0)
    """
    return u_chart(counts=counts, sizes=[1] * len(counts))


@dataclass(frozen=True, slots=True)
class ParetoRow:
    """One cause: its count, share and the share of it and all above, in percent."""

    label: str
    count: float
    percent: float
    cumulative_percent: float


@dataclass(frozen=True, slots=True)
class Pareto:
    """Causes from most to least frequent."""

    rows: tuple[ParetoRow, ...]
    working: tuple[Step, ...]


def pareto(*, labels: Sequence[str], counts: Sequence[float]) -> Pareto:
    """Return causes from most to least, with percent and cumulative percent. A label given twice is added up.

    Equal counts keep the order in which they came. Errors: CalcError on no cause, lists of different length, a negative
    count, no count at all. Source: definition.

    >>> [(row.label, row.cumulative_percent) for row in pareto(labels="ABAC", counts=[2, 3, 4, 1]).rows]
    [('A', 60.0), ('B', 90.0), ('C', 100.0)]
    """
    counted("counts", counts, len(counted("labels", labels, 1)), len(labels))
    sums: dict[str, float] = {}
    for label, count in zip(labels, counts, strict=True):
        sums[label] = sums.get(label, 0) + not_negative("counts", count)
    total = math.fsum(sums.values())
    if total == 0:
        raise CalcError("counts", "nothing was counted")
    rows, so_far = [], 0.0
    for label, count in sorted(sums.items(), key=lambda pair: -pair[1]):
        so_far += count
        rows.append(ParetoRow(label, count, 100 * count / total, 100 * so_far / total))
    steps = tuple(
        Step(row.label, "count / total", f"{text(row.count)} / {text(total)}", row.percent, "%") for row in rows
    )
    return Pareto(tuple(rows), steps)
