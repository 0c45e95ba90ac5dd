"""Who is waited for: engineer, inspectors, contractor, each with what waits, how long, and against which promise."""

from collections.abc import Mapping, Sequence
from datetime import datetime, time, timedelta
from math import log
from typing import NamedTuple
from uuid import UUID

from django.urls import reverse

from apps.board.rows import Row
from apps.corridor.models import Corridor
from apps.findings import turn
from apps.findings.models import Finding
from apps.sheet.templatetags.sheet import age_words

WIDTH = 372
_LEFT, _RIGHT = 6, 366
SHORTEST_H, LONGEST_H = 1, 16 * 24
TICKS = ((1, "1 h"), (4, "4 h"), (24, "1 d"), (72, "3 d"), (384, "16 d"))
Where = tuple[str, str]
DOTS_DRAWN = 60
NAMED = 2


class Waiting(NamedTuple):
    """One thing that somebody is waited for."""

    name: str
    url: str
    since: datetime
    promised: timedelta | None
    about: str = ""
    """The mark or the finding that it is about."""
    holds: bool = False
    """A finding that holds work."""

    def late(self, at: datetime) -> bool:
        """Say whether it waits longer than promised."""
        return self.promised is not None and at - self.since > self.promised


class Dot(NamedTuple):
    """Where one of them stands on the time axis."""

    x: float
    late: bool


class Party(NamedTuple):
    """One party and what it is waited for, the oldest first."""

    what: str
    who: str
    url: str
    """Where all of them are listed."""
    late_url: str
    """Where the late ones are."""
    promise: timedelta | None
    """The same for all of them; None where each has its own day."""
    items: list[Waiting]
    coming: int
    """Asked for, but for a time that has not come yet."""
    at: datetime

    @property
    def number(self) -> int:
        """How many, with those to come."""
        return len(self.items) + self.coming

    @property
    def late(self) -> int:
        """How many wait longer than promised."""
        return sum(item.late(self.at) for item in self.items)

    @property
    def late_words(self) -> str:
        """Say how many are late: 5 past 1 d."""
        return f"{self.late} past {age_words(self.promise) if self.promise else 'their day'}"

    @property
    def oldest(self) -> list[Waiting]:
        """The few that wait longest."""
        return self.items[:NAMED]

    @property
    def dots(self) -> list[Dot]:
        """Return the places on the axis, the late ones last, so that they are drawn over the others."""
        drawn = [Dot(x_of(self.at - item.since), item.late(self.at)) for item in self.items[:DOTS_DRAWN]]
        return sorted(drawn, key=lambda dot: dot.late)

    @property
    def tick(self) -> float | None:
        """Where the promise stands on the axis."""
        return x_of(self.promise) if self.promise else None

    @property
    def label(self) -> str:
        """Say the drawing in words."""
        longest = f", the oldest {age_words(self.at - self.items[0].since)}" if self.items else ""
        return f"{self.who}: {self.number} {self.what}, {self.late_words}{longest}"


def x_of(span: timedelta) -> float:
    """Return where a time stands on the axis: logarithmic, 1 h to 16 d, what is outside at its ends."""
    hours = min(max(span.total_seconds() / 3600, SHORTEST_H), LONGEST_H)
    return round(_LEFT + (_RIGHT - _LEFT) * log(hours / SHORTEST_H) / log(LONGEST_H / SHORTEST_H), 1)


def ticks() -> list[tuple[float, str, str]]:
    """Return the figures of the axis: place, words, which end of the words stands there."""
    anchors = {0: "start", len(TICKS) - 1: "end"}
    return [
        (x_of(timedelta(hours=hours)), words, anchors.get(place, "middle"))
        for place, (hours, words) in enumerate(TICKS)
    ]


def parties(rows: Sequence[Row], findings: Sequence[Finding], corridor: Corridor, at: datetime) -> list[Party]:
    """Return who is waited for. `rows` are the standing foundations, `findings` those that are open."""
    release = timedelta(hours=corridor.release_promise_hours)
    inspection = timedelta(hours=corridor.inspection_promise_hours)
    standing = {row.foundation.pk: row.foundation.mark for row in rows}

    def points(*states: str) -> list[Waiting]:
        return [_point(row, corridor) for row in rows if row.point.state in states]

    def found(party: str) -> list[Waiting]:
        its = [each for each in findings if turn.mover(each.state, each.decided or "") == party]  # type: ignore[attr-defined]
        return [_finding(each, standing, corridor) for each in its]

    def party(what: str, who: str, where: Where, promise: timedelta | None, waiting: list[Waiting]) -> Party:
        begun = sorted((item for item in waiting if item.since <= at), key=lambda item: item.since)
        return Party(what, who, *where, promise, begun, len(waiting) - len(begun), at)

    def work(state: str) -> Where:
        url = reverse("board:corridor", args=[corridor.slug], query={"state": state})
        return url, f"{url}&wait=late"

    def register(who: str) -> Where:
        url = reverse("desk:findings", args=[corridor.slug], query={"mover": who})
        return f"{url}&state=unsettled", f"{url}&age=late"

    engineer, inspectors, contractor = "the engineer", "the inspectors", "the contractor"
    return [
        party("releases", engineer, work("inspected"), release, points("inspected")),
        party("findings to decide", engineer, register(turn.ENGINEER), None, found(turn.ENGINEER)),
        party("inspections", inspectors, work("notified"), inspection, points("notified")),
        party("corrections to verify", inspectors, register(turn.INSPECTOR), None, found(turn.INSPECTOR)),
        party("returned or reopened", contractor, work("returned"), None, points("returned", "reopened")),
        party("findings to correct", contractor, register(turn.CONTRACTOR), None, found(turn.CONTRACTOR)),
    ]


def _point(row: Row, corridor: Corridor) -> Waiting:
    """A hold point waits from when its turn began; one that is asked for a time to come has not begun."""
    own = row.own
    return Waiting(
        f"{row.foundation.mark} {row.point.get_stage_display().lower()}",
        reverse("board:foundation", args=[corridor.slug, row.foundation.mark]),
        own.since or row.point.asked_for or row.point.since,
        own.promised,
        row.foundation.mark,
    )


def _finding(finding: Finding, marks: Mapping[UUID, str], corridor: Corridor) -> Waiting:
    """A finding is late once the day is over on which its answer was due."""
    due = datetime.combine(finding.due_on + timedelta(days=1), time(), corridor.zone)
    return Waiting(
        f"{finding.name} {marks.get(finding.foundation_id, '')}".strip(),
        reverse("desk:finding", args=[corridor.slug, finding.number]),
        finding.since,
        due - finding.since,
        finding.name,
        finding.holds,
    )
