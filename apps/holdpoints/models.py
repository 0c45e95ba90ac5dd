"""Hold points and what moves them: notices, inspections with their measurements and photos, decisions, reopenings."""

from django.conf import settings
from django.db import models
from django.db.models import Exists, OuterRef, Q

from apps.corridor.models import STAGE_CHOICES, Corridor, Crew, Foundation
from apps.findings.models import Finding
from apps.materials.models import Instrument
from apps.record.fixes import FARTHEST_M, OLDEST_S, Fix
from apps.record.ids import uuid7
from apps.record.models import Attachment
from apps.requirements.models import Edition

PERSON = settings.AUTH_USER_MODEL
OUTCOMES = ["conforms", "refer", "nonconforming", "not_measured", "not_applicable"]
NO_FIX = dict.fromkeys(("fix_lat", "fix_lon", "fix_accuracy_m", "fix_at", "fix_age_s"))
"""What a photo holds that came without a position of the phone."""


class HoldPointQuerySet(models.QuerySet["HoldPoint"]):
    """Hold points in the trade's words."""

    def standing(self) -> "HoldPointQuerySet":
        """Return those of foundations that are not abandoned."""
        return self.filter(foundation__abandoned_at=None)

    def awaiting_release(self) -> "HoldPointQuerySet":
        """Return those inspected and not yet decided, the longest waiting first."""
        return self.standing().filter(state="inspected").order_by("since", "id")

    def awaiting_inspection(self) -> "HoldPointQuerySet":
        """Return those that notice was given for, the earliest asked first."""
        return self.standing().filter(state="notified").order_by("asked_for", "id")

    def returned(self) -> "HoldPointQuerySet":
        """Return those sent back."""
        return self.standing().filter(state="returned").order_by("since", "id")

    def with_held(self) -> "HoldPointQuerySet":
        """Annotate `held`: a blocking finding is open on the foundation."""
        return self.annotate(held=Exists(Finding.objects.holding().filter(foundation=OuterRef("foundation"))))


class HoldPoint(models.Model):
    """One stage of one foundation. `state` is the truth; moves.MOVES says how it changes."""

    class State(models.TextChoices):
        NOT_READY = "not_ready", "Not ready"
        READY = "ready", "Ready"
        NOTIFIED = "notified", "Notified"
        INSPECTED = "inspected", "Inspected, awaiting release"
        RETURNED = "returned", "Returned"
        RELEASED = "released", "Released"
        REOPENED = "reopened", "Reopened"

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    corridor = models.ForeignKey(Corridor, models.PROTECT, related_name="hold_points")
    foundation = models.ForeignKey(Foundation, models.PROTECT, related_name="hold_points")
    stage = models.CharField(max_length=10, choices=STAGE_CHOICES)
    place = models.PositiveSmallIntegerField(help_text="0 for layout: the work order")
    state = models.CharField(max_length=10, choices=State)
    since = models.DateTimeField(help_text="since when it is in its state")
    attempts = models.PositiveSmallIntegerField(default=0)
    edition = models.ForeignKey(
        Edition,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="hold_points",
        help_text="the one it was last inspected under",
    )
    asked_for = models.DateTimeField(null=True, blank=True, help_text="when the foreman wants the inspector")

    objects = HoldPointQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["foundation", "stage"], name="hold_point_once_per_stage"),
            models.CheckConstraint(
                condition=Q(
                    state__in=["not_ready", "ready", "notified", "inspected", "returned", "released", "reopened"]
                ),
                name="hold_point_state_is_known",
            ),
            models.CheckConstraint(
                condition=~Q(state__in=["inspected", "returned", "released", "reopened"]) | Q(attempts__gte=1),
                name="hold_point_inspected_before_decided",
            ),
        ]
        indexes = [
            models.Index(fields=["corridor", "stage", "state"], name="hold_point_flow"),
            models.Index(fields=["corridor", "state", "since"], name="hold_point_waiting"),
            models.Index(fields=["foundation", "place"], name="hold_point_of_foundation"),
        ]
        ordering = ["place"]

    def __str__(self) -> str:
        return f"{self.foundation.mark}, {self.get_stage_display().lower()}"


