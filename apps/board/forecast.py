"""When the corridor will be finished: its own pace drawn forward, what holds it up, what would help, and how well it foretold."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from functools import cached_property, lru_cache
from typing import NamedTuple

from apps.board.history import History, Place, history
from apps.calc.schedule.flow import FlowForecast, forecast
from apps.calc.schedule.observed import LEAST_ATTEMPTS, LEAST_DAYS, Observed, stage_plan
from apps.calc.schedule.plan import StagePlan
from apps.calc.schedule.said import days as day_count
from apps.calc.schedule.workdays import WorkCalendar
from apps.calc.stages import STAGES
from apps.corridor.models import Corridor

DRAWS = 1_000
PAST_DRAWS = 400
NEXT = 10
"""The back-test asks when the next so many in line are through a stage: a goal set beforehand, not by what came out."""
LEAST_CHANCE = 0.05
HALF = 0.5


class Change(NamedTuple):
    """What would be different: a stage with one more crew, times for answers, times for returns."""

    crew_at: int | None = None
    response: float = 1.0
    returns: float = 1.0
    crews: int = 1
    """How many more there."""

    @property
    def words(self) -> str:
        """Say it: one more crew at pole set, answers in half the time."""
        said = []
        if self.crew_at is not None:
            crews = "one more crew" if self.crews == 1 else f"{self.crews} more crews"
            said.append(f"{crews} at {STAGES[self.crew_at].title.lower()}")
        if self.response < 1:
            said.append(f"answers in {'half' if self.response == HALF else f'{self.response:.0%} of'} the time")
        if self.returns < 1:
            share = "half the" if self.returns == HALF else f"{self.returns:.0%} of the" if self.returns else "no"
            said.append(f"{share} returns")
        return " and ".join(said).replace("%", " %")


AS_IT_IS = Change()
CHANGES = (
    *(Change(place) for place in range(len(STAGES))),
    Change(response=HALF),
    Change(returns=HALF),
)


class StageLine(NamedTuple):
    """One stage: what is left there, how it works, and when its last one is through."""

    seen: Observed
    left: int
    a_week: float
    """Releases a week at its pace, all crews together, were there always work."""
    p50: date | None
    p80: date | None


class Effect(NamedTuple):
    """What a change does to the finish, in calendar days; over zero is earlier."""

    change: Change
    p50_earlier: float
    p80_earlier: float

    @property
    def words(self) -> str:
        """Say how much: 12 days earlier."""
        whole = round(self.p80_earlier)
        if whole <= 0:
            return "no day earlier"
        return f"{day_count(whole)} earlier"


class Past(NamedTuple):
    """One forecast as it would have been made on an earlier Monday, and what came."""

    monday: date
    place: int
    p50: date
    p80: date
    came: date | None
    """When it came; None where it has not yet."""
    judged: bool
    """Whether it came, or the day named as 80 % sure is over."""

    @property
    def held(self) -> bool | None:
        """Whether it came by the day named as 80 % sure; None while that is open."""
        return (self.came is not None and self.came <= self.p80) if self.judged else None


class PastWeek(NamedTuple):
    """The forecasts of one Monday: how many, how many came true."""

    monday: date
    rows: list[Past]

    @property
    def cells(self) -> list[Past | None]:
        """One for each stage, None where nothing could be foretold."""
        by_place = {row.place: row for row in self.rows}
        return [by_place.get(place) for place in range(len(STAGES))]

    @property
    def judged(self) -> int:
        """How many can be judged."""
        return sum(row.held is not None for row in self.rows)

    @property
    def held(self) -> int:
        """How many of them came by the day named as 80 % sure."""
        return sum(row.held is True for row in self.rows)


@dataclass(frozen=True)
class Forecast:
    """The finish, its reasons, and how far to trust it."""

    told: History
    """What it was made from."""
    flow: FlowForecast | None
    """None where too little was done, or nothing is left."""
    lacking: list[Observed]
    """Stages of which too little was seen."""
    stages: list[StageLine]
    effects: list[Effect]
    """What would help, the most first."""
    asked: Effect | None
    p50: date | None
    p80: date | None
    asked_p50: date | None
    asked_p80: date | None
    contract: date
    lost: tuple[int, int]
    """Working days on which anything was inspected, and all of them."""
    past: list[PastWeek]
    left: int
    """Foundations not complete."""
    today: date

    @property
    def judged(self) -> int:
        """Past forecasts that can be judged."""
        return sum(week.judged for week in self.past)

    @property
    def held(self) -> int:
        """Those that came by the day named as 80 % sure."""
        return sum(week.held for week in self.past)

    @property
    def bottleneck(self) -> StageLine | None:
        """The stage that holds the flow up."""
        if self.flow is None:
            return None
        return next(line for line in self.stages if line.seen.name == self.flow.bottleneck)

    @property
    def chance(self) -> float | None:
        """The chance, 0 to 1, that all is released by the contract date."""
        return None if self.flow is None else self.flow.chance_by((self.contract - self.today).days + 1)

    @property
    def best(self) -> Effect | None:
        """What helps most, where anything helps by a day."""
        return self.effects[0] if self.effects and round(self.effects[0].p80_earlier) > 0 else None

    @property
    def late_days(self) -> int:
        """Calendar days from the contract date to the day that is 80 % sure; below zero: before it."""
        return (self.p80 - self.contract).days if self.p80 else 0


@dataclass(frozen=True)
class Stand:
    """Where the corridor stands at a moment: what everything that is foretold begins from."""

    corridor: Corridor
    told: History
    now: float
    today: date

    @classmethod
    def at(cls, corridor: Corridor, at: datetime) -> "Stand":
        """Read it, in the four queries of `history`.

        As of the end of the day, with what happened until now: so it says the same all day and on every page while nothing
        changes.
        """
        today = corridor.day(at)
        now = (corridor.day_ends(today) - corridor.day_begins(corridor.starts_on)).total_seconds() / 86_400
        return cls(corridor, history(corridor, max(today, corridor.finishes_on)), now, today)

    @cached_property
    def places(self) -> list[Place]:
        """Where every foundation stands."""
        return self.told.places(self.now)

    @cached_property
    def seen(self) -> list[Observed]:
        """What each stage did."""
        return self.told.seen(self.now)

    @cached_property
    def calendar(self) -> WorkCalendar:
        """The days to come."""
        return _calendar(self.corridor, self.told, self.now, self.today)

    @property
    def left(self) -> int:
        """Foundations not complete."""
        return sum(place.first < len(STAGES) or place.waits for place in self.places)

    @property
    def lacking(self) -> list[Observed]:
        """Stages still to do of which too little was seen."""
        return [each for each in self.seen[self._begin :] if not each.is_enough]

    @property
    def may_be_foretold(self) -> bool:
        """Whether something is left, and enough was seen of every stage of it."""
        return self._begin < len(STAGES) and not self.lacking

    @property
    def _begin(self) -> int:
        return min((place.first for place in self.places), default=len(STAGES))

    def flow(self, change: Change = AS_IT_IS, draws: int = DRAWS, *, through: int = len(STAGES)) -> FlowForecast:
        """Draw it forward."""
        return foretold(self.places, self.seen, self.told, self.now, self.calendar, change, draws, through=through)


def forecast_of(
    corridor: Corridor, at: datetime, change: Change = AS_IT_IS, *, draws: int = DRAWS, whole: bool = True
) -> Forecast:
    """Return the forecast of a corridor at a moment. `whole`: with what would help, and the back-test."""
    stand = Stand.at(corridor, at)
    flow = asked = None
    effects, ends = list[Effect](), list[FlowForecast | None]([None] * len(STAGES))
    if stand.may_be_foretold:
        flow = stand.flow(draws=draws)
        ends = [*(stand.flow(draws=draws, through=place) for place in range(1, len(STAGES))), flow]
        effects = [_effect(each, flow, stand.flow(each, draws)) for each in (CHANGES if whole else ())]
        asked = stand.flow(change, draws) if change != AS_IT_IS else None
    day = stand.calendar.date_of
    return Forecast(
        told=stand.told,
        flow=flow,
        lacking=stand.lacking,
        stages=[_line(stand, place, end) for place, end in enumerate(ends)],
        effects=sorted(effects, key=lambda effect: -effect.p80_earlier),
        asked=_effect(change, flow, asked) if flow and asked else None,
        p50=day(flow.p50) if flow else None,
        p80=day(flow.p80) if flow else None,
        asked_p50=day(asked.p50) if asked else None,
        asked_p80=day(asked.p80) if asked else None,
        contract=corridor.finishes_on,
        lost=stand.told.workable(stand.now),
        past=backtest(stand.told, corridor, stand.now) if whole else [],
        left=stand.left,
        today=stand.today,
    )


class Finish(NamedTuple):
    """The finish alone, as the morning sheet has it."""

    p50: date
    p80: date
    bottleneck: str


@dataclass(frozen=True)
class _Asked:
    """What a finish depends on: the corridor as of a version of its counts, on a day."""

    corridor: Corridor = field(compare=False)
    key: object
    version: int
    day: date


def finish_of(corridor: Corridor, at: datetime) -> Finish | None:
    """Return the finish, None where none can be named. Drawn anew only when something changed or a day began."""
    return _finish(_Asked(corridor, corridor.pk, corridor.tally.version, corridor.day(at)))


@lru_cache(maxsize=64)
def _finish(asked: _Asked) -> Finish | None:
    stand = Stand.at(asked.corridor, asked.corridor.day_begins(asked.day))
    if not stand.may_be_foretold:
        return None
    flow = stand.flow()
    p50, p80 = stand.calendar.date_of(flow.p50), stand.calendar.date_of(flow.p80)
    assert p50 and p80
    return Finish(p50, p80, flow.bottleneck)


def _calendar(corridor: Corridor, told: History, now: float, today: date) -> WorkCalendar:
    """The corridor's working days from a day on, each workable as often as working days were so far."""
    worked, days = told.workable(now)
    weekdays = tuple(str(day) in corridor.working_days for day in range(1, 8))
    holidays = frozenset(date.fromisoformat(each) for each in corridor.holidays)
    return WorkCalendar(today, weekdays, holidays, (max(worked / days, LEAST_CHANCE) if days else 1.0,))


