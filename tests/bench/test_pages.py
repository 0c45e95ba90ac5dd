"""The Bench: a list, a page a calculation with an address that can be shared, and putting the result to a foundation."""

from typing import Any

import pytest
from django.urls import reverse

from apps.corridor.models import Corridor, Foundation
from apps.materials.models import Computation
from apps.people.models import Person
from apps.record.ids import uuid7
from tests.factories import findings

ROCKS = {"a": "0", "b": "1/32", "c": "3/16 in", "d": "0"}


def page_of(corridor: Corridor, name: str = "seating") -> str:
    return reverse("bench:calculation", args=[corridor.slug, name])


def attach_to(corridor: Corridor) -> str:
    return reverse("bench:attach", args=[corridor.slug, "seating"])


def test_the_list_names_every_calculation(corridor: Corridor, foreman: Person, as_person: Any) -> None:
    from apps.calc import registry

    page = as_person(foreman).get(reverse("bench:bench", args=[corridor.slug]))
    assert all(f">{each.title}</a>" in page.content.decode() for each in registry.all())


@pytest.mark.parametrize("name", ["bench:bench", "bench:calculation"])
def test_strangers_find_nothing(corridor: Corridor, stranger: Person, as_person: Any, name: str) -> None:
    args = [corridor.slug] if name == "bench:bench" else [corridor.slug, "seating"]
    assert as_person(stranger).get(reverse(name, args=args)).status_code == 404


def test_an_unknown_calculation_is_not_found(corridor: Corridor, engineer: Person, as_person: Any) -> None:
    assert as_person(engineer).get(page_of(corridor, "seating.nowhere")).status_code == 404


def test_an_empty_page_asks_and_offers_an_example(corridor: Corridor, engineer: Person, as_person: Any) -> None:
    page = as_person(engineer).get(page_of(corridor))
    assert "result" not in page.context
    assert as_person(engineer).get(page.context["example"]).context["result"].gap_in > 0


def test_the_address_that_is_shared_gives_the_same_sheet(
    corridor: Corridor, engineer: Person, auditor: Person, as_person: Any
) -> None:
    first = as_person(engineer).get(page_of(corridor), ROCKS)
    again = as_person(auditor).get(first.context["address"])
    assert again.context["result"] == first.context["result"]
    assert again.context["steps"] == first.context["steps"]


def test_wrong_values_are_named_at_their_fields_and_nothing_typed_is_lost(
    corridor: Corridor, engineer: Person, as_person: Any
) -> None:
    page = as_person(engineer).get(page_of(corridor), {"a": "0", "b": "x", "c": "1/0", "d": "0", "bolt_circle": "900"})
    form = page.context["form"]
    assert set(form.errors) == {"b", "c"}
    assert "x" in form.errors["b"][0]
    assert 'value="900"' in page.content.decode()
    assert "result" not in page.context


def test_a_value_outside_its_range_is_named_at_its_field(corridor: Corridor, engineer: Person, as_person: Any) -> None:
    page = as_person(engineer).get(page_of(corridor), {**ROCKS, "bolt_circle": "900"})
    assert page.context["form"].errors == {"bolt_circle": ["must be from 1 to 120, got 900"]}


def test_inputs_that_do_not_go_together_are_said_at_the_top(
    corridor: Corridor, engineer: Person, as_person: Any
) -> None:
    page = as_person(engineer).get(page_of(corridor), {**ROCKS, "gaps": "0, 0, 0, 1/8"})
    assert "give either a, b, c and d, or readings, or gaps" in page.context["form"].errors["__all__"][0]


def test_si_is_offered_and_read(corridor: Corridor, engineer: Person, as_person: Any) -> None:
    typed = {"a": "0", "b": "0", "c": "3.175", "d": "0", "bolt_circle": "355.6", "units": "SI"}
    page = as_person(engineer).get(page_of(corridor), typed)
    assert page.context["result"].gap_in * 8 == 1
    assert "<span>mm</span>" in page.content.decode()


