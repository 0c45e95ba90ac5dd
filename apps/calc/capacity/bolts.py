"""Tension in the anchor bolts of a base under moment and axial load."""

import math
from dataclasses import dataclass

from apps.calc.capacity.caution import CAUTION, DECIDES
from apps.calc.errors import CalcError, between, finite, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.working import Step
from apps.calc.working import number_text as text


@dataclass(frozen=True, slots=True)
class BoltForces:
    """Axial force in each bolt [lbf], tension positive, in order round the circle."""

    forces_lbf: tuple[float, ...]
    tension_lbf: float
    """The greatest, 0 when no bolt is in tension."""
    compression_lbf: float
    """The greatest, as a positive number."""
    stress_ksi: float | None
    """The greatest tension over the stress area; None without an area."""
    yield_ratio: float | None
    """That stress over the yield strength; None without either."""
    sentence: str
    working: tuple[Step, ...]
    caution: str = CAUTION


@calculation(
    "capacity.bolts",
    "Tension in the anchor bolts",
    "Statics of a rigid base: T = M y / Σy² − P / n",
    inputs=(
        Input("moment_ftlb", "torque", "ft-lb", "moment at the base", low=0),
        Input("bolt_circle_in", "length", "in", "bolt circle", low=1, high=120),
        Input("axial_lbf", "force", "lbf", "weight carried, down positive", default=0.0),
        Input("count", "count", "", "bolts", default=4, low=3, high=24),
        Input("angle_deg", "angle", "deg", "first bolt from the bending axis (90: on the diagonal)", default=90.0),
        Input("area_in2", "area", "in2", "tensile stress area of a bolt", optional=True, low=0.01),
        Input("yield_ksi", "pressure", "ksi", "yield strength of the bolt", optional=True, low=1),
    ),
    outputs=(
        Output("tension_lbf", "force", "lbf", "greatest tension"),
        Output("compression_lbf", "force", "lbf", "greatest compression"),
        Output("yield_ratio", "ratio", "1", "stress over yield"),
    ),
    caution=CAUTION,
    beyond=(
        "Whether the bolts hold: bending in a stand-off, prying, shear, fatigue and the concrete round them are not looked at, and "
        "no load factor is in it."
    ),
    # Statics of four bolts on their diagonal (tests/calc/test_capacity.py, W-D7); bolt 1 in, stress area ASME B1.1; grade 55.
    example={
        "moment_ftlb": "30000",
        "bolt_circle_in": "15 in",
        "axial_lbf": "1200",
        "count": "4",
        "area_in2": "0.606",
        "yield_ksi": "55",
    },
)
def bolts(
    *,
    moment_ftlb: float,
    bolt_circle_in: float,
    axial_lbf: float = 0.0,
    count: float = 4,
    angle_deg: float = 90.0,
    area_in2: float | None = None,
    yield_ksi: float | None = None,
) -> BoltForces:
    """Return the force in each of n equal bolts spread evenly on a circle, under moment [ft-lb] and weight [lbf].

    `angle_deg` turns the bolts: it is the angle of the first bolt from the bending axis. For four bolts 90 puts a bolt
    on the diagonal, which governs; 45 puts the wind square on a side. Σy² = n B²/8 for any turn.
    Left out: bending of bolts in a stand-off, prying, shear, fatigue.
    Errors: CalcError on a negative moment, a circle of zero, fewer than three bolts.
    Source: statics.

    >>> round(bolts(moment_ftlb=30_000, bolt_circle_in=15, axial_lbf=1200).tension_lbf)
    23700
    """
    not_negative("moment_ftlb", moment_ftlb)
    positive("bolt_circle_in", bolt_circle_in)
    finite("axial_lbf", axial_lbf)
    finite("angle_deg", angle_deg)
    if between("count", count, 3, 1000) != int(count):
        raise CalcError("count", f"expected a whole number, got {count}")
    n = int(count)
    arms = arms_of(n, bolt_circle_in, angle_deg)
    squares = n * bolt_circle_in**2 / 8
    forces = tuple(12 * moment_ftlb * arm / squares - axial_lbf / n for arm in arms)
    tension, compression = max(0.0, *forces), max(0.0, *(-force for force in forces))
    stress = None if area_in2 is None else tension / 1000 / positive("area_in2", area_in2)
    ratio = None if stress is None or yield_ksi is None else stress / positive("yield_ksi", yield_ksi)
    load = f"12 · {text(moment_ftlb)} · {text(max(arms))} / {text(squares)} − {text(axial_lbf)} / {n}"
    working = (
        Step("Σy²", "n B² / 8", f"{n} · {text(bolt_circle_in)}² / 8", squares, "in²"),
        Step("y", "B/2 · sin φ", f"{text(bolt_circle_in / 2)} · sin φ, farthest", max(arms), "in"),
        Step("T", "M y / Σy² − P / n", load, max(forces), "lbf"),
        *_stress_steps(tension, area_in2, stress, yield_ksi, ratio),
    )
    return BoltForces(forces, tension, compression, stress, ratio, _sentence(tension, compression, ratio), working)


def arms_of(count: int, bolt_circle_in: float, angle_deg: float) -> tuple[float, ...]:
    """Return the distance of each bolt from the bending axis [in], positive on the side in tension, in order."""
    return tuple(bolt_circle_in / 2 * math.sin(math.radians(angle_deg + 360 * at / count)) for at in range(count))


def _sentence(tension: float, compression: float, ratio: float | None) -> str:
    said = (
        f"The greatest tension in a bolt is {tension:,.0f} lbf, the greatest compression {compression:,.0f} lbf."
        if tension
        else f"No bolt is in tension; the greatest compression is {compression:,.0f} lbf."
    )
    if ratio is None:
        return f"{said} {DECIDES}"
    share = f"{100 * ratio:.0f} % of yield"
    return f"Over yield: {share}. {said} {DECIDES}" if ratio > 1 else f"{said} That is {share}. {DECIDES}"


def _stress_steps(
    tension: float, area: float | None, stress: float | None, strength: float | None, ratio: float | None
) -> tuple[Step, ...]:
    if stress is None:
        return ()
    found = Step("f", "T / A_t, tension only", f"{text(tension / 1000)} / {area}", stress, "ksi")
    if ratio is None:
        return (found,)
    return found, Step("f / F_y", "stress / yield", f"{text(stress)} / {strength}", ratio, "1")
