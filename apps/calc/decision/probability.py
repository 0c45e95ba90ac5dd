"""How probable it is that the true value keeps its limits, given one measured value."""

from dataclasses import dataclass

from apps.calc.decision.ends import JCGM_106, ends, short
from apps.calc.errors import finite, not_negative
from apps.calc.registry import Input, Output, calculation
from apps.calc.shown import share_text
from apps.calc.working import Step
from apps.calc.working import number_text as text


@dataclass(frozen=True, slots=True)
class Conformity:
    """How probable it is that the true value keeps the limits."""

    probability: float
    risk: float
    """1 − probability: the specific risk of accepting this item, or its complement of rejecting it."""
    sentence: str
    working: tuple[Step, ...]


@calculation(
    "decision.conformity",
    "Probability of conformity",
    f"{JCGM_106}, 7.2: Φ((T_U − y)/u) − Φ((T_L − y)/u)",
    inputs=(
        Input("value", "number", "1", "measured value"),
        Input("standard_uncertainty", "number", "1", "standard uncertainty, the same unit", low=0),
        Input("low", "number", "1", "lower limit", optional=True),
        Input("high", "number", "1", "upper limit", optional=True),
    ),
    outputs=(
        Output("probability", "ratio", "1", "probability of conformity"),
        Output("risk", "ratio", "1", "risk of accepting"),
    ),
    beyond="Whether to accept: which risk is permitted is agreed before measuring. It takes nothing as known of the item "
    "but this one value.",
    # JCGM 106:2012, reference diode: −5.47 V, u 0.05 V, not over −5.40 V (from memory, recomputed)
    example={"value": "-5.47", "standard_uncertainty": "0.05", "high": "-5.40"},
)
def conformity(
    *, value: float, standard_uncertainty: float, low: float | None = None, high: float | None = None
) -> Conformity:
    """Return the probability, 0 to 1, that the true value lies within the limits: normal, nothing known before.

    Any one unit. Without uncertainty it is 1 within the limits (on a limit is within) and 0 outside.
    Errors: CalcError on no limit, limits the wrong way round, a negative uncertainty. Source: JCGM 106:2012, 7.2.

    >>> round(conformity(value=-5.47, standard_uncertainty=0.05, high=-5.40).probability, 4)
    0.9192
    """
    bottom, top = ends(low, high)
    u, y = not_negative("standard_uncertainty", standard_uncertainty), finite("value", value)
    probability = share_within(y, u, bottom, top)
    ends_text = [f"Φ(({text(end)} − {text(y)}) / {text(u)})" for end in (high, low) if end is not None]
    numbers = " − ".join(ends_text) if high is not None else f"1 − {ends_text[0]}"
    step = Step("p_c", "Φ((T_U − y)/u) − Φ((T_L − y)/u)", numbers, probability)
    return Conformity(probability, 1 - probability, _sentence(y, u, bottom, top, probability), (step,))


def share_within(mean: float, sd: float, low: float, high: float) -> float:
    """Return the share of a normal distribution between two ends, which may be infinite. sd 0: all stands at the mean.

    >>> round(share_within(0, 1, float("-inf"), 1.0), 4)
    0.8413
    """
    from scipy.special import ndtr

    if sd == 0:
        return float(low <= mean <= high)
    # On the side of the mean where the tails are small, so that their difference keeps its digits.
    marks = ((low - mean) / sd, (high - mean) / sd)
    lower, upper = marks if marks[0] + marks[1] <= 0 else (-marks[1], -marks[0])
    return float(ndtr(upper) - ndtr(lower))


def _sentence(value: float, u: float, low: float, high: float, probability: float) -> str:
    """Say the verdict of the value itself first, and that it refers where a limit is nearer than U = 2 u."""
    chance = f"The true value keeps the limits with a probability of {share_text(probability)}."
    if value > high or value < low:
        side, over = ("over the upper", value - high) if value > high else ("under the lower", low - value)
        return f"Nonconforming as measured: {side} limit by {short(over)}. {chance}"
    spare = min(high - value, value - low)
    if spare < 2 * u:
        return f"Refers: {short(spare)} from the limit, less than U = {short(2 * u)}. {chance}"
    return f"Conforms: {short(spare)} to spare. {chance}"
