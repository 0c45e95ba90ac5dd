"""One station's whole history, read from the entries; and what was recomputed while reading."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby
from typing import Any

from apps.calc.stages import STAGES, Stage
from apps.corridor.models import Corridor, Foundation
from apps.findings.models import Finding
from apps.holdpoints.models import HoldPoint, Inspection, Measurement, Notice, Photo
from apps.materials.models import Computation, LotUse, MaturityReading, Placement
from apps.record.models import Entry, Head
from apps.record.whole import agrees
from apps.sheet import as_built, wording
from apps.sheet.glyphs import Standing
from apps.sheet.measured import Measured
from apps.sheet.photos import Shots, shots
from apps.sheet.standing import standings


@dataclass(frozen=True, slots=True)
class Event:
    """One entry as the history shows it."""

    entry: Entry
    words: str
    mark: str
    kind: str
    whole: bool
    corrected_by: int = 0
    """The entry that says it is mistaken; 0 for none."""

    @property
    def signed_with(self) -> str:
        """With what it was signed, empty where no signature was asked."""
        return wording.signed_with(self.entry)


def _decision(inspection: Inspection | None) -> Any:
    """Return the engineer's word on an attempt, None while it waits."""
    return getattr(inspection, "decision", None)


@dataclass(frozen=True, slots=True)
class Column:
    """One hold point of six."""

    number: int
    stage: Stage
    point: HoldPoint
    notice: Notice | None
    attempt: Inspection | None
    findings: list[Finding]

    @property
    def decision(self) -> Any:
        """The word on the last attempt, None while it waits."""
        return _decision(self.attempt)


@dataclass(frozen=True, slots=True)
class Attempt:
    """One inspection with its measurements and photos."""

    inspection: Inspection
    measured: list[Measured]
    photos: Shots


@dataclass(frozen=True, slots=True)
class Station:
    """The whole page."""

    foundation: Foundation
    standing: Standing
    head: Head
    columns: list[Column]
    events: list[Event]
    days: list[tuple[Any, list[Event]]]
    total: int
    whole: int
    stages: list[tuple[Stage, list[Attempt]]]
    findings: list[Finding]
    placements: list[Placement]
    matured: list[MaturityReading]
    lots: list[LotUse]
    computations: list[Computation]
    people: list[tuple[str, str]]
    built: as_built.AsBuilt
    decided: list[tuple[HoldPoint, Inspection, str]]
    """Every decision with the leaf hash of its entry, in the order of the record."""

    @property
    def released(self) -> int:
        """How many hold points are released."""
        return sum(column.point.state == "released" for column in self.columns)


def attempt(
    inspection: Inspection, measured: list[Measured], photos: Iterable[Photo], foundation: Foundation
) -> Attempt:
    """Put together what belongs to an inspection; of the foundation its alignment and corridor are asked for. No query of its own."""
    views = inspection.edition.views(inspection.hold_point.stage)
    return Attempt(inspection, measured, shots(photos, foundation, foundation.corridor, views))


def _attempts(foundation: Foundation) -> dict[str, list[Attempt]]:
    """Return every attempt by stage, each with measurements and photos."""
    found = Inspection.objects.filter(hold_point__foundation=foundation).select_related(
        "hold_point", "inspector", "edition", "decision__by", "decision__condition"
    )
    measured: dict[object, list[Measured]] = defaultdict(list)
    for row in (
        Measurement.objects.filter(foundation=foundation).select_related("finding", "instrument").order_by("place")
    ):
        measured[row.inspection_id].append(Measured.of(row))
    photos: dict[object, list[Photo]] = defaultdict(list)
    for photo in Photo.objects.filter(inspection__hold_point__foundation=foundation).select_related("attachment"):
        photos[photo.inspection_id].append(photo)
    by_stage: dict[str, list[Attempt]] = defaultdict(list)
    for each in found.order_by("attempt"):
        each.hold_point.foundation = foundation
        by_stage[each.hold_point.stage].append(attempt(each, measured[each.pk], photos[each.pk], foundation))
    return by_stage


