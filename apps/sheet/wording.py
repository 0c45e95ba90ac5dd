"""Entries of the record in words: what an act did, in one sentence, from its payload alone."""

from datetime import date
from typing import Any

from apps.calc.stages import STAGE_BY_KEY
from apps.people.signing import IN_WORDS
from apps.record.models import Entry

# Mark beside each kind of act, by the names of the sheet's state marks.
MARKS = {
    "give_notice": "notified",
    "withdraw_notice": "ready",
    "submit_inspection": "inspected",
    "release": "released",
    "release_with_condition": "condition",
    "return_inspection": "returned",
    "reopen": "reopened",
    "raise_finding": "finding",
    "decide_disposition": "finding",
    "assign_finding": "finding",
    "answer_finding": "finding",
    "verify_finding": "finding",
    "refuse_correction": "finding",
    "close_finding": "finding_closed",
    "reopen_finding": "finding",
    "abandon": "abandoned",
    "add_load": "test",
    "add_break": "test",
    "attach_computation": "test",
    "look_again": "inspected",
    "use_lot": "test",
    "add_maturity": "test",
    "add_follow_up": "ready",
    "finish_follow_up": "done",
    "drop_follow_up": "abandoned",
    "postpone_follow_up": "late",
    "correct_entry": "finding",
    "draw_audit": "open",
    "answer_drawn": "inspected",
    "close_audit": "done",
}
KINDS = {
    "hold_points": "Hold points",
    "findings": "Findings",
    "materials": "Concrete, instruments, calculations",
    "plans": "Plans",
    "people": "Terms and people",
    "record": "The record itself",
    "follow_ups": "Follow-ups",
    "audits": "Audits",
}
KIND_OF = {
    **dict.fromkeys(("open_corridor", "change_corridor", "grant_role", "end_role", "add_crew"), "people"),
    **dict.fromkeys(("change_person", "give_link", "close_account", "open_account"), "people"),
    **dict.fromkeys(("give_notice", "withdraw_notice", "submit_inspection", "release"), "hold_points"),
    **dict.fromkeys(("release_with_condition", "return_inspection", "reopen", "meet_condition"), "hold_points"),
    **dict.fromkeys(("raise_finding", "decide_disposition", "answer_finding", "verify_finding"), "findings"),
    **dict.fromkeys(("refuse_correction", "close_finding", "reopen_finding", "assign_finding"), "findings"),
    **dict.fromkeys(("add_load", "add_break", "calibrate", "attach_computation"), "materials"),
    **dict.fromkeys(("add_locate_ticket", "add_certificate"), "materials"),
    **dict.fromkeys(("accept_product", "use_lot", "add_curve", "add_maturity"), "materials"),
    "look_again": "hold_points",
    **dict.fromkeys(("add_follow_up", "finish_follow_up", "drop_follow_up", "postpone_follow_up"), "follow_ups"),
    **dict.fromkeys(("correct_entry", "hand_over", "change_key"), "record"),
    **dict.fromkeys(("bring_in_foundation", "abandon", "put_in_force", "publish_draft", "begin_draft"), "plans"),
    **dict.fromkeys(("change_requirement", "drop_requirement", "set_terms", "discard_draft"), "plans"),
    **dict.fromkeys(("add_alignment", "change_alignment", "add_design", "change_design"), "plans"),
    **dict.fromkeys(("draw_audit", "answer_drawn", "close_audit"), "audits"),
}


ASSIGNED = {
    "crew": "{}",
    "cause": "cause {}",
    "due_on": "due {}",
    "cost": "{} dollars",
    "delay_d": "{} working days",
}
"""What may be assigned to a finding, in words."""


def _day(value: Any) -> str:
    """Write a day of a payload, 2026-11-26, as pages do: 26 Nov 2026. Anything else is left as it stands."""
    text = str(value)
    try:
        return f"{date.fromisoformat(text):%-d %b %Y}" if len(text) == 10 and text[4] == "-" else text
    except ValueError:
        return text


def _stage(payload: dict[str, Any]) -> str:
    stage = STAGE_BY_KEY.get(str(payload.get("stage", "")))
    return stage.title if stage else "Hold point"


