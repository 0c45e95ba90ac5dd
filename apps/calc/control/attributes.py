"""Charts of what is counted: shares and numbers nonconforming, findings for each unit."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from apps.calc.control.said import BEYOND, HANDBOOK, beyond_words, short
from apps.calc.errors import CalcError, counted, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.shown import share_text
from apps.calc.working import Step
from apps.calc.working import number_text as text


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
    sentence: str
    working: tuple[Step, ...]


def _chart(
    centre: float, points: Sequence[float], widths: Sequence[float], most: float, said: str, steps: tuple[Step, ...]
) -> Attributes:
    """Lay limits about the centre; `said` is how a sentence writes the centre."""
    uppers = tuple(min(centre + width, most) for width in widths)
    lowers = tuple(max(centre - width, 0.0) for width in widths)
    rows = enumerate(zip(points, uppers, lowers, strict=True), 1)
    signals = tuple(at for at, (point, upper, lower) in rows if _beyond(point, upper, lower))
    if signals:
        where = beyond_words("sample", signals, "beyond the limits")
        sentence = f"Signal: {where}. The centre is {said}. Look for what was different there."
    else:
        sentence = f"No signal: all {len(points)} samples stand within their limits, about a centre of {said}."
    return Attributes(centre, tuple(points), uppers, lowers, signals, not signals, sentence, steps)


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
    beyond=BEYOND,
    # K. Ishikawa, Guide to Quality Control, pp 77-79: motors, twenty samples of unequal size; the 14th is beyond
    example={
        "nonconforming": "14, 19, 19, 24, 15, 16, 38, 40, 21, 32, 40, 25, 39, 36, 17, 19, 4, 9, 12, 26",
        "sizes": "125, 200, 188, 200, 200, 250, 390, 360, 250, 250, 395, 300, 310, 200, 300, 185, 55, 90, 130, 300",
    },
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
            raise CalcError("nonconforming", f"{text(count)} of {text(size)} cannot be nonconforming")
    centre = math.fsum(nonconforming) / math.fsum(sizes)
    widths = [3 * math.sqrt(centre * (1 - centre) / size) for size in sizes]
    points = [count / size for count, size in zip(nonconforming, sizes, strict=True)]
    p = text(centre)
    steps = (
        Step("p̄", "Σ nonconforming / Σ n", f"{text(math.fsum(nonconforming))} / {text(math.fsum(sizes))}", centre),
        Step("3σ₁", "3 √(p̄ (1 − p̄) / n₁)", f"3 √({p} · (1 − {p}) / {text(sizes[0])})", widths[0]),
    )
    return _chart(centre, points, widths, 1.0, share_text(centre), steps)


@calculation(
    "control.np",
    "Chart of the number nonconforming",
    f"{HANDBOOK}, 6.3.3: n p̄ ± 3 √(n p̄ (1 − p̄))",
    inputs=(
        Input("nonconforming", "count", "", "nonconforming in each sample", many=True, low=0),
        Input("size", "count", "", "size of every sample", low=1),
    ),
    outputs=(Output("centre", "number", "1", "mean number"),),
    beyond=BEYOND,
    # NIST/SEMATECH e-Handbook 6.3.3.2: chips on thirty wafers of 50; wafers 15 and 23 are beyond
    example={
        "nonconforming": "12, 15, 8, 10, 4, 7, 16, 9, 14, 10, 5, 6, 17, 12, 22, 8, 10, 5, 13, 11, 20, 18, 24, 15, 9, 12, 7, 13, 9, 6",
        "size": "50",
    },
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
    said = f"{short(centre)} of {text(size)}"
    points = [float(each) for each in nonconforming]
    return _chart(centre, points, [width] * len(nonconforming), float(size), said, steps)


@calculation(
    "control.u",
    "Chart of findings per unit",
    f"{HANDBOOK}, 6.3.3.1: ū ± 3 √(ū/n), ū total count over total size",
    inputs=(
        Input("counts", "count", "", "findings in each sample", many=True, low=0),
        Input("sizes", "number", "1", "units in each sample", many=True, low=0),
    ),
    outputs=(Output("centre", "number", "1", "findings per unit"),),
    beyond=BEYOND,
    # invented: findings and foundations inspected, week by week
    example={"counts": "4, 2, 5, 3, 1, 4, 12, 3, 2, 4", "sizes": "9, 6, 12, 10, 5, 11, 8, 9, 7, 12"},
)
def u_chart(*, counts: Sequence[float], sizes: Sequence[float]) -> Attributes:
    """Return ū = Σ counts / Σ sizes (not the mean of the ratios) with limits ū ± 3 √(ū/nᵢ), not below zero.

    Errors: CalcError on no sample, lists of different length, a size of zero. Source: e-Handbook 6.3.3.1.

    >>> chart = u_chart(counts=[4, 8], sizes=[2, 4])
    >>> chart.centre, round(chart.uppers[1], 4)
    (2.0, 4.1213)
    """
    return _per_unit(counts, sizes, "to a unit")


def _per_unit(counts: Sequence[float], sizes: Sequence[float], said: str) -> Attributes:
    _samples("counts", counts, sizes)
    centre = math.fsum(counts) / math.fsum(sizes)
    widths = [3 * math.sqrt(centre / size) for size in sizes]
    points = [count / size for count, size in zip(counts, sizes, strict=True)]
    steps = (
        Step("ū", "Σ counts / Σ n", f"{text(math.fsum(counts))} / {text(math.fsum(sizes))}", centre),
        Step("3σ₁", "3 √(ū / n₁)", f"3 √({text(centre)} / {text(sizes[0])})", widths[0]),
    )
    return _chart(centre, points, widths, math.inf, f"{short(centre)} {said}", steps)


@calculation(
    "control.c",
    "Chart of findings in equal samples",
    f"{HANDBOOK}, 6.3.3.1: c̄ ± 3 √c̄",
    inputs=(Input("counts", "count", "", "findings in each sample", many=True, low=0),),
    outputs=(Output("centre", "number", "1", "findings to a sample"),),
    beyond=BEYOND,
    # invented: findings on every ten foundations
    example={"counts": "4, 2, 5, 3, 1, 4, 2, 3, 0, 4, 3, 5"},
)
def c_chart(*, counts: Sequence[float]) -> Attributes:
    """Return the u chart of samples of one unit each: c̄ ± 3 √c̄. Errors and source: as `u_chart`.

    >>> c_chart(counts=[4, 4]).uppers
    (10.0, 10.0)
    """
    return _per_unit(counts, [1] * len(counts), "to a sample")
