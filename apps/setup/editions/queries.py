"""What the pages of editions show."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, NamedTuple

from apps.calc.errors import NotAReading
from apps.calc.facts import Plan
from apps.calc.readings import read
from apps.calc.requirement import Requirement as Spec
from apps.calc.scales import WORDLESS
from apps.calc.shown import show, show_other
from apps.calc.stages import STAGE_BY_KEY, Stage
from apps.calc.verdict import Verdict, judge
from apps.corridor.models import Corridor, Design
from apps.corridor.plan import NOT_SAID, facts_of_design
from apps.holdpoints.models import HoldPoint
from apps.requirements.compare import Difference, differences
from apps.requirements.models import Edition

STEP = {
    "in": Fraction(1, 64),
    "ft": Fraction(1, 100),
    "deg": Fraction(1, 10),
    "1:n": Fraction(1, 1000),
    "count": Fraction(1),
}
"""By how much an example lies beyond a limit, by unit; elsewhere a hundredth."""


class Example(NamedTuple):
    """A reading and what would come of it."""

    typed: str
    other: str
    verdict: Verdict | None
    fault: str = ""


def plan_for(corridor: Corridor, spec: Spec) -> tuple[Plan, str]:
    """Return what a usual foundation of the family has on its plans, and the name of its design."""
    for design in Design.objects.filter(corridor=corridor).order_by("name"):
        if not spec.family or design.family in spec.family:
            return {**NOT_SAID, **facts_of_design(design), "solar": False, "served": True}, design.name
    return {"family": spec.family[0]} if spec.family else {}, ""


def tried(spec: Spec, typed: str, plan: Plan, rule: str) -> Example:
    """Return how a reading typed at every place would be judged; a requirement over a calculation has nothing to type."""
    try:
        readings = [read(spec, place, typed) for place in spec.places or ("",)]
    except NotAReading as fault:
        return Example(typed, "", None, fault.message)
    if spec.calculation:
        return Example(typed, "", None, "A calculation gives the value: try it at the Bench.")
    one = readings[0]
    other = show_other(one.value, one.unit) if isinstance(one.value, Fraction) else ""
    return Example(typed, other, judge(spec, readings, plan={**plan}, rule=rule))


def examples(spec: Spec, plan: Plan, rule: str) -> list[Example]:
    """Return what a reading at each limit, and one step beyond it, would be."""
    if spec.calculation or spec.kind in WORDLESS:
        return [tried(spec, word, plan, rule) for word in _words(spec, plan)]
    limits = spec.limits(plan)
    step = STEP.get("count" if spec.kind == "count" else spec.unit, Fraction(1, 100))
    values: list[Fraction] = []
    for bound, side in ((limits.low, -1), (limits.refer_low, -1), (limits.refer_high, 1), (limits.high, 1)):
        values += [bound, bound + side * step] if bound is not None else []
    found = []
    for value in sorted(set(values)):
        if value < 0 and not spec.signed:
            continue
        typed = show(value, spec.unit, spec.notation, grouped=False)
        found.append(tried(spec, typed, plan, rule))
    return found


def _words(spec: Spec, plan: Plan) -> list[str]:
    if spec.calculation:
        return []
    if spec.kind == "check":
        return ["yes", "no", "not seen"]
    return [*(str(each) for each in spec.limits(plan).allowed), "something else"] if spec.compare == "one_of" else []


class Said(NamedTuple):
    """What one edition says under a key, and how that differs from the edition before."""

    edition: Edition
    spec: Spec | None
    fields: tuple[tuple[str, str, str], ...]


def history(key: str) -> list[Said]:
    """Return what every edition says under a key, the newest first."""
    found: list[Said] = []
    before: Spec | None = None
    for edition in Edition.objects.order_by("number").prefetch_related("requirements"):
        spec = next((row.spec for row in edition.requirements.all() if row.key == key), None)
        found.append(Said(edition, spec, _changed(before, spec)))
        before = spec
    return [each for each in reversed(found) if each.spec or each.fields]


def _changed(before: Spec | None, after: Spec | None) -> tuple[tuple[str, str, str], ...]:
    if before is None or after is None or before.block == after.block:
        return (("", "stood here", "taken out"),) if before and not after else ()
    old, new = before.as_block(), after.as_block()
    names = [*old, *(name for name in new if name not in old)]
    return tuple(
        (name, str(old.get(name, "")), str(new.get(name, ""))) for name in names if old.get(name) != new.get(name)
    )


@dataclass(frozen=True, slots=True)
class ByStage:
    """Differences of one stage."""

    stage: Stage
    differences: list[Difference]


def by_stage(found: Sequence[Difference]) -> list[ByStage]:
    """Group differences by stage, in the order of work."""
    return [
        ByStage(stage, mine)
        for key, stage in STAGE_BY_KEY.items()
        if (mine := [each for each in found if each.stage == key])
    ]


def touched(corridor: Corridor, edition: Edition) -> list[HoldPoint]:
    """Return the open hold points whose last inspection was under another edition that judges their stage otherwise.

    They keep the edition that they were inspected under; only a new inspection takes the one in force.
    """
    open_points = HoldPoint.objects.filter(
        corridor=corridor, state__in=["inspected", "returned", "reopened"], foundation__abandoned_at=None
    ).exclude(edition=None)
    rows = (
        open_points.exclude(edition=edition)
        .select_related("foundation", "edition")
        .order_by("foundation__distance_ft", "place")
    )
    stages: dict[Any, set[str]] = {}
    new = edition.content()
    found = []
    for point in rows:
        assert point.edition is not None
        if point.edition_id not in stages:
            judged = differences(point.edition.content(), new)
            stages[point.edition_id] = {each.stage for each in judged if each.judges}
        if point.stage in stages[point.edition_id]:
            found.append(point)
    return found


def editions(corridor: Corridor) -> list[tuple[Edition, str]]:
    """Return every edition, the newest first, with how it stands on this corridor."""
    rows = Edition.objects.select_related("based_on").order_by("-number")
    return [
        (row, "in force here" if row.pk == corridor.edition_id else row.get_state_display().lower()) for row in rows
    ]


def sources(edition: Edition, spec: Spec) -> Mapping[str, Any]:
    """Return the source of a requirement as the edition has it."""
    found: Mapping[str, Any] = edition.sources.get(spec.source, {})
    return found
