"""The smallest single sampling plan for one lot that keeps two risks: turning a good lot away, accepting a bad one."""

from dataclasses import dataclass
from math import ceil, floor

from apps.calc.decision.ends import whole
from apps.calc.decision.sampling import accepts_lot
from apps.calc.errors import CalcError, between
from apps.calc.registry import Input, Output, calculation
from apps.calc.shown import share_text
from apps.calc.working import Step
from apps.calc.working import number_text as text

SOURCE = "NIST/SEMATECH e-Handbook of Statistical Methods, 6.2.3: two points on the operating curve; hypergeometric distribution"
HAIR = 1e-9
"""What a product of decimals may be off a whole number: 0.07 times 100 is 7 items, not 8."""


def good(lot: int, share: float) -> int:
    """Return how many of a lot may be nonconforming at most where no more than a share of it is."""
    return floor(lot * share + HAIR)


def bad(lot: int, share: float) -> int:
    """Return how many of a lot are nonconforming at least where a share of it or more is."""
    return ceil(lot * share - HAIR)


@dataclass(frozen=True, slots=True)
class Risks:
    """What a plan does at two qualities of a lot."""

    producer: float
    """Chance, 0 to 1, that a lot just at the acceptance quality limit is turned away."""
    consumer: float
    """Chance, 0 to 1, that a lot just at the limiting quality is accepted."""


def risks(*, lot: int, sample: int, accept: int, limit: float, limiting: float) -> Risks:
    """Return both risks of a plan for an isolated lot; `limit` and `limiting` are shares of it, 0 to 1."""
    return Risks(
        1 - accepts_lot(sample, accept, lot, good(lot, limit)), accepts_lot(sample, accept, lot, bad(lot, limiting))
    )


@dataclass(frozen=True, slots=True)
class TwoPoints:
    """The smallest plan that keeps both risks."""

    sample: int
    accept: int
    producer: float
    consumer: float
    sentence: str
    working: tuple[Step, ...]


@calculation(
    "decision.two_points",
    "Smallest sample for two risks",
    SOURCE,
    inputs=(
        Input("lot", "count", "", "lot size", low=2, high=100_000),
        Input("limit", "ratio", "1", "acceptance quality limit (AQL): a lot that should be accepted", low=0, high=0.5),
        Input("limiting", "ratio", "1", "limiting quality (LTPD): a lot that should be turned away", low=0.001, high=1),
        Input("producer", "ratio", "1", "producer's risk at most", default=0.05, low=0.001, high=0.5),
        Input("consumer", "ratio", "1", "consumer's risk at most", default=0.10, low=0.001, high=0.5),
    ),
    outputs=(
        Output("sample", "count", "", "sample size"),
        Output("accept", "count", "", "acceptance number"),
        Output("producer", "ratio", "1", "producer's risk"),
        Output("consumer", "ratio", "1", "consumer's risk"),
    ),
    beyond="That an accepted lot conforms: it says how often such a sample would accept a lot of a given quality. What can "
    "hurt someone is looked at on every foundation, never by sample.",
    # An invented lot; every smaller plan is tried in tests/calc/test_two_points.py.
    example={"lot": "148", "limit": "2.5 %", "limiting": "15 %"},
)  # fmt: skip
def two_points(
    *, lot: float, limit: float, limiting: float, producer: float = 0.05, consumer: float = 0.10
) -> TwoPoints:
    """Return the plan of the fewest items that keeps both risks on an isolated lot; looking at all of it always does.

    Errors: CalcError on a lot under 2, a limiting quality not over the limit, a risk outside 0 to 1.
    Source: NIST/SEMATECH e-Handbook 6.2.3, with the hypergeometric distribution of a lot.

    >>> found = two_points(lot=148, limit=0.025, limiting=0.15)
    >>> found.sample, found.accept
    (31, 2)
    """
    size = whole("lot", lot, 2)
    between("limit", limit, 0, 1)
    between("limiting", limiting, 0, 1)
    if limiting <= limit:
        raise CalcError(
            "limiting", "the limiting quality is worse than the acceptance quality limit: give a greater share"
        )
    between("producer", producer, 0, 1)
    between("consumer", consumer, 0, 1)
    sample, accept = _smallest(size, good(size, limit), bad(size, limiting), producer, consumer)
    found = risks(lot=size, sample=sample, accept=accept, limit=limit, limiting=limiting)
    steps = (
        Step("D_1", "⌊N · AQL⌋", f"{size} · {text(limit)}", good(size, limit)),
        Step("D_2", "⌈N · LTPD⌉", f"{size} · {text(limiting)}", bad(size, limiting)),
        Step("n", "fewest that keep both risks", f"with c {accept}", sample),
        Step("α", "1 − Σ₀ᶜ hypergeometric(N, D_1, n)", f"N {size}, n {sample}, c {accept}", found.producer),
        Step("β", "Σ₀ᶜ hypergeometric(N, D_2, n)", f"N {size}, n {sample}, c {accept}", found.consumer),
    )
    return TwoPoints(sample, accept, found.producer, found.consumer, _sentence(size, sample, accept, found), steps)


def _smallest(lot: int, few: int, many: int, producer: float, consumer: float) -> tuple[int, int]:
    """Return the smallest n and its c. With c the least n that turns bad lots away grows, so the first that serves is it."""
    for accept in range(lot + 1):
        low, high = accept + 1, lot
        while low < high:  # fewest n that turn the bad lot away often enough: the chance falls with n
            middle = (low + high) // 2
            low, high = (low, middle) if accepts_lot(middle, accept, lot, many) <= consumer else (middle + 1, high)
        if 1 - accepts_lot(low, accept, lot, few) <= producer and accepts_lot(low, accept, lot, many) <= consumer:
            return low, accept
    raise CalcError("limiting", "no sample of this lot tells these two qualities apart")


def _sentence(lot: int, sample: int, accept: int, found: Risks) -> str:
    most = f"at most {accept:,}" if accept else "none"
    return (
        f"Look at {sample:,} of {lot:,}, drawn by chance: accept where {most} is nonconforming. A lot at the acceptance limit "
        f"is turned away {share_text(found.producer)} of the time, one at the limiting quality accepted "
        f"{share_text(found.consumer)} of the time."
    )
