"""A corridor and what stands on it: alignments, designs, foundations, crews, members, and its running counts."""

from datetime import date, datetime, time
from fractions import Fraction
from functools import cached_property
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.core.validators import MinValueValidator, RegexValidator
from django.db import models
from django.db.models import F, Q

from apps.calc.requirement import Plan
from apps.calc.stages import DEFAULT_WEIGHTS, FAMILIES, STAGE_KEYS, STAGES
from apps.record.ids import uuid7
from apps.requirements.models import Edition

if TYPE_CHECKING:
    from apps.calc.alignment import Grid

STAGE_CHOICES = [(stage.key, stage.title) for stage in STAGES]


def default_weights() -> dict[str, int]:
    """Return the stage weights that a new corridor begins with."""
    return dict(DEFAULT_WEIGHTS)


def known_zone(value: str) -> None:
    """Refuse a time zone that the zone tables do not hold."""
    from zoneinfo import available_timezones

    from django.core.exceptions import ValidationError

    if value not in available_timezones():
        raise ValidationError(f"{value!r} is no time zone; write it as America/Denver.")


class Corridor(models.Model):
    """The length of road under one project view: one contract, one record, one edition in force."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    slug = models.SlugField(max_length=40, unique=True, help_text="its name in addresses: alder-mesa")
    name = models.CharField(max_length=120)
    owner = models.CharField(max_length=120)
    contract = models.CharField(max_length=60, blank=True)
    time_zone = models.CharField(max_length=40, default="UTC", validators=[known_zone])
    units = models.CharField(max_length=2, choices=[("us", "US customary"), ("si", "SI")], default="us")
    edition = models.ForeignKey(
        Edition, models.PROTECT, related_name="corridors", help_text="in force for new inspections"
    )
    weights = models.JSONField(default=default_weights, help_text="share of each stage in percent complete")
    notice_hours = models.PositiveIntegerField(default=14, help_text="how long before the work notice is due")
    release_promise_hours = models.PositiveIntegerField(default=24, help_text="promised answer of the engineer")
    inspection_promise_hours = models.PositiveIntegerField(
        default=4, help_text="promised answer of the inspector to a notice"
    )
    photo_reach_ft = models.PositiveIntegerField(
        default=50,
        help_text="how far from its station a photo may have been taken before the desk says so; common practice, no source",
    )
    starts_on = models.DateField()
    finishes_on = models.DateField(help_text="contract date")
    working_days = models.CharField(max_length=7, default="12345", help_text="ISO weekdays, Monday is 1")
    holidays = models.JSONField(default=list, help_text="dates on which nobody works, as 2026-11-26")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(finishes_on__gte=F("starts_on")), name="corridor_finishes_after_it_starts"
            )
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def zone(self) -> ZoneInfo:
        """The corridor's time zone, in which days and boards are counted."""
        return ZoneInfo(self.time_zone)

    def day(self, at: datetime) -> date:
        """Return the local day of a moment."""
        return at.astimezone(self.zone).date()

    def day_begins(self, day: date) -> datetime:
        """Return the first moment of a local day."""
        return datetime.combine(day, time.min, tzinfo=self.zone)

    def day_ends(self, day: date) -> datetime:
        """Return the last moment of a local day."""
        return datetime.combine(day, time.max, tzinfo=self.zone)

    def works_on(self, day: date) -> bool:
        """Say whether a day is a working day here."""
        return str(day.isoweekday()) in self.working_days and day.isoformat() not in self.holidays


class Alignment(models.Model):
    """A named line that stations run along. `elements` is what calc.alignment builds its geometry from."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    corridor = models.ForeignKey(Corridor, models.CASCADE, related_name="alignments")
    name = models.CharField(max_length=40)
    definition = models.JSONField(help_text="start, tangents, curves, spirals, station equations")
    crossings = models.JSONField(default=list, help_text="cross streets: [{station, name}]")
    grid = models.JSONField(
        null=True, blank=True, help_text="the plane grid that its coordinates are in: calc.alignment.grid_from"
    )

    class Meta:
        constraints = [models.UniqueConstraint(fields=["corridor", "name"], name="alignment_name_once_per_corridor")]

    def __str__(self) -> str:
        return self.name

    @cached_property
    def geometry(self) -> Any:
        """The line as calc.alignment.Alignment."""
        from apps.calc.alignment import build

        return build(self.definition)

    @cached_property
    def plane(self) -> "Grid | None":
        """The grid as calc.alignment.Grid, None where the control sheet was not brought in."""
        from apps.calc.alignment import grid_from

        return grid_from(self.grid) if self.grid else None


class Crew(models.Model):
    """The people of the contractor who work together."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    corridor = models.ForeignKey(Corridor, models.CASCADE, related_name="crews")
    name = models.CharField(max_length=40)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["corridor", "name"], name="crew_name_once_per_corridor")]
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class MembershipQuerySet(models.QuerySet["Membership"]):
    """Memberships in the trade's words."""

    def on(self, day: date) -> "MembershipQuerySet":
        """Return those that hold on a day."""
        return self.filter(starts_on__lte=day).filter(Q(ends_on__isnull=True) | Q(ends_on__gte=day))


