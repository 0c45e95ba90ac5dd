"""The table of single sampling plans: how many of a lot to look at, and how many may be nonconforming."""

from dataclasses import dataclass
from typing import NamedTuple

from apps.calc.decision.ends import whole
from apps.calc.decision.sampling import accepts_process
from apps.calc.errors import CalcError
from apps.calc.registry import Input, Output, calculation
from apps.calc.shown import share_text
from apps.calc.working import Step
from apps.calc.working import number_text as text

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
HUNDREDS = 10.0
"""Up to this limit the table counts nonconforming items; over it nonconformities per hundred, several to an item."""


class Plan(NamedTuple):
    """A single sampling plan for normal inspection."""

    letter: str
    sample: int
    accept: int
    reject: int


def sampling_plan(*, lot: float, limit_percent: float, level: str = "II") -> Plan:
    """Return the single plan, normal inspection, for a lot, an acceptance quality limit [%] and a general level.

    Where the table points up or down, the plan it points to. A sample not under the lot means: inspect all.
    Errors: CalcError on a lot under 2, a limit or level that the table lacks.
    Source: ISO 2859-1 and ANSI/ASQ Z1.4, tables 1 and 2-A, as in MIL-STD-105E (letters E to G at 0.65 to 6.5 % read;
    the rest of the table from memory of its diagonals).

    >>> sampling_plan(lot=148, limit_percent=2.5)
    Plan(letter='F', sample=20, accept=1, reject=2)
    """
    whole("lot", lot, 2)
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


@dataclass(frozen=True, slots=True)
class LotPlan:
    """A sampling plan of the table for one lot, and what it does where the lot is just at its limit."""

    letter: str
    sample: int
    """Never over the lot."""
    accept: int
    reject: int
    all: bool
    """The table's sample is the whole lot or more."""
    at_limit: float
    """Chance that it accepts a process just at the limit, 0 to 1."""
    sentence: str
    working: tuple[Step, ...]


@calculation(
    "decision.plan",
    "How many of a lot to look at",
    "ISO 2859-1 and ANSI/ASQ Z1.4, tables 1 and 2-A, single sampling, normal inspection (letters E to G at 0.65 to 6.5 % "
    "read, as in MIL-STD-105E; the rest of the table from memory of its diagonals)",
    inputs=(
        Input("lot", "count", "", "lot size", low=2, high=1_000_000_000),
        Input(
            "limit_percent", "choice", "", "acceptance quality limit, percent", default="2.5",
            choices=tuple(text(each) for each in LIMITS if each <= HUNDREDS),
        ),
        Input("level", "choice", "", "general inspection level", default="II", choices=tuple(LEVELS)),
    ),
    outputs=(
        Output("sample", "count", "", "sample size"),
        Output("accept", "count", "", "acceptance number"),
        Output("at_limit", "ratio", "1", "chance of accepting just at the limit"),
    ),
    beyond="That critical features may be sampled: what can hurt someone is looked at on every foundation. The scheme needs "
    "lots in a row and its switching rules, which are not here.",
    # ISO 2859-1, tables 1 and 2-A, code F at 2.5 %: n 20, Ac 1; the lot is the invented corridor
    example={"lot": "148", "limit_percent": "2.5", "level": "II"},
)  # fmt: skip
def plan(*, lot: float, limit_percent: str = "2.5", level: str = "II") -> LotPlan:
    """Return the plan of `sampling_plan` for a lot, cut to the lot. `limit_percent` as the table writes it.

    Errors and source: as `sampling_plan`; CalcError also on a limit that is no number.

    >>> found = plan(lot=148, limit_percent="2.5")
    >>> found.sample, found.accept, round(found.at_limit, 4)
    (20, 1, 0.9118)
    """
    if limit_percent not in {text(each) for each in LIMITS}:
        raise CalcError("limit_percent", f"the table has {', '.join(map(text, LIMITS))}, got {limit_percent}")
    limit = float(limit_percent)
    letter, size, accept, reject = sampling_plan(lot=lot, limit_percent=limit, level=level)
    whole_lot = size >= lot
    sample = int(min(size, lot))
    chance = accepts_process(size, accept, limit / 100)
    steps = (
        Step("code", "table 1, lot size and level", f"{text(lot)}, level {level}", letter),
        Step("n", "table 2-A, code letter", letter, size),
        Step("Ac", "table 2-A, code letter and limit", f"{letter}, {limit_percent} %", accept),
        Step("P_a", "Σ₀ᶜ binomial(n, p) at the limit", f"n {size}, p {text(limit / 100)}, c {accept}", chance),
    )
    sentence = _sentence(sample, accept, lot, whole_lot, chance, limit_percent)
    return LotPlan(letter, sample, accept, reject, whole_lot, chance, sentence, steps)


def _sentence(sample: int, accept: int, lot: float, everything: bool, chance: float, limit: str) -> str:
    most = f"at most {accept}" if accept else "none"
    look = f"Look at all {sample:,}" if everything else f"Look at {sample:,} of {lot:,.0f}, drawn by chance"
    return (
        f"{look}: accept where {most} is nonconforming, turn away at {accept + 1} or more. "
        f"A process just at {limit} % is accepted {share_text(chance)} of the time."
    )
