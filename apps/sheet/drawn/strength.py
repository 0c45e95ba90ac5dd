"""Drawings of strength: its gain with age, a temperature history, a fitted curve, tests against the code, required averages."""

from collections.abc import Mapping
from typing import Any

from apps.calc.strength import GAINS, Acceptance, Curve, Maturity, RequiredAverage, StrengthAtAge, gain_ratio
from apps.calc.working import number_text as text
from apps.sheet.drawn import Drawing
from apps.sheet.drawn.bars import Bar, height_of, lying
from apps.sheet.drawn.chart import Chart
from apps.sheet.drawn.paper import Paper, spread


def gained(values: Mapping[str, Any], result: StrengthAtAge) -> Paper:
    """Draw strength against age, the strength asked for and the day on which it is reached."""
    at_28, gain = float(values["strength_28_psi"]), GAINS[values["mixture"]]
    reached, wanted = result.reached_days, values.get("wanted_psi")
    last = max(28.0, 1.3 * float(values["age_days"]), 1.3 * reached if reached and reached < 365 else 0.0)
    days = [last * k / 80 for k in range(81)]
    curve = [(day, at_28 * gain_ratio(day, gain)) for day in days]
    top = 1.15 * max(curve[-1][1], float(wanted or 0))
    paper = Paper(
        420, 300, f"Strength against age: {text(round(result.strength_psi))} psi at {text(values['age_days'])} d."
    )
    chart = Chart(paper, (0, last), (0, top), "age, d", "strength, psi")
    chart.curve(curve)
    if wanted is not None:
        chart.limit(float(wanted), f"asked for: {text(wanted)} psi", paint="line", first=False)
        if reached is not None and reached <= last:
            (x, y), floor = chart.at(reached, float(wanted)), chart.top + chart.height
            paper.line((x, y), (x, floor), paint="s-line", weight=1, dash="5 3")
            paper.text((x + 5, floor - 6), f"{text(reached, 3)} d", paint="f-line", patch=True)
    chart.points([(float(values["age_days"]), result.strength_psi)], radius=4.5)
    chart.label(float(values["age_days"]), result.strength_psi, f"{text(round(result.strength_psi))} psi", dy=18)
    return paper


def history(values: Mapping[str, Any], result: Maturity) -> Paper:
    """Draw the temperature of each interval as steps; the area above the datum is the maturity."""
    hours, warm, datum = (
        [float(each) for each in values["hours"]],
        list(map(float, values["temperatures_c"])),
        float(values["datum_c"]),
    )
    edges = [0.0]
    for each in hours:
        edges.append(edges[-1] + each)
    low, high = spread([*warm, datum], 0.15)
    paper = Paper(
        860,
        300,
        f"Temperature history of {text(edges[-1], 4)} h: {text(round(result.degree_hours))} °C h over the datum.",
    )
    chart = Chart(paper, (0, edges[-1] or 1.0), (low, high), "time, h", "concrete temperature, °C")
    steps = [
        point
        for start, end, each in zip(edges, edges[1:], warm, strict=False)
        for point in ((start, each), (end, each))
    ]
    for start, end, each in zip(edges, edges[1:], warm, strict=False):
        if each > datum:
            (x1, y1), (x2, y2) = chart.at(start, each), chart.at(end, datum)
            paper.rect(x1, y1, x2 - x1, y2 - y1, "f-line-3")
    chart.curve(steps)
    chart.limit(datum, f"datum {text(datum)} °C", paint="line", first=True)
    words = f"{text(round(result.degree_hours))} °C h, as old as {text(result.equivalent_hours, 4)} h at {text(values['reference_c'])} °C"
    paper.text((chart.left + chart.width, chart.top - 6), words, anchor="end", bold=True)
    return paper


