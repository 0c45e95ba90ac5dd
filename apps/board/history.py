"""The corridor's own history as numbers: every attempt at every hold point, and where the work stood at any moment.

Read once, with a fixed number of queries; everything below the class that reads is plain arithmetic. Times are calendar days
since the first moment of the day on which the corridor's work starts.
"""

import math
from collections import Counter, defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cached_property
from typing import NamedTuple
from uuid import UUID

from apps.calc.schedule.observed import Observed
from apps.calc.stages import STAGES, position
from apps.corridor.models import Corridor
from apps.findings.models import BLOCKING_GRADES, Finding
from apps.holdpoints.models import Decision, Inspection, Reopening

WINDOW_WEEKS = 6
"""How far back the pace is read: common practice, no source."""
LEAST_GAPS = 5
SMALL_SHARE = 0.1
"""The tenth that went on soonest shows how soon the next stage may follow."""


class Attempt(NamedTuple):
    """One inspection of one stage of one foundation; `answered` is None while nobody decided."""

    foundation: UUID
    place: int
    crew: UUID | None
    sent: float
    answered: float | None
    released: bool


class Reopened(NamedTuple):
    """A release that was withdrawn, with the places that fell back."""

    foundation: UUID
    places: tuple[int, ...]
    at: float


class Site(NamedTuple):
    """One foundation: where it is on the road, and between which times it counts."""

    foundation: UUID
    mark: str
    alignment: UUID
    distance_ft: float
    begins: float
    ends: float


class Held(NamedTuple):
    """A foundation that a finding held, from when to when."""

    foundation: UUID
    begins: float
    ends: float


class Place(NamedTuple):
    """Where one foundation stands: first stage still to do, and whether the one before waits for its release."""

    site: Site
    first: int
    waits: bool
    held: bool


@dataclass(frozen=True)
class History:
    """What happened at a corridor's hold points, in the order of time."""

    start: date
    working: frozenset[int]
    """Working days, counted from the start."""
    attempts: tuple[Attempt, ...]
    reopened: tuple[Reopened, ...]
    sites: tuple[Site, ...]
    """In the order of the road."""
    held: tuple[Held, ...]
    notice_days: float

    @cached_property
    def through(self) -> list[dict[UUID, float]]:
        """When each foundation was first released at each stage."""
        first: list[dict[UUID, float]] = [{} for _ in STAGES]
        for each in self.attempts:
            if each.released and each.answered is not None:
                first[each.place].setdefault(each.foundation, each.answered)
        return first

    def places(self, at: float) -> list[Place]:
        """Return where every foundation that counts stood at a time: the farthest first, then up-station."""
        done: dict[UUID, set[int]] = defaultdict(set)
        open_: dict[UUID, int] = {}
        moves: list[tuple[float, UUID, tuple[int, ...], bool]] = [
            (each.answered, each.foundation, (each.place,), True)
            for each in self.attempts
            if each.released and each.answered is not None and each.answered <= at
        ]
        moves += [(each.at, each.foundation, each.places, False) for each in self.reopened if each.at <= at]
        for _, foundation, where, is_release in sorted(moves, key=lambda move: move[0]):
            done[foundation] = done[foundation] | {*where} if is_release else done[foundation] - {*where}
        for each in self.attempts:
            if each.sent <= at and (each.answered is None or each.answered > at):
                open_[each.foundation] = each.place
        held = {each.foundation for each in self.held if each.begins <= at < each.ends}
        standing = [site for site in self.sites if site.begins <= at < site.ends]
        return sorted((_place(site, done, open_, held) for site in standing), key=lambda place: -place.first)

    def day_of(self, at: float) -> date:
        """Return the day in which a time falls."""
        return self.start + timedelta(days=math.floor(at))

    def seen(self, at: float) -> list[Observed]:
        """Return what each stage did in the last weeks before a time, as it was known then."""
        known = [each for each in self.attempts if each.sent < at]
        days = [day for day in self.working if at - 7 * WINDOW_WEEKS <= day < math.floor(at)]
        busy = {math.floor(each.sent) for each in known}
        began = min(busy, default=0)
        days = sorted(day for day in days if day in busy and day >= began)
        return [self._seen(place, known, days, at) for place in range(len(STAGES))]

    def workable(self, at: float) -> tuple[int, int]:
        """Return the working days since the first inspection on which anything was inspected, and all of them."""
        busy = {math.floor(each.sent) for each in self.attempts if each.sent < at}
        days = [day for day in self.working if min(busy, default=math.inf) <= day < math.floor(at)]
        return len(busy.intersection(days)), len(days)

    def _seen(self, place: int, known: Sequence[Attempt], days: Sequence[int], at: float) -> Observed:
        since = at - 7 * WINDOW_WEEKS
        here = [each for each in known if each.place == place]
        late = [each for each in here if each.sent >= since]
        done = Counter(math.floor(each.sent) for each in late)
        crews = len({each.crew for each in late}) or 1
        first = min((math.floor(each.sent) for each in here), default=0)
        ready = self._ready(place, here, days)
        full = [day for day in days if day >= first and ready[day] >= crews]
        if sum(done[day] for day in full) * 2 < len(
            late
        ):  # it is always short of work: count the days on which it did some
            full = [day for day in days if done[day]]
        answered = [each for each in late if each.answered is not None and each.answered < at]
        return Observed(
            STAGES[place].title,
            crews,
            tuple(done[day] for day in full),
            sum(not each.released for each in answered),
            len(answered),
            _mean([each.answered - each.sent for each in answered if each.answered is not None]),
            _mean(_again(here, at)),
            self._lag(place, known, at),
        )

    def _ready(self, place: int, here: Sequence[Attempt], days: Sequence[int]) -> dict[int, int]:
        """How many stood ready at a stage as each day began: through the one before, not yet brought to inspection."""
        begun = sorted({each.foundation: each.sent for each in reversed(here)}.values())
        opened = [*self.through[place - 1].values()] if place else [site.begins for site in self.sites]
        return {day: sum(each < day for each in opened) - sum(each < day for each in begun) for day in days}

    def _lag(self, place: int, known: Sequence[Attempt], at: float) -> float:
        """Days between a release and the next stage's inspection, for the tenth that went on soonest."""
        if place + 1 == len(STAGES):
            return 0.0
        began = {each.foundation: each.sent for each in reversed(known) if each.place == place + 1}
        gaps = sorted(
            began[each.foundation] - each.answered
            for each in known
            if each.place == place and each.released and each.answered is not None and each.answered < at
            and began.get(each.foundation, -math.inf) > each.answered
        )  # fmt: skip
        return gaps[int(SMALL_SHARE * len(gaps))] if len(gaps) >= LEAST_GAPS else self.notice_days

    def came(self, sites: Sequence[Site], place: int) -> float:
        """Return when the last of some foundations was through a stage, or given up; infinite while one is not."""
        return max(min(self.through[place].get(site.foundation, math.inf), site.ends) for site in sites)

    def hold_days(self, at: float) -> float:
        """Mean days for which a finding held a foundation, of those that were over by a time."""
        return _mean([each.ends - each.begins for each in self.held if each.ends < at])


