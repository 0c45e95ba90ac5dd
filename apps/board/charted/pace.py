"""Charts of the pace: percent against plan, releases per week and stage, waiting times."""

import statistics
from collections.abc import Sequence
from datetime import date
from typing import Any, NamedTuple

from apps.board import figures as fig
from apps.board.charted import Chart, Rows
from apps.board.planned import Progress
from apps.calc.shown import share_text
from apps.calc.stages import STAGES

HOUR_TICKS = {1: "1 h", 4: "4 h", 24: "1 d", 72: "3 d", 240: "10 d"}
SHORTEST_H = 0.05
FRIDAY = 4


class Finish(NamedTuple):
    """When it will be finished, at an even chance and 80 % sure; None while nothing can be said."""

    p50: date | None
    p80: date | None
    contract: date


# ---- percent against plan


def percent(done: Progress, today: date, finish: Finish) -> Chart:
    """Percent complete by day, the straight plan, and the forecast from an even chance to 80 % sure."""
    said = done.sentence
    if finish.p50 and finish.p80:
        said += f" At its own pace it ends by {finish.p50:%-d %b %Y} at an even chance, by {finish.p80:%-d %b %Y} at 80 % sure."
    made = fig.figure(
        _percent_lines(done, today, finish),
        340,
        shapes=[fig.limit(finish.contract.isoformat(), upright=True)],
        annotations=_percent_words(done, finish),
        yaxis=fig.titled("complete by weight, %", range=[0, 108]),
    )
    head = ("Close of", "Plan, %", "Actual, %", "Points ahead")
    fact = "plan dashed, forecast hatched"
    return Chart("percent", "Percent against plan", said, fact, head, _percent_rows(done), made)


def _percent_lines(done: Progress, today: date, finish: Finish) -> list[fig.Trace]:
    plan = done.curve
    planned = [float(each) for _, each in plan]
    actual = [float(each) for _, each in done.days]
    lines = [
        fig.line(fig.days([day for day, _ in plan]), planned, ink="--line", width=1.2, dash="dash", name="plan"),
        fig.line(fig.days([day for day, _ in done.days]), actual, width=2.6, shape="hv", name="actual"),
    ]
    if finish.p50 and finish.p80:
        lines.append(fig.band(fig.days([today, finish.p50, finish.p80]), [actual[-1], 100, 100], name="forecast"))
    return lines


def _percent_words(done: Progress, finish: Finish) -> list[dict[str, Any]]:
    day, share = done.days[-1]
    at_right: dict[str, Any] = {"xanchor": "right", "yanchor": "bottom"}
    words = [
        fig.words(day.isoformat(), float(share), f"<b>{float(share):.1f} %</b>", xshift=-6, **at_right),
        fig.words(
            finish.contract.isoformat(), 0, f"contract {finish.contract:%-d %b}", xshift=-4, ink="--red", **at_right
        ),
    ]
    if finish.p50 and finish.p80:
        both = f"even chance {finish.p50:%-d %b}, 80 % sure {finish.p80:%-d %b}"
        words.append(fig.words(finish.p80.isoformat(), 100, both, **at_right))
    return words


def _percent_rows(done: Progress) -> Rows:
    """Fridays, and now."""
    rows = []
    for day, share in done.days:
        if day.weekday() == FRIDAY or day == done.days[-1][0]:
            plan = float(done.planned(day))
            ahead = f"{float(share) - plan:+.1f}".replace("-", "\N{MINUS SIGN}")
            rows.append((f"{day:%-d %b}", f"{plan:.1f}", f"{float(share):.1f}", ahead))
    return rows


# ---- releases


class Week(NamedTuple):
    """Releases of one week, stage by stage."""

    monday: date
    counts: tuple[int, ...]


def production(weeks: Sequence[Week], left: Sequence[int], weeks_left: float) -> Chart:
    """Releases a week at each stage, the last of `weeks` running. `left`: foundations still to come through each stage."""
    title = "Releases per week and stage"
    if len(weeks) < 2:
        return Chart("production", title, "No whole week of work is over yet.")
    said = f"{sum(weeks[-2].counts)} releases in the last whole week{_short(weeks[-2].counts, left, weeks_left)}."
    traces, words, axes = list[fig.Trace](), list[dict[str, Any]](), dict[str, Any]()
    high = max(1, *(count for week in weeks for count in week.counts)) * 1.35
    room = 1 / len(STAGES)
    for place, stage in enumerate(STAGES):
        ref, top = str(place + 1) if place else "", 1 - room * place
        traces += _week_bars(weeks, place, f"y{ref}", stage.title)
        axes[f"yaxis{ref}"] = {"domain": [top - room * 0.78, top - room * 0.2], "range": [0, high], "nticks": 3}
        words.append(fig.words(0, top, stage.title, xref="paper", yref="paper", xanchor="left", yanchor="top"))
    axes["xaxis"] = fig.titled("week of", anchor=f"y{len(STAGES)}", tickformat="%-d %b")
    rows = [
        (
            f"{week.monday:%-d %b}{', so far' if week is weeks[-1] else ''}",
            *map(str, week.counts),
            str(sum(week.counts)),
        )
        for week in weeks
    ]
    head = ("Week of", *(stage.title for stage in STAGES), "All")
    return Chart(
        "production",
        title,
        said,
        "running week hatched",
        head,
        rows,
        fig.figure(traces, 560, annotations=words, **axes),
    )


