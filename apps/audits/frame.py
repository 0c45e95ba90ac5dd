"""The frame of an audit: every hold point that may be drawn, by stratum, each under a name that does not change."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from django.db.models import F

from apps.audits.models import Audit
from apps.audits.recomputed import RELEASES
from apps.calc.stages import STAGE_BY_KEY, STAGE_KEYS
from apps.corridor.models import Corridor
from apps.findings.models import Finding
from apps.holdpoints.models import Inspection

ALL, NO_CREW, NO_FINDING = "All", "No crew named", "No finding"
GRADES = {"critical": "Critical finding", "major": "Major finding", "minor": "Minor finding"}
"""The gravest first."""


class Lot(NamedTuple):
    """Which released hold points a sample speaks for. Days are those of the release, both counted in."""

    stages: tuple[str, ...] = STAGE_KEYS
    since: date | None = None
    until: date | None = None

    @property
    def words(self) -> str:
        """Say it: released hold points at drill and pour, released from 2 Mar 2026 to 30 Apr 2026."""
        titles = [STAGE_BY_KEY[key].title.lower() for key in STAGE_KEYS if key in self.stages]
        which = "all six stages" if len(titles) == len(STAGE_KEYS) else ", ".join(titles)
        days = f" from {self.since:%-d %b %Y}" if self.since else ""
        days += f" to {self.until:%-d %b %Y}" if self.until else ""
        return f"Released hold points at {which}{', released' if days else ''}{days}"


@dataclass(frozen=True, slots=True)
class Frame:
    """What may be drawn: stratum → names, and the attempt behind each name."""

    strata: dict[str, list[str]]
    inspections: dict[str, Inspection]

    @property
    def size(self) -> int:
        """How many hold points."""
        return len(self.inspections)


def item(inspection: Inspection) -> str:
    """Return the name of a released attempt in a frame: LP-047/drill/1."""
    point = inspection.hold_point
    return f"{point.foundation.mark}/{point.stage}/{inspection.attempt}"


def frame(corridor: Corridor, lot: Lot, strata: str) -> Frame:
    """Return the frame of a lot as it stands now: attempts released and not reopened since, of standing foundations."""
    found = list(_released(corridor, lot))
    named = {item(each): each for each in found}
    return Frame(_by_stratum(named, strata, corridor), named)


def _released(corridor: Corridor, lot: Lot) -> Iterable[Inspection]:
    rows = Inspection.objects.filter(
        hold_point__corridor=corridor,
        hold_point__foundation__abandoned_at=None,
        hold_point__state="released",
        hold_point__stage__in=lot.stages,
        attempt=F("hold_point__attempts"),
        decision__kind__in=RELEASES,
    )
    if lot.since:
        rows = rows.filter(decision__at__gte=corridor.day_begins(lot.since))
    if lot.until:
        rows = rows.filter(decision__at__lte=corridor.day_ends(lot.until))
    return rows.select_related("hold_point__foundation", "crew")


def _by_stratum(named: dict[str, Inspection], strata: str, corridor: Corridor) -> dict[str, list[str]]:
    """Divide names into strata, in a fixed order of strata and of names."""
    gravest = _gravest(corridor) if strata == Audit.Strata.GRADE else {}
    found: dict[str, list[str]] = defaultdict(list)
    for name in sorted(named):
        found[_stratum(named[name], strata, gravest)].append(name)
    known = [STAGE_BY_KEY[key].title for key in STAGE_KEYS] + [*GRADES.values(), NO_FINDING]
    order = sorted(found, key=lambda each: (known.index(each) if each in known else len(known), each))
    return {each: found[each] for each in order}


def _stratum(inspection: Inspection, strata: str, gravest: dict[tuple[object, str], str]) -> str:
    point = inspection.hold_point
    if strata == Audit.Strata.STAGE:
        return STAGE_BY_KEY[point.stage].title
    if strata == Audit.Strata.CREW:
        return inspection.crew.name if inspection.crew else NO_CREW
    if strata == Audit.Strata.GRADE:
        return GRADES.get(gravest.get((point.foundation_id, point.stage), ""), NO_FINDING)
    return ALL


def _gravest(corridor: Corridor) -> dict[tuple[object, str], str]:
    """Return (foundation, stage) → the grade of the gravest finding ever raised there."""
    order = list(GRADES)
    found: dict[tuple[object, str], str] = {}
    for foundation, stage, grade in Finding.objects.filter(corridor=corridor).values_list(
        "foundation", "stage", "grade"
    ):
        key = (foundation, stage)
        if key not in found or order.index(grade) < order.index(found[key]):
            found[key] = grade
    return found
