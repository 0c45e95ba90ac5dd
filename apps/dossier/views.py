"""Views of the auditor: one station's whole history, entry by entry."""

import json
from pathlib import PurePath

from django.contrib import messages
from django.core.files.storage import default_storage
from django.http import Http404, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_GET, require_POST

from apps.audits.acts import READERS
from apps.calc.errors import NotAReading
from apps.calc.stages import STAGES
from apps.calc.stationing import parse_station
from apps.corridor.entries import CORRECTORS, RECEIVERS
from apps.corridor.models import Foundation
from apps.dossier import batch, paper, queries
from apps.dossier.forms import BundleForm, CorrectionForm
from apps.jobs import queue
from apps.record import heads, papers, proofs
from apps.record.acts import Refused
from apps.record.ids import uuid7
from apps.record.models import Attachment, Entry
from apps.record.photos import shown_name
from apps.record.whole import agrees
from apps.sheet import wording
from apps.sheet.frame import CorridorRequest, corridor_page, titleblock
from apps.sheet.pdf import FORMS, SIZES
from apps.sheet.standing import standings


@require_GET
@corridor_page("record")
def stations(request: CorridorRequest) -> HttpResponse:
    """Find a station by mark or station; an unknown one shows the nearest."""
    asked = request.GET.get("find", "").strip()
    everything = list(request.corridor.foundations.select_related("design").up_station())
    found, near = _matching(request, asked, everything)
    shown = found or near
    context = {
        "asked": asked,
        "found": found,
        "near": near,
        "rows": [(each, drawn) for each, drawn in zip(shown, _drawn(shown), strict=True)],
        "total": len(everything),
        "may_read_audits": bool(request.roles & READERS),
        "titleblock": titleblock(request, ("Foundations", f"{len(everything)}")),
    }
    return render(request, "dossier/stations.html", context)


def _matching(
    request: CorridorRequest, asked: str, everything: list[Foundation]
) -> tuple[list[Foundation], list[Foundation]]:
    """Return what a typed mark or station finds; the nearest where that is nothing."""
    if not asked:
        return everything, []
    found = [each for each in everything if asked.upper() in each.mark]
    return (found, []) if found else _by_station(request, asked)


def _by_station(request: CorridorRequest, asked: str) -> tuple[list[Foundation], list[Foundation]]:
    """Return what stands at a typed station, or else the nearest; neither if it is no station."""
    try:
        wanted = parse_station(asked)
    except NotAReading:
        return [], []
    found = queries.at_station(request.corridor, wanted)
    return found, [] if found else queries.nearest(request.corridor, wanted)


def _drawn(foundations: list[Foundation]) -> list[object]:
    found = standings(foundations)
    return [found[each.pk] for each in foundations]


@require_GET
@corridor_page("record")
def station(request: CorridorRequest, mark: str) -> HttpResponse:
    """Show everything that ever happened at one foundation."""
    rows = Foundation.objects.select_related("design", "alignment", "crew", "replaces", "successor")
    foundation = get_object_or_404(rows, corridor=request.corridor, mark=mark)
    chosen = {name: request.GET.get(name, "") for name in ("kind", "person", "stage")}
    shown = queries.station(request.corridor, foundation, **chosen)
    context = {
        "shown": shown,
        "chosen": chosen,
        "kinds": wording.KINDS,
        "stages": STAGES,
        "people": shown.people,
        "printed": _printed(request),
        "bundle": BundleForm(initial={"client_id": uuid7()}),
        "may_receive": bool(request.roles & RECEIVERS),
        "titleblock": titleblock(
            request,
            ("Station", f"{foundation.mark}"),
            ("Entries", f"{shown.total} of {shown.head.size}"),
            ("Root", shown.head.root[:12]),
        ),
    }
    return render(request, "dossier/station.html", context)


def _printed(request: CorridorRequest) -> dict[str, object] | None:
    """Compare the root of a print, that its code brings along, with the root that the record had at that entry."""
    root, size = request.GET.get("root", "").lower(), request.GET.get("size", "")
    if not root or not (size.isascii() and size.isdigit() and len(size) < 16):
        return None
    try:
        agrees_then = proofs.root_at(request.corridor.pk, int(size)) == root
    except LookupError:
        agrees_then = False
    return {"size": int(size), "root": root[:64], "agrees": agrees_then}


def _paper(data: QueryDict) -> tuple[str, str]:
    """Return size and form that were asked for; letter and for reading where nothing known was."""
    size, form = data.get("size", ""), data.get("form", "")
    return (size if size in SIZES else SIZES[0]), (form if form in FORMS else "ua")


