"""Wind on a round tapered pole, its arm and its luminaire: shear and moment at the base."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

from apps.calc.capacity.caution import CAUTION, DECIDES
from apps.calc.capacity.pressure import EXPOSURES, LOWEST_FT, SOURCE, height_factor, pressure, round_drag
from apps.calc.errors import not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.working import Step
from apps.calc.working import number_text as text


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
    sentence: str
    working: tuple[Step, ...]
    caution: str = CAUTION

    @property
    def resultant_ft(self) -> float:
        """Height above the base at which the whole shear gives the moment [ft]; 0 without any wind."""
        return self.moment_ftlb / self.shear_lbf if self.shear_lbf else 0.0


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
        Output("resultant_ft", "length", "ft", "height of the resultant"),
    ),
    caution=CAUTION,
    beyond=(
        "Whether pole, base or ground carry it. Fatigue, sway, ice and the twist of an arm are left out, and factors of the code "
        "are not in it."
    ),
    # The pole, speed and luminaire of a check by independent integration (tests/calc/test_capacity.py, W-D5); arm invented.
    example={
        "height_ft": "30 ft",
        "base_diameter_in": "8 in",
        "top_diameter_in": "3.8 in",
        "speed_mph": "90",
        "luminaire_area_ft2": "2",
        "arm_length_ft": "6 ft",
        "arm_diameter_in": "2 3/8 in",
    },
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
    site = Site(speed_mph, gust, importance, directionality, exposure)
    shear, moment = _on_pole(site, Pole(height_ft, base_diameter_in / 12, top_diameter_in / 12))
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
    return BaseReaction(shear, moment, other, other * top, *sums, _sentence(*sums, shear, other), working)


def _sentence(shear: float, moment: float, pole: float, other: float) -> str:
    parts = (
        f": {pole:,.0f} lbf on the pole, {other:,.0f} lbf on arm and luminaire" if other else ", all of it on the pole"
    )
    return f"The wind brings {moment:,.0f} ft-lb and {shear:,.0f} lbf to the base{parts}. {DECIDES}"


class Pole(NamedTuple):
    """A round tapered pole, all in feet."""

    height_ft: float
    base_ft: float
    top_ft: float

    def diameter(self, z: float) -> float:
        """Diameter [ft] at a height [ft]."""
        return self.base_ft + (self.top_ft - self.base_ft) * z / self.height_ft


class Site(NamedTuple):
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


def load_a_foot(site: Site, pole: Pole) -> Callable[[float], float]:
    """Return the wind load [lbf/ft] of a pole as a function of the height [ft]. Errors as `wind`."""
    unit = site.pressure(pole.height_ft) / height_factor(pole.height_ft, site.exposure)

    def at(z: float) -> float:
        diameter = pole.diameter(z)
        return unit * height_factor(z, site.exposure) * round_drag(site.speed_mph, diameter) * diameter

    return at


def _on_pole(site: Site, pole: Pole) -> tuple[float, float]:
    """Shear [lbf] and moment [ft-lb] of a round tapered pole."""
    from scipy.integrate import quad

    height = positive("height_ft", pole.height_ft)
    positive("base_diameter_in", pole.base_ft)
    positive("top_diameter_in", pole.top_ft)
    load = load_a_foot(site, pole)
    kinks = sorted(z for z in (LOWEST_FT, *_drag_changes(site, pole)) if 0 < z < height)
    shear = quad(load, 0, height, points=kinks or None)[0]
    moment = quad(lambda z: load(z) * z, 0, height, points=kinks or None)[0]
    return float(shear), float(moment)


def _drag_changes(site: Site, pole: Pole) -> list[float]:
    """Heights [ft] at which the drag coefficient changes its rule, which the integration must not step over."""
    if math.isclose(pole.base_ft, pole.top_ft):
        return []
    taper = (pole.top_ft - pole.base_ft) / pole.height_ft
    return [(c / site.speed_mph - pole.base_ft) / taper for c in (39, 78)]
