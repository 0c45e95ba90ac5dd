"""Limits: a number, or a value of the plans, exact in the requirement's unit; and how a limit is said."""

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from apps.calc.errors import NotAReading
from apps.calc.facts import FACTS, Plan
from apps.calc.units import WORDLESS, convert, convert_difference, parse, show

_PLAN = re.compile(r"plan\.(?P<name>[a-z_]+)(?: *(?P<sign>[+-]) *(?P<rest>.+))?")


class Limits(NamedTuple):
    """The limits of one requirement at one foundation, in the requirement's unit. None: that side is open."""

    low: Fraction | None = None
    high: Fraction | None = None
    refer_low: Fraction | None = None
    """Below this, down to low, the engineer judges."""
    refer_high: Fraction | None = None
    """Beyond this, up to high, the engineer judges."""
    allowed: tuple[Fraction | str, ...] = ()
    """For one_of: what conforms."""
    missing: tuple[str, ...] = ()
    """Names of FACTS that a limit needs and the plans do not give. Any: the requirement refers to the engineer."""


class MissingFact(LookupError):
    """The plans do not give a fact that is needed. `name` is a key of FACTS."""

    def __init__(self, name: str) -> None:
        self.name = name
        super().__init__(name)


def plan_words(fact: str) -> str:
    """Name a fact in a sentence: the plan's depth ordered."""
    return f"the plan's {FACTS[fact].title.split(',', 1)[0]}"


@dataclass(frozen=True, slots=True)
class Bound:
    """One limit: a constant in the requirement's unit, or plan.NAME with a constant added."""

    value: Fraction
    fact: str = ""

    def at(self, plan: Plan, unit: str) -> Fraction:
        """Return the limit in the requirement's unit. MissingFact when the plans do not give it."""
        if not self.fact:
            return self.value
        found = plan.get(self.fact)
        if found is None:
            raise MissingFact(self.fact)
        if isinstance(found, str | bool):
            raise TypeError(f"plan.{self.fact} must be a number, got {found!r}")
        return convert(Fraction(found), FACTS[self.fact].unit, unit) + self.value

    def text(self, plan: Plan, unit: str, notation: str) -> str:
        """Write it as the trade does; by its name when the plans do not give it."""
        try:
            return show(self.at(plan, unit), unit, notation)
        except MissingFact:
            added = f" {'-' if self.value < 0 else '+'} {show(abs(self.value), unit, notation)}" if self.value else ""
            return f"{plan_words(self.fact)}{added}"


def read_bound(text: object, kind: str, unit: str, *, tolerance: bool = False) -> Bound:
    """Read a limit: "1/8", "8 ft", "plan.depth", "plan.depth - 6". ValueError says what is expected.

    tolerance: a difference, such as plus and minus, so that 9 F of tolerance are 5 C.
    """
    if isinstance(text, bool) or not isinstance(text, str | int):
        raise ValueError(  # noqa: TRY004  one kind of error for the reader of blocks
            f'expected a number as text, such as "1/8", got {text!r}'
        )
    match = _PLAN.fullmatch(str(text).strip())
    if not match:
        return Bound(_constant(str(text), kind, unit, tolerance))
    name = match["name"]
    if name not in FACTS:
        raise ValueError(f"no fact is named plan.{name}; there are {', '.join(FACTS)}")
    if FACTS[name].kind != kind:
        raise ValueError(f"plan.{name} is {FACTS[name].kind}, the requirement is {kind}")
    added = _constant(match["rest"], kind, unit, True) if match["rest"] else Fraction(0)
    return Bound(-added if match["sign"] == "-" else added, name)


def _constant(text: str, kind: str, unit: str, difference: bool) -> Fraction:
    try:
        found = parse(text, kind, unit, notation="inches", signed=True)
    except NotAReading as error:
        raise ValueError(error.message) from None
    return (convert_difference if difference else convert)(found.value, found.unit, unit)


def read_allowed(text: object, kind: str, unit: str) -> Bound | str:
    """Read one value of one_of: a number for kinds with numbers, else a word; plan.NAME for the plans' own."""
    if kind not in WORDLESS:
        return read_bound(text, kind, unit)
    if not isinstance(text, str) or not text.strip():
        raise ValueError(f"expected a word as text, got {text!r}")
    if text.startswith("plan."):
        name = text.removeprefix("plan.")
        if name not in FACTS or FACTS[name].kind not in WORDLESS:
            raise ValueError(f"plan.{name} is not a choice of the plans")
    return text.strip()


def pair(first: str, second: str, *, joiner: str) -> str:
    """Join two quantities and write a shared unit once: pair("6 in", "8 in", joiner="to") is "6 to 8 in"."""
    _, space, unit = second.rpartition(" ")
    if first.endswith("°") and second.endswith("°"):
        first = first.removesuffix("°")
    elif space and " ft " not in first + second and first.endswith(f" {unit}"):
        first = first.removesuffix(f" {unit}")
    return f"{first} {joiner} {second}"


def listed(words: list[str], joiner: str = "or") -> str:
    """Write a list as prose: "36, 55 or 105"."""
    return f"{', '.join(words[:-1])} {joiner} {words[-1]}" if len(words) > 1 else "".join(words)
