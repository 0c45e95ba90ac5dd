"""What a release rests on besides readings: instruments and their calibration, concrete loads, strength tests, calculations."""

from datetime import date
from decimal import Decimal
from urllib.parse import urlencode

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q

from apps.corridor.models import STAGE_CHOICES, Corridor, Foundation
from apps.findings.models import Finding
from apps.record.ids import uuid7
from apps.record.models import Attachment


def _paper() -> "models.ForeignKey[Attachment | None, Attachment | None]":
    """Return the column of a row's paper itself: its file, None where only its facts were entered."""
    return models.ForeignKey(Attachment, models.PROTECT, null=True, blank=True, related_name="+")


class Instrument(models.Model):
    """A tape, gauge, level or wrench with a number on it."""

    class Kind(models.TextChoices):
        TAPE = "tape", "Tape"
        GAUGE = "gauge", "Taper gauge"
        LEVEL = "level", "Level"
        WRENCH = "wrench", "Torque wrench"
        SURVEY = "survey", "Total station or rover"
        CONCRETE = "concrete", "Slump cone, air meter, thermometer"

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    corridor = models.ForeignKey(Corridor, models.PROTECT, related_name="instruments")
    name = models.CharField(max_length=40)
    kind = models.CharField(max_length=10, choices=Kind)
    needs_calibration = models.BooleanField(default=False)
    calibrated_until = models.DateField(null=True, blank=True, help_text="last day on which its readings count")
    uncertainty = models.CharField(
        max_length=20, blank=True, help_text="expanded, k about 2, of one reading: 1/16 in, 0.2 deg, 4 %"
    )
    paper = _paper()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["corridor", "name"], name="instrument_name_once_per_corridor")]
        ordering = ["kind", "name"]

    def __str__(self) -> str:
        return self.name

    def in_calibration(self, day: date) -> bool:
        """Say whether its readings count on a day."""
        return not self.needs_calibration or (self.calibrated_until is not None and day <= self.calibrated_until)


class ConcreteLoad(models.Model):
    """One truck: its ticket, its times, its fresh tests."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    corridor = models.ForeignKey(Corridor, models.PROTECT, related_name="loads")
    ticket = models.CharField(max_length=30)
    mix = models.CharField(max_length=40)
    batched_at = models.DateTimeField()
    discharged_at = models.DateTimeField()
    volume_yd3 = models.DecimalField(max_digits=6, decimal_places=2, validators=[MinValueValidator(0)])
    slump_in = models.DecimalField(max_digits=5, decimal_places=2, null=True, blank=True)
    air_percent = models.DecimalField(max_digits=4, decimal_places=1, null=True, blank=True)
    temperature_f = models.DecimalField(max_digits=5, decimal_places=1, null=True, blank=True)
    water_added_gal = models.DecimalField(
        max_digits=5, decimal_places=1, null=True, blank=True, validators=[MinValueValidator(0)], help_text="on site"
    )
    added_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["corridor", "ticket"], name="load_ticket_once_per_corridor"),
            models.CheckConstraint(
                condition=Q(discharged_at__gte=models.F("batched_at")), name="load_discharged_after_batching"
            ),
        ]
        ordering = ["batched_at"]

    def __str__(self) -> str:
        return f"load {self.ticket}"


class Placement(models.Model):
    """How much of a load went into one foundation: a ticket serves several, a foundation may take several."""

    load = models.ForeignKey(ConcreteLoad, models.PROTECT, related_name="placements")
    foundation = models.ForeignKey(Foundation, models.PROTECT, related_name="placements")
    volume_yd3 = models.DecimalField(max_digits=6, decimal_places=2, validators=[MinValueValidator(0)])

    class Meta:
        constraints = [models.UniqueConstraint(fields=["load", "foundation"], name="placement_once")]

    def __str__(self) -> str:
        return f"{self.volume_yd3} yd³ of {self.load}"


class StrengthTest(models.Model):
    """The mean of the cylinders of one load broken at one age (ASTM C39/C39M)."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    load = models.ForeignKey(ConcreteLoad, models.PROTECT, related_name="tests")
    age_d = models.PositiveSmallIntegerField()
    strength_psi = models.PositiveIntegerField()
    breaks = models.JSONField(default=list, blank=True, help_text="psi of each cylinder, where they were entered")
    field_cured = models.BooleanField(default=False, help_text="cured beside the foundation: speaks for loading it")
    tested_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    finding = models.ForeignKey(Finding, models.PROTECT, null=True, blank=True, related_name="strength_tests")

    class Meta:
        ordering = ["tested_at"]

    def __str__(self) -> str:
        return f"{self.strength_psi:,} psi at {self.age_d} d"


