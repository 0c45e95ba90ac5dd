"""The pages of sign-in and of one's own account: in our frame, under the content policy, leading nowhere else."""

import re
from typing import Any

import pytest
from django.core import mail
from django.test import Client
from django.urls import reverse

from apps.people.models import Person
from tests.factories import people
from tests.factories.passkeys import Passkey

PASSWORD = "alder mesa in the morning"
OPEN = ["account_login", "account_signup", "account_reset_password", "account_reset_password_done", "account_inactive"]
OWN = [
    "account_logout",
    "account_change_password",
    "account_email",
    "account_reauthenticate",
    "mfa_index",
    "mfa_list_webauthn",
    "usersessions_list",
    "mailing:wishes",
]


@pytest.fixture
def account(db: None) -> Person:
    return Person.objects.create_user("d.reyes", "d.reyes@example.org", PASSWORD, name="D. Reyes")


def sign_in(client: Client, name: str = "d.reyes", password: str = PASSWORD, **more: str) -> Any:
    return client.post(reverse("account_login"), {"login": name, "password": password, **more})


def inline_parts(page: str) -> list[str]:
    """Return what the content policy would stop: style elements and attributes, handlers, scripts without src."""
    return re.findall(r"<style|\sstyle=|\son[a-z]+=|<script(?![^>]*\ssrc=)|javascript:", page)


def assert_ours(answer: Any) -> None:
    page = answer.content.decode()
    assert answer.status_code == 200
    assert inline_parts(page) == []
    assert page.count("<h1") == 1
    assert 'class="mark" href="/"' in page
    policy = answer.headers["Content-Security-Policy"]
    for directive in ("default-src 'none'", "script-src 'self'", "style-src 'self'", "frame-ancestors 'none'"):
        assert directive in policy


def test_what_the_policy_stops_is_found_by_these_tests() -> None:
    assert inline_parts('<p style="x"><b onclick="y()"><script>z</script><style>') == [
        " style=",
        " onclick=",
        "<script",
        "<style",
    ]
    assert inline_parts('<script src="/static/js/sheet.js" defer></script><p class="style">on time</p>') == []


@pytest.mark.parametrize("name", OPEN)
def test_pages_for_everybody_stand_in_our_frame(client: Client, db: None, name: str) -> None:
    assert_ours(client.get(reverse(name)))


@pytest.mark.parametrize("name", OWN)
def test_pages_of_ones_own_account_stand_in_our_frame(client: Client, account: Person, name: str) -> None:
    sign_in(client)
    assert_ours(client.get(reverse(name)))


@pytest.mark.parametrize("name", OWN)
def test_pages_of_ones_own_account_ask_who_is_there(client: Client, db: None, name: str) -> None:
    answer = client.get(reverse(name))
    assert answer.status_code == 302
    assert answer.headers["Location"].startswith((reverse("account_login"), "/"))
    assert "elsewhere" not in answer.headers["Location"]


def test_a_wrong_password_is_told_and_the_name_kept(client: Client, account: Person) -> None:
    answer = sign_in(client, password="something else")
    page = answer.content.decode()
    assert_ours(answer)
    assert "You are not signed in." in page
    assert "Name and password do not belong together" in page
    assert 'value="d.reyes"' in page
    assert "something else" not in page


def test_an_unknown_name_reads_like_a_wrong_password(client: Client, account: Person) -> None:
    said = [
        re.findall(r"<p>(Name and[^<]*)</p>", sign_in(client, name, "something else").content.decode())
        for name in ("d.reyes", "nobody")
    ]
    assert said[0] == said[1] != []


def test_a_name_rests_after_five_wrong_passwords_and_others_sign_in(client: Client, account: Person) -> None:
    Person.objects.create_user("a.whitlock", "a@example.org", PASSWORD, name="A. Whitlock")
    for _ in range(5):
        assert "do not belong together" in sign_in(client, password="something else").content.decode()
    answer = sign_in(client)
    assert "this name rests for a while" in answer.content.decode()
    assert 'value="d.reyes"' in answer.content.decode()
    assert "_auth_user_id" not in client.session
    assert sign_in(client, "a.whitlock").status_code == 302


