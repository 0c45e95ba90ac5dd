"""The desk over several corridors: what waits for a release in all that a person reads the desk of, on one page."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import reduce
from operator import or_
from typing import Any

import django_filters
from django.contrib.auth.decorators import login_required
from django.core.paginator import Paginator
from django.db.models import Case, DateTimeField, ExpressionWrapper, F, Q, QuerySet, Value, When
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from apps.corridor import access
from apps.corridor.models import Corridor, Crew
from apps.desk import queries
from apps.desk.filters import QueueFilter
from apps.holdpoints import moves
from apps.holdpoints.models import Inspection
from apps.people.models import Person
from apps.sheet.frame import DESK_HIDDEN

PAGE = 25


class DesksRequest(HttpRequest):
    """A request for the desks of a person."""

    user: Person
    corridors: list[Corridor]
    """Those whose desk the person reads."""


def corridors(request: DesksRequest) -> QuerySet[Corridor]:
    """Return what may be chosen as corridor."""
    return Corridor.objects.filter(pk__in=[each.pk for each in request.corridors]).order_by("name")


def crews(request: DesksRequest) -> QuerySet[Crew]:
    """Return the crews of all of them."""
    found = Crew.objects.filter(corridor__in=request.corridors).select_related("corridor")
    return found.order_by("corridor__name", "name")


class CrewField(django_filters.fields.ModelChoiceField):  # type: ignore[misc]
    """Crews of several corridors: each with its corridor."""

    def label_from_instance(self, crew: Crew) -> str:
        """Name a crew and its corridor."""
        return f"{crew.name}, {crew.corridor.name}"


class CrewFilter(django_filters.ModelChoiceFilter):  # type: ignore[misc]
    """Narrow to one crew of one corridor."""

    field_class = CrewField


class DesksFilter(QueueFilter):
    """What the page shows; the same as on one desk, and the corridor."""

    corridor = django_filters.ModelChoiceFilter(
        field_name="hold_point__corridor", queryset=corridors, label="Corridor", empty_label="All of them",
        to_field_name="slug",
    )  # fmt: skip
    crew = CrewFilter(field_name="hold_point__foundation__crew", queryset=crews, label="Crew", empty_label="All crews")

    class Meta(QueueFilter.Meta):
        fields: list[str] = []

    @classmethod
    def get_filters(cls) -> dict[str, Any]:
        """Return the filters in the order of the form: the corridor first."""
        found: dict[str, Any] = super().get_filters()
        return {"corridor": found["corridor"], **found}


def promise(corridor: Corridor) -> timedelta:
    """Return how soon the engineer answers there, as promised."""
    return timedelta(hours=corridor.release_promise_hours)


def by_promise(rows: QuerySet[Inspection], here: Sequence[Corridor]) -> QuerySet[Inspection]:
    """Put first what is longest past its own corridor's promise, or nearest to it; annotates that moment as `promised`."""
    if not here:
        return rows.none()
    moments = [
        When(
            hold_point__corridor=each,
            then=ExpressionWrapper(F("hold_point__since") + Value(promise(each)), output_field=DateTimeField()),
        )
        for each in here
    ]
    return rows.annotate(promised=Case(*moments, output_field=DateTimeField())).order_by("promised", "id")


@dataclass(frozen=True, slots=True)
class Line:
    """One attempt of the list."""

    waiting: queries.Waiting
    corridor: Corridor
    promise: timedelta


def lines(attempts: Sequence[Inspection], here: Mapping[object, Corridor]) -> list[Line]:
    """Put what the queue shows of each beside its corridor. A fixed number of queries."""
    found = queries.queue(attempts)
    return [Line(each, corridor := here[each.point.corridor_id], promise(corridor)) for each in found]


def late(rows: QuerySet[Inspection], here: Sequence[Corridor], now: datetime) -> int:
    """Count those past their corridor's promise."""
    past = reduce(
        or_, (Q(hold_point__corridor=each, hold_point__since__lt=now - promise(each)) for each in here), Q(pk__in=[])
    )
    return rows.order_by().filter(past).count()


@require_GET
@login_required
def everywhere(request: DesksRequest) -> HttpResponse:
    """Show what waits for release in every corridor whose desk this person reads, the longest against its promise first."""
    now = timezone.now()
    roles = {corridor: held for corridor, held in access.roles_at(request.user, now).items() if held - DESK_HIDDEN}
    request.corridors = list(roles)
    rows = by_promise(queries.awaiting(*request.corridors, crews=True), request.corridors)
    narrowed = DesksFilter(request.GET or None, queryset=rows, request=request)
    total, past = narrowed.qs.order_by().count(), late(narrowed.qs, request.corridors, now)
    pages = Paginator(narrowed.qs, PAGE)
    pages.count = total
    page = pages.get_page(request.GET.get("page"))
    context: dict[str, Any] = {
        "filter": narrowed,
        "narrowed": narrowed.is_bound and any(narrowed.data.get(name) for name in narrowed.filters),
        "lines": lines(list(page), {each.pk: each for each in request.corridors}),
        "page": page,
        "total": total,
        "late": past,
        "corridors": request.corridors,
        "decides": {each.pk for each, held in roles.items() if held & moves.roles("release")},
        "now": now,
    }
    answer = render(request, "desk/several.html", context)
    answer.headers["Cache-Control"] = "no-store, private"
    return answer
