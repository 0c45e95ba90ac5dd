"""The filters of the corridor's list, in the address bar."""

from fractions import Fraction

import django_filters
from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Exists, OuterRef, Q, QuerySet

from apps.calc.errors import NotAReading
from apps.calc.stages import FAMILIES, STAGES
from apps.calc.stationing import parse_station, show_station
from apps.corridor.models import Corridor, Foundation
from apps.findings.models import Finding
from apps.holdpoints.models import HoldPoint


class StationField(forms.CharField):
    """A station as people write it: 231+40 or 23140."""

    def clean(self, value: str) -> Fraction | None:
        """Return the station in feet; a message beside the field if it is none."""
        text = super().clean(value)
        if not text:
            return None
        try:
            return parse_station(text)
        except NotAReading as fault:
            raise ValidationError(str(fault)) from fault

    def prepare_value(self, value: object) -> object:
        """Show it back as typed, or as a station."""
        return show_station(value) if isinstance(value, Fraction) else value


class StationFilter(django_filters.Filter):
    """Filters by a station."""

    field_class = StationField


STATES = [
    ("held", "Held by a finding"),
    ("inspected", "Waits for the engineer"),
    ("notified", "Waits for the inspector"),
    ("returned", "Returned or reopened"),
    ("ready", "Ready to do"),
    ("done", "Complete"),
]


class FoundationFilter(django_filters.FilterSet):
    """Which foundations the list shows."""

    start = StationFilter(field_name="station_ft", lookup_expr="gte", label="Stations from")
    to = StationFilter(field_name="station_ft", lookup_expr="lte", label="to")
    side = django_filters.ChoiceFilter(choices=Foundation.Side.choices, label="Side", empty_label="Both sides")
    family = django_filters.ChoiceFilter(
        field_name="design__family", choices=list(FAMILIES.items()), label="Family", empty_label="Both"
    )
    stage = django_filters.ChoiceFilter(
        choices=[(stage.key, stage.title) for stage in STAGES],
        label="Next hold point",
        empty_label="Any",
        method="by_stage",
    )
    state = django_filters.ChoiceFilter(choices=STATES, label="State", empty_label="Any", method="by_state")
    crew = django_filters.ModelChoiceFilter(queryset=None, label="Crew", empty_label="All crews")
    word = django_filters.CharFilter(label="Mark or word", method="by_word", max_length=60)

    class Meta:
        model = Foundation
        fields: list[str] = []

    def __init__(self, *args: object, corridor: Corridor, **kwargs: object) -> None:
        self.base_filters["crew"].extra["queryset"] = corridor.crews.all()
        super().__init__(*args, **kwargs)

    @staticmethod
    def _next(**more: object) -> Exists:
        """A hold point that is the next of its foundation: not released, and none before it is open."""
        before = HoldPoint.objects.filter(foundation=OuterRef("foundation"), place__lt=OuterRef("place")).exclude(
            state="released"
        )
        points = HoldPoint.objects.filter(foundation=OuterRef("pk"), **more).exclude(state="released")
        return Exists(points.filter(~Exists(before)))

    def by_stage(self, rows: QuerySet[Foundation], name: str, value: str) -> QuerySet[Foundation]:
        """Keep those whose next hold point is this stage."""
        return rows.filter(self._next(stage=value))

    def by_state(self, rows: QuerySet[Foundation], name: str, value: str) -> QuerySet[Foundation]:
        """Keep those whose next hold point is in this state, or that are held, or complete."""
        if value == "held":
            return rows.filter(Exists(Finding.objects.holding().filter(foundation=OuterRef("pk"))))
        if value == "done":
            return rows.filter(~Exists(HoldPoint.objects.filter(foundation=OuterRef("pk")).exclude(state="released")))
        states = ["returned", "reopened"] if value == "returned" else [value]
        return rows.filter(self._next(state__in=states))

    def by_word(self, rows: QuerySet[Foundation], name: str, value: str) -> QuerySet[Foundation]:
        """Keep those whose mark, notes, circuit or open findings hold a word."""
        findings = Finding.objects.unsettled().filter(foundation=OuterRef("pk"), title__icontains=value)
        words = Q(mark__icontains=value) | Q(notes__icontains=value) | Q(circuit__icontains=value)
        return rows.filter(words | Q(Exists(findings)))
