"""Deciding under measurement uncertainty: uncertainty budgets, guard bands, probability of conformity, sampling plans."""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from apps.calc.errors import CalcError, between, counted, finite, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.working import Step
from apps.calc.working import number_text as text

if TYPE_CHECKING:
    from collections.abc import Callable

JCGM_106 = "JCGM 106:2012, The role of measurement uncertainty in conformity assessment"
GUM = "JCGM 100:2008 (GUM)"

DIVISORS = {
    "standard": 1.0,
    "k = 2": 2.0,
    "rectangular": math.sqrt(3),
    "triangular": math.sqrt(6),
    "arcsine": math.sqrt(2),
}
"""What half a width, or an expanded uncertainty, is divided by for a standard uncertainty: GUM 4.3."""


@dataclass(frozen=True, slots=True)
class Budget:
    """A combined standard uncertainty, in the unit of the measurement."""

    combined: float
    expanded: float
    coverage: float
    shares: tuple[float, ...]
    """Share of each component in the combined variance."""
    working: tuple[Step, ...]


@calculation(
    "decision.uncertainty",
    "Combined uncertainty of a measurement",
    f"{GUM}, 5.1.2: u² = Σ uᵢ²",
    inputs=(
        Input("half_widths", "ratio", "1", "half-width or uncertainty of each component, one unit", many=True, low=0),
        Input("kinds", "choice", "", "distribution of each", many=True, choices=tuple(DIVISORS)),
        Input("coverage", "ratio", "1", "coverage factor k", default=2.0, low=0.1, high=10),
    ),
    outputs=(Output("combined", "ratio", "1", "standard uncertainty"), Output("expanded", "ratio", "1", "expanded")),
)
def uncertainty(*, half_widths: Sequence[float], kinds: Sequence[str], coverage: float = 2.0) -> Budget:
    """Return the root sum of squares of independent components, each divided by its distribution's divisor.

    A tape read to 1/16 in is rectangular with half-width 1/32 in; a certificate's U with k = 2 is "k = 2". Any one unit.
    Errors: CalcError on no component, lists of different length, an unknown kind. Source: GUM 4.3 and 5.1.2.

    >>> round(uncertainty(half_widths=[0.03, 0.02], kinds=["rectangular", "k = 2"]).combined, 4)
    0.02
    """
    counted("kinds", kinds, len(counted("half_widths", half_widths, 1)), len(half_widths))
    parts, steps = [], []
    for width, kind in zip(half_widths, kinds, strict=True):
        if kind not in DIVISORS:
            raise CalcError("kinds", f"expected one of {', '.join(DIVISORS)}, got {kind!r}")
        parts.append(not_negative("half_widths", width) / DIVISORS[kind])
        steps.append(Step("uᵢ", f"a / divisor ({kind})", f"{text(width)} / {text(DIVISORS[kind])}", parts[-1]))
    combined = math.hypot(*parts)
    positive("coverage", coverage)
    steps.append(Step("u", "√Σ uᵢ²", f"√({' + '.join(f'{text(part)}²' for part in parts)})", combined))
    steps.append(Step("U", "k u", f"{text(coverage)} · {text(combined)}", coverage * combined))
    shares = tuple((part / combined) ** 2 if combined else 0.0 for part in parts)
    return Budget(combined, coverage * combined, coverage, shares, tuple(steps))


def _limits(low: float | None, high: float | None) -> tuple[float, float]:
    if low is None and high is None:
        raise CalcError("high", "give a lower limit, an upper limit or both")
    bottom = -math.inf if low is None else finite("low", low)
    top = math.inf if high is None else finite("high", high)
    if bottom > top:
        raise CalcError("low", f"the lower limit {low} is over the upper limit {high}")
    return bottom, top


@dataclass(frozen=True, slots=True)
class Conformity:
    """How probable it is that the true value keeps the limits."""

    probability: float
    risk: float
    """1 − probability: the specific risk of accepting this item, or its complement of rejecting it."""
    working: tuple[Step, ...]


