"""Where a photo says that it was taken: what the phone wrote into the file (Exif 2.32, CIPA DC-008-2019, 4.6.6, GPS attributes).

A photo without it says nothing, and so do we. Tag numbers and meanings are from memory of that standard; Pillow has the same.
"""

import math
from collections.abc import Mapping
from typing import Any

LATITUDE_REF, LATITUDE, LONGITUDE_REF, LONGITUDE = 1, 2, 3, 4
DIRECTION_REF, DIRECTION, DATUM, UNCERTAINTY = 16, 17, 18, 31
NORTHS = {"T": "true", "M": "magnetic"}
DATUMS = {"", "WGS84", "WGS1984"}

Position = dict[str, Any]
"""lat, lon [degrees, WGS 84], uncertainty_m (as the phone gave it; Exif does not say at what confidence), direction_deg [clockwise
from north], north ("true", "magnetic" or ""). What is not there is None."""


def position_of(gps: Mapping[int, Any]) -> Position | None:
    """Return the position that a photo's GPS attributes give; None where there is none, or none that can be read."""
    lat = _angle(gps.get(LATITUDE), gps.get(LATITUDE_REF), "N", "S", 90)
    lon = _angle(gps.get(LONGITUDE), gps.get(LONGITUDE_REF), "E", "W", 180)
    datum = "".join(letter for letter in _text(gps.get(DATUM)).upper() if letter.isalnum())
    # Zero and zero is what some cameras write before they have a fix.
    if lat is None or lon is None or (lat == 0 and lon == 0) or datum not in DATUMS:
        return None
    uncertainty, direction = _number(gps.get(UNCERTAINTY)), _number(gps.get(DIRECTION))
    seen = direction is not None and 0 <= direction <= 360
    return {
        "lat": lat,
        "lon": lon,
        "uncertainty_m": uncertainty if uncertainty is not None and uncertainty > 0 else None,
        "direction_deg": direction % 360 if seen and direction is not None else None,
        "north": NORTHS.get(_text(gps.get(DIRECTION_REF)).upper(), "") if seen else "",
    }


def _text(value: Any) -> str:
    if isinstance(value, bytes):
        value = value.decode("ascii", "replace")
    return str(value or "").strip(" \0")


def _number(value: Any) -> float | None:
    """Return a rational as a number; None for none, and for one over zero."""
    try:
        number = float(value)
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    return number if math.isfinite(number) else None


def _angle(parts: Any, ref: Any, plus: str, minus: str, most: float) -> float | None:
    """Return degrees from degrees, minutes, seconds and the letter of their half of the earth."""
    letter = _text(ref).upper()
    if letter not in {plus, minus} or not isinstance(parts, tuple | list) or len(parts) != 3:
        return None
    numbers = [_number(part) for part in parts]
    if any(number is None or number < 0 for number in numbers):
        return None
    degrees, minutes, seconds = (float(number or 0) for number in numbers)
    angle = degrees + minutes / 60 + seconds / 3600
    if angle > most or minutes > 60 or seconds > 60:
        return None
    return round(-angle if letter == minus else angle, 8)