class Notice(models.Model):
    """A foreman's word that a hold point will be ready at a time."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    hold_point = models.ForeignKey(HoldPoint, models.PROTECT, related_name="notices")
    asked_for = models.DateTimeField()
    crew = models.ForeignKey(Crew, models.PROTECT, null=True, blank=True, related_name="notices")
    note = models.CharField(max_length=200, blank=True)
    given_by = models.ForeignKey(PERSON, models.PROTECT, related_name="+")
    given_at = models.DateTimeField()
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["given_at", "id"]

    def __str__(self) -> str:
        return f"notice for {self.hold_point}"


class InspectionQuerySet(models.QuerySet["Inspection"]):
    """Attempts in the trade's words."""

    def awaiting_decision(self) -> "InspectionQuerySet":
        """Return the last attempts at what awaits release, the longest waiting first."""
        waiting = {"hold_point__state": "inspected", "hold_point__foundation__abandoned_at": None}
        last = self.filter(attempt=models.F("hold_point__attempts"), **waiting)
        return last.order_by("hold_point__since", "hold_point__id")


class Inspection(models.Model):
    """One attempt at one hold point: what was read, under which edition, by whom."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    hold_point = models.ForeignKey(HoldPoint, models.PROTECT, related_name="inspections")
    attempt = models.PositiveSmallIntegerField()
    edition = models.ForeignKey(Edition, models.PROTECT, related_name="inspections")
    inspector = models.ForeignKey(PERSON, models.PROTECT, related_name="inspections")
    crew = models.ForeignKey(Crew, models.PROTECT, null=True, blank=True, related_name="inspections")
    looked_at = models.DateTimeField(help_text="the clock of the device")
    received_at = models.DateTimeField(help_text="the clock of the server")
    note = models.TextField(blank=True)
    tally = models.JSONField(help_text="outcome → how many")
    tightest = models.CharField(max_length=120, blank=True, help_text="least margin in words")
    at_limit = models.PositiveSmallIntegerField(default=0, help_text="readings exactly at their limit")
    entry = models.PositiveBigIntegerField(help_text="sequence in the record")
    facts = models.JSONField(
        null=True, blank=True, help_text="what it was judged by besides the readings, exact: calc.facts.facts_as_json"
    )

    objects = InspectionQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["hold_point", "attempt"], name="inspection_attempt_once"),
            models.CheckConstraint(condition=Q(attempt__gte=1), name="inspection_attempt_starts_at_one"),
        ]
        ordering = ["attempt"]

    def __str__(self) -> str:
        return f"{self.hold_point}, attempt {self.attempt}"

    def count(self, outcome: str) -> int:
        """Return how many requirements came out so."""
        return int(self.tally.get(outcome, 0))


class Measurement(models.Model):
    """One requirement at one inspection: every reading of it, the value judged, the verdict and why."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    inspection = models.ForeignKey(Inspection, models.PROTECT, related_name="measurements")
    foundation = models.ForeignKey(Foundation, models.PROTECT, related_name="measurements")
    stage = models.CharField(max_length=10, choices=STAGE_CHOICES)
    requirement_key = models.CharField(max_length=80)
    place = models.PositiveSmallIntegerField(help_text="order of work")
    title = models.CharField(max_length=120)
    grade = models.CharField(max_length=10)
    readings = models.JSONField(help_text="[{place, typed, unit}]: as typed, with the unit it was typed in")
    value = models.TextField(blank=True, help_text="judged, exact, in the requirement's unit: 385/16")
    unit = models.CharField(max_length=10, blank=True)
    value_text = models.CharField(max_length=120, blank=True)
    limit_text = models.CharField(max_length=120)
    limits = models.JSONField(
        default=dict, help_text="low, high, refer_low, refer_high as exact text, for the margin bar"
    )
    outcome = models.CharField(max_length=14)
    margin = models.TextField(blank=True, help_text="exact, positive is to spare")
    margin_text = models.CharField(max_length=80, blank=True)
    at_limit = models.BooleanField(default=False)
    headline = models.CharField(max_length=160)
    sentence = models.TextField(blank=True)
    working = models.JSONField(default=list)
    reason = models.CharField(max_length=200, blank=True, help_text="why it was not measured, or does not apply")
    instrument = models.ForeignKey(Instrument, models.PROTECT, null=True, blank=True, related_name="measurements")
    given = models.JSONField(
        null=True, blank=True, help_text="what was said besides: judging.Given.as_json, for judging it again"
    )
    finding = models.ForeignKey(Finding, models.PROTECT, null=True, blank=True, related_name="measurements")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["inspection", "requirement_key"], name="measurement_once_per_requirement"),
            models.CheckConstraint(condition=Q(outcome__in=OUTCOMES), name="measurement_outcome_is_known"),
            models.CheckConstraint(
                condition=~Q(outcome__in=["not_measured", "not_applicable"]) | ~Q(reason=""),
                name="measurement_missing_with_reason",
            ),
        ]
        indexes = [
            models.Index(fields=["foundation", "stage", "requirement_key"], name="measurement_of_foundation"),
            models.Index(fields=["requirement_key"], name="measurement_of_requirement"),
        ]
        ordering = ["place"]

    def __str__(self) -> str:
        return f"{self.requirement_key}: {self.headline}"


