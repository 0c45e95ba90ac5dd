"""The flow in closed form: rhythm of a line, line of balance, three-point estimates, work under way, waits, weather.

Small laws that answer at once, and against which the simulation of `flow` is checked.
"""

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter
from typing import NamedTuple

from apps.calc.errors import CalcError, between, counted, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.working import Step, number_text


@dataclass(frozen=True, slots=True)
class FlowLine:
    """A line of stages without variation: when the first and the last foundation leave it, in days."""

    first_out: float
    last_out: float
    bottleneck: int
    """Stage with the longest work, 1 for the first."""
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
        Step("T_N", "T₁ + (N − 1) · max p", f"{number_text(first)} + ({foundations} − 1) · {longest}", last, "d"),
    )
    return FlowLine(first, last, list(days).index(longest) + 1, working)


@dataclass(frozen=True, slots=True)
class Balance:
    """Crews for a rate, and what they then really do."""

    theoretical_people: float
    crews: int
    people: int
    rate_a_week: float
    unit_days: float
    last_start_days: float
    """From the start of the first unit to the start of the last."""
    finish_days: float
    working: tuple[Step, ...]


@calculation(
    "schedule.line_of_balance",
    "Crews for a rate of work",
    "Line of balance, as in I. Odeh, Columbia University, lecture LOB Example",
    inputs=(
        Input("person_hours", "time", "h", "person-hours on one foundation", low=0),
        Input("crew_size", "count", "", "people in a crew", low=1),
        Input("target_a_week", "ratio", "1", "foundations a week wanted", low=0),
        Input("foundations", "count", "", "foundations", low=1),
        Input("hours_a_day", "time", "h", "working hours a day", default=8.0, low=0.1, high=24),
        Input("days_a_week", "time", "d", "working days a week", default=5.0, low=0.1, high=7),
    ),
    outputs=(Output("finish_days", "time", "d", "last foundation done, working days"),),
)
def line_of_balance(
    *,
    person_hours: float,
    crew_size: float,
    target_a_week: float,
    foundations: float,
    hours_a_day: float = 8.0,
    days_a_week: float = 5.0,
) -> Balance:
    """Return the crews that a weekly rate asks for, rounded to whole crews, and the rate they reach. Working days.

    Errors: CalcError on anything of zero or less. A half crew rounds up; at least one crew stands.
    Source: line of balance as taught in I. Odeh's lecture LOB Example (Columbia University).

    >>> result = line_of_balance(person_hours=110, crew_size=3, target_a_week=3, foundations=20)
    >>> result.crews, round(result.rate_a_week, 4), round(result.finish_days, 2)
    (3, 3.2727, 33.61)
    """
    values = {"person_hours": person_hours, "crew_size": crew_size, "target_a_week": target_a_week}
    values |= {"foundations": foundations, "hours_a_day": hours_a_day, "days_a_week": days_a_week}
    for name, value in values.items():
        positive(name, value)
    week = hours_a_day * days_a_week
    people = person_hours * target_a_week / week
    crews = max(1, int(people / crew_size + 0.5))
    rate = crews * crew_size / people * target_a_week
    unit = person_hours / (crew_size * hours_a_day)
    last_start = (foundations - 1) / rate * days_a_week
    hours, target, shown = number_text(person_hours), number_text(target_a_week), number_text(people)
    working = (
        Step("G", "person-hours · rate / hours a week", f"{hours} · {target} / {number_text(week)}", people, "people"),
        Step("crews", "round(G / crew size)", f"round({shown} / {crew_size})", crews),
        Step("R", "crews · crew size / G · rate", f"{crews} · {crew_size} / {shown} · {target}", rate, "a week"),
        Step("t", "person-hours / (crew size · hours a day)", f"{hours} / ({crew_size} · {hours_a_day})", unit, "d"),
        Step(
            "s_N",
            "(N − 1) / R · days a week",
            f"({foundations} − 1) / {number_text(rate)} · {days_a_week}",
            last_start,
            "d",
        ),
        Step("finish", "s_N + t", f"{number_text(last_start)} + {number_text(unit)}", last_start + unit, "d"),
    )
    return Balance(people, crews, int(crews * crew_size), rate, unit, last_start, last_start + unit, working)


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
        Input("optimistic", "ratio", "1", "optimistic durations a", many=True, low=0),
        Input("likely", "ratio", "1", "likely durations m", many=True, low=0),
        Input("pessimistic", "ratio", "1", "pessimistic durations b", many=True, low=0),
    ),
    outputs=(Output("mean", "ratio", "1", "mean"), Output("sd", "ratio", "1", "standard deviation")),
)
def three_point(*, optimistic: Sequence[float], likely: Sequence[float], pessimistic: Sequence[float]) -> PathEstimate:
    """Return `three_point_network` of activities done one after the other, in any one unit of time.

    >>> three_point(optimistic=[2, 1], likely=[5, 2], pessimistic=[8, 9]).mean
    8.0
    """
    for name, values in (("likely", likely), ("pessimistic", pessimistic)):
        counted(name, values, len(counted("optimistic", optimistic, 1)), len(optimistic))
    names = [str(at + 1) for at in range(len(optimistic))]
    activities = dict(zip(names, zip(optimistic, likely, pessimistic, strict=True), strict=True))
    return three_point_network(activities, {later: [earlier] for earlier, later in itertools.pairwise(names)})


