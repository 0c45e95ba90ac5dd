"""Filters of the queue and of the register of findings."""

from typing import Any

import django_filters
from django.db.models import Q, QuerySet

from apps.calc.stages import STAGES
from apps.corridor.models import Corridor
from apps.findings.models import Finding
from apps.holdpoints.models import HoldPoint, Inspection

STAGE_CHOICES = [(stage.key, stage.title) for stage in STAGES]
JUDGE = [
    ("clean", "All conform"),
    ("refer", "A reading refers"),
    ("nonconforming", "Nonconforming"),
    ("limit", "At a limit"),
]


class QueueFilter(django_filters.FilterSet):
    """Which waiting hold points the queue shows."""

    stage = django_filters.ChoiceFilter(choices=STAGE_CHOICES, label="Stage", empty_label="All six")
    crew = django_filters.ModelChoiceFilter(
        field_name="foundation__crew", queryset=None, label="Crew", empty_label="All crews"
    )
    verdict = django_filters.ChoiceFilter(
        choices=JUDGE, label="To judge", empty_label="Everything", method="by_verdict"
    )

    class Meta:
        model = HoldPoint
        fields: list[str] = []

    def __init__(self, *args: Any, corridor: Corridor, **kwargs: Any) -> None:
        self.base_filters["crew"].extra["queryset"] = corridor.crews.all()
        super().__init__(*args, **kwargs)

    def by_verdict(self, rows: QuerySet[HoldPoint], name: str, value: str) -> QuerySet[HoldPoint]:
        """Keep those whose last attempt came out so."""
        attempts = Inspection.objects.all()
        if value == "limit":
            attempts = attempts.filter(at_limit__gt=0)
        elif value == "clean":
            attempts = attempts.filter(at_limit=0).exclude(
                Q(tally__has_key="refer") | Q(tally__has_key="nonconforming") | Q(tally__has_key="not_measured")
            )
        else:
            attempts = attempts.filter(tally__has_key=value)
        return rows.filter(last__in=attempts.values("pk"))


MOVES_NEXT = {
    "engineer": ("the engineer", ["open", "verified"]),
    "contractor": ("the contractor", ["decided"]),
    "inspector": ("an inspector", ["answered"]),
}
OPEN = "unsettled"


class FindingFilter(django_filters.FilterSet):
    """Which findings the register shows; open ones unless something else is chosen."""

    state = django_filters.ChoiceFilter(
        choices=[(OPEN, "Open"), *Finding.State.choices], label="State", empty_label="All", method="by_state"
    )
    grade = django_filters.ChoiceFilter(choices=Finding.Grade.choices, label="Grade", empty_label="All")
    stage = django_filters.ChoiceFilter(choices=STAGE_CHOICES, label="Stage", empty_label="All six")
    mover = django_filters.ChoiceFilter(
        choices=[(key, who) for key, (who, _) in MOVES_NEXT.items()],
        label="Who moves next",
        empty_label="Anybody",
        method="by_mover",
    )
    cause = django_filters.ChoiceFilter(choices=Finding.Cause.choices, label="Cause", empty_label="All causes")
    word = django_filters.CharFilter(label="Mark, number or word", method="by_word", max_length=60)

    class Meta:
        model = Finding
        fields: list[str] = []

    def by_state(self, rows: QuerySet[Finding], name: str, value: str) -> QuerySet[Finding]:
        """Keep one state, or all that are not closed."""
        return rows.exclude(state="closed") if value == OPEN else rows.filter(state=value)

    def by_mover(self, rows: QuerySet[Finding], name: str, value: str) -> QuerySet[Finding]:
        """Keep those that wait for one party."""
        return rows.filter(state__in=MOVES_NEXT[value][1])

    def by_word(self, rows: QuerySet[Finding], name: str, value: str) -> QuerySet[Finding]:
        """Keep those whose mark, title or number holds a word."""
        words = Q(foundation__mark__icontains=value) | Q(title__icontains=value)
        digits = value.upper().removeprefix("F-")
        if digits.isascii() and digits.isdigit() and len(digits) < 9:
            words |= Q(number=int(digits))
        return rows.filter(words)
