"""Views of the engineer's desk: the queue, the evidence of one attempt, and the decision."""

from datetime import timedelta
from typing import Any
from uuid import uuid5

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_POST

from apps.calc.stages import STAGE_BY_KEY
from apps.desk import queries
from apps.desk.filters import QueueFilter
from apps.desk.forms import CONDITION, RETURN, TITLES, DecideForm, TogetherForm
from apps.holdpoints import acts, moves
from apps.holdpoints.models import HoldPoint, Inspection
from apps.record.acts import Refused
from apps.record.ids import uuid7
from apps.sheet.frame import CorridorRequest, corridor_page, titleblock


@require_GET
@corridor_page("desk")
def queue(request: CorridorRequest) -> HttpResponse:
    """Show what waits for the engineer, the longest first, with the first one's evidence beside it."""
    return _draw(request, None)


@corridor_page("desk")
def hold_point(request: CorridorRequest, mark: str, stage: str) -> HttpResponse:
    """Show one hold point's evidence, and take the engineer's decision on it."""
    if stage not in STAGE_BY_KEY:
        raise Http404("There is no such stage.")
    found = HoldPoint.objects.select_related("foundation__design", "foundation__crew", "foundation__corridor__edition")
    point = get_object_or_404(found, corridor=request.corridor, foundation__mark=mark, stage=stage)
    if request.method != "POST":
        return _draw(request, point)
    form = DecideForm(request.POST, person=request.user)
    if not form.is_valid():
        return _draw(request, point, form, status=422)
    try:
        _decide(request, point, form.cleaned_data)
    except Refused as refusal:
        for reason in refusal.reasons:
            form.add_error(None, reason)
        point.refresh_from_db()
        return _draw(request, point, form, status=409)
    said = {RETURN: "is returned", CONDITION: "is released with a condition"}.get(
        form.cleaned_data["decision"], "is released"
    )
    messages.success(request, f"{mark}, {STAGE_BY_KEY[stage].title.lower()} {said}.")
    return redirect("desk:queue", request.corridor.slug)


def _decide(request: CorridorRequest, point: HoldPoint, said: dict[str, Any]) -> None:
    """Do what was decided, through the act of that name."""
    inspection = get_object_or_404(Inspection, pk=said["inspection"], hold_point=point)
    common: dict[str, Any] = {
        "hold_point": point,
        "inspection": inspection,
        "by": request.user,
        "at": request.now,
        "client_id": said["client_id"],
    }
    if said["decision"] == RETURN:
        acts.return_inspection(reason=said["back"], **common)
    elif said["decision"] == CONDITION:
        acts.release_with_condition(
            condition=said["condition"], owner=said["owner"], due_on=said["due_on"], reason=said["reason"], **common
        )
    else:
        acts.release(reason=said["reason"], **common)


def _draw(
    request: CorridorRequest,
    chosen: HoldPoint | None,
    form: DecideForm | None = None,
    together: TogetherForm | None = None,
    status: int = 200,
) -> HttpResponse:
    """Draw the desk: queue, evidence, decision."""
    everything = queries.awaiting(request.corridor)
    narrowed = QueueFilter(request.GET or None, queryset=everything, corridor=request.corridor)
    waiting = queries.queue(list(narrowed.qs))
    point = chosen or (waiting[0].point if waiting else None)
    shown = queries.evidence(point, request.user, request.now) if point is not None else None
    may_decide = bool(request.roles & moves.roles("release"))
    if form is None and shown is not None:
        form = DecideForm(
            person=request.user,
            initial={
                "client_id": uuid7(),
                "inspection": shown.inspection.pk,
                "owner": "Contractor",
                "decision": "release",
            },
        )
    clean = [each for each in waiting if each.clean and each.inspection.inspector_id != request.user.pk]
    context = {
        "filter": narrowed,
        "waiting": waiting,
        "shown": shown,
        "form": form,
        "titles": TITLES,
        "chosen_decision": form["decision"].value() if form else "release",
        "may_decide": may_decide,
        "decidable": may_decide and shown is not None and shown.point.state == "inspected",
        "clean": clean,
        "promise": timedelta(hours=request.corridor.release_promise_hours),
        "together": together
        or TogetherForm(person=request.user, choices=_choices(clean), initial={"client_id": uuid7()}),
        "titleblock": titleblock(
            request, ("Waiting", f"{len(waiting)}"), ("Engineer", str(request.user) if may_decide else "read only")
        ),
    }
    template = "desk/_evidence.html" if request.htmx and status == 200 and chosen is not None else "desk/desk.html"
    return render(request, template, context, status=status)


def _choices(clean: list[queries.Waiting]) -> list[tuple[str, str]]:
    return [(str(each.inspection.pk), f"{each.point}") for each in clean]


@require_POST
@corridor_page("desk")
def together(request: CorridorRequest) -> HttpResponse:
    """Release the ticked clean attempts one by one: each its own act, each refusal named."""
    waiting = queries.queue(list(queries.awaiting(request.corridor)))
    clean = {str(each.inspection.pk): each for each in waiting if each.clean}
    form = TogetherForm(request.POST, person=request.user, choices=_choices(list(clean.values())))
    if not form.is_valid():
        return _draw(request, None, together=form, status=422)
    released = []
    for key in form.cleaned_data["inspections"]:
        each = clean[key]
        try:
            acts.release(
                hold_point=each.point,
                inspection=each.inspection,
                by=request.user,
                at=request.now,
                client_id=uuid5(form.cleaned_data["client_id"], key),
            )
            released.append(str(each.point))
        except Refused as refusal:
            messages.error(request, f"{each.point}: {' '.join(refusal.reasons)}")
    if released:
        messages.success(request, f"Released, each with its own entry: {'; '.join(released)}.")
    return redirect("desk:queue", request.corridor.slug)
