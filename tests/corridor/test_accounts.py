"""Making people and keeping accounts: administrators only, entered where the person has a role, and a link that is good once."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from apps.corridor import accounts as acts
from apps.corridor.models import Corridor
from apps.people.links import password_link
from apps.people.models import Person
from apps.record.acts import Refused
from apps.record.ids import uuid7
from apps.record.models import Entry
from tests.factories import people
from tests.factories.times import NOW

PASSWORD = "a lamp on every third pole"
SAID = {"username": "K.Abara ", "name": " K. Abara", "credential": "PE", "email": "k.abara@example.org"}


def do(act: Any, by: Person, /, **said: Any) -> Any:
    return act(by=by, at=NOW, client_id=uuid7(), **said)


@pytest.fixture
def made(admin: Person) -> Person:
    do(acts.add_person, admin, **SAID)
    return Person.objects.get(username="k.abara")


def test_a_person_is_made_without_a_password(made: Person) -> None:
    assert (made.name, str(made), made.email) == ("K. Abara", "K. Abara, PE", "k.abara@example.org")
    assert not made.has_usable_password()
    assert not (made.is_superuser or made.is_staff)


@pytest.mark.parametrize(
    ("changed", "reason"),
    [
        ({"username": "k.abara"}, "There is a person k.abara already"),
        ({"username": ""}, "Username: "),
        ({"username": "k abara"}, "Username: "),
        ({"username": "l.abara", "name": " "}, "Name: "),
        ({"username": "l.abara", "email": "nobody"}, "Email address: "),
    ],
)
def test_a_person_that_cannot_be_is_refused(made: Person, admin: Person, changed: dict[str, str], reason: str) -> None:
    before = Person.objects.count()
    with pytest.raises(Refused, match=reason):
        do(acts.add_person, admin, **{**SAID, **changed})
    assert Person.objects.count() == before


@pytest.mark.parametrize("name", ["add_person", "change_person", "give_link", "close_account", "open_account"])
def test_only_an_administrator(made: Person, name: str) -> None:
    said: dict[str, Any] = {"person": made}
    if name == "add_person":
        said = {**SAID, "username": "l.abara"}
    elif name == "change_person":
        said |= {"name": "L. Abara", "credential": "", "email": ""}
    with pytest.raises(Refused, match="An administrator makes people and keeps"):
        do(getattr(acts, name), people.person("p.lindqvist"), **said)


def test_a_closed_account_signs_in_no_more_and_what_was_open_ends(made: Person, admin: Person, client: Client) -> None:
    made.set_password(PASSWORD)
    made.save()
    client.force_login(made)
    assert client.get("/").status_code == 200
    do(acts.close_account, admin, person=made)
    assert client.get("/").status_code == 302
    client.post(reverse("account_login"), {"login": "k.abara", "password": PASSWORD})
    assert client.get("/").status_code == 302
    with pytest.raises(Refused, match="may not sign in as it is"):
        do(acts.close_account, admin, person=made)
    do(acts.open_account, admin, person=made)
    client.post(reverse("account_login"), {"login": "k.abara", "password": PASSWORD})
    assert client.get("/").status_code == 200


def test_the_record_of_a_persons_corridor_names_what_is_done_to_the_account(
    corridor: Corridor, engineer: Person, admin: Person
) -> None:
    said = {"name": "R. Halvorsen", "credential": "PE, SE", "email": ""}
    for name, more in (("give_link", {}), ("change_person", said), ("close_account", {}), ("open_account", {})):
        answer = do(getattr(acts, name), admin, person=engineer, **more)
        entry = Entry.objects.of_log(corridor.pk).last()
        assert entry is not None
        assert answer["entries"] == {corridor.slug: entry.sequence}
        assert (entry.act, entry.actor, entry.subject) == (name, "admin", "r.halvorsen")
        engineer.refresh_from_db()
    with_role = Entry.objects.count()
    do(acts.give_link, admin, person=people.person("n.stranger"))
    assert Entry.objects.count() == with_role


def test_no_link_is_given_for_a_closed_account(made: Person, admin: Person) -> None:
    do(acts.close_account, admin, person=made)
    made.refresh_from_db()
    with pytest.raises(Refused, match="is closed: open it first"):
        do(acts.give_link, admin, person=made)


def test_nobody_closes_their_own_account(admin: Person) -> None:
    with pytest.raises(Refused, match="Nobody closes their own account"):
        do(acts.close_account, admin, person=admin)


def test_a_link_sets_a_password_once(made: Person, client: Client) -> None:
    link = password_link(made)
    form = client.get(link, follow=True)
    assert "New password" in form.content.decode()
    client.post(form.redirect_chain[-1][0], {"password1": PASSWORD, "password2": PASSWORD})
    made.refresh_from_db()
    assert made.check_password(PASSWORD)
    assert "This link is used up" in Client().get(link, follow=True).content.decode()
