"""One requirement judged at many foundations at once: the same verdicts as calc.verdict.judge, without the words.

Numbers are compared as whole numbers over one common denominator, so every limit is as exact as one by one. What is no
number, or takes a calculation, is judged by `judge` itself, once for each distinct answer.
"""

import math
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from apps.calc.facts import Plan
from apps.calc.limits import Limits
from apps.calc.measured import Guard, compare
from apps.calc.outcome import Verdict
from apps.calc.readings import Reading
from apps.calc.requirement import Requirement
from apps.calc.units import WORDLESS
from apps.calc.verdict import judge

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Whole = NDArray[np.int64]

ROOM = 2**62
"""Whole numbers stay under this, so that no sum or difference of two leaves 64 bits."""
CONFORMS, REFER, NONCONFORMING = range(3)
NAMES = ("conforms", "refer", "nonconforming")


class Given(NamedTuple):
    """What was given at one foundation: readings, and what was said besides. See calc.verdict.judge."""

    readings: tuple[Reading, ...]
    others: Mapping[str, Sequence[Reading]] | None = None
    uncertainty: Fraction | None = None
    reason: str = ""
    not_applicable: bool = False


class Judged(NamedTuple):
    """The verdict at one foundation, without its words. Value and margin are kept over a common denominator."""

    outcome: str
    over: int | None = None
    spare: int | None = None
    common: int = 1
    at_limit: bool = False

    @property
    def value(self) -> Fraction | None:
        """The judged value, exact, in the requirement's unit; None where it is no number."""
        return None if self.over is None else Fraction(self.over, self.common)

    @property
    def margin(self) -> Fraction | None:
        """To spare when positive, over or short when negative."""
        return None if self.spare is None else Fraction(self.spare, self.common)

    @classmethod
    def of(cls, verdict: Verdict) -> "Judged":
        """Return a verdict without its words."""
        value, margin = verdict.value, verdict.margin
        common = math.lcm(*(each.denominator for each in (value, margin) if each is not None))
        over, spare = (None if each is None else int(each * common) for each in (value, margin))
        return cls(verdict.outcome, over, spare, common, verdict.at_limit)


def judge_many(requirement: Requirement, given: Sequence[Given], *, plan: Plan, rule: str = "simple") -> list[Judged]:
    """Judge one requirement at many foundations that share the facts that it uses, in their order.

    Errors: those of calc.verdict.judge. Source: as there.
    """
    found: list[Judged | None] = [None] * len(given)
    limits = requirement.limits(plan)
    rows = _countable(requirement, given, plan, limits)
    if rows:
        for index, judged in zip(rows, _vector(requirement, [given[row] for row in rows], limits, rule), strict=True):
            found[index] = judged
    seen: dict[object, Judged] = {}
    for index, each in enumerate(given):
        if found[index] is None:
            found[index] = _single(requirement, each, plan, rule, seen)
    return [each for each in found if each is not None]


def _single(requirement: Requirement, each: Given, plan: Plan, rule: str, seen: dict[object, Judged]) -> Judged:
    """Judge one foundation by `judge`; the same answer once."""
    key = None if requirement.calculation else (each.readings, each.uncertainty, each.reason, each.not_applicable)
    if key is not None and key in seen:
        return seen[key]
    verdict = judge(
        requirement,
        each.readings,
        plan=plan,
        others=each.others,
        uncertainty=each.uncertainty,
        rule=rule,
        reason=each.reason,
        not_applicable=each.not_applicable,
    )
    judged = Judged.of(verdict)
    if key is not None:
        seen[key] = judged
    return judged


def _countable(requirement: Requirement, given: Sequence[Given], plan: Plan, limits: Limits) -> list[int]:
    """Return the foundations whose readings are plain numbers at every place of a requirement that compares numbers."""
    if requirement.calculation or requirement.kind in WORDLESS or requirement.compare in ("one_of", "yes", "noted"):
        return []
    if limits.missing or requirement.applies(plan) is not True:
        return []
    places = requirement.places or ("",)
    return [index for index, each in enumerate(given) if not each.not_applicable and _whole(each.readings, places)]


def _whole(readings: tuple[Reading, ...], places: tuple[str, ...]) -> bool:
    """Say whether there is one number at each place, in the order of the places or not."""
    if len(readings) != len(places) or any(type(each.value) is not Fraction for each in readings):
        return False
    return {each.place for each in readings} == set(places)