def _short(counts: Sequence[int], left: Sequence[int], weeks_left: float) -> str:
    """Say which stage falls shortest of what the contract date needs."""
    if weeks_left <= 0:
        return "" if not any(left) else "; the contract date is over"
    needed = [each / weeks_left for each in left]
    place = max(range(len(STAGES)), key=lambda at: needed[at] - counts[at])
    if needed[place] <= counts[place]:
        return "; every stage makes what the contract date needs"
    stage = STAGES[place].title.lower()
    return f"; {stage} falls shortest: {counts[place]} where the contract date needs {needed[place]:.0f} a week"


def _week_bars(weeks: Sequence[Week], place: int, axis: str, name: str) -> list[fig.Trace]:
    over, running = weeks[:-1], weeks[-1:]
    last = ["" for _ in over[:-1]] + [str(over[-1].counts[place])]
    told: dict[str, Any] = {"xaxis": "x", "yaxis": axis, "name": name}
    counts = [week.counts[place] for week in over]
    return [
        fig.bars(fig.days([week.monday for week in over]), counts, text=last, **told),
        fig.hatched(
            fig.days([running[0].monday]), [running[0].counts[place]], text=[str(running[0].counts[place])], **told
        ),
    ]


# ---- waits


class Waits(NamedTuple):
    """Hours waited at one stage for one party, and the hours promised."""

    name: str
    hours: list[float]
    promised: float


def waits(answers: Sequence[Waits], visits: Sequence[Waits]) -> Chart:
    """How long hold points waited for the engineer's answer, and for the inspector after the time asked for."""
    title = "Waiting times at hold points"
    every = [hours for stage in answers for hours in stage.hours]
    if not every:
        return Chart("waits", title, "No hold point has been answered yet.")
    kept = sum(hours <= stage.promised for stage in answers for hours in stage.hours) / len(every)
    slow = max((stage for stage in answers if stage.hours), key=lambda stage: statistics.median(stage.hours))
    said = (
        f"Half of the answers came within {hour_words(statistics.median(every))}, {share_text(kept)} within the promise; "
        f"{slow.name.lower()} waits longest, {hour_words(statistics.median(slow.hours))} in the middle."
    )
    named = [each._replace(name=f"{each.name}, answer") for each in answers]
    named += [each._replace(name=f"{each.name}, inspection") for each in visits]
    shown = [each._replace(hours=sorted(each.hours)) for each in named if each.hours]
    axis = fig.titled("time waited", type="log", tickvals=[*HOUR_TICKS], ticktext=[*HOUR_TICKS.values()])
    traces = [trace for each in reversed(shown) for trace in _wait_marks(each)]
    made = fig.figure(traces, 70 + 32 * len(shown), xaxis=axis, yaxis=fig.NAMES)
    head = ("Stage, for", "Waits", "Middle", "9 of 10 within", "Longest", "Within the promise")
    fact = "dot: middle; bar: half of all; line: 8 of 10; red: promised"
    return Chart("waits", title, said, fact, head, [_wait_row(each) for each in shown], made)


def _wait_marks(each: Waits) -> list[fig.Trace]:
    p10, p25, p50, p75, p90 = (max(quantile(each.hours, part), SHORTEST_H) for part in (0.1, 0.25, 0.5, 0.75, 0.9))
    names = [each.name, each.name]
    return [
        fig.line([p10, p90], names, ink="--conc", width=1.4, hoverinfo="skip"),
        fig.line([p25, p75], names, ink="--conc", width=9, hoverinfo="skip"),
        fig.marks([p50], names[:1], size=9, name=f"middle {hour_words(p50)}"),
        fig.marks([each.promised], names[:1], symbol="line-ns-open", ink="--red", size=16, name="promised"),
    ]


def _wait_row(each: Waits) -> tuple[str, ...]:
    kept = sum(hours <= each.promised for hours in each.hours)
    times = (quantile(each.hours, 0.5), quantile(each.hours, 0.9), each.hours[-1])
    return (each.name, str(len(each.hours)), *map(hour_words, times), f"{kept} of {len(each.hours)}")


def quantile(ordered: Sequence[float], part: float) -> float:
    """Return a quantile of sorted values, straight between neighbours: definition 7 of Hyndman and Fan (1996, from memory)."""
    at = part * (len(ordered) - 1)
    low = int(at)
    return ordered[low] + (at - low) * (ordered[min(low + 1, len(ordered) - 1)] - ordered[low])


def hour_words(hours: float) -> str:
    """Write a wait: 40 min, 5.2 h, 2.1 d."""
    if hours < 1:
        return f"{hours * 60:.0f} min"
    return f"{round(hours, 1):g} h" if hours < 48 else f"{hours / 24:.1f} d"
