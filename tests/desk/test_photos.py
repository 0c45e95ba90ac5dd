"""Photos at the desk: what was taken, or sent, too far from the station is flagged, and the page says which of the two it knows."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from apps.corridor.models import Corridor, Foundation
from apps.holdpoints.models import HoldPoint, Photo
from apps.people.models import Person
from apps.record import guard
from apps.record.fixes import Fix
from apps.record.models import Attachment
from tests.desk.doing import address, awaiting, text
from tests.factories.places import fix, on_grid, position

NB = "\N{NO-BREAK SPACE}"


@pytest.fixture
def gridded(foundation: Foundation) -> Foundation:
    """LP-001 on an alignment whose grid is known."""
    return on_grid(foundation)


def sent_from(point: HoldPoint, where: Fix) -> None:
    """Write a position of the phone beside every photo of a hold point, behind the guard."""
    with guard.lifted():
        columns = {f"fix_{name}": value for name, value in where._asdict().items()}
        Photo.objects.filter(inspection__hold_point=point).update(**columns)


def placed(point: HoldPoint, feet: float) -> None:
    """Write a position that far off into every photo of a hold point, behind the guard, as older phones' files would have it."""
    foundation = Foundation.objects.select_related("alignment").get(pk=point.foundation_id)
    with guard.lifted():
        Attachment.objects.filter(photos__inspection__hold_point=point).update(
            position=position(foundation, feet, uncertainty_m=3.0, direction_deg=90.0, north="true")
        )


def test_the_desk_flags_what_was_taken_too_far_away(
    as_person: Any, corridor: Corridor, gridded: Foundation, signing: Person
) -> None:
    point = awaiting(gridded)
    client = as_person(signing)
    assert "None has a place that can be compared." in text(client.get(address(point)))
    placed(point, 12)
    page = text(client.get(address(point)))
    assert "12 ft from the station, ±\N{NO-BREAK SPACE}10\N{NO-BREAK SPACE}ft" in page and "looks E, 90°" in page
    assert "common practice, no source" in page and "farther than" not in page
    placed(point, 200)
    page = text(client.get(address(point)))
    assert "taken farther than 50 ft from the station" in page
    assert "farther than 50 ft: 200 ft from the station, ±\N{NO-BREAK SPACE}10\N{NO-BREAK SPACE}ft" in page


def test_the_limit_is_the_corridors_own(
    as_person: Any, corridor: Corridor, gridded: Foundation, signing: Person
) -> None:
    point = awaiting(gridded)
    placed(point, 200)
    Corridor.objects.update(photo_reach_ft=400)
    page = text(as_person(signing).get(address(point)))
    assert "200 ft from the station" in page and "farther than" not in page


def test_photos_are_for_members_only(client: Client, corridor: Corridor, gridded: Foundation) -> None:
    point = awaiting(gridded)
    assert client.get(reverse("desk:hold_point", args=[corridor.slug, gridded.mark, point.stage])).status_code == 302


def test_the_desk_says_where_the_phone_stood_where_the_file_says_nothing(
    as_person: Any, gridded: Foundation, signing: Person
) -> None:
    point = awaiting(gridded)
    client = as_person(signing)
    sent_from(point, fix(gridded, 30))
    page = text(client.get(address(point)))
    assert f"30 ft from the station, ±{NB}40{NB}ft" in page
    assert f"position of the phone, ±{NB}12{NB}m, 40{NB}s before the photo was sent" in page
    assert "came with the phone’s own position." in page and "farther than" not in page
    sent_from(point, fix(gridded, 30, accuracy_m="80"))
    page = text(client.get(address(point)))
    assert f"too coarse to tell 50 ft: 30 ft from the station, ±{NB}263{NB}ft" in page
    sent_from(point, fix(gridded, 200))
    page = text(client.get(address(point)))
    assert "sent farther than 50 ft from the station" in page and "taken farther" not in page
    assert "farther than 50 ft: 200 ft from the station" in page
    placed(point, 12)
    page = text(client.get(address(point)))
    assert "position in the photo" in page and "position of the phone" not in page and "farther than" not in page
