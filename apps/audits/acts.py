"""Drawing a sample, answering its questions, closing it. The auditor's work; every step stands in the record."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any, NamedTuple
from uuid import UUID

from django.db import models
from django.db.models import Max

from apps.audits.checklist import Question, parse, questions
from apps.audits.frame import Frame, Lot, frame
from apps.audits.models import Answer, Audit, Drawn
from apps.audits.planning import Plan, Planned, planned
from apps.audits.recomputed import CHECKS, Recomputed, gather
from apps.audits.standing import standing
from apps.calc.decision import digest, draw_strata
from apps.calc.errors import CalcError
from apps.corridor import access, tally
from apps.corridor.models import Corridor
from apps.findings.models import Finding
from apps.people.models import Person
from apps.record.acts import Answer as ActAnswer
from apps.record.acts import Refused, act, enter, within

AUDITORS = frozenset({access.Role.AUDITOR})
READERS = frozenset({access.Role.AUDITOR, access.Role.ENGINEER, access.Role.OFFICE})
LONGEST_NOTE = 300


class Said(NamedTuple):
    """What an auditor says to one question."""

    word: str
    note: str = ""
    finding: str = ""
    """Its number as the trade writes it, F-031; empty: none is named."""


def _entry(
    audit: Audit,
    name: str,
    by: Person,
    role: str,
    at: datetime,
    payload: dict[str, Any],
    *rows: models.Model,
    drawn: Drawn | None = None,
) -> int:
    """Write the entry of an act on an audit; one about a drawn hold point names its foundation and stage."""
    tally.apply(audit.corridor, tally.Change(), at)
    about = None
    if drawn is not None:
        point = drawn.inspection.hold_point
        about = point.foundation
        payload = {"stage": point.stage, "item": drawn.item, "place": drawn.place, **payload}
    return enter(
        log=audit.corridor_id,
        act=name,
        subject=audit.name,
        by=by,
        role=role,
        at=at,
        payload={"audit": audit.name, **payload},
        rows=rows,
        about=about,
    ).sequence


class NotKept(Refused):
    """Answers that cannot be kept: what is wrong, by the name of the form's field (question, question-note, question-finding)."""

    def __init__(self, faults: Mapping[str, str]) -> None:
        super().__init__(*faults.values())
        self.faults = faults


# ---- drawing


@act
def draw_audit(
    *,
    corridor: Corridor,
    title: str,
    lot: Lot,
    strata: str,
    plan: Plan,
    seed: str,
    by: Person,
    at: datetime,
    client_id: UUID,
) -> ActAnswer:
    """Draw a sample of released hold points. Seed, frame and what was drawn are entered, so that anyone can draw it again."""
    role = access.role_for(by, corridor, AUDITORS, at)
    title, seed = within(title, 120, "The title"), within(seed, 64, "The seed")
    if not title:
        raise Refused("The audit needs a title.")
    if not seed:
        raise Refused("The draw needs a seed: roll it before others, or keep the one that the page offers.")
    if strata not in Audit.Strata.values or plan.kind not in Audit.PlanKind.values:
        raise Refused("Choose how the sample is divided, and where its size comes from.")
    tally.lock(corridor)
    framed = frame(corridor, lot, strata)
    made = _planned(framed, plan)
    audit = _audit(corridor, framed, made, plan, at, by)
    audit.title, audit.lot, audit.strata, audit.seed = title, lot.words, strata, seed
    tickets = draw_strata(framed.strata, seed, made.sample)
    payload = {
        "title": title,
        "lot": lot.words,
        "strata": strata,
        "seed": seed,
        "frame": {"size": audit.frame_size, "digest": audit.frame_digest},
        "sizes": {name: list(pair) for name, pair in made.strata.items()},
        "sample": made.sample,
        "accept": made.accept,
        "plan": plan._asdict(),
        "producer_risk": str(audit.producer_risk),
        "consumer_risk": str(audit.consumer_risk),
        "drawn": [each.item for each in tickets],
    }
    drawn = [
        Drawn(audit=audit, place=place, inspection=framed.inspections[each.item], **each._asdict())
        for place, each in enumerate(tickets, start=1)
    ]
    audit.drawn_entry = _entry(audit, "draw_audit", by, role, at, payload, audit, *drawn)
    audit.save()
    Drawn.objects.bulk_create(drawn)
    return {"audit": audit.number, "drawn": made.sample, "entry": audit.drawn_entry}


