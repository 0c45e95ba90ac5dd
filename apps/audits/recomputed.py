"""What the program finds out by itself about a released hold point, shown to the auditor beside the question; the auditor answers.

Everything is read for many hold points at once, with a fixed number of queries; the checks themselves ask no database.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, NamedTuple
from uuid import UUID

from apps.calc.requirement import Requirement as Spec
from apps.calc.stages import STAGE_BY_KEY, before
from apps.corridor.models import Corridor
from apps.findings.models import Finding
from apps.holdpoints import judging
from apps.holdpoints.gates import PAPERS_BEFORE
from apps.holdpoints.models import Decision, Inspection, Measurement, Photo
from apps.holdpoints.replay import Reader, compared, facts_of
from apps.materials.models import Certificate, Placement
from apps.record.models import Entry
from apps.record.whole import agrees
from apps.requirements.models import Requirement

RELEASES = (Decision.Kind.RELEASE, Decision.Kind.RELEASE_WITH_CONDITION)


class Recomputed(NamedTuple):
    """What was found: yes, no or na (does not apply), and why in one sentence."""

    word: str
    why: str


def yes(why: str) -> Recomputed:
    """It is so."""
    return Recomputed("yes", why)


def no(why: str) -> Recomputed:
    """It is not so."""
    return Recomputed("no", why)


def na(why: str) -> Recomputed:
    """The question does not arise."""
    return Recomputed("na", why)


@dataclass(frozen=True, slots=True)
class Evidence:
    """All that is on file about one released attempt."""

    inspection: Inspection
    at: datetime
    rows: list[Measurement]
    views: set[str]
    applicable: list[Requirement]
    specs: Mapping[str, Spec]
    released_before: datetime | None
    """When the stage before was first released; None: never, or there is none."""
    findings: list[Finding]
    placements: list[Placement]
    certificates: list[Certificate]
    calibrations: Mapping[str, list[tuple[datetime, str | None]]]
    """Instrument → when a calibration was entered, and its last day as text; None: it needs none."""
    entries: list[Entry]

    @property
    def corridor(self) -> Corridor:
        """Where it stands."""
        return self.inspection.hold_point.foundation.corridor

    @property
    def stage(self) -> str:
        """Key of its stage."""
        return self.inspection.hold_point.stage

    @property
    def decision(self) -> Decision:
        """The release."""
        return self.inspection.decision

    def when(self, moment: datetime) -> str:
        """Write a moment as this corridor's clocks show it."""
        return f"{moment.astimezone(self.corridor.zone):%-d %b %Y %H:%M}"


# ---- reading what is on file


def gather(corridor: Corridor, inspections: Iterable[Inspection], at: datetime) -> dict[object, Evidence]:
    """Return what is on file about released attempts of a corridor, by inspection. A fixed number of queries."""
    keys = [each.pk for each in inspections]
    asked = Inspection.objects.filter(pk__in=keys).select_related(
        "edition", "inspector", "decision__by", "decision__condition", "hold_point__foundation__design",
        "hold_point__foundation__corridor", "hold_point__foundation__alignment",
    )  # fmt: skip
    found = list(asked)
    foundations = {each.hold_point.foundation_id for each in found}
    rows, views = _by_inspection(keys)
    requirements = _requirements({each.edition_id for each in found})
    specs = {
        edition: {row.key: row.spec for stage in stages.values() for row in stage}
        for edition, stages in requirements.items()
    }
    releases = _first_releases(foundations)
    findings = _grouped(Finding.objects.filter(foundation__in=foundations).order_by("number"), "foundation_id")
    placed = _grouped(Placement.objects.filter(foundation__in=foundations).select_related("load"), "foundation_id")
    certificates = list(Certificate.objects.filter(corridor=corridor))
    calibrations = _calibrations(corridor)
    entries = _entries(corridor, found)
    return {
        each.pk: Evidence(
            inspection=each,
            at=at,
            rows=rows[each.pk],
            views=views[each.pk],
            applicable=judging.applicable(
                each.hold_point, requirements[each.edition_id][each.hold_point.stage], facts_of(each)
            ),
            specs=specs[each.edition_id],
            released_before=releases.get((each.hold_point.foundation_id, before(each.hold_point.stage) or "")),
            findings=findings[each.hold_point.foundation_id],
            placements=placed[each.hold_point.foundation_id],
            certificates=certificates,
            calibrations=calibrations,
            entries=[entries[number] for number in (each.entry, each.decision.entry) if number in entries],
        )
        for each in found
    }


