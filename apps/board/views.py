"""Views of the project office: the morning sheet, the forecast, the charts, the corridor's plan and list, one foundation."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from csp.constants import UNSAFE_INLINE
from csp.decorators import csp_update
from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST
from django_filters import FilterSet

from apps.board import chart_rows, paper, queries
from apps.board import foundation as one
from apps.board.addresses import addresses
from apps.board.charted import margins
from apps.board.csv_file import csv_file, releases_file
from apps.board.done import DoneFilter, by_stage, concrete, listed, releases
from apps.board.filters import CorridorFilter, in_order
from apps.board.forecast import LITTLE, forecast_of
from apps.board.forms import AbandonForm, ChangeForm, LookForm, ReopenForm
from apps.board.fresh import unchanged
from apps.board.plan import plan
from apps.board.planned import SAID, progress
from apps.board.road import courses
from apps.board.rows import Row, next_points, open_findings, rows
from apps.board.several import several
from apps.board.time_location import diagram
from apps.board.trends import trends
from apps.calc.schedule.progress import percent_complete
from apps.calc.stages import STAGES
from apps.corridor import access
from apps.corridor.access import Role
from apps.corridor.models import Corridor, Foundation
from apps.holdpoints import acts, moves
from apps.holdpoints.looks import ROLES as LOOK_ROLES
from apps.holdpoints.looks import look_again
from apps.people.models import Person
from apps.record.ids import uuid7
from apps.sheet.acting import acted
from apps.sheet.drawn.schedule import finish
from apps.sheet.drawn.time_location import time_location as draw_time_location
from apps.sheet.frame import CorridorRequest, corridor_page, titleblock
from apps.sheet.pdf import SIZES

ROWS_ON_A_PAGE = 250
ROADSIDE = frozenset({Role.INSPECTOR, Role.FOREMAN})
"""Who is nothing else begins the day in the Field."""
DRAWN_WHOLE = 400
"""Up to so many foundations the plan shows the whole road whatever is chosen, the others faint."""
NOT_LISTED = [
    f"foundation__{name}"
    for name in ("east_ft", "north_ft", "depth_in", "pole_height_ft", "arm_ft", "circuit", "solar", "notes", "more")
]
"""What neither list nor drawings show: left in the database."""


@login_required
def home(request: HttpRequest) -> HttpResponse:
    """Go to the one corridor of a person, or list those that they are a member of; an administrator goes to all of them."""
    assert isinstance(request.user, Person)
    corridors = list(access.visible_to(request.user, timezone.now()).select_related("tally", "edition"))
    if len(corridors) == 1:
        roles = access.roles_at(request.user, timezone.now())[corridors[0]]
        return redirect("field:today" if roles <= ROADSIDE else "board:morning", corridors[0].slug)
    if not corridors and request.user.is_superuser:
        return redirect("installation:overview")
    now = timezone.now()
    context = {"rows": several(corridors, now), "now": now}
    return render(request, "board/home.html", context)


@require_GET
@corridor_page("morning")
@unchanged
def morning(request: CorridorRequest) -> HttpResponse:
    """Show where the corridor stands this morning; with ?wall=1 it asks for itself again every minute."""
    sheet = queries.morning(request.corridor, request.now)
    context = paper.context_of(request.corridor, sheet, request.now) | {
        "wall": request.GET.get("wall") == "1",
        "titleblock": titleblock(
            request,
            ("Stations", "; ".join(course.reach for course in sheet.courses)),
            ("Foundations", sheet.families_words or "none yet"),
        ),
    }
    return render(request, "board/morning.html", context)


@require_GET
@corridor_page("morning")
@unchanged
def morning_paper(request: CorridorRequest) -> HttpResponse:
    """Hand out the morning sheet as one page of paper: ?size=letter or ?size=a4; letter where nothing known is asked for."""
    asked = request.GET.get("size", "").lower()
    size = next((each for each in SIZES if each.lower() == asked), SIZES[0])
    written = paper.morning_paper(request.corridor, request.now, size=size)
    answer = HttpResponse(written, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{paper.name_of(request.corridor, request.now)}"'
    return answer


@require_GET
@corridor_page("morning")
def forecast(request: CorridorRequest) -> HttpResponse:
    """Show when the corridor will be finished, what holds it up, what would help, and how well it foretold."""
    form = ChangeForm(request.GET)
    sheet = forecast_of(request.corridor, request.now, form.change)
    drawing = finish({}, sheet.flow) if sheet.flow else None
    context = addresses(request.corridor) | {
        "sheet": sheet,
        "form": form,
        "drawing": drawing.svg("finish") if drawing else "",
        "little": LITTLE,
        "stage_titles": [stage.title for stage in STAGES],
        "titleblock": titleblock(request, ("Contract date", f"{request.corridor.finishes_on:%-d %b %Y}")),
    }
    return render(request, "board/forecast.html", context)


@csp_update({"style-src-attr": [UNSAFE_INLINE]})  # the charting library places its parts by style attributes
@require_GET
@corridor_page("morning")
def charts(request: CorridorRequest) -> HttpResponse:
    """Show the charts, each with its sentence and its table."""
    corridor = request.corridor
    foretold = forecast_of(corridor, request.now, whole=False)
    done = progress(corridor, corridor.tally, corridor.day(request.now))
    context = {
        "plan_said": SAID,
        "trends": (warning := trends(corridor, request.now)),
        "drifts": [margins.drifting(number, each) for number, each in enumerate(warning.warned[: margins.MOST])],
        "charts": chart_rows.charts(corridor, request.now, foretold, done),
        "titleblock": titleblock(request, ("Plan", "straight, from the contract's dates")),
    }
    return render(request, "board/charts.html", context)


# ---- plan and list


@require_GET
@corridor_page("corridor")
def corridor(request: CorridorRequest) -> HttpResponse:
    """Show plan and list of one filter, or hand the list out as a file."""
    points = next_points(request.corridor).defer(*NOT_LISTED)
    chosen = CorridorFilter(request.GET, queryset=points, request=request)
    sort = request.GET.get("sort", "station")
    total = request.corridor.foundations.count()
    shown, drawn = _shown(request, chosen, sort, whole=total <= DRAWN_WHOLE)
    if request.GET.get("format") == "csv" and not chosen.form.errors:
        return csv_file(request.corridor, shown)
    context = {
        "filter": chosen,
        "listed": Paginator(shown, ROWS_ON_A_PAGE).get_page(request.GET.get("page")),
        "shown": shown,
        "total": total,
        "counts": _counts(shown),
        "sums": _sums(request.corridor, shown),
        "sort": sort,
        **_drawings(request, chosen, shown, drawn),
        "said": _filter_words(chosen),
        "titleblock": titleblock(
            request, ("Shown", _filter_words(chosen) or "all foundations"), ("Offsets", "feet from the alignment")
        ),
    }
    return render(request, "board/corridor.html", context)


def _shown(request: CorridorRequest, chosen: CorridorFilter, sort: str, *, whole: bool) -> tuple[list[Row], list[Row]]:
    """Return the rows of the list, and those that the plan draws: on a short road, `whole`, the others too, faint."""
    findings = open_findings(request.corridor)
    if not whole:
        shown = chosen.kept(rows(in_order(chosen.qs, sort), findings, request.corridor, request.now))
        return shown, shown
    every = {row.point.pk: row for row in rows(chosen.queryset, findings, request.corridor, request.now)}
    keys = in_order(chosen.qs, sort).values_list("pk", flat=True)
    return chosen.kept([every[pk] for pk in keys if pk in every]), list(every.values())


def _drawings(request: CorridorRequest, chosen: CorridorFilter, shown: list[Row], drawn: list[Row]) -> dict[str, Any]:
    """Return plan and strip. The strip shows the reach asked for, the plan of a long road too; that of a short road tints it."""
    strip = courses(request.corridor, shown, chosen.reach, request.GET)
    marked: set[object] = {row.foundation.pk for row in shown}
    if drawn is shown:
        return {"strip": strip, "plan": plan(strip, marked, None)}
    return {"strip": strip, "plan": plan(courses(request.corridor, drawn, query=request.GET), marked, chosen.reach)}


@require_GET
@corridor_page("corridor")
def time_location(request: CorridorRequest) -> HttpResponse:
    """Show how far each stage is along the road, day by day, against the plan and into the forecast."""
    corridor, today = request.corridor, request.corridor.day(request.now)
    foretold = forecast_of(corridor, request.now, whole=False)
    done = progress(corridor, corridor.tally, today)
    sheet = diagram(corridor, request.now, foretold, done)
    context = addresses(request.corridor) | {
        "sheet": sheet,
        "foretold": foretold,
        "done": done,
        "plan_said": SAID,
        "drawing": draw_time_location(sheet.told).svg("time-location") if sheet else "",
        "titleblock": titleblock(request, ("Plan", "straight, from the contract's dates")),
    }
    return render(request, "board/time_location.html", context)


@require_GET
@corridor_page("morning")
def done(request: CorridorRequest) -> HttpResponse:
    """List the releases of a span of days and the concrete placed in it: the rows behind every count of production."""
    chosen = DoneFilter(request.GET, queryset=releases(request.corridor), request=request)
    found = chosen.qs
    if request.GET.get("format") == "csv" and not chosen.form.errors:
        return releases_file(request.corridor, listed(found))
    page = Paginator(listed(found), ROWS_ON_A_PAGE).get_page(request.GET.get("page"))
    context = {
        "filter": chosen,
        "page": page,
        "stages": by_stage(found),
        "concrete": concrete(request.corridor, *chosen.span) if chosen.is_whole else None,
        "gained": _gained(request, *chosen.span) if chosen.is_whole else None,
        "said": _filter_words(chosen),
        "titleblock": titleblock(request, ("Shown", _filter_words(chosen) or "everything so far")),
    }
    return render(request, "board/done.html", context)


def _gained(request: CorridorRequest, first: date | None, last: date | None) -> dict[str, Decimal] | None:
    """Return percent complete as a span began and ended, and the points between; None where either is not known."""
    made = progress(request.corridor, request.corridor.tally, request.corridor.day(request.now))
    begun = made.before(first) if first else None
    over = made.before(last + timedelta(days=1)) if last else request.corridor.tally.percent()
    if begun is None or over is None:
        return None
    return {"begun": queries.tenth(begun), "over": queries.tenth(over), "points": queries.tenth(over - begun)}


def _counts(shown: list[Row]) -> list[tuple[int, str]]:
    """Return what the count sentence tells of the rows shown: how many, and what they do."""
    told = [
        (
            sum(row.point.state == "inspected" and not row.standing.abandoned for row in shown),
            "waits for the engineer",
            "wait for the engineer",
        ),
        (sum(row.held for row in shown), "is held", "are held"),
        (sum(row.may_be_built for row in shown), "may be built today", "may be built today"),
    ]
    return [(count, one_ if count == 1 else many) for count, one_, many in told if count]


def _sums(corridor: Corridor, shown: list[Row]) -> dict[str, Any]:
    """Return what of the work at the foundations shown is done; the abandoned among them count nothing."""
    done = [row.standing.released for row in shown if not row.standing.abandoned]
    released = {stage.key: sum(each > place for each in done) for place, stage in enumerate(STAGES)}
    made, of = sum(done), len(done) * len(STAGES)
    percent = queries.tenth(percent_complete(released, len(done), corridor.weights))
    return {"percent": percent, "released": made, "of": of, "left": of - made}


def _filter_words(chosen: FilterSet) -> str:
    """Say the filter as a sentence, for the title block and for paper."""
    said = []
    for name, field in chosen.form.fields.items():
        value = chosen.form.cleaned_data.get(name)
        if value in (None, ""):
            continue
        choices = dict(getattr(field, "choices", []) or []) if name not in {"crew", "alignment"} else {}
        typed = choices.get(value) or (chosen.form.data.get(name) if name in {"start", "to"} else value)
        said.append(f"{str(field.label).lower()} {str(typed).lower() if choices else typed}")
    return ", ".join(said)


# ---- one foundation


def _found(request: CorridorRequest, mark: str) -> Foundation:
    found = Foundation.objects.select_related("design", "crew", "alignment", "replaces", "successor")
    foundation = get_object_or_404(found, corridor=request.corridor, mark=mark)
    foundation.corridor = request.corridor
    return foundation


@require_GET
@corridor_page("corridor")
def foundation(request: CorridorRequest, mark: str) -> HttpResponse:
    """Show one foundation: what the plans say, its hold points, what may be done next and what stands in the way."""
    return _show(request, _found(request, mark))


def _show(request: CorridorRequest, found: Foundation, status: int = 200, **refused: Any) -> HttpResponse:
    """Draw the foundation's page; `refused` is a form that was not accepted, with all that was typed."""
    page = one.page(request.corridor, found, request.roles, request.now)
    free = found.abandoned_at is None
    context = {
        "foundation": found,
        "page": page,
        "main": one.main_step(page.steps),
        "may_reopen": free and bool(request.roles & moves.roles("reopen")) and bool(page.released),
        "may_abandon": free and bool(request.roles & moves.ABANDON_ROLES),
        "reopen_form": refused.get("reopen") or ReopenForm(points=page.released, initial={"client_id": uuid7()}),
        "abandon_form": refused.get("abandon") or AbandonForm(initial={"client_id": uuid7()}),
        "look_form": refused.get("look") or LookForm(initial={"client_id": uuid7()}),
        "may_look": free and bool(request.roles & LOOK_ROLES) and page.has_open_hole,
        "refused": refused,
        "notice": _notice(request, page),
        "psi": f"{found.design.concrete_strength_psi:,}",
        "titleblock": titleblock(
            request, ("Foundation", found.mark), ("Design", found.design.name), ("Alignment", found.alignment.name)
        ),
    }
    return render(request, "board/foundation.html", context, status=status)


