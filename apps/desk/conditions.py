"""Conditions of releases: what must still happen, whose it is, how old it is, and the word that it is met."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from apps.corridor.models import Corridor
from apps.desk.forms import MeetForm
from apps.holdpoints import acts, moves
from apps.holdpoints.models import Condition
from apps.record.ids import uuid7
from apps.sheet.acting import acted
from apps.sheet.frame import CorridorRequest, corridor_page, titleblock

LATELY = 20
"""How many of those met are shown."""


@dataclass(frozen=True, slots=True)
class Line:
    """One condition in the list."""

    row: Condition
    late: bool
    form: MeetForm | None


def rows(corridor: Corridor) -> Any:
    """Return the conditions of a corridor with what a line shows of them."""
    found = Condition.objects.filter(decision__inspection__hold_point__corridor=corridor)
    return found.select_related("decision__by", "decision__inspection__hold_point__foundation", "met_by")


@require_GET
@corridor_page("desk")
def conditions(request: CorridorRequest) -> HttpResponse:
    """List what must still happen, the one due first before, and what was met lately."""
    return _draw(request)


@require_http_methods(["POST"])
@corridor_page("desk")
def meet(request: CorridorRequest, key: str) -> HttpResponse:
    """Take the word that a condition is met, and how it shows."""
    row = get_object_or_404(rows(request.corridor), pk=key)
    form = MeetForm(request.POST, auto_id=f"meet_{row.pk}_%s")
    if not form.is_valid():
        return _draw(request, {row.pk: form}, status=422)
    answer = acted(request, form, acts.meet_condition, condition=row, how=form.cleaned_data["how"])
    if answer is None:
        return _draw(request, {row.pk: form}, status=409)
    messages.success(request, f"{row.decision.inspection.hold_point}: the condition is met, entry {answer['entry']}.")
    return redirect("desk:conditions", request.corridor.slug)


def _draw(request: CorridorRequest, tried: dict[object, MeetForm] | None = None, status: int = 200) -> HttpResponse:
    tried, today = tried or {}, request.corridor.day(request.now)
    may = bool(request.roles & moves.CONDITION_ROLES)
    found = list(rows(request.corridor).unmet())
    lines = [_line(each, today, tried.get(each.pk), may=may) for each in found]
    late = sum(each.late for each in lines)
    context = {
        "lines": lines,
        "late": late,
        "refused": [form for key, form in tried.items() if key not in {each.pk for each in found}],
        "met": rows(request.corridor).exclude(met_at=None).order_by("-met_at")[:LATELY],
        "may_meet": may,
        "titleblock": titleblock(request, ("Conditions", f"{len(lines)} open, of which {late} past their day")),
    }
    return render(request, "desk/conditions.html", context, status=status)


def _line(row: Condition, today: date, tried: MeetForm | None, *, may: bool) -> Line:
    form = tried
    if form is None and may:
        form = MeetForm(auto_id=f"meet_{row.pk}_%s", initial={"client_id": uuid7()})
    return Line(row, row.due_on < today, form)
