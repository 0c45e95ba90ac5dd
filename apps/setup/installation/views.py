"""What an administrator does: open corridors, make people, give them their first link, close accounts. Strangers get 404."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.paginator import Paginator
from django.db.models import Prefetch
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from apps.corridor import accounts
from apps.corridor import acts as corridors
from apps.corridor.models import Corridor, Membership
from apps.people.links import DAYS, password_link
from apps.people.models import Person
from apps.record.ids import uuid7
from apps.requirements.models import Edition
from apps.setup.forms import PROMISES
from apps.setup.installation.forms import AccountForm, NewPersonForm, OpenForm, PersonForm
from apps.sheet.acting import acted
from apps.sheet.frame import CorridorRequest

PAGE = 100
"""People on one page."""
View = Callable[..., HttpResponse]


def administrators(view: View) -> View:
    """Make a view a page of administrators: signed in, 404 for all others, with the clock read once."""

    @wraps(view)
    @login_required
    def found(request: CorridorRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        if not request.user.is_superuser:
            raise Http404("There is no such page among yours.")
        request.now = timezone.now()
        answer = view(request, *args, **kwargs)
        answer.headers.setdefault("Cache-Control", "no-store, private")
        return answer

    return found


@require_GET
@administrators
def overview(request: CorridorRequest) -> HttpResponse:
    """List the corridors of the installation and its people."""
    roles = Membership.objects.select_related("corridor").order_by("corridor__name", "role")
    everybody = Person.objects.order_by("name", "username").prefetch_related(Prefetch("memberships", roles))
    page = Paginator(everybody, PAGE).get_page(request.GET.get("page"))
    people = [(each, [held for held in each.memberships.all() if _holds(held, request)]) for each in page]
    context = {
        "corridors": list(Corridor.objects.select_related("edition", "tally").order_by("name")),
        "people": people,
        "page": page,
        "editions": Edition.objects.filter(state=Edition.State.PUBLISHED).count(),
        "titleblock": [("Corridors", Corridor.objects.count()), ("People", page.paginator.count)],
    }
    return render(request, "setup/installation/overview.html", context)


def _holds(held: Membership, request: CorridorRequest) -> bool:
    return held.holds_on(held.corridor.day(request.now))


@require_http_methods(["GET", "POST"])
@administrators
def open_corridor(request: CorridorRequest) -> HttpResponse:
    """Open a corridor with an empty record; then its people, lines, designs and schedule are brought in on its page Setup."""
    if request.method != "POST":
        proposed = {field.name: field.default for field in Corridor._meta.concrete_fields if field.name in PROMISES}
        form = OpenForm(initial={**proposed, "client_id": uuid7()})
        return render(request, "setup/installation/open.html", {"form": form})
    form = OpenForm(request.POST)
    if form.is_valid():
        said = dict(form.cleaned_data)
        given = {name: said.pop(name) for name in ("slug", "name", "owner", "edition", "starts_on", "finishes_on")}
        said.pop("client_id")
        if answer := acted(request, form, corridors.open_corridor, more=said, **given):
            messages.success(request, f"{given['name']} is open. Now its people, its lines and its designs.")
            return redirect("setup:setup", answer["corridor"])
    return render(request, "setup/installation/open.html", {"form": form}, status=422)


@require_http_methods(["GET", "POST"])
@administrators
def add_person(request: CorridorRequest) -> HttpResponse:
    """Make a person, and show the link by which they begin."""
    form = NewPersonForm(request.POST or None, initial={"client_id": uuid7()})
    if request.method == "POST" and form.is_valid():
        given = {name: form.cleaned_data[name] for name in ("username", "name", "credential", "email")}
        if answer := acted(request, form, accounts.add_person, **given):
            made = Person.objects.get(username=answer["person"])
            return _draw(request, made, fresh_link=request.build_absolute_uri(password_link(made)))
    status = 422 if form.is_bound else 200
    return render(request, "setup/installation/add_person.html", {"form": form}, status=status)


@require_http_methods(["GET", "POST"])
@administrators
def person(request: CorridorRequest, username: str) -> HttpResponse:
    """Show one person and what they are where; change how they are written."""
    found = get_object_or_404(Person, username=username)
    if request.method != "POST":
        return _draw(request, found)
    form = PersonForm(request.POST)
    if form.is_valid():
        given = {name: form.cleaned_data[name] for name in ("name", "credential", "email")}
        if acted(request, form, accounts.change_person, person=found, **given):
            messages.success(request, "Kept. Entries of before keep the name of their day.")
            return redirect("installation:person", username)
    return _draw(request, found, form=form, status=422)


DONE = {
    "link": (accounts.give_link, ""),
    "close": (accounts.close_account, "The account is closed."),
    "open": (accounts.open_account, "The account is open again."),
}
"""What may be done to an account: the act, and what is said afterwards."""


@require_POST
@administrators
def account(request: CorridorRequest, username: str) -> HttpResponse:
    """Show a new link to set a password, close an account, or open it again; the records of the person's corridors name it."""
    found = get_object_or_404(Person, username=username)
    form = AccountForm(request.POST)
    if not form.is_valid():
        messages.error(request, "There is no such move. Nothing was written.")
        return redirect("installation:person", username)
    act, said = DONE[form.cleaned_data["do"]]
    if acted(request, form, act, person=found) is None:
        messages.error(request, " ".join(map(str, form.non_field_errors())))
    elif said:
        messages.success(request, said)
    else:
        return _draw(request, found, fresh_link=request.build_absolute_uri(password_link(found)))
    return redirect("installation:person", username)


def _draw(
    request: CorridorRequest, found: Person, *, form: PersonForm | None = None, fresh_link: str = "", status: int = 200
) -> HttpResponse:
    roles = found.memberships.select_related("corridor", "crew").order_by("corridor__name", "-starts_on")
    context = {
        "person": found,
        "memberships": [(each, _holds(each, request)) for each in roles],
        "form": form or PersonForm(initial={**PersonForm.typed(found), "client_id": uuid7()}),
        "link": fresh_link,
        "days": DAYS,
        "client_ids": {name: uuid7() for name in DONE},
        "own": found.pk == request.user.pk,
        "titleblock": [("Person", found.username), ("Account", "open" if found.is_active else "closed")],
    }
    return render(request, "setup/installation/person.html", context, status=status)
