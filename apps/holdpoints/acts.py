"""Everything that may be done at a hold point. Each act is one transaction: rows, record entry, counts."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from typing import Any, NamedTuple
from uuid import UUID

from django.core.files.uploadedfile import UploadedFile
from django.db import models

from apps.calc.facts import facts_as_json
from apps.calc.stages import after
from apps.corridor import access, tally
from apps.corridor.models import Crew, Foundation
from apps.findings import acts as finding_acts
from apps.findings.models import Finding
from apps.holdpoints import blockers, clean, judging, moves
from apps.holdpoints.models import Condition, Decision, HoldPoint, Inspection, Measurement, Notice, Photo, Reopening
from apps.people.models import Person
from apps.record.acts import Answer, Refused, act, enter, within
from apps.record.models import Attachment
from apps.record.photos import NotAPhoto, keep

State = HoldPoint.State


class Incomplete(Refused):
    """An inspection that lacks something: what is missing by requirement key, and by view."""

    def __init__(self, faults: Mapping[str, Mapping[str, str]], views: Sequence[str], reasons: Sequence[str]) -> None:
        super().__init__(*reasons)
        self.faults = faults
        self.views = views


class Shot(NamedTuple):
    """A photo of one view: as it came, or already sealed by record.photos.keep."""

    view: str
    file: "UploadedFile[Any] | Attachment"


def _lock(hold_point: HoldPoint) -> HoldPoint:
    """Lock the foundation, then return its hold point fresh: every act on a foundation waits here for the one before it."""
    Foundation.objects.select_for_update().get(pk=hold_point.foundation_id)
    return HoldPoint.objects.select_related(
        "foundation__design", "foundation__crew", "foundation__corridor__edition"
    ).get(pk=hold_point.pk)


def _begin(hold_point: HoldPoint, act_name: str, by: Person, at: datetime) -> tuple[HoldPoint, moves.Move, str]:
    """Lock, and check role and state against the table of moves. Returns the fresh hold point, its move and the role."""
    fresh = _lock(hold_point)
    role = access.role_for(by, fresh.foundation.corridor, moves.roles(act_name), at)
    if fresh.foundation.abandoned_at:
        raise Refused(f"{fresh.foundation.mark} is abandoned.")
    move = moves.find(act_name, fresh.state)
    if move is None:
        raise Refused(
            f"{fresh} is {fresh.get_state_display().lower()} since {_since(fresh)}: {act_words(act_name)} is not possible."
        )
    return fresh, move, role


def act_words(act_name: str) -> str:
    """Return an act's name in words: give_notice → give notice."""
    return act_name.replace("_", " ")


def _since(hold_point: HoldPoint) -> str:
    """Return since when, and by whom if it was decided, so that the slower of two people knows what happened."""
    when = f"{hold_point.since.astimezone(hold_point.foundation.corridor.zone):%-d %b %H:%M}"
    decision = (
        Decision.objects.filter(inspection__hold_point=hold_point, at=hold_point.since).select_related("by").first()
    )
    return f"{when} by {decision.by}" if decision else when


def _refuse(reasons: list[str]) -> None:
    if reasons:
        raise Refused(*reasons)


def _set(hold_point: HoldPoint, state: str, at: datetime, change: tally.Change, **more: Any) -> None:
    """Bring a hold point into a state and note it in the counts."""
    change.move(hold_point.stage, hold_point.state, state)
    change.rows.append(hold_point)
    hold_point.state, hold_point.since = state, at
    for name, value in more.items():
        setattr(hold_point, name, value)
    hold_point.save(update_fields=["state", "since", *more])


def _enter(
    hold_point: HoldPoint,
    act_name: str,
    by: Person,
    role: str,
    at: datetime,
    payload: dict[str, Any],
    device_at: datetime | None = None,
    *,
    rows: Iterable[models.Model],
    keep_head: bool = False,
) -> int:
    """Write the entry of an act on a hold point; return its sequence."""
    foundation = hold_point.foundation
    return enter(
        log=hold_point.corridor_id,
        act=act_name,
        subject=f"{foundation.mark}/{hold_point.stage}",
        by=by,
        role=role,
        at=at,
        device_at=device_at,
        mark=foundation.mark,
        station=str(foundation.station_ft),
        payload={"stage": hold_point.stage, **payload},
        rows=rows,
        keep_head=keep_head,
    ).sequence


# ---- notice


