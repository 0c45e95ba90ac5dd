"""A passkey from its first day to a release: added on the account's page, signing at the desk, asked for at the next sign-in."""

from collections.abc import Callable
from typing import Any

import pytest
from django.core.cache import cache
from django.urls import reverse

from apps.corridor.models import Corridor, Foundation
from apps.people.models import Person
from apps.record.models import Entry
from tests.browser.conftest import PASSWORD, Visitor
from tests.factories.holdpoints import at_stage

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

KEY = {
    "protocol": "ctap2",
    "transport": "internal",
    "hasResidentKey": True,
    "hasUserVerification": True,
    "isUserVerified": True,
    "automaticPresenceSimulation": True,
}


def test_a_passkey_is_added_signs_a_release_and_is_asked_for_at_sign_in(
    visit: Callable[..., Visitor], corridor: Corridor, foundation: Foundation, engineer: Person
) -> None:
    cache.clear()
    point = at_stage(foundation, "layout", "inspected")
    visitor = visit(engineer)
    page = visitor.page
    devtools: Any = visitor.context.new_cdp_session(page)
    devtools.send("WebAuthn.enable")
    made = devtools.send("WebAuthn.addVirtualAuthenticator", {"options": KEY})

    # added: what changes the account asks for the password first
    visitor.go(reverse("mfa_add_webauthn"))
    page.fill("input[name=password]", PASSWORD)
    with page.expect_navigation():
        page.get_by_role("button", name="Go on").click()
    page.fill("input[name=name]", "Office key")
    with page.expect_navigation():
        page.get_by_role("button", name="Add this device or key").click()
    assert (
        len(devtools.send("WebAuthn.getCredentials", {"authenticatorId": made["authenticatorId"]})["credentials"]) == 1
    )

    # a passkey that does not know its user signs nothing, and says so
    desk = reverse("desk:hold_point", args=[corridor.slug, foundation.mark, "layout"])
    visitor.go(desk)
    page.locator('input[name=decision][value="release"]').check()
    devtools.send("WebAuthn.setUserVerified", {"authenticatorId": made["authenticatorId"], "isUserVerified": False})
    page.get_by_role("button", name="Sign with passkey").click()
    page.get_by_text("The passkey was not given.").wait_for()
    point.refresh_from_db()
    assert point.state == "inspected"

    # it signs
    devtools.send("WebAuthn.setUserVerified", {"authenticatorId": made["authenticatorId"], "isUserVerified": True})
    with page.expect_navigation():
        page.get_by_role("button", name="Sign with passkey").click()
    point.refresh_from_db()
    assert point.state == "released"
    entry = Entry.objects.of_log(corridor.pk).get(act="release")
    assert entry.payload["signed"] == "passkey"
    assert entry.actor == engineer.username

    # at the next sign-in it is asked for after the password
    page.get_by_role("button", name="Sign out").first.click()
    page.wait_for_url("**/account/login/**")
    page.fill("input[name=login]", engineer.username)
    page.fill("input[name=password]", PASSWORD)
    with page.expect_navigation():
        page.locator("main button.main").first.click()
    assert reverse("mfa_authenticate") in page.url
    with page.expect_navigation():
        page.get_by_role("button", name="Use a passkey").click()
    visitor.go(desk)
    assert page.locator("h1").inner_text() == "Desk"
    assert visitor.complaints == []
