"""Wind on a pole, its arm and its luminaire: pressure, drag, shear and moment at the base."""

import math
from dataclasses import dataclass
from typing import NamedTuple

from apps.calc.errors import CalcError, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.working import Step
from apps.calc.working import number_text as text

CAUTION = "A screen, no design: loads, map speed and code belong to the engineer of record, who holds the licence."
SOURCE = "AASHTO LTS, 4th to 6th ed., section 3.8 (from memory); exposure exponents as in ASCE 7-05"
PRESSURE_CONSTANT = 0.00256
"""psf for 1 mph: half the density of standard air (AASHTO LTS 3.8, ASCE 7)."""
LOWEST_FT = 16.4
"""Height below which Kz no longer falls: 5 m, where the AASHTO table starts (from memory)."""


class Exposure(NamedTuple):
    """Gradient height [ft] and power-law exponent of a terrain (ASCE 7-05; B from memory)."""

    gradient_ft: float
    alpha: float


EXPOSURES = {"B": Exposure(1200, 7.0), "C": Exposure(900, 9.5), "D": Exposure(700, 11.5)}


def height_factor(height_ft: float, exposure: str = "C", lowest_ft: float = LOWEST_FT) -> float:
    """Return Kz = 2.01 (z / zg)^(2/α), no number below the lowest height and none above the gradient height.

    Height above ground [ft], 0 or more; exposure B, C or D. Building codes start at 15 ft instead: give `lowest_ft`.
    Errors: CalcError on a negative height or an unknown exposure.
    Source: AASHTO LTS Kz table (from memory), formula and exponents ASCE 7-05.

    >>> round(height_factor(32.8), 4)
    1.0009
    """
    if exposure not in EXPOSURES:
        raise CalcError("exposure", f"expected one of {', '.join(EXPOSURES)}, got {exposure!r}")
    terrain = EXPOSURES[exposure]
    height = min(max(not_negative("height_ft", height_ft), positive("lowest_ft", lowest_ft)), terrain.gradient_ft)
    return float(2.01 * (height / terrain.gradient_ft) ** (2 / terrain.alpha))


def round_drag(speed_mph: float, diameter_ft: float, speed_conversion: float = 1.0) -> float:
    """Return the drag coefficient of a round tube from C = Cv V d: 1.10 to C = 39, 129/C^1.3 to 78, then 0.45.

    Wind speed [mph], diameter [ft], Cv for the recurrence interval (1.0 for 50 years).
    Errors: CalcError on a value of zero or less. Source: AASHTO LTS Table 3-6 (from memory).

    >>> round(round_drag(90, 0.5), 3)
    0.915
    """
    c = (
        positive("speed_conversion", speed_conversion)
        * positive("speed_mph", speed_mph)
        * positive("diameter_ft", diameter_ft)
    )
    if c <= 39:
        return 1.10
    return 129 / c**1.3 if c < 78 else 0.45


@dataclass(frozen=True, slots=True)
class Pressure:
    """Wind pressure at one height."""

    height_factor: float
    pressure_psf: float
    working: tuple[Step, ...]
    caution: str = CAUTION


