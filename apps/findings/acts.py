"""Everything that may be done to a finding. Each act is one transaction: rows, record entry, counts."""

from collections import Counter
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from django.db import models
from django.db.models import Max

from apps.corridor import access, tally
from apps.corridor.models import Corridor, Crew, Foundation
from apps.findings import moves
from apps.findings.models import Answer, Disposition, Finding, Verification
from apps.people.models import Person
from apps.record.acts import Answer as ActAnswer
from apps.record.acts import Refused, act, cut, enter, within


def answer_due(grade: str, at: datetime, corridor: Corridor) -> date:
    """Return the day by which a finding of this grade is to be answered."""
    return corridor.day(at) + timedelta(days=moves.ANSWER_DAYS[grade])


def _entry(
    finding: Finding,
    act: str,
    by: Person,
    role: str,
    at: datetime,
    payload: dict[str, Any],
    device_at: datetime | None,
    *rows: models.Model,
) -> int:
    """Enter what was done to a finding; `rows` were written besides it."""
    foundation = finding.foundation
    return enter(
        log=finding.corridor_id,
        act=act,
        subject=finding.name,
        by=by,
        role=role,
        at=at,
        device_at=device_at,
        mark=foundation.mark,
        station=str(foundation.station_ft),
        payload={"finding": finding.name, "stage": finding.stage, **payload},
        rows=[finding, *rows],
    ).sequence


def raise_from_reading(
    *,
    foundation: Foundation,
    stage: str,
    title: str,
    grade: str,
    by: Person,
    role: str,
    at: datetime,
    requirement_key: str = "",
    reading: str = "",
    limit: str = "",
    cause: str = "unknown",
    crew: Crew | None = None,
    device_at: datetime | None = None,
) -> Finding:
    """Raise a finding inside another act's transaction, under the role that this act checked. Counts and entry are written here."""
    corridor = foundation.corridor
    # The corridor's counts row is locked first, so that two findings raised at once get two numbers.
    tally.apply(corridor, tally.Change(findings=Counter({grade: 1})), at)
    last = Finding.objects.filter(corridor=corridor).aggregate(last=Max("number"))["last"] or 0
    finding = Finding.objects.create(
        corridor=corridor,
        number=last + 1,
        foundation=foundation,
        stage=stage,
        requirement_key=requirement_key,
        title=cut(title, 160),
        reading=cut(reading, 200),
        limit=cut(limit, 200),
        grade=grade,
        cause=cause,
        crew=crew or foundation.crew,
        raised_at=at,
        raised_by=by,
        since=at,
        due_on=answer_due(grade, at, corridor),
    )
    payload = {
        "title": title,
        "grade": grade,
        "requirement": requirement_key,
        "reading": reading,
        "limit": limit,
        "cause": cause,
    }
    _entry(finding, "raise_finding", by, role, at, payload, device_at)
    return finding


@act
def raise_finding(
    *,
    foundation: Foundation,
    stage: str,
    title: str,
    grade: str,
    by: Person,
    at: datetime,
    client_id: UUID,
    cause: str = "unknown",
    device_at: datetime | None = None,
) -> ActAnswer:
    """Raise a finding by hand: something seen that does not conform."""
    role = access.role_for(by, foundation.corridor, moves.RAISE_ROLES, at)
    title = within(title, 160, "The line that says what is wrong")
    if not title:
        raise Refused("Say in one line what is wrong.")
    foundation = Foundation.objects.select_for_update(of=("self",)).select_related("corridor").get(pk=foundation.pk)
    if foundation.abandoned_at:
        raise Refused(f"{foundation.mark} is abandoned; raise the finding at its successor.")
    finding = raise_from_reading(
        foundation=foundation,
        stage=stage,
        title=title,
        grade=grade,
        cause=cause,
        by=by,
        role=role,
        at=at,
        device_at=device_at,
    )
    return {"finding": finding.name}


