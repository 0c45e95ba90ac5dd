"""Sent twice is done once: every act of the project answers a repeat with its first answer and changes nothing."""

import importlib
import pkgutil
from collections.abc import Callable, Mapping
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

import apps
from apps.audits.acts import Said
from apps.audits.frame import Lot
from apps.audits.planning import Plan
from apps.corridor.models import Corridor, Foundation, Membership
from apps.corridor.schedule_file import Line
from apps.findings.models import Finding
from apps.holdpoints import clean
from apps.holdpoints.models import Condition
from apps.materials.models import Certificate
from apps.people.models import Person
from apps.record.acts import OtherPayload
from apps.record.ids import uuid7
from apps.record.rows import digest
from tests.factories import audits, findings, followups, materials, people, record
from tests.factories import holdpoints as points
from tests.factories.corridor import ALIGNMENT, LIGHT_POLE, cells, member
from tests.factories.doing import standing
from tests.factories.requirements import default_edition, drafted
from tests.factories.times import DAY, HOUR, NOW

OTHERS = {"schedule", "computing", "editions", "looks", "raising", "lots", "maturing", "entries", "accounts"}
"""Modules with acts besides those named so."""


def every_act() -> dict[str, Callable[..., dict[str, Any]]]:
    """Every act that the apps define, by name."""
    names = (module.name for module in pkgutil.walk_packages(apps.__path__, "apps."))
    modules = [importlib.import_module(name) for name in names if ".acts" in name or name.rsplit(".", 1)[1] in OTHERS]
    return {
        name: value
        for module in modules
        for name, value in vars(module).items()
        if getattr(value, "is_act", False) and value.__module__ == module.__name__
    }


ACTS = every_act()
Case = tuple[Person, Mapping[str, Any], Mapping[str, Any]]
"""Who does it, its arguments, and what another payload says instead."""


def in_corridor(foundation: Foundation) -> dict[str, Callable[[], Case]]:
    corridor, admin = foundation.corridor, people.administrator()
    engineer = member(corridor, "engineer")
    here, today = {"corridor": corridor}, corridor.day(NOW + DAY)
    opened = {"owner": "Calder County", "edition": corridor.edition, "starts_on": date(2026, 3, 2)}
    ended = {"finishes_on": date(2026, 9, 1)}
    grant = {"person": people.person("n.stranger"), "role": "auditor", "starts_on": date(2026, 3, 2)}
    draft = drafted(corridor)
    edit = {**here, "draft": draft}
    row = draft.requirements.get(key="base_set.corner_gap")
    line = Line(1, cells("LP-900", foundation.design, 9))
    return {
        "open_corridor": lambda: (admin, {"slug": "other", "name": "Other road", **opened, **ended}, {"slug": "third"}),
        "grant_role": lambda: (admin, {**here, **grant}, {"role": "office"}),
        "add_alignment": lambda: (admin, {**here, "name": "Ramp A", "definition": ALIGNMENT}, {"name": "Ramp B"}),
        "add_design": lambda: (
            admin,
            {**here, "fields": {**LIGHT_POLE, "name": "LP2"}},
            {"fields": {**LIGHT_POLE, "name": "LP3"}},
        ),
        "end_role": lambda: (admin, {"membership": held(corridor), "ends_on": today}, {"ends_on": today + DAY}),
        "change_corridor": lambda: (
            admin,
            {**here, "fields": {"notice_hours": 20}},
            {"fields": {"notice_hours": 30}},
        ),
        **put_right(corridor),
        "add_crew": lambda: (admin, {**here, "name": "Crew 2"}, {"name": "Crew 3"}),
        "begin_draft": lambda: (engineer, {**here, "based_on": default_edition(), "title": "Mine"}, {"title": "Yours"}),
        "change_requirement": lambda: (
            engineer,
            {**edit, "block": {**row.block, "limit": "3/32"}, "was": row.block},
            {"block": {**row.block, "limit": "1/16"}},
        ),
        "drop_requirement": lambda: (engineer, {**edit, "key": row.key, "was": row.block}, {"was": {}}),
        "set_terms": lambda: (engineer, {**edit, "title": "Mine", "rule": "simple", "gates": {}}, {"rule": "guarded"}),
        "publish_draft": lambda: (engineer, edit, {"corridor": other_corridor()}),
        "discard_draft": lambda: (engineer, edit, {"corridor": other_corridor()}),
        "put_in_force": lambda: (engineer, {**here, "edition": default_edition()}, {"corridor": other_corridor()}),
        "take_in_schedule": lambda: (engineer, {**here, "lines": [line]}, {"lines": [line._replace(number=2)]}),
    }


def held(corridor: Corridor) -> Membership:
    return corridor.memberships.get(person=member(corridor, "inspector"), role="inspector")


