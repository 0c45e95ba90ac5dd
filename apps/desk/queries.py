"""What the desk shows: the queue, and everything known about one attempt."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from fractions import Fraction
from typing import Any

from django.db.models import F, OuterRef, QuerySet, Subquery

from apps.calc.limits import Limits
from apps.corridor.models import Corridor
from apps.holdpoints import blockers
from apps.holdpoints.models import Decision, HoldPoint, Inspection, Measurement, Photo
from apps.people.models import Person
from apps.record.models import Entry
from apps.sheet.glyphs import Standing
from apps.sheet.standing import standings

SKEW = timedelta(minutes=5)


@dataclass(frozen=True, slots=True)
class Waiting:
    """One attempt in the queue."""

    point: HoldPoint
    inspection: Inspection
    standing: Standing

    @property
    def judge(self) -> str:
        """What the engineer must judge, empty where all conform."""
        words = []
        if refer := self.inspection.count("refer"):
            words.append(f"{refer} refer{'s' if refer == 1 else ''} to you")
        if wrong := self.inspection.count("nonconforming"):
            words.append(f"{wrong} nonconforming")
        if missing := self.inspection.count("not_measured"):
            words.append(f"{missing} not measured")
        return ", ".join(words)

    @property
    def at_limit(self) -> int:
        """How many readings stand exactly at their limit."""
        return self.inspection.at_limit

    @property
    def clean(self) -> bool:
        """Whether it may be released with others: all conform, none at a limit, first attempt."""
        return not self.judge and not self.at_limit and self.inspection.attempt == 1


def last_attempt() -> Subquery:
    """The key of a hold point's last inspection."""
    return Subquery(Inspection.objects.filter(hold_point=OuterRef("pk"), attempt=OuterRef("attempts")).values("pk")[:1])


def awaiting(corridor: Corridor) -> QuerySet[HoldPoint]:
    """Return the hold points that wait for the engineer, the longest first, with what a list shows of them."""
    found = HoldPoint.objects.awaiting_release().filter(corridor=corridor)
    return found.select_related("foundation__design", "foundation__crew", "foundation__corridor__edition").annotate(
        last=last_attempt(), mark=F("foundation__mark")
    )


def queue(points: Sequence[HoldPoint]) -> list[Waiting]:
    """Put the last attempt and the glyph beside each waiting hold point."""
    attempts = Inspection.objects.select_related("inspector").in_bulk([point.last for point in points])  # type: ignore[attr-defined]
    drawn = standings([point.foundation for point in points])
    return [Waiting(point, attempts[point.last], drawn[point.foundation_id]) for point in points]  # type: ignore[attr-defined]


@dataclass(frozen=True, slots=True)
class Measured:
    """One requirement of the table."""

    row: Measurement
    limits: Limits
    value: Fraction | None

    @property
    def typed(self) -> str:
        """Every reading as typed, with its place."""
        return "; ".join(f"{each['place']} {each['typed']}".strip() for each in self.row.readings)


@dataclass(frozen=True, slots=True)
class Evidence:
    """Everything known about one attempt."""

    point: HoldPoint
    inspection: Inspection
    standing: Standing
    measured: list[Measured]
    photos: list[Photo]
    decision: Decision | None
    earlier: list[Inspection]
    reasons: list[str]
    gate: str
    skew: timedelta
    entry: Entry | None

    @property
    def sentence(self) -> str:
        """The sum of the table in one sentence."""
        count = self.inspection.count
        judged = sum(count(outcome) for outcome in ("conforms", "refer", "nonconforming", "not_measured"))
        words = [f"{count('conforms')} of {judged} conform"]
        if refer := count("refer"):
            words.append(f"{refer} refer{'s' if refer == 1 else ''} to you")
        if wrong := count("nonconforming"):
            words.append(f"{wrong} nonconforming")
        missing = count("not_measured")
        words.append(f"{missing} not measured" if missing else "nothing is missing")
        return ", ".join(words) + "."

    @property
    def skewed(self) -> bool:
        """Whether the phone's clock and the server's stand apart by more than a few minutes."""
        return abs(self.skew) > SKEW


def evidence(point: HoldPoint, person: Person, now: datetime) -> Evidence | None:
    """Return everything known about the last attempt at a hold point; None if nobody inspected it yet."""
    attempts = list(
        point.inspections.select_related("inspector", "edition", "crew", "decision__by").order_by("attempt")
    )
    if not attempts:
        return None
    inspection = attempts[-1]
    inspection.hold_point = point
    situation = blockers.situation(point, now)
    rows = inspection.measurements.select_related("finding", "instrument").order_by("place")
    return Evidence(
        point=point,
        inspection=inspection,
        standing=standings([point.foundation])[point.foundation_id],
        measured=[_measured(row) for row in rows],
        photos=list(inspection.photos.select_related("attachment")),
        decision=getattr(inspection, "decision", None),
        earlier=attempts[:-1],
        reasons=blockers.to_release(situation, inspection, person, "judged") if point.state == "inspected" else [],
        gate=situation.gate.sentence,
        skew=inspection.received_at - inspection.looked_at,
        entry=Entry.objects.filter(log=point.corridor_id, sequence=inspection.entry).first(),
    )


def _measured(row: Measurement) -> Measured:
    """Turn a row's exact texts back into numbers for its margin bar."""
    numbers: dict[str, Any] = {name: Fraction(text) for name, text in row.limits.items()}
    return Measured(row, Limits(**numbers), Fraction(row.value) if row.value else None)
