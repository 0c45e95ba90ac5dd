"""Where the phone stands, by a browser's own position: asked for at a press of the button, sent only with a photo, never in the way."""

from collections.abc import Callable
from typing import Any

import pytest
from django.urls import reverse

from apps.corridor.models import Corridor, Foundation
from apps.holdpoints.models import HoldPoint, Photo
from apps.people.models import Person
from apps.record.verify import verify
from tests.browser.conftest import Visitor
from tests.browser.test_notice_to_release import fill
from tests.factories import holdpoints

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

Visit = Callable[..., Visitor]
BUTTON = "Send where I stand with photos"
THERE = {"latitude": 34.1204567, "longitude": -104.3304, "accuracy": 12.04}

# Counts what the page asks the browser for, and lets a test make the clock of a position older.
COUNTED = """
{
  const asked = navigator.geolocation.getCurrentPosition.bind(navigator.geolocation);
  window.asked = 0;
  navigator.geolocation.getCurrentPosition = (found, missed, how) => {
    window.asked += 1;
    asked((at) => found(window.older ? { coords: at.coords, timestamp: at.timestamp - window.older } : at), missed, how);
  };
  navigator.geolocation.watchPosition = () => { window.asked += 1000; };
}
"""
NO_POSITION = "navigator.geolocation.getCurrentPosition = (found, missed) => missed({ code: 3, PERMISSION_DENIED: 1, TIMEOUT: 3 });"


@pytest.fixture
def layout(foundation: Foundation) -> HoldPoint:
    """The layout of LP-001, asked for."""
    return holdpoints.give_notice(holdpoints.hold_point(foundation, "layout"), holdpoints.NOW)


@pytest.fixture
def phone(visit: Visit, inspector: Person) -> Visitor:
    """The inspector's phone; it stands somewhere, and nobody has permitted anything yet."""
    visitor = visit(inspector, width=390, height=844)
    visitor.context.set_geolocation(THERE)
    visitor.context.add_init_script(COUNTED)
    return visitor


def opened(phone: Visitor, corridor: Corridor, point: HoldPoint) -> Any:
    """Open the inspection and fill it with answers and photos."""
    page = phone.go(reverse("field:inspection", args=[corridor.slug, point.foundation.mark, point.stage]))
    fill(phone, point)
    return page


def send(page: Any) -> None:
    page.get_by_role("button", name="Send inspection").click()
    page.wait_for_url("**/sent/**")


def status(page: Any, words: str) -> str:
    """Wait until the line beside the button says so; return it."""
    line = page.locator("[data-place-said]", has_text=words)
    line.wait_for()
    return str(line.inner_text())


def test_permitted_and_switched_on_the_position_goes_with_the_photos(
    phone: Visitor, corridor: Corridor, layout: HoldPoint
) -> None:
    phone.context.grant_permissions(["geolocation"])
    page = opened(phone, corridor, layout)
    assert page.evaluate("window.asked") == 0  # neither the page nor a photo asks for it
    assert status(page, "Off.") == "Off. No position is read."
    button = page.get_by_role("button", name=BUTTON)
    assert button.get_attribute("aria-pressed") == "false"
    button.click()
    said = status(page, "On.")
    assert "±\N{NO-BREAK SPACE}13\N{NO-BREAK SPACE}m" in said and "Too coarse" not in said
    assert button.get_attribute("aria-pressed") == "true"
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    box = button.bounding_box()
    assert box is not None and box["height"] >= 48
    send(page)
    fixes = [photo.fix for photo in Photo.objects.all()]
    assert fixes and None not in fixes
    for fix in fixes:
        assert fix is not None
        assert (str(fix.lat), str(fix.lon), str(fix.accuracy_m)) == ("34.1204567", "-104.3304000", "12.1")
        assert 0 <= fix.age_s < 60
    assert not verify(corridor.pk).faults
    assert phone.complaints == []


def test_refused_it_says_so_and_the_photos_go_without_it(phone: Visitor, corridor: Corridor, layout: HoldPoint) -> None:
    phone.context.clear_permissions()
    page = opened(phone, corridor, layout)
    button = page.get_by_role("button", name=BUTTON)
    button.click()
    assert "Photos go without it." in status(page, "not permitted here")
    assert button.get_attribute("aria-pressed") == "false"
    send(page)
    assert [photo.fix for photo in Photo.objects.all()] == [None] * Photo.objects.count() != []


