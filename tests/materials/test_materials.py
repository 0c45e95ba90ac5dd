"""Instruments, concrete loads and breaks: what they need, what they raise, what they open."""

from datetime import date
from decimal import Decimal

import pytest

from apps.corridor.models import Corridor, Foundation
from apps.findings.models import Finding
from apps.holdpoints import acts as hold_point_acts
from apps.materials import acts
from apps.materials.models import ConcreteLoad, Instrument
from apps.people.models import Person
from apps.record.acts import Refused
from apps.record.ids import uuid7
from apps.record.models import Entry
from tests.factories import corridor as corridors
from tests.factories import materials
from tests.factories.doing import standing
from tests.factories.times import DAY, HOUR, NOW


def test_an_instrument_counts_to_the_last_day_of_its_calibration(corridor: Corridor) -> None:
    wrench = materials.instrument(corridor, date(2026, 3, 3))
    assert wrench.in_calibration(date(2026, 3, 3))
    assert not wrench.in_calibration(date(2026, 3, 4))


def test_an_instrument_that_needs_no_calibration_always_counts(corridor: Corridor) -> None:
    assert materials.instrument(corridor, None).in_calibration(date(2050, 1, 1))


def test_a_new_calibration_replaces_the_old_and_both_stand_in_the_record(corridor: Corridor) -> None:
    materials.instrument(corridor, date(2026, 3, 3))
    materials.instrument(corridor, date(2027, 3, 3))
    assert Instrument.objects.get(name="TW-04").calibrated_until == date(2027, 3, 3)
    until = [entry.payload["calibrated_until"] for entry in Entry.objects.filter(act="calibrate").order_by("sequence")]
    assert until[1:] == ["2026-03-03", "2027-03-03"]  # the first is the wrench that every corridor has here


def test_an_instrument_of_an_unknown_kind_is_refused(corridor: Corridor, office: Person) -> None:
    with pytest.raises(Refused, match="Kind: "):
        acts.calibrate(
            corridor=corridor, name="X", kind="wand", calibrated_until=None, by=office, at=NOW, client_id=uuid7()
        )


def test_a_load_serves_several_foundations_and_is_entered_at_each(corridor: Corridor) -> None:
    made = corridors.bring_in(corridor, ["LP-001", "LP-002"])
    load = materials.load(*made)
    assert load.volume_yd3 == Decimal("1.90")
    entries = Entry.objects.filter(act="add_load").order_by("sequence")
    assert [entry.mark for entry in entries] == ["LP-001", "LP-002"]
    assert entries[0].payload["placed_yd3"] == {"LP-001": "0.95", "LP-002": "0.95"}


@pytest.mark.parametrize(
    ("changed", "reason"),
    [
        ({"placed": {}}, "Name at least one foundation"),
        ({"discharged_at": NOW - 2 * HOUR}, "Discharge ended before batching"),
        ({"ticket": "T-1001"}, "Ticket T-1001 is entered already"),
        ({"ticket": "T" * 31}, "Ticket: "),
        ({"mix": ""}, "Mix: "),
        ({"slump_in": Decimal("7.125")}, "Slump in: "),
    ],
)
def test_a_ticket_that_cannot_be_right_is_refused(
    foundation: Foundation, inspector: Person, changed: dict[str, object], reason: str
) -> None:
    materials.load(foundation, ticket="T-1001")
    ticket = {
        "ticket": "T-1002",
        "mix": "4000-A",
        "batched_at": NOW - HOUR,
        "discharged_at": NOW,
        "placed": {foundation: Decimal("0.95")},
        **changed,
    }
    before = standing(foundation.corridor)
    with pytest.raises(Refused, match=reason):
        acts.add_load(corridor=foundation.corridor, by=inspector, at=NOW, client_id=uuid7(), **ticket)  # type: ignore[arg-type]
    assert standing(foundation.corridor) == before
    assert ConcreteLoad.objects.count() == 1


