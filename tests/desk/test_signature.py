"""Signing with a code or a passkey in place of the password: who may, once, and what the entry says."""

import json
import time
from typing import Any

import pytest
from django.core.cache import cache
from django.test import Client
from django.urls import reverse

from apps.corridor.models import Corridor, Foundation
from apps.holdpoints.models import HoldPoint
from apps.people import signing
from apps.people.models import Person
from apps.record.models import Entry
from tests.desk.doing import PASSWORD, address, awaiting, clean, decision, size, text
from tests.factories.passkeys import Passkey, authenticator, code


@pytest.fixture(autouse=True)
def nothing_counted(db: None) -> None:
    """Tries and used codes of other tests are forgotten."""
    cache.clear()


@pytest.fixture
def point(foundation: Foundation) -> HoldPoint:
    """A layout that waits."""
    return awaiting(foundation)


def state(point: HoldPoint) -> str:
    point.refresh_from_db()
    return str(point.state)


def last(corridor: Corridor) -> Entry:
    entry = Entry.objects.of_log(corridor.pk).order_by("sequence").last()
    assert entry is not None
    return entry


def ask(client: Client, form: str) -> dict[str, Any]:
    """Ask the server what the passkey is to sign, as the page's script does."""
    answer = client.post(reverse("people:ask_passkey"), {"form": form}, secure=True)
    assert answer.status_code == 200
    asked: dict[str, Any] = json.loads(answer.content)
    return asked


def sign(client: Client, point: HoldPoint, sent: dict[str, str], key: Passkey, **how: Any) -> Any:
    """Send a decision signed by passkey, with a fresh challenge for it."""
    credential = key.answer(ask(client, sent["client_id"]), **how)
    return client.post(address(point), {**sent, "credential": credential}, secure=True)


# ---- password


def test_the_entry_says_that_the_password_signed(
    as_person: Any, corridor: Corridor, point: HoldPoint, signing: Person
) -> None:
    as_person(signing).post(address(point), decision(point))
    assert last(corridor).payload["signed"] == "password"


def test_only_what_is_set_up_is_offered(as_person: Any, point: HoldPoint, signing: Person) -> None:
    client = as_person(signing)
    page = text(client.get(address(point)))
    assert 'name="code"' not in page and "data-passkey=" not in page
    authenticator(signing)
    page = text(client.get(address(point)))
    assert 'name="code"' in page and "data-passkey=" not in page
    Passkey().give(signing)
    page = text(client.get(address(point)))
    assert 'name="code"' in page and 'data-passkey="sign"' in page and "js/passkey.js" in page


def test_the_password_still_signs_where_more_is_set_up(as_person: Any, point: HoldPoint, signing: Person) -> None:
    authenticator(signing)
    Passkey().give(signing)
    assert as_person(signing).post(address(point), decision(point)).status_code == 302
    assert state(point) == "released"


def test_nothing_given_names_the_ways(as_person: Any, corridor: Corridor, point: HoldPoint, signing: Person) -> None:
    authenticator(signing)
    before = size(corridor)
    answer = as_person(signing).post(address(point), decision(point, password=""))
    assert answer.status_code == 422 and "Sign with your password or with a code." in text(answer)
    assert size(corridor) == before


def test_a_field_that_is_not_set_up_does_not_sign(as_person: Any, point: HoldPoint, signing: Person) -> None:
    """Posted by hand: the password is still asked for."""
    sent = {**decision(point, password=""), "code": "123456", "credential": "{}"}
    answer = as_person(signing).post(address(point), sent)
    assert answer.status_code == 422 and "Sign with your password." in text(answer)
    assert state(point) == "inspected"


# ---- code


def test_a_code_signs_and_the_entry_says_so(
    as_person: Any, corridor: Corridor, point: HoldPoint, signing: Person
) -> None:
    secret = authenticator(signing)
    sent = {**decision(point, password=""), "code": code(secret, time.time())}
    assert as_person(signing).post(address(point), sent).status_code == 302
    assert state(point) == "released"
    assert last(corridor).payload["signed"] == "code"
    page = text(as_person(signing).get(reverse("dossier:entry", args=[corridor.slug, last(corridor).sequence])))
    assert "<dt>Signed with</dt><dd>a code of the authenticator</dd>" in page


def test_a_wrong_code_writes_nothing_and_comes_not_back(
    as_person: Any, corridor: Corridor, point: HoldPoint, signing: Person
) -> None:
    authenticator(signing)
    before = size(corridor)
    # The password is right: what was given first counts.
    answer = as_person(signing).post(address(point), {**decision(point), "code": "000x00", "reason": "Seen by day"})
    assert answer.status_code == 422 and "This code is not right, or was used already." in text(answer)
    assert "000x00" not in text(answer) and "Seen by day" in text(answer)
    assert size(corridor) == before


