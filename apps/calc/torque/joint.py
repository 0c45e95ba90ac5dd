"""Joints with levelling nuts: pretension, snug and verification torque, turn of the nut, order of the bolts.

Not for a breakaway base seated on its concrete: there the base maker's torque rules, because the base was crash-tested
with it.
"""

import math
from dataclasses import dataclass
from fractions import Fraction

from apps.calc.errors import CalcError, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.torque.caution import CAUTION
from apps.calc.torque.rod import GRADES, stress_area, threads_per_inch
from apps.calc.torque.tension import torque_for
from apps.calc.working import Step
from apps.calc.working import number_text as text

VERIFICATION_FACTOR = 0.12
"""Tv = 0.12 D Fi: FHWA NHI 05-036 (2005), chapter 6, and the AASHTO LTS commentary (relation from memory)."""
SNUG_SHARES = (0.20, 0.30)
"""Snug, of the verification torque: Wisconsin DOT form DT2321 (6/2016), steps 5 to 7."""
TURN_ALLOWED = 20.0
"""Degrees by which a nut may turn further: AISC Design Guide 1, 2nd ed., Table A2."""
STEEPEST = Fraction(1, 40)
"""Lean of a rod in a double-nut joint: DT2321 steps 2 and 4; AISC Design Guide 1, Table A2 footnote."""


def pretension_kip(diameter_in: float, grade: str, threads: float | None = None) -> float:
    """Return the least pretension [kip, unrounded] of an F1554 rod in a double-nut joint: 0.50 or 0.60 Fu At.

    The printed table rounds to a kip. Errors: CalcError on an unknown grade or thread.
    Source: AISC Design Guide 1, 2nd ed., Table A1, p. 52.

    >>> round(pretension_kip(1, "55"), 2)
    27.26
    """
    if grade not in GRADES:
        raise CalcError("grade", f"expected one of {', '.join(GRADES)}, got {grade!r}")
    area = stress_area(diameter_in, threads_per_inch(diameter_in) if threads is None else threads)
    return GRADES[grade].pretension * GRADES[grade].tensile_low_ksi * area


def nut_rotation_deg(diameter_in: float, grade: str) -> float:
    """Return the turn of the nut past snug [degrees; tolerance +20] of a coarse-thread rod in a double-nut joint.

    To 1 1/2 in: grade 36 one sixth of a turn, 55 and 105 one third; thicker: half of that (for grade 36 from memory).
    Errors: CalcError on an unknown grade or a diameter of zero. Source: AISC Design Guide 1, 2nd ed., Table A2.

    >>> nut_rotation_deg(1, "36"), nut_rotation_deg(1, "105")
    (60.0, 120.0)
    """
    if grade not in GRADES:
        raise CalcError("grade", f"expected one of {', '.join(GRADES)}, got {grade!r}")
    turn = 60.0 if grade == "36" else 120.0
    return turn if positive("diameter_in", diameter_in) <= 1.5 else turn / 2


def tightening_order(count: int) -> tuple[int, ...]:
    """Return the order in which to tighten bolts numbered 1 to n round the circle, each as nearly opposite as can be.

    Even n: opposite pairs, each next pair as far as possible from those done. Odd n: a star.
    Errors: CalcError on fewer than three bolts. Source: crisscross rule, common practice, no source.

    >>> tightening_order(4), tightening_order(8)
    ((1, 3, 2, 4), (1, 5, 3, 7, 2, 6, 4, 8))
    """
    if isinstance(count, bool) or not isinstance(count, int) or count < 3:
        raise CalcError("count", f"expected a whole number of bolts, three at least, got {count!r}")
    half = count // 2
    if count % 2:
        return tuple(at * half % count + 1 for at in range(count))
    done = [0]
    while len(done) < half:
        left = (at for at in range(half) if at not in done)
        done.append(max(left, key=lambda at: (min(_apart(at, each, half) for each in done), -at)))
    return tuple(bolt for at in done for bolt in (at + 1, at + 1 + half))


def _apart(one: int, other: int, half: int) -> int:
    """How far two diameters are apart, in steps of the circle, either way round."""
    return min((one - other) % half, (other - one) % half)


@dataclass(frozen=True, slots=True)
class DoubleNut:
    """How a double-nut joint is tightened and verified."""

    pretension_kip: float
    """Rounded to a kip, as the table prints it."""
    verification_ftlb: float
    snug_low_ftlb: float
    snug_high_ftlb: float
    rotation_deg: float
    order: tuple[int, ...]
    sentence: str
    working: tuple[Step, ...]
    caution: str = CAUTION


