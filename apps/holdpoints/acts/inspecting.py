"""An inspection: one attempt with its readings, verdicts, photos and the findings that it raises."""

from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any, NamedTuple
from uuid import UUID

from django.core.files.uploadedfile import UploadedFile

from apps.calc.facts import facts_as_json
from apps.corridor import tally
from apps.findings import acts as finding_acts
from apps.findings.models import Finding
from apps.holdpoints import blockers, judging
from apps.holdpoints.acts.moving import begin, enter_point, refuse, set_state
from apps.holdpoints.models import HoldPoint, Inspection, Measurement, Photo
from apps.people.models import Person
from apps.record.acts import Answer, Refused, act
from apps.record.fixes import Fix, faults_of
from apps.record.models import Attachment
from apps.record.photos import NotAPhoto, keep


class Incomplete(Refused):
    """An inspection that lacks something: what is missing by requirement key, and by view."""

    def __init__(self, faults: Mapping[str, Mapping[str, str]], views: Sequence[str], reasons: Sequence[str]) -> None:
        super().__init__(*reasons)
        self.faults = faults
        self.views = views


class Shot(NamedTuple):
    """A photo of one view: as it came, or already sealed by record.photos.keep; with the phone's own position, if it was sent."""

    view: str
    file: "UploadedFile[Any] | Attachment"
    fix: Fix | None = None


@act
def submit_inspection(
    *,
    hold_point: HoldPoint,
    answers: Mapping[str, judging.Answered],
    by: Person,
    at: datetime,
    client_id: UUID,
    looked_at: datetime,
    photos: Sequence[Shot] = (),
    note: str = "",
    device_at: datetime | None = None,
) -> Answer:
    """Send what was read at a hold point: judged at once, kept whole, a finding raised for each nonconforming reading.

    `looked_at` is the device's clock. Incomplete names every requirement and photo view that is missing; nothing is kept then.
    """
    hold_point, move, role = begin(hold_point, "submit_inspection", by, at)
    corridor = hold_point.foundation.corridor
    refuse(blockers.to_inspect(blockers.situation(hold_point, at), at))
    edition = corridor.edition
    plan = judging.facts_at(hold_point)
    requirements = judging.applicable(hold_point, edition.requirements.at(hold_point.stage), plan)
    judged = judging.judge_all(requirements, answers, plan=plan, day=corridor.day(looked_at), rule=edition.rule)
    refuse_incomplete(judged, photos, judging.required_views(requirements), edition.views(hold_point.stage))
    change = tally.Change()
    set_state(hold_point, move.new, at, change, attempts=hold_point.attempts + 1, edition=edition, asked_for=None)
    tally.apply(corridor, change, at)
    findings = _raise_findings(hold_point, judged, by, role, at)
    inspection = _inspection(hold_point, judged, by, at, looked_at, note, facts_as_json(plan))
    measured = [judging.measurement(each, inspection, place) for place, each in enumerate(judged)]
    for row in measured:
        row.finding = findings.get(row.requirement_key)
    taken = _photos(inspection, photos, edition.views(hold_point.stage))
    inspection.entry = enter_point(
        hold_point,
        "submit_inspection",
        by,
        role,
        at,
        _inspection_payload(inspection, judged, taken),
        device_at or looked_at,
        rows=[*change.rows, inspection, *measured, *taken],
    )
    inspection.save()
    Measurement.objects.bulk_create(measured)
    Photo.objects.bulk_create(taken)
    return {
        "inspection": str(inspection.pk),
        "entry": inspection.entry,
        "findings": [finding.name for finding in findings.values()],
    }


def _photos(inspection: Inspection, shots: Sequence[Shot], titles: Mapping[str, str]) -> list[Photo]:
    """Return the rows of the photos of an inspection, not yet saved; their files are sealed."""
    return [
        Photo(
            inspection=inspection,
            view=shot.view,
            title=titles.get(shot.view, shot.view),
            attachment=_sealed(inspection, shot),
            **_fixed(shot),
        )
        for shot in shots
    ]


def _fixed(shot: Shot) -> dict[str, Any]:
    """Return the columns of where the phone stood. Refused, with what is out of range, for a position that cannot be."""
    if shot.fix is None:
        return {}
    refuse(faults_of(shot.fix))
    return {f"fix_{name}": value for name, value in shot.fix._asdict().items()}


