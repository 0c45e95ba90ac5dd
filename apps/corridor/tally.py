"""Keeping a corridor's running counts: every act adds its difference here, inside its own transaction, as its last write but the entry."""

from collections import Counter
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal

from django.db import models

from apps.corridor.models import Corridor, Production, Snapshot, Tally


@dataclass
class Change:
    """The difference that one act makes to a corridor's counts."""

    foundations: int = 0
    abandoned: int = 0
    hold_points: Counter[tuple[str, str]] = field(default_factory=Counter)
    """(stage, state) → by how many."""
    findings: Counter[str] = field(default_factory=Counter)
    """grade → by how many open."""
    produced: Counter[str] = field(default_factory=Counter)
    """stage → releases made."""
    rows: list[models.Model] = field(default_factory=list)
    """What was written besides the counts, for the entry to name."""

    def move(self, stage: str, old: str, new: str) -> None:
        """Note that one hold point went from a state to another."""
        self.hold_points[stage, old] -= 1
        self.hold_points[stage, new] += 1
        if new == "released":
            self.produced[stage] += 1


def _close_day(tally: Tally) -> None:
    """Keep the counts as the last day with a change closed."""
    Snapshot.objects.get_or_create(
        corridor=tally.corridor,
        day=tally.day,
        defaults={
            "foundations": tally.foundations,
            "hold_points": tally.hold_points,
            "findings": tally.findings,
            "percent": Decimal(round(tally.percent() * 1000)) / 1000,
        },
    )


def _add(counts: dict[str, int], key: str, by: int) -> None:
    """Add to a count and drop it at zero, so that a recount gives the same mapping."""
    counts[key] = counts.get(key, 0) + by
    if not counts[key]:
        del counts[key]


def apply(corridor: Corridor, change: Change, at: datetime) -> None:
    """Add a change to the corridor's counts, closing the last day first if a new one began."""
    tally = Tally.objects.select_for_update().get(corridor=corridor)
    tally.corridor = corridor
    today = corridor.day(at)
    if tally.day < today:
        _close_day(tally)
        tally.day = today
    tally.foundations += change.foundations
    tally.abandoned += change.abandoned
    for (stage, state), by in change.hold_points.items():
        states = tally.hold_points.setdefault(stage, {})
        _add(states, state, by)
    tally.hold_points = {stage: states for stage, states in tally.hold_points.items() if states}
    for grade, by in change.findings.items():
        _add(tally.findings, grade, by)
    tally.version += 1
    tally.save()
    for stage, by in change.produced.items():
        row, _ = Production.objects.get_or_create(corridor=corridor, day=today, stage=stage)
        row.released += by
        row.save(update_fields=["released"])


def lock(corridor: Corridor) -> None:
    """Take the corridor's counts row for this transaction, where an act must check many rows before it writes."""
    Tally.objects.select_for_update().get(corridor=corridor)