class Photo(models.Model):
    """A photo of one view, taken for one inspection; with it, where the phone stood, if the inspector let it say so (record.fixes)."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    inspection = models.ForeignKey(Inspection, models.PROTECT, related_name="photos")
    view = models.CharField(max_length=40)
    title = models.CharField(max_length=80)
    attachment = models.ForeignKey(Attachment, models.PROTECT, related_name="photos")
    fix_lat = models.DecimalField(max_digits=9, decimal_places=7, null=True, help_text="degrees, WGS 84")
    fix_lon = models.DecimalField(max_digits=10, decimal_places=7, null=True, help_text="degrees, WGS 84")
    fix_accuracy_m = models.DecimalField(max_digits=9, decimal_places=1, null=True, help_text="radius about it")
    fix_at = models.DateTimeField(null=True, help_text="when the phone found its position, by its clock")
    fix_age_s = models.PositiveSmallIntegerField(null=True, help_text="how old it was when the photo was sent")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(**NO_FIX)
                # An empty column makes a comparison unknown, which a constraint lets pass: so each is asked for.
                | Q(
                    **{f"{name}__isnull": False for name in NO_FIX},
                    fix_lat__range=(-90, 90),
                    fix_lon__range=(-180, 180),
                    fix_accuracy_m__gt=0,
                    fix_accuracy_m__lte=FARTHEST_M,
                    fix_age_s__lte=OLDEST_S,
                ),
                name="photo_fix_whole_or_none",
            )
        ]
        ordering = ["id"]

    def __str__(self) -> str:
        return f"{self.title}, {self.inspection}"

    @property
    def fix(self) -> Fix | None:
        """Where the phone said that it stood when the photo was sent; None where it did not."""
        lat, lon, accuracy, at, age = (getattr(self, name) for name in NO_FIX)
        return None if lat is None else Fix(lat, lon, accuracy, at, age)


class HoleLook(models.Model):
    """An open hole looked at again before the work in it goes on: depth, water, walls and bottom as they were released."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    foundation = models.ForeignKey(Foundation, models.PROTECT, related_name="hole_looks")
    by = models.ForeignKey(PERSON, models.PROTECT, related_name="+")
    at = models.DateTimeField()
    note = models.CharField(max_length=300, blank=True)
    entry = models.PositiveBigIntegerField(help_text="sequence in the record")

    class Meta:
        ordering = ["at"]

    def __str__(self) -> str:
        return f"{self.foundation}, looked at again {self.at:%Y-%m-%d %H:%M}"