def foretold(
    places: Sequence[Place],
    seen: Sequence[Observed],
    told: History,
    now: float,
    calendar: WorkCalendar,
    change: Change,
    draws: int,
    *,
    through: int = len(STAGES),
) -> FlowForecast:
    """Draw the flow of what stands there through its stages, up to one of them. Every change meets the same luck."""
    first = [min(place.first, through) for place in places]
    begin = min(first)
    plan = [_plan(seen[place], place, change) for place in range(begin, through)] or [StagePlan("", 0.0)]
    plan[-1] = replace(plan[-1], lag_days=0.0)  # nothing that is counted follows the last
    hold = told.hold_days(now)
    ready = [
        (seen[place.first - 1].answer_days * change.response if place.waits else 0.0) + (hold if place.held else 0.0)
        for place in places
    ]
    where = [each - begin for each in first]
    return forecast(plan, len(places), calendar=calendar, first_stage=where, ready_in=ready, draws=draws)


def _plan(seen: Observed, place: int, change: Change) -> StagePlan:
    more = change.crews if change.crew_at == place else 0
    return stage_plan(seen, more_crews=more, response=change.response, returns=change.returns)


def _effect(change: Change, now: FlowForecast, then: FlowForecast) -> Effect:
    return Effect(change, now.p50 - then.p50, now.p80 - then.p80)


