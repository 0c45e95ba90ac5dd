"""Views of the auditor: one station's whole history, entry by entry."""

import json

from django.core.files.storage import default_storage
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET

from apps.audits.acts import READERS
from apps.calc.errors import NotAReading
from apps.calc.stages import STAGES
from apps.calc.stationing import parse_station
from apps.corridor.entries import CORRECTORS
from apps.corridor.models import Foundation
from apps.dossier import queries, wording
from apps.dossier.forms import CorrectionForm
from apps.record import heads, proofs
from apps.record.ids import uuid7
from apps.record.models import Attachment, Entry
from apps.record.photos import shown_name
from apps.record.whole import agrees
from apps.sheet.frame import CorridorRequest, corridor_page, titleblock
from apps.sheet.standing import standings


@require_GET
@corridor_page("record")
def stations(request: CorridorRequest) -> HttpResponse:
    """Find a station by mark or station; an unknown one shows the nearest."""
    asked = request.GET.get("find", "").strip()
    everything = list(request.corridor.foundations.select_related("design").up_station())
    found: list[Foundation] = everything
    near: list[Foundation] = []
    if asked:
        found = [each for each in everything if asked.upper() in each.mark]
        if not found:
            found, near = _by_station(request, asked)
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
        "titleblock": titleblock(
            request,
            ("Station", f"{foundation.mark}"),
            ("Entries", f"{shown.total} of {shown.head.size}"),
            ("Root", shown.head.root[:12]),
        ),
    }
    return render(request, "dossier/station.html", context)


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
        answer = HttpResponse(file.read(), content_type="image/jpeg")
    answer["Content-Security-Policy"] = "sandbox; default-src 'none'"
    answer["X-Content-Type-Options"] = "nosniff"
    answer["Cache-Control"] = "private, max-age=86400, immutable"
    return answer
