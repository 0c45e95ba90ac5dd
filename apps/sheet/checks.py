"""Computed checks drawn to scale: those that follow from the readings of an attempt, and those that somebody put to a foundation.

Nothing is computed here in a second way: a check runs the registered calculation with the readings on file, and its drawings are
those of its room. What was put to a foundation keeps its words of the day; it is drawn only while the calculation still says them.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from apps.calc import registry
from apps.calc.alignment import Orientation
from apps.calc.clearance.chord import LIMIT_IN
from apps.calc.computed import Waiting, inputs_of
from apps.calc.errors import CalcError
from apps.calc.facts import Plan
from apps.calc.limits import MissingFact
from apps.calc.typed import read_inputs
from apps.calc.working import as_rows, number_text
from apps.corridor.models import Foundation
from apps.materials.models import Computation
from apps.sheet.as_built import Values, parts
from apps.sheet.drawn import Picture, pictures
from apps.sheet.drawn.as_built.values import CORNERS

GROUND = {"A": 135, "A-B": 90, "B": 45, "B-C": 0, "C": 315, "C-D": 270, "D": 225, "D-A": 180}
"""Where the ground is read: the direction of each place as the base plan lies, counter-clockwise from its right, the road above."""
GROUND_AT_IN = 72
"""How far out [in], as the requirement says."""
NOT_READ = {
    "alignment.orientation": "Which way the pair is turned: that was not read, and it is drawn clockwise.",
    "clearance": "Where the conduits stand: only how far out was read, and they are put one to each side along the road.",
}
"""What a check took to be so because it was not read."""


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
    left = values.foundation.side == Foundation.Side.LEFT
    return [_check(name, given, left_side=left) for name, given in _asked(values, stage, plan).items()]


def _asked(values: Values, stage: str, plan: Plan) -> dict[str, dict[str, Any]]:
    """Return the inputs of each calculation that this stage's readings are enough for; of several, the fullest."""
    asked = _beside(values, stage)
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


def _beside(values: Values, stage: str) -> dict[str, dict[str, Any]]:
    """Return what is read place by place, and is judged by that without a calculation."""
    if stage in ("cage", "pour"):
        found = {"bolt_circle": values.chords, "alignment.orientation": _orientation(values, stage)}
    elif stage == "base_set":
        found = {"seating": _seating(values), "clearance": _clearance(values)}
    else:
        return {}
    return {name: given for name, given in found.items() if given}


def _orientation(values: Values, stage: str) -> dict[str, Any]:
    """Return the road's bearing here and the bolt pair's: off it by what was read, clockwise, because which way was not read."""
    angle, limit = values.one(f"{stage}.bolt_orientation", unit="deg"), values.limit(f"{stage}.bolt_orientation")
    if angle is None or limit is None:
        return {}
    foundation = values.foundation
    tangent = round(foundation.alignment.geometry.bearing(foundation.distance_ft), 2)
    return {"tangent_deg": tangent, "bolt_deg": tangent + float(angle), "limit": float(limit)}


def _clearance(values: Values) -> dict[str, Any]:
    """Return the ground as read round the foundation, and what stands: bolts, conduits and the concrete, its top at 0."""
    ground, bolts = values.at("base_set.ground"), parts.bolts(values)
    limit = values.limit("base_set.stub_height")
    if not ground.keys() >= GROUND.keys() or not bolts or any(bolt.above is None for bolt in bolts):
        return {}
    things = [("concrete", 0.0, 0.0, 0.0)]
    things += [(f"bolt {number}", bolt.x, bolt.y, float(bolt.above or 0)) for number, bolt in enumerate(bolts, 1)]
    for number, conduit in enumerate(parts.conduits(values), 1):
        if conduit.above is not None:  # as on the base plan: one to each side
            things.append((f"conduit {number}", float(conduit.off) * (-1) ** number, 0.0, float(conduit.above)))
    names, x, y, tops = (list(each) for each in zip(*things, strict=True))
    return {
        "directions": list(GROUND.values()),
        "distances": [GROUND_AT_IN] * len(GROUND),
        "heights": [float(ground[place]) for place in GROUND],
        "names": names,
        "x": x,
        "y": y,
        "tops": tops,
        "limit": float(limit) if limit is not None else LIMIT_IN,
    }


def _seating(values: Values) -> dict[str, Any]:
    """Return the gaps under the free base, with the torques once every bolt has one."""
    gaps = values.at("base_set.corner_gap")
    if not set(CORNERS) <= gaps.keys():
        return {}
    given: dict[str, Any] = {"gaps": [gaps[corner] for corner in CORNERS], "bolt_circle": values.needed("bolt_circle")}
    if height := values.planned("pole_height"):
        given["pole_height"] = height
    torques = values.at("base_set.torque", unit="ft-lb")
    if len(torques) == len(CORNERS):
        given["torques"] = [torques[str(bolt)] for bolt in range(1, len(CORNERS) + 1)]
    return given


def _check(name: str, given: Mapping[str, Any], *, left_side: bool) -> Check:
    """Run one calculation and draw it as the foundation lies. Readings that contradict each other are said, not hidden."""
    found = registry.find(name)
    try:
        arguments = found.arguments(given)
        result = found.function(**arguments)
    except CalcError as error:
        said = f"Not computed from these readings: {error.message}."
        return Check(found.title, said, [], found.source, found.beyond, found.caution, [])
    caution = str(getattr(result, "caution", "") or found.caution)
    beyond = " ".join(filter(None, (NOT_READ.get(name, ""), found.beyond)))
    drawn = pictures(name, {**arguments, "left_side": left_side}, result)
    return Check(found.title, _sentence(result), as_rows(result.working), found.source, beyond, caution, drawn)


def _sentence(result: registry.Result) -> str:
    """Return what a calculation says; of an angle that only its amount was read of, not which way it is turned."""
    if not isinstance(result, Orientation):
        return result.sentence
    verdict = f"over the limit by {number_text(result.over_deg, 3)}°" if result.over_deg else "within the limit"
    return f"The bolt pair stands {number_text(result.away_deg, 3)}° off parallel to the road, {verdict}."


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
