"""The day's digest: what waits for a person on each of their corridors, what happened, and the signed head. Read once for everybody."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Count, Q

from apps.corridor.entries import RECEIVERS
from apps.corridor.models import Corridor
from apps.findings.models import Finding
from apps.followups.models import FollowUp
from apps.holdpoints.models import Condition, Decision, HoldPoint
from apps.mailing import due, lines
from apps.mailing.lines import Line
from apps.mailing.readers import Reader, readers
from apps.record import heads
from apps.record.models import Entry

State = HoldPoint.State
SHOWN = 12
"""Lines a corridor; the others are counted, and the page has them."""
AHEAD = timedelta(days=3)
"""A condition stands in the digest so long before its day."""
SPAN = timedelta(days=1)
HAPPENED = {
    "give_notice": ("notice", "notices"),
    "submit_inspection": ("inspection", "inspections"),
    "release": ("release", "releases"),
    "release_with_condition": ("release with a condition", "releases with a condition"),
    "return_inspection": ("return", "returns"),
    "reopen": ("reopening", "reopenings"),
    "raise_finding": ("finding raised", "findings raised"),
    "close_finding": ("finding closed", "findings closed"),
    "add_follow_up": ("follow-up added", "follow-ups added"),
    "abandon": ("foundation abandoned", "foundations abandoned"),
}
"""Act → how the digest counts it; the others are counted together."""


@dataclass(frozen=True, slots=True)
class Standing:
    """How one corridor stands."""

    corridor: Corridor
    points: list[HoldPoint]
    """Notified, inspected, returned, reopened."""
    decisions: Mapping[UUID, Decision]
    """Hold point → the last return."""
    findings: list[Finding]
    conditions: list[Condition]
    follow_ups: list[FollowUp]
    """To do, late or within the days ahead."""
    happened: Mapping[str, int]
    """Act → entries in the last day."""
    head: heads.Kept | None


@dataclass(frozen=True, slots=True)
class Section:
    """One corridor in one person's digest."""

    corridor: Corridor
    waits: list[Line]
    happened: str
    page: str
    """Address of the morning sheet."""
    head: heads.Kept | None
    """Only for those who keep heads."""

    @property
    def shown(self) -> list[Line]:
        """The lines that are written."""
        return self.waits[:SHOWN]

    @property
    def more(self) -> int:
        """How many are counted only."""
        return len(self.waits) - len(self.shown)

    @property
    def late(self) -> int:
        """How many are past what was promised."""
        return sum(line.late for line in self.waits)

    @property
    def head_name(self) -> str:
        """The file name of the head."""
        return f"head-{self.corridor.slug}-{self.head.size}.json" if self.head else ""


def read(at: datetime) -> dict[UUID, Standing]:
    """Return how every corridor stands that has a member to write to: nine queries, however many corridors and people."""
    corridors = {each.pk: each for reader in readers(at).values() for each in reader.corridors}
    if not corridors:
        return {}
    active = (State.NOTIFIED, State.INSPECTED, State.RETURNED, State.REOPENED)
    rows = HoldPoint.objects.standing().filter(corridor__in=corridors, state__in=active).select_related("foundation")
    points = _by(rows.order_by("since", "id"), "corridor_id")
    findings = Finding.objects.unsettled().filter(corridor__in=corridors).select_related("foundation")
    found = _by(findings.order_by("due_on", "number"), "corridor_id")
    conditions: dict[UUID, list[Condition]] = defaultdict(list)
    for each in due.unmet(corridors, at, AHEAD):
        conditions[each.decision.inspection.hold_point.corridor_id].append(each)
    near = due.any_of(Q(corridor=key, due_on__lte=each.day(at + AHEAD)) for key, each in corridors.items())
    follow_ups = _by(FollowUp.objects.to_do().filter(near).select_related("foundation", "finding"), "corridor_id")
    returned = [point.pk for held in points.values() for point in held if point.state == State.RETURNED]
    decisions, happened, kept = last_returns(returned), _happened(corridors, at), heads.newest(corridors)
    return {
        key: Standing(
            each, points[key], decisions, found[key], conditions[key], follow_ups[key], happened[key], kept.get(key)
        )
        for key, each in corridors.items()
    }


def _by(rows: Iterable[Any], name: str) -> "dict[UUID, list[Any]]":
    found: dict[UUID, list[Any]] = defaultdict(list)
    for row in rows:
        found[getattr(row, name)].append(row)
    return found


