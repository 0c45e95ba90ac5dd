"""What Setup's and the record's lists cost: the same whatever stands in the corridor."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from apps.corridor.models import Corridor
from apps.people.models import Person
from tests.factories.corridor import bring_in

MOST_QUERIES = 20


def cost(client: Client, route: str, corridor: Corridor, **asked: str) -> int:
    """Return how many queries a page makes, once everything that is kept for the process is there."""
    address = reverse(route, args=[corridor.slug])
    client.get(address, asked)
    with CaptureQueriesContext(connection) as made:
        assert client.get(address, asked).status_code == 200
    return len(made)


@pytest.mark.parametrize("route", ["setup:setup", "dossier:stations"])
def test_a_page_costs_the_same_with_more_foundations(
    client: Client, corridor: Corridor, office: Person, route: str
) -> None:
    client.force_login(office)
    bring_in(corridor, ["LP-001"])
    few = cost(client, route, corridor)
    bring_in(corridor, [f"LP-{number:03d}" for number in range(2, 42)])
    assert cost(client, route, corridor) == few <= MOST_QUERIES


def test_requirements_cost_the_same_at_a_short_and_a_long_stage(
    client: Client, corridor: Corridor, office: Person
) -> None:
    client.force_login(office)
    short = cost(client, "setup:requirements", corridor, at="drill")
    assert cost(client, "setup:requirements", corridor, at="cage") == short <= MOST_QUERIES
