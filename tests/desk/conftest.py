"""What tests of the desk ask for: the clock some hours after the inspections, an engineer who can sign."""

from typing import Any

import pytest

from apps.people.models import Person
from tests.desk.doing import signs
from tests.factories.times import DAY, NOW


@pytest.fixture(autouse=True)
def later(clock: Any) -> None:
    """The server's clock: two days after work began, so that what waits is past the promise of a day."""
    clock.move_to(NOW + 2 * DAY)


@pytest.fixture
def signing(engineer: Person) -> Person:
    """R. Halvorsen with a password."""
    return signs(engineer)
