"""From what was typed to verdicts: one way for the form's immediate answer, for the act, and for judging again later."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from typing import Any, NamedTuple

from apps.calc.doubt import doubt_of, read_doubt
from apps.calc.errors import NotAReading
from apps.calc.facts import SEEN
from apps.calc.readings import Reading, impossible, questions, read
from apps.calc.requirement import Plan
from apps.calc.requirement import Requirement as Spec
from apps.calc.stages import STAGE_KEYS
from apps.calc.verdict import Verdict, judge, settle
from apps.calc.working import as_rows
from apps.holdpoints.models import HoldPoint, Inspection, Measurement
from apps.materials.models import Instrument
from apps.record.acts import cut
from apps.requirements.models import Requirement

LONGEST_REASON = 200
COLUMNS = {"value_text": 120, "limit_text": 120, "margin_text": 80, "headline": 160}
"""Texts of a verdict and how much of each a measurement keeps; readings and limits are kept whole beside them."""


class Typed(NamedTuple):
    """One reading as a person wrote it."""

    place: str
    text: str
    unit: str = ""


class Answered(NamedTuple):
    """What was said to one requirement: readings, or a reason why there are none."""

    readings: tuple[Typed, ...] = ()
    reason: str = ""
    not_applicable: bool = False
    instrument: Instrument | None = None
    confirmed: bool = False
    """A person answered the question about an unlikely value with yes."""


@dataclass(frozen=True, slots=True)
class Judged:
    """One requirement with its answer and its verdict."""

    requirement: Requirement
    answer: Answered
    readings: tuple[Reading, ...]
    verdict: Verdict
    faults: Mapping[str, str]
    """place → what is wrong with what was typed there."""
    questions: tuple[str, ...]
    given: "Given"


def facts_at(hold_point: HoldPoint) -> Plan:
    """Return the facts that a hold point is judged by: what the plans say, and what was found at the stages before it."""
    plan = dict(hold_point.foundation.plan)
    before = STAGE_KEYS[: hold_point.place]
    wanted = {key: name for name, key in SEEN.items() if key.partition(".")[0] in before}
    rows = Measurement.objects.filter(foundation=hold_point.foundation_id, requirement_key__in=wanted)
    for row in rows.order_by("inspection__received_at"):
        if row.outcome not in {"not_measured", "not_applicable"}:
            plan[wanted[row.requirement_key]] = Fraction(row.value) if row.value else row.value_text
    return plan


def applicable(hold_point: HoldPoint, requirements: Iterable[Requirement], plan: Plan) -> list[Requirement]:
    """Return the requirements that hold for a foundation: of its family, and whose condition is met or cannot be told."""
    family = hold_point.foundation.family
    return [row for row in requirements if row.family in {"", family} and row.spec.applies(plan) is not False]


def required_views(requirements: Iterable[Requirement]) -> set[str]:
    """Return the keys of the photo views that these requirements ask for."""
    return {view for requirement in requirements for view in requirement.spec.evidence}


def _read(spec: Spec, answer: Answered) -> tuple[tuple[Reading, ...], dict[str, str]]:
    """Read what was typed; return the readings and, by place, what could not be read."""
    readings, faults = [], {}
    for typed in answer.readings:
        if not typed.text.strip():
            continue
        try:
            readings.append(read(spec, typed.place, typed.text, typed.unit or None))
        except NotAReading as fault:
            faults[typed.place] = str(fault)
    return tuple(readings), faults


class Given(NamedTuple):
    """What a verdict rests on besides the readings and the facts."""

    reason: str = ""
    not_applicable: bool = False
    uncertainty: Fraction | None = None
    """Expanded, of what is judged, in the requirement's unit; None: not known."""
    doubt: str = ""
    """Why the reading is not trusted, however good it looks; empty: it is."""

    def as_json(self) -> dict[str, str | bool]:
        """Return it as a measurement keeps it: only what is not usual. The reason has a column of its own."""
        said: dict[str, str | bool] = {"not_applicable": self.not_applicable, "doubt": self.doubt}
        said["uncertainty"] = exact(self.uncertainty)
        return {name: value for name, value in said.items() if value}

    @classmethod
    def from_json(cls, kept: Mapping[str, Any], reason: str = "") -> "Given":
        """Return it again."""
        uncertainty = kept.get("uncertainty")
        return cls(
            reason,
            bool(kept.get("not_applicable")),
            Fraction(uncertainty) if uncertainty else None,
            str(kept.get("doubt", "")),
        )


def verdicts(
    specs: Iterable[Spec],
    readings: Mapping[str, tuple[Reading, ...]],
    given: Mapping[str, Given],
    *,
    plan: Plan,
    rule: str = "simple",
    so_far: bool = False,
) -> dict[str, Verdict]:
    """Return the verdict on each requirement by its key. Pure: the form, the act and judging again all come here."""
    rows = list(specs)
    found = {}
    for spec in rows:
        said = given.get(spec.key, Given())
        verdict = judge(
            spec,
            readings.get(spec.key, ()),
            plan=plan,
            others=readings,
            rule=rule,
            uncertainty=said.uncertainty,
            reason=said.reason,
            not_applicable=said.not_applicable,
            so_far=so_far,
        )
        found[spec.key] = doubted(verdict, said.doubt)
    return settle(rows, found)