@calculation(
    "capacity.pressure",
    "Wind pressure at a height",
    SOURCE,
    inputs=(
        Input("height_ft", "length", "ft", "height above ground", low=0),
        Input("speed_mph", "speed", "mph", "gust speed of the map", low=1, high=300),
        Input("gust", "ratio", "1", "gust effect factor G", default=1.14, low=0.5, high=3),
        Input(
            "importance", "ratio", "1", "importance factor Ir (1 where the map holds it)", default=1.0, low=0.5, high=2
        ),
        Input("directionality", "ratio", "1", "directionality factor Kd", default=1.0, low=0.5, high=1),
        Input("drag", "ratio", "1", "drag coefficient Cd", default=1.0, low=0, high=3),
        Input("exposure", "choice", "", "exposure", default="C", choices=tuple(EXPOSURES)),
    ),
    outputs=(Output("pressure_psf", "pressure", "psf", "wind pressure"),),
    caution=CAUTION,
)
def pressure(
    *,
    height_ft: float,
    speed_mph: float,
    gust: float = 1.14,
    importance: float = 1.0,
    directionality: float = 1.0,
    drag: float = 1.0,
    exposure: str = "C",
    lowest_ft: float = LOWEST_FT,
) -> Pressure:
    """Return Pz = 0.00256 Kz Kd G V² Ir Cd [psf] at a height [ft] for a 3-second gust [mph].

    AASHTO LTS to the 6th edition uses Ir and no Kd; LRFDLTS-1 (2015) uses Kd and a map of its own, without Ir.
    Errors: CalcError on a negative height or drag, a factor or speed of zero or less, an unknown exposure.
    Source: AASHTO LTS 3.8 (from memory).

    >>> round(pressure(height_ft=30, speed_mph=90).pressure_psf, 2)
    23.22
    """
    kz = height_factor(height_ft, exposure, lowest_ft)
    factors = positive("gust", gust) * positive("importance", importance)
    factors *= positive("directionality", directionality) * not_negative("drag", drag)
    result = PRESSURE_CONSTANT * kz * factors * positive("speed_mph", speed_mph) ** 2
    numbers = f"0.00256 · {text(kz)} · {directionality} · {gust} · {text(speed_mph)}² · {importance} · {text(drag)}"
    terrain = EXPOSURES[exposure]
    working = (
        Step(
            "Kz",
            "2.01 (z / z_g)^(2/α)",
            f"2.01 · ({text(max(height_ft, lowest_ft))} / {text(terrain.gradient_ft)})^(2 / {terrain.alpha})",
            kz,
        ),
        Step("Pz", "0.00256 Kz Kd G V² Ir Cd", numbers, result, "psf"),
    )
    return Pressure(kz, float(result), working)


@dataclass(frozen=True, slots=True)
class BaseReaction:
    """Shear and moment that the wind brings to the base of a pole."""

    pole_shear_lbf: float
    pole_moment_ftlb: float
    other_shear_lbf: float
    """Of arm and luminaire together."""
    other_moment_ftlb: float
    shear_lbf: float
    moment_ftlb: float
    working: tuple[Step, ...]
    caution: str = CAUTION


