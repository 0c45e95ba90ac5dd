"""Views of the engineer's desk: the queue, the evidence of one attempt, and the decision."""

from datetime import timedelta
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.paginator import Page, Paginator
from django.db.models import QuerySet
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from apps.calc.stages import STAGE_BY_KEY, after
from apps.desk import queries
from apps.desk.evidence import Evidence, evidence
from apps.desk.filters import QueueFilter
from apps.desk.forms import CONDITION, RELEASE, RETURN, TITLES, DecideForm, TogetherForm
from apps.findings.moves import RAISE_ROLES
from apps.holdpoints import acts, clean, moves
from apps.holdpoints.models import Condition, HoldPoint, Inspection
from apps.record.acts import Refused
from apps.record.ids import uuid7
from apps.sheet.frame import CorridorRequest, corridor_page, titleblock

DONE = {RELEASE: "is released", CONDITION: "is released with a condition", RETURN: "is returned"}
PAGE = 25
"""Attempts of the queue shown at once: a morning's."""
FIRST = 6
"""So many of them come with the bare queue; the others with the first one's evidence, or by the link without scripts."""
ASIDE = ("whole", "narrow")
"""What an address says of the page itself and not of what the queue shows."""
TOGETHER = 100
"""Waiting attempts looked through for a release together, the longest waiting."""
UNTIL = timedelta(days=7)
"""How far ahead the day of a condition is proposed."""
TYPED = ("decision", "reason", "condition", "owner", "due_on", "back", "show")


@require_GET
@corridor_page("desk")
def queue(request: CorridorRequest) -> HttpResponse:
    """Show what waits for the engineer, the longest first, with the first one's evidence beside it."""
    if request.htmx and request.htmx.target == "narrowing":
        _, narrowing = _narrowed(request)
        return render(request, "desk/_narrowing.html", narrowing)
    return _draw(request, None)


@require_http_methods(["GET", "HEAD", "POST"])
@corridor_page("desk")
def hold_point(request: CorridorRequest, mark: str, stage: str) -> HttpResponse:
    """Show one hold point's evidence, and take the engineer's decision on it."""
    if stage not in STAGE_BY_KEY:
        raise Http404("There is no such stage.")
    point = get_object_or_404(queries.with_foundation(), corridor=request.corridor, foundation__mark=mark, stage=stage)
    if request.method != "POST":
        return _draw(request, point)
    form = DecideForm(request.POST, request=request, auto_id="decide_%s")
    if not form.is_valid():
        if point.state == HoldPoint.State.INSPECTED:
            return _draw(request, point, form, status=422)
        gone = Refused(
            f"{point} is {point.get_state_display().lower()} since {_when(request, point)}: somebody decided before you."
        )
        return _draw(request, point, form, refusal=gone, status=409)
    said = form.cleaned_data
    try:
        answer = _decide(request, point, form)
    except Refused as refusal:
        point.refresh_from_db(fields=["state", "since", "attempts"])
        return _draw(request, point, form, refusal=refusal, status=409)
    messages.success(request, f"{point} {DONE[said['decision']]}, entry {answer['entry']}.")
    return redirect(_queue_address(request))


def _when(request: CorridorRequest, point: HoldPoint) -> str:
    return f"{point.since.astimezone(request.corridor.zone):%-d %b %H:%M}"


def _queue_address(request: CorridorRequest) -> str:
    """Return the queue, narrowed as it was."""
    return reverse("desk:queue", args=[request.corridor.slug]) + _kept(request)


def _kept(request: CorridorRequest) -> str:
    """Return how the queue is narrowed, as the end of an address."""
    said = request.GET.copy()
    for name in ASIDE:
        said.pop(name, None)
    return f"?{said.urlencode()}" if said else ""


def _decide(request: CorridorRequest, point: HoldPoint, form: DecideForm) -> dict[str, Any]:
    """Do what was decided, through the act of that name."""
    said = form.cleaned_data
    inspection = get_object_or_404(Inspection.objects.filter(hold_point=point), pk=said["inspection"])
    common: dict[str, Any] = {
        "hold_point": point,
        "inspection": inspection,
        "by": request.user,
        "at": request.now,
        "client_id": said["client_id"],
        "signed": form.signed,
    }
    if said["decision"] == RETURN:
        return acts.return_inspection(reason=said["back"], show=said["show"], **common)
    if said["decision"] == CONDITION:
        return acts.release_with_condition(
            condition=said["condition"], owner=said["owner"], due_on=said["due_on"], reason=said["reason"], **common
        )
    return acts.release(reason=said["reason"], **common)


