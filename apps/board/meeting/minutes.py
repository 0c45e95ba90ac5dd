"""Minutes: what was entered from one working morning to the next, read from the record, and what is still to do."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django import forms
from django.db.models import Count
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_GET

from apps.board.done import SpanForm
from apps.board.meeting.followups import rows
from apps.board.queries import last_working_day
from apps.corridor.models import Corridor
from apps.record.models import Entry
from apps.sheet import wording
from apps.sheet.frame import CorridorRequest, corridor_page, titleblock

SHOWN = 60
"""Lines of one part; the others are counted."""

PARTS: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    ("Follow-ups", "none was added or ended", (
        "add_follow_up", "finish_follow_up", "drop_follow_up", "postpone_follow_up",
    )),
    ("Released", "nothing was released", ("release", "release_with_condition", "meet_condition")),
    ("Returned, reopened, given up", "nothing came back", ("return_inspection", "reopen", "abandon")),
    ("Findings", "none was raised or moved", (
        "raise_finding", "decide_disposition", "answer_finding", "verify_finding", "refuse_correction", "close_finding",
        "reopen_finding",
    )),
    ("Concrete", "no load, no break", ("add_load", "add_break")),
    ("Plans and requirements", "nothing changed", (
        "bring_in_foundation", "put_in_force", "add_alignment", "change_alignment", "add_design", "change_design",
        "open_corridor", "change_settings",
    )),
)  # fmt: skip
"""Title, what is said where nothing was entered, acts: the order in which a meeting goes through them."""


def _calendar() -> forms.DateInput:
    return forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")


class DaysForm(SpanForm):
    """Which days the minutes cover, both counted in."""

    first = forms.DateField(label="From", widget=_calendar())
    last = forms.DateField(label="to", widget=_calendar())


@dataclass(frozen=True, slots=True)
class Said:
    """One entry in words."""

    entry: Entry
    mark: str
    words: str
    url: str
    """The follow-up or the finding that it is about; empty where the foundation says it all."""


@dataclass(frozen=True, slots=True)
class Part:
    """One part of the minutes."""

    title: str
    nothing: str
    number: int
    lines: list[Said]

    @property
    def more(self) -> int:
        """How many are counted only."""
        return self.number - len(self.lines)


def _said(entry: Entry, corridor: Corridor) -> Said:
    mark = wording.MARKS.get(entry.act, "released")
    return Said(entry, mark, wording.sentence(entry), _row_of(entry, corridor))


def _row_of(entry: Entry, corridor: Corridor) -> str:
    """Return the address of the row that an entry moved."""
    if number := entry.payload.get("follow_up"):
        return f"{reverse('board:follow_ups', args=[corridor.slug])}#follow-up-{number}"
    if entry.subject.startswith("F-"):
        return reverse("desk:finding", args=[corridor.slug, int(entry.subject.removeprefix("F-"))])
    return ""


def _part(title: str, nothing: str, acts: Iterable[str], corridor: Corridor, first: date, last: date) -> Part:
    rows_ = Entry.objects.of_log(corridor.pk).filter(
        act__in=list(acts),
        received_at__gte=corridor.day_begins(first),
        received_at__lte=corridor.day_ends(last),
    )
    found = list(rows_.order_by("sequence")[: SHOWN + 1])
    number = rows_.count() if len(found) > SHOWN else len(found)
    lines = [_said(entry, corridor) for entry in found[:SHOWN]]
    return Part(title, nothing, number, lines)


@require_GET
@corridor_page("morning")
def minutes(request: CorridorRequest) -> HttpResponse:
    """Show the minutes since the last working morning, or of the days that are asked for."""
    corridor, today = request.corridor, request.corridor.day(request.now)
    proposed = {"first": last_working_day(corridor, today).isoformat(), "last": today.isoformat()}
    form = DaysForm(request.GET if "first" in request.GET else proposed)
    first, last = (form.cleaned_data["first"], form.cleaned_data["last"]) if form.is_valid() else (today, today)
    parts = [_part(*part, corridor, first, last) for part in PARTS]
    acts = dict(
        Entry.objects.of_log(corridor.pk)
        .filter(received_at__gte=corridor.day_begins(first), received_at__lte=corridor.day_ends(last))
        .order_by().values_list("act").annotate(Count("pk"))
    )  # fmt: skip
    to_do, by = list(rows(corridor).to_do_at(corridor.day_ends(last)).filter(due_on__lte=last)), min(last, today)
    context = {
        "form": form,
        "first": first,
        "last": last,
        "parts": parts,
        "to_do": [(row, row.due_on < by) for row in to_do],
        "inspections": acts.get("submit_inspection", 0),
        "notices": acts.get("give_notice", 0),
        "entries": sum(acts.values()),
        "titleblock": titleblock(request, ("Minutes", f"{first:%-d %b} to {last:%-d %b %Y}")),
    }
    return render(request, "board/meeting/minutes.html", context)
