"""Views of the phone: today's list, notices, one inspection and its receipt."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from typing import Any
from uuid import UUID, uuid5

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from apps.calc.stages import STAGE_BY_KEY
from apps.corridor.access import Role
from apps.corridor.models import Corridor, Crew
from apps.field import queries
from apps.field.forms import ANSWERS, InspectionForm
from apps.field.photos import FIX, Came, came
from apps.holdpoints import acts, blockers, concrete, judging, moves
from apps.holdpoints.acts import Incomplete
from apps.holdpoints.models import HoldPoint, Inspection
from apps.materials.models import Instrument
from apps.record.acts import Refused
from apps.record.fixes import FIELDS, OLDEST_S
from apps.record.ids import uuid7
from apps.sheet.frame import CorridorRequest, corridor_page
from apps.sheet.standing import standings

CLOCKS = tuple(f"{hour:02d}:{minute:02d}" for hour in range(6, 20) for minute in (0, 30))
DAYS_AHEAD = 15
MAY_ASK_WHERE = "geolocation=(self)"
"""The permissions policy of the page that may ask the phone where it is; every other page has that of config.permissions."""


@require_GET
@corridor_page("field")
def today(request: CorridorRequest) -> HttpResponse:
    """Show what is to be looked at; to a foreman, what came back and what he may build and ask for."""
    if Role.FOREMAN in request.roles:
        return _foreman(request, request.GET, {})
    context = {
        "today": queries.inspectors(request.corridor, request.now),
        "may_inspect": bool(request.roles & moves.roles("submit_inspection")),
    }
    return render(request, "field/today.html", context)


# ---- notices


def _crew(request: CorridorRequest) -> Crew | None:
    return next((held.crew for held in request.memberships if held.crew is not None), None)


def _foreman(
    request: CorridorRequest, typed: Mapping[str, Any], refused: Mapping[str, list[str]], status: int = 200
) -> HttpResponse:
    """Draw the foreman's page, with what he typed and what was refused beside it."""
    here, crew = request.corridor, _crew(request)
    local = here.day(request.now)
    days = queries.working_days(here, max(local, here.starts_on), DAYS_AHEAD)
    until = datetime.combine(local + timedelta(days=2), time(), here.zone)
    horizon = datetime.combine(days[-1] if days else local, time.fromisoformat(CLOCKS[-1]), here.zone)
    page = queries.foremans(here, crew, request.now, until, horizon)
    stage = typed.get("stage", "")
    if stage not in page.choices:
        stage = next((key for key in STAGE_BY_KEY if any(not line.why for line in page.choices.get(key, []))), "")
    proposed = _proposed(here, days, request.now)
    lines = [(line, refused.get(line.mark, [])) for line in page.choices.get(stage, [])]
    context = {
        "page": page,
        "crew": crew,
        "stages": [STAGE_BY_KEY[key] for key in STAGE_BY_KEY if key in page.choices],
        "stage": STAGE_BY_KEY.get(stage),
        "own": [each for each in lines if queries.concerns(each[0].point.foundation.crew_id, crew)],
        "others": [each for each in lines if not queries.concerns(each[0].point.foundation.crew_id, crew)],
        "days": days,
        "clocks": CLOCKS,
        "day": typed.get("day") or str(proposed.date()),
        "clock": typed.get("clock") or f"{proposed:%H:%M}",
        "note": typed.get("note", ""),
        "marks": typed.get("marks") or [typed.get("mark", "")],
        "client_id": typed.get("client_id") or str(uuid7()),
        "refused": refused,
    }
    return render(request, "field/foreman.html", context, status=status)


def _proposed(corridor: Corridor, days: Sequence[date], at: datetime) -> datetime:
    """Return the first time at which notice given now is early enough, from 7:30 on; the last one of the list where none is."""
    soonest = at + timedelta(hours=corridor.notice_hours)
    times = [time.fromisoformat(clock) for clock in CLOCKS if clock >= "07:30"]
    offered = [datetime.combine(day, each, corridor.zone) for day in days or [corridor.day(at)] for each in times]
    return next((each for each in offered if each >= soonest), offered[-1])