def test_a_phone_without_a_position_in_time_sends_all_the_same(
    phone: Visitor, corridor: Corridor, layout: HoldPoint
) -> None:
    phone.context.add_init_script(NO_POSITION)
    page = opened(phone, corridor, layout)
    page.get_by_role("button", name=BUTTON).click()
    assert "It is asked again." in status(page, "gave no position within")
    send(page)
    assert {photo.fix for photo in Photo.objects.all()} == {None}


def test_a_coarse_position_says_so_and_goes(phone: Visitor, corridor: Corridor, layout: HoldPoint) -> None:
    phone.context.grant_permissions(["geolocation"])
    phone.context.set_geolocation(THERE | {"accuracy": 80})
    page = opened(phone, corridor, layout)
    page.get_by_role("button", name=BUTTON).click()
    assert "Too coarse to tell 50\N{NO-BREAK SPACE}ft." in status(page, "On.")
    send(page)
    assert {str(photo.fix.accuracy_m) for photo in Photo.objects.all() if photo.fix} == {"80.0"}


def test_a_position_that_came_too_old_is_not_sent(phone: Visitor, corridor: Corridor, layout: HoldPoint) -> None:
    phone.context.grant_permissions(["geolocation"])
    page = opened(phone, corridor, layout)
    page.evaluate("window.older = 121_000")
    page.get_by_role("button", name=BUTTON).click()
    assert "Photos go without it." in status(page, "another clock")
    send(page)
    assert {photo.fix for photo in Photo.objects.all()} == {None}


def test_a_position_that_grew_too_old_is_not_sent(phone: Visitor, corridor: Corridor, layout: HoldPoint) -> None:
    phone.context.grant_permissions(["geolocation"])
    page = opened(phone, corridor, layout)
    page.get_by_role("button", name=BUTTON).click()
    status(page, "On.")
    page.evaluate("{ const real = Date.now; Date.now = () => real() + 121_000; }")
    send(page)
    assert {photo.fix for photo in Photo.objects.all()} == {None}


def test_switched_off_again_nothing_is_sent_and_a_new_page_begins_with_it_off(
    phone: Visitor, corridor: Corridor, layout: HoldPoint
) -> None:
    phone.context.grant_permissions(["geolocation"])
    page = opened(phone, corridor, layout)
    button = page.get_by_role("button", name=BUTTON)
    button.click()
    status(page, "On.")
    asked = page.evaluate("window.asked")
    page.get_by_role("button", name="Judge what is typed").click()
    status(page, "Off.")
    assert page.evaluate("window.asked") == 0 < asked
    button.click()
    status(page, "On.")
    button.click()
    status(page, "Off.")
    fill(phone, layout)
    send(page)
    assert {photo.fix for photo in Photo.objects.all()} == {None}


def test_without_a_photo_to_send_no_position_leaves_the_phone(
    phone: Visitor, corridor: Corridor, layout: HoldPoint
) -> None:
    phone.context.grant_permissions(["geolocation"])
    page = phone.go(reverse("field:inspection", args=[corridor.slug, "LP-001", "layout"]))
    page.get_by_role("button", name=BUTTON).click()
    status(page, "On.")
    bodies: list[str] = []
    page.on("request", lambda request: bodies.append(request.post_data or "") if request.method == "POST" else None)
    page.fill('input[name="r:layout.setback:"]', "12 ft")
    page.locator('input[name="r:layout.setback:"]').blur()
    page.get_by_role("button", name="Judge what is typed").click()
    page.wait_for_load_state()
    assert bodies and not any("34.12" in body for body in bodies)


def test_without_a_script_there_is_no_button_and_photos_go(
    visit: Visit, corridor: Corridor, layout: HoldPoint, inspector: Person
) -> None:
    bare = visit(inspector, width=390, script=False)
    page = opened(bare, corridor, layout)
    assert page.get_by_role("button", name=BUTTON).count() == 0
    send(page)
    assert Photo.objects.exists() and {photo.fix for photo in Photo.objects.all()} == {None}
