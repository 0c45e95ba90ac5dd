"""Guard bands: acceptance limits drawn in from the tolerance limits so that little is accepted by mistake."""

from dataclasses import dataclass

from apps.calc.decision.ends import JCGM_106, ends, short
from apps.calc.errors import CalcError, between, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.shown import share_text
from apps.calc.working import Step
from apps.calc.working import number_text as text


@dataclass(frozen=True, slots=True)
class GuardBand:
    """Acceptance limits drawn in from the tolerance limits."""

    width: float
    accept_low: float | None
    accept_high: float | None
    risk_at_limit: float
    """Greatest risk of a false acceptance for one limit, where the value stands on its acceptance limit."""
    sentence: str
    working: tuple[Step, ...]


@calculation(
    "decision.guard_band",
    "Guard band and acceptance limits",
    f"{JCGM_106}, 8.3: w = z u for a permitted risk",
    inputs=(
        Input("standard_uncertainty", "number", "1", "standard uncertainty", low=0),
        Input("low", "number", "1", "lower limit", optional=True),
        Input("high", "number", "1", "upper limit", optional=True),
        Input(
            "risk", "ratio", "1", "permitted risk of accepting what does not conform", default=0.05, low=1e-6, high=0.5
        ),
    ),
    outputs=(
        Output("width", "number", "1", "guard band"),
        Output("accept_low", "number", "1", "lower acceptance limit"),
        Output("accept_high", "number", "1", "upper acceptance limit"),
    ),
    beyond="Which risk is right: parties agree it before measuring. A value in the guard band is not shown to be "
    "nonconforming; it refers.",
    # invented: a gap of at most 1/8 in, read with u 0.010 in
    example={"standard_uncertainty": "0.010", "high": "0.125", "risk": "5 %"},
)
def guard_band(
    *, standard_uncertainty: float, low: float | None = None, high: float | None = None, risk: float = 0.05
) -> GuardBand:
    """Return the acceptance limits that keep the risk of a false acceptance at a limit to a permitted share.

    w = z(1 − risk) u; risk 0.5 is simple acceptance, w = 0; w = 2 u leaves 2.3 %. For two limits far apart beside u.
    Errors: CalcError on no limit, a risk outside 0 to 0.5, a band that leaves nothing to accept.
    Source: JCGM 106:2012, 8.3 (guarded acceptance).

    >>> round(guard_band(standard_uncertainty=0.1, high=3.0, risk=0.05).accept_high, 4)
    2.8355
    """
    from scipy.special import ndtri

    bottom, top = ends(low, high)
    z = -float(ndtri(between("risk", positive("risk", risk), 0, 0.5)))
    width = z * not_negative("standard_uncertainty", standard_uncertainty)
    if top - bottom < 2 * width:
        raise CalcError("standard_uncertainty", "the guard bands leave nothing to accept: measure better")
    accept_low = None if low is None else low + width
    accept_high = None if high is None else high - width
    steps = [Step("w", "z(1 − risk) · u", f"{text(z)} · {text(standard_uncertainty)}", width)]
    if accept_low is not None:
        steps.append(Step("A_L", "T_L + w", f"{text(low)} + {text(width)}", accept_low))
    if accept_high is not None:
        steps.append(Step("A_U", "T_U − w", f"{text(high)} − {text(width)}", accept_high))
    sentence = _sentence(accept_low, accept_high, width, risk)
    return GuardBand(width, accept_low, accept_high, risk, sentence, tuple(steps))


def _sentence(low: float | None, high: float | None, width: float, risk: float) -> str:
    where = [f"from {short(low)}"] if low is not None else []
    where += [f"up to {short(high)}"] if high is not None else []
    return (
        f"Accept {' '.join(where)}: the guard band is {short(width)} wide. "
        f"A value on its acceptance limit is accepted by mistake with a risk of {share_text(risk)}."
    )
