"""Views of the project office: where the corridor stands, foundation by foundation."""

import csv
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from apps.board import queries
from apps.board.filters import FoundationFilter
from apps.board.forms import AbandonForm, ReopenForm
from apps.board.plan import plan
from apps.board.rows import rows
from apps.calc.stages import STAGE_BY_KEY
from apps.calc.stationing import show_station
from apps.corridor import access
from apps.corridor.models import Foundation
from apps.holdpoints import acts, blockers, moves
from apps.holdpoints.models import Decision, HoldPoint
from apps.people.models import Person
from apps.record.acts import Refused
from apps.record.ids import uuid7
from apps.sheet.cells import safe_cell
from apps.sheet.frame import CorridorRequest, corridor_page, titleblock
from apps.sheet.standing import standings

SORTS = {
    "station": lambda row: (row.foundation.distance_ft, row.foundation.mark),
    "mark": lambda row: row.foundation.mark,
    "offset": lambda row: row.foundation.offset_ft,
    "last": lambda row: row.standing.released,
    "age": lambda row: row.since.timestamp() if row.since else float("inf"),
}


@login_required
def home(request: HttpRequest) -> HttpResponse:
    """Go to the one corridor of a person, or list those that they are a member of."""
    assert isinstance(request.user, Person)
    corridors = list(access.visible_to(request.user, timezone.now()))
    if len(corridors) == 1:
        return redirect("board:morning", corridors[0].slug)
    return render(request, "board/home.html", {"corridors": corridors})


@require_GET
@corridor_page("morning")
def morning(request: CorridorRequest) -> HttpResponse:
    """Show the morning sheet."""
    sheet = queries.morning(request.corridor, request.now)
    block = titleblock(
        request,
        ("Foundations", f"{sheet.tally.foundations}, {sheet.tally.abandoned} abandoned"),
        ("Contract date", f"{request.corridor.finishes_on:%-d %b %Y}"),
    )
    return render(request, "board/morning.html", {"sheet": sheet, "titleblock": block})


@require_GET
@corridor_page("corridor")
def corridor(request: CorridorRequest) -> HttpResponse:
    """Show the plan and the list of one filter, or hand the list out as CSV."""
    standing = (
        Foundation.objects.filter(corridor=request.corridor)
        .select_related("design", "crew", "corridor__edition")
        .up_station()
    )
    chosen = FoundationFilter(request.GET or None, queryset=standing, corridor=request.corridor)
    everything = list(standing)
    shown = list(chosen.qs) if chosen.form.is_valid() or not request.GET else []
    found = rows(shown, request.now)
    sort = request.GET.get("sort", "station")
    backwards, key = sort.startswith("-"), sort.lstrip("-")
    if key in SORTS:
        found.sort(key=SORTS[key], reverse=backwards)
    if request.GET.get("format") == "csv":
        return _csv(request, found)
    line = queries.line_of(request.corridor)
    drawn = standings(everything)
    context = {
        "filter": chosen,
        "rows": found,
        "total": len(everything),
        "sort": sort,
        "plan": plan(line, everything, drawn, {each.pk for each in shown}, request.corridor.slug)
        if line and everything
        else "",
        "waiting": sum(row.state == "inspected" for row in found),
        "held": sum(row.held for row in found),
        "titleblock": titleblock(
            request, ("Shown", f"{len(found)} of {len(everything)} foundations"), ("Offsets", "feet from the alignment")
        ),
    }
    return render(request, "board/corridor.html", context)


