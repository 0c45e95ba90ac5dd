"""Drawings of the schedule: how far the work is, how it flows through the stages, when it will probably be finished."""

import itertools
import math
from collections.abc import Callable, Mapping, Sequence
from datetime import timedelta
from typing import Any

from apps.calc.schedule.asked import MoreCrews
from apps.calc.schedule.balance import Balance
from apps.calc.schedule.earned import EarnedValue
from apps.calc.schedule.earned_time import EarnedSchedule
from apps.calc.schedule.flow import FlowForecast
from apps.calc.schedule.line import FlowLine
from apps.calc.schedule.progress import WeightedProgress
from apps.calc.schedule.said import days as day_count
from apps.calc.schedule.said import written
from apps.calc.schedule.spread import Spread
from apps.calc.schedule.three_point import PathEstimate
from apps.calc.schedule.under_way import WorkUnderWay
from apps.calc.shown import share_text
from apps.sheet.drawn import Drawing
from apps.sheet.drawn.bars import MOST_ROWS, Bar, cut, height_of, lying
from apps.sheet.drawn.chart import Chart, bell, figure, whole_ticks
from apps.sheet.drawn.paper import DASHED, Paper, Point, nice_ticks, spread, text_width

NO_FIGURES: dict[float, str] = {}
MOST_COLUMNS = 40
NAMES_ROOM = 172.0
"""Room at the right of the lines of the stages for their names and last days."""
APART = 16.0


# Flow through the stages --------------------------------------------------------------------------------------------


def _day_words(result: FlowForecast, last: float) -> dict[float, str]:
    """Days along an axis, as dates where the calendar has them."""
    ticks = nice_ticks(0, last, 6)
    if result.start is None:
        return {each: figure(each) for each in ticks}
    return {each: f"{(day := result.start + timedelta(days=each)).day} {day:%b}" for each in ticks if each == int(each)}


def _stage_lines(paper: Paper, lines: Sequence[Sequence[Point]], names: Sequence[str], most: tuple[float, float],
                 y_words: dict[float, str], y_title: str, heavy: int, said: Callable[[float], str]) -> Chart:  # fmt: skip
    """Draw one line a stage, foundation across and day down, heavier the later the stage; name and last day at its end."""
    box = (64.0, 30.0, paper.width - 64 - NAMES_ROOM, paper.height - 30 - 46)
    count, last = most
    chart = Chart(
        paper,
        (0.5, count + 0.5),
        (last, 0),
        "foundation, in order",
        y_title,
        box,
        whole_ticks(1, int(count), 16),
        y_words,
    )
    ends: list[tuple[float, str, bool]] = []
    for at, (points, name) in enumerate(zip(lines, names, strict=True)):
        weight = 1.0 + 1.8 * at / max(len(lines) - 1, 1)
        if len(points) > 1:
            chart.curve(points, "s-ink" if at == heavy else "s-conc", weight)
        chart.points(points if len(points) == 1 else [], "f-ink" if at == heavy else "f-conc")
        ends.append((chart.at(*points[-1])[1], f"{cut(name, 14)}, {said(points[-1][1])}", at == heavy))
    _end_names(chart, ends)
    return chart


def _end_names(chart: Chart, ends: Sequence[tuple[float, str, bool]]) -> None:
    """Write names at the right of lines, pushed apart where they would meet."""
    order, lines = sorted(ends), list[float]()
    for y, _, _ in order:
        lines.append(max(y + 4, lines[-1] + APART if lines else 0.0))
    floor = chart.paper.height - 40
    for at in reversed(range(len(lines))):
        lines[at] = min(lines[at], floor)
        floor = lines[at] - APART
    for line, (_, name, bold) in zip(lines, order, strict=True):
        chart.paper.text((chart.left + chart.width + 10, line), name, bold=bold, paint="f-ink" if bold else "f-ink-2")


