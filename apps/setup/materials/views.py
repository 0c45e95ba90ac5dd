"""Views of Materials: what holds, what lacks or ends next, and one small form for each kind of entry."""

from collections.abc import Callable
from typing import Any, NamedTuple

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from apps.materials import acts, lots, maturing
from apps.materials.acts import ROLES
from apps.record.acts import Answer
from apps.record.ids import uuid7
from apps.setup.materials import filing, queries
from apps.setup.materials.forms import (
    BreakForm,
    CertificateForm,
    CurveForm,
    Entry,
    InstrumentForm,
    LoadForm,
    LotForm,
    MaturityForm,
    PaperEntry,
    ProductForm,
    TicketForm,
)
from apps.sheet.acting import acted
from apps.sheet.frame import CorridorRequest, corridor_page, titleblock


class Kind(NamedTuple):
    """One kind of entry: its words, its form, its act."""

    title: str
    button: str
    form: type[Entry]
    act: Callable[..., Answer]
    of_corridor: bool = True


KINDS: dict[str, Kind] = {
    "ticket": Kind("Locate ticket", "Enter ticket", TicketForm, acts.add_locate_ticket),
    "certificate": Kind("Certificate", "Enter certificate", CertificateForm, acts.add_certificate),
    "instrument": Kind("Instrument or calibration", "Enter instrument", InstrumentForm, acts.calibrate),
    "load": Kind("Concrete load", "Enter load", LoadForm, acts.add_load),
    "break": Kind("Strength test", "Enter strength test", BreakForm, acts.add_break, of_corridor=False),
    "product": Kind("Accepted product", "Enter product", ProductForm, lots.accept_product),
    "lot": Kind("Lot used", "Enter use of lot", LotForm, lots.use_lot, of_corridor=False),
    "curve": Kind("Maturity curve of a mix", "Enter curve", CurveForm, maturing.add_curve),
    "maturity": Kind(
        "Maturity of a foundation", "Enter temperatures", MaturityForm, maturing.add_maturity, of_corridor=False
    ),
}


@require_GET
@corridor_page("materials")
def materials(request: CorridorRequest) -> HttpResponse:
    """Show what gates and readings rest on."""
    return _draw(request)


@require_POST
@corridor_page("materials")
def add(request: CorridorRequest, kind: str) -> HttpResponse:
    """Enter one thing."""
    asked = KINDS.get(kind)
    if asked is None:
        raise Http404(f"There is no entry of kind {kind}.")
    form = asked.form(request.corridor, request.POST, request.FILES, auto_id=f"{kind}-%s")
    form.full_clean()
    if isinstance(form, PaperEntry):
        filing.take(request, form)
    if not form.is_valid():
        return _draw(request, 422, **{kind: form})
    said = form.said() | ({"corridor": request.corridor} if asked.of_corridor else {})
    answer = acted(request, form, asked.act, **said)
    if answer is None:
        return _draw(request, 409, **{kind: form})
    messages.success(request, f"{asked.title} is entered, entry {answer['entry']}.")
    return redirect("setup:materials", request.corridor.slug)


def _draw(request: CorridorRequest, status: int = 200, **refused: Entry) -> HttpResponse:
    """Draw the page; `refused` are forms that were not accepted, with all that was typed."""
    shown = queries.materials(request.corridor, request.corridor.day(request.now))
    forms = [
        (
            key,
            kind,
            refused.get(key) or kind.form(request.corridor, initial={"client_id": uuid7()}, auto_id=f"{key}-%s"),
            key in refused,
        )
        for key, kind in KINDS.items()
    ]
    context: dict[str, Any] = {
        "shown": shown,
        "forms": forms if request.roles & ROLES else [],
        "titleblock": titleblock(
            request, ("Loads", f"{shown.load_count}"), ("Certificates", f"{len(shown.certificates)}")
        ),
    }
    return render(request, "setup/materials.html", context, status=status)
