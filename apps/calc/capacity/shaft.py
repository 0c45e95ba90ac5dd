"""What a short drilled shaft carries sideways, and what one that stopped short still carries: the answer in words."""

from dataclasses import dataclass

from apps.calc.capacity.broms import (
    DEAD_ZONE,
    SOILS,
    SOURCE,
    Demand,
    Ground,
    capacity_factor,
    greatest_moment,
    required_depth,
    sheared_depth,
    zero_shear_depth,
)
from apps.calc.capacity.caution import CAUTION, DECIDES
from apps.calc.errors import between, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.working import Step
from apps.calc.working import number_text as text


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
    assumptions: tuple[str, ...]
    """What the answer rests on, one a line, with the numbers that it was given."""
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
        Output("ordered_ratio", "ratio", "1", "the same at the depth ordered"),
        Output("kept", "ratio", "1", "kept of what the ordered depth carries"),
        Output("greatest_moment_ftlb", "torque", "ft-lb", "greatest moment in the shaft, load factored"),
        Output("assumptions", "text", "", "assumes"),
    ),
    caution=CAUTION,
    beyond=(
        "Whether this shaft may stay. It does not know the ground under it, the bending strength of the shaft, how far the head "
        "moves, uplift, or a factor that the code in force asks for."
    ),
    # Load times 2/0.7 is the computed design form of AASHTO LTS C13.6, 2 kip and 50 kip-ft in clay of 1 ksf
    # (tests/calc/test_capacity.py, L-D3: 7.04 ft); the depths, one built short, are invented.
    example={
        "shear_lbf": "700",
        "moment_ftlb": "17500",
        "diameter_ft": "2 ft 6 in",
        "depth_ft": "6.4 ft",
        "ordered_ft": "8 ft",
        "soil": "clay",
        "cohesion_psf": "1000",
    },
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
    lost, built = not_negative("neglected_ft", neglected_ft), not_negative("depth_ft", depth_ft)
    demand = factored(shear_lbf, moment_ftlb, load_factor, under_capacity, lost)
    needed = required_depth(demand, ground, diameter_ft) + lost
    ratio = _ratio(demand, ground, diameter_ft, built - lost)
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
        _assumptions(ground, diameter_ft, built, lost, load_factor, under_capacity),
        f"{_carries(depth_ft, ordered_ft, needed, ratio, kept)} {_provided(ground, load_factor, under_capacity)} {DECIDES}",
        (
            *_factored(shear_lbf, moment_ftlb, lost, load_factor, under_capacity, demand),
            *_depth_steps(demand, ground, diameter_ft, lost, needed),
            *_ratio_steps(depth_ft, ratio, ordered_ft, ordered),
        ),
    )


def factored(shear: float, moment: float, load: float, under: float, lost: float) -> Demand:
    """Return shear [lbf] and moment [ft-lb] times load over under-capacity factor, below `lost` feet of ground. CalcError."""
    Demand(shear, moment).checked()
    factor = positive("load_factor", load) / between("under_capacity", positive("under_capacity", under), 0, 1)
    return Demand(factor * shear, factor * (moment + shear * lost))


def _ratio(demand: Demand, ground: Ground, diameter: float, depth: float) -> float:
    return capacity_factor(demand, ground, diameter, max(depth, 0.0))


def percent(ratio: float) -> str:
    """Write a ratio as a percentage; beyond a hundredfold nobody reads the figure."""
    return f"{100 * ratio:.0f} %" if ratio <= 100 else "over 10,000 %"


def _carries(depth: float, ordered: float | None, needed: float, ratio: float, kept: float | None) -> str:
    short = "" if ordered is None else f" instead of {text(ordered, 3)} ft"
    share = "" if kept is None else f", {percent(kept)} of what the ordered depth carries"
    only = "" if ratio >= 1 else "only "
    return (
        f"At {text(depth, 3)} ft{short} this shaft carries {only}{percent(ratio)} of its factored load{share}; "
        f"the method asks for {needed:.2f} ft."
    )


def _provided(ground: Ground, load: float, under: float) -> str:
    return (
        f"Assumed: one layer of {_soil(ground)} to below the tip, level ground, a short rigid shaft with a free head, "
        f"load × {text(load)} / {text(under)}."
    )


def _soil(ground: Ground) -> str:
    if ground.soil == "clay":
        return f"clay of {ground.cohesion_psf:,.0f} psf"
    return f"sand of {text(ground.weight_pcf, 4)} lb/ft³ and {text(ground.friction_deg, 3)}°"


def _assumptions(
    ground: Ground, diameter: float, depth: float, lost: float, load: float, under: float
) -> tuple[str, ...]:
    top = f"the top {text(lost, 3)} ft count for nothing" if lost else "ground counted on from the surface down"
    if ground.soil == "clay":
        top += f", and clay gives nothing to 1.5 diameters ({text(DEAD_ZONE * diameter, 4)} ft) below that"
    return (
        f"one layer of {_soil(ground)} from the surface to below the tip, the same all round",
        f"level ground; {top}",
        f"a short rigid shaft, {text(depth / diameter, 2)} diameters deep, free to turn at its head, that does not break first",
        f"load multiplied by {text(load)} and divided by {text(under)}: the edition in force decides both",
        "the load acts once; creep, scour, frost and other shafts close by are left out",
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
        f = sheared_depth(demand, ground.cohesion_psf * diameter)
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


def _ratio_steps(depth: float, ratio: float, ordered_ft: float | None, ordered: float | None) -> tuple[Step, ...]:
    expression = "load that the depth carries / factored load"
    built = Step("capacity", expression, f"at {text(depth)} ft", ratio)
    if not ordered_ft or not ordered:
        return (built,)
    return (
        built,
        Step("ordered", expression, f"at {text(ordered_ft)} ft", ordered),
        Step("kept", "capacity / ordered", f"{text(ratio)} / {text(ordered)}", ratio / ordered),
    )
