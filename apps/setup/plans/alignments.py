"""Views of alignments: typed or out of a file, looked at before they are kept; put right later."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core import signing
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from apps.corridor.acts import add_alignment, change_alignment
from apps.corridor.models import Alignment
from apps.record.ids import uuid7
from apps.record.rows import digest
from apps.setup.members import may_set_up
from apps.setup.plans import looking
from apps.setup.plans.line_forms import (
    DAY_S,
    ChosenForm,
    FileForm,
    KeepForm,
    LineForm,
    PlaneForm,
    packed_file,
    typed_line,
    typed_place,
    unpacked_file,
)
from apps.sheet.acting import acted
from apps.sheet.frame import CorridorRequest, corridor_page, titleblock

SALT = "setup.plans.line"
CHANGED = "What was looked at came back changed or is a day old. Look at it once more."
Kept = dict[str, Any]
"""What a look is signed for: of which alignment and how it stood, its name, definition, crossings and grid."""


# ---- bringing one in


@require_http_methods(["GET", "POST"])
@corridor_page("setup")
def alignments(request: CorridorRequest) -> HttpResponse:
    """List the alignments; look at another one, typed or out of a file, then bring it in."""
    if request.method != "POST":
        return _draw_list(request)
    if "kept" in request.POST:
        return _bring_in(request)
    if request.POST.get("how") == "file":
        return _read_file(request)
    if "read" in request.POST:
        return _choose(request)
    form = LineForm(request.POST)
    if not form.is_valid():
        return _draw_list(request, 422, typed=form)
    return _draw_list(request, typed=form, looked=_looked(form), keep=_keep(request, form))


def _read_file(request: CorridorRequest) -> HttpResponse:
    """Read a file and ask which of its alignments; a form for the choice follows in its place."""
    form = FileForm(request.POST, request.FILES, auto_id="file-%s")
    if not form.is_valid():
        return _draw_list(request, 422, file=form)
    first = next(iter(form.found))
    asked = {"chosen": first, "name": first[:40], "foot": form.foot, "read": packed_file(form.found)}
    return _draw_list(request, chosen=ChosenForm(form.found, initial=asked))


def _choose(request: CorridorRequest) -> HttpResponse:
    """Look at one alignment of a file that was read before."""
    try:
        found = unpacked_file(request.POST["read"])
    except signing.BadSignature:
        messages.error(request, "What was read from the file came back changed or is a day old. Bring the file again.")
        return redirect("setup:alignments", request.corridor.slug)
    form = ChosenForm(found, request.POST)
    if not form.is_valid():
        return _draw_list(request, 422, chosen=form)
    return _draw_list(request, chosen=form, looked=_looked(form), keep=_keep(request, form))


def _bring_in(request: CorridorRequest) -> HttpResponse:
    """Bring in the line that was looked at on the page before."""
    form, kept = _said(request)
    if kept is None:
        messages.error(request, CHANGED)
        return redirect("setup:alignments", request.corridor.slug)
    line = {name: kept[name] for name in ("name", "definition", "crossings", "grid")}
    if answer := acted(request, form, add_alignment, corridor=request.corridor, **line):
        messages.success(request, f"{kept['name']} is brought in, entry {answer['entry']}.")
        return redirect("setup:alignments", request.corridor.slug)
    typed = LineForm(initial={"name": kept["name"], **typed_line(kept["definition"]), **_place(kept)})
    return _draw_list(request, 409, typed=typed, looked=looking.look(**line), keep=_again(form))


def _draw_list(request: CorridorRequest, status: int = 200, **shown: Any) -> HttpResponse:
    """Draw the list with its forms; `shown` are those that were filled in, and the line that is looked at."""
    found = looking.listed(request.corridor)
    context = {
        "found": found,
        "typed": LineForm(),
        "file": FileForm(auto_id="file-%s"),
        "chosen": None,
        "looked": None,
        "keep": None,
        "may": may_set_up(request),
        "titleblock": titleblock(request, ("Alignments", f"{len(found)}")),
        **shown,
    }
    return render(request, "setup/plans/alignments.html", context, status=status)


# ---- one of them


@require_http_methods(["GET", "POST"])
@corridor_page("setup")
def alignment(request: CorridorRequest, pk: UUID) -> HttpResponse:
    """Show one alignment; look at what would be put right about it, then keep that."""
    row = get_object_or_404(Alignment, corridor=request.corridor, pk=pk)
    if request.method != "POST":
        return _draw_one(request, row)
    if "kept" in request.POST:
        return _put_right(request, row)
    form = _form_of(row, request.POST)
    if not form.is_valid():
        return _draw_one(request, row, 422, form=form)
    return _draw_one(request, row, form=form, looked=_looked(form, row.name), keep=_keep(request, form, row))


def _form_of(row: Alignment, data: Any = None) -> PlaneForm:
    """Return the form that may be filled in: the whole line while nothing stands along it, else its streets and grid."""
    place = typed_place(row.crossings, row.grid)
    if row.foundations.exists():
        return PlaneForm(data, of=row.definition, initial=place)
    return LineForm(data, initial={"name": row.name, **typed_line(row.definition), **place})


def _put_right(request: CorridorRequest, row: Alignment) -> HttpResponse:
    form, kept = _said(request, row)
    if kept is None:
        messages.error(request, CHANGED)
        return redirect("setup:alignment", request.corridor.slug, row.pk)
    line = {name: kept[name] for name in ("name", "definition", "crossings", "grid")}
    if answer := acted(request, form, change_alignment, alignment=row, was=kept["was"], **line):
        messages.success(request, f"{kept['name']} is put right, entry {answer['entry']}.")
        return redirect("setup:alignment", request.corridor.slug, row.pk)
    return _draw_one(request, row, 409, looked=looking.look(**line), keep=_again(form))


def _draw_one(request: CorridorRequest, row: Alignment, status: int = 200, **shown: Any) -> HttpResponse:
    foundations = row.foundations.count()
    context = {
        "row": row,
        "stands": looking.look(row.name, row.definition, row.crossings, row.grid),
        "foundations": foundations,
        "form": shown.pop("form", None) or _form_of(row),
        "looked": None,
        "keep": None,
        "may": may_set_up(request),
        "titleblock": titleblock(request, ("Alignment", row.name), ("Foundations along it", f"{foundations}")),
        **shown,
    }
    return render(request, "setup/plans/alignment.html", context, status=status)


# ---- what is looked at, and the word to keep it


def _looked(form: PlaneForm, name: str = "") -> looking.Look:
    return looking.look(form.called or name, form.definition or {}, form.crossed, form.grid, form.point)


def _keep(request: CorridorRequest, form: PlaneForm, row: Alignment | None = None) -> KeepForm:
    """Return the form that carries what is looked at, signed, to the next step."""
    kept: Kept = {
        "corridor": str(request.corridor.pk),
        "of": str(row.pk) if row else "",
        "was": digest(row) if row else "",
        "name": form.called or (row.name if row else ""),
        "definition": form.definition,
        "crossings": form.crossed,
        "grid": form.grid,
    }
    packed = signing.dumps(kept, salt=SALT, compress=True)
    return KeepForm(initial={"client_id": uuid7(), "kept": packed}, auto_id="keep-%s")


def _said(request: CorridorRequest, row: Alignment | None = None) -> tuple[KeepForm, Kept | None]:
    """Return the word to keep, and what it is said of; None where that is not what this page had signed."""
    form = KeepForm(request.POST, auto_id="keep-%s")
    try:
        kept: Kept = signing.loads(request.POST.get("kept", ""), salt=SALT, max_age=DAY_S)
    except signing.BadSignature:
        return form, None
    same = kept["corridor"] == str(request.corridor.pk) and kept["of"] == (str(row.pk) if row else "")
    return form, kept if same and form.is_valid() else None


def _again(form: KeepForm) -> KeepForm:
    """Return a refused form with a client id of its own, for another try."""
    form.data = {**form.data.dict(), "client_id": str(uuid7())}  # type: ignore[attr-defined]
    return form


def _place(kept: Kept) -> dict[str, str]:
    return typed_place(kept["crossings"], kept["grid"])