def _sealed(inspection: Inspection, shot: Shot) -> Attachment:
    log = inspection.hold_point.corridor_id
    if isinstance(shot.file, Attachment):
        if shot.file.log != log:
            raise Refused("A photo of another corridor was named.")
        return shot.file
    try:
        return keep(log=log, file=shot.file, at=inspection.received_at, taken_at=inspection.looked_at)
    except NotAPhoto as fault:
        raise Incomplete({}, [shot.view], [str(fault)]) from fault


def refuse_incomplete(
    judged: Sequence[judging.Judged], photos: Sequence[Shot], views: set[str], titles: Mapping[str, str]
) -> None:
    """Raise Incomplete unless every requirement is answered, every doubt settled and every required view there."""
    faults: dict[str, dict[str, str]] = {}
    reasons = []
    for each in judged:
        said = dict(each.faults)
        if not said and each.questions:
            said[""] = " ".join(each.questions)
        elif not said and each.verdict.outcome in {"not_measured", "not_applicable"} and not judging.reason_of(each):
            said[""] = each.verdict.sentence or "Not measured: give a reading, or the reason why there is none."
        elif len(judging.reason_of(each)) > judging.LONGEST_REASON:
            said[""] = f"The reason is longer than {judging.LONGEST_REASON} characters. Say it shorter, or in the note."
        if said:
            faults[each.requirement.key] = said
            reasons.append(f"{each.requirement.title}: {' '.join(said.values())}")
    missing = sorted(views - {shot.view for shot in photos}, key=list(titles).index)
    reasons += [f"Photo missing: {titles[view].lower()}." for view in missing]
    if faults or missing:
        raise Incomplete(faults, missing, reasons)


def _raise_findings(
    hold_point: HoldPoint, judged: Sequence[judging.Judged], by: Person, role: str, at: datetime
) -> dict[str, Finding]:
    """Raise a finding for each nonconforming requirement, or take the one that is already open for it."""
    foundation, found = hold_point.foundation, {}
    for each in judged:
        if each.verdict.outcome != "nonconforming":
            continue
        key, verdict = each.requirement.key, each.verdict
        known = foundation.findings.unsettled().filter(requirement_key=key).order_by("number").last()
        found[key] = known or finding_acts.raise_from_reading(
            foundation=foundation,
            stage=hold_point.stage,
            title=f"{each.requirement.title}: {verdict.margin_text or verdict.value_text}",
            grade=each.requirement.grade,
            requirement_key=key,
            reading=verdict.value_text,
            limit=verdict.limit_text,
            by=by,
            role=role,
            at=at,
        )
    return found


def _inspection_payload(
    inspection: Inspection, judged: Sequence[judging.Judged], photos: Sequence[Photo]
) -> dict[str, Any]:
    """What the record keeps of an inspection: one entry, all its readings and verdicts, the photos by hash."""
    return {
        "attempt": inspection.attempt,
        "edition": inspection.edition.number,
        "note": inspection.note,
        "facts": inspection.facts,
        "photos": {photo.view: photo.attachment.sha256 for photo in photos},
        "measured": [
            {
                "requirement": each.requirement.key,
                "readings": [[reading.place, reading.typed, reading.unit] for reading in each.readings],
                "limit": each.verdict.limit_text,
                "outcome": each.verdict.outcome,
                "value": each.verdict.value_text,
                "margin": each.verdict.margin_text,
                "reason": judging.reason_of(each),
                "instrument": each.answer.instrument.name if each.answer.instrument else "",
            }
            for each in judged
        ],
    }


def _inspection(
    hold_point: HoldPoint,
    judged: Sequence[judging.Judged],
    by: Person,
    at: datetime,
    looked_at: datetime,
    note: str,
    facts: dict[str, str | bool],
) -> Inspection:
    """Return the row of an inspection, not yet saved."""
    tightest = judging.tightest(judged)
    return Inspection(
        hold_point=hold_point,
        attempt=hold_point.attempts,
        edition=hold_point.foundation.corridor.edition,
        inspector=by,
        crew=hold_point.foundation.crew,
        looked_at=looked_at,
        received_at=at,
        note=note.strip(),
        tally=dict(Counter(each.verdict.outcome for each in judged)),
        tightest=f"{tightest.requirement.title}: {tightest.verdict.margin_text}"[:120] if tightest else "",
        at_limit=sum(each.verdict.at_limit for each in judged),
        facts=facts,
    )
