"""Everything known about one attempt: what the engineer reads before deciding. A fixed number of queries."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from fractions import Fraction
from typing import NamedTuple

from django.db.models import QuerySet
from django.urls import reverse

from apps.calc.shown import show
from apps.desk.queries import count_words
from apps.findings.models import Finding
from apps.holdpoints import blockers, clean
from apps.holdpoints.models import Decision, HoldPoint, Inspection, Measurement, Reopening
from apps.holdpoints.replay import facts_of
from apps.materials.models import Computation, Placement
from apps.people.models import Person
from apps.sheet import as_built, checks
from apps.sheet.glyphs import Standing
from apps.sheet.measured import Measured
from apps.sheet.photos import Shots, shots
from apps.sheet.standing import standings

SKEW = timedelta(minutes=5)
ORDINALS = ("", "first", "second", "third", "fourth", "fifth")
MARK_OF = {"release": "released", "release_with_condition": "condition", "return": "returned"}


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happened here before."""

    at: datetime
    mark: str
    """A state mark of the sheet."""
    text: str
    url: str = ""
    link: str = ""


@dataclass(frozen=True, slots=True)
class Evidence:
    """Everything known about one attempt."""

    point: HoldPoint
    inspection: Inspection
    standing: Standing
    measured: list[Measured]
    photos: Shots
    views: int
    decision: Decision | None
    earlier: list[Event]
    barred: list[str]
    """Why this person may not decide on this attempt at all."""
    reasons: list[str]
    """What stands in the way of a release besides."""
    gates: list[tuple[str, str]]
    skew: timedelta
    computations: list[Computation]
    """Calculations put to the foundation, for this stage or for none in particular."""
    built: as_built.AsBuilt
    """The foundation as built so far, this attempt in it."""
    checks: list[checks.Check]
    changes: "Changes | None"
    """What changed since the attempt before; None at the first."""

    @property
    def sentence(self) -> str:
        """The sum of the table in one sentence."""
        count = self.inspection.count
        judged = sum(count(outcome) for outcome in ("conforms", "refer", "nonconforming", "not_measured"))
        words = [f"{count('conforms')} of {judged} conform"]
        if refer := count("refer"):
            words.append(f"{count_words(refer, 'refers', 'refer')} to you")
        if wrong := count("nonconforming"):
            words.append(f"{wrong} nonconforming")
        missing = count("not_measured")
        words.append(f"{missing} not measured" if missing else "nothing is missing")
        return ", ".join(words) + "."

    @property
    def refers(self) -> int:
        """How many readings the engineer must judge."""
        return self.inspection.count("refer")

    @property
    def attempt_words(self) -> str:
        """Write the attempt as an ordinal."""
        number = self.inspection.attempt
        return f"{ORDINALS[number]} attempt" if number < len(ORDINALS) else f"attempt {number}"

    @property
    def skewed(self) -> bool:
        """Whether the phone's clock and the server's stand apart by more than a few minutes."""
        return abs(self.skew) > SKEW

    @property
    def section(self) -> bool:
        """Whether the section says something about this stage."""
        return self.point.stage != "base_set" and bool(self.built.section)

    @property
    def base_plan(self) -> bool:
        """Whether the plan of the base says something about this stage."""
        return self.point.stage in ("cage", "pour", "base_set") and bool(self.built.base_plan)

    @property
    def worked(self) -> list[Measured]:
        """The requirements whose working has more than the answer itself."""
        return [each for each in self.measured if each.worked]


class Changed(NamedTuple):
    """One requirement that came out otherwise than at the attempt before."""

    title: str
    before: Measured | None
    now: Measured | None


@dataclass(frozen=True, slots=True)
class Changes:
    """What changed since the attempt before."""

    before: Inspection
    decision: Decision | None
    rows: list[Changed]
    same: int
    """How many requirements were read the same."""


