"""What a short drilled shaft carries sideways (Broms, free head), and what one that stopped short still carries."""

import math
from dataclasses import dataclass
from typing import NamedTuple

from apps.calc.errors import CalcError, between, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.working import Step
from apps.calc.working import number_text as text

SOURCE = "B. B. Broms, Lateral resistance of piles in cohesive / cohesionless soils, ASCE SM, 1964; AASHTO LTS C13.6"
CAUTION = (
    "A screen, no design. It holds for one layer of soil, level ground and a short rigid shaft with a free head. "
    "A licensed engineer decides whether a shaft stays, is deepened or is replaced."
)
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
            + _f(demand, strength)
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


def _f(demand: Demand, strength: float) -> float:
    return demand.shear_lbf / (9 * strength)


def _clay_moment(demand: Demand, ground: Ground, diameter: float) -> float:
    arm = DEAD_ZONE * diameter + _f(demand, ground.cohesion_psf * diameter) / 2
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
        return DEAD_ZONE * diameter + _f(demand, ground.cohesion_psf * diameter)
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


@dataclass(frozen=True, slots=True)
class Shaft:
    """A shaft against its load: the depth it needs, and how much of what it must carry it does carry."""

    required_ft: float
    """Depth needed, neglected ground included."""
    capacity_ratio: float
    """What the built shaft carries over what it must carry, load and resistance factors included: 1 or more is enough."""
    ordered_ratio: float | None
    """The same for the depth ordered."""
    kept: float | None
    """Share of the ordered shaft's capacity that the built one keeps."""
    greatest_moment_ftlb: float
    sentence: str
    working: tuple[Step, ...]
    caution: str = CAUTION


@calculation(
    "capacity.shaft",
    "What a short shaft carries, and one that stopped short",
    SOURCE,
    inputs=(
        Input("shear_lbf", "force", "lbf", "shear at the ground", low=0),
        Input("moment_ftlb", "torque", "ft-lb", "moment at the ground", low=0),
        Input("diameter_ft", "length", "ft", "shaft diameter", low=0.5, high=15),
        Input("depth_ft", "length", "ft", "depth built", low=0, high=200),
        Input("ordered_ft", "length", "ft", "depth ordered", optional=True, low=0, high=200),
        Input("soil", "choice", "", "soil", choices=SOILS),
        Input("cohesion_psf", "pressure", "psf", "clay: undrained shear strength", default=0.0, low=0),
        Input("weight_pcf", "density", "lb/ft3", "sand: effective unit weight", default=0.0, low=0),
        Input("friction_deg", "angle", "deg", "sand: friction angle", default=0.0, low=0, high=50),
        Input("load_factor", "ratio", "1", "overload factor", default=2.0, low=1, high=5),
        Input("under_capacity", "ratio", "1", "under-capacity factor", default=0.7, low=0.1, high=1),
        Input("neglected_ft", "length", "ft", "ground at the top that is not counted on", default=0.0, low=0, high=50),
    ),
    outputs=(
        Output("required_ft", "length", "ft", "depth needed"),
        Output("capacity_ratio", "ratio", "1", "carries over must carry"),
    ),
    caution=CAUTION,
)
def shaft(
    *,
    shear_lbf: float,
    moment_ftlb: float,
    diameter_ft: float,
    depth_ft: float,
    soil: str,
    cohesion_psf: float = 0.0,
    weight_pcf: float = 0.0,
    friction_deg: float = 0.0,
    ordered_ft: float | None = None,
    load_factor: float = 2.0,
    under_capacity: float = 0.7,
    neglected_ft: float = 0.0,
) -> Shaft:
    """Return what a shaft carries of shear [lbf] and moment [ft-lb] at the ground, and the depth [ft] it needs.

    The load is multiplied by `load_factor` / `under_capacity` first (2 to 3 and 0.7 in the AASHTO commentary, from
    memory: the edition in force decides). `neglected_ft` of ground at the top (fill, frost, a bank) resists nothing and
    lengthens the lever. `ordered_ft` lets the answer say what a shaft that stopped short has lost.
    Errors: CalcError naming the field on impossible soil, load, diameter, depth or factor.
    Source: Broms 1964; design form AASHTO LTS C13.6 (from memory).

    >>> clay = dict(soil="clay", cohesion_psf=1000, diameter_ft=2.5)
    >>> result = shaft(shear_lbf=700, moment_ftlb=17_500, depth_ft=6.4, ordered_ft=8, **clay)
    >>> round(result.required_ft, 2), round(result.capacity_ratio, 2)
    (7.04, 0.66)
    """
    ground = Ground(soil, cohesion_psf, weight_pcf, friction_deg).checked()
    Demand(shear_lbf, moment_ftlb).checked()
    factor = positive("load_factor", load_factor) / between(
        "under_capacity", positive("under_capacity", under_capacity), 0, 1
    )
    lost = not_negative("neglected_ft", neglected_ft)
    demand = Demand(factor * shear_lbf, factor * (moment_ftlb + shear_lbf * lost))
    needed = required_depth(demand, ground, diameter_ft) + lost
    ratio = _ratio(demand, ground, diameter_ft, not_negative("depth_ft", depth_ft) - lost)
    ordered = (
        None if ordered_ft is None else _ratio(demand, ground, diameter_ft, positive("ordered_ft", ordered_ft) - lost)
    )
    kept = ratio / ordered if ordered else None
    return Shaft(
        needed,
        ratio,
        ordered,
        kept,
        greatest_moment(demand, ground, diameter_ft),
        _sentence(depth_ft, ordered_ft, needed, ratio, kept),
        (
            *_factored(shear_lbf, moment_ftlb, lost, load_factor, under_capacity, demand),
            *_depth_steps(demand, ground, diameter_ft, lost, needed),
            _ratio_step(depth_ft, ratio),
        ),
    )