def _begin(finding: Finding, act_name: str, by: Person, at: datetime) -> tuple[Finding, str]:
    """Lock a finding and check state and role against the table of moves; return the fresh row and the role."""
    move = moves.MOVE[act_name]
    # The foundation is locked before the finding, as the acts on hold points do.
    Foundation.objects.select_for_update().get(pk=finding.foundation_id)
    fresh = (
        Finding.objects.select_for_update(of=("self",))
        .select_related("foundation__corridor", "corridor")
        .get(pk=finding.pk)
    )
    role = access.role_for(by, fresh.corridor, move.roles, at)
    if fresh.foundation.abandoned_at:
        raise Refused(f"{fresh.foundation.mark} is abandoned.")
    if fresh.state not in move.old:
        raise Refused(
            f"{fresh.name} is not in a state for this: {fresh.get_state_display().lower()}, since {at_words(fresh)}."
        )
    return fresh, role


def at_words(finding: Finding) -> str:
    """Return since when a finding is in its state, in the corridor's time."""
    return f"{finding.since.astimezone(finding.corridor.zone):%-d %b %H:%M}"


def _settle(finding: Finding, state: str, at: datetime, *update: str) -> None:
    finding.state, finding.since = state, at
    finding.save(update_fields=["state", "since", *update])


@act
def decide_disposition(
    *,
    finding: Finding,
    kind: str,
    reason: str,
    by: Person,
    at: datetime,
    client_id: UUID,
    consent: str = "",
    due_on: date | None = None,
    cause: str = "",
    device_at: datetime | None = None,
) -> ActAnswer:
    """Decide what happens about a finding: rework, repair, concession, regrade or reject (ISO 9000:2015, 3.12)."""
    finding, role = _begin(finding, "decide_disposition", by, at)
    consent = within(consent, 200, "The name of the letter")
    if role == access.Role.INSPECTOR and (finding.grade, kind) not in moves.INSPECTOR_DECIDES:
        role = _as_engineer(by, finding.corridor, role, at)
    _check_disposition(finding, kind, reason, consent, role)
    disposition = Disposition.objects.create(
        finding=finding, kind=kind, reason=reason.strip(), consent=consent, by=by, at=at
    )
    finding.due_on = due_on or finding.due_on
    finding.cause = cause or finding.cause
    _settle(finding, moves.DECIDED, at, "due_on", "cause")
    tally.apply(finding.corridor, tally.Change(), at)
    payload = {
        "kind": kind,
        "reason": disposition.reason,
        "consent": disposition.consent,
        "due_on": finding.due_on,
        "cause": finding.cause,
    }
    entry = _entry(finding, "decide_disposition", by, role, at, payload, device_at, disposition)
    return {"finding": finding.name, "entry": entry}


def _as_engineer(by: Person, corridor: Corridor, role: str, at: datetime) -> str:
    """Return the engineer's role for an inspector who is the engineer too."""
    held = {membership.role for membership in access.memberships(by, corridor, at)}
    return str(access.Role.ENGINEER) if access.Role.ENGINEER in held else role


def _check_disposition(finding: Finding, kind: str, reason: str, consent: str, role: str) -> None:
    """Refuse a disposition that this role may not give, or that lacks its reason or consent."""
    if kind not in Disposition.Kind.values:
        raise Refused("Choose rework, repair, concession, regrade or reject.")
    if role == access.Role.INSPECTOR and (finding.grade, kind) not in moves.INSPECTOR_DECIDES:
        raise Refused(
            f"An inspector agrees to the rework of a minor finding; {kind} of a {finding.grade} one is the engineer's."
        )
    if (finding.grade, kind) in moves.NOT_USED:
        raise Refused(f"{Disposition.Kind(kind).label} is not used for a {finding.grade} finding.")
    if not reason.strip():
        raise Refused("Give the reason: what is to be done, or why it may stay.")
    if (finding.grade, kind) in moves.NEEDS_CONSENT and not consent.strip():
        raise Refused(
            f"{Disposition.Kind(kind).label} of a {finding.grade} finding needs the consent of the engineer of record: name the letter."
        )


@act
def answer_finding(
    *, finding: Finding, done: str, by: Person, at: datetime, client_id: UUID, device_at: datetime | None = None
) -> ActAnswer:
    """Report that the correction was made, and what was done."""
    finding, role = _begin(finding, "answer_finding", by, at)
    decided = finding.dispositions.last()
    if decided is not None and decided.leaves_it:
        raise Refused(f"{finding.name} is left as it is by {decided.kind}; there is nothing to correct.")
    if not done.strip():
        raise Refused("Say what was done.")
    answer = Answer.objects.create(finding=finding, done=done.strip(), by=by, at=at)
    _settle(finding, moves.ANSWERED, at)
    tally.apply(finding.corridor, tally.Change(), at)
    entry = _entry(finding, "answer_finding", by, role, at, {"done": done.strip()}, device_at, answer)
    return {"finding": finding.name, "entry": entry}


