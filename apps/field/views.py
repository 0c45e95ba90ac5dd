"""Views of the phone: today's list, one inspection, notices."""

from collections.abc import Mapping
from datetime import date, datetime, time, timedelta
from typing import Any
from uuid import UUID, uuid5

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_POST

from apps.calc.stages import STAGE_BY_KEY
from apps.corridor.access import Role
from apps.corridor.models import Crew
from apps.field import queries
from apps.field.forms import InspectionForm
from apps.holdpoints import acts, blockers, judging, moves
from apps.holdpoints.acts import Incomplete, Shot
from apps.holdpoints.models import HoldPoint, Inspection
from apps.materials.models import Instrument
from apps.record.acts import Refused
from apps.record.ids import uuid7
from apps.record.models import Attachment
from apps.record.photos import NotAPhoto, keep
from apps.sheet.frame import CorridorRequest, corridor_page
from apps.sheet.standing import standings

CLOCKS = tuple(f"{hour:02d}:{minute:02d}" for hour in range(6, 19) for minute in (0, 30))


@require_GET
@corridor_page("field")
def today(request: CorridorRequest) -> HttpResponse:
    """Show what is to be looked at, or the foreman's page."""
    if Role.FOREMAN in request.roles:
        return _foreman(request)
    found = queries.inspectors(request.corridor, request.now)
    return render(
        request,
        "field/today.html",
        {"today": found, "may_inspect": bool(request.roles & moves.roles("submit_inspection"))},
    )


def _crew(request: CorridorRequest) -> Crew | None:
    return next((held.crew for held in request.memberships if held.crew is not None), None)


def _foreman(
    request: CorridorRequest,
    typed: Mapping[str, Any] | None = None,
    refused: Mapping[str, list[str]] | None = None,
    status: int = 200,
) -> HttpResponse:
    """Draw the foreman's page, with what he typed and what was refused beside it."""
    local = request.now.astimezone(request.corridor.zone)
    tomorrow = local.date() + timedelta(days=1)
    until = datetime.combine(tomorrow, time(18), request.corridor.zone)
    page = queries.foremans(request.corridor, _crew(request), request.now, until)
    stage = (typed or request.GET).get("stage", "")
    if stage not in page.ready:
        stage = next(iter(page.ready), "")
    days = [local.date() + timedelta(days=ahead) for ahead in range(15)]
    context = {
        "page": page,
        "crew": _crew(request),
        "stages": [STAGE_BY_KEY[key] for key in STAGE_BY_KEY if key in page.ready],
        "stage": STAGE_BY_KEY.get(stage),
        "lines": [(line, (refused or {}).get(line.mark, [])) for line in page.ready.get(stage, [])],
        "days": [day for day in days if request.corridor.works_on(day)],
        "clocks": CLOCKS,
        "typed": typed or {"day": str(tomorrow), "clock": "07:30", "note": "", "marks": []},
        "client_id": (typed or {}).get("client_id") or str(uuid7()),
        "refused": refused,
    }
    return render(request, "field/foreman.html", context, status=status)


@require_POST
@corridor_page("field")
def notice(request: CorridorRequest) -> HttpResponse:
    """Give notice for every ticked foundation; each is an act of its own, and each refusal stands beside its line."""
    stage, marks = request.POST.get("stage", ""), request.POST.getlist("marks")
    typed = {
        "stage": stage,
        "day": request.POST.get("day", ""),
        "clock": request.POST.get("clock", ""),
        "note": request.POST.get("note", "")[:200],
        "client_id": request.POST.get("client_id", ""),
        "marks": marks,
    }
    try:
        asked_for = datetime.combine(
            date.fromisoformat(typed["day"]), time.fromisoformat(typed["clock"]), request.corridor.zone
        )
        form_id = UUID(typed["client_id"])
    except ValueError:
        return _foreman(request, typed, {"": ["Choose a day and a time."]}, status=422)
    if not marks:
        return _foreman(request, typed, {"": ["Tick at least one foundation."]}, status=422)
    refused, given = _give(request, stage, marks, asked_for, typed["note"], form_id)
    if given:
        when = f"{asked_for:%a %-d %b, %H:%M}"
        messages.success(request, f"Notice given: {STAGE_BY_KEY[stage].title.lower()} at {', '.join(given)}, {when}.")
    if refused:
        typed["marks"] = list(refused)
        return _foreman(request, typed, refused, status=409)
    return redirect("field:today", request.corridor.slug)


