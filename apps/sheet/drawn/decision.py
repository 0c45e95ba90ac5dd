"""Drawings of decisions: the budget of an uncertainty, a measured value at its limits, guard bands, risks, samples."""

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from apps.calc.decision.budget import Budget
from apps.calc.decision.guard import GuardBand
from apps.calc.decision.plans import LotPlan
from apps.calc.decision.probability import Conformity
from apps.calc.decision.risk import GlobalRisk
from apps.calc.decision.sampling import Acceptance, acceptance_probability, accepts_lot, accepts_process
from apps.calc.decision.shares import Share, share_interval
from apps.calc.decision.two_points import TwoPoints, bad
from apps.calc.shown import share_text
from apps.sheet.drawn import Drawing
from apps.sheet.drawn.bars import MOST_ROWS, Bar, height_of, lying
from apps.sheet.drawn.chart import Chart, bell, whole_ticks
from apps.sheet.drawn.chart import figure as short
from apps.sheet.drawn.paper import Paper, Point, spread, text_width

NO_FIGURES: dict[float, str] = {}
"""A relative density has no figures that anyone reads."""
FAR = 12.0
"""A limit farther from the value than so many standard uncertainties would make the curve a line."""
FEW_BARS = 40
SHARES = (0.0, 118.0)
"""Heights in percent, with room over 100 for the words of a limit."""


def _chart_over_keys(paper: Paper, x: tuple[float, float], y: tuple[float, float], x_title: str) -> Chart:
    """A chart without heights, with a row for keys under it."""
    return Chart(paper, x, y, x_title, "", (30, 26, paper.width - 56, paper.height - 26 - 66), y_words=NO_FIGURES)


def _keys(paper: Paper, keys: Sequence[tuple[str, str, str]]) -> None:
    """Write keys side by side in the last row: words, paint, fill."""
    x = 30.0
    for words, paint, fill in keys:
        paper.key_mark((x, paper.height - 8), words, paint, fill=fill)
        x += 40 + text_width(words)


# Budget -------------------------------------------------------------------------------------------------------------


def budget(values: Mapping[str, Any], result: Budget) -> Paper:
    """Draw each component's standard uncertainty, greatest first, and the combined one under them."""
    order = sorted(range(len(result.parts)), key=lambda at: -result.parts[at])
    shown = order if len(order) <= MOST_ROWS else order[: MOST_ROWS - 1]
    bars = [
        Bar(
            f"{at + 1}, {values['kinds'][at]}",
            result.parts[at],
            f"{short(result.parts[at])}, {share_text(result.shares[at])}",
        )
        for at in shown
    ]
    if rest := order[len(shown) :]:
        part = math.hypot(*(result.parts[at] for at in rest))
        share = share_text(sum(result.shares[at] for at in rest))
        bars.append(Bar(f"{len(rest)} others", part, f"{short(part)}, {share}", "s-line", "within"))
    bars[-1] = bars[-1]._replace(rule=True)
    bars.append(Bar("u, combined", result.combined, short(result.combined), "f-ink", bold=True))
    paper = Paper(
        420,
        height_of(len(bars)) + 26,
        f"Standard uncertainty of {len(result.parts)} components, combined {short(result.combined)}, expanded "
        f"{short(result.expanded)} with k {short(result.coverage)}.",
    )
    lying(paper, bars)
    said = f"U = {short(result.coverage)} u = {short(result.expanded)}"
    paper.text((paper.width - 8, paper.height - 8), said, anchor="end", bold=True)
    return paper


# One value at its limits --------------------------------------------------------------------------------------------


def _limits(values: Mapping[str, Any]) -> tuple[float, float]:
    low, high = values.get("low"), values.get("high")
    return (-math.inf if low is None else low), (math.inf if high is None else high)


