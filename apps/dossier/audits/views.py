"""Views of audits: the list, drawing, one audit with its result, one drawn hold point with its questions, paper and frame."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from apps.audits import acts
from apps.audits.frame import frame
from apps.audits.models import Audit
from apps.audits.planning import Planned, planned
from apps.audits.standing import Judged, standing
from apps.calc.decision import ticket
from apps.calc.errors import CalcError
from apps.dossier.audits import queries
from apps.dossier.audits.forms import AnswersForm, CloseForm, DrawForm, offered
from apps.dossier.forms import BundleForm
from apps.record.acts import Refused
from apps.record.ids import uuid7
from apps.sheet.acting import acted
from apps.sheet.cells import csv_answer
from apps.sheet.frame import CorridorRequest, corridor_page, titleblock
from apps.sheet.pdf import on_paper, pdf

CURVE_PT = 250
"""How wide the curve is on paper, in points: half the text."""


def _reader(request: CorridorRequest) -> None:
    """Let only those read audits who may."""
    if not request.roles & acts.READERS:
        raise PermissionDenied("Audits are read by the auditor, the resident engineer and the project office.")


def may_audit(request: CorridorRequest) -> bool:
    """Say whether this person draws and answers here; the acts ask again."""
    return bool(request.roles & acts.AUDITORS)


def _audit(request: CorridorRequest, number: int) -> Audit:
    _reader(request)
    rows = Audit.objects.select_related("corridor", "drawn_by", "closed_by")
    return get_object_or_404(rows, corridor=request.corridor, number=number)


@require_GET
@corridor_page("record")
def listed(request: CorridorRequest) -> HttpResponse:
    """List every audit of the corridor."""
    _reader(request)
    found = queries.listed(request.corridor)
    context = {
        "audits": found,
        "open": sum(each.audit.is_open for each in found),
        "may_audit": may_audit(request),
        "titleblock": titleblock(request, ("Audits", f"{len(found)}")),
    }
    return render(request, "dossier/audits/list.html", context)


# ---- drawing


@require_http_methods(["GET", "POST"])
@corridor_page("record")
def draw(request: CorridorRequest) -> HttpResponse:
    """Say what a plan would do before anything is drawn; draw on the auditor's word."""
    _reader(request)
    if request.method == "GET":
        form = DrawForm(_typed(request), only_plan=True)
        return _draw_form(request, form, 200)
    if "look" in request.POST:
        return _draw_form(request, DrawForm(request.POST, only_plan=True), 200)
    form = DrawForm(request.POST)
    if form.is_valid():
        said = form.cleaned_data
        given = {"corridor": request.corridor, "lot": form.lot, "plan": form.asked}
        given |= {name: said[name] for name in ("title", "strata", "seed")}
        if answer := acted(request, form, acts.draw_audit, **given):
            messages.success(request, f"{answer['drawn']} hold points are drawn, entry {answer['entry']}.")
            return redirect("dossier:audit", request.corridor.slug, answer["audit"])
    return _draw_form(request, form, 422)


def _typed(request: CorridorRequest) -> Any:
    """Return what the address holds, filled up with what the form begins with."""
    typed = request.GET.copy()
    begun = bool(typed)
    for name, value in offered().items():
        if name == "stages":
            if not begun:
                typed.setlist(name, value)
        elif not typed.get(name):
            typed[name] = value
    return typed


def _draw_form(request: CorridorRequest, form: DrawForm, status: int) -> HttpResponse:
    made, why_not = _plan(request, form)
    context = {
        "form": form,
        "made": made,
        "why_not": why_not,
        "lot": form.lot.words if made else "",
        "curve": queries.curve_of(made, float(form.asked.limiting_percent) / 100) if made else None,
        "may_audit": may_audit(request),
        "titleblock": titleblock(request, ("Lot", f"{made.lot} hold points" if made else "none yet")),
    }
    if request.htmx:
        return render(request, "dossier/audits/_plan.html", context)
    return render(request, "dossier/audits/draw.html", context, status=status)


def _plan(request: CorridorRequest, form: DrawForm) -> tuple[Planned | None, str]:
    """Return the plan for what is typed, or why there is none."""
    needed = {
        "stages",
        "since",
        "until",
        "strata",
        "plan",
        "limit_percent",
        "limiting_percent",
        "level",
        "producer",
        "consumer",
    }
    if not form.is_bound or set(form.errors) & needed:
        return None, "Look again at what is marked in the form."
    framed = frame(request.corridor, form.lot, form.cleaned_data["strata"])
    try:
        return planned({name: len(items) for name, items in framed.strata.items()}, form.asked), ""
    except CalcError as fault:
        return None, f"{fault.message[:1].upper()}{fault.message[1:]}."


# ---- one audit


@require_GET
@corridor_page("record")
def audit(request: CorridorRequest, number: int) -> HttpResponse:
    """Show one audit: result, plan, what was drawn, how to draw it again."""
    return _show(request, _audit(request, number), CloseForm(request=request, initial={"client_id": uuid7()}), 200)


def _show(request: CorridorRequest, found: Audit, form: CloseForm, status: int) -> HttpResponse:
    shown = queries.shown(found)
    context = {
        "shown": shown,
        "audit": found,
        "stands": shown.standing,
        "form": form,
        "may_audit": may_audit(request),
        "bundle": BundleForm(initial={"client_id": uuid7()}),
        "titleblock": titleblock(
            request, ("Audit", found.name), ("Entry", f"{found.closed_entry or found.drawn_entry}")
        ),
    }
    return render(request, "dossier/audits/audit.html", context, status=status)