def _give(
    request: CorridorRequest, stage: str, marks: list[str], asked_for: datetime, note: str, form_id: UUID
) -> tuple[dict[str, list[str]], list[str]]:
    """Give the notices one by one; return what was refused, and the marks that were given."""
    refused: dict[str, list[str]] = {}
    given = []
    points = HoldPoint.objects.filter(
        corridor=request.corridor, stage=stage, foundation__mark__in=marks
    ).select_related("foundation")
    for point in points.order_by("foundation__distance_ft"):
        try:
            acts.give_notice(
                hold_point=point,
                asked_for=asked_for,
                crew=_crew(request),
                note=note,
                by=request.user,
                at=request.now,
                client_id=uuid5(form_id, str(point.pk)),
            )
            given.append(point.foundation.mark)
        except Refused as refusal:
            refused[point.foundation.mark] = list(refusal.reasons)
    return refused, given


@require_POST
@corridor_page("field")
def withdraw(request: CorridorRequest) -> HttpResponse:
    """Take a notice back."""
    point = get_object_or_404(
        HoldPoint,
        corridor=request.corridor,
        foundation__mark=request.POST.get("mark", ""),
        stage=request.POST.get("stage", ""),
    )
    try:
        client_id = UUID(request.POST.get("client_id", ""))
        acts.withdraw_notice(hold_point=point, by=request.user, at=request.now, client_id=client_id)
        messages.success(request, f"Notice for {point} is withdrawn.")
    except ValueError:
        messages.error(request, "The page is too old: open it again, then withdraw.")
    except Refused as refusal:
        messages.error(request, " ".join(refusal.reasons))
    return redirect("field:today", request.corridor.slug)


# ---- one inspection


def _point(request: CorridorRequest, mark: str, stage: str) -> HoldPoint:
    """Return the hold point that the address names. Http404 with the words of the page otherwise."""
    if stage not in STAGE_BY_KEY:
        raise Http404("There is no such stage.")
    found = HoldPoint.objects.select_related("foundation__design", "foundation__crew", "foundation__corridor__edition")
    return get_object_or_404(found, corridor=request.corridor, foundation__mark=mark, stage=stage)


def _why_not(request: CorridorRequest, point: HoldPoint) -> list[str]:
    """Return why this person cannot inspect this hold point now; the act refuses by the same rules."""
    reasons = []
    if not request.roles & moves.roles("submit_inspection"):
        reasons.append("Inspectors and the engineer measure; you may read along.")
    if moves.find("submit_inspection", point.state) is None:
        reasons.append(f"The hold point is {point.get_state_display().lower()}: there is nothing to inspect now.")
    return reasons + blockers.to_inspect(blockers.situation(point, request.now), request.now)


def _form(request: CorridorRequest, point: HoldPoint, only: str = "") -> InspectionForm:
    rows = judging.applicable(point, request.corridor.edition.requirements.at(point.stage))
    instruments = list(Instrument.objects.filter(corridor=request.corridor))
    data, files = (request.POST, request.FILES) if request.method == "POST" else (None, None)
    return InspectionForm(point, rows, instruments, at=request.now, data=data, files=files, only=only)


