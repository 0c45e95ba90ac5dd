"""Opening a corridor and bringing in its lines, designs, crews and people. An administrator's work, entered like all other."""

from collections.abc import Mapping, Sequence
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any
from uuid import UUID

from django.db import models
from django.db.models import Q

from apps.calc.errors import CalcError
from apps.corridor import access, tally
from apps.corridor.models import Alignment, Corridor, Crew, Design, Membership, Tally
from apps.corridor.plan import kept
from apps.people.models import Person
from apps.record.acts import Answer, Refused, act, checked, enter, open_log
from apps.record.rows import digest
from apps.record.signing import public_key
from apps.requirements.models import Edition

if TYPE_CHECKING:
    from apps.calc.alignment import Alignment as Line
    from apps.calc.alignment import Grid

SETTERS = frozenset({access.Role.OFFICE, access.Role.ENGINEER})


def _may_set_up(by: Person, corridor: Corridor, at: datetime) -> str:
    """Return the role under which a person sets a corridor up: administrator, or its office or engineer."""
    return "administrator" if by.is_superuser else access.role_for(by, corridor, SETTERS, at)


def _new_name(taken: models.QuerySet[Any], kind: str, name: str) -> None:
    """Refuse a name that the corridor has already. Called with the corridor's counts locked, so that two at once are not both new."""
    if not name.strip():
        raise Refused(f"The {kind} needs a name.")
    if taken.filter(name__iexact=name.strip()).exists():  # a schedule names it in whatever letters
        raise Refused(f"There is {'an' if kind[0] in 'aeiou' else 'a'} {kind} {name} already.")


def _entry(
    made: models.Model, act: str, subject: str, by: Person, role: str, at: datetime, payload: dict[str, Any]
) -> int:
    """Enter that a row was brought in."""
    corridor = made if isinstance(made, Corridor) else made.corridor  # type: ignore[attr-defined]
    tally.apply(corridor, tally.Change(), at)
    return enter(
        log=corridor.pk, act=act, subject=subject, by=by, role=role, at=at, payload=payload, rows=[made]
    ).sequence


def _terms_hold(corridor: Corridor) -> None:
    """Refuse terms that no calendar or contract can have."""
    if corridor.finishes_on < corridor.starts_on:
        raise Refused("The contract date lies before the first day of work.")
    if not corridor.working_days or set(corridor.working_days) - set("1234567"):
        raise Refused("Name at least one day of the week on which work is done.")
    try:
        corridor.holidays = sorted({date.fromisoformat(each).isoformat() for each in corridor.holidays})
    except (TypeError, ValueError) as fault:
        raise Refused("A holiday is a date, as 2026-11-26.") from fault
    checked(corridor, "holidays")


@act
def open_corridor(
    *,
    slug: str,
    name: str,
    owner: str,
    edition: Edition,
    starts_on: date,
    finishes_on: date,
    by: Person,
    at: datetime,
    client_id: UUID,
    more: Mapping[str, Any] | None = None,
) -> Answer:
    """Open a corridor with an empty record. For administrators; `more` are further fields of Corridor."""
    if not by.is_superuser:
        raise Refused("An administrator opens a corridor.")
    if Corridor.objects.filter(slug=slug).exists():
        raise Refused(f"There is a corridor {slug} already.")
    corridor = Corridor(
        slug=slug, name=name, owner=owner, edition=edition, starts_on=starts_on, finishes_on=finishes_on, **(more or {})
    )
    _terms_hold(corridor)
    corridor.save()
    Tally.objects.create(corridor=corridor, day=corridor.day(at))
    open_log(log=corridor.pk, origin=name, at=at)
    payload = {
        "name": name,
        "owner": owner,
        "edition": edition.number,
        "digest": edition.digest,
        "starts_on": starts_on,
        "record_key": public_key(),
    }
    return {"corridor": slug, "entry": _entry(corridor, "open_corridor", slug, by, "administrator", at, payload)}


@act
def grant_role(
    *,
    corridor: Corridor,
    person: Person,
    role: str,
    starts_on: date,
    by: Person,
    at: datetime,
    client_id: UUID,
    crew: Crew | None = None,
    ends_on: date | None = None,
) -> Answer:
    """Make a person a member of a corridor in a role. Nobody grants a role to themselves."""
    granting = _may_set_up(by, corridor, at)
    if person.pk == by.pk:
        raise Refused("Nobody grants a role to themselves.")
    if role == Membership.Role.ENGINEER and granting != "administrator":
        raise Refused("An administrator grants the engineer's role.")
    if ends_on is not None and ends_on < starts_on:
        raise Refused("The last day lies before the first.")
    tally.lock(corridor)
    held = Membership.objects.filter(corridor=corridor, person=person, role=role)
    if held.filter(Q(ends_on=None) | Q(ends_on__gte=starts_on)).exists():
        raise Refused(f"{person} has this role here already.")
    made = Membership(corridor=corridor, person=person, role=role, crew=crew, starts_on=starts_on, ends_on=ends_on)
    checked(made).save()
    payload = {
        "person": person.username,
        "name": str(person),
        "role": role,
        "crew": crew.name if crew else None,
        "starts_on": starts_on,
    }
    return {"entry": _entry(made, "grant_role", person.username, by, granting, at, payload)}


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
    role = _may_set_up(by, corridor, at)
    _must_build(definition, crossings, grid)
    tally.lock(corridor)
    _new_name(corridor.alignments.all(), "alignment", name)
    made = Alignment(corridor=corridor, name=name, definition=dict(definition), crossings=list(crossings))
    made.grid = dict(grid) if grid is not None else None
    checked(made, "crossings").save()
    said = {"name": name, "definition": dict(definition)} | ({"grid": made.grid} if made.grid else {})
    return {"entry": _entry(made, "add_alignment", name, by, role, at, said)}


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
    role = _may_set_up(by, corridor, at)
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
        _new_name(corridor.alignments.exclude(pk=row.pk), "alignment", name)
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
    return {"entry": _entry(row, act, str(row), by, role, at, payload)}