def last_returns(points: Iterable[UUID]) -> dict[UUID, Decision]:
    """Return the last return of each hold point."""
    rows = Decision.objects.filter(kind=Decision.Kind.RETURN, inspection__hold_point__in=list(points))
    return {row.inspection.hold_point_id: row for row in rows.select_related("by", "inspection").order_by("at")}


def _happened(corridors: Iterable[UUID], at: datetime) -> dict[UUID, dict[str, int]]:
    rows = Entry.objects.filter(log__in=list(corridors), received_at__gt=at - SPAN, received_at__lte=at)
    found: dict[UUID, dict[str, int]] = defaultdict(dict)
    for log, act, number in rows.order_by().values_list("log", "act").annotate(Count("pk")):
        found[log][act] = number
    return found


# ---- one person's


def sections(reader: Reader, standings: Mapping[UUID, Standing], at: datetime) -> list[Section]:
    """Return a person's digest by corridor, without those on which nothing waits for them and nothing happened."""
    found = [_section(reader, standings[each.pk], at) for each in reader.corridors if each.pk in standings]
    return [each for each in found if each.waits or each.happened]


def _section(reader: Reader, standing: Standing, at: datetime) -> Section:
    corridor, roles = standing.corridor, reader.roles(standing.corridor.pk)
    return Section(
        corridor=corridor,
        waits=_waits(reader, standing, at),
        happened=happened_words(standing.happened),
        page=lines.link("board:morning", corridor.slug),
        head=standing.head if roles & RECEIVERS else None,
    )


def _waits(reader: Reader, standing: Standing, at: datetime) -> list[Line]:
    """Return what waits for a person, by all of their roles, of each sort the late and oldest first.

    The office sees what is late, whomever it waits for.
    """
    parts = (
        _points(reader, standing, at), _findings(reader, standing, at), _conditions(reader, standing, at),
        _follow_ups(reader, standing, at),
    )  # fmt: skip
    return [line for part in parts for line in sorted(part, key=lambda line: (not line.late, line.since))]


def _findings(reader: Reader, standing: Standing, at: datetime) -> Iterable[Line]:
    roles = reader.roles(standing.corridor.pk)
    for finding in standing.findings:
        line = lines.finding_line(finding, standing.corridor, at)
        if due.acts_next(reader, finding) or ("office" in roles and line.late):
            yield line


def _conditions(reader: Reader, standing: Standing, at: datetime) -> Iterable[Line]:
    for condition in standing.conditions:
        if due.sees_to(reader, condition):
            yield lines.condition_line(condition, standing.corridor, at)


def _follow_ups(reader: Reader, standing: Standing, at: datetime) -> Iterable[Line]:
    for row in standing.follow_ups:
        if row.owner_id == reader.person.pk:
            yield lines.follow_up_line(row, standing.corridor, at)


def _points(reader: Reader, standing: Standing, at: datetime) -> Iterable[Line]:
    for point in standing.points:
        yield from _point(reader, point, standing, at)


def _point(reader: Reader, point: HoldPoint, standing: Standing, at: datetime) -> Iterable[Line]:
    corridor = standing.corridor
    roles = reader.roles(corridor.pk)
    if point.state == State.INSPECTED:
        line = lines.release_line(point, None, corridor, at)
        if "engineer" in roles or ("office" in roles and line.late):
            yield line
    elif point.state == State.NOTIFIED:
        line = lines.notified_line(point, corridor, at)
        today = point.asked_for is None or corridor.day(point.asked_for) <= corridor.day(at)
        if ("inspector" in roles and today) or ("office" in roles and line.late):
            yield line
    elif "inspector" in roles or reader.leads(corridor.pk, point.foundation.crew_id):
        yield lines.returned_line(point, standing.decisions.get(point.pk), corridor)


def happened_words(happened: Mapping[str, int]) -> str:
    """Say what was entered in the last day: "3 inspections, 2 releases, 5 other entries"."""
    words = [
        f"{happened[act]} {one if happened[act] == 1 else many}"
        for act, (one, many) in HAPPENED.items()
        if happened.get(act)
    ]
    if others := sum(number for act, number in happened.items() if act not in HAPPENED):
        words.append(
            f"{others} other {'entry' if others == 1 else 'entries'}"
            if words
            else f"{others} {'entry' if others == 1 else 'entries'}"
        )
    return ", ".join(words)
