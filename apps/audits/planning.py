"""How many to draw and how many may be not in order: a stated plan, with what it does said in plain words."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import NamedTuple

from apps.audits.models import Audit
from apps.calc.decision import allocate, plans, risks, sampling_plan, two_points
from apps.calc.decision.sampling import accepts_lot
from apps.calc.decision.two_points import SOURCE as TWO_POINTS
from apps.calc.decision.two_points import bad
from apps.calc.errors import CalcError
from apps.calc.working import number_text

__all__ = ["LIMITS", "TABLE", "TWO_POINTS", "Chance", "Plan", "Planned", "chance_words", "chances", "planned"]

LIMITS = tuple(number_text(each) for each in plans.LIMITS if each <= plans.HUNDREDS)
"""Acceptance quality limits that the table has, in percent of items, as text."""
SHARES = (1, 2, 5, 10, 15, 20, 30)
"""Qualities of the lot, in 100, at which the plan's chance is said."""
TABLE = "ISO 2859-1 and ANSI/ASQ Z1.4, tables 1 and 2-A, single sampling, normal inspection; risks by the hypergeometric distribution"


class Plan(NamedTuple):
    """What is asked of a plan. Qualities in percent of the lot, risks 0 to 1."""

    kind: str = "table"
    limit_percent: Decimal = Decimal("2.5")
    limiting_percent: Decimal = Decimal(15)
    level: str = "I"
    producer: Decimal = Decimal("0.05")
    consumer: Decimal = Decimal("0.10")


class Chance(NamedTuple):
    """What a plan does with a lot of one quality."""

    in_hundred: int
    number: int
    """So many of the lot."""
    probability: float

    @property
    def sentence(self) -> str:
        """Say it."""
        return (
            f"If {self.in_hundred} in 100 of all hold points of the lot ({self.number:,}) were not in order, this sample would "
            f"accept it with probability {chance_words(self.probability)}."
        )


def chance_words(probability: float) -> str:
    """Write a probability to two places, never as quite 0 or 1 where it is not.

    >>> chance_words(0.0824), chance_words(0.9999), chance_words(1.0)
    ('0.08', 'over 0.99', '1')
    """
    if probability in (0.0, 1.0):
        return f"{probability:.0f}"
    if probability < 0.005:
        return "under 0.01"
    return "over 0.99" if probability >= 0.995 else f"{probability:.2f}"


@dataclass(frozen=True, slots=True)
class Planned:
    """A plan for one lot."""

    lot: int
    sample: int
    accept: int
    producer: float
    consumer: float
    source: str
    strata: dict[str, tuple[int, int]]
    """Stratum → how many it holds, how many of them are drawn."""

    @property
    def sentence(self) -> str:
        """What is to be done."""
        most = f"at most {self.accept}" if self.accept else "none"
        look = (
            f"all {self.sample:,}" if self.sample == self.lot else f"{self.sample:,} of {self.lot:,}, drawn by chance"
        )
        return f"Look at {look}. The lot is accepted where {most} of them is not in order."

    @property
    def chances(self) -> list[Chance]:
        """What it does with lots of several qualities."""
        return chances(self.lot, self.sample, self.accept)


def chances(lot: int, sample: int, accept: int) -> list[Chance]:
    """Return the chance of acceptance at each of SHARES: hypergeometric, at least so many of the lot."""
    numbers = [(share, bad(lot, share / 100)) for share in SHARES]
    return [Chance(share, number, accepts_lot(sample, accept, lot, number)) for share, number in numbers]


def planned(sizes: Mapping[str, int], asked: Plan) -> Planned:
    """Return the plan for a lot of these strata. CalcError, naming the field, where there is none.

    Sources: `decision.plan` for the table, `decision.two_points` for two risks, `allocate` for the strata.
    """
    lot = sum(sizes.values())
    limit, limiting = float(asked.limit_percent) / 100, float(asked.limiting_percent) / 100
    if lot < 2:
        raise CalcError("lot", "the lot holds fewer than two released hold points: choose more stages or days")
    if limiting <= limit:
        raise CalcError(
            "limiting_percent", "the limiting quality is worse than the acceptance quality limit: give more"
        )
    if asked.kind == Audit.PlanKind.RISKS:
        found = two_points(
            lot=lot, limit=limit, limiting=limiting, producer=float(asked.producer), consumer=float(asked.consumer)
        )
        sample, accept, source = found.sample, found.accept, TWO_POINTS
    else:
        row = sampling_plan(lot=lot, limit_percent=float(asked.limit_percent), level=asked.level)
        sample, accept, source = min(row.sample, lot), row.accept, TABLE
    if sample < len(sizes):
        raise CalcError(
            "strata", f"a sample of {sample} does not reach {len(sizes)} strata: ask for more, or draw simply"
        )
    both = risks(lot=lot, sample=sample, accept=accept, limit=limit, limiting=limiting)
    given = allocate(sizes, sample)
    strata = {name: (size, given[name]) for name, size in sizes.items()}
    return Planned(lot, sample, accept, both.producer, both.consumer, source, strata)
