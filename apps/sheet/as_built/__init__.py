"""A foundation as it was built: exact values of the attempts that stand, beside the plans, each with its entry; and drawn.

Which attempt stands: the last one of a stage that was released, else the last one. Values are read again from what was typed
by the requirement that it was judged by; what follows from several of them comes from apps.calc.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from apps.calc.stages import STAGE_BY_KEY
from apps.corridor.models import Foundation
from apps.holdpoints.models import Inspection, Measurement
from apps.sheet.as_built import parts, table
from apps.sheet.as_built.table import Row
from apps.sheet.as_built.values import RELEASES, Values, standing
from apps.sheet.drawn import as_built as drawn

__all__ = ["AsBuilt", "Row", "Source", "Values", "built", "drawings", "of", "standing"]


@dataclass(frozen=True, slots=True)
class Source:
    """One attempt that the drawings are made from."""

    stage: str
    """Its title."""
    attempt: int
    entry: int
    said: str
    """What the engineer said of it, and where it is no longer so."""


@dataclass(frozen=True, slots=True)
class AsBuilt:
    """A foundation as built: two drawings, "" where nothing of them was measured yet, and the table beside them."""

    section: str
    base_plan: str
    rows: tuple[Row, ...]
    sources: tuple[Source, ...]
    section_note: str
    """What of the section was not measured, and how it is drawn then."""
    base_plan_note: str
    section_pt: float
    """Width on paper [pt] at which it is 1/2 in = 1 ft (1/4 in = 1 ft below 12 1/2 ft of depth)."""
    base_plan_pt: float
    """Width on paper [pt] at which it is 3/4 in = 1 ft."""

    @property
    def entries(self) -> list[int]:
        """The entries that it is made from, in the order of the record."""
        return sorted(each.entry for each in self.sources)


def drawings(foundation: Foundation) -> AsBuilt:
    """Return a foundation as it was built. Three queries, whatever was measured."""
    found = Inspection.objects.filter(hold_point__foundation=foundation).select_related("hold_point", "decision")
    tried: dict[str, list[Inspection]] = defaultdict(list)
    for each in found.order_by("attempt"):
        tried[each.hold_point.stage].append(each)
    stand = [standing(each) for each in tried.values()]
    rows = Measurement.objects.filter(inspection__in=stand).select_related("finding", "instrument")
    return of(foundation, stand, list(rows))


def of(foundation: Foundation, stand: Sequence[Inspection], rows: Sequence[Measurement]) -> AsBuilt:
    """Return a foundation as it was built from the attempts that stand and their measurements. One query."""
    return built(Values(foundation, stand, rows), stand)


def built(values: Values, stand: Sequence[Inspection]) -> AsBuilt:
    """Return a foundation as it was built from readings that were read already."""
    foundation = values.foundation
    section, base = parts.section(values), parts.base(values)
    upright = drawn.section(section) if section else None
    above = drawn.base_plan(base) if base else None
    key = f"built-{foundation.pk}"
    return AsBuilt(
        section=upright.svg(f"{key}-section") if upright else "",
        base_plan=above.svg(f"{key}-plan") if above else "",
        rows=tuple(table.rows(values)),
        sources=tuple(_source(each) for each in sorted(stand, key=lambda each: each.entry)),
        section_note=parts.section_note(section) if section else "",
        base_plan_note=parts.plan_note(base) if base else "",
        section_pt=upright.width * drawn.SECTION_POINTS if upright else 0.0,
        base_plan_pt=above.width * drawn.PLAN_POINTS if above else 0.0,
    )


def _source(each: Inspection) -> Source:
    decision = getattr(each, "decision", None)
    said = decision.get_kind_display().lower() if decision else "not decided yet"
    if decision and decision.kind in RELEASES and each.hold_point.state != "released":
        said += f", since then {each.hold_point.get_state_display().lower()}"
    return Source(STAGE_BY_KEY[each.hold_point.stage].title, each.attempt, each.entry, said)
