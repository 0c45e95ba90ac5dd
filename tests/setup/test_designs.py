"""The plans' types of foundations on pages: typed as they are read off, copied, put right while none is built."""

from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from apps.corridor.models import Corridor, Design, Foundation
from apps.people.models import Person
from apps.record.ids import uuid7
from apps.record.models import Entry
from apps.setup.plans.design_forms import DesignForm, typed_design
from apps.setup.plans.designs import planned
from tests.factories.doing import standing

TYPED: dict[str, Any] = {
    "family": "transformer_base",
    "name": "LT-30-8",
    "shaft_diameter_in": "2'-6\"",
    "least_depth_in": "8'-6\"",
    "most_depth_in": "12",
    "bar_count": "6",
    "bar_size": "#4",
    "spiral_size": "No. 3",
    "spiral_pitch_in": "6",
    "flat_turns": "2",
    "cover_in": "76.2 mm",
    "bolt_count": "4",
    "bolt_diameter_in": "1 1/4",
    "bolt_length_in": "30 in",
    "bolt_grade": "F1554 Gr. 55",
    "bolt_circle_in": "438 mm",
    "bolt_projection_in": '4"',
    "base": "TB-17, invented",
    "washer_count": "8",
    "conduit_count": "2",
    "conduit_size": "2 in PVC",
    "concrete_strength_psi": "4000 psi",
    "more": "Mix: 4000-L\n\nair: 6 %\nbarrier clearance: 4 ft\nwalk: yes",
}


def form(**changed: Any) -> DesignForm:
    return DesignForm({**TYPED, "client_id": uuid7(), **changed})


def page(corridor: Corridor) -> str:
    return reverse("setup:designs", args=[corridor.slug])


def one(design: Design) -> str:
    return reverse("setup:design", args=[design.corridor.slug, design.pk])


# ---- the form


def test_lengths_are_read_as_they_stand_on_plans() -> None:
    read = form()
    assert read.is_valid(), read.errors
    said = read.fields_said
    lengths = {name: value for name, value in said.items() if isinstance(value, Decimal)}
    assert lengths == {
        "shaft_diameter_in": 30,
        "least_depth_in": 102,
        "most_depth_in": 144,
        "spiral_pitch_in": 6,
        "cover_in": 3,
        "bolt_diameter_in": Decimal("1.25"),
        "bolt_length_in": 30,
        # 438 mm / 25.4 mm, the inch of NIST SP 811, B.6
        "bolt_circle_in": Decimal("17.2441"),
        "bolt_projection_in": 4,
    }
    assert (said["bar_size"], said["spiral_size"], said["bolt_grade"]) == ("4", "3", "55")
    assert said["more"] == {"mix": "4000-L", "air": "6 %", "barrier_clearance": "4 ft", "walk": "yes"}


@pytest.mark.parametrize(("typed", "kept"), [("28 MPa", 4061), ("4 ksi", 4000), ("4000", 4000)])
def test_a_strength_is_read_in_any_unit(typed: str, kept: int) -> None:
    # 1 psi = 6.894757 kPa: NIST SP 811, B.8
    read = form(concrete_strength_psi=typed)
    assert read.is_valid()
    assert read.fields_said["concrete_strength_psi"] == kept


