"""What is due by the clock alone: releases and findings past their promise, conditions on their day, digest and morning sheet at
their hour.

Everything is found from the rows as they stand, and a letter's row says that it was told: so it does not matter when, how often or in how
many workers this is looked at.
"""

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from functools import reduce
from operator import or_
from uuid import UUID

from django.db.models import Q

from apps.corridor.models import Corridor
from apps.findings.models import Finding
from apps.holdpoints.models import Condition, HoldPoint
from apps.mailing import kinds, outbox
from apps.mailing.models import Letter
from apps.mailing.readers import Reader, readers

WAITS_FOR = {"open": "engineer", "verified": "engineer", "answered": "inspector", "decided": "foreman"}
"""State of a finding → who is to act next."""


def any_of(conditions: Iterable[Q]) -> Q:
    """Return what one of several asks for; nothing where there is none."""
    return reduce(or_, conditions, Q(pk__in=[]))


def find(at: datetime) -> int:
    """Make the letters of what is due, and return how many. Reads a fixed number of queries; writes only what is new."""
    able = readers(at)
    corridors = {
        held[0].corridor_id: held[0].corridor for reader in able.values() for held in reader.memberships.values()
    }
    if not corridors:
        return 0
    wanted = [*_releases(corridors, able, at), *_findings(corridors, able, at), *_conditions(corridors, able, at)]
    return outbox.put(_new([*wanted, *_digests(able, at), *_mornings(able, at)]), at)


def _new(wanted: list[outbox.Wanted]) -> list[outbox.Wanted]:
    """Leave out what was told before, so that a look at which nothing is new writes nothing."""
    kinds_, about, once = ({getattr(each, name) for each in wanted} for name in ("kind", "about", "once"))
    asked = Letter.objects.filter(kind__in=kinds_, about__in=about, once__in=once)
    told = set(asked.values_list("person", "kind", "once", "corridor", "about"))
    return [each for each in wanted if each.key not in told]


def late_releases(corridors: Mapping[UUID, Corridor], at: datetime) -> Q:
    """Return the condition of hold points that wait longer than their corridor promises."""
    return any_of(
        Q(corridor=key, since__lt=at - timedelta(hours=each.release_promise_hours)) for key, each in corridors.items()
    )


def _releases(corridors: Mapping[UUID, Corridor], able: Mapping[int, Reader], at: datetime) -> Iterable[outbox.Wanted]:
    points = HoldPoint.objects.awaiting_release().filter(late_releases(corridors, at)).select_related("foundation")
    for point in points:
        about, once = f"{point.foundation.mark}/{point.stage}", f"attempt {point.attempts}"
        for reader in able.values():
            if reader.roles(point.corridor_id) & kinds.KIND[kinds.RELEASE_LATE].roles:
                yield outbox.Wanted(reader, kinds.RELEASE_LATE, once, point.corridor_id, about)


def _findings(corridors: Mapping[UUID, Corridor], able: Mapping[int, Reader], at: datetime) -> Iterable[outbox.Wanted]:
    late = any_of(Q(corridor=key, due_on__lt=each.day(at)) for key, each in corridors.items())
    for finding in Finding.objects.unsettled().filter(late).select_related("foundation"):
        log, once = finding.corridor_id, f"due {finding.due_on}, {finding.state}"
        for reader in able.values():
            if acts_next(reader, finding) or "office" in reader.roles(log):
                yield outbox.Wanted(reader, kinds.FINDING_LATE, once, log, finding.name)


def acts_next(reader: Reader, finding: Finding) -> bool:
    """Say whether a finding waits for this person."""
    role, crew = WAITS_FOR[finding.state], finding.crew_id or finding.foundation.crew_id
    log = finding.corridor_id
    return reader.leads(log, crew) if role == "foreman" else role in reader.roles(log)


def unmet(corridors: Mapping[UUID, Corridor], at: datetime, ahead: timedelta = timedelta(0)) -> list[Condition]:
    """Return the conditions of releases not yet met whose day has come, or comes within a time."""
    way = "decision__inspection__hold_point"
    due = any_of(Q(**{f"{way}__corridor": key, "due_on__lte": each.day(at + ahead)}) for key, each in corridors.items())
    rows = Condition.objects.filter(due, met_at=None, **{f"{way}__foundation__abandoned_at": None})
    return list(rows.select_related(f"{way}__foundation", "decision__by").order_by("due_on", "id"))


def _conditions(
    corridors: Mapping[UUID, Corridor], able: Mapping[int, Reader], at: datetime
) -> Iterable[outbox.Wanted]:
    for condition in unmet(corridors, at):
        log, once = condition.decision.inspection.hold_point.corridor_id, f"due {condition.due_on}"
        for reader in able.values():
            if sees_to(reader, condition):
                yield outbox.Wanted(reader, kinds.CONDITION_DUE, once, log, str(condition.pk))


def sees_to(reader: Reader, condition: Condition) -> bool:
    """Say whether a condition is this person's to look after: who released with it, the foreman of the crew, the office."""
    point = condition.decision.inspection.hold_point
    roles = reader.roles(point.corridor_id)
    released = condition.decision.by_id == reader.person.pk and "engineer" in roles
    return released or "office" in roles or reader.leads(point.corridor_id, point.foundation.crew_id)


def _digests(able: Mapping[int, Reader], at: datetime) -> Iterable[outbox.Wanted]:
    """A day's digest from its hour on: a worker that ran late makes it later the same day, never for a day that is over."""
    for reader in able.values():
        local = at.astimezone(reader.zone)
        if local.time() >= reader.wish.digest_at:
            yield outbox.Wanted(reader, kinds.DIGEST, local.date().isoformat())


def _mornings(able: Mapping[int, Reader], at: datetime) -> Iterable[outbox.Wanted]:
    """A working day's morning sheet from its hour on, in the corridor's time; none where nothing is to be built yet."""
    for reader in able.values():
        for corridor in reader.corridors if reader.wants(kinds.MORNING) else ():
            local = at.astimezone(corridor.zone)
            at_work = corridor.works_on(local.date()) and corridor.tally.foundations
            if at_work and local.time() >= reader.wish.morning_at:
                yield outbox.Wanted(reader, kinds.MORNING, local.date().isoformat(), corridor.pk)
