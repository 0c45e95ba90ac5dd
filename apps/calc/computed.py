"""Values that come from a registered calculation: its inputs taken from readings and plans, its output made exact."""

import math
from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from functools import lru_cache
from typing import Any, NamedTuple

from apps.calc import registry
from apps.calc.errors import CalcError
from apps.calc.facts import FACTS, Plan
from apps.calc.limits import MissingFact
from apps.calc.readings import Reading
from apps.calc.requirement import Requirement
from apps.calc.scales import UNITS
from apps.calc.units import WORDLESS, convert
from apps.calc.working import Step

NOISE = Fraction(1, 10**10)
GREATEST_DENOMINATOR = 100_000
"""A binary float is taken for the simple fraction beside it, if that lies within a ten-thousand-millionth of it: feet
that stand for a 64th of an inch, or millimetres in inches (1/25.4 = 5/127), are then exactly at their limit. The finest
instrument of the trade reads five figures. Common practice, no source."""

REMEMBERED = 1024
"""Results kept: the few requirements of one inspection that share a calculation, and the repeats of a batch."""

Readings = Mapping[str, Sequence[Reading]]


class Computed(NamedTuple):
    """The output of a calculation in the requirement's unit, with how it was reached."""

    values: tuple[Fraction | str | bool, ...]
    """One value, or one for each place when the calculation gives a list."""
    working: tuple[Step, ...]
    caution: str


class Waiting(LookupError):
    """A calculation cannot run yet; `what` says what it waits for, in the words of its inputs."""

    def __init__(self, what: str) -> None:
        self.what = what
        super().__init__(what)


def compute(requirement: Requirement, readings: Sequence[Reading], plan: Plan, others: Readings) -> Computed:
    """Run the requirement's calculation.

    Waiting: a reading lacks, or the numbers cannot be computed with. MissingFact: the plans lack a value. LookupError: no such
    calculation.
    """
    found = registry.find(requirement.calculation)
    values = inputs_of(requirement, readings, plan, others)
    try:
        result = _run(found.name, tuple(values.items()))
    except CalcError as error:
        raise Waiting(error.message) from error
    output = getattr(result, requirement.output)
    if output is None:
        raise Waiting(f"{found.title}: no result")
    many = output if isinstance(output, list | tuple) else (output,)
    declared = found.output(requirement.output)
    unit = declared.unit if declared else requirement.unit
    exact = tuple(_exact(value, unit, requirement.unit) for value in many)
    return Computed(exact, tuple(result.working), str(getattr(result, "caution", "") or found.caution))


def inputs_of(requirement: Requirement, readings: Sequence[Reading], plan: Plan, others: Readings) -> dict[str, Any]:
    """Return what the requirement's calculation is run with, in the units of its inputs.

    Lists are handed over in the order in which the readings stand. Raises as `compute` does.
    """
    found = registry.find(requirement.calculation)
    values: dict[str, Any] = {}
    for each in found.inputs:
        wanted = requirement.inputs.get(each.name)
        if wanted and wanted.startswith("plan."):
            values[each.name] = _of_plan(each, wanted.removeprefix("plan."), plan)
        elif wanted:
            source = readings if wanted == requirement.key else others.get(wanted, ())
            values[each.name] = _of_readings(each, source)
    return values


@lru_cache(REMEMBERED)
def _run(name: str, values: tuple[tuple[str, Any], ...]) -> registry.Result:
    """Calculate; several requirements that rest on one calculation with the same values share its frozen result."""
    return registry.find(name).run(dict(values))


def _of_plan(each: registry.Input, name: str, plan: Plan) -> Any:
    value = plan.get(name)
    if value is None:
        raise MissingFact(name)
    if isinstance(value, str | bool):
        return value
    return _number(each, convert(Fraction(value), FACTS[name].unit, each.unit))


def _of_readings(each: registry.Input, source: Sequence[Reading]) -> Any:
    if not source or any(reading.value is None for reading in source):
        raise Waiting(each.title)
    values = [
        _number(each, convert(reading.value, reading.unit, each.unit))
        if isinstance(reading.value, Fraction)
        else reading.value
        for reading in source
    ]
    return tuple(values) if each.many else values[0]


def _number(each: registry.Input, value: Fraction) -> Fraction | float | int:
    if each.exact:
        return value
    return int(value) if each.kind == "count" and value.denominator == 1 else float(value)


def _exact(value: Any, unit: str, wanted: str) -> Fraction | str | bool:
    """Turn a result into an exact value in the requirement's unit. Waiting when it is not finite."""
    value = value.item() if hasattr(value, "item") else value  # a numpy scalar
    if isinstance(value, bool | str):
        return value
    if isinstance(value, float):
        if not math.isfinite(value):
            raise Waiting("a finite result")
        return _simple(convert(Fraction(value), unit, wanted))
    return convert(Fraction(value), unit, wanted)


def _simple(value: Fraction) -> Fraction:
    near = value.limit_denominator(GREATEST_DENOMINATOR)
    return near if abs(value - near) <= NOISE * max(abs(value), Fraction(1, 100)) else Fraction(f"{float(value):.12g}")


def calculation_faults(requirements: Iterable[Requirement]) -> list[str]:
    """Return what would keep computed requirements from being judged, one sentence each. For a check at load."""
    faults = []
    for each in requirements:
        if each.calculation:
            try:
                faults += [f"{each.key}: {fault}" for fault in _faults(each, registry.find(each.calculation))]
            except registry.UnknownCalculation as error:
                faults.append(f"{each.key}: {error}")
    return faults


def _faults(requirement: Requirement, found: registry.Calculation) -> Iterable[str]:
    names = {each.name: each for each in found.inputs}
    for name, wanted in requirement.inputs.items():
        if name not in names:
            yield f"{found.name} has no input {name}; it has {', '.join(names)}"
        elif wanted.startswith("plan."):
            fact = FACTS[wanted.removeprefix("plan.")]
            if fact.kind not in WORDLESS and not _same_dimension(fact.unit, names[name].unit):
                yield f"{wanted} is {fact.kind}, input {name} of {found.name} is {names[name].kind}"
    for name, each in names.items():
        if name not in requirement.inputs and each.default is None and not each.optional:
            yield f"{found.name} needs its input {name}, {each.title}"
    output = found.output(requirement.output)
    if output is None:
        yield f"{found.name} has no output {requirement.output}; it has {', '.join(o.name for o in found.outputs)}"
    elif output.kind not in WORDLESS and not _same_dimension(output.unit, requirement.unit):
        yield f"output {output.name} of {found.name} is {output.kind}, the requirement is {requirement.kind}"


def _same_dimension(one: str, two: str) -> bool:
    return one in UNITS and two in UNITS and UNITS[one].dimension == UNITS[two].dimension
