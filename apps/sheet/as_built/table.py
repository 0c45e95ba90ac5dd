"""The table beside the drawings: what was measured, in the order of work, each beside the plans and with its entry."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from apps.calc.bolt_circle import BoltCircle
from apps.calc.shown import show
from apps.calc.stationing import show_station
from apps.holdpoints.models import Measurement
from apps.sheet.as_built.values import Values
from apps.sheet.measured import Measured


@dataclass(frozen=True, slots=True)
class Row:
    """One quantity, as planned and as built."""

    title: str
    plan: str
    planned: bool
    """Whether the plans give the value; otherwise `plan` is the limit that it was judged by."""
    built: str
    typed: str
    """Every reading as typed where there are several, or how the value was worked out."""
    entry: int
    outcome: str
    """Verdict of the measurement; empty for a value worked out from others."""


class _Quantity(NamedTuple):
    """A row of the table: its title, whose readings it shows, and which fact of the plans stands beside them."""

    title: str
    keys: tuple[str, ...]
    fact: str = ""
    unit: str = "in"
    notation: str = ""


QUANTITIES = (
    _Quantity("Station", ("layout.station",), "station", "station"),
    _Quantity("Offset", ("layout.offset",), "offset", "ft"),
    _Quantity("Setback", ("layout.setback",), "setback", "ft"),
    _Quantity("Hole off its stake", ("drill.location",)),
    _Quantity("Shaft diameter", ("drill.diameter",), "shaft_diameter"),
    _Quantity("Depth", ("drill.depth",), "depth", "in", "feet_inches"),
    _Quantity("Out of plumb", ("drill.plumb",)),
    _Quantity("Loose soil on the bottom", ("drill.sediment",)),
    _Quantity("Vertical bars", ("cage.bar_count",), "bar_count", ""),
    _Quantity("Bar length", ("cage.length",), "cage_length", "in", "feet_inches"),
    _Quantity("Cage over the spiral", ("cage.outside_diameter",), "cage_diameter"),
    _Quantity("Pitch of the spiral", ("cage.spiral_pitch",), "spiral_pitch"),
    _Quantity("Side cover", ("cage.side_cover",)),
    _Quantity("Cover under the bars", ("cage.bottom_cover",)),
    _Quantity("Conduits off the centre line", ("cage.conduit_offset",)),
    _Quantity("Concrete", ("pour.volume_placed",), "volume", "yd3"),
    _Quantity("Top of concrete over grade", ("pour.top_elevation",)),
    _Quantity("Bolt diameter", ("cage.bolt_diameter",), "bolt_diameter"),
    _Quantity("Bolt length", ("cage.bolt_length",), "bolt_length"),
    _Quantity("Bolt circle, diagonals", ("pour.bolt_circle", "cage.bolt_circle"), "bolt_circle"),
    _Quantity("Bolts above concrete", ("pour.bolt_projection", "cage.bolt_projection")),
    _Quantity("Lean of the bolts", ("pour.bolt_plumb", "cage.bolt_plumb")),
    _Quantity("Bolt pair off the road", ("pour.bolt_orientation", "cage.bolt_orientation")),
    _Quantity("Gap a rigid base will show", ("pour.top_twist",)),
    _Quantity("Gap at a corner, base free", ("base_set.corner_gap",)),
    _Quantity("Torque", ("base_set.torque",)),
    _Quantity("Left standing over the chord", ("base_set.stub_height",)),
    _Quantity("Lean of the pole", ("pole_set.plumb",)),
    _Quantity("Arm to the road", ("pole_set.arm_angle",)),
    _Quantity("Finished ground", ("pole_set.final_grade",)),
)


def rows(values: Values) -> list[Row]:
    """Return the table: what was measured, in the order of work, the fitted bolt circle after its diagonals."""
    found = []
    for each in QUANTITIES:
        row = values.row(*each.keys)
        if row is not None and row.value:
            found.append(_row(values, each, row))
        if each.title == "Bolt circle, diagonals" and row is not None and values.circle:
            found.append(_fitted(values, values.circle, row))
    return found


def _row(values: Values, asked: _Quantity, row: Measurement) -> Row:
    fact = values.planned(asked.fact) if asked.fact else None
    write: Callable[[Fraction], str] = (
        show_station if asked.unit == "station" else lambda value: show(value, asked.unit, asked.notation)
    )
    station = asked.unit == "station" and row.value
    return Row(
        title=asked.title,
        plan=_unbroken(write(fact) if fact is not None else row.limit_text),
        planned=fact is not None,
        built=_unbroken(show_station(Fraction(row.value)) if station else row.value_text),
        typed="" if station or len(row.readings) < 2 else _unbroken(Measured.of(row).typed),
        entry=values.entry(row),
        outcome=row.outcome,
    )


def _unbroken(words: str) -> str:
    """Return words whose fractions stay on the line of their whole number, and units on that of their figure."""
    return re.sub(r"(?<=\d) (?=\d+/\d|(?:in|ft|yd³|%|ft-lb)\b)", "\N{NO-BREAK SPACE}", words)


def _fitted(values: Values, circle: BoltCircle, row: Measurement) -> Row:
    sides = values.row("cage.bolt_adjacent")
    from_sides = f", sides of entry {values.entry(sides)}" if sides and sides.inspection_id != row.inspection_id else ""
    return Row(
        title="Bolt circle, fitted",
        plan=show(values.needed("bolt_circle"), "in"),
        planned=True,
        built=f"{circle.bolt_circle:.2f} in",
        typed=f"worst bolt {circle.worst:.2f} in off its place, lengths agree to {circle.misclosure:.2f} in{from_sides}",
        entry=values.entry(row),
        outcome="",
    )
