"""Judging what is no number line: yes or no, one of several values, and what is only noted."""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from typing import NamedTuple

from apps.calc import wording
from apps.calc.computed import Computed
from apps.calc.limits import Limits
from apps.calc.outcome import Verdict
from apps.calc.readings import Reading, at_place, same_choice
from apps.calc.requirement import Requirement
from apps.calc.units import show
from apps.calc.working import Step

Value = Fraction | str | bool


class _Answer(NamedTuple):
    place: str
    value: Value
    """A number is in the requirement's unit."""
    text: str


def choose(base: Verdict, requirement: Requirement, readings: Sequence[Reading], found: Computed | None) -> Verdict:
    """Judge a yes or no, or one of several values. Every place must conform."""
    answers = _answers(requirement, readings, found)
    wrong = [each for each in answers if not _conforms(requirement, base.limits, each.value)]
    verdict = _described(base, requirement, wrong or answers, len(answers))
    said = verdict.value_text[:1].upper() + verdict.value_text[1:]
    if not wrong:
        return replace(
            verdict,
            outcome="conforms",
            headline="Conforms",
            margin_text="as required",
            sentence=wording.sentence(f"{said}."),
        )
    return replace(
        verdict,
        outcome="nonconforming",
        headline=f"Nonconforming, {requirement.grade}",
        margin_text="not as required",
        sentence=wording.sentence(f"{said}, must be {wording.short(base.limit_text)}.", requirement.advice),
    )


def note(base: Verdict, requirement: Requirement, readings: Sequence[Reading], found: Computed | None) -> Verdict:
    """Keep what is only noted: it conforms by being there."""
    answers = _answers(requirement, readings, found)
    verdict = _described(base, requirement, answers, len(answers))
    return replace(
        verdict,
        outcome="conforms",
        headline="Noted",
        sentence=wording.sentence(f"Kept for the record: {verdict.value_text}"),
    )


def _answers(requirement: Requirement, readings: Sequence[Reading], found: Computed | None) -> list[_Answer]:
    if found:
        return [_Answer("", value, _text(requirement, value)) for value in found.values]
    answers = []
    for each in readings:
        if isinstance(each.value, Fraction):
            number = each.measured(requirement.unit)
            own = each.unit == requirement.unit
            text = show(each.value, each.unit, requirement.notation if own else "")
            answers.append(_Answer(each.place, each.value if number is None else number, text))
        elif each.value is not None:
            answers.append(_Answer(each.place, each.value, _text(requirement, each.value)))
    return answers


def _text(requirement: Requirement, value: Value) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return show(value, requirement.unit, requirement.notation) if isinstance(value, Fraction) else value


def _conforms(requirement: Requirement, limits: Limits, value: Value) -> bool:
    if requirement.compare == "yes":
        return value is True
    for allowed in limits.allowed:
        if isinstance(allowed, str) and isinstance(value, str) and same_choice(allowed, value):
            return True
        if isinstance(allowed, Fraction) and isinstance(value, Fraction) and allowed == value:
            return True
    return False


def _described(base: Verdict, requirement: Requirement, answers: list[_Answer], of: int) -> Verdict:
    """Say the first answer with every place that gave the same."""
    first = answers[0]
    places = [each.place for each in answers if each.text == first.text and each.place]
    where = at_place(wording.named(places))
    if len(places) == of > 1:
        where = f" at all {wording.how_many(of)}"
    text = f"{first.text}{where}"
    step = Step(
        "x",
        requirement.output or "reading",
        text,
        first.value,
        "" if isinstance(first.value, str | bool) else requirement.unit,
    )
    return replace(
        base,
        place=first.place,
        value=first.value if isinstance(first.value, Fraction) else None,
        value_text=text,
        working=(*base.working, step),
    )