@calculation(
    "torque.double_nut",
    "Tightening and verifying a double-nut joint",
    "AISC Design Guide 1, 2nd ed., Tables A1 and A2; FHWA NHI 05-036 chapter 6; Wisconsin DOT DT2321 (6/2016)",
    inputs=(
        Input("diameter_in", "length", "in", "nominal diameter", low=0.2, high=6),
        Input("grade", "choice", "", "grade, ASTM F1554", choices=tuple(GRADES)),
        Input("count", "count", "", "bolts", default=4, low=3, high=24),
        Input("threads", "ratio", "1", "threads per inch (absent: coarse)", optional=True, low=1, high=80),
    ),
    outputs=(
        Output("verification_ftlb", "torque", "ft-lb", "verification torque"),
        Output("rotation_deg", "angle", "deg", "turn past snug"),
        Output("snug_low_ftlb", "torque", "ft-lb", "snug, from"),
        Output("snug_high_ftlb", "torque", "ft-lb", "snug, to"),
        Output("pretension_kip", "force", "kip", "pretension"),
        Output("order", "count", "", "order of the bolts, numbered round"),
    ),
    caution=CAUTION,
    beyond=(
        "Anything about a breakaway base on its concrete: there the base maker's torque rules. Nor whether rods are true, threads "
        "clean or nuts lubricated."
    ),
    # AISC Design Guide 1, 2nd ed., Tables A1 and A2: 1 in rod, grade 55: 27 kip, a third of a turn.
    example={"diameter_in": "1 in", "grade": "55", "count": "4"},
)
def double_nut(*, diameter_in: float, grade: str, count: float = 4, threads: float | None = None) -> DoubleNut:
    """Return pretension [kip], snug and verification torque [ft-lb], turn past snug [deg] and the order of the bolts.

    For joints with levelling nuts, not for a breakaway base on concrete. Snug is 20 to 30 % of the verification torque,
    both nuts, in star order, two full cycles; verify within days and again after about 48 hours (from memory).
    Errors: CalcError on an unknown grade, size or count. Source: see the parts.

    >>> result = double_nut(diameter_in=1, grade="55")
    >>> result.pretension_kip, round(result.verification_ftlb, 1), result.order
    (27.0, 270.0, (1, 3, 2, 4))
    """
    if count != int(count):
        raise CalcError("count", f"expected a whole number, got {count}")
    exact = pretension_kip(diameter_in, grade, threads)
    force = float(math.floor(exact + 0.5))
    verify = torque_for(preload_lbf=1000 * force, diameter_in=diameter_in, nut_factor=VERIFICATION_FACTOR)
    low, high = (share * verify for share in SNUG_SHARES)
    rotation, strength = nut_rotation_deg(diameter_in, grade), GRADES[grade]
    area = exact / strength.pretension / strength.tensile_low_ksi
    working = (
        Step(
            "F_i",
            "share · F_u · A_t, to a kip",
            f"{strength.pretension} · {strength.tensile_low_ksi} · {text(area)}",
            force,
            "kip",
        ),
        Step("T_v", "0.12 D F_i", f"0.12 · {text(diameter_in)} · {text(1000 * force)} / 12", verify, "ft-lb"),
        Step(
            "snug",
            "20 to 30 % of T_v",
            f"0.20 · {text(verify)} to 0.30 · {text(verify)}",
            f"{text(low)} to {text(high)}",
            "ft-lb",
        ),
        Step("turn", "past snug, +20°", f"grade {grade}, {text(diameter_in)} in", rotation, "deg"),
    )
    order = tightening_order(int(count))
    way = f"in the order {', '.join(map(str, order))}" if len(order) <= 8 else "in star order"
    said = (
        f"Snug at {text(low, 4)} to {text(high, 4)} ft-lb {way}, then turn each nut "
        f"{text(rotation)}° (up to {text(rotation + TURN_ALLOWED)}°) in the same order. Verify with {text(verify, 4)} ft-lb for "
        f"{text(force)} kip."
    )
    return DoubleNut(force, verify, low, high, rotation, order, said, working)


def rod_stands_true(*, lean_in: float, length_in: float, standoff_in: float, diameter_in: float) -> bool:
    """Say whether a rod of a double-nut joint leans at most 1:40 and its lower nut is within one diameter of concrete.

    Lean over a length, stand-off to the underside of the lower nut and rod diameter, all [in].
    Errors: CalcError on a negative lean or stand-off, a length or diameter of zero.
    Source: Wisconsin DOT DT2321 (6/2016), steps 2 and 4; AISC Design Guide 1, 2nd ed., Table A2 footnote.

    >>> rod_stands_true(lean_in=0.25, length_in=10, standoff_in=1, diameter_in=1)
    True
    """
    slope = Fraction(not_negative("lean_in", lean_in)) / Fraction(positive("length_in", length_in))
    return slope <= STEEPEST and not_negative("standoff_in", standoff_in) <= positive("diameter_in", diameter_in)