def changes(before: Inspection, now: Sequence[Measured]) -> Changes:
    """Put the readings of the attempt before beside those of this one, where they differ. One query."""
    rows = before.measurements.select_related("finding", "instrument").order_by("place")
    old = {row.requirement_key: Measured.of(row) for row in rows}
    new = {each.row.requirement_key: each for each in now}
    keys = [*new, *(key for key in old if key not in new)]
    differ = [key for key in keys if _said(old.get(key)) != _said(new.get(key))]
    named = {**old, **new}
    found = [Changed(named[key].row.title, old.get(key), new.get(key)) for key in differ]
    return Changes(before, getattr(before, "decision", None), found, len(keys) - len(differ))


def _said(each: Measured | None) -> tuple[object, ...] | None:
    """Return what of a measurement is compared: the readings as typed, what they came to, and the verdict."""
    return None if each is None else (each.row.readings, each.row.value_text, each.row.reason, each.row.outcome)


def evidence(point: HoldPoint, person: Person, now: datetime) -> Evidence | None:
    """Return everything known about the last attempt at a hold point; None if nobody inspected it yet."""
    attempts = list(
        Inspection.objects.filter(hold_point__foundation=point.foundation_id)
        .select_related(
            "hold_point__foundation__design", "inspector", "edition", "crew", "decision__by", "decision__condition"
        )
        .order_by("received_at")
    )
    mine = [attempt for attempt in attempts if attempt.hold_point_id == point.pk]
    if not mine:
        return None
    inspection = mine[-1]
    inspection.hold_point = point
    situation = blockers.situation(point, now)
    rows = list(inspection.measurements.select_related("finding", "instrument").order_by("place"))
    barred, reasons = _in_the_way(situation, inspection, person)
    measured = [Measured.of(row) for row in sorted(rows, key=_first)]
    stand = _stand(inspection, attempts)
    views = inspection.edition.views(point.stage)
    values = as_built.Values(point.foundation, stand, [*rows, *_readings(each for each in stand if each != inspection)])
    return Evidence(
        point=point,
        inspection=inspection,
        standing=standings([point.foundation])[point.foundation_id],
        measured=measured,
        photos=shots(
            inspection.photos.select_related("attachment"), point.foundation, point.foundation.corridor, views
        ),
        views=len(views),
        decision=getattr(inspection, "decision", None),
        earlier=_earlier(point, inspection, attempts),
        barred=barred,
        reasons=reasons,
        gates=_gates(point, inspection, situation, rows),
        skew=inspection.received_at - inspection.looked_at,
        computations=list(Computation.objects.at_stage(point.foundation, point.stage)),
        built=as_built.built(values, stand),
        checks=checks.of_attempt(values, point.stage, facts_of(inspection)),
        changes=changes(mine[-2], measured) if len(mine) > 1 else None,
    )


def _stand(shown: Inspection, attempts: Sequence[Inspection]) -> list[Inspection]:
    """Return the attempt shown, and of every other stage the one that stands."""
    tried: dict[str, list[Inspection]] = defaultdict(list)
    for each in attempts:
        tried[each.hold_point.stage].append(each)
    return [shown if stage == shown.hold_point.stage else as_built.standing(of) for stage, of in tried.items()]


def _readings(attempts: Iterable[Inspection]) -> QuerySet[Measurement]:
    return Measurement.objects.filter(inspection__in=list(attempts)).select_related("finding", "instrument")


def _in_the_way(situation: blockers.Situation, inspection: Inspection, person: Person) -> tuple[list[str], list[str]]:
    """Return why this person may not decide, and what stands in the way of a release. A reading that refers is no obstacle here."""
    if situation.hold_point.state != HoldPoint.State.INSPECTED:
        return [], []
    barred = blockers.to_decide(situation, inspection, person)
    stands = blockers.to_release(situation, inspection, person, "judged by the engineer")
    return barred, [reason for reason in stands if reason not in barred]


def _first(row: Measurement) -> int:
    """Put what must be judged before the rest, each in the order of work."""
    return {"nonconforming": 0, "refer": 1, "not_measured": 2}.get(row.outcome, 3 if row.at_limit else 4)