def _planned(framed: Frame, plan: Plan) -> Planned:
    try:
        return planned({name: len(items) for name, items in framed.strata.items()}, plan)
    except CalcError as fault:
        raise Refused(f"{fault.message[:1].upper()}{fault.message[1:]}.") from fault


def _audit(corridor: Corridor, framed: Frame, made: Planned, plan: Plan, at: datetime, by: Person) -> Audit:
    """Return the next audit of a corridor, not yet saved. Called with the counts locked, so that two at once get two numbers."""
    last = Audit.objects.filter(corridor=corridor).aggregate(last=Max("number"))["last"] or 0
    return Audit(
        corridor=corridor,
        number=last + 1,
        plan=plan.kind,
        level=plan.level if plan.kind == Audit.PlanKind.TABLE else "",
        frame=[[name, items] for name, items in framed.strata.items()],
        frame_size=framed.size,
        frame_digest=digest(framed.inspections),
        sample=made.sample,
        accept=made.accept,
        limit_percent=plan.limit_percent,
        limiting_percent=plan.limiting_percent,
        producer_risk=f"{abs(made.producer):.6f}",  # a sum of chances may end a hair under 0
        consumer_risk=f"{abs(made.consumer):.6f}",
        checklist=[each.as_json() for each in questions()],
        drawn_at=at,
        drawn_by=by,
    )


# ---- answering


@act
def answer_drawn(
    *, drawn: Drawn, answers: Mapping[str, Said], seen: int, by: Person, at: datetime, client_id: UUID
) -> ActAnswer:
    """Answer questions of one drawn hold point; what is answered as before is not written again.

    `seen` is the entry of the newest answer that the person saw here, 0 for none: whoever answered since is named, not overwritten.
    """
    audit, role = _begin(drawn.audit, by, at)
    drawn = Drawn.objects.select_related(
        "inspection__hold_point__foundation", "inspection__decision__by", "inspection__inspector"
    ).get(pk=drawn.pk)
    _refuse(_stands_apart(drawn, by) or _answered_since(drawn, by, seen))
    asked = {each.key: each for each in parse(audit.checklist) if each.asked_at(drawn.inspection.hold_point.stage)}
    fresh = _changed(drawn, answers)
    found = _named_findings(audit.corridor, fresh)
    if faults := _faults(asked, fresh, found):
        raise NotKept(faults)
    if not fresh:
        raise Refused("There is nothing new to keep: every answer stands as it was.")
    recomputed = recomputed_for(drawn, asked, at)
    rows = []
    for key, said in fresh.items():
        what = recomputed.get(key, Recomputed("", ""))
        rows.append(
            Answer(
                drawn=drawn, question=key, word=said.word, note=said.note, finding=found.get(said.finding), by=by, at=at,
                recomputed=what.word, why=what.why[:300],
            )
        )  # fmt: skip
    payload = {
        "answers": [
            {"question": each.question, "word": each.word, "note": each.note, "recomputed": each.recomputed,
             "finding": each.finding.name if each.finding else ""}
            for each in rows
        ]
    }  # fmt: skip
    entry = _entry(audit, "answer_drawn", by, role, at, payload, *rows, drawn=drawn)
    for row in rows:
        row.entry = entry
    Answer.objects.bulk_create(rows)
    return {"audit": audit.number, "place": drawn.place, "answered": len(rows), "entry": entry}


def recomputed_for(drawn: Drawn, asked: Mapping[str, Question], at: datetime) -> dict[str, Recomputed]:
    """Return what the program finds out by itself for these questions of a drawn hold point, by question."""
    on_file = gather(drawn.audit.corridor, [drawn.inspection], at)[drawn.inspection_id]
    return {key: CHECKS[each.recompute](on_file) for key, each in asked.items() if each.recompute}


def _begin(audit: Audit, by: Person, at: datetime) -> tuple[Audit, str]:
    """Lock the corridor's counts, then the audit; check role and state. Returns the fresh audit and the role."""
    role = access.role_for(by, audit.corridor, AUDITORS, at)
    tally.lock(audit.corridor)
    fresh = Audit.objects.select_for_update(of=("self",)).select_related("corridor", "closed_by").get(pk=audit.pk)
    if fresh.closed_at:
        when = f"{fresh.closed_at.astimezone(fresh.corridor.zone):%-d %b %Y %H:%M}"
        raise Refused(f"{fresh.name} was closed {when} by {fresh.closed_by}: its answers stand.")
    return fresh, role


