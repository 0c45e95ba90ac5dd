"""Where each foundation stands: its next hold point, what is to be done there, what stands in the way and since when."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import Any, NamedTuple

from django.db.models import Exists, F, OuterRef, QuerySet, Subquery
from django.db.models.functions import Coalesce

from apps.calc.stages import STAGE_BY_KEY, STAGES
from apps.calc.stationing import show_station
from apps.corridor.models import Corridor, Foundation
from apps.findings.models import Finding
from apps.findings.turn import with_decided
from apps.holdpoints import blockers
from apps.holdpoints.models import Condition, HoldPoint
from apps.sheet.glyphs import Standing, sentence
from apps.sheet.standing import standing

State = HoldPoint.State
LAST = len(STAGES) - 1


class Way(NamedTuple):
    """What is to be done next at a foundation, and what stands in the way."""

    step: str
    """An order with its object: "Release base set"; empty where nothing is left to do."""
    mark: str
    """Which state's mark stands before the words."""
    text: str
    since: datetime | None = None
    promised: timedelta | None = None
    """How long it may take, as promised; past it, it is late."""
    finding: Finding | None = None
    """The finding that holds it."""

    def late(self, at: datetime) -> bool:
        """Say whether it waits longer than promised."""
        return self.since is not None and self.promised is not None and at - self.since > self.promised


@dataclass(frozen=True, slots=True)
class Row:
    """One foundation at one moment."""

    point: HoldPoint
    """Its lowest hold point not released; the last one where all are."""
    standing: Standing
    situation: blockers.Situation
    may_be_built: bool
    """The crew may build now, or the gate opens before the day is over."""
    at: datetime

    @property
    def foundation(self) -> Foundation:
        """Where it is."""
        return self.point.foundation

    @property
    def way(self) -> Way:
        """What is to be done next, and what stands in the way: put into words where it is asked for, not for every row of a long road."""
        return _way(self.situation, self.foundation.corridor, self.at)

    @property
    def held(self) -> bool:
        """Whether a finding holds a foundation that counts."""
        return self.standing.held and not self.standing.abandoned

    @property
    def last(self) -> str:
        """The hold point released last."""
        return STAGES[self.standing.released - 1].title if self.standing.released else "None"

    @property
    def late(self) -> bool:
        """Whether it waits longer than promised."""
        return self.way.late(self.at)

    @property
    def own(self) -> Way:
        """What its hold point itself waits for, whatever finding holds it besides."""
        return _WAYS[State(self.point.state)](self.situation, self.foundation.corridor, self.at)

    def opens_in(self, days: int) -> bool:
        """Whether the crew's next step waits for a gate that opens by itself, so many days from today."""
        opens = self.situation.gate.opens_at
        if self.point.state != State.READY or self.held or opens is None or opens <= self.at:
            return False
        corridor = self.foundation.corridor
        return not self.standing.abandoned and corridor.day(opens) == corridor.day(self.at) + timedelta(days=days)

    @property
    def is_asked_by_tonight(self) -> bool:
        """Whether the inspector was asked for today or before, or without a time."""
        asked, corridor = self.point.asked_for, self.foundation.corridor
        return asked is None or corridor.day(asked) <= corridor.day(self.at)

    @property
    def from_when(self) -> str:
        """From when it may be built: now, or as the gate opens."""
        gate = self.situation.gate
        if gate.opens_at is None or gate.stands_at(self.at):
            return "now"
        return f"from {gate.opens_at.astimezone(self.foundation.corridor.zone):%H:%M}"

    @property
    def sentence(self) -> str:
        """Where it stands, as one sentence."""
        reason = f"{self.way.finding.title}" if self.way.finding and self.held else ""
        figure = show_station(self.foundation.station_ft).split(".", maxsplit=1)[0]
        return sentence(self.standing, self.foundation.mark, figure, self.foundation.side, reason)


