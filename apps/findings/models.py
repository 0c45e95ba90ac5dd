"""Findings: recorded nonconformances, from the reading that raised them to their verified end."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from apps.corridor.models import STAGE_CHOICES, Corridor, Crew, Foundation
from apps.record.ids import uuid7

BLOCKING_GRADES = ("major", "critical")


class FindingQuerySet(models.QuerySet["Finding"]):
    """Findings in the trade's words."""

    def unsettled(self) -> "FindingQuerySet":
        """Return those not closed."""
        return self.exclude(state="closed")

    def holding(self) -> "FindingQuerySet":
        """Return those that hold work: major or critical, not closed."""
        return self.unsettled().filter(grade__in=BLOCKING_GRADES)

    def late(self, today: object) -> "FindingQuerySet":
        """Return open ones whose answer was due before today."""
        return self.unsettled().filter(due_on__lt=today)


class Finding(models.Model):
    """One requirement that was not met at one foundation. Nothing is deleted; a closed one may be reopened."""

    class State(models.TextChoices):
        OPEN = "open", "Waits for a decision"
        DECIDED = "decided", "Correction under way"
        ANSWERED = "answered", "Corrected, to be verified"
        VERIFIED = "verified", "Verified, to be closed"
        CLOSED = "closed", "Closed"

    class Grade(models.TextChoices):
        MINOR = "minor", "Minor"
        MAJOR = "major", "Major"
        CRITICAL = "critical", "Critical"

    class Cause(models.TextChoices):
        SURVEY = "survey", "Survey or layout"
        DRAWING = "drawing", "Drawing unclear or superseded"
        MATERIAL = "material", "Material"
        WORKMANSHIP = "workmanship", "Workmanship"
        METHOD = "method", "Method or equipment"
        MEASURING = "measuring", "Measuring equipment"
        WEATHER = "weather", "Weather"
        GROUND = "ground", "Ground"
        THIRD_PARTY = "third_party", "Third party"
        SEQUENCE = "sequence", "Sequence or missed notice"
        SUPERVISION = "supervision", "Supervision or training"
        UNKNOWN = "unknown", "Not known yet"

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    corridor = models.ForeignKey(Corridor, models.PROTECT, related_name="findings")
    number = models.PositiveIntegerField()
    foundation = models.ForeignKey(Foundation, models.PROTECT, related_name="findings")
    stage = models.CharField(max_length=10, choices=STAGE_CHOICES)
    requirement_key = models.CharField(max_length=80, blank=True, help_text="empty: raised by eye")
    title = models.CharField(max_length=160, help_text="what is wrong, in one line")
    reading = models.CharField(max_length=200, blank=True)
    limit = models.CharField(max_length=200, blank=True)
    grade = models.CharField(max_length=10, choices=Grade)
    cause = models.CharField(max_length=12, choices=Cause, default=Cause.UNKNOWN)
    crew = models.ForeignKey(Crew, models.SET_NULL, null=True, blank=True, related_name="findings")
    state = models.CharField(max_length=10, choices=State, default=State.OPEN)
    raised_at = models.DateTimeField()
    raised_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    since = models.DateTimeField(help_text="since when it is in its state")
    due_on = models.DateField(help_text="promised answer")
    again_of = models.ForeignKey(
        "self",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="again",
        help_text="the last one before it of the same requirement, at the same foundation or of the same crew",
    )
    cost = models.DecimalField(
        max_digits=12, decimal_places=2, null=True, blank=True, help_text="what it costs as estimated, in dollars"
    )
    delay_d = models.DecimalField(
        max_digits=5, decimal_places=1, null=True, blank=True, help_text="working days that it costs as estimated"
    )
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+")

    objects = FindingQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["corridor", "number"], name="finding_number_once_per_corridor"),
            models.CheckConstraint(
                condition=Q(state__in=["open", "decided", "answered", "verified", "closed"]),
                name="finding_state_is_known",
            ),
            models.CheckConstraint(
                condition=Q(grade__in=["minor", "major", "critical"]), name="finding_grade_is_known"
            ),
            models.CheckConstraint(
                condition=Q(state="closed", closed_at__isnull=False, closed_by__isnull=False)
                | (~Q(state="closed") & Q(closed_at=None, closed_by=None)),
                name="finding_closed_with_time_and_person",
            ),
            models.CheckConstraint(
                condition=(Q(cost=None) | Q(cost__gte=0)) & (Q(delay_d=None) | Q(delay_d__gte=0)),
                name="finding_effect_is_no_gain",
            ),
        ]
        indexes = [
            models.Index(fields=["corridor", "state", "raised_at"], name="finding_waiting"),
            models.Index(fields=["foundation", "state"], name="finding_of_foundation"),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def name(self) -> str:
        """Its number as the trade writes it: F-031."""
        return f"F-{self.number:03d}"

    @property
    def is_open(self) -> bool:
        """Whether it is not closed."""
        return self.state != self.State.CLOSED

    @property
    def holds(self) -> bool:
        """Whether it stops work at its foundation."""
        return self.is_open and self.grade in BLOCKING_GRADES


class SavedView(models.Model):
    """Filters of the register that a person keeps under a name. A convenience of that person: nothing of the record."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="+")
    corridor = models.ForeignKey(Corridor, models.CASCADE, related_name="+")
    name = models.CharField(max_length=40)
    query = models.CharField(max_length=300, help_text="filters and order as they stand in the address")

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(fields=["person", "corridor", "name"], name="saved_view_named_once"),
        ]

    def __str__(self) -> str:
        return self.name


class Disposition(models.Model):
    """What was decided about a finding (ISO 9000:2015, 3.12), by whom and why. A later one replaces it; both stay."""

    class Kind(models.TextChoices):
        REWORK = "rework", "Rework"
        REPAIR = "repair", "Repair"
        CONCESSION = "concession", "Concession"
        REGRADE = "regrade", "Regrade"
        REJECT = "reject", "Reject"

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    finding = models.ForeignKey(Finding, models.PROTECT, related_name="dispositions")
    kind = models.CharField(max_length=10, choices=Kind)
    reason = models.TextField(help_text="what is to be done, or why it may stay")
    consent = models.CharField(
        max_length=200, blank=True, help_text="letter of the engineer of record, where one is needed"
    )
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["at", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(kind__in=["rework", "repair", "concession", "regrade", "reject"]),
                name="disposition_kind_is_known",
            ),
            models.CheckConstraint(condition=~Q(reason=""), name="disposition_has_a_reason"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}: {self.reason}"

    @property
    def leaves_it(self) -> bool:
        """Whether the work stays as it is, so that nothing is left to correct or verify."""
        return self.kind in {self.Kind.CONCESSION, self.Kind.REGRADE}


class Answer(models.Model):
    """What was done about a finding, by the one who did it."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    finding = models.ForeignKey(Finding, models.PROTECT, related_name="answers")
    done = models.TextField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["at", "id"]
        constraints = [models.CheckConstraint(condition=~Q(done=""), name="answer_says_what_was_done")]

    def __str__(self) -> str:
        return self.done


class Verification(models.Model):
    """A look at the correction by someone other than who made it."""

    class Outcome(models.TextChoices):
        CONFORMS = "conforms", "Conforms"
        NONCONFORMING = "nonconforming", "Nonconforming"

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    finding = models.ForeignKey(Finding, models.PROTECT, related_name="verifications")
    outcome = models.CharField(max_length=14, choices=Outcome)
    reading = models.CharField(max_length=200, help_text="the new reading, or what was seen")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["at", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(outcome__in=["conforms", "nonconforming"]), name="verification_outcome_is_known"
            ),
            models.CheckConstraint(condition=~Q(reading=""), name="verification_has_a_reading"),
        ]

    def __str__(self) -> str:
        return f"{self.get_outcome_display()}: {self.reading}"