class LocateTicket(models.Model):
    """A one-call ticket: the marks of buried lines on a stretch of road, and from when to when they may be dug by.

    It only grows: a renewed ticket is a new one.
    """

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    corridor = models.ForeignKey(Corridor, models.PROTECT, related_name="locate_tickets")
    number = models.CharField(max_length=40)
    valid_from = models.DateField()
    valid_until = models.DateField(help_text="last day on which one may dig by it")
    from_station_ft = models.DecimalField(max_digits=12, decimal_places=2, null=True, blank=True)
    to_station_ft = models.DecimalField(max_digits=12, decimal_places=2, null=True, blank=True)
    answered = models.BooleanField(help_text="every owner of a line has answered")
    note = models.CharField(max_length=200, blank=True)
    paper = _paper()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    added_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(valid_until__gte=models.F("valid_from")), name="locate_ticket_dates_in_order"
            ),
        ]
        ordering = ["valid_from", "added_at"]

    def __str__(self) -> str:
        return f"locate ticket {self.number}"

    def covers(self, station_ft: Decimal) -> bool:
        """Say whether a station lies on its stretch; without ends it is the whole corridor."""
        low, high = self.from_station_ft, self.to_station_ft
        return (low is None or low <= station_ft) and (high is None or station_ft <= high)


class AcceptedProduct(models.Model):
    """A product on the owner's list of accepted ones. It only grows: a product taken off the list is a row with its last day."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    corridor = models.ForeignKey(Corridor, models.PROTECT, related_name="accepted_products")
    name = models.CharField(max_length=120, help_text="as the list has it")
    listed_as = models.CharField(max_length=120, help_text="the list and the place in it")
    accepted_from = models.DateField()
    accepted_until = models.DateField(null=True, blank=True, help_text="last day; empty: without end")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    added_at = models.DateTimeField()

    class Meta:
        ordering = ["name", "accepted_from"]

    def __str__(self) -> str:
        return f"{self.name}, {self.listed_as}"

    def is_accepted(self, day: date) -> bool:
        """Say whether the list has it on a day."""
        return self.accepted_from <= day and (self.accepted_until is None or day <= self.accepted_until)


class Certificate(models.Model):
    """A paper that says what a material is: a mill certificate, an eligibility letter. It only grows."""

    class Covers(models.TextChoices):
        STEEL = "steel", "Reinforcing steel"
        BOLTS = "bolts", "Anchor bolts"
        BASE = "base", "Breakaway base: eligibility letter"
        POLE = "pole", "Pole"
        MIX = "mix", "Concrete mix"
        CONDUIT = "conduit", "Conduit and connectors"

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    corridor = models.ForeignKey(Corridor, models.PROTECT, related_name="certificates")
    covers = models.CharField(max_length=10, choices=Covers)
    number = models.CharField(max_length=60)
    product = models.ForeignKey("AcceptedProduct", models.PROTECT, null=True, blank=True, related_name="certificates")
    lot = models.CharField(max_length=60, blank=True, help_text="heat or lot that it speaks for")
    received_on = models.DateField()
    valid_until = models.DateField(null=True, blank=True)
    note = models.CharField(max_length=200, blank=True)
    paper = _paper()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    added_at = models.DateTimeField()

    class Meta:
        ordering = ["covers", "received_on", "added_at"]

    def __str__(self) -> str:
        return f"{self.get_covers_display()}, {self.number}"

    def holds_on(self, day: date) -> bool:
        """Say whether it counts on a day: received, not run out, and of a product that is still accepted."""
        counts = self.received_on <= day and (self.valid_until is None or day <= self.valid_until)
        return counts and (self.product is None or self.product.is_accepted(day))


class LotUse(models.Model):
    """Which lot went into which foundation: the tie from a certificate to what stands."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    certificate = models.ForeignKey(Certificate, models.PROTECT, related_name="uses")
    foundation = models.ForeignKey(Foundation, models.PROTECT, related_name="lots")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()
    entry = models.PositiveBigIntegerField(help_text="sequence in the record")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["certificate", "foundation"], name="lot_used_once")]
        ordering = ["at"]

    def __str__(self) -> str:
        return f"{self.certificate} in {self.foundation}"