def on_people(foundation: Foundation) -> dict[str, Callable[[], Case]]:
    admin, known = people.administrator(), people.person("n.stranger")
    said = {"name": "K. Abara", "credential": "", "email": ""}

    def closed() -> Case:
        known.is_active = False
        known.save()
        return admin, {"person": known}, {"person": people.person("d.reyes")}

    return {
        "add_person": lambda: (admin, {"username": "k.abara", **said}, {"username": "k.abara2"}),
        "change_person": lambda: (admin, {"person": known, **said}, {"name": "K. Abara Ruiz"}),
        "close_account": lambda: (admin, {"person": known}, {"person": people.person("d.reyes")}),
        "open_account": closed,
        "give_link": lambda: (admin, {"person": known}, {"person": people.person("d.reyes")}),
    }


def put_right(corridor: Corridor) -> dict[str, Callable[[], Case]]:
    office, line = member(corridor, "office"), corridor.alignments.get(name="Parkway")
    streets = [{"station": "112+40.00", "name": "Juniper Street"}]
    kept = {"name": line.name, "definition": line.definition, "grid": None, "was": digest(line)}
    spare = {**LIGHT_POLE, "name": "LP8"}

    def design() -> dict[str, Any]:
        ACTS["add_design"](corridor=corridor, fields=spare, by=office, at=NOW, client_id=uuid7())
        made = corridor.designs.get(name="LP8")
        return {"design": made, "was": digest(made)}

    return {
        "change_alignment": lambda: (office, {"alignment": line, **kept, "crossings": streets}, {"crossings": []}),
        "change_design": lambda: (
            office,
            {**design(), "fields": {**spare, "bar_count": 9}},
            {"fields": {**spare, "bar_count": 10}},
        ),
    }


def other_corridor() -> Corridor:
    from tests.factories.corridor import whole_corridor

    return whole_corridor("other-road")


def in_materials(foundation: Foundation) -> dict[str, Callable[[], Case]]:
    corridor = foundation.corridor
    office = member(corridor, "office")
    ticket = {
        "ticket": "T-1",
        "mix": "4000-A",
        "batched_at": NOW - HOUR,
        "discharged_at": NOW,
        "placed": {foundation: Decimal("0.95")},
    }
    wrench = {"name": "TW-04", "kind": "wrench", "calibrated_until": date(2027, 1, 1)}
    return {
        "calibrate": lambda: (
            office,
            {"corridor": corridor, **wrench, "paper": record.paper()},
            {"paper": record.paper(catalog=b"/Lang (en)")},
        ),
        "add_load": lambda: (office, {"corridor": corridor, **ticket}, {"placed": {foundation: Decimal("0.96")}}),
        "add_break": lambda: (
            office,
            {"load": materials.load(foundation), "age_d": 7, "strength_psi": 3000},
            {"strength_psi": 3001},
        ),
        "add_locate_ticket": lambda: (
            office,
            {
                "corridor": corridor,
                "number": "7",
                "valid_from": date(2026, 3, 2),
                "valid_until": date(2026, 4, 2),
                "answered": True,
                "paper": record.picture(),
            },
            {"paper": record.picture(colour="red")},
        ),
        "add_certificate": lambda: (
            office,
            {
                "corridor": corridor,
                "covers": "steel",
                "number": "C-1",
                "received_on": date(2026, 3, 2),
                "paper": record.paper(),
            },
            {"paper": None},
        ),
        **in_lots_and_maturing(foundation),
        "attach_computation": lambda: (
            office,
            {"foundation": foundation, "calculation": "seating", "typed": dict.fromkeys("abcd", "0")},
            {"note": "Again"},
        ),
    }


def in_lots_and_maturing(foundation: Foundation) -> dict[str, Callable[[], Case]]:
    corridor = foundation.corridor
    office, engineer, inspector = (member(corridor, role) for role in ("office", "engineer", "inspector"))
    listed = {"name": "Base TB-2", "listed_as": "Breakaway list, item 14", "accepted_from": date(2026, 1, 1)}
    tests = {"degree_hours": [100, 1000, 10_000], "strengths_psi": [1000, 3000, 5000]}
    curve = {"mix": "4000-B", "form": "logarithmic", "datum_c": Decimal(0), **tests}

    def temperatures() -> dict[str, Any]:
        typed = {"hours": "50", "temperatures_c": "20 C"}
        materials.load(foundation)
        return {"foundation": foundation, "curve": materials.curve(corridor), "typed": typed}

    return {
        "accept_product": lambda: (office, {"corridor": corridor, **listed}, {"listed_as": "Item 15"}),
        "use_lot": lambda: (
            inspector,
            {
                "certificate": Certificate.objects.filter(corridor=corridor).earliest("number"),
                "foundations": [foundation],
            },
            {"certificate": Certificate.objects.filter(corridor=corridor).latest("number")},
        ),
        "add_curve": lambda: (engineer, {"corridor": corridor, **curve}, {"mix": "4000-C"}),
        "add_maturity": lambda: (inspector, temperatures(), {"typed": {"hours": "51", "temperatures_c": "20 C"}}),
    }