def _grouped(rows: Iterable[Any], name: str) -> dict[object, list[Any]]:
    found: dict[object, list[Any]] = defaultdict(list)
    for row in rows:
        found[getattr(row, name)].append(row)
    return found


def _by_inspection(keys: list[UUID]) -> tuple[dict[object, list[Measurement]], dict[object, set[str]]]:
    rows = Measurement.objects.filter(inspection__in=keys).select_related("instrument").order_by("place")
    views: dict[object, set[str]] = defaultdict(set)
    for inspection, view in Photo.objects.filter(inspection__in=keys).values_list("inspection", "view"):
        views[inspection].add(view)
    return _grouped(rows, "inspection_id"), views


def _requirements(editions: set[Any]) -> dict[object, dict[str, list[Requirement]]]:
    """Return edition → stage → its requirements in the order of work."""
    found: dict[object, dict[str, list[Requirement]]] = {key: defaultdict(list) for key in editions}
    for row in Requirement.objects.filter(edition__in=editions).order_by("place"):
        found[row.edition_id][row.stage].append(row)
    return found


def _first_releases(foundations: set[Any]) -> dict[tuple[object, str], datetime]:
    """Return (foundation, stage) → when it was first released."""
    made = Decision.objects.filter(inspection__hold_point__foundation__in=foundations, kind__in=RELEASES)
    names = ("inspection__hold_point__foundation", "inspection__hold_point__stage", "at")
    return {(foundation, stage): at for foundation, stage, at in made.order_by("-at").values_list(*names)}


def _calibrations(corridor: Corridor) -> dict[str, list[tuple[datetime, str | None]]]:
    """Return every calibration from the record: the instrument's own row knows only the last one."""
    found: dict[str, list[tuple[datetime, str | None]]] = defaultdict(list)
    for name, at, said in (
        Entry.objects.of_log(corridor.pk).filter(act="calibrate").values_list("subject", "received_at", "payload")
    ):
        found[name].append((at, said.get("calibrated_until")))
    return found


def _entries(corridor: Corridor, inspections: list[Inspection]) -> dict[int, Entry]:
    numbers = {number for each in inspections for number in (each.entry, each.decision.entry)}
    return {each.sequence: each for each in Entry.objects.filter(log=corridor.pk, sequence__in=numbers)}


# ---- the checks


def readings(on_file: Evidence) -> Recomputed:
    """Every requirement that applies has a row, and none is left unmeasured."""
    here = {row.requirement_key for row in on_file.rows}
    missing = [row.title for row in on_file.applicable if row.key not in here]
    missing += [row.title for row in on_file.rows if row.outcome == "not_measured"]
    if missing:
        return no(f"Not answered: {', '.join(missing)}.")
    return yes(f"{len(on_file.rows)} requirements, all answered.")


def verdicts(on_file: Evidence) -> Recomputed:
    """Judging again gives the same verdicts."""
    differs = [each for each in compared(on_file.inspection, on_file.rows, on_file.specs, Reader()) if each is not None]
    if differs:
        return no(f"Judged otherwise now: {', '.join(each.measurement.title for each in differs)}.")
    return yes(
        f"{len(on_file.rows)} verdicts judged again by edition {on_file.inspection.edition.number}, all the same."
    )


def calibration(on_file: Evidence) -> Recomputed:
    """Every instrument that a reading names was in calibration on the day, by what was entered until then."""
    names = sorted({row.instrument.name for row in on_file.rows if row.instrument})
    if not names:
        return na("No reading names an instrument.")
    day = on_file.corridor.day(on_file.inspection.looked_at)
    past = [
        each for each in names if not _counted(on_file.calibrations.get(each, []), on_file.inspection.received_at, day)
    ]
    if past:
        return no(f"Not in calibration on {day:%-d %b %Y}: {', '.join(past)}.")
    return yes(f"In calibration on {day:%-d %b %Y}, or needing none: {', '.join(names)}.")


def _counted(entered: list[tuple[datetime, str | None]], until: datetime, day: date) -> bool:
    """Say whether the last calibration entered by a moment covers a day."""
    last = [ends for at, ends in entered if at <= until]
    return bool(last) and (last[-1] is None or day <= date.fromisoformat(last[-1]))


def views(on_file: Evidence) -> Recomputed:
    """There is a photo of every view that the requirements ask for."""
    wanted = judging.required_views(on_file.applicable)
    titles = on_file.inspection.edition.views(on_file.stage)
    if missing := sorted(titles.get(each, each) for each in wanted - on_file.views):
        return no(f"No photo: {', '.join(missing)}.")
    return yes(f"{len(wanted)} views asked for, a photo of each.") if wanted else na("The stage asks for no photo.")


