"""What the corridor's list may be limited to and sorted by; all of it stands in the address."""

from collections.abc import Callable, Sequence
from decimal import Decimal
from typing import Any

import django_filters
from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Exists, F, OuterRef, Q, QuerySet
from django.http import HttpRequest

from apps.board.rows import Row
from apps.calc.errors import NotAReading
from apps.calc.stages import FAMILIES, STAGES
from apps.calc.stationing import parse_station
from apps.corridor.models import Crew, Foundation
from apps.findings.models import Finding
from apps.holdpoints.models import HoldPoint

Points = QuerySet[HoldPoint]

STATES = [
    ("may_build", "May be built today"),
    ("gate", "Waits for a gate"),
    ("ready", "Ready to do"),
    ("notified", "Waits for the inspector"),
    ("inspected", "Waits for the engineer"),
    ("returned", "Returned or reopened"),
    ("held", "Held by a finding"),
    ("complete", "Complete"),
    ("abandoned", "Abandoned"),
]
OF_ROWS: dict[str, Callable[[Row], bool]] = {
    "may_build": lambda row: row.may_be_built,
    "gate": lambda row: row.point.state == "ready" and not row.held and not row.may_be_built,
}
"""What the database cannot say: gates are judged row by row."""

SORTS: dict[str, tuple[str, ...]] = {
    "station": ("foundation__distance_ft",),
    "mark": ("foundation__mark",),
    "side": ("foundation__side",),
    "offset": ("foundation__offset_ft",),
    "family": ("foundation__design__family",),
    "last": ("place", "state"),
    "next": ("stage", "state"),
}


class StationField(forms.CharField):
    """A station as people write it, 231+40 or 23140; what was typed stays in the field."""

    def clean(self, value: Any) -> Decimal | None:
        """Return the station in ft, None where nothing was typed."""
        text = str(super().clean(value))
        if not text:
            return None
        try:
            return Decimal(float(parse_station(text)))
        except NotAReading as fault:
            raise ValidationError(str(fault)) from fault


class StationFilter(django_filters.Filter):
    """Limits by a station."""

    field_class = StationField


class ReachForm(forms.Form):
    """The form of the filters: a reach ends where it begins or later."""

    def clean(self) -> dict[str, Any]:
        """Refuse a reach that ends before it begins."""
        said = super().clean() or self.cleaned_data
        start, end = said.get("start"), said.get("to")
        if start is not None and end is not None and end < start:
            self.add_error("to", "The reach ends before it begins: write the lower station first.")
        return said


def _crews(request: HttpRequest | None) -> QuerySet[Crew]:
    corridor = getattr(request, "corridor", None)
    return Crew.objects.filter(corridor=corridor)


class CorridorFilter(django_filters.FilterSet):
    """Which foundations the list shows: a filter over `rows.next_points`."""

    start = StationFilter(field_name="foundation__station_ft", lookup_expr="gte", label="Stations from")
    to = StationFilter(field_name="foundation__station_ft", lookup_expr="lte", label="to")
    side = django_filters.ChoiceFilter(
        field_name="foundation__side", choices=Foundation.Side.choices, label="Side", empty_label="Both sides"
    )
    family = django_filters.ChoiceFilter(
        field_name="foundation__design__family", choices=list(FAMILIES.items()), label="Family", empty_label="Both"
    )
    stage = django_filters.ChoiceFilter(
        choices=[(stage.key, stage.title) for stage in STAGES],
        label="Next hold point",
        empty_label="Any",
        method="by_stage",
    )
    state = django_filters.ChoiceFilter(choices=STATES, label="State", empty_label="Any", method="by_state")
    crew = django_filters.ModelChoiceFilter(
        field_name="foundation__crew", queryset=_crews, label="Crew", empty_label="All crews"
    )
    word = django_filters.CharFilter(label="Mark or word", method="by_word", max_length=60)

    class Meta:
        model = HoldPoint
        fields: list[str] = []
        form = ReachForm

    def by_stage(self, points: Points, name: str, value: str) -> Points:
        """Keep those whose next hold point is this stage."""
        return points.standing().filter(stage=value).exclude(state="released")  # type: ignore[attr-defined, no-any-return]

    def by_state(self, points: Points, name: str, value: str) -> Points:
        """Keep those in a state; of `OF_ROWS` all that may be it, for `kept` to judge."""
        if value == "abandoned":
            return points.exclude(foundation__abandoned_at=None)
        points = points.filter(foundation__abandoned_at=None)
        if value == "held":
            return points.filter(Exists(Finding.objects.holding().filter(foundation=OuterRef("foundation"))))
        if value in OF_ROWS:
            return points.filter(state="ready")
        states = {"complete": ["released"], "returned": ["returned", "reopened"]}.get(value, [value])
        return points.filter(state__in=states)

    def by_word(self, points: Points, name: str, value: str) -> Points:
        """Keep those whose mark, design, circuit, notes or open findings hold a word."""
        findings = Finding.objects.unsettled().filter(foundation=OuterRef("foundation"), title__icontains=value)
        texts = ("mark", "design__name", "circuit", "notes", "abandoned_why")
        words = Q(*((f"foundation__{text}__icontains", value) for text in texts), _connector=Q.OR)
        return points.filter(words | Q(Exists(findings)))

    def kept(self, rows: Sequence[Row]) -> list[Row]:
        """Return the rows that stay where the state is one of `OF_ROWS`."""
        keeps = OF_ROWS.get(self.form.cleaned_data.get("state", ""))
        return [row for row in rows if keeps is None or keeps(row)]

    @property
    def reach(self) -> tuple[float, float] | None:
        """The stations asked for, None where the list is not limited to a reach."""
        start, end = (self.form.cleaned_data.get(name) for name in ("start", "to"))
        if start is None and end is None:
            return None
        return float(start) if start is not None else 0.0, float(end) if end is not None else float("inf")


def in_order(points: Points, sort: str) -> Points:
    """Return the points sorted by a column, "-station" for the other way round; up-station for an unknown one."""
    down, key = sort.startswith("-"), sort.removeprefix("-")
    if key == "age":  # the longest waiting is the one that began first
        began = F("waits_since").asc(nulls_last=True) if down else F("waits_since").desc(nulls_last=True)
        return points.order_by(began, "foundation__distance_ft", "pk")
    fields = SORTS.get(key, SORTS["station"])
    turned = [f"-{field}" if down else field for field in fields]
    return points.order_by(*turned, "foundation__distance_ft", "foundation__side", "foundation__mark")
