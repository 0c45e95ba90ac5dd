"""Roles that begin and end, and crews."""

from datetime import date, datetime, timedelta
from uuid import UUID

from django.db.models import Q

from apps.corridor import tally
from apps.corridor.acts.setting import entered, new_name, setter
from apps.corridor.models import Corridor, Crew, Membership
from apps.people.models import Person
from apps.record.acts import Answer, Refused, act, checked


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
    granting = setter(by, corridor, at)
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
    return {"entry": entered(made, "grant_role", person.username, by, granting, at, payload)}


@act
def end_role(*, membership: Membership, ends_on: date, by: Person, at: datetime, client_id: UUID) -> Answer:
    """Give a membership its last day. What the person did stays theirs; nobody ends a role of their own."""
    corridor = membership.corridor
    granting = setter(by, corridor, at)
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
    return {"entry": entered(held, "end_role", held.person.username, by, granting, at, payload)}


@act
def add_crew(*, corridor: Corridor, name: str, by: Person, at: datetime, client_id: UUID) -> Answer:
    """Bring in a crew."""
    role = setter(by, corridor, at)
    tally.lock(corridor)
    new_name(corridor.crews.all(), "crew", name)
    crew = checked(Crew(corridor=corridor, name=name))
    crew.save()
    return {"entry": entered(crew, "add_crew", name, by, role, at, {"name": name})}
