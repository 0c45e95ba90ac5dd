"""Does it conform? A pure function of requirement, readings and plans: no clock, no database, exact at the limit."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction

from apps.calc import wording
from apps.calc.chosen import choose, note
from apps.calc.computed import Computed, Waiting, compute
from apps.calc.errors import CalcError, not_negative
from apps.calc.facts import Plan
from apps.calc.limits import MissingFact, plan_words
from apps.calc.measured import Guard, compare
from apps.calc.outcome import Verdict
from apps.calc.readings import Reading, questions, read
from apps.calc.requirement import Requirement

__all__ = ["RULES", "Reading", "Verdict", "judge", "questions", "read", "settle"]

RULES = ("simple", "guarded")
"""simple: the limit itself decides. guarded: a value nearer to the limit than the expanded uncertainty U goes to the
engineer; the acceptance limit is the limit moved in by w = U (JCGM 106:2012, guarded acceptance, 8.3.2; clause from
memory)."""


def judge(
    requirement: Requirement,
    readings: Sequence[Reading],
    *,
    plan: Plan,
    others: Mapping[str, Sequence[Reading]] | None = None,
    uncertainty: Fraction | int | None = None,
    rule: str = "simple",
    reason: str = "",
    not_applicable: bool = False,
    so_far: bool = False,
) -> Verdict:
    """Judge the readings of one requirement at one foundation.

    others: readings of other requirements by key, for a calculation, in the order of their places.
    uncertainty: expanded uncertainty U of the judged value, in the requirement's unit; needed by rule "guarded".
    reason: why there is no reading, or why it does not apply, as typed.
    so_far: judge the readings that are there although places are missing, for a page that is being filled.
    CalcError on an unknown rule, a negative uncertainty, or a place that is unknown or read twice.
    """
    if rule not in RULES:
        raise CalcError("rule", f"expected one of {', '.join(RULES)}, got {rule!r}")
    width = None if uncertainty is None else not_negative("uncertainty", Fraction(uncertainty))
    bound = Guard(rule == "guarded" and requirement.kind != "count", width)
    _check_places(requirement, readings)
    if held := _before_measuring(requirement, plan, reason, not_applicable):
        return held
    base = Verdict(
        outcome="not_measured",
        headline="Not measured",
        sentence="",
        limits=requirement.limits(plan),
        limit_text=requirement.limit_text(plan),
        reason=reason,
    )
    if requirement.calculation:
        return _computed(base, requirement, readings, plan, others or {}, bound)
    seen = [each for each in readings if each.value is not None]
    if not seen or (len(seen) < len(requirement.places or ("",)) and not so_far):
        return _not_yet(base, requirement, readings, plan)
    return _decided(replace(base, missing=_absent(requirement, seen)), requirement, seen, None, bound)


def settle(requirements: Iterable[Requirement], verdicts: Mapping[str, Verdict]) -> dict[str, Verdict]:
    """Return the verdicts by key after those of which one is enough were held against each other.

    A requirement with `unless` that is not met or not measured does not apply where the other conforms.
    """
    settled = dict(verdicts)
    for each in requirements:
        mine, other = verdicts[each.key], verdicts.get(each.unless)
        if other is None or other.outcome != "conforms" or mine.outcome in ("conforms", "not_applicable"):
            continue
        why = f"Not needed: {other.value_text} conforms, one of the two is enough"
        settled[each.key] = replace(
            mine,
            outcome="not_applicable",
            headline="Not needed",
            sentence=wording.sentence(why),
            reason=why,
            missing=(),
        )
    return settled


def _computed(
    base: Verdict,
    requirement: Requirement,
    readings: Sequence[Reading],
    plan: Plan,
    others: Mapping[str, Sequence[Reading]],
    bound: Guard,
) -> Verdict:
    """Judge the output of a calculation, once it has all that it needs."""
    try:
        found = compute(requirement, readings, plan, others)
    except Waiting as waiting:
        return _unmeasured(base, f"Waits for: {waiting.what}", (waiting.what,))
    except MissingFact as missing:
        return _refer_missing(base, (missing.name,))
    return _decided(replace(base, caution=found.caution, working=found.working), requirement, readings, found, bound)


def _decided(
    base: Verdict, requirement: Requirement, readings: Sequence[Reading], found: Computed | None, bound: Guard
) -> Verdict:
    """Judge what is measured or computed by the way in which the requirement compares."""
    if base.limits.missing:
        return _refer_missing(base, base.limits.missing)
    if requirement.compare == "noted":
        return note(base, requirement, readings, found)
    if requirement.compare in ("yes", "one_of"):
        return choose(base, requirement, readings, found)
    return compare(base, requirement, readings, found, bound)


def _check_places(requirement: Requirement, readings: Sequence[Reading]) -> None:
    places = [reading.place for reading in readings]
    if unknown := set(places) - set(requirement.places or ("",)):
        raise CalcError("readings", f"{requirement.key} has no place {', '.join(sorted(unknown))}")
    if len(set(places)) != len(places):
        raise CalcError("readings", f"{requirement.key}: two readings at one place")


def _before_measuring(requirement: Requirement, plan: Plan, reason: str, not_applicable: bool) -> Verdict | None:
    """A requirement that does not apply, or of which the plans do not say whether it does."""
    applies = requirement.applies(plan)
    if not_applicable or applies is False:
        only = f"Asked where {requirement.when.words()}" if requirement.when else "Asked of the other family"
        why = wording.sentence(reason or ("Not asked here" if not_applicable else only))
        return Verdict(
            outcome="not_applicable",
            headline="Does not apply",
            sentence=why,
            reason=reason,
            limit_text=requirement.limit_text(plan),
        )
    if applies is None:
        missing = requirement.when.missing(plan) if requirement.when else ()
        if requirement.family and plan.get("family") is None:
            missing = ("family", *missing)
        base = Verdict(
            outcome="refer", headline="", sentence="", limit_text=requirement.limit_text(plan), reason=reason
        )
        return _refer_missing(base, missing)
    return None


def _refer_missing(base: Verdict, facts: Sequence[str]) -> Verdict:
    names = wording.named([plan_words(fact).removeprefix("the plan's ") for fact in facts], 3)
    return replace(
        base,
        outcome="refer",
        headline="Goes to the engineer",
        sentence=wording.sentence(f"The plans do not give: {names}", wording.ENGINEER),
    )


def _unmeasured(base: Verdict, why: str, missing: tuple[str, ...]) -> Verdict:
    return replace(base, sentence=wording.sentence(base.reason or why), missing=missing)


def _absent(requirement: Requirement, readings: Sequence[Reading]) -> tuple[str, ...]:
    there = {reading.place for reading in readings if reading.value is not None}
    return tuple(place for place in requirement.places or ("",) if place not in there)


def _not_yet(base: Verdict, requirement: Requirement, readings: Sequence[Reading], plan: Plan) -> Verdict:
    """Some place has no reading; a reading that is out of limits already is said all the same."""
    absent = _absent(requirement, readings)
    unseen = [reading.place for reading in readings if reading.value is None]
    if not requirement.places:
        return _unmeasured(base, "Not seen" if unseen else "No reading yet", absent)
    word = "Not seen" if set(unseen) == set(absent) else "No reading"
    why = f"{word}: {wording.named(absent)}"
    there = [reading for reading in readings if reading.value is not None]
    if there and not base.limits.missing and requirement.take in ("each", "least", "greatest"):
        bad = judge(requirement, there, plan=plan, so_far=True)
        if bad.outcome == "nonconforming" and not base.reason:
            why = wording.sentence(why, f"Already nonconforming: {bad.value_text}")
    return _unmeasured(base, why, absent)