def test_the_plans_fill_in_what_they_know(
    corridor: Corridor, foundation: Foundation, engineer: Person, as_person: Any
) -> None:
    page = as_person(engineer).get(page_of(corridor), {"for": "lp-001"})
    assert page.context["form"]["bolt_circle"].value() == "14 in"
    assert page.context["form"]["pole_height"].value() == f"{foundation.pole_height_ft:.0f} ft"


def test_an_unknown_foundation_is_said(corridor: Corridor, engineer: Person, as_person: Any) -> None:
    page = as_person(engineer).get(page_of(corridor), {"for": "LP-999"})
    assert "No foundation LP-999 on this corridor" in page.content.decode()


def test_a_result_is_put_to_a_foundation_and_seen_wherever_it_is_looked_for(
    corridor: Corridor, foundation: Foundation, engineer: Person, as_person: Any
) -> None:
    finding = findings.raised(foundation)
    client = as_person(engineer)
    sent = {**ROCKS, "foundation": "lp-001", "finding": finding.name, "note": "Ground after", "client_id": uuid7()}
    assert client.post(attach_to(corridor), sent).url == reverse("board:foundation", args=[corridor.slug, "LP-001"])
    made = Computation.objects.get()
    assert (made.foundation, made.finding, made.note) == (foundation, finding, "Ground after")
    for address in (
        reverse("board:foundation", args=[corridor.slug, "LP-001"]),
        reverse("dossier:station", args=[corridor.slug, "LP-001"]),
        reverse("desk:finding", args=[corridor.slug, finding.number]),
    ):
        text = client.get(address).content.decode()
        assert made.sentence in text, address
        assert 'class="working-steps"' in text
        assert f"?{made.address.replace('&', '&amp;')}" in text


def test_the_engineer_sees_it_beside_the_attempt_of_its_stage(
    corridor: Corridor, foundation: Foundation, inspector: Person, engineer: Person, as_person: Any
) -> None:
    from tests.factories.holdpoints import at_stage

    at_stage(foundation, "layout", "inspected")
    for stage, note in (("layout", "for layout"), ("pour", "for the pour")):
        as_person(inspector).post(
            attach_to(corridor), {**ROCKS, "foundation": "LP-001", "stage": stage, "note": note, "client_id": uuid7()}
        )
    page = as_person(engineer).get(reverse("desk:hold_point", args=[corridor.slug, "LP-001", "layout"]))
    assert "for layout" in page.content.decode()
    assert "for the pour" not in page.content.decode()


def test_the_same_sheet_sent_twice_is_put_once(
    corridor: Corridor, foundation: Foundation, engineer: Person, as_person: Any
) -> None:
    sent = {**ROCKS, "foundation": "LP-001", "client_id": uuid7()}
    for _ in range(2):
        assert as_person(engineer).post(attach_to(corridor), sent).status_code == 302
    assert Computation.objects.count() == 1


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"foundation": "LP-999"}, "foundation"),
        ({"foundation": ""}, "foundation"),
        ({"finding": "F-999"}, "finding"),
        ({"finding": "F-\N{SUPERSCRIPT TWO}"}, "finding"),
        ({"stage": "roof"}, "stage"),
    ],
)
def test_what_is_wrong_with_its_place_is_named_and_the_sheet_stays(
    corridor: Corridor, foundation: Foundation, engineer: Person, as_person: Any, wrong: dict[str, str], field: str
) -> None:
    page = as_person(engineer).post(
        attach_to(corridor), {**ROCKS, "foundation": "LP-001", "client_id": uuid7(), **wrong}
    )
    assert page.status_code == 422
    assert set(page.context["put"].errors) == {field}
    assert page.context["result"].gap_in > 0
    assert not Computation.objects.exists()


def test_the_foreman_calculates_and_puts_nothing(
    corridor: Corridor, foundation: Foundation, foreman: Person, as_person: Any
) -> None:
    client = as_person(foreman)
    assert client.get(page_of(corridor), ROCKS).context["put"] is None
    page = client.post(attach_to(corridor), {**ROCKS, "foundation": "LP-001", "client_id": uuid7()})
    assert page.status_code == 409
    assert not Computation.objects.exists()
