"""A plane grid over the ellipsoid: where a latitude and longitude stand on the grid that an alignment's coordinates are in.

grid = grid_from({"projection": "transverse_mercator", "lat0_deg": "31", "lon0_deg": "-104.33", "scale": "0.9999", ...})
grid.feet(34.2, -104.1)                                     # east, north [ft]
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from apps.calc.errors import CalcError, between, exact, finite, positive

SEMI_MAJOR_M = 6378137.0
FLATTENING = 1 / 298.257222101
"""GRS 80 (Moritz, Geodetic Reference System 1980, Journal of Geodesy 74, 2000). WGS 84 differs from it by a tenth of a millimetre."""
FOOT_M = {"international": 0.3048, "us_survey": 1200 / 3937}
PROJECTIONS = ("transverse_mercator", "lambert_conformal")
WIDE_DEG = 4.0
"""How far from the central meridian the series of the transverse Mercator is used [degrees of longitude]: millimetres still."""


@dataclass(frozen=True)
class Grid:
    """A grid as the surveyor's control sheet describes it. Angles in degrees, north and east positive; false values in feet."""

    projection: str
    lat0_deg: float
    lon0_deg: float
    scale: float = 1.0
    """On the central meridian; transverse Mercator only."""
    lat1_deg: float = 0.0
    lat2_deg: float = 0.0
    """Standard parallels; Lambert only."""
    false_east_ft: float = 0.0
    false_north_ft: float = 0.0
    foot: str = "us_survey"
    semi_major_m: float = SEMI_MAJOR_M
    flattening: float = FLATTENING

    @property
    def squared(self) -> float:
        """First eccentricity squared."""
        return self.flattening * (2 - self.flattening)

    def feet(self, lat_deg: float, lon_deg: float) -> tuple[float, float]:
        """Return east and north [ft] of a latitude and longitude [degrees, WGS 84 or NAD 83].

        CalcError outside latitudes of 84 degrees and, for transverse Mercator, further than WIDE_DEG from the central meridian.
        No change of datum is made: WGS 84 as phones have it stands some 3 to 7 ft from NAD 83 (from memory), less than a
        phone's own uncertainty as a rule.
        """
        lat = math.radians(between("lat_deg", float(finite("lat_deg", lat_deg)), -84, 84))
        away = (float(finite("lon_deg", lon_deg)) - self.lon0_deg + 180) % 360 - 180
        if self.projection == "transverse_mercator":
            x, y = _transverse_mercator(self, lat, math.radians(between("lon_deg", away, -WIDE_DEG, WIDE_DEG)))
        else:
            x, y = _lambert(self, lat, math.radians(away))
        foot = FOOT_M[self.foot]
        return x / foot + self.false_east_ft, y / foot + self.false_north_ft


def _meridian(grid: Grid, lat: float) -> float:
    """Return the length of the meridian from the equator [m] (Snyder, eq. 3-21)."""
    e2 = grid.squared
    e4, e6 = e2 * e2, e2**3
    return grid.semi_major_m * (
        (1 - e2 / 4 - 3 * e4 / 64 - 5 * e6 / 256) * lat
        - (3 * e2 / 8 + 3 * e4 / 32 + 45 * e6 / 1024) * math.sin(2 * lat)
        + (15 * e4 / 256 + 45 * e6 / 1024) * math.sin(4 * lat)
        - (35 * e6 / 3072) * math.sin(6 * lat)
    )


def _transverse_mercator(grid: Grid, lat: float, away: float) -> tuple[float, float]:
    """Return x and y [m] (Snyder, eqs. 8-9 and 8-10)."""
    e2 = grid.squared
    second = e2 / (1 - e2)
    n = grid.semi_major_m / math.sqrt(1 - e2 * math.sin(lat) ** 2)
    t, c, a = math.tan(lat) ** 2, second * math.cos(lat) ** 2, away * math.cos(lat)
    x = a + (1 - t + c) * a**3 / 6 + (5 - 18 * t + t * t + 72 * c - 58 * second) * a**5 / 120
    up = (
        a**2 / 2 + (5 - t + 9 * c + 4 * c * c) * a**4 / 24 + (61 - 58 * t + t * t + 600 * c - 330 * second) * a**6 / 720
    )
    rise = _meridian(grid, lat) - _meridian(grid, math.radians(grid.lat0_deg))
    return grid.scale * n * x, grid.scale * (rise + n * math.tan(lat) * up)


def _lambert(grid: Grid, lat: float, away: float) -> tuple[float, float]:
    """Return x and y [m] (Snyder, eqs. 14-1, 14-2, 15-1 to 15-10)."""
    e = math.sqrt(grid.squared)

    def m(at: float) -> float:
        return math.cos(at) / math.sqrt(1 - (e * math.sin(at)) ** 2)

    def t(at: float) -> float:
        squeeze: float = ((1 - e * math.sin(at)) / (1 + e * math.sin(at))) ** (e / 2)
        return math.tan(math.pi / 4 - at / 2) / squeeze

    first, second = math.radians(grid.lat1_deg), math.radians(grid.lat2_deg)
    if math.isclose(first, second):
        n = math.sin(first)
    else:
        n = (math.log(m(first)) - math.log(m(second))) / (math.log(t(first)) - math.log(t(second)))
    stretch = grid.semi_major_m * m(first) / (n * t(first) ** n)
    rho, rho0 = stretch * t(lat) ** n, stretch * t(math.radians(grid.lat0_deg)) ** n
    return rho * math.sin(n * away), rho0 - rho * math.cos(n * away)


def grid_from(data: Mapping[str, Any]) -> Grid:
    """Make a grid from plain data, such as a JSON field holds. Numbers as text.

        {"projection": "transverse_mercator", "lat0_deg": "31", "lon0_deg": "-104.33", "scale": "0.99990909",
         "false_east_ft": "541337.5", "false_north_ft": "0", "foot": "us_survey"}
        {"projection": "lambert_conformal", "lat0_deg": "36.67", "lon0_deg": "-105.5", "lat1_deg": "39.72", "lat2_deg": "40.78", …}

    CalcError names what is wrong. Source of both projections: Snyder, Map Projections: A Working Manual, U.S. Geological
    Survey Professional Paper 1395, 1987, chapters 8 and 15.
    """
    projection, foot = data.get("projection"), data.get("foot", "us_survey")
    if projection not in PROJECTIONS:
        raise CalcError("projection", f"expected one of {', '.join(PROJECTIONS)}, got {projection!r}")
    if foot not in FOOT_M:
        raise CalcError("foot", f"expected one of {', '.join(FOOT_M)}, got {foot!r}")

    def number(name: str, low: float, high: float, default: Any = None) -> float:
        given = data.get(name, default)
        if given is None:
            raise CalcError(name, "is needed")
        return between(name, float(exact(name, given)), low, high)

    lambert = projection == "lambert_conformal"
    parallels = [number(name, -80, 80) if lambert else 0.0 for name in ("lat1_deg", "lat2_deg")]
    if lambert and abs(sum(parallels)) < 1e-6:
        raise CalcError("lat2_deg", "the two parallels may not lie alike north and south of the equator")
    return Grid(
        projection=projection,
        lat0_deg=number("lat0_deg", -84, 84),
        lon0_deg=number("lon0_deg", -180, 180),
        scale=positive("scale", float(exact("scale", data.get("scale", 1)))),
        lat1_deg=parallels[0],
        lat2_deg=parallels[1],
        false_east_ft=float(exact("false_east_ft", data.get("false_east_ft", 0))),
        false_north_ft=float(exact("false_north_ft", data.get("false_north_ft", 0))),
        foot=foot,
    )
