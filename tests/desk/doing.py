"""How tests of the desk send its forms."""

from typing import Any

from django.urls import reverse

from apps.corridor.models import Corridor, Foundation
from apps.holdpoints.models import HoldPoint
from apps.people.models import Person
from apps.record.ids import uuid7
from apps.record.models import Head
from tests.factories.corridor import bring_in
from tests.factories.holdpoints import at_stage, attempt, give_notice, hold_point, inspect, referring_at
from tests.factories.times import HOUR, NOW

PASSWORD = "alder-mesa-tests"


def signs(person: Person) -> Person:
    """Give a person the password that signs."""
    person.set_password(PASSWORD)
    person.save()
    return person


def address(point: HoldPoint) -> str:
    """Return the page of one hold point."""
    foundation = point.foundation
    return reverse("desk:hold_point", args=[foundation.corridor.slug, foundation.mark, point.stage])


def decision(point: HoldPoint, kind: str = "release", **more: str) -> dict[str, str]:
    """Return a filled form that decides on the last attempt."""
    return {
        "client_id": str(uuid7()),
        "inspection": str(attempt(point).pk),
        "decision": kind,
        "reason": "",
        "condition": "",
        "owner": "",
        "due_on": "",
        "back": "",
        "password": PASSWORD,
        **more,
    }


def size(corridor: Corridor) -> int:
    """Return how many entries the record holds."""
    return Head.objects.get(log=corridor.pk).size


def awaiting(foundation: Foundation, stage: str = "layout") -> HoldPoint:
    """Return a hold point that waits for the engineer; the clock of the tests is NOW or later."""
    return at_stage(foundation, stage, "inspected")


def referring(foundation: Foundation) -> HoldPoint:
    """Return a layout of which one reading refers to the engineer."""
    point = give_notice(hold_point(foundation, "layout"), NOW)
    _, answers = referring_at(point)
    return inspect(point, NOW + HOUR, answers)


def clean(corridor: Corridor, *marks: str) -> list[HoldPoint]:
    """Return layouts that all conform, one for each mark, waiting for the engineer."""
    return [awaiting(foundation) for foundation in bring_in(corridor, list(marks))]


def text(answer: Any) -> str:
    """Return a page as text."""
    return str(answer.content.decode())
