"""Everything that may be done to a finding. Each act is one transaction: rows, record entry, counts."""

from collections import Counter
from datetime import date, datetime, timedelta
from decimal import Decimal
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


def earlier(foundation: Foundation, requirement_key: str, crew: Crew | None) -> Finding | None:
    """Return the last finding of the same requirement at this foundation or of this crew; None for one seen by eye, or the first."""
    if not requirement_key:
        return None
    near = models.Q(foundation=foundation) | (models.Q(crew=crew) if crew is not None else models.Q())
    same = Finding.objects.filter(near, corridor=foundation.corridor, requirement_key=requirement_key)
    return same.order_by("number").last()


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
        about=foundation,
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
    due_on: date | None = None,
    device_at: datetime | None = None,
) -> Finding:
    """Raise a finding inside another act's transaction, under the role that this act checked. Counts and entry are written here."""
    corridor, crew = foundation.corridor, crew or foundation.crew
    # The corridor's counts row is locked first, so that two findings raised at once get two numbers.
    tally.apply(corridor, tally.Change(findings=Counter({grade: 1})), at)
    last = Finding.objects.filter(corridor=corridor).aggregate(last=Max("number"))["last"] or 0
    before = earlier(foundation, requirement_key, crew)
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
        crew=crew,
        raised_at=at,
        raised_by=by,
        since=at,
        due_on=due_on or answer_due(grade, at, corridor),
        again_of=before,
    )
    payload = {
        "title": title,
        "grade": grade,
        "requirement": requirement_key,
        "reading": reading,
        "limit": limit,
        "cause": cause,
        "due_on": finding.due_on,
        "crew": crew.name if crew else None,
        "again_of": before.name if before else None,
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
    crew: Crew | None = None,
    due_on: date | None = None,
    device_at: datetime | None = None,
) -> ActAnswer:
    """Raise a finding by hand: something seen that does not conform."""
    return raised(foundation, title, by, at, stage=stage, grade=grade, cause=cause, crew=crew, due_on=due_on,
                  device_at=device_at)  # fmt: skip


def raised(foundation: Foundation, title: str, by: Person, at: datetime, **said: Any) -> ActAnswer:
    """Raise a finding inside an act's transaction, with everything that a person who raises one is checked for."""
    role = access.role_for(by, foundation.corridor, moves.RAISE_ROLES, at)
    title = within(title, 160, "The line that says what is wrong")
    if not title:
        raise Refused("Say in one line what is wrong.")
    foundation = Foundation.objects.select_for_update(of=("self",)).select_related("corridor").get(pk=foundation.pk)
    if foundation.abandoned_at:
        raise Refused(f"{foundation.mark} is abandoned; raise the finding at its successor.")
    _check_terms(foundation.corridor, at, said.get("crew"), said.get("due_on"))
    finding = raise_from_reading(foundation=foundation, title=title, by=by, role=role, at=at, **said)
    return {"finding": finding.name}


def _check_terms(corridor: Corridor, at: datetime, crew: Crew | None, due_on: date | None) -> None:
    """Refuse a crew of another corridor, and a day gone by."""
    if crew is not None and crew.corridor_id != corridor.pk:
        raise Refused(f"{crew} is no crew of this corridor.")
    if due_on is not None and due_on < corridor.day(at):
        raise Refused(f"The day of the answer, {due_on:%-d %b %Y}, lies in the past.")


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
    return decide(finding, kind, reason, by, at, consent, due_on, cause, device_at)


def decide(
    finding: Finding,
    kind: str,
    reason: str,
    by: Person,
    at: datetime,
    consent: str = "",
    due_on: date | None = None,
    cause: str = "",
    device_at: datetime | None = None,
) -> ActAnswer:
    """Decide inside an act's transaction, e.g. when a reject is followed by giving the foundation up."""
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


@act
def assign_finding(
    *,
    finding: Finding,
    by: Person,
    at: datetime,
    client_id: UUID,
    crew: Crew | None = None,
    cause: str = "",
    due_on: date | None = None,
    cost: Decimal | None = None,
    delay_d: Decimal | None = None,
) -> ActAnswer:
    """Say whose a finding is, why it happened, by when it is answered, and what it costs in dollars and working days.

    What is not given stays. Refused when it is closed, or when nothing is given that differs.
    """
    Foundation.objects.select_for_update().get(pk=finding.foundation_id)
    locked = Finding.objects.select_for_update(of=("self",)).select_related("foundation__corridor", "corridor", "crew")
    fresh = locked.get(pk=finding.pk)
    role = access.role_for(by, fresh.corridor, moves.ASSIGN_ROLES, at)
    if not fresh.is_open:
        raise Refused(f"{fresh.name} is closed since {at_words(fresh)}; what it says stays.")
    if cause and cause not in Finding.Cause.values:
        raise Refused("Choose a cause of the list.")
    if any(amount is not None and amount < 0 for amount in (cost, delay_d)):
        raise Refused("Cost and delay are not below zero.")
    given: dict[str, Any] = {"crew": crew, "cause": cause or None, "due_on": due_on, "cost": cost, "delay_d": delay_d}
    changed = {name: value for name, value in given.items() if value is not None and value != getattr(fresh, name)}
    _check_terms(fresh.corridor, at, changed.get("crew"), changed.get("due_on"))
    if not changed:
        raise Refused(f"Nothing that is given for {fresh.name} differs from what it says.")
    payload = {f"{name}_before": _said(getattr(fresh, name)) for name in changed}
    for name, value in changed.items():
        setattr(fresh, name, value)
    fresh.save(update_fields=list(changed))
    tally.apply(fresh.corridor, tally.Change(), at)
    payload |= {name: _said(value) for name, value in changed.items()}
    return {"finding": fresh.name, "entry": _entry(fresh, "assign_finding", by, role, at, payload, None)}


def _said(value: Any) -> Any:
    """Return a value as the entry says it: a crew by its name."""
    return value.name if isinstance(value, Crew) else value


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
