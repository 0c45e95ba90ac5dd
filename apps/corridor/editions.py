"""Editions on a corridor: drafted, changed, published, put in force. The engineer does it; every step stands in the record."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from apps.calc.verdict import RULES
from apps.corridor import access, tally
from apps.corridor.models import Corridor
from apps.people.models import Person
from apps.record.acts import Answer, Refused, act, enter, within
from apps.requirements import acts as keeping
from apps.requirements.compare import differences
from apps.requirements.content import GATES
from apps.requirements.models import Edition

EDITORS = frozenset({access.Role.ENGINEER})


def _may(by: Person, corridor: Corridor, at: datetime) -> str:
    """Return the role under which a person works on editions here: engineer, or administrator."""
    return "administrator" if by.is_superuser else access.role_for(by, corridor, EDITORS, at)


def _enter(
    corridor: Corridor,
    name: str,
    edition: Edition,
    by: Person,
    role: str,
    at: datetime,
    *rows: Corridor,
    **payload: Any,
) -> int:
    tally.apply(corridor, tally.Change(), at)
    payload = {"edition": edition.number, **payload}
    return enter(
        log=corridor.pk, act=name, subject=str(edition), by=by, role=role, at=at, payload=payload, rows=rows
    ).sequence


@act
def begin_draft(
    *, corridor: Corridor, based_on: Edition, title: str, by: Person, at: datetime, client_id: UUID
) -> Answer:
    """Begin a draft with everything that an edition says, under the next number."""
    role = _may(by, corridor, at)
    title = within(title, 120, "The title")
    if not title:
        raise Refused("The draft needs a title.")
    if based_on.is_draft:
        raise Refused(f"{based_on} is a draft itself.")
    old = based_on.content()
    number = keeping.next_number()
    content = type(old)(**{**vars(old), "number": number, "title": title})
    draft = keeping.keep_draft(content=content, based_on=based_on)
    entry = _enter(corridor, "begin_draft", draft, by, role, at, title=title, based_on=based_on.number)
    return {"edition": draft.number, "entry": entry}


@act
def change_requirement(
    *,
    corridor: Corridor,
    draft: Edition,
    block: Mapping[str, Any],
    was: Mapping[str, Any] | None,
    by: Person,
    at: datetime,
    client_id: UUID,
) -> Answer:
    """Put a requirement into a draft. `was` is the block that the person saw there; None: there was none.

    Refused with every fault of the block, and when somebody else changed it meanwhile.
    """
    role = _may(by, corridor, at)
    row, before = keeping.put_requirement(draft=draft, block=block)
    _unchanged(row.key, before, was)
    entry = _enter(corridor, "change_requirement", draft, by, role, at, key=row.key, before=before, after=row.block)
    return {"key": row.key, "entry": entry}


@act
def drop_requirement(
    *, corridor: Corridor, draft: Edition, key: str, was: Mapping[str, Any], by: Person, at: datetime, client_id: UUID
) -> Answer:
    """Take a requirement out of a draft. `was` is the block that the person saw there."""
    role = _may(by, corridor, at)
    before = keeping.drop_requirement(draft=draft, key=key)
    _unchanged(key, before, was)
    return {"key": key, "entry": _enter(corridor, "drop_requirement", draft, by, role, at, key=key, before=before)}


def _unchanged(key: str, before: Mapping[str, Any] | None, was: Mapping[str, Any] | None) -> None:
    """Refuse where the row was not what the person saw: the transaction takes everything back."""
    if (before or None) != (dict(was) if was else None):
        what = "is not there any more" if before is None else "was changed" if was else "is there already"
        raise Refused(f"{key} {what} since you opened it. Open it again; what you typed is kept here.")


@act
def set_terms(
    *,
    corridor: Corridor,
    draft: Edition,
    title: str,
    rule: str,
    gates: Mapping[str, int],
    by: Person,
    at: datetime,
    client_id: UUID,
) -> Answer:
    """Change what holds for a whole draft: its title, its decision rule, the numbers of its gates."""
    role = _may(by, corridor, at)
    if rule not in RULES:
        raise Refused(f"The decision rule is {' or '.join(RULES)}, not {rule!r}.")
    if strange := sorted(set(gates) - set(GATES)):
        raise Refused(f"There is no gate {', '.join(strange)}.")
    if any(value < 0 for value in gates.values()):
        raise Refused("A gate is zero or more.")
    fresh = keeping.locked_draft(draft)
    before = {"title": fresh.title, "rule": fresh.rule, "gates": fresh.gates}
    fresh.title, fresh.rule, fresh.gates = within(title, 120, "The title"), rule, {**fresh.gates, **gates}
    fresh.save(update_fields=["title", "rule", "gates"])
    after = {"title": fresh.title, "rule": fresh.rule, "gates": fresh.gates}
    return {"entry": _enter(corridor, "set_terms", fresh, by, role, at, before=before, after=after)}


@act
def discard_draft(*, corridor: Corridor, draft: Edition, by: Person, at: datetime, client_id: UUID) -> Answer:
    """Throw a draft away; what it said stays in the entries of its changes."""
    role = _may(by, corridor, at)
    fresh = keeping.locked_draft(draft)
    entry = _enter(corridor, "discard_draft", fresh, by, role, at, title=fresh.title)
    fresh.delete()
    return {"entry": entry}


@act
def publish_draft(
    *, corridor: Corridor, draft: Edition, by: Person, at: datetime, client_id: UUID, signed: str = ""
) -> Answer:
    """Publish a draft: from then on nobody can change it. Refused with every fault of it."""
    role = _may(by, corridor, at)
    edition = keeping.publish(draft=draft, by=str(by), at=at)
    changed = (
        [each.key for each in differences(edition.based_on.content(), edition.content())] if edition.based_on else []
    )
    said = {"signed": signed} if signed else {}
    entry = _enter(corridor, "publish_draft", edition, by, role, at, digest=edition.digest, changed=changed, **said)
    return {"edition": edition.number, "digest": edition.digest, "entry": entry}


@act
def put_in_force(*, corridor: Corridor, edition: Edition, by: Person, at: datetime, client_id: UUID) -> Answer:
    """Put a published edition in force for new inspections; its digest is entered.

    The one before is superseded once no corridor uses it. What was inspected under it keeps it.
    """
    role = access.role_for(by, corridor, EDITORS, at)
    edition = Edition.objects.select_for_update().get(pk=edition.pk)
    if edition.is_draft:
        raise Refused(f"{edition} is a draft; publish it first.")
    tally.lock(corridor)
    corridor = Corridor.objects.select_related("edition").get(pk=corridor.pk)
    old = corridor.edition
    corridor.edition = edition
    corridor.save(update_fields=["edition"])
    if edition.state == Edition.State.SUPERSEDED:
        Edition.objects.filter(pk=edition.pk).update(state=Edition.State.PUBLISHED)
    if old.pk != edition.pk and not old.corridors.exists():
        Edition.objects.filter(pk=old.pk).update(state=Edition.State.SUPERSEDED)
    said = {"digest": edition.digest, "before": old.number}
    return {"entry": _enter(corridor, "put_in_force", edition, by, role, at, corridor, **said)}
