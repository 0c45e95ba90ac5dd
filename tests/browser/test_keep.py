"""What is typed outlives a session that ended and a page that was left, for its person alone, until it was received."""

import json
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

import pytest
from django.urls import reverse

from apps.corridor.models import Corridor, Foundation
from apps.findings.models import Finding
from apps.holdpoints.models import HoldPoint, Inspection
from apps.people.models import Person
from tests.browser.conftest import PASSWORD, Visitor
from tests.browser.test_notice_to_release import decide, fill
from tests.factories import findings, holdpoints

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

Visit = Callable[..., Visitor]
READING = 'input[name="r:layout.setback:"]'
NOTE = "Stake moved by the grader, set again"
DAY_MS = timedelta(days=1) // timedelta(milliseconds=1)
KEPT = "Object.entries(localStorage).filter(([name]) => name.startsWith('typed '))"


@pytest.fixture
def layout(foundation: Foundation) -> HoldPoint:
    """The layout of LP-001, asked for."""
    return holdpoints.give_notice(holdpoints.hold_point(foundation, "layout"), holdpoints.NOW)


@pytest.fixture
def address(corridor: Corridor, layout: HoldPoint) -> str:
    """Where LP-001's layout is inspected."""
    return reverse("field:inspection", args=[corridor.slug, "LP-001", "layout"])


@pytest.fixture
def phone(visit: Visit, inspector: Person) -> Visitor:
    return visit(inspector, width=390, height=844)


def typed(visitor: Visitor, address: str) -> Any:
    """Open the inspection and type a reading, an answer and a note; wait until they are kept."""
    page = visitor.go(address)
    page.fill(READING, "12 ft 3 in")
    page.locator("input[type=radio][value=yes]").first.locator("xpath=..").click()
    page.fill("#note", NOTE)
    for _ in range(100):  # asked from here: the policy forbids the page to be asked by a text
        if any(NOTE in entry for _, entry in page.evaluate(KEPT)):
            return page
        page.wait_for_timeout(50)
    pytest.fail("What was typed is not kept.")


def offer(page: Any) -> Any:
    return page.locator("section.kept")


def password(page: Any, person: Person) -> None:
    """Fill in the sign-in page."""
    page.fill("input[name=login]", person.username)
    page.fill("input[name=password]", PASSWORD)
    page.locator("main button[type=submit]").click()
    page.wait_for_url(lambda url: "/account/login" not in url)


def sign_out(page: Any, visitor: Visitor) -> None:
    visitor.go(reverse("account_logout"))
    page.locator("main button[type=submit]").click()
    page.wait_for_url("**/account/login/**")


def test_a_session_that_ended_loses_nothing_typed(
    phone: Visitor, corridor: Corridor, address: str, inspector: Person
) -> None:
    page = typed(phone, address)
    assert "What you type is kept on this phone until it is received; photos are not." in page.inner_text(".phone-net")
    phone.context.clear_cookies(name="session")
    page.get_by_role("button", name="Send inspection").click()
    page.wait_for_url("**/account/login/**")
    password(page, inspector)
    phone.go(address)
    assert page.input_value("#note") == ""
    kept = datetime.fromtimestamp(json.loads(page.evaluate(KEPT)[0][1])["at"] / 1000, corridor.zone)
    line = f"What you typed at {kept:%H:%M} is still on this phone. Photos must be taken again."
    assert line in offer(page).inner_text()
    above, form = offer(page).bounding_box(), page.locator("#inspection").bounding_box()
    assert above["y"] + above["height"] <= form["y"]
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    button = page.get_by_role("button", name="Put it back")
    assert button.bounding_box()["height"] >= 48
    button.focus()
    with page.expect_response(lambda answer: "key=layout.setback" in answer.url):  # the page judges what came back
        page.keyboard.press("Enter")
    assert page.input_value(READING) == "12 ft 3 in"
    assert page.input_value("#note") == NOTE
    assert page.locator("input[type=radio][value=yes]").first.is_checked()
    assert offer(page).get_by_role("status").inner_text() == "Put back: 3 fields. Photos must be taken again."
    assert page.get_by_role("button", name="Put it back").count() == 0
    assert page.evaluate("document.activeElement.matches('section.kept')")
    assert phone.complaints == []


