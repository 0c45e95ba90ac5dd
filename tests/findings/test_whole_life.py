"""What a finding carries besides its moves: the reading it was raised at, whose it is, what it costs, what it came back after,
and a reject that gives the foundation up in the same act."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from apps.corridor.access import Role
from apps.corridor.models import Corridor, Crew, Foundation
from apps.findings import acts, moves
from apps.findings.models import Finding
from apps.holdpoints import raising, recount
from apps.holdpoints.models import HoldPoint, Measurement
from apps.people.models import Person
from apps.record.acts import Refused
from apps.record.ids import uuid7
from apps.record.models import Entry
from apps.record.verify import verify
from tests.factories.corridor import bring_in, member
from tests.factories.doing import standing
from tests.factories.findings import in_state, raised
from tests.factories.holdpoints import after, at_stage, attempt, give_notice, hold_point, inspect, nonconforming_at
from tests.factories.people import person
from tests.factories.times import HOUR, NOW

pytestmark = pytest.mark.django_db


def assign(finding: Finding, by: Person, at: Any = None, **said: Any) -> Finding:
    acts.assign_finding(finding=finding, by=by, at=at or finding.since + HOUR, client_id=uuid7(), **said)
    return Finding.objects.get(pk=finding.pk)


# ---- assigned


def test_what_is_assigned_stands_on_the_row_and_in_the_record_with_what_was_before(
    foundation: Foundation, crew: Crew, engineer: Person
) -> None:
    finding = raised(foundation)
    due = finding.due_on + timedelta(days=3)
    said = {"crew": crew, "cause": "ground", "due_on": due, "cost": Decimal("1850.50"), "delay_d": Decimal("1.5")}
    found = assign(finding, engineer, **said)
    assert {name: getattr(found, name) for name in said} == said
    entry = Entry.objects.get(act="assign_finding")
    assert (entry.payload["cause_before"], entry.payload["cause"]) == ("unknown", "ground")
    assert (entry.payload["cost_before"], entry.payload["cost"]) == (None, "1850.50")
    assert not verify(foundation.corridor_id).faults


def test_what_is_not_given_stays_and_nothing_new_is_refused(foundation: Foundation, engineer: Person) -> None:
    finding = assign(raised(foundation), engineer, cause="weather")
    again = assign(finding, engineer, delay_d=Decimal(2))
    assert (again.cause, again.due_on, again.delay_d) == ("weather", finding.due_on, Decimal(2))
    with pytest.raises(Refused, match="Nothing that is given for F-001 differs"):
        assign(again, engineer, cause="weather", delay_d=Decimal("2.0"))


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ({"cause": "fate"}, "Choose a cause of the list"),
        ({"due_on": date(2026, 3, 2)}, "lies in the past"),
        ({"cost": Decimal(-1)}, "not below zero"),
        ({"delay_d": Decimal("-0.5")}, "not below zero"),
    ],
)
def test_what_cannot_be_assigned_is_refused_and_nothing_changes(
    said: dict[str, Any], why: str, foundation: Foundation, engineer: Person
) -> None:
    finding = raised(foundation)
    before = standing(foundation.corridor)
    with pytest.raises(Refused, match=why):
        assign(finding, engineer, **said)
    assert standing(foundation.corridor) == before


def test_the_database_refuses_a_gain_behind_the_acts(foundation: Foundation) -> None:
    finding = raised(foundation)
    with pytest.raises(IntegrityError), transaction.atomic():
        Finding.objects.filter(pk=finding.pk).update(cost=-1)


@pytest.mark.parametrize("state", Finding.State.values)
def test_every_role_assigns_what_the_table_lets_it(foundation: Foundation, state: str) -> None:
    finding = in_state(foundation, state)
    by_role = {role: member(foundation.corridor, role) for role in Role.values} | {"stranger": person("n.stranger")}
    for number, (role, by) in enumerate(by_role.items(), 1):
        before = standing(foundation.corridor)
        if role in moves.ASSIGN_ROLES and state != "closed":
            assert assign(finding, by, delay_d=Decimal(number)).delay_d == number
        else:
            with pytest.raises(Refused) as refused:
                assign(finding, by, delay_d=Decimal(number))
            assert refused.value.reasons
            assert all(reason[0].isupper() and reason.endswith(".") for reason in refused.value.reasons)
            assert standing(foundation.corridor) == before


# ---- came back


def test_a_finding_is_linked_to_the_last_of_its_requirement_here_or_of_its_crew(corridor: Corridor, crew: Crew) -> None:
    one, two, three = bring_in(corridor, ["LP-001", "LP-002", "LP-003"])
    found = []
    for place, each in enumerate((one, two, three)):
        point = give_notice(hold_point(Foundation.objects.get(pk=each.pk), "layout"), NOW + place * HOUR)
        Foundation.objects.filter(pk=each.pk).update(crew=None if each == three else crew)
        key, answers = nonconforming_at(point, "critical")
        inspect(point, NOW + (place + 1) * HOUR, answers)
        found.append(Finding.objects.get(foundation=each, requirement_key=key))
    first, second, third = found
    assert first.again_of is None
    assert second.again_of == first  # another foundation, the same crew
    assert third.again_of is None  # neither
    told = Entry.objects.filter(act="raise_finding").order_by("sequence").values_list("payload__again_of", flat=True)
    assert list(told) == [None, first.name, None]


def test_what_was_seen_by_eye_is_linked_to_nothing(foundation: Foundation) -> None:
    raised(foundation)
    assert raised(foundation).again_of is None


# ---- at a reading


@pytest.fixture
def reading(foundation: Foundation) -> Measurement:
    """The first reading of a layout that waits."""
    return attempt(at_stage(foundation, "layout", "inspected")).measurements.order_by("place")[0]


def at_reading(reading: Measurement, by: Person, **said: Any) -> str:
    given = {"title": "Stake leans", "grade": "minor", **said}
    answer = raising.raise_at_measurement(
        measurement=reading, by=by, at=after(reading.foundation), client_id=uuid7(), **given
    )
    return str(answer["finding"])


def test_a_finding_at_a_reading_takes_requirement_reading_and_limit_from_the_row(
    reading: Measurement, engineer: Person
) -> None:
    at_reading(reading, engineer, cause="survey")
    finding = Finding.objects.get()
    assert (finding.requirement_key, finding.stage) == (reading.requirement_key, "layout")
    assert (finding.reading, finding.limit) == (reading.value_text, reading.limit_text)
    assert finding.cause == "survey"
    with pytest.raises(Refused, match="F-001 is open for this requirement"):
        at_reading(reading, engineer)


@pytest.mark.parametrize("role", [*Role.values, "stranger"])
def test_only_who_may_raise_raises_at_a_reading(reading: Measurement, role: str) -> None:
    corridor = reading.foundation.corridor
    by = person("n.stranger") if role == "stranger" else member(corridor, role)
    before = standing(corridor)
    if role in moves.RAISE_ROLES:
        assert at_reading(reading, by) == "F-001"
    else:
        with pytest.raises(Refused):
            at_reading(reading, by)
        assert standing(corridor) == before


# ---- rejected and given up


def reject(finding: Finding, by: Person, **said: Any) -> dict[str, Any]:
    given = {"reason": "Rock from 4 ft", "successor": {"mark": "LP-001R", "station": "281+10"}, **said}
    return raising.reject_and_abandon(finding=finding, by=by, at=finding.since + HOUR, client_id=uuid7(), **given)


def test_a_reject_gives_the_foundation_up_and_brings_in_its_successor_at_once(
    foundation: Foundation, engineer: Person
) -> None:
    finding = raised(foundation)
    assert reject(finding, engineer)["successor"] == "LP-001R"
    finding.refresh_from_db()
    foundation.refresh_from_db()
    assert finding.state == "closed" and finding.dispositions.get().kind == "reject"
    assert foundation.abandoned_why == "F-001 rejected: Rock from 4 ft"
    successor = Foundation.objects.get(mark="LP-001R")
    assert successor.replaces == foundation
    acts_done = list(Entry.objects.order_by("-sequence").values_list("act", flat=True)[:4])[::-1]
    assert acts_done == ["decide_disposition", "close_finding", "abandon", "bring_in_foundation"]
    assert recount.differences(foundation.corridor) == []
    assert not verify(foundation.corridor_id).faults


def test_a_successor_that_cannot_be_leaves_nothing_of_the_reject(foundation: Foundation, engineer: Person) -> None:
    finding = raised(foundation)
    before = standing(foundation.corridor)
    with pytest.raises(Refused):
        reject(finding, engineer, successor={"mark": "LP-001R", "depth": "a good deal"})
    assert standing(foundation.corridor) == before
    assert not finding.dispositions.exists()


@pytest.mark.parametrize("state", Finding.State.values)
def test_only_the_engineer_rejects_and_only_from_a_state_that_is_decided_in(foundation: Foundation, state: str) -> None:
    finding = in_state(foundation, state)
    possible = state in moves.MOVE["decide_disposition"].old
    by_role = {role: member(foundation.corridor, role) for role in Role.values}
    for role in sorted(by_role, key=lambda role: role == Role.ENGINEER):
        before = standing(foundation.corridor)
        if role == Role.ENGINEER and possible:
            assert reject(finding, by_role[role])["finding"] == finding.name
        else:
            with pytest.raises(Refused) as refused:
                reject(finding, by_role[role])
            assert all(reason.endswith(".") for reason in refused.value.reasons)
            assert standing(foundation.corridor) == before
    assert HoldPoint.objects.filter(foundation__mark="LP-001R").exists() == possible