@pytest.mark.parametrize(
    ("changed", "field", "said"),
    [
        ({"name": ""}, "name", "required"),
        ({"family": "tower"}, "family", "Select a valid choice"),
        ({"shaft_diameter_in": "wide"}, "shaft_diameter_in", "Expected a length"),
        ({"shaft_diameter_in": "30 ft"}, "shaft_diameter_in", "more than plans have: look at its unit"),
        ({"least_depth_in": "8 in"}, "least_depth_in", "less than plans have: look at its unit"),
        ({"most_depth_in": "8 ft"}, "most_depth_in", "Is less than the least depth"),
        ({"bar_size": "4.5"}, "bar_size", "Expected a number of 2, 3, 4"),
        ({"bolt_grade": "A325"}, "bolt_grade", "Expected 36, 55, 105"),
        ({"cover_in": "14 3/8 in"}, "cover_in", "leaves no room for the cage"),
        ({"bolt_circle_in": "29 in"}, "bolt_circle_in", "outside the shaft"),
        ({"bar_count": "six"}, "bar_count", "whole number"),
        ({"concrete_strength_psi": "40"}, "concrete_strength_psi", "less than plans have"),
        ({"more": "colour: grey"}, "more", "Line 1: \"colour: grey\" is not read. Expected one of setback"),
        ({"more": "mix: A\nair: much"}, "more", "Line 2, air: "),
        ({"more": "mix: A\nmix: B"}, "more", "Line 2: mix stands there twice"),
        ({"bolt_circle_in": "23 in"}, "sure", "within the cover there are 24 in"),
        ({"bolt_circle_in": "21 3/4 in"}, "sure", "between the bars there are 22.250 in"),
        ({"bolt_length_in": "9 ft"}, "sure", "The bolts reach 104 in down; the least depth is 8 ft 6 in"),
    ],
)  # fmt: skip
def test_what_cannot_be_stands_at_its_field(changed: dict[str, str], field: str, said: str) -> None:
    read = form(**changed)
    assert not read.is_valid()
    assert list(read.errors) == [field]
    assert said in " ".join(read.errors[field])


def test_what_looks_like_a_slip_is_taken_when_the_plans_have_it_so() -> None:
    assert form(bolt_circle_in="23 in", sure="on").is_valid()
    assert not form(bolt_circle_in="29 in", sure="on").is_valid()


def test_a_design_that_is_shown_is_read_again_as_the_same(corridor: Corridor) -> None:
    for row in corridor.designs.all():
        row.more = {"mix": "4000-A", "air": "6", "setback": "9/2", "walk": "no"}
        row.bolt_circle_in = Decimal("17.2441")
        read = DesignForm({**typed_design(row), "client_id": uuid7(), "sure": "on"})
        assert read.is_valid(), read.errors
        for name, value in read.fields_said.items():
            if name != "more":
                assert value == getattr(row, name), name
        assert read.fields_said["more"] == {"mix": "4000-A", "air": "6 %", "setback": "4.5 ft", "walk": "no"}


# ---- bringing one in


def test_a_design_is_brought_in_and_shown_as_planned(client: Client, corridor: Corridor, office: Person) -> None:
    client.force_login(office)
    done = client.post(page(corridor), {**TYPED, "client_id": uuid7()}, follow=True)
    made = corridor.designs.get(name="LT-30-8")
    text = done.content.decode()
    assert done.redirect_chain[-1][0] == one(made)
    assert (made.more, made.washer_count) == ({"mix": "4000-L", "air": "6", "barrier_clearance": "4", "walk": "yes"}, 8)
    assert Entry.objects.of_log(corridor.pk).last().act == "add_design"  # type: ignore[union-attr]
    for shown in (
        "Shaft in section, 30 in across",
        "8 ft 6 in",
        "17.2441 in",
        "438 mm",
        "4,000 psi",
        "6 %",
        "No foundation is of it yet.",
    ):
        assert shown in text


def test_the_same_form_sent_twice_brings_in_one_design(client: Client, corridor: Corridor, office: Person) -> None:
    client.force_login(office)
    said = {**TYPED, "client_id": uuid7()}
    assert [client.post(page(corridor), said).status_code for _ in range(2)] == [302, 302]
    assert corridor.designs.filter(name="LT-30-8").count() == 1


def test_what_is_refused_comes_back_with_all_that_was_typed(client: Client, corridor: Corridor, office: Person) -> None:
    client.force_login(office)
    before = standing(corridor)
    for changed, status, said in (
        ({"spiral_pitch_in": "close"}, 422, "Expected a length"),
        ({"name": "LP1"}, 409, "There is a design LP1 already."),
        ({"bolt_circle_in": "23 in"}, 422, "The plans have it so"),
    ):
        answer = client.post(page(corridor), {**TYPED, "client_id": uuid7(), **changed})
        text = answer.content.decode()
        assert answer.status_code == status
        assert said in text
        assert all(each in text for each in ("2&#x27;-6&quot;", "76.2 mm", "F1554 Gr. 55", "barrier clearance: 4 ft"))
    assert standing(corridor) == before


