"""What was done in a span of days: the releases behind every count of production, and the concrete placed."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any, NamedTuple

import django_filters
from django import forms
from django.db.models import Count, QuerySet
from django.http import HttpRequest

from apps.calc.stages import STAGE_BY_KEY, STAGES
from apps.corridor.models import Corridor, Crew
from apps.holdpoints.models import Decision
from apps.materials.models import Placement

NO_CREW = "none"


def _crews(request: HttpRequest | None) -> QuerySet[Crew]:
    return Crew.objects.filter(corridor=getattr(request, "corridor", None))


def releases(corridor: Corridor, first: date | None = None, last: date | None = None) -> QuerySet[Decision]:
    """Return the releases of a corridor on its local days from one to another, both counted in; reopened since or not."""
    found = Decision.objects.exclude(kind=Decision.Kind.RETURN).filter(inspection__hold_point__corridor=corridor)
    return _between(found, "at", corridor, first, last)


def placements(corridor: Corridor, first: date | None = None, last: date | None = None) -> QuerySet[Placement]:
    """Return what was placed of the loads discharged on those days."""
    return _between(Placement.objects.filter(load__corridor=corridor), "load__discharged_at", corridor, first, last)


def _between(rows: Any, field: str, corridor: Corridor, first: date | None, last: date | None) -> Any:
    if first is not None:
        rows = rows.filter(**{f"{field}__gte": corridor.day_begins(first)})
    if last is not None:
        rows = rows.filter(**{f"{field}__lt": corridor.day_begins(last + timedelta(days=1))})
    return rows


class SpanForm(forms.Form):
    """The form of the filters: a span ends where it begins or later."""

    def clean(self) -> dict[str, Any]:
        """Refuse a span that ends before it begins."""
        said = super().clean() or self.cleaned_data
        first, last = said.get("first"), said.get("last")
        if first is not None and last is not None and last < first:
            self.add_error("last", "The span ends before it begins: write the earlier day first.")
        return said


def _day(label: str) -> django_filters.DateFilter:
    return django_filters.DateFilter(label=label, method="by_day", widget=forms.DateInput(attrs={"type": "date"}))


class DoneFilter(django_filters.FilterSet):
    """Which releases are listed: by local day, stage and crew."""

    first = _day("From")
    last = _day("to")
    stage = django_filters.ChoiceFilter(
        field_name="inspection__hold_point__stage",
        choices=[(stage.key, stage.title) for stage in STAGES],
        label="Stage",
        empty_label="All six",
    )
    crew = django_filters.ModelChoiceFilter(
        field_name="inspection__crew",
        queryset=_crews,
        label="Crew",
        empty_label="All crews",
        null_label="No crew named",
        null_value=NO_CREW,
    )

    class Meta:
        model = Decision
        fields: list[str] = []
        form = SpanForm

    def by_day(self, rows: QuerySet[Decision], name: str, value: date) -> QuerySet[Decision]:
        """Keep what was released on that local day or after it, or until its end."""
        given = {name: value}
        return _between(rows, "at", self.request.corridor, given.get("first"), given.get("last"))  # type: ignore[no-any-return]

    @property
    def span(self) -> tuple[date | None, date | None]:
        """The days asked for; None where a side is open."""
        said = self.form.cleaned_data if self.is_bound else {}
        return said.get("first"), said.get("last")

    @property
    def is_whole(self) -> bool:
        """Whether neither stage nor crew is chosen: only then the concrete of the span stands beside its releases."""
        said = self.form.cleaned_data if self.is_bound else {}
        return not said.get("stage") and not said.get("crew")


def listed(rows: QuerySet[Decision]) -> QuerySet[Decision]:
    """Return the releases with what a line shows, the last first."""
    foundation = "inspection__hold_point__foundation"
    return rows.select_related(foundation, "inspection__crew", "inspection__inspector", "by").order_by("-at", "-id")


# ---- concrete


@dataclass(frozen=True, slots=True)
class Poured:
    """What one foundation took in a span."""

    mark: str
    station_ft: Decimal
    side: str
    tickets: str
    at: datetime
    placed_yd3: Decimal
    drawn_yd3: Fraction
    """Neat volume of its shaft by the plans."""

    @property
    def drawn(self) -> float:
        """The drawing's volume, yd³."""
        return float(self.drawn_yd3)


@dataclass(frozen=True, slots=True)
class Concrete:
    """Concrete placed in a span of days, foundation by foundation, abandoned ones with them."""

    rows: list[Poured]

    @property
    def shafts(self) -> int:
        """How many foundations took any."""
        return len(self.rows)

    @property
    def placed_yd3(self) -> Decimal:
        """All that was placed."""
        return sum((row.placed_yd3 for row in self.rows), Decimal(0))

    @property
    def drawn_yd3(self) -> Fraction:
        """Neat volume of the same shafts by the plans."""
        return sum((row.drawn_yd3 for row in self.rows), Fraction(0))

    @property
    def drawn(self) -> float:
        """The drawing's volume, yd³."""
        return float(self.drawn_yd3)

    @property
    def over_words(self) -> str:
        """Say how much more was placed than drawn: 10 % over."""
        if not self.drawn_yd3:
            return ""
        over = round(100 * (Fraction(self.placed_yd3) / self.drawn_yd3 - 1))
        return f"{abs(over)} % {'over' if over >= 0 else 'under'}"


def concrete(corridor: Corridor, first: date | None, last: date | None) -> Concrete:
    """Return the concrete of a span. One query."""
    found: dict[object, list[Placement]] = {}
    rows = placements(corridor, first, last).select_related("load", "foundation__design")
    for each in rows.order_by("load__discharged_at", "load__ticket"):
        found.setdefault(each.foundation_id, []).append(each)
    return Concrete([_poured(its, corridor) for its in found.values()])


def _poured(its: Sequence[Placement], corridor: Corridor) -> Poured:
    foundation = its[0].foundation
    foundation.corridor = corridor
    return Poured(
        mark=foundation.mark,
        station_ft=foundation.station_ft,
        side=foundation.side,
        tickets=", ".join(each.load.ticket for each in its),
        at=its[-1].load.discharged_at,
        placed_yd3=sum((each.volume_yd3 for each in its), Decimal(0)),
        drawn_yd3=Fraction(str(foundation.plan["volume"])),
    )


# ---- crew output


class Output(NamedTuple):
    """Releases of one crew's work, this week and in the whole week before."""

    crew: str
    key: str
    """As the filter writes it."""
    this_week: int
    last_week: int


def output(corridor: Corridor, monday: date) -> list[Output]:
    """Return what each crew brought to release since a Monday and in the week before, the most first. One query."""
    counted = (
        releases(corridor, monday - timedelta(days=7))
        .order_by()
        .values_list("inspection__crew", "inspection__crew__name", "at")
    )
    numbers: dict[tuple[object, str], list[int]] = {}
    for crew, name, at in counted:
        numbers.setdefault((crew, name or ""), [0, 0])[corridor.day(at) < monday] += 1
    rows = [
        Output(name or "no crew named", str(crew or NO_CREW), this, before)
        for (crew, name), (this, before) in numbers.items()
    ]
    return sorted(rows, key=lambda row: (-row.this_week, -row.last_week, row.crew))


def by_stage(rows: QuerySet[Decision]) -> list[tuple[str, int]]:
    """Return how many of these releases each stage has, in the order of work."""
    counted = dict(rows.order_by().values_list("inspection__hold_point__stage").annotate(Count("id")))
    return [(STAGE_BY_KEY[key].title, counted[key]) for key in STAGE_BY_KEY if key in counted]
