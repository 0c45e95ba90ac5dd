"""The setting-out values of a circular curve between two equal spirals."""

import math
from dataclasses import dataclass

from apps.calc.alignment.caution import SURVEY_CAUTION
from apps.calc.alignment.circular import deflection, signed_station
from apps.calc.alignment.stations import read_station
from apps.calc.errors import CalcError, Exactable, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.working import Step, number_text


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
    sentence: str
    working: tuple[Step, ...]
    caution: str = SURVEY_CAUTION


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
    beyond="Which way it turns, how the road is banked, or whether another kind of spiral was staked.",
    # Montana DOT Road Design Manual, app. K, example 3-1.
    example={"radius": "3000 ft", "spiral_length": "210 ft", "deflection_deg": "15", "pi_station": "243+18.72"},
)
def spiralled_curve(
    *, radius: float, spiral_length: float, deflection_deg: float, pi_station: Exactable = "0+00"
) -> SpiralledCurve:
    """Return the setting-out values of a circular curve between two equal clothoids.

    radius and spiral_length [ft] over 0; deflection_deg over 0 and under 180 and large enough for both spirals;
    pi_station a station, or feet. CalcError otherwise. X and Y come from scipy.special.fresnel.
    Source: Montana DOT Road Design Manual, app. K; its example 3-1:

    >>> curve = spiralled_curve(radius=3000, spiral_length=210, deflection_deg=15, pi_station="243+18.72")
    >>> round(curve.ts, 2), round(curve.arc_length, 1)
    (23818.69, 575.4)
    """
    angle, crossing = deflection(deflection_deg), float(read_station(pi_station, "pi_station"))
    r, ls = float(positive("radius", radius)), float(positive("spiral_length", spiral_length))
    return _curve(r, ls, angle, crossing)


def _curve(r: float, ls: float, angle: float, crossing: float) -> SpiralledCurve:
    spiral = ls / (2 * r)
    arc = r * (angle - 2 * spiral)
    if arc < 0:
        turned, given = math.degrees(2 * spiral), math.degrees(angle)
        raise CalcError("spiral_length", f"two spirals turn {turned:.4g}°, more than {given:.4g}°")
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
        sentence=_sentence(ts, ls, arc, tangent),
        working=_working(r, ls, math.degrees(angle), crossing, (spiral, x, y, p, k, tangent, external, arc, ts)),
    )


def _sentence(ts: float, ls: float, arc: float, tangent: float) -> str:
    end = signed_station(ts + 2 * ls + arc)
    return (
        f"The first spiral begins at {signed_station(ts)}, the last ends at {end}. "
        f"Two spirals of {ls:,.2f} ft hold {arc:,.2f} ft of circular curve; each tangent is {tangent:,.2f} ft."
    )


def _spiral_end(radius: float, length: float) -> tuple[float, float]:
    import numpy as np

    from apps.calc.alignment import geometry

    ends = np.array([length])
    place = geometry.run(np.array([0.0]), np.array([1 / radius]), ends, ends)[0]
    return float(place.real), float(place.imag)


def _working(r: float, ls: float, deflection_deg: float, crossing: float, found: tuple[float, ...]) -> tuple[Step, ...]:
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
        Step("TS", "PI − Ts", f"{signed_station(crossing)} − {number_text(tangent)}", signed_station(ts)),
        Step("SC", "TS + Ls", f"{signed_station(ts)} + {number_text(ls)}", signed_station(ts + ls)),
        Step("CS", "SC + Lc", f"{signed_station(ts + ls)} + {number_text(arc)}", signed_station(ts + ls + arc)),
        Step(
            "ST", "CS + Ls", f"{signed_station(ts + ls + arc)} + {number_text(ls)}", signed_station(ts + 2 * ls + arc)
        ),
    )
