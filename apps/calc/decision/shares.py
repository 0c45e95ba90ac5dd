"""What a counted sample tells of a share: its confidence interval."""

from dataclasses import dataclass
from typing import NamedTuple

from apps.calc.decision.ends import whole
from apps.calc.errors import CalcError
from apps.calc.registry import Input, Output, calculation
from apps.calc.shown import share_text
from apps.calc.working import Step
from apps.calc.working import number_text as text

SOURCE = "NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.4.1"


class Interval(NamedTuple):
    """A confidence interval of a share, 0 to 1."""

    low: float
    high: float


def share_interval(*, found: float, of: float, confidence: float = 0.95, exact: bool = False) -> Interval:
    """Return the two-sided confidence interval of a share: Wilson, or exact (Clopper-Pearson).

    Errors: CalcError on more found than there are, a confidence outside 0 to 1.
    Source: NIST/SEMATECH e-Handbook 7.2.4.1; scipy.stats.binomtest.

    >>> share_interval(found=4, of=20, confidence=0.90, exact=True).high.__round__(6)
    0.401028
    """
    from scipy.stats import binomtest

    whole("of", of, 1)
    whole("found", found, 0, of)
    if not 0 < confidence < 1:
        raise CalcError("confidence", f"must lie between 0 and 1, got {confidence}")
    method = "exact" if exact else "wilson"
    interval = binomtest(int(found), int(of)).proportion_ci(confidence_level=confidence, method=method)
    return Interval(float(interval.low), float(interval.high))


@dataclass(frozen=True, slots=True)
class Share:
    """A share of a sample, and between which ends the share of all probably lies; both ways of saying it."""

    share: float
    low: float
    """Wilson."""
    high: float
    exact_low: float
    """Clopper-Pearson, never narrower than it says."""
    exact_high: float
    sentence: str
    working: tuple[Step, ...]


@calculation(
    "decision.share",
    "What a sample tells of a share",
    f"{SOURCE}: Wilson, and exact (Clopper-Pearson)",
    inputs=(
        Input("found", "count", "", "found in the sample, such as nonconforming", low=0),
        Input("of", "count", "", "looked at", low=1, high=1_000_000_000),
        Input("confidence", "ratio", "1", "confidence, both ends together", default=0.95, low=0.01, high=0.9999),
    ),
    outputs=(
        Output("share", "ratio", "1", "share found"),
        Output("low", "ratio", "1", "lower end, Wilson"),
        Output("high", "ratio", "1", "upper end, Wilson"),
        Output("exact_low", "ratio", "1", "lower end, exact"),
        Output("exact_high", "ratio", "1", "upper end, exact"),
    ),
    beyond="The share among what was not drawn by chance: a sample of the nearest, or of the suspected, tells of those "
    "only.",
    # NIST/SEMATECH e-Handbook 7.2.4.1: 4 of 20, 90 %: exact 0.071354 to 0.401028
    example={"found": "4", "of": "20", "confidence": "90 %"},
)
def share(*, found: float, of: float, confidence: float = 0.95) -> Share:
    """Return the share found, 0 to 1, with both intervals of `share_interval`. Errors and source: as there.

    >>> round(share(found=26, of=200, confidence=0.90).low, 6)
    0.095773
    """
    wilson = share_interval(found=found, of=of, confidence=confidence)
    exact = share_interval(found=found, of=of, confidence=confidence, exact=True)
    part, name = found / of, share_text(confidence)
    counts = f"{text(found)} of {text(of)}, {name}"
    steps = (
        Step("p", "found / looked at", f"{text(found)} / {text(of)}", part),
        Step("Wilson, low", "(p + z²/2n − z √(p(1 − p)/n + z²/4n²)) / (1 + z²/n)", counts, wilson.low),
        Step("Wilson, high", "(p + z²/2n + z √(p(1 − p)/n + z²/4n²)) / (1 + z²/n)", counts, wilson.high),
        Step("exact, low", "p at which so many or more are just (1 − confidence)/2 likely", counts, exact.low),
        Step("exact, high", "p at which so many or fewer are just (1 − confidence)/2 likely", counts, exact.high),
    )
    sentence = (
        f"{share_text(part)} of the sample, {text(found)} of {text(of)}. With {name} confidence the share of all lies "
        f"between {share_text(wilson.low)} and {share_text(wilson.high)} (exact: {share_text(exact.low)} to "
        f"{share_text(exact.high)})."
    )
    return Share(part, wilson.low, wilson.high, exact.low, exact.high, sentence, steps)