def doubted(verdict: Verdict, doubt: str) -> Verdict:
    """Send a reading that is not trusted to the engineer, however good it looks."""
    if not doubt or verdict.outcome != "conforms":
        return verdict
    return replace(
        verdict,
        outcome="refer",
        headline="Goes to the engineer",
        sentence=f"{doubt}. {verdict.value_text}, {verdict.limit_text}.",
    )


def _doubt(instrument: Instrument | None, day: date) -> str:
    """Say why the readings of an instrument do not count on a day; empty where they do."""
    if instrument is None or instrument.in_calibration(day):
        return ""
    until = f"{instrument.calibrated_until:%-d %b %Y}" if instrument.calibrated_until else "no date"
    return f"{instrument.name} is past its calibration ({until})"


def _uncertainty(spec: Spec, readings: tuple[Reading, ...], instrument: Instrument | None) -> Fraction | None:
    """Return the expanded uncertainty of what is judged, in the requirement's unit; None where it is not known."""
    if instrument is None or not instrument.uncertainty or spec.calculation:
        return None
    numbers = tuple(value for each in readings if (value := each.measured(spec.unit)) is not None)
    return doubt_of(read_doubt(instrument.uncertainty), spec, numbers)


def judge_all(
    requirements: Iterable[Requirement],
    answers: Mapping[str, Answered],
    *,
    plan: Plan,
    day: date,
    rule: str = "simple",
    so_far: bool = False,
) -> list[Judged]:
    """Judge every requirement against what was typed; `so_far` while more is still to come. Pure but for the rows it is given."""
    rows = list(requirements)
    read_in = {row.key: _read(row.spec, answers.get(row.key, Answered())) for row in rows}
    readings = {key: found for key, (found, _) in read_in.items()}
    given = {row.key: _given(row.spec, readings[row.key], answers.get(row.key, Answered()), day) for row in rows}
    found = verdicts((row.spec for row in rows), readings, given, plan=plan, rule=rule, so_far=so_far)
    judged = []
    for row in rows:
        answer = answers.get(row.key, Answered())
        settled = answer.confirmed and not impossible(row.spec, readings[row.key])
        asked = () if settled else tuple(questions(row.spec, readings[row.key], plan))
        judged.append(
            Judged(row, answer, readings[row.key], found[row.key], read_in[row.key][1], asked, given[row.key])
        )
    return judged


def _given(spec: Spec, readings: tuple[Reading, ...], answer: Answered, day: date) -> Given:
    uncertainty = _uncertainty(spec, readings, answer.instrument)
    return Given(answer.reason, answer.not_applicable, uncertainty, _doubt(answer.instrument, day))


def exact(value: Fraction | None) -> str:
    """Return an exact number as text, empty for none."""
    return "" if value is None else str(value)


def limits_as_text(verdict: Verdict) -> dict[str, str]:
    """Return the limits that a verdict was given by, exact, for the margin bar and for judging again."""
    limits = verdict.limits
    names = ("low", "high", "refer_low", "refer_high")
    return {name: str(value) for name in names if limits is not None and (value := getattr(limits, name)) is not None}


def measurement(judged: Judged, inspection: Inspection, place: int) -> Measurement:
    """Return the row that keeps a judged requirement, not yet saved."""
    verdict, requirement = judged.verdict, judged.requirement
    row = Measurement(
        inspection=inspection,
        foundation=inspection.hold_point.foundation,
        stage=inspection.hold_point.stage,
        requirement_key=requirement.key,
        place=place,
        title=requirement.title,
        grade=requirement.grade,
        readings=[
            {"place": reading.place, "typed": reading.typed, "unit": reading.unit} for reading in judged.readings
        ],
        value=exact(verdict.value),
        unit=requirement.spec.unit,
        value_text=verdict.value_text,
        limit_text=verdict.limit_text,
        limits=limits_as_text(verdict),
        outcome=verdict.outcome,
        margin=exact(verdict.margin),
        margin_text=verdict.margin_text,
        at_limit=verdict.at_limit,
        headline=verdict.headline,
        sentence=verdict.sentence,
        working=as_rows(verdict.working),
        reason=reason_of(judged),
        instrument=judged.answer.instrument,
        given=judged.given.as_json(),
    )
    for name, longest in COLUMNS.items():
        setattr(row, name, cut(getattr(row, name), longest))
    return row


COUNTED = {"count", "slope"}
"""Kinds whose margin says little about how near the work is to its limit: six bars of six are as required."""


def tightest(judged: Iterable[Judged]) -> Judged | None:
    """Return the conforming requirement with the least share of its allowed room to spare, None if nothing was measured."""

    def share(each: Judged) -> float:
        margin, limits = each.verdict.margin or Fraction(0), each.verdict.limits
        low, high = limits.low, limits.high
        if low is not None and high is not None:
            room = high - low
        else:
            room = next((abs(limit) for limit in (high, low) if limit), Fraction(1))
        return float(margin / (room or Fraction(1)))

    measured = [
        each
        for each in judged
        if each.verdict.margin is not None
        and each.verdict.outcome in {"conforms", "refer"}
        and each.requirement.spec.kind not in COUNTED
    ]
    return min(measured, key=share, default=None)


def reason_of(judged: Judged) -> str:
    """Return why there is no reading: as said, or "not seen" where that was the answer."""
    unseen = judged.readings and any(reading.value is None for reading in judged.readings)
    said = judged.answer.reason.strip() or (judged.verdict.reason if judged.verdict.outcome == "not_applicable" else "")
    return said or ("Not seen" if unseen and judged.verdict.outcome == "not_measured" else "")