def in_record(foundation: Foundation) -> dict[str, Callable[[], Case]]:
    corridor = foundation.corridor
    auditor, engineer = member(corridor, "auditor"), member(corridor, "engineer")
    handed = {"corridor": corridor, "subject": foundation.mark, "marks": [foundation.mark], "originals": False}
    mistaken = {"corridor": corridor, "sequence": 1, "right": "Calder County", "reason": "Typed from memory"}
    return {
        "hand_over": lambda: (auditor, handed, {"originals": True}),
        "correct_entry": lambda: (engineer, mistaken, {"right": "Calder county"}),
    }


def on_findings(foundation: Foundation) -> dict[str, Callable[[], Case]]:
    corridor = foundation.corridor
    inspector, engineer, foreman = (member(corridor, role) for role in ("inspector", "engineer", "foreman"))

    def at(state: str) -> dict[str, Finding]:
        return {"finding": findings.in_state(foundation, state)}

    seen = {"foundation": foundation, "stage": "drill", "title": "Casing left", "grade": "minor"}
    decided = {"kind": "rework", "reason": "As drawn"}
    return {
        "raise_finding": lambda: (inspector, seen, {"grade": "major"}),
        "decide_disposition": lambda: (engineer, {**at("open"), **decided}, {"reason": "As built"}),
        "answer_finding": lambda: (foreman, {**at("decided"), "done": "Pulled"}, {"done": "Pulled twice"}),
        "verify_finding": lambda: (inspector, {**at("answered"), "reading": "Seen"}, {"reading": "Measured"}),
        "refuse_correction": lambda: (inspector, {**at("answered"), "reading": "Seen"}, {"reading": "Measured"}),
        "close_finding": lambda: (engineer, at("verified"), {"note": "Done"}),
        "reopen_finding": lambda: (engineer, {**at("closed"), "reason": "Back"}, {"reason": "Again"}),
        "assign_finding": lambda: (engineer, {**at("open"), "cause": "ground"}, {"cause": "weather"}),
        "reject_and_abandon": lambda: (
            engineer,
            {**at("open"), "reason": "Rock", "successor": {"mark": "LP-001R"}},
            {"successor": {"mark": "LP-001S"}},
        ),
    }


def on_hold_points(foundation: Foundation) -> dict[str, Callable[[], Case]]:
    corridor = foundation.corridor
    inspector, engineer, foreman = (member(corridor, role) for role in ("inspector", "engineer", "foreman"))

    def at(state: str) -> dict[str, Any]:
        return {"hold_point": points.at_stage(foundation, "layout", state)}

    def inspected() -> dict[str, Any]:
        return (found := at("inspected")) | {"inspection": points.attempt(found["hold_point"])}

    def sent() -> Case:
        point = at("notified")["hold_point"]
        answers = points.answers_that_conform(point)
        sending = {"answers": answers, "photos": points.photos_for(point), "looked_at": NOW + DAY}
        return inspector, {"hold_point": point, **sending}, {"note": "Wet"}

    def conditional() -> dict[str, Any]:
        return {**inspected(), "condition": "Coat it", "owner": "Crew 1", "due_on": (NOW + 2 * DAY).date()}

    def met() -> Case:
        ACTS["release_with_condition"](by=engineer, at=NOW + DAY, client_id=uuid7(), **conditional())
        return engineer, {"condition": Condition.objects.get(), "how": "Seen"}, {"how": "Measured"}

    def dug() -> dict[str, Any]:
        points.at_stage(foundation, "cage", "ready")
        return {"foundation": foundation}

    def looked_at() -> Case:
        found = inspected()
        clean.note_opened(engineer, found["inspection"], NOW + DAY)
        other = points.attempt(points.at_stage(foundation, "layout", "inspected"))
        assert other == found["inspection"]
        return engineer, found, {"hold_point": foundation.hold_points.get(stage="drill")}

    def read() -> dict[str, Any]:
        return {"measurement": points.attempt(at("inspected")["hold_point"]).measurements.first()}

    seen = {"title": "Stake leans", "grade": "minor"}
    gone = {"foundation": foundation, "reason": "Rock at 4 ft", "successor": {"mark": "LP-001R"}}
    return {
        "give_notice": lambda: (foreman, {**at("ready"), "asked_for": NOW + 2 * DAY}, {"note": "Gate is locked"}),
        "withdraw_notice": lambda: (foreman, at("notified"), {"reason": "Rain"}),
        "submit_inspection": sent,
        "release": lambda: (engineer, inspected(), {"reason": "Well done"}),
        "release_clean": looked_at,
        "release_with_condition": lambda: (engineer, conditional(), {"owner": "Crew 2"}),
        "return_inspection": lambda: (engineer, {**inspected(), "reason": "Show the tape"}, {"reason": "Again"}),
        "meet_condition": met,
        "look_again": lambda: (inspector, dug(), {"note": "Dry"}),
        "reopen": lambda: (engineer, {**at("released"), "reason": "Struck"}, {"reason": "Washed out"}),
        "abandon": lambda: (engineer, gone, {"reason": "Rock at 5 ft"}),
        "raise_at_measurement": lambda: (inspector, {**read(), **seen}, {"grade": "major"}),
    }


