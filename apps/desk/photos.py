"""Photos at the desk: view by view, how far from its station each says that it was taken, and which way it looks."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from apps.calc.alignment.grid import FOOT_M
from apps.calc.errors import CalcError
from apps.corridor.models import Corridor, Foundation
from apps.holdpoints.models import Photo

POINTS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")
METRE_FT = 1 / FOOT_M["international"]
NEAR, PERHAPS, FAR, UNKNOWN = "near", "perhaps", "far", "unknown"


@dataclass(frozen=True)
class Shot:
    """One photo with what its file says about the place."""

    photo: Photo
    foundation: Foundation
    reach_ft: int
    """How far from the station a photo may have been taken here."""

    @cached_property
    def away_ft(self) -> float | None:
        """How far from the foundation it was taken [ft]; None where the file or the corridor's grid says nothing."""
        position, plane = self.photo.attachment.position, self.foundation.alignment.plane
        if not position or plane is None:
            return None
        try:
            east, north = plane.feet(position["lat"], position["lon"])
        except CalcError:
            return None
        return math.hypot(east - float(self.foundation.east_ft), north - float(self.foundation.north_ft))

    @property
    def uncertain_ft(self) -> float | None:
        """How uncertain the phone was of its place [ft]; None where it did not say."""
        metres = (self.photo.attachment.position or {}).get("uncertainty_m")
        return None if metres is None else metres * METRE_FT

    @property
    def where(self) -> str:
        """How the distance compares with the reach: near, perhaps (nearer than the reach only by the phone's luck), far, unknown."""
        if self.away_ft is None:
            return UNKNOWN
        if self.away_ft <= self.reach_ft:
            return NEAR
        return PERHAPS if self.away_ft - (self.uncertain_ft or 0) <= self.reach_ft else FAR

    @property
    def distance(self) -> str:
        """The distance in words, or why there is none."""
        if not self.photo.attachment.position:
            return "no position in the file"
        if self.away_ft is None:
            return "position in the file; the corridor has no grid to place it on"
        give = (
            "uncertainty not given"
            if self.uncertain_ft is None
            else f"±\N{NO-BREAK SPACE}{math.ceil(self.uncertain_ft)}\N{NO-BREAK SPACE}ft"
        )
        return f"{round(self.away_ft):,} ft from the station, {give}"

    @property
    def looks(self) -> str:
        """Which way it looks, in words; empty where the file does not say."""
        position = self.photo.attachment.position or {}
        degrees = position.get("direction_deg")
        if degrees is None:
            return ""
        north = {"true": "", "magnetic": " magnetic"}.get(position["north"], ", north not named")
        return f"looks {POINTS[round(degrees / 45) % 8]}, {round(degrees) % 360}°{north}"


@dataclass(frozen=True, slots=True)
class Shots:
    """The photos of an attempt, in the order of its views."""

    shots: list[Shot]
    reach_ft: int

    def __len__(self) -> int:
        return len(self.shots)

    def count(self, where: str) -> int:
        """How many are near, perhaps, far or unknown."""
        return sum(shot.where == where for shot in self.shots)

    @property
    def far(self) -> int:
        """How many were taken farther away than they may, whatever the phone's uncertainty."""
        return self.count(FAR)

    @property
    def placed(self) -> int:
        """How many have a distance."""
        return len(self.shots) - self.count(UNKNOWN)


def shots(photos: Iterable[Photo], foundation: Foundation, corridor: Corridor, views: Iterable[str]) -> Shots:
    """Put an attempt's photos in the order of the edition's views, each with its distance. No query."""
    order = {view: place for place, view in enumerate(views)}
    listed = sorted(photos, key=lambda photo: (order.get(photo.view, len(order)), str(photo.pk)))
    reach = corridor.photo_reach_ft
    return Shots([Shot(photo, foundation, reach) for photo in listed], reach)
