"""The queue: which attempts wait for the engineer, and what a line says of each. A fixed number of queries."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import NamedTuple

from django.db.models import Count, Q, QuerySet
from django.utils.safestring import SafeString

from apps.calc.stages import STAGE_BY_KEY
from apps.corridor.models import Corridor
from apps.holdpoints import clean
from apps.holdpoints.models import HoldPoint, Inspection
from apps.sheet.glyphs import Standing
from apps.sheet.marks import state_mark, verdict_mark
from apps.sheet.standing import waiting_standings

JOINED = ("inspector", "hold_point__foundation__design")
SHOWN = (
    "attempt", "tally", "tightest", "at_limit", "inspector__username", "inspector__name", "inspector__credential",
    "hold_point__corridor_id", "hold_point__stage", "hold_point__place", "hold_point__state", "hold_point__since",
    "hold_point__foundation__corridor_id", "hold_point__foundation__mark", "hold_point__foundation__station_ft",
    "hold_point__foundation__side", "hold_point__foundation__abandoned_at",
    "hold_point__foundation__design__family",
)  # fmt: skip
"""What a line of the queue reads of an attempt and of what it belongs to: an edition or a design is a great deal to read."""
CREW = "hold_point__foundation__crew"
NO_MARK = SafeString("")


def count_words(number: int, one: str, many: str) -> str:
    """Write a count with the verb that goes with it: "1 refers", "2 refer"."""
    return f"{number} {one if number == 1 else many}"


class Note(NamedTuple):
    """What a line of the queue says for the engineer: in what tone, with which mark, in words."""

    tone: str
    mark: SafeString
    words: str


@dataclass(frozen=True, slots=True)
class Waiting:
    """One attempt in the queue."""

    point: HoldPoint
    inspection: Inspection
    standing: Standing
    shared: tuple[str, ...]
    """Open findings on concrete that stands in this foundation too, in words."""
    unclean: tuple[str, ...]
    """Why it is decided by itself and not together with others, in sentences."""

    @property
    def stage(self) -> str:
        """The stage in words."""
        return STAGE_BY_KEY[self.point.stage].title.lower()

    @property
    def wrong(self) -> int:
        """How many readings do not conform."""
        return self.inspection.count("nonconforming")

    @property
    def judge(self) -> str:
        """What the engineer must judge besides that, empty where all conform."""
        words = []
        if refer := self.inspection.count("refer"):
            words.append(f"{count_words(refer, 'reading refers', 'readings refer')} to you")
        if missing := self.inspection.count("not_measured"):
            words.append(f"{missing} not measured")
        return ", ".join(words)

    @property
    def limit_words(self) -> str:
        """What stands exactly at its limit, empty if nothing does."""
        number, tightest = self.inspection.at_limit, self.inspection.tightest
        if not number:
            return ""
        if number == 1 and tightest.endswith(": at the limit"):
            return f"at the limit: {tightest.removesuffix(': at the limit')}"
        return f"{number} at the limit"

    @property
    def margin(self) -> str:
        """The least margin in words, empty where the tightest asks for a thing exactly and leaves no room."""
        tightest = self.inspection.tightest
        return "" if tightest.endswith(": as required") else tightest.replace(": ", ", ", 1)

    @property
    def notes(self) -> list[Note]:
        """What must be judged, the gravest first; that nothing must be, where nothing must."""
        said = []
        if self.wrong:
            said.append(Note("flag", verdict_mark("nonconforming", False, 11), f"{self.wrong} nonconforming"))
        if judge := self.judge:
            said.append(Note("judge", verdict_mark("refer", False, 11), judge))
        if limit := self.limit_words:
            said.append(Note("judge", verdict_mark("conforms", True, 11), limit))
        said += [Note("judge", state_mark("finding", 11), words) for words in self.shared]
        if self.clean:
            said.append(Note("", NO_MARK, f"clean; {self.margin}" if self.margin else "clean"))
        elif not said:
            said.append(Note("", NO_MARK, f"all conform. {' '.join(self.unclean)}"))
        return said

    @property
    def clean(self) -> bool:
        """Whether it may be released with others."""
        return not self.unclean


def with_foundation() -> QuerySet[HoldPoint]:
    """Return hold points with what blockers, glyphs and pages ask of their foundations."""
    return HoldPoint.objects.select_related(
        "foundation__design", "foundation__crew", "foundation__alignment", "foundation__corridor__edition"
    )


def awaiting(*corridors: Corridor, crews: bool = False) -> QuerySet[Inspection]:
    """Return the attempts that wait for the engineer, the longest first, each with its hold point and what a line shows of it."""
    found = Inspection.objects.awaiting_decision().filter(hold_point__corridor__in=corridors)
    if crews:
        return found.select_related(*JOINED, CREW).only(*SHOWN, f"{CREW}__name")
    return found.select_related(*JOINED).only(*SHOWN)


def lengths(found: QuerySet[Inspection], promised: datetime) -> tuple[int, int]:
    """Return how many wait, and how many of them since before a moment. One query."""
    counted = found.order_by().aggregate(total=Count("pk"), late=Count("pk", filter=Q(hold_point__since__lt=promised)))
    return counted["total"], counted["late"]


def queue(attempts: Sequence[Inspection]) -> list[Waiting]:
    """Put the glyph and what is shared with others beside each waiting attempt. Three queries."""
    foundations = [each.hold_point.foundation_id for each in attempts]
    findings = list(clean.open_findings(foundations))
    drawn = waiting_standings([each.hold_point for each in attempts], findings)
    shared = clean.shared_findings(foundations)
    unclean = clean.reasons(attempts, shared, findings)
    return [
        Waiting(each.hold_point, each, drawn[foundation], tuple(shared[foundation]), tuple(unclean[each.pk]))
        for each, foundation in zip(attempts, foundations, strict=True)
    ]