def _refuse(reasons: list[str]) -> None:
    if reasons:
        raise Refused(*reasons)


def _stands_apart(drawn: Drawn, by: Person) -> list[str]:
    """Nobody audits what they inspected or released."""
    inspection = drawn.inspection
    done = {inspection.inspector_id: "inspected", inspection.decision.by_id: "released"}
    if by.pk not in done:
        return []
    return [f"{by} {done[by.pk]} {inspection.hold_point}; another auditor answers."]


def _answered_since(drawn: Drawn, by: Person, seen: int) -> list[str]:
    """Say who answered here since the person looked."""
    since = drawn.answers.filter(entry__gt=seen).select_related("by").last()
    if since is None:
        return []
    when = f"{since.at.astimezone(drawn.audit.corridor.zone):%-d %b %H:%M}"
    return [
        f"{since.by} answered here {when}, since you opened it. What stands there now is shown; look, then send again."
    ]


def _changed(drawn: Drawn, answers: Mapping[str, Said]) -> dict[str, Said]:
    """Return what is said that does not stand there already."""
    stands = {
        each.question: Said(each.word, each.note, each.finding.name if each.finding else "")
        for each in drawn.answers.select_related("finding")
    }
    told = {
        key: Said(said.word, within(said.note, LONGEST_NOTE, "A note"), said.finding.strip().upper())
        for key, said in answers.items()
    }
    return {key: said for key, said in told.items() if stands.get(key) != said}


def _named_findings(corridor: Corridor, answers: Mapping[str, Said]) -> dict[str, Finding]:
    """Return the findings that answers name, by name; one that is not there is missing."""
    numbers = {said.finding.removeprefix("F-").lstrip("0") for said in answers.values() if said.finding}
    known = [int(each) for each in numbers if each.isascii() and each.isdigit() and len(each) < 9]
    return {each.name: each for each in Finding.objects.filter(corridor=corridor, number__in=known)}


def _faults(asked: Mapping[str, Question], answers: Mapping[str, Said], found: Mapping[str, Finding]) -> dict[str, str]:
    """Say what of these answers cannot be kept, by field."""
    faults = {}
    for key, said in answers.items():
        if key not in asked:
            faults[key] = f"{key} is not asked here."
        elif said.word not in Answer.Word.values:
            faults[key] = "Answer yes, no or does not apply."
        elif said.word != Answer.Word.YES and not said.note:
            faults[f"{key}-note"] = "Say what you saw, or why it does not apply."
        elif said.finding and said.word != Answer.Word.NO:
            faults[f"{key}-finding"] = "Only a no names a finding."
        elif said.finding and said.finding not in found:
            faults[f"{key}-finding"] = f"There is no finding {said.finding} on this corridor."
    return faults


# ---- closing


@act
def close_audit(
    *, audit: Audit, by: Person, at: datetime, client_id: UUID, remarks: str = "", signed: str = ""
) -> ActAnswer:
    """Close an audit with its result: accepted where no more are not in order than the plan takes. Every question is answered."""
    audit, role = _begin(audit, by, at)
    stands = standing(audit)
    open_ones = [f"{each.drawn.item} lacks {len(each.missing)}" for each in stands.judged if each.missing]
    if open_ones:
        raise Refused(f"{stands.missing} questions are not answered yet: {', '.join(open_ones)}.")
    told = stands.share
    audit.found, audit.closed_at, audit.closed_by = stands.found, at, by
    audit.result = Audit.Result.ACCEPTED if stands.accepted else Audit.Result.NOT_ACCEPTED
    audit.remarks = within(remarks, 1000, "The remarks")
    payload = {
        "result": audit.result,
        "found": audit.found,
        "sample": audit.sample,
        "accept": audit.accept,
        "confidence": "0.95",
        "share_low": f"{told.exact_low:.6f}",
        "share_high": f"{told.exact_high:.6f}",
        "not_in_order": [each.drawn.item for each in stands.judged if each.noes],
        "remarks": audit.remarks,
    }
    if signed:
        payload["signed"] = signed
    audit.closed_entry = _entry(audit, "close_audit", by, role, at, payload, audit)
    audit.save(update_fields=["found", "closed_at", "closed_by", "result", "remarks", "closed_entry"])
    return {"audit": audit.number, "result": audit.result, "found": audit.found, "entry": audit.closed_entry}
