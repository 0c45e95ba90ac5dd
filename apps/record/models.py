"""The record: one append-only log per corridor. It names people and things by text, so nothing can pull a row from under it."""

from uuid import UUID

from django.db import models

from apps.record.ids import uuid7


class Head(models.Model):
    """Where a log stands: its size, the peaks of its Merkle tree and its root. The one lock that writers of a corridor share."""

    log = models.UUIDField(primary_key=True, help_text="the corridor's id")
    origin = models.CharField(max_length=120, help_text="the corridor's name, for readers of a bundle")
    size = models.PositiveBigIntegerField(default=0)
    peaks = models.JSONField(default=list, help_text="hashes of the completed nodes, left to right, hex")
    root = models.CharField(max_length=64)
    changed_at = models.DateTimeField()
    statement = models.TextField(blank=True, help_text="what the signature is over: record.heads.statement")
    signature = models.CharField(max_length=128, blank=True)
    kept_at = models.DateTimeField(null=True, blank=True, help_text="when a signed head was last kept for good")

    def __str__(self) -> str:
        return f"{self.origin}, {self.size} entries"


class SignedHead(models.Model):
    """A head that was signed and is kept for good: what the record was at that moment."""

    log = models.UUIDField()
    size = models.PositiveBigIntegerField()
    statement = models.TextField(help_text="canonical JSON: origin, log, size, root, at, key")
    signature = models.CharField(max_length=128)
    at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["log", "size"], name="signed_head_once_per_size")]
        ordering = ["log", "size"]

    def __str__(self) -> str:
        return f"head at {self.size} entries"


class EntryQuerySet(models.QuerySet["Entry"]):
    """Entries of the record, in the trade's words."""

    def of_log(self, log: UUID) -> "EntryQuerySet":
        """Return a corridor's entries in order."""
        return self.filter(log=log).order_by("sequence")

    def about(self, mark: str) -> "EntryQuerySet":
        """Return what was entered about one foundation."""
        return self.filter(mark=mark)


class Entry(models.Model):
    """One thing that happened. `text` is what the leaf hash is taken over; the columns repeat it for reading and searching."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    log = models.UUIDField()
    sequence = models.PositiveBigIntegerField(help_text="1, 2, 3 … without gaps; the only order there is")
    act = models.CharField(max_length=40)
    subject = models.CharField(max_length=80, help_text="what it is about: LP-047/drill, F-031, edition 1")
    mark = models.CharField(max_length=40, blank=True, help_text="the foundation, if it is about one")
    station = models.CharField(max_length=20, blank=True)
    actor = models.CharField(max_length=150, help_text="sign-in name")
    actor_name = models.CharField(max_length=160)
    role = models.CharField(max_length=20, help_text="the role under which it was done, frozen here")
    device_at = models.DateTimeField(help_text="the clock of the phone or desk")
    received_at = models.DateTimeField(help_text="the clock of the server")
    payload = models.JSONField()
    rows = models.JSONField(default=dict, help_text="what the act wrote: table → key → digest, see record.rows")
    text = models.TextField(help_text="canonical JSON of all the above: the leaf")
    leaf = models.CharField(max_length=64)

    objects = EntryQuerySet.as_manager()

    class Meta:
        verbose_name_plural = "entries"
        constraints = [
            models.UniqueConstraint(fields=["log", "sequence"], name="entry_sequence_once_per_log"),
            models.CheckConstraint(condition=models.Q(sequence__gte=1), name="entry_sequence_starts_at_one"),
        ]
        indexes = [models.Index(fields=["log", "mark", "sequence"], name="entry_by_foundation")]

    def __str__(self) -> str:
        return f"entry {self.sequence}, {self.act} {self.subject}"


class Node(models.Model):
    """A completed node of a log's Merkle tree, kept so that a proof costs a handful of rows."""

    log = models.UUIDField()
    level = models.PositiveSmallIntegerField()
    place = models.PositiveBigIntegerField()
    hash = models.CharField(max_length=64)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["log", "level", "place"], name="node_once")]

    def __str__(self) -> str:
        return f"node {self.level}/{self.place}"


class Receipt(models.Model):
    """What an act answered to a client's id, so that the same submission twice is one submission."""

    actor = models.CharField(max_length=150)
    client_id = models.UUIDField()
    act = models.CharField(max_length=40)
    fingerprint = models.CharField(max_length=64, help_text="SHA-256 over the canonical arguments")
    answer = models.JSONField()
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["actor", "client_id"], name="receipt_once_per_person_and_client_id")
        ]

    def __str__(self) -> str:
        return f"{self.act} by {self.actor}"


class Attachment(models.Model):
    """A photo or paper named by the SHA-256 of its original bytes. The original is sealed; of a picture pages show the re-encoded copy.

    A PDF has no pixels: its width and height are 0.
    """

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    log = models.UUIDField()
    sha256 = models.CharField(max_length=64)
    size = models.PositiveIntegerField()
    kind = models.CharField(max_length=40, help_text="media type found in the bytes, not the one claimed")
    name = models.CharField(max_length=200, blank=True, help_text="file name as it came, kept as data only")
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    taken_at = models.DateTimeField(null=True, blank=True)
    position = models.JSONField(
        null=True, blank=True, help_text="where the phone says that it was taken: record.positions"
    )
    added_at = models.DateTimeField()

    class Meta:
        indexes = [models.Index(fields=["log", "sha256"], name="attachment_by_hash")]

    def __str__(self) -> str:
        return f"{self.kind} {self.sha256[:12]}"