def _inspection(payload: dict[str, Any]) -> str:
    outcomes = [each["outcome"] for each in payload.get("measured", [])]
    words = [f"{outcomes.count('conforms')} conform"]
    for outcome, said in (("refer", "refer"), ("nonconforming", "nonconforming"), ("not_measured", "not measured")):
        if number := outcomes.count(outcome):
            words.append(f"{number} {said}")
    return f"{_stage(payload)} inspected, attempt {payload.get('attempt')}: {', '.join(words)}"


def _load(payload: dict[str, Any]) -> str:
    return f"Concrete load {payload.get('ticket')}, mix {payload.get('mix')}, placed in {', '.join(payload.get('placed_yd3', {}))}"


def _answered(payload: dict[str, Any]) -> str:
    words = [each["word"] for each in payload.get("answers", [])]
    said = [f"{words.count(word)} {title}" for word, title in (("yes", "yes"), ("no", "no"), ("na", "do not apply"))]
    told = ", ".join(each for each in said if not each.startswith("0 "))
    return f"Audit {payload.get('audit')}, {_stage(payload).lower()} answered: {told}"


def _drawn(payload: dict[str, Any]) -> str:
    size = payload.get("frame", {}).get("size")
    return f"Audit {payload.get('audit')}, {payload.get('title')}: {payload.get('sample')} of {size} hold points drawn"


def _closed(payload: dict[str, Any]) -> str:
    word = "accepted" if payload.get("result") == "accepted" else "not accepted"
    return (
        f"Audit {payload.get('audit')} closed, {word}: {payload.get('found')} of {payload.get('sample')} not in order, "
        f"at most {payload.get('accept')} taken"
    )


def _assigned(payload: dict[str, Any]) -> str:
    words = [text.format(_day(payload[name])) for name, text in ASSIGNED.items() if name in payload]
    return f"{payload.get('finding')} assigned: {', '.join(words)}"


def _terms(payload: dict[str, Any]) -> str:
    before, after = payload.get("before", {}), payload.get("after", {})
    words = [
        f"{name.replace('_', ' ')} {_plain(before.get(name))} to {_plain(value)}"
        for name, value in sorted(after.items())
    ]
    return f"Terms changed: {'; '.join(words)}"


def _plain(value: Any) -> str:
    return ", ".join(map(_day, value)) or "none" if isinstance(value, list) else _day(value) or "none"


PLAN_WORDS = {"definition": "line", "crossings": "cross streets", "more": "further facts"}
"""Columns of an alignment or a design whose names say it otherwise than people do."""


def _plan_changed(payload: dict[str, Any]) -> str:
    changed = [PLAN_WORDS.get(name, name.removesuffix("_in").replace("_", " ")) for name in payload.get("after", {})]
    return f"{payload.get('name')} put right: {', '.join(sorted(changed))}"


WRITTEN = {
    "change_corridor": _terms,
    "change_alignment": lambda said: f"Alignment {_plan_changed(said)}",
    "change_design": lambda said: f"Design {_plan_changed(said)}",
    "assign_finding": _assigned,
    "submit_inspection": _inspection,
    "add_load": _load,
    "draw_audit": _drawn,
    "answer_drawn": _answered,
    "close_audit": _closed,
}
"""Acts whose sentence takes more than a line."""


def signed_with(entry: Entry) -> str:
    """Say with what an entry was signed: "a passkey"; empty where none was asked, and in entries made before this was kept."""
    return IN_WORDS.get(str(entry.payload.get("signed", "")), "")