class MaturityCurve(models.Model):
    """Strength against maturity of one mix, from cylinders of that very mix (ASTM C1074). A better one is entered beside it."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    corridor = models.ForeignKey(Corridor, models.PROTECT, related_name="maturity_curves")
    mix = models.CharField(max_length=40)
    form = models.CharField(max_length=12, help_text="hyperbolic, logarithmic or exponential")
    datum_c = models.DecimalField(max_digits=4, decimal_places=1, help_text="datum temperature, °C")
    degree_hours = models.JSONField(help_text="maturity of each test, °C h")
    strengths_psi = models.JSONField(help_text="strength of each test, psi")
    sentence = models.TextField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    added_at = models.DateTimeField()

    class Meta:
        ordering = ["mix", "added_at"]

    def __str__(self) -> str:
        return f"maturity curve of mix {self.mix}"


class MaturityReading(models.Model):
    """The temperatures of the concrete in one foundation since it was placed, and the strength that its mix's curve gives for them."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    foundation = models.ForeignKey(Foundation, models.PROTECT, related_name="maturity_readings")
    curve = models.ForeignKey(MaturityCurve, models.PROTECT, related_name="readings")
    typed = models.JSONField(help_text="hours and temperatures as typed")
    system = models.CharField(max_length=2, help_text="what a number without unit was in: US or SI")
    degree_hours = models.DecimalField(max_digits=9, decimal_places=1)
    strength_psi = models.PositiveIntegerField(help_text="of the curve at this maturity, rounded down")
    sentence = models.TextField()
    working = models.JSONField(help_text="rows as calc.working.as_rows writes them")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()
    entry = models.PositiveBigIntegerField(help_text="sequence in the record")

    class Meta:
        ordering = ["at"]

    def __str__(self) -> str:
        return f"{self.strength_psi:,} psi by maturity"


class ComputationQuerySet(models.QuerySet["Computation"]):
    """Calculations in the trade's words."""

    def of(self, foundation: Foundation) -> "ComputationQuerySet":
        """Return what was put to a foundation, in the order of time, with who and which finding."""
        return self.filter(foundation=foundation).select_related("by", "finding", "foundation")

    def at_stage(self, foundation: Foundation, stage: str) -> "ComputationQuerySet":
        """Return what was put to one stage of a foundation, or to no stage in particular."""
        return self.of(foundation).filter(stage__in=["", stage])


class Computation(models.Model):
    """A calculation made at the Bench and put to a foundation: what went in and what came out, as it was on the day.

    It only grows: a better one is put beside it.
    """

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    foundation = models.ForeignKey(Foundation, models.PROTECT, related_name="computations")
    stage = models.CharField(max_length=10, choices=STAGE_CHOICES, blank=True)
    finding = models.ForeignKey(Finding, models.PROTECT, null=True, blank=True, related_name="computations")
    calculation = models.CharField(max_length=60, help_text="its name in calc.registry")
    title = models.CharField(max_length=200)
    typed = models.JSONField(help_text="what was typed, by the name of the input")
    system = models.CharField(max_length=2, help_text="what a number without unit was in: US or SI")
    sentence = models.TextField()
    answers = models.JSONField(help_text="title, value and value in the other system of each output")
    working = models.JSONField(help_text="rows as calc.working.as_rows writes them")
    source = models.TextField()
    beyond = models.TextField(blank=True)
    caution = models.TextField(blank=True)
    note = models.CharField(max_length=500, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()
    entry = models.PositiveBigIntegerField(help_text="its sequence in the corridor's record")

    objects = ComputationQuerySet.as_manager()

    class Meta:
        ordering = ["at"]

    def __str__(self) -> str:
        return self.title

    @property
    def address(self) -> str:
        """What was typed, as the query of an address."""
        return urlencode({**self.typed, "units": self.system, "for": self.foundation.mark})