def test_a_code_is_good_once(as_person: Any, corridor: Corridor, foundation: Foundation, signing: Person) -> None:
    first, second = clean(corridor, "LP-011", "LP-012")
    shown = code(authenticator(signing), time.time())
    client = as_person(signing)
    assert client.post(address(first), {**decision(first, password=""), "code": shown}).status_code == 302
    answer = client.post(address(second), {**decision(second, password=""), "code": shown})
    assert answer.status_code == 422 and "was used already" in text(answer)
    assert (state(first), state(second)) == ("released", "inspected")


def test_the_same_form_twice_is_one_release_though_its_code_is_used(
    as_person: Any, corridor: Corridor, point: HoldPoint, signing: Person
) -> None:
    sent = {**decision(point, password=""), "code": code(authenticator(signing), time.time())}
    client = as_person(signing)
    answers = [client.post(address(point), sent), client.post(address(point), sent)]
    assert [answer.status_code for answer in answers] == [302, 302]
    assert Entry.objects.of_log(corridor.pk).filter(act="release").count() == 1


def test_a_used_form_signs_nothing_else(
    as_person: Any, corridor: Corridor, foundation: Foundation, signing: Person
) -> None:
    """The client id of a release that was done lets no other words through."""
    first, second = clean(corridor, "LP-011", "LP-012")
    sent = {**decision(first, password=""), "code": code(authenticator(signing), time.time())}
    client = as_person(signing)
    client.post(address(first), sent)
    again = {**decision(second, password=""), "client_id": sent["client_id"], "code": sent["code"]}
    answer = client.post(address(second), again)
    assert answer.status_code == 409 and "received before with other content" in text(answer)
    assert state(second) == "inspected"


def test_another_persons_code_does_not_sign(
    as_person: Any, point: HoldPoint, signing: Person, inspector: Person
) -> None:
    authenticator(signing)
    other = authenticator(inspector)
    sent = {**decision(point, password=""), "code": code(other, time.time())}
    assert as_person(signing).post(address(point), sent).status_code == 422
    assert state(point) == "inspected"


def test_a_spare_code_does_not_sign(as_person: Any, point: HoldPoint, signing: Person) -> None:
    from allauth.mfa.recovery_codes.internal.auth import RecoveryCodes

    authenticator(signing)
    spare = RecoveryCodes.activate(signing).get_unused_codes()[0]
    sent = {**decision(point, password=""), "code": spare}
    assert as_person(signing).post(address(point), sent).status_code == 422
    assert spare in RecoveryCodes(signing.authenticator_set.get(type="recovery_codes")).get_unused_codes()


def test_guessing_codes_comes_to_an_end_and_the_password_goes_on(
    as_person: Any, point: HoldPoint, signing: Person
) -> None:
    secret = authenticator(signing)
    client = as_person(signing)
    for _ in range(5):
        client.post(address(point), {**decision(point, password=""), "code": "000x00"})
    right = {**decision(point, password=""), "code": code(secret, time.time())}
    answer = client.post(address(point), right)
    assert answer.status_code == 422 and "Too many wrong codes" in text(answer)
    assert client.post(address(point), decision(point)).status_code == 302


def test_a_form_with_other_faults_uses_no_code(as_person: Any, point: HoldPoint, signing: Person) -> None:
    shown = code(authenticator(signing), time.time())
    client = as_person(signing)
    faulty = {**decision(point, "release_with_condition", password=""), "code": shown}
    assert client.post(address(point), faulty).status_code == 422
    assert client.post(address(point), {**decision(point, password=""), "code": shown}).status_code == 302


def test_several_are_released_together_by_one_code(
    as_person: Any, corridor: Corridor, foundation: Foundation, signing: Person
) -> None:
    points = clean(corridor, "LP-011", "LP-012")
    client = as_person(signing)
    for each in points:
        client.get(address(each))
    sent = {
        "client_id": decision(points[0])["client_id"],
        "inspections": [decision(each)["inspection"] for each in points],
        "password": "",
        "code": code(authenticator(signing), time.time()),
    }
    there = reverse("desk:together", args=[corridor.slug])
    assert [client.post(there, sent).status_code for _ in range(2)] == [302, 302]
    assert [state(each) for each in points] == ["released", "released"]
    entries = Entry.objects.of_log(corridor.pk).filter(act="release")
    assert [each.payload["signed"] for each in entries] == ["code", "code"]


# ---- passkey


def test_a_passkey_signs_and_the_entry_says_so(
    as_person: Any, corridor: Corridor, point: HoldPoint, signing: Person
) -> None:
    key = Passkey().give(signing)
    client = as_person(signing)
    assert sign(client, point, decision(point, password=""), key).status_code == 302
    assert state(point) == "released"
    assert last(corridor).payload["signed"] == "passkey"
    history = text(client.get(reverse("dossier:station", args=[corridor.slug, point.foundation.mark])))
    assert "signed with a passkey" in history


