"""Views of the findings: the register, one finding's life, and raising one by hand."""

from collections.abc import Callable
from datetime import datetime
from typing import Any
from uuid import UUID, uuid5

from django import forms
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from apps.desk import register
from apps.desk.filters import OPEN, FindingFilter
from apps.desk.forms import AssignForm, DispositionForm, EffectForm, RaiseForm, WordsForm
from apps.findings import acts, moves, saved
from apps.findings.models import Finding
from apps.findings.turn import mover
from apps.holdpoints import raising
from apps.holdpoints.models import Measurement
from apps.record.acts import Answer, Refused
from apps.record.ids import uuid7
from apps.sheet.acting import acted
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
ASSIGN = "assign_finding"
TITLES = {move.act: move.title for move in moves.MOVES} | {ASSIGN: "Assign, and say what it costs"}
KEPT = frozenset({*FindingFilter.base_filters, "sort"})
"""Parts of the register's address that a saved view keeps."""
COLUMNS = ("number", "foundation", "stage", "grade", "what is wrong", "reading", "limit", "state", "cause", "crew")


@require_GET
@corridor_page("findings")
def register_page(request: CorridorRequest) -> HttpResponse:
    """Show the register by grade, the oldest first, with its sums."""
    return _register(request)


def _register(request: CorridorRequest, tried: AssignForm | None = None, status: int = 200) -> HttpResponse:
    """Draw the register, with a form to assign that was tried."""
    asked = request.GET.copy()
    asked.setdefault("state", OPEN)
    chosen = FindingFilter(asked, queryset=register.rows(request.corridor), request=request)
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
        "assign": _assigning(request, tried),
        "ticked": set(request.POST.getlist("findings")) if tried else set(),
        "views": saved.of(request.user, request.corridor),
        "kept": request.GET.urlencode(),
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
    return render(request, "desk/findings.html", context, status=status)


def _assigning(request: CorridorRequest, tried: AssignForm | None) -> AssignForm | None:
    """Return the form that assigns several findings at once; None for who may not."""
    if tried or not request.roles & moves.ASSIGN_ROLES:
        return tried
    return AssignForm(corridor=request.corridor, auto_id="assign_%s", initial={"client_id": uuid7()})


@require_POST
@corridor_page("findings")
def assign(request: CorridorRequest) -> HttpResponse:
    """Assign crew, cause or day to the ticked findings: each its own act under its own id, each outcome named."""
    form = AssignForm(request.POST, corridor=request.corridor, auto_id="assign_%s")
    numbers = [int(text) for text in request.POST.getlist("findings") if text.isascii() and text.isdigit()][:PAGE]
    ticked = list(Finding.objects.filter(corridor=request.corridor, number__in=numbers).order_by("number"))
    if not form.is_valid() or not ticked:
        if not ticked:
            form.add_error(None, "Tick at least one finding.")
        return _register(request, form, status=422)
    said = dict(form.cleaned_data)
    client_id = said.pop("client_id")
    for each in ticked:
        try:
            acts.assign_finding(
                finding=each, by=request.user, at=request.now, client_id=uuid5(client_id, each.name), **said
            )
        except Refused as refusal:
            messages.error(request, f"{each.name}: {' '.join(refusal.reasons)}")
        else:
            messages.success(request, f"{each.name} is assigned.")
    return redirect(_register_address(request))


def _register_address(request: CorridorRequest) -> str:
    """Return the register, narrowed as it was."""
    kept = request.GET.urlencode()
    return reverse("desk:findings", args=[request.corridor.slug]) + (f"?{kept}" if kept else "")


@require_POST
@corridor_page("findings")
def views(request: CorridorRequest) -> HttpResponse:
    """Keep what the register shows under a name, or remove such a view."""
    name = request.POST.get("name", "")
    if request.POST.get("act") == "drop":
        if saved.drop(request.user, request.corridor, name):
            messages.success(request, f"The view {name} is removed.")
        return redirect(_register_address(request))
    try:
        view = saved.keep(request.user, request.corridor, name, request.GET, KEPT)
    except Refused as refusal:
        messages.error(request, " ".join(refusal.reasons))
    else:
        messages.success(request, f"The register as it stands is kept as {view.name}.")
    return redirect(_register_address(request))