def sentence(entry: Entry) -> str:
    """Return what an entry says in one sentence."""
    said = entry.payload
    reason = said.get("reason", "")
    sentences = {
        "bring_in_foundation": f"Brought in from the plans: {said.get('design')}, depth {said.get('depth_in')} in",
        "give_notice": f"Notice for {_stage(said).lower()}",
        "withdraw_notice": f"Notice for {_stage(said).lower()} withdrawn",
        "release": f"{_stage(said)} released{', ' + reason if reason else ''}",
        "release_with_condition": f"{_stage(said)} released with condition: {said.get('condition')}, until {_day(said.get('due_on'))}",
        "return_inspection": f"{_stage(said)} returned: {reason}"
        + (f" To show next time: {said['show']}" if said.get("show") else ""),
        "meet_condition": f"Condition met: {said.get('condition')}, {said.get('how')}",
        "reopen": f"{_stage(said)} reopened: {reason}",
        "abandon": f"Abandoned: {reason}" + (f" Successor {said['successor']}." if said.get("successor") else ""),
        "raise_finding": f"Finding {said.get('finding')}, {said.get('grade')}: {said.get('title')}",
        "decide_disposition": f"{said.get('finding')}, {said.get('kind')}: {reason}",
        "answer_finding": f"{said.get('finding')}: {said.get('done')}",
        "verify_finding": f"{said.get('finding')} verified: {said.get('reading')}",
        "refuse_correction": f"{said.get('finding')}, correction sent back: {said.get('reading')}",
        "close_finding": f"{said.get('finding')} closed",
        "reopen_finding": f"{said.get('finding')} reopened: {reason}",
        "add_follow_up": f"For {said.get('owner')} until {_day(said.get('due_on'))}: {said.get('text')}",
        "finish_follow_up": f"Done: {said.get('text')}. {said.get('how')}",
        "drop_follow_up": f"Dropped: {said.get('text')}. {said.get('how')}",
        "postpone_follow_up": f"Moved from {_day(said.get('before'))} to {_day(said.get('due_on'))}: {said.get('text')}. {reason}",
        "attach_computation": f"{said.get('title')}: {said.get('sentence')}",
        "add_locate_ticket": f"Locate ticket {said.get('number')}, {_day(said.get('valid_from'))} to {_day(said.get('valid_until'))}",
        "add_certificate": f"Certificate {said.get('number')} for {said.get('covers')}",
        "correct_entry": f"Correction of entry {said.get('corrects')}: {said.get('right')}. {reason}",
        "hand_over": f"Bundle handed over: {entry.subject}{', with sealed originals' if said.get('originals') else ''}",
        "change_key": f"Heads are signed by key {str(said.get('new'))[:16]} from here on",
        "accept_product": f"Accepted product {said.get('name')}, {said.get('listed_as')}",
        "use_lot": f"Lot {said.get('lot') or said.get('number')} ({said.get('covers')}) used here",
        "add_curve": f"Maturity curve of mix {said.get('mix')}",
        "add_maturity": f"Maturity {said.get('degree_hours')} °C h: {said.get('strength_psi')} psi by the curve of mix {said.get('mix')}",
        "look_again": f"Hole looked at again{': ' + str(said['note']) if said.get('note') else ''}",
        "begin_draft": f"Draft {said.get('edition')} begun from edition {said.get('based_on')}: {said.get('title')}",
        "change_requirement": f"Draft {said.get('edition')}: {said.get('key')} {'changed' if said.get('before') else 'added'}",
        "drop_requirement": f"Draft {said.get('edition')}: {said.get('key')} taken out",
        "set_terms": f"Draft {said.get('edition')}: title, rule or gates changed",
        "discard_draft": f"Draft {said.get('edition')} thrown away",
        "publish_draft": f"Edition {said.get('edition')} published, digest {str(said.get('digest'))[:12]}",
        "put_in_force": f"Edition {said.get('edition')} in force, digest {str(said.get('digest'))[:12]}",
        "open_corridor": f"{said.get('name')} opened for {said.get('owner')}, edition {said.get('edition')} in force",
        "grant_role": f"{said.get('name')} is {said.get('role')} here from {_day(said.get('starts_on'))}",
        "end_role": f"{said.get('name')} is {said.get('role')} here until {_day(said.get('ends_on'))}",
        "add_crew": f"{said.get('name')} brought in",
        "change_person": f"{said.get('before')} is written {said.get('name')} from here on",
        "give_link": f"A link to set the password of {said.get('name')} was given",
        "close_account": f"The account of {said.get('name')} is closed",
        "open_account": f"The account of {said.get('name')} is open again",
        "add_break": f"Cylinders of load {said.get('ticket')}: {said.get('strength_psi')} psi at {said.get('age_d')} d",
    }
    if entry.act in WRITTEN:
        return WRITTEN[entry.act](said)
    return sentences.get(entry.act, f"{entry.act.replace('_', ' ').capitalize()}: {entry.subject}")
