"""Who works on a corridor, from when to when, in which crews; and the corridor's terms. Every change is entered in its record."""

from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from apps.corridor import acts
from apps.corridor.models import Membership
from apps.people.models import Person
from apps.record.ids import uuid7
from apps.setup.forms import CrewForm, EndRoleForm, RoleForm, TermsForm
from apps.sheet.acting import acted
from apps.sheet.frame import CorridorRequest, corridor_page, titleblock


@dataclass(frozen=True, slots=True)
class Line:
    """One membership in the list."""

    row: Membership
    holds: bool
    end: EndRoleForm | None
    """None where this person may not end it, or it ended."""


def may_set_up(request: CorridorRequest) -> bool:
    """Say whether this person may set the corridor up; the acts say so again."""
    return bool(request.user.is_superuser or request.roles & acts.SETTERS)


@require_http_methods(["GET", "POST"])
@corridor_page("setup")
def members(request: CorridorRequest) -> HttpResponse:
    """List who is what here; grant a role."""
    if request.method != "POST":
        return _draw(request)
    form = _role_form(request, request.POST)
    if not form.is_valid():
        return _draw(request, granting=form, status=422)
    given = {name: form.cleaned_data[name] for name in ("person", "role", "crew", "starts_on", "ends_on")}
    if acted(request, form, acts.grant_role, corridor=request.corridor, **given) is None:
        return _draw(request, granting=form, status=409)
    role = Membership.Role(given["role"]).label.lower()
    messages.success(request, f"{given['person']} is {role} here from {given['starts_on']:%-d %b %Y}.")
    return redirect("setup:members", request.corridor.slug)


def _role_form(request: CorridorRequest, data: Any = None) -> RoleForm:
    proposed = {
        "client_id": uuid7(),
        "starts_on": request.corridor.day(request.now),
        "person": request.GET.get("person"),
    }
    return RoleForm(
        request.corridor, data, administrator=request.user.is_superuser, initial=proposed, auto_id="grant_%s"
    )


@require_POST
@corridor_page("setup")
def end_role(request: CorridorRequest, key: UUID) -> HttpResponse:
    """Give a role its last day."""
    row = get_object_or_404(request.corridor.memberships.select_related("person", "corridor"), pk=key)
    form = EndRoleForm(request.POST, auto_id=f"end_{row.pk}_%s")
    if not form.is_valid():
        return _draw(request, tried={row.pk: form}, status=422)
    if acted(request, form, acts.end_role, membership=row, ends_on=form.cleaned_data["ends_on"]) is None:
        return _draw(request, tried={row.pk: form}, status=409)
    messages.success(request, f"The last day of {row} here is {form.cleaned_data['ends_on']:%-d %b %Y}.")
    return redirect("setup:members", request.corridor.slug)


@require_POST
@corridor_page("setup")
def add_crew(request: CorridorRequest) -> HttpResponse:
    """Bring in a crew."""
    form = CrewForm(request.POST, auto_id="crew_%s")
    if not form.is_valid():
        return _draw(request, crew=form, status=422)
    if acted(request, form, acts.add_crew, corridor=request.corridor, name=form.cleaned_data["name"]) is None:
        return _draw(request, crew=form, status=409)
    messages.success(request, f"{form.cleaned_data['name']} is brought in.")
    return redirect("setup:members", request.corridor.slug)


def _draw(
    request: CorridorRequest,
    *,
    granting: RoleForm | None = None,
    tried: dict[object, EndRoleForm] | None = None,
    crew: CrewForm | None = None,
    status: int = 200,
) -> HttpResponse:
    may, tried = may_set_up(request), tried or {}
    rows = request.corridor.memberships.select_related("person", "crew").order_by("role", "person__name", "starts_on")
    lines = [_line(request, row, tried.get(row.pk), may=may) for row in rows]
    context = {
        "lines": lines,
        "crews": list(request.corridor.crews.all()),
        "may_set_up": may,
        "grant": granting or (_role_form(request) if may else None),
        "crew": crew or CrewForm(initial={"client_id": uuid7()}, auto_id="crew_%s"),
        "people": _known(request),
        "titleblock": titleblock(request, ("Members", sum(line.holds for line in lines))),
    }
    return render(request, "setup/members.html", context, status=status)


def _known(request: CorridorRequest) -> list[Person]:
    """Return whom the form proposes: everybody, to an administrator; others know whom they mean."""
    return list(Person.objects.filter(is_active=True).order_by("username")[:500]) if request.user.is_superuser else []


def _line(request: CorridorRequest, row: Membership, tried: EndRoleForm | None, *, may: bool) -> Line:
    today = request.corridor.day(request.now)
    mine = may and row.person_id != request.user.pk
    mine = mine and (row.role != Membership.Role.ENGINEER or request.user.is_superuser)
    open_still = row.ends_on is None or row.ends_on >= today
    proposed = {"client_id": uuid7(), "ends_on": max(today, row.starts_on)}
    form = tried or EndRoleForm(initial=proposed, auto_id=f"end_{row.pk}_%s")
    return Line(row, row.holds_on(today), form if mine and open_still else tried)


@require_http_methods(["GET", "POST"])
@corridor_page("setup")
def terms(request: CorridorRequest) -> HttpResponse:
    """Show what is agreed: contract, calendar, promises; change it from now on."""
    corridor, may = request.corridor, may_set_up(request)
    form: forms.Form = TermsForm(request.POST or None, initial={**TermsForm.typed(corridor), "client_id": uuid7()})
    if request.method == "POST" and form.is_valid():
        fields = {name: value for name, value in form.cleaned_data.items() if name in acts.TERMS}
        if answer := acted(request, form, acts.change_corridor, corridor=corridor, fields=fields):
            messages.success(request, f"The terms are changed from now on, entry {answer['entry']}.")
            return redirect(reverse("setup:setup", args=[corridor.slug]))
    context = {
        "form": form,
        "may_set_up": may,
        "titleblock": titleblock(request, ("Address", f"/c/{corridor.slug}/"), ("Time zone", corridor.time_zone)),
    }
    return render(request, "setup/terms.html", context, status=422 if form.errors else 200)
