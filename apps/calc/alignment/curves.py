"""The setting-out values of one curve, from its deflection and where its tangents cross: circular, and with spirals."""

import math
from dataclasses import dataclass

from apps.calc.alignment.stations import read_station, write_station
from apps.calc.errors import CalcError, Exactable, between, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.working import Step, number_text

SURVEY_CAUTION = (
    "Work near traffic only inside the traffic control plan, in high-visibility clothing. "
    "Control and stakes are the licensed surveyor's; this checks them."
)


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
    working: tuple[Step, ...]
    caution: str = SURVEY_CAUTION


@dataclass(frozen=True, slots=True)
class SpiralledCurve:
    """A circular curve with equal clothoids before and after it. Lengths and stations in feet, angles in degrees."""

    spiral_angle_deg: float
    x: float
    y: float
    shift: float
    """The offset p of the circular curve from the tangent."""
    shift_along: float
    """Its distance k along the tangent."""
    long_tangent: float
    short_tangent: float
    tangent: float
    external: float
    arc_length: float
    ts: float
    sc: float
    cs: float
    st: float
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


def _station(feet: float) -> str:
    return write_station(feet) if feet >= 0 else f"−{write_station(-feet)}"


def _deflection(deflection_deg: float) -> float:
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
    angle, half = _deflection(deflection_deg), _deflection(deflection_deg) / 2
    crossing = float(read_station(pi_station, "pi_station"))
    r, i = float(positive("radius", radius)), number_text(deflection_deg)
    tangent, length = r * math.tan(half), r * angle
    external, middle, chord = r * (1 / math.cos(half) - 1), r * (1 - math.cos(half)), 2 * r * math.sin(half)
    pc = crossing - tangent
    shown = number_text(r)
    working = (
        Step("T", "R tan(I / 2)", f"{shown} × tan({i}° / 2)", tangent, "ft"),
        Step("L", "π R I / 180", f"π × {shown} × {i} / 180", length, "ft"),
        Step("E", "R (1 / cos(I / 2) − 1)", f"{shown} × (1 / cos({i}° / 2) − 1)", external, "ft"),
        Step("M", "R (1 − cos(I / 2))", f"{shown} × (1 − cos({i}° / 2))", middle, "ft"),
        Step("LC", "2 R sin(I / 2)", f"2 × {shown} × sin({i}° / 2)", chord, "ft"),
        Step("PC", "PI − T", f"{_station(crossing)} − {number_text(tangent)}", _station(pc)),
        Step("PT", "PC + L", f"{_station(pc)} + {number_text(length)}", _station(pc + length)),
    )
    return CircularCurve(r, tangent, length, external, middle, chord, pc, pc + length, working)


