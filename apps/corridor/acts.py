"""Opening a corridor and bringing in its lines, designs, crews and people. An administrator's work, entered like all other."""

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any
from uuid import UUID

from apps.calc.errors import CalcError
from apps.corridor import access, tally
from apps.corridor.models import Alignment, Corridor, Crew, Design, Membership, Tally
from apps.people.models import Person
from apps.record.acts import Answer, Refused, act, enter, open_log
from apps.requirements.models import Edition

SETTERS = frozenset({access.Role.OFFICE, access.Role.ENGINEER})


def _may_set_up(by: Person, corridor: Corridor, at: datetime) -> str:
    """Return the role under which a person sets a corridor up: administrator, or its office or engineer."""
    return "administrator" if by.is_superuser else access.role_for(by, corridor, SETTERS, at)


def _entry(
    corridor: Corridor, act: str, subject: str, by: Person, role: str, at: datetime, payload: dict[str, Any]
) -> int:
    tally.apply(corridor, tally.Change(), at)
    return enter(log=corridor.pk, act=act, subject=subject, by=by, role=role, at=at, payload=payload).sequence


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
    corridor = Corridor.objects.create(
        slug=slug, name=name, owner=owner, edition=edition, starts_on=starts_on, finishes_on=finishes_on, **(more or {})
    )
    Tally.objects.create(corridor=corridor, day=corridor.day(at))
    open_log(log=corridor.pk, origin=name, at=at)
    payload = {
        "name": name,
        "owner": owner,
        "edition": edition.number,
        "digest": edition.digest,
        "starts_on": starts_on,
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
    Membership.objects.create(
        corridor=corridor, person=person, role=role, crew=crew, starts_on=starts_on, ends_on=ends_on
    )
    payload = {
        "person": person.username,
        "name": str(person),
        "role": role,
        "crew": crew.name if crew else None,
        "starts_on": starts_on,
    }
    return {"entry": _entry(corridor, "grant_role", person.username, by, granting, at, payload)}


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
) -> Answer:
    """Bring in a line that stations run along; it must build."""
    from apps.calc.alignment import build

    role = _may_set_up(by, corridor, at)
    try:
        build(definition)
    except CalcError as fault:
        raise Refused(f"The alignment does not build: {fault}") from fault
    Alignment.objects.create(corridor=corridor, name=name, definition=dict(definition), crossings=list(crossings))
    return {
        "entry": _entry(corridor, "add_alignment", name, by, role, at, {"name": name, "definition": dict(definition)})
    }


@act
def add_design(*, corridor: Corridor, fields: Mapping[str, Any], by: Person, at: datetime, client_id: UUID) -> Answer:
    """Bring in a design of the plans; `fields` are those of Design."""
    role = _may_set_up(by, corridor, at)
    design = Design(corridor=corridor, **fields)
    design.full_clean(exclude=["corridor"])
    design.save()
    return {"entry": _entry(corridor, "add_design", design.name, by, role, at, dict(fields))}


@act
def add_crew(*, corridor: Corridor, name: str, by: Person, at: datetime, client_id: UUID) -> Answer:
    """Bring in a crew."""
    role = _may_set_up(by, corridor, at)
    Crew.objects.create(corridor=corridor, name=name)
    return {"entry": _entry(corridor, "add_crew", name, by, role, at, {"name": name})}


@act
def put_in_force(*, corridor: Corridor, edition: Edition, by: Person, at: datetime, client_id: UUID) -> Answer:
    """Put a published edition in force for new inspections; the engineer does it, and its digest is entered."""
    role = access.role_for(by, corridor, frozenset({access.Role.ENGINEER}), at)
    if edition.state == Edition.State.DRAFT:
        raise Refused(f"{edition} is a draft; publish it first.")
    corridor.edition = edition
    corridor.save(update_fields=["edition"])
    payload = {"edition": edition.number, "digest": edition.digest}
    return {"entry": _entry(corridor, "put_in_force", str(edition), by, role, at, payload)}
