"""Several corridors on one page: the same numbers as each one's own sheet, and a programme sees only its own."""

from typing import Any

import pytest
from django.urls import reverse

from apps.board import queries
from apps.board.several import several
from apps.corridor.models import Corridor
from apps.holdpoints import acts
from apps.people.models import Person
from apps.record.ids import uuid7
from tests.factories import findings
from tests.factories.corridor import light_pole, member, open_corridor, whole_corridor
from tests.factories.holdpoints import at_stage
from tests.factories.times import DAY, NOW

pytestmark = pytest.mark.django_db


@pytest.fixture
def two(corridor: Corridor) -> list[Corridor]:
    """Two corridors: one with a release, one that waits for one, and a finding that holds."""
    at_stage(light_pole(corridor), "drill", "released")
    other = whole_corridor("second-road")
    at_stage(light_pole(other), "layout", "inspected")
    findings.raised(light_pole(other, "LP-002"), stage="layout")
    return list(Corridor.objects.select_related("tally", "edition").order_by("slug"))


def test_each_line_is_what_its_own_sheet_says(two: list[Corridor]) -> None:
    at = NOW + 3 * DAY
    for each in several(two, at):
        sheet = queries.morning(each.corridor, at)
        assert (each.percent, each.change) == (sheet.percent, sheet.change)
        assert each.waiting == sheet.parties[0].number
        assert (each.foundations, each.holding) == (sheet.tally.foundations, sheet.holding_count)
    first, second = several(two, at)
    assert (first.waiting, first.holding, second.waiting, second.holding, second.findings) == (0, 0, 1, 1, 1)
    assert first.percent > 0
    assert second.oldest is not None


def test_what_waits_at_an_abandoned_foundation_is_not_the_oldest(two: list[Corridor], office: Person) -> None:
    second = two[1]
    foundation = second.foundations.get(mark="LP-001")
    engineer = member(second, "engineer")
    acts.abandon(foundation=foundation, reason="Rock", successor=None, by=engineer, at=NOW + 2 * DAY, client_id=uuid7())
    fresh = Corridor.objects.select_related("tally", "edition").get(pk=second.pk)
    line = several([fresh], NOW + 3 * DAY)[0]
    assert (line.waiting, line.oldest) == (0, None)


def test_a_programme_sees_its_corridors_and_no_other(two: list[Corridor], as_person: Any, office: Person) -> None:
    third = open_corridor("third-road")
    page = as_person(office).get(reverse("home")).content.decode()
    assert "2 corridors are open to you." in page
    assert reverse("board:morning", args=[two[0].slug]) in page
    assert reverse("board:morning", args=[two[1].slug]) in page
    assert third.slug not in page


def test_the_cost_is_two_queries_a_corridor_and_one(two: list[Corridor], django_assert_max_num_queries: Any) -> None:
    member(two[0], "office")
    with django_assert_max_num_queries(1 + 2 * len(two)):
        several(two, NOW + 3 * DAY)