@pytest.mark.parametrize("volume", [Decimal(0), Decimal(-1)])
def test_a_volume_is_more_than_nothing(foundation: Foundation, inspector: Person, volume: Decimal) -> None:
    with pytest.raises(Refused, match="more than 0"):
        acts.add_load(
            corridor=foundation.corridor,
            ticket="T-1",
            mix="4000-A",
            batched_at=NOW,
            discharged_at=NOW,
            placed={foundation: volume},
            by=inspector,
            at=NOW,
            client_id=uuid7(),
        )


def test_concrete_goes_into_foundations_of_its_own_corridor(foundation: Foundation, inspector: Person) -> None:
    other = corridors.light_pole(corridors.whole_corridor("other-road"), "LP-777")
    with pytest.raises(Refused, match="LP-777 is not on"):
        acts.add_load(
            corridor=foundation.corridor,
            ticket="T-1",
            mix="4000-A",
            batched_at=NOW,
            discharged_at=NOW,
            placed={other: Decimal(1)},
            by=inspector,
            at=NOW,
            client_id=uuid7(),
        )


# f'c is 4000 psi. Seven days: 65 %, common practice, no source. From 28 days: ACI 318-19, 26.12.3.1(b), a single test may
# fall short of f'c by 500 psi where f'c is 5000 psi or less.
@pytest.mark.parametrize(
    ("age_d", "psi", "raises"),
    [
        (3, 100, False),
        (6, 100, False),
        (7, 2600, False),
        (7, 2599, True),
        (14, 2599, True),
        (28, 3500, False),
        (28, 3499, True),
        (56, 3499, True),
    ],
)
def test_a_break_too_low_for_its_age_raises_a_critical_finding(
    foundation: Foundation, age_d: int, psi: int, raises: bool
) -> None:
    test = materials.strength(materials.load(foundation), psi, age_d, NOW + age_d * DAY)
    found = list(Finding.objects.values_list("grade", "stage", "cause"))
    assert found == ([("critical", "pour", "material")] if raises else [])
    assert (test.finding is not None) == raises


def test_the_limit_of_a_low_break_is_the_one_that_it_missed(foundation: Foundation) -> None:
    materials.strength(materials.load(foundation), 3400, 28, NOW + 28 * DAY)
    finding = Finding.objects.get()
    assert (finding.reading, finding.limit) == ("3,400 psi at 28 d", "at least 3,500 psi at 28 d")
    assert finding.title == "28-day cylinders at 85 % of specified"


def test_a_low_break_raises_a_finding_at_every_foundation_of_the_load(corridor: Corridor) -> None:
    made = corridors.bring_in(corridor, ["LP-001", "LP-002"])
    materials.strength(materials.load(*made), 1000, 7, NOW + 7 * DAY)
    assert set(Finding.objects.values_list("foundation__mark", flat=True)) == {"LP-001", "LP-002"}


def test_a_low_break_raises_nothing_at_an_abandoned_foundation(corridor: Corridor, engineer: Person) -> None:
    gone, stands = corridors.bring_in(corridor, ["LP-001", "LP-002"])
    load = materials.load(gone, stands)
    hold_point_acts.abandon(foundation=gone, reason="Rock", by=engineer, at=NOW + HOUR, client_id=uuid7())
    materials.strength(load, 1000, 7, NOW + 7 * DAY)
    assert Finding.objects.get().foundation == stands


@pytest.mark.parametrize("psi", [0, -1, 20_000])
def test_a_strength_that_no_cylinder_has_is_refused(foundation: Foundation, psi: int) -> None:
    with pytest.raises(Refused, match="is not a cylinder strength"):
        materials.strength(materials.load(foundation), psi, 7, NOW)


@pytest.mark.parametrize("username", ["j.brandt", "e.marsh", "n.stranger"])
def test_materials_are_entered_by_inspector_engineer_or_office(foundation: Foundation, username: str) -> None:
    from tests.factories.people import person

    with pytest.raises(Refused, match="This is for the inspector or resident engineer or project office"):
        acts.calibrate(
            corridor=foundation.corridor,
            name="TW-04",
            kind="wrench",
            calibrated_until=None,
            by=person(username),
            at=NOW,
            client_id=uuid7(),
        )