@calculation(
    "capacity.wind",
    "Wind on pole, arm and luminaire: shear and moment at the base",
    SOURCE,
    inputs=(
        Input("height_ft", "length", "ft", "pole height", low=1, high=200),
        Input("base_diameter_in", "length", "in", "pole diameter at the base", low=1, high=60),
        Input("top_diameter_in", "length", "in", "pole diameter at the top", low=1, high=60),
        Input("speed_mph", "speed", "mph", "gust speed of the map", low=1, high=300),
        Input("luminaire_area_ft2", "area", "ft2", "effective projected area of all luminaires", default=0.0, low=0),
        Input(
            "luminaire_height_ft",
            "length",
            "ft",
            "height of the luminaires (absent: pole height)",
            optional=True,
            low=0,
        ),
        Input("arm_length_ft", "length", "ft", "arm length seen by the wind", default=0.0, low=0),
        Input("arm_diameter_in", "length", "in", "mean arm diameter", default=0.0, low=0),
        Input("gust", "ratio", "1", "gust effect factor G", default=1.14, low=0.5, high=3),
        Input("importance", "ratio", "1", "importance factor Ir", default=1.0, low=0.5, high=2),
        Input("directionality", "ratio", "1", "directionality factor Kd", default=1.0, low=0.5, high=1),
        Input("exposure", "choice", "", "exposure", default="C", choices=tuple(EXPOSURES)),
    ),
    outputs=(
        Output("shear_lbf", "force", "lbf", "shear at the base"),
        Output("moment_ftlb", "torque", "ft-lb", "moment at the base"),
    ),
    caution=CAUTION,
)
def wind(
    *,
    height_ft: float,
    base_diameter_in: float,
    top_diameter_in: float,
    speed_mph: float,
    luminaire_area_ft2: float = 0.0,
    luminaire_height_ft: float | None = None,
    arm_length_ft: float = 0.0,
    arm_diameter_in: float = 0.0,
    gust: float = 1.14,
    importance: float = 1.0,
    directionality: float = 1.0,
    exposure: str = "C",
) -> BaseReaction:
    """Return shear [lbf] and moment [ft-lb] at the base of a round tapered pole with a luminaire and one arm.

    Pole: ∫ q Cd d dz with Kz and Cd of each height. Luminaire: q at its height times its effective projected area.
    Arm: a round tube at the luminaire's height, broadside to the wind. Lengths [ft], diameters [in], speed [mph].
    Left out: ice, the pole's own sway, torsion of the arm, fatigue.
    Errors: CalcError on a length or speed of zero or less, an arm without diameter, an unknown exposure.
    Source: AASHTO LTS 3.8 and Table 3-6 (from memory).

    >>> result = wind(height_ft=30, base_diameter_in=8, top_diameter_in=3.8, speed_mph=90, luminaire_area_ft2=2)
    >>> round(result.shear_lbf, 1), round(result.moment_ftlb)
    (321.4, 5550)
    """
    top = height_ft if luminaire_height_ft is None else not_negative("luminaire_height_ft", luminaire_height_ft)
    site = _Site(speed_mph, gust, importance, directionality, exposure)
    shear, moment = _on_tapered_pole(site, height_ft, base_diameter_in / 12, top_diameter_in / 12)
    area = not_negative("luminaire_area_ft2", luminaire_area_ft2)
    if not_negative("arm_length_ft", arm_length_ft):
        diameter = positive("arm_diameter_in", arm_diameter_in) / 12
        area += arm_length_ft * diameter * round_drag(speed_mph, diameter)
    q = site.pressure(top)
    other = q * area
    sums = (shear + other, moment + other * top)
    working = (
        Step("q", "0.00256 Kz Kd G V² Ir at the luminaire", f"z = {text(top)} ft", q, "psf"),
        Step("V_pole", "∫ q Cd d dz", f"0 to {text(height_ft)} ft", shear, "lbf"),
        Step("M_pole", "∫ q Cd d z dz", f"0 to {text(height_ft)} ft", moment, "ft-lb"),
        Step("V_top", "q · (EPA + Cd d l)", f"{text(q)} · {text(area)}", other, "lbf"),
        Step("V", "V_pole + V_top", f"{text(shear)} + {text(other)}", sums[0], "lbf"),
        Step("M", "M_pole + V_top · z", f"{text(moment)} + {text(other)} · {text(top)}", sums[1], "ft-lb"),
    )
    return BaseReaction(shear, moment, other, other * top, *sums, working)


class _Site(NamedTuple):
    """What the pressure depends on beside the height."""

    speed_mph: float
    gust: float
    importance: float
    directionality: float
    exposure: str

    def pressure(self, height_ft: float) -> float:
        """Pressure [psf] at a height for a drag of 1."""
        return pressure(
            height_ft=height_ft,
            speed_mph=self.speed_mph,
            gust=self.gust,
            importance=self.importance,
            directionality=self.directionality,
            exposure=self.exposure,
        ).pressure_psf


def _on_tapered_pole(site: _Site, height_ft: float, base_ft: float, top_ft: float) -> tuple[float, float]:
    """Shear [lbf] and moment [ft-lb] of a round tapered pole, diameters in feet."""
    from scipy.integrate import quad

    positive("height_ft", height_ft)
    positive("base_diameter_in", base_ft)
    positive("top_diameter_in", top_ft)
    unit = site.pressure(height_ft) / height_factor(height_ft, site.exposure)

    def a_foot(z: float) -> float:
        diameter = base_ft + (top_ft - base_ft) * z / height_ft
        return unit * height_factor(z, site.exposure) * round_drag(site.speed_mph, diameter) * diameter

    kinks = sorted(z for z in (LOWEST_FT, *_drag_changes(site, height_ft, base_ft, top_ft)) if 0 < z < height_ft)
    shear = quad(a_foot, 0, height_ft, points=kinks or None)[0]
    moment = quad(lambda z: a_foot(z) * z, 0, height_ft, points=kinks or None)[0]
    return float(shear), float(moment)


def _drag_changes(site: _Site, height_ft: float, base_ft: float, top_ft: float) -> list[float]:
    """Heights [ft] at which the drag coefficient changes its rule, which the integration must not step over."""
    if math.isclose(base_ft, top_ft):
        return []
    return [(c / site.speed_mph - base_ft) / (top_ft - base_ft) * height_ft for c in (39, 78)]
