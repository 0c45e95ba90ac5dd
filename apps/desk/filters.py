"""Filters of the queue and of the register of findings, in the address."""

from datetime import timedelta

import django_filters
from django.db.models import Q, QuerySet
from django.http import HttpRequest

from apps.calc.stages import STAGES
from apps.corridor.models import Crew
from apps.findings import ages, turn
from apps.findings.models import BLOCKING_GRADES, Finding
from apps.holdpoints.models import Inspection

STAGE_CHOICES = [(stage.key, stage.title) for stage in STAGES]
JUDGE = [
    ("clean", "All conform"),
    ("refer", "A reading refers"),
    ("nonconforming", "Nonconforming"),
    ("limit", "At a limit"),
]


def crews(request: HttpRequest) -> QuerySet[Crew]:
    """Return the crews of the corridor that is looked at."""
    found: QuerySet[Crew] = request.corridor.crews.all()  # type: ignore[attr-defined]
    return found


class QueueFilter(django_filters.FilterSet):
    """Which waiting attempts the queue shows."""

    stage = django_filters.ChoiceFilter(
        field_name="hold_point__stage", choices=STAGE_CHOICES, label="Stage", empty_label="All six"
    )
    crew = django_filters.ModelChoiceFilter(
        field_name="hold_point__foundation__crew", queryset=crews, label="Crew", empty_label="All crews"
    )
    verdict = django_filters.ChoiceFilter(
        choices=JUDGE, label="To judge", empty_label="Everything", method="by_verdict"
    )

    class Meta:
        model = Inspection
        fields: list[str] = []

    def by_verdict(self, rows: QuerySet[Inspection], name: str, value: str) -> QuerySet[Inspection]:
        """Keep those that came out so."""
        if value == "limit":
            return rows.filter(at_limit__gt=0)
        if value == "clean":
            return rows.filter(at_limit=0).exclude(
                Q(tally__has_key="refer") | Q(tally__has_key="nonconforming") | Q(tally__has_key="not_measured")
            )
        return rows.filter(tally__has_key=value)


OPEN, HOLDS = "unsettled", "holding"
LATE, AGAIN = "late", "again"
AGES = [
    (LATE, "Past the answer"),
    *((band.key, band.words.capitalize()) for band in ages.BANDS),
    ("30", "Over 30 days"),
    (AGAIN, "Came back"),
]


class FindingFilter(django_filters.FilterSet):
    """Which findings the register shows. The rows carry `decided`."""

    state = django_filters.ChoiceFilter(
        choices=[(OPEN, "Open"), (HOLDS, "Holds work"), *Finding.State.choices],
        label="State",
        empty_label="All",
        method="by_state",
    )
    grade = django_filters.ChoiceFilter(choices=Finding.Grade.choices[::-1], label="Grade", empty_label="All")
    stage = django_filters.ChoiceFilter(choices=STAGE_CHOICES, label="Stage", empty_label="All six")
    mover = django_filters.ChoiceFilter(
        choices=turn.TITLES, label="Who moves next", empty_label="Anybody", method="by_mover"
    )
    cause = django_filters.ChoiceFilter(choices=Finding.Cause.choices, label="Cause", empty_label="All causes")
    crew = django_filters.ModelChoiceFilter(queryset=crews, label="Crew", empty_label="All crews")
    age = django_filters.ChoiceFilter(choices=AGES, label="Age", empty_label="Any", method="by_age")
    word = django_filters.CharFilter(label="Mark, number or word", method="by_word", max_length=60)

    class Meta:
        model = Finding
        fields: list[str] = []

    def by_state(self, rows: QuerySet[Finding], name: str, value: str) -> QuerySet[Finding]:
        """Keep one state, or all that are not closed, or those of them that hold work."""
        if value == HOLDS:
            return rows.exclude(state=Finding.State.CLOSED).filter(grade__in=BLOCKING_GRADES)
        return rows.exclude(state=Finding.State.CLOSED) if value == OPEN else rows.filter(state=value)

    def by_mover(self, rows: QuerySet[Finding], name: str, value: str) -> QuerySet[Finding]:
        """Keep those that wait for one party, as `turn.mover` says."""
        return turn.waiting_for(rows, value)

    def by_age(self, rows: QuerySet[Finding], name: str, value: str) -> QuerySet[Finding]:
        """Keep what is past its answer, what is open for longer than so many days, or what an earlier one was like."""
        at, corridor = self.request.now, self.request.corridor
        if value == LATE:
            return rows.exclude(state=Finding.State.CLOSED).filter(due_on__lt=corridor.day(at))
        if value == AGAIN:
            return rows.exclude(again_of=None)
        if value in {band.key for band in ages.BANDS}:
            return ages.within(rows, value, corridor, corridor.day(at))
        return rows.exclude(state=Finding.State.CLOSED).filter(raised_at__lt=at - timedelta(days=int(value)))

    def by_word(self, rows: QuerySet[Finding], name: str, value: str) -> QuerySet[Finding]:
        """Keep those whose mark, title or number holds a word."""
        words = Q(foundation__mark__icontains=value) | Q(title__icontains=value)
        digits = value.strip().upper().removeprefix("F-")
        if digits.isascii() and digits.isdigit() and len(digits) < 9:
            words |= Q(number=int(digits))
        return rows.filter(words)