@calculation(
    "alignment.spiral",
    "Curve with spirals",
    "Montana DOT Road Design Manual, app. K (clothoid of length Ls: θ = l² / (2 R Ls))",
    inputs=(
        Input("radius", "length", "ft", "radius of the circular part", low=0),
        Input("spiral_length", "length", "ft", "length of each spiral", low=0),
        Input("deflection_deg", "angle", "deg", "deflection between the tangents", low=0, high=180),
        Input("pi_station", "text", "", "station where the tangents cross", default="0+00"),
    ),
    outputs=(
        Output("spiral_angle_deg", "angle", "deg", "angle of each spiral"),
        Output("tangent", "length", "ft", "tangent"),
        Output("external", "length", "ft", "external"),
        Output("arc_length", "length", "ft", "length of the circular part"),
    ),
    caution=SURVEY_CAUTION,
)
def spiralled_curve(
    *, radius: float, spiral_length: float, deflection_deg: float, pi_station: Exactable = "0+00"
) -> SpiralledCurve:
    """Return the setting-out values of a circular curve between two equal clothoids.

    radius and spiral_length [ft] over 0; deflection_deg over 0 and under 180 and large enough for both spirals;
    pi_station a station, or feet. CalcError otherwise. X and Y come from scipy.special.fresnel.
    Source: Montana DOT Road Design Manual, app. K; its example 3-1:

    >>> curve = spiralled_curve(radius=3000, spiral_length=210, deflection_deg=15, pi_station="243+18.72")
    >>> write_station(curve.ts), round(curve.arc_length, 1)
    ('238+18.69', 575.4)
    """
    angle, crossing = _deflection(deflection_deg), float(read_station(pi_station, "pi_station"))
    r, ls = float(positive("radius", radius)), float(positive("spiral_length", spiral_length))
    spiral = ls / (2 * r)
    arc = r * (angle - 2 * spiral)
    if arc < 0:
        raise CalcError(
            "spiral_length", f"two spirals turn {math.degrees(2 * spiral):.4g}°, more than {deflection_deg}°"
        )
    x, y = _spiral_end(r, ls)
    p, k = y - r * (1 - math.cos(spiral)), x - r * math.sin(spiral)
    tangent = (r + p) * math.tan(angle / 2) + k
    external = (r + p) / math.cos(angle / 2) - r
    ts = crossing - tangent
    return SpiralledCurve(
        spiral_angle_deg=math.degrees(spiral),
        x=x,
        y=y,
        shift=p,
        shift_along=k,
        long_tangent=x - y / math.tan(spiral),
        short_tangent=y / math.sin(spiral),
        tangent=tangent,
        external=external,
        arc_length=arc,
        ts=ts,
        sc=ts + ls,
        cs=ts + ls + arc,
        st=ts + 2 * ls + arc,
        working=_spiral_working(r, ls, deflection_deg, crossing, (spiral, x, y, p, k, tangent, external, arc, ts)),
    )


def _spiral_end(radius: float, length: float) -> tuple[float, float]:
    import numpy as np

    from apps.calc.alignment import geometry

    ends = np.array([length])
    place = geometry.run(np.array([0.0]), np.array([1 / radius]), ends, ends)[0]
    return float(place.real), float(place.imag)


def _spiral_working(
    r: float, ls: float, deflection_deg: float, crossing: float, found: tuple[float, ...]
) -> tuple[Step, ...]:
    spiral, x, y, p, k, tangent, external, arc, ts = found
    shown, i, angle = number_text(r), number_text(deflection_deg), number_text(math.degrees(spiral))
    moved = number_text(r + p)
    return (
        Step("θs", "90 Ls / (π R)", f"90 × {number_text(ls)} / (π × {shown})", math.degrees(spiral), "deg"),
        Step("X", "∫ cos(l² / (2 R Ls)) dl", f"0 to {number_text(ls)}", x, "ft"),
        Step("Y", "∫ sin(l² / (2 R Ls)) dl", f"0 to {number_text(ls)}", y, "ft"),
        Step("p", "Y − R (1 − cos θs)", f"{number_text(y)} − {shown} × (1 − cos {angle}°)", p, "ft"),
        Step("k", "X − R sin θs", f"{number_text(x)} − {shown} × sin {angle}°", k, "ft"),
        Step("Ts", "(R + p) tan(Δ / 2) + k", f"{moved} × tan({i}° / 2) + {number_text(k)}", tangent, "ft"),
        Step("Es", "(R + p) / cos(Δ / 2) − R", f"{moved} / cos({i}° / 2) − {shown}", external, "ft"),
        Step("Lc", "π R (Δ − 2 θs) / 180", f"π × {shown} × ({i} − 2 × {angle}) / 180", arc, "ft"),
        Step("TS", "PI − Ts", f"{_station(crossing)} − {number_text(tangent)}", _station(ts)),
        Step("SC", "TS + Ls", f"{_station(ts)} + {number_text(ls)}", _station(ts + ls)),
        Step("CS", "SC + Lc", f"{_station(ts + ls)} + {number_text(arc)}", _station(ts + ls + arc)),
        Step("ST", "CS + Ls", f"{_station(ts + ls + arc)} + {number_text(ls)}", _station(ts + 2 * ls + arc)),
    )
