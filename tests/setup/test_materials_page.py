"""The place Materials: everything on file, what lacks or ends next, and entering it by those who may."""

from datetime import timedelta
from typing import Any

import pytest
from django.urls import reverse

from apps.corridor.models import Corridor, Foundation
from apps.holdpoints.models import HoleLook
from apps.materials.models import Certificate, ConcreteLoad, Instrument, LocateTicket, StrengthTest
from apps.people.models import Person
from apps.record.ids import uuid7
from tests.factories.holdpoints import at_stage
from tests.factories.times import DAY, NOW

PAGE, ADD = "setup:materials", "setup:material"


def add(client: Any, corridor: Corridor, entry: str, /, **said: Any) -> Any:
    return client.post(reverse(ADD, args=[corridor.slug, entry]), {"client_id": uuid7(), **said})


def test_each_kind_is_entered_and_shown(
    corridor: Corridor, foundation: Foundation, office: Person, as_person: Any, clock: Any
) -> None:
    client, day = as_person(office), f"{NOW:%Y-%m-%d}"
    said = {
        "ticket": {"number": "AM-9", "valid_from": day, "valid_until": day, "first": "100+00", "last": "120+00", "answered": "on"},
        "certificate": {"covers": "mix", "number": "M-1", "received_on": day},
        "instrument": {"name": "TG-9", "kind": "gauge", "calibrated_until": day, "uncertainty": "1/64 in"},
        "load": {"ticket": "T-9", "mix": "4000-A", "day": day, "batched": "06:10", "discharged": "06:55", "placed": "lp-001 1.10",
                 "slump_in": "7", "air_percent": "6", "temperature_f": "70"},
    }  # fmt: skip
    for kind, fields in said.items():
        assert add(client, corridor, kind, **fields).status_code == 302, kind
    load = ConcreteLoad.objects.get(ticket="T-9")
    assert add(client, corridor, "break", load=load.pk, age_d="7", breaks="3100").status_code == 302
    assert str(load.placements.get().volume_yd3) == "1.10"
    ticket = LocateTicket.objects.get(number="AM-9")
    assert (ticket.from_station_ft, ticket.to_station_ft, ticket.answered) == (10_000, 12_000, True)
    assert Certificate.objects.get(number="M-1").received_on == NOW.date()
    assert Instrument.objects.get(name="TG-9").uncertainty == "1/64 in"
    assert StrengthTest.objects.get().strength_psi == 3100
    text = client.get(reverse(PAGE, args=[corridor.slug])).content.decode()
    assert all(word in text for word in ("AM-9", "M-1", "TG-9", "T-9", "3,100 psi at 7 d", "100+00 to 120+00"))


def test_what_lacks_and_what_ends_is_said_first(corridor: Corridor, office: Person, as_person: Any, clock: Any) -> None:
    client = as_person(office)
    assert "Nothing lacks today." in client.get(reverse(PAGE, args=[corridor.slug])).content.decode()
    add(client, corridor, "instrument", name="TW-00", kind="wrench", calibrated_until=f"{NOW - DAY:%Y-%m-%d}")
    add(
        client,
        corridor,
        "certificate",
        covers="mix",
        number="M-1",
        received_on=f"{NOW:%Y-%m-%d}",
        valid_until=f"{NOW + 3 * DAY:%Y-%m-%d}",
    )
    text = client.get(reverse(PAGE, args=[corridor.slug])).content.decode()
    assert "No torque wrench is in calibration." in text
    assert "Concrete mix, m-1 ends" in text.replace("M-1", "m-1")


@pytest.mark.parametrize(
    ("kind", "said", "field"),
    [
        ("ticket", {"number": "1", "valid_from": "2026-03-03", "valid_until": "2026-03-02"}, "__all__"),
        ("ticket", {"number": "1", "valid_from": "2026-03-03", "valid_until": "2026-03-09", "first": "far"}, "first"),
        ("certificate", {"covers": "steel", "number": "", "received_on": "2026-03-02"}, "number"),
        ("instrument", {"name": "X", "kind": "gauge", "uncertainty": "1/64"}, "__all__"),
        (
            "load",
            {
                "ticket": "1",
                "mix": "m",
                "day": "2026-03-02",
                "batched": "07:00",
                "discharged": "08:00",
                "placed": "LP-999 1",
            },
            "placed",
        ),
        (
            "load",
            {
                "ticket": "1",
                "mix": "m",
                "day": "2026-03-02",
                "batched": "09:00",
                "discharged": "08:00",
                "placed": "LP-001 1",
            },
            "__all__",
        ),
        ("break", {"age_d": "0", "breaks": "10"}, "age_d"),
        ("break", {"age_d": "7", "breaks": "4000, many"}, "breaks"),
        ("lot", {"marks": "LP-999"}, "marks"),
        ("curve", {"mix": "m", "form": "logarithmic", "datum_c": "0", "tests": "600"}, "tests"),
        ("curve", {"mix": "m", "form": "logarithmic", "datum_c": "0", "tests": "600 1900"}, "__all__"),
        ("maturity", {"mark": "LP-999", "hours": "6", "temperatures_c": "64 F"}, "mark"),
        (
            "product",
            {"name": "B", "listed_as": "x", "accepted_from": "2026-03-03", "accepted_until": "2026-03-02"},
            "__all__",
        ),
    ],
)
def test_wrong_input_is_named_and_kept(
    corridor: Corridor,
    foundation: Foundation,
    office: Person,
    as_person: Any,
    kind: str,
    said: dict[str, str],
    field: str,
) -> None:
    page = add(as_person(office), corridor, kind, **said)
    assert page.status_code in {409, 422}
    (form,) = [form for key, _, form, _ in page.context["forms"] if key == kind]
    assert field in form.errors


@pytest.mark.parametrize("who", ["foreman", "auditor"])
def test_others_read_and_enter_nothing(
    corridor: Corridor, who: str, request: pytest.FixtureRequest, as_person: Any
) -> None:
    client = as_person(request.getfixturevalue(who))
    assert client.get(reverse(PAGE, args=[corridor.slug])).context["forms"] == []
    before = Certificate.objects.count()
    add(client, corridor, "certificate", covers="mix", number="M-1", received_on="2026-03-02")
    assert Certificate.objects.count() == before


def test_strangers_and_unknown_kinds_find_nothing(
    corridor: Corridor, stranger: Person, office: Person, as_person: Any
) -> None:
    assert as_person(stranger).get(reverse(PAGE, args=[corridor.slug])).status_code == 404
    assert add(as_person(office), corridor, "moon").status_code == 404


def test_a_hole_is_looked_at_again_on_its_page(
    corridor: Corridor, foundation: Foundation, inspector: Person, foreman: Person, as_person: Any, clock: Any
) -> None:
    at_stage(foundation, "cage", "notified")
    clock.move_to(NOW + 3 * DAY)
    page, look = (reverse(f"board:{name}", args=[corridor.slug, "LP-001"]) for name in ("foundation", "look"))
    assert "Hole looked at again" in as_person(inspector).get(page).content.decode()
    assert as_person(inspector).post(look, {"note": "Dry", "client_id": uuid7()}).url == page
    assert HoleLook.objects.get().at == NOW + 3 * DAY
    assert "Hole looked at again" not in as_person(foreman).get(page).content.decode()
    assert as_person(foreman).post(look, {"client_id": uuid7()}).status_code == 409
    clock.move_to(NOW + 3 * DAY + timedelta(hours=1))
    inspect = reverse("field:inspection", args=[corridor.slug, "LP-001", "cage"])
    assert "looked at" not in str(as_person(inspector).get(inspect).context.get("reasons", ""))
