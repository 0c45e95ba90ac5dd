"""Strength gained with age, and the age of a strength."""

from dataclasses import dataclass
from typing import NamedTuple

from apps.calc.errors import CalcError, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.strength.caution import CAUTION
from apps.calc.working import Step
from apps.calc.working import number_text as text


class Gain(NamedTuple):
    """Constants of f(t) = f28 t/(a + b t), t in days."""

    a: float
    b: float


# ACI 209R-92, table for equation 2-1: cement type and curing.
GAINS = {
    "type I, moist": Gain(4.0, 0.85),
    "type III, moist": Gain(2.3, 0.92),
    "type I, steam": Gain(1.0, 0.95),
    "type III, steam": Gain(0.70, 0.98),
}


def gain_ratio(age_days: float, gain: Gain) -> float:
    """Return f(t)/f28 = t/(a + b t) at an age [days]. It is 1.007 at 28 days for type I moist: a rounded fit.

    Errors: CalcError on a negative age or constants of zero or less. Source: ACI 209R-92, equation 2-1.

    >>> round(gain_ratio(7, GAINS["type I, moist"]), 4)
    0.7035
    """
    not_negative("age_days", age_days)
    return age_days / (positive("a", gain.a) + positive("b", gain.b) * age_days)


def fitted_gain(*, early_days: float, early_strength: float, strength_28: float) -> Gain:
    """Return a and b through one early test and the 28-day strength, in any one unit, so that f(28) = f28.

    Errors: CalcError on an early age not between 0 and 28 days, an early strength not under the 28-day one.
    Source: algebra on ACI 209R-92, equation 2-1.

    >>> gain = fitted_gain(early_days=7, early_strength=2800, strength_28=4000)
    >>> round(gain.a, 3), round(gain.b, 4)
    (4.0, 0.8571)
    """
    if not 0 < positive("early_days", early_days) < 28:
        raise CalcError("early_days", f"must lie between 0 and 28, got {early_days}")
    if positive("early_strength", early_strength) >= positive("strength_28", strength_28):
        raise CalcError("early_strength", f"{early_strength} is not under the 28-day strength of {strength_28}")
    b = (early_days * strength_28 - 28 * early_strength) / (early_strength * (early_days - 28))
    a = 28 * (1 - b)
    if b <= 0:
        raise CalcError("early_strength", "the two tests lie on no curve that levels off")
    return Gain(a, b)


@dataclass(frozen=True, slots=True)
class StrengthAtAge:
    """Strength at an age, in the unit that went in."""

    strength_psi: float
    ratio: float
    reached_days: float | None
    """Age at which the strength asked for is reached; None when never, or when none was asked."""
    sentence: str
    working: tuple[Step, ...]
    caution: str = CAUTION


@calculation(
    "strength.gain",
    "Strength at an age, and the age of a strength",
    "ACI 209R-92, equation 2-1: f(t) = f28 t/(a + b t)",
    inputs=(
        Input("strength_28_psi", "pressure", "psi", "strength at 28 days", low=1),
        Input("age_days", "time", "d", "age", low=0),
        Input("mixture", "choice", "", "cement and curing", default="type I, moist", choices=tuple(GAINS)),
        Input("wanted_psi", "pressure", "psi", "strength that a gate asks for", optional=True, low=1),
    ),
    outputs=(
        Output("strength_psi", "pressure", "psi", "strength at the age"),
        Output("reached_days", "time", "d", "age at which the gate opens"),
    ),
    caution=CAUTION,
    beyond=(
        "What this concrete has: mixture, curing and cold change it, and field-cured cylinders or maturity tell. "
        "The curve is of means; a weak load lies under it."
    ),
    # A 4,000 psi mixture at seven days, and the 75 % that a gate may ask for: 2,814 psi by ACI 209R-92, equation 2-1.
    example={"strength_28_psi": "4000 psi", "age_days": "7 d", "wanted_psi": "3000 psi"},
)
def strength_at(
    *, strength_28_psi: float, age_days: float, mixture: str = "type I, moist", wanted_psi: float | None = None
) -> StrengthAtAge:
    """Return the strength [psi] at an age [days] from the 28-day strength, and when a wanted strength is reached.

    Errors: CalcError on a value of zero or less, an unknown mixture. Source: ACI 209R-92, equation 2-1.

    >>> round(strength_at(strength_28_psi=4000, age_days=7).strength_psi)
    2814
    """
    if mixture not in GAINS:
        raise CalcError("mixture", f"expected one of {', '.join(GAINS)}, got {mixture!r}")
    gain = GAINS[mixture]
    ratio = gain_ratio(age_days, gain)
    strength = positive("strength_28_psi", strength_28_psi) * ratio
    shown = f"{text(age_days)} / ({gain.a} + {gain.b} · {text(age_days)})"
    working = [
        Step("f/f28", "t / (a + b t)", shown, ratio),
        Step("f", "f28 · f/f28", f"{text(strength_28_psi)} · {text(ratio)}", strength, "psi"),
    ]
    reached = None
    if wanted_psi is not None:
        left = strength_28_psi - gain.b * positive("wanted_psi", wanted_psi)
        reached = gain.a * wanted_psi / left if left > 0 else None
        numbers = f"{gain.a} · {text(wanted_psi)} / ({text(strength_28_psi)} − {gain.b} · {text(wanted_psi)})"
        working.append(Step("t", "a f / (f28 − b f)", numbers, "never" if reached is None else reached, "d"))
    sentence = f"{text(round(strength))} psi at {text(age_days)} d, {text(100 * ratio, 3)} % of the 28-day strength."
    if wanted_psi is not None:
        when = "is never reached" if reached is None else f"is reached at {text(reached, 3)} d"
        sentence += f" The {text(wanted_psi)} psi asked for {when}."
    return StrengthAtAge(strength, ratio, reached, sentence, tuple(working))


def strength_28_from(*, strength: float, age_days: float, gain: Gain) -> float:
    """Return the 28-day strength that a test at an age [days] points to, in the unit that went in.

    Errors: CalcError on a value of zero or less. Source: ACI 209R-92, equation 2-1.

    >>> round(strength_28_from(strength=2500, age_days=7, gain=GAINS["type I, moist"]), 2)
    3553.57
    """
    return positive("strength", strength) / gain_ratio(positive("age_days", age_days), gain)
