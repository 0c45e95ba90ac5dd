"""Audits: a sample of released hold points drawn by chance, each judged by a checklist, and what the sample says of the lot."""

from decimal import Decimal
from typing import Any

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from apps.corridor.models import Corridor
from apps.findings.models import Finding
from apps.holdpoints.models import Inspection
from apps.record.ids import uuid7

PERSON = settings.AUTH_USER_MODEL


def _percent(**more: Any) -> "models.DecimalField[Any, Any]":
    return models.DecimalField(max_digits=6, decimal_places=3, **more)


def _risk(**more: Any) -> "models.DecimalField[Any, Any]":
    return models.DecimalField(max_digits=7, decimal_places=6, **more)


class Audit(models.Model):
    """One sample with its plan. What was drawn never changes; closing it adds the result."""

    class Strata(models.TextChoices):
        SIMPLE = "simple", "Simple: all in one"
        STAGE = "stage", "By stage"
        GRADE = "grade", "By the gravest finding raised there"
        CREW = "crew", "By crew"

    class PlanKind(models.TextChoices):
        TABLE = "table", "From the table of single sampling plans"
        RISKS = "risks", "Smallest sample for two risks"

    class Result(models.TextChoices):
        ACCEPTED = "accepted", "Accepted"
        NOT_ACCEPTED = "not_accepted", "Not accepted"

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    corridor = models.ForeignKey(Corridor, models.PROTECT, related_name="audits")
    number = models.PositiveIntegerField()
    title = models.CharField(max_length=120)
    lot = models.CharField(max_length=300, help_text="which hold points the sample speaks for, in words")
    strata = models.CharField(max_length=10, choices=Strata)
    plan = models.CharField(max_length=10, choices=PlanKind)
    level = models.CharField(max_length=4, blank=True, help_text="general inspection level, for a plan of the table")
    seed = models.CharField(max_length=64)
    frame = models.JSONField(help_text="[[stratum, [item, …]], …]: every hold point of the lot when it was drawn")
    frame_size = models.PositiveIntegerField()
    frame_digest = models.CharField(max_length=64)
    sample = models.PositiveIntegerField(help_text="n")
    accept = models.PositiveIntegerField(help_text="c: so many not in order are accepted at most")
    limit_percent = _percent(help_text="AQL: a lot of this quality should be accepted")
    limiting_percent = _percent(help_text="LTPD: a lot of this quality should not")
    producer_risk = _risk(help_text="chance that a lot at the AQL is not accepted, as computed")
    consumer_risk = _risk(help_text="chance that a lot at the LTPD is accepted, as computed")
    checklist = models.JSONField(help_text="the questions as they were when it was drawn")
    drawn_at = models.DateTimeField()
    drawn_by = models.ForeignKey(PERSON, models.PROTECT, related_name="+")
    drawn_entry = models.PositiveBigIntegerField(help_text="sequence in the record")
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_by = models.ForeignKey(PERSON, models.PROTECT, null=True, blank=True, related_name="+")
    closed_entry = models.PositiveBigIntegerField(null=True, blank=True, help_text="sequence in the record")
    found = models.PositiveIntegerField(null=True, blank=True, help_text="drawn hold points not in order")
    result = models.CharField(max_length=12, choices=Result, blank=True)
    remarks = models.TextField(blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["corridor", "number"], name="audit_number_once_per_corridor"),
            models.CheckConstraint(
                condition=Q(sample__gte=1, sample__lte=F("frame_size")), name="audit_sample_in_frame"
            ),
            models.CheckConstraint(
                condition=Q(strata__in=["simple", "stage", "grade", "crew"]), name="audit_strata_are_known"
            ),
            models.CheckConstraint(condition=Q(plan__in=["table", "risks"]), name="audit_plan_is_known"),
            models.CheckConstraint(
                condition=Q(result="", closed_at=None, closed_by=None, closed_entry=None, found=None)
                | Q(
                    result__in=["accepted", "not_accepted"],
                    closed_at__isnull=False,
                    closed_by__isnull=False,
                    closed_entry__isnull=False,
                    found__isnull=False,
                ),
                name="audit_closed_with_time_person_and_result",
            ),
        ]
        ordering = ["-number"]

    def __str__(self) -> str:
        return self.name

    @property
    def name(self) -> str:
        """Its number as it is written: A-02."""
        return f"A-{self.number:02d}"

    @property
    def is_open(self) -> bool:
        """Whether it is not closed."""
        return self.closed_at is None

    @property
    def by_stratum(self) -> dict[str, list[str]]:
        """The frame, in the order in which its strata were drawn."""
        return {name: list(items) for name, items in self.frame}

    @property
    def limit_words(self) -> str:
        """AQL in percent without idle zeros: 2.5."""
        return f"{self.limit_percent.normalize():f}"

    @property
    def limiting_words(self) -> str:
        """LTPD in percent without idle zeros: 15."""
        return f"{self.limiting_percent.normalize():f}"

    @property
    def limit(self) -> float:
        """AQL as a share, 0 to 1."""
        return float(self.limit_percent / Decimal(100))

    @property
    def limiting(self) -> float:
        """LTPD as a share, 0 to 1."""
        return float(self.limiting_percent / Decimal(100))