@act
def add_design(*, corridor: Corridor, fields: Mapping[str, Any], by: Person, at: datetime, client_id: UUID) -> Answer:
    """Bring in a design of the plans; `fields` are those of Design, `more` among them as people write it: {"air": "6 %"}."""
    role = _may_set_up(by, corridor, at)
    tally.lock(corridor)
    fields = {**fields, "more": _more(fields.get("more", {}))}
    design = Design(corridor=corridor, **fields)
    _new_name(corridor.designs.all(), "design", design.name)
    checked(design).save()
    return {"entry": _entry(design, "add_design", design.name, by, role, at, dict(fields))}


@act
def change_design(
    *, design: Design, fields: Mapping[str, Any], was: str, by: Person, at: datetime, client_id: UUID
) -> Answer:
    """Put a design right while no foundation is of it. `fields` as for add_design, `was` as for change_alignment."""
    corridor = design.corridor
    role = _may_set_up(by, corridor, at)
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
        _new_name(corridor.designs.exclude(pk=row.pk), "design", after["name"])
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


@act
def add_crew(*, corridor: Corridor, name: str, by: Person, at: datetime, client_id: UUID) -> Answer:
    """Bring in a crew."""
    role = _may_set_up(by, corridor, at)
    tally.lock(corridor)
    _new_name(corridor.crews.all(), "crew", name)
    crew = checked(Crew(corridor=corridor, name=name))
    crew.save()
    return {"entry": _entry(crew, "add_crew", name, by, role, at, {"name": name})}


@act
def end_role(*, membership: Membership, ends_on: date, by: Person, at: datetime, client_id: UUID) -> Answer:
    """Give a membership its last day. What the person did stays theirs; nobody ends a role of their own."""
    corridor = membership.corridor
    granting = _may_set_up(by, corridor, at)
    if membership.person_id == by.pk:
        raise Refused("Nobody ends a role of their own.")
    if membership.role == Membership.Role.ENGINEER and granting != "administrator":
        raise Refused("An administrator ends the engineer's role.")
    tally.lock(corridor)
    held = Membership.objects.select_related("person", "corridor").get(pk=membership.pk)
    today = corridor.day(at)
    if held.ends_on is not None and held.ends_on < today:
        raise Refused(f"{held.person} left on {held.ends_on:%-d %b %Y}.")
    if ends_on < max(held.starts_on, today - timedelta(days=1)):
        raise Refused(
            f"The last day, {ends_on:%-d %b %Y}, lies too far back: what was done until yesterday was done in this role."
        )
    before, held.ends_on = held.ends_on, ends_on
    checked(held).save(update_fields=["ends_on"])
    said = {"person": held.person.username, "name": str(held.person), "role": held.role}
    payload = {**said, "ends_on": ends_on, "before": before}
    return {"entry": _entry(held, "end_role", held.person.username, by, granting, at, payload)}


TERMS = (
    "owner", "contract", "finishes_on", "working_days", "holidays", "notice_hours", "inspection_promise_hours",
    "release_promise_hours", "photo_reach_ft",
)  # fmt: skip
"""What may be changed of an open corridor. Its name signs the record's heads, and its days are counted in its time zone: both stay."""


@act
def change_corridor(
    *, corridor: Corridor, fields: Mapping[str, Any], by: Person, at: datetime, client_id: UUID
) -> Answer:
    """Change the terms of a corridor, TERMS, from now on. What was promised and counted before stays as it was."""
    role = _may_set_up(by, corridor, at)
    if strange := sorted(set(fields) - set(TERMS)):
        raise Refused(f"{', '.join(strange)} cannot be changed once a corridor is open.")
    tally.lock(corridor)
    row = Corridor.objects.get(pk=corridor.pk)
    before = {name: getattr(row, name) for name, value in fields.items() if getattr(row, name) != value}
    if not before:
        raise Refused("Nothing is changed: every term stands as it was.")
    after = {name: fields[name] for name in before}
    for name, value in after.items():
        setattr(row, name, value)
    _terms_hold(row)
    row.save(update_fields=list(after))
    return {"entry": _entry(row, "change_corridor", row.slug, by, role, at, {"before": before, "after": after})}