@act
def give_notice(
    *,
    hold_point: HoldPoint,
    asked_for: datetime,
    by: Person,
    at: datetime,
    client_id: UUID,
    crew: Crew | None = None,
    note: str = "",
    device_at: datetime | None = None,
) -> Answer:
    """Say that a hold point will be ready to be looked at, and when."""
    hold_point, move, role = _begin(hold_point, "give_notice", by, at)
    note = within(note, 200, "The note")
    if asked_for < at:
        raise Refused("The time that you ask for lies in the past.")
    _refuse(blockers.to_give_notice(blockers.situation(hold_point, at), asked_for))
    notice = Notice.objects.create(
        hold_point=hold_point, asked_for=asked_for, crew=crew, note=note, given_by=by, given_at=at
    )
    change = tally.Change(rows=[notice])
    _set(hold_point, move.new, at, change, asked_for=asked_for)
    if crew is not None and hold_point.foundation.crew_id != crew.pk:
        hold_point.foundation.crew = crew
        hold_point.foundation.save(update_fields=["crew"])
        change.rows.append(hold_point.foundation)
    tally.apply(hold_point.foundation.corridor, change, at)
    payload = {"asked_for": asked_for, "crew": crew.name if crew else None, "note": note}
    return {"entry": _enter(hold_point, "give_notice", by, role, at, payload, device_at, rows=change.rows)}


@act
def withdraw_notice(
    *,
    hold_point: HoldPoint,
    by: Person,
    at: datetime,
    client_id: UUID,
    reason: str = "",
    device_at: datetime | None = None,
) -> Answer:
    """Take a notice back: the work will not be ready."""
    hold_point, move, role = _begin(hold_point, "withdraw_notice", by, at)
    change = tally.Change()
    if last := hold_point.notices.last():
        last.withdrawn_at = at
        last.save(update_fields=["withdrawn_at"])
        change.rows.append(last)
    _set(hold_point, move.new, at, change, asked_for=None)
    tally.apply(hold_point.foundation.corridor, change, at)
    said = {"reason": reason.strip()}
    return {"entry": _enter(hold_point, "withdraw_notice", by, role, at, said, device_at, rows=change.rows)}


# ---- inspection


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
    hold_point, move, role = _begin(hold_point, "submit_inspection", by, at)
    corridor = hold_point.foundation.corridor
    _refuse(blockers.to_inspect(blockers.situation(hold_point, at), at))
    edition = corridor.edition
    plan = judging.facts_at(hold_point)
    requirements = judging.applicable(hold_point, edition.requirements.at(hold_point.stage), plan)
    judged = judging.judge_all(requirements, answers, plan=plan, day=corridor.day(looked_at), rule=edition.rule)
    refuse_incomplete(judged, photos, judging.required_views(requirements), edition.views(hold_point.stage))
    change = tally.Change()
    _set(hold_point, move.new, at, change, attempts=hold_point.attempts + 1, edition=edition, asked_for=None)
    tally.apply(corridor, change, at)
    findings = _raise_findings(hold_point, judged, by, role, at)
    inspection = _inspection(hold_point, judged, by, at, looked_at, note, facts_as_json(plan))
    measured = [judging.measurement(each, inspection, place) for place, each in enumerate(judged)]
    for row in measured:
        row.finding = findings.get(row.requirement_key)
    taken = _photos(inspection, photos, edition.views(hold_point.stage))
    inspection.entry = _enter(
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
        )
        for shot in shots
    ]


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


# ---- decision


def _decide(
    hold_point: HoldPoint,
    inspection: Inspection,
    act_name: str,
    kind: str,
    reason: str,
    by: Person,
    at: datetime,
    condition: Condition | None = None,
    show: str = "",
    *,
    signed: str = "",
    together: bool = False,
) -> Answer:
    """Write the engineer's word on one attempt, with its move, entry and counts. `signed`: with what, a key of signing.IN_WORDS."""
    fresh, move, role = _begin(hold_point, act_name, by, at)
    now = blockers.situation(fresh, at)
    opened = _clean(now, inspection, by, at) if together else None
    returning = kind == Decision.Kind.RETURN
    _refuse(blockers.to_decide(now, inspection, by) if returning else blockers.to_release(now, inspection, by, reason))
    decision = Decision(inspection=inspection, kind=kind, reason=reason.strip(), show=show, by=by, at=at)
    change = tally.Change(rows=[decision])
    _set(fresh, move.new, at, change)
    payload: dict[str, Any] = {"attempt": inspection.attempt, "reason": decision.reason}
    if signed:
        payload["signed"] = signed
    if show:
        payload["show"] = show
    if opened:
        payload["opened_at"] = opened
    if condition is not None:
        condition.decision = decision
        change.rows.append(condition)
        payload |= {"condition": condition.text, "owner": condition.owner, "due_on": condition.due_on}
    if not returning:
        _make_next_ready(fresh, at, change)
    tally.apply(fresh.foundation.corridor, change, at)
    decision.entry = _enter(fresh, act_name, by, role, at, payload, rows=change.rows, keep_head=not returning)
    decision.save()
    if condition is not None:
        condition.save()
    return {"decision": str(decision.pk), "entry": decision.entry}


