"""How far the work is: weighted percent complete."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from apps.calc.errors import CalcError, counted, finite, not_negative
from apps.calc.registry import Input, Output, calculation
from apps.calc.shown import share_text
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
    parts: tuple[Fraction, ...]
    """What each stage gives of it, in percent of the whole."""
    sentence: str
    working: tuple[Step, ...]


@calculation(
    "schedule.progress",
    "Weighted percent complete",
    "Common practice, no source",
    inputs=(
        Input("released", "count", "", "foundations released at each stage, in work order", many=True, low=0),
        Input("weights", "number", "1", "weight of each stage, in work order", many=True, low=0),
        Input("foundations", "count", "", "foundations to be built, abandoned ones left out", low=0),
    ),
    outputs=(Output("percent", "percent", "%", "complete"),),
    beyond="How much time is left: weights are shares of the work as agreed, not of the calendar, and cure weighs nothing.",
    # invented: the corridor of 148 foundations with the usual weights
    example={
        "released": "148, 112, 96, 90, 61, 40",
        "weights": "5, 20, 15, 30, 15, 15",
        "foundations": "148",
    },
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
    weight = sum(shares.values()) * total
    parts = tuple(100 * shares[at] * counts[at] / weight if weight else Fraction(0) for at in counts)
    step = Step("p", "100 · Σ wᵢ nᵢ / (Σ wᵢ · N)", f"100 · ({earned}) / ({whole})", percent, "%")
    return WeightedProgress(percent, parts, _sentence(percent, list(counts.values()), total), (step,))


def _sentence(percent: Fraction, released: Sequence[int], foundations: int) -> str:
    if not foundations:
        return "Nothing is to be built."
    said = f"{share_text(float(percent) / 100)} complete, by weight."
    return f"{said} {released[-1]:,} of {foundations:,} foundations are through the last stage."


def _exact(field: str, value: float | Fraction) -> Fraction:
    return value if isinstance(value, Fraction) else Fraction(finite(field, value))


def _as_whole(field: str, value: float | Fraction) -> int:
    exact = _exact(field, value)
    if exact.denominator != 1:
        raise CalcError(field, f"expected a whole number, got {value}")
    return int(exact)
