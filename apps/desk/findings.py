"""Views of the findings: the register, one finding's life, and raising one by hand."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from apps.desk import register
from apps.desk.filters import OPEN, FindingFilter, mover
from apps.desk.forms import DispositionForm, RaiseForm, WordsForm
from apps.findings import acts, moves
from apps.findings.models import Finding
from apps.record.acts import Refused
from apps.record.ids import uuid7
from apps.sheet.cells import csv_answer
from apps.sheet.frame import CorridorRequest, corridor_page, titleblock
from apps.sheet.standing import standings

SORTS = {"number", "raised_at", "due_on", "-number", "-raised_at", "-due_on"}
PAGE = 200
# Which words a move asks for: label, name in the act, whether they are needed, how many characters are kept.
WORDS: dict[str, tuple[str, str, bool, int]] = {
    "answer_finding": ("What was done", "done", True, 1000),
    "verify_finding": ("New reading, or what was seen", "reading", True, 200),
    "refuse_correction": ("New reading that does not conform", "reading", True, 200),
    "close_finding": ("Note, if there is one", "note", False, 1000),
    "reopen_finding": ("Why it is open again", "reason", True, 1000),
}
COLUMNS = ("number", "foundation", "stage", "grade", "what is wrong", "reading", "limit", "state", "cause", "crew")


@require_GET
@corridor_page("findings")
def register_page(request: CorridorRequest) -> HttpResponse:
    """Show the register by grade, the oldest first, with its sums."""
    asked = request.GET.copy()
    asked.setdefault("state", OPEN)
    chosen = FindingFilter(asked, queryset=register.rows(request.corridor))
    sort = request.GET.get("sort", "raised_at")
    sort = sort if sort in SORTS else "raised_at"
    found = chosen.qs.order_by(sort, "number") if chosen.is_valid() else chosen.queryset.none()
    if request.GET.get("format") == "csv":
        return _csv(request, found)
    page = Paginator(found.prefetch_related("dispositions"), PAGE).get_page(request.GET.get("page"))
    drawn = standings([finding.foundation for finding in page])
    today = request.corridor.day(request.now)
    lines = [register.line(finding, drawn, request.now, today) for finding in page]
    told = register.summary(request.corridor, today)
    context = {
        "filter": chosen,
        "page": page,
        "groups": register.groups(lines),
        "told": told,
        "causes": register.causes(request.corridor),
        "weeks": register.weeks(request.corridor, request.now),
        "again": register.coming_back(request.corridor),
        "may_raise": bool(request.roles & moves.RAISE_ROLES),
        "sort": sort,
        "csv": _csv_address(request),
        "titleblock": titleblock(
            request,
            ("Open", f"{told.open}, of which {told.holding} hold work"),
            ("Past their answer", f"{told.late}"),
            (
                "Register since",
                f"{told.since.astimezone(request.corridor.zone):%-d %b %Y}" if told.since else "not begun",
            ),
        ),
    }
    return render(request, "desk/findings.html", context)


def _csv_address(request: CorridorRequest) -> str:
    """Return the same list as CSV: all of it, not one page."""
    asked = request.GET.copy()
    asked.pop("page", None)
    asked["format"] = "csv"
    return f"?{asked.urlencode()}"


def _csv(request: CorridorRequest, found: Any) -> HttpResponse:
    head = [*COLUMNS, "raised", "due", "closed"]
    return csv_answer(f"{request.corridor.slug}-findings", head, map(_cells, found.iterator(chunk_size=500)))


def _cells(each: Finding) -> tuple[object, ...]:
    words = (each.name, each.foundation.mark, each.stage, each.grade, each.title, each.reading, each.limit)
    more = (each.state, each.cause, each.crew.name if each.crew else "")
    closed = each.closed_at.isoformat() if each.closed_at else ""
    return (*words, *more, each.raised_at.isoformat(), each.due_on.isoformat(), closed)


@require_http_methods(["GET", "HEAD", "POST"])
@corridor_page("findings")
def finding(request: CorridorRequest, number: int) -> HttpResponse:
    """Show one finding's life, and take the move that is open to this person."""
    rows = register.rows(request.corridor).select_related(
        "foundation__design", "foundation__corridor", "corridor", "crew", "raised_by", "closed_by"
    )
    found = get_object_or_404(rows, number=number)
    if request.method != "POST":
        return _draw(request, found)
    name = request.POST.get("act", "")
    if name not in moves.MOVE:
        messages.error(request, "There is no such move. Nothing was written.")
        return _draw(request, found, status=422)
    form = _form(request, found, name)
    if not form.is_valid():
        return _draw(request, found, {name: form}, status=422)
    try:
        _do(request, found, name, form.cleaned_data)
    except Refused as refusal:
        for reason in refusal.reasons:
            form.add_error(None, reason)
        fresh = get_object_or_404(rows, number=number)
        return _draw(request, fresh, {name: form}, status=409)
    messages.success(
        request, f"{found.name}: {moves.MOVE[name].title[0].lower()}{moves.MOVE[name].title[1:]}, written."
    )
    return redirect("desk:finding", request.corridor.slug, number)