def _clean(now: blockers.Situation, inspection: Inspection, by: Person, at: datetime) -> datetime | None:
    """Refuse an attempt that needs judgement or was not opened today; return when it was opened."""
    _refuse(blockers.to_decide(now, inspection, by))
    inspection.hold_point = now.hold_point
    why, opened = clean.to_release_together(inspection, by, at)
    _refuse(why)
    return opened


def _make_next_ready(hold_point: HoldPoint, at: datetime, change: tally.Change) -> None:
    """A release makes the next stage ready, if it was waiting for nothing else."""
    following = HoldPoint.objects.filter(foundation=hold_point.foundation_id, place=hold_point.place + 1).first()
    if following is not None and (move := moves.find("make_ready", following.state)):
        _set(following, move.new, at, change)


@act
def release(
    *,
    hold_point: HoldPoint,
    inspection: Inspection,
    by: Person,
    at: datetime,
    client_id: UUID,
    reason: str = "",
    signed: str = "",
) -> Answer:
    """Release a hold point on one attempt. A reading that refers needs the reason why it is acceptable."""
    return _decide(hold_point, inspection, "release", Decision.Kind.RELEASE, reason, by, at, signed=signed)


@act
def release_clean(
    *, hold_point: HoldPoint, inspection: Inspection, by: Person, at: datetime, client_id: UUID, signed: str = ""
) -> Answer:
    """Release one of several that are signed for together: clean, and opened by the signer today. The entry says when."""
    return _decide(hold_point, inspection, "release", Decision.Kind.RELEASE, "", by, at, signed=signed, together=True)


@act
def release_with_condition(
    *,
    hold_point: HoldPoint,
    inspection: Inspection,
    condition: str,
    owner: str,
    due_on: date,
    by: Person,
    at: datetime,
    client_id: UUID,
    reason: str = "",
    signed: str = "",
) -> Answer:
    """Release with what must still happen, by whom and until when."""
    condition, owner = within(condition, 200, "The condition"), within(owner, 60, "The name of who sees to it")
    if not condition or not owner:
        raise Refused("Say what must still happen, and who sees to it.")
    if due_on < hold_point.foundation.corridor.day(at):
        raise Refused(f"The day of the condition, {due_on:%-d %b %Y}, lies in the past.")
    kind = Decision.Kind.RELEASE_WITH_CONDITION
    follow_up = Condition(text=condition, owner=owner, due_on=due_on)
    return _decide(hold_point, inspection, "release_with_condition", kind, reason, by, at, follow_up, signed=signed)


@act
def return_inspection(
    *,
    hold_point: HoldPoint,
    inspection: Inspection,
    reason: str,
    by: Person,
    at: datetime,
    client_id: UUID,
    show: str = "",
    signed: str = "",
) -> Answer:
    """Send an attempt back with its reason; `show` is what to measure or show next time, in the words of the engineer."""
    show = within(show, 300, "What to show next time")
    if not reason.strip():
        raise Refused("Give the reason why it is returned.")
    return _decide(
        hold_point, inspection, "return_inspection", Decision.Kind.RETURN, reason, by, at, show=show, signed=signed
    )