def _near(value: float, u: float, limits: Sequence[float]) -> list[float]:
    """The limits that the drawing reaches to: those near the value, the nearest in any case."""
    real = sorted((each for each in limits if math.isfinite(each)), key=lambda each: abs(each - value))
    return [
        each for at, each in enumerate(real) if at == 0 or abs(each - value) <= max(FAR * u, 2 * abs(real[0] - value))
    ]


def _beyond(chart: Chart, curve: Sequence[Point], low: float, high: float) -> None:
    """Hatch what of a curve lies outside the limits."""
    for points in (
        [each for each in curve if each[0] <= low],
        [each for each in curve if each[0] >= high],
    ):
        if len(points) > 1:
            chart.under(points, "s-red", "over")


def value_at_limits(values: Mapping[str, Any], result: Conformity) -> Paper:
    """Draw where the true value probably lies, with the part outside the limits hatched."""
    y, u = values["value"], values["standard_uncertainty"]
    low, high = _limits(values)
    near = _near(y, u, (low, high))
    ends = spread([y - 4 * u, y + 4 * u, *near], 0.06)
    paper = Paper(
        420,
        300,
        f"Measured {short(y)} with standard uncertainty {short(u)}: {share_text(result.probability)} within the limits, "
        f"{share_text(result.risk)} outside.",
    )
    chart = _chart_over_keys(paper, ends, (0, 1.5), "true value")
    chart.band(max(low, ends[0]), min(high, ends[1]), upright=True)
    curve = _with(bell(y, u, *ends), y, u, near)
    if u:
        _beyond(chart, curve, low, high)
    chart.curve(curve, weight=1.8)
    names = {low: "lower limit", high: "upper limit"}
    chart.marks([(each, f"{names[each]} {short(each)}", "red") for each in near] + [(y, f"measured {short(y)}", "ink")])
    keys = [(f"{share_text(result.probability)} within", "f-line-3 s-line", "")]
    _keys(paper, [*keys, (f"{share_text(result.risk)} outside", "s-red", "over")] if result.risk > 0 else keys)
    return paper


def _with(curve: list[Point], mean: float, sd: float, places: Sequence[float]) -> list[Point]:
    """A normal curve with points just at these places, so that hatching begins on the limit."""
    if sd <= 0:
        return curve
    return sorted({*curve, *((each, math.exp(-(((each - mean) / sd) ** 2) / 2)) for each in places)})


def by_value(values: Mapping[str, Any], result: Conformity) -> Paper | None:
    """Draw how the probability falls as a measured value comes near a limit and passes it."""
    from scipy.special import ndtr

    y, u = values["value"], values["standard_uncertainty"]
    if u == 0:
        return None
    low, high = _limits(values)
    nearest = _near(y, u, (low, high))[0]
    reach = max(4 * u, min(1.15 * abs(y - nearest), FAR * u))
    ends = (nearest - reach, nearest + reach)
    paper = Paper(
        420, 290, f"Probability of conformity by measured value near the limit {short(nearest)}: "
        f"{share_text(result.probability)} at {short(y)}.",
    )  # fmt: skip
    chart = Chart(paper, ends, SHARES, "measured value", "probability of conformity, %")
    xs = sorted({*(ends[0] + (ends[1] - ends[0]) * at / 140 for at in range(141)), nearest})
    curve = [(x, 100 * float(ndtr((high - x) / u) - ndtr((low - x) / u))) for x in xs]
    if not low <= y <= high:
        chart.band(min(nearest, y), max(nearest, y), "s-red", "over", upright=True)
    chart.curve(curve)
    chart.limit(nearest, f"limit {short(nearest)}", upright=True, first=nearest == low)
    here = 100 * result.probability
    if ends[0] <= y <= ends[1]:
        _beside(chart, (y, here), f"{share_text(result.probability)} at {short(y)}", nearest == high)
    return paper