@require_POST
@corridor_page("field")
def notice(request: CorridorRequest) -> HttpResponse:
    """Give notice for every ticked foundation; each is an act of its own, and each refusal stands beside its line."""
    if not request.roles & moves.roles("give_notice"):
        raise PermissionDenied("Notice is given by the foreman, the inspector, the engineer or the project office.")
    names = ("stage", "day", "clock", "note", "client_id")
    typed: dict[str, Any] = {name: request.POST.get(name, "").strip() for name in names}
    typed["marks"] = request.POST.getlist("marks")
    try:
        day, clock = date.fromisoformat(typed["day"]), time.fromisoformat(typed["clock"])
        asked_for = datetime.combine(day, clock.replace(tzinfo=None), request.corridor.zone)
        form_id = UUID(typed["client_id"])
    except ValueError:
        return _foreman(request, typed, {"": ["Choose a day and a time."]}, status=422)
    if not typed["marks"]:
        return _foreman(request, typed, {"": ["Tick at least one foundation."]}, status=422)
    refused, given = _give(request, typed, asked_for, form_id)
    if given:
        title, when = STAGE_BY_KEY[typed["stage"]].title.lower(), f"{asked_for:%a %-d %b, %H:%M}"
        messages.success(request, f"Notice given: {title} at {', '.join(given)}, {when}.{_short(request, asked_for)}")
    if refused:
        return _foreman(request, typed | {"marks": list(refused)}, refused, status=409)
    return redirect("field:today", request.corridor.slug)


def _short(request: CorridorRequest, asked_for: datetime) -> str:
    """Say that a notice is shorter than agreed; empty where it is not."""
    hours = (asked_for - request.now).total_seconds() / 3600
    agreed = request.corridor.notice_hours
    return (
        f" That is {hours:.0f} h ahead; {agreed} h are agreed: the inspector may not be there."
        if hours < agreed
        else ""
    )


def _give(
    request: CorridorRequest, typed: Mapping[str, Any], asked_for: datetime, form_id: UUID
) -> tuple[dict[str, list[str]], list[str]]:
    """Give the notices one by one; return what was refused by mark, and the marks that were given."""
    points = HoldPoint.objects.filter(
        corridor=request.corridor, stage=typed["stage"], foundation__mark__in=typed["marks"]
    ).select_related("foundation")
    found = {point.foundation.mark: point for point in points.order_by("foundation__distance_ft")}
    refused = {mark: ["There is no such hold point here."] for mark in typed["marks"] if mark not in found}
    given = []
    for mark, point in found.items():
        try:
            acts.give_notice(
                hold_point=point,
                asked_for=asked_for,
                crew=_crew(request),
                note=typed["note"],
                by=request.user,
                at=request.now,
                client_id=uuid5(form_id, str(point.pk)),
            )
            given.append(mark)
        except Refused as refusal:
            refused[mark] = list(refusal.reasons)
    return refused, given


@require_POST
@corridor_page("field")
def withdraw(request: CorridorRequest) -> HttpResponse:
    """Take a notice back."""
    mark, stage = request.POST.get("mark", ""), request.POST.get("stage", "")
    point = get_object_or_404(
        HoldPoint.objects.select_related("foundation"), corridor=request.corridor, foundation__mark=mark, stage=stage
    )
    try:
        client_id = UUID(request.POST.get("client_id", ""))
    except ValueError:
        messages.error(request, "The page was not whole: open it again, then withdraw.")
        return redirect("field:today", request.corridor.slug)
    try:
        acts.withdraw_notice(hold_point=point, by=request.user, at=request.now, client_id=client_id)
        messages.success(request, f"Notice for {point} is withdrawn.")
    except Refused as refusal:
        messages.error(request, " ".join(refusal.reasons))
    return redirect("field:today", request.corridor.slug)


# ---- one inspection


def _point(request: CorridorRequest, mark: str, stage: str) -> HoldPoint:
    """Return the hold point that the address names. Http404 if there is none."""
    if stage not in STAGE_BY_KEY:
        raise Http404("There is no such stage.")
    found = HoldPoint.objects.select_related("foundation__design", "foundation__crew", "foundation__corridor__edition")
    return get_object_or_404(found, corridor=request.corridor, foundation__mark=mark, stage=stage)


def _may_inspect(request: CorridorRequest) -> bool:
    return bool(request.roles & moves.roles("submit_inspection"))


def _why_not(request: CorridorRequest, point: HoldPoint) -> list[str]:
    """Return why this person cannot inspect this hold point now; the act refuses by the same rules."""
    reasons = []
    if not _may_inspect(request):
        reasons.append("Readings are taken by inspectors and the engineer; you may read along.")
    if moves.find("submit_inspection", point.state) is None:
        reasons.append(f"The hold point is {point.get_state_display().lower()}.")
    reasons += blockers.to_inspect(blockers.situation(point, request.now), request.now)
    return list(dict.fromkeys(reasons))


def _form(request: CorridorRequest, point: HoldPoint) -> InspectionForm:
    plan = judging.facts_at(point)
    rows = judging.applicable(point, request.corridor.edition.requirements.at(point.stage), plan)
    instruments = Instrument.objects.filter(corridor=request.corridor)
    data, files = (request.POST, request.FILES) if request.method == "POST" else (None, None)
    known = concrete.on_file(point.foundation, request.now) if any(row.spec.on_file for row in rows) else {}
    return InspectionForm(point, rows, instruments, plan=plan, at=request.now, on_file=known, data=data, files=files)


