"""Views of what proves the record: signed heads, a head kept outside, bundles, corrections, how a station stood on a day."""

import io
from datetime import date, datetime, time, timedelta
from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from apps.audits.models import Audit, Drawn
from apps.calc.stages import STAGES
from apps.corridor import entries
from apps.corridor.models import Corridor, Foundation
from apps.dossier import batch, bundle, paper
from apps.dossier.forms import BundleForm, CorrectionForm, HeadForm
from apps.dossier.views import entry_page
from apps.findings.models import Finding
from apps.holdpoints.models import HoldPoint
from apps.holdpoints.past import CannotBe, Then, stood
from apps.jobs import queue
from apps.record import heads, merkle, proofs
from apps.record.acts import Refused
from apps.record.heads import Kept
from apps.record.ids import uuid7
from apps.record.models import Entry, SignedHead
from apps.sheet.acting import acted
from apps.sheet.frame import CorridorRequest, corridor_page, titleblock
from apps.sheet.glyphs import Standing

DAYS = 60
"""So many days' heads are listed; all are kept."""
LARGEST_HEAD = 10_000
"""A file of a signed head has some 400 bytes."""


def new(form: type[forms.Form]) -> forms.Form:
    """Return an empty form with the id that makes a repeat one submission."""
    return form(initial={"client_id": uuid7()})


# ---- signed heads


@require_http_methods(["GET", "HEAD", "POST"])
@corridor_page("record")
def proof(request: CorridorRequest) -> HttpResponse:
    """Show the newest signed head and those kept each day; hold a head that somebody kept against today's record."""
    form, compared = HeadForm(), None
    if request.method == "POST":
        form = HeadForm(request.POST, request.FILES)
        if form.is_valid():
            compared = _compared(request.corridor, form.cleaned_data["head"].read(LARGEST_HEAD + 1))
    days = list(reversed(heads.daily(request.corridor.pk, request.corridor.day).items()))
    newest = heads.current(request.corridor.pk)
    context = {
        "head": newest,
        "signed_at": datetime.fromisoformat(str(newest.said["at"])) if newest else None,
        "kept": SignedHead.objects.filter(log=request.corridor.pk).count(),
        "days": days[:DAYS],
        "form": form,
        "compared": compared,
        "bundle": new(BundleForm),
        "may_receive": bool(request.roles & entries.RECEIVERS),
        "titleblock": titleblock(request, ("Heads kept", f"{len(days)} days")),
    }
    return render(request, "dossier/proof.html", context, status=422 if form.errors else 200)


def _compared(corridor: Corridor, data: bytes) -> tuple[bool, str]:
    """Say whether today's record begins with what a kept head covers, and what that means."""
    now = heads.current(corridor.pk)
    try:
        kept = heads.from_text(data.decode() if len(data) <= LARGEST_HEAD else "")
    except ValueError:  # UnicodeDecodeError is one
        return False, "This file is no signed head of a record. Nothing was compared."
    if now is None or str(kept.said["log"]) != str(corridor.pk):
        return False, f"This head is of another record: {kept.said['origin']}. Nothing was compared."
    if not kept.is_signed():
        return (
            False,
            "The head that you kept is not signed by the key that it names: it was altered, or never made here.",
        )
    if kept.size > now.size:
        return (
            False,
            f"Your head covers {kept.size} entries, the record has {now.size}: the end of the record was cut off.",
        )
    if not _begins(corridor, kept, now):
        return False, f"The record does not begin with the {kept.size} entries that your head covers: it was changed."
    return True, f"Today's record of {now.size} entries begins with the {kept.size} that your head covers, unchanged."


def _begins(corridor: Corridor, kept: Kept, now: Kept) -> bool:
    if kept.size == 0:
        return kept.root == merkle.EMPTY_ROOT.hex()
    try:
        steps = [bytes.fromhex(step) for step in proofs.consistency(corridor.pk, kept.size, now.size)]
    except LookupError:
        return False
    return merkle.consistent(kept.size, now.size, bytes.fromhex(kept.root), bytes.fromhex(now.root), steps)


@require_GET
@corridor_page("record")
def head(request: CorridorRequest, size: int) -> HttpResponse:
    """Hand out a head as a file to keep: the one of so many entries where it was kept, else the newest, which covers those too."""
    row = SignedHead.objects.filter(log=request.corridor.pk, size=size).first()
    newest = heads.current(request.corridor.pk)
    kept = Kept(row.statement, row.signature) if row else newest
    if kept is None or kept.size < size:
        raise Http404("The record has no head of so many entries yet.")
    answer = HttpResponse(kept.as_text(), content_type="application/json")
    answer["Content-Disposition"] = f'attachment; filename="head-{request.corridor.slug}-{kept.size}.json"'
    return answer


# ---- bundles


@require_POST
@corridor_page("record")
def whole_bundle(request: CorridorRequest) -> HttpResponse:
    """Have the bundle of the whole record made in the background, or that of an audit's sample."""
    form = BundleForm(request.POST)
    number, slug = _number(request.POST.get("audit", "")), request.corridor.slug
    audit = Audit.objects.filter(corridor=request.corridor, number=number).first()
    back = redirect("dossier:audit", slug, number) if audit else redirect("dossier:proof", slug)
    if not form.is_valid():
        messages.error(request, "The page was not whole: open it again, then ask for the bundle.")
        return back
    drawn = Drawn.objects.filter(audit=audit).values_list("inspection__hold_point__foundation__mark", flat=True)
    marks = sorted(set(drawn)) if audit else []
    subject = audit.name if audit else "the whole record"
    if not _handed_over(request, form, subject, marks):
        return back
    address = request.build_absolute_uri(reverse("dossier:station", args=[slug, "MARK"]))
    arguments = {
        "marks": marks,
        "originals": form.cleaned_data["originals"],
        "name": f"{slug}-{audit.name.lower() if audit else 'record'}.zip",
        "address": address.replace("MARK", batch.MARK),
    }
    try:
        job = queue.ask(
            kind=batch.BUNDLE, by=request.user, at=request.now, corridor=request.corridor, arguments=arguments
        )
    except Refused as refusal:
        messages.error(request, " ".join(refusal.reasons))
        return back
    return redirect("jobs:job", slug, job.pk)


