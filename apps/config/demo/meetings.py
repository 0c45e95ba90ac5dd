"""The morning meetings of the invented season: what they asked of people by a day, and how it ended, all through the acts.

A meeting draws no chance numbers, so the season around it is the same with it and without.
"""

from datetime import date, datetime, timedelta
from functools import partial
from typing import Any, NamedTuple

from apps.calc.stages import STAGE_BY_KEY
from apps.config.demo.season import Season
from apps.findings import turn
from apps.findings.models import Finding
from apps.followups import acts
from apps.followups.models import FollowUp
from apps.holdpoints.models import HoldPoint
from apps.people.models import Person

HOUR, LATER = 7.5, 15.4
"""When the meeting sits, and when people report, as hours of the day."""
LONG = timedelta(days=3)
"""So old, a finding that holds work or a return is asked about."""
GIVEN = 2
"""Working days that the meeting gives for one of those."""


class Errand(NamedTuple):
    """Something that one meeting asked for. Invented."""

    before: int
    """The working day of the meeting, counted from the season's last as 1."""
    role: str
    which: int
    text: str
    given: int
    """Working days until its day."""
    ended: int | None = None
    """Working days until its end; None: still to do, late or not."""
    word: str = ""
    dropped: bool = False
    moved: int = 0
    """Working days that it was given besides, on its own day."""


ERRANDS = (
    Errand(40, "foreman", 1, "Show the inspector the spacers of a cage before it is lifted", 2, 2, "Shown in the yard"),
    Errand(30, "office", 0, "Ask the mill for the certificate of the second heat of bolts", 4, 3, "It came with the lot", dropped=True),
    Errand(14, "office", 0, "Send Wrench TW-07 to be calibrated", 3, 6, "It is away; the paper comes with it", moved=4),
    Errand(9, "inspector", 1, "Take the photos of conduits with the light from behind", 5, 5, "Seen on the last four"),
    Errand(7, "engineer", 1, "Answer the contractor's question on longer bolts at the wall", 4, 5, "Letter 17"),
    Errand(6, "foreman", 0, "Bring a second feeler gauge for the corner gaps", 2),
    Errand(5, "office", 0, "Hire lights for a night pour", 3, 3, "No night pour is planned", dropped=True),
    Errand(4, "auditor", 0, "Say which stations are to be seen on site", 6),
    Errand(4, "engineer", 0, "Say whether the next reach may begin beside the crossing", 2),
    Errand(3, "inspector", 0, "Put the new sheet of photo views into every van", 1, 1, "In all three"),
    Errand(2, "inspector", 0, "Check the level against the benchmark at the ramp", 4),
    Errand(2, "office", 0, "Ask for the locate ticket of the last reach", 1),
)  # fmt: skip


def plan_meetings(season: Season) -> None:
    """Put a meeting of every working morning into a season's queue; nothing where it is too short for what they ask."""
    if len(season.days) <= ERRANDS[0].before:
        return
    for day in season.days:
        season.later(season.at(day, HOUR), partial(_meet, season))
    for errand in ERRANDS:
        season.later(season.at(season.days[-errand.before], HOUR), partial(_ask, season, errand))


def _on(season: Season, day: date, working: int) -> date:
    """Return the day so many working days on."""
    while working:
        day += timedelta(days=1)
        working -= season.corridor.works_on(day)
    return day


def _add(season: Season, at: datetime, text: str, owner: Person, given: int, **about: Any) -> FollowUp:
    answer = acts.add_follow_up(
        corridor=season.corridor, text=text, owner=owner, due_on=_on(season, season.corridor.day(at), given),
        by=season.scene.people["office"][0], at=at, client_id=season.new_id(), **about,
    )  # fmt: skip
    return FollowUp.objects.get(corridor=season.corridor, number=answer["follow_up"])


def _end(season: Season, row: FollowUp, word: str, at: datetime, *, dropped: bool = False) -> None:
    """The office drops one, whose it is reports it done."""
    common: dict[str, Any] = {"follow_up": row, "at": at, "client_id": season.new_id()}
    if dropped:
        acts.drop_follow_up(reason=word, by=season.scene.people["office"][0], **common)
    else:
        acts.finish_follow_up(how=word, by=row.owner, **common)


