"""Products on the owner's list, and which lot went into which foundation."""

from collections.abc import Collection
from datetime import date, datetime
from uuid import UUID

from apps.corridor import access, tally
from apps.corridor.models import Corridor, Foundation
from apps.materials.acts import ROLES
from apps.materials.models import AcceptedProduct, Certificate, LotUse
from apps.people.models import Person
from apps.record.acts import Answer, Refused, act, checked, enter, within


@act
def accept_product(
    *,
    corridor: Corridor,
    name: str,
    listed_as: str,
    accepted_from: date,
    by: Person,
    at: datetime,
    client_id: UUID,
    accepted_until: date | None = None,
) -> Answer:
    """Enter a product of the owner's list, or the day on which it left the list."""
    role = access.role_for(by, corridor, ROLES, at)
    if accepted_until is not None and accepted_until < accepted_from:
        raise Refused("The product leaves the list before it is on it: look at the days again.")
    said = {"name": within(name, 120, "The name"), "listed_as": within(listed_as, 120, "The place in the list")}
    days = {"accepted_from": accepted_from, "accepted_until": accepted_until}
    made = checked(AcceptedProduct(corridor=corridor, by=by, added_at=at, **said, **days))
    made.save()
    tally.apply(corridor, tally.Change(), at)
    entry = enter(
        log=corridor.pk, act="accept_product", subject=made.name, by=by, role=role, at=at, payload={**said, **days}, rows=[made]
    )  # fmt: skip
    return {"product": str(made.pk), "entry": entry.sequence}


@act
def use_lot(
    *, certificate: Certificate, foundations: Collection[Foundation], by: Person, at: datetime, client_id: UUID
) -> Answer:
    """Enter that the lot of a certificate went into foundations; one that has it already is left as it is."""
    corridor = certificate.corridor
    role = access.role_for(by, corridor, ROLES, at)
    if strange := sorted(each.mark for each in foundations if each.corridor_id != corridor.pk):
        raise Refused(f"{', '.join(strange)} is not on {corridor.name}.")
    if not certificate.holds_on(corridor.day(at)):
        raise Refused(f"{certificate} does not count today: it ran out, or its product is not on the owner's list.")
    tally.lock(corridor)
    known = set(certificate.uses.values_list("foundation", flat=True))
    fresh = sorted((each for each in foundations if each.pk not in known), key=lambda each: each.mark)
    if not fresh:
        raise Refused("Name at least one foundation that this lot went into and is not entered for yet.")
    tally.apply(corridor, tally.Change(), at)
    entries = []
    for each in fresh:
        made = LotUse(certificate=certificate, foundation=each, by=by, at=at)
        payload = {"covers": certificate.covers, "number": certificate.number, "lot": certificate.lot}
        made.entry = enter(
            log=corridor.pk, act="use_lot", subject=each.mark, by=by, role=role, at=at, about=each, payload=payload, rows=[made],
        ).sequence  # fmt: skip
        made.save()
        entries.append(made.entry)
    return {"marks": [each.mark for each in fresh], "entry": entries[0]}
