"""One foundation's page: its six hold points, and what this person may do next there."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import NamedTuple

from django.urls import reverse

from apps.board.rows import Row, next_points, rows
from apps.calc.stages import STAGE_BY_KEY, Stage
from apps.corridor.access import Role
from apps.corridor.models import Corridor, Foundation
from apps.findings import moves as finding_moves
from apps.findings.models import Finding
from apps.holdpoints import blockers, moves
from apps.holdpoints.models import Condition, Decision, HoldPoint, Inspection, Reopening
from apps.materials.models import Computation


class Column(NamedTuple):
    """One hold point: its state, its last attempt and what was decided on it."""

    stage: Stage
    number: int
    point: HoldPoint
    inspection: Inspection | None
    decision: Decision | None
    condition: Condition | None
    reopening: Reopening | None
    """Why it is reopened, while it is."""
    next: bool


class Step(NamedTuple):
    """Something that this person may do next, or why not now."""

    title: str
    url: str
    reasons: list[str]


@dataclass(frozen=True, slots=True)
class Page:
    """Everything on the page."""

    row: Row
    columns: list[Column]
    steps: list[Step]
    reasons: list[str]
    """What stands in the way of building the next stage now."""
    findings: list[Finding]
    computations: list[Computation]

    @property
    def complete(self) -> bool:
        """Whether all six are released."""
        return self.row.point.state == HoldPoint.State.RELEASED

    @property
    def released_words(self) -> str:
        """Say how many hold points are released: 4 of 6 released."""
        return f"{len(self.released)} of {len(self.columns)} released"

    @property
    def stage(self) -> Stage:
        """The next stage."""
        return STAGE_BY_KEY[self.row.point.stage]

    @property
    def has_open_hole(self) -> bool:
        """Whether a drilled hole stands open: the stage in it is next."""
        return any(gate.renewable for gate in self.row.situation.gate.parts) and not self.complete

    @property
    def released(self) -> list[HoldPoint]:
        """The hold points that may be reopened, the highest first."""
        points = [column.point for column in self.columns]
        return [point for point in reversed(points) if point.state == HoldPoint.State.RELEASED]


def page(corridor: Corridor, foundation: Foundation, roles: frozenset[str], at: datetime) -> Page:
    """Return the page for someone with these roles, in a fixed number of queries."""
    unsettled = Finding.objects.unsettled().filter(foundation=foundation)
    findings = list(unsettled.select_related("crew").order_by("raised_at", "number"))
    row = rows(next_points(corridor).filter(foundation=foundation), findings, corridor, at)[0]
    open_now = row.point.state != HoldPoint.State.RELEASED and not row.standing.abandoned
    return Page(
        row,
        _columns(foundation, row.point),
        _steps(corridor, row, roles) if not row.standing.abandoned else [],
        blockers.to_build(row.situation, at) if open_now else [],
        findings,
        list(Computation.objects.of(foundation)),
    )


def _columns(foundation: Foundation, following: HoldPoint) -> list[Column]:
    """Return the six hold points, each with its last attempt."""
    attempts = Inspection.objects.filter(hold_point__foundation=foundation).order_by("attempt")
    last = {
        each.hold_point_id: each for each in attempts.select_related("inspector", "decision__by", "decision__condition")
    }
    reopened = {
        each.hold_point_id: each
        for each in Reopening.objects.filter(hold_point__foundation=foundation).select_related("by")
    }
    columns = []
    for number, point in enumerate(foundation.hold_points.order_by("place"), start=1):
        inspection = last.get(point.pk)
        decision: Decision | None = getattr(inspection, "decision", None)
        reopening = reopened.get(point.pk) if point.state == HoldPoint.State.REOPENED else None
        is_next = point.pk == following.pk and point.state != HoldPoint.State.RELEASED
        condition: Condition | None = getattr(decision, "condition", None)
        columns.append(
            Column(STAGE_BY_KEY[point.stage], number, point, inspection, decision, condition, reopening, is_next)
        )
    return columns


def _steps(corridor: Corridor, row: Row, roles: frozenset[str]) -> list[Step]:
    """Return what moves.py leaves open to these roles at the next hold point, each with its page, and raising a finding."""
    foundation, point = row.foundation, row.point
    work = STAGE_BY_KEY[point.stage].title.lower()
    here = [corridor.slug, foundation.mark, point.stage]
    notice = f"{reverse('field:today', args=[corridor.slug])}?stage={point.stage}&mark={foundation.mark}#give"
    pages = {
        "give_notice": (f"Give notice for {work}", notice, notice_reasons(row)),
        "submit_inspection": (
            f"Inspect {work}",
            reverse("field:inspection", args=here),
            blockers.to_inspect(row.situation, row.at),
        ),
        "release": (f"Decide on {work}", reverse("desk:hold_point", args=here), []),
        "withdraw_notice": (f"Withdraw notice for {work}", reverse("field:today", args=[corridor.slug]), []),
    }
    open_acts = [move.act for move in moves.open_to(point.state, set(roles))]
    if (
        Role.FOREMAN not in roles
    ):  # only the foreman's page has these two; the page of the foundation has a form for the others
        open_acts = [act for act in open_acts if act not in {"give_notice", "withdraw_notice"}]
    steps = [
        Step(*pages[act])
        for act in ("release", "submit_inspection", "give_notice", "withdraw_notice")
        if act in open_acts
    ]
    if roles & finding_moves.RAISE_ROLES:
        raised = f"{reverse('desk:raise_finding', args=[corridor.slug])}?mark={foundation.mark}&stage={point.stage}"
        steps.append(Step("Raise finding", raised, []))
    return steps


def notice_reasons(row: Row) -> list[str]:
    """Return why notice may not be given at all; a gate that opens later is no reason, the time asked for is."""
    gate = row.situation.gate
    return blockers.to_give_notice(row.situation, max(row.at, gate.opens_at) if gate.opens_at else row.at)


def main_step(steps: Sequence[Step]) -> Step | None:
    """Return the step that the page offers first: one that nothing stands in the way of."""
    return next((step for step in steps if not step.reasons and step.title != "Raise finding"), None)
