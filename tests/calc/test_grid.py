"""The plane grid against the worked examples of Snyder, Map Projections: A Working Manual, USGS Professional Paper 1395, 1987."""

import math
from dataclasses import replace
from typing import Any

import pytest

from apps.calc.alignment import Grid, grid_from
from apps.calc.errors import CalcError

FOOT = 0.3048
CLARKE = {"semi_major_m": 6378206.4, "flattening": 1 / 294.978698214, "foot": "international"}
MERCATOR = {"projection": "transverse_mercator", "lat0_deg": "35", "lon0_deg": "-30", "scale": "0.9999"}
LAMBERT = {"projection": "lambert_conformal", "lat0_deg": 23, "lon0_deg": -96, "lat1_deg": 33, "lat2_deg": 45}


def metres(grid: Grid, lat: float, lon: float) -> tuple[float, float]:
    east, north = grid.feet(lat, lon)
    return east * FOOT, north * FOOT


def test_transverse_mercator_gives_the_published_example() -> None:
    """PP 1395, Appendix A, p. 269: 40°30' N 73°30' W, central meridian 75° W, k0 0.9996, printed to 0.1 m."""
    grid = Grid("transverse_mercator", 0, -75, 0.9996, **CLARKE)  # type: ignore[arg-type]
    assert metres(grid, 40.5, -73.5) == pytest.approx((127106.5, 4484124.4), abs=0.06)


def test_lambert_gives_the_published_example() -> None:
    """PP 1395, Appendix A, p. 296: 35° N 75° W, parallels 33° and 45° N, origin 23° N 96° W, printed to 0.1 m."""
    grid = replace(grid_from(LAMBERT), **CLARKE)  # type: ignore[arg-type]
    assert metres(grid, 35, -75) == pytest.approx((1894410.9, 1564649.5), abs=0.06)


def test_one_parallel_is_the_limit_of_two() -> None:
    one, two = (grid_from({**LAMBERT, "lat1_deg": 40, "lat2_deg": second}) for second in (40, 40 + 1e-5))
    assert one.feet(41, -95) == pytest.approx(two.feet(41, -95), abs=0.5)


def test_the_origin_has_the_false_values() -> None:
    for data in (MERCATOR, LAMBERT):
        grid = grid_from({**data, "false_east_ft": "600000", "false_north_ft": "1000"})
        assert grid.feet(grid.lat0_deg, grid.lon0_deg) == pytest.approx((600000, 1000), abs=1e-6)


@pytest.mark.parametrize("lat", [-40.0, 0.5, 35.0, 62.0])
def test_a_small_step_is_as_long_as_on_the_ellipsoid(lat: float) -> None:
    """Both radii of curvature of GRS 80 (meridian and prime vertical) against steps on the grid's central meridian."""
    grid, step = grid_from({**MERCATOR, "scale": "1"}), 1e-5
    at = math.sin(math.radians(lat))
    prime = grid.semi_major_m / math.sqrt(1 - grid.squared * at**2)
    meridian = prime * (1 - grid.squared) / (1 - grid.squared * at**2)
    east, north = grid.feet(lat, -30)
    foot = 1200 / 3937
    assert (grid.feet(lat + step, -30)[1] - north) * foot == pytest.approx(meridian * math.radians(step), rel=1e-6)
    along = prime * math.cos(math.radians(lat)) * math.radians(step)
    assert (grid.feet(lat, -30 + step)[0] - east) * foot == pytest.approx(along, rel=1e-6)


def test_the_two_feet_differ_by_two_in_a_million() -> None:
    survey, other = (
        grid_from({**MERCATOR, "foot": foot}).feet(35.2, -29.8)[0] for foot in ("us_survey", "international")
    )
    assert other / survey == pytest.approx(1 + 2e-6, abs=1e-9)


def test_longitudes_meet_behind_the_earth() -> None:
    grid = grid_from({**MERCATOR, "lon0_deg": 179.9})
    assert grid.feet(35, -179.9)[0] == pytest.approx(grid_from(MERCATOR).feet(35, -29.8)[0], abs=1e-3)


@pytest.mark.parametrize(
    ("more", "names"),
    [
        ({"projection": "globe"}, "projection"),
        ({"foot": "cubit"}, "foot"),
        ({"lat0_deg": None}, "lat0_deg"),
        ({"lat0_deg": "91"}, "lat0_deg"),
        ({"lon0_deg": "200"}, "lon0_deg"),
        ({"scale": "0"}, "scale"),
        ({"scale": "nan"}, "scale"),
        ({**LAMBERT, "lat2_deg": -33}, "lat2_deg"),
        ({**LAMBERT, "lat1_deg": None}, "lat1_deg"),
    ],
)
def test_what_is_wrong_is_named(more: dict[str, Any], names: str) -> None:
    with pytest.raises(CalcError) as fault:
        grid_from({**MERCATOR, **more})
    assert names in str(fault.value)


@pytest.mark.parametrize("place", [(85, -30), (35, -25), (35, 150), (math.nan, -30), (35, math.inf)])
def test_places_that_the_grid_is_not_for_are_refused(place: tuple[float, float]) -> None:
    with pytest.raises(CalcError):
        grid_from(MERCATOR).feet(*place)
