"""How many foundations under way do what to throughput and time, and the law that ties the three."""

from dataclasses import dataclass

from apps.calc.errors import CalcError, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.schedule.said import days as day_count
from apps.calc.schedule.said import short
from apps.calc.shown import share_text
from apps.calc.working import Step, number_text


@dataclass(frozen=True, slots=True)
class WorkUnderWay:
    """How much work stands between the stages, and what that does to throughput and time."""

    critical_wip: float
    """The least number under way at which the bottleneck never starves, without variation."""
    throughput: float
    """Practical worst case, a unit of time."""
    cycle_time: float
    best_throughput: float
    """The same without variation: as many as the bottleneck, or as are under way, let through."""
    sentence: str
    working: tuple[Step, ...]


@calculation(
    "schedule.work_under_way",
    "Foundations under way, throughput and time",
    "W. Hopp and M. Spearman, Factory Physics: W0 = rb T0, practical worst case",
    inputs=(
        Input("rate", "number", "1", "rate of the bottleneck, foundations a day", low=0),
        Input("raw_time", "time", "d", "time through all stages without waiting", low=0),
        Input("wip", "number", "1", "foundations under way", low=1),
    ),
    outputs=(
        Output("cycle_time", "time", "d", "time from start to finish of one foundation"),
        Output("throughput", "number", "1", "foundations a day"),
        Output("critical_wip", "number", "1", "under way at which the bottleneck never starves, without variation"),
    ),
    beyond="What this job does: it is the middle of two laws, between a line without variation and one that is all "
    "variation. Count what is finished to know.",
    # W. Hopp and M. Spearman, Factory Physics, Penny Fab One: 4 critical, practical worst case 0.285714 and 14
    example={"rate": "0.5", "raw_time": "8", "wip": "4"},
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
    if critical < 1 - 1e-9:
        raise CalcError(
            "raw_time", f"one foundation takes the bottleneck alone {number_text(1 / rate)}: it cannot be less"
        )
    through, cycle = rate * wip / (critical + wip - 1), raw_time + (wip - 1) / rate
    working = (
        Step("W₀", "r_b · T₀", f"{number_text(rate)} · {number_text(raw_time)}", critical),
        Step(
            "TH",
            "r_b · w / (W₀ + w − 1)",
            f"{number_text(rate)} · {number_text(wip)} / ({number_text(critical)} + {number_text(wip)} − 1)",
            through,
        ),
        Step(
            "CT",
            "T₀ + (w − 1) / r_b",
            f"{number_text(raw_time)} + ({number_text(wip)} − 1) / {number_text(rate)}",
            cycle,
        ),
    )
    best = min(wip / raw_time, rate)
    return WorkUnderWay(critical, through, cycle, best, _sentence(wip, critical, through, cycle, rate), working)


def _sentence(wip: float, critical: float, through: float, cycle: float, rate: float) -> str:
    side = "at least" if wip >= critical else "fewer than"
    return (
        f"{short(wip)} under way, {side} the {short(critical)} that keep the bottleneck busy without variation. In the "
        f"practical worst case {short(through)} a day are finished, {share_text(through / rate)} of the bottleneck's rate, "
        f"each after {day_count(cycle)}."
    )


def cycle_time_by_little(*, wip: float, throughput: float) -> float:
    """Return how long a unit stays, from the number under way and the number finished a unit of time.

    Errors: CalcError on a negative number under way or a throughput of zero.
    Source: J. D. C. Little, A proof for the queuing formula L = λW, 1961.

    >>> cycle_time_by_little(wip=47600, throughput=1400)
    34.0
    """
    return not_negative("wip", wip) / positive("throughput", throughput)
