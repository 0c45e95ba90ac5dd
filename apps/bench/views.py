"""Views of the Bench: every calculation by hand, at an address that can be shared, and its result put to a foundation."""

from collections.abc import Mapping
from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from apps.bench import plan
from apps.bench.forms import SYSTEM_WORDS, UNITS_NAME, AttachForm, EntryForm, system_of
from apps.bench.rooms import ROOMS, by_room
from apps.calc import registry
from apps.calc.answers import answers_of
from apps.calc.registry import Calculation
from apps.calc.working import as_rows
from apps.corridor.models import Foundation
from apps.findings.models import Finding
from apps.materials import computing
from apps.record.acts import Refused
from apps.record.ids import uuid7
from apps.sheet.drawn import Picture, pictures, tables
from apps.sheet.frame import CorridorRequest, corridor_page, titleblock
from apps.sheet.pdf import on_paper, pdf

FOR = "for"
"""The foundation that the numbers are about, by its mark, in the address."""
HALF_PT, WHOLE_PT = 250, 515
"""How wide a drawing is on paper, in points: half the text, or all of it."""


@require_GET
@corridor_page("bench")
def bench(request: CorridorRequest) -> HttpResponse:
    """List every calculation by room."""
    rooms = by_room()
    context = {
        "rooms": rooms,
        "foundation": _foundation(request, request.GET.get(FOR, "")),
        "count": sum(len(each) for _, _, each in rooms),
        "titleblock": titleblock(request, ("Calculations", f"{sum(len(each) for _, _, each in rooms)}")),
    }
    return render(request, "bench/bench.html", context)


@require_GET
@corridor_page("bench")
def calculation(request: CorridorRequest, name: str) -> HttpResponse:
    """Show one calculation: its form, and what comes out of what the address holds."""
    found = _find(name)
    foundation = _foundation(request, request.GET.get(FOR, ""))
    system = system_of(request.GET)
    asked = any(request.GET.get(each.name) for each in found.inputs)
    if asked:
        form = EntryForm(found, system, request.GET)
    else:
        form = EntryForm(found, system, initial=plan.known(found, foundation) if foundation else {})
    return _draw(request, found, form, foundation)


