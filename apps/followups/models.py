"""Follow-ups of the morning meeting: what somebody is to do by a day, and how it ended."""

from datetime import date, datetime

from django.conf import settings
from django.db import models
from django.db.models import Case, Q, When

from apps.corridor.models import Corridor, Foundation
from apps.findings.models import Finding
from apps.people.models import Person
from apps.record.ids import uuid7


class FollowUpQuerySet(models.QuerySet["FollowUp"]):
    """Follow-ups in the meeting's words."""

    def to_do(self) -> "FollowUpQuerySet":
        """Return those neither done nor dropped."""
        return self.filter(state="open")

    def to_do_at(self, at: datetime) -> "FollowUpQuerySet":
        """Return those that were to do at a moment; one that got another day since stands with its new one."""
        return self.filter(Q(ended_at=None) | Q(ended_at__gt=at), added_at__lte=at)

    def own_first(self, person: Person) -> "FollowUpQuerySet":
        """Put a person's own before the others, each by day."""
        return self.order_by(Case(When(owner=person, then=0), default=1), "due_on", "number")

    def late(self, today: date) -> "FollowUpQuerySet":
        """Return those to do whose day is over."""
        return self.to_do().filter(due_on__lt=today)


class FollowUp(models.Model):
    """One thing that one person is to do by a day. It binds no hold point: what must hold work is a finding or a condition."""

    class State(models.TextChoices):
        OPEN = "open", "To do"
        DONE = "done", "Done"
        DROPPED = "dropped", "Dropped"

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    corridor = models.ForeignKey(Corridor, models.PROTECT, related_name="follow_ups")
    number = models.PositiveIntegerField()
    text = models.CharField("what is to be done", max_length=200)
    owner = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+", help_text="who is to do it")
    due_on = models.DateField("until")
    foundation = models.ForeignKey(Foundation, models.PROTECT, null=True, blank=True, related_name="follow_ups")
    finding = models.ForeignKey(Finding, models.PROTECT, null=True, blank=True, related_name="follow_ups")
    state = models.CharField(max_length=8, choices=State, default=State.OPEN)
    added_at = models.DateTimeField()
    added_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+")
    ended_how = models.CharField(max_length=200, blank=True, help_text="how it shows, or why it was dropped")

    objects = FollowUpQuerySet.as_manager()

    class Meta:
        ordering = ["due_on", "number"]
        constraints = [
            models.UniqueConstraint(fields=["corridor", "number"], name="follow_up_number_once_per_corridor"),
            models.CheckConstraint(
                condition=Q(state="open", ended_at=None, ended_by=None, ended_how="")
                | (Q(state__in=["done", "dropped"], ended_at__isnull=False, ended_by__isnull=False) & ~Q(ended_how="")),
                name="follow_up_ended_with_time_person_and_word",
            ),
        ]
        indexes = [models.Index(fields=["corridor", "state", "due_on"], name="follow_up_due")]

    def __str__(self) -> str:
        return self.name

    @property
    def name(self) -> str:
        """Its number in words."""
        return f"Follow-up {self.number}"

    @property
    def is_open(self) -> bool:
        """Whether it is still to do."""
        return self.state == self.State.OPEN
