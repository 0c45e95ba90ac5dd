"""The time–location diagram: station across under a strip of road, date down; plan, actual and forecast line of every stage.

Pure: numbers and words in, a Paper out. Days are dates; places are true distances along the road in feet.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import NamedTuple

from apps.sheet.drawn.paper import CHAIN, DASHED, Paper, Point, View, text_width

WIDTH, HEIGHT = 860.0, 640.0
LEFT, RIGHT, TOP, FOOT = 66.0, 168.0, 74.0, 18.0
ROAD_Y = 34.0
APART = 15.0
THIN, HEAVY = 1.2, 4.0
"""The later the stage, the heavier its line."""


class StageTrack(NamedTuple):
    """One stage: its plan from place and day to place and day, its releases, and when it will be through."""

    name: str
    plan: tuple[tuple[float, date], tuple[float, date]] | None
    made: Sequence[tuple[float, date]]
    """How far it was by the close of each day with a release, in order."""
    ends: tuple[date, date] | None
    """The day at an even chance, and 80 % sure."""


class Rows(NamedTuple):
    """Days on which nobody worked, with the reason."""

    first: date
    last: date
    why: str


@dataclass(frozen=True, slots=True)
class TimeLocation:
    """All that is drawn."""

    start_ft: float
    end_ft: float
    figure: Callable[[float], str]
    """Writes a place as its station."""
    stations: Sequence[float]
    """Places whose figures are written: even stations."""
    crossings: Sequence[tuple[float, str]]
    first: date
    today: date
    contract: date
    tracks: Sequence[StageTrack]
    lost: Sequence[Rows]
    held: Sequence[tuple[float, date]]
    """Foundations that a finding holds, from which day."""

    @property
    def last(self) -> date:
        """The last day that is drawn."""
        return max(self.contract, self.today, *(each.ends[1] for each in self.tracks if each.ends)) + timedelta(days=7)


class _Sheet:
    """The paper with its two scales."""

    def __init__(self, told: TimeLocation, name: str) -> None:
        self.told, self.paper = told, Paper(WIDTH, HEIGHT, name)
        self.right, self.floor = WIDTH - RIGHT, HEIGHT - FOOT
        days = max((told.last - told.first).days, 1)
        across = (self.right - LEFT) / (told.end_ft - told.start_ft)
        self.view = View(told.start_ft, 0, LEFT, TOP, across, -(self.floor - TOP) / days)

    def at(self, place: float, day: date) -> Point:
        """Return where a place stands on a day."""
        return self.view(place, (day - self.told.first).days)

    def down(self, day: date) -> float:
        """Return how far down a day stands."""
        return self.at(self.told.start_ft, day)[1]


def time_location(told: TimeLocation) -> Paper:
    """Draw the diagram. Lost days lie under everything, today and the contract date over the grid, flags on top."""
    sheet = _Sheet(told, _name(told))
    _lost(sheet)
    _grid(sheet)
    _road(sheet)
    for number, track in enumerate(told.tracks):
        _forecast(sheet, track)
        _plan(sheet, track)
        _actual(sheet, track, THIN + (HEAVY - THIN) * number / max(len(told.tracks) - 1, 1))
    _marks(sheet)
    _names(sheet)
    for place, day in told.held:
        _flag(sheet, place, day)
    return sheet.paper


def _name(told: TimeLocation) -> str:
    stands = ", ".join(f"{each.name} at {told.figure(each.made[-1][0])}" for each in told.tracks if each.made)
    return f"Time and location: {stands or 'nothing released yet'}; contract date {_short(told.contract)}, {len(told.held)} held."


def _short(day: date) -> str:
    return f"{day.day} {day:%b}"


def _lost(sheet: _Sheet) -> None:
    for each in sheet.told.lost:
        top, foot = sheet.down(max(each.first, sheet.told.first)), sheet.down(each.last + timedelta(days=1))
        sheet.paper.rect(LEFT, top, sheet.right - LEFT, foot - top, "f-well")
        sheet.paper.text((sheet.right - 5, (top + foot) / 2 + 4), each.why, anchor="end", paint="f-ink-2")


def _grid(sheet: _Sheet) -> None:
    """Hairlines at months and even stations, their names at the edge."""
    told, paper = sheet.told, sheet.paper
    month = told.first.replace(day=1)
    while month <= told.last:
        y = max(sheet.down(month), TOP)
        paper.line((LEFT, y), (sheet.right, y), paint="s-rule", weight=0.8)
        if sheet.floor - y > 14 and sheet.down(_next_month(month)) - y > 14:
            paper.text((LEFT - 8, y + 12), f"{month:%b}", anchor="end", paint="f-ink-2")
        month = _next_month(month)
    for at in told.stations:
        x, _ = sheet.at(at, told.first)
        paper.line((x, TOP), (x, sheet.floor), paint="s-rule", weight=0.8)
        paper.line((x, TOP - 5), (x, TOP), weight=1)
        paper.text((x, TOP - 10), told.figure(at), anchor="middle", paint="f-ink-2")
    paper.line((LEFT, TOP), (sheet.right, TOP), (sheet.right, sheet.floor), (LEFT, sheet.floor), (LEFT, TOP), weight=1)


def _next_month(day: date) -> date:
    return (day.replace(day=28) + timedelta(days=4)).replace(day=1)


def _road(sheet: _Sheet) -> None:
    """The strip of road over the diagram, with the streets that cross it."""
    paper = sheet.paper
    paper.rect(LEFT, ROAD_Y, sheet.right - LEFT, 12, "f-road")
    for y in (ROAD_Y, ROAD_Y + 12):
        paper.line((LEFT, y), (sheet.right, y), paint="s-line", weight=1.2)
    paper.line((LEFT, ROAD_Y + 6), (sheet.right, ROAD_Y + 6), paint="s-line", weight=0.7, dash=CHAIN)
    taken = 0.0
    for place, name in sorted(sheet.told.crossings):
        x, _ = sheet.at(place, sheet.told.first)
        paper.rect(x - 4, ROAD_Y - 1, 8, 14, "f-sheet")
        half = text_width(name) / 2 + 4
        if x - half > taken and x + half < WIDTH:
            paper.text((x, ROAD_Y - 10), name, anchor="middle", paint="f-ink-2")
            taken = x + half


def _plan(sheet: _Sheet, track: StageTrack) -> None:
    if track.plan:
        (start, begins), (end, ends) = track.plan
        sheet.paper.line(
            sheet.at(start, begins), sheet.at(end, ends + timedelta(days=1)), paint="s-line", weight=1, dash=DASHED
        )


def _actual(sheet: _Sheet, track: StageTrack, weight: float) -> None:
    """Steps: it stands where it stood until a day brings it on."""
    if not track.made:
        return
    points = [sheet.at(sheet.told.start_ft, track.made[0][1])]
    for place, day in track.made:
        points += [(points[-1][0], sheet.down(day)), sheet.at(place, day)]
    points.append((points[-1][0], sheet.down(sheet.told.today)))
    sheet.paper.line(*points, weight=weight)


def _forecast(sheet: _Sheet, track: StageTrack) -> None:
    """From where it stands today to the end of the road: a line at an even chance, hatched to 80 % sure."""
    if track.ends is None:
        return
    told = sheet.told
    here = sheet.at(track.made[-1][0] if track.made else told.start_ft, told.today)
    even, sure = (sheet.at(told.end_ft, day) for day in track.ends)
    sheet.paper.area(here, even, sure, paint="s-none", fill="within")
    sheet.paper.line(here, even, paint="s-line", weight=1.2)


def _marks(sheet: _Sheet) -> None:
    """Today and the contract date, right across."""
    told, paper = sheet.told, sheet.paper
    today, contract = sheet.down(told.today), sheet.down(told.contract)
    paper.line((LEFT - 40, today), (sheet.right, today), weight=1.4)
    paper.text((LEFT - 44, today - 4), "today", bold=True) if abs(today - contract) > 16 else None
    paper.line((LEFT, contract), (sheet.right, contract), paint="s-red", weight=1.4)
    paper.text((LEFT + 6, contract - 5), f"contract date {_short(told.contract)}", bold=True, paint="f-red", patch=True)


def _names(sheet: _Sheet) -> None:
    """Each stage at the right edge where it ends, pushed apart; without a forecast beside its last release."""
    told, paper = sheet.told, sheet.paper
    ends = sorted((sheet.down(each.ends[0]), each.name, _short(each.ends[0])) for each in told.tracks if each.ends)
    lines: list[float] = []
    for y, _, _ in ends:
        lines.append(max(y + 4, lines[-1] + APART if lines else 0.0))
    floor = HEIGHT - 6
    for at in reversed(range(len(lines))):
        lines[at] = min(lines[at], floor)
        floor = lines[at] - APART
    for line, (y, name, day) in zip(lines, ends, strict=True):
        paper.leader((sheet.right, y), (sheet.right + 10, line - 4))
        paper.text((sheet.right + 14, line), name, bold=True)
        paper.text((sheet.right + 20 + text_width(name, bold=True), line), day, paint="f-ink-2")
    taken = sheet.right
    for each in told.tracks:
        if each.made:
            x, y = sheet.at(each.made[-1][0], told.today)
            half = text_width(each.name, bold=True) / 2 + 4
            x = max(min(x, taken - half), LEFT + half)
            paper.text((x, y + 15), each.name, anchor="middle", bold=True, patch=True)
            taken = x - half


def _flag(sheet: _Sheet, place: float, day: date) -> None:
    """A flag on the day on which a finding began to hold, with a staff down to today."""
    x, y = sheet.at(place, max(day, sheet.told.first))
    sheet.paper.line((x, y), (x, max(sheet.down(sheet.told.today), y)), paint="s-red", weight=0.9, dash="2 3")
    sheet.paper.area((x, y), (x + 9, y + 4), (x, y + 8), paint="f-red")