@dataclass
class Said:
    """What the page says besides the form: what was refused, with the place to go to."""

    title: str = ""
    lines: list[tuple[str, str]] = field(default_factory=list)
    """sentence, and the id within the page that it goes to, empty for none."""
    status: int = 200


@require_http_methods(["GET", "HEAD", "POST"])
@corridor_page("field")
def inspection(request: CorridorRequest, mark: str, stage: str) -> HttpResponse:
    """Show, judge and send one inspection. Nothing typed is lost, whatever comes of it."""
    point = _point(request, mark, stage)
    if request.method != "POST":
        reasons = _why_not(request, point)
        return (
            _closed(request, point, reasons)
            if reasons
            else _draw(request, point, _form(request, point), Came(), Said())
        )
    if not _may_inspect(request):
        return _closed(request, point, _why_not(request, point), status=403)
    form = _form(request, point)
    taken = came(request, form)
    if taken.wrong:
        return _draw(request, point, form, taken, Said("Nothing was sent, nothing is lost.", taken.wrong, 422))
    if request.POST.get("action") != "send":
        return _draw(request, point, form, taken, Said())
    return _send(request, point, form, taken)


def _send(request: CorridorRequest, point: HoldPoint, form: InspectionForm, taken: Came) -> HttpResponse:
    """Hand the inspection to the act; show its receipt, or the form again with what was refused."""
    try:
        answer = acts.submit_inspection(
            hold_point=point,
            answers=form.answers,
            photos=taken.shots,
            note=form.note,
            looked_at=form.looked_at,
            by=request.user,
            at=request.now,
            client_id=form.client_id,
        )
    except Incomplete as missing:
        links = [f"check-{key.replace('.', '-')}" for key in missing.faults] + [
            f"photo-{view}" for view in missing.views
        ]
        number = len(links)
        title = f"{number} answer{'s' if number != 1 else ''} missing. Nothing was sent, nothing is lost."
        lines = list(zip(missing.reasons, links, strict=True))
        return _draw(request, point, form, taken, Said(title, lines, 422))
    except Refused as refusal:
        lines = [(reason, "") for reason in refusal.reasons]
        return _draw(request, point, form, taken, Said("Nothing was sent, nothing is lost.", lines, 409))
    sent_now = Inspection.objects.get(pk=answer["inspection"])
    return redirect("field:sent", request.corridor.slug, point.foundation.mark, point.stage, sent_now.attempt)


def _frame_of(point: HoldPoint) -> dict[str, Any]:
    """Return what the head of an inspection page shows."""
    return {
        "point": point,
        "stage": STAGE_BY_KEY[point.stage],
        "standing": standings([point.foundation])[point.foundation_id],
    }


def _closed(request: CorridorRequest, point: HoldPoint, reasons: list[str], status: int = 200) -> HttpResponse:
    """Show why there is nothing to enter here, and where to go on."""
    context = _frame_of(point) | {"reasons": reasons, "last": queries.last_attempt(point), "refused": status != 200}
    return render(request, "field/closed.html", context, status=status)


def _draw(request: CorridorRequest, point: HoldPoint, form: InspectionForm, taken: Came, said: Said) -> HttpResponse:
    """Draw the inspection page."""
    edition, photos = request.corridor.edition, taken.photos
    context = _frame_of(point) | {
        "form": form,
        "said": said,
        "slots": [(key, title, photos.get(key)) for key, title in form.views.items()],
        "open_photos": [(key, title) for key, title in form.views.items() if key not in photos],
        "back": queries.to_show(point),
        "preconditions": edition.stages.get(point.stage, {}).get("preconditions", []),
        "judged": request.method == "POST",
        "answers_of_three": ANSWERS,
        "fix_fields": [f"{FIX}{name}" for name in FIELDS],
        "oldest_s": OLDEST_S,
    }
    page = render(request, "field/inspection.html", context, status=said.status)
    page.headers["Permissions-Policy"] = MAY_ASK_WHERE
    return page


@require_POST
@corridor_page("field")
def judge(request: CorridorRequest, mark: str, stage: str) -> HttpResponse:
    """Answer one check as soon as something is typed: its verdict, those computed from it, what is still open. Nothing is kept."""
    point = _point(request, mark, stage)
    form = _form(request, point)
    checks = form.with_key(request.GET.get("key", ""))
    if not checks:
        raise Http404("There is no such requirement here.")
    context = {"check": checks[0], "also": checks[1:], "form": form, "swapped": True}
    return render(request, "field/_judged.html", context)


@require_GET
@corridor_page("field")
def sent(request: CorridorRequest, mark: str, stage: str, attempt: int) -> HttpResponse:
    """Show the receipt of a sent inspection."""
    found = queries.receipt(request.corridor, mark, stage, attempt)
    if found is None:
        raise Http404("There is no such inspection.")
    return render(request, "field/sent.html", found | {"may_inspect": _may_inspect(request)})