@require_GET
@corridor_page("bench")
def paper(request: CorridorRequest, name: str) -> HttpResponse:
    """Hand out the sheet of one calculation as a PDF; back to its page when there is nothing to calculate with."""
    found = _find(name)
    form = EntryForm(found, system_of(request.GET), request.GET)
    foundation = _foundation(request, request.GET.get(FOR, ""))
    if not form.is_valid() or form.result is None:
        return redirect(_address(request, found, form.typed, foundation, form.system))
    context = _outcome(request, found, form, foundation) | {
        "corridor": request.corridor,
        "calculation": found,
        "foundation": foundation,
        "now": request.now,
        "by": request.user,
        "units_words": SYSTEM_WORDS[form.system],
    }
    context["pairs"] = _pairs(context["drawn"])
    size = "A4" if request.GET.get("size") == "A4" else "letter"
    answer = HttpResponse(pdf("bench/paper.html", context, at=request.now, size=size), content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{found.name}.pdf"'
    return answer


def _pairs(drawn: list[Picture]) -> list[list[tuple[Picture, str]]]:
    """Lay the drawings out on paper: two beside each other, a wide one alone."""
    rows: list[list[tuple[Picture, str]]] = []
    for each in drawn:
        if not each.wide and rows and len(rows[-1]) == 1 and not rows[-1][0][0].wide:
            rows[-1].append((each, on_paper(each.svg, HALF_PT)))
        else:
            rows.append([(each, on_paper(each.svg, WHOLE_PT if each.wide else HALF_PT))])
    return rows


@require_POST
@corridor_page("bench")
def attach(request: CorridorRequest, name: str) -> HttpResponse:
    """Put a result to a foundation; what comes out is calculated again by the act."""
    found = _find(name)
    form = EntryForm(found, system_of(request.POST), request.POST)
    put = AttachForm(request.POST)
    foundation = _foundation(request, str(request.POST.get("foundation", "")))
    finding = _finding(request, str(request.POST.get("finding", "")))
    if put.is_valid():
        if foundation is None:
            put.add_error("foundation", f"No foundation {put.cleaned_data['foundation']} on {request.corridor.name}.")
        if put.cleaned_data["finding"] and finding is None:
            put.add_error("finding", f"No finding {put.cleaned_data['finding']} on {request.corridor.name}.")
    if not form.is_valid() or not put.is_valid() or foundation is None:
        return _draw(request, found, form, foundation, put, status=422)
    try:
        answer = computing.attach_computation(
            foundation=foundation,
            calculation=found.name,
            typed=form.typed,
            system=form.system,
            stage=put.cleaned_data["stage"],
            finding=finding,
            note=put.cleaned_data["note"],
            by=request.user,
            at=request.now,
            client_id=put.cleaned_data["client_id"],
        )
    except Refused as refusal:
        for reason in refusal.reasons:
            put.add_error(None, reason)
        return _draw(request, found, form, foundation, put, status=409)
    messages.success(request, f"{found.title} is put to {foundation.mark}, entry {answer['entry']}.")
    return redirect("board:foundation", request.corridor.slug, foundation.mark)


def _find(name: str) -> Calculation:
    try:
        return registry.find(name)
    except registry.UnknownCalculation as fault:
        raise Http404(f"There is no calculation named {name}.") from fault


def _foundation(request: CorridorRequest, mark: str) -> Foundation | None:
    """Return the corridor's foundation with a mark; None when there is none."""
    rows = Foundation.objects.select_related("design").filter(corridor=request.corridor)
    return rows.filter(mark=mark.strip().upper()).first() if mark.strip() else None


def _finding(request: CorridorRequest, name: str) -> Finding | None:
    digits = name.strip().upper().removeprefix("F-")
    if not digits.isascii() or not digits.isdigit() or len(digits) > 8:
        return None
    return Finding.objects.filter(corridor=request.corridor, number=int(digits)).first()


def _draw(
    request: CorridorRequest,
    found: Calculation,
    form: EntryForm,
    foundation: Foundation | None,
    put: AttachForm | None = None,
    status: int = 200,
) -> HttpResponse:
    """Draw the page: the form, and below the result when there is one."""
    answered = form.is_bound and form.is_valid()
    result = form.result if answered else None
    may_attach = bool(request.roles & computing.ROLES)
    initial = {"foundation": foundation.mark if foundation else request.GET.get(FOR, ""), "client_id": uuid7()}
    context: dict[str, Any] = {
        "calculation": found,
        "room": found.name.split(".", 1)[0],
        "room_title": ROOMS[found.name.split(".", 1)[0]],
        "rooms": by_room(),
        "form": form,
        "foundation": foundation,
        "asked_for": request.GET.get(FOR, ""),
        "example": _address(request, found, found.example, foundation),
        "units": form.system,
        "may_attach": may_attach,
        "put": (put or AttachForm(initial=initial)) if may_attach and result else None,
        "titleblock": titleblock(
            request,
            ("Calculation", found.title),
            *([("For", foundation.mark)] if foundation else []),
            ("Units", SYSTEM_WORDS[form.system]),
        ),
    }
    if result is not None:
        context |= _outcome(request, found, form, foundation)
    return render(request, "bench/calculation.html", context, status=status)


def _outcome(
    request: CorridorRequest, found: Calculation, form: EntryForm, foundation: Foundation | None
) -> dict[str, Any]:
    """Return what page and paper show of a form that is valid."""
    assert form.result is not None
    here = _address(request, found, form.typed, foundation, form.system)
    return {
        "result": form.result,
        "answers": answers_of(found, form.result),
        "steps": as_rows(form.result.working),
        "drawn": pictures(found.name, form.arguments, form.result),
        "tables": tables(found.name, form.arguments, form.result),
        "caution": getattr(form.result, "caution", "") or found.caution,
        "went_in": [(field.label, form.typed[field.name]) for field in form if field.name in form.typed],
        "address": request.build_absolute_uri(here),
        "paper_url": f"{reverse('bench:paper', args=[request.corridor.slug, found.name])}?{here.partition('?')[2]}",
    }


def _address(
    request: CorridorRequest,
    found: Calculation,
    typed: Mapping[str, str],
    foundation: Foundation | None,
    system: str = "US",
) -> str:
    """Return the address that holds what was typed: whoever opens it sees the same."""
    asked = (
        dict(typed) | ({UNITS_NAME: system} if system != "US" else {}) | ({FOR: foundation.mark} if foundation else {})
    )
    return f"{reverse('bench:calculation', args=[request.corridor.slug, found.name])}?{urlencode(asked)}"