# ---- what a meeting asks for of its own


def _ask(season: Season, errand: Errand, at: datetime) -> None:
    """Ask for an errand, and plan how it goes on."""
    owner = season.scene.people[errand.role][errand.which]
    row, today = _add(season, at, errand.text, owner, errand.given), season.corridor.day(at)
    if errand.moved:
        season.later(season.at(row.due_on, LATER), partial(_move, season, row, errand.moved))
    if errand.ended is not None:
        end = partial(_end, season, row, errand.word, dropped=errand.dropped)
        season.later(season.at(_on(season, today, errand.ended), LATER), end)


def _move(season: Season, row: FollowUp, working: int, at: datetime) -> None:
    acts.postpone_follow_up(
        follow_up=row, due_on=_on(season, row.due_on, working), reason="The shop takes it after the weekend",
        by=season.scene.people["office"][0], at=at, client_id=season.new_id(),
    )  # fmt: skip


# ---- what it asks for because of the board


def _meet(season: Season, at: datetime) -> None:
    """Hear what is settled, then ask about the oldest finding that holds work and the oldest return."""
    to_do = FollowUp.objects.to_do().filter(corridor=season.corridor, foundation__isnull=False)
    rows = list(to_do.select_related("corridor", "foundation", "finding", "owner"))
    returned = _returned(season)
    for row in rows:
        _hear(season, row, {point.foundation_id for point in returned}, at)
    _ask_about_finding(season, at, {row.finding_id for row in rows})
    _ask_about_return(season, at, returned, {row.foundation_id for row in rows})


def _hear(season: Season, row: FollowUp, returned: set[Any], at: datetime) -> None:
    """End a follow-up whose finding is closed, whose return came again, or whose foundation was given up."""
    if row.foundation is not None and row.foundation.abandoned_at:
        _end(season, row, f"{row.foundation.mark} is given up", at, dropped=True)
    elif row.finding is not None and not row.finding.is_open:
        _end(season, row, f"{row.finding.name} is closed", at)
    elif row.finding is None and row.foundation_id not in returned:
        _end(season, row, "It was asked for again", at)


def _returned(season: Season) -> list[HoldPoint]:
    return list(HoldPoint.objects.returned().filter(corridor=season.corridor).select_related("foundation"))


def _ask_about_finding(season: Season, at: datetime, asked: set[Any]) -> None:
    held = Finding.objects.holding().filter(corridor=season.corridor, raised_at__lte=at - LONG)
    found = turn.with_decided(held.exclude(pk__in=[each for each in asked if each]).select_related("foundation"))
    finding = found.order_by("raised_at", "number").first()
    if finding is None or finding.foundation.abandoned_at:
        return
    people = season.scene.people
    party = turn.mover(finding.state, finding.decided or "")  # type: ignore[attr-defined]
    decide = "Decide what happens" if finding.state == Finding.State.OPEN else "Close it, or say what is missing"
    text, owner = {
        turn.ENGINEER: (decide, people["engineer"][0]),
        turn.INSPECTOR: ("Look at the correction", people["inspector"][finding.number % len(people["inspector"])]),
        turn.CONTRACTOR: ("Correct it, and say when it can be looked at", _foreman(season, finding.foundation)),
    }[party]
    _add(season, at, text, owner, GIVEN, finding=finding)


def _ask_about_return(season: Season, at: datetime, returned: list[HoldPoint], asked: set[Any]) -> None:
    waiting = [each for each in returned if each.since <= at - LONG and each.foundation_id not in asked]
    if waiting:
        point = waiting[0]
        text = f"Put the {STAGE_BY_KEY[point.stage].title.lower()} right and give notice again"
        _add(season, at, text, _foreman(season, point.foundation), GIVEN, foundation=point.foundation)


def _foreman(season: Season, foundation: Any) -> Person:
    """Return the foreman of who worked there last; of the first crew where nobody has."""
    crew = foundation.crew_id or season.scene.crews[0].pk
    return season.scene.foremen[crew]
