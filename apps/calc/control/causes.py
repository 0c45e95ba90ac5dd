"""Pareto: which few causes make up the most."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from apps.calc.control.said import short
from apps.calc.errors import CalcError, counted, not_negative
from apps.calc.registry import Input, Output, calculation
from apps.calc.shown import share_text
from apps.calc.working import Step
from apps.calc.working import number_text as text

MOST_PERCENT = 80
"""The few that matter are those that reach this share together: common practice, no source."""


@dataclass(frozen=True, slots=True)
class ParetoRow:
    """One cause: its count, share and the share of it and all above, in percent."""

    label: str
    count: float
    percent: float
    cumulative_percent: float


@dataclass(frozen=True, slots=True)
class Pareto:
    """Causes from most to least frequent."""

    rows: tuple[ParetoRow, ...]
    few: int
    """So many causes, from the top, are the first to reach 80 % together."""
    few_percent: float
    """The share that they have together."""
    sentence: str
    working: tuple[Step, ...]


@calculation(
    "control.pareto",
    "Which causes make up the most",
    "Counts in falling order with their running share; the few that matter reach 80 % together (common practice, no source)",
    inputs=(
        Input("labels", "text", "", "cause of each count", many=True),
        Input("counts", "number", "1", "how often, or how much", many=True, low=0),
    ),
    outputs=(
        Output("few", "count", "", "causes that make up 80 % together"),
        Output("few_percent", "percent", "%", "their share together"),
    ),
    beyond="That the most frequent is the worst: one critical finding can outweigh many minor ones. Few counts change their "
    "order by chance.",
    # invented: findings of the corridor by cause
    example={
        "labels": "gap under base, bolt off pattern, cage cover, slump, bolt projection, conduit, paint",
        "counts": "14, 9, 4, 3, 2, 1, 1",
    },
)
def pareto(*, labels: Sequence[str], counts: Sequence[float]) -> Pareto:
    """Return causes from most to least, with percent and cumulative percent. A label given twice is added up.

    Equal counts keep the order in which they came. Errors: CalcError on no cause, lists of different length, a negative
    count, no count at all. Source: definition.

    >>> [(row.label, row.cumulative_percent) for row in pareto(labels="ABAC", counts=[2, 3, 4, 1]).rows]
    [('A', 60.0), ('B', 90.0), ('C', 100.0)]
    """
    counted("counts", counts, len(counted("labels", labels, 1)), len(labels))
    sums: dict[str, float] = {}
    for label, count in zip(labels, counts, strict=True):
        sums[label] = sums.get(label, 0) + not_negative("counts", count)
    total = math.fsum(sums.values())
    if total == 0:
        raise CalcError("counts", "nothing was counted")
    rows, so_far = [], 0.0
    for label, count in sorted(sums.items(), key=lambda pair: -pair[1]):
        so_far += count
        rows.append(ParetoRow(label, count, 100 * count / total, 100 * so_far / total))
    steps = tuple(
        Step(row.label, "count / total", f"{text(row.count)} / {text(total)}", row.percent, "%") for row in rows
    )
    few = 1 + next((at for at, row in enumerate(rows) if row.cumulative_percent >= MOST_PERCENT - 1e-9), len(rows) - 1)
    return Pareto(tuple(rows), few, rows[few - 1].cumulative_percent, _sentence(rows, few, total), steps)


def _sentence(rows: Sequence[ParetoRow], few: int, total: float) -> str:
    first = rows[0]
    name, share = f"{first.label[:1].upper()}{first.label[1:]}", share_text(first.percent / 100)
    said = f"{name} comes first: {short(first.count)} of {short(total)}, {share}."
    if len(rows) == 1:
        return said
    share = share_text(rows[few - 1].cumulative_percent / 100)
    return (
        f"{said} {few} of {len(rows)} causes make up {share}." if few > 1 else f"{said} That one makes up most of it."
    )
