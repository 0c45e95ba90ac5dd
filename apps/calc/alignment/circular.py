"""The setting-out values of a circular curve, from its deflection and where its tangents cross."""

import math
from dataclasses import dataclass

from apps.calc.alignment.caution import SURVEY_CAUTION
from apps.calc.alignment.stations import read_station, write_station
from apps.calc.errors import CalcError, Exactable, between, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.working import Step, number_text


@dataclass(frozen=True, slots=True)
class CircularCurve:
    """A circular curve between two tangents. Lengths and stations in feet."""

    radius: float
    tangent: float
    length: float
    external: float
    middle_ordinate: float
    long_chord: float
    pc: float
    """Station where the curve begins."""
    pt: float
    """Station where it ends: pc + length, never the crossing of the tangents + tangent."""
    sentence: str
    working: tuple[Step, ...]
    caution: str = SURVEY_CAUTION


def radius_of_degree(degree_deg: float, definition: str = "arc") -> float:
    """Return the radius [ft] of a degree of curve: the angle under 100 ft of arc, or of chord.

    Source: U.S. Army FM 5-233, Construction Surveying, ch. 3 (arc R = 5729.578/D, chord R = 50/sin(D/2)).
    CalcError outside 0 < degree <= 90 (arc) or on an unknown definition.

    >>> round(radius_of_degree(15), 2)
    381.97
    """
    between("degree_deg", positive("degree_deg", degree_deg), 0, 90)
    if definition not in ("arc", "chord"):
        raise CalcError("definition", f"expected arc or chord, got {definition!r}")
    angle = math.radians(degree_deg)
    return 100 / angle if definition == "arc" else 50 / math.sin(angle / 2)


def signed_station(feet: float) -> str:
    """Write a station that may lie before 0+00 [ft]."""
    return write_station(feet) if feet >= 0 else f"−{write_station(-feet)}"


def deflection(deflection_deg: float) -> float:
    """Return the deflection between two tangents in radians; degrees over 0 and under 180, CalcError otherwise."""
    if positive("deflection_deg", deflection_deg) >= 180:
        raise CalcError("deflection_deg", f"tangents that turn 180° or more do not cross, got {deflection_deg}")
    return math.radians(deflection_deg)


@calculation(
    "alignment.curve",
    "Circular curve",
    "U.S. Army FM 5-233, Construction Surveying, ch. 3, simple curves",
    inputs=(
        Input("radius", "length", "ft", "radius", low=0),
        Input("deflection_deg", "angle", "deg", "deflection between the tangents", low=0, high=180),
        Input("pi_station", "text", "", "station where the tangents cross", default="0+00"),
    ),
    outputs=(
        Output("tangent", "length", "ft", "tangent"),
        Output("length", "length", "ft", "length of curve"),
        Output("external", "length", "ft", "external"),
        Output("middle_ordinate", "length", "ft", "middle ordinate"),
        Output("long_chord", "length", "ft", "long chord"),
        Output("pc", "length", "ft", "station of the beginning"),
        Output("pt", "length", "ft", "station of the end"),
    ),
    caution=SURVEY_CAUTION,
    beyond="Which way it turns, where it lies on the ground, or whether the road was built to it.",
    # U.S. Army FM 5-233, Construction Surveying, ch. 3, simple curve: I 75°, 15° of curve (radius 381.97 ft).
    example={"radius": "381.97 ft", "deflection_deg": "75", "pi_station": "18+00"},
)
def circular_curve(*, radius: float, deflection_deg: float, pi_station: Exactable = "0+00") -> CircularCurve:
    """Return the setting-out values of a circular curve.

    radius [ft] over 0; deflection_deg over 0 and under 180; pi_station a station, or feet. CalcError otherwise.
    Source: U.S. Army FM 5-233, ch. 3: T = R tan(I/2), L = R I, E = R (sec(I/2) - 1), M = R (1 - cos(I/2)),
    LC = 2 R sin(I/2). Its example, I 75° and 15° of curve:

    >>> curve = circular_curve(radius=381.97, deflection_deg=75, pi_station="18+00")
    >>> round(curve.length, 1), write_station(curve.pc)
    (500.0, '15+06.90')
    """
    angle = deflection(deflection_deg)
    half = angle / 2
    crossing = float(read_station(pi_station, "pi_station"))
    r = float(positive("radius", radius))
    tangent, length = r * math.tan(half), r * angle
    pc = crossing - tangent
    return CircularCurve(
        radius=r,
        tangent=tangent,
        length=length,
        external=r * (1 / math.cos(half) - 1),
        middle_ordinate=r * (1 - math.cos(half)),
        long_chord=2 * r * math.sin(half),
        pc=pc,
        pt=pc + length,
        sentence=_sentence(pc, length, tangent),
        working=_working(r, deflection_deg, crossing),
    )


def _sentence(pc: float, length: float, tangent: float) -> str:
    return (
        f"The curve begins at {signed_station(pc)} and ends at {signed_station(pc + length)}: {length:,.2f} ft along it. "
        f"Each tangent is {tangent:,.2f} ft; the end is counted along the curve, not over the tangents."
    )


def _working(r: float, deflection_deg: float, crossing: float) -> tuple[Step, ...]:
    half, shown, i = math.radians(deflection_deg) / 2, number_text(r), number_text(deflection_deg)
    tangent, length = r * math.tan(half), 2 * r * half
    external, middle, chord = r * (1 / math.cos(half) - 1), r * (1 - math.cos(half)), 2 * r * math.sin(half)
    pc = crossing - tangent
    return (
        Step("T", "R tan(I / 2)", f"{shown} × tan({i}° / 2)", tangent, "ft"),
        Step("L", "π R I / 180", f"π × {shown} × {i} / 180", length, "ft"),
        Step("E", "R (1 / cos(I / 2) − 1)", f"{shown} × (1 / cos({i}° / 2) − 1)", external, "ft"),
        Step("M", "R (1 − cos(I / 2))", f"{shown} × (1 − cos({i}° / 2))", middle, "ft"),
        Step("LC", "2 R sin(I / 2)", f"2 × {shown} × sin({i}° / 2)", chord, "ft"),
        Step("PC", "PI − T", f"{signed_station(crossing)} − {number_text(tangent)}", signed_station(pc)),
        Step("PT", "PC + L", f"{signed_station(pc)} + {number_text(length)}", signed_station(pc + length)),
    )