def _vector(requirement: Requirement, given: Sequence[Given], limits: Limits, rule: str) -> list[Judged]:
    """Judge rows of numbers. One by one where a whole number would not fit."""
    import numpy as np

    rows = [[_in_unit(each, requirement.unit) for each in one.readings] for one in given]
    guarded = rule == "guarded" and requirement.kind != "count"
    doubts = [one.uncertainty for one in given] if guarded else []
    bounds = [each for each in limits[:4] if each is not None]
    denominators = {value.denominator for row in rows for value in row}
    denominators.update(each.denominator for each in (*bounds, *doubts) if each is not None)
    common = math.lcm(*denominators) * (len(rows[0]) if requirement.take == "mean" else 1)
    ints = [[value.numerator * (common // value.denominator) for value in row] for row in rows]
    greatest = max(abs(each) for row in ints for each in row) * len(rows[0])
    if greatest >= ROOM or any(abs(each) * common >= ROOM for each in (*bounds, *doubts) if each is not None):
        return [_one(requirement, one, limits, guarded) for one in given]
    low, high, refer_low, refer_high = (None if each is None else int(each * common) for each in limits[:4])
    values = _taken(requirement, np.array(ints, dtype=np.int64))
    margin = _margins(values, low, high)
    band = _in_band(values, refer_low, refer_high)
    if guarded:
        unknown = np.array([each is None for each in doubts])[:, None]
        widths = np.array([0 if each is None else int(each * common) for each in doubts], dtype=np.int64)[:, None]
        band |= unknown | (margin < widths)
    severity = np.where(margin < 0, NONCONFORMING, np.where(band, REFER, CONFORMS))
    return _worst(requirement, values, margin, severity, common, limits)


def _in_unit(reading: Reading, unit: str) -> Fraction:
    found = reading.value if reading.unit == unit else reading.measured(unit)
    assert isinstance(found, Fraction)
    return found


def _in_band(values: "Whole", refer_low: int | None, refer_high: int | None) -> "NDArray[np.bool_]":
    """Say which values lie in the band that the engineer judges."""
    import numpy as np

    band = np.zeros(values.shape, dtype=bool)
    if refer_high is not None:
        band |= values > refer_high
    if refer_low is not None:
        band |= values < refer_low
    return band


def _one(requirement: Requirement, one: Given, limits: Limits, guarded: bool) -> Judged:
    """Judge a row whose numbers do not fit, by the slow way that has no such bound."""
    base = Verdict(outcome="not_measured", headline="", sentence="", limits=limits)
    return Judged.of(compare(base, requirement, one.readings, None, Guard(guarded, one.uncertainty)))


def _taken(requirement: Requirement, values: "Whole") -> "Whole":
    """Return what `take` leaves of each row: one column, or all of them."""
    import numpy as np

    match requirement.take:
        case "least":
            taken = values.min(axis=1, keepdims=True)
        case "greatest":
            taken = values.max(axis=1, keepdims=True)
        case "mean":
            taken = values.sum(axis=1, keepdims=True) // values.shape[1]  # the common denominator holds the places
        case "sum":
            taken = values.sum(axis=1, keepdims=True)
        case "spread":
            taken = values.max(axis=1, keepdims=True) - values.min(axis=1, keepdims=True)
        case _:
            taken = values
    return np.asarray(taken, dtype=np.int64)


def _margins(values: "Whole", low: int | None, high: int | None) -> "Whole":
    """Return how far each value is inside its nearer limit."""
    import numpy as np

    if low is None and high is not None:
        return high - values
    if high is None and low is not None:
        return values - low
    assert low is not None
    assert high is not None
    return np.minimum(values - low, high - values)


def _worst(
    requirement: Requirement, values: "Whole", margin: "Whole", severity: "Whole", common: int, limits: Limits
) -> list[Judged]:
    """Return for each row the worst of its values: the gravest, of those the nearest to its limit, of those the first."""
    import numpy as np

    gravest = severity.max(axis=1)
    open_to = np.where(severity == gravest[:, None], margin, np.iinfo(np.int64).max)
    at = open_to.argmin(axis=1)
    rows = np.arange(len(values))
    exact = requirement.kind != "count" and limits.low != limits.high
    return [
        Judged(NAMES[grave], value, spare, common, exact and spare == 0)
        for grave, value, spare in zip(
            gravest.tolist(), values[rows, at].tolist(), margin[rows, at].tolist(), strict=True
        )
    ]
