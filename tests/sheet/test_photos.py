"""Photos by view: the distance from the station by the file's own position, else by the phone's; or the reason why there is none."""

from typing import Any

import pytest

from apps.corridor.models import Foundation
from apps.holdpoints.models import Photo
from apps.record.fixes import Fix
from apps.record.models import Attachment
from apps.sheet.photos import COARSE, FAR, NEAR, PERHAPS, UNKNOWN, Shot, Shots, shots
from tests.factories.places import METRE_FT, fix, fixed, on_grid, position

pytestmark = pytest.mark.django_db
NB = "\N{NO-BREAK SPACE}"


@pytest.fixture
def gridded(foundation: Foundation) -> Foundation:
    """LP-001 on an alignment whose grid is known."""
    return on_grid(foundation)


def shot(foundation: Foundation, place: dict[str, Any] | None, reach: int = 50) -> Shot:
    return Shot(Photo(attachment=Attachment(position=place)), foundation, reach)


def sent(foundation: Foundation, where: Fix, place: dict[str, Any] | None = None, reach: int = 50) -> Shot:
    """Return a photo that came with a position of the phone."""
    return Shot(fixed(Photo(attachment=Attachment(position=place)), where), foundation, reach)


def test_the_distance_is_that_over_the_grid(gridded: Foundation) -> None:
    seen = shot(gridded, position(gridded, 30, 40, uncertainty_m=5.0))
    assert seen.away_ft == pytest.approx(50, abs=0.01)
    assert seen.distance == "50 ft from the station, ±\N{NO-BREAK SPACE}17\N{NO-BREAK SPACE}ft"


@pytest.mark.parametrize(
    ("feet", "metres", "where"),
    [
        (49, None, NEAR),
        (49, 15.2, NEAR),  # 49.9 ft of uncertainty: it can still tell 50 ft
        (49, 15.3, COARSE),  # 50.2 ft: it cannot
        (0, 80.0, COARSE),
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
    assert (seen.away_ft, seen.where, seen.distance, seen.looks) == (
        None,
        UNKNOWN,
        "no position in the file, none of the phone",
        "",
    )
    assert seen.source == seen.verdict == ""


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


# ---- the phone's own position


def test_without_a_position_in_the_file_the_phones_own_is_measured_and_named(gridded: Foundation) -> None:
    seen = sent(gridded, fix(gridded, 30))
    assert seen.away_ft == pytest.approx(30, abs=0.05)
    assert (seen.where, seen.verdict) == (NEAR, "")
    # 12 m are 39.37 ft (0.3048 m a foot, exact since 1959).
    assert seen.distance == f"30 ft from the station, ±{NB}40{NB}ft"
    assert seen.source == f"position of the phone, ±{NB}12{NB}m, 40{NB}s before the photo was sent"


def test_the_position_in_the_file_comes_first(gridded: Foundation) -> None:
    seen = sent(gridded, fix(gridded, 4000), position(gridded, 12, uncertainty_m=3.0))
    assert (seen.fix, seen.where, seen.source) == (None, NEAR, "position in the photo")
    assert seen.distance == f"12 ft from the station, ±{NB}10{NB}ft"


@pytest.mark.parametrize(
    ("feet", "metres", "where"),
    [
        (49, "5", NEAR),
        (49, "15.2", NEAR),  # 49.87 ft: it can just tell 50 ft
        (49, "15.3", COARSE),  # 50.2 ft: it cannot
        (0, "80", COARSE),
        (90, "80", COARSE),
        (312, "80", COARSE),  # 262.5 ft of radius and 50 ft
        (314, "80", FAR),  # too coarse for 50 ft, and still farther than that
        (51, "0.4", PERHAPS),
        (51.5, "0.4", FAR),
        (89, "12", PERHAPS),  # the radius widens what is taken as near: 39.4 ft and 50 ft
        (90, "12", FAR),
    ],
)
def test_a_phone_less_certain_than_the_limit_is_too_coarse_to_tell(
    gridded: Foundation, feet: float, metres: str, where: str
) -> None:
    assert sent(gridded, fix(gridded, feet, accuracy_m=metres)).where == where


def test_a_coarse_position_says_so_with_its_distance(gridded: Foundation) -> None:
    seen = sent(gridded, fix(gridded, 30, accuracy_m="80"))
    assert seen.said == (
        f"too coarse to tell 50 ft: 30 ft from the station, ±{NB}263{NB}ft, "
        f"position of the phone, ±{NB}80{NB}m, 40{NB}s before the photo was sent"
    )


def test_a_position_of_the_phone_without_a_grid_says_so(gridded: Foundation, foundation: Foundation) -> None:
    where = fix(gridded, 0)
    assert foundation.alignment.plane is None
    seen = sent(foundation, where)
    assert (seen.where, seen.distance) == (
        UNKNOWN,
        "a position of the phone; the corridor has no grid to place it on",
    )
    assert seen.source.startswith("position of the phone")


def test_what_was_taken_far_away_and_what_was_sent_from_far_away_are_told_apart(gridded: Foundation) -> None:
    far, near = position(gridded, 400), position(gridded, 4)
    listed = Shots([shot(gridded, far), sent(gridded, fix(gridded, 400)), shot(gridded, near), shot(gridded, None)], 50)
    assert listed.far == "1 taken and 1 sent farther than 50 ft from the station, of 4."
    assert listed.placed == "2 of 4 say where they were taken. 1 of 4 came with the phone’s own position."
    phones = Shots([sent(gridded, fix(gridded, 9, accuracy_m="80")), sent(gridded, fix(gridded, 9))], 50)
    assert phones.far == ""
    assert phones.placed == "2 of 2 came with the phone’s own position. 1 of these too coarse to tell 50 ft."
    assert Shots([shot(gridded, None)], 50).placed == ""