def _ratio(demand: Demand, ground: Ground, diameter: float, depth: float) -> float:
    return capacity_factor(demand, ground, diameter, max(depth, 0.0))


def _sentence(depth: float, ordered: float | None, needed: float, ratio: float, kept: float | None) -> str:
    short = "" if ordered is None else f" instead of {text(ordered, 3)} ft"
    share = "" if kept is None else f", {100 * kept:.0f} % of what the ordered depth carries"
    only = "" if ratio >= 1 else "only "
    return (
        f"At {text(depth, 3)} ft{short} this shaft carries {only}{100 * ratio:.0f} % of its factored load{share}; "
        f"the method asks for {needed:.2f} ft. A licensed engineer decides."
    )


def _factored(shear: float, moment: float, lost: float, load: float, under: float, demand: Demand) -> tuple[Step, ...]:
    arm = f"({text(moment)} + {text(shear)} · {text(lost)})" if lost else text(moment)
    return (
        Step("V_F", "V · LF / φ", f"{text(shear)} · {load} / {under}", demand.shear_lbf, "lbf"),
        Step("M_F", "(M + V · neglected) · LF / φ", f"{arm} · {load} / {under}", demand.moment_ftlb, "ft-lb"),
    )


def _depth_steps(demand: Demand, ground: Ground, diameter: float, lost: float, needed: float) -> tuple[Step, ...]:
    d, most = text(diameter), greatest_moment(demand, ground, diameter)
    v, m = text(demand.shear_lbf), text(demand.moment_ftlb)
    if ground.soil == "clay":
        c = text(ground.cohesion_psf)
        f = _f(demand, ground.cohesion_psf * diameter)
        g = needed - lost - DEAD_ZONE * diameter - f
        return (
            Step("f", "V / (9 c D)", f"{v} / (9 · {c} · {d})", f, "ft"),
            Step("M_max", "M + V (1.5 D + f/2)", f"{m} + {v} · (1.5 · {d} + {text(f)}/2)", most, "ft-lb"),
            Step("g", "√(M_max / (2.25 c D))", f"√({text(most)} / (2.25 · {c} · {d}))", g, "ft"),
            Step("L", "1.5 D + f + g + neglected", f"1.5 · {d} + {text(f)} + {text(g)} + {text(lost)}", needed, "ft"),
        )
    kp, weight = text(ground.passive), text(ground.weight_pcf)
    z = zero_shear_depth(demand, ground, diameter)
    return (
        Step("Kp", "tan²(45° + φ/2)", f"tan²(45° + {text(ground.friction_deg)}°/2)", ground.passive),
        Step(
            "L",
            "L³ = 2 (V L + M) / (Kp γ D), + neglected",
            f"L³ = 2 ({v} L + {m}) / ({kp} · {weight} · {d}), + {text(lost)}",
            needed,
            "ft",
        ),
        Step("z", "√(V / (1.5 γ D Kp))", f"√({v} / (1.5 · {weight} · {d} · {kp}))", z, "ft"),
        Step("M_max", "M + 2/3 V z", f"{m} + 2/3 · {v} · {text(z)}", most, "ft-lb"),
    )


def _ratio_step(depth: float, ratio: float) -> Step:
    return Step("capacity", "load that the depth carries / factored load", f"at {text(depth)} ft", ratio)
