"""Drawn stand-ins for photos: the demo has no camera, and says so on every picture."""

from functools import lru_cache
from io import BytesIO
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile

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


def picture(stage: str, view: str, title: str, mark: str, when: str) -> SimpleUploadedFile:
    """Return a small PNG of one view at one foundation, marked as drawn."""
    from PIL import ImageDraw

    image = _scene(stage, view).copy()
    draw = ImageDraw.Draw(image)
    draw.text((8, 8), f"{mark}  {title}", fill=INK)
    draw.text((8, 222), f"{when}  drawn for the demo", fill=INK)
    out = BytesIO()
    image.save(out, "PNG", compress_level=1)
    return SimpleUploadedFile(f"{mark}-{view}.png", out.getvalue(), content_type="image/png")