class Membership(models.Model):
    """What a person is on one corridor, from when to when."""

    class Role(models.TextChoices):
        INSPECTOR = "inspector", "Inspector"
        FOREMAN = "foreman", "Foreman"
        ENGINEER = "engineer", "Resident engineer"
        OFFICE = "office", "Project office"
        AUDITOR = "auditor", "Auditor"

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    corridor = models.ForeignKey(Corridor, models.CASCADE, related_name="memberships")
    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="memberships")
    role = models.CharField(max_length=10, choices=Role)
    crew = models.ForeignKey(Crew, models.PROTECT, null=True, blank=True, related_name="members")
    starts_on = models.DateField()
    ends_on = models.DateField(null=True, blank=True)

    objects = MembershipQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["corridor", "person", "role", "starts_on"], name="membership_once"),
            models.CheckConstraint(
                condition=Q(role__in=["inspector", "foreman", "engineer", "office", "auditor"]),
                name="membership_role_is_known",
            ),
            models.CheckConstraint(
                condition=Q(ends_on__isnull=True) | Q(ends_on__gte=F("starts_on")),
                name="membership_ends_after_it_starts",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person}, {self.get_role_display()}"

    def holds_on(self, day: date) -> bool:
        """Say whether it holds on a day."""
        return self.starts_on <= day and (self.ends_on is None or day <= self.ends_on)


def _length(digits: int = 8, places: int = 4, **more: Any) -> "models.DecimalField[Any, Any]":
    return models.DecimalField(max_digits=digits, decimal_places=places, validators=[MinValueValidator(0)], **more)


class Design(models.Model):
    """A type of foundation on the plans: shaft, cage, bolts, base. Lengths in inches unless the name says otherwise."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    corridor = models.ForeignKey(Corridor, models.CASCADE, related_name="designs")
    name = models.CharField(max_length=20)
    family = models.CharField(max_length=20, choices=list(FAMILIES.items()))
    shaft_diameter_in = _length()
    least_depth_in = _length(help_text="a schedule may not order less")
    most_depth_in = _length(help_text="a schedule may not order more")
    bar_count = models.PositiveSmallIntegerField()
    bar_size = models.CharField(max_length=4)
    spiral_size = models.CharField(max_length=4)
    spiral_pitch_in = _length()
    flat_turns = models.PositiveSmallIntegerField(default=2)
    cover_in = _length(default=3)
    bolt_count = models.PositiveSmallIntegerField(default=4)
    bolt_diameter_in = _length()
    bolt_length_in = _length()
    bolt_grade = models.CharField(max_length=4)
    bolt_circle_in = _length()
    bolt_projection_in = _length(default=4)
    conduit_count = models.PositiveSmallIntegerField(default=2)
    conduit_size = models.CharField(max_length=40, blank=True)
    washer_count = models.PositiveSmallIntegerField(null=True, blank=True)
    concrete_strength_psi = models.PositiveIntegerField()
    base = models.CharField(max_length=60, help_text="base model as approved")
    more = models.JSONField(
        default=dict, blank=True, help_text="other facts of the plans, exact as text: calc.facts.FREE"
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["corridor", "name"], name="design_name_once_per_corridor"),
            models.CheckConstraint(condition=Q(family__in=list(FAMILIES)), name="design_family_is_known"),
            models.CheckConstraint(condition=Q(most_depth_in__gte=F("least_depth_in")), name="design_depths_in_order"),
            models.CheckConstraint(
                condition=Q(shaft_diameter_in__gt=0, bolt_circle_in__gt=0), name="design_sizes_above_zero"
            ),
        ]
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class FoundationQuerySet(models.QuerySet["Foundation"]):
    """Foundations in the trade's words."""

    def standing(self) -> "FoundationQuerySet":
        """Return those that count: not abandoned."""
        return self.filter(abandoned_at=None)

    def up_station(self) -> "FoundationQuerySet":
        """Return them in the order of the road."""
        return self.order_by("distance_ft", "side", "mark")