def next_points(corridor: Corridor) -> QuerySet[HoldPoint]:
    """Return for each foundation its lowest hold point not released, or the last one where all are, up-station.

    Each comes with its foundation, `conditioned` (a condition is open there) and `waits_since`. Hold points and foundations are both
    asked for this corridor's, though one says the other: the cost must not grow with the corridors beside it. The few designs,
    alignments and crews are read once and shared.
    """
    earlier = HoldPoint.objects.filter(
        corridor=corridor, foundation=OuterRef("foundation"), place__lt=OuterRef("place")
    )
    conditions = Condition.objects.filter(
        met_at=None,
        decision__inspection__hold_point__foundation=OuterRef("foundation"),
    )
    holding = Finding.objects.holding().filter(corridor=corridor, foundation=OuterRef("foundation"))
    return (
        HoldPoint.objects.filter(
            ~Exists(earlier.exclude(state=State.RELEASED)), corridor=corridor, foundation__corridor=corridor
        )
        .exclude(state=State.RELEASED, place__lt=LAST)
        .annotate(
            conditioned=Exists(conditions),
            waits_since=Coalesce(
                Subquery(holding.order_by("raised_at").values("raised_at")[:1]), F("asked_for"), F("since")
            ),
        )
        .select_related("foundation")
        .prefetch_related("foundation__design", "foundation__alignment", "foundation__crew")
        .order_by("foundation__distance_ft", "foundation__side", "foundation__mark")
    )


def open_findings(corridor: Corridor) -> list[Finding]:
    """Return every finding that is not closed, the oldest first, each with `decided`."""
    found = with_decided(Finding.objects.unsettled().filter(corridor=corridor))
    return list(found.select_related("foundation").order_by("raised_at", "number"))


def rows(points: Iterable[HoldPoint], findings: Sequence[Finding], corridor: Corridor, at: datetime) -> list[Row]:
    """Return a row for each point of `next_points`, in the same order, with a fixed number of queries (gates and successors)."""
    given = list(points)
    for point in given:
        point.foundation.corridor = corridor
    _name_successors([point.foundation for point in given if point.foundation.abandoned_at], corridor)
    by_foundation: dict[object, list[Finding]] = defaultdict(list)
    for finding in findings:
        by_foundation[finding.foundation_id].append(finding)
    # Every stage before a next point is released: no states need to be read.
    situations = blockers.situations(
        [point for point in given if point.state != State.RELEASED and not point.foundation.abandoned_at],
        at,
        states={},
        holding=[finding for finding in findings if finding.holds],
    )
    evening = day_ends(corridor, at)
    return [_row(point, by_foundation.get(point.foundation_id, ()), situations, evening, at) for point in given]


def _name_successors(abandoned: Sequence[Foundation], corridor: Corridor) -> None:
    """Give the abandoned what replaces them, none where nothing does: one query, none without them."""
    if not abandoned:
        return
    following = Foundation.objects.filter(corridor=corridor).exclude(replaces=None)
    by_replaced = {each.replaces_id: each for each in following}
    field = Foundation._meta.get_field("successor")
    for foundation in abandoned:
        field.set_cached_value(foundation, by_replaced.get(foundation.pk))  # type: ignore[union-attr]


def _row(
    point: HoldPoint,
    findings: Sequence[Finding],
    situations: Mapping[object, blockers.Situation],
    evening: datetime,
    at: datetime,
) -> Row:
    now = situations.get(point.pk)
    if now is None:
        holding = tuple(finding for finding in findings if finding.holds)
        now = blockers.Situation(point, State.RELEASED, holding, blockers.NO_GATE)
    free = point.state == State.READY and not blockers.to_build(now, evening)
    return Row(point, _standing(point, findings), now, free, at)


def day_ends(corridor: Corridor, at: datetime) -> datetime:
    """Return the last moment of the local day."""
    return datetime.combine(corridor.day(at), time(23, 59, 59), corridor.zone)