def stage_lines(values: Mapping[str, Any], result: FlowForecast) -> Paper | None:
    """Draw on which day each foundation is released at each stage, mean of the draws; the bottleneck in ink."""
    if len(result.stages) > MOST_ROWS or not result.p90:
        return None
    count = len(result.lines)
    every = max(1, count // 200)
    numbers = sorted({*range(0, count, every), count - 1})
    last = result.p90
    lines = [[(at + 1.0, result.lines[at][stage]) for at in numbers] for stage in range(len(result.stages))]
    paper = Paper(
        860, 380, f"Mean day of release of {count:,} foundations at each of {len(result.stages)} stages; {result.bottleneck} "
        f"holds the flow up; the last is released on day {figure(round(result.lines[-1][-1], 1))}.",
    )  # fmt: skip
    title = "day of release" if result.start is None else f"day of release, from {written(result.start)}"
    chart = _stage_lines(
        paper,
        lines,
        result.stages,
        (count, last),
        _day_words(result, last),
        title,
        _bottleneck(result),
        lambda time: _short_when(result, time),
    )
    chart.limit(result.p50, f"even chance {_when(result, result.p50)}", paint="ink", first=True) if result.p50 else None
    return paper


def _bottleneck(result: FlowForecast) -> int:
    return max(range(len(result.governs)), key=lambda at: result.governs[at])


def _when(result: FlowForecast, time: float) -> str:
    """A time as the drawing writes it: a date, or a number of days."""
    if result.start is None:
        return day_count(time)
    day = result.start + timedelta(days=max(math.ceil(time - 1e-6) - 1, 0))
    return written(day)


def finish(values: Mapping[str, Any], result: FlowForecast) -> Paper | None:
    """Draw when the last foundation is released: the share of the draws by day, P10 to P90 as a band."""
    quantiles = result.quantiles
    if quantiles[0] == quantiles[100]:
        return None
    low, high = spread([quantiles[1], quantiles[99]], 0.1)
    edges = [low + (high - low) * at / MOST_COLUMNS for at in range(MOST_COLUMNS + 1)]
    chances = [result.chance_by(each) for each in edges]
    shares = [100 * (later - earlier) for earlier, later in itertools.pairwise(chances)]
    wide = edges[1] - edges[0]
    paper = Paper(
        420, 310, f"Finish: 10 % sure {_when(result, result.p10)}, even chance {_when(result, result.p50)}, 80 % sure "
        f"{_when(result, result.p80)}, 90 % sure {_when(result, result.p90)}.",
    )  # fmt: skip
    words = None
    if result.start is not None:
        words = {
            each: f"{(day := result.start + timedelta(days=each)).day} {day:%b}" for each in nice_ticks(low, high, 4)
        }
    title = "finish, calendar days" if result.start is None else "finish"
    chart = Chart(paper, (low, high), (0, max(shares) * 1.75), title, "of the draws, %", x_words=words)
    chart.band(result.p10, result.p90, upright=True)
    for at, share in enumerate(shares):
        if share > 0:
            chart.bar(edges[at] + wide / 2, share, wide * 0.86, "f-conc")
    marks = [
        (result.p10, "10 % sure"),
        (result.p50, "even chance"),
        (result.p80, "80 % sure"),
        (result.p90, "90 % sure"),
    ]
    chart.marks([(at, f"{name} {_short_when(result, at)}", "ink") for at, name in marks])
    return paper


def _short_when(result: FlowForecast, time: float) -> str:
    return figure(round(time, 1)) if result.start is None else _when(result, time).rsplit(" ", 1)[0]


def busy(values: Mapping[str, Any], result: FlowForecast) -> Paper:
    """Draw which share of the time each stage's crews work; the bottleneck in ink."""
    slow = _bottleneck(result)
    order = range(len(result.stages))
    shown = (
        list(order) if len(order) <= MOST_ROWS else sorted(sorted(order, key=lambda at: -result.busy[at])[:MOST_ROWS])
    )
    bars = [
        Bar(
            result.stages[at],
            result.busy[at],
            share_text(min(result.busy[at], 1.0)),
            "f-ink" if at == slow else "f-conc",
            bold=at == slow,
        )
        for at in shown
    ]
    paper = Paper(
        420, height_of(len(bars)) + 18, "Share of the time that the crews work: "
        + ", ".join(f"{each.name} {each.words}" for each in bars) + ".",
    )  # fmt: skip
    lying(paper, bars, most=1.0)
    paper.text(
        (paper.width - 4, paper.height - 6), "of the workable time, start to finish", anchor="end", paint="f-ink-2"
    )
    return paper


def more_crews(values: Mapping[str, Any], result: MoreCrews) -> Paper:
    """Draw how much earlier the finish is with one more crew at each stage, best first."""
    bars = [
        Bar(
            each.stage,
            max(each.p80_earlier, 0.0),
            day_count(each.p80_earlier),
            "f-ink" if at == 0 else "f-conc",
            bold=at == 0,
        )
        for at, each in enumerate(result.effects[:MOST_ROWS])
    ]
    paper = Paper(
        420, height_of(len(bars)) + 18, "Earlier with one more crew, 80 % sure: "
        + ", ".join(f"{each.name} {each.words}" for each in bars) + ".",
    )  # fmt: skip
    lying(paper, bars, most=max(result.best_days, 1e-9))
    paper.text(
        (paper.width - 4, paper.height - 6),
        f"80 % sure now within {day_count(result.p80)}",
        anchor="end",
        paint="f-ink-2",
    )
    return paper


def line_without_variation(values: Mapping[str, Any], result: FlowLine) -> Paper | None:
    """Draw the straight lines of a flow without variation, and the day on which the last foundation is out."""
    work, lags, count = values["days"], values["lags"], int(values["foundations"])
    if len(work) > MOST_ROWS or not result.last_out:
        return None
    lines, so_far, pace = list[list[Point]](), 0.0, 0.0
    for day, lag in zip(work, lags, strict=True):
        so_far, pace = so_far + day + lag, max(pace, day)
        points = [(1.0, so_far), (float(count), so_far + (count - 1) * pace)]
        lines.append(points if count > 1 else points[:1])
    names = [f"stage {at + 1}" for at in range(len(work))]
    paper = Paper(
        860, 360, f"First out after {day_count(result.first_out)}, last of {count:,} after {day_count(result.last_out)}; stage "
        f"{result.bottleneck} sets the pace.",
    )  # fmt: skip
    last = result.last_out * 1.04
    words = {each: figure(each) for each in nice_ticks(0, last, 6)}
    _stage_lines(paper, lines, names, (count, last), words, "day out of the stage", result.bottleneck - 1, figure)
    return paper


# Rates --------------------------------------------------------------------------------------------------------------


def balance(values: Mapping[str, Any], result: Balance) -> Paper:
    """Draw the line of balance: each foundation from start to finish, and the rate that was wanted."""
    count, unit = values["foundations"], result.unit_days
    wanted = (count - 1) / values["target_a_week"] * values["days_a_week"]
    last = max(result.finish_days, wanted + unit) * 1.04
    paper = Paper(
        860, 360, f"{result.crews} crews do {figure(result.rate_a_week)} foundations a week; each takes {day_count(unit)}, the last "
        f"is done after {day_count(result.finish_days)}.",
    )  # fmt: skip
    box = (64.0, 30.0, 772.0, 284.0)
    chart = Chart(paper, (0, last), (0.4, count + 0.8), "working days", "foundation", box)
    start, end = [(0.0, 1.0), (result.last_start_days, count)], [(unit, 1.0), (result.finish_days, count)]
    chart.paper.area(*(chart.at(*each) for each in (*start, *reversed(end))), paint="f-line-3")
    if count <= MOST_COLUMNS:
        for number in range(1, int(count) + 1):
            began = result.last_start_days * (number - 1) / max(count - 1, 1)
            chart.curve([(began, number), (began + unit, number)], "s-conc", 3)
    chart.curve([(unit, 1.0), (wanted + unit, count)], "s-line", 0.7, DASHED)
    for points in (start, end):
        chart.curve(points, weight=1.8)
    done, edge = chart.at(result.finish_days, count), chart.left + chart.width
    chart.paper.text(
        (min(done[0], edge), done[1] - 9), f"done {day_count(result.finish_days)}", anchor="end", bold=True, patch=True
    )
    said = f"built {figure(result.rate_a_week)} a week; dashed: wanted {figure(values['target_a_week'])}; {day_count(unit)} each"
    chart.paper.text((chart.left, paper.height - 10), said, paint="f-ink-2")
    return paper


def throughput(values: Mapping[str, Any], result: WorkUnderWay) -> Paper:
    """Draw how many are finished a day for other numbers under way: best, practical worst, and as it is."""
    rate, time, wip, critical = values["rate"], values["raw_time"], values["wip"], result.critical_wip
    most = max(2.2 * max(critical, wip), 3.0)
    xs = sorted({1 + (most - 1) * at / 120 for at in range(121)} | {wip, max(critical, 1.0)})
    paper = Paper(
        420, 300, f"Finished a day by number under way: {figure(result.throughput)} with {figure(wip)}, the bottleneck does "
        f"{figure(rate)}.",
    )  # fmt: skip
    chart = Chart(paper, (0, most), (0, rate * 1.3), "foundations under way", "finished a day")
    chart.curve([(x, min(x / time, rate)) for x in xs], "s-line", 0.9)
    chart.curve([(x, rate * x / (critical + x - 1)) for x in xs])
    chart.curve([(0, rate), (most, rate)], "s-line", 0.7, DASHED)
    chart.label(0, rate, f"bottleneck {figure(rate)}", dx=4, dy=-6, paint="f-line", bold=False)
    chart.points([(wip, result.throughput)], radius=4.2)
    _below(chart, (wip, result.throughput), f"{figure(result.throughput)} with {figure(wip)}")
    return paper


def cycle(values: Mapping[str, Any], result: WorkUnderWay) -> Paper:
    """Draw how long one foundation takes for other numbers under way."""
    rate, time, wip, critical = values["rate"], values["raw_time"], values["wip"], result.critical_wip
    most = max(2.2 * max(critical, wip), 3.0)
    xs = sorted({1 + (most - 1) * at / 60 for at in range(61)} | {wip, max(critical, 1.0)})
    top = (time + (most - 1) / rate) * 1.12
    paper = Paper(
        420, 300, f"Days from start to finish by number under way: {figure(result.cycle_time)} with {figure(wip)}, {figure(time)} "
        "without waiting.",
    )  # fmt: skip
    chart = Chart(paper, (0, most), (0, top), "foundations under way", "days from start to finish")
    chart.curve([(x, max(time, x / rate)) for x in xs], "s-line", 0.9)
    chart.curve([(x, time + (x - 1) / rate) for x in xs])
    chart.points([(wip, result.cycle_time)], radius=4.2)
    x, y = chart.at(wip, result.cycle_time)
    words = f"{day_count(result.cycle_time)} with {figure(wip)}"
    fits = x - chart.left > text_width(words, bold=True) + 10
    chart.paper.text(
        (x - 8 if fits else chart.left + 6, y - 8), words, anchor="end" if fits else "start", bold=True, patch=True
    )
    chart.paper.text((chart.left, paper.height - 8), "thin: without variation", paint="f-ink-2")
    return paper


def _below(chart: Chart, point: Point, words: str) -> None:
    """Write words under a point of a curve that rises and levels."""
    (x, y), wide = chart.at(*point), text_width(words, bold=True)
    y += 20 if y + 26 < chart.top + chart.height else -8
    fits = x + 8 + wide <= chart.left + chart.width
    chart.paper.text((x + 8 if fits else x, y), words, anchor="start" if fits else "end", bold=True, patch=True)


# Times by chance ----------------------------------------------------------------------------------------------------


def _percentile_marks(result: Spread) -> list[tuple[float, str, str]]:
    names = ((result.p50, "even chance"), (result.p80, "80 % sure"), (result.p95, "95 %"))
    return [(at, f"{name} {figure(round(at, 1))}", "ink") for at, name in names]


def waits(values: Mapping[str, Any], result: Spread) -> Paper:
    """Draw how long the waits take together, with what is over 80 % hatched."""
    count, mean = values["count"], values["mean"]
    high = max(result.p95 * 1.35, result.mean + 3 * result.sd)
    low = max(0.0, result.mean - 4.5 * result.sd)
    xs = sorted({low + (high - low) * at / 200 for at in range(1, 201)} | {result.p80})
    logs = [(count - 1) * math.log(x / mean) - x / mean for x in xs]
    peak = max(logs)
    curve = [(x, math.exp(each - peak)) for x, each in zip(xs, logs, strict=True)]
    paper = Paper(
        420, 300, f"Sum of {figure(count)} waits of {figure(mean)} days on average: even chance within {figure(result.p50)}, 80 % sure "
        f"within {figure(result.p80)}, 95 % within {figure(result.p95)}.",
    )  # fmt: skip
    chart = Chart(paper, (low, high), (0, 1.62), "days in all", "", (30, 26, 374, 226), y_words=NO_FIGURES)
    chart.under([each for each in curve if each[0] <= result.p80])
    chart.under([each for each in curve if each[0] >= result.p80], "s-line", "within")
    chart.curve(curve, weight=1.8)
    chart.marks(_percentile_marks(result))
    return paper


def weather(values: Mapping[str, Any], result: Spread) -> Paper:
    """Draw how probable each number of calendar days is."""
    from scipy.stats import nbinom

    need, chance = int(values["workable_days"]), values["chance"]
    lost = nbinom(need, chance)
    low, high = need + int(lost.ppf(0.001)), need + max(int(lost.ppf(0.995)), 2)
    stride = max(1, (high - low) // MOST_COLUMNS)
    columns = range(low, high + 1, stride)
    chances = {each: 100 * float(lost.cdf(each - need + stride - 1) - lost.cdf(each - need - 1)) for each in columns}
    paper = Paper(
        420, 300, f"Calendar days for {need:,} workable ones: even chance within {figure(result.p50)}, 80 % sure within "
        f"{figure(result.p80)}, 95 % within {figure(result.p95)}.",
    )  # fmt: skip
    ends = (low - stride, columns[-1] + stride * (4 if high >= 1e6 else 1))  # long figures need room at the edge
    chart = Chart(
        paper,
        ends,
        (0, max(chances.values()) * 1.6),
        "calendar days",
        "chance, %",
        x_words=whole_ticks(low, columns[-1], 7),
    )
    for each, share in chances.items():
        over = each > result.p80
        if share > 0:
            chart.bar(
                each + (stride - 1) / 2, share, 0.72 * stride, "s-line" if over else "f-conc", "within" if over else ""
            )
    chart.marks(_percentile_marks(result))
    return paper


def path(values: Mapping[str, Any], result: PathEstimate) -> Paper:
    """Draw the activities one after the other: from optimistic to pessimistic, the mean where the next one begins."""
    rows = list(zip(values["optimistic"], values["likely"], values["pessimistic"], strict=True))
    shown, names = rows[:MOST_ROWS], [f"{at + 1}" for at in range(len(rows))][:MOST_ROWS]
    means = [(low + 4 * likely + high) / 6 for low, likely, high in rows]
    begins = [sum(means[:at]) for at in range(len(rows))]
    end = max(*(begin + row[2] for begin, row in zip(begins, shown, strict=False)), result.mean) * 1.03 or 1.0
    paper = Paper(
        860, 96 + 32.0 * len(shown), f"{len(rows)} activities one after the other, {figure(result.mean)} on average, standard deviation "
        f"{figure(result.sd)}.",
    )  # fmt: skip
    heights = {float(-at): name for at, name in enumerate(names)}
    box = (64.0, 30.0, 776.0, 32.0 * len(shown) + 8)
    chart = Chart(paper, (0, end), (-len(shown) + 0.4, 0.7), "time", "activity", box, y_words=heights)
    for at, ((low, likely, high), mean, begin) in enumerate(zip(shown, means, begins, strict=False)):
        (x1, y), (x2, _) = chart.at(begin + low, -at), chart.at(begin + high, -at)
        paper.rect(x1, y - 6, max(x2 - x1, 1), 12, "f-conc-2 s-ink", 1.2)
        chart.curve([(begin, -at), (begin + mean, -at)], weight=2.4)
        paper.diamond(chart.at(begin + likely, -at), 5, "f-sheet s-ink")
        if at + 1 < len(shown):
            paper.line(chart.at(begin + mean, -at), chart.at(begin + mean, -at - 1), paint="s-line", weight=0.7)
        paper.text(
            (chart.at(begin + mean, -at)[0], y - 9),
            figure(round(mean, 3)),
            anchor="middle" if mean else "start",
            bold=True,
        )
    said = "line: mean, written; box: optimistic to pessimistic; diamond: likely"
    paper.text((8, paper.height - 8), said, paint="f-ink-2")
    return paper


def total(values: Mapping[str, Any], result: PathEstimate) -> Paper | None:
    """Draw when the path is probably done: a normal curve with its percentiles."""
    if result.variance == 0:
        return None
    mean, sd = result.mean, result.sd
    ends = (mean - 3.6 * sd, mean + 3.6 * sd)
    marks = [(result.time_at(each), name) for each, name in ((0.5, "even chance"), (0.8, "80 % sure"), (0.95, "95 %"))]
    paper = Paper(
        420, 300, "Time of the whole path: " + ", ".join(f"{name} {figure(at)}" for at, name in marks) + ".",
    )  # fmt: skip
    chart = Chart(paper, ends, (0, 1.62), "time of the whole path", "", (30, 26, 374, 226), y_words=NO_FIGURES)
    curve = sorted({*bell(mean, sd, *ends), (marks[1][0], math.exp(-(((marks[1][0] - mean) / sd) ** 2) / 2))})
    chart.under([each for each in curve if each[0] <= marks[1][0]])
    chart.under([each for each in curve if each[0] >= marks[1][0]], "s-line", "within")
    chart.curve(curve, weight=1.8)
    chart.marks([(at, f"{name} {figure(at)}", "ink") for at, name in marks])
    return paper


# How far the work is ------------------------------------------------------------------------------------------------


def by_stage(values: Mapping[str, Any], result: WeightedProgress) -> Paper | None:
    """Draw a column a stage, as wide as its weight and filled as high as it is released: the area is the progress."""
    weights, released, total_ = (
        [float(each) for each in values["weights"]],
        values["released"],
        float(values["foundations"]),
    )
    if not total_:
        return None
    paper = Paper(
        860, 330, f"{share_text(float(result.percent) / 100)} complete. Released by stage: "
        + ", ".join(f"{each:,.0f}" for each in released) + f" of {total_:,.0f}.",
    )  # fmt: skip
    edges = [sum(weights[:at]) for at in range(len(weights) + 1)]
    middles = {(low + high) / 2: str(at) for at, (low, high) in enumerate(itertools.pairwise(edges), 1)}
    box = (64.0, 30.0, 780.0, 222.0)
    chart = Chart(paper, (0, edges[-1]), (0, 112), "stages in work order, as wide as their weight", "released, %", box,
                  _apart(middles, edges[-1]))  # fmt: skip
    for at, (low, high) in enumerate(itertools.pairwise(edges)):
        share = 100 * float(released[at]) / total_
        (x1, top), (x2, floor) = chart.at(low, 100), chart.at(high, 0)
        paper.rect(x1, top, x2 - x1, floor - top, "f-sheet s-line", 0.7)
        if share:
            chart.bar((low + high) / 2, share, high - low, "f-conc s-ink")
        words = f"{float(released[at]):,.0f}"
        if x2 - x1 > text_width(words, bold=True) + 6:
            chart.label((low + high) / 2, share, words, anchor="middle", dx=0, dy=-5)
    said = f"filled: {share_text(float(result.percent) / 100)} of the whole, {total_:,.0f} foundations"
    paper.text((chart.left, paper.height - 8), said, bold=True)
    return paper


def _apart(middles: Mapping[float, str], whole: float) -> dict[float, str]:
    """Names of columns, left out where they would meet."""
    kept, last = dict[float, str](), -1e9
    for at, words in middles.items():
        if at / whole * 780 - last > 24:
            kept[at], last = words, at / whole * 780
    return kept


def sums(values: Mapping[str, Any], result: EarnedValue) -> Paper:
    """Draw planned, earned and actual against the budget, and what it comes to at this rate."""
    over = result.estimate_at_completion is not None and result.estimate_at_completion > values["budget"] * (1 + 1e-9)
    rows = [
        Bar("planned to date", values["planned"], figure(values["planned"]), "s-line", "within"),
        Bar("earned to date", values["earned"], figure(values["earned"]), "f-ink", bold=True),
        Bar("actual cost to date", values["actual"], figure(values["actual"]), "f-conc", rule=True),
        Bar("budget", values["budget"], figure(values["budget"]), "s-line", "within"),
    ]
    if result.estimate_at_completion is not None:
        rows.append(Bar("at this rate in all", result.estimate_at_completion, figure(result.estimate_at_completion),
                        "s-red" if over else "f-conc", "over" if over else ""))  # fmt: skip
    paper = Paper(420, height_of(len(rows)) + 4, ", ".join(f"{each.name} {each.words}" for each in rows) + ".")
    lying(paper, rows)
    return paper


def indices(values: Mapping[str, Any], result: EarnedValue) -> Paper | None:
    """Draw both indices as one point: ahead or late across, under or over the cost up."""
    if result.spi is None or result.cpi is None:
        return None
    reach = max(abs(result.spi - 1), abs(result.cpi - 1), 0.1) * 1.5
    ends = (1 - reach, 1 + reach)
    paper = Paper(420, 320, f"Schedule index {figure(result.spi)}, cost index {figure(result.cpi)}; 1 is as planned.")
    chart = Chart(
        paper,
        ends,
        ends,
        "schedule index: late \N{LEFTWARDS ARROW} 1 \N{RIGHTWARDS ARROW} ahead",
        "cost index, over 1: under its cost",
    )
    chart.paper.rect(*chart.at(1, ends[1]), chart.width / 2, chart.height / 2, "f-line-3")
    chart.curve([(1, ends[0]), (1, ends[1])], weight=1)
    chart.curve([(ends[0], 1), (ends[1], 1)], weight=1)
    paint = "f-red" if result.spi < 1 or result.cpi < 1 else "f-ink"
    chart.points([(result.spi, result.cpi)], paint, 5)
    words = f"{figure(result.spi)}, {figure(result.cpi)}"
    right = result.spi < 1
    chart.label(
        result.spi, result.cpi, words, anchor="start" if right else "end", dx=10 if right else -10, dy=-8, paint=paint
    )
    return paper


def earned_curve(values: Mapping[str, Any], result: EarnedSchedule) -> Paper:
    """Draw the plan, where the work stands, when the plan had it there, and to when this rate leads."""
    planned, earned, now = values["planned"], values["earned"], values["periods"]
    end, total_ = result.forecast_periods, planned[-1]
    shown = end if end is not None and end <= 6 * max(result.planned_periods, now) else None
    last = max(result.planned_periods, now, shown or 0.0, float(len(planned))) * 1.06
    paper = Paper(
        860, 350, f"Earned {figure(earned)} after {figure(now)} periods; the plan had it after {figure(result.earned_periods)}. Planned "
        f"{figure(result.planned_periods)} periods, at this rate {figure(end) if end is not None else 'not known'}.",
    )  # fmt: skip
    chart = Chart(paper, (0, last), (0, total_ * 1.22), "periods", "value, cumulative", (72.0, 30.0, 768.0, 274.0))
    chart.curve([(0.0, 0.0), *((at + 1.0, float(each)) for at, each in enumerate(planned))], "s-line", 1)
    chart.label(result.planned_periods, total_, f"plan {figure(result.planned_periods)}", anchor="middle", dx=0, dy=-8,
                bold=False, paint="f-line")  # fmt: skip
    chart.curve([(0.0, 0.0), (now, earned)], weight=2)
    if shown is not None and shown > now:
        chart.curve([(now, earned), (shown, total_)], weight=1.2, dash=DASHED)
    if shown is not None and abs(shown - result.planned_periods) / last > 0.12:
        chart.label(
            shown, total_, f"at this rate {figure(shown)}", anchor="end" if shown > last / 2 else "start", dx=0, dy=-8
        )
    late = result.variance_periods < -1e-9
    if abs(result.variance_periods) > 1e-9:
        ends = sorted((result.earned_periods, now))
        chart.curve([(ends[0], earned), (ends[1], earned)], "s-red" if late else "s-ink", 2.4)
    chart.points([(now, earned)], "f-red" if late else "f-ink", 4.6)
    words = (
        "on the plan"
        if abs(result.variance_periods) < 1e-9
        else f"{figure(abs(result.variance_periods))} {'late' if late else 'ahead'}"
    )
    (x, y), at_right = chart.at(now, earned), now > 0.8 * last
    paper.text((x - 10 if at_right else x + 10, min(y + 18, chart.top + chart.height - 6)), words, bold=True, patch=True,
               anchor="end" if at_right else "start", paint="f-red" if late else "f-ink")  # fmt: skip
    return paper


FLOW = (
    Drawing("Stage by stage", "mean of the draws; heavier: later stages", stage_lines, wide=True),
    Drawing("Finish", "band: 10 % to 90 % sure", finish),
    Drawing("How busy the crews are", "ink: holds the flow up", busy),
)
DRAWINGS = {
    "schedule.flow": FLOW,
    "schedule.dates": FLOW,
    "schedule.crew": (Drawing("One more crew", "days earlier, 80 % sure", more_crews),),
    "schedule.flow_line": (Drawing("Stage by stage", "ink: sets the pace", line_without_variation, wide=True),),
    "schedule.line_of_balance": (Drawing("Line of balance", "", balance, wide=True),),
    "schedule.work_under_way": (
        Drawing("Finished a day", "thin: without variation", throughput),
        Drawing("Time of one foundation", "practical worst case", cycle),
    ),
    "schedule.erlang": (Drawing("Waits together", "hatched: over 80 % sure", waits),),
    "schedule.weather": (Drawing("Calendar days", "hatched: over 80 % sure", weather),),
    "schedule.three_point": (
        Drawing("One after the other", "", path, wide=True),
        Drawing("The whole path", "hatched: over 80 % sure", total),
    ),
    "schedule.progress": (Drawing("By stage", "area filled: complete by weight", by_stage, wide=True),),
    "schedule.earned_value": (
        Drawing("Sums", "to one scale", sums),
        Drawing("Both indices", "tinted: ahead and under its cost", indices),
    ),
    "schedule.earned_schedule": (Drawing("Plan and work", "", earned_curve, wide=True),),
}
