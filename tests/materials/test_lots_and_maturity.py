"""Accepted products, lots, and strength by maturity: what counts, what is refused, what opens the gate."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest

from apps.corridor.models import Corridor, Foundation
from apps.holdpoints import concrete, gates
from apps.materials import acts, lots, maturing
from apps.materials.models import Certificate, LotUse, StrengthTest
from apps.people.models import Person
from apps.record.acts import Refused
from apps.record.ids import uuid7
from apps.record.verify import verify
from tests.factories import materials
from tests.factories.corridor import bring_in, member
from tests.factories.times import DAY, NOW

pytestmark = pytest.mark.django_db


def certificate(corridor: Corridor, office: Person, **more: Any) -> Certificate:
    said = {"covers": "base", "number": "E-77", "lot": "H-4", "received_on": NOW.date()} | more
    answer = acts.add_certificate(corridor=corridor, by=office, at=NOW, client_id=uuid7(), **said)
    return Certificate.objects.get(pk=answer["certificate"])


# ---- products and lots


@pytest.mark.parametrize(("until", "counts"), [(None, True), (0, True), (-1, False)])
def test_a_certificate_counts_while_its_product_is_on_the_list(
    foundation: Foundation, office: Person, until: int | None, counts: bool
) -> None:
    day = None if until is None else NOW.date() + until * DAY
    listed = materials.product(foundation.corridor, until=day)
    assert certificate(foundation.corridor, office, product=listed).holds_on(NOW.date()) is counts


def test_a_lot_ties_its_certificate_to_foundations_once(corridor: Corridor, office: Person) -> None:
    one, two = bring_in(corridor, ["LP-001", "LP-002"])
    paper = certificate(corridor, office)
    by = member(corridor, "inspector")
    lots.use_lot(certificate=paper, foundations=[one], by=by, at=NOW, client_id=uuid7())
    answer = lots.use_lot(certificate=paper, foundations=[one, two], by=by, at=NOW, client_id=uuid7())
    assert answer["marks"] == ["LP-002"]
    assert LotUse.objects.count() == 2
    with pytest.raises(Refused, match="not entered for yet"):
        lots.use_lot(certificate=paper, foundations=[one], by=by, at=NOW, client_id=uuid7())


def test_a_lot_whose_product_left_the_list_is_not_used(foundation: Foundation, office: Person) -> None:
    gone = materials.product(foundation.corridor, until=NOW.date() - DAY)
    paper = certificate(foundation.corridor, office, product=gone)
    with pytest.raises(Refused, match="does not count today"):
        lots.use_lot(certificate=paper, foundations=[foundation], by=office, at=NOW, client_id=uuid7())


# ---- breaks


def test_a_test_is_the_mean_of_its_cylinders_rounded_down(foundation: Foundation, office: Person) -> None:
    load = materials.load(foundation)
    acts.add_break(load=load, age_d=28, breaks=[4121, 4230], by=office, at=NOW, client_id=uuid7())
    test = StrengthTest.objects.get()
    assert (test.breaks, test.strength_psi) == ([4121, 4230], 4175)
    with pytest.raises(Refused, match="at least two cylinders"):
        acts.add_break(load=load, age_d=28, breaks=[4121], by=office, at=NOW, client_id=uuid7())


# ---- maturity


@pytest.mark.parametrize(
    ("hours", "temperatures", "degree_hours", "psi"),
    [
        ("50", "20 C", "1000.0", 3000),
        ("25, 25", "20 C, 20 C", "1000.0", 3000),
        ("50", "68 F", "1000.0", 3000),  # the same temperature: 68 °F is 20 °C
        ("50, 10", "20 C, -5 C", "1000.0", 3000),  # colder than the datum counts zero (ASTM C1074)
        ("5", "20 C", "100.0", 1000),
    ],
)
def test_strength_is_that_of_the_curve(
    foundation: Foundation, hours: str, temperatures: str, degree_hours: str, psi: int
) -> None:
    materials.load(foundation)
    made = materials.matured(foundation, hours=hours, temperatures=temperatures)
    assert str(made.degree_hours) == degree_hours
    assert abs(made.strength_psi - psi) <= 1  # the fit is a float's width from the points; it is rounded down


def test_what_a_curve_cannot_say_is_refused(foundation: Foundation) -> None:
    with pytest.raises(Refused, match="holds mix of no load"):
        materials.matured(foundation)
    materials.load(foundation)
    with pytest.raises(Refused, match="beyond the 10,000 °C h of the last cylinder"):
        materials.matured(foundation, hours="600")
    with pytest.raises(Refused, match="Mean concrete temperature"):
        materials.matured(foundation, temperatures="warm")


def test_two_mixes_in_one_foundation_have_no_maturity(foundation: Foundation) -> None:
    materials.load(foundation)
    acts.add_load(
        corridor=foundation.corridor, ticket="T-2", mix="5000-B", batched_at=NOW, discharged_at=NOW + timedelta(minutes=30),
        placed={foundation: Decimal(1)}, by=member(foundation.corridor, "inspector"), at=NOW, client_id=uuid7(),
    )  # fmt: skip
    with pytest.raises(Refused, match="holds mix 4000-A, 5000-B"):
        materials.matured(foundation)


def test_too_few_cylinders_make_no_curve(corridor: Corridor, engineer: Person) -> None:
    said = {"mix": "m", "form": "hyperbolic", "datum_c": Decimal(0), "degree_hours": [600], "strengths_psi": [1900]}
    with pytest.raises(Refused, match="The curve cannot be laid"):
        maturing.add_curve(corridor=corridor, by=engineer, at=NOW, client_id=uuid7(), **said)


def concrete_gate(foundation: Foundation) -> gates.Gate:
    edition = foundation.corridor.edition
    return gates.concrete_gates([foundation], edition, NOW + DAY)[foundation.pk]


def test_enough_strength_by_maturity_opens_the_gate_where_the_edition_lets_it_count(
    foundation: Foundation, monkeypatch: pytest.MonkeyPatch
) -> None:
    materials.load(foundation)
    materials.matured(foundation, hours="60")
    gate = concrete_gate(foundation)
    assert gate.is_open
    assert gate.sentence == "Open: 3,158 of 4,000 psi by maturity."
    assert concrete.on_file(foundation, NOW + DAY)["concrete.strength"].text == "78.9"
    monkeypatch.setitem(foundation.corridor.edition.gates, "concrete_maturity", 0)
    assert not concrete_gate(foundation).is_open


def test_the_better_of_break_and_maturity_counts(foundation: Foundation) -> None:
    materials.strength(materials.load(foundation), 3500, 3, NOW, field_cured=True)
    materials.matured(foundation, hours="60")
    assert concrete_gate(foundation).sentence == "Open: 3,500 of 4,000 psi at 3 d."


def test_the_record_answers_for_all_of_it(foundation: Foundation) -> None:
    for role in ("office", "inspector", "engineer"):
        member(foundation.corridor, role)
    materials.load(foundation)
    materials.product(foundation.corridor)
    materials.lot(foundation)
    materials.matured(foundation)
    assert verify(foundation.corridor_id).whole
