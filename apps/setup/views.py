"""Views of setting up: requirements in force, what is still missing, and bringing the schedule in."""

from typing import Any

from django.contrib import messages
from django.core import signing
from django.db.models import Count
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET

from apps.calc.stages import STAGE_BY_KEY, STAGES
from apps.corridor.models import Design
from apps.corridor.schedule_file import COLUMNS, Line, NotASchedule, read
from apps.holdpoints.schedule import check, take_in_schedule
from apps.record.acts import Refused
from apps.record.ids import uuid7
from apps.requirements.models import Edition
from apps.setup import queries
from apps.setup.filters import RequirementFilter
from apps.setup.forms import GoForm, ScheduleForm
from apps.setup.members import may_set_up
from apps.sheet.frame import CorridorRequest, corridor_page, titleblock

SALT = "setup.schedule"


@require_GET
@corridor_page("requirements")
def requirements(request: CorridorRequest) -> HttpResponse:
    """Show what must hold at one stage, why, and by which source."""
    edition = _edition(request)
    stage = STAGE_BY_KEY.get(request.GET.get("at", ""), STAGES[0])
    counts = dict(edition.requirements.values_list("stage").annotate(Count("id")).order_by())
    chosen = RequirementFilter(request.GET or None, queryset=edition.requirements.at(stage.key))
    rows = list(chosen.qs) if chosen.form.is_valid() or not request.GET else []
    designs = list(Design.objects.filter(corridor=request.corridor))
    family = request.GET.get("family", "")
    design = next((each for each in designs if family in {"", each.family}), None)
    lines = queries.lines(edition, rows, design)
    kinds = [line.row.source_kind for line in lines]
    context = {
        "edition": edition,
        "in_force": edition.pk == request.corridor.edition_id,
        "stage": stage,
        "stages": [(number + 1, each, counts.get(each.key, 0)) for number, each in enumerate(STAGES)],
        "filter": chosen,
        "lines": lines,
        "total": sum(counts.values()),
        "standards": kinds.count("standard"),
        "contract": kinds.count("contract"),
        "practice": kinds.count("common practice"),
        "design": design,
        "fact": f"{len(lines)} of {counts.get(stage.key, 0)} requirements",
        "titleblock": titleblock(
            request,
            ("Edition", f"{edition.number}, {edition.state}"),
            ("Requirements", f"{sum(counts.values())}"),
            ("Digest", edition.digest[:12]),
        ),
    }
    return render(request, "setup/requirements.html", context)


def _edition(request: CorridorRequest) -> Edition:
    """Return the edition asked for by its number, else the one in force."""
    asked = request.GET.get("edition", "")
    if asked.isascii() and asked.isdigit() and len(asked) < 8:
        return Edition.objects.filter(number=int(asked)).first() or request.corridor.edition
    return request.corridor.edition


@require_GET
@corridor_page("setup")
def setup(request: CorridorRequest) -> HttpResponse:
    """Show what stands and what is still missing before work can be recorded."""
    corridor = request.corridor
    steps = queries.steps(corridor)
    context = {
        "steps": steps,
        "missing": [step for step in steps if not step.done],
        "members": list(corridor.memberships.select_related("person", "crew").order_by("role", "person__name")),
        "designs": list(corridor.designs.all()),
        "alignments": list(corridor.alignments.all()),
        "crews": list(corridor.crews.all()),
        "titleblock": titleblock(request, ("Address", f"/c/{corridor.slug}/"), ("Time zone", corridor.time_zone)),
    }
    return render(request, "setup/setup.html", context)


@corridor_page("setup")
def schedule(request: CorridorRequest) -> HttpResponse:
    """Check a schedule line by line, then bring it in: all of it, or without the bad lines if the person says so."""
    if request.method != "POST":
        return _draw(request, ScheduleForm())
    if "lines" in request.POST:
        return _go(request)
    form = ScheduleForm(request.POST, request.FILES)
    if not form.is_valid():
        return _draw(request, form, status=422)
    file = form.cleaned_data["file"]
    try:
        lines = read(file.read(), file.name or "")
    except NotASchedule as fault:
        form.add_error("file", str(fault))
        return _draw(request, form, status=422)
    return _draw(request, form, lines=lines)


def _go(request: CorridorRequest) -> HttpResponse:
    """Bring in the lines that were checked on the page before; the page carries them, signed."""
    form = GoForm(request.POST)
    try:
        packed = signing.loads(request.POST.get("lines", ""), salt=SALT, max_age=24 * 3600)
    except signing.BadSignature:
        messages.error(request, "The checked lines came back changed or are a day old. Bring the file again.")
        return redirect("setup:schedule", request.corridor.slug)
    lines = [Line(number, cells) for number, cells in packed["lines"]]
    if not form.is_valid():
        return _draw(request, ScheduleForm(), lines=lines, status=422)
    said = form.cleaned_data
    # Only what the page before showed as wrong is left out: a line that went wrong since stops all of them.
    skipped = packed["bad"] if said["skip_bad"] else []
    try:
        answer = take_in_schedule(
            corridor=request.corridor,
            lines=[line for line in lines if line.number not in skipped],
            by=request.user,
            at=request.now,
            client_id=said["client_id"],
        )
    except Refused as refusal:
        return _draw(request, ScheduleForm(), lines=lines, refused=list(refusal.reasons), status=409)
    left_out = f" Skipped: line {', '.join(map(str, skipped))}." if skipped else ""
    messages.success(request, f"Brought in: {answer['made']}.{left_out}")
    return redirect("board:corridor" if request.roles else "setup:setup", request.corridor.slug)


def _packed(lines: list[Line], bad: list[int]) -> str:
    """Return the lines and the numbers of the wrong ones, signed, for the page to carry to the next step."""
    return signing.dumps({"lines": [list(line) for line in lines], "bad": bad}, salt=SALT, compress=True)


def _draw(
    request: CorridorRequest,
    form: ScheduleForm,
    lines: list[Line] | None = None,
    refused: list[str] | None = None,
    status: int = 200,
) -> HttpResponse:
    """Draw the page: the file field, and the dry run of the lines that came."""
    rows = check(request.corridor, lines) if lines is not None else []
    bad = [row for row in rows if row.foundation is None]
    context: dict[str, Any] = {
        "form": form,
        "columns": COLUMNS,
        "rows": rows,
        "checked": lines is not None,
        "bad": len(bad),
        "good": len(rows) - len(bad),
        "lines": _packed(lines, [row.number for row in bad]) if lines is not None else "",
        "unread": getattr(lines, "unread", ()),
        "client_id": uuid7(),
        "refused": refused or [],
        "may": may_set_up(request),
        "titleblock": titleblock(request, ("Lines", f"{len(rows)}")),
    }
    return render(request, "setup/schedule.html", context, status=status)
