"""Computed checks drawn to scale: those that follow from the readings of an attempt, and those that somebody put to a foundation.

Nothing is computed here in a second way: a check runs the registered calculation with the readings on file, and its drawings are
those of its room. What was put to a foundation keeps its words of the day; it is drawn only while the calculation still says them.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from apps.calc import registry
from apps.calc.computed import Waiting, inputs_of
from apps.calc.errors import CalcError
from apps.calc.facts import Plan
from apps.calc.limits import MissingFact
from apps.calc.typed import read_inputs
from apps.calc.working import as_rows
from apps.materials.models import Computation
from apps.sheet.as_built import Values
from apps.sheet.drawn import Picture, pictures
from apps.sheet.drawn.as_built.values import CORNERS


@dataclass(frozen=True, slots=True)
class Check:
    """A calculation with the readings of one attempt."""

    title: str
    sentence: str
    working: list[dict[str, str]]
    source: str
    beyond: str
    caution: str
    pictures: list[Picture]


def of_attempt(values: Values, stage: str, plan: Plan) -> list[Check]:
    """Return what follows from the readings of a stage by calculation, each calculation once."""
    return [_check(name, given) for name, given in _asked(values, stage, plan).items()]


def _asked(values: Values, stage: str, plan: Plan) -> dict[str, dict[str, Any]]:
    """Return the inputs of each calculation that this stage's readings are enough for; of several, the fullest."""
    asked: dict[str, dict[str, Any]] = dict(_beside(values, stage))
    readings = values.readings()
    for key in readings:
        spec = values.spec(key)
        if spec is None or not spec.calculation or not key.startswith(f"{stage}."):
            continue
        try:
            given = inputs_of(spec, readings[key], plan, readings)
        except (Waiting, MissingFact, registry.UnknownCalculation):
            continue
        if len(given) > len(asked.get(spec.calculation, ())):
            asked[spec.calculation] = given
    return asked


def _beside(values: Values, stage: str) -> Mapping[str, dict[str, Any]]:
    """Return what is read corner by corner or bolt by bolt, and is judged by that without a calculation."""
    if stage in ("cage", "pour") and values.chords:
        return {"bolt_circle": values.chords}
    gaps = values.at("base_set.corner_gap")
    if stage != "base_set" or not set(CORNERS) <= gaps.keys():
        return {}
    given: dict[str, Any] = {"gaps": [gaps[corner] for corner in CORNERS], "bolt_circle": values.needed("bolt_circle")}
    if height := values.planned("pole_height"):
        given["pole_height"] = height
    torques = values.at("base_set.torque", unit="ft-lb")
    if len(torques) == len(CORNERS):
        given["torques"] = [torques[str(bolt)] for bolt in range(1, len(CORNERS) + 1)]
    return {"seating": given}


def _check(name: str, given: Mapping[str, Any]) -> Check:
    """Run one calculation. Readings that cannot be computed with are said, not hidden: they may contradict each other."""
    found = registry.find(name)
    try:
        arguments = found.arguments(given)
        result = found.function(**arguments)
    except CalcError as error:
        said = f"Not computed from these readings: {error.message}."
        return Check(found.title, said, [], found.source, found.beyond, found.caution, [])
    caution = str(getattr(result, "caution", "") or found.caution)
    drawn = pictures(name, arguments, result)
    return Check(found.title, result.sentence, as_rows(result.working), found.source, found.beyond, caution, drawn)


def pictures_of(row: Computation) -> list[Picture]:
    """Return the drawings of a calculation put to a foundation; none where it would say something else today."""
    try:
        found = registry.find(row.calculation)
        given, faults = read_inputs(found, row.typed, row.system)
        if faults:
            return []
        arguments = found.arguments(given)
        result = found.function(**arguments)
    except (registry.UnknownCalculation, CalcError):
        return []
    return pictures(row.calculation, arguments, result) if result.sentence == row.sentence else []
