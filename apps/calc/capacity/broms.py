"""Statics of a short drilled shaft pushed sideways (Broms, free head): depth, greatest moment, what a depth carries."""

import math
from typing import NamedTuple

from apps.calc.errors import CalcError, between, not_negative, positive

SOURCE = "B. B. Broms, Lateral resistance of piles in cohesive / cohesionless soils, ASCE SM, 1964; AASHTO LTS C13.6"
SOILS = ("clay", "sand")
DEAD_ZONE = 1.5
"""Diameters below ground in which clay gives no resistance (Broms 1964)."""


class Ground(NamedTuple):
    """One layer of soil round a shaft: clay by its undrained shear strength, sand by weight and friction angle."""

    soil: str
    cohesion_psf: float = 0.0
    weight_pcf: float = 0.0
    friction_deg: float = 0.0

    def checked(self) -> "Ground":
        """Return itself if the numbers that its kind needs are possible. CalcError otherwise."""
        if self.soil == "clay":
            positive("cohesion_psf", self.cohesion_psf)
        elif self.soil == "sand":
            positive("weight_pcf", self.weight_pcf)
            between("friction_deg", self.friction_deg, 10, 50)
        else:
            raise CalcError("soil", f"expected one of {', '.join(SOILS)}, got {self.soil!r}")
        return self

    @property
    def passive(self) -> float:
        """Kp = tan²(45° + φ/2)."""
        return math.tan(math.radians(45 + self.friction_deg / 2)) ** 2


class Demand(NamedTuple):
    """Shear [lbf] and moment [ft-lb] at the ground, factors included."""

    shear_lbf: float
    moment_ftlb: float

    def checked(self) -> "Demand":
        """Return itself if neither is negative and one at least is over zero. CalcError otherwise."""
        not_negative("shear_lbf", self.shear_lbf)
        not_negative("moment_ftlb", self.moment_ftlb)
        if self.shear_lbf == self.moment_ftlb == 0:
            raise CalcError("moment_ftlb", "a shaft without any load needs no check")
        return self


def required_depth(demand: Demand, ground: Ground, diameter_ft: float) -> float:
    """Return the depth [ft] at which a shaft just carries the demand.

    Clay: L = 1.5 D + f + g, f = V/(9 c D), 2.25 c D g² = M + V (1.5 D + f/2).
    Sand: the positive root of L³ − 2 V L/(Kp γ D) − 2 M/(Kp γ D) = 0.
    Errors: CalcError on impossible soil, load or diameter. Source: Broms 1964, design form AASHTO LTS C13.6.

    >>> round(required_depth(Demand(2000, 50_000), Ground("clay", cohesion_psf=1000), 2.5), 3)
    7.039
    >>> round(required_depth(Demand(2000, 50_000), Ground("sand", weight_pcf=120, friction_deg=30), 2.5), 3)
    5.115
    """
    demand.checked()
    diameter = positive("diameter_ft", diameter_ft)
    if ground.checked().soil == "clay":
        strength = ground.cohesion_psf * diameter
        return (
            DEAD_ZONE * diameter
            + sheared_depth(demand, strength)
            + math.sqrt(_clay_moment(demand, ground, diameter) / (2.25 * strength))
        )
    from scipy.optimize import brentq

    v, m = (2 * each / (ground.passive * ground.weight_pcf * diameter) for each in demand)
    # At √v + ∛m the cubic is never negative, so the root lies below.
    return (
        float(brentq(lambda depth: depth**3 - v * depth - m, 0, math.sqrt(v) + math.cbrt(m) + 1e-9, xtol=1e-10))
        if m
        else math.sqrt(v)
    )


def sheared_depth(demand: Demand, strength: float) -> float:
    """Return f = V/(9 c D) [ft]: the depth of clay below its dead zone that the shear alone uses up; strength c D [lbf/ft]."""
    return demand.shear_lbf / (9 * strength)


def _clay_moment(demand: Demand, ground: Ground, diameter: float) -> float:
    arm = DEAD_ZONE * diameter + sheared_depth(demand, ground.cohesion_psf * diameter) / 2
    return demand.moment_ftlb + demand.shear_lbf * arm