def _number(text: str) -> int:
    """Return an audit's number as typed; 0, which no audit has, for anything else."""
    return int(text) if text.isascii() and text.isdigit() and len(text) < 9 else 0


@require_POST
@corridor_page("record")
def station_bundle(request: CorridorRequest, mark: str) -> HttpResponse:
    """Hand over the bundle of one station; that it was handed over is an entry, which the bundle holds."""
    foundation = get_object_or_404(
        Foundation.objects.select_related("design", "alignment", "crew"), corridor=request.corridor, mark=mark
    )
    form = BundleForm(request.POST)
    if not form.is_valid() or not _handed_over(request, form, foundation.mark, [foundation.mark]):
        return redirect("dossier:station", request.corridor.slug, mark)
    made = io.BytesIO()
    address = request.build_absolute_uri(reverse("dossier:station", args=[request.corridor.slug, mark]))
    bundle.write(
        made,
        request.corridor,
        [foundation],
        originals=form.cleaned_data["originals"],
        paper=lambda each: paper.dossier(request.corridor, each.mark, at=request.now, address=address, form="archive"),
    )
    answer = HttpResponse(made.getvalue(), content_type="application/zip")
    answer["Content-Disposition"] = f'attachment; filename="{request.corridor.slug}-{mark}.zip"'
    return answer


def _handed_over(request: CorridorRequest, form: forms.Form, subject: str, marks: list[str]) -> bool:
    """Enter that a bundle is handed over; say why not where it may not be."""
    try:
        entries.hand_over(
            corridor=request.corridor,
            subject=subject,
            marks=marks,
            originals=form.cleaned_data["originals"],
            by=request.user,
            at=request.now,
            client_id=form.cleaned_data["client_id"],
        )
    except Refused as refusal:
        messages.error(request, " ".join(refusal.reasons))
        return False
    return True


# ---- corrections


@require_POST
@corridor_page("record")
def correct(request: CorridorRequest, sequence: int) -> HttpResponse:
    """Enter that an entry is mistaken, and what is right."""
    found = get_object_or_404(Entry, log=request.corridor.pk, sequence=sequence)
    form = CorrectionForm(request.POST)
    if form.is_valid():
        given = {"corridor": request.corridor, "sequence": sequence, **form.cleaned_data}
        if answer := acted(request, form, entries.correct_entry, **given):
            messages.success(request, f"Entry {answer['entry']} corrects entry {sequence}. Both stay.")
            return redirect("dossier:entry", request.corridor.slug, sequence)
    return entry_page(request, found, form, status=422)


# ---- as it stood


@require_GET
@corridor_page("record")
def past(request: CorridorRequest, mark: str) -> HttpResponse:
    """Show how a foundation stood at the end of a day, rebuilt from its entries alone."""
    foundation = get_object_or_404(Foundation.objects.select_related("design"), corridor=request.corridor, mark=mark)
    day, wrong = _day(request)
    until = datetime.combine(day + timedelta(days=1), time(), request.corridor.zone)
    about = Entry.objects.of_log(request.corridor.pk).about(mark)
    before = list(about.filter(received_at__lt=until))
    then, fault = _stood(before)
    context = {
        "foundation": foundation,
        "day": day,
        "wrong": wrong,
        "then": then,
        "fault": fault,
        "standing": _standing(foundation, then),
        "columns": [
            (stage, then.points.get(stage.key), _states().get(_state(then, stage.key), "")) for stage in STAGES
        ],
        "findings": [(each, str(Finding.State(each.state).label)) for each in then.findings.values()],
        "after": about.count() - len(before),
        "covered": heads.upto(request.corridor.pk, before[-1].sequence) if before else None,
        "titleblock": titleblock(request, ("Station", mark), ("As it stood", f"{day:%-d %b %Y}, end of day")),
    }
    return render(request, "dossier/past.html", context, status=422 if wrong else 200)


def _day(request: CorridorRequest) -> tuple[date, str]:
    """Return the day asked for, today without one; and what is wrong with what was typed."""
    typed, today = request.GET.get("day", "").strip(), request.corridor.day(request.now)
    try:
        return (date.fromisoformat(typed) if typed else today), ""
    except ValueError:
        return today, f"“{typed}” is no day; write it as {today}."


def _stood(before: list[Entry]) -> tuple[Then, str]:
    try:
        return stood(before), ""
    except (CannotBe, KeyError) as fault:
        return Then(entries=len(before)), f"The entries do not follow each other: {fault}"


def _states() -> dict[str, str]:
    return {str(value): str(label) for value, label in HoldPoint.State.choices}


def _state(then: Then, stage: str) -> str:
    return then.points[stage].state if stage in then.points else ""


def _standing(foundation: Foundation, then: Then) -> Standing:
    """Return the glyph of that day."""
    released = 0
    for stage in STAGES:
        if _state(then, stage.key) != "released":
            break
        released += 1
    following: Any = then.points.get(STAGES[released].key) if released < len(STAGES) else None
    return Standing(
        family=foundation.design.family,
        released=released,
        next_state=following.state if following else "",
        held=then.held,
        open_finding=any(each.is_open for each in then.findings.values()),
        condition=bool(then.conditions),
        abandoned=bool(then.abandoned),
    )
