"""Places on the grid of an alignment, and what a phone says of them: in a photo's file, or as a position of its own."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

from apps.config.demo.pictures import _degrees
from apps.corridor.models import Alignment, Foundation
from apps.holdpoints.models import Photo
from apps.record.fixes import Fix
from tests.factories.times import NOW

GRID = {"projection": "transverse_mercator", "lat0_deg": "35", "lon0_deg": "-30", "scale": "0.9999"}
METRE_FT = 1 / 0.3048
AGE_S = 40


def on_grid(foundation: Foundation) -> Foundation:
    """Bring the control sheet of every alignment in; return the foundation anew."""
    Alignment.objects.update(grid=GRID)
    return Foundation.objects.select_related("alignment", "corridor__edition").get(pk=foundation.pk)


def degrees(foundation: Foundation, east_ft: float, north_ft: float = 0) -> tuple[float, float]:
    """Return latitude and longitude so many feet east and north of a foundation."""
    plane = foundation.alignment.plane
    assert plane is not None
    return _degrees(plane, float(foundation.east_ft) + east_ft, float(foundation.north_ft) + north_ft)


def position(foundation: Foundation, east_ft: float, north_ft: float = 0, **more: Any) -> dict[str, Any]:
    """Return what a phone writes into a photo's file there."""
    lat, lon = degrees(foundation, east_ft, north_ft)
    return {"lat": lat, "lon": lon, "uncertainty_m": None, "direction_deg": None, "north": "", **more}


def fix(foundation: Foundation, east_ft: float, *, accuracy_m: str = "12", age_s: int = AGE_S) -> Fix:
    """Return what a phone sends beside a photo there."""
    lat, lon = (Decimal(f"{angle:.7f}") for angle in degrees(foundation, east_ft))
    return Fix(lat, lon, Decimal(accuracy_m), NOW - timedelta(seconds=age_s), age_s)


def fixed(photo: Photo, where: Fix) -> Photo:
    """Return a photo, not saved, that came with a position of the phone."""
    for name, value in where._asdict().items():
        setattr(photo, f"fix_{name}", value)
    return photo


def typed(where: Fix) -> dict[str, str]:
    """Return a position of the phone as the fields of the form send it."""
    return {
        "fix:lat": str(where.lat),
        "fix:lon": str(where.lon),
        "fix:accuracy": str(where.accuracy_m),
        "fix:at": where.at.isoformat(),
        "fix:sent": (where.at + timedelta(seconds=where.age_s)).isoformat(),
    }
