"""The inputs of a calculation as people type them, for the terminal and the Bench: words in, values out, faults by name."""

import re
from collections.abc import Mapping
from typing import Any

from apps.calc.errors import CalcError, NotAReading
from apps.calc.registry import Calculation, Input
from apps.calc.scales import UNITS, WORDLESS
from apps.calc.units import convert, parse

YES, NO = ("yes", "true", "1"), ("no", "false", "0")
SYSTEMS = ("US", "SI")


OWN = ""
"""No system: a number without a unit is in the input's own, as the terminal says it."""


def unit_of(each: Input, system: str = OWN) -> str:
    """Return the unit of a number typed without one: the input's own, or its like in the system asked for."""
    unit = UNITS.get(each.unit)
    if unit is None or not unit.other or system in (OWN, unit.system):
        return each.unit
    return unit.other


def read_inputs(
    calculation: Calculation, typed: Mapping[str, str], system: str = OWN
) -> tuple[dict[str, Any], dict[str, str]]:
    """Return the values in the units of the inputs, and what is wrong by the name of the input.

    Nothing typed is nothing given. Only the reading is checked here; ranges are checked when it runs.
    """
    known = {each.name: each for each in calculation.inputs}
    values: dict[str, Any] = {}
    faults: dict[str, str] = {}
    for name, text in typed.items():
        try:
            if name not in known:
                raise CalcError(name, f"{calculation.title} takes no such input; it takes {', '.join(known)}")
            if text.strip():
                values[name] = read_input(known[name], text, system)
        except CalcError as error:
            faults[name] = error.message
    return values, faults


def read_input(each: Input, text: str, system: str = OWN) -> Any:
    """Return one input's value, or its list of values, in the input's unit. CalcError says what was typed."""
    if not each.many:
        return _value(each, text.strip(), system)
    return [_value(each, part, system) for part in parted(text)]


def parted(text: str) -> list[str]:
    """Part several values: by lines or semicolons, and by commas when there are neither."""
    marks = r"[;\n]" if re.search(r"[;\n]", text.strip()) else ","
    return [part.strip() for part in re.split(marks, text) if part.strip()]


def _value(each: Input, text: str, system: str) -> Any:
    if each.kind == "check":
        if text.casefold() not in YES + NO:
            raise CalcError(each.name, f"expected yes or no, got {text!r}")
        return text.casefold() in YES
    if each.kind in WORDLESS:
        return text
    try:
        quantity = parse(text, each.kind, unit_of(each, system), signed=True)
    except NotAReading as error:
        raise CalcError(each.name, error.message) from None
    value = convert(quantity.value, quantity.unit, each.unit)
    return value if each.exact else int(value) if each.kind == "count" else float(value)
