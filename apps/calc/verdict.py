"""Does it conform? A pure function of requirement, readings and plan to a verdict with its margin, its sentence and its working.

Arithmetic is exact (fractions), so that 3.175 mm is 1/8 in and conforms to "at most 1/8 in". The decision rule is simple
acceptance, or guarded acceptance with a guard band of one expanded uncertainty (JCGM 106:2012, 8.3.2): readings that lie
between the acceptance limit and the limit go to the engineer.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from apps.calc.limits import Limits, listed, plan_words
from apps.calc.readings import Reading, at_place, same_choice
from apps.calc.requirement import Plan, Requirement
from apps.calc.shown import show
from apps.calc.working import Step

RULES = ("simple", "guarded")
COMPARED = ("max", "min", "range", "nominal")


@dataclass(frozen=True, slots=True)
class Verdict:
    """What one requirement comes to. `outcome`: conforms, refer, nonconforming, not_measured, not_applicable."""

    outcome: str
    limit_text: str
    headline: str
    sentence: str
    value: Fraction | None = None
    """The judged value in the requirement's unit; None for words and yes/no."""
    place: str = ""
    value_text: str = ""
    margin: Fraction | None = None
    """To the nearest limit in the requirement's unit; positive is to spare."""
    margin_text: str = ""
    limits: Limits = Limits()
    at_limit: bool = False
    working: tuple[Step, ...] = ()
    missing: tuple[str, ...] = field(default=())
    """Places without a reading."""


def judge(
    requirement: Requirement,
    readings: Sequence[Reading],
    *,
    plan: Plan,
    others: Mapping[str, Sequence[Reading]] | None = None,
    uncertainty: Fraction | None = None,
    rule: str = "simple",
    reason: str = "",
    not_applicable: bool = False,
) -> Verdict:
    """Judge one requirement at one foundation.

    `readings` one for each place; `plan` the foundation's facts; `others` the readings of the other requirements, for computed
    ones; `uncertainty` expanded, in the requirement's unit; `reason` why nothing was measured or why it does not apply.
    ValueError for an unknown rule. Never raises on readings that `readings.read` returned.
    """
    if rule not in RULES:
        raise ValueError(f"{rule!r} is no decision rule; expected {' or '.join(RULES)}")
    text = requirement.limit_text(plan)
    if not_applicable:
        return Verdict("not_applicable", text, "Does not apply", reason)
    if requirement.calculation:
        return _computed(requirement, others or {}, plan, text, reason, uncertainty if rule == "guarded" else None)
    missing, unseen = _missing(requirement, readings)
    if missing or unseen or not readings:
        return _not_measured(requirement, text, missing, unseen, reason)
    if requirement.compare == "noted":
        return _noted(requirement, readings, text)
    if requirement.compare in {"yes", "one_of"}:
        return _by_word(requirement, readings, plan, text)
    value, place, step = _judged(requirement, readings, requirement.limits(plan))
    return _by_number(requirement, value, place, plan, text, (step,), uncertainty if rule == "guarded" else None)