def test_leaving_by_the_list_loses_nothing_and_what_is_typed_since_stays(phone: Visitor, address: str) -> None:
    page = typed(phone, address)
    page.fill("#note", f"{NOTE}, twice")  # within the pause before it is kept
    page.get_by_role("link", name="List").click()
    page.wait_for_url("**/field/")
    phone.go(address)
    page.fill(READING, "13 ft")
    page.get_by_role("button", name="Put it back").click()
    assert page.input_value(READING) == "13 ft"
    assert page.input_value("#note") == f"{NOTE}, twice"


def test_thrown_away_it_is_gone(phone: Visitor, address: str) -> None:
    page = typed(phone, address)
    phone.go(address)
    page.get_by_role("button", name="Throw it away").click()
    assert offer(page).inner_text().strip() == "Thrown away: nothing of it is kept on this phone."
    assert page.evaluate(KEPT) == []
    phone.go(address)
    assert offer(page).count() == 0


def test_another_person_on_the_phone_is_offered_nothing(
    phone: Visitor, address: str, inspector: Person, engineer: Person
) -> None:
    page = typed(phone, address)
    phone.context.clear_cookies(name="session")
    phone.sign_in(engineer)
    phone.go(address)
    assert page.locator("#inspection").count() == 1
    assert offer(page).count() == 0
    assert NOTE not in page.content()
    phone.context.clear_cookies(name="session")
    phone.sign_in(inspector)
    phone.go(address)
    assert offer(page).count() == 1


def test_signing_out_forgets_what_that_person_typed(phone: Visitor, address: str, inspector: Person) -> None:
    page = typed(phone, address)
    page.evaluate("localStorage.setItem('typed somebody /else#note', JSON.stringify({ at: Date.now(), fields: {} }))")
    sign_out(page, phone)
    assert [name for name, _ in page.evaluate(KEPT)] == ["typed somebody /else#note"]
    password(page, inspector)
    phone.go(address)
    assert offer(page).count() == 0


def test_what_was_received_is_forgotten_and_what_was_refused_is_not(
    phone: Visitor, address: str, layout: HoldPoint
) -> None:
    page = typed(phone, address)
    page.get_by_role("button", name="Send inspection").click()
    page.locator("[role=alert]").first.wait_for()
    assert page.input_value("#note") == NOTE
    assert offer(page).count() == 0  # the server drew what was sent
    page.fill(READING, "12 ft 4 in")
    phone.go(address)
    page.get_by_role("button", name="Put it back").click()
    assert (page.input_value(READING), page.input_value("#note")) == ("12 ft 4 in", NOTE)
    fill(phone, layout)
    page.get_by_role("button", name="Send inspection").click()
    page.wait_for_url("**/sent/**")
    assert Inspection.objects.get().note == NOTE
    assert page.evaluate(KEPT) == []


def test_a_connection_that_breaks_as_it_is_sent_loses_nothing(phone: Visitor, address: str) -> None:
    page = typed(phone, address)
    phone.context.set_offline(True)
    page.get_by_role("button", name="Send inspection").click()
    page.wait_for_url("chrome-error://**")
    phone.context.set_offline(False)
    phone.go(reverse("home"))
    phone.go(address)
    page.get_by_role("button", name="Put it back").click()
    assert page.input_value("#note") == NOTE


