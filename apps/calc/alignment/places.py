"""Station and offset to coordinates, and back, with the working shown."""

from dataclasses import dataclass, replace
from typing import Any

from apps.calc.alignment.caution import SURVEY_CAUTION
from apps.calc.alignment.line import Alignment
from apps.calc.alignment.stations import write_station
from apps.calc.alignment.typed_line import LINE_INPUTS, line_from_text
from apps.calc.errors import Exactable, finite
from apps.calc.registry import Input, Output, calculation
from apps.calc.working import Step, number_text

SOURCE = "Plane geometry of tangent, circle and clothoid; U.S. Army FM 5-233, ch. 3"


@dataclass(frozen=True, slots=True)
class Place:
    """A place on or beside an alignment [ft, degrees], offset right positive looking up-station."""

    station: str
    part: int
    distance: float
    offset: float
    e: float
    n: float
    bearing_deg: float
    sentence: str
    working: tuple[Step, ...]
    caution: str = SURVEY_CAUTION


@calculation(
    "alignment",
    "Station and offset to coordinates",
    SOURCE,
    inputs=(
        *LINE_INPUTS,
        Input("station", "text", "", "station"),
        Input("part", "text", "", "back or ahead, where an equation makes the station occur twice", optional=True),
        Input("offset", "length", "ft", "offset, right positive", default=0.0),
    ),
    outputs=(
        Output("e", "length", "ft", "east"),
        Output("n", "length", "ft", "north"),
        Output("bearing_deg", "angle", "deg", "bearing of the road"),
        Output("distance", "length", "ft", "distance from the start"),
    ),
    caution=SURVEY_CAUTION,
    beyond=(
        "Where the point is on the ground: grid and ground distances differ, and only the surveyor's control is staked from. "
        "Nothing is said of heights."
    ),
    # invented: a road with a curve, a spiral and a station equation, and a foundation 28 ft to its left
    example={
        "elements": "tangent 5200, curve 2400 radius 4200 left, tangent 4900, spiral 350 - to 2600 right, "
        "curve 2900 radius 2600 right, tangent 4250",
        "start_station": "100+00.00",
        "start_e": "51200 ft",
        "start_n": "88400 ft",
        "start_bearing_deg": "84.5",
        "equations": "253+75.00 = 254+10.00",
        "station": "231+40.00",
        "offset": "-28 ft",
    },
)
def place(*, station: Exactable, offset: float = 0.0, part: str | None = None, **line: Any) -> Place:
    """Return the coordinates of a station and offset on a line given as text: see `line_from_text` for its arguments.

    Offset [ft], right positive looking up-station. Errors: CalcError on a line or station that cannot be read or lies
    past an end. Source: plane geometry of the elements, as the registry names it.

    >>> found = place(station="2+00", offset=-10, elements=["tangent 500"], start_bearing_deg=90)
    >>> round(found.e, 6), round(found.n, 6)
    (200.0, 10.0)
    """
    alignment = line_from_text(**line)
    distance = alignment.distance(station, int(part) if part and part.isdecimal() else part)
    found = _place(alignment, distance, float(finite("offset", offset)))
    return replace(found, sentence=_placed(found))


@calculation(
    "alignment.project",
    "Coordinates to station and offset",
    SOURCE,
    inputs=(*LINE_INPUTS, Input("e", "length", "ft", "east"), Input("n", "length", "ft", "north")),
    outputs=(
        Output("distance", "length", "ft", "distance from the start"),
        Output("offset", "length", "ft", "offset, right positive"),
        Output("bearing_deg", "angle", "deg", "bearing of the road"),
    ),
    caution=SURVEY_CAUTION,
    beyond=(
        "Whether the coordinates are on the alignment's own grid, or how well they were measured. Where a road doubles back, "
        "another station may be nearly as near."
    ),
    # A tangent, a 60° curve of 500 ft and a tangent, and a point to their left: closed form, checked in the tests.
    example={
        "elements": "tangent 500, curve 523.5988 radius 500 right, tangent 1000",
        "start_station": "10+00",
        "start_e": "2000 ft",
        "start_n": "5000 ft",
        "start_bearing_deg": "45",
        "e": "2450 ft",
        "n": "5540 ft",
    },
)
def project(*, e: float, n: float, **line: Any) -> Place:
    """Return the nearest station and the offset of a point [ft] on a line given as text: see `line_from_text`.

    East and north [ft]. Errors: CalcError on a line that cannot be read, a point that lies past an end. Source: plane
    geometry of the elements, as the registry names it.

    >>> found = project(e=200, n=10, elements=["tangent 500"], start_bearing_deg=90)
    >>> found.station, round(found.offset, 6)
    ('2+00.00', -10.0)
    """
    alignment = line_from_text(**line)
    found = _place(alignment, *alignment.project(e, n))
    return replace(found, sentence=_projected(found))


def _place(alignment: Alignment, distance: Exactable, offset: float) -> Place:
    e, n = alignment.point(distance, offset)
    on_e, on_n = alignment.point(distance)
    bearing, station = alignment.bearing(distance), write_station(alignment.label(distance))
    shown, away = f"{bearing:.4f}°", number_text(offset)
    working = (
        Step("distance", "along the line from its start, through every equation", station, float(distance), "ft"),
        Step("bearing", "direction of the tangent", station, bearing, "deg"),
        Step("E", "E on the line + offset × cos(bearing)", f"{on_e:.4f} + {away} × cos {shown}", e, "ft"),
        Step("N", "N on the line − offset × sin(bearing)", f"{on_n:.4f} − {away} × sin {shown}", n, "ft"),
    )
    return Place(station, alignment.part(distance), float(distance), offset, e, n, bearing, "", working)


def aside(offset: float) -> str:
    """Say on which side an offset lies, and how far: 28.00 ft left; on the line."""
    if round(abs(offset), 2) == 0:
        return "on the line"
    return f"{abs(offset):,.2f} ft {'right' if offset > 0 else 'left'}"


def _placed(found: Place) -> str:
    return (
        f"{found.station}, {aside(found.offset)}: east {found.e:,.2f} ft, north {found.n:,.2f} ft. "
        f"The road bears {found.bearing_deg:.4f}° there."
    )


def _projected(found: Place) -> str:
    stands = aside(found.offset) + (" of the line" if round(abs(found.offset), 2) else "")
    return f"The point stands at {found.station}, {stands}. The road bears {found.bearing_deg:.4f}° there."