def _draw(
    request: CorridorRequest,
    chosen: HoldPoint | None,
    form: DecideForm | None = None,
    *,
    refusal: Refused | None = None,
    status: int = 200,
) -> HttpResponse:
    """Draw the desk: queue, evidence, decision."""
    rows, narrowing = _narrowed(request)
    promise = timedelta(hours=request.corridor.release_promise_hours)
    total, late = queries.lengths(rows, request.now - promise)
    page = _page(request, rows, total)
    first = chosen is None and "whole" not in request.GET
    waiting = queries.queue(list(page.object_list[:FIRST] if first else page))
    point = chosen or (waiting[0].point if waiting else None)
    # The bare queue brings the frame and the list first; the first one's evidence follows as a request of its own.
    shown = evidence(chosen, request.user, request.now) if chosen is not None else None
    _note_opened(request, shown)
    context = {
        **narrowing,
        "waiting": waiting,
        "desk": reverse("desk:queue", args=[request.corridor.slug]),
        "page": page,
        "more": min(total - page.start_index() + 1, PAGE) - len(waiting) if waiting else 0,
        "first": first,
        "total": total,
        "late": late,
        "follows": chosen is None and point is not None,
        "promise": promise,
        "chosen": point,
        "conditions": None if first and waiting else _unmet(request),
        "may_raise": bool(request.roles & RAISE_ROLES),
        "shown": shown,
        "refusal": refusal,
        **_deciding(request, shown, form, refusal),
        "clean": _clean(request, waiting),
        "titleblock": titleblock(
            request,
            ("Engineer", str(request.user) if request.roles & moves.roles("release") else "reads only"),
            ("Waiting", f"{total}, of which {late} past the promise"),
        ),
    }
    part = request.htmx and request.htmx.target == "evidence" and not request.htmx.history_restore_request
    return render(request, "desk/_part.html" if part and status == 200 else "desk/desk.html", context, status=status)


def _narrowed(request: CorridorRequest) -> tuple[QuerySet[Inspection], dict[str, Any]]:
    """Return what the queue shows, and what the page says of its narrowing. The form is made where it is asked for or in use."""
    rows = queries.awaiting(request.corridor)
    said = {"kept": _kept(request), "filter": None, "narrowed": False}
    if not request.GET.keys() & {*QueueFilter.base_filters, "narrow"}:
        return rows, said
    found = QueueFilter(request.GET, queryset=rows, request=request)
    narrowed = any(found.data.get(name) for name in found.filters)
    return found.qs, said | {"filter": found, "narrowed": narrowed}


def _unmet(request: CorridorRequest) -> int:
    """Count the conditions of releases that are still to be met."""
    return Condition.objects.unmet().filter(decision__inspection__hold_point__corridor=request.corridor).count()


def _page(request: CorridorRequest, found: QuerySet[Inspection], total: int) -> Page[Inspection]:
    """Return the page of the queue that was asked for; its length is known already."""
    pages = Paginator(found, PAGE)
    pages.count = total
    return pages.get_page(request.GET.get("page"))


def _deciding(
    request: CorridorRequest, shown: Evidence | None, tried: DecideForm | None, refusal: Refused | None
) -> dict[str, Any]:
    """Return the form of the decision and what may be chosen in it; none for who may not decide, or where nothing waits."""
    may = bool(request.roles & moves.roles("release"))
    said: dict[str, Any] = {"may_decide": may, "tried": tried, "titles": TITLES, "form": None}
    if shown is None or not may or shown.barred or shown.point.state != HoldPoint.State.INSPECTED:
        return said
    blocked = bool(shown.reasons)
    form = tried
    if form is None or refusal is not None:
        # After a refusal the attempt may be another one, and the words typed are offered again under a new id.
        form = DecideForm(request=request, auto_id="decide_%s", initial=_initial(request, shown, tried))
    form.ask_why(shown.refers)
    picked = form["decision"].value()
    following = after(shown.point.stage)
    return {
        **said,
        "form": form,
        "blocked": blocked,
        "picked": RETURN if blocked or picked not in TITLES else picked,
        "opens": STAGE_BY_KEY[following[0]].title.lower() if following else "",
    }


