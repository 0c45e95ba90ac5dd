"""The calculations from a terminal.

    python -m apps.calc                                    every calculation by name
    python -m apps.calc seating --help                     what one takes and gives, with its source
    python -m apps.calc seating a=0 b=1/32 c=3/16 d=0 pole_height="40 ft" --json

Values are written as on a page: "1 1/8", "8 ft 1 7/16 in", 24mm; a number alone is in the unit that --help names.
Several values are parted by commas, or by semicolons where a comma is a decimal point. Exit code 0: answered; 2: the input cannot be taken.
"""

import inspect
import json
import shlex
import sys
from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from apps.calc import registry
from apps.calc.errors import CalcError, NotAReading
from apps.calc.registry import Calculation, Input
from apps.calc.typed import read_inputs
from apps.calc.working import as_rows, number_text, plain_data


def main(words: Sequence[str]) -> int:
    """Answer one command line; return the exit code."""
    flags = {word for word in words if word.startswith("--")}
    plain = [word for word in words if word not in flags]
    try:
        unknown = flags - {"--help", "--json"}
        if unknown:
            raise CalcError(min(unknown), "is not known; there are --help and --json")
        if not plain:
            print(__doc__ if "--help" in flags else listing())
            return 0
        calculation = registry.find(plain[0])
        if "--help" in flags:
            print(explain(calculation))
            return 0
        result = calculation.run(read(calculation, plain[1:]))
    except (CalcError, NotAReading, registry.UnknownCalculation) as error:
        print(str(error.args[0]) if isinstance(error, LookupError) else str(error), file=sys.stderr)
        return 2
    print(as_json(calculation, result) if "--json" in flags else answer(result))
    return 0


def listing() -> str:
    """Return every calculation, one a line: name and title."""
    found = registry.all()
    width = max(len(each.name) for each in found)
    return "\n".join(f"{each.name:<{width}}  {each.title}" for each in found)


def explain(calculation: Calculation) -> str:
    """Return what a calculation takes and gives, its source, its caution, and its own account of itself."""
    lines = [calculation.title, "", "takes"]
    lines += [f"  {each.name:<20} {_unit(each):<16} {each.title}{_needed(each)}" for each in calculation.inputs]
    lines += ["", "gives"]
    lines += [f"  {each.name:<20} {each.unit or each.kind:<16} {each.title}" for each in calculation.outputs]
    lines += ["", f"source: {calculation.source}"]
    if calculation.beyond:
        lines += [f"does not say: {calculation.beyond}"]
    if calculation.caution:
        lines += [f"caution: {calculation.caution}"]
    if calculation.example:
        lines += ["", "for example", f"  {' '.join(_word(*each) for each in calculation.example.items())}"]
    return "\n".join([*lines, "", inspect.getdoc(calculation.function) or ""])


def _unit(each: Input) -> str:
    word = "|".join(each.choices) if each.choices else each.unit or each.kind
    return f"{word}, ..." if each.many else word


def _needed(each: Input) -> str:
    if each.default is not None:
        shown = each.default
        return f" [{number_text(shown) if isinstance(shown, Fraction | float) else shown or 'none'}]"
    return " [optional]" if each.optional else ""


def _word(name: str, typed: str) -> str:
    return f"{name}={shlex.quote(typed)}"


def read(calculation: Calculation, words: Sequence[str]) -> dict[str, Any]:
    """Return the values of words such as bolt_circle=14, in the units of the inputs. CalcError names the input."""
    typed: dict[str, str] = {}
    for word in words:
        name, equals, value = word.partition("=")
        if not equals:
            raise CalcError(word, "expected name=value")
        typed[name] = value
    values, faults = read_inputs(calculation, typed)
    for name, fault in faults.items():
        raise CalcError(name, fault)
    return values


def answer(result: Any) -> str:
    """Return a result as text: its sentence, its working line by line, its caution."""
    rows = as_rows(result.working)
    width = max((len(row["symbol"]) for row in rows), default=0)
    lines = [result.sentence, ""] if getattr(result, "sentence", "") else []
    for row in rows:
        lines.append(f"{row['symbol']:<{width}} = {row['expression']}")
        lines.append(f"{'':<{width}} = {row['numbers']} = {row['value']} {row['unit']}".rstrip())
    caution = getattr(result, "caution", "")
    return "\n".join([*lines, *(["", caution] if caution else [])])


def as_json(calculation: Calculation, result: Any) -> str:
    """Return a result as JSON: its fields, and every output that the calculation declares."""
    outputs = {each.name: plain_data(getattr(result, each.name, None)) for each in calculation.outputs}
    return json.dumps({**outputs, **plain_data(result)}, indent=2, ensure_ascii=False)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
