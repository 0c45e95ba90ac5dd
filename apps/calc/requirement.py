"""One requirement: what is read at a hold point, and the limits that it must keep. Data in, no judging here.

A requirement is one block of an edition's TOML file (fixtures/requirements/<edition>/<stage>.toml):

    [[requirement]]
    key = "base_set.corner_gap"          # begins with the stage
    title = "Gap at each corner, base free"
    family = ["transformer_base"]        # absent: both families
    when = "pole_height >= 40 ft and not solar"   # absent: always; a condition over FACTS
    kind = "length"                      # quantity, see units.KINDS; also "choice", "check", "text", "count"
    unit = "in"                          # what the limits below are in
    notation = "inches"                  # how a value is written: inches, feet_inches, decimal (default by unit)
    places = ["A", "B", "C", "D"]        # one reading at each; absent: one reading
    take = "greatest"                    # which value is judged: each (default), least, greatest, mean, spread, sum
    compare = "max"                      # max, min, range, nominal, one_of, yes, noted
    limit = "1/8"                        # max and min: a number, or a value of the plans: "plan.depth - 6"
    # low = "6", high = "8"              # range
    # nominal = "plan.bolt_circle", plus = "1/8", minus = "1/8"      # nominal ± tolerance
    # values = ["36", "55", "105"]       # one_of; may hold one "plan.NAME"
    refer = "1/16"                       # from this to the limit the engineer judges; one bound of the nearer side
                                         # (for range and nominal: a distance from each limit, inside it)
    unless = "base_set.concrete_strength"   # one of the two is enough: this does not apply where that one conforms
    on_file = "load.slump"               # known from the papers: filled in for the inspector, who may change it; see facts.ON_FILE
    calculation = "seating"              # absent: readings; else the name of a registered calculation
    inputs = { gaps = "base_set.corner_gap", depth = "plan.depth" }   # of other requirements' readings, or plan.NAME
    output = "tilt_deg"                  # the field of its result that is compared
    plausible = ["0", "2"]               # outside this range the person is asked, nothing is stored silently
    grade = "critical"                   # minor, major, critical: the grade of the finding if it does not conform
    evidence = ["corner_gap"]            # keys of the stage's [[view]] blocks
    hidden_after = "pole_set"            # the stage after which the fact can no longer be seen
    advice = "Do not tighten. Grind the high corners, or call the engineer."   # said when it does not conform
    caution = "fingers"                  # key of the stage's [[caution]] blocks
    source = "common_practice"           # key of sources.toml
    clause = ""                          # where in the source
    note = ""                            # e.g. where published guides differ

"noted" compares nothing: the reading is kept because the record needs it (a text, a number without a limit).
Numbers in these files are strings, so that they stay exact. A field whose kind is choice, check or text has no unit.
An input of a calculation may also be the requirement's own key: its own readings, one at each place.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from apps.calc.condition import Condition
from apps.calc.facts import FACTS, Fact, FactValue, Plan
from apps.calc.limits import Bound, Limits, MissingFact, listed, pair, plan_words
from apps.calc.units import show

__all__ = [
    "COMPARISONS",
    "FACTS",
    "GRADES",
    "OUTCOMES",
    "TAKES",
    "Fact",
    "FactValue",
    "Plan",
    "Requirement",
    "RequirementError",
]

COMPARISONS = ("max", "min", "range", "nominal", "one_of", "yes", "noted")
TAKES = ("each", "least", "greatest", "mean", "spread", "sum")
GRADES = ("minor", "major", "critical")
OUTCOMES = ("conforms", "refer", "nonconforming", "not_measured", "not_applicable")


class RequirementError(ValueError):
    """A block that cannot be a requirement. `faults` holds every fault, each as "field: what is expected"."""

    def __init__(self, key: str, faults: list[str]) -> None:
        self.key = key
        self.faults = tuple(faults)
        super().__init__(f"{key}: " + "; ".join(faults))


@dataclass(frozen=True, slots=True, kw_only=True)
class Requirement:
    """One requirement of an edition. Fields as in the block above, limits exact in `unit`."""

    key: str
    title: str
    kind: str
    compare: str
    source: str
    family: tuple[str, ...] = ()
    when: Condition | None = None
    unit: str = ""
    notation: str = ""
    places: tuple[str, ...] = ()
    take: str = "each"
    limit: Bound | None = None
    low: Bound | None = None
    high: Bound | None = None
    nominal: Bound | None = None
    plus: Bound | None = None
    minus: Bound | None = None
    values: tuple[Bound | str, ...] = ()
    refer: Bound | None = None
    unless: str = ""
    on_file: str = ""
    calculation: str = ""
    inputs: Mapping[str, str] = field(default_factory=dict, hash=False)
    output: str = ""
    plausible: tuple[Fraction, Fraction] | None = None
    grade: str = "minor"
    evidence: tuple[str, ...] = ()
    hidden_after: str = ""
    advice: str = ""
    caution: str = ""
    clause: str = ""
    note: str = ""
    block: str = field(default="", repr=False)
    """The block as canonical JSON: what the database stores."""

    @classmethod
    def parse(cls, block: Mapping[str, Any]) -> "Requirement":
        """Read and check one block. RequirementError lists every fault at once."""
        from apps.calc.block import read_block  # block.py needs this class

        return read_block(block)

    def as_block(self) -> dict[str, Any]:
        """Return the block again, in plain JSON values: Requirement.parse(r.as_block()) == r."""
        found: dict[str, Any] = json.loads(self.block)
        return found

    @property
    def stage(self) -> str:
        """The stage key, the first part of `key`."""
        return self.key.split(".", 1)[0]

    @property
    def signed(self) -> bool:
        """True when a reading may be below zero: temperatures, and limits or a plausible range that go there."""
        bounds = (self.limit, self.low, self.high, self.nominal)
        below = any(bound is not None and not bound.fact and bound.value < 0 for bound in bounds)
        if self.nominal and self.minus and not (self.nominal.fact or self.minus.fact):
            below = below or self.nominal.value < self.minus.value
        return self.kind == "temperature" or below or bool(self.plausible and self.plausible[0] < 0)

    @property
    def facts(self) -> frozenset[str]:
        """The facts that its limits, its condition, its inputs and its family ask for."""
        bounds = (self.limit, self.low, self.high, self.nominal, self.plus, self.minus, self.refer, *self.values)
        named = {bound.fact for bound in bounds if isinstance(bound, Bound) and bound.fact}
        words = (*self.inputs.values(), *(each for each in self.values if isinstance(each, str)))
        named |= {each.removeprefix("plan.") for each in words if each.startswith("plan.")}
        named |= set(self.when.missing({})) if self.when else set()
        return frozenset(named | ({"family"} if self.family else set()))

    def applies(self, plan: Plan) -> bool | None:
        """Say whether it applies to this foundation; None when that depends on a fact which the plans do not give."""
        family = plan.get("family")
        right = True if not self.family else None if family is None else family in self.family
        if right is False or self.when is None:
            return right
        held = self.when.holds(plan)
        return held if right or held is False else None

    def limits(self, plan: Plan) -> Limits:
        """Return the limits at this foundation, in `unit`; `missing` names facts that the plans do not give."""
        missing: list[str] = []

        def at(bound: Bound | None) -> Fraction | None:
            try:
                return bound.at(plan, self.unit) if bound else None
            except MissingFact as error:
                missing.append(error.name)
                return None

        low, high, refer_low, refer_high = _sides(self, at)
        allowed = tuple(
            value for value in (self._allowed(each, at, plan, missing) for each in self.values) if value is not None
        )
        return Limits(low, high, refer_low, refer_high, allowed, tuple(dict.fromkeys(missing)))

    def _allowed(self, each: Bound | str, at: Any, plan: Plan, missing: list[str]) -> Fraction | str | None:
        if isinstance(each, Bound):
            found: Fraction | None = at(each)
            return found
        if not each.startswith("plan."):
            return each
        name = each.removeprefix("plan.")
        if plan.get(name) is None:
            missing.append(name)
            return None
        return str(plan[name])

    def limit_text(self, plan: Plan) -> str:
        """Say the limit in trade words: "at most 1/8 in", "14 ± 1/8 in", "36, 55 or 105", "6:1 or flatter"."""
        match self.compare:
            case "max" | "min" if self.limit:
                text = self.limit.text(plan, self.unit, self.notation)
                if self.kind == "slope":
                    return f"{text} or {'flatter' if self.compare == 'min' else 'steeper'}"
                return f"at {'most' if self.compare == 'max' else 'least'} {text}"
            case "range" if self.low and self.high:
                ends = (bound.text(plan, self.unit, self.notation) for bound in (self.low, self.high))
                return pair(*ends, joiner="to")
            case "nominal":
                return self._nominal_text(plan)
            case "one_of":
                return listed([self._value_text(each, plan) for each in self.values])
        return self.compare

    def refer_text(self, plan: Plan) -> str:
        """Say the band that goes to the engineer: "refers over 1/16 in". Empty when there is none."""
        low, high = self.limits(plan)[2:4]
        ends = [
            f"{word} {show(end, self.unit, self.notation)}"
            for word, end in (("under", low), ("over", high))
            if end is not None
        ]
        return f"refers {listed(ends)}" if ends else ""

    def _nominal_text(self, plan: Plan) -> str:
        if not (self.nominal and self.plus and self.minus):
            return ""
        middle, plus, minus = (
            each.text(plan, self.unit, self.notation) for each in (self.nominal, self.plus, self.minus)
        )
        if self.plus == self.minus:
            return middle if self.plus == Bound(Fraction(0)) else pair(middle, plus, joiner="±")
        return f"{middle}, plus {pair(plus, minus, joiner='and minus')}"

    def _value_text(self, each: Bound | str, plan: Plan) -> str:
        if isinstance(each, Bound):
            return each.text(plan, self.unit, self.notation)
        name = each.removeprefix("plan.")
        return each if name == each else str(plan.get(name) or plan_words(name))


def _sides(
    requirement: Requirement, at: Any
) -> tuple[Fraction | None, Fraction | None, Fraction | None, Fraction | None]:
    """Work out low, high and the two ends of the refer band."""
    refer = at(requirement.refer)
    if requirement.compare == "max":
        return None, at(requirement.limit), None, refer
    if requirement.compare == "min":
        return at(requirement.limit), None, refer, None
    if requirement.compare == "nominal":
        middle, plus, minus = at(requirement.nominal), at(requirement.plus), at(requirement.minus)
        low = None if middle is None or minus is None else middle - minus
        high = None if middle is None or plus is None else middle + plus
    else:
        low, high = at(requirement.low), at(requirement.high)
    if refer is None:
        return low, high, None, None
    return low, high, None if low is None else low + refer, None if high is None else high - refer