def test_too_many_tries_from_one_place_are_told_in_our_frame(client: Client, account: Person, settings: Any) -> None:
    settings.ACCOUNT_RATE_LIMITS = {"login": "1/m/ip"}
    sign_in(client, password="something else")
    answer = sign_in(client, password="something else")
    assert answer.status_code == 429
    assert "Too many tries from here" in answer.content.decode()
    assert inline_parts(answer.content.decode()) == []


def test_signing_in_leads_to_the_page_that_was_asked_for(client: Client, account: Person) -> None:
    target = "/c/alder-mesa/corridor/?stage=pour"
    page = client.get(reverse("account_login"), {"next": target})
    assert 'name="next" value="/c/alder-mesa/corridor/?stage=pour"' in page.content.decode()
    wrong = sign_in(client, password="something else", next=target)
    assert 'name="next" value="/c/alder-mesa/corridor/?stage=pour"' in wrong.content.decode()
    assert sign_in(client, next=target).headers["Location"] == target


@pytest.mark.parametrize(
    "target", ["https://elsewhere.example.org/", "//elsewhere.example.org", "/\\elsewhere.example.org", "javascript:x"]
)
def test_signing_in_and_out_leads_nowhere_else(client: Client, account: Person, target: str) -> None:
    assert sign_in(client, next=target).headers["Location"] == "/"
    assert client.post(reverse("account_logout"), {"next": target}).headers["Location"] == reverse("account_login")


def test_signing_out_takes_a_post_and_ends_the_session(client: Client, account: Person) -> None:
    sign_in(client)
    assert "Stay signed in" in client.get(reverse("account_logout")).content.decode()
    assert "_auth_user_id" in client.session
    client.post(reverse("account_logout"))
    assert "_auth_user_id" not in client.session


def test_sign_in_needs_the_token_of_its_own_page(account: Person) -> None:
    strict = Client(enforce_csrf_checks=True)
    assert sign_in(strict).status_code == 403


def test_sign_up_is_closed(client: Client, db: None) -> None:
    page = client.get(reverse("account_signup")).content.decode()
    assert "Nobody signs up here" in page
    assert "<form" not in page.split("<main")[1]
    client.post(reverse("account_signup"), {"username": "new.person", "password1": PASSWORD, "password2": PASSWORD})
    assert not Person.objects.exists()


def test_an_account_out_of_use_does_not_open(client: Client, account: Person) -> None:
    Person.objects.filter(pk=account.pk).update(is_active=False)
    sign_in(client)
    assert "_auth_user_id" not in client.session


def test_a_password_is_changed_with_the_old_one(client: Client, account: Person) -> None:
    sign_in(client)
    said = {
        "oldpassword": "something else",
        "password1": "juniper street at noon",
        "password2": "juniper street at noon",
    }
    refused = client.post(reverse("account_change_password"), said)
    assert "The password is not changed." in refused.content.decode()
    assert "This is not your password" in refused.content.decode()
    assert client.post(reverse("account_change_password"), {**said, "oldpassword": PASSWORD}).status_code == 302
    account.refresh_from_db()
    assert account.check_password("juniper street at noon")


@pytest.mark.parametrize("weak", ["short", "d.reyes@example.org", "password"])
def test_a_weak_new_password_is_refused_beside_its_field(client: Client, account: Person, weak: str) -> None:
    sign_in(client)
    said = {"oldpassword": PASSWORD, "password1": weak, "password2": weak}
    page = client.post(reverse("account_change_password"), said).content.decode()
    assert 'id="id_password1_error"' in page or 'id="id_password2_error"' in page
    account.refresh_from_db()
    assert account.check_password(PASSWORD)


def test_a_link_by_mail_sets_a_new_password_once(client: Client, account: Person) -> None:
    client.post(reverse("account_reset_password"), {"email": account.email})
    link = re.search(r"https?://[^/]+(/account/password/reset/key/\S+)", mail.outbox[0].body)
    assert link is not None
    answer = client.get(link[1], follow=True)
    assert_ours(answer)
    new = {"password1": "juniper street at noon", "password2": "juniper street at noon"}
    client.post(answer.redirect_chain[-1][0], new)
    account.refresh_from_db()
    assert account.check_password("juniper street at noon")
    again = Client().get(link[1], follow=True)
    assert "This link is used up" in again.content.decode()


