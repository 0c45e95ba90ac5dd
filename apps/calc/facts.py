"""The facts of the plans that a requirement may name, and the shape in which they are handed to the judging."""

from collections.abc import Mapping
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple


class Fact(NamedTuple):
    """A value of the plans, or of the foundation, that conditions and limits may name as plan.NAME."""

    kind: str
    unit: str
    title: str


FACTS: dict[str, Fact] = {
    "family": Fact("choice", "", "family"),
    "design": Fact("choice", "", "design"),
    "station": Fact("length", "ft", "station along the alignment"),
    "offset": Fact("length", "ft", "offset from the alignment"),
    "side": Fact("choice", "", "left or right, looking up-station"),
    "depth": Fact("length", "in", "depth ordered"),
    "shaft_diameter": Fact("length", "in", "shaft diameter"),
    "bar_count": Fact("count", "", "vertical bars"),
    "bar_size": Fact("choice", "", "vertical bar, No."),
    "spiral_size": Fact("choice", "", "spiral bar, No."),
    "spiral_pitch": Fact("length", "in", "spiral pitch"),
    "flat_turns": Fact("count", "", "flat turns, each end"),
    "cage_diameter": Fact("length", "in", "diameter over the spiral"),
    "cage_length": Fact("length", "in", "vertical bar length"),
    "bolt_count": Fact("count", "", "anchor bolts"),
    "bolt_diameter": Fact("length", "in", "anchor bolt diameter"),
    "bolt_length": Fact("length", "in", "anchor bolt length"),
    "bolt_grade": Fact("choice", "", "anchor bolt grade, ASTM F1554"),
    "bolt_circle": Fact("length", "in", "bolt circle"),
    "bolt_side": Fact("length", "in", "side of the bolt square, bolt circle / 1.4142"),
    "bolt_projection": Fact("length", "in", "greatest bolt projection"),
    "conduit_count": Fact("count", "", "conduits"),
    "conduit_size": Fact("choice", "", "conduit trade size and type"),
    "concrete_strength": Fact("pressure", "psi", "specified strength f'c"),
    "volume": Fact("volume", "yd3", "neat volume of the shaft"),
    "washer_count": Fact("count", "", "washers in all"),
    "pole_height": Fact("length", "ft", "pole height"),
    "arm_length": Fact("length", "ft", "mast arm length"),
    "solar": Fact("check", "", "solar-powered, no service"),
    "served": Fact("check", "", "has an electrical service"),
    "setback": Fact("length", "ft", "setback from the travelled way or curb"),
    "barrier_clearance": Fact("length", "ft", "clearance behind the rail"),
    "mix": Fact("choice", "", "approved mix"),
    "air": Fact("percent", "%", "air of the mix"),
    "walk": Fact("check", "", "stands at a walk"),
    "barrier": Fact("check", "", "stands behind guardrail"),
    "button": Fact("check", "", "carries a push button"),
    "slope": Fact("slope", "H:V", "slope of the ground, as read at layout"),
    "soil": Fact("choice", "", "ground found at drilling"),
}
"""Every value that a condition or a limit may name. Lengths and the like are Fractions in the unit named here."""

FREE: tuple[str, ...] = ("setback", "barrier_clearance", "mix", "air", "walk", "barrier", "button")
"""Facts of the plans that a design or a foundation gives in words of its own, and need not give."""

SEEN: dict[str, str] = {"slope": "layout.foreslope", "soil": "drill.soil"}
"""Facts that no plan gives: they are what a requirement of an earlier stage was found to be. Not known before."""

ON_FILE: dict[str, Fact] = {
    "load.minutes": Fact("time", "min", "batch to end of discharge, longest load"),
    "load.slump": Fact("length", "in", "slump, where all loads agree"),
    "load.air": Fact("percent", "%", "air, where all loads agree"),
    "load.warmest": Fact("temperature", "F", "temperature, warmest load"),
    "load.coldest": Fact("temperature", "F", "temperature, coldest load"),
    "load.placed": Fact("volume", "yd3", "concrete placed in this foundation"),
    "concrete.age": Fact("time", "d", "age of the concrete"),
    "concrete.strength": Fact("percent", "%", "strength of field-cured specimens, of the specified"),
}
"""What may be known already when a requirement is answered: a reading may name it as on_file, and is filled in from there."""

FactValue = Fraction | str | bool
Plan = Mapping[str, FactValue]
"""The facts of one foundation. One that the plans do not give is absent; a limit that needs it goes to the engineer."""


def facts_as_json(plan: Plan) -> dict[str, str | bool]:
    """Return facts as JSON keeps them, exact: numbers as text such as 385/16, words and yes or no as they are."""
    return {name: value if isinstance(value, str | bool) else str(value) for name, value in plan.items()}


@lru_cache(4096)
def _exact(text: str) -> Fraction:
    return Fraction(text)


def facts_from_json(kept: Mapping[str, str | bool]) -> Plan:
    """Return kept facts again; a name that is no fact any more is left out."""
    found: dict[str, FactValue] = {}
    for name, value in kept.items():
        if name in FACTS:
            number = FACTS[name].kind not in ("choice", "check", "text") and isinstance(value, str)
            found[name] = _exact(value) if number else value
    return found
