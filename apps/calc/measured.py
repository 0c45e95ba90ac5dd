"""Comparing numbers with limits, exactly, and putting what was found into words and working."""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from typing import NamedTuple

from apps.calc import wording
from apps.calc.computed import Computed
from apps.calc.errors import CalcError
from apps.calc.limits import Limits
from apps.calc.outcome import Verdict
from apps.calc.readings import Reading, at_place
from apps.calc.requirement import Requirement
from apps.calc.working import Step

SEVERITY = ("conforms", "refer", "nonconforming")


class Guard(NamedTuple):
    """Whether the rule is the guarded one, and the expanded uncertainty U in the requirement's unit, if it is known."""

    on: bool
    uncertainty: Fraction | None

    def refers(self, margin: Fraction) -> bool:
        """Say whether a margin is under the guard band; with an unknown uncertainty every one is."""
        return self.on and (self.uncertainty is None or margin < self.uncertainty)


class _Value(NamedTuple):
    """A value to compare, in the requirement's unit."""

    value: Fraction
    place: str
    units: frozenset[str]


class _Judged(NamedTuple):
    outcome: str
    margin: Fraction
    side: str
    guarded: bool
    of: _Value


def compare(
    base: Verdict,
    requirement: Requirement,
    readings: Sequence[Reading],
    found: Computed | None,
    guard: Guard,
) -> Verdict:
    """Judge numbers: the worst of what `take` leaves decides. CalcError when there is no number to compare."""
    values = _values(requirement, readings, found)
    if not values:
        raise CalcError(requirement.key, f"{requirement.calculation or 'the reading'} gives no number to compare")
    judged = [_one(each, base.limits, guard) for each in values]
    worst = max(judged, key=lambda each: (SEVERITY.index(each.outcome), -each.margin))
    return _measured(base, requirement, readings, worst, guard)


def _values(requirement: Requirement, readings: Sequence[Reading], found: Computed | None) -> list[_Value]:
    """Return what is compared, after `take`."""
    if found:
        numbers = [value for value in found.values if isinstance(value, Fraction)]
        places = requirement.places if len(requirement.places) == len(numbers) else ("",) * len(numbers)
        each = [_Value(value, place, frozenset()) for value, place in zip(numbers, places, strict=True)]
    else:
        each = [
            _Value(value, reading.place, frozenset({reading.unit}))
            for reading in readings
            if (value := reading.measured(requirement.unit)) is not None
        ]
    if not each or requirement.take == "each":
        return each
    if requirement.take in ("least", "greatest"):
        return [(min if requirement.take == "least" else max)(each, key=lambda one: one.value)]
    values = [one.value for one in each]
    total = sum(values, Fraction(0))
    taken = {"mean": total / len(values), "spread": max(values) - min(values), "sum": total}[requirement.take]
    # A spread has no zero point: it is not turned into the other system's degrees.
    affine = requirement.take == "spread" and requirement.kind == "temperature"
    return [_Value(taken, "", frozenset() if affine else frozenset().union(*(one.units for one in each)))]


def _one(value: _Value, limits: Limits, guard: Guard) -> _Judged:
    """Compare one value with its nearer limit, the refer band and the guard band."""
    low, high, refer_low, refer_high = limits[:4]
    spare = [
        (bound, side)
        for bound, side in ((_above(value, low), "low"), (_below(value, high), "high"))
        if bound is not None
    ]
    margin, side = min(spare)
    if margin < 0:
        return _Judged("nonconforming", margin, side, False, value)
    if refer_high is not None and value.value > refer_high:
        return _Judged("refer", margin, "high", False, value)
    if refer_low is not None and value.value < refer_low:
        return _Judged("refer", margin, "low", False, value)
    if guard.refers(margin):
        return _Judged("refer", margin, side, True, value)
    return _Judged("conforms", margin, side, False, value)


def _above(value: _Value, low: Fraction | None) -> Fraction | None:
    return None if low is None else value.value - low


def _below(value: _Value, high: Fraction | None) -> Fraction | None:
    return None if high is None else high - value.value


def _measured(
    base: Verdict,
    requirement: Requirement,
    readings: Sequence[Reading],
    judged: _Judged,
    guard: Guard,
) -> Verdict:
    """Put a compared value into words and working."""
    unit = wording.display_unit(requirement, set(judged.of.units))
    words = wording.Words(requirement, base.limits, base.limit_text, unit)
    value_text = words.quantity(judged.of.value) + at_place(judged.of.place)
    if requirement.take in ("mean", "spread", "sum") and len(readings) > 1:
        value_text = f"{requirement.take} {value_text}"
    at_limit = judged.margin == 0 and requirement.kind != "count" and base.limits.low != base.limits.high
    verdict = replace(
        base,
        outcome=judged.outcome,
        value=judged.of.value,
        place=judged.of.place,
        margin=judged.margin,
        value_text=value_text,
        margin_text=words.margin(judged.margin, judged.side),
        at_limit=at_limit,
        working=(*base.working, *_working(base, requirement, readings, judged, words, guard)),
    )
    return _said(verdict, requirement, judged, words, guard, len(readings))


def _said(
    verdict: Verdict, requirement: Requirement, judged: _Judged, words: wording.Words, guard: Guard, number: int
) -> Verdict:
    """Add headline and sentence."""
    first = f"{wording.short(verdict.value_text)}, {words.limit()}"
    if judged.outcome == "nonconforming":
        return replace(
            verdict,
            headline=f"Nonconforming, {requirement.grade}: {verdict.margin_text}",
            sentence=wording.sentence(f"{first}.", requirement.advice),
        )
    if judged.outcome == "refer":
        if not judged.guarded:
            first = f"{wording.short(verdict.value_text)}, {words.band(judged.side)}"
        elif guard.uncertainty is None:
            first += ": the uncertainty of the instrument is not given"
        else:
            first += f": nearer than the instrument can tell, {words.difference(guard.uncertainty)}"
        return replace(
            verdict, headline="Goes to the engineer", sentence=wording.sentence(f"{first}.", wording.ENGINEER)
        )
    then = wording.of_readings(requirement.take, number, bool(verdict.missing))
    return replace(
        verdict,
        headline=f"Conforms, {verdict.margin_text}",
        sentence=wording.sentence(f"{first}.", wording.AGAIN if verdict.at_limit else then),
    )


def _working(
    base: Verdict,
    requirement: Requirement,
    readings: Sequence[Reading],
    judged: _Judged,
    words: wording.Words,
    guard: Guard,
) -> list[Step]:
    unit, value = requirement.unit, words.quantity(judged.of.value)
    typed = "; ".join(f"{each.place} {each.typed}".strip() for each in readings)
    taken = wording.TAKEN[requirement.take].casefold() if len(readings) > 1 else "reading"
    if requirement.calculation:
        taken, typed = requirement.output, value
    limit = base.limits.high if judged.side == "high" else base.limits.low
    steps = [Step("x", taken, typed, judged.of.value, unit)]
    if limit is not None:
        pairs = (words.quantity(limit), value) if judged.side == "high" else (value, words.quantity(limit))
        steps.append(Step("L", "limit", base.limit_text, limit, unit))
        steps.append(
            Step("m", "L - x" if judged.side == "high" else "x - L", " - ".join(pairs), judged.margin, unit),
        )
    if guard.on and guard.uncertainty is not None:
        numbers = f"{words.difference(judged.margin)} to {words.difference(guard.uncertainty)}"
        steps.append(
            Step("w", "guard band = U, JCGM 106:2012; conforms when m is w or more", numbers, guard.uncertainty, unit)
        )
    return steps