@act
def meet_condition(*, condition: Condition, how: str, by: Person, at: datetime, client_id: UUID) -> Answer:
    """Report that a release's condition is met, and how it shows."""
    hold_point = _lock(condition.decision.inspection.hold_point)
    role = access.role_for(by, hold_point.foundation.corridor, moves.CONDITION_ROLES, at)
    fresh = Condition.objects.select_related("met_by").get(pk=condition.pk)
    if hold_point.foundation.abandoned_at:
        raise Refused(f"{hold_point.foundation.mark} is abandoned.")
    if fresh.met_at:
        when = f"{fresh.met_at.astimezone(hold_point.foundation.corridor.zone):%-d %b %H:%M}"
        raise Refused(f"The condition is met already: {when} by {fresh.met_by}.")
    how = within(how, 200, "How it shows")
    if not how:
        raise Refused("Say how it shows that the condition is met.")
    fresh.met_at, fresh.met_by, fresh.met_how = at, by, how
    fresh.save(update_fields=["met_at", "met_by", "met_how"])
    tally.apply(hold_point.foundation.corridor, tally.Change(), at)
    said = {"condition": fresh.text, "how": fresh.met_how}
    return {"entry": _enter(hold_point, "meet_condition", by, role, at, said, rows=[fresh])}


# ---- disturbed, abandoned


@act
def reopen(
    *, hold_point: HoldPoint, reason: str, by: Person, at: datetime, client_id: UUID, device_at: datetime | None = None
) -> Answer:
    """Withdraw a release because accepted work was disturbed, and pull back what stands on it."""
    hold_point, move, role = _begin(hold_point, "reopen", by, at)
    if not reason.strip():
        raise Refused("Give the reason: what disturbed the accepted work.")
    change, pulled = tally.Change(), []
    _set(hold_point, move.new, at, change)
    for later in HoldPoint.objects.filter(
        foundation=hold_point.foundation_id, stage__in=after(hold_point.stage)
    ).order_by("place"):
        if back := moves.find("pull_back", later.state):
            pulled.append(later.stage)
            _set(later, back.new, at, change, asked_for=None)
    tally.apply(hold_point.foundation.corridor, change, at)
    made = Reopening(hold_point=hold_point, reason=reason.strip(), pulled_back=pulled, by=by, at=at)
    said = {"reason": made.reason, "pulled_back": pulled}
    made.entry = _enter(hold_point, "reopen", by, role, at, said, device_at, rows=[*change.rows, made])
    made.save()
    return {"entry": made.entry, "pulled_back": pulled}


@act
def abandon(
    *,
    foundation: Foundation,
    reason: str,
    by: Person,
    at: datetime,
    client_id: UUID,
    successor: Mapping[str, Any] | None = None,
) -> Answer:
    """Give up a rejected foundation: it stays in the record and leaves the counts. `successor` are the fields of what replaces it."""
    return give_up(foundation, reason, by, at, successor)


def give_up(
    foundation: Foundation, reason: str, by: Person, at: datetime, successor: Mapping[str, Any] | None = None
) -> Answer:
    """Abandon inside an act's transaction."""
    from apps.holdpoints.schedule import add_foundation_rows, row_for_successor

    Foundation.objects.select_for_update().get(pk=foundation.pk)
    foundation = Foundation.objects.select_related("corridor", "design", "alignment").get(pk=foundation.pk)
    role = access.role_for(by, foundation.corridor, moves.ABANDON_ROLES, at)
    if foundation.abandoned_at:
        raise Refused(f"{foundation.mark} is abandoned already.")
    if not reason.strip():
        raise Refused("Give the reason why it is abandoned.")
    foundation.abandoned_at, foundation.abandoned_why = at, reason.strip()
    foundation.save(update_fields=["abandoned_at", "abandoned_why"])
    states = Counter(foundation.hold_points.values_list("stage", "state"))
    change = tally.Change(foundations=-1, abandoned=1)
    change.hold_points.subtract(states)
    tally.apply(foundation.corridor, change, at)
    for finding in foundation.findings.unsettled().select_related("foundation", "corridor"):
        finding_acts.close(
            finding=finding, by=by, role=role, at=at, note=f"{foundation.mark} is abandoned: {reason.strip()}"
        )
    mark = str(successor.get("mark", "")) if successor else None
    entry = enter(
        log=foundation.corridor_id,
        act="abandon",
        subject=foundation.mark,
        by=by,
        role=role,
        at=at,
        mark=foundation.mark,
        station=str(foundation.station_ft),
        payload={"reason": reason.strip(), "successor": mark},
        rows=[foundation],
    ).sequence
    if successor:
        add_foundation_rows(
            [row_for_successor(foundation, successor)], corridor=foundation.corridor, by=by, role=role, at=at
        )
    return {"entry": entry, "successor": mark}
