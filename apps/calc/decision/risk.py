"""Risks of a whole measuring process, before any one item is measured: consumer's and producer's."""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from apps.calc.decision.ends import JCGM_106, ends
from apps.calc.errors import CalcError, finite, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.shown import share_text
from apps.calc.working import Step
from apps.calc.working import number_text as text

if TYPE_CHECKING:
    from collections.abc import Callable

SOURCE = f"{JCGM_106}, 9.5"
PRIORS = ("normal", "gamma")


class Prior(NamedTuple):
    """What is known of the items before measuring: a normal (mean, sd) or a gamma (shape, scale) distribution."""

    kind: str
    first: float
    second: float


@dataclass(frozen=True, slots=True)
class GlobalRisk:
    """Risks of a measuring process as a whole, before any one item is measured."""

    nonconforming: float
    """Share of the items that do not conform."""
    consumer: float
    """Share that does not conform and is accepted."""
    producer: float
    """Share that conforms and is rejected."""
    sentence: str
    working: tuple[Step, ...]


def global_risk(
    *,
    prior: Prior,
    standard_uncertainty: float,
    low: float | None = None,
    high: float | None = None,
    accept_low: float | None = None,
    accept_high: float | None = None,
) -> GlobalRisk:
    """Return global consumer's and producer's risk of items with a prior, measured with a normal error.

    Any one unit. An acceptance limit left out is the tolerance limit on that side.
    Errors: CalcError on an unknown prior, a spread or uncertainty of zero or less, no limit.
    Source: JCGM 106:2012, 9.5; integrals by SciPy.

    >>> risk = global_risk(prior=Prior("normal", 0, 4), standard_uncertainty=1, low=-8, high=8)
    >>> round(risk.consumer, 6), round(risk.producer, 6)
    (0.008006, 0.014851)
    """
    from scipy.special import ndtr

    bottom, top = ends(low, high)
    accepted = ends(low if accept_low is None else accept_low, high if accept_high is None else accept_high)
    u = positive("standard_uncertainty", standard_uncertainty)

    def accepts(true: float) -> float:
        return float(ndtr((accepted[1] - true) / u) - ndtr((accepted[0] - true) / u))

    density, span, within = distribution(prior, bottom, top)
    inside = (max(bottom, span[0]), min(top, span[1]))
    marks = (*accepted, *(limit + side * 3 * u for limit in accepted for side in (-1, 1)))
    below = _integrate(lambda x: density(x) * accepts(x), (span[0], min(bottom, span[1])), marks)
    above = _integrate(lambda x: density(x) * accepts(x), (max(top, span[0]), span[1]), marks)
    consumer = below + above
    producer = _integrate(lambda x: density(x) * (1 - accepts(x)), inside, marks)
    steps = (
        Step("P(out)", "1 − ∫_T g(η) dη", f"{prior.kind}({text(prior.first)}, {text(prior.second)})", 1 - within),
        Step("R_C", "∫ outside T of g(η) P(accept | η) dη", f"u {text(u)}", consumer),
        Step("R_P", "∫ inside T of g(η) (1 − P(accept | η)) dη", f"u {text(u)}", producer),
    )
    return GlobalRisk(1 - within, consumer, producer, _sentence(consumer, producer, 1 - within), steps)


def _sentence(consumer: float, producer: float, out: float) -> str:
    return (
        f"Of all items {share_text(consumer)} do not conform and are accepted all the same, and "
        f"{share_text(producer)} conform and are turned away. {share_text(out)} do not conform."
    )


def distribution(
    prior: Prior, low: float, high: float
) -> "tuple[Callable[[float], float], tuple[float, float], float]":
    """Return a prior's density, the ends between which all but 10⁻¹⁴ of it lies, and its share between two limits."""
    from scipy import stats

    if prior.kind == "normal":
        found = stats.norm(finite("prior", prior.first), positive("prior", prior.second))
    elif prior.kind == "gamma":
        found = stats.gamma(positive("prior", prior.first), scale=positive("prior", prior.second))
    else:
        raise CalcError("prior", f"expected normal or gamma, got {prior.kind!r}")
    span = (float(found.ppf(1e-14)), float(found.isf(1e-14)))
    return lambda x: float(found.pdf(x)), span, float(found.cdf(high) - found.cdf(low))


def _integrate(function: "Callable[[float], float]", span: tuple[float, float], marks: Sequence[float]) -> float:
    """Integrate piece by piece between the marks, so that a narrow rise between them is not stepped over."""
    from scipy.integrate import quad

    low, high = span
    if low >= high:
        return 0.0
    cuts = sorted({low, high, *(mark for mark in marks if low < mark < high)})
    return math.fsum(quad(function, start, end, limit=200)[0] for start, end in itertools.pairwise(cuts))


@calculation(
    "decision.risk",
    "Risks of accepting and of turning away",
    SOURCE,
    inputs=(
        Input("mean", "number", "1", "mean of the items before measuring"),
        Input("sd", "number", "1", "standard deviation of the items", low=0),
        Input("standard_uncertainty", "number", "1", "standard uncertainty of the measurement", low=0),
        Input("low", "number", "1", "lower limit", optional=True),
        Input("high", "number", "1", "upper limit", optional=True),
        Input("accept_low", "number", "1", "accepted from", optional=True),
        Input("accept_high", "number", "1", "accepted up to", optional=True),
    ),
    outputs=(
        Output("consumer", "ratio", "1", "accepted and nonconforming"),
        Output("producer", "ratio", "1", "conforming and turned away"),
        Output("nonconforming", "ratio", "1", "nonconforming in all"),
    ),
    beyond="Which of one day's items are the wrong ones. It holds for many items whose spread is normal and known, not for "
    "the one in hand.",
    # Deaver, How to maintain confidence in a world of declining test uncertainty ratios, p. 7: spread 4, u 1, limits ± 8
    example={"mean": "0", "sd": "4", "standard_uncertainty": "1", "low": "-8", "high": "8"},
)
def risk(
    *,
    mean: float,
    sd: float,
    standard_uncertainty: float,
    low: float | None = None,
    high: float | None = None,
    accept_low: float | None = None,
    accept_high: float | None = None,
) -> GlobalRisk:
    """Return `global_risk` of items that are normally spread. Any one unit. Errors and source: as there, by input.

    >>> round(risk(mean=0, sd=4, standard_uncertainty=1, low=-8, high=8).consumer, 6)
    0.008006
    """
    finite("mean", mean)
    return global_risk(
        prior=Prior("normal", mean, positive("sd", sd)),
        standard_uncertainty=standard_uncertainty,
        low=low,
        high=high,
        accept_low=accept_low,
        accept_high=accept_high,
    )
