"""The engineer's desk with many attempts waiting, against the same desk with nothing in it, and against a bare framed page.

It works in a database of its own beside the configured one, made for the run and dropped after it. Rows are written in bulk there:
what is timed is reading them.
"""

import atexit
from collections.abc import Callable, Iterator, Sequence
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

from django.db import connection
from django.http import HttpResponse
from django.shortcuts import render
from django.test import Client, override_settings
from django.test.utils import CaptureQueriesContext
from django.urls import include, path, reverse

from apps.config.benches.timing import Case, Differs
from apps.config.demo import scene
from apps.corridor.models import Corridor, Foundation, Membership
from apps.holdpoints.models import HoldPoint, Inspection, Measurement
from apps.people.models import Person
from apps.record.ids import uuid7
from apps.sheet.frame import CorridorRequest, corridor_page, titleblock

AT = datetime(2026, 3, 2, 15, tzinfo=UTC)
READINGS = 20
"""Measurements of an attempt: as many as a stage asks for."""


@corridor_page("desk")
def empty(request: CorridorRequest) -> HttpResponse:
    """Show a framed page with nothing on it."""
    return render(request, "base.html", {"titleblock": titleblock(request)})


urlpatterns = [path("", include("apps.config.urls")), path("bench/<slug:slug>/empty/", empty, name="bench-empty")]


def cases(sizes: Sequence[int] = ()) -> Iterator[Case]:
    """Yield the desk at each number of waiting attempts. Differs when its queries grow with their number."""
    connection.settings_dict["OPTIONS"].pop("pool", None)
    name = connection.creation.create_test_db(verbosity=0, autoclobber=True, serialize=False)
    atexit.register(_drop, name)
    # For the whole run: the addresses are laid out once, as they are in a server.
    with override_settings(ROOT_URLCONF=__name__, ALLOWED_HOSTS=["localhost"], SECURE_SSL_REDIRECT=False):
        made = scene.build(AT, uuid7, 90)
        yield from _sizes(made, sizes or (5, 50, 500))


def _sizes(made: scene.Scene, sizes: Sequence[int]) -> Iterator[Case]:
    engineer, corridor = made.people["engineer"][0], made.corridor
    idle = _idle(corridor, engineer)
    counted: dict[int, int] = {}
    for size in sizes:
        _wait(corridor, made.people["inspector"][0], size)
        work = _page(engineer, reverse("desk:queue", args=[corridor.slug]))
        work()
        queries = counted[size] = _queries(work)
        if len(set(counted.values())) > 1:
            raise Differs(f"the desk asks the database more with more that waits: {counted}")
        nothing = _page(engineer, reverse("desk:queue", args=[idle.slug]))
        frame = _page(engineer, f"/bench/{corridor.slug}/empty/")
        yield Case(f"desk, {queries} queries", size, work, nothing, "the desk with nothing waiting in it")
        yield Case(
            "desk, against the frame", size, work, frame, "a framed page with nothing on it, no query of its own"
        )


def _idle(corridor: Corridor, engineer: Person) -> Corridor:
    """Return a corridor like another on which nobody works, with the same engineer."""
    if found := Corridor.objects.filter(slug="idle").first():
        return found
    columns = {field.attname: getattr(corridor, field.attname) for field in Corridor._meta.concrete_fields}
    made = Corridor.objects.create(**columns | {"id": uuid7(), "slug": "idle"})
    Membership.objects.create(corridor=made, person=engineer, role="engineer", starts_on=corridor.starts_on)
    return made


def _drop(name: str) -> None:
    connection.close()
    connection.creation.destroy_test_db(name, verbosity=0)


def _page(person: Person, address: str) -> Callable[[], None]:
    """Return work that asks for a page as a person who is signed in, up to its last byte."""
    client = Client(headers={"host": "localhost"})
    client.force_login(person)

    def work() -> None:
        answer = client.get(address)
        if answer.status_code != 200 or not answer.content:
            raise Differs(f"{address} answered {answer.status_code} {answer.headers.get('Location', '')}")

    return work


def _queries(work: Callable[[], None]) -> int:
    with CaptureQueriesContext(connection) as found:
        work()
    return len(found)


def _wait(corridor: Corridor, inspector: Person, size: int) -> None:
    """Bring the corridor to so many layouts that wait for the engineer: foundations like its first, each looked at once."""
    have = HoldPoint.objects.awaiting_release().filter(corridor=corridor).count()
    first = Foundation.objects.filter(corridor=corridor).order_by("distance_ft")[0]
    made = [_like(first, number) for number in range(have, size)]
    Foundation.objects.bulk_create(made)
    points = [
        HoldPoint(
            corridor=corridor, foundation=each, stage="layout", place=0, state="inspected", attempts=1,
            since=AT + timedelta(minutes=number),
        )
        for number, each in enumerate(made, have)
    ]  # fmt: skip
    HoldPoint.objects.bulk_create(points)
    attempts = [_attempt(point, inspector, corridor) for point in points]
    Inspection.objects.bulk_create(attempts)
    Measurement.objects.bulk_create(row for each in attempts for row in _readings(each))


def _like(first: Foundation, number: int) -> Foundation:
    """Return a foundation like another, under a mark of its own and a little farther along."""
    columns: dict[str, Any] = {
        field.attname: getattr(first, field.attname) for field in Foundation._meta.concrete_fields
    }
    moved = Decimal(number)
    columns |= {
        "id": uuid7(), "mark": f"W-{number:04d}",
        "station_ft": first.station_ft + moved, "distance_ft": first.distance_ft + moved,
    }  # fmt: skip
    return Foundation(**columns)


def _attempt(point: HoldPoint, inspector: Person, corridor: Corridor) -> Inspection:
    return Inspection(
        hold_point=point, attempt=1, edition=corridor.edition, inspector=inspector, looked_at=point.since,
        received_at=point.since, tally={"conforms": READINGS}, tightest="Setback: 1 ft to spare", entry=1,
    )  # fmt: skip


def _readings(attempt: Inspection) -> Iterator[Measurement]:
    for place in range(READINGS):
        yield Measurement(
            inspection=attempt, foundation=attempt.hold_point.foundation, stage="layout", place=place,
            requirement_key=f"layout.bench_{place}", title=f"Requirement {place}", grade="major",
            readings=[{"place": "", "typed": "7 in", "unit": "in"}], value="7", unit="in", value_text="7 in",
            limit_text="at most 8 in", limits={"high": "8"}, outcome="conforms", margin="1", margin_text="1 in to spare",
            headline="Conforms",
        )  # fmt: skip
