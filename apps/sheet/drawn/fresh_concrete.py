"""Drawings of fresh concrete: evaporation in the wind, cooling, the load's clock, its water, its yield."""

from collections.abc import Mapping
from typing import Any

from apps.calc.fresh_concrete import ACT_ABOVE, Cooling, Discharge, Evaporation, Water, Yield, menzel_us, uno_us
from apps.calc.working import number_text as text
from apps.sheet.drawn import Drawing
from apps.sheet.drawn.chart import Chart
from apps.sheet.drawn.paper import Paper, spread


def wind(values: Mapping[str, Any], result: Evaporation) -> Paper:
    """Draw both formulas against the wind, with the limit and the wind of the day."""
    here = float(values["wind_mph"])
    most = max(2 * here, 15.0)
    air = {"concrete_f": values["concrete_f"], "air_f": values["air_f"], "humidity": values["humidity_percent"] / 100}
    winds = [most * k / 40 for k in range(41)]
    curves = {each.__name__: [(w, max(each(**air, wind_mph=w), 0.0)) for w in winds] for each in (uno_us, menzel_us)}
    top = 1.15 * max(ACT_ABOVE * 1.3, *(rate for curve in curves.values() for _, rate in curve))
    paper = Paper(420, 300, f"Evaporation against wind: {text(result.rate_lb_ft2_h, 3)} lb/ft²/h at {text(here)} mph.")
    chart = Chart(paper, (0, most), (0, top), "wind, mph", "evaporation, lb/ft²/h")
    chart.limit(ACT_ABOVE, f"act over {text(ACT_ABOVE)}", first=True)
    for name, dash in (("uno_us", ""), ("menzel_us", "5 3")):
        chart.curve(curves[name], dash=dash, weight=1.7 if not dash else 1.1)
    words = {"uno_us": "Uno", "menzel_us": "Menzel"}
    ends = sorted(((curve[-1][1], words[name]) for name, curve in curves.items()), reverse=True)
    for at, (rate, name) in enumerate(ends):
        chart.label(most, rate, name, anchor="end", bold=False, paint="f-ink-2", dx=-2, dy=-7 if at == 0 else 26)
    paint = "f-red" if result.act else "f-ink"
    chart.points([(here, result.rate_lb_ft2_h)], paint, 4.5)
    chart.label(here, result.rate_lb_ft2_h, text(result.rate_lb_ft2_h, 3), anchor="end", paint=paint, dx=-8, dy=-8)
    return paper


def cooled(values: Mapping[str, Any], result: Cooling) -> Paper:
    """Draw the log of temperatures, with the fastest hour and the fastest day marked on it."""
    log = list(zip(map(float, values["hours"]), map(float, values["temperatures_f"]), strict=True))
    paper = Paper(
        860,
        300,
        f"Cooling: {text(result.fastest_hour_f, 3)} °F in the fastest hour, {text(result.fastest_day_f, 3)} °F in a day.",
    )
    low, high = spread([each for _, each in log], 0.18)
    chart = Chart(paper, (log[0][0], log[-1][0]), (low, high), "time, h", "temperature, °F")
    hour = result.hour
    over = hour.fall_f > 5
    chart.band(hour.start_h, max(hour.end_h, hour.start_h + 1e-6), "f-red-2" if over else "f-line-3", upright=True)
    chart.curve(log)
    chart.points(log)
    middle = (hour.start_h + hour.end_h) / 2
    at = chart.at(middle, high)
    words = f"{text(hour.fall_f, 3)} °F in an hour, 5 allowed"
    anchor = "start" if at[0] < 430 else "end"
    paper.text((at[0] + (6 if anchor == "start" else -6), at[1] + 14), words, anchor=anchor, bold=True, patch=True,
               paint="f-red" if over else "f-ink")  # fmt: skip
    chart.label(*log[-1], f"{text(log[-1][1])} °F", anchor="end", dx=-4, dy=-9)
    return paper


def clock(values: Mapping[str, Any], result: Discharge) -> Paper:
    """Draw the time from batching to the end of discharge, and the revolutions, against their limits."""
    counted = [("minutes", float(values["minutes"]), result.limit_minutes, "min")]
    if values.get("revolutions") is not None:
        counted.append(("revolutions", float(values["revolutions"]), result.limit_revolutions, "turns"))
    paper = Paper(420, 46 + 76 * len(counted), f"{text(values['minutes'])} min from batching to the end of discharge.")
    for row, (name, found, limit, unit) in enumerate(counted):
        _clock_row(paper, 40 + 76 * row, name, found, limit, unit)
    return paper


