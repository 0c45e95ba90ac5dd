"""Putting a calculation to a foundation."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from apps.calc import registry
from apps.calc.answers import answers_of
from apps.calc.errors import CalcError
from apps.calc.typed import SYSTEMS, read_inputs
from apps.calc.working import as_rows
from apps.corridor import access, tally
from apps.corridor.models import Foundation
from apps.findings.models import Finding
from apps.materials.models import Computation
from apps.people.models import Person
from apps.record.acts import Answer, Refused, act, checked, enter, within

ROLES = frozenset({access.Role.INSPECTOR, access.Role.ENGINEER, access.Role.OFFICE})
KEPT = ("stage", "calculation", "title", "typed", "system", "sentence", "answers", "working", "source", "note")
"""What the entry says of it."""


@act
def attach_computation(
    *,
    foundation: Foundation,
    calculation: str,
    typed: Mapping[str, str],
    by: Person,
    at: datetime,
    client_id: UUID,
    system: str = "US",
    stage: str = "",
    finding: Finding | None = None,
    note: str = "",
) -> Answer:
    """Calculate with what was typed and put the result to a foundation, or to a finding of it. What comes out is never taken
    from a page: it is computed here.

    Refused with what is wrong by the title of the input, when it cannot be computed.
    """
    corridor = foundation.corridor
    role = access.role_for(by, corridor, ROLES, at)
    fresh = Foundation.objects.select_for_update().get(pk=foundation.pk)
    if fresh.abandoned_at:
        raise Refused(f"{fresh.mark} is abandoned.")
    if finding is not None and finding.foundation_id != foundation.pk:
        raise Refused(f"{finding.name} is not on {foundation.mark}.")
    found, result = computed(calculation, typed, system)
    made = Computation(
        foundation=foundation,
        stage=stage,
        finding=finding,
        typed={name: text.strip() for name, text in typed.items() if text.strip()},
        system=system,
        note=within(note, 500, "The note"),
        by=by,
        at=at,
        entry=0,
        **_outcome(found, result),
    )
    checked(made, "entry")
    made.entry = _enter(made, role)
    made.save()
    return {"computation": str(made.pk), "entry": made.entry}


def _outcome(found: registry.Calculation, result: registry.Result) -> dict[str, Any]:
    """Return what the row keeps of a result: its words, numbers and working as they were on the day."""
    return {
        "calculation": found.name,
        "title": found.title,
        "sentence": result.sentence,
        "answers": answers_of(found, result),
        "working": as_rows(result.working),
        "source": found.source,
        "beyond": found.beyond,
        "caution": getattr(result, "caution", "") or found.caution,
    }


def _enter(made: Computation, role: str) -> int:
    """Write the entry; return its sequence."""
    foundation = made.foundation
    payload = {name: getattr(made, name) for name in KEPT} | {"finding": made.finding.name if made.finding else ""}
    tally.apply(foundation.corridor, tally.Change(), made.at)
    return enter(
        log=foundation.corridor_id,
        act="attach_computation",
        subject=foundation.mark,
        by=made.by,
        role=role,
        at=made.at,
        payload=payload,
        about=foundation,
        rows=[made],
    ).sequence


def computed(calculation: str, typed: Mapping[str, str], system: str) -> tuple[registry.Calculation, registry.Result]:
    """Return the calculation and what it gives for what was typed. Refused when it does not."""
    if system not in SYSTEMS:
        raise Refused(f"Units are {' or '.join(SYSTEMS)}, not {system!r}.")
    try:
        found = registry.find(calculation)
    except registry.UnknownCalculation as fault:
        raise Refused(f"There is no calculation named {calculation}.") from fault
    titles = {each.name: each.title for each in found.inputs}
    values, faults = read_inputs(found, typed, system)
    if faults:
        raise Refused(*(f"{titles.get(name, name).capitalize()}: {fault}." for name, fault in faults.items()))
    try:
        return found, found.run(values)
    except CalcError as fault:
        raise Refused(f"{titles.get(fault.field, fault.field).capitalize()}: {fault.message}.") from fault