class Opened(models.Model):
    """Whose eyes the evidence of an attempt was before, and when last. Kept for releases together; a release's entry says the time."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    inspection = models.ForeignKey(Inspection, models.PROTECT, related_name="opened")
    person = models.ForeignKey(PERSON, models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["inspection", "person"], name="opened_once_per_person")]

    def __str__(self) -> str:
        return f"{self.inspection} opened by {self.person}"


class Decision(models.Model):
    """The engineer's word on one inspection. One per inspection: the database refuses a second."""

    class Kind(models.TextChoices):
        RELEASE = "release", "Released"
        RELEASE_WITH_CONDITION = "release_with_condition", "Released with condition"
        RETURN = "return", "Returned"

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    inspection = models.OneToOneField(Inspection, models.PROTECT, related_name="decision")
    kind = models.CharField(max_length=22, choices=Kind)
    reason = models.TextField(blank=True, help_text="why a reading that refers is acceptable, or why it is returned")
    show = models.CharField(
        max_length=300, blank=True, default="", help_text="of a return: what to measure or show next time"
    )
    by = models.ForeignKey(PERSON, models.PROTECT, related_name="decisions")
    at = models.DateTimeField()
    entry = models.PositiveBigIntegerField(help_text="sequence in the record")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(kind__in=["release", "release_with_condition", "return"]), name="decision_kind_is_known"
            ),
            models.CheckConstraint(condition=~Q(kind="return") | ~Q(reason=""), name="decision_return_has_a_reason"),
            models.CheckConstraint(condition=Q(kind="return") | Q(show=""), name="decision_shows_of_a_return_only"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}: {self.inspection}"


class ConditionQuerySet(models.QuerySet["Condition"]):
    """Conditions in the trade's words."""

    def unmet(self) -> "ConditionQuerySet":
        """Return those still to be met, at foundations that are not abandoned, the one due first before."""
        standing = self.filter(met_at=None, decision__inspection__hold_point__foundation__abandoned_at=None)
        return standing.order_by("due_on", "id")


class Condition(models.Model):
    """What must still happen after a release with condition."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    decision = models.OneToOneField(Decision, models.PROTECT, related_name="condition")
    text = models.CharField(max_length=200)
    owner = models.CharField(max_length=60, help_text="who sees to it")
    due_on = models.DateField()
    met_at = models.DateTimeField(null=True, blank=True)
    met_by = models.ForeignKey(PERSON, models.PROTECT, null=True, blank=True, related_name="+")
    met_how = models.CharField(max_length=200, blank=True)

    objects = ConditionQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(met_at=None, met_by=None, met_how="")
                | (Q(met_at__isnull=False, met_by__isnull=False) & ~Q(met_how="")),
                name="condition_met_with_time_person_and_how",
            )
        ]

    def __str__(self) -> str:
        return self.text


class Reopening(models.Model):
    """Accepted work was disturbed: a release is withdrawn, with its reason. The release stays in the history."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    hold_point = models.ForeignKey(HoldPoint, models.PROTECT, related_name="reopenings")
    reason = models.TextField()
    pulled_back = models.JSONField(default=list, help_text="stages that stood on it and fell back")
    by = models.ForeignKey(PERSON, models.PROTECT, related_name="+")
    at = models.DateTimeField()
    entry = models.PositiveBigIntegerField(help_text="sequence in the record")

    class Meta:
        constraints = [models.CheckConstraint(condition=~Q(reason=""), name="reopening_has_a_reason")]
        ordering = ["at", "id"]

    def __str__(self) -> str:
        return f"{self.hold_point} reopened: {self.reason}"