def _notice(request: CorridorRequest, page: one.Page) -> dict[str, Any] | None:
    """Return what a small notice form begins with, for those who may give notice and are not the foreman, who has a page for it."""
    point = page.row.point
    if Role.FOREMAN in request.roles or not (request.roles & moves.roles("give_notice")) or page.row.standing.abandoned:
        return None
    if moves.find("give_notice", point.state) is None or one.notice_reasons(page.row):
        return None
    opens = max(
        request.now + timedelta(hours=request.corridor.notice_hours), page.row.situation.gate.opens_at or request.now
    )
    return {"client_id": uuid7(), "day": opens.astimezone(request.corridor.zone).date()}


@require_POST
@corridor_page("corridor")
def look(request: CorridorRequest, mark: str) -> HttpResponse:
    """Enter that an open hole was looked at again."""
    found = _found(request, mark)
    form = LookForm(request.POST)
    if not form.is_valid():
        return _show(request, found, 422, look=form)
    if acted(request, form, look_again, foundation=found, note=form.cleaned_data["note"]) is None:
        return _show(request, found, 409, look=form)
    messages.success(request, f"The hole of {mark} is looked at again; the work in it may go on.")
    return redirect("board:foundation", request.corridor.slug, mark)


@require_POST
@corridor_page("corridor")
def reopen(request: CorridorRequest, mark: str) -> HttpResponse:
    """Withdraw a release because accepted work was disturbed."""
    found = _found(request, mark)
    points = list(found.hold_points.order_by("-place"))
    form = ReopenForm(request.POST, points=points)
    if not form.is_valid():
        return _show(request, found, 422, reopen=form)
    said = form.cleaned_data
    point = next(each for each in points if each.stage == said["stage"])
    if acted(request, form, acts.reopen, hold_point=point, reason=said["reason"]) is None:
        return _show(request, found, 409, reopen=form)
    messages.success(request, f"{point.get_stage_display()} of {mark} is reopened; what stood on it fell back.")
    return redirect("board:foundation", request.corridor.slug, mark)


@require_POST
@corridor_page("corridor")
def abandon(request: CorridorRequest, mark: str) -> HttpResponse:
    """Give up a foundation, with or without a successor."""
    found = _found(request, mark)
    form = AbandonForm(request.POST)
    if not form.is_valid():
        return _show(request, found, 422, abandon=form)
    successor = form.successor
    given = {"foundation": found, "reason": form.cleaned_data["reason"], "successor": successor}
    if acted(request, form, acts.abandon, **given) is None:
        return _show(request, found, 409, abandon=form)
    messages.success(request, f"{mark} is abandoned and stays in the record.")
    return redirect("board:foundation", request.corridor.slug, successor["mark"].upper() if successor else mark)
