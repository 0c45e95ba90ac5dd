"""Persons of the invented scenario, without passwords: tests sign them in with `client.force_login`."""

from apps.people.models import Person
from tests.factories.kept import kept

NAMES = {
    "d.reyes": ("D. Reyes", ""),
    "a.whitlock": ("A. Whitlock", ""),
    "r.halvorsen": ("R. Halvorsen", "PE"),
    "s.okafor": ("S. Okafor", "PE"),
    "j.brandt": ("J. Brandt", ""),
    "m.ortega": ("M. Ortega", ""),
    "p.lindqvist": ("P. Lindqvist", ""),
    "e.marsh": ("E. Marsh", ""),
    "n.stranger": ("N. Stranger", ""),
}


def person(username: str) -> Person:
    """Return a person of the scenario, made on first call."""
    known = Person.objects.filter(username=username).first()
    if known is None:
        _make(username)
    return known or Person.objects.get(username=username)


@kept
def _make(username: str) -> None:
    name, credential = NAMES[username]
    Person.objects.create_user(username, f"{username}@example.org", None, name=name, credential=credential)


def administrator() -> Person:
    """Return the administrator, made on first call."""
    known = Person.objects.filter(username="admin").first()
    if known is None:
        _make_administrator()
    return known or Person.objects.get(username="admin")


@kept
def _make_administrator() -> None:
    Person.objects.create_superuser("admin", "admin@example.org", None, name="Administrator")
