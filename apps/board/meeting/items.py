"""What is flagged this morning, one thing at a time: the worst first, each with where it is, how long, and whose turn it is."""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from typing import NamedTuple

from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET

from apps.board import queries
from apps.board.meeting.followups import add_form, rows
from apps.board.waits import Waiting
from apps.corridor.models import Corridor, Foundation
from apps.findings import turn
from apps.findings.models import Finding
from apps.followups.models import FollowUp
from apps.materials.models import Instrument
from apps.sheet.frame import CorridorRequest, corridor_page, titleblock

_TURNS = {turn.ENGINEER: "the engineer", turn.CONTRACTOR: "the contractor", turn.INSPECTOR: "the inspectors"}


class Item(NamedTuple):
    """One flagged thing."""

    kind: str
    mark: str
    """The state's mark beside it."""
    title: str
    words: str
    turn: str
    """Whose turn it is; empty where it is nobody's yet."""
    url: str
    since: datetime | None = None
    promised: timedelta | None = None
    about: str = ""
    """Mark or finding that a follow-up of it would be about."""
    foundation: Foundation | None = None


def items(sheet: queries.Morning, corridor: Corridor, at: datetime) -> list[Item]:
    """Return what is flagged: what holds work, what is late, what drifts. Two queries besides the sheet's own."""
    engineer, decide, inspectors, verify, _, correct = sheet.parties
    return [
        *_holding(sheet, corridor),
        *_late(engineer.items, "A release is late", "inspected", "the engineer", at),
        *_late(inspectors.items, "An inspection is late", "notified", "the inspectors", at),
        *_late(decide.items, "A finding waits too long", "finding", "the engineer", at),
        *_late(verify.items, "A correction waits to be verified", "finding", "the inspectors", at),
        *_late(correct.items, "A correction is late", "finding", "the contractor", at),
        *_follow_ups(corridor, at),
        *_drifting(sheet, corridor),
        *_instruments(corridor, at),
    ]


def _holding(sheet: queries.Morning, corridor: Corridor) -> Iterator[Item]:
    # Critical before major; within a grade the oldest first, as they come.
    for finding, row in sorted(sheet.all_holding, key=lambda held: held[0].grade != Finding.Grade.CRITICAL):
        yield Item(
            kind=f"A {finding.grade} finding holds work",
            mark="held",
            title=f"{finding.name} at {row.foundation.mark}",
            words=finding.title,
            turn=_TURNS[turn.mover(finding.state, finding.decided or "")],  # type: ignore[attr-defined]
            url=reverse("desk:finding", args=[corridor.slug, finding.number]),
            since=finding.raised_at,
            promised=row.way.promised if row.way.finding == finding else None,
            about=finding.name,
            foundation=row.foundation,
        )


def _late(waiting: Sequence[Waiting], kind: str, mark: str, whose: str, at: datetime) -> Iterator[Item]:
    for each in waiting:
        # What holds work stands above already.
        if each.late(at) and not each.holds:
            yield Item(kind, mark, each.name, "", whose, each.url, each.since, each.promised, each.about)


def _follow_ups(corridor: Corridor, at: datetime) -> Iterator[Item]:
    late: list[FollowUp] = list(rows(corridor).late(corridor.day(at)))
    for row in late:
        due = corridor.day_ends(row.due_on)
        about = row.finding.name if row.finding else row.foundation.mark if row.foundation else ""
        address = reverse("board:follow_ups", args=[corridor.slug])
        yield Item(
            "A follow-up is late", "late", row.name, row.text, str(row.owner), f"{address}#follow-up-{row.number}",
            row.added_at, due - row.added_at, about, row.foundation,
        )  # fmt: skip


def _drifting(sheet: queries.Morning, corridor: Corridor) -> Iterator[Item]:
    for each in sheet.trends.warned:
        yield Item(
            kind="A margin shrinks",
            mark="late",
            title=f"{each.stage}: {each.title}",
            words=f"{each.sentence} Seen at {', '.join(each.marks[-6:])}.",
            turn=each.series.crew,
            url=f"{reverse('board:charts', args=[corridor.slug])}#trends",
        )


def _instruments(corridor: Corridor, at: datetime) -> Iterator[Item]:
    for each in Instrument.objects.filter(corridor=corridor, needs_calibration=True).order_by("name"):
        if each.in_calibration(corridor.day(at)):
            continue
        until = f"Calibrated until {each.calibrated_until:%-d %b %Y}" if each.calibrated_until else "Never calibrated"
        yield Item(
            kind="An instrument is past its calibration",
            mark="late",
            title=str(each),
            words=f"{until}: readings with it refer to the engineer.",
            turn="the project office",
            url=reverse("setup:materials", args=[corridor.slug]),
        )


@require_GET
@corridor_page("morning")
def item(request: CorridorRequest, number: int) -> HttpResponse:
    """Show one flagged thing, large, with the way to the one before and the next, and a follow-up to give."""
    found = items(queries.morning(request.corridor, request.now), request.corridor, request.now)
    if number < 1:
        raise Http404("The first is number 1.")
    if number > max(len(found), 1):  # something was settled while somebody stepped: the last one that is left
        return redirect("board:item", request.corridor.slug, max(len(found), 1))
    here = found[number - 1] if found else None
    context = {
        "item": here,
        "number": number,
        "count": len(found),
        "before": number - 1,
        "after": number + 1 if number < len(found) else 0,
        "found": found,
        "add": add_form(request, here.about) if here else None,
        "titleblock": titleblock(request, ("Flagged", f"{number} of {len(found)}" if found else "nothing")),
    }
    return render(request, "board/meeting/item.html", context)
