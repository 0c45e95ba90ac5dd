"""Photos of an attempt, view by view: where each comes from, how far from its station, and which way it looks.

A photo's place is what the phone wrote into the file. Only where the file has none, it is where the phone said that it stood when it
sent the photo (record.fixes). Both are said by a phone, at its own uncertainty; neither proves a place.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from apps.calc.alignment.grid import FOOT_M
from apps.calc.errors import CalcError
from apps.corridor.models import Corridor, Foundation
from apps.holdpoints.models import Photo
from apps.record.fixes import Fix

POINTS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")
METRE_FT = 1 / FOOT_M["international"]
NEAR, PERHAPS, FAR, COARSE, UNKNOWN = "near", "perhaps", "far", "coarse", "unknown"
PLACES = (NEAR, PERHAPS, FAR, COARSE, UNKNOWN)
NB = "\N{NO-BREAK SPACE}"


@dataclass(frozen=True)
class Shot:
    """One photo with what is known of its place."""

    photo: Photo
    foundation: Foundation
    reach_ft: int
    """How far from the station a photo may have been taken here."""

    @cached_property
    def fix(self) -> Fix | None:
        """The phone's own position, where it is what the place is taken from: the file says nothing."""
        return None if self.photo.attachment.position else self.photo.fix

    @cached_property
    def away_ft(self) -> float | None:
        """How far from the foundation the place is [ft]; None where there is none, or no grid to put it on."""
        plane = self.foundation.alignment.plane
        position = {"lat": self.fix.lat, "lon": self.fix.lon} if self.fix else self.photo.attachment.position
        if plane is None or not position:
            return None
        try:
            east, north = plane.feet(float(position["lat"]), float(position["lon"]))
        except CalcError:
            return None
        return math.hypot(east - float(self.foundation.east_ft), north - float(self.foundation.north_ft))

    @property
    def uncertain_ft(self) -> float | None:
        """How uncertain the phone was of the place [ft]; None where it did not say."""
        if self.fix:
            return float(self.fix.accuracy_m) * METRE_FT
        metres = (self.photo.attachment.position or {}).get("uncertainty_m")
        return None if metres is None else metres * METRE_FT

    @property
    def where(self) -> str:
        """How the distance compares with the reach: one of PLACES.

        far: farther, whatever the phone's uncertainty. coarse: a position less certain than the reach is long shows
        nothing nearer than that. perhaps: nearer than the reach only by the phone's luck.
        """
        if self.away_ft is None:
            return UNKNOWN
        uncertain = self.uncertain_ft or 0
        if self.away_ft > self.reach_ft and self.away_ft - uncertain > self.reach_ft:
            return FAR
        if uncertain > self.reach_ft:
            return COARSE
        return NEAR if self.away_ft <= self.reach_ft else PERHAPS

    @property
    def verdict(self) -> str:
        """What the comparison comes to, in words to stand before the distance; empty where there is nothing to say."""
        return {
            FAR: f"farther than {self.reach_ft} ft",
            PERHAPS: f"perhaps farther than {self.reach_ft} ft",
            COARSE: f"too coarse to tell {self.reach_ft} ft",
        }.get(self.where, "")

    @property
    def distance(self) -> str:
        """The distance in words, or why there is none."""
        if not (self.photo.attachment.position or self.fix):
            return "no position in the file, none of the phone"
        if self.away_ft is None:
            had = "a position of the phone" if self.fix else "position in the file"
            return f"{had}; the corridor has no grid to place it on"
        give = "uncertainty not given" if self.uncertain_ft is None else f"±{NB}{math.ceil(self.uncertain_ft):,}{NB}ft"
        return f"{round(self.away_ft):,} ft from the station, {give}"

    @property
    def source(self) -> str:
        """Which of the two the place is: in the photo, or of the phone with its radius and age. Empty where there is none."""
        if self.photo.attachment.position:
            return "position in the photo"
        if self.fix is None:
            return ""
        age = f"{self.fix.age_s}{NB}s before the photo was sent"
        return f"position of the phone, ±{NB}{math.ceil(self.fix.accuracy_m):,}{NB}m, {age}"

    @property
    def said(self) -> str:
        """All of the place as one sentence, for a caption that has no room for three lines."""
        parts = (": ".join(each for each in (self.verdict, self.distance) if each), self.source, self.looks)
        return ", ".join(part for part in parts if part)

    @property
    def looks(self) -> str:
        """Which way it looks, in words; empty where the file does not say."""
        position = self.photo.attachment.position or {}
        degrees = position.get("direction_deg")
        if degrees is None:
            return ""
        north = {"true": "", "magnetic": " magnetic"}.get(position["north"], ", north not named")
        return f"looks {POINTS[round(degrees / 45) % 8]}, {round(degrees) % 360}°{north}"


def caution(reach_ft: int) -> str:
    """Return what a photo's place is worth, and where the limit is from."""
    return (
        "A photo’s place is what the phone wrote into the file, else where it said that it stood when it sent the photo, each at its own "
        f"uncertainty; neither proves a place. {reach_ft} ft is this corridor’s limit: common practice, no source."
    )


@dataclass(frozen=True, slots=True)
class Shots:
    """The photos of an attempt, in the order of its views."""

    shots: list[Shot]
    reach_ft: int

    def __len__(self) -> int:
        return len(self.shots)

    def count(self, *where: str, of_phone: bool | None = None) -> int:
        """How many are at one of these PLACES; of_phone: only those placed by the phone's position, or only the others."""
        found = [shot for shot in self.shots if shot.where in where]
        return len(found) if of_phone is None else sum(bool(shot.fix) is of_phone for shot in found)

    @property
    def caution(self) -> str:
        """What a place is worth, and where the limit is from."""
        return caution(self.reach_ft)

    @property
    def far(self) -> str:
        """How many are farther away than they may be, in words: taken, by the file; sent, by the phone's position. Empty for none."""
        taken, sent = self.count(FAR, of_phone=False), self.count(FAR, of_phone=True)
        parts = [f"{number} {done}" for number, done in ((taken, "taken"), (sent, "sent")) if number]
        return (
            f"{' and '.join(parts)} farther than {self.reach_ft} ft from the station, of {len(self)}." if parts else ""
        )

    @property
    def placed(self) -> str:
        """How many have a place that can be compared, and by which source, in words; of them, how many are too coarse."""
        known = [where for where in PLACES if where != UNKNOWN]
        taken, sent = self.count(*known, of_phone=False), self.count(*known, of_phone=True)
        parts = [f"{taken} of {len(self)} say where they were taken."] if taken else []
        if sent:
            parts.append(f"{sent} of {len(self)} came with the phone’s own position.")
        if coarse := self.count(COARSE):
            parts.append(f"{coarse} of these too coarse to tell {self.reach_ft} ft.")
        return " ".join(parts)


def shots(photos: Iterable[Photo], foundation: Foundation, corridor: Corridor, views: Iterable[str]) -> Shots:
    """Put an attempt's photos in the order of the edition's views, each with its distance. No query."""
    order = {view: place for place, view in enumerate(views)}
    listed = sorted(photos, key=lambda photo: (order.get(photo.view, len(order)), str(photo.pk)))
    reach = corridor.photo_reach_ft
    return Shots([Shot(photo, foundation, reach) for photo in listed], reach)
