"""Three-point estimates of durations, along a path and through a network."""

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter
from typing import NamedTuple

from apps.calc.errors import CalcError, counted, not_negative
from apps.calc.registry import Input, Output, calculation
from apps.calc.schedule.said import short
from apps.calc.working import Step, number_text


class ThreePoint(NamedTuple):
    """A three-point estimate of one activity's duration, in any one unit of time."""

    optimistic: float
    likely: float
    pessimistic: float

    @property
    def mean(self) -> float:
        """(a + 4 m + b) / 6."""
        return (self.optimistic + 4 * self.likely + self.pessimistic) / 6

    @property
    def variance(self) -> float:
        """((b − a) / 6)²."""
        return ((self.pessimistic - self.optimistic) / 6) ** 2


@dataclass(frozen=True, slots=True)
class PathEstimate:
    """The longest path by mean durations, with its spread."""

    path: tuple[str, ...]
    mean: float
    variance: float
    working: tuple[Step, ...]

    @property
    def sentence(self) -> str:
        """What came out, in the unit of time of the estimates."""
        if self.variance == 0:
            return f"{short(self.mean)}, without any spread."
        return (
            f"{short(self.mean)} on average, standard deviation {short(self.sd)}: an even chance by {short(self.mean)}, "
            f"80 % sure by {short(self.time_at(0.8))}, 95 % by {short(self.time_at(0.95))}."
        )

    @property
    def sd(self) -> float:
        """Standard deviation of the path."""
        return math.sqrt(self.variance)

    def chance_by(self, time: float) -> float:
        """Return the chance, 0 to 1, that the path is done by a time (normal tail)."""
        from scipy.special import ndtr

        if self.variance == 0:
            return float(time >= self.mean)
        return float(ndtr((time - self.mean) / self.sd))

    def time_at(self, chance: float) -> float:
        """Return the time by which the path is done with a chance between 0 and 1, ends excluded."""
        from scipy.special import ndtri

        if not 0 < chance < 1:
            raise CalcError("chance", f"must lie between 0 and 1, got {chance}")
        return self.mean + self.sd * float(ndtri(chance))


def three_point_network(
    activities: Mapping[str, tuple[float, float, float]], after: Mapping[str, Sequence[str]]
) -> PathEstimate:
    """Return the longest path through activities of three-point estimates (a, m, b), any one unit of time.

    `after` names the activities that each one waits for. The path is chosen by mean durations; other paths nearly as
    long make the real chance lower than `chance_by` says.

    Errors: CalcError on a <= m <= b broken, an unknown activity, a circle.
    Source: PERT, 1958: mean (a + 4m + b)/6, variance ((b - a)/6)², sums along the path, normal tail.

    >>> three_point_network({"drill": (1, 2, 3), "pour": (1, 1, 1)}, {"pour": ["drill"]}).mean
    3.0
    """
    counted("activities", tuple(activities), 1)
    points = {name: _three_point(name, values) for name, values in activities.items()}
    for name in {*after, *(each for names in after.values() for each in names)}:
        if name not in points:
            raise CalcError("after", f"no activity is named {name!r}")
    try:
        order = tuple(TopologicalSorter({name: after.get(name, ()) for name in points}).static_order())
    except CycleError as circle:
        raise CalcError("after", f"activities wait for each other: {', '.join(circle.args[1])}") from None
    best: dict[str, tuple[float, tuple[str, ...]]] = {}
    for name in order:
        before = max((best[each] for each in after.get(name, ())), key=lambda found: found[0], default=(0.0, ()))
        best[name] = (before[0] + points[name].mean, (*before[1], name))
    _, path = max(best.values(), key=lambda found: found[0])
    return _path(path, [points[name] for name in path])


def _three_point(name: str, values: tuple[float, float, float]) -> ThreePoint:
    point = ThreePoint(*counted("activities", values, 3, 3))
    for value in point:
        not_negative("activities", value)
    if not point.optimistic <= point.likely <= point.pessimistic:
        raise CalcError("activities", f"{name}: expected optimistic ≤ likely ≤ pessimistic, got {values}")
    return point


def _path(path: tuple[str, ...], points: Sequence[ThreePoint]) -> PathEstimate:
    mean, variance = sum(each.mean for each in points), sum(each.variance for each in points)
    working = (
        Step("μ", "Σ (a + 4 m + b) / 6", " + ".join(number_text(each.mean) for each in points), mean),
        Step("σ²", "Σ ((b − a) / 6)²", " + ".join(number_text(each.variance) for each in points), variance),
        Step("σ", "√σ²", f"√{number_text(variance)}", variance**0.5),
    )
    return PathEstimate(path, mean, variance, working)


@calculation(
    "schedule.three_point",
    "Duration of activities one after the other, from three-point estimates",
    "PERT, 1958: mean (a + 4m + b)/6, variance ((b − a)/6)²",
    inputs=(
        Input("optimistic", "number", "1", "optimistic durations a", many=True, low=0),
        Input("likely", "number", "1", "likely durations m", many=True, low=0),
        Input("pessimistic", "number", "1", "pessimistic durations b", many=True, low=0),
    ),
    outputs=(Output("mean", "number", "1", "mean"), Output("sd", "number", "1", "standard deviation")),
    beyond="That the estimates are any good: it adds what was guessed. Other paths nearly as long make the real chance "
    "lower.",
    # pmknowledgecenter.be, PERT worked example, path A, B, E, F: mean 15, standard deviation 2.708, 95 % by 19.454
    example={"optimistic": "2, 1, 1, 1", "likely": "5, 2, 2, 3", "pessimistic": "8, 9, 9, 11"},
)
def three_point(*, optimistic: Sequence[float], likely: Sequence[float], pessimistic: Sequence[float]) -> PathEstimate:
    """Return `three_point_network` of activities done one after the other, in any one unit of time.

    Errors: CalcError on lists of different length or values out of order. Source: PERT, 1958, as `three_point_network`.

    >>> three_point(optimistic=[2, 1], likely=[5, 2], pessimistic=[8, 9]).mean
    8.0
    """
    for name, values in (("likely", likely), ("pessimistic", pessimistic)):
        counted(name, values, len(counted("optimistic", optimistic, 1)), len(optimistic))
    names = [str(at + 1) for at in range(len(optimistic))]
    activities = dict(zip(names, zip(optimistic, likely, pessimistic, strict=True), strict=True))
    return three_point_network(activities, {later: [earlier] for earlier, later in itertools.pairwise(names)})