def _missing(requirement: Requirement, readings: Sequence[Reading]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the places without a reading, and those where nothing could be seen."""
    there = {reading.place for reading in readings}
    missing = tuple(place for place in requirement.places if place not in there)
    return missing, tuple(reading.place for reading in readings if reading.value is None)


def _not_measured(
    requirement: Requirement, text: str, missing: tuple[str, ...], unseen: tuple[str, ...], reason: str
) -> Verdict:
    """Nothing to judge: say what is missing, or the reason as typed."""
    if reason:
        sentence = reason
    elif unseen and not missing:
        sentence = f"Not seen{at_place(unseen[0]) if requirement.places else ''}."
    elif missing and len(missing) < len(requirement.places):
        sentence = f"No reading at {listed(list(missing), 'and')}."
    else:
        sentence = "No reading yet."
    return Verdict("not_measured", text, "Not measured", sentence, missing=missing)


def _noted(requirement: Requirement, readings: Sequence[Reading], text: str) -> Verdict:
    """Kept because the record needs it; nothing is compared."""
    said = listed([_said(requirement, reading) for reading in readings], "and")
    return Verdict("conforms", text, "Noted", said, value_text=said)


def _said(requirement: Requirement, reading: Reading) -> str:
    """Write one reading as a page shows it, in the requirement's unit and notation."""
    if isinstance(reading.value, bool):
        return "yes" if reading.value else "no"
    if isinstance(reading.value, Fraction):
        number = reading.measured(requirement.unit)
        return show(number if number is not None else reading.value, requirement.unit, requirement.notation)
    return str(reading.value)


def _by_word(requirement: Requirement, readings: Sequence[Reading], plan: Plan, text: str) -> Verdict:
    """Judge yes/no and choices: every reading must be what is allowed."""
    limits = requirement.limits(plan)
    if limits.missing:
        return _lacks(requirement, limits, text)
    wrong = [reading for reading in readings if not _allowed(requirement, reading, limits)]
    shown = wrong[0] if wrong else readings[0]
    value_text = f"{_said(requirement, shown)}{at_place(shown.place)}"
    if not wrong:
        return Verdict("conforms", text, "Conforms", f"{value_text}.", place=shown.place, value_text=value_text, limits=limits)
    expected = "expected yes" if requirement.compare == "yes" else f"expected {text}"
    sentence = _within(f"{value_text.capitalize()}, {expected}.", requirement.advice)
    headline = f"Nonconforming, {requirement.grade}: {value_text}"
    return Verdict("nonconforming", text, headline, sentence, place=shown.place, value_text=value_text, limits=limits)


def _allowed(requirement: Requirement, reading: Reading, limits: Limits) -> bool:
    if requirement.compare == "yes":
        return reading.value is True
    if isinstance(reading.value, Fraction):
        return reading.measured(requirement.unit) in limits.allowed
    return any(isinstance(each, str) and same_choice(each, str(reading.value)) for each in limits.allowed)


def _lacks(requirement: Requirement, limits: Limits, text: str) -> Verdict:
    """A limit that the plans do not give cannot be judged by a table: the engineer does."""
    names = listed([plan_words(name) for name in limits.missing], "and")
    return Verdict("refer", text, "Goes to the engineer", f"Not given on the plans: {names}.", limits=limits)


def _judged(requirement: Requirement, readings: Sequence[Reading], limits: Limits) -> tuple[Fraction, str, Step]:
    """Return the value that is compared, where it was read, and the step that says how it was taken."""
    unit, notation = requirement.unit, requirement.notation
    numbers = [(reading.measured(unit) or Fraction(0), reading.place) for reading in readings]
    listing = "; ".join(f"{place} {show(value, unit, notation)}".strip() for value, place in numbers)
    take = requirement.take
    if take in {"mean", "spread", "sum"}:
        values = [value for value, _ in numbers]
        total = sum(values, Fraction(0))
        value = {"mean": total / len(values), "spread": max(values) - min(values), "sum": total}[take]
        return value, "", Step(take, f"{take} of {len(values)}", listing, value, unit)
    if take == "each":
        value, place = max(numbers, key=lambda pair: -_margin(pair[0], limits, requirement))
        return value, place, Step("worst", "least to spare", listing, value, unit)
    value, place = (min if take == "least" else max)(numbers, key=lambda pair: pair[0])
    return value, place, Step(take, f"{take} of {len(numbers)}", listing, value, unit)


def _margin(value: Fraction, limits: Limits, requirement: Requirement) -> Fraction:
    """Return the distance to the nearest limit, positive to spare; zero when no limit is known."""
    room = []
    if limits.low is not None:
        room.append(value - limits.low)
    if limits.high is not None:
        room.append(limits.high - value)
    return min(room, default=Fraction(0))


def _by_number(
    requirement: Requirement,
    value: Fraction,
    place: str,
    plan: Plan,
    text: str,
    steps: tuple[Step, ...],
    guard: Fraction | None,
) -> Verdict:
    """Compare one number with its limits."""
    limits = requirement.limits(plan)
    if limits.missing or (limits.low is None and limits.high is None):
        return _lacks(requirement, limits, text)
    margin = _margin(value, limits, requirement)
    outcome = _outcome(value, margin, limits, guard)
    unit, notation = requirement.unit, requirement.notation
    value_text = f"{show(value, unit, notation)}{at_place(place)}"
    near_high = limits.high is not None and margin == limits.high - value
    nearest = limits.high if near_high else limits.low
    steps = (*steps, Step("margin", "limit − value" if near_high else "value − limit", f"{text}; {value_text}", margin, unit))
    shared = {
        "value": value,
        "place": place,
        "value_text": value_text,
        "margin": margin,
        "margin_text": _margin_text(requirement, margin, near_high),
        "limits": limits,
        "at_limit": margin == 0 and nearest is not None and outcome == "conforms" and requirement.kind != "count",
        "working": steps,
    }
    return _worded(requirement, outcome, text, shared, plan)


def _outcome(value: Fraction, margin: Fraction, limits: Limits, guard: Fraction | None) -> str:
    if margin < 0:
        return "nonconforming"
    if guard is not None and margin < guard:
        return "refer"
    if limits.refer_high is not None and value > limits.refer_high:
        return "refer"
    if limits.refer_low is not None and value < limits.refer_low:
        return "refer"
    return "conforms"


def _margin_text(requirement: Requirement, margin: Fraction, near_high: bool) -> str:
    """Say the margin: to spare, over, short, or at the limit."""
    if margin == 0:
        return "" if requirement.kind == "count" else "at the limit"
    if requirement.kind in {"slope", "ratio"} and requirement.unit != "%":
        return "to spare" if margin > 0 else ("steeper" if requirement.kind == "slope" else "over" if near_high else "short")
    size = show(abs(margin), requirement.unit, "inches" if requirement.notation == "feet_inches" else "")
    return f"{size} to spare" if margin > 0 else f"{size} over" if near_high else f"{size} short"


def _worded(requirement: Requirement, outcome: str, text: str, shared: dict[str, object], plan: Plan) -> Verdict:
    """Put a number's verdict into words."""
    value_text, margin_text = str(shared["value_text"]), str(shared["margin_text"])
    first = f"{value_text}, {text}."
    if outcome == "nonconforming":
        headline = f"Nonconforming, {requirement.grade}: {margin_text or value_text}"
        return Verdict(outcome, text, headline, _within(first, requirement.advice), **shared)  # type: ignore[arg-type]
    if outcome == "refer":
        band = requirement.refer_text(plan)
        sentence = f"{value_text}, {text}{', ' + band if band else ''}. The engineer decides."
        return Verdict(outcome, text, "Goes to the engineer", sentence, **shared)  # type: ignore[arg-type]
    if shared["at_limit"]:
        return Verdict(outcome, text, "Conforms, at the limit", f"{first} A second person reads it again.", **shared)  # type: ignore[arg-type]
    headline = f"Conforms, {margin_text}" if margin_text else "Conforms"
    return Verdict(outcome, text, headline, first, **shared)  # type: ignore[arg-type]


def _within(first: str, advice: str, words: int = 25) -> str:
    """Join value, limit and advice; the advice gives way when the whole would pass so many words."""
    whole = f"{first} {advice}".strip()
    if len(whole.split()) <= words or not advice:
        return whole
    short = f"{first} {advice.split('. ')[0].rstrip('.')}."
    return short if len(short.split()) <= words else first


def _computed(
    requirement: Requirement,
    others: Mapping[str, Sequence[Reading]],
    plan: Plan,
    text: str,
    reason: str,
    guard: Fraction | None,
) -> Verdict:
    """Judge the output of a registered calculation on the readings of other requirements and values of the plans."""
    from apps.calc import registry
    from apps.calc.errors import CalcError

    values: dict[str, object] = {}
    for name, source in requirement.inputs.items():
        if source.startswith("plan."):
            value = plan.get(source.removeprefix("plan."))
            if value is None:
                return _lacks(requirement, Limits(missing=(source.removeprefix("plan."),)), text)
            values[name] = float(value) if isinstance(value, Fraction) else value
            continue
        numbers = [reading.value for reading in others.get(source, ()) if isinstance(reading.value, Fraction)]
        if not numbers:
            return Verdict("not_measured", text, "Not measured", reason or f"Needs {source}.")
        values[name] = [float(number) for number in numbers] if len(numbers) > 1 else float(numbers[0])
    try:
        result = registry.find(requirement.calculation).run(values)
    except CalcError as fault:
        return Verdict("not_measured", text, "Not measured", reason or fault.message)
    output = getattr(result, requirement.output)
    if output is None:
        return Verdict("not_measured", text, "Not measured", reason or "Not enough readings to compute it.")
    value = Fraction(output).limit_denominator(10**6)
    return _by_number(requirement, value, "", plan, text, tuple(result.working), guard)
