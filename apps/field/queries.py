"""What the phone's pages need, in a fixed number of queries."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from apps.calc.stages import STAGE_BY_KEY
from apps.corridor.models import Corridor, Crew
from apps.findings.models import Finding
from apps.holdpoints import blockers
from apps.holdpoints.models import Decision, HoldPoint, Inspection
from apps.record.ids import uuid7
from apps.sheet.glyphs import Standing
from apps.sheet.standing import standings


@dataclass(frozen=True, slots=True)
class Line:
    """One hold point in a list of the phone."""

    point: HoldPoint
    standing: Standing
    why: str = ""
    """What stands in the way, empty when nothing does."""
    said: str = ""
    """The engineer's reason, the gate's words, the note."""
    late: bool = False

    @property
    def mark(self) -> str:
        """The foundation's mark."""
        return self.point.foundation.mark

    @property
    def client_id(self) -> UUID:
        """A new id for the act that a button beside this line would do."""
        return uuid7()

    @property
    def order(self) -> str:
        """The work as an order: set base."""
        return STAGE_BY_KEY[self.point.stage].to_do


def _points(corridor: Corridor, *states: str) -> list[HoldPoint]:
    found = HoldPoint.objects.standing().filter(corridor=corridor, state__in=states)
    return list(
        found.select_related("foundation__design", "foundation__crew", "foundation__corridor__edition").order_by(
            "asked_for", "foundation__distance_ft"
        )
    )


def _lines(
    points: list[HoldPoint], at: datetime, until: datetime, said: dict[object, str], promise: timedelta
) -> list[Line]:
    """Put words to hold points: what stands in the way until a moment, and what was said."""
    situations = blockers.situations(points, at)
    drawn = standings([point.foundation for point in points])
    lines = []
    for point in points:
        now = situations[point.pk]
        reasons = blockers.to_build(now, until)
        late = point.asked_for is not None and point.asked_for + promise < at
        words = said.get(point.pk, "") or now.gate.sentence
        lines.append(Line(point, drawn[point.foundation_id], " ".join(reasons), words, late))
    return lines


def _reasons(points: list[HoldPoint]) -> dict[object, str]:
    """Return the engineer's reason for the last return of each hold point."""
    wanted = [point.pk for point in points]
    returns = Decision.objects.filter(kind=Decision.Kind.RETURN, inspection__hold_point__in=wanted).order_by("at")
    return dict(returns.values_list("inspection__hold_point", "reason"))


@dataclass(frozen=True, slots=True)
class Today:
    """The inspector's list: asked for, by time; and what came back."""

    asked: list[Line]
    returned: list[Line]
    near: list[Line]


def inspectors(corridor: Corridor, at: datetime) -> Today:
    """Return what inspectors are asked to look at, the earliest first, and what waits for a new look."""
    points = _points(corridor, "notified", "returned", "reopened")
    promise = timedelta(hours=corridor.inspection_promise_hours)
    lines = _lines(points, at, at, _reasons(points), promise)
    asked = [line for line in lines if line.point.state == "notified"]
    back = [line for line in lines if line.point.state != "notified"]
    return Today(asked, back, [])


@dataclass(frozen=True, slots=True)
class CrewPage:
    """A foreman's page: what came back, what may be built, what notice may be given for."""

    returned: list[Line]
    build: list[Line]
    held: list[Line]
    notified: list[Line]
    corrections: list[Finding]
    ready: dict[str, list[Line]]


def foremans(corridor: Corridor, crew: Crew | None, at: datetime, until: datetime) -> CrewPage:
    """Return a foreman's page; `until` is the end of tomorrow, by when a gate may open. His own crew's foundations come first."""
    points = _points(corridor, "ready", "notified", "returned", "reopened")
    lines = _lines(points, at, until, _reasons(points), timedelta(0))
    own = crew.pk if crew else None
    lines.sort(key=lambda line: line.point.foundation.crew_id != own)
    ready = [line for line in lines if line.point.state in {"ready", "returned", "reopened"}]
    by_stage: dict[str, list[Line]] = {}
    for line in ready:
        by_stage.setdefault(line.point.stage, []).append(line)
    corrections = Finding.objects.filter(corridor=corridor, state=Finding.State.DECIDED).select_related(
        "foundation", "crew"
    )
    return CrewPage(
        returned=[line for line in lines if line.point.state in {"returned", "reopened"}],
        build=[line for line in ready if not line.why and line.point.state == "ready"],
        held=[line for line in ready if line.why],
        notified=[line for line in lines if line.point.state == "notified"],
        corrections=list(corrections.prefetch_related("dispositions").order_by("due_on", "number")),
        ready=by_stage,
    )


def receipt(corridor: Corridor, mark: str, stage: str, attempt: int) -> dict[str, Any] | None:
    """Return what a sent inspection came to: entry, counts, findings, and the next that is asked for."""
    inspection = (
        Inspection.objects.filter(
            hold_point__corridor=corridor, hold_point__foundation__mark=mark, hold_point__stage=stage, attempt=attempt
        )
        .select_related("hold_point__foundation", "inspector")
        .first()
    )
    if inspection is None:
        return None
    findings = Finding.objects.filter(measurements__inspection=inspection).distinct().order_by("number")
    following = HoldPoint.objects.awaiting_inspection().filter(corridor=corridor).select_related("foundation").first()
    return {"inspection": inspection, "findings": list(findings), "following": following}
