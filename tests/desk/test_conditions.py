"""Conditions of releases: listed with their day and age, met by who may, once."""

from datetime import date
from typing import Any

import pytest
from django.urls import reverse

from apps.corridor.access import Role
from apps.corridor.models import Corridor, Foundation
from apps.holdpoints import acts, moves
from apps.holdpoints.models import Condition
from apps.people.models import Person
from apps.record.ids import uuid7
from apps.record.models import Entry
from tests.desk.doing import awaiting, text
from tests.factories.corridor import bring_in, member, whole_corridor
from tests.factories.doing import standing
from tests.factories.holdpoints import attempt
from tests.factories.times import DAY, HOUR, NOW

pytestmark = pytest.mark.django_db


def conditional(foundation: Foundation, due_on: date = date(2026, 3, 12), what: str = "Coat the bolts") -> Condition:
    """Release a layout under a condition."""
    point = awaiting(foundation)
    acts.release_with_condition(
        hold_point=point, inspection=attempt(point), by=member(foundation.corridor, "engineer"), at=NOW + 5 * HOUR,
        client_id=uuid7(), condition=what, owner="Crew 1", due_on=due_on,
    )  # fmt: skip
    return Condition.objects.get(decision__inspection__hold_point=point)


def page(corridor: Corridor) -> str:
    return reverse("desk:conditions", args=[corridor.slug])


def met(row: Condition, how: str = "Seen on site") -> tuple[str, dict[str, str]]:
    """Return address and filled form that say a condition is met."""
    slug = row.decision.inspection.hold_point.corridor.slug
    return reverse("desk:meet", args=[slug, row.pk]), {"client_id": str(uuid7()), "how": how}


def test_open_ones_are_listed_by_their_day_with_owner_and_age(
    as_person: Any, corridor: Corridor, engineer: Person
) -> None:
    one, two = bring_in(corridor, ["LP-001", "LP-002"])
    conditional(one, date(2026, 3, 12), "Coat the bolts")
    conditional(two, date(2026, 3, 4), "Sketch of the conduits")
    answer = as_person(engineer).get(page(corridor))
    said = text(answer)
    assert [(line.row.text, line.late) for line in answer.context["lines"]] == [
        ("Sketch of the conduits", True),
        ("Coat the bolts", False),
    ]
    assert "2 still to be met" in said and "1 past its day" in said
    assert "Crew 1, until" in said and "Wed 4 Mar 2026, late" in said and "1 d 19 h</span>. Released" in said
    assert "2 conditions of releases to be met" in text(
        as_person(engineer).get(reverse("desk:queue", args=[corridor.slug]))
    )


def test_the_word_that_it_is_met_is_written_and_it_leaves_the_list(
    as_person: Any, foundation: Foundation, office: Person
) -> None:
    url, sent = met(conditional(foundation), "Photo 12, bolts coated")
    client = as_person(office)
    answer = client.post(url, sent, follow=True)
    assert "LP-001, layout: the condition is met, entry" in text(answer)
    assert answer.context["lines"] == [] and "Photo 12, bolts coated" in text(answer)
    assert Entry.objects.get(act="meet_condition").payload["how"] == "Photo 12, bolts coated"
    client.post(url, sent)
    assert Entry.objects.filter(act="meet_condition").count() == 1


def test_met_twice_is_told_who_was_first(
    as_person: Any, foundation: Foundation, office: Person, inspector: Person
) -> None:
    row = conditional(foundation)
    acts.meet_condition(condition=row, how="Seen", by=inspector, at=NOW + DAY,
                        client_id=uuid7())  # fmt: skip
    url, sent = met(row)
    answer = as_person(office).post(url, sent)
    assert answer.status_code == 409
    assert "The condition is met already: 4 Mar 08:00 by D. Reyes." in text(answer)


@pytest.mark.parametrize("how", ["", "   ", "x" * 201])
def test_how_it_shows_is_needed_and_not_too_long(
    how: str, as_person: Any, foundation: Foundation, office: Person
) -> None:
    url, sent = met(conditional(foundation), how)
    assert as_person(office).post(url, sent).status_code == 422
    assert Condition.objects.get().met_at is None


@pytest.mark.parametrize("role", Role.values)
def test_only_who_may_meets_a_condition_also_by_a_hand_made_post(
    role: str, as_person: Any, foundation: Foundation
) -> None:
    row, by = conditional(foundation), member(foundation.corridor, role)
    before = standing(foundation.corridor)
    url, sent = met(row)
    answer = as_person(by).post(url, sent)
    if role in moves.CONDITION_ROLES:
        assert answer.status_code == 302
    else:
        assert answer.status_code == 409 and "This is for" in text(answer)
        assert standing(foundation.corridor) == before


def test_an_abandoned_foundation_has_no_open_condition(
    as_person: Any, foundation: Foundation, engineer: Person
) -> None:
    row = conditional(foundation)
    acts.abandon(foundation=foundation, reason="Rock", by=engineer, at=NOW + DAY, client_id=uuid7())
    url, sent = met(row)
    answer = as_person(engineer).post(url, sent)
    assert answer.status_code == 409 and "LP-001 is abandoned." in text(answer)
    assert answer.context["lines"] == []


def test_a_condition_of_another_corridor_is_not_found(as_person: Any, foundation: Foundation, engineer: Person) -> None:
    row, other = conditional(foundation), whole_corridor("other-road")
    by = member(other, "office")
    url = reverse("desk:meet", args=[other.slug, row.pk])
    assert as_person(by).post(url, {"client_id": str(uuid7()), "how": "Seen"}).status_code == 404
