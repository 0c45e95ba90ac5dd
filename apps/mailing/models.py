"""What a person wants mailed, the letters that wait or went, the papers that go with them, and how far each record was read.

No part of any record.
"""

from datetime import datetime, time

from django.conf import settings
from django.db import models
from django.db.models import Q

from apps.corridor.models import Corridor, known_zone
from apps.mailing.kinds import KIND, KINDS
from apps.record.ids import uuid7

DIGEST_AT = time(6, 0)
QUIET_FROM, QUIET_UNTIL = time(19, 0), time(6, 0)
MORNING_AT, NOON = time(6, 0), time(12, 0)
TRIES = 5
"""How often a letter is given to the mail server that refuses it."""


class Wish(models.Model):
    """What one person wants mailed, and when not. Without a row the defaults hold."""

    class PaperSize(models.TextChoices):
        LETTER = "letter", "Letter"
        A4 = "A4", "A4"

    person = models.OneToOneField(settings.AUTH_USER_MODEL, models.CASCADE, primary_key=True, related_name="mail_wish")
    off = models.JSONField(default=list, blank=True, help_text="kinds that are not sent")
    on = models.JSONField(default=list, blank=True, help_text="kinds that are sent only where they are asked for")
    morning_at = models.TimeField(default=MORNING_AT, help_text="in the zone of each corridor")
    paper_size = models.CharField(max_length=6, choices=PaperSize, default=PaperSize.LETTER)
    digest_at = models.TimeField(default=DIGEST_AT)
    quiet_from = models.TimeField(null=True, blank=True, default=QUIET_FROM)
    quiet_until = models.TimeField(null=True, blank=True, default=QUIET_UNTIL)
    time_zone = models.CharField(
        max_length=40, blank=True, validators=[known_zone], help_text="empty: that of the first corridor"
    )

    class Meta:
        verbose_name_plural = "wishes"
        constraints = [
            models.CheckConstraint(
                condition=Q(quiet_from=None, quiet_until=None) | Q(quiet_from__isnull=False, quiet_until__isnull=False),
                name="wish_quiet_from_and_until",
            )
        ]

    def __str__(self) -> str:
        return f"what {self.person} wants mailed"

    def wants(self, kind: str) -> bool:
        """Say whether the person wants this kind."""
        return kind in self.on if KIND[kind].asked else kind not in self.off

    def refuse(self, kind: str) -> None:
        """Turn a kind off, unsaved; once more changes nothing."""
        if KIND[kind].asked:
            self.on = [each for each in self.on if each != kind]
        elif kind not in self.off:
            self.off = [*self.off, kind]


class Bookmark(models.Model):
    """Up to which entry a corridor's record was read for letters."""

    corridor = models.OneToOneField(Corridor, models.CASCADE, primary_key=True, related_name="mail_bookmark")
    sequence = models.PositiveBigIntegerField(default=0)

    def __str__(self) -> str:
        return f"{self.corridor}, read to entry {self.sequence}"


class LetterQuerySet(models.QuerySet["Letter"]):
    """Letters in words."""

    def due(self, at: datetime) -> "LetterQuerySet":
        """Return those that may go now, what belongs into one mail side by side."""
        return self.filter(state="waiting", not_before__lte=at).order_by("person", "corridor", "kind", "made_at", "id")


class Letter(models.Model):
    """One thing to be told to one person, once. The row is what keeps a restart or a second worker from telling it again."""

    class State(models.TextChoices):
        WAITING = "waiting", "Waits"
        SENDING = "sending", "Being sent"
        SENT = "sent", "Sent"
        DROPPED = "dropped", "Not sent: no longer so, not wanted, or no member any more"
        FAILED = "failed", "The mail server refused it"
        UNCERTAIN = "uncertain", "Its worker was killed over it: not sent again, since it may have gone"

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="letters")
    corridor = models.ForeignKey(
        Corridor, models.CASCADE, null=True, blank=True, related_name="letters", help_text="none: a digest, of all"
    )
    kind = models.CharField(max_length=20, choices=[(kind.key, kind.title) for kind in KINDS])
    about = models.CharField(max_length=80, blank=True, help_text="LP-047/drill, F-031, or the key of a condition")
    once = models.CharField(max_length=40, help_text="what is not repeated: entry 512, attempt 2, 2026-03-04")
    state = models.CharField(max_length=10, choices=State, default=State.WAITING)
    made_at = models.DateTimeField()
    not_before = models.DateTimeField(help_text="end of the person's quiet hours, or of the rest after a refusal")
    taken_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    tries = models.PositiveSmallIntegerField(default=0)
    why = models.CharField(max_length=200, blank=True, help_text="why it was not sent, one sentence")

    objects = LetterQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["person", "corridor", "kind", "about", "once"],
                condition=Q(corridor__isnull=False),
                name="letter_once_on_a_corridor",
            ),
            models.UniqueConstraint(
                fields=["person", "kind", "about", "once"],
                condition=Q(corridor__isnull=True),
                name="letter_once_for_a_person",
            ),
            models.CheckConstraint(
                condition=Q(state__in=["waiting", "sending", "sent", "dropped", "failed", "uncertain"]),
                name="letter_state_is_known",
            ),
            models.CheckConstraint(
                condition=~Q(state="sending") | Q(taken_at__isnull=False), name="letter_sent_with_its_beginning"
            ),
            models.CheckConstraint(
                condition=Q(state__in=["waiting", "sending"], ended_at=None)
                | Q(state__in=["sent", "dropped", "failed", "uncertain"], ended_at__isnull=False),
                name="letter_ended_with_time",
            ),
        ]
        indexes = [
            models.Index(fields=["state", "not_before"], name="letter_waiting"),
            models.Index(fields=["kind", "once"], name="letter_of_kind"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.about} to {self.person_id}".replace("  ", " ")


class Paper(models.Model):
    """A paper that goes with a kind of mail: one for a corridor, day and size, whoever it is sent to.

    The row is there from when a worker begins to make it: `made_at` says that it is done, and only then it may be sent.
    """

    kind = models.CharField(max_length=20, choices=[(kind.key, kind.title) for kind in KINDS])
    corridor = models.ForeignKey(Corridor, models.CASCADE, related_name="mail_papers")
    day = models.DateField()
    size = models.CharField(max_length=6, choices=Wish.PaperSize)
    begun_at = models.DateTimeField()
    made_at = models.DateTimeField(null=True, blank=True)
    subject = models.CharField(max_length=300, blank=True)
    text = models.TextField(blank=True)
    name = models.CharField(max_length=120, blank=True, help_text="of the file")
    content = models.BinaryField(default=bytes, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["kind", "corridor", "day", "size"], name="paper_once_a_corridor_day_and_size"
            )
        ]

    def __str__(self) -> str:
        return f"{self.kind} of {self.corridor_id}, {self.day}, {self.size}"