def _beside(chart: Chart, point: Point, words: str, right: bool) -> None:
    """Mark a point of a curve and write its words on the side that the curve leaves free, or the other at the edge."""
    chart.points([point], radius=4.2)
    (x, y), wide = chart.at(*point), text_width(words, bold=True) + 10
    fits = x + wide <= chart.left + chart.width + 12 if right else x - wide >= chart.left
    sign = 1 if right == fits else -1
    chart.paper.text((x + 9 * sign, y + (-1 if fits else 18)), words, anchor="start" if sign > 0 else "end", bold=True)


# Guard bands --------------------------------------------------------------------------------------------------------

LANE = -0.42
"""The zones lie in a lane under the curve."""


def guard_lane(values: Mapping[str, Any], result: GuardBand) -> Paper:
    """Draw what is accepted, what refers and what is nonconforming, and the risk of a value on its acceptance limit."""
    u, width = values["standard_uncertainty"], result.width
    low, high = _limits(values)
    limits = [each for each in (low, high) if math.isfinite(each)]
    room = max(3 * u, 2 * width) or abs(limits[-1]) * 0.2 or 1.0
    ends = (limits[0] - room, limits[-1] + room) if len(limits) > 1 else (limits[0] - 2 * room, limits[0] + 2 * room)
    paper = Paper(
        420, 290, f"Accepted {_zone_words(result)}, guard band {short(width)}, limits {' and '.join(map(short, limits))}.",
    )  # fmt: skip
    chart = Chart(paper, ends, (LANE, 1.5), "measured value", "", (30, 26, 364, 214), y_words=NO_FIGURES)
    _zones(chart, ends, (low, high), result)
    upper = result.accept_high is not None
    stands = result.accept_high if result.accept_high is not None else result.accept_low
    assert stands is not None
    limit = high if upper else low
    if u:
        curve = _with(bell(stands, u, *ends), stands, u, [limit])
        tail = [each for each in curve if (each[0] >= limit if upper else each[0] <= limit)]
        chart.under(tail, "s-red", "over", floor=0)
        chart.curve(curve, weight=1.6)
        x, y = chart.at(limit, 0.34)
        inward = x > paper.width - 100 if upper else x < 100
        paper.text(
            (x + (20 if upper != inward else -20), y), share_text(result.risk_at_limit),
            anchor="start" if upper != inward else "end", bold=True, paint="f-red",
        )  # fmt: skip
    marks = [(each, f"limit {short(each)}", "red") for each in limits]
    accepts = [each for each in (result.accept_low, result.accept_high) if each is not None]
    chart.marks(
        marks
        + [
            (each, f"accept {'from' if each == result.accept_low else 'up to'} {short(each)}", "ink")
            for each in accepts
        ]
    )
    return paper


def _zone_words(result: GuardBand) -> str:
    said = [f"from {short(result.accept_low)}"] if result.accept_low is not None else []
    return " ".join(said + ([f"up to {short(result.accept_high)}"] if result.accept_high is not None else []))


def _zones(chart: Chart, ends: tuple[float, float], limits: tuple[float, float], result: GuardBand) -> None:
    """Fill the lane: accepted, refers (in the guard band), nonconforming."""
    low = ends[0] if result.accept_low is None else result.accept_low
    high = ends[1] if result.accept_high is None else result.accept_high
    outer = (max(limits[0], ends[0]), min(limits[1], ends[1]))
    zones = (
        (ends[0], outer[0], "nonconforming", "f-red-2", ""),
        (outer[0], low, "refers", "s-ochre", "maybe"),
        (low, high, "conforms", "f-line-3", ""),
        (high, outer[1], "refers", "s-ochre", "maybe"),
        (outer[1], ends[1], "nonconforming", "f-red-2", ""),
    )
    for start, end, words, paint, fill in zones:
        (x1, top), (x2, bottom) = chart.at(start, 0), chart.at(end, LANE)
        if x2 - x1 < 0.5:
            continue
        chart.paper.rect(x1, top, x2 - x1, bottom - top, paint, 1 if fill else 0, fill)
        if x2 - x1 > 7.2 * len(words):
            chart.paper.text(
                ((x1 + x2) / 2, (top + bottom) / 2 + 4), words, anchor="middle", bold=True, patch=bool(fill)
            )
    chart.curve([(ends[0], 0), (ends[1], 0)], weight=1)