def _csv_address(request: CorridorRequest) -> str:
    """Return the same list as CSV: all of it, not one page."""
    asked = request.GET.copy()
    asked.pop("page", None)
    asked["format"] = "csv"
    return f"?{asked.urlencode()}"


def _csv(request: CorridorRequest, found: Any) -> HttpResponse:
    head = [*COLUMNS, "raised", "due", "closed", "open days", "cost, dollars", "delay, working days", "came back after"]
    found = found.select_related("again_of")
    lines = (_cells(each, request.now) for each in found.iterator(chunk_size=500))
    return csv_answer(f"{request.corridor.slug}-findings", head, lines)


def _cells(each: Finding, now: datetime) -> tuple[object, ...]:
    words = (each.name, each.foundation.mark, each.stage, each.grade, each.title, each.reading, each.limit)
    more = (each.state, each.cause, each.crew.name if each.crew else "")
    closed = each.closed_at.isoformat() if each.closed_at else ""
    open_d = ((each.closed_at or now) - each.raised_at).days
    effect = (each.cost, each.delay_d, each.again_of.name if each.again_of else "")
    shown = ("" if value is None else value for value in effect)
    return (*words, *more, each.raised_at.isoformat(), each.due_on.isoformat(), closed, open_d, *shown)


@require_http_methods(["GET", "HEAD", "POST"])
@corridor_page("findings")
def finding(request: CorridorRequest, number: int) -> HttpResponse:
    """Show one finding's life, and take the move that is open to this person."""
    rows = register.rows(request.corridor).select_related(
        "foundation__design",
        "foundation__corridor",
        "corridor",
        "crew",
        "raised_by",
        "closed_by",
        "again_of__foundation",
    )
    found = get_object_or_404(rows, number=number)
    if request.method != "POST":
        return _draw(request, found)
    name = request.POST.get("act", "")
    if name not in TITLES:
        messages.error(request, "There is no such move. Nothing was written.")
        return _draw(request, found, status=422)
    form = _form(request, found, name)
    if not form.is_valid():
        return _draw(request, found, {name: form}, status=422)
    act, given = _move(name, form.cleaned_data | {"successor": getattr(form, "successor", None)})
    if acted(request, form, act, finding=found, **given) is None:
        fresh = get_object_or_404(rows, number=number)
        return _draw(request, fresh, {name: form}, status=409)
    messages.success(request, f"{found.name}: {TITLES[name][0].lower()}{TITLES[name][1:]}, written.")
    return redirect("desk:finding", request.corridor.slug, number)


def _form(request: CorridorRequest, found: Finding, name: str) -> forms.Form:
    """Return the form of a move, filled with what was sent."""
    data = request.POST if request.method == "POST" and request.POST.get("act") == name else None
    common: dict[str, Any] = {"initial": {"client_id": uuid7()}, "auto_id": f"{name}_%s"}
    if name == "decide_disposition":
        return DispositionForm(data, finding=found, **common)
    if name == ASSIGN:
        return EffectForm(data, finding=found, **common)
    label, _, needed, most = WORDS[name]
    return WordsForm(data, label=label, needed=needed, most=most, **common)


def _move(name: str, said: dict[str, Any]) -> tuple[Callable[..., Answer], dict[str, Any]]:
    """Return the act of one move, and what it is given of what was said."""
    act: Callable[..., Answer] = getattr(acts, name)
    if name == "decide_disposition" and said["abandon"]:
        return raising.reject_and_abandon, {key: said[key] for key in ("reason", "consent", "cause", "successor")}
    if name == "decide_disposition":
        return act, {key: said[key] for key in ("kind", "reason", "consent", "due_on", "cause")}
    if name == ASSIGN:
        return act, {key: said[key] for key in ("crew", "cause", "due_on", "cost", "delay_d")}
    return act, {WORDS[name][1]: said["words"]}


