"""Hold points in every state, brought there by the acts; answers that conform, for whatever edition is in force."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from fractions import Fraction
from math import ceil, floor
from typing import Any

from apps.calc.limits import Limits
from apps.calc.requirement import Plan
from apps.calc.requirement import Requirement as Spec
from apps.calc.stages import STAGE_KEYS, position
from apps.corridor.models import Foundation
from apps.holdpoints import acts, blockers, judging, looks
from apps.holdpoints.acts import Shot
from apps.holdpoints.judging import Answered, Typed
from apps.holdpoints.models import HoldPoint, Inspection
from apps.people.models import Person
from apps.requirements.models import Requirement
from tests.factories.corridor import member
from tests.factories.kept import done, kept
from tests.factories.record import picture
from tests.factories.times import DAY, HOUR, NOW

CURE = 8 * DAY
"""Longer than the concrete gate of the default edition."""


def hold_point(foundation: Foundation, stage: str) -> HoldPoint:
    """Return a hold point fresh from the database, with what acts and pages ask of it."""
    found = HoldPoint.objects.select_related("foundation__design", "foundation__crew", "foundation__corridor__edition")
    return found.get(foundation=foundation, stage=stage)


def requirements(point: HoldPoint) -> list[Requirement]:
    """Return the requirements that hold at a hold point, by the edition in force."""
    rows = point.foundation.corridor.edition.requirements.at(point.stage)
    return judging.applicable(point, rows, judging.facts_at(point))


# ---- answers


def answers_that_conform(point: HoldPoint) -> dict[str, Answered]:
    """Return answers to every requirement of a hold point, inside its limits. AssertionError names one that is not."""
    plan, rows = point.foundation.plan, requirements(point)
    answers = {row.key: conforming(row.spec, plan) for row in rows}
    for each in judging.judge_all(rows, answers, plan=plan, day=NOW.date()):
        said = (each.verdict.outcome, each.faults, each.questions)
        assert said == ("conforms", {}, ()), f"{each.requirement.key}: {said}, {each.answer.readings}"
    return answers


def conforming(spec: Spec, plan: Plan) -> Answered:
    """Return a conforming answer to one requirement; none for a calculation, which takes the readings of others."""
    if spec.calculation and spec.key not in spec.inputs.values():
        return Answered()
    if spec.key == "pour.volume_placed":  # its ratio to the plan's volume is judged by two others
        return Answered((Typed("", f"{float(plan['volume']) * 1.1:.2f}"),))
    text = _text(spec, plan)
    return Answered(tuple(Typed(place, text) for place in spec.places or ("",)))


def _text(spec: Spec, plan: Plan) -> str:
    """Return what is typed at each place."""
    limits = spec.limits(plan)
    if spec.kind == "check":
        return "yes"
    if spec.compare == "one_of":
        return written(spec, limits.allowed[0])
    if spec.kind in {"choice", "text"}:
        return "as the plans show"
    value = _inside(spec, limits)
    return written(spec, value / len(spec.places) if spec.take == "sum" else value)


def _inside(spec: Spec, limits: Limits) -> Fraction:
    """Return a number that neither refers nor is asked about: the middle of the band, or inside a single limit."""
    low = limits.refer_low if limits.refer_low is not None else limits.low
    high = limits.refer_high if limits.refer_high is not None else limits.high
    floor_, top = spec.plausible or (None, None)
    if low is None and high is None:
        value = (floor_ + top) / 2 if floor_ is not None and top is not None else Fraction(1)
    elif low is not None and high is not None:
        value = (low + high) / 2
    elif low is not None:
        value = low + max(Fraction(1), abs(low) / 8)
        value = value if top is None else min(value, (low + top) / 2)
    else:
        assert high is not None
        least = min(Fraction(0), high - 1) if floor_ is None else floor_
        value = (least + high) / 2
    if spec.kind == "count":
        value = Fraction(floor(value) if low is None or floor(value) >= low else ceil(value))
    return value


def written(spec: Spec, value: Fraction | str) -> str:
    """Return an exact number as a person may type it in the requirement's unit: 385/16, 6:1, 1:40."""
    if isinstance(value, str):
        return value
    if spec.unit in {"1:n", "H:V"}:
        return f"{value.numerator}:{value.denominator}"
    return f"{value.numerator}/{value.denominator}" if value.denominator != 1 else str(value.numerator)


