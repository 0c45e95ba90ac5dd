"""The readings that stand for a foundation, exact, read again from what was typed by the requirement that each was judged by."""

from collections.abc import Sequence
from fractions import Fraction
from functools import cached_property
from typing import Any

from apps.calc.bolt_circle import BoltCircle, measured_circle
from apps.calc.errors import CalcError
from apps.calc.facts import Plan
from apps.calc.readings import Reading
from apps.calc.requirement import Requirement as Spec
from apps.corridor.models import Foundation
from apps.holdpoints.models import Inspection, Measurement
from apps.holdpoints.replay import Reader
from apps.requirements.models import Requirement

RELEASES = ("release", "release_with_condition")
SIDES = ("1-2", "2-3", "3-4", "4-1")
DIAGONALS = ("1-3", "2-4")
PEDESTAL = "_pedestal"
"""Ends the key of a requirement that a pedestal has in place of the one without it."""


def standing(attempts: Sequence[Inspection]) -> Inspection:
    """Return the attempt of one stage that stands: the last one released, else the last; in order of attempts."""
    released = [each for each in attempts if getattr(getattr(each, "decision", None), "kind", "") in RELEASES]
    return (released or attempts)[-1]


class Values:
    """The readings that stand, exact, by requirement and place."""

    def __init__(self, foundation: Foundation, stand: Sequence[Inspection], rows: Sequence[Measurement]) -> None:
        self.foundation = foundation
        self.plan: Plan = foundation.plan
        self.stages = {each.hold_point.stage for each in stand}
        self._entries = {each.pk: each.entry for each in stand}
        self._rows = {row.requirement_key: row for row in rows if row.inspection_id in self._entries}
        editions = {each.pk: each.edition_id for each in stand}
        asked = Requirement.objects.filter(edition__in=set(editions.values()), key__in=self._rows)
        specs: dict[tuple[object, str], Spec] = {(each.edition_id, each.key): each.spec for each in asked}
        self._specs = {key: specs.get((editions[row.inspection_id], key)) for key, row in self._rows.items()}
        self._reader = Reader()

    def spec(self, key: str) -> Spec | None:
        """Return the requirement that a measurement was judged by; None where it has none or was not measured."""
        return self._specs.get(key) if self.measured(key) else None

    def readings(self) -> dict[str, tuple[Reading, ...]]:
        """Return every reading that stands, by requirement."""
        asked = {key: spec for key, spec in self._specs.items() if spec is not None}
        return {key: self._reader.readings(spec, self._rows[key].readings) for key, spec in asked.items()}

    def key(self, *keys: str) -> str:
        """Return the first of these requirements that was measured, a pedestal's own among them; "" for none."""
        both = (name for each in keys for name in (each, each + PEDESTAL))
        return next((each for each in both if self.measured(each)), "")

    def measured(self, key: str) -> bool:
        """Say whether a requirement has a reading or a value worked out."""
        row = self._rows.get(key)
        return row is not None and row.outcome not in ("not_measured", "not_applicable")

    def row(self, *keys: str) -> Measurement | None:
        """Return the measurement of the first of these requirements that was measured."""
        return self._rows.get(self.key(*keys))

    def entry(self, row: Measurement) -> int:
        """Return the entry that a measurement is in."""
        return self._entries[row.inspection_id]

    def at(self, *keys: str, unit: str = "in") -> dict[str, Fraction]:
        """Return the readings of a requirement by place, in a unit; empty where nothing was measured."""
        key = self.key(*keys)
        spec = self._specs.get(key)
        if not key or spec is None:
            return {}
        read = self._reader.readings(spec, self._rows[key].readings)
        known = ((each.place, each.measured(unit)) for each in read)
        return {place: value for place, value in known if value is not None}

    def one(self, *keys: str, unit: str = "in") -> Fraction | None:
        """Return the only reading of a requirement."""
        return self.at(*keys, unit=unit).get("")

    def count(self, *keys: str) -> int:
        """Return a count; 0 where nothing was counted."""
        return int(self.one(*keys, unit="") or 0)

    def word(self, *keys: str) -> str:
        """Return what was read in words."""
        row = self.row(*keys)
        return row.value_text if row else ""

    def planned(self, name: str) -> Fraction | None:
        """Return a length or number of the plans."""
        value = self.plan.get(name)
        return value if isinstance(value, Fraction) else None

    def needed(self, name: str) -> Fraction:
        """Return a number that every design has."""
        value = self.planned(name)
        assert value is not None, f"a design has no {name}"
        return value

    def limit(self, *keys: str, end: str = "high") -> Fraction | None:
        """Return the upper limit that a requirement was judged by, or the lower: end="low"."""
        row = self.row(*keys)
        found = row.limits.get(end) if row else None
        return Fraction(found) if found else None

    def wrong(self, *keys: str) -> bool:
        """Say whether a measurement does not conform."""
        row = self.row(*keys)
        return row is not None and row.outcome == "nonconforming"

    @cached_property
    def chords(self) -> dict[str, Any]:
        """The six measured lengths of the bolts as the calculation takes them; the diagonals are those after the pour once measured.

        Empty while one lacks.
        """
        sides, diagonals = self.at("cage.bolt_adjacent"), self.at("pour.bolt_circle", "cage.bolt_circle")
        if not (set(SIDES) <= sides.keys() and set(DIAGONALS) <= diagonals.keys()):
            return {}
        return {
            "sides": [float(sides[each]) for each in SIDES],
            "diagonals": [float(diagonals[each]) for each in DIAGONALS],
            "nominal": float(self.needed("bolt_circle")),
        }

    @cached_property
    def circle(self) -> BoltCircle | None:
        """The bolts where six measured lengths put them."""
        if not self.chords:
            return None
        try:
            return measured_circle(**self.chords)
        except CalcError:  # lengths that close to no four points are shown in the table, not drawn
            return None