@calculation(
    "decision.conformity",
    "Probability of conformity",
    f"{JCGM_106}, 7.2: Φ((T_U − y)/u) − Φ((T_L − y)/u)",
    inputs=(
        Input("value", "ratio", "1", "measured value"),
        Input("standard_uncertainty", "ratio", "1", "standard uncertainty, the same unit", low=0),
        Input("low", "ratio", "1", "lower limit", optional=True),
        Input("high", "ratio", "1", "upper limit", optional=True),
    ),
    outputs=(Output("probability", "ratio", "1", "probability of conformity"),),
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
    from scipy.special import ndtr

    bottom, top = _limits(low, high)
    u, y = not_negative("standard_uncertainty", standard_uncertainty), finite("value", value)
    if u == 0:
        probability = float(bottom <= y <= top)
    else:
        # On the side of the mean where the tails are small, so that their difference keeps its digits.
        ends = ((bottom - y) / u, (top - y) / u)
        lower, upper = ends if ends[0] + ends[1] <= 0 else (-ends[1], -ends[0])
        probability = float(ndtr(upper) - ndtr(lower))
    ends_text = [f"Φ(({text(end)} − {text(y)}) / {text(u)})" for end in (high, low) if end is not None]
    numbers = " − ".join(ends_text) if high is not None else f"1 − {ends_text[0]}"
    return Conformity(
        probability, 1 - probability, (Step("p_c", "Φ((T_U − y)/u) − Φ((T_L − y)/u)", numbers, probability),)
    )


@dataclass(frozen=True, slots=True)
class GuardBand:
    """Acceptance limits drawn in from the tolerance limits, or out from them."""

    width: float
    accept_low: float | None
    accept_high: float | None
    risk_at_limit: float
    """Greatest risk of a false acceptance for one limit, where the value stands on its acceptance limit."""
    working: tuple[Step, ...]


@calculation(
    "decision.guard_band",
    "Guard band and acceptance limits",
    f"{JCGM_106}, 8.3: w = z u for a permitted risk",
    inputs=(
        Input("standard_uncertainty", "ratio", "1", "standard uncertainty", low=0),
        Input("low", "ratio", "1", "lower limit", optional=True),
        Input("high", "ratio", "1", "upper limit", optional=True),
        Input(
            "risk", "ratio", "1", "permitted risk of accepting what does not conform", default=0.05, low=1e-6, high=0.5
        ),
    ),
    outputs=(
        Output("width", "ratio", "1", "guard band"),
        Output("accept_low", "ratio", "1", "lower acceptance limit"),
        Output("accept_high", "ratio", "1", "upper acceptance limit"),
    ),
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

    bottom, top = _limits(low, high)
    z = -float(ndtri(between("risk", positive("risk", risk), 0, 0.5)))
    width = z * not_negative("standard_uncertainty", standard_uncertainty)
    if top - bottom < 2 * width:
        raise CalcError("standard_uncertainty", "the guard bands leave nothing to accept: measure better")
    accept_low = None if low is None else low + width
    accept_high = None if high is None else high - width
    u = text(standard_uncertainty)
    steps = [Step("w", "z(1 − risk) · u", f"{text(z)} · {u}", width)]
    if accept_low is not None:
        steps.append(Step("A_L", "T_L + w", f"{text(low)} + {text(width)}", accept_low))
    if accept_high is not None:
        steps.append(Step("A_U", "T_U − w", f"{text(high)} − {text(width)}", accept_high))
    return GuardBand(width, accept_low, accept_high, risk, tuple(steps))


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

    bottom, top = _limits(low, high)
    accepted = _limits(low if accept_low is None else accept_low, high if accept_high is None else accept_high)
    u = positive("standard_uncertainty", standard_uncertainty)

    def accepts(true: float) -> float:
        return float(ndtr((accepted[1] - true) / u) - ndtr((accepted[0] - true) / u))

    density, ends, within = _prior(prior, bottom, top)
    inside = (max(bottom, ends[0]), min(top, ends[1]))
    marks = (*accepted, *(limit + side * 3 * u for limit in accepted for side in (-1, 1)))
    below = _integrate(lambda x: density(x) * accepts(x), (ends[0], min(bottom, ends[1])), marks)
    above = _integrate(lambda x: density(x) * accepts(x), (max(top, ends[0]), ends[1]), marks)
    consumer = below + above
    producer = _integrate(lambda x: density(x) * (1 - accepts(x)), inside, marks)
    steps = (
        Step("P(out)", "1 − ∫_T g(η) dη", f"{prior.kind}({text(prior.first)}, {text(prior.second)})", 1 - within),
        Step("R_C", "∫ outside T of g(η) P(accept | η) dη", f"u {text(u)}", consumer),
        Step("R_P", "∫ inside T of g(η) (1 − P(accept | η)) dη", f"u {text(u)}", producer),
    )
    return GlobalRisk(1 - within, consumer, producer, steps)


def _prior(prior: Prior, low: float, high: float) -> "tuple[Callable[[float], float], tuple[float, float], float]":
    """Density, the ends between which all but 10⁻¹⁴ of it lies, and its share between two limits."""
    from scipy import stats

    if prior.kind == "normal":
        found = stats.norm(finite("prior", prior.first), positive("prior", prior.second))
    elif prior.kind == "gamma":
        found = stats.gamma(positive("prior", prior.first), scale=positive("prior", prior.second))
    else:
        raise CalcError("prior", f"expected normal or gamma, got {prior.kind!r}")
    ends = (float(found.ppf(1e-14)), float(found.isf(1e-14)))
    return lambda x: float(found.pdf(x)), ends, float(found.cdf(high) - found.cdf(low))


def _integrate(function: "Callable[[float], float]", ends: tuple[float, float], marks: Sequence[float]) -> float:
    """Integrate piece by piece between the marks, so that a narrow rise between them is not stepped over."""
    from scipy.integrate import quad

    low, high = ends
    if low >= high:
        return 0.0
    cuts = sorted({low, high, *(mark for mark in marks if low < mark < high)})
    return math.fsum(quad(function, start, end, limit=200)[0] for start, end in itertools.pairwise(cuts))


# --- shares from samples


class Interval(NamedTuple):
    """A confidence interval of a share, 0 to 1."""

    low: float
    high: float


def share_interval(*, found: int, of: int, confidence: float = 0.95, exact: bool = False) -> Interval:
    """Return the two-sided confidence interval of a share: Wilson, or exact (Clopper–Pearson).

    Errors: CalcError on more found than there are, a confidence outside 0 to 1.
    Source: NIST/SEMATECH e-Handbook 7.2.4.1; scipy.stats.binomtest.

    >>> share_interval(found=4, of=20, confidence=0.90, exact=True).high.__round__(6)
    0.401028
    """
    from scipy.stats import binomtest

    _whole("of", of, 1)
    _whole("found", found, 0, of)
    if not 0 < confidence < 1:
        raise CalcError("confidence", f"must lie between 0 and 1, got {confidence}")
    method = "exact" if exact else "wilson"
    interval = binomtest(int(found), int(of)).proportion_ci(confidence_level=confidence, method=method)
    return Interval(float(interval.low), float(interval.high))


def _whole(field: str, value: float, low: int, high: float = math.inf) -> int:
    if finite(field, value) != int(value) or not low <= value <= high:
        raise CalcError(field, f"expected a whole number from {low} to {text(high)}, got {value}")
    return int(value)


@dataclass(frozen=True, slots=True)
class Acceptance:
    """Chance that a single sampling plan accepts."""

    probability: float
    working: tuple[Step, ...]


@calculation(
    "decision.sampling",
    "Chance that a sample accepts a lot",
    "Hypergeometric distribution for a lot, binomial for a process; single sampling, accept at c or fewer",
    inputs=(
        Input("sample", "count", "", "sample size n", low=1),
        Input("accept", "count", "", "acceptance number c", low=0),
        Input("lot", "count", "", "lot size N (absent: a process)", optional=True, low=1),
        Input("defective", "count", "", "nonconforming in the lot", optional=True, low=0),
        Input("share", "ratio", "1", "share nonconforming of a process", optional=True, low=0, high=1),
    ),
    outputs=(Output("probability", "ratio", "1", "probability of acceptance"),),
)
def acceptance_probability(
    *,
    sample: float,
    accept: float,
    lot: float | None = None,
    defective: float | None = None,
    share: float | None = None,
) -> Acceptance:
    """Return the chance, 0 to 1, that at most c of n sampled items do not conform.

    Give `lot` and `defective` for an isolated lot, or `share` for a process.
    Errors: CalcError on neither or both, a sample over the lot, more nonconforming than the lot.
    Source: hypergeometric and binomial distributions by SciPy; e-Handbook 6.2.

    >>> round(acceptance_probability(sample=5, accept=2, lot=50, defective=10).probability, 4)
    0.9517
    """
    from scipy.stats import binom, hypergeom

    n, c = _whole("sample", sample, 1), _whole("accept", accept, 0)
    if (lot is None) == (share is None):
        raise CalcError("lot", "give a lot and what is nonconforming in it, or the share of a process")
    if lot is None:
        probability = float(binom.cdf(c, n, between("share", share or 0.0, 0, 1)))
        return Acceptance(
            probability, (Step("P_a", "Σ₀ᶜ binomial(n, p)", f"n {n}, p {text(share)}, c {c}", probability),)
        )
    size = _whole("lot", lot, 1)
    _whole("sample", n, 1, size)
    if defective is None:
        raise CalcError("defective", "say how many of the lot do not conform")
    bad = _whole("defective", defective, 0, size)
    probability = float(hypergeom.cdf(c, size, bad, n))
    numbers = f"N {size}, D {bad}, n {n}, c {c}"
    return Acceptance(probability, (Step("P_a", "Σ₀ᶜ hypergeometric(N, D, n)", numbers, probability),))


LETTERS = "ABCDEFGHJKLMNPQR"
SIZES = (2, 3, 5, 8, 13, 20, 32, 50, 80, 125, 200, 315, 500, 800, 1250, 2000)
LOTS = (8, 15, 25, 50, 90, 150, 280, 500, 1200, 3200, 10_000, 35_000, 150_000, 500_000)
"""Upper ends of the lot sizes of table 1."""
LEVELS = {
    "I": (0, 0, 1, 2, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12),
    "II": (0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14),
    "III": (1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15),
}
"""Place of the code letter for each lot size; II read, I and III from memory."""
LIMITS = (
    *(0.010, 0.015, 0.025, 0.040, 0.065, 0.10, 0.15, 0.25, 0.40, 0.65, 1.0, 1.5, 2.5, 4.0, 6.5, 10.0),
    *(15.0, 25.0, 40.0, 65.0, 100.0, 150.0, 250.0, 400.0, 650.0, 1000.0),
)
"""Acceptance quality limits, percent nonconforming (over 10: per hundred units)."""
# Along a diagonal of table 2-A the expected number in the sample is the same, and so is the acceptance number. Place 14
# (code F, 0.65 %) has 0; 15 points up to it, 16 down to the 1 of place 17. Letters to E go on to 44.
NUMBERS = {14: 0, 17: 1, 18: 2, 19: 3, 20: 5, 21: 7, 22: 10, 23: 14, 24: 21, 25: 30, 26: 44}
LAST_LONG_ROW = LETTERS.index("E")


class Plan(NamedTuple):
    """A single sampling plan for normal inspection."""

    letter: str
    sample: int
    accept: int
    reject: int


def sampling_plan(*, lot: int, limit_percent: float, level: str = "II") -> Plan:
    """Return the single plan, normal inspection, for a lot, an acceptance quality limit [%] and a general level.

    Where the table points up or down, the plan it points to. A sample not under the lot means: inspect all.
    Errors: CalcError on a lot under 2, a limit or level that the table lacks.
    Source: ISO 2859-1 and ANSI/ASQ Z1.4, tables 1 and 2-A, as in MIL-STD-105E (letters E to G at 0.65 to 6.5 % read;
    the rest of the table from memory of its diagonals).

    >>> sampling_plan(lot=148, limit_percent=2.5)
    Plan(letter='F', sample=20, accept=1, reject=2)
    """
    _whole("lot", lot, 2)
    if level not in LEVELS:
        raise CalcError("level", f"expected one of {', '.join(LEVELS)}, got {level!r}")
    if limit_percent not in LIMITS:
        raise CalcError("limit_percent", f"the table has {', '.join(map(text, LIMITS))}, got {limit_percent}")
    row = LEVELS[level][sum(lot > end for end in LOTS)]
    column = LIMITS.index(limit_percent)
    while not _in_table(row, column):
        up = row + column == 15 or row + column > 16
        row += -1 if up or row + 1 == len(LETTERS) else 1
    accept = NUMBERS[row + column]
    return Plan(LETTERS[row], SIZES[row], accept, accept + 1)


def _in_table(row: int, column: int) -> bool:
    place = row + column
    return place in NUMBERS and (row <= LAST_LONG_ROW or NUMBERS[place] <= 21)