def nonconforming_text(spec: Spec, plan: Plan) -> str:
    """Return what is typed where a requirement is not met: a little beyond its nearer limit, or no."""
    if spec.kind == "check":
        return "no"
    if spec.kind in {"choice", "text"}:
        return "something else"
    limits = spec.limits(plan)
    if limits.high is not None:
        return written(spec, limits.high + (1 if spec.kind == "count" else Fraction(1, 64)))
    assert limits.low is not None, f"{spec.key} has no limit to miss"
    return written(spec, limits.low - (1 if spec.kind == "count" else Fraction(1, 64)))


def nonconforming_at(point: HoldPoint, grade: str) -> tuple[Requirement, dict[str, Answered]]:
    """Return a requirement of a grade, and answers in which it alone is not met at its first place."""
    plan, answers = point.foundation.plan, answers_that_conform(point)
    row = next(
        row
        for row in requirements(point)
        if row.grade == grade and row.spec.kind == "check" and not row.spec.calculation
    )
    first, *others = answers[row.key].readings
    spoiled = Answered((first._replace(text=nonconforming_text(row.spec, plan)), *others))
    return row, {**answers, row.key: spoiled}


def referring_at(point: HoldPoint) -> tuple[Requirement, dict[str, Answered]]:
    """Return a requirement with a refer band, and answers in which it alone goes to the engineer."""
    plan, answers = point.foundation.plan, answers_that_conform(point)
    for row in requirements(point):
        limits = row.spec.limits(plan)
        for limit, band in ((limits.low, limits.refer_low), (limits.high, limits.refer_high)):
            if limit is not None and band is not None:
                text = written(row.spec, (limit + band) / 2)
                readings = tuple(Typed(place, text) for place in row.spec.places or ("",))
                return row, {**answers, row.key: Answered(readings)}
    raise AssertionError(f"nothing refers at {point.stage}")


def photos_for(point: HoldPoint) -> list[Shot]:
    """Return a tiny picture of every view that the hold point's requirements ask for; new files at each call."""
    views = sorted(judging.required_views(requirements(point)))
    return [Shot(view, picture(f"{view}.png")) for view in views]


# ---- the moves


def give_notice(point: HoldPoint, at: datetime, by: Person | None = None, **more: Any) -> HoldPoint:
    """Give notice for an hour later, by the foreman."""
    corridor = point.foundation.corridor
    done(
        acts.give_notice,
        hold_point=point,
        by=by or member(corridor, "foreman"),
        at=at,
        **{"asked_for": at + HOUR, "crew": corridor.crews.first(), **more},
    )
    return hold_point(point.foundation, point.stage)


def inspect(
    point: HoldPoint, at: datetime, answers: Mapping[str, Answered] | None = None, by: Person | None = None, **more: Any
) -> HoldPoint:
    """Send an inspection, by the inspector; conforming unless other answers are given. An open hole is looked at first."""
    _inspect(point, at, answers, by, **more)
    return hold_point(point.foundation, point.stage)


@kept
def _inspect(
    point: HoldPoint, at: datetime, answers: Mapping[str, Answered] | None, by: Person | None, **more: Any
) -> None:
    if point.stage in ("cage", "pour") and blockers.situation(point, at).gate.shut(at, looking=True):
        look_again(point.foundation, at)
    done(
        acts.submit_inspection,
        hold_point=point,
        answers=answers if answers is not None else answers_that_conform(point),
        by=by or member(point.foundation.corridor, "inspector"),
        at=at,
        **{"looked_at": at, "photos": photos_for(point), **more},
    )