def _standing(point: HoldPoint, findings: Sequence[Finding]) -> Standing:
    """Return how the foundation is drawn: the stages below its next point are released."""
    done = point.state == State.RELEASED
    return standing(
        point.foundation,
        point.place + 1 if done else point.place,
        "" if done else point.state,
        [finding.grade for finding in findings],
        condition=_annotated(point).conditioned,
    )


def _annotated(point: HoldPoint) -> Any:
    """The same hold point, with what `next_points` added to it."""
    return point


# ---- what stands in the way


def _way(now: blockers.Situation, corridor: Corridor, at: datetime) -> Way:
    point, foundation = now.hold_point, now.hold_point.foundation
    if foundation.abandoned_at:
        successor = getattr(foundation, "successor", None)
        after = f"; {successor.mark} replaces it" if successor else ""
        return Way(
            "", "abandoned", f"Abandoned: {foundation.abandoned_why.rstrip('.')}{after}", foundation.abandoned_at
        )
    if now.holding:
        return _held(now, corridor)
    return _WAYS[State(point.state)](now, corridor, at)


def _held(now: blockers.Situation, corridor: Corridor) -> Way:
    """The oldest finding that holds it; its promise ends with the day that its answer is due."""
    finding = min(now.holding, key=lambda each: each.raised_at)
    due = datetime.combine(finding.due_on + timedelta(days=1), time(), corridor.zone)
    step = f"Correct {STAGE_BY_KEY[finding.stage].title.lower()}"
    return Way(step, "held", f"{finding.name} {finding.title}", finding.raised_at, due - finding.raised_at, finding)


def _work(now: blockers.Situation) -> str:
    return STAGE_BY_KEY[now.hold_point.stage].title.lower()


def _inspected(now: blockers.Situation, corridor: Corridor, at: datetime) -> Way:
    promised = timedelta(hours=corridor.release_promise_hours)
    return Way(f"Release {_work(now)}", "inspected", "Waits for the engineer", now.hold_point.since, promised)


def _notified(now: blockers.Situation, corridor: Corridor, at: datetime) -> Way:
    """Waiting begins when the foreman wants the inspector, not when notice was given."""
    asked = now.hold_point.asked_for or now.hold_point.since
    local = asked.astimezone(corridor.zone)
    when = f"{local:%H:%M}" if local.date() == corridor.day(at) else f"{local:%a %-d %b %H:%M}"
    promised = timedelta(hours=corridor.inspection_promise_hours)
    since = asked if asked <= at else None
    return Way(f"Inspect {_work(now)}", "notified", f"Waits for the inspector, asked for {when}", since, promised)


def _returned(now: blockers.Situation, corridor: Corridor, at: datetime) -> Way:
    crew = now.hold_point.foundation.crew or "the contractor"
    return Way(f"Correct {_work(now)}", "returned", f"Returned to {crew}", now.hold_point.since)


def _reopened(now: blockers.Situation, corridor: Corridor, at: datetime) -> Way:
    return Way(f"Inspect {_work(now)}", "reopened", "Reopened: to be inspected again", now.hold_point.since)


def _ready(now: blockers.Situation, corridor: Corridor, at: datetime) -> Way:
    order = STAGE_BY_KEY[now.hold_point.stage].to_do.capitalize()
    reasons = blockers.to_build(now, at)
    text = " ".join(reasons) or now.gate.sentence or "Nothing stands in the way"
    return Way(order, "ready", text, now.hold_point.since)


def _not_ready(now: blockers.Situation, corridor: Corridor, at: datetime) -> Way:
    return Way("", "not_ready", " ".join(blockers.to_build(now, at)), now.hold_point.since)


def _released(now: blockers.Situation, corridor: Corridor, at: datetime) -> Way:
    return Way("", "released", "Complete")


_WAYS = {
    State.RELEASED: _released,
    State.INSPECTED: _inspected,
    State.NOTIFIED: _notified,
    State.RETURNED: _returned,
    State.REOPENED: _reopened,
    State.READY: _ready,
    State.NOT_READY: _not_ready,
}
