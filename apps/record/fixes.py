"""Where a phone said that it stood when it sent a photo: a position fix, the second source of a photo's place beside the file itself.

Browsers often strip what the camera wrote into the file; record.positions reads what is left of it and comes first. A fix is of the
phone, at the time of the fix, and never of the picture. Field names and meanings: W3C Geolocation, section on the attributes latitude,
longitude and accuracy: degrees on WGS 84, and the radius in metres at a confidence of 95 % (read in its public reference pages, not
in the text of the recommendation). What a phone's own system means by its radius may be less sure than that.
"""

import re
from collections.abc import Mapping
from datetime import datetime
from decimal import ROUND_CEILING, Decimal
from typing import NamedTuple

from django.utils.dateparse import parse_datetime

OLDEST_S = 120
"""A fix that was older than this when it was sent is not taken [s]: common practice, no source."""
AHEAD_S = 5
"""How far the fix's clock may run before the phone's [s]: the two are read apart. Such a fix counts as new."""
FARTHEST_M = Decimal(20_037_509)
"""Half of the equator [m]: no radius is larger. WGS 84, semi-major axis 6,378,137 m."""
DEGREE, METRE = Decimal("0.0000001"), Decimal("0.1")
FIELDS = ("lat", "lon", "accuracy", "at", "sent")
"""What comes with a photo: degrees, degrees, metres, time of the fix, time of sending; both times by the phone's clock."""
NUMBER = re.compile(r"-?\d{1,12}(\.\d{1,20})?", re.ASCII)


class NotAFix(ValueError):
    """A position that cannot be kept; the message says why."""


class Fix(NamedTuple):
    """A position of the phone. Its age is by the phone's own clock, so that a wrong clock makes no wrong age."""

    lat: Decimal
    """[degrees, north positive, WGS 84]"""
    lon: Decimal
    """[degrees, east positive, WGS 84]"""
    accuracy_m: Decimal
    """Radius about it [m], rounded up to a tenth."""
    at: datetime
    """When the phone found it, by the phone's clock."""
    age_s: int
    """How old it was when it was sent [s]."""


def read(said: Mapping[str, str]) -> Fix | None:
    """Return the fix that came in a form (FIELDS); None where none of it came. NotAFix with a sentence for what cannot be kept."""
    typed = {name: said.get(name, "").strip() for name in FIELDS}
    if not any(typed.values()):
        return None
    if missing := [name for name, text in typed.items() if not text]:
        raise NotAFix(f"The position of the phone came without {', '.join(missing)}: all of it is needed, or nothing.")
    at, sent = _time("at", typed["at"]), _time("sent", typed["sent"])
    fix = Fix(
        _number("latitude", typed["lat"]).quantize(DEGREE),
        _number("longitude", typed["lon"]).quantize(DEGREE),
        # Up, never down: a phone that is sure to 12.04 m is not sure to 12.
        _number("accuracy", typed["accuracy"]).quantize(METRE, ROUND_CEILING),
        at,
        _age(at, sent),
    )
    if faults := faults_of(fix):
        raise NotAFix(" ".join(faults))
    return fix


def faults_of(fix: Fix) -> list[str]:
    """Say what is out of range in a fix; nothing if it can be kept."""
    faults = []
    for name, value, most in (("latitude", fix.lat, 90), ("longitude", fix.lon, 180)):
        if not (value.is_finite() and abs(value) <= most):
            faults.append(f"The phone’s {name} is {value}: it lies between -{most} and {most} degrees.")
    if not (fix.accuracy_m.is_finite() and 0 < fix.accuracy_m <= FARTHEST_M):
        faults.append(f"The phone’s accuracy is {fix.accuracy_m} m: it is more than 0 and at most {FARTHEST_M:,} m.")
    if fix.at.tzinfo is None:
        faults.append("The time of the phone’s position has no zone.")
    if not 0 <= fix.age_s <= OLDEST_S:
        faults.append(f"The phone’s position was {fix.age_s} s old when it was sent: at most {OLDEST_S} s is taken.")
    return faults


def _number(name: str, text: str) -> Decimal:
    """Return a number in plain digits, a point and a sign: no exponent, no other script's digits, nothing that is not finite."""
    if not NUMBER.fullmatch(text):
        raise NotAFix(f"The phone’s {name} is “{text[:40]}”: that is no number such as 34.1204567.")
    return Decimal(text)


def _time(name: str, text: str) -> datetime:
    """Return a time with its zone (RFC 3339)."""
    try:
        found = parse_datetime(text)
    except ValueError:
        found = None
    if found is None or found.tzinfo is None:
        what = {"at": "The time of the phone’s position", "sent": "The time of sending"}[name]
        raise NotAFix(f"{what} is “{text[:40]}”: that is no time with its zone, such as 2027-03-09T16:20:00Z.")
    return found


def _age(at: datetime, sent: datetime) -> int:
    """Return how old the fix was when it was sent [s]; a little ahead of the phone's clock counts as new."""
    seconds = (sent - at).total_seconds()
    return 0 if -AHEAD_S <= seconds < 0 else round(seconds)
