"""The time–location page: how far each stage is along the road, day by day, against the straight plan and into the forecast.

A line shows how many foundations are through its stage, laid along the road in its order: by number, so that a later stage's
line never crosses an earlier one's, whatever order the crews took.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import pairwise
from typing import NamedTuple
from uuid import UUID

from apps.board.forecast import Forecast
from apps.board.history import History
from apps.board.planned import Progress, planned_days
from apps.board.road import crossings, equations, figures
from apps.calc.stages import STAGES
from apps.corridor.models import Alignment, Corridor
from apps.sheet.drawn.paper import nice_step
from apps.sheet.drawn.time_location import Rows, StageTrack, TimeLocation
from apps.sheet.strip import Road

RECENT_WEEKS = 4
MOST_STATIONS = 7
NAMED_DAYS = 3
"""So many lost days in a row are tinted and named; single days would only stripe the sheet."""


class Line(NamedTuple):
    """One stage in numbers."""

    stage: str
    stands: str
    released: int
    a_week: float
    needed: float
    """Foundations a week: of the last four weeks, and from now on for the plan's last day."""
    behind: int
    """Working days behind its plan; below zero ahead."""
    gap: int
    """Foundations between the stage before and this one."""
    ends: tuple[date, date] | None

    @property
    def ahead(self) -> int:
        """Working days ahead of its plan."""
        return -self.behind


@dataclass(frozen=True)
class Diagram:
    """The drawing's numbers and the same as a table."""

    alignment: str
    told: TimeLocation
    lines: list[Line]
    others: int
    """Foundations on other alignments, which are not in it."""

    @property
    def widest(self) -> Line:
        """The stage that lies farthest behind the one before it."""
        return max(self.lines[1:], key=lambda line: line.gap)

    @property
    def before_widest(self) -> str:
        """The stage before that one."""
        return self.lines[self.lines.index(self.widest) - 1].stage


def diagram(corridor: Corridor, at: datetime, foretold: Forecast, done: Progress) -> Diagram | None:
    """Return the diagram of the alignment with the most foundations, in one query; None where nothing stands along one."""
    told, today = foretold.told, corridor.day(at)
    now = (at - corridor.day_begins(corridor.starts_on)).total_seconds() / 86_400
    standing = [site for site in told.sites if site.begins <= now < site.ends]
    alignments = {line.pk: line for line in corridor.alignments.all()}
    if not standing:
        return None
    along = max(alignments, key=lambda pk: sum(site.alignment == pk for site in standing))
    sites = [site for site in standing if site.alignment == along]
    line = alignments[along]
    places = [site.distance_ft for site in sites]
    keep = {site.foundation for site in sites}
    tracks, lines, before, week = [], [], len(sites), max(len(corridor.working_days), 1)
    for place, stage in enumerate(STAGES):
        through = sorted(when for foundation, when in told.through[place].items() if foundation in keep and when <= now)
        ends = foretold.stages[place].p50, foretold.stages[place].p80
        known = (ends[0], ends[1]) if ends[0] and ends[1] else None
        made = list(_made(told, through, places))
        tracks.append(StageTrack(stage.title, _plan(done, place, places), made, known))
        lines.append(_line(place, through, made, before, len(sites), now, today, done, week, line, known))
        before = len(through)
    drawn = TimeLocation(
        0.0,
        float(line.geometry.length),
        figures(line),
        _stations(line),
        crossings(line),
        min(corridor.starts_on, *(track.made[0][1] for track in tracks if track.made), today),
        today,
        corridor.finishes_on,
        tracks,
        list(_lost(corridor, told, now)),
        _held(told, now, keep),
    )
    return Diagram(line.name, drawn, lines, len(standing) - len(sites))


def _stations(line: Alignment) -> list[float]:
    """Return some six even stations, across equations too."""
    length = float(line.geometry.length)
    road = Road(0.0, length, equations=equations(line), figure=figures(line))
    return list(road.even_stations(0.0, length, nice_step(length, MOST_STATIONS)))


def _made(told: History, through: Sequence[float], places: Sequence[float]) -> Iterator[tuple[float, date]]:
    """Where the line stood as each day with a release closed."""
    days = [told.day_of(when) for when in through]
    for number, day in enumerate(days):
        if number + 1 == len(days) or days[number + 1] != day:
            yield places[number], day


def _plan(done: Progress, place: int, places: Sequence[float]) -> tuple[tuple[float, date], tuple[float, date]] | None:
    if done.plan is None:
        return None
    begins, ends = planned_days(done.plan, done.workdays, place)
    return (places[0], begins), (places[-1], ends)


def _line(
    place: int,
    through: Sequence[float],
    made: Sequence[tuple[float, date]],
    before: int,
    count: int,
    now: float,
    today: date,
    done: Progress,
    week: int,
    line: Alignment,
    ends: tuple[date, date] | None,
) -> Line:
    recent = sum(when > now - 7 * RECENT_WEEKS for when in through)
    needed, behind = 0.0, 0
    if done.plan:
        last = planned_days(done.plan, done.workdays, place)[1]
        weeks = sum(today <= day <= last for day in done.workdays) / week
        needed = (count - len(through)) / weeks if weeks else 0.0
        meant = done.plan.begins[place] + done.plan.run * len(through) / count
        behind = round(sum(day <= today for day in done.workdays) - meant) if len(through) < count else 0
    stands = figures(line)(made[-1][0]) if made else ""
    gap = before - len(through)
    return Line(STAGES[place].title, stands, len(through), recent / RECENT_WEEKS, needed, behind, gap, ends)


def _lost(corridor: Corridor, told: History, now: float) -> Iterator[Rows]:
    """Holidays, and runs of working days on which nothing was inspected."""
    for each in corridor.holidays:
        yield Rows(date.fromisoformat(each), date.fromisoformat(each), "holiday")
    busy = sorted({int(each.sent) for each in told.attempts if each.sent <= now})
    for before, after in pairwise(busy):
        quiet = [day for day in range(before + 1, after) if day in told.working]
        if len(quiet) >= NAMED_DAYS:
            yield Rows(told.day_of(quiet[0]), told.day_of(quiet[-1]), "nothing inspected")


def _held(told: History, now: float, keep: set[UUID]) -> list[tuple[float, date]]:
    where = {site.foundation: site.distance_ft for site in told.sites}
    return [
        (where[each.foundation], told.start + timedelta(days=int(each.begins)))
        for each in told.held
        if each.begins <= now < each.ends and each.foundation in keep
    ]
