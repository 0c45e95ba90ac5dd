"""What the phone's pages need, in a fixed number of queries."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Exists, F, OuterRef, Q

from apps.calc.stages import STAGE_BY_KEY, before
from apps.corridor.models import Corridor, Crew
from apps.findings.models import Finding
from apps.holdpoints import blockers
from apps.holdpoints.blockers import Situation
from apps.holdpoints.models import Decision, HoldPoint, Inspection, Notice
from apps.record.ids import uuid7
from apps.sheet.glyphs import Standing
from apps.sheet.standing import standings

State = HoldPoint.State
UNDER_WAY = (State.NOTIFIED, State.INSPECTED, State.RETURNED, State.REOPENED)
ON_REQUEST = (State.READY, State.RETURNED, State.REOPENED)
NAMED = 6
"""Marks that one line of work names; the others are counted."""


@dataclass(frozen=True, slots=True)
class Line:
    """One hold point in a list of the phone."""

    point: HoldPoint
    standing: Standing
    why: tuple[str, ...] = ()
    """What stands in the way, empty when nothing does."""
    said: str = ""
    """The engineer's reason, or the foreman's note."""
    gate: str = ""
    late: bool = False
    findings: tuple[Finding, ...] = ()
    client_id: UUID | None = None
    """For the act that a button beside this line does."""

    @property
    def mark(self) -> str:
        """The foundation's mark."""
        return self.point.foundation.mark

    @property
    def held(self) -> bool:
        """Whether an open finding holds the foundation."""
        return self.standing.held


def _standing_points(corridor: Corridor) -> Any:
    return (
        HoldPoint.objects.standing()
        .filter(corridor=corridor)
        .select_related("foundation__design", "foundation__crew", "foundation__corridor__edition")
        .order_by(F("asked_for").asc(nulls_last=True), "foundation__distance_ft")
    )


def _reasons(points: Iterable[HoldPoint]) -> dict[object, str]:
    """Return the engineer's reason for the last return of each hold point."""
    wanted = [point.pk for point in points if point.state == State.RETURNED]
    returns = Decision.objects.filter(kind=Decision.Kind.RETURN, inspection__hold_point__in=wanted).order_by("at")
    rows = returns.values_list("inspection__hold_point", "reason", "show")
    return {point: f"{reason} Next time: {show}" if show else reason for point, reason, show in rows}


def to_show(point: HoldPoint) -> Decision | None:
    """Return the engineer's word on the last attempt while it is a return: why, and what to show now. One query."""
    last = Decision.objects.filter(inspection__hold_point=point, inspection__attempt=point.attempts)
    return last.filter(kind=Decision.Kind.RETURN).select_related("by").first()


# ---- the inspector's list


@dataclass(frozen=True, slots=True)
class Today:
    """The inspector's list: asked for until tonight, asked for later, and what came back."""

    due: list[Line]
    later: list[Line]
    returned: list[Line]

    @property
    def first(self) -> Line | None:
        """What to go on with: the earliest that nothing stands in the way of."""
        return next((line for line in [*self.due, *self.returned] if not line.why), None)

    @property
    def late(self) -> int:
        """How many are past the promised time."""
        return sum(line.late for line in self.due)


def inspectors(corridor: Corridor, at: datetime) -> Today:
    """Return what inspectors are asked to look at, the earliest first, and what waits for a new look."""
    points = list(_standing_points(corridor).filter(state__in=(State.NOTIFIED, State.RETURNED, State.REOPENED)))
    situations, drawn = blockers.situations(points, at), standings([point.foundation for point in points])
    said = _reasons(points) | _notes(points)
    promise = timedelta(hours=corridor.inspection_promise_hours)
    due: list[Line] = []
    later: list[Line] = []
    returned: list[Line] = []
    for point in points:
        line = Line(
            point,
            drawn[point.foundation_id],
            tuple(blockers.to_inspect(situations[point.pk], at)),
            said.get(point.pk, ""),
            late=point.asked_for is not None and point.asked_for + promise < at,
        )
        if point.asked_for is None:
            returned.append(line)
        else:
            (due if corridor.day(point.asked_for) <= corridor.day(at) else later).append(line)
    return Today(due, later, returned)


def _notes(points: Iterable[HoldPoint]) -> dict[object, str]:
    """Return what the foreman wrote with the standing notice of each hold point."""
    wanted = [point.pk for point in points if point.state == State.NOTIFIED]
    notices = Notice.objects.filter(hold_point__in=wanted, withdrawn_at=None).order_by("given_at")
    return dict(notices.values_list("hold_point", "note"))


# ---- the foreman's page


@dataclass(frozen=True, slots=True)
class Work:
    """What a crew may build: one line for all foundations with the same stage, words and time."""

    stage: str
    said: str
    opens_at: datetime | None
    look: bool
    """The hole is looked at first: that opens a gate, and the crew does not wait for it."""
    lines: list[Line]

    @property
    def order(self) -> str:
        """The work as an order: set base."""
        return STAGE_BY_KEY[self.stage].to_do

    @property
    def named(self) -> list[str]:
        """The marks that the line names."""
        return [line.mark for line in self.lines[:NAMED]]

    @property
    def more(self) -> int:
        """How many it does not name."""
        return max(len(self.lines) - NAMED, 0)


@dataclass(frozen=True, slots=True)
class Correction:
    """A finding whose correction is under way, with what was decided about it."""

    finding: Finding
    decided: str
    late: bool


@dataclass(frozen=True, slots=True)
class CrewPage:
    """A foreman's page: what came back, what may be built, what notice may be given for."""

    returned: list[Line]
    build: list[Work]
    held: list[Line]
    notified: list[Line]
    corrections: list[Correction]
    choices: dict[str, list[Line]]
    """stage → hold points that notice is given for, or not yet."""

    @property
    def may_build(self) -> int:
        """How many foundations may be built."""
        return sum(len(work.lines) for work in self.build)


