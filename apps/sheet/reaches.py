"""Reaches of the road: how it is cut so that every foundation falls into exactly one, and how many stand there in each state.

What strip, plan and their table draw from far, where single foundations have no room. Pure; distances in ft along the alignment.
"""

import itertools
from bisect import bisect_left
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe

from apps.calc.stages import STAGES
from apps.sheet.glyphs import SIDE_WORDS, Standing
from apps.sheet.strip_road import Road, Spotted, even_step

LEAST_PX = 24
"""What a finger needs, px: no reach is narrower, but where a station equation or the end of a row cuts it."""
SHORT_FT = 0.01
"""Stations are kept to a hundredth of a foot: the last one before a cut."""

STATES = {
    "complete": "complete",
    "inspected": "awaiting release",
    "notified": "notified",
    "ready": "to do",
    "not_ready": "not ready",
    "returned": "returned or reopened",
    "held": "held",
    "abandoned": "abandoned",
}
"""Where a foundation can stand, each in exactly one, in the order in which it is said."""


def state_of(standing: Standing) -> str:
    """Return which of STATES a foundation is in: what stops it goes before what it waits for."""
    if standing.abandoned:
        return "abandoned"
    if standing.held:
        return "held"
    if standing.released == len(STAGES):
        return "complete"
    return {"reopened": "returned", "": "not_ready"}.get(standing.next_state, standing.next_state)


@dataclass(frozen=True, slots=True)
class Reach:
    """A stretch from `start` to `end` with its foundations. `taken`: one stands exactly at `end`, and belongs to the next."""

    road: Road = field(repr=False)
    start: float
    end: float
    spots: Sequence[Spotted] = field(repr=False)
    taken: bool = False
    side: str = ""
    """L or R where only one side is meant."""

    @property
    def counts(self) -> dict[str, int]:
        """How many stand in each of STATES; the numbers sum to the foundations."""
        counted = Counter(state_of(spot.standing) for spot in self.spots)
        return {state: counted[state] for state in STATES}

    @property
    def heads(self) -> list[str]:
        """The words of the counts."""
        return list(STATES.values())

    @property
    def share(self) -> float:
        """Hold points released of all there are, 0 to 1; the abandoned count nothing."""
        done = [spot.standing.released for spot in self.spots if not spot.standing.abandoned]
        return sum(done) / (len(done) * len(STAGES)) if done else 0.0

    @property
    def place(self) -> str:
        """From where to where, and on which side: 270+00 to 280+00 left."""
        ends = f"{self.road.short_figure(self.start)} to {self.road.short_figure(self.end)}"
        return f"{ends} {SIDE_WORDS[self.side]}" if self.side else ends

    @property
    def name(self) -> str:
        """Say what stands there: 270+00 to 280+00: 23 foundations, 4 complete, 2 held."""
        number = len(self.spots)
        told = [f"{count} {STATES[state]}" for state, count in self.counts.items() if count]
        return f"{self.place}: " + ", ".join([f"{number} foundation{'s' if number != 1 else ''}", *told])

    @property
    def href(self) -> str:
        """The address that shows its foundations and no other; empty where the road leads nowhere."""
        if self.road.reach is None:
            return ""
        return self.road.reach(self.start, self.end - SHORT_FT if self.taken else self.end, self.side)

    def link(self, drawn: str) -> SafeString:
        """Return it as a link around what is drawn, named by its sentence; the drawing alone where it leads nowhere."""
        name = escape(self.name)
        if not self.href:
            return mark_safe(f"<g><title>{name}</title>{drawn}</g>")
        return mark_safe(f'<a href="{escape(self.href)}" aria-label="{name}"><title>{name}</title>{drawn}</a>')


def cuts(road: Road, start: float, end: float, scale: float, room: float) -> list[float]:
    """Return where the road is cut between two distances: at even stations `room` px apart, `scale` px to the foot.

    It is cut at station equations too, so that the stations of a reach run on; an even station near one gives way.
    """
    least = LEAST_PX / scale
    firm = [start, *sorted(at for at, _, _ in road.equations if start < at < end), end]
    even = road.even_stations(start, end, even_step(scale, room))
    free = [at for at in even if all(abs(at - each) > least for each in firm)]
    return sorted({round(at, 2) for at in [*firm, *free]})


def cut(
    road: Road, ends: Sequence[float], spots: Iterable[Spotted], *, taken: bool = False, side: str = ""
) -> list[Reach]:
    """Return the reaches between neighbouring `ends` in which something stands. Every foundation falls into exactly one.

    One at a cut belongs to the reach that begins there; what stands before the first end or after the last belongs to the outermost.
    `taken`: one that is not given stands at the last end.
    """
    given = sorted(spots, key=lambda spot: spot.station)
    stations = [spot.station for spot in given]
    marks = [0, *(bisect_left(stations, at) for at in ends[1:-1]), len(given)]
    made = []
    for (low, high), (first, last) in zip(itertools.pairwise(ends), itertools.pairwise(marks), strict=True):
        if first < last:
            met = stations[last] == high if last < len(given) else taken and high == ends[-1]
            made.append(Reach(road, low, high, given[first:last], met, side))
    return made
