"""Photos at the desk: in the order of their views, each with its distance from the station, or with the reason why there is none."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from apps.config.demo.pictures import _degrees
from apps.corridor.models import Alignment, Corridor, Foundation
from apps.desk.photos import FAR, NEAR, PERHAPS, UNKNOWN, Shot, shots
from apps.holdpoints.models import HoldPoint, Photo
from apps.people.models import Person
from apps.record.models import Attachment
from tests.desk.doing import address, awaiting, text

GRID = {"projection": "transverse_mercator", "lat0_deg": "35", "lon0_deg": "-30", "scale": "0.9999"}
METRE_FT = 1 / 0.3048


@pytest.fixture
def gridded(foundation: Foundation) -> Foundation:
    """LP-001 on an alignment whose grid is known."""
    Alignment.objects.update(grid=GRID)
    return Foundation.objects.select_related("alignment", "corridor__edition").get(pk=foundation.pk)


def position(foundation: Foundation, east_ft: float, north_ft: float = 0, **more: Any) -> dict[str, Any]:
    """Return what a phone writes so many feet east and north of a foundation."""
    plane = foundation.alignment.plane
    assert plane is not None
    lat, lon = _degrees(plane, float(foundation.east_ft) + east_ft, float(foundation.north_ft) + north_ft)
    return {"lat": lat, "lon": lon, "uncertainty_m": None, "direction_deg": None, "north": "", **more}


def shot(foundation: Foundation, place: dict[str, Any] | None, reach: int = 50) -> Shot:
    return Shot(Photo(attachment=Attachment(position=place)), foundation, reach)


def test_the_distance_is_that_over_the_grid(gridded: Foundation) -> None:
    seen = shot(gridded, position(gridded, 30, 40, uncertainty_m=5.0))
    assert seen.away_ft == pytest.approx(50, abs=0.01)
    assert seen.distance == "50 ft from the station, ±\N{NO-BREAK SPACE}17\N{NO-BREAK SPACE}ft"


@pytest.mark.parametrize(
    ("feet", "metres", "where"),
    [
        (49, None, NEAR),
        (49, 30.0, NEAR),
        (51, None, FAR),
        (51, 2 / METRE_FT, PERHAPS),
        (90, 5.0, FAR),
        (60, 5.0, PERHAPS),
    ],
)
def test_farther_than_the_limit_is_far_only_beyond_the_uncertainty(
    gridded: Foundation, feet: float, metres: float | None, where: str
) -> None:
    assert shot(gridded, position(gridded, feet, uncertainty_m=metres)).where == where


def test_a_photo_without_a_position_says_so(gridded: Foundation) -> None:
    seen = shot(gridded, None)
    assert (seen.away_ft, seen.where, seen.distance, seen.looks) == (None, UNKNOWN, "no position in the file", "")


def test_a_corridor_without_a_grid_says_so(foundation: Foundation, gridded: Foundation) -> None:
    place = position(gridded, 0)
    assert foundation.alignment.plane is None
    seen = shot(foundation, place)
    assert (seen.where, seen.distance) == (UNKNOWN, "position in the file; the corridor has no grid to place it on")


def test_a_place_that_the_grid_is_not_for_is_unknown(gridded: Foundation) -> None:
    assert shot(gridded, {**position(gridded, 0), "lon": 150.0}).where == UNKNOWN


def test_an_uncertainty_that_was_not_given_is_not_made_up(gridded: Foundation) -> None:
    assert shot(gridded, position(gridded, 12)).distance == "12 ft from the station, uncertainty not given"


@pytest.mark.parametrize(
    ("degrees", "north", "words"),
    [
        (43.2, "true", "looks NE, 43°"),
        (359.8, "magnetic", "looks N, 0° magnetic"),
        (180.0, "", "looks S, 180°, north not named"),
    ],
)
def test_the_direction_is_said_with_its_north(gridded: Foundation, degrees: float, north: str, words: str) -> None:
    assert shot(gridded, position(gridded, 0, direction_deg=degrees, north=north)).looks == words


def test_photos_stand_in_the_order_of_the_views(gridded: Foundation) -> None:
    photos = [Photo(view=view, attachment=Attachment()) for view in ("b", "unasked", "a")]
    listed = shots(photos, gridded, gridded.corridor, ["a", "b"])
    assert [each.photo.view for each in listed.shots] == ["a", "b", "unasked"]


def placed(point: HoldPoint, feet: float) -> None:
    """Write a position that far off into every photo of a hold point, behind the guard, as older phones' files would have it."""
    from apps.record import guard

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
