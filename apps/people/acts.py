"""Making people and closing their accounts: an administrator's work. It stands in no corridor's record; what a person is there does."""

from datetime import datetime
from uuid import UUID

from apps.people.models import Person
from apps.record.acts import Answer, Refused, act, checked


def _administrator(by: Person) -> None:
    if not by.is_superuser:
        raise Refused("An administrator makes people and closes their accounts.")


@act
def add_person(
    *, username: str, name: str, credential: str, email: str, by: Person, at: datetime, client_id: UUID
) -> Answer:
    """Make a person who cannot sign in yet: `beginning` gives the link by which they set their own password."""
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
    row.name, row.credential, row.email = name.strip(), credential.strip(), email.strip()
    checked(row).save(update_fields=["name", "credential", "email"])
    return {"person": row.username}


@act
def close_account(*, person: Person, by: Person, at: datetime, client_id: UUID) -> Answer:
    """Let a person sign in no more, and end what they are signed in to. Everything they did stays theirs."""
    _administrator(by)
    if person.pk == by.pk:
        raise Refused("Nobody closes their own account.")
    return _set_active(person, active=False)


@act
def open_account(*, person: Person, by: Person, at: datetime, client_id: UUID) -> Answer:
    """Let a person whose account was closed sign in again."""
    _administrator(by)
    return _set_active(person, active=True)


def _set_active(person: Person, *, active: bool) -> Answer:
    row = Person.objects.select_for_update().get(pk=person.pk)
    if row.is_active == active:
        raise Refused(f"{row} {'may sign in already' if active else 'may not sign in as it is'}.")
    row.is_active = active
    row.save(update_fields=["is_active"])
    return {"person": row.username}
