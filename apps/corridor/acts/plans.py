"""What the plans say: alignments and designs, brought in and put right."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Any
from uuid import UUID

from django.db import models

from apps.calc.errors import CalcError
from apps.corridor import tally
from apps.corridor.acts.setting import entered, new_name, setter
from apps.corridor.models import Alignment, Corridor, Design
from apps.corridor.plan import kept
from apps.people.models import Person
from apps.record.acts import Answer, Refused, act, checked
from apps.record.rows import digest

if TYPE_CHECKING:
    from apps.calc.alignment import Alignment as Line
    from apps.calc.alignment import Grid


@act
def add_alignment(
    *,
    corridor: Corridor,
    name: str,
    definition: Mapping[str, Any],
    by: Person,
    at: datetime,
    client_id: UUID,
    crossings: Sequence[Mapping[str, str]] = (),
    grid: Mapping[str, Any] | None = None,
) -> Answer:
    """Bring in a line that stations run along, and the grid that its coordinates are in, if it is known; both must build."""
    role = setter(by, corridor, at)
    _must_build(definition, crossings, grid)
    tally.lock(corridor)
    new_name(corridor.alignments.all(), "alignment", name)
    made = Alignment(corridor=corridor, name=name, definition=dict(definition), crossings=list(crossings))
    made.grid = dict(grid) if grid is not None else None
    checked(made, "crossings").save()
    said = {"name": name, "definition": dict(definition)} | ({"grid": made.grid} if made.grid else {})
    return {"entry": entered(made, "add_alignment", name, by, role, at, said)}


def _must_build(
    definition: Mapping[str, Any], crossings: Sequence[Mapping[str, str]], grid: Mapping[str, Any] | None
) -> "tuple[Line, Grid | None]":
    """Return line and grid. Refused where they do not build, or the line lacks a cross street: no page could draw them."""
    from apps.calc.alignment import build, crossing_fault, grid_from

    try:
        line, plane = build(definition), grid_from(grid) if grid is not None else None
    except CalcError as fault:
        raise Refused(f"The alignment does not build: {fault}") from fault
    if faults := list(filter(None, (crossing_fault(line, each) for each in crossings))):
        raise Refused(*faults)
    return line, plane


@act
def change_alignment(
    *,
    alignment: Alignment,
    name: str,
    definition: Mapping[str, Any],
    crossings: Sequence[Mapping[str, str]],
    grid: Mapping[str, Any] | None,
    was: str,
    by: Person,
    at: datetime,
    client_id: UUID,
) -> Answer:
    """Put an alignment right: cross streets and grid at any time, its name and line while no foundation stands along it.

    `was` is the digest of the row as the person saw it, so that nobody's change is undone unseen.
    """
    corridor = alignment.corridor
    role = setter(by, corridor, at)
    line, plane = _must_build(definition, crossings, grid)
    tally.lock(corridor)
    row = Alignment.objects.select_related("corridor").get(pk=alignment.pk)
    # The same line in another spelling is no other line.
    after = {
        "name": name,
        "definition": row.definition if row.geometry == line else dict(definition),
        "crossings": list(crossings),
        "grid": row.grid if row.plane == plane else grid and dict(grid),
    }
    before = _before(row, after, was)
    standing = row.foundations.count()
    if standing and before.keys() & {"name", "definition"}:
        raise Refused(
            f"{_standing(standing)} along {row.name}: its name and its line stay as they are, for every station was counted on "
            "it. Cross streets and grid may still be changed; another line is brought in beside it."
        )
    if "name" in before:
        new_name(corridor.alignments.exclude(pk=row.pk), "alignment", name)
    return _changed(row, "change_alignment", before, after, by, role, at, leave=("crossings",))


def _standing(count: int) -> str:
    return "1 foundation stands" if count == 1 else f"{count} foundations stand"


def _before(row: models.Model, after: Mapping[str, Any], was: str) -> dict[str, Any]:
    """Return the columns that would change, as they are. Refused where none would, or where somebody changed the row meanwhile."""
    if digest(row) != was:
        raise Refused(f"{row} was changed while you were at it. Open it again and look at what it says now.")
    before = {name: getattr(row, name) for name, value in after.items() if getattr(row, name) != value}
    if not before:
        raise Refused(f"Nothing about {row} was changed.")
    return before


def _changed(
    row: models.Model,
    act: str,
    before: Mapping[str, Any],
    after: Mapping[str, Any],
    by: Person,
    role: str,
    at: datetime,
    *,
    leave: tuple[str, ...] = (),
) -> Answer:
    """Write what changes of a row, and enter what it said before and says now."""
    was_named = str(row)
    for name in before:
        setattr(row, name, after[name])
    checked(row, *leave).save()
    payload = {"name": was_named, "before": dict(before), "after": {name: after[name] for name in before}}
    return {"entry": entered(row, act, str(row), by, role, at, payload)}


@act
def add_design(*, corridor: Corridor, fields: Mapping[str, Any], by: Person, at: datetime, client_id: UUID) -> Answer:
    """Bring in a design of the plans; `fields` are those of Design, `more` among them as people write it: {"air": "6 %"}."""
    role = setter(by, corridor, at)
    tally.lock(corridor)
    fields = {**fields, "more": _more(fields.get("more", {}))}
    design = Design(corridor=corridor, **fields)
    new_name(corridor.designs.all(), "design", design.name)
    checked(design).save()
    return {"entry": entered(design, "add_design", design.name, by, role, at, dict(fields))}


@act
def change_design(
    *, design: Design, fields: Mapping[str, Any], was: str, by: Person, at: datetime, client_id: UUID
) -> Answer:
    """Put a design right while no foundation is of it. `fields` as for add_design, `was` as for change_alignment."""
    corridor = design.corridor
    role = setter(by, corridor, at)
    tally.lock(corridor)
    row = Design.objects.select_related("corridor").get(pk=design.pk)
    if count := row.foundations.count():
        raise Refused(
            f"{_standing(count)} by design {row.name}: it stays as it is, because their readings were judged by it. Bring in "
            "another design under another name."
        )
    after = {**fields, "more": _more(fields.get("more", {}))}
    before = _before(row, after, was)
    if "name" in before:
        new_name(corridor.designs.exclude(pk=row.pk), "design", after["name"])
    return _changed(row, "change_design", before, after, by, role, at)


def _more(typed: Mapping[str, str]) -> dict[str, str]:
    """Return further facts of the plans as they are kept. Refused, naming each that cannot be read."""
    found, faults = {}, []
    for name, text in typed.items():
        try:
            found[name] = kept(name, text)
        except ValueError as fault:  # NotAReading is one
            faults.append(f"{name.replace('_', ' ').capitalize()}: {getattr(fault, 'message', fault)}")
    if faults:
        raise Refused(*faults)
    return found
