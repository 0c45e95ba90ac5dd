"""Why not now? Functions that return reasons; empty means go. The page lists them, the act raises them: one source."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from apps.calc.stages import STAGE_BY_KEY, before, position
from apps.findings.models import Finding
from apps.holdpoints.gates import Gates, before_stage
from apps.holdpoints.models import HoldPoint, Inspection, Measurement
from apps.people.models import Person

State = HoldPoint.State
NO_GATE = Gates()


@dataclass(frozen=True, slots=True)
class Situation:
    """A hold point and all that may stand in its way."""

    hold_point: HoldPoint
    before: str
    """State of the stage before; released for layout."""
    holding: tuple[Finding, ...]
    """Blocking findings open on the foundation."""
    gate: Gates


States = Mapping[tuple[object, str], str]
"""(foundation, stage) → state."""


def _states(foundations: Iterable[UUID]) -> States:
    rows = HoldPoint.objects.filter(foundation__in=foundations).values_list("foundation", "stage", "state")
    return {(foundation, stage): state for foundation, stage, state in rows}


def situations(
    hold_points: Iterable[HoldPoint],
    at: datetime,
    *,
    states: States | None = None,
    holding: Iterable[Finding] | None = None,
) -> dict[object, Situation]:
    """Return the situation of each hold point by key, with a fixed number of queries.

    The hold points come with `foundation.design` and `foundation.corridor.edition` selected. A page that has the states and the
    holding findings of their foundations already hands them in.
    """
    points = list(hold_points)
    foundations = {point.foundation_id: point.foundation for point in points}
    if states is None:
        states = _states(foundations)
    if holding is None:
        holding = Finding.objects.holding().filter(foundation__in=foundations).order_by("number")
    held: dict[object, list[Finding]] = defaultdict(list)
    for finding in holding:
        held[finding.foundation_id].append(finding)
    by_stage: dict[str, list[HoldPoint]] = defaultdict(list)
    for point in points:
        by_stage[point.stage].append(point)
    gates = {
        stage: before_stage(stage, [each.foundation for each in its], its[0].foundation.corridor.edition, at)
        for stage, its in by_stage.items()
    }
    return {
        point.pk: Situation(
            point,
            states.get((point.foundation_id, before(point.stage) or ""), State.RELEASED),
            tuple(held[point.foundation_id]),
            gates[point.stage].get(point.foundation_id, NO_GATE),
        )
        for point in points
    }


def situation(hold_point: HoldPoint, at: datetime) -> Situation:
    """Return the situation of one hold point."""
    return situations([hold_point], at)[hold_point.pk]


def _order(now: Situation) -> list[str]:
    """The stage before must be released."""
    earlier = before(now.hold_point.stage)
    if earlier and now.before != State.RELEASED:
        return [f"{STAGE_BY_KEY[earlier].title} is not released: {State(now.before).label.lower()}."]
    return []


def _holds(now: Situation, *, correcting: bool) -> list[str]:
    """Say which findings hold this stage.

    A finding holds every stage above its own. Its own stage and those below may be worked on and looked at once somebody decided
    what happens (that is how it is corrected), but its own stage is not released while it is open.
    """
    here, reasons = position(now.hold_point.stage), []
    for finding in now.holding:
        there = position(finding.stage)
        if finding.state == Finding.State.OPEN:
            reasons.append(f"{finding.name}, {finding.grade}, waits for a decision: {finding.title}.")
        elif there < here or (there == here and not correcting):
            reasons.append(f"{finding.name}, {finding.grade}, is open: {finding.title}.")
    return reasons


def _abandoned(now: Situation) -> list[str]:
    foundation = now.hold_point.foundation
    return [f"{foundation.mark} is abandoned."] if foundation.abandoned_at else []


def to_build(now: Situation, at: datetime, *, looking: bool = False) -> list[str]:
    """Return why the crew may not build this stage at a moment, or, `looking`, why it may not be inspected."""
    return _abandoned(now) + _order(now) + _holds(now, correcting=True) + now.gate.shut(at, looking=looking)


def to_give_notice(now: Situation, asked_for: datetime) -> list[str]:
    """Return why notice may not be given for a time."""
    return to_build(now, asked_for)


def to_inspect(now: Situation, at: datetime) -> list[str]:
    """Return why this hold point may not be inspected now."""
    return to_build(now, at, looking=True)


def to_decide(now: Situation, inspection: Inspection, by: Person) -> list[str]:
    """Return why this person may not decide on this attempt."""
    reasons = _abandoned(now)
    if inspection.hold_point_id != now.hold_point.pk:
        return [*reasons, f"This is the inspection of {inspection.hold_point}, not of {now.hold_point}."]
    if inspection.attempt != now.hold_point.attempts:
        reasons.append(f"Attempt {inspection.attempt} is not the last: look at attempt {now.hold_point.attempts}.")
    if inspection.inspector_id == by.pk:
        reasons.append(f"{by} inspected this attempt; another engineer decides on it.")
    return reasons


def _answered(measurements: Iterable[Measurement]) -> list[str]:
    """Say what was not measured, and what does not conform and is not accepted."""
    reasons = []
    for measurement in measurements:
        if measurement.outcome == "not_measured":
            reasons.append(f"Not measured: {measurement.title}.")
        elif measurement.outcome == "nonconforming":
            finding = measurement.finding
            if finding is None or finding.is_open:
                name = f", {finding.name} is open" if finding else ""
                reasons.append(
                    f"Nonconforming: {measurement.title}, {measurement.margin_text or measurement.value_text}{name}."
                )
            elif not _accepted(finding):
                reasons.append(f"{measurement.title} was corrected after {finding.name}: inspect again.")
    return reasons


def _accepted(finding: Finding) -> bool:
    """Whether a closed finding leaves the work as it is."""
    decided = finding.dispositions.last()
    return decided is not None and decided.leaves_it


def to_release(now: Situation, inspection: Inspection, by: Person, reason: str) -> list[str]:
    """Return why this person may not release on this attempt."""
    measurements = list(inspection.measurements.select_related("finding").prefetch_related("finding__dispositions"))
    reasons = to_decide(now, inspection, by) + _order(now) + _holds(now, correcting=False) + _answered(measurements)
    refers = [measurement.title for measurement in measurements if measurement.outcome == "refer"]
    if refers and not reason.strip():
        reasons.append(f"Say why this is acceptable: {', '.join(refers)}.")
    return reasons