def band_by_risk(values: Mapping[str, Any], result: GuardBand) -> Paper | None:
    """Draw how wide the guard band is for other permitted risks."""
    from scipy.special import ndtri

    u, risk = values["standard_uncertainty"], values["risk"]
    if u == 0:
        return None
    risks = sorted({risk, *(0.001 * 500 ** (at / 60) for at in range(61))})
    curve = [(100 * each, -float(ndtri(each)) * u) for each in risks]
    paper = Paper(
        420, 290, f"Width of the guard band by permitted risk: {short(result.width)} at {share_text(risk)}, none at 50 %.",
    )  # fmt: skip
    chart = Chart(paper, (0, 50), (0, 1.12 * curve[0][1]), "permitted risk, %", "guard band")
    chart.curve(curve)
    _beside(chart, (100 * risk, result.width), f"{short(result.width)} at {share_text(risk)}", True)
    return paper


# Risks of a whole process -------------------------------------------------------------------------------------------


def _phi(x: float) -> float:
    """The normal distribution function."""
    return math.erfc(-x / math.sqrt(2)) / 2


def items(values: Mapping[str, Any], result: GlobalRisk) -> Paper:
    """Draw the items as they are spread: what is accepted although outside, and turned away although inside."""
    mean, sd, u = values["mean"], values["sd"], values["standard_uncertainty"]
    low, high = _limits(values)
    accept = [values.get("accept_low"), values.get("accept_high")]
    taken = (low if accept[0] is None else accept[0], high if accept[1] is None else accept[1])
    near = [each for each in (low, high) if abs(each - mean) <= 8 * sd]
    ends = spread([mean - 3.6 * sd, mean + 3.6 * sd, *near], 0.04)
    paper = Paper(
        860, 320, f"Items spread about {short(mean)}: {share_text(result.consumer)} outside the limits and accepted, "
        f"{share_text(result.producer)} inside and turned away.",
    )  # fmt: skip
    chart = _chart_over_keys(paper, ends, (0, 1.3), "true value of the item")
    curve = _with(bell(mean, sd, *ends, points=281), mean, sd, near)
    chart.under(curve)
    for inside, paint, fill in ((True, "s-ochre", "maybe"), (False, "s-red", "over")):
        _wrongly(
            chart,
            curve,
            (low, high),
            lambda x: _phi((taken[1] - x) / u) - _phi((taken[0] - x) / u),
            inside,
            paint,
            fill,
        )
    chart.curve(curve, weight=1.8)
    marks = [(each, f"limit {short(each)}", "red") for each in near]
    own = [each for each, given in zip(taken, accept, strict=True) if given is not None and ends[0] <= each <= ends[1]]
    chart.marks(marks + [(each, f"accepted to {short(each)}", "ink") for each in own])
    keys = (f"outside and accepted, {share_text(result.consumer)}", "s-red", "over")
    _keys(paper, [keys, (f"inside and turned away, {share_text(result.producer)}", "s-ochre", "maybe")])
    return paper


def _wrongly(
    chart: Chart, curve: Sequence[Point], limits: tuple[float, float], accepts: Callable[[float], float],
    inside: bool, paint: str, fill: str,
) -> None:  # fmt: skip
    """Hatch what is decided wrongly on one side of the limits: under the curve, the part of it that is."""
    low, high = limits
    parts = (
        [[each for each in curve if low <= each[0] <= high]]
        if inside
        else [[each for each in curve if each[0] <= low], [each for each in curve if each[0] >= high]]
    )
    for part in parts:
        points = [(x, y * (1 - accepts(x) if inside else accepts(x))) for x, y in part]
        if len(points) > 1:
            chart.under(points, paint, fill)


