"""Views of the findings: the register, one finding's life, and raising one by hand."""

import csv
from collections import Counter
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from apps.corridor.models import Foundation
from apps.desk.filters import MOVES_NEXT, OPEN, FindingFilter
from apps.desk.forms import DispositionForm, RaiseForm, WordsForm
from apps.findings import acts, moves
from apps.findings.models import Finding
from apps.record.acts import Refused
from apps.record.ids import uuid7
from apps.sheet.cells import safe_cell
from apps.sheet.frame import CorridorRequest, corridor_page, titleblock
from apps.sheet.standing import standings

SORTS = {"number", "raised_at", "due_on", "-number", "-raised_at", "-due_on"}
GRADES = ("critical", "major", "minor")
# Which act asks for which words, and under which name the act takes them.
WORDS: dict[str, tuple[str, str, bool, int]] = {
    "answer_finding": ("What was done", "done", True, 1000),
    "verify_finding": ("New reading, or what was seen", "reading", True, 200),
    "refuse_correction": ("New reading that does not conform", "reading", True, 200),
    "close_finding": ("Note", "note", False, 1000),
    "reopen_finding": ("Reason", "reason", True, 1000),
}


def mover(finding: Finding) -> str:
    """Say who moves a finding next."""
    return next((who for who, states in MOVES_NEXT.values() if finding.state in states), "nobody")


@corridor_page("findings")
def register(request: CorridorRequest) -> HttpResponse:
    """Show the register by grade, the oldest first."""
    everything = Finding.objects.filter(corridor=request.corridor).select_related(
        "foundation__design", "foundation__corridor", "crew"
    )
    asked = request.GET.copy()
    asked.setdefault("state", OPEN)
    chosen = FindingFilter(asked, queryset=everything)
    sort = request.GET.get("sort", "raised_at")
    found = (
        list(chosen.qs.order_by(sort if sort in SORTS else "raised_at").prefetch_related("dispositions"))
        if chosen.form.is_valid()
        else []
    )
    if request.GET.get("format") == "csv":
        return _csv(request, found)
    today = request.corridor.day(request.now)
    drawn = standings([finding.foundation for finding in found])
    groups = [
        (
            Finding.Grade(grade).label,
            moves.ANSWER_DAYS[grade],
            [_line(each, drawn, request.now) for each in found if each.grade == grade],
        )
        for grade in GRADES
    ]
    unsettled = [finding for finding in everything if finding.is_open]
    causes = Counter(finding.get_cause_display() for finding in everything).most_common()
    context = {
        "filter": chosen,
        "groups": [group for group in groups if group[2]],
        "found": found,
        "total": len(everything),
        "open": len(unsettled),
        "holding": sum(finding.holds for finding in unsettled),
        "late": sum(finding.due_on < today for finding in unsettled),
        "movers": Counter(mover(finding) for finding in unsettled).most_common(),
        "causes": [(cause, number, round(100 * number / causes[0][1])) for cause, number in causes],
        "sort": sort,
        "titleblock": titleblock(
            request, ("Open", f"{len(unsettled)}"), ("Past their answer", f"{sum(f.due_on < today for f in unsettled)}")
        ),
    }
    return render(request, "desk/findings.html", context)


def _line(finding: Finding, drawn: dict[object, Any], now: datetime) -> dict[str, Any]:
    """Return what one line of the register shows; the bar runs to twice the promise."""
    promise = timedelta(days=moves.ANSWER_DAYS[finding.grade])
    age = (finding.closed_at or now) - finding.raised_at
    decided = next(reversed(list(finding.dispositions.all())), None)
    return {
        "finding": finding,
        "standing": drawn[finding.foundation_id],
        "age": age,
        "promise": promise,
        "kept": min(50.0, 50.0 * (age / promise)),
        "over": min(50.0, max(0.0, 50.0 * (age / promise) - 50.0)),
        "late": finding.is_open and age > promise,
        "decided": decided,
        "mover": mover(finding),
    }


