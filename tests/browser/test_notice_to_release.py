"""Notice, inspection, return, inspection, release, record: the whole way of one hold point, by the right people and by the wrong ones."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from apps.corridor.models import Corridor, Foundation
from apps.holdpoints.models import Decision, HoldPoint, Inspection
from apps.people.models import Person
from apps.record.ids import uuid7
from tests.browser.conftest import PASSWORD, Visitor
from tests.factories import holdpoints
from tests.factories.record import png

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

Visit = Callable[..., Visitor]


def fill(visitor: Visitor, point: HoldPoint) -> None:
    """Type conforming readings into every check and choose a photo for every view, as an inspector does."""
    page = visitor.page
    for key, answer in holdpoints.answers_that_conform(point).items():
        for typed in answer.readings:
            name = f"r:{key}:{typed.place}"
            if page.locator(f'input[type=radio][name="{name}"]').count():
                # The label is what a thumb hits: the radio itself is drawn as a key.
                page.locator(f'label:has(input[name="{name}"][value="{typed.text}"])').click()
            elif page.locator(f'select[name="{name}"]').count():
                page.select_option(f'select[name="{name}"]', typed.text)
            else:
                page.fill(f'input[name="{name}"]', typed.text)
    for place, shot in enumerate(holdpoints.photos_for(point)):
        picture = {"name": f"{shot.view}.png", "mimeType": "image/png", "buffer": png(side=8 + place)}
        page.set_input_files(f'input[name="p:{shot.view}"]', picture)


def inspect(visitor: Visitor, corridor: Corridor, point: HoldPoint) -> None:
    """Open the inspection page, fill it and send it."""
    visitor.go(reverse("field:inspection", args=[corridor.slug, point.foundation.mark, point.stage]))
    fill(visitor, point)
    visitor.page.get_by_role("button", name="Send inspection").click()
    visitor.page.wait_for_url("**/sent/**")


def decide(visitor: Visitor, corridor: Corridor, point: HoldPoint, decision: str, **words: str) -> None:
    """Choose a decision at the desk, sign it with the password and send it."""
    page = visitor.go(reverse("desk:hold_point", args=[corridor.slug, point.foundation.mark, point.stage]))
    page.locator(f'input[name=decision][value="{decision}"]').check()
    for name, said in words.items():
        page.fill(f"#decide [name={name}]", said)
    page.fill("#decide [name=password]", PASSWORD)
    with page.expect_navigation():
        page.locator("#decide button.main").click()


@pytest.fixture
def layout(foundation: Foundation) -> HoldPoint:
    """The layout of LP-001, ready."""
    return holdpoints.hold_point(foundation, "layout")


def test_one_hold_point_goes_from_notice_to_release(
    visit: Visit,
    corridor: Corridor,
    foundation: Foundation,
    layout: HoldPoint,
    foreman: Person,
    inspector: Person,
    engineer: Person,
    auditor: Person,
) -> None:
    crew = visit(foreman, width=390)
    page = crew.go(reverse("field:today", args=[corridor.slug]))
    page.locator('input[name=marks][value="LP-001"]').check()
    with page.expect_navigation():
        page.get_by_role("button", name="Give notice").click()
    assert "Notice given" in page.inner_text("main")

    phone = visit(inspector, width=390)
    phone.go(reverse("field:today", args=[corridor.slug]))
    assert "LP-001" in phone.page.inner_text("main")
    inspect(phone, corridor, layout)
    assert "Arrived, entry" in phone.page.inner_text("main")

    desk = visit(engineer)
    decide(desk, corridor, layout, "return_inspection", back="Not readable", show="The stake with its text readable")
    assert holdpoints.hold_point(foundation, "layout").state == "returned"
    phone.go(reverse("field:today", args=[corridor.slug]))
    assert "stake with its text readable" in phone.page.inner_text("main")

    inspect(phone, corridor, layout)
    decide(desk, corridor, layout, "release")
    assert holdpoints.hold_point(foundation, "layout").state == "released"
    assert holdpoints.hold_point(foundation, "drill").state == "ready"

    reader = visit(auditor)
    told = reader.go(reverse("dossier:station", args=[corridor.slug, "LP-001"])).inner_text("main")
    for words in ("Notice for layout", "attempt 1", "Layout returned", "attempt 2", "Layout released"):
        assert words in told
    for each in (crew, phone, desk, reader):
        assert each.complaints == []


def test_wrong_people_get_no_further(
    visit: Visit,
    client: Client,
    corridor: Corridor,
    layout: HoldPoint,
    people_at_the_desk: dict[str, Person],
    stranger: Person,
) -> None:
    point = holdpoints.inspect(holdpoints.give_notice(layout, holdpoints.NOW), holdpoints.NOW + holdpoints.HOUR)
    attempt = Inspection.objects.get(hold_point=point)
    address = reverse("desk:hold_point", args=[corridor.slug, "LP-001", "layout"])
    for person in people_at_the_desk.values():
        page = visit(person).go(address)
        assert page.locator("input[name=decision]").count() == 0
        person.set_password(PASSWORD)
        person.save()
        client.force_login(person)
        sent: dict[str, Any] = {
            "client_id": str(uuid7()),
            "inspection": str(attempt.pk),
            "decision": "release",
            "password": PASSWORD,
        }
        assert client.post(address, sent).status_code in {403, 404, 409}
    assert not Decision.objects.exists()
    outside = visit(stranger)
    answer = outside.page.goto(f"{outside.address}{address}")
    assert answer is not None
    assert answer.status == 404


@pytest.fixture
def people_at_the_desk(inspector: Person, foreman: Person, office: Person, auditor: Person) -> dict[str, Person]:
    """Everyone who may not release."""
    return {"inspector": inspector, "foreman": foreman, "office": office, "auditor": auditor}


def test_an_inspection_without_a_script_loses_nothing(
    visit: Visit, corridor: Corridor, foundation: Foundation, layout: HoldPoint, inspector: Person
) -> None:
    holdpoints.give_notice(layout, holdpoints.NOW)
    phone = visit(inspector, width=390, script=False)
    page = phone.go(reverse("field:inspection", args=[corridor.slug, "LP-001", "layout"]))
    name = "r:layout.setback:"
    page.fill(f'input[name="{name}"]', "12 feet or so")
    page.get_by_role("button", name="Send inspection").click()
    assert page.input_value(f'input[name="{name}"]') == "12 feet or so"
    assert page.locator("[role=alert]").count() == 1
    assert holdpoints.hold_point(foundation, "layout").state == "notified"
    fill(phone, holdpoints.hold_point(foundation, "layout"))
    page.get_by_role("button", name="Send inspection").click()
    assert "Arrived, entry" in page.inner_text("main")
