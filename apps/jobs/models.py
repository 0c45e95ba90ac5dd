"""A job: work that takes longer than a page may, done by a worker beside the server and kept through every restart."""

from pathlib import Path
from uuid import UUID

from django.conf import settings
from django.db import models
from django.db.models import Q

from apps.corridor.models import Corridor
from apps.record.ids import uuid7

TRIES = 4
"""How often a job is begun: once, and three times more when its worker was killed."""


class JobQuerySet(models.QuerySet["Job"]):
    """Jobs in words."""

    def waiting(self) -> "JobQuerySet":
        """Return those that no worker has begun, the oldest first."""
        return self.filter(state="waiting").order_by("created_at", "id")

    def under_way(self) -> "JobQuerySet":
        """Return those not ended."""
        return self.filter(state__in=["waiting", "running"])


class Job(models.Model):
    """One job. It is no part of the record: it may be cancelled, retried and cleared away."""

    class State(models.TextChoices):
        WAITING = "waiting", "Waits for a worker"
        RUNNING = "running", "Under way"
        DONE = "done", "Done"
        FAILED = "failed", "Failed"
        CANCELLED = "cancelled", "Cancelled"

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    corridor = models.ForeignKey(Corridor, models.CASCADE, null=True, blank=True, related_name="jobs")
    kind = models.CharField(max_length=40, help_text="a name of jobs.registry")
    asked_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="jobs")
    arguments = models.JSONField(default=dict)
    state = models.CharField(max_length=10, choices=State, default=State.WAITING)
    done = models.PositiveIntegerField(default=0)
    total = models.PositiveIntegerField(default=0, help_text="0 while it is not known")
    now_at = models.CharField(max_length=120, blank=True, help_text="what is being worked on: LP-047")
    error = models.CharField(max_length=400, blank=True, help_text="why it failed, one sentence")
    result_name = models.CharField(max_length=120, blank=True, help_text="file name offered with the download")
    created_at = models.DateTimeField()
    started_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    heartbeat_at = models.DateTimeField(null=True, blank=True, help_text="last word of its worker")
    worker = models.UUIDField(null=True, blank=True, help_text="made at each start: only its holder may report")
    tries = models.PositiveSmallIntegerField(default=0)

    objects = JobQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(state__in=["waiting", "running", "done", "failed", "cancelled"]), name="job_state_is_known"
            ),
            models.CheckConstraint(
                condition=Q(state__in=["waiting", "running"], ended_at=None)
                | Q(state__in=["done", "failed", "cancelled"], ended_at__isnull=False),
                name="job_ended_with_time",
            ),
            models.CheckConstraint(
                condition=~Q(state="running")
                | Q(worker__isnull=False, started_at__isnull=False, heartbeat_at__isnull=False),
                name="job_runs_under_a_worker",
            ),
            models.CheckConstraint(condition=~Q(state="failed") | ~Q(error=""), name="job_failed_with_reason"),
            models.CheckConstraint(condition=Q(tries__lte=TRIES), name="job_tried_at_most"),
        ]
        indexes = [
            models.Index(fields=["state", "created_at"], name="job_queue"),
            models.Index(fields=["corridor", "created_at"], name="job_of_corridor"),
        ]
        ordering = ["-created_at", "-id"]

    def __str__(self) -> str:
        return f"{self.kind}, {self.get_state_display().lower()}"

    @property
    def is_over(self) -> bool:
        """Whether it ended, one way or another."""
        return self.state not in {self.State.WAITING, self.State.RUNNING}

    @property
    def result(self) -> Path:
        """Where its result lies, if it has one."""
        return result_path(self.pk)

    @property
    def has_result(self) -> bool:
        """Whether its result can be fetched: made, and not cleared away since."""
        return self.state == self.State.DONE and bool(self.result_name) and self.result.is_file()


def result_path(job: UUID) -> Path:
    """Return where the result of a job is kept: named by the job alone, whatever its download is called."""
    return Path(settings.RESULTS_ROOT) / str(job)
