"""What the plans know of a foundation, put into the fields of a calculation that ask for it."""

from fractions import Fraction

from apps.calc.facts import FACTS
from apps.calc.registry import Calculation
from apps.calc.scales import UNITS, WORDLESS
from apps.calc.shown import show
from apps.corridor.models import Foundation
from apps.corridor.plan import facts

ASKED: dict[str, str] = {
    "bolt_circle.nominal": "bolt_circle",
    "bolt_circle.bolt_circle": "bolt_circle",
    "bolt_circle.count": "bolt_count",
    "bolt_circle.bolt_diameter": "bolt_diameter",
    "seating.bolt_circle": "bolt_circle",
    "seating.pole_height": "pole_height",
    "shaft.shaft_diameter": "shaft_diameter",
    "shaft.depth": "depth",
    "shaft.bar_size": "bar_size",
    "shaft.bar_count": "bar_count",
    "shaft.spiral_size": "spiral_size",
    "shaft.pitch": "spiral_pitch",
    "shaft.flat_turns": "flat_turns",
    "shaft.cage_diameter": "cage_diameter",
    "shaft.hole_diameter": "shaft_diameter",
    "capacity.diameter_ft": "shaft_diameter",
    "capacity.width_ft": "shaft_diameter",
    "capacity.ordered_ft": "depth",
    "capacity.bolt_circle_in": "bolt_circle",
    "capacity.count": "bolt_count",
    "capacity.arm_length_ft": "arm_length",
    "torque.diameter_in": "bolt_diameter",
    "torque.count": "bolt_count",
    "strength.specified": "concrete_strength",
    "fresh_concrete.ordered_yd3": "volume",
}
"""Room and input to the fact of the plans that it asks for (calc.facts.FACTS)."""


def known(calculation: Calculation, foundation: Foundation) -> dict[str, str]:
    """Return what would be typed for the inputs that the plans answer, with the unit, by the name of the input."""
    room = calculation.name.split(".", 1)[0]
    plan = facts(foundation)
    found = {}
    for each in calculation.inputs:
        name = ASKED.get(f"{room}.{each.name}", "")
        value = plan.get(name)
        if value is None or each.many:
            continue
        unit = FACTS[name].unit
        if each.kind in WORDLESS or isinstance(value, str | bool):
            text = str(value)
            if each.choices and text not in each.choices:
                continue
        elif UNITS[unit].dimension != UNITS[each.unit].dimension:
            continue
        else:
            text = show(Fraction(value), unit, grouped=False)
        found[each.name] = text
    return found