def station(
    corridor: Corridor, foundation: Foundation, *, kind: str = "", person: str = "", stage: str = ""
) -> Station:
    """Return everything that ever happened at one foundation; the filters narrow the history only, never the recomputation."""
    entries = list(Entry.objects.of_log(corridor.pk).about(foundation.mark).order_by("sequence"))
    corrected = {each.payload["corrects"]: each.sequence for each in entries if each.act == "correct_entry"}
    events = [
        Event(
            each,
            wording.sentence(each),
            wording.MARKS.get(each.act, "ready"),
            wording.KIND_OF.get(each.act, ""),
            agrees(each),
            corrected.get(each.sequence, 0),
        )
        for each in entries
    ]
    shown = [
        each
        for each in events
        if kind in {"", each.kind}
        and person in {"", each.entry.actor}
        and stage in {"", each.entry.payload.get("stage")}
    ]
    attempts = _attempts(foundation)
    findings = list(
        foundation.findings.select_related("raised_by", "closed_by")
        .prefetch_related("dispositions__by", "verifications__by")
        .order_by("number")
    )
    leaves = {each.sequence: each.leaf for each in entries}
    tried = [each.inspection for stage_ in STAGES for each in attempts.get(stage_.key, [])]
    decided = [(each.hold_point, each, leaves.get(each.decision.entry, "")) for each in tried if _decision(each)]
    return Station(
        foundation=foundation,
        standing=standings([foundation])[foundation.pk],
        head=Head.objects.get(log=corridor.pk),
        columns=_columns(foundation, attempts, findings),
        events=shown,
        days=[
            (day, list(group)) for day, group in groupby(shown, key=lambda each: corridor.day(each.entry.received_at))
        ],
        total=len(events),
        whole=sum(each.whole for each in events),
        stages=[(stage_, attempts[stage_.key]) for stage_ in STAGES if attempts.get(stage_.key)],
        findings=findings,
        placements=list(foundation.placements.select_related("load").prefetch_related("load__tests")),
        matured=list(foundation.maturity_readings.all()),
        lots=list(foundation.lots.select_related("certificate__paper")),
        computations=list(Computation.objects.of(foundation)),
        people=people(events),
        built=_built(foundation, attempts),
        decided=sorted(decided, key=lambda row: row[1].decision.entry),
    )


def _built(foundation: Foundation, attempts: dict[str, list[Attempt]]) -> as_built.AsBuilt:
    """Return the foundation as built from attempts that are read already."""
    stand = [as_built.standing([each.inspection for each in tried]) for tried in attempts.values()]
    kept = {each.pk for each in stand}
    shown = [each for tried in attempts.values() for each in tried if each.inspection.pk in kept]
    return as_built.of(foundation, stand, [measured.row for each in shown for measured in each.measured])


def _columns(foundation: Foundation, attempts: dict[str, list[Attempt]], findings: list[Finding]) -> list[Column]:
    points = {point.stage: point for point in foundation.hold_points.all()}
    notices: dict[object, Notice] = {}
    for notice in Notice.objects.filter(hold_point__foundation=foundation).order_by("given_at"):
        notices[notice.hold_point_id] = notice
    columns = []
    for number, stage in enumerate(STAGES):
        tried = attempts.get(stage.key, [])
        columns.append(
            Column(
                number=number + 1,
                stage=stage,
                point=points[stage.key],
                notice=notices.get(points[stage.key].pk),
                attempt=tried[-1].inspection if tried else None,
                findings=[finding for finding in findings if finding.stage == stage.key],
            )
        )
    return columns


def people(entries: list[Event]) -> list[tuple[str, str]]:
    """Return who stands in a history: sign-in name and name, for the filter."""
    return sorted({(each.entry.actor, each.entry.actor_name) for each in entries}, key=lambda pair: pair[1])


def at_station(corridor: Corridor, station_ft: Fraction) -> list[Foundation]:
    """Return what stands at a station, to the foot."""
    found = corridor.foundations.select_related("design").up_station()
    return [each for each in found if abs(Fraction(each.station_ft) - station_ft) < 1]


def nearest(corridor: Corridor, station_ft: Fraction) -> list[Foundation]:
    """Return the three foundations nearest to a station."""
    found = corridor.foundations.select_related("design").up_station()
    return sorted(found, key=lambda each: abs(Fraction(each.station_ft) - station_ft))[:3]