def greatest_moment(demand: Demand, ground: Ground, diameter_ft: float) -> float:
    """Return the greatest bending moment in the shaft [ft-lb], where the shear is zero, for a shaft deep enough.

    Errors and source: as `required_depth`.

    >>> round(greatest_moment(Demand(2000, 50_000), Ground("sand", weight_pcf=120, friction_deg=30), 2.5))
    51623
    """
    demand.checked()
    diameter = positive("diameter_ft", diameter_ft)
    if ground.checked().soil == "clay":
        return _clay_moment(demand, ground, diameter)
    return demand.moment_ftlb + demand.shear_lbf * 2 / 3 * zero_shear_depth(demand, ground, diameter)


def zero_shear_depth(demand: Demand, ground: Ground, diameter_ft: float) -> float:
    """Return the depth [ft] at which the shear is zero. Errors and source: as `required_depth`.

    >>> round(zero_shear_depth(Demand(2000, 50_000), Ground("sand", weight_pcf=120, friction_deg=30), 2.5), 3)
    1.217
    """
    diameter = positive("diameter_ft", diameter_ft)
    if ground.checked().soil == "clay":
        return DEAD_ZONE * diameter + sheared_depth(demand, ground.cohesion_psf * diameter)
    return math.sqrt(demand.shear_lbf / (1.5 * ground.weight_pcf * diameter * ground.passive))


def capacity_factor(demand: Demand, ground: Ground, diameter_ft: float, depth_ft: float) -> float:
    """Return by how much shear and moment together could grow before a shaft of this depth is used up (1: just enough).

    0 where clay is no deeper than its dead zone. More depth never lowers it.
    Errors: CalcError also on a negative depth. Source: Broms 1964.

    >>> round(capacity_factor(Demand(2000, 50_000), Ground("clay", cohesion_psf=1000), 2.5, 7.039), 3)
    1.0
    """
    demand.checked()
    diameter, depth = positive("diameter_ft", diameter_ft), not_negative("depth_ft", depth_ft)
    if ground.checked().soil == "sand":
        resistance = ground.passive * ground.weight_pcf * diameter * depth**3 / 2
        return resistance / (demand.shear_lbf * depth + demand.moment_ftlb) if depth else 0.0
    below = depth - DEAD_ZONE * diameter
    strength = ground.cohesion_psf * diameter
    if below <= 0:
        return 0.0
    if demand.shear_lbf == 0:
        return 2.25 * strength * below**2 / demand.moment_ftlb
    # f² + 2 b f − u² = 0 for the depth f that the shear uses, written without a difference of near equals.
    b = 2 * demand.moment_ftlb / demand.shear_lbf + 2 * DEAD_ZONE * diameter + below
    return 9 * strength * below**2 / (b + math.hypot(b, below)) / demand.shear_lbf


def soil_pressure(
    demand: Demand, ground: Ground, diameter_ft: float, depth_ft: float
) -> tuple[tuple[float, float], ...]:
    """Return depth [ft] and pressure [psf] down a shaft that is just used up, corner by corner; negative: the other side.

    Clay: none in the dead zone, then 9 c, turning over where the shaft turns. Sand: 3 Kp γ z to the tip, where the method
    lets a single force turn it back. Nothing where the depth carries nothing.
    Errors: as `capacity_factor`. Source: Broms 1964.

    >>> soil_pressure(Demand(2000, 50_000), Ground("clay", cohesion_psf=1000), 2.5, 8)[1]
    (3.75, 9000)
    """
    factor = capacity_factor(demand, ground, diameter_ft, depth_ft)
    if not factor:
        return ()
    if ground.soil == "sand":
        return (0.0, 0.0), (depth_ft, 3 * ground.passive * ground.weight_pcf * depth_ft)
    dead, most = DEAD_ZONE * diameter_ft, 9 * ground.cohesion_psf
    used = factor * sheared_depth(demand, ground.cohesion_psf * diameter_ft)
    turns = dead + used + (depth_ft - dead - used) / 2
    return (dead, 0.0), (dead, most), (turns, most), (turns, -most), (depth_ft, -most), (depth_ft, 0.0)