def on_audits(foundation: Foundation) -> dict[str, Callable[[], Case]]:
    corridor = foundation.corridor
    auditor = member(corridor, "auditor")

    def drawn() -> Any:
        points.at_stage(foundation, "drill", "released")
        return audits.drawn(corridor)

    def asked() -> Case:
        points.at_stage(foundation, "drill", "released")
        said = {"lot": Lot(), "strata": "simple", "plan": Plan(), "seed": "7"}
        return auditor, {"corridor": corridor, "title": "Spring", **said}, {"seed": "8"}

    def answered() -> Case:
        audit = drawn()
        said = {"answers": audits.all_yes(audit), "seen": 0}
        return auditor, {"drawn": audits.item(audit), **said}, {"answers": {"views": Said("no", "None")}}

    def finished() -> Case:
        audits.answer_all(audit := drawn())
        return auditor, {"audit": audit}, {"remarks": "Well kept"}

    return {"draw_audit": asked, "answer_drawn": answered, "close_audit": finished}


def on_follow_ups(foundation: Foundation) -> dict[str, Callable[[], Case]]:
    corridor = foundation.corridor
    office, owner, day = member(corridor, "office"), member(corridor, "inspector"), corridor.day(NOW + 5 * DAY)

    def given() -> dict[str, Any]:
        return {"follow_up": followups.added(corridor, owner)}

    said = {"corridor": corridor, "text": "Bring the gauge", "owner": owner, "due_on": day}
    return {
        "add_follow_up": lambda: (office, said, {"text": "Bring two gauges"}),
        "finish_follow_up": lambda: (owner, {**given(), "how": "It is here"}, {"how": "Both are here"}),
        "drop_follow_up": lambda: (office, {**given(), "reason": "No need"}, {"reason": "Lent"}),
        "postpone_follow_up": lambda: (office, {**given(), "due_on": day, "reason": "Rain"}, {"reason": "Snow"}),
    }


def cases(foundation: Foundation) -> dict[str, Callable[[], Case]]:
    return {
        **in_corridor(foundation),
        **in_materials(foundation),
        **in_record(foundation),
        **on_findings(foundation),
        **on_hold_points(foundation),
        **on_audits(foundation),
        **on_follow_ups(foundation),
        **on_people(foundation),
    }


def test_every_act_of_the_project_is_tried_here(foundation: Foundation) -> None:
    assert set(cases(foundation)) == set(ACTS)


def everything(corridor: Corridor) -> dict[str, Any]:
    accounts = Person.objects.order_by("pk").values("username", "name", "credential", "email", "is_active")
    return {**standing(corridor), "people": list(accounts)}


@pytest.mark.parametrize("name", sorted(ACTS))
def test_a_repeat_of_an_act_is_answered_and_changes_nothing(foundation: Foundation, name: str) -> None:
    by, arguments, _ = cases(foundation)[name]()
    client_id, at = uuid7(), NOW + DAY
    before = everything(foundation.corridor)
    first = ACTS[name](by=by, at=at, client_id=client_id, **arguments)
    done = everything(foundation.corridor)
    assert done != before
    again = ACTS[name](by=by, at=at + HOUR, client_id=client_id, **arguments)
    assert again == first
    assert everything(foundation.corridor) == done


@pytest.mark.parametrize("name", sorted(ACTS))
def test_another_payload_under_the_same_client_id_is_refused(foundation: Foundation, name: str) -> None:
    by, arguments, other = cases(foundation)[name]()
    client_id, at = uuid7(), NOW + DAY
    ACTS[name](by=by, at=at, client_id=client_id, **arguments)
    arguments = {**arguments, **other}
    done = everything(foundation.corridor)
    with pytest.raises(OtherPayload):
        ACTS[name](by=by, at=at, client_id=client_id, **arguments)
    assert everything(foundation.corridor) == done


@pytest.mark.parametrize("name", sorted(ACTS))
def test_an_act_answers_in_plain_json(foundation: Foundation, name: str) -> None:
    import json

    by, arguments, _ = cases(foundation)[name]()
    answer = ACTS[name](by=by, at=NOW + DAY, client_id=uuid7(), **arguments)
    assert answer
    assert json.loads(json.dumps(answer)) == answer