def _earlier(point: HoldPoint, shown: Inspection, attempts: Sequence[Inspection]) -> list[Event]:
    """Return what happened here before: earlier attempts, what stands under it, reopenings, findings."""
    slug, mark = point.foundation.corridor.slug, point.foundation.mark
    events = [_attempt_event(each) for each in attempts if each.pk != shown.pk and _under(point, each)]
    for again in Reopening.objects.filter(hold_point__foundation=point.foundation_id).select_related(
        "hold_point", "by"
    ):
        what = again.hold_point.get_stage_display()
        events.append(Event(again.at, "reopened", f"{what} reopened by {again.by}: {again.reason}"))
    for finding in Finding.objects.filter(foundation=point.foundation_id):
        state = "held" if finding.holds else "finding" if finding.is_open else "finding_closed"
        said = f"{finding.grade}, {finding.get_stage_display().lower()}: {finding.title}. {finding.get_state_display()}"
        url = reverse("desk:finding", args=[slug, finding.number])
        events.append(Event(finding.raised_at, state, said, url, finding.name))
    address = reverse("board:foundation", args=[slug, mark])
    events += [
        Event(shown.received_at, "test", f"Concrete: {named}", address)
        for named in clean.shared_findings([point.foundation_id])[point.foundation_id]
    ]
    return sorted(events, key=lambda event: event.at, reverse=True)


def _under(point: HoldPoint, attempt: Inspection) -> bool:
    """Whether an attempt is at this hold point, or at the one before it."""
    return 0 <= point.place - attempt.hold_point.place <= 1


def _attempt_event(attempt: Inspection) -> Event:
    what = attempt.hold_point.get_stage_display()
    decision: Decision | None = getattr(attempt, "decision", None)
    if decision is None:
        said = f"{what}, attempt {attempt.attempt} by {attempt.inspector}, not decided"
        return Event(attempt.received_at, "inspected", said)
    said = f"{what}, attempt {attempt.attempt}, {decision.get_kind_display().lower()} by {decision.by}"
    condition = getattr(decision, "condition", None)
    if condition is not None:
        said += f": {condition.text}, {condition.owner}, until {condition.due_on:%-d %b}"
    elif decision.reason:
        said += f": {decision.reason}"
    return Event(decision.at, MARK_OF[decision.kind], said)


def _gates(
    point: HoldPoint, inspection: Inspection, situation: blockers.Situation, rows: Sequence[Measurement]
) -> list[tuple[str, str]]:
    """Return what the attempt rests on besides its readings: the concrete gate, instruments, concrete loads."""
    said = [(f"Gate, {each.name.lower()}", each.sentence) for each in situation.gate.parts if each.sentence]
    day = point.foundation.corridor.day(inspection.looked_at)
    used: dict[str, list[Measurement]] = defaultdict(list)
    for row in rows:
        if row.instrument is not None:
            used[row.instrument.name].append(row)
    said += [(name, calibration(its, day)) for name, its in sorted(used.items())]
    placed = (
        Placement.objects.filter(foundation=point.foundation_id).select_related("load").prefetch_related("load__tests")
    )
    for placement in placed.order_by("load__batched_at"):
        load = placement.load
        minutes = int((load.discharged_at - load.batched_at).total_seconds()) // 60
        slump = f", slump {show(Fraction(load.slump_in), 'in')}" if load.slump_in is not None else ""
        breaks = "".join(f"; {test}" for test in load.tests.all())
        said.append((f"Load {load.ticket}", f"{minutes} min to end of discharge{slump}{breaks}"))
    return said


def calibration(rows: Sequence[Measurement], day: date) -> str:
    """Say how the instrument of some readings stood on the day they were taken: as it was judged then, whatever is on file now."""
    instrument = rows[0].instrument
    assert instrument is not None
    doubts = {str((row.given or {}).get("doubt", "")) for row in rows} - {""}
    if doubts:
        return f"{'; '.join(sorted(doubts))} when it was read on {day:%-d %b %Y}: its readings refer"
    if not instrument.needs_calibration:
        return "needs no calibration"
    until = instrument.calibrated_until
    if until is None:
        return f"no calibration on file; read {day:%-d %b %Y}"
    return f"in calibration when it was read on {day:%-d %b %Y}; on file until {until:%-d %b %Y}"
