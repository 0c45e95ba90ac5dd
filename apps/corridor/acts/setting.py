"""What every act of setting up needs: who may, a name that is new, and the entry."""

from datetime import datetime
from typing import Any

from django.db import models

from apps.corridor import access, tally
from apps.corridor.models import Corridor
from apps.people.models import Person
from apps.record.acts import Refused, enter

SETTERS = frozenset({access.Role.OFFICE, access.Role.ENGINEER})


def setter(by: Person, corridor: Corridor, at: datetime) -> str:
    """Return the role under which a person sets a corridor up: administrator, or its office or engineer."""
    return "administrator" if by.is_superuser else access.role_for(by, corridor, SETTERS, at)


def new_name(taken: models.QuerySet[Any], kind: str, name: str) -> None:
    """Refuse a name that the corridor has already. Called with the corridor's counts locked, so that two at once are not both new."""
    if not name.strip():
        raise Refused(f"The {kind} needs a name.")
    if taken.filter(name__iexact=name.strip()).exists():  # a schedule names it in whatever letters
        raise Refused(f"There is {'an' if kind[0] in 'aeiou' else 'a'} {kind} {name} already.")


def entered(
    made: models.Model, act: str, subject: str, by: Person, role: str, at: datetime, payload: dict[str, Any]
) -> int:
    """Enter that a row was brought in."""
    corridor = made if isinstance(made, Corridor) else made.corridor  # type: ignore[attr-defined]
    tally.apply(corridor, tally.Change(), at)
    return enter(
        log=corridor.pk, act=act, subject=subject, by=by, role=role, at=at, payload=payload, rows=[made]
    ).sequence
