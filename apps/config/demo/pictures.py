"""Drawn stand-ins for photos: the demo has no camera, and says so on every picture. Most carry a place, as phones write it."""

from datetime import datetime, timedelta
from decimal import Decimal
from functools import lru_cache
from io import BytesIO
from random import Random
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile

from apps.calc.alignment import Grid
from apps.corridor.models import Foundation
from apps.record import positions
from apps.record.fixes import Fix
from apps.record.photos import GPS

SOFTWARE = 0x0131
SIZE = (320, 240)
PAPER, INK, LINE, CONCRETE = (241, 236, 223), (20, 38, 61), (30, 79, 143), (97, 120, 154)


@lru_cache(maxsize=64)
def _scene(stage: str, view: str) -> Any:
    """Draw what the view shows, once: ground, shaft, what stands on it, a tape."""
    from PIL import Image, ImageDraw

    image = Image.new("RGB", SIZE, PAPER)
    draw = ImageDraw.Draw(image)
    turn = sum(view.encode()) % 60
    draw.line([(0, 150), (320, 150)], fill=INK, width=3)
    if stage in {"drill", "cage"}:
        draw.rectangle([120 - turn // 3, 150, 200 + turn // 3, 225], outline=INK, width=3, fill=(255, 255, 255))
    if stage == "cage":
        for x in range(132, 200, 16):
            draw.line([(x, 100), (x, 218)], fill=INK, width=3)
        for y in range(110, 220, 18):
            draw.line([(126, y), (194, y)], fill=LINE, width=2)
    if stage in {"pour", "base_set", "pole_set"}:
        draw.rectangle([120, 144, 200, 225], outline=INK, width=3, fill=CONCRETE)
    if stage in {"base_set", "pole_set"}:
        draw.polygon([(124, 144), (196, 144), (184, 96), (136, 96)], fill=INK)
    if stage == "pole_set":
        draw.rectangle([156, 20, 164, 96], fill=INK)
        draw.line([(160, 22), (230, 22)], fill=INK, width=5)
    if stage == "layout":
        draw.polygon([(154, 80), (166, 74), (166, 165), (160, 180), (154, 165)], fill=INK)
    draw.line([(20 + turn, 130), (20 + turn, 200)], fill=LINE, width=6)
    return image.quantize(16)


def _degrees(plane: Grid, east: float, north: float) -> tuple[float, float]:
    """Return the latitude and longitude of a place on the grid, by Newton's method from the grid's origin."""
    lat, lon, step = plane.lat0_deg, plane.lon0_deg, 1e-4
    for _ in range(8):
        e, n = plane.feet(lat, lon)
        (e_lat, n_lat), (e_lon, n_lon) = plane.feet(lat + step, lon), plane.feet(lat, lon + step)
        a, b, c, d = (e_lat - e) / step, (e_lon - e) / step, (n_lat - n) / step, (n_lon - n) / step
        off_e, off_n, whole = east - e, north - n, a * d - b * c
        lat, lon = lat + (off_e * d - off_n * b) / whole, lon + (a * off_n - c * off_e) / whole
    return lat, lon


def _place(foundation: Foundation, view: str, when: str) -> Any:
    """Return what a phone would have written of the place: near as a rule, now and then another foundation's, sometimes nothing."""
    from PIL.Image import Exif

    # Chance of its own, so that the season is the same with and without photos.
    chance, plane, written = Random(f"{foundation.mark} {view} {when}"), foundation.alignment.plane, Exif()
    if plane is None or chance.random() < 0.15:
        return written
    spread = 130.0 if chance.random() < 0.02 else 8.0
    east, north = (chance.gauss(float(at), spread) for at in (foundation.east_ft, foundation.north_ft))
    written[SOFTWARE] = "drawn for the demo"
    gps = written.get_ifd(GPS)
    for angle, letters, tag in zip(_degrees(plane, east, north), ("NS", "EW"), (1, 3), strict=True):
        minutes = abs(angle) % 1 * 60
        gps[tag] = letters[angle < 0]
        gps[tag + 1] = (float(int(abs(angle))), float(int(minutes)), round(minutes % 1 * 60, 4))
    gps[positions.UNCERTAINTY] = round(chance.uniform(2.5, 9), 1)
    if chance.random() < 0.8:
        gps[positions.DIRECTION_REF], gps[positions.DIRECTION] = "T", float(chance.randrange(360))
    return written


def stood(foundation: Foundation, at: datetime) -> Fix | None:
    """Return where the phone stood as the photos were sent: where the inspector let it say so, now and then too coarse to tell."""
    # Chance of its own again, for the same reason.
    chance, plane = Random(f"{foundation.mark} {at:%Y-%m-%d %H:%M} phone"), foundation.alignment.plane
    if plane is None or chance.random() < 0.6:
        return None
    metres = 80 if chance.random() < 0.12 else chance.uniform(4, 14)
    east, north = (chance.gauss(float(place), metres) for place in (foundation.east_ft, foundation.north_ft))
    lat, lon = (Decimal(f"{angle:.7f}") for angle in _degrees(plane, east, north))
    age_s = chance.randrange(3, 60)
    return Fix(lat, lon, Decimal(f"{metres:.1f}"), at - timedelta(seconds=age_s), age_s)


def picture(stage: str, view: str, title: str, foundation: Foundation, when: str) -> SimpleUploadedFile:
    """Return a small PNG of one view at one foundation, marked as drawn."""
    from PIL import ImageDraw

    image, mark = _scene(stage, view).copy(), foundation.mark
    draw = ImageDraw.Draw(image)
    draw.text((8, 8), f"{mark}  {title}", fill=INK)
    draw.text((8, 222), f"{when}  drawn for the demo", fill=INK)
    out = BytesIO()
    image.save(out, "PNG", compress_level=1, exif=_place(foundation, view, when))
    return SimpleUploadedFile(f"{mark}-{view}.png", out.getvalue(), content_type="image/png")