def _form(request: CorridorRequest, found: Finding, name: str) -> forms.Form:
    """Return the form of a move, filled with what was sent."""
    data = request.POST if request.method == "POST" and request.POST.get("act") == name else None
    common: dict[str, Any] = {"initial": {"client_id": uuid7()}, "auto_id": f"{name}_%s"}
    if name == "decide_disposition":
        return DispositionForm(data, finding=found, **common)
    label, _, needed, most = WORDS[name]
    return WordsForm(data, label=label, needed=needed, most=most, **common)


def _do(request: CorridorRequest, found: Finding, name: str, said: dict[str, Any]) -> None:
    """Do one move through the act of its name."""
    act: Callable[..., Any] = getattr(acts, name)
    common = {"finding": found, "by": request.user, "at": request.now, "client_id": said["client_id"]}
    if name == "decide_disposition":
        given = {key: said[key] for key in ("kind", "reason", "consent", "due_on", "cause")}
    else:
        given = {WORDS[name][1]: said["words"]}
    act(**given, **common)


def _draw(
    request: CorridorRequest, found: Finding, tried: dict[str, forms.Form] | None = None, status: int = 200
) -> HttpResponse:
    """Draw one finding: what is wrong, its life, the moves. A form that was tried stands there even if its move is gone."""
    tried = tried or {}
    decided = found.dispositions.last()
    names = [move.act for move in register.open_moves(found, decided, request.roles)]
    names += [name for name in tried if name not in names]
    behind = found.measurements.select_related("inspection__hold_point__foundation", "inspection__inspector")
    party = mover(found.state, decided.kind if decided else "")
    context = {
        "finding": found,
        "standing": standings([found.foundation])[found.foundation_id],
        "decided": decided,
        "life": register.life(found),
        "readings": list(behind.order_by("inspection__received_at")),
        "photos": _photos(found),
        "computations": list(found.computations.select_related("by", "foundation")),
        "forms": [
            (moves.MOVE[name], tried.get(name) or _form(request, found, name), name in tried or _is_next(found, name))
            for name in names
        ],
        "state": register.state_words(found, decided),
        "mover": register.WAITED_FOR.get(party, ""),
        "overdue": found.is_open and found.due_on < request.corridor.day(request.now),
        "titleblock": titleblock(request, ("Finding", found.name), ("Foundation", found.foundation.mark)),
    }
    return render(request, "desk/finding.html", context, status=status)


def _is_next(found: Finding, name: str) -> bool:
    """Whether a move is what the finding waits for; the others stand behind their name."""
    return name != "refuse_correction" and not (name == "decide_disposition" and found.state == Finding.State.DECIDED)


def _photos(found: Finding) -> list[Any]:
    """Return the photos of the inspection that raised it."""
    first = found.measurements.select_related("inspection").order_by("inspection__received_at").first()
    return list(first.inspection.photos.select_related("attachment")) if first else []


@require_http_methods(["GET", "HEAD", "POST"])
@corridor_page("findings")
def raise_finding(request: CorridorRequest) -> HttpResponse:
    """Raise a finding by hand."""
    initial = {"client_id": uuid7(), "mark": request.GET.get("mark", ""), "stage": request.GET.get("stage", "")}
    form = RaiseForm(request.POST if request.method == "POST" else None, corridor=request.corridor, initial=initial)
    status = 200
    if form.is_bound:
        status = 422
        if form.is_valid():
            said = dict(form.cleaned_data)
            try:
                answer = acts.raise_finding(foundation=said.pop("mark"), by=request.user, at=request.now, **said)
            except Refused as refusal:
                status = 409
                for reason in refusal.reasons:
                    form.add_error(None, reason)
            else:
                messages.success(request, f"{answer['finding']} is raised.")
                return redirect("desk:finding", request.corridor.slug, int(answer["finding"].removeprefix("F-")))
    context = {"form": form, "may_raise": bool(request.roles & moves.RAISE_ROLES), "titleblock": titleblock(request)}
    return render(request, "desk/raise.html", context, status=status)