def look_again(foundation: Foundation, at: datetime) -> None:
    """Look at an open hole again, by the inspector."""
    done(looks.look_again, foundation=foundation, by=member(foundation.corridor, "inspector"), at=at)


def attempt(point: HoldPoint) -> Inspection:
    """Return the last attempt at a hold point."""
    found = point.inspections.last()
    assert found is not None, f"{point} was never inspected"
    return found


def release(point: HoldPoint, at: datetime, by: Person | None = None, **more: Any) -> HoldPoint:
    """Release the last attempt, by the engineer."""
    by = by or member(point.foundation.corridor, "engineer")
    done(acts.release, hold_point=point, inspection=attempt(point), by=by, at=at, **more)
    return hold_point(point.foundation, point.stage)


def send_back(
    point: HoldPoint, at: datetime, by: Person | None = None, reason: str = "Show the tape", show: str = ""
) -> HoldPoint:
    """Return the last attempt, by the engineer."""
    by = by or member(point.foundation.corridor, "engineer")
    given = {"reason": reason, "show": show, "by": by, "at": at}
    done(acts.return_inspection, hold_point=point, inspection=attempt(point), **given)
    return hold_point(point.foundation, point.stage)


def reopen(point: HoldPoint, at: datetime, by: Person | None = None, reason: str = "Struck by a truck") -> HoldPoint:
    """Withdraw a release, by the engineer."""
    by = by or member(point.foundation.corridor, "engineer")
    done(acts.reopen, hold_point=point, reason=reason, by=by, at=at)
    return hold_point(point.foundation, point.stage)


def after(foundation: Foundation, step: timedelta = HOUR) -> datetime:
    """Return a moment later than everything that happened at a foundation."""
    last = foundation.hold_points.order_by("since").last()
    return max(NOW, last.since if last else NOW) + step


def _to_inspected(point: HoldPoint) -> HoldPoint:
    """Bring a ready, returned or reopened hold point to inspected; concrete cures first where a gate asks for it."""
    at = after(point.foundation, CURE if point.stage == "base_set" and point.attempts == 0 else HOUR)
    if point.state != HoldPoint.State.NOTIFIED:
        point, at = give_notice(point, at), at + HOUR
    return inspect(point, at)


def _to_released(point: HoldPoint) -> HoldPoint:
    if point.state == HoldPoint.State.RELEASED:
        return point
    if point.state != HoldPoint.State.INSPECTED:
        point = _to_inspected(point)
    return release(point, after(point.foundation))


def at_stage(foundation: Foundation, stage: str, state: str) -> HoldPoint:
    """Bring a foundation to a hold point's state by the acts, everything before it released. Returns it fresh.

    ValueError where that state cannot be reached, as `not_ready` at layout.
    """
    _bring_to(foundation, stage, state)
    return hold_point(foundation, stage)


@kept
def _bring_to(foundation: Foundation, stage: str, state: str) -> None:
    place = position(stage)
    ahead = STAGE_KEYS[: place - 1] if state == "not_ready" and place else STAGE_KEYS[:place]
    if state == "not_ready" and not place:
        raise ValueError("layout is ready from the beginning")
    for earlier in ahead:
        _to_released(hold_point(foundation, earlier))
    point = hold_point(foundation, stage)
    if state == "notified" and point.state != state:
        wait = CURE if stage == "base_set" and point.attempts == 0 else HOUR
        point = give_notice(point, after(foundation, wait))
    elif state in {"inspected", "returned"} and point.state != state:
        point = point if point.state == "inspected" else _to_inspected(point)
        point = send_back(point, after(foundation)) if state == "returned" else point
    elif state in {"released", "reopened"} and point.state != state:
        point = _to_released(point)
        point = reopen(point, after(foundation)) if state == "reopened" else point
    if point.state != state:
        raise ValueError(f"{point} is {point.state}; {state} cannot be reached from here")
