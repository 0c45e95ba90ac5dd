"""The control chart of a margin that shrinks."""

from typing import Any

from apps.board import figures as fig
from apps.board.charted import Chart
from apps.board.trends import Warned
from apps.calc.working import number_text, unit_sign

MOST = 4
"""So many are drawn; the table names all."""


def drifting(number: int, warned: Warned) -> Chart:
    """Margins in order of time between the limits that they set themselves; diamonds are what warns, under 0 nothing conforms."""
    series, chart = warned.series, warned.drift.chart
    order = [*range(1, len(series.margins) + 1)]
    behind = warned.drift.places
    low, high = min(*series.margins, chart.lower, 0.0), max(*series.margins, chart.upper)
    room = (high - low) * 0.08
    heights = ((chart.lower, "lower", "--ochre", "dash"), (chart.centre, "centre", "--ink", "solid"))
    at_right: dict[str, Any] = {"xref": "paper", "xanchor": "right", "yanchor": "bottom"}
    made = fig.figure(
        [
            fig.line(order, series.margins, width=1.2, hoverinfo="skip"),
            fig.marks(order, series.margins, size=6, text=list(series.marks), name="to spare"),
            fig.marks(behind, [series.margins[at - 1] for at in behind], symbol="diamond", ink="--ochre", size=10,
                      text=[series.marks[at - 1] for at in behind], name="warns"),
        ],
        300,
        shapes=[fig.limit(0, dash="solid"), *(fig.limit(height, ink=ink, dash=dash) for height, _, ink, dash in heights)],
        annotations=[
            fig.words(1, 0, "requirement", ink="--red", **at_right),
            *(fig.words(1, height, f"{name} {number_text(height, 3)}", ink=ink, **at_right) for height, name, ink, _ in heights),
        ],
        xaxis=fig.titled("inspection, in order of time", range=[0.4, len(order) * 1.28 + 0.6]),
        yaxis=fig.titled(f"to spare{_unit(series.unit)}", range=[low - room, high + room], rangemode="normal"),
    )  # fmt: skip
    rows = [
        (str(at), mark, number_text(margin, 3), "warns" * (at in behind))
        for at, (mark, margin) in enumerate(zip(series.marks, series.margins, strict=True), 1)
    ]
    return Chart(
        f"drift_{number}",
        f"{warned.stage}: {warned.title}",
        warned.sentence,
        "",
        ("No.", "Foundation", "To spare", ""),
        rows,
        made,
    )


def _unit(unit: str) -> str:
    return f", {unit_sign(unit)}" if unit and unit != "1" else ""