@dataclass(frozen=True, slots=True)
class WorkUnderWay:
    """How much work stands between the stages, and what that does to throughput and time."""

    critical_wip: float
    """The least number under way at which the bottleneck never starves, without variation."""
    throughput: float
    """Practical worst case, a unit of time."""
    cycle_time: float
    working: tuple[Step, ...]


@calculation(
    "schedule.work_under_way",
    "Foundations under way, throughput and time",
    "W. Hopp and M. Spearman, Factory Physics: W0 = rb T0, practical worst case",
    inputs=(
        Input("rate", "ratio", "1", "rate of the bottleneck, foundations a day", low=0),
        Input("raw_time", "time", "d", "time through all stages without waiting", low=0),
        Input("wip", "ratio", "1", "foundations under way", low=1),
    ),
    outputs=(Output("cycle_time", "time", "d", "time from start to finish of one foundation"),),
)
def work_under_way(*, rate: float, raw_time: float, wip: float) -> WorkUnderWay:
    """Return critical work under way, and throughput and cycle time of the practical worst case. Any unit of time.

    Little's law ties the three: WIP = throughput × cycle time.

    Errors: CalcError on a rate or raw time of zero or less, less than one under way.
    Source: W. Hopp and M. Spearman, Factory Physics: W0 = rb T0; TH = rb w/(W0 + w - 1); CT = T0 + (w - 1)/rb.

    >>> result = work_under_way(rate=0.5, raw_time=8, wip=4)
    >>> result.critical_wip, round(result.throughput, 6), result.cycle_time
    (4.0, 0.285714, 14.0)
    """
    positive("rate", rate)
    positive("raw_time", raw_time)
    if wip < 1:
        raise CalcError("wip", f"must be 1 or more, got {wip}")
    critical = rate * raw_time
    through, cycle = rate * wip / (critical + wip - 1), raw_time + (wip - 1) / rate
    working = (
        Step("W₀", "r_b · T₀", f"{rate} · {raw_time}", critical),
        Step("TH", "r_b · w / (W₀ + w − 1)", f"{rate} · {wip} / ({number_text(critical)} + {wip} − 1)", through),
        Step("CT", "T₀ + (w − 1) / r_b", f"{raw_time} + ({wip} − 1) / {rate}", cycle),
    )
    return WorkUnderWay(critical, through, cycle, working)


def cycle_time_by_little(*, wip: float, throughput: float) -> float:
    """Return how long a unit stays, from the number under way and the number finished a unit of time.

    Errors: CalcError on a negative number under way or a throughput of zero.
    Source: J. D. C. Little, A proof for the queuing formula L = λW, 1961.

    >>> cycle_time_by_little(wip=47600, throughput=1400)
    34.0
    """
    return not_negative("wip", wip) / positive("throughput", throughput)