def outcomes(values: Mapping[str, Any], result: GlobalRisk) -> Paper:
    """Draw the four ways that a decision can end, as shares of all items."""
    right = 1 - result.nonconforming - result.producer
    caught = result.nonconforming - result.consumer
    rows = (
        ("conforms, accepted", right, "f-conc", ""),
        ("conforms, turned away", result.producer, "s-ochre", "maybe"),
        ("does not, accepted", result.consumer, "s-red", "over"),
        ("does not, turned away", caught, "f-conc", ""),
    )
    paper = Paper(
        420, height_of(4) + 8, "Of all items: " + "; ".join(f"{name} {share_text(part)}" for name, part, _, _ in rows)
    )
    lying(
        paper, [Bar(name, max(part, 0.0), share_text(max(part, 0.0)), paint, fill) for name, part, paint, fill in rows]
    )
    return paper


# Shares -------------------------------------------------------------------------------------------------------------


def interval(values: Mapping[str, Any], result: Share) -> Paper:
    """Draw both intervals of a share along one axis, with the share found."""
    low, high = min(result.low, result.exact_low), max(result.high, result.exact_high)
    room = (high - low) * 0.12 or 0.02
    ends = (100 * max(0.0, low - room), 100 * min(1.0, high + room))
    paper = Paper(
        420, 220, f"{share_text(result.share)} found; Wilson {share_text(result.low)} to {share_text(result.high)}, exact "
        f"{share_text(result.exact_low)} to {share_text(result.exact_high)}.",
    )  # fmt: skip
    chart = Chart(paper, ends, (0.4, 3), "share of all, %", "", y_words={2: "Wilson", 1: "exact"})
    for row, start, end in ((2, result.low, result.high), (1, result.exact_low, result.exact_high)):
        (x1, y), (x2, _) = chart.at(100 * start, row), chart.at(100 * end, row)
        paper.rect(x1, y - 7, max(x2 - x1, 1), 14, "f-conc-2 s-ink", 1.2)
        _ends(paper, (x1, x2), y - 12, share_text(start), share_text(end))
        paper.diamond(chart.at(100 * result.share, row))
    x, y = chart.at(100 * result.share, 2.9)
    anchor = "start" if x < chart.left + 60 else "end" if x > chart.left + chart.width - 60 else "middle"
    paper.text((x, y), f"found {share_text(result.share)}", anchor=anchor, bold=True)
    return paper


def _ends(paper: Paper, along: tuple[float, float], y: float, low: str, high: str) -> None:
    """Write both ends over a bar, or, where it is too short for that, both on the side that has room."""
    start, end = along
    if end - start > text_width(low, bold=True) + text_width(high, bold=True) + 8:
        paper.text((start - 1, y), low, bold=True)
        paper.text((end + 1, y), high, anchor="end", bold=True)
    elif start > paper.width / 2:
        paper.text((end, y), f"{low} to {high}", anchor="end", bold=True)
    else:
        paper.text((start, y), f"{low} to {high}", bold=True)