class Drawn(models.Model):
    """One hold point of a sample: the attempt that was released when it was drawn."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    audit = models.ForeignKey(Audit, models.PROTECT, related_name="drawn")
    place = models.PositiveIntegerField(help_text="1, 2, 3 … in the order drawn")
    stratum = models.CharField(max_length=60)
    item = models.CharField(max_length=60, help_text="its name in the frame: LP-047/drill/1")
    ticket = models.CharField(max_length=64, help_text="SHA-256 of seed and item, by which it was drawn")
    inspection = models.ForeignKey(Inspection, models.PROTECT, related_name="drawn")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["audit", "place"], name="drawn_place_once_per_audit"),
            models.UniqueConstraint(fields=["audit", "item"], name="drawn_item_once_per_audit"),
            models.UniqueConstraint(fields=["audit", "inspection"], name="drawn_inspection_once_per_audit"),
        ]
        ordering = ["place"]

    def __str__(self) -> str:
        return self.item


class Answer(models.Model):
    """What an auditor answered to one question of one drawn hold point. A later answer counts; the earlier ones stay."""

    class Word(models.TextChoices):
        YES = "yes", "Yes"
        NO = "no", "No"
        NOT_APPLICABLE = "na", "Does not apply"

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    drawn = models.ForeignKey(Drawn, models.PROTECT, related_name="answers")
    question = models.CharField(max_length=40, help_text="its key in the audit's checklist")
    word = models.CharField(max_length=3, choices=Word)
    recomputed = models.CharField(
        max_length=3, blank=True, help_text="what the program found: yes, no, na; empty: nothing to recompute"
    )
    why = models.CharField(max_length=300, blank=True, help_text="what the program found, in one sentence")
    note = models.CharField(max_length=300, blank=True)
    finding = models.ForeignKey(Finding, models.PROTECT, null=True, blank=True, related_name="audit_answers")
    by = models.ForeignKey(PERSON, models.PROTECT, related_name="+")
    at = models.DateTimeField()
    entry = models.PositiveBigIntegerField(help_text="sequence in the record")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(word__in=["yes", "no", "na"]), name="audit_answer_is_known"),
            models.CheckConstraint(condition=Q(word="yes") | ~Q(note=""), name="audit_answer_no_says_why"),
            models.UniqueConstraint(fields=["drawn", "question", "entry"], name="audit_answer_once_per_entry"),
        ]
        ordering = ["entry", "id"]

    def __str__(self) -> str:
        return f"{self.drawn}, {self.question}: {self.get_word_display().lower()}"
