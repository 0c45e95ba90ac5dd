"""The concrete curve: placed against neat volume as the concrete rises."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from apps.calc.errors import CalcError, counted, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.shaft.caution import CAUTION
from apps.calc.shaft.volume import neat_volume
from apps.calc.working import Step
from apps.calc.working import number_text as text


@dataclass(frozen=True, slots=True)
class Interval:
    """A stretch of the pour between two soundings [ft below the top, yd³]."""

    low_ft: float
    high_ft: float
    placed_yd3: float
    neat_yd3: float

    @property
    def ratio(self) -> float:
        """Placed over neat; under 1 the hole closed in, or the sounding is wrong."""
        return self.placed_yd3 / self.neat_yd3


@dataclass(frozen=True, slots=True)
class Curve:
    """The concrete curve: placed against neat volume as the concrete rises."""

    intervals: tuple[Interval, ...]
    """From the bottom up."""
    ratio: float
    """Of the whole pour so far."""
    least: float
    greatest: float
    sentence: str
    working: tuple[Step, ...]
    caution: str = CAUTION


@calculation(
    "shaft.curve",
    "Concrete curve",
    "Volume of a cylinder between soundings; limits on the ratio: common practice, no source",
    inputs=(
        Input("shaft_diameter", "length", "in", "shaft diameter", low=6, high=240),
        Input("depth", "length", "ft", "depth of the hole", low=0.5, high=200),
        Input("soundings", "length", "ft", "depth from the top to the concrete, one after each load", many=True, low=0),
        Input("placed", "volume", "yd3", "concrete placed by then, in all", many=True, low=0),
        Input("least", "ratio", "1", "ratio under which a stretch is questioned", default=1.0, low=0),
        Input("most", "ratio", "1", "ratio over which it is explained", default=1.3, low=0),
    ),
    outputs=(
        Output("ratio", "ratio", "1", "placed over neat, in all"),
        Output("least", "ratio", "1", "least of any stretch"),
        Output("greatest", "ratio", "1", "greatest of any stretch"),
    ),
    caution=CAUTION,
    beyond=(
        "Where in a stretch the concrete went, or that the shaft is sound: a hole that caved and closed in between two soundings "
        "can come out even."
    ),
    # Invented: a pour whose second stretch closed in and whose top caved.
    example={
        "shaft_diameter": "30 in",
        "depth": "8 ft",
        "soundings": "6 ft, 4 ft, 2 ft, 0",
        "placed": "0.40, 0.74, 1.15, 1.68",
    },
)
def curve(
    *,
    shaft_diameter: float,
    depth: float,
    soundings: Sequence[float],
    placed: Sequence[float],
    least: float = 1.0,
    most: float = 1.3,
) -> Curve:
    """Return placed against neat volume for each stretch between soundings, and for the pour so far.

    shaft_diameter [in]; depth and soundings [ft below the top], each higher than the one before; placed [yd³] in all by
    each sounding, never falling. A stretch under `least` may be a hole that closed in; over `most`, caving.
    CalcError otherwise. Source: volume of a cylinder; the limits are common practice, no source.

    >>> found = curve(shaft_diameter=30, depth=8, soundings=[4, 0], placed=[0.7, 1.75])
    >>> [round(each.ratio, 3) for each in found.intervals]
    [0.963, 1.444]
    """
    low, high = float(not_negative("least", least)), float(not_negative("most", most))
    levels, volumes = _levels(depth, soundings), _volumes(placed, len(soundings))
    intervals = tuple(
        Interval(below, above, after - before, neat_volume(shaft_diameter, below - above))
        for (below, above), (before, after) in zip(pairwise(levels), pairwise(volumes), strict=True)
    )
    ratios = [each.ratio for each in intervals]
    neat = neat_volume(shaft_diameter, levels[0] - levels[-1])
    return Curve(
        intervals=intervals,
        ratio=volumes[-1] / neat,
        least=min(ratios),
        greatest=max(ratios),
        sentence=_curve_sentence(intervals, volumes[-1] / neat, low, high),
        working=(
            *(
                _step(f"{text(each.low_ft)} to {text(each.high_ft)} ft", each.placed_yd3, each.neat_yd3)
                for each in intervals
            ),
            _step("in all", volumes[-1], neat),
        ),
    )


def _levels(depth: float, soundings: Sequence[float]) -> list[float]:
    """Return the bottom and every sounding [ft below the top], each higher than the one before. CalcError otherwise."""
    levels = [float(positive("depth", depth))]
    levels += [float(not_negative("soundings", each)) for each in counted("soundings", soundings, 1)]
    if any(above >= below for below, above in pairwise(levels)):
        raise CalcError("soundings", "the concrete must rise from one sounding to the next, and from the bottom")
    return levels


def _volumes(placed: Sequence[float], count: int) -> list[float]:
    """Return nothing and the volume in all by each sounding [yd³], never falling. CalcError otherwise."""
    volumes = [0.0] + [float(not_negative("placed", each)) for each in counted("placed", placed, count, count)]
    if any(after < before for before, after in pairwise(volumes)):
        raise CalcError("placed", "is the volume in all by each sounding: it cannot fall")
    return volumes


def _step(symbol: str, placed: float, neat: float) -> Step:
    return Step(symbol, "placed / neat", f"{text(placed)} / {text(neat)}", placed / neat, "1")


def _curve_sentence(intervals: Sequence[Interval], total: float, low: float, high: float) -> str:
    said = f"Placed {total:.2f} times the neat volume."
    for word, chosen in (
        ("short", [each for each in intervals if each.ratio < low]),
        ("over", [each for each in intervals if each.ratio > high]),
    ):
        for each in chosen:
            why = (
                "the hole closed in, or the sounding is wrong: tell the engineer"
                if word == "short"
                else "caving, waste or a wrong share of the ticket: explain"
            )
            said += f" From {each.low_ft:g} to {each.high_ft:g} ft, {each.ratio:.2f}: {why}."
    if all(low <= each.ratio <= high for each in intervals):
        said += f" Every stretch lies between {text(low)} and {text(high)}."
    return said