def test_asking_by_mail_does_not_tell_who_has_an_account(client: Client, account: Person) -> None:
    answers = [
        client.post(reverse("account_reset_password"), {"email": address}, follow=True).content.decode()
        for address in (account.email, "nobody@example.org")
    ]
    assert all("If an account has this address" in page for page in answers)


def test_the_second_factor_is_set_up_and_asked_for(client: Client, account: Person) -> None:
    from allauth.mfa.totp.internal.auth import format_hotp_value, hotp_value, yield_hotp_counters_from_time

    sign_in(client)
    asked = client.get(reverse("mfa_activate_totp"))
    assert asked.headers["Location"].startswith(reverse("account_reauthenticate"))
    page = client.post(asked.headers["Location"], {"password": PASSWORD}, follow=True)
    assert_ours(page)
    assert 'src="data:image/svg+xml' in page.content.decode()
    secret = page.context["form"].secret

    def code() -> str:
        return format_hotp_value(hotp_value(secret, next(iter(yield_hotp_counters_from_time()))))

    wrong = client.post(reverse("mfa_activate_totp"), {"code": "000"})
    assert "The second factor is not in use yet." in wrong.content.decode()
    client.post(reverse("mfa_activate_totp"), {"code": code()})
    assert_ours(client.get(reverse("mfa_index")))
    for name in ("mfa_view_recovery_codes", "mfa_generate_recovery_codes", "mfa_deactivate_totp", "mfa_reauthenticate"):
        assert_ours(client.get(reverse(name)))
    spare = client.get(reverse("mfa_view_recovery_codes")).context["unused_codes"][0]
    client.logout()
    asked = sign_in(client)
    assert asked.headers["Location"] == reverse("mfa_authenticate")
    assert "_auth_user_id" not in client.session
    assert_ours(client.get(reverse("mfa_authenticate")))
    assert "not signed in" in client.post(reverse("mfa_authenticate"), {"code": "000000"}).content.decode()
    client.post(reverse("mfa_authenticate"), {"code": spare})
    assert client.session["_auth_user_id"] == str(account.pk)


def test_passkeys_are_named_renamed_and_removed_in_our_frame(client: Client, account: Person) -> None:
    sign_in(client)
    asked = client.get(reverse("mfa_add_webauthn"))
    page = client.post(asked.headers["Location"], {"password": PASSWORD}, follow=True)
    assert_ours(page)
    assert "data-options=" in page.content.decode() and "js/passkey.js" in page.content.decode()
    Passkey().give(account)
    key = account.authenticator_set.get().pk
    for name, args in (("mfa_list_webauthn", []), ("mfa_edit_webauthn", [key]), ("mfa_remove_webauthn", [key])):
        answer = client.get(reverse(name, args=args))
        assert_ours(answer)
        assert "Office key" in answer.content.decode()
    assert_ours(client.get(reverse("mfa_reauthenticate_webauthn")))
    client.post(reverse("mfa_edit_webauthn", args=[key]), {"name": "Site key"})
    assert "Site key" in client.get(reverse("mfa_list_webauthn")).content.decode()
    client.post(reverse("mfa_remove_webauthn", args=[key]))
    assert not account.authenticator_set.exists()


def test_a_passkey_is_asked_for_after_the_password(client: Client, account: Person) -> None:
    Passkey().give(account)
    assert sign_in(client).headers["Location"] == reverse("mfa_authenticate")
    page = client.get(reverse("mfa_authenticate"))
    assert_ours(page)
    assert "Use a passkey" in page.content.decode()
    assert "_auth_user_id" not in client.session


def test_other_places_are_signed_out_from_here(client: Client, account: Person) -> None:
    elsewhere = Client()
    sign_in(elsewhere)
    elsewhere.get(reverse("home"))
    sign_in(client)
    assert "You are signed in at 2 places" in client.get(reverse("usersessions_list")).content.decode()
    client.post(reverse("usersessions_list"))
    assert elsewhere.get(reverse("account_change_password")).status_code == 302
    assert "Only here." in client.get(reverse("usersessions_list")).content.decode()


def test_nobody_signs_in_as_a_person_without_a_password(client: Client, db: None) -> None:
    people.person("e.marsh")
    for password in ("", "!", "None"):
        sign_in(client, "e.marsh", password)
        assert "_auth_user_id" not in client.session
