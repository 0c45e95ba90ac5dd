"""One line of a mail for one thing: what it is, how it stands, its address. Digest and single mails write the same lines."""

from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import Any

from django.conf import settings
from django.urls import reverse

from apps.corridor.models import Corridor
from apps.findings.models import Finding
from apps.followups.models import FollowUp
from apps.holdpoints.models import Condition, Decision, HoldPoint, Inspection


@dataclass(frozen=True, slots=True)
class Line:
    """One thing in a mail."""

    name: str
    """What it is, short enough for a subject: LP-047 drill."""
    words: str
    url: str
    since: datetime
    late: bool = False


def link(name: str, *arguments: Any) -> str:
    """Return the whole address of a page, as a mail needs it."""
    return f"{settings.SITE_ADDRESS}{reverse(name, args=arguments)}"


def span_words(span: timedelta) -> str:
    """Write a span in its largest whole unit: 35 min, 23 h, 3 d."""
    minutes = max(int(span.total_seconds()) // 60, 0)
    if minutes < 60:
        return f"{minutes} min"
    return f"{minutes // 60} h" if minutes < 48 * 60 else f"{minutes // (24 * 60)} d"


def local(at: datetime, corridor: Corridor) -> str:
    """Write a moment in the corridor's time."""
    return f"{at.astimezone(corridor.zone):%a %-d %b %H:%M}"


def _name(point: HoldPoint) -> str:
    return f"{point.foundation.mark} {point.get_stage_display().lower()}"


def release_line(point: HoldPoint, inspection: Inspection | None, corridor: Corridor, at: datetime) -> Line:
    """Say that a hold point waits for its release, since when, against the promise."""
    promise = timedelta(hours=corridor.release_promise_hours)
    waited = at - point.since
    said = f"waits for release since {local(point.since, corridor)}"
    late = waited > promise
    if late:
        said += f", {span_words(waited - promise)} over the promised {span_words(promise)}"
    if inspection is not None:
        said += f". Attempt {inspection.attempt} by {inspection.inspector}: {_outcomes(inspection)}"
    url = link("desk:hold_point", corridor.slug, point.foundation.mark, point.stage)
    return Line(_name(point), f"{_name(point)}: {said}", url, point.since, late)


def _outcomes(inspection: Inspection) -> str:
    words = [
        f"{inspection.count(outcome)} {said}"
        for outcome, said in (
            ("conforms", "conform"),
            ("refer", "refer to the engineer"),
            ("nonconforming", "nonconforming"),
            ("not_measured", "not measured"),
        )
        if inspection.count(outcome)
    ]
    return ", ".join(words)


def notified_line(point: HoldPoint, corridor: Corridor, at: datetime) -> Line:
    """Say that the inspector is asked for, and for when."""
    asked = point.asked_for or point.since
    late = asked + timedelta(hours=corridor.inspection_promise_hours) < at
    url = link("field:inspection", corridor.slug, point.foundation.mark, point.stage)
    said = f"inspection asked for {local(asked, corridor)}{', past the promised time' if late else ''}"
    return Line(_name(point), f"{_name(point)}: {said}", url, asked, late)


def returned_line(point: HoldPoint, decision: Decision | None, corridor: Corridor) -> Line:
    """Say that an attempt came back, and why."""
    word = "reopened" if point.state == HoldPoint.State.REOPENED else "returned"
    said = f"{word} {local(point.since, corridor)}"
    if decision is not None and decision.kind == Decision.Kind.RETURN:
        said += f" by {decision.by}: {decision.reason}"
    url = link("board:foundation", corridor.slug, point.foundation.mark)
    return Line(_name(point), f"{_name(point)}: {said}", url, point.since)


def finding_line(finding: Finding, corridor: Corridor, at: datetime) -> Line:
    """Say what a finding is, how it stands and by when it is promised."""
    late = finding.due_on < corridor.day(at)
    name = f"{finding.name} {finding.foundation.mark}"
    due = f"{'was ' if late else ''}due {finding.due_on:%-d %b}"
    said = f"{finding.grade}, {finding.title}. {finding.get_state_display()}, {due}"
    return Line(name, f"{name}: {said}", link("desk:finding", corridor.slug, finding.number), finding.since, late)


def follow_up_line(row: FollowUp, corridor: Corridor, at: datetime) -> Line:
    """Say what somebody is to do, about what and by when."""
    late = row.due_on < corridor.day(at)
    about = row.finding.name if row.finding else row.foundation.mark if row.foundation else ""
    due = f"{'was ' if late else ''}due {row.due_on:%-d %b}"
    words = f"{row.name}{f', {about}' if about else ''}: {row.text}, {due}"
    return Line(
        row.name, words, f"{link('board:follow_ups', corridor.slug)}#follow-up-{row.number}", row.added_at, late
    )


def condition_line(condition: Condition, corridor: Corridor, at: datetime) -> Line:
    """Say what must still happen after a release, who sees to it and by when."""
    point = condition.decision.inspection.hold_point
    late = condition.due_on < corridor.day(at)
    due = f"{'was ' if late else ''}due {condition.due_on:%-d %b}"
    name = f"{_name(point)}, condition"
    since = datetime.combine(condition.due_on, time(), tzinfo=corridor.zone)
    words = f"{name}: {condition.text}. {condition.owner} sees to it, {due}"
    return Line(name, words, link("board:foundation", corridor.slug, point.foundation.mark), since, late)
