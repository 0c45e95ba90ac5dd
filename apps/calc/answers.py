"""What a calculation gave, as a page writes it: every declared output with its title, in both systems of units."""

import math
from fractions import Fraction
from typing import Any

from apps.calc.registry import Calculation, Output, Result
from apps.calc.scales import UNITS
from apps.calc.shown import show, show_other
from apps.calc.units import WORDLESS
from apps.calc.working import number_text

LONGEST_LIST = 24
"""So many values of a list are written; then how many more there are."""


def answers_of(calculation: Calculation, result: Result) -> list[dict[str, str]]:
    """Return title, value and value in the other system of every declared output that the result holds."""
    found = []
    for each in calculation.outputs:
        value = getattr(result, each.name, None)
        if value is None or value == ():
            continue
        found.append({"title": each.title, "value": written(value, each), "other": written(value, each, other=True)})
    return found


def written(value: Any, each: Output, *, other: bool = False) -> str:
    """Write one output in its own unit, or in the other system; empty where there is none."""
    value = value.tolist() if hasattr(value, "tolist") else value
    if isinstance(value, list | tuple):
        parts = [written(item, each, other=other) for item in value[:LONGEST_LIST]]
        more = f" and {len(value) - LONGEST_LIST} more" if len(value) > LONGEST_LIST else ""
        return ", ".join(parts) + more if any(parts) else ""
    if each.kind in WORDLESS or isinstance(value, str | bool) or value is None:
        return "" if other else number_text(value)
    if isinstance(value, float) and not math.isfinite(value):
        return "" if other else "without end"
    exact = Fraction(value).limit_denominator(10**9)
    if other:
        return show_other(exact, each.unit) if each.unit in UNITS else ""
    return number_text(value) if each.unit in ("", "1") else show(exact, each.unit)