def _csv(request: CorridorRequest, found: list[Any]) -> HttpResponse:
    """Hand the list out as CSV, text cells safe to open in a spreadsheet."""
    answer = HttpResponse(content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="{request.corridor.slug}-foundations.csv"'
    writer = csv.writer(answer)
    writer.writerow(
        [
            "mark",
            "station",
            "side",
            "offset (ft)",
            "design",
            "last released",
            "next step",
            "what stands in the way",
            "since",
        ]
    )
    for row in found:
        each = row.foundation
        words = [
            each.mark,
            show_station(each.station_ft),
            each.side,
            each.offset_ft,
            each.design.name,
            row.last,
            row.step,
            row.way,
        ]
        writer.writerow([*map(safe_cell, words), row.since.isoformat() if row.since else ""])
    return answer


# ---- one foundation


def _foundation(request: CorridorRequest, mark: str) -> Foundation:
    found = Foundation.objects.select_related(
        "design", "crew", "alignment", "corridor__edition", "replaces", "successor"
    )
    return get_object_or_404(found, corridor=request.corridor, mark=mark)


@require_GET
@corridor_page("corridor")
def foundation(request: CorridorRequest, mark: str) -> HttpResponse:
    """Show one foundation: plan, hold points, what may be done next and what stands in the way."""
    return _draw(request, _foundation(request, mark))


def _draw(request: CorridorRequest, found: Foundation, status: int = 200, **forms: Any) -> HttpResponse:
    """Draw the foundation's page, with a form that was refused and its words."""
    points = list(found.hold_points.order_by("place"))
    for point in points:
        point.foundation = found
    situations = blockers.situations(points, request.now)
    decided = {
        each.inspection.hold_point_id: each
        for each in Decision.objects.filter(inspection__hold_point__foundation=found)
        .select_related("inspection", "by")
        .order_by("at")
    }
    following = next((point for point in points if point.state != "released"), None)
    columns = [(STAGE_BY_KEY[point.stage], point, decided.get(point.pk)) for point in points]
    context = {
        "foundation": found,
        "standing": standings([found])[found.pk],
        "columns": columns,
        "following": following,
        "following_stage": STAGE_BY_KEY[following.stage] if following else None,
        "reasons": blockers.to_build(situations[following.pk], request.now) if following else [],
        "gate": situations[following.pk].gate.sentence if following else "",
        "open_moves": []
        if following is None or found.abandoned_at
        else moves.open_to(following.state, set(request.roles)),
        "may_reopen": bool(request.roles & moves.roles("reopen")) and found.abandoned_at is None,
        "may_abandon": bool(request.roles & moves.ABANDON_ROLES) and found.abandoned_at is None,
        "released": [point for point in points if point.state == HoldPoint.State.RELEASED],
        "findings": list(found.findings.unsettled().order_by("number")),
        "reopen_form": forms.get("reopen") or ReopenForm(points=points, initial={"client_id": uuid7()}),
        "abandon_form": forms.get("abandon") or AbandonForm(initial={"client_id": uuid7()}),
        "titleblock": titleblock(request, ("Foundation", found.mark), ("Design", found.design.name)),
    }
    return render(request, "board/foundation.html", context, status=status)


@require_POST
@corridor_page("corridor")
def reopen(request: CorridorRequest, mark: str, stage: str) -> HttpResponse:
    """Withdraw a release because accepted work was disturbed."""
    found = _foundation(request, mark)
    points = list(found.hold_points.order_by("place"))
    form = ReopenForm(request.POST, points=points)
    if not form.is_valid():
        return _draw(request, found, 422, reopen=form)
    point = next((each for each in points if each.stage == form.cleaned_data["stage"]), None)
    if point is None:
        raise Http404("There is no such stage.")
    client_id: UUID = form.cleaned_data["client_id"]
    try:
        acts.reopen(
            hold_point=point, reason=form.cleaned_data["reason"], by=request.user, at=request.now, client_id=client_id
        )
    except Refused as refusal:
        for reason in refusal.reasons:
            form.add_error(None, reason)
        return _draw(request, found, 409, reopen=form)
    messages.success(request, f"{point.get_stage_display()} of {mark} is reopened; what stands on it fell back.")
    return redirect("board:foundation", request.corridor.slug, mark)


@require_POST
@corridor_page("corridor")
def abandon(request: CorridorRequest, mark: str) -> HttpResponse:
    """Give up a foundation, with or without a successor."""
    found = _foundation(request, mark)
    form = AbandonForm(request.POST)
    if not form.is_valid():
        return _draw(request, found, 422, abandon=form)
    said = form.cleaned_data
    successor = (
        {key: said[key] for key in ("mark", "station", "offset", "depth") if said[key]} if said["mark"] else None
    )
    try:
        acts.abandon(
            foundation=found,
            reason=said["reason"],
            successor=successor,
            by=request.user,
            at=request.now,
            client_id=said["client_id"],
        )
    except Refused as refusal:
        for reason in refusal.reasons:
            form.add_error(None, reason)
        return _draw(request, found, 409, abandon=form)
    messages.success(request, f"{mark} is abandoned; it stays in the record.")
    return redirect("board:foundation", request.corridor.slug, said["mark"] if successor else mark)