@dataclass(frozen=True, slots=True)
class Spread:
    """Mean, spread and upper percentiles of a time."""

    mean: float
    sd: float
    p50: float
    p80: float
    p90: float
    p95: float
    working: tuple[Step, ...]


@calculation(
    "schedule.erlang",
    "Sum of equal random waits",
    "Erlang distribution: the sum of k exponential times of one mean",
    inputs=(
        Input("count", "count", "", "waits one after the other", low=1),
        Input("mean", "time", "d", "mean of one wait", low=0),
    ),
    outputs=(Output("p80", "time", "d", "80 % sure"),),
)
def erlang(*, count: float, mean: float) -> Spread:
    """Return mean and percentiles of the sum of `count` exponential waits of one mean, any unit of time.

    Errors: CalcError on a count that is no whole number of one or more, a mean of zero or less.
    Source: Erlang distribution, any text on probability; quantiles by SciPy.

    >>> result = erlang(count=3, mean=2)
    >>> result.mean, round(result.p80, 4)
    (6.0, 8.5581)
    """
    from scipy.special import gammaincinv

    if positive("count", count) != int(count):
        raise CalcError("count", f"expected a whole number, got {count}")
    positive("mean", mean)
    p50, p80, p90, p95 = (float(gammaincinv(count, chance)) * mean for chance in (0.5, 0.8, 0.9, 0.95))
    total, sd = float(count * mean), float(count**0.5 * mean)
    working = (
        Step("μ", "k · θ", f"{count} · {mean}", total),
        Step("σ", "√k · θ", f"√{count} · {mean}", sd),
        Step("P80", "θ · P⁻¹(k, 0.80)", f"{mean} · P⁻¹({count}, 0.80)", p80),
    )
    return Spread(total, sd, p50, p80, p90, p95, working)


@calculation(
    "schedule.weather",
    "Calendar days for work that needs workable days",
    "Negative binomial distribution: independent days, each workable with one chance",
    inputs=(
        Input("workable_days", "time", "d", "workable days needed", low=1),
        Input("chance", "ratio", "1", "chance that a day is workable", low=0.001, high=1),
    ),
    outputs=(Output("p80", "time", "d", "80 % sure"),),
)
def calendar_days(*, workable_days: float, chance: float) -> Spread:
    """Return mean and percentiles of the calendar days until a number of workable days has passed.

    Each day is workable with the same chance, whatever the day before was; wet weeks make the spread wider.
    Errors: CalcError on a number of days that is no whole number of one or more, a chance outside 0 to 1, or 0.
    Source: negative binomial distribution, any text on probability; quantiles by SciPy.

    >>> result = calendar_days(workable_days=6, chance=0.7)
    >>> round(result.mean, 4), result.p50, result.p80
    (8.5714, 8.0, 10.0)
    """
    from scipy.stats import nbinom

    if positive("workable_days", workable_days) != int(workable_days):
        raise CalcError("workable_days", f"expected a whole number, got {workable_days}")
    between("chance", positive("chance", chance), 0, 1)
    lost = nbinom(int(workable_days), chance)
    p50, p80, p90, p95 = (float(workable_days + lost.ppf(each)) for each in (0.5, 0.8, 0.9, 0.95))
    mean = workable_days / chance
    sd = (workable_days * (1 - chance)) ** 0.5 / chance
    working = (
        Step("μ", "r / p", f"{number_text(workable_days)} / {chance}", mean, "d"),
        Step(
            "P80",
            "r + NB⁻¹(0.80; r, p)",
            f"{number_text(workable_days)} + {number_text(p80 - workable_days)}",
            p80,
            "d",
        ),
    )
    return Spread(float(mean), float(sd), p50, p80, p90, p95, working)


def chance_within(*, workable_days: int, chance: float, days: int) -> float:
    """Return the chance, 0 to 1, that `workable_days` are had within `days` calendar days.

    Errors and source: as `calendar_days`.

    >>> round(chance_within(workable_days=6, chance=0.7, days=8), 6)
    0.551774
    """
    from scipy.stats import nbinom

    positive("workable_days", workable_days)
    between("chance", positive("chance", chance), 0, 1)
    return float(nbinom.cdf(not_negative("days", days) - workable_days, workable_days, chance))
