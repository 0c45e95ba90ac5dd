"""The working of a calculation or a verdict: one line a step, so that a reader can repeat it with a pencil."""

import dataclasses
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

from apps.calc.scales import UNITS

Value = Fraction | float | int | Decimal | str | bool | None

SHOWN_DIGITS = 6


@dataclass(frozen=True, slots=True)
class Step:
    """One line of working, e.g. Step("R", "C² / (8 m) + m / 2", "62² / (8 × 0.5) + 0.5 / 2", 961.25, "ft")."""

    symbol: str
    """What the line finds, as the formula names it."""
    expression: str
    """The formula in symbols."""
    numbers: str
    """The same formula with the numbers put in."""
    value: Value
    """The result. Numbers stay numbers: rounding is the reader's, not the step's."""
    unit: str = ""


def number_text(value: Value, digits: int = SHOWN_DIGITS) -> str:
    """Write a value in plain decimals, to `digits` significant figures at most, whole parts never cut."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return value
    as_float = float(value)
    if as_float == 0:
        return "0"
    whole = f"{as_float:.0f}".lstrip("-")
    text = f"{Decimal(f'{as_float:.{max(digits, len(whole)) - 1}e}'):f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def unit_sign(unit: str) -> str:
    """Write a unit as a page does: ° for deg, ft² for ft2; a plain number has none."""
    if unit == "1":
        return ""
    return (UNITS[unit].sign or unit) if unit in UNITS else unit


def as_rows(steps: Iterable[Step]) -> list[dict[str, str]]:
    """Return the steps as plain text rows for a page, a PDF or JSON: symbol, expression, numbers, value, unit."""
    return [
        {
            "symbol": step.symbol,
            "expression": step.expression,
            "numbers": step.numbers,
            "value": number_text(step.value),
            "unit": unit_sign(step.unit),
        }
        for step in steps
    ]


def plain_data(value: Any) -> Any:
    """Return a result as JSON can hold it: fractions become numbers, working becomes rows of text."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        names = [each.name for each in dataclasses.fields(value)]
        data = {name: plain_data(getattr(value, name)) for name in names if name != "working"}
        if "working" in names:
            data["working"] = as_rows(value.working)  # type: ignore[attr-defined]
        return data
    if isinstance(value, tuple) and hasattr(value, "_asdict"):
        return {name: plain_data(each) for name, each in value._asdict().items()}
    if isinstance(value, dict):
        return {str(name): plain_data(each) for name, each in value.items()}
    if isinstance(value, list | tuple):
        return [plain_data(each) for each in value]
    if value is None or isinstance(value, str | bool | int | float):
        return value
    return float(value) if isinstance(value, Fraction) or hasattr(value, "__float__") else str(value)
