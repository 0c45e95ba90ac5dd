"""Margins that shrink: a control chart of the margin for each crew and requirement, and the foundations behind what trips.

Counted anew only when something changed: a warning is kept for the version of the corridor's counts that it was made from.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple
from uuid import UUID

from apps.calc.control.trend import Drift, by_chance, drift, is_enough
from apps.calc.stages import STAGE_BY_KEY, STAGE_KEYS
from apps.calc.working import number_text, unit_sign
from apps.corridor.models import Corridor
from apps.holdpoints.models import Inspection, Measurement

WINDOW_WEEKS = 8
NO_CREW = "no crew named"


class Series(NamedTuple):
    """The margins of one crew at one requirement, in order of time."""

    stage: str
    requirement: str
    title: str
    crew: str
    unit: str
    margins: tuple[float, ...]
    marks: tuple[str, ...]


@dataclass(frozen=True)
class Warned:
    """One trend that warns."""

    series: Series
    drift: Drift

    @property
    def stage(self) -> str:
        """The stage in words."""
        return STAGE_BY_KEY[self.series.stage].title

    @property
    def marks(self) -> tuple[str, ...]:
        """The foundations behind it, in order of time, each once."""
        return tuple(dict.fromkeys(self.series.marks[at - 1] for at in self.drift.places))

    @property
    def title(self) -> str:
        """Side cover, Crew 2."""
        return f"{self.series.title}, {self.series.crew}"

    @property
    def sentence(self) -> str:
        """Say what warns: 12 in a row under their centre of 0.23 in to spare, the last with 0.19 in."""
        return f"{self.drift.rule}: {self.last} to spare, where {self.centre} is the mean."

    @property
    def last(self) -> str:
        """The last margin behind it, with its unit: 0.12 in."""
        return self._words(self.series.margins[self.drift.places[-1] - 1])

    @property
    def centre(self) -> str:
        """The mean of all."""
        return self._words(self.drift.chart.centre)

    def _words(self, margin: float) -> str:
        unit = self.series.unit
        return number_text(margin, 3) + (f" {unit_sign(unit)}" if unit and unit != "1" else "")


@dataclass(frozen=True)
class Trends:
    """What warns, and how many charts were looked at."""

    warned: tuple[Warned, ...]
    charts: int

    @property
    def sentence(self) -> str:
        """Say how many warn, and how many would by chance."""
        count = len(self.warned)
        if not self.charts:
            return "No crew has done enough yet for a margin to warn."
        looked = f"of {self.charts} crew and requirement charts; up to {self.chance:.1f} would by chance"
        return f"{count or 'No'} margin{'' if count == 1 else 's'} shrink{'s' if count == 1 else ''}, {looked}."

    @property
    def more_than_first(self) -> int:
        """How many warn beside the first, which is all that the morning sheet has room for."""
        return max(len(self.warned) - 1, 0)

    @property
    def chance(self) -> float:
        """How many would warn at most though nothing changed, in the mean."""
        return by_chance(self.charts)


def trends(corridor: Corridor, at: datetime) -> Trends:
    """Return the trends that warn, runs first, then in the order of work; at most two queries, none if nothing changed."""
    return _trends(corridor.pk, corridor.tally.version, corridor.day_begins(corridor.day(at)))


@lru_cache(maxsize=64)
def _trends(corridor: UUID, version: int, morning: datetime) -> Trends:
    made = [each for each in series(corridor, morning - timedelta(weeks=WINDOW_WEEKS)) if is_enough(each.margins)]
    looked = [(each, drift(each.margins)) for each in made]
    warned = [Warned(each, found) for each, found in looked if found]
    warned.sort(key=lambda each: (not each.drift.run, STAGE_KEYS.index(each.series.stage), each.series.requirement))
    return Trends(tuple(warned), len(made))


def series(corridor: UUID, since: datetime) -> Sequence[Series]:
    """Return the margins of every crew and requirement since a moment, in two queries."""
    read = Inspection.objects.filter(hold_point__corridor=corridor, received_at__gte=since).order_by(
        "received_at", "id"
    )
    about = {
        pk: (crew or NO_CREW, mark)
        for pk, crew, mark in read.values_list("pk", "crew__name", "hold_point__foundation__mark")
    }
    order = {pk: number for number, pk in enumerate(about)}
    rows = Measurement.objects.filter(inspection__in=read.order_by().values("pk")).exclude(margin="")
    found: dict[tuple[str, str], list[tuple[int, UUID, str, str, str, str]]] = defaultdict(list)
    for pk, stage, key, title, unit, margin in rows.order_by().values_list(
        "inspection", "stage", "requirement_key", "title", "unit", "margin"
    ):
        if pk in about:  # an inspection that came in between the two queries waits for the next look
            found[key, about[pk][0]].append((order[pk], pk, stage, title, unit, margin))
    return [_series(key, crew, sorted(its), about) for (key, crew), its in sorted(found.items())]


def _series(
    key: str, crew: str, rows: Sequence[tuple[int, UUID, str, str, str, str]], about: dict[UUID, tuple[str, str]]
) -> Series:
    _, _, stage, title, unit, _ = rows[-1]
    margins = tuple(float(Fraction(margin)) for *_, margin in rows)
    return Series(stage, key, title, crew, unit, margins, tuple(about[pk][1] for _, pk, *_ in rows))