def larger_samples(values: Mapping[str, Any], result: Share) -> Paper:
    """Draw the interval of the same share in samples two, four, eight and sixteen times as large."""
    found, of, confidence = int(values["found"]), int(values["of"]), values["confidence"]
    times = (1, 2, 4, 8, 16)
    spans = [share_interval(found=found * each, of=of * each, confidence=confidence) for each in times]
    top = 100 * min(1.0, max(each.high for each in spans) * 1.25)
    floor = 100 * min(each.low for each in spans) if result.share > 0.5 else 0.0
    paper = Paper(
        420, 270, "Wilson interval of the same share in larger samples: "
        + "; ".join(f"{of * each:,}, {share_text(span.low)} to {share_text(span.high)}" for each, span in zip(times, spans, strict=True)),
    )  # fmt: skip
    names = {float(at): f"{of * each:,}" if of * each < 1e6 else f"{of * each:.1e}" for at, each in enumerate(times)}
    chart = Chart(paper, (-0.6, 4.6), (floor * 0.9, max(top, floor + 1)), "looked at", "share of all, %", x_words=names)
    for at, span in enumerate(spans):
        (x, y1), (_, y2) = chart.at(at, 100 * span.high), chart.at(at, 100 * span.low)
        paper.rect(x - 9, y1, 18, max(y2 - y1, 1), "f-conc-2 s-ink" if at else "f-conc s-ink", 1.2)
    chart.curve([(-0.6, 100 * result.share), (4.6, 100 * result.share)], "s-ink", 1, "5 3")
    for at in (0, len(times) - 1):
        said = f"± {share_text((spans[at].high - spans[at].low) / 2)}"
        x, y = chart.at(at, 100 * spans[at].high)
        paper.text((x, y - 6), said, anchor="middle", bold=True, patch=True)
    return paper


# Samples ------------------------------------------------------------------------------------------------------------


def _operating(chart_title: str, name: str, chance: Callable[[float], float], places: Sequence[float], at: float, words: str,
               limit: str = "") -> Paper:  # fmt: skip
    """Draw the chance of acceptance over what is nonconforming, with one place marked."""
    paper = Paper(420, 290, name)
    chart = Chart(paper, (0, max(places)), SHARES, chart_title, "accepted, %")
    chart.curve([(each, 100 * chance(each)) for each in places])
    here = 100 * chance(at)
    if limit:
        chart.limit(at, limit, upright=True)
    if not limit:
        x, y = chart.at(at, here)
        paper.leader((x, chart.top + chart.height), (x, y))
        paper.leader((chart.left, y), (x, y))
    _beside(chart, (at, here), words, True)
    return paper


def _reach(chance: Callable[[float], float], step: float, most: float, at_least: float) -> float:
    """How far the curve is drawn: until next to nothing is accepted, and past what was asked."""
    end = step
    while end < most and chance(end) > 0.01:
        end *= 1.3
    return min(most, max(end, 1.25 * at_least))


def operating(values: Mapping[str, Any], result: Acceptance) -> Paper:
    """Draw the operating curve of the sample, with what was asked marked on it."""
    n, c, lot = int(values["sample"]), int(values["accept"]), values.get("lot")
    said = share_text(result.probability)
    if lot is None:
        at = 100 * values["share"]
        end = _reach(lambda p: accepts_process(n, c, min(p / 100, 1)), min(100.0, 100 / n), 100.0, at)
        places = sorted({at, *(end * each / 100 for each in range(101))})
        name = f"Chance of acceptance by share nonconforming: {said} at {share_text(at / 100)}."
        return _operating("nonconforming in the process, %", name, lambda p: accepts_process(n, c, p / 100), places, at,
                          f"{said} at {share_text(at / 100)}")  # fmt: skip
    size, bad = int(lot), int(values["defective"])
    end = int(_reach(lambda d: accepts_lot(n, c, size, min(round(d), size)), max(1.0, size / n), size, bad)) or 1
    places = sorted({float(bad), *(float(round(end * each / 100)) for each in range(101))})
    name = f"Chance of acceptance by number nonconforming in the lot: {said} at {bad:,}."
    return _operating(f"nonconforming in the lot of {size:,}", name, lambda d: accepts_lot(n, c, size, round(d)), places,
                      float(bad), f"{said} at {bad:,}")  # fmt: skip


