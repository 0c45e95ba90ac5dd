"""Filters of the requirements' list."""

import django_filters
from django.db.models import Q, QuerySet

from apps.calc.stages import FAMILIES
from apps.findings.models import Finding
from apps.requirements.models import Requirement

SOURCES = [("standard", "Standard"), ("contract", "Contract"), ("common practice", "Common practice")]


class RequirementFilter(django_filters.FilterSet):
    """Which requirements of a stage the table shows."""

    family = django_filters.ChoiceFilter(
        choices=list(FAMILIES.items()), label="Family", empty_label="Both", method="by_family"
    )
    grade = django_filters.ChoiceFilter(choices=Finding.Grade.choices, label="Grade", empty_label="All")
    source_kind = django_filters.ChoiceFilter(choices=SOURCES, label="Source", empty_label="All kinds")
    word = django_filters.CharFilter(label="Word or key", method="by_word", max_length=60)

    class Meta:
        model = Requirement
        fields: list[str] = []

    def by_family(self, rows: QuerySet[Requirement], name: str, value: str) -> QuerySet[Requirement]:
        """Keep those of one family and those of both."""
        return rows.filter(Q(family="") | Q(family=value))

    def by_word(self, rows: QuerySet[Requirement], name: str, value: str) -> QuerySet[Requirement]:
        """Keep those whose title or key holds a word."""
        return rows.filter(Q(title__icontains=value) | Q(key__icontains=value))
