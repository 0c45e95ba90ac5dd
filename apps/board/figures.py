"""Figures for the charting library as plain data: a theme of our own, and the few kinds of marks that the charts are made of.

A colour is a token of tokens.css, written as "--ink"; static/js/charts.js puts in what the page's theme makes of it, so night
and paper need no second figure and no colour stands here.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

Figure = dict[str, Any]
Trace = dict[str, Any]

CLEAR = "rgba(0,0,0,0)"
_AXIS = {
    "automargin": True,
    "fixedrange": True,
    "linecolor": "--ink",
    "tickcolor": "--ink",
    "tickfont": {"color": "--ink-2"},
    "title": {"font": {"color": "--ink-2", "size": 12.5}, "standoff": 8},
    "zeroline": False,
}
TEMPLATE: dict[str, Any] = {
    "layout": {
        "font": {"family": 'Overpass, "Segoe UI", sans-serif', "size": 12.5, "color": "--ink-2"},
        "paper_bgcolor": CLEAR,
        "plot_bgcolor": CLEAR,
        "margin": {"l": 12, "r": 12, "t": 26, "b": 12},
        "showlegend": False,
        "dragmode": False,
        "bargap": 0.22,
        "barmode": "stack",
        "hoverlabel": {"bgcolor": "--sheet", "bordercolor": "--ink", "font": {"color": "--ink"}},
        "xaxis": _AXIS | {"showgrid": False, "ticks": "outside", "showline": True},
        "yaxis": _AXIS | {"gridcolor": "--rule", "showline": False, "rangemode": "tozero"},
    }
}


def figure(traces: Sequence[Trace], height: int, **layout: Any) -> Figure:
    """Return a figure in the sheet's theme."""
    return {"data": list(traces), "layout": {"template": TEMPLATE, "height": height, **layout}}


def titled(text: str, **more: Any) -> dict[str, Any]:
    """An axis with its title."""
    return {"title": {"text": text}, **more}


NAMES = {"type": "category", "showgrid": False}
"""An axis of names."""


def line(x: Sequence[Any], y: Sequence[Any], *, ink: str = "--ink", width: float = 1.8, **more: Any) -> Trace:
    """A line through values; `dash`, `shape` of the library by keyword."""
    style = {"color": ink, "width": width} | {key: more.pop(key) for key in ("dash", "shape") if key in more}
    return {"type": "scatter", "mode": "lines", "x": list(x), "y": list(y), "line": style, **more}


def marks(x: Sequence[Any], y: Sequence[Any], *, symbol: str = "circle", ink: str = "--ink", **more: Any) -> Trace:
    """Values as marks: circle-open, diamond, line-ns-open for a tick."""
    size = more.pop("size", 8)
    marker = {"symbol": symbol, "size": size, "color": ink, "line": {"color": ink, "width": 1.6}}
    return {"type": "scatter", "mode": "markers", "x": list(x), "y": list(y), "marker": marker, **more}


def bars(x: Sequence[Any], y: Sequence[Any], ink: str | Sequence[str] = "--conc", **more: Any) -> Trace:
    """Bars with their figures outside; one colour, or one for each."""
    marker = {"color": ink if isinstance(ink, str) else list(ink)}
    return {
        "type": "bar",
        "x": list(x),
        "y": list(y),
        "marker": marker,
        "textposition": "outside",
        "cliponaxis": False,
        **more,
    }


def hatched(x: Sequence[Any], y: Sequence[Any], **more: Any) -> Trace:
    """Bars of what is not over: outline and hatching."""
    pattern = {"shape": "/", "fillmode": "overlay", "fgcolor": "--line", "fgopacity": 1, "size": 6, "solidity": 0.25}
    return bars(x, y, **more) | {
        "marker": {"color": "--sheet", "line": {"color": "--line", "width": 1}, "pattern": pattern}
    }


def band(x: Sequence[Any], y: Sequence[Any], **more: Any) -> Trace:
    """A closed outline, hatched: what is foretold."""
    return {
        "type": "scatter",
        "mode": "lines",
        "x": list(x),
        "y": list(y),
        "line": {"color": "--line", "width": 1},
        "fill": "toself",
        "fillcolor": CLEAR,
        "fillpattern": {"shape": "/", "fgcolor": "--line", "size": 6, "solidity": 0.22},
        **more,
    }


def limit(
    value: Any, *, upright: bool = False, ink: str = "--red", dash: str = "dash", ref: str = ""
) -> dict[str, Any]:
    """A limit right across the chart, as a shape."""
    along = {"x0": value, "x1": value, "y0": 0, "y1": 1, "xref": f"x{ref}", "yref": "paper"}
    across = {"y0": value, "y1": value, "x0": 0, "x1": 1, "yref": f"y{ref}", "xref": "paper"}
    return {"type": "line", "line": {"color": ink, "width": 1.2, "dash": dash}, **(along if upright else across)}


def words(x: Any, y: Any, text: str, **more: Any) -> dict[str, Any]:
    """Words at a place of the chart, as an annotation without an arrow."""
    font = {"color": more.pop("ink", "--ink"), "size": 12.5}
    return {"x": x, "y": y, "text": text, "showarrow": False, "font": font, "bgcolor": "--sheet", **more}


def days(values: Sequence[date]) -> list[str]:
    """Dates as the library reads them."""
    return [each.isoformat() for each in values]


def painted(value: Any, inks: Mapping[str, str]) -> Any:
    """Return a figure with its tokens as colours, as the page's script does. KeyError on a token that tokens.css lacks."""
    if isinstance(value, dict):
        return {key: painted(each, inks) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [painted(each, inks) for each in value]
    if isinstance(value, str) and value.startswith("--"):
        return inks[value.removeprefix("--")]
    return value
