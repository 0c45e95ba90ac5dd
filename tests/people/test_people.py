"""People: accounts are made by an administrator, passwords are kept well, a theme is a person's own."""

from typing import Any

import pytest
from django.contrib.auth.hashers import make_password
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse

from apps.config import settings as project
from apps.corridor.models import Corridor
from apps.people.models import Person
from tests.factories import people

PASSWORD = "alder mesa in the morning"


@pytest.fixture
def account(db: None) -> Person:
    return Person.objects.create_user("d.reyes", "d.reyes@example.org", PASSWORD, name="D. Reyes")


def sign_in(client: Client, password: str) -> Any:
    return client.post(reverse("account_login"), {"login": "d.reyes", "password": password})


def test_a_name_stands_with_its_credential() -> None:
    assert str(Person(name="R. Halvorsen", credential="PE")) == "R. Halvorsen, PE"
    assert str(Person(name="D. Reyes")) == Person(name="D. Reyes").get_full_name() == "D. Reyes"


def test_a_person_without_a_name_is_refused_by_the_database(db: None) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        Person.objects.create_user("nobody", "n@example.org", None, name="")


def test_signing_in_takes_the_right_password(client: Client, account: Person) -> None:
    assert sign_in(client, "something else").status_code == 200
    assert "_auth_user_id" not in client.session
    assert sign_in(client, PASSWORD).status_code == 302
    assert client.session["_auth_user_id"] == str(account.pk)


def test_nobody_signs_up_alone(client: Client, db: None) -> None:
    answer = client.post(
        reverse("account_signup"), {"username": "new.person", "password1": PASSWORD, "email": "n@example.org"}
    )
    assert answer.status_code in {200, 403}
    assert not Person.objects.exists()


def test_passwords_are_kept_with_argon2id_of_the_size_that_the_docs_name(settings: Any) -> None:
    # OWASP Password Storage Cheat Sheet: Argon2id with 19 MiB of memory, 2 passes, 1 lane.
    settings.PASSWORD_HASHERS = project.PASSWORD_HASHERS
    kept = make_password(PASSWORD)
    assert kept.startswith("argon2$argon2id$v=19$m=19456,t=2,p=1$")


@pytest.mark.parametrize("password", ["short", "d.reyes", "password123456789"[:11], "1234567890"])
def test_a_weak_password_is_refused(account: Person, password: str) -> None:
    from django.contrib.auth.password_validation import validate_password

    with pytest.raises(ValidationError):
        validate_password(password, account)
    validate_password(PASSWORD, account)


def test_the_theme_is_turned_and_kept(client: Client, db: None) -> None:
    person = people.person("d.reyes")
    client.force_login(person)
    for wanted in ("night", "paper"):
        answer = client.post(reverse("people:theme"), {"next": "/account/login/"})
        assert (answer.status_code, answer.headers["Location"]) == (302, "/account/login/")
        person.refresh_from_db()
        assert person.theme == wanted


@pytest.mark.parametrize("target", ["https://elsewhere.example.org/", "//elsewhere.example.org", "javascript:alert(1)"])
def test_turning_the_theme_leads_nowhere_else(client: Client, db: None, target: str) -> None:
    client.force_login(people.person("d.reyes"))
    answer = client.post(reverse("people:theme"), {"next": target})
    assert answer.headers["Location"] == reverse("home")


def test_the_theme_is_turned_by_post_and_signed_in(client: Client, db: None) -> None:
    assert client.post(reverse("people:theme")).headers["Location"].startswith(reverse("account_login"))
    client.force_login(people.person("d.reyes"))
    assert client.get(reverse("people:theme")).status_code == 405


def test_a_corridors_pages_ask_who_is_there(client: Client, corridor: Corridor) -> None:
    answer = client.get(reverse("board:morning", args=[corridor.slug]))
    assert answer.status_code == 302
    assert answer.headers["Location"].startswith(reverse("account_login"))
