"""How a foundation stood at a moment, rebuilt from its entries alone: no row but the record's own is read."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from apps.calc.stages import STAGE_KEYS, after
from apps.findings import moves as finding_moves
from apps.findings.models import BLOCKING_GRADES
from apps.holdpoints import moves
from apps.record.models import Entry


@dataclass
class PointThen:
    """One hold point at a moment."""

    stage: str
    state: str
    since: datetime
    attempts: int = 0
    edition: int | None = None
    looked: Entry | None = None
    """The entry of the last attempt."""
    decided: Entry | None = None
    """The entry of the engineer's word on it, None while it waited."""


@dataclass
class FindingThen:
    """One finding at a moment."""

    name: str
    stage: str
    title: str
    grade: str
    state: str
    since: datetime

    @property
    def is_open(self) -> bool:
        """Whether it was not closed."""
        return self.state != finding_moves.CLOSED


@dataclass
class Then:
    """A foundation at a moment."""

    entries: int = 0
    points: dict[str, PointThen] = field(default_factory=dict)
    findings: dict[str, FindingThen] = field(default_factory=dict)
    conditions: dict[str, str] = field(default_factory=dict)
    """What was still to happen, and by when."""
    crew: str = ""
    abandoned: str = ""
    """Why it was given up; empty while it was not."""

    @property
    def there(self) -> bool:
        """Whether it was brought in by then."""
        return bool(self.points)

    @property
    def released(self) -> int:
        """How many hold points were released."""
        return sum(point.state == "released" for point in self.points.values())

    @property
    def held(self) -> bool:
        """Whether an open finding stopped work."""
        return any(each.is_open and each.grade in BLOCKING_GRADES for each in self.findings.values())


class CannotBe(ValueError):
    """Entries that no table of moves allows: the record was not made by this program's acts."""


def stood(entries: Iterable[Entry]) -> Then:
    """Return how a foundation stood after these entries of it, in their order. CannotBe naming an entry that cannot follow."""
    then = Then()
    for entry in entries:
        then.entries += 1
        _tell(then, entry)
    return then


def _tell(then: Then, entry: Entry) -> None:
    said, at = entry.payload, entry.received_at
    if entry.act == "bring_in_foundation":
        for place, stage in enumerate(STAGE_KEYS):
            then.points[stage] = PointThen(stage, "not_ready" if place else "ready", at)
    elif entry.act in POINT_ACTS:
        _point(then, entry, said, at)
    elif entry.act == "raise_finding":
        name = str(said["finding"])
        then.findings[name] = FindingThen(
            name, str(said["stage"]), str(said["title"]), str(said["grade"]), finding_moves.OPEN, at
        )
    elif entry.act in finding_moves.MOVE:
        finding = then.findings[str(said["finding"])]
        finding.state, finding.since = finding_moves.MOVE[entry.act].new, at
    elif entry.act == "meet_condition":
        then.conditions.pop(str(said["condition"]), None)
    elif entry.act == "abandon":
        then.abandoned = str(said["reason"])


POINT_ACTS = frozenset(move.act for move in moves.MOVES if move.roles)


def _point(then: Then, entry: Entry, said: dict[str, Any], at: datetime) -> None:
    """Make a move of a hold point, and those that follow from it."""
    point = then.points[str(said["stage"])]
    _move(point, entry, at)
    if entry.act == "give_notice":
        then.crew = str(said.get("crew") or then.crew)
    elif entry.act == "submit_inspection":
        point.attempts, point.edition = int(said["attempt"]), int(said["edition"])
        point.looked, point.decided = entry, None
    elif entry.act == "reopen":
        for stage in after(point.stage):
            if moves.find("pull_back", then.points[stage].state):
                _move(then.points[stage], entry, at, "pull_back")
    else:
        point.decided = entry if entry.act != "withdraw_notice" else point.decided
    if entry.act in ("release", "release_with_condition"):
        later = STAGE_KEYS[STAGE_KEYS.index(point.stage) + 1 :][:1]
        for stage in later:
            if moves.find("make_ready", then.points[stage].state):
                _move(then.points[stage], entry, at, "make_ready")
    if entry.act == "release_with_condition":
        then.conditions[str(said["condition"])] = str(said["due_on"])


def _move(point: PointThen, entry: Entry, at: datetime, act: str = "") -> None:
    move = moves.find(act or entry.act, point.state)
    if move is None:
        raise CannotBe(f"Entry {entry.sequence}: {entry.act} of {entry.subject} cannot follow {point.state}.")
    point.state, point.since = move.new, at