def fitted(values: Mapping[str, Any], result: Curve) -> Paper:
    """Draw the tests, the curve through them, and one standard deviation to either side."""
    tests = sorted(zip(map(float, values["maturities"]), map(float, values["strengths"]), strict=True))
    last = 1.08 * tests[-1][0]
    first = tests[0][0] * 0.6 if result.form == "logarithmic" else 0.0
    places = [first + (last - first) * k / 90 for k in range(1 if first == 0 else 0, 91)]
    curve = [(each, result.strength(each)) for each in places]
    off = result.residual_sd or 0.0
    heights = [each for _, each in (*tests, *curve)]
    low, high = min(0.0, *heights), 1.1 * (max(heights) + off)
    paper = Paper(
        860, 340, f"{len(tests)} tests and the {result.form} curve through them, R² {text(result.r_squared, 4)}."
    )
    chart = Chart(paper, (first, last), (low, high), "maturity or age, as given", "strength, as given")
    if off:
        band = [chart.at(x, y + off) for x, y in curve] + [chart.at(x, max(y - off, low)) for x, y in reversed(curve)]
        paper.area(*band, paint="f-line-3")
    chart.curve(curve)
    chart.points(tests)
    words = f"R² {text(result.r_squared, 4)}" + (f", tinted: {text(off, 2)} to either side" if off else "")
    paper.text((chart.left + chart.width, chart.top - 6), words, anchor="end", bold=True)
    return paper


def judged(values: Mapping[str, Any], result: Acceptance) -> Paper:
    """Draw the tests in order with the floor, and the averages of three with f'c."""
    tests, specified = list(map(float, values["tests"])), float(values["specified"])
    low, high = spread([*tests, *result.averages, result.floor, specified], 0.12)
    paper = Paper(860, 340, f"{len(tests)} strength tests; floor {text(result.floor)} psi, f'c {text(specified)} psi.")
    chart = Chart(paper, (0.5, len(tests) + 0.5), (low, high), "test, in order of sampling", "strength, psi",
                  box=(58, 30, 690, 264))  # fmt: skip
    chart.limit(result.floor, "", paint="red")
    chart.limit(specified, "", paint="line")
    for value, words, paint in (
        (result.floor, "floor of one test", "f-red"),
        (specified, "f'c, for averages", "f-line"),
    ):
        at = chart.at(len(tests) + 0.5, value)
        paper.text((at[0] + 6, at[1] + 4), words, paint=paint, bold=True)
    averages = [(at + 3.0, each) for at, each in enumerate(result.averages)]
    if len(averages) > 1:
        chart.curve(averages, paint="s-ink", weight=2.2)
    for place, each in averages:
        paper.square(chart.at(place, each), 9, "f-red" if int(place) in result.low_averages else "f-ink")
    chart.curve([(at, each) for at, each in enumerate(tests, 1)], paint="s-conc", weight=1) if len(tests) > 1 else None
    for number, each in enumerate(tests, 1):
        paper.dot(chart.at(number, each), 4, "f-red" if number in result.low_tests else "f-conc")
    paper.dot((470, 16), 4, "f-conc")
    paper.text((480, 20), "one test", paint="f-ink-2")
    paper.square((560, 16), 9)
    paper.text((570, 20), "average of the last three", paint="f-ink-2")
    return paper


def required(values: Mapping[str, Any], result: RequiredAverage) -> Paper:
    """Draw f'c and what each rule asks for; the greater one governs."""
    specified = float(values["specified"])
    rows = [
        ("specified f'c", specified),
        ("for averages of three", result.by_averages),
        ("for single tests", result.by_singles),
    ]
    if result.by_averages is None:
        rows = [("specified f'c", specified), ("without a record", result.required)]
    bars = [
        Bar(
            name,
            value,
            f"{text(round(value))} psi",
            "f-ink" if value == result.required else "f-conc",
            bold=value == result.required,
        )
        for name, value in rows
        if value is not None
    ]
    paper = Paper(
        420,
        height_of(len(bars)) + 16,
        f"Required average {text(round(result.required))} psi, f'c {text(specified)} psi.",
    )
    lying(paper, bars)
    return paper


DRAWINGS = {
    "strength.gain": (Drawing("Strength with age", "mean curve", gained),),
    "strength.maturity": (Drawing("Temperature history", "tinted: degree-hours over the datum", history, wide=True),),
    "strength.curve": (Drawing("Tests and curve", "", fitted, wide=True),),
    "strength.acceptance": (Drawing("Tests in order", "against the two rules", judged, wide=True),),
    "strength.required_average": (Drawing("What the rules ask for", "in ink: what governs", required),),
}