def _look(
    finding: Finding, act_name: str, outcome: str, reading: str, by: Person, at: datetime, device_at: datetime | None
) -> ActAnswer:
    """Keep one look at a correction and move the finding as the table says."""
    finding, role = _begin(finding, act_name, by, at)
    answer = finding.answers.last()
    if answer is not None and answer.by_id == by.pk:
        raise Refused(f"{by} made the correction of {finding.name}; someone else verifies it.")
    reading = within(reading, 200, "The reading")
    if not reading:
        raise Refused("Give the new reading, or what was seen.")
    look = Verification.objects.create(finding=finding, outcome=outcome, reading=reading, by=by, at=at)
    _settle(finding, moves.MOVE[act_name].new, at)
    tally.apply(finding.corridor, tally.Change(), at)
    payload = {"outcome": outcome, "reading": reading}
    return {"finding": finding.name, "entry": _entry(finding, act_name, by, role, at, payload, device_at, look)}


@act
def verify_finding(
    *, finding: Finding, reading: str, by: Person, at: datetime, client_id: UUID, device_at: datetime | None = None
) -> ActAnswer:
    """Confirm a correction with a new reading, by someone other than who made it."""
    return _look(finding, "verify_finding", Verification.Outcome.CONFORMS, reading, by, at, device_at)


@act
def refuse_correction(
    *, finding: Finding, reading: str, by: Person, at: datetime, client_id: UUID, device_at: datetime | None = None
) -> ActAnswer:
    """Send a correction back: the new reading still does not conform."""
    return _look(finding, "refuse_correction", Verification.Outcome.NONCONFORMING, reading, by, at, device_at)


@act
def close_finding(
    *, finding: Finding, by: Person, at: datetime, client_id: UUID, note: str = "", device_at: datetime | None = None
) -> ActAnswer:
    """Close a finding: verified by someone else, or left as it is by concession or regrade."""
    finding, role = _begin(finding, "close_finding", by, at)
    decided, verified = finding.dispositions.last(), finding.verifications.last()
    if finding.state == moves.DECIDED and not (decided is not None and decided.leaves_it):
        raise Refused(f"The correction of {finding.name} is not verified yet.")
    if finding.state == moves.VERIFIED and verified is not None and verified.by_id == by.pk:
        raise Refused(f"{by} verified {finding.name}; someone else closes it.")
    close(finding=finding, by=by, role=role, at=at, note=note, device_at=device_at)
    return {"finding": finding.name}


def close(
    *, finding: Finding, by: Person, role: str, at: datetime, note: str, device_at: datetime | None = None
) -> None:
    """Close a finding inside another act's transaction, e.g. when its foundation is abandoned."""
    finding.closed_at, finding.closed_by = at, by
    _settle(finding, moves.CLOSED, at, "closed_at", "closed_by")
    tally.apply(finding.corridor, tally.Change(findings=Counter({finding.grade: -1})), at)
    _entry(finding, "close_finding", by, role, at, {"note": note.strip()}, device_at)


@act
def reopen_finding(
    *, finding: Finding, reason: str, by: Person, at: datetime, client_id: UUID, device_at: datetime | None = None
) -> ActAnswer:
    """Reopen a closed finding with its reason."""
    finding, role = _begin(finding, "reopen_finding", by, at)
    if not reason.strip():
        raise Refused("Give the reason.")
    finding.closed_at = finding.closed_by = None
    finding.due_on = answer_due(finding.grade, at, finding.corridor)
    _settle(finding, moves.OPEN, at, "closed_at", "closed_by", "due_on")
    tally.apply(finding.corridor, tally.Change(findings=Counter({finding.grade: 1})), at)
    return {
        "finding": finding.name,
        "entry": _entry(finding, "reopen_finding", by, role, at, {"reason": reason.strip()}, device_at),
    }