@require_POST
@corridor_page("record")
def close(request: CorridorRequest, number: int) -> HttpResponse:
    """Close an audit with its result."""
    found = _audit(request, number)
    form = CloseForm(request.POST, request=request)
    if not form.is_valid():
        return _show(request, found, form, 422)
    given = {"audit": found, "remarks": form.cleaned_data["remarks"], "signed": form.signed}
    answer = acted(request, form, acts.close_audit, **given)
    if answer is None:
        return _show(request, found, form, 409)
    messages.success(request, f"{found.name} is closed, entry {answer['entry']}.")
    return redirect("dossier:audit", request.corridor.slug, number)


@require_GET
@corridor_page("record")
def paper(request: CorridorRequest, number: int) -> HttpResponse:
    """Hand out an audit as a PDF, closed or under way."""
    found = _audit(request, number)
    shown = queries.shown(found)
    context = {
        "corridor": request.corridor,
        "shown": shown,
        "audit": found,
        "stands": shown.standing,
        "curve": on_paper(shown.curve.svg, CURVE_PT),
        "now": request.now,
        "by": request.user,
    }
    size = "A4" if request.GET.get("size") == "A4" else "letter"
    answer = HttpResponse(
        pdf("dossier/audits/paper.html", context, at=request.now, size=size), content_type="application/pdf"
    )
    answer["Content-Disposition"] = f'inline; filename="{request.corridor.slug}-audit-{number}.pdf"'
    return answer


@require_GET
@corridor_page("record")
def framed(request: CorridorRequest, number: int) -> HttpResponse:
    """Hand out the frame with every ticket, in the order of the draw: what is needed to draw again elsewhere."""
    found = _audit(request, number)
    places = dict(found.drawn.values_list("item", "place"))
    rows = [
        (stratum, item, ticket(found.seed, item), places.get(item, ""))
        for stratum, items in found.by_stratum.items()
        for item in sorted(items, key=lambda item: (ticket(found.seed, item), item))
    ]
    name = f"{request.corridor.slug}-audit-{number}-frame"
    return csv_answer(name, ("stratum", "hold point", "SHA-256 of seed:hold point", "drawn as"), rows)


# ---- one drawn hold point


@require_http_methods(["GET", "POST"])
@corridor_page("record")
def drawn(request: CorridorRequest, number: int, place: int) -> HttpResponse:
    """Show one drawn hold point with what is on file and its questions; keep answers."""
    found = _audit(request, number)
    judged = _judged(found, place)
    recomputed = acts.recomputed_for(
        judged.drawn, {each.question.key: each.question for each in judged.lines}, request.now
    )
    if request.method == "GET":
        form = AnswersForm(judged.lines, recomputed, initial={"seen": judged.last_entry, "client_id": uuid7()})
        return _draw_drawn(request, judged, form, 200)
    form = AnswersForm(judged.lines, recomputed, request.POST)
    if not form.is_valid():
        return _draw_drawn(request, judged, form, 422)
    said = form.cleaned_data
    given = {"by": request.user, "at": request.now, "client_id": said["client_id"], "seen": said["seen"]}
    try:
        answer = acts.answer_drawn(drawn=judged.drawn, answers=form.answers, **given)
    except acts.NotKept as refusal:
        for name, fault in refusal.faults.items():
            form.add_error(name if name in form.fields else None, fault)
        return _draw_drawn(request, judged, form, 422)
    except Refused as refusal:
        form.add_error(None, list(refusal.reasons))
        # What stands there now has been seen with this page: sending again is a new word, knowing it.
        form.data = {**request.POST.dict(), "seen": str(judged.last_entry), "client_id": str(uuid7())}
        return _draw_drawn(request, judged, form, 409)
    count = answer["answered"]
    messages.success(request, f"{count} answer{'s are' if count != 1 else ' is'} kept, entry {answer['entry']}.")
    return redirect("dossier:audit_drawn", request.corridor.slug, number, _next(found, place))


def _judged(found: Audit, place: int) -> Judged:
    for each in standing(found).judged:
        if each.drawn.place == place:
            return each
    raise Http404("So many were not drawn.")


def _next(found: Audit, place: int) -> int:
    """Return the next drawn hold point with a question open, this one where there is none."""
    waiting = [each.drawn.place for each in standing(found).judged if each.missing]
    return next((each for each in waiting if each >= place), waiting[0] if waiting else place)


def _draw_drawn(request: CorridorRequest, judged: Judged, form: AnswersForm, status: int) -> HttpResponse:
    found, place = judged.drawn.audit, judged.drawn.place
    on_file = queries.on_file(judged.drawn)
    context = {
        "audit": found,
        "judged": judged,
        "word": queries.WORDS[judged.state],
        "mark": queries.MARKS[judged.state],
        "on_file": on_file,
        "inspection": on_file.inspection,
        "form": form,
        "before": place - 1,
        "after": place + 1 if place < found.sample else 0,
        "may_answer": may_audit(request) and found.is_open,
        "titleblock": titleblock(request, ("Audit", f"{found.name}, {place} of {found.sample}")),
    }
    return render(request, "dossier/audits/drawn.html", context, status=status)
