"""A session slides with its use, is written at most once an hour for that, and ends a week after signing in."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
import time_machine
from django.conf import settings
from django.contrib.sessions.models import Session
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from apps.config.sessions import AT_MOST_S, SIGNED_IN
from apps.people.models import Person

pytestmark = pytest.mark.django_db
BEGIN = datetime(2026, 11, 24, 6, 0, tzinfo=UTC)
SHIFT = timedelta(seconds=settings.SESSION_COOKIE_AGE)
HOUR = timedelta(hours=1)


@pytest.fixture
def clock() -> Iterator[Any]:
    """The clock, standing at the beginning of the shift."""
    with time_machine.travel(BEGIN, tick=False) as travelled:
        yield travelled


@pytest.fixture
def signed_in(clock: Any, client: Client) -> Client:
    """A person who signed in through the page as the shift began."""
    Person.objects.create_user("d.reyes", "d.reyes@example.org", "alder mesa in the morning", name="D. Reyes")
    client.post(reverse("account_login"), {"login": "d.reyes", "password": "alder mesa in the morning"})
    assert uses(client)
    return client


def uses(client: Client) -> bool:
    """Open a page; say whether the person is still signed in."""
    return client.get(reverse("usersessions_list")).status_code == 200


def ends() -> datetime:
    """Return when the one session ends if it is not used."""
    return Session.objects.get().expire_date


def writes(client: Client) -> int:
    """Open a page; count what it writes to the sessions."""
    with CaptureQueriesContext(
        connection,
    ) as asked:
        assert uses(client)
    return sum("django_session" in each["sql"] and each["sql"].startswith(("UPDATE", "INSERT")) for each in asked)


def test_use_renews_a_session_so_that_it_outlasts_the_shift_that_it_began_in(clock: Any, signed_in: Client) -> None:
    assert ends() == BEGIN + SHIFT
    for hours in (5, 11, 16, 27):
        clock.move_to(BEGIN + hours * HOUR)
        assert uses(signed_in)
        assert ends() == BEGIN + hours * HOUR + SHIFT


def test_a_session_that_nobody_uses_ends_after_a_shift(clock: Any, signed_in: Client) -> None:
    clock.move_to(BEGIN + 5 * HOUR)
    assert uses(signed_in)
    clock.move_to(BEGIN + 5 * HOUR + SHIFT)
    assert not uses(signed_in)


def test_it_is_written_once_an_hour_at_most(clock: Any, signed_in: Client) -> None:
    assert writes(signed_in) == 0
    clock.move_to(BEGIN + HOUR - timedelta(seconds=1))
    assert writes(signed_in) == 0
    clock.move_to(BEGIN + HOUR)
    assert [writes(signed_in) for _ in range(3)] == [1, 0, 0]


def test_it_ends_a_week_after_signing_in_however_much_it_is_used(clock: Any, signed_in: Client) -> None:
    last = BEGIN + timedelta(seconds=AT_MOST_S)
    for hours in range(6, AT_MOST_S // 3600, 6):
        clock.move_to(BEGIN + hours * HOUR)
        assert uses(signed_in)
    clock.move_to(last - timedelta(seconds=1))
    assert uses(signed_in)
    clock.move_to(last)
    assert not uses(signed_in)


def test_a_session_from_before_counts_its_week_from_its_next_use(clock: Any, signed_in: Client) -> None:
    session = signed_in.session
    del session[SIGNED_IN]
    session.save()
    clock.move_to(BEGIN + 2 * HOUR)
    assert uses(signed_in)
    assert signed_in.session[SIGNED_IN] == (BEGIN + 2 * HOUR).timestamp()


def test_a_stranger_gets_no_session_by_it(client: Client) -> None:
    client.get(reverse("account_login"))
    assert not Session.objects.exists()