def _clock_row(paper: Paper, top: float, name: str, found: float, limit: float | None, unit: str) -> None:
    left, right = 20.0, 400.0
    scale = (right - left) / (1.15 * max(found, limit or 0.0, 1.0))
    end = left + found * scale
    paper.text((left, top - 8), "batched" if unit == "min" else "drum turned", paint="f-ink-2")
    stop = min(end, left + limit * scale) if limit is not None else end
    paper.rect(left, top, stop - left, 20, "f-conc")
    if end > stop:
        paper.rect(stop, top, end - stop, 20, "s-red", 1, fill="over")
    paper.line((left, top - 4), (left, top + 24), weight=1)
    if limit is not None:
        mark = left + limit * scale
        paper.line((mark, top - 6), (mark, top + 26), paint="s-red", weight=1.6)
        paper.text(
            (min(max(mark, 62), 358), top + 40),
            f"limit {text(limit)} {unit}",
            anchor="middle",
            paint="f-red",
            bold=True,
        )
    over = limit is not None and found > limit
    at = min(max(end, left + 40), right - 40)
    paper.text(
        (at, top - 8),
        f"{text(found)} {unit}",
        anchor="middle",
        bold=True,
        paint="f-red" if over else "f-ink",
        patch=True,
    )


def water_ratio(values: Mapping[str, Any], result: Water) -> Paper:
    """Draw the water in the load against what the ratio allows: batched, added, what is left."""
    cement, highest = float(values["cementitious_lb"]), float(values["highest_ratio"])
    batched = float(values["batch_water_lb"]) / cement
    paper = Paper(420, 150, f"Water-cementitious ratio {text(result.ratio, 3)}, highest {text(highest, 3)}.")
    left, wide = 20.0, 380.0
    scale = wide / (1.12 * max(result.ratio, highest))
    stop = min(result.ratio, highest)
    paper.rect(left, 52, min(batched, stop) * scale, 30, "f-conc")
    if stop > batched:
        paper.rect(left + batched * scale, 52, (stop - batched) * scale, 30, "s-line", 1, fill="within")
    if result.ratio > highest:
        paper.rect(left + highest * scale, 52, (result.ratio - highest) * scale, 30, "s-red", 1, fill="over")
    mark = left + highest * scale
    paper.line((mark, 44), (mark, 90), paint="s-red", weight=1.6)
    paper.text((min(mark, 340), 108), f"highest {text(highest, 3)}", anchor="middle", paint="f-red", bold=True)
    over = result.ratio > highest
    at = min(max(left + result.ratio * scale, 60), 360)
    paper.text((at, 40), f"now {text(result.ratio, 3)}", anchor="middle", bold=True, paint="f-red" if over else "f-ink")
    paper.key_mark((20, 140), "batched", "f-conc", 0)
    paper.key_mark((110, 140), f"added {text(values['added_gal'])} gal", "s-line", 1, "within")
    paper.text((400, 140), f"{text(result.gallons_left, 3)} gal may still be added", anchor="end", paint="f-ink-2")
    return paper


def made(values: Mapping[str, Any], result: Yield) -> Paper:
    """Draw the volume that the batch makes beside the volume ordered."""
    ordered = values.get("ordered_yd3")
    paper = Paper(420, 210 if ordered else 130, f"The batch makes {text(result.volume_yd3, 3)} yd³.")
    most = 1.35 * max(result.volume_yd3, float(ordered or 0))
    scale = 330 / most
    bar = result.volume_yd3 * scale
    short = ordered is not None and result.volume_yd3 < float(ordered)
    paper.rect(20, 30, bar, 44, "s-ink", 1.6, fill="concrete")
    paper.text(
        (26 + max(bar, float(ordered or 0) * scale), 56),
        f"{text(result.volume_yd3, 3)} yd³ made",
        bold=True,
        paint="f-red" if short else "f-ink",
        patch=True,
    )
    if ordered:
        whole = float(ordered) * scale
        paper.rect(20, 96, whole, 44, "f-none s-line", 0.9)
        paper.text((26 + whole, 122), f"{text(ordered)} yd³ ordered", paint="f-line", patch=True)
        if short:
            paper.rect(20 + bar, 30, whole - bar, 44, "s-red", 1, fill="over")
            paper.text(
                (20, 172), f"short by {text(float(ordered) - result.volume_yd3, 2)} yd³", bold=True, paint="f-red"
            )
    paper.scale_bar((20, 200 if ordered else 118), scale * (1 if most < 20 else 10), f"{1 if most < 20 else 10} yd³")
    return paper


DRAWINGS = {
    "fresh_concrete.evaporation": (Drawing("Evaporation in the wind", "at this air and concrete", wind),),
    "fresh_concrete.cooling": (Drawing("Temperatures", "tinted: the fastest hour", cooled, wide=True),),
    "fresh_concrete.discharge": (Drawing("From batching to the end of discharge", "", clock),),
    "fresh_concrete.water": (Drawing("Water in the load", "as a ratio to cementitious material", water_ratio),),
    "fresh_concrete.yield": (Drawing("Made and ordered", "to one scale", made),),
}