@pytest.mark.parametrize("how", [{"verified": False}, {"origin": "https://elsewhere.example.org"}])
def test_a_passkey_must_verify_its_user_at_this_server(
    as_person: Any, point: HoldPoint, signing: Person, how: dict[str, Any]
) -> None:
    key = Passkey().give(signing)
    answer = sign(as_person(signing), point, decision(point, password=""), key, **how)
    assert answer.status_code == 422 and "The passkey did not answer what was asked here" in text(answer)
    assert state(point) == "inspected"


def test_another_persons_passkey_does_not_sign(
    as_person: Any, point: HoldPoint, signing: Person, inspector: Person
) -> None:
    Passkey().give(signing)
    other = Passkey().give(inspector)
    assert sign(as_person(signing), point, decision(point, password=""), other).status_code == 422
    assert state(point) == "inspected"


def test_a_challenge_is_answered_once(
    as_person: Any, corridor: Corridor, foundation: Foundation, signing: Person
) -> None:
    first, second = clean(corridor, "LP-011", "LP-012")
    key = Passkey().give(signing)
    client = as_person(signing)
    sent = decision(first, password="")
    sent["credential"] = key.answer(ask(client, sent["client_id"]))
    assert client.post(address(first), sent, secure=True).status_code == 302
    again = {**decision(second, password=""), "credential": sent["credential"]}
    assert client.post(address(second), again, secure=True).status_code == 422
    assert client.post(address(first), sent, secure=True).status_code == 302, "the same form is the same release"
    assert Entry.objects.of_log(corridor.pk).filter(act="release").count() == 1


def test_a_challenge_of_one_form_signs_no_other(as_person: Any, point: HoldPoint, signing: Person) -> None:
    key = Passkey().give(signing)
    client = as_person(signing)
    credential = key.answer(ask(client, decision(point)["client_id"]))
    answer = client.post(address(point), {**decision(point, password=""), "credential": credential}, secure=True)
    assert answer.status_code == 422
    assert state(point) == "inspected"


def test_a_challenge_grows_stale(as_person: Any, point: HoldPoint, signing: Person, clock: Any) -> None:
    key = Passkey().give(signing)
    client = as_person(signing)
    sent = decision(point, password="")
    credential = key.answer(ask(client, sent["client_id"]))
    clock.shift(301)
    answer = client.post(address(point), {**sent, "credential": credential}, secure=True)
    assert answer.status_code == 422 and "or too late" in text(answer)
    assert state(point) == "inspected"


def test_a_challenge_of_another_session_does_not_count(as_person: Any, point: HoldPoint, signing: Person) -> None:
    key = Passkey().give(signing)
    sent = decision(point, password="")
    elsewhere = Client()
    elsewhere.force_login(signing)
    credential = key.answer(ask(elsewhere, sent["client_id"]))
    assert as_person(signing).post(address(point), {**sent, "credential": credential}, secure=True).status_code == 422


@pytest.mark.parametrize("rubbish", ["{", "[]", "null", '"x"', "{}", '{"id": 1, "response": {}}', "1" * 9000])
def test_rubbish_for_an_answer_is_refused_in_words(
    as_person: Any, point: HoldPoint, signing: Person, rubbish: str
) -> None:
    Passkey().give(signing)
    client = as_person(signing)
    sent = decision(point, password="")
    ask(client, sent["client_id"])
    answer = client.post(address(point), {**sent, "credential": rubbish}, secure=True)
    assert answer.status_code == 422
    assert state(point) == "inspected"


def test_a_removed_passkey_signs_no_more(as_person: Any, point: HoldPoint, signing: Person) -> None:
    key = Passkey().give(signing)
    Passkey().give(signing, "Another")
    client = as_person(signing)
    sent = decision(point, password="")
    credential = key.answer(ask(client, sent["client_id"]))
    next(each for each in signing.authenticator_set.all() if str(each) == "Office key").delete()
    assert client.post(address(point), {**sent, "credential": credential}, secure=True).status_code == 422
    assert state(point) == "inspected"


def test_what_to_ask_is_for_people_with_a_passkey(as_person: Any, signing: Person, db: None) -> None:
    there = reverse("people:ask_passkey")
    assert Client().post(there, {"form": "x"}).status_code == 302
    client = as_person(signing)
    assert client.get(there).status_code == 405
    assert client.post(there, {"form": "x"}).status_code == 400
    assert client.post(there, {"form": "01890000-0000-7000-8000-000000000000"}).status_code == 404


def test_signing_opens_no_page_that_asks_who_is_there(as_person: Any, point: HoldPoint, signing: Person) -> None:
    """A signature is no sign-in: what changes the account still asks for the password."""
    key = Passkey().give(signing)
    client = as_person(signing)
    sign(client, point, decision(point, password=""), key)
    answer = client.get(reverse("mfa_add_webauthn"))
    assert answer.status_code == 302 and "reauthenticate" in answer.headers["Location"]


def test_every_way_has_its_words() -> None:
    assert set(signing.IN_WORDS) == {signing.PASSWORD, signing.CODE, signing.PASSKEY}
    assert PASSWORD
