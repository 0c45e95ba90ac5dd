"""Drawings of control charts: values in order of time between the limits that they set themselves; causes by their weight."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from apps.calc.control.attributes import Attributes
from apps.calc.control.causes import Pareto
from apps.calc.control.said import named
from apps.calc.control.singles import Individuals
from apps.calc.shown import share_text
from apps.sheet.drawn import Drawing
from apps.sheet.drawn.bars import MOST_ROWS, Bar, height_of, lying
from apps.sheet.drawn.chart import Chart, figure, whole_ticks
from apps.sheet.drawn.paper import DASHED, Paper, spread, text_width

LABELS = 172.0
"""Room at the right for what the lines are."""
APART = 16.0
MOST_FLAGS = 12


def _series(
    name: str, high: float, ys: tuple[float, float], count: int, titles: tuple[str, str], first: int = 1
) -> Chart:
    """A wide chart over numbered values, with room at the right for labels."""
    paper = Paper(860, high, name)
    box = (72.0, 30.0, paper.width - 72 - LABELS, high - 30 - 46)
    return Chart(paper, (first - 0.6, count + 0.6), ys, *titles, box=box, x_words=whole_ticks(first, count, 16))


def _labels(chart: Chart, labels: Sequence[tuple[float, str, str]]) -> None:
    """Write (height, words, paint) at the right of the chart, pushed apart where they would meet."""
    x, order = chart.left + chart.width + 8, sorted(labels, key=lambda each: -each[0])
    lines: list[float] = []
    for value, _, _ in order:
        lines.append(max(chart.at(0, value)[1] + 4, lines[-1] + APART if lines else 0.0))
    floor = chart.paper.height - 6
    for at in reversed(range(len(lines))):
        lines[at] = min(lines[at], floor)
        floor = lines[at] - APART
    for line, (_, words, paint) in zip(lines, order, strict=True):
        chart.paper.text((x, line), words, bold=paint != "ink-2", paint=f"f-{paint}")


def _line(
    chart: Chart, heights: Sequence[float], first: int, paint: str, dash: str = DASHED, weight: float = 1.2
) -> None:
    """Draw a limit that may step from sample to sample."""
    points = []
    for at, height in enumerate(heights, first):
        points += [(at - 0.5, height), (at + 0.5, height)]
    chart.curve(points, f"s-{paint}", weight, dash)


def _values(chart: Chart, heights: Sequence[float], first: int = 1) -> None:
    """Draw the values in order, smaller where they are many."""
    points = [(float(at), height) for at, height in enumerate(heights, first)]
    if len(points) > 1:
        chart.curve(points, weight=1.2)
    chart.points(points, radius=max(1.2, min(3.4, 250 / len(points))))


def _flags(chart: Chart, flagged: Sequence[tuple[int, float, float]]) -> None:
    """Hatch from the limit to each value beyond it, and name the value where its words have room."""
    taken: list[tuple[float, float, float]] = []
    half = max(2.0, min(9.0, chart.width / (chart.x[1] - chart.x[0]) / 2.4))
    for at, value, limit in flagged:
        (x, y), (_, edge) = chart.at(at, value), chart.at(at, limit)
        chart.paper.rect(x - half, min(y, edge), 2 * half, abs(y - edge), "s-red", 1, "over")
        chart.paper.diamond((x, y), paint="f-red s-red")
        words = f"{at}: {figure(value)}"
        wide = text_width(words, bold=True) / 2 + 4
        x = min(max(x, chart.left + wide), chart.left + chart.width - wide)
        line = y - 10 if value >= limit else y + 20 if y + 24 < chart.top + chart.height else edge - 8
        if any(low < x + wide and x - wide < high and abs(line - there) < APART for low, high, there in taken):
            continue
        if len(taken) < MOST_FLAGS:
            taken.append((x - wide, x + wide, line))
            chart.paper.text((x, line), words, anchor="middle", bold=True, paint="f-red", patch=True)


def single_values(values: Mapping[str, Any], result: Individuals) -> Paper:
    """Draw the values in order between their limits; those beyond are flagged, long runs ringed."""
    heights = [float(each) for each in values["values"]]
    low, high = spread([*heights, result.upper, result.lower], 0.12)
    name = f"{len(heights)} values about {figure(result.centre)}, limits {figure(result.lower)} and {figure(result.upper)}. "
    name += f"Beyond: {named(result.signals)}." if result.signals else "None beyond."
    chart = _series(name, 320, (low, high), len(heights), ("value, in order of time", "value"))
    _between(chart, [result.upper] * len(heights), [result.lower] * len(heights))
    for height, paint, dash in (
        (result.upper, "red", DASHED),
        (result.lower, "red", DASHED),
        (result.centre, "ink", ""),
    ):
        _line(chart, [height] * len(heights), 1, paint, dash, 1.2 if dash else 0.9)
    _values(chart, heights)
    for at in result.runs:
        chart.paper.circle(chart.at(at, heights[at - 1]), 7, "f-none s-red", 1.4)
    _flags(
        chart,
        [
            (at, heights[at - 1], result.upper if heights[at - 1] > result.centre else result.lower)
            for at in result.signals
        ],
    )
    labels = [
        (result.upper, f"upper limit {figure(result.upper)}", "red"),
        (result.lower, f"lower limit {figure(result.lower)}", "red"),
    ]
    labels += [
        (result.centre, f"centre {figure(result.centre)}", "ink"),
        (heights[-1], f"last {figure(heights[-1])}", "ink-2"),
    ]
    _labels(chart, labels)
    if result.runs:
        chart.paper.text(
            (chart.left, chart.top + chart.height + 34), "ring: eighth or later in a row on one side", paint="f-ink-2"
        )
    return chart.paper


def moving_ranges(values: Mapping[str, Any], result: Individuals) -> Paper:
    """Draw how far each value stands from the one before, under its limit."""
    count = len(result.ranges) + 1
    top = max(*result.ranges, result.range_upper, 0.0) * 1.2 or 1.0
    name = f"Moving ranges of {count} values: mean {figure(result.mean_range)}, limit {figure(result.range_upper)}. "
    name += f"Over it: {named(result.range_signals)}." if result.range_signals else "None over it."
    chart = _series(name, 240, (0, top), count, ("value, in order of time", "range from the one before"), first=2)
    _between(chart, [result.range_upper] * len(result.ranges), [0.0] * len(result.ranges), 2)
    _line(chart, [result.range_upper] * len(result.ranges), 2, "red")
    _line(chart, [result.mean_range] * len(result.ranges), 2, "ink", "", 0.9)
    _values(chart, result.ranges, 2)
    _flags(chart, [(at, result.ranges[at - 2], result.range_upper) for at in result.range_signals])
    labels = [(result.range_upper, f"limit {figure(result.range_upper)}", "red")]
    _labels(chart, [*labels, (result.mean_range, f"mean {figure(result.mean_range)}", "ink")])
    return chart.paper


def _attributes(title: str, scale: float = 1.0) -> Callable[[Mapping[str, Any], Attributes], Paper]:
    """Return what draws a chart of counts, its heights times a scale."""

    def draw(values: Mapping[str, Any], result: Attributes) -> Paper:
        """Draw the samples in order between their limits; those beyond are flagged."""
        points, uppers, lowers = (
            [scale * each for each in part] for part in (result.points, result.uppers, result.lowers)
        )
        count, centre = len(points), scale * result.centre
        top = max(*points, *uppers, 0.0) * 1.14 or 1.0
        name = f"{count} samples about {figure(centre)}, {title}. "
        name += f"Beyond their limits: {named(result.signals)}." if result.signals else "None beyond its limits."
        chart = _series(name, 320, (0, top), count, ("sample, in order of time", title))
        _between(chart, uppers, lowers)
        _line(chart, uppers, 1, "red")
        _line(chart, lowers, 1, "red")
        _line(chart, [centre] * count, 1, "ink", "", 0.9)
        _values(chart, points)
        beyond = [
            (at, points[at - 1], uppers[at - 1] if points[at - 1] > centre else lowers[at - 1]) for at in result.signals
        ]
        _flags(chart, beyond)
        own = ", last" if len({*uppers}) > 1 else ""
        labels = [
            (uppers[-1], f"upper limit{own} {figure(uppers[-1])}", "red"),
            (lowers[-1], f"lower limit{own} {figure(lowers[-1])}", "red"),
        ]
        _labels(
            chart,
            [*labels, (centre, f"centre {figure(centre)}", "ink"), (points[-1], f"last {figure(points[-1])}", "ink-2")],
        )
        return chart.paper

    return draw


def _between(chart: Chart, uppers: Sequence[float], lowers: Sequence[float], first: int = 1) -> None:
    """Fill what lies between the limits."""
    up = [point for at, height in enumerate(uppers, first) for point in ((at - 0.5, height), (at + 0.5, height))]
    down = [point for at, height in enumerate(lowers, first) for point in ((at - 0.5, height), (at + 0.5, height))]
    chart.paper.area(*(chart.at(*each) for each in (*up, *reversed(down))), paint="f-line-3")


def causes(values: Mapping[str, Any], result: Pareto) -> Paper:
    """Draw the causes from most to least, a rule under the few that matter, the running share at the right."""
    shown = result.rows if len(result.rows) <= MOST_ROWS else result.rows[: MOST_ROWS - 1]
    bars = [
        Bar(row.label, row.count, f"{figure(row.count)}, {share_text(row.percent / 100)}", "f-ink" if at <= result.few else "f-conc",
            rule=at == result.few, last=share_text(min(row.cumulative_percent / 100, 1.0)))
        for at, row in enumerate(shown, 1)
    ]  # fmt: skip
    if rest := result.rows[len(shown) :]:
        part = sum(row.percent for row in rest) / 100
        count = sum(row.count for row in rest)
        bars.append(
            Bar(f"{len(rest)} others", count, f"{figure(count)}, {share_text(part)}", "s-line", "within", last="100 %")
        )
    first = result.rows[0]
    paper = Paper(
        860, height_of(len(bars)) + 16, f"{len(result.rows)} causes; first {first.label}, {share_text(first.percent / 100)}; "
        f"{result.few} make up {share_text(min(result.few_percent / 100, 1.0))}.",
    )  # fmt: skip
    paper.text((paper.width - 4, 12), "so far", anchor="end", paint="f-ink-2")
    lying(paper, bars, 20)
    return paper


DRAWINGS = {
    "control.individuals": (
        Drawing("Values in order", "limits from the values themselves", single_values, wide=True),
        Drawing("Moving ranges", "each value from the one before", moving_ranges, wide=True),
    ),
    "control.p": (
        Drawing("Share nonconforming", "limits by sample size", _attributes("nonconforming, %", 100.0), wide=True),
    ),
    "control.np": (Drawing("Number nonconforming", "", _attributes("nonconforming in the sample"), wide=True),),
    "control.u": (Drawing("Findings per unit", "limits by sample size", _attributes("findings per unit"), wide=True),),
    "control.c": (Drawing("Findings in each sample", "", _attributes("findings"), wide=True),),
    "control.pareto": (Drawing("Causes", "ink: the first to reach 80 % together", causes, wide=True),),
}
