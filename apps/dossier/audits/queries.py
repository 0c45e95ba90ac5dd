"""What the pages of audits show: an audit with its curve and its draw repeated, and what is on file about one drawn hold point."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from apps.audits.again import Again, drawn_again
from apps.audits.models import Audit, Drawn
from apps.audits.planning import TABLE, TWO_POINTS, Chance, Planned, chances
from apps.audits.standing import Judged, Line, Standing, standing, standings
from apps.calc.decision import acceptance_probability
from apps.calc.decision.two_points import bad
from apps.corridor.models import Corridor
from apps.dossier.queries import Attempt, attempt
from apps.findings.models import Finding
from apps.holdpoints.models import Inspection, Photo
from apps.sheet.drawn import Picture, pictures
from apps.sheet.measured import Measured

WORDS = {"open": "not looked at", "under_way": "under way", "in_order": "in order", "not_in_order": "not in order"}
MARKS = {"open": "open", "under_way": "inspected", "in_order": "done", "not_in_order": "finding"}


@dataclass(frozen=True, slots=True)
class Shown:
    """One audit as its page shows it."""

    standing: Standing
    chances: list[Chance]
    curve: Picture
    again: Again
    source: str

    @property
    def audit(self) -> Audit:
        """The audit."""
        return self.standing.audit

    @property
    def rows(self) -> list[tuple[Judged, str, str]]:
        """Every drawn hold point with mark and word of its state."""
        return [(each, MARKS[each.state], WORDS[each.state]) for each in self.standing.judged]

    @property
    def noes(self) -> list[tuple[Judged, list[Line]]]:
        """What was found, by drawn hold point."""
        return [(each, each.noes) for each in self.standing.judged if each.noes]

    @property
    def at_odds(self) -> int:
        """How many answers say otherwise than what was recomputed."""
        return sum(line.at_odds for each in self.standing.judged for line in each.lines)


def listed(corridor: Corridor) -> list[Standing]:
    """Return every audit of a corridor as it stands, the newest first. Three queries."""
    found = list(Audit.objects.filter(corridor=corridor).select_related("drawn_by", "closed_by", "corridor"))
    stands = standings(found)
    return [stands[each.pk] for each in found]


def shown(audit: Audit) -> Shown:
    """Return an audit with its chances, its curve and its draw repeated."""
    stands = standing(audit)
    return Shown(
        stands,
        chances(audit.frame_size, audit.sample, audit.accept),
        curve(audit.frame_size, audit.sample, audit.accept, audit.limiting),
        drawn_again(stands),
        TWO_POINTS if audit.plan == Audit.PlanKind.RISKS else TABLE,
    )


def curve(lot: int, sample: int, accept: int, limiting: float) -> Picture:
    """Draw the operating curve of a plan for its lot, with the limiting quality marked: the Bench's own drawing."""
    values: Mapping[str, Any] = {"sample": sample, "accept": accept, "lot": lot, "defective": bad(lot, limiting)}
    return pictures("decision.sampling", values, acceptance_probability(**values))[0]


def curve_of(made: Planned, limiting: float) -> Picture:
    """Draw the operating curve of a plan that is still being made."""
    return curve(made.lot, made.sample, made.accept, limiting)


@dataclass(frozen=True, slots=True)
class OnFile:
    """What the station record holds about one drawn hold point."""

    attempt: Attempt
    findings: list[Finding]

    @property
    def inspection(self) -> Inspection:
        """The attempt that was drawn."""
        return self.attempt.inspection


def on_file(drawn: Drawn) -> OnFile:
    """Return inspection, release, measurements, photos and the findings of the foundation. Four queries."""
    inspection = Inspection.objects.select_related(
        "inspector",
        "edition",
        "crew",
        "decision__by",
        "decision__condition",
        "hold_point__foundation__design",
        "hold_point__foundation__alignment",
        "hold_point__foundation__corridor",
    ).get(pk=drawn.inspection_id)
    measured = [Measured.of(row) for row in inspection.measurements.select_related("finding", "instrument")]
    photos = Photo.objects.filter(inspection=inspection).select_related("attachment")
    findings = list(Finding.objects.filter(foundation=inspection.hold_point.foundation_id).order_by("number"))
    return OnFile(attempt(inspection, measured, photos, inspection.hold_point.foundation), findings)