def _draw(
    request: CorridorRequest, found: Finding, tried: dict[str, forms.Form] | None = None, status: int = 200
) -> HttpResponse:
    """Draw one finding: what is wrong, its life, the moves. A form that was tried stands there even if its move is gone."""
    tried = tried or {}
    decided = found.dispositions.last()
    names = [move.act for move in register.open_moves(found, decided, request.roles)]
    names += [ASSIGN] if found.is_open and request.roles & moves.ASSIGN_ROLES else []
    names += [name for name in tried if name not in names]
    behind = register.readings(found)
    party = mover(found.state, decided.kind if decided else "")
    context = {
        "finding": found,
        "standing": standings([found.foundation])[found.foundation_id],
        "decided": decided,
        "life": register.life(found),
        "readings": list(behind.order_by("inspection__received_at")),
        "again": list(found.again.select_related("foundation")),
        "photos": _photos(found),
        "computations": list(found.computations.select_related("by", "foundation")),
        "forms": [
            (name, TITLES[name], tried.get(name) or _form(request, found, name), name in tried or _is_next(found, name))
            for name in names
        ],
        "state": register.state_words(found, decided),
        "mover": register.WAITED_FOR.get(party, ""),
        "of_reject": ("mark", "station", "offset", "depth"),
        "overdue": found.is_open and found.due_on < request.corridor.day(request.now),
        "titleblock": titleblock(request, ("Finding", found.name), ("Foundation", found.foundation.mark)),
    }
    return render(request, "desk/finding.html", context, status=status)


def _is_next(found: Finding, name: str) -> bool:
    """Whether a move is what the finding waits for; the others stand behind their name."""
    return name not in ("refuse_correction", ASSIGN) and not (
        name == "decide_disposition" and found.state == Finding.State.DECIDED
    )


def _photos(found: Finding) -> list[Any]:
    """Return the photos of the inspection that raised it."""
    first = found.measurements.select_related("inspection").order_by("inspection__received_at").first()
    return list(first.inspection.photos.select_related("attachment")) if first else []


@require_http_methods(["GET", "HEAD", "POST"])
@corridor_page("findings")
def raise_finding(request: CorridorRequest) -> HttpResponse:
    """Raise a finding by hand, or at a reading on file: `?reading=` names it, and it fills in what is known."""
    row = _reading(request)
    form = RaiseForm(
        request.POST if request.method == "POST" else None,
        corridor=request.corridor,
        at_reading=row is not None,
        initial=_proposed(request, row),
    )
    status = 200
    if form.is_bound:
        status = 422
        if form.is_valid():
            status = 409
            act, given = _raising(row, dict(form.cleaned_data))
            if answer := acted(request, form, act, **given):
                messages.success(request, f"{answer['finding']} is raised.")
                return redirect("desk:finding", request.corridor.slug, int(answer["finding"].removeprefix("F-")))
    may = bool(request.roles & moves.RAISE_ROLES)
    context = {"form": form, "reading": row, "may_raise": may, "titleblock": titleblock(request)}
    return render(request, "desk/raise.html", context, status=status)


def _reading(request: CorridorRequest) -> Measurement | None:
    """Return the reading that a finding is raised at, None for one raised by eye. What names none of this corridor is not found."""
    asked = request.GET.get("reading")
    if not asked:
        return None
    try:
        key = UUID(asked)
    except ValueError as fault:
        raise Http404("There is no such reading.") from fault
    rows = Measurement.objects.filter(foundation__corridor=request.corridor)
    return get_object_or_404(rows.select_related("inspection__inspector", "foundation"), pk=key)


def _proposed(request: CorridorRequest, row: Measurement | None) -> dict[str, Any]:
    """Return what the form begins with."""
    if row is None:
        return {"client_id": uuid7(), "mark": request.GET.get("mark", ""), "stage": request.GET.get("stage", "")}
    said = row.margin_text or row.value_text or row.reason
    return {"client_id": uuid7(), "title": f"{row.title}: {said}"[:160], "grade": row.grade}


def _raising(row: Measurement | None, said: dict[str, Any]) -> tuple[Callable[..., Answer], dict[str, Any]]:
    """Return the act that raises it, and what it is given."""
    if row is not None:
        return raising.raise_at_measurement, {"measurement": row, **said}
    return acts.raise_finding, {"foundation": said.pop("mark"), **said}