@corridor_page("field")
def inspection(request: CorridorRequest, mark: str, stage: str) -> HttpResponse:
    """Show, judge and send one inspection. Nothing typed is lost, whatever comes of it."""
    point = _point(request, mark, stage)
    form = _form(request, point)
    views = request.corridor.edition.views(stage)
    wanted = judging.required_views(form.rows)
    titles = {key: title for key, title in views.items() if key in wanted}
    if request.method != "POST":
        return _draw(request, point, form, titles, {}, [])
    photos, wrong = _photos(request, form, titles)
    if request.POST.get("action") != "send" or wrong:
        return _draw(request, point, form, titles, photos, wrong, status=422 if wrong else 200)
    try:
        answer = acts.submit_inspection(
            hold_point=point,
            answers=form.answers,
            photos=[Shot(view, photo) for view, photo in photos.items()],
            note=form.note,
            looked_at=form.looked_at,
            by=request.user,
            at=request.now,
            client_id=form.client_id,
        )
    except Incomplete as missing:
        for check in form.checks:
            check.fault = missing.faults.get(check.key, {}).get("", "")
        return _draw(request, point, form, titles, photos, list(missing.reasons), status=422)
    except Refused as refusal:
        return _draw(request, point, form, titles, photos, list(refusal.reasons), status=409)
    return redirect("field:sent", request.corridor.slug, mark, stage, _attempt(answer["inspection"]))


def _attempt(inspection_id: str) -> int:
    """Return the number of an attempt."""
    return Inspection.objects.get(pk=inspection_id).attempt


def _photos(
    request: CorridorRequest, form: InspectionForm, titles: dict[str, str]
) -> tuple[dict[str, Attachment], list[str]]:
    """Seal the photos that came now, beside those kept from an earlier sending: a refused form loses none."""
    photos, wrong = form.kept(titles), []
    for view, title in titles.items():
        file = form.files.get(f"p:{view}")
        if file is None:
            continue
        try:
            photos[view] = keep(log=request.corridor.pk, file=file, at=request.now, taken_at=form.looked_at)
        except NotAPhoto as fault:
            wrong.append(f"{title}: {fault}")
    return photos, wrong


def _draw(
    request: CorridorRequest,
    point: HoldPoint,
    form: InspectionForm,
    titles: dict[str, str],
    photos: dict[str, Attachment],
    refused: list[str],
    status: int = 200,
) -> HttpResponse:
    """Draw the inspection page."""
    edition = request.corridor.edition
    reasons = _why_not(request, point)
    missing = [check for check in form.checks if not check.answered]
    context = {
        "point": point,
        "stage": STAGE_BY_KEY[point.stage],
        "standing": standings([point.foundation])[point.foundation_id],
        "form": form,
        "reasons": reasons,
        "refused": refused,
        "slots": [(key, title, photos.get(key)) for key, title in titles.items()],
        "missing": missing,
        "missing_photos": [(key, title) for key, title in titles.items() if key not in photos],
        "preconditions": edition.stages.get(point.stage, {}).get("preconditions", []),
        "cautions": edition.cautions,
        "edition": edition,
        "judged": request.method == "POST",
        "answers_of_three": (("yes", "Yes"), ("no", "No"), ("not seen", "Not seen")),
    }
    return render(request, "field/inspection.html", context, status=status)


@require_POST
@corridor_page("field")
def judge(request: CorridorRequest, mark: str, stage: str) -> HttpResponse:
    """Answer one check as soon as something is typed: its verdict, nothing kept."""
    point = _point(request, mark, stage)
    form = _form(request, point, only=request.GET.get("key", ""))
    if not form.checks:
        raise Http404("There is no such requirement here.")
    return render(request, "field/_verdict.html", {"check": form.checks[0]})


@require_GET
@corridor_page("field")
def sent(request: CorridorRequest, mark: str, stage: str, attempt: int) -> HttpResponse:
    """Show the receipt of a sent inspection."""
    found = queries.receipt(request.corridor, mark, stage, attempt)
    if found is None:
        raise Http404("There is no such inspection.")
    return render(request, "field/sent.html", found)