def _line(stand: Stand, place: int, end: FlowForecast | None) -> StageLine:
    seen = stand.seen[place]
    left = sum(each.first - each.waits <= place for each in stand.places)
    pace = 0.0
    if seen.is_enough:
        plan = stage_plan(seen)
        pace = len(stand.corridor.working_days) * (plan.crews / plan.mean_days)
    when = end.start if end else None
    return StageLine(seen, left, pace, _day(when, end.p50) if end else None, _day(when, end.p80) if end else None)


def _day(start: date | None, days: float) -> date | None:
    """The day on which a forecast's time is over; None where nothing is left."""
    return WorkCalendar(start).date_of(days) if start and days > 0 else None


# ---- how well it foretold


def backtest(told: History, corridor: Corridor, now: float) -> list[PastWeek]:
    """Return what would have been foretold on every earlier Monday, knowing only what was known then, and what came.

    The question each time, at each stage: by when is the last of the ten next in line through? That is the question of the
    finish on a smaller set, and its answer is known. A forecast whose day has not come yet, and whose ten are not through, is
    open and not judged; one whose day is over without them did not hold.
    """
    first = min((each.sent for each in told.attempts), default=math.inf)
    if first > now:
        return []
    day = told.day_of(first)
    monday = day + timedelta(days=7 - day.weekday())
    weeks = []
    while (at := float((monday - told.start).days)) < now:
        rows = [past for place in range(len(STAGES)) if (past := _past(told, corridor, at, now, place))]
        if rows:
            weeks.append(PastWeek(monday, rows))
        monday += timedelta(days=7)
    return weeks


def _past(told: History, corridor: Corridor, at: float, now: float, place: int) -> Past | None:
    """One forecast of the past, None where too little was known of the stages that it needs or fewer than ten were left."""
    seen = told.seen(at)
    due = [each for each in told.places(at) if each.first - each.waits <= place][:NEXT]
    begin = min((each.first for each in due), default=0)
    if len(due) < NEXT or begin > place or not all(each.is_enough for each in seen[begin : place + 1]):
        return None
    monday = told.day_of(at)
    calendar = _calendar(corridor, told, at, monday)
    flow = foretold(due, seen, told, at, calendar, AS_IT_IS, PAST_DRAWS, through=place + 1)
    p50, p80 = calendar.date_of(flow.p50), calendar.date_of(flow.p80)
    assert p50 and p80
    came = told.came([each.site for each in due], place)
    known = came <= now
    return Past(monday, place, p50, p80, told.day_of(came) if known else None, known or told.day_of(now) > p80)


LITTLE = f"at least {LEAST_ATTEMPTS} inspections on {LEAST_DAYS} days of the last six weeks"
"""What a stage needs before anything is foretold from it."""
