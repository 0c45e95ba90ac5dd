"""Making people and keeping their accounts: an administrator's work. The record of every corridor where the person has a role names it.

So an administrator who takes an account over by a new password is seen by everybody who reads the record.
"""

from datetime import datetime
from typing import Any
from uuid import UUID

from apps.corridor import access, tally
from apps.people.models import Person
from apps.record.acts import Answer, Refused, act, checked, enter


def _administrator(by: Person) -> None:
    if not by.is_superuser:
        raise Refused("An administrator makes people and keeps their accounts.")


def _tell(act_name: str, person: Person, by: Person, at: datetime, **said: Any) -> dict[str, int]:
    """Enter what was done to a person wherever they have a role today; return the entries by corridor."""
    entries = {}
    for corridor in sorted(access.roles_at(person, at), key=lambda each: each.pk):
        tally.apply(corridor, tally.Change(), at)
        entries[corridor.slug] = enter(
            log=corridor.pk,
            act=act_name,
            subject=person.username,
            by=by,
            role="administrator",
            at=at,
            payload={"person": person.username, "name": str(person), **said},
        ).sequence
    return entries


@act
def add_person(
    *, username: str, name: str, credential: str, email: str, by: Person, at: datetime, client_id: UUID
) -> Answer:
    """Make a person who cannot sign in yet: `give_link` lets them set their own password."""
    _administrator(by)
    username = username.strip().lower()
    if Person.objects.filter(username__iexact=username).exists():
        raise Refused(f"There is a person {username} already.")
    person = Person(username=username, name=name.strip(), credential=credential.strip(), email=email.strip())
    person.date_joined = at
    person.set_unusable_password()
    checked(person).save()
    return {"person": username}


@act
def change_person(
    *, person: Person, name: str, credential: str, email: str, by: Person, at: datetime, client_id: UUID
) -> Answer:
    """Change how a person is written from now on; entries keep the name of their day."""
    _administrator(by)
    row = Person.objects.select_for_update().get(pk=person.pk)
    before = str(row)
    row.name, row.credential, row.email = name.strip(), credential.strip(), email.strip()
    checked(row, "password").save(update_fields=["name", "credential", "email"])
    return {"person": row.username, "entries": _tell("change_person", row, by, at, before=before)}


@act
def give_link(*, person: Person, by: Person, at: datetime, client_id: UUID) -> Answer:
    """Note that a link to set the person's password is given; people.links makes it."""
    _administrator(by)
    if not person.is_active:
        raise Refused(f"The account of {person} is closed: open it first.")
    return {"person": person.username, "entries": _tell("give_link", person, by, at)}


@act
def close_account(*, person: Person, by: Person, at: datetime, client_id: UUID) -> Answer:
    """Let a person sign in no more, and end what they are signed in to. Everything they did stays theirs."""
    _administrator(by)
    if person.pk == by.pk:
        raise Refused("Nobody closes their own account.")
    return _set_active("close_account", person, by, at, active=False)


@act
def open_account(*, person: Person, by: Person, at: datetime, client_id: UUID) -> Answer:
    """Let a person whose account was closed sign in again."""
    _administrator(by)
    return _set_active("open_account", person, by, at, active=True)


def _set_active(act_name: str, person: Person, by: Person, at: datetime, *, active: bool) -> Answer:
    row = Person.objects.select_for_update().get(pk=person.pk)
    if row.is_active == active:
        raise Refused(f"{row} {'may sign in already' if active else 'may not sign in as it is'}.")
    row.is_active = active
    row.save(update_fields=["is_active"])
    return {"person": row.username, "entries": _tell(act_name, row, by, at)}
