"""Gates: open, opens at, closed because; exact at the limit, asked for by the edition, for many with a fixed number of queries."""

from datetime import date, datetime, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from apps.corridor import editions
from apps.corridor.models import Corridor, Foundation
from apps.holdpoints import blockers, gates, looks
from apps.holdpoints.models import HoldPoint
from apps.materials import acts
from apps.people.models import Person
from apps.record.acts import Refused
from apps.record.ids import uuid7
from apps.record.models import Entry
from tests.factories.corridor import bring_in, light_pole, open_corridor, whole_corridor
from tests.factories.doing import do
from tests.factories.holdpoints import answers_that_conform, at_stage, hold_point, inspect, look_again, photos_for
from tests.factories.requirements import drafted
from tests.factories.times import DAY, HOUR, NOW

TODAY = NOW.date()


@pytest.fixture
def bare(foundation: Foundation, monkeypatch: pytest.MonkeyPatch) -> Foundation:
    """A foundation of another corridor on which no ticket, certificate or wrench is entered."""
    monkeypatch.setattr("tests.factories.corridor._papers", lambda corridor: None)
    return light_pole(whole_corridor("bare-road"))


def gate(foundation: Foundation, stage: str, name: str, at: datetime = NOW) -> gates.Gate:
    edition = foundation.corridor.edition
    (found,) = [
        each for each in gates.before_stage(stage, [foundation], edition, at)[foundation.pk].parts if each.name == name
    ]
    return found


def ticket(corridor: Corridor, office: Person, begins: date, ends: date, **more: Any) -> None:
    said = {"number": "7", "answered": True, "by": office, "at": NOW, "client_id": uuid7(), **more}
    acts.add_locate_ticket(corridor=corridor, valid_from=begins, valid_until=ends, **said)


# ---- locate ticket


@pytest.mark.parametrize(
    ("begins", "ends", "more", "is_open", "words"),
    [
        (-1, 5, {}, True, "Locate ticket 7, until"),
        (0, 0, {}, True, "until"),
        (1, 5, {}, False, "begins"),
        (-9, -1, {}, False, "Closed: locate ticket 7 ended"),
        (-1, 5, {"answered": False}, False, "an owner has not answered locate ticket 7"),
        (-1, 5, {"from_station_ft": 20_000}, False, "no locate ticket covers this station"),
        (-1, 5, {"from_station_ft": 10_000, "to_station_ft": 11_000}, True, "until"),
    ],
)
def test_a_locate_ticket(
    bare: Foundation, office: Person, begins: int, ends: int, more: dict[str, Any], is_open: bool, words: str
) -> None:
    ticket(bare.corridor, office, TODAY + begins * DAY, TODAY + ends * DAY, **more)
    found = gate(bare, "drill", gates.TICKET)
    assert found.is_open is is_open
    assert words in found.sentence


def test_without_a_ticket_nobody_drills(bare: Foundation) -> None:
    at_stage(bare, "drill", "ready")
    point = hold_point(bare, "drill")
    assert "Closed: no locate ticket covers this station." in blockers.to_build(blockers.situation(point, NOW), NOW)


def test_a_notice_for_a_day_after_the_ticket_ended_is_refused_and_for_its_last_minute_not(
    bare: Foundation, office: Person
) -> None:
    at_stage(bare, "drill", "ready")
    ticket(bare.corridor, office, TODAY, TODAY + 2 * DAY)
    now = blockers.situation(hold_point(bare, "drill"), NOW)
    last = bare.corridor.day_ends(TODAY + 2 * DAY)
    assert blockers.to_give_notice(now, last) == []
    assert blockers.to_give_notice(now, last + timedelta(minutes=1)) != []


def test_a_ticket_to_come_opens_on_its_day(bare: Foundation, office: Person) -> None:
    at_stage(bare, "drill", "ready")
    ticket(bare.corridor, office, TODAY + 2 * DAY, TODAY + 9 * DAY)
    now = blockers.situation(hold_point(bare, "drill"), NOW)
    begins = bare.corridor.day_begins(TODAY + 2 * DAY)
    assert now.gate.opens_at == begins
    assert blockers.to_give_notice(now, begins) == []
    assert blockers.to_give_notice(now, begins - timedelta(minutes=1)) != []


# ---- open hole


def test_a_hole_counts_as_looked_at_for_its_hours_to_the_minute(foundation: Foundation) -> None:
    point = at_stage(foundation, "cage", "ready")
    looked = hold_point(foundation, "drill").inspections.get().received_at
    for minutes, shut in ((0, False), (480, False), (481, True)):
        at = looked + timedelta(minutes=minutes)
        now = blockers.situation(point, at)
        assert bool(blockers.to_inspect(now, at)) is shut, minutes
        assert blockers.to_give_notice(now, at) == []
        assert blockers.to_build(now, at) == []


def test_looking_again_opens_it_and_stands_in_the_record(foundation: Foundation, inspector: Person) -> None:
    point = at_stage(foundation, "cage", "notified")
    late = NOW + 3 * DAY
    said = {"answers": answers_that_conform(point), "photos": photos_for(point), "looked_at": late}
    with pytest.raises(Refused, match=r"The hole was last looked at \d+ h ago, over 8 h: look at it again"):
        do("submit_inspection", point, inspector, late, **said)
    look_again(foundation, late)
    assert inspect(hold_point(foundation, "cage"), late + HOUR).state == HoldPoint.State.INSPECTED
    entry = Entry.objects.get(act="look_again")
    assert (entry.mark, entry.role) == ("LP-001", "inspector")


