"""Editions of requirements. A published edition never changes; a corridor has one in force, a hold point keeps its own."""

import json
from functools import cached_property, lru_cache

from django.db import models

from apps.calc.requirement import Requirement as Spec
from apps.calc.stages import FAMILIES, STAGES
from apps.record.ids import uuid7
from apps.requirements.content import Content


class Edition(models.Model):
    """A numbered set of requirements."""

    class State(models.TextChoices):
        DRAFT = "draft", "Draft"
        PUBLISHED = "published", "Published"
        SUPERSEDED = "superseded", "Superseded"

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    number = models.PositiveIntegerField(unique=True)
    title = models.CharField(max_length=120)
    state = models.CharField(max_length=12, choices=State, default=State.DRAFT)
    rule = models.CharField(max_length=10, default="simple", help_text="decision rule: simple, or guarded (JCGM 106)")
    stages = models.JSONField(default=dict, help_text="per stage: preconditions, photo views, cautions")
    sources = models.JSONField(default=dict, help_text="key → title, edition, year, kind, note")
    gates = models.JSONField(default=dict)
    cautions = models.JSONField(default=list, help_text="cautions shown at every stage")
    digest = models.CharField(max_length=64, blank=True, help_text="SHA-256 over the canonical content, once published")
    published_at = models.DateTimeField(null=True, blank=True)
    published_by = models.CharField(max_length=160, blank=True)
    based_on = models.ForeignKey(
        "self",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="drafts",
        help_text="the edition that its draft began from",
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(state__in=["draft", "published", "superseded"]), name="edition_state_is_known"
            ),
            models.CheckConstraint(
                condition=models.Q(state="draft", digest="", published_at=None)
                | (~models.Q(state="draft") & ~models.Q(digest="") & models.Q(published_at__isnull=False)),
                name="edition_published_with_digest_and_time",
            ),
        ]

    def __str__(self) -> str:
        return f"Edition {self.number}"

    @property
    def is_draft(self) -> bool:
        """Whether it may still change."""
        return self.state == self.State.DRAFT

    def content(self) -> Content:
        """Return what it says, as files would say it."""
        return Content(
            number=self.number,
            title=self.title,
            rule=self.rule,
            gates=self.gates,
            cautions=self.cautions,
            sources=self.sources,
            stages=self.stages,
            requirements=[row.spec for row in self.requirements.order_by("place")],
        )

    def views(self, stage: str) -> dict[str, str]:
        """Return the photo views of a stage: key → title, in the order of work."""
        return {view["key"]: view["title"] for view in self.stages.get(stage, {}).get("views", [])}

    def stage_cautions(self, stage: str) -> dict[str, dict[str, str]]:
        """Return the cautions of a stage by key, each with `bold` and `text`."""
        return {caution["key"]: caution for caution in self.stages.get(stage, {}).get("cautions", [])}


@lru_cache(maxsize=4096)
def _spec(block: str) -> Spec:
    """Parse a block once per process: a page and an act read the same few hundred again and again."""
    return Spec.parse(json.loads(block))


class RequirementQuerySet(models.QuerySet["Requirement"]):
    """Requirements in the trade's words."""

    def at(self, stage: str) -> "RequirementQuerySet":
        """Return those of one stage in the order of work."""
        return self.filter(stage=stage).order_by("place")

    def for_family(self, family: str) -> "RequirementQuerySet":
        """Return those that hold for one family of foundation."""
        return self.filter(models.Q(family="") | models.Q(family=family))


class Requirement(models.Model):
    """One block of an edition. `block` is the whole of it, as the file has it; the columns are for finding."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    edition = models.ForeignKey(Edition, models.CASCADE, related_name="requirements")
    place = models.PositiveIntegerField(help_text="order of work within the edition")
    key = models.CharField(max_length=80)
    stage = models.CharField(max_length=10, choices=[(stage.key, stage.title) for stage in STAGES])
    family = models.CharField(max_length=20, choices=list(FAMILIES.items()), blank=True, help_text="empty: both")
    title = models.CharField(max_length=120)
    grade = models.CharField(max_length=10)
    source_kind = models.CharField(max_length=20)
    block = models.JSONField()

    objects = RequirementQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["edition", "key"], name="requirement_key_once_per_edition"),
            models.CheckConstraint(
                condition=models.Q(grade__in=["minor", "major", "critical"]), name="requirement_grade_is_known"
            ),
        ]

    def __str__(self) -> str:
        return self.key

    @cached_property
    def spec(self) -> Spec:
        """The requirement as the judging core knows it."""
        return _spec(json.dumps(self.block))
