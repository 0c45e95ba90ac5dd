"""What a single sampling plan does: the chance that it accepts a lot, or a process."""

from dataclasses import dataclass

from apps.calc.decision.ends import whole
from apps.calc.errors import CalcError, between
from apps.calc.registry import Input, Output, calculation
from apps.calc.shown import share_text
from apps.calc.working import Step
from apps.calc.working import number_text as text


@dataclass(frozen=True, slots=True)
class Acceptance:
    """Chance that a single sampling plan accepts."""

    probability: float
    sentence: str
    working: tuple[Step, ...]


@calculation(
    "decision.sampling",
    "Chance that a sample accepts a lot",
    "Hypergeometric distribution for a lot, binomial for a process; single sampling, accept at c or fewer",
    inputs=(
        Input("sample", "count", "", "sample size n", low=1, high=1_000_000),
        Input("accept", "count", "", "acceptance number c", low=0),
        Input("lot", "count", "", "lot size N (absent: a process)", optional=True, low=1, high=1_000_000_000),
        Input("defective", "count", "", "nonconforming in the lot", optional=True, low=0),
        Input("share", "ratio", "1", "share nonconforming of a process", optional=True, low=0, high=1),
    ),
    outputs=(Output("probability", "ratio", "1", "probability of acceptance"),),
    beyond="That an accepted lot conforms: what was not looked at stays unknown, and one that is found is put right all "
    "the same.",
    # N 80, D 4, n 13, c 1: 0.878391 (hypergeometric, computed); an invented lot
    example={"sample": "13", "accept": "1", "lot": "80", "defective": "4"},
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
    n, c = whole("sample", sample, 1), whole("accept", accept, 0)
    if (lot is None) == (share is None):
        raise CalcError("lot", "give a lot and what is nonconforming in it, or the share of a process")
    if lot is None:
        part = between("share", share or 0.0, 0, 1)
        probability = accepts_process(n, c, part)
        step = Step("P_a", "Σ₀ᶜ binomial(n, p)", f"n {n}, p {text(share)}, c {c}", probability)
        return Acceptance(probability, _sentence(n, c, probability, f"a process with {share_text(part)}"), (step,))
    size = whole("lot", lot, 1)
    whole("sample", n, 1, size)
    if defective is None:
        raise CalcError("defective", "say how many of the lot do not conform")
    bad = whole("defective", defective, 0, size)
    probability = accepts_lot(n, c, size, bad)
    step = Step("P_a", "Σ₀ᶜ hypergeometric(N, D, n)", f"N {size}, D {bad}, n {n}, c {c}", probability)
    return Acceptance(probability, _sentence(n, c, probability, f"a lot of {size:,} with {bad:,}"), (step,))


def accepts_process(sample: int, accept: int, share: float) -> float:
    """Return the chance that at most `accept` of a sample from a process do not conform: binomial."""
    from scipy.stats import binom

    return float(binom.cdf(accept, sample, share))


def accepts_lot(sample: int, accept: int, lot: int, defective: int) -> float:
    """Return the chance that at most `accept` of a sample from a lot do not conform: hypergeometric."""
    from scipy.stats import hypergeom

    return float(hypergeom.cdf(accept, lot, defective, sample))


def _sentence(sample: int, accept: int, probability: float, what: str) -> str:
    most = f"at most {accept:,}" if accept else "none"
    return (
        f"A sample of {sample:,} with {most} nonconforming accepts {what} nonconforming in {share_text(probability)} of "
        f"the draws, and turns it away in {share_text(1 - probability)}."
    )