def _csv(request: CorridorRequest, found: list[Finding]) -> HttpResponse:
    answer = HttpResponse(content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="{request.corridor.slug}-findings.csv"'
    writer = csv.writer(answer)
    writer.writerow(
        [
            "number",
            "foundation",
            "stage",
            "grade",
            "what is wrong",
            "reading",
            "limit",
            "state",
            "cause",
            "raised",
            "due",
        ]
    )
    for each in found:
        words = [
            each.name,
            each.foundation.mark,
            each.stage,
            each.grade,
            each.title,
            each.reading,
            each.limit,
            each.state,
            each.cause,
        ]
        writer.writerow([*map(safe_cell, words), each.raised_at.isoformat(), each.due_on.isoformat()])
    return answer


@corridor_page("findings")
def finding(request: CorridorRequest, number: int) -> HttpResponse:
    """Show one finding's life, and take the move that is open to this person."""
    rows = Finding.objects.select_related(
        "foundation__design", "corridor", "crew", "raised_by", "closed_by", "foundation__corridor"
    )
    found = get_object_or_404(rows, corridor=request.corridor, number=number)
    if request.method != "POST":
        return _draw(request, found)
    name = request.POST.get("act", "")
    form = _form(request, found, name)
    if form is None:
        messages.error(request, "There is no such move.")
        return _draw(request, found, status=422)
    if not form.is_valid():
        return _draw(request, found, {name: form}, status=422)
    try:
        _do(request, found, name, form.cleaned_data)
    except Refused as refusal:
        for reason in refusal.reasons:
            form.add_error(None, reason)
        found.refresh_from_db()
        return _draw(request, found, {name: form}, status=409)
    messages.success(request, f"{found.name}: {moves.MOVE[name].title.lower()}, done.")
    return redirect("desk:finding", request.corridor.slug, number)


def _form(request: CorridorRequest, found: Finding, name: str) -> forms.Form | None:
    """Return the form of a move, filled with what was sent; None for a move that is not in the table."""
    data = request.POST if request.method == "POST" and request.POST.get("act") == name else None
    initial = {"client_id": uuid7()}
    if name == "decide_disposition":
        return DispositionForm(data, finding=found, initial=initial)
    if name not in WORDS:
        return None
    label, _, needed, most = WORDS[name]
    return WordsForm(data, label=label, needed=needed, most=most, initial=initial)


def _do(request: CorridorRequest, found: Finding, name: str, said: dict[str, Any]) -> None:
    """Do one move through the act of its name."""
    act: Callable[..., Any] = getattr(acts, name)
    common = {"finding": found, "by": request.user, "at": request.now, "client_id": said["client_id"]}
    if name == "decide_disposition":
        act(
            kind=said["kind"],
            reason=said["reason"],
            consent=said["consent"],
            due_on=said["due_on"],
            cause=said["cause"],
            **common,
        )
    else:
        act(**{WORDS[name][1]: said["words"]}, **common)


def _draw(
    request: CorridorRequest, found: Finding, tried: dict[str, forms.Form] | None = None, status: int = 200
) -> HttpResponse:
    open_moves = [move for move in moves.MOVES if found.state in move.old and move.roles & request.roles]
    decided = list(found.dispositions.select_related("by"))
    if found.state == "decided" and not (decided and decided[-1].leaves_it):
        open_moves = [move for move in open_moves if move.act != "close_finding"]
    if found.state == "decided" and decided and decided[-1].leaves_it:
        open_moves = [move for move in open_moves if move.act != "answer_finding"]
    context = {
        "finding": found,
        "standing": standings([found.foundation])[found.foundation_id],
        "dispositions": decided,
        "answers": list(found.answers.select_related("by")),
        "verifications": list(found.verifications.select_related("by")),
        "measurements": list(found.measurements.select_related("inspection__hold_point", "inspection__inspector")),
        "forms": [(move, (tried or {}).get(move.act) or _form(request, found, move.act)) for move in open_moves],
        "mover": mover(found),
        "titleblock": titleblock(request, ("Finding", found.name), ("Foundation", found.foundation.mark)),
    }
    return render(request, "desk/finding.html", context, status=status)


@corridor_page("findings")
def raise_finding(request: CorridorRequest) -> HttpResponse:
    """Raise a finding by hand."""
    initial = {"client_id": uuid7(), "mark": request.GET.get("mark", ""), "stage": request.GET.get("stage", "layout")}
    form = RaiseForm(request.POST if request.method == "POST" else None, initial=initial)
    status = 200
    if request.method == "POST" and form.is_valid():
        said = dict(form.cleaned_data)
        foundation = Foundation.objects.filter(corridor=request.corridor, mark=said.pop("mark").strip().upper()).first()
        if foundation is None:
            form.add_error("mark", "There is no foundation of this mark here.")
        else:
            try:
                answer = acts.raise_finding(foundation=foundation, by=request.user, at=request.now, **said)
            except Refused as refusal:
                for reason in refusal.reasons:
                    form.add_error(None, reason)
            else:
                messages.success(request, f"{answer['finding']} is raised.")
                return redirect("desk:finding", request.corridor.slug, int(answer["finding"][2:]))
    if form.is_bound:
        status = 422
    return render(request, "desk/raise.html", {"form": form, "titleblock": titleblock(request)}, status=status)
