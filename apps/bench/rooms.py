"""The rooms of the calculations in the order of the work, with the titles that the Bench lists them under."""

from apps.calc import registry
from apps.calc.registry import Calculation

ROOMS: dict[str, str] = {
    "alignment": "Alignment and stations",
    "bolt_circle": "Bolt circle",
    "seating": "Seating",
    "clearance": "Breakaway clearance",
    "shaft": "Shaft: concrete and steel",
    "capacity": "Lateral capacity and wind",
    "torque": "Torque and preload",
    "fresh_concrete": "Fresh concrete",
    "strength": "Strength and maturity",
    "electrical": "Grounding and wiring",
    "decision": "Uncertainty and decisions",
    "control": "Control charts",
    "schedule": "Schedule",
}
"""Room of apps.calc to its title. A test holds it against registry.rooms()."""


def by_room() -> list[tuple[str, str, list[Calculation]]]:
    """Return every room's name, title and calculations."""
    every = registry.all()
    return [
        (room, title, [each for each in every if each.name.split(".", 1)[0] == room]) for room, title in ROOMS.items()
    ]