def in_the_sample(values: Mapping[str, Any], result: Acceptance) -> Paper:
    """Draw how many nonconforming the sample probably holds; what turns the lot away is hatched."""
    from scipy.stats import binom, hypergeom

    n, c, lot = int(values["sample"]), int(values["accept"]), values.get("lot")
    found = binom(n, values["share"]) if lot is None else hypergeom(int(lot), int(values["defective"]), n)
    low, high = int(found.ppf(0.0005)), int(found.ppf(0.9995))
    low = 0 if high < FEW_BARS else low
    stride = max(1, (high - low) // FEW_BARS)
    counts = range(low, max(high, low + 2) + 1, stride)
    chances = {each: 100 * float(found.cdf(each + stride - 1) - found.cdf(each - 1)) for each in counts}
    top = max(chances.values())
    paper = Paper(
        420, 290, f"Number nonconforming in a sample of {n:,}: {share_text(result.probability)} at {c:,} or fewer.",
    )  # fmt: skip
    chart = Chart(paper, (low - stride, counts[-1] + stride), (0, top * 1.4), "nonconforming in the sample", "of the draws, %",
                  x_words=whole_ticks(low, counts[-1]))  # fmt: skip
    for each, chance in chances.items():
        over = each > c
        if chance > 0:
            chart.bar(
                each + (stride - 1) / 2, chance, 0.7 * stride, "s-red" if over else "f-conc", "over" if over else ""
            )
    if low - stride < c + 0.5 < counts[-1] + stride:
        chart.limit(c + 0.5, f"over {c:,}: turned away", upright=True, first=c + 0.5 > (low + counts[-1]) / 2)
    most = max(chances, key=lambda each: chances[each])
    chart.label(most + (stride - 1) / 2, chances[most], f"{chances[most]:.3g} %", anchor="middle", dx=0)
    return paper


def plan_curve(values: Mapping[str, Any], result: LotPlan) -> Paper:
    """Draw the operating curve of the plan with its quality limit."""
    n, c, limit = result.sample, result.accept, float(values["limit_percent"])
    end = _reach(lambda p: accepts_process(n, c, min(p / 100, 1)), min(100.0, 100 / n), 100.0, limit)
    places = sorted({limit, *(end * each / 100 for each in range(101))})
    said = share_text(accepts_process(n, c, limit / 100))
    name = f"Chance that {n:,} with at most {c:,} nonconforming accept a process, by its share: {said} at {short(limit)} %."
    return _operating("nonconforming in the process, %", name, lambda p: accepts_process(n, c, p / 100), places, limit,
                      f"{said} accepted", f"limit {short(limit)} %")  # fmt: skip


def two_points_curve(values: Mapping[str, Any], result: TwoPoints) -> Paper:
    """Draw the operating curve of the plan for its lot, with the limiting quality marked on it."""
    lot = int(values["lot"])
    asked = {"sample": result.sample, "accept": result.accept, "lot": lot, "defective": bad(lot, values["limiting"])}
    return operating(asked, acceptance_probability(**asked))


DRAWINGS = {
    "decision.uncertainty": (
        Drawing("What each component gives", "standard uncertainty, share of the variance", budget),
    ),
    "decision.conformity": (
        Drawing("Where the true value lies", "outside the limits hatched", value_at_limits),
        Drawing("Other measured values", "same uncertainty", by_value),
    ),
    "decision.guard_band": (
        Drawing("What is accepted", "curve: a value on its acceptance limit", guard_lane),
        Drawing("Other permitted risks", "same uncertainty", band_by_risk),
    ),
    "decision.risk": (
        Drawing("Items and wrong decisions", "normal spread", items, wide=True),
        Drawing("How decisions end", "share of all items", outcomes),
    ),
    "decision.share": (
        Drawing("Between which ends", "", interval),
        Drawing("The same share in larger samples", "Wilson", larger_samples),
    ),
    "decision.sampling": (
        Drawing("Operating curve", "the same sample", operating),
        Drawing("What the sample holds", "turned away hatched", in_the_sample),
    ),
    "decision.plan": (Drawing("Operating curve", "drawn as from a process", plan_curve),),
    "decision.two_points": (Drawing("Operating curve", "of this lot", two_points_curve),),
}
