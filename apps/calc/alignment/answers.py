"""What a bench, a requirement or the terminal asks of an alignment, with the working shown."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from apps.calc.alignment.curves import SURVEY_CAUTION
from apps.calc.alignment.line import Alignment, build
from apps.calc.alignment.stations import write_station
from apps.calc.errors import CalcError, Exactable, finite
from apps.calc.registry import Input, Output, calculation
from apps.calc.working import Step, number_text

SOURCE = "Plane geometry of tangent, circle and clothoid; U.S. Army FM 5-233, ch. 3"
LINE_INPUTS = (
    Input(
        "elements",
        "text",
        "",
        "elements: tangent 5200 / curve 1200 radius 2000 right / spiral 250 - to 2000 right",
        many=True,
    ),
    Input("start_station", "text", "", "station at the start", default="0+00"),
    Input("start_e", "length", "ft", "east at the start", default=0.0),
    Input("start_n", "length", "ft", "north at the start", default=0.0),
    Input(
        "start_bearing_deg", "angle", "deg", "bearing at the start, clockwise from north", default=0.0, low=0, high=360
    ),
    Input("equations", "text", "", "station equations: 253+75 = 254+10", many=True, default=()),
)


@dataclass(frozen=True, slots=True)
class Orientation:
    """How far two bolts stand from parallel to the road: degrees, clockwise positive, over -90 up to 90."""

    difference_deg: float
    away_deg: float
    """The same without its sign: what a limit compares."""
    tangent_deg: float
    working: tuple[Step, ...]
    caution: str = SURVEY_CAUTION


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
    working: tuple[Step, ...]
    caution: str = SURVEY_CAUTION


@calculation(
    "alignment.orientation",
    "Bolt pair against the road",
    "Plane geometry; two lines, compared without regard to which way each is read",
    inputs=(
        Input("tangent_deg", "angle", "deg", "bearing of the road here"),
        Input("bolt_deg", "angle", "deg", "bearing measured along the bolt pair"),
    ),
    outputs=(
        Output("away_deg", "angle", "deg", "off parallel, without sign"),
        Output("difference_deg", "angle", "deg", "off parallel, clockwise positive"),
    ),
    caution=SURVEY_CAUTION,
)
def bolt_pair(*, tangent_deg: float, bolt_deg: float) -> Orientation:
    """Return by how much a bolt pair is off parallel to the road [degrees]. Bearings clockwise from north, any finite.

    Either end of the pair may be sighted first: the answer lies over -90 up to 90. CalcError on NaN or infinity.

    >>> round(bolt_pair(tangent_deg=78.0, bolt_deg=259.3).difference_deg, 6)
    1.3
    """
    tangent, bolt = float(finite("tangent_deg", tangent_deg)), float(finite("bolt_deg", bolt_deg))
    difference = 90 - (90 - (bolt - tangent)) % 180
    step = Step(
        "difference",
        "bolt pair − tangent, to the nearer end",
        f"{number_text(bolt)} − {number_text(tangent)}",
        difference,
        "deg",
    )
    return Orientation(difference, abs(difference), tangent, (step,))


def orientation(alignment: Alignment, distance: Exactable, bolt_bearing_deg: float) -> Orientation:
    """Return by how much a bolt pair is off parallel to the alignment at a distance [ft] from its start.

    One measured bearing [degrees clockwise from north] of the pair is enough; either bolt may be sighted first.
    OffAlignment when the distance is not on the alignment, CalcError on a bearing that is no number.
    """
    finite("bolt_bearing_deg", bolt_bearing_deg)
    return bolt_pair(tangent_deg=alignment.bearing(distance), bolt_deg=bolt_bearing_deg)


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
)
def place(*, station: Exactable, offset: float = 0.0, part: str | None = None, **line: Any) -> Place:
    """Return the coordinates of a station and offset on a line given as text: see `line_from_text` for its arguments.

    >>> found = place(station="2+00", offset=-10, elements=["tangent 500"], start_bearing_deg=90)
    >>> round(found.e, 6), round(found.n, 6)
    (200.0, 10.0)
    """
    alignment = line_from_text(**line)
    distance = alignment.distance(station, int(part) if part and part.isdecimal() else part)
    return _place(alignment, distance, float(finite("offset", offset)))


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
)
def project(*, e: float, n: float, **line: Any) -> Place:
    """Return the nearest station and the offset of a point [ft] on a line given as text: see `line_from_text`.

    >>> found = project(e=200, n=10, elements=["tangent 500"], start_bearing_deg=90)
    >>> found.station, round(found.offset, 6)
    ('2+00.00', -10.0)
    """
    alignment = line_from_text(**line)
    return _place(alignment, *alignment.project(e, n))


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
    return Place(station, alignment.part(distance), float(distance), offset, e, n, bearing, working)


def line_from_text(
    *,
    elements: Sequence[str],
    equations: Sequence[str] = (),
    start_station: Exactable = "0+00",
    start_e: float = 0.0,
    start_n: float = 0.0,
    start_bearing_deg: float = 0.0,
) -> Alignment:
    """Make an alignment from short lines of text, as a bench or a terminal takes them [ft, degrees].

    Elements: "tangent 5200", "curve 1200 radius 2000 right", "spiral 250 - to 2000 right" (a dash stands for straight).
    Equations: "253+75 = 254+10", back before ahead. CalcError names the line that cannot be read.
    """
    return build(
        {
            "start_station": start_station,
            "start_e": start_e,
            "start_n": start_n,
            "start_bearing_deg": start_bearing_deg,
            "elements": [_element(f"elements[{index}]", each) for index, each in enumerate(elements)],
            "equations": [_equation(f"equations[{index}]", each) for index, each in enumerate(equations)],
        }
    )


def _element(at: str, text: str) -> dict[str, str | None]:
    match str(text).split():
        case ["tangent", length]:
            return {"kind": "tangent", "length": length}
        case ["curve", length, "radius", radius, turn]:
            return {"kind": "curve", "length": length, "radius": radius, "turn": turn}
        case ["spiral", length, radius_in, "to", radius_out, turn]:
            radii = [None if each == "-" else each for each in (radius_in, radius_out)]
            return {"kind": "spiral", "length": length, "radius_in": radii[0], "radius_out": radii[1], "turn": turn}
    raise CalcError(
        at, f"expected tangent L, curve L radius R left|right or spiral L R|- to R|- left|right, got {text!r}"
    )


def _equation(at: str, text: str) -> dict[str, str]:
    back, equals, ahead = (each.strip() for each in str(text).partition("="))
    if not equals:
        raise CalcError(at, f"expected back = ahead, such as 253+75 = 254+10, got {text!r}")
    return {"back": back, "ahead": ahead}