@pytest.mark.parametrize(
    ("stage", "state", "words"),
    [("drill", "ready", "has no inspected hole"), ("pour", "released", "is poured")],
)
def test_there_must_be_a_hole_to_look_at(
    foundation: Foundation, inspector: Person, stage: str, state: str, words: str
) -> None:
    at_stage(foundation, stage, state)
    with pytest.raises(Refused, match=words):
        looks.look_again(foundation=foundation, by=inspector, at=NOW + 30 * DAY, client_id=uuid7())


@pytest.mark.parametrize("who", ["foreman", "office", "auditor"])
def test_only_inspector_and_engineer_look(foundation: Foundation, who: str, request: pytest.FixtureRequest) -> None:
    at_stage(foundation, "cage", "ready")
    with pytest.raises(Refused, match="This is for the"):
        looks.look_again(foundation=foundation, by=request.getfixturevalue(who), at=NOW + DAY, client_id=uuid7())


# ---- certificates and wrench


def test_certificates_before_pour_base_and_pole(bare: Foundation, office: Person) -> None:
    told = {"corridor": bare.corridor, "by": office, "at": NOW}
    assert "reinforcing steel and anchor bolts" in gate(bare, "pour", gates.PAPERS).sentence
    acts.add_certificate(covers="steel", number="1", received_on=TODAY, client_id=uuid7(), **told)
    assert gate(bare, "pour", gates.PAPERS).sentence == "Closed: no certificate on file for anchor bolts."
    acts.add_certificate(covers="bolts", number="2", received_on=TODAY, valid_until=TODAY, client_id=uuid7(), **told)
    assert gate(bare, "pour", gates.PAPERS).is_open
    assert not gate(bare, "pour", gates.PAPERS, NOW + DAY).is_open
    assert "breakaway base" in gate(bare, "base_set", gates.PAPERS).sentence
    assert "pole" in gate(bare, "pole_set", gates.PAPERS).sentence


def test_a_wrench_in_calibration_on_the_day(bare: Foundation, office: Person) -> None:
    told = {"corridor": bare.corridor, "kind": "wrench", "by": office, "at": NOW}
    assert gate(bare, "base_set", gates.WRENCH).sentence == "Closed: no torque wrench is entered."
    acts.calibrate(name="TW-1", calibrated_until=TODAY, client_id=uuid7(), **told)
    assert gate(bare, "base_set", gates.WRENCH).is_open
    late = gate(bare, "base_set", gates.WRENCH, NOW + DAY)
    assert late.sentence == "Closed: no torque wrench is in calibration: TW-1."


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"valid_until": TODAY - DAY}, "ends before it begins"),
        ({"from_station_ft": 200, "to_station_ft": 100}, "stretch ends before"),
        ({"number": ""}, "Number"),
    ],
)
def test_a_ticket_that_cannot_be_is_refused(
    corridor: Corridor, office: Person, wrong: dict[str, Any], words: str
) -> None:
    said = {"valid_from": TODAY, "valid_until": TODAY, "number": "7", "answered": True, **wrong}
    with pytest.raises(Refused, match=words):
        acts.add_locate_ticket(corridor=corridor, by=office, at=NOW, client_id=uuid7(), **said)


@pytest.mark.parametrize(
    ("wrong", "words"),
    [({"covers": "glass"}, "Covers"), ({"received_on": TODAY + 2 * DAY}, "still to come"), ({"number": " "}, "Number")],
)
def test_a_certificate_that_cannot_be_is_refused(
    corridor: Corridor, office: Person, wrong: dict[str, Any], words: str
) -> None:
    said = {"covers": "steel", "number": "1", "received_on": TODAY, **wrong}
    with pytest.raises(Refused, match=words):
        acts.add_certificate(corridor=corridor, by=office, at=NOW, client_id=uuid7(), **said)


# ---- asked for by the edition; many at once


@pytest.mark.parametrize(
    "name", ["locate_ticket", "certificates", "wrench_calibration", "open_hole_h", "concrete_age_d"]
)
def test_an_edition_that_does_not_ask_has_no_such_gate(bare: Foundation, engineer: Person, name: str) -> None:
    corridor = bare.corridor
    draft = drafted(corridor)
    told = {"corridor": corridor, "draft": draft, "by": engineer, "at": NOW}
    editions.set_terms(title="Without", rule="simple", gates={name: 0}, client_id=uuid7(), **told)
    draft.refresh_from_db()
    words = {"locate_ticket": gates.TICKET, "certificates": gates.PAPERS, "wrench_calibration": gates.WRENCH,
             "open_hole_h": gates.HOLE, "concrete_age_d": gates.CONCRETE}  # fmt: skip
    for stage in gates.GATES:
        names = {each.name for each in gates.before_stage(stage, [bare], draft, NOW)[bare.pk].parts}
        assert words[name] not in names
        assert names or stage in {"drill", "cage"}


def test_many_foundations_cost_the_same(corridor: Corridor) -> None:
    many = bring_in(corridor, [f"LP-{number:03d}" for number in range(100, 112)])
    for stage in gates.GATES:
        counts = []
        for these in (many[:1], many):
            with CaptureQueriesContext(connection) as asked:
                gates.before_stage(stage, these, corridor.edition, NOW)
            counts.append(len(asked))
        assert counts[0] == counts[1] <= 6, stage


def test_a_corridor_without_foundations_has_no_gates(db: None) -> None:
    corridor = open_corridor("empty-road")
    assert gates.before_stage("drill", [], corridor.edition, NOW) == {}