def two_people(on_file: Evidence) -> Recomputed:
    """The releaser is not the inspector."""
    inspector, releaser = on_file.inspection.inspector, on_file.decision.by
    said = f"Inspected by {inspector}, released by {releaser}."
    return yes(said) if inspector.pk != releaser.pk else no(said)


def order(on_file: Evidence) -> Recomputed:
    """Released after inspected, inspected after the stage before was released."""
    inspected, released = on_file.inspection.received_at, on_file.decision.at
    if released < inspected:
        return no(f"Released {on_file.when(released)}, before the inspection arrived {on_file.when(inspected)}.")
    if earlier := before(on_file.stage):
        title, at = STAGE_BY_KEY[earlier].title, on_file.released_before
        if at is None or at > inspected:
            return no(f"{title} was not released when this was inspected, {on_file.when(inspected)}.")
        return yes(
            f"{title} released {on_file.when(at)}, then inspected {on_file.when(inspected)}, released {on_file.when(released)}."
        )
    return yes(f"Inspected {on_file.when(inspected)}, released {on_file.when(released)}.")


def findings(on_file: Evidence) -> Recomputed:
    """Every finding of the stage that holds work was closed before the release."""
    released = on_file.decision.at
    here = [
        each for each in on_file.findings
        if each.stage == on_file.stage and each.grade in ("major", "critical") and each.raised_at <= released
    ]  # fmt: skip
    if not here:
        return yes("No major or critical finding of this stage was raised before the release.")
    late = [each.name for each in here if each.closed_at is None or each.closed_at > released]
    if late:
        return no(f"Not closed at the release, {on_file.when(released)}: {', '.join(late)}.")
    return yes(f"Closed before the release: {', '.join(each.name for each in here)}.")


def condition(on_file: Evidence) -> Recomputed:
    """The condition of the release was met by its day."""
    asked = getattr(on_file.decision, "condition", None)
    if asked is None:
        return na("Released without a condition.")
    due = f"{asked.due_on:%-d %b %Y}"
    if asked.met_at is None:
        late = on_file.corridor.day(on_file.at) > asked.due_on
        return no(f"{asked.text}: due {due}, not met.") if late else na(f"{asked.text}: not due before {due}.")
    met = on_file.corridor.day(asked.met_at)
    said = f"{asked.text}: due {due}, met {met:%-d %b %Y}."
    return yes(said) if met <= asked.due_on else no(said)


def concrete(on_file: Evidence) -> Recomputed:
    """Every load that was placed here is on file with its fresh tests."""
    loads = [each.load for each in on_file.placements]
    if not loads:
        return no("No concrete load is entered for this foundation.")
    names = (("slump_in", "slump"), ("air_percent", "air"), ("temperature_f", "temperature"))
    lacks = [f"load {load.ticket}, {word}" for load in loads for name, word in names if getattr(load, name) is None]
    if lacks:
        return no(f"Not entered: {'; '.join(lacks)}.")
    return yes(f"On file with slump, air and temperature: {', '.join(str(load) for load in loads)}.")


def papers(on_file: Evidence) -> Recomputed:
    """The certificates that stand before the stage were on file at the release and counted on the day."""
    wanted = PAPERS_BEFORE.get(on_file.stage, ())
    day = on_file.corridor.day(on_file.inspection.received_at)
    here = {row.covers for row in on_file.certificates if row.holds_on(day) and row.added_at <= on_file.decision.at}
    if missing := [each.label for each in wanted if each not in here]:
        return no(f"Not on file on {day:%-d %b %Y}: {', '.join(missing)}.")
    return yes(f"On file: {', '.join(each.label for each in wanted)}.") if wanted else na("The stage asks for none.")


def entries(on_file: Evidence) -> Recomputed:
    """Both entries are there and agree with their hashes."""
    numbers = (on_file.inspection.entry, on_file.decision.entry)
    whole = {each.sequence for each in on_file.entries if agrees(each)}
    if broken := [str(number) for number in numbers if number not in whole]:
        return no(f"Missing, or not as hashed: entry {', '.join(broken)}.")
    return yes(f"Entries {numbers[0]} and {numbers[1]} hashed again, both as entered.")


CHECKS: dict[str, Callable[[Evidence], Recomputed]] = {
    each.__name__: each
    for each in (
        readings,
        verdicts,
        calibration,
        views,
        two_people,
        order,
        findings,
        condition,
        concrete,
        papers,
        entries,
    )
}
"""Every check by the name that the checklist calls it."""