def foremans(corridor: Corridor, crew: Crew | None, at: datetime, until: datetime, horizon: datetime) -> CrewPage:
    """Return a foreman's page. What may be built is told until `until`, what notice may be given for until `horizon`.

    What is returned, to be built or notified is his own crew's and nobody's; a foreman of no crew sees all.
    """
    points = _crew_points(corridor)
    situations, drawn = blockers.situations(points, at), standings([point.foundation for point in points])
    reasons, findings = _reasons(points), _open_findings(points)
    build: list[tuple[Situation, Line]] = []
    page = CrewPage([], [], [], [], _corrections(corridor, crew, corridor.day(at)), defaultdict(list))
    for point in points:
        now, reason = situations[point.pk], reasons.get(point.pk, "")
        to_build, to_ask = blockers.to_build(now, until), blockers.to_give_notice(now, horizon)
        known = (point, drawn[point.foundation_id])
        line = Line(*known, tuple(to_build), reason, now.gate.sentence, False, findings[point.foundation_id], uuid7())
        if not concerns(point.foundation.crew_id, crew):
            pass
        elif point.state in (State.RETURNED, State.REOPENED):
            page.returned.append(line)
        elif point.state == State.NOTIFIED:
            page.notified.append(line)
        elif point.state == State.READY and to_build and line.held:
            page.held.append(line)
        elif point.state == State.READY and not to_build:
            build.append((now, line))
        if point.state != State.NOTIFIED:
            page.choices[point.stage].append(Line(*known, tuple(to_ask), reason, now.gate.sentence))
    page.build.extend(_grouped(build, at))
    return page


def concerns(crew_id: object, crew: Crew | None) -> bool:
    """Whether work of this crew, or of none yet, is a foreman's of that crew."""
    return crew is None or crew_id in {None, crew.pk}


def _crew_points(corridor: Corridor) -> list[HoldPoint]:
    """Return what a foreman may ask for, has asked for, or may ask for when the stage before is released."""
    earlier = HoldPoint.objects.filter(
        foundation=OuterRef("foundation"), place=OuterRef("place") - 1, state__in=UNDER_WAY
    )
    points = _standing_points(corridor).filter(
        Q(state__in=(*ON_REQUEST, State.NOTIFIED)) | (Q(state=State.NOT_READY) & Exists(earlier))
    )
    return list(points)


def _open_findings(points: Iterable[HoldPoint]) -> dict[object, tuple[Finding, ...]]:
    """Return the open findings of the foundations that came back."""
    wanted = [point.foundation_id for point in points if point.state in (State.RETURNED, State.REOPENED)]
    found: dict[object, tuple[Finding, ...]] = defaultdict(tuple)
    for finding in Finding.objects.unsettled().filter(foundation__in=wanted).order_by("number"):
        found[finding.foundation_id] += (finding,)
    return found


def _corrections(corridor: Corridor, crew: Crew | None, today: date) -> list[Correction]:
    """Return the findings of a crew with something to correct, by the promised day."""
    decided = Finding.objects.filter(corridor=corridor, state=Finding.State.DECIDED)
    rows = decided.select_related("foundation").prefetch_related("dispositions").order_by("due_on", "number")
    found = []
    for finding in rows:
        last = list(finding.dispositions.all())[-1:]
        if concerns(finding.crew_id, crew) and not (last and last[0].leaves_it):
            found.append(Correction(finding, str(last[0]) if last else "", finding.due_on < today))
    return found


def _grouped(build: Iterable[tuple[Situation, Line]], at: datetime) -> list[Work]:
    """Put foundations with the same stage, words and time into one line; what may be done now stands first."""
    groups: dict[tuple[str, str, datetime | None, bool], list[Line]] = defaultdict(list)
    for now, line in build:
        earlier = before(line.point.stage)
        said = now.gate.sentence or (f"{STAGE_BY_KEY[earlier].title} is released." if earlier else "Plans in hand.")
        opens = now.gate.opens_at if now.gate.opens_at is not None and now.gate.opens_at > at else None
        look = any(part.renewable and not part.is_open for part in now.gate.parts)
        groups[line.point.stage, said, opens, look].append(line)
    works = [Work(*key, lines) for key, lines in groups.items()]
    return sorted(works, key=lambda work: (work.opens_at or at, -work.lines[0].point.place))


def working_days(corridor: Corridor, first: date, ahead: int) -> list[date]:
    """Return the working days from a day on, over so many days."""
    return [day for day in (first + timedelta(days=each) for each in range(ahead)) if corridor.works_on(day)]


# ---- after sending


def last_attempt(point: HoldPoint) -> Inspection | None:
    """Return what was last sent for a hold point."""
    return point.inspections.select_related("inspector").last()


def receipt(corridor: Corridor, mark: str, stage: str, attempt: int) -> dict[str, Any] | None:
    """Return what a sent inspection came to: entry, counts, findings, and the next that is asked for."""
    inspection = (
        Inspection.objects.filter(
            hold_point__corridor=corridor, hold_point__foundation__mark=mark, hold_point__stage=stage, attempt=attempt
        )
        .select_related("hold_point__foundation__design", "inspector")
        .first()
    )
    if inspection is None:
        return None
    findings = Finding.objects.filter(measurements__inspection=inspection).distinct().order_by("number")
    following = HoldPoint.objects.awaiting_inspection().filter(corridor=corridor).select_related("foundation").first()
    foundation = inspection.hold_point.foundation
    return {
        "inspection": inspection,
        "photos": inspection.photos.count(),
        "findings": list(findings),
        "following": following,
        "standing": standings([foundation])[foundation.pk],
    }