def test_a_new_design_may_begin_as_a_copy(
    client: Client, corridor: Corridor, light_pole_design: Design, office: Person
) -> None:
    client.force_login(office)
    begun = client.get(page(corridor), {"from": str(light_pole_design.pk)}).context["form"].initial
    assert (begun["name"], begun["bolt_circle_in"], begun["least_depth_in"]) == ("", "14 in", "3 ft 0 in")
    assert begun["more"] == "air: 6 %\nmix: 4000-A"
    assert client.get(page(corridor), {"from": "nobody"}).context["like"] is None
    assert client.post(page(corridor), {**begun, "name": "LP2", "sure": "on"}).status_code == 302


def test_a_list_of_designs_costs_the_same_with_more_of_them(client: Client, corridor: Corridor, office: Person) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    client.force_login(office)
    client.get(page(corridor))

    def cost() -> int:
        with CaptureQueriesContext(connection) as made:
            client.get(page(corridor))
        return len(made)

    few = cost()
    for number in range(5):
        client.post(page(corridor), {**TYPED, "client_id": uuid7(), "name": f"LT-{number}"})
    client.get(page(corridor))
    assert corridor.designs.count() == 7
    assert cost() == few


# ---- one of them


def test_a_design_is_put_right_while_no_foundation_is_of_it(
    client: Client, corridor: Corridor, light_pole_design: Design, office: Person
) -> None:
    client.force_login(office)
    shown = client.get(one(light_pole_design)).context["form"].initial
    done = client.post(one(light_pole_design), {**shown, "bolt_circle_in": "14 1/2", "sure": "on"})
    assert done.status_code == 302
    assert Design.objects.get(pk=light_pole_design.pk).bolt_circle_in == Decimal("14.5")
    entry = Entry.objects.of_log(corridor.pk).last()
    assert (entry.act, entry.payload["after"]) == ("change_design", {"bolt_circle_in": "14.5"})  # type: ignore[union-attr]
    stale = client.post(one(light_pole_design), {**shown, "client_id": uuid7(), "bolt_circle_in": "15", "sure": "on"})
    assert stale.status_code == 409
    assert "LP1 was changed while you were at it" in stale.content.decode()


def test_a_design_that_a_foundation_is_of_is_shown_without_its_form(
    client: Client, foundation: Foundation, office: Person
) -> None:
    client.force_login(office)
    answer = client.get(one(foundation.design))
    text = answer.content.decode()
    assert "1 foundation stands by this design: it stays as it is" in text
    assert "Put design right" not in text
    refused = client.post(one(foundation.design), {**answer.context["form"].initial, "bar_count": "9", "sure": "on"})
    assert refused.status_code == 409
    assert Design.objects.get(pk=foundation.design_id).bar_count == 8


@pytest.mark.parametrize("username", ["d.reyes", "e.marsh", "j.brandt"])
def test_who_does_not_set_up_reads_and_is_refused(
    client: Client, corridor: Corridor, light_pole_design: Design, username: str
) -> None:
    client.force_login(Person.objects.get(username=username))
    for address in (page(corridor), one(light_pole_design)):
        answer = client.get(address)
        assert answer.status_code == 200
        assert '<button class="btn main">' not in answer.content.decode()
        begun = {**TYPED, "client_id": uuid7(), "was": answer.context["form"].initial.get("was", "")}
        refused = client.post(address, begun)
        assert refused.status_code == 409
        assert "This is for the resident engineer or project office" in " ".join(
            refused.context["form"].non_field_errors()
        )
    assert corridor.designs.count() == 2


def test_a_stranger_finds_nothing(client: Client, light_pole_design: Design, stranger: Person) -> None:
    client.force_login(stranger)
    for address in (page(light_pole_design.corridor), one(light_pole_design)):
        assert client.get(address).status_code == 404
        assert client.post(address, {**TYPED, "client_id": uuid7()}).status_code == 404


def test_a_design_with_a_size_that_is_not_drawn_shows_its_values_alone(light_pole_design: Design) -> None:
    assert [each.title for each in planned(light_pole_design).drawings] == [
        "Shaft and cage",
        "Cut across",
        "The template",
    ]
    light_pole_design.bar_size = "M13"
    assert [each.title for each in planned(light_pole_design).drawings] == ["The template"]
