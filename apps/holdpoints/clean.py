"""Which attempts are clean: they may be released with others under one signature, because nothing in them needs judgement.

The page lists the reasons, the act refuses with them: one source. A fixed number of queries for any number of attempts.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from uuid import UUID

from django.db.models import QuerySet

from apps.corridor.models import Corridor
from apps.findings.models import Finding
from apps.holdpoints.models import Inspection, Opened
from apps.materials.models import StrengthTest
from apps.people.models import Person


def open_findings(foundations: Iterable[object]) -> QuerySet[Finding]:
    """Return the open findings at foundations, in their order."""
    return Finding.objects.unsettled().filter(foundation__in=list(foundations)).order_by("number")


def reasons(
    attempts: Sequence[Inspection],
    shared: Mapping[object, list[str]] | None = None,
    open_ones: Iterable[Finding] | None = None,
) -> dict[UUID, list[str]]:
    """Return, by attempt, why it is decided beside its evidence and not together with others. Two queries.

    The attempts come with their hold points. A page that has the shared or the open findings already hands them in.
    """
    foundations = [each.hold_point.foundation_id for each in attempts]
    shared = shared_findings(foundations) if shared is None else shared
    found: dict[object, list[str]] = defaultdict(list)
    for finding in open_findings(foundations) if open_ones is None else open_ones:
        found[finding.foundation_id].append(f"{finding.name} is open at its foundation.")
    said = {}
    for each in attempts:
        foundation = each.hold_point.foundation_id
        concrete = [f"Concrete {words}." for words in shared.get(foundation, ())]
        said[each.pk] = _judged(each) + found[foundation] + concrete
    return said


def _judged(attempt: Inspection) -> list[str]:
    """Say what of an attempt's own readings, or of its history, needs judgement."""
    counted = (
        (attempt.count("nonconforming"), "does not conform", "do not conform"),
        (attempt.count("refer"), "refers to the engineer", "refer to the engineer"),
        (attempt.count("not_measured"), "was not taken", "were not taken"),
        (attempt.at_limit, "stands at its limit", "stand at their limit"),
    )
    said = [f"{n} reading{'' if n == 1 else 's'} {one if n == 1 else many}." for n, one, many in counted if n]
    return [*said, f"It is attempt {attempt.attempt}: see what changed."] if attempt.attempt > 1 else said


def shared_findings(foundations: Iterable[object]) -> dict[object, list[str]]:
    """Return, by foundation, the open findings on a concrete load that stands in it and was found wanting elsewhere."""
    rows = (
        StrengthTest.objects.filter(load__placements__foundation__in=list(foundations), finding__isnull=False)
        .exclude(finding__state=Finding.State.CLOSED)
        .order_by("load__ticket", "finding__number")
    ).values_list(
        "load__placements__foundation",
        "finding__foundation",
        "load__ticket",
        "finding__number",
        "finding__foundation__mark",
    )
    found: dict[object, list[str]] = defaultdict(list)
    for foundation, wanting, ticket, number, mark in dict.fromkeys(rows):
        if foundation != wanting:
            found[foundation].append(f"load {ticket} also in {mark} (F-{number:03d})")
    return found


# ---- opened today: nothing is released unseen


def note_opened(person: Person, inspection: Inspection, at: datetime) -> None:
    """Note that a person has the evidence of an attempt before them."""
    if not Opened.objects.filter(person=person, inspection=inspection).update(at=at):
        # A twin of this page may have been quicker: one row is enough.
        Opened.objects.bulk_create([Opened(person=person, inspection=inspection, at=at)], ignore_conflicts=True)


def opened_today(
    person: Person, attempts: Sequence[Inspection], corridor: Corridor, at: datetime
) -> dict[UUID, datetime]:
    """Return, by attempt, when a person last opened its evidence on the corridor's day of a moment. One query."""
    since = corridor.day_begins(corridor.day(at))
    rows = Opened.objects.filter(person=person, inspection__in=[each.pk for each in attempts], at__gte=since)
    return dict(rows.values_list("inspection", "at"))


def to_release_together(inspection: Inspection, by: Person, at: datetime) -> tuple[list[str], datetime | None]:
    """Return why an attempt may not be released together with others, and when its evidence was opened."""
    point = inspection.hold_point
    why = [f"{point}: {reason}" for reason in reasons([inspection])[inspection.pk]]
    opened = opened_today(by, [inspection], point.foundation.corridor, at).get(inspection.pk)
    if opened is None:
        why.append(f"{point}: you have not opened its evidence today.")
    return why, opened