class Foundation(models.Model):
    """One shaft with its identity, from stake to pole. A rejected one is abandoned, never deleted; its successor names it."""

    class Side(models.TextChoices):
        LEFT = "L", "left"
        RIGHT = "R", "right"

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    corridor = models.ForeignKey(Corridor, models.PROTECT, related_name="foundations")
    alignment = models.ForeignKey(Alignment, models.PROTECT, related_name="foundations")
    design = models.ForeignKey(Design, models.PROTECT, related_name="foundations")
    mark = models.CharField(
        max_length=20, validators=[RegexValidator(r"^[A-Z0-9][A-Z0-9.\-]*$", "A mark is written like LP-047.")]
    )
    station_ft = models.DecimalField(
        max_digits=12, decimal_places=2, help_text="as the plans label it, 231+40.00 is 23140"
    )
    distance_ft = models.DecimalField(
        max_digits=12, decimal_places=2, help_text="true distance along the alignment from its start"
    )
    offset_ft = _length(8, 2, help_text="from the alignment, square to it")
    side = models.CharField(max_length=1, choices=Side, help_text="looking up-station")
    east_ft = models.DecimalField(max_digits=14, decimal_places=3)
    north_ft = models.DecimalField(max_digits=14, decimal_places=3)
    depth_in = _length(help_text="depth ordered")
    pole_height_ft = _length(null=True, blank=True)
    arm_ft = _length(null=True, blank=True)
    circuit = models.CharField(max_length=40, blank=True)
    solar = models.BooleanField(default=False)
    notes = models.TextField(blank=True)
    more = models.JSONField(
        default=dict, blank=True, help_text="other facts of the plans, exact as text: calc.facts.FREE"
    )
    replaces = models.OneToOneField("self", models.PROTECT, null=True, blank=True, related_name="successor")
    abandoned_at = models.DateTimeField(null=True, blank=True)
    abandoned_why = models.TextField(blank=True)
    crew = models.ForeignKey(
        Crew, models.SET_NULL, null=True, blank=True, related_name="foundations", help_text="last at work here"
    )

    objects = FoundationQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["corridor", "mark"], name="mark_once_per_corridor"),
            models.CheckConstraint(condition=Q(side__in=["L", "R"]), name="foundation_side_is_left_or_right"),
            models.CheckConstraint(condition=Q(depth_in__gt=0), name="foundation_depth_above_zero"),
            models.CheckConstraint(
                condition=Q(abandoned_at=None, abandoned_why="")
                | (Q(abandoned_at__isnull=False) & ~Q(abandoned_why="")),
                name="abandoned_with_time_and_reason",
            ),
        ]
        indexes = [models.Index(fields=["corridor", "distance_ft"], name="foundation_along_road")]

    def __str__(self) -> str:
        return self.mark

    @property
    def family(self) -> str:
        """The family of its design."""
        return self.design.family

    @property
    def plan(self) -> Plan:
        """What the plans say of this foundation: the facts that conditions and limits may name."""
        from apps.corridor.plan import facts

        return facts(self)


class Tally(models.Model):
    """A corridor's running counts, kept current by the acts. `manage.py recount` compares them with the rows."""

    corridor = models.OneToOneField(Corridor, models.CASCADE, primary_key=True, related_name="tally")
    foundations = models.PositiveIntegerField(default=0, help_text="standing, without the abandoned")
    abandoned = models.PositiveIntegerField(default=0)
    hold_points = models.JSONField(default=dict, help_text="stage → state → how many, standing foundations only")
    findings = models.JSONField(default=dict, help_text="grade → open findings")
    day = models.DateField(help_text="local day of the last change")
    version = models.PositiveBigIntegerField(default=0, help_text="rises with every change: what a page was made from")

    def __str__(self) -> str:
        return f"counts of {self.corridor}"

    def released(self) -> dict[str, int]:
        """Return how many hold points of each stage are released."""
        return {stage: self.hold_points.get(stage, {}).get("released", 0) for stage in STAGE_KEYS}

    def percent(self) -> Fraction:
        """Return the weighted percent complete, exact."""
        from apps.calc.schedule.progress import percent_complete

        return percent_complete(self.released(), self.foundations, self.corridor.weights)


class Production(models.Model):
    """How many hold points of a stage were released on one local day."""

    corridor = models.ForeignKey(Corridor, models.CASCADE, related_name="production")
    day = models.DateField()
    stage = models.CharField(max_length=10, choices=STAGE_CHOICES)
    released = models.IntegerField(default=0)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["corridor", "day", "stage"], name="production_once_a_day_and_stage")
        ]

    def __str__(self) -> str:
        return f"{self.day} {self.stage}: {self.released}"


class Snapshot(models.Model):
    """A corridor's counts as a local day closed, taken by the first change of a later day."""

    corridor = models.ForeignKey(Corridor, models.CASCADE, related_name="snapshots")
    day = models.DateField()
    foundations = models.PositiveIntegerField()
    hold_points = models.JSONField()
    findings = models.JSONField()
    percent = models.DecimalField(max_digits=6, decimal_places=3)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["corridor", "day"], name="snapshot_once_a_day")]

    def __str__(self) -> str:
        return f"{self.corridor}, close of {self.day}"