def _place(site: Site, done: dict[UUID, set[int]], open_: dict[UUID, int], held: set[UUID]) -> Place:
    through = done.get(site.foundation, set())
    first = next((place for place in range(len(STAGES)) if place not in through), len(STAGES))
    waits = open_.get(site.foundation) == first
    return Place(site, first + 1 if waits else first, waits, site.foundation in held)


def _again(here: Sequence[Attempt], at: float) -> list[float]:
    """Days from each return to the next attempt at the same foundation."""
    returned: dict[UUID, float] = {}
    found = []
    for each in here:
        before = returned.pop(each.foundation, None)
        if before is not None:
            found.append(each.sent - before)
        if not each.released and each.answered is not None and each.answered < at:
            returned[each.foundation] = each.answered
    return found


def _mean(values: Sequence[float]) -> float:
    return math.fsum(values) / len(values) if values else 0.0


# ---- reading it


def history(corridor: Corridor, until: date) -> History:
    """Read a corridor's history, in four queries. `until` is the last day whose working days are wanted."""
    zero = corridor.day_begins(corridor.starts_on)

    def days(at: datetime | None, never: float = math.inf) -> float:
        return never if at is None else (at - zero).total_seconds() / 86_400

    read = Inspection.objects.filter(hold_point__corridor=corridor).order_by("received_at", "id")
    fields = ("hold_point__foundation", "hold_point__place", "crew", "received_at", "decision__at", "decision__kind")
    attempts = tuple(
        Attempt(
            foundation,
            place,
            crew,
            days(sent),
            None if answered is None else days(answered),
            kind in {Decision.Kind.RELEASE, Decision.Kind.RELEASE_WITH_CONDITION},
        )
        for foundation, place, crew, sent, answered, kind in read.values_list(*fields)
    )
    reopened = Reopening.objects.filter(hold_point__corridor=corridor).values_list(
        "hold_point__foundation", "hold_point__place", "pulled_back", "at"
    )
    held = Finding.objects.filter(corridor=corridor, grade__in=BLOCKING_GRADES)
    span = range((until - corridor.starts_on).days + 1)
    return History(
        corridor.starts_on,
        frozenset(day for day in span if corridor.works_on(corridor.starts_on + timedelta(days=day))),
        attempts,
        tuple(
            Reopened(where, (place, *(position(stage) for stage in fell)), days(at))
            for where, place, fell, at in reopened
        ),
        _sites(corridor, days),
        tuple(
            Held(where, days(begins), days(ends))
            for where, begins, ends in held.values_list("foundation", "raised_at", "closed_at")
        ),
        corridor.notice_hours / 24,
    )


def _sites(corridor: Corridor, days: Callable[..., float]) -> tuple[Site, ...]:
    """A successor counts from the moment that its predecessor was abandoned."""
    rows = corridor.foundations.up_station().values_list(
        "pk", "mark", "alignment", "distance_ft", "replaces__abandoned_at", "abandoned_at"
    )
    return tuple(
        Site(pk, mark, line, float(distance), days(begins, -math.inf), days(ends))
        for pk, mark, line, distance, begins, ends in rows
    )
