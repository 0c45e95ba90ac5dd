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
from apps.corridor.models import Alignment, Crew, Foundation
from apps.findings.models import Finding
from apps.holdpoints.models import HoldPoint

Points = QuerySet[HoldPoint]

STATES = [
    ("standing", "All but abandoned"),
    ("may_build", "May be built today"),
    ("opens_today", "Gate opens later today"),
    ("opens_tomorrow", "Gate opens tomorrow"),
    ("gate", "Waits for a gate"),
    ("ready", "Ready to do"),
    ("notified", "Waits for the inspector"),
    ("asked_today", "Inspector asked for until tonight"),
    ("asked_later", "Inspector asked for later"),
    ("inspected", "Waits for the engineer"),
    ("returned", "Returned or reopened"),
    ("held", "Held by a finding"),
    ("complete", "Complete"),
    ("abandoned", "Abandoned"),
]
OF_ROWS: dict[str, tuple[str, Callable[[Row], bool]]] = {
    "may_build": ("ready", lambda row: row.may_be_built),
    "opens_today": ("ready", lambda row: row.opens_in(0)),
    "opens_tomorrow": ("ready", lambda row: row.opens_in(1)),
    "gate": ("ready", lambda row: not row.held and not row.may_be_built),
    "asked_today": ("notified", lambda row: row.is_asked_by_tonight),
    "asked_later": ("notified", lambda row: not row.is_asked_by_tonight),
}
"""What the database cannot say: which state may be it, and whether a row is. Gates and local days are judged row by row."""

STANDS = {
    "released": ("Released", ["released"]),
    "inspected": ("Inspected, awaiting release", ["inspected"]),
    "notified": ("Notified", ["notified"]),
    "ready": ("Ready to do", ["ready"]),
    "returned": ("Returned or reopened", ["returned", "reopened"]),
    "not_ready": ("Not ready", ["not_ready"]),
}
HELD = "held"
POINTS = [
    (
        stage.title,
        [*((f"{stage.key}.{key}", f"{stage.title}: {words.lower()}") for key, (words, _) in STANDS.items()),
         (f"{stage.key}.{HELD}", f"{stage.title}: held on the way")],
    )
    for stage in STAGES
]  # fmt: skip
"""One hold point in one state, whatever comes next at its foundation: the cells of the flow."""
LATE = "late"
OPEN = "open"
GRADES = [(OPEN, "Any open"), *((grade.value, f"Open, {grade.label.lower()}") for grade in Finding.Grade)]

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


def _alignments(request: HttpRequest | None) -> QuerySet[Alignment]:
    return Alignment.objects.filter(corridor=getattr(request, "corridor", None))


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
    point = django_filters.ChoiceFilter(choices=POINTS, label="Hold point", empty_label="Any", method="by_point")
    wait = django_filters.ChoiceFilter(
        choices=[(LATE, "Longer than promised")], label="Waits", empty_label="Any", method="by_wait"
    )
    crew = django_filters.ModelChoiceFilter(
        field_name="foundation__crew", queryset=_crews, label="Crew", empty_label="All crews"
    )
    finding = django_filters.ChoiceFilter(choices=GRADES, label="Finding", empty_label="Any", method="by_finding")
    alignment = django_filters.ModelChoiceFilter(
        field_name="foundation__alignment", queryset=_alignments, label="Alignment", widget=forms.HiddenInput
    )
    """Set by the links of strip and plan: two alignments may have the same stations."""
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
        if value == "standing":
            return points
        if value in OF_ROWS:
            return points.filter(state=OF_ROWS[value][0])
        states = {"complete": ["released"], "returned": ["returned", "reopened"]}.get(value, [value])
        return points.filter(state__in=states)

    def by_point(self, points: Points, name: str, value: str) -> Points:
        """Keep the foundations that count in one cell of the flow."""
        stage, _, state = value.partition(".")
        points = points.filter(foundation__abandoned_at=None)
        if state == HELD:
            return self.by_state(points.filter(stage=stage), name, HELD)
        its = HoldPoint.objects.filter(foundation=OuterRef("foundation"), stage=stage, state__in=STANDS[state][1])
        return points.filter(Exists(its))

    def by_wait(self, points: Points, name: str, value: str) -> Points:
        """Keep all: whether a wait is longer than promised is judged row by row, in `kept`."""
        return points

    def by_finding(self, points: Points, name: str, value: str) -> Points:
        """Keep those with an open finding, of one grade or of any."""
        findings = Finding.objects.unsettled().filter(foundation=OuterRef("foundation"))
        return points.filter(Exists(findings if value == OPEN else findings.filter(grade=value)))

    def by_word(self, points: Points, name: str, value: str) -> Points:
        """Keep those whose mark, design, circuit, notes or open findings hold a word."""
        findings = Finding.objects.unsettled().filter(foundation=OuterRef("foundation"), title__icontains=value)
        texts = ("mark", "design__name", "circuit", "notes", "abandoned_why")
        words = Q(*((f"foundation__{text}__icontains", value) for text in texts), _connector=Q.OR)
        return points.filter(words | Q(Exists(findings)))

    def kept(self, rows: Sequence[Row]) -> list[Row]:
        """Return the rows that stay by what only a row can say."""
        said = self.form.cleaned_data
        _, keeps = OF_ROWS.get(said.get("state", ""), ("", None))
        late = said.get("wait") == LATE
        return [row for row in rows if (keeps is None or keeps(row)) and (not late or row.own.late(row.at))]

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
