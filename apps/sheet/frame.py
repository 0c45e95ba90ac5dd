"""The frame of every page: the numbered places, and the decorator that finds the corridor and keeps strangers out."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from functools import wraps
from typing import Any, Concatenate, ParamSpec

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.urls import reverse
from django.utils import timezone

from apps.corridor import access
from apps.corridor.models import Corridor, Membership
from apps.people.models import Person

P = ParamSpec("P")

# key, title, route; the roles that do not see it.
PLACES: tuple[tuple[str, str, str, frozenset[str]], ...] = (
    ("morning", "Morning", "board:morning", frozenset()),
    ("corridor", "Corridor", "board:corridor", frozenset()),
    ("field", "Field", "field:today", frozenset({"auditor"})),
    ("desk", "Desk", "desk:queue", frozenset({"foreman", "auditor"})),
    ("findings", "Findings", "desk:findings", frozenset()),
    ("record", "Station record", "dossier:stations", frozenset()),
    ("requirements", "Requirements", "setup:requirements", frozenset()),
    ("bench", "Bench", "bench:bench", frozenset()),
    ("materials", "Materials", "setup:materials", frozenset()),
    ("setup", "Setup", "setup:setup", frozenset({"foreman", "auditor", "inspector"})),
)


ADMINISTERED = frozenset({"setup", "requirements"})
"""The places that an administrator comes to without being a member."""
DESK_HIDDEN = next(hidden for key, _, _, hidden in PLACES if key == "desk")
"""The roles that alone do not read a desk."""


@dataclass(frozen=True, slots=True)
class Place:
    """One numbered place of the top row."""

    key: str
    title: str
    url: str
    current: bool


class CorridorRequest(HttpRequest):
    """A request for a corridor's page, after `corridor_page` found the corridor."""

    user: Person
    corridor: Corridor
    memberships: list[Membership]
    roles: frozenset[str]
    now: datetime
    """The server's clock, read once, here at the edge."""
    place: str
    htmx: Any


View = Callable[Concatenate[CorridorRequest, P], HttpResponseBase]


def corridor_page(place: str) -> Callable[[View[P]], Callable[..., HttpResponseBase]]:
    """Make a view a corridor's page at one of PLACES: signed in, a member of the corridor (404 otherwise), with the clock read once."""

    def decorate(view: View[P]) -> Callable[..., HttpResponseBase]:
        @wraps(view)
        @login_required
        def found(request: CorridorRequest, slug: str, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
            request.now = timezone.now()
            admit = access.set_up_by if place in ADMINISTERED else access.member_of
            request.corridor, request.memberships = admit(request.user, slug, request.now)
            request.roles = frozenset(membership.role for membership in request.memberships)
            request.place = place
            with timezone.override(request.corridor.zone):
                answer = view(request, *args, **kwargs)
            answer.headers.setdefault("Cache-Control", "no-store, private")
            return answer

        return found

    return decorate


def frame(request: HttpRequest) -> dict[str, Any]:
    """Context of every page: the corridor, its places and the clock."""
    corridor = getattr(request, "corridor", None)
    if corridor is None:
        return {}
    roles: frozenset[str] = getattr(request, "roles", frozenset())
    here = getattr(request, "place", "")
    open_to = ADMINISTERED if getattr(request.user, "is_superuser", False) else frozenset()
    places = [
        Place(key, title, reverse(route, args=[corridor.slug]), key == here)
        for key, title, route, hidden in PLACES
        if roles - hidden or key in open_to
    ]
    return {"corridor": corridor, "roles": roles, "places": places, "now": getattr(request, "now", None)}


def titleblock(request: CorridorRequest, *more: tuple[str, Any]) -> list[tuple[str, Any]]:
    """Return the title block of a page: contract and owner, what the page adds, as-of time in the corridor's zone."""
    return titleblock_of(request.corridor, request.now, *more)


def titleblock_of(corridor: Corridor, at: datetime, *more: tuple[str, Any]) -> list[tuple[str, Any]]:
    """Return the title block of a sheet that nobody asked for by a request: one on paper."""
    local = at.astimezone(corridor.zone)
    zone = local.tzname()
    return [
        ("Contract", corridor.name),
        ("Owner", corridor.owner),
        *more,
        ("As of", f"{local:%a %-d %b %Y, %H:%M} {zone}"),
    ]