@require_GET
@corridor_page("record")
def dossier(request: CorridorRequest, mark: str) -> HttpResponse:
    """Hand out the dossier of one foundation as PDF: ?size=A4, ?form=archive."""
    size, form = _paper(request.GET)
    address = request.build_absolute_uri(reverse("dossier:station", args=[request.corridor.slug, mark]))
    try:
        written = paper.dossier(request.corridor, mark, at=request.now, address=address, size=size, form=form)
    except Foundation.DoesNotExist as fault:
        raise Http404(f"There is no foundation {mark}.") from fault
    answer = HttpResponse(written, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{mark}-dossier.pdf"'
    return answer


@require_POST
@corridor_page("record")
def dossiers(request: CorridorRequest) -> HttpResponse:
    """Ask for the dossiers of the foundations of a list: those named by `mark`, else those that `find` finds, else all."""
    size, form = _paper(request.POST)
    asked, marks = request.POST.get("find", "").strip(), request.POST.getlist("mark")
    if asked and not marks:
        everything = list(request.corridor.foundations.select_related("design").up_station())
        marks = [each.mark for each in _matching(request, asked, everything)[0]]
        if not marks:
            messages.error(request, f"There is no foundation at “{asked}”, so no dossier to write.")
            return redirect("dossier:stations", request.corridor.slug)
    address = request.build_absolute_uri(reverse("dossier:station", args=[request.corridor.slug, "MARK"]))
    arguments = {"marks": sorted(marks), "size": size, "form": form, "address": address.replace("MARK", batch.MARK)}
    try:
        job = queue.ask(
            kind=batch.KIND, by=request.user, at=request.now, corridor=request.corridor, arguments=arguments
        )
    except Refused as refusal:
        messages.error(request, " ".join(refusal.reasons))
        return redirect("dossier:stations", request.corridor.slug)
    return redirect("jobs:job", request.corridor.slug, job.pk)


@require_GET
@corridor_page("record")
def entry(request: CorridorRequest, sequence: int) -> HttpResponse:
    """Show one entry as it was written, with its hash recomputed and its way to the root."""
    found = get_object_or_404(Entry, log=request.corridor.pk, sequence=sequence)
    return entry_page(request, found, CorrectionForm(initial={"client_id": uuid7()}))


def entry_page(request: CorridorRequest, found: Entry, form: CorrectionForm, status: int = 200) -> HttpResponse:
    """Draw an entry, with the form that corrects it where this person may."""
    log, sequence = request.corridor.pk, found.sequence
    head = heads.current(log)
    own = found.actor == request.user.get_username() and bool(request.roles & CORRECTORS)
    context = {
        "entry": found,
        "words": wording.sentence(found),
        "signed_with": wording.signed_with(found),
        "whole": agrees(found),
        "payload": json.dumps(found.payload, indent=2, ensure_ascii=False),
        "rows": [(table, len(named)) for table, named in found.rows.items()],
        "head": head,
        "path": proofs.inclusion(log, [sequence], head.size)[sequence] if head and sequence <= head.size else [],
        "corrected": Entry.objects.filter(log=log, act="correct_entry", mark=found.mark, payload__corrects=sequence),
        "corrects": found.payload.get("corrects") if found.act == "correct_entry" else None,
        "form": form if own or "engineer" in request.roles else None,
        "following": Entry.objects.filter(log=log, sequence=sequence + 1).exists(),
        "titleblock": titleblock(request, ("Entry", f"{sequence}")),
    }
    return render(request, "dossier/entry.html", context, status=status)


@require_GET
@corridor_page("record")
def photo(request: CorridorRequest, attachment: object) -> HttpResponse:
    """Hand out the copy of a photo that pages show; the sealed original stays where it is."""
    found = get_object_or_404(Attachment, pk=attachment, log=request.corridor.pk)
    name = shown_name(found.sha256)
    if not default_storage.exists(name):
        raise Http404("The picture is missing from the store; its hash stands in the record.")
    with default_storage.open(name) as file:
        return _handed_out(file.read(), "image/jpeg")


@require_GET
@corridor_page("record")
def filed(request: CorridorRequest, attachment: object) -> HttpResponse:
    """Hand out the file of a paper, to be kept by the reader: a PDF as it was sealed, of a picture the copy that pages show."""
    found = get_object_or_404(Attachment, pk=attachment, log=request.corridor.pk)
    try:
        content, kind = papers.copy_of(found)
    except OSError as fault:
        raise Http404("The file is missing from the store; its hash stands in the record.") from fault
    answer = _handed_out(content, kind)
    # The name as it came says what it is to a person; its ending is ours, by the bytes.
    name = f"{PurePath(found.name).stem or 'paper'}{'.pdf' if kind == papers.PDF else '.jpg'}"
    answer["Content-Disposition"] = content_disposition_header(as_attachment=True, filename=name) or "attachment"
    return answer


def _handed_out(content: bytes, kind: str) -> HttpResponse:
    """Return a file of the store as an answer in which nothing can run and no browser guesses what it is."""
    answer = HttpResponse(content, content_type=kind)
    answer["Content-Security-Policy"] = "sandbox; default-src 'none'"
    answer["X-Content-Type-Options"] = "nosniff"
    answer["Cache-Control"] = "private, max-age=86400, immutable"
    return answer
