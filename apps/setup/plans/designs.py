"""Views of designs: the types of foundations on the plans, typed in or copied from one another, put right while none is built."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.db.models import Count
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from apps.calc.errors import CalcError
from apps.calc.registry import find
from apps.calc.shown import show, show_other
from apps.corridor.acts import add_design, change_design
from apps.corridor.models import Design
from apps.record.ids import uuid7
from apps.record.rows import digest
from apps.setup.members import may_set_up
from apps.setup.plans.design_forms import DEPTHS, GROUPS, DesignForm, fact_text, typed_design
from apps.sheet.acting import acted
from apps.sheet.drawn import Picture, pictures
from apps.sheet.frame import CorridorRequest, corridor_page, titleblock

USUAL = {"flat_turns": 2, "cover_in": "3 in", "bolt_count": 4, "bolt_projection_in": "4 in", "conduit_count": 2}
"""What a new design begins with: the usual values of the model, to be looked at like all others."""


@require_http_methods(["GET", "POST"])
@corridor_page("setup")
def designs(request: CorridorRequest) -> HttpResponse:
    """List the designs; bring another one in, perhaps begun as a copy."""
    form = DesignForm(request.POST) if request.method == "POST" else None
    status = 200
    if form is not None:
        if form.is_valid():
            given = {"corridor": request.corridor, "fields": form.fields_said}
            if answer := acted(request, form, add_design, **given):
                name = form.cleaned_data["name"]
                messages.success(request, f"Design {name} is brought in, entry {answer['entry']}.")
                return redirect("setup:design", request.corridor.slug, request.corridor.designs.get(name=name).pk)
            status = 409
        else:
            status = 422
    found = list(request.corridor.designs.annotate(standing=Count("foundations")))
    like = next((each for each in found if str(each.pk) == request.GET.get("from", "")), None)
    context = {
        "found": found,
        "form": form or DesignForm(initial={**_begun(like), "client_id": uuid7()}),
        "like": like,
        "may": may_set_up(request),
        "titleblock": titleblock(request, ("Designs", f"{len(found)}")),
    }
    return render(request, "setup/plans/designs.html", context, status=status)


def _begun(like: Design | None) -> dict[str, Any]:
    """Return what a new design begins with: another one's values without its name, or the usual ones."""
    return {**typed_design(like), "name": ""} if like else USUAL


@require_http_methods(["GET", "POST"])
@corridor_page("setup")
def design(request: CorridorRequest, pk: UUID) -> HttpResponse:
    """Show one design as planned; put it right while no foundation is of it."""
    row = get_object_or_404(Design, corridor=request.corridor, pk=pk)
    if request.method != "POST":
        return _draw(request, row)
    form = DesignForm(request.POST)
    if not form.is_valid():
        return _draw(request, row, 422, form)
    given = {"design": row, "fields": form.fields_said, "was": form.cleaned_data["was"]}
    if answer := acted(request, form, change_design, **given):
        messages.success(request, f"Design {form.cleaned_data['name']} is put right, entry {answer['entry']}.")
        return redirect("setup:design", request.corridor.slug, pk)
    return _draw(request, row, 409, form)


def _draw(request: CorridorRequest, row: Design, status: int = 200, form: DesignForm | None = None) -> HttpResponse:
    foundations = row.foundations.count()
    begun = {**typed_design(row), "client_id": uuid7(), "was": digest(row)}
    context = {
        "row": row,
        "planned": planned(row),
        "groups": values(row),
        "foundations": foundations,
        "form": form or DesignForm(initial=begun),
        "may": may_set_up(request),
        "titleblock": titleblock(request, ("Design", row.name), ("Foundations of it", f"{foundations}")),
    }
    return render(request, "setup/plans/design.html", context, status=status)


# ---- as planned


@dataclass(frozen=True, slots=True)
class Planned:
    """What follows from a design at its least depth: drawings, and what the calculations say of it."""

    drawings: tuple[Picture, ...]
    sentences: tuple[str, ...]


def planned(row: Design) -> Planned:
    """Draw shaft, cage and bolts of a design at its least depth, by the calculations of the Bench."""
    shaft = {
        "shaft_diameter": float(row.shaft_diameter_in), "depth": float(row.least_depth_in / 12), "cover": float(row.cover_in),
        "bar_size": row.bar_size, "bar_count": row.bar_count, "spiral_size": row.spiral_size,
        "pitch": float(row.spiral_pitch_in), "flat_turns": 2 * row.flat_turns, "laps": 0.0,
    }  # fmt: skip
    template = {"bolt_circle": float(row.bolt_circle_in), "count": row.bolt_count}
    drawings: list[Picture] = []
    sentences: list[str] = []
    for name, given in (("shaft", shaft), ("bolt_circle.template", template)):
        try:
            result = find(name).run(given)
        except CalcError:
            continue  # a size that the calculation does not take, such as a bar that its table lacks: the values stand alone
        drawings += pictures(name, given, result)
        sentences.append(result.sentence)
    return Planned(tuple(drawings), tuple(sentences))


def values(row: Design) -> list[tuple[str, list[tuple[str, str, str]]]]:
    """Return a design's values in their groups: label, value, the same in the other system."""
    labels = DesignForm.base_fields
    found = []
    for title, _, names in GROUPS:
        if title == "Further facts":
            lines = [
                (name.replace("_", " ").capitalize(), fact_text(name, text), "")
                for name, text in sorted(row.more.items())
            ]
        else:
            lines = [(str(labels[name].label), *_shown(row, name)) for name in names]
        found.append((title, lines))
    return [(title, lines) for title, lines in found if lines]


def _shown(row: Design, name: str) -> tuple[str, str]:
    value = getattr(row, name)
    if name == "family":
        return row.get_family_display(), ""
    if name == "concrete_strength_psi":
        return show(value, "psi"), show_other(Fraction(value), "psi")
    if isinstance(value, Decimal):
        return show(Fraction(value), "in", "feet_inches" if name in DEPTHS else ""), show_other(Fraction(value), "in")
    return "not said" if value in (None, "") else str(value), ""