def _initial(request: CorridorRequest, shown: Evidence, tried: DecideForm | None) -> dict[str, Any]:
    """Return what the form begins with: a proposal, or the words typed before."""
    proposed = {
        "decision": RELEASE,
        "owner": "Contractor",
        "due_on": request.corridor.day(request.now + UNTIL),
        "client_id": uuid7(),
        "inspection": shown.inspection.pk,
    }
    return proposed | ({name: tried[name].value() for name in TYPED} if tried is not None else {})


def _note_opened(request: CorridorRequest, shown: Evidence | None) -> None:
    """Note that an engineer has the evidence of a waiting attempt open: what is released together was opened that day."""
    if shown is not None and shown.point.state == HoldPoint.State.INSPECTED and request.roles & moves.roles("release"):
        clean.note_opened(request.user, shown.inspection, request.now)


# ---- together


def _clean(request: CorridorRequest, waiting: list[queries.Waiting]) -> list[queries.Waiting]:
    """Return the attempts that may be released together by this person."""
    if not request.roles & moves.roles("release"):
        return []
    return [each for each in waiting if each.clean and each.inspection.inspector_id != request.user.pk]


@require_http_methods(["GET", "HEAD", "POST"])
@corridor_page("desk")
def together(request: CorridorRequest) -> HttpResponse:
    """List what may be released together, and release the ticked ones one by one: each its own act, each outcome named."""
    if request.method != "POST":
        return _draw_together(request, TogetherForm(request=request, choices=[], initial={"client_id": uuid7()}))
    asked = {str(each.pk): each for each in _asked(request)}
    form = TogetherForm(request.POST, request=request, choices=[(key, key) for key in asked])
    if not form.is_valid():
        return _draw_together(request, form, status=422)
    for key, client_id in form.each():
        _release_one(request, asked[key], client_id, form.signed)
    return redirect(_queue_address(request))


def _draw_together(request: CorridorRequest, form: TogetherForm, status: int = 200) -> HttpResponse:
    """Draw the list: each with its tightest margin and when it was opened; what stays out, with its reason."""
    waiting = queries.queue(list(queries.awaiting(request.corridor)[:TOGETHER]))
    listed = _clean(request, waiting)
    rows = [each.inspection for each in listed]
    opened = clean.opened_today(request.user, rows, request.corridor, request.now)
    context = {
        "form": form,
        "ticked": form["inspections"].value() or [],
        "listed": [(each, opened.get(each.inspection.pk)) for each in listed],
        "opened": len(opened),
        "out": [each for each in waiting if each not in listed],
        "may_decide": bool(request.roles & moves.roles("release")),
        "promise": timedelta(hours=request.corridor.release_promise_hours),
        "kept": _kept(request),
        "titleblock": titleblock(request, ("Clean", f"{len(listed)} of the {len(waiting)} that wait longest")),
    }
    return render(request, "desk/together.html", context, status=status)


def _asked(request: CorridorRequest) -> list[Inspection]:
    """Return the inspections of this corridor that were ticked; what is no id of one is left out."""
    keys = []
    for text in request.POST.getlist("inspections"):
        try:
            keys.append(UUID(text))
        except ValueError:
            continue
    found = Inspection.objects.filter(pk__in=keys, hold_point__corridor=request.corridor)
    return list(found.select_related("hold_point__foundation").order_by("received_at"))


def _release_one(request: CorridorRequest, inspection: Inspection, client_id: UUID, signed: str) -> None:
    """Release one attempt and say how it went."""
    point = inspection.hold_point
    try:
        answer = acts.release_clean(
            hold_point=point,
            inspection=inspection,
            signed=signed,
            by=request.user,
            at=request.now,
            client_id=client_id,
        )
    except Refused as refusal:
        said = " ".join(reason.removeprefix(f"{point}: ") for reason in refusal.reasons)
        messages.error(request, f"{point}: {said}")
    else:
        messages.success(request, f"{point} is released, entry {answer['entry']}.")