def test_only_what_is_typed_is_kept_and_for_a_week(
    phone: Visitor, corridor: Corridor, layout: HoldPoint, address: str
) -> None:
    page = typed(phone, address)
    fill(phone, layout)
    page.evaluate("window.dispatchEvent(new Event('pagehide'))")
    ((name, text),) = page.evaluate(KEPT)
    entry = json.loads(text)
    assert name == f"typed {phone_owner(page)} {address}#inspection"
    assert {"note", "r:layout.setback:"} <= set(entry["fields"])
    assert not {field for field in entry["fields"] if field.startswith(("p:", "fix:"))}
    assert not {"client_id", "looked_at", "csrfmiddlewaretoken"} & set(entry["fields"])
    for days, said in ((6, True), (7, False)):
        phone.go(reverse("home"))
        old = entry | {"at": entry["at"] - days * DAY_MS}
        page.evaluate("([name, text]) => localStorage.setItem(name, text)", [name, json.dumps(old)])
        phone.go(address)
        then = datetime.fromtimestamp(old["at"] / 1000, corridor.zone)
        line = f"What you typed on {then:%a %-d %b} at {then:%H:%M} is still"
        assert (line in page.inner_text("main")) is (offer(page).count() == 1) is said
    assert page.evaluate(KEPT) == []


def phone_owner(page: Any) -> str:
    return str(page.evaluate("document.body.dataset.person"))


def test_only_photos_that_were_not_sent_ask_before_the_page_is_left(
    phone: Visitor, address: str, layout: HoldPoint
) -> None:
    page = typed(phone, address)
    asked: list[str] = []
    page.on("dialog", lambda dialog: (asked.append(dialog.type), dialog.accept()))
    page.get_by_role("link", name="List").click()
    page.wait_for_url("**/field/")
    assert asked == []
    phone.go(address)
    fill(phone, layout)
    page.get_by_role("link", name="List").click()
    page.wait_for_url("**/field/")
    assert asked == ["beforeunload"]
    phone.go(address)
    fill(phone, layout)
    page.get_by_role("button", name="Send inspection").click()
    page.wait_for_url("**/sent/**")
    assert asked == ["beforeunload"]


def test_without_a_script_the_old_words_stand(visit: Visit, inspector: Person, address: str) -> None:
    page = visit(inspector, width=390, script=False).go(address)
    assert "Nothing is kept on this phone" in page.inner_text(".phone-net")


def test_the_engineers_reason_is_kept_and_never_the_password(
    visit: Visit, corridor: Corridor, layout: HoldPoint, engineer: Person
) -> None:
    holdpoints.inspect(layout, holdpoints.NOW + holdpoints.HOUR)
    desk = visit(engineer)
    address = reverse("desk:hold_point", args=[corridor.slug, "LP-001", "layout"])
    page = desk.go(address)
    page.locator('input[name=decision][value="return_inspection"]').check()
    page.fill("#decide [name=back]", "Not readable")
    page.fill("#decide [name=password]", PASSWORD)
    desk.go(reverse("desk:queue", args=[corridor.slug]))  # brings the same evidence as a request of its own
    assert " is still in this browser." in offer(page).inner_text()
    page.get_by_role("button", name="Put it back").click()
    assert page.input_value("#decide [name=back]") == "Not readable"
    assert page.locator('input[name=decision][value="return_inspection"]').is_checked()
    assert PASSWORD not in json.dumps(page.evaluate(KEPT))
    decide(desk, corridor, layout, "return_inspection", back="Not readable", show="The stake")
    assert page.evaluate(KEPT) == []
    assert desk.complaints == []


def test_words_of_a_findings_move_are_kept_for_that_move_until_it_is_written(
    visit: Visit, corridor: Corridor, foundation: Foundation, foreman: Person
) -> None:
    finding = findings.in_state(foundation, Finding.State.DECIDED)
    desk = visit(foreman, width=390)
    address = reverse("desk:finding", args=[corridor.slug, finding.number])
    page = desk.go(address)
    page.fill("#answer_finding textarea", "Ground to the line")
    desk.go(address)
    offer(page).get_by_role("button", name="Put it back").click()
    assert offer(page).locator("xpath=following-sibling::form").get_attribute("data-keep") == "answer_finding"
    assert page.input_value("#answer_finding textarea") == "Ground to the line"
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    with page.expect_navigation():
        page.locator("#answer_finding button.btn").last.click()
    assert "written" in page.inner_text("main")
    assert page.evaluate(KEPT) == []  # though its answer is the same address
    finding.refresh_from_db()
    assert finding.state == Finding.State.ANSWERED
