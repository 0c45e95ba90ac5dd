"""Charts of the quality: findings by cause, concrete strength, overbreak, what was accepted the first time."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import date
from fractions import Fraction
from typing import Any, NamedTuple

from apps.board import figures as fig
from apps.board.charted import Chart, counted
from apps.calc.control.causes import pareto
from apps.calc.control.singles import Individuals, individuals
from apps.calc.decision.shares import share_interval
from apps.calc.shown import share_text
from apps.calc.stages import STAGES

LEAST_VALUES = 8
"""Fewer values set no control limits, fewer attempts are not called the least: common practice, no source."""


# ---- findings


def causes(named: Sequence[str]) -> Chart:
    """Findings by cause, from most to least."""
    if not named:
        return Chart("causes", "Findings by cause", "No finding yet.")
    found = pareto(labels=list(named), counts=[1.0] * len(named))
    shown = found.rows[::-1]
    few = {row.label for row in found.rows[: found.few]}
    drawn = fig.bars(
        [row.count for row in shown],
        [row.label for row in shown],
        ["--ink" if row.label in few else "--conc" for row in shown],
        orientation="h",
        text=[f"{row.count:.0f}, {row.cumulative_percent:.0f} %" for row in shown],
    )
    axis = fig.titled("findings", range=[0, found.rows[0].count * 1.5])
    rows = [
        (row.label, f"{row.count:.0f}", f"{row.percent:.0f} %", f"{row.cumulative_percent:.0f} %") for row in found.rows
    ]
    made = fig.figure([drawn], 70 + 32 * len(rows), xaxis=axis, yaxis=fig.NAMES)
    head = ("Cause", "Findings", "Share", "So far")
    fact = "count, running share; ink: the first to reach 80 %"
    return Chart("causes", "Findings by cause", found.sentence, fact, head, rows, made)


# ---- concrete


class Strength(NamedTuple):
    """One strength test at 28 days: the load, when it was broken, what it bore and what the plans specify, psi."""

    ticket: str
    day: date
    psi: int
    specified: int


def strength(tests: Sequence[Strength]) -> Chart:
    """The 28-day strength of each load in order of time, between the limits that the values set themselves."""
    title = "Concrete strength at 28 days"
    if len(tests) < LEAST_VALUES:
        return Chart("strength", title, f"{len(tests)} of the {LEAST_VALUES} tests that control limits need are there.")
    chart = individuals(values=[float(each.psi) for each in tests])
    flagged = sorted({*chart.signals, *chart.runs})
    under = sum(each.psi < each.specified for each in tests)
    said = f"{chart.sentence} {counted(under, len(tests))} under the specified strength."
    rows = [
        (str(at), each.ticket, f"{each.day:%-d %b}", f"{each.psi:,}", f"{each.specified:,}", "signal" * (at in flagged))
        for at, each in enumerate(tests, 1)
    ]
    head = ("No.", "Load", "Broken", "psi", "Specified", "")
    fact = "control limits are not requirements"
    return Chart("strength", title, said, fact, head, rows, _strength_figure(tests, chart, flagged))


def _strength_figure(tests: Sequence[Strength], chart: Individuals, flagged: Sequence[int]) -> fig.Figure:
    specified = max(each.specified for each in tests)
    values = [float(each.psi) for each in tests]
    heights = (
        (chart.upper, "upper", "--red", "dash"),
        (chart.lower, "lower", "--red", "dash"),
        (chart.centre, "centre", "--ink", "solid"),
        (specified, "specified", "--line", "dashdot"),
    )
    low, high = min(*values, chart.lower, specified), max(*values, chart.upper)
    room = (high - low) * 0.08 or 1.0
    at_right: dict[str, Any] = {"xref": "paper", "xanchor": "right"}
    return fig.figure(
        [
            fig.line([*range(1, len(values) + 1)], values, width=1.2, hoverinfo="skip"),
            fig.marks([*range(1, len(values) + 1)], values, size=6, text=[each.ticket for each in tests], name="psi"),
            fig.marks(
                flagged, [values[at - 1] for at in flagged], symbol="diamond", ink="--red", size=11, name="signal"
            ),
        ],
        340,
        shapes=[fig.limit(height, ink=ink, dash=dash) for height, _, ink, dash in heights],
        annotations=[
            fig.words(
                1, height, f"{name} {height:,.0f}", yanchor="top" if name == "lower" else "bottom", ink=ink, **at_right
            )
            for height, name, ink, _ in heights
        ],
        xaxis=fig.titled("test, in order of time", range=[0.4, len(values) * 1.28 + 0.6]),
        yaxis=fig.titled("strength, psi", range=[low - room, high + room], rangemode="normal", tickformat=","),
    )


class Over(NamedTuple):
    """Concrete placed over theoretical at one foundation, and the most that it may be."""

    mark: str
    crew: str
    ratio: Fraction
    limit: Fraction | None

    @property
    def beyond(self) -> bool:
        """Whether it is more than it may be."""
        return self.limit is not None and self.ratio > self.limit


def overbreak(placed: Sequence[Over]) -> Chart:
    """Concrete placed over theoretical, crew by crew."""
    title = "Overbreak by crew"
    if not placed:
        return Chart("overbreak", title, "No foundation is poured yet.")
    crews: dict[str, list[Over]] = defaultdict(list)
    for each in placed:
        crews[each.crew].append(each)
    means = {crew: float(sum((each.ratio for each in its), Fraction(0)) / len(its)) for crew, its in crews.items()}
    most = max(means, key=lambda crew: means[crew])
    said = f"{most} places most: {means[most]:.2f} times the drawing in the mean. "
    said += f"{counted(sum(each.beyond for each in placed), len(placed))} over the limit."
    rows = [
        (
            crew,
            str(len(crews[crew])),
            f"{means[crew]:.2f}",
            f"{float(max(each.ratio for each in crews[crew])):.2f}",
            ", ".join(each.mark for each in crews[crew] if each.beyond) or "none",
        )
        for crew in sorted(crews)
    ]
    head = ("Crew", "Poured", "Mean", "Most", "Over the limit")
    fact = "ring: one foundation; tick: mean of the crew"
    return Chart("overbreak", title, said, fact, head, rows, _overbreak_figure(crews, means))


def _overbreak_figure(crews: dict[str, list[Over]], means: dict[str, float]) -> fig.Figure:
    names = sorted(crews, reverse=True)
    every = [each for name in names for each in crews[name]]
    over = [each for each in every if each.beyond]

    def foundations(some: Sequence[Over], **more: Any) -> fig.Trace:
        marks = [each.mark for each in some]
        return fig.marks([float(each.ratio) for each in some], [each.crew for each in some], text=marks, **more)

    limits = sorted({each.limit for each in every if each.limit is not None})
    at_top: dict[str, Any] = {"yref": "paper", "yanchor": "bottom", "xanchor": "right", "ink": "--red"}
    return fig.figure(
        [
            foundations(every, symbol="circle-open", ink="--line", size=9, name="placed"),
            fig.marks([means[name] for name in names], names, symbol="line-ns-open", size=24, name="mean"),
            foundations(over, symbol="diamond", ink="--red", size=11, name="over the limit"),
        ],
        110 + 56 * len(crews),
        shapes=[fig.limit(float(each), upright=True) for each in limits],
        annotations=[fig.words(float(each), 1, f"at most {float(each):g}", **at_top) for each in limits],
        xaxis=fig.titled("placed, times theoretical"),
        yaxis=fig.NAMES,
    )


# ---- accepted the first time


class First(NamedTuple):
    """First attempts of one crew at one stage that were decided, and those accepted."""

    place: int
    crew: str
    accepted: int
    decided: int

    @property
    def name(self) -> str:
        """Drill, Crew 2."""
        return f"{STAGES[self.place].title}, {self.crew}"

    @property
    def share(self) -> float:
        """Share accepted, 0 to 1."""
        return self.accepted / self.decided


def first_time(tried: Sequence[First]) -> Chart:
    """Share of the first attempts that were accepted, with 95 % Wilson intervals."""
    title = "Accepted the first time"
    if not tried:
        return Chart("first_time", title, "No first attempt is decided yet.")
    ordered = sorted(tried, key=lambda each: (each.place, each.crew))
    ends = {each: share_interval(found=each.accepted, of=each.decided) for each in ordered}
    every = sum(each.accepted for each in tried) / sum(each.decided for each in tried)
    worst = min([each for each in ordered if each.decided >= LEAST_VALUES] or ordered, key=lambda each: each.share)
    beside = "less than the whole beyond chance" if ends[worst].high < every else "which chance alone may explain"
    low, high = 100 * ends[worst].low, 100 * ends[worst].high
    said = (
        f"{share_text(every)} of all first attempts are accepted. Least at {worst.name}: {worst.accepted} of {worst.decided}, "
        f"{low:.0f} to {high:.0f} % with 95 % confidence, {beside}."
    )
    rows = [
        (
            each.name,
            str(each.accepted),
            str(each.decided),
            f"{100 * each.share:.0f} %",
            f"{100 * ends[each].low:.0f} to {100 * ends[each].high:.0f} %",
        )
        for each in ordered
    ]
    head = ("Stage, crew", "Accepted", "Decided", "Share", "95 %")
    fact = "bar: 95 % Wilson interval; red: wholly under the mean"
    return Chart("first_time", title, said, fact, head, rows, _first_figure(ordered, ends, every))


def _first_figure(ordered: Sequence[First], ends: dict[First, Any], every: float) -> fig.Figure:
    weak = [ends[each].high < every for each in ordered]
    points = fig.marks([100 * each.share for each in ordered], [each.name for each in ordered])
    points["marker"] |= {
        "color": ["--red" if each else "--ink" for each in weak],
        "symbol": ["diamond" if each else "circle" for each in weak],
        "line": {"width": 0},
    }
    points["error_x"] = {
        "type": "data",
        "symmetric": False,
        "array": [100 * (ends[each].high - each.share) for each in ordered],
        "arrayminus": [100 * (each.share - ends[each].low) for each in ordered],
        "color": "--conc",
        "thickness": 1.6,
        "width": 4,
    }
    at_top: dict[str, Any] = {"yref": "paper", "yanchor": "bottom", "xanchor": "right"}
    return fig.figure(
        [points],
        80 + 26 * len(ordered),
        shapes=[fig.limit(100 * every, upright=True, ink="--ink", dash="dot")],
        annotations=[fig.words(100 * every, 1, f"all {share_text(every)}", **at_top)],
        xaxis=fig.titled("accepted at the first attempt, %", range=[0, 102]),
        yaxis=fig.NAMES | {"autorange": "reversed"},
    )
