"""The condition of a requirement's `when`: a small language over the facts of the plans, read once, never run as code.

    pole_height >= 40 ft and not solar
    family == 'pedestal_base' or (walk and button)
    side == left

Names are those of FACTS. A number may carry a unit; without one it is in the fact's own. A fact of kind check stands
alone. A word that is no fact, or text in quotes, is a choice. `not` binds closest, then `and`, then `or`.
"""

import difflib
import operator
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, NamedTuple, NoReturn

from apps.calc.errors import NotAReading
from apps.calc.facts import FACTS, FactValue, Plan
from apps.calc.stages import FAMILIES
from apps.calc.units import WORDLESS, convert, parse

LONGEST = 400
DEEPEST = 20
COMPARE: dict[str, tuple[Callable[[Any, Any], bool], str]] = {
    "==": (operator.eq, ""),
    "!=": (operator.ne, "not "),
    "<": (operator.lt, "under "),
    "<=": (operator.le, "at most "),
    ">": (operator.gt, "over "),
    ">=": (operator.ge, "at least "),
}
_TOKEN = re.compile(
    r"(?P<space> +)|(?P<sign>==|!=|<=|>=|<|>)|(?P<bracket>[()])|(?P<text>'[^']*'|\"[^\"]*\")"
    r"|(?P<number>[0-9]+(?: +[0-9]+)?/[0-9]+|[0-9]+(?:\.[0-9]+)?(?::[0-9.]+)?)"
    r"|(?P<word>[A-Za-z%°][A-Za-z0-9_%°²³/-]*)"
)
_JOINERS = ("and", "or", "not")


class ConditionError(ValueError):
    """A condition that cannot be read. `column` counts from 1."""

    def __init__(self, column: int, message: str) -> None:
        self.column = column
        self.message = message
        super().__init__(f"column {column}: {message}")


class _Token(NamedTuple):
    sort: str
    text: str
    column: int


class _Name(NamedTuple):
    fact: str


class _Literal(NamedTuple):
    value: FactValue
    shown: str


class _Compare(NamedTuple):
    sign: str
    left: str
    right: "_Name | _Literal"


class _Not(NamedTuple):
    part: "_Node"


class _Both(NamedTuple):
    joiner: str
    parts: "tuple[_Node, ...]"


_Node = _Name | _Compare | _Not | _Both


@dataclass(frozen=True, slots=True)
class Condition:
    """A condition that was read and checked against FACTS."""

    text: str
    tree: _Node

    @classmethod
    def parse(cls, text: str) -> "Condition":
        """Read a condition. ConditionError names the column of the first fault."""
        return cls(text, _Reader(text).whole())

    def holds(self, plan: Plan) -> bool | None:
        """Say whether it holds for these plans; None when that depends on a fact which the plans do not give."""
        return _holds(self.tree, plan)

    def missing(self, plan: Plan) -> tuple[str, ...]:
        """Return the facts that are named and absent, in the order of FACTS."""
        named = set(_names(self.tree))
        return tuple(name for name in FACTS if name in named and name not in plan)

    def words(self) -> str:
        """Write it in the trade's words: pole height at least 40 ft and not solar-powered, no service."""
        return _words(self.tree)


def parse_condition(text: str) -> Condition:
    """Read a condition, as Condition.parse does."""
    return Condition.parse(text)


class _Reader:
    """Recursive descent over the tokens of one condition."""

    def __init__(self, text: str) -> None:
        if len(text) > LONGEST:
            raise ConditionError(LONGEST, f"a condition has at most {LONGEST} characters")
        self.tokens = list(_tokens(text))
        self.at = 0
        self.depth = 0

    def whole(self) -> _Node:
        node = self.either()
        if self.here.sort != "end":
            self.fault(f"expected and, or, or the end; found {self.here.text}")
        return node

    @property
    def here(self) -> _Token:
        return self.tokens[self.at]

    def take(self, text: str) -> bool:
        found = self.here.text == text and self.here.sort in ("word", "bracket")
        self.at += found
        return found

    def fault(self, message: str, token: _Token | None = None) -> NoReturn:
        raise ConditionError((token or self.here).column, message)

    def either(self) -> _Node:
        parts = [self.both()]
        while self.take("or"):
            parts.append(self.both())
        return parts[0] if len(parts) == 1 else _Both("or", tuple(parts))

    def both(self) -> _Node:
        parts = [self.one()]
        while self.take("and"):
            parts.append(self.one())
        return parts[0] if len(parts) == 1 else _Both("and", tuple(parts))

    def one(self) -> _Node:
        self.depth += 1
        if self.depth > DEEPEST:
            self.fault(f"nested more than {DEEPEST} deep")
        try:
            if self.take("not"):
                return _Not(self.one())
            if self.take("("):
                node = self.either()
                if not self.take(")"):
                    self.fault("expected a closing parenthesis")
                return node
            return self.statement()
        finally:
            self.depth -= 1

    def statement(self) -> _Node:
        name = self.here
        if name.sort != "word" or name.text in _JOINERS:
            self.fault(f"expected a fact, not or a parenthesis; found {name.text or 'the end'}")
        if name.text not in FACTS:
            near = difflib.get_close_matches(name.text, FACTS, 1)
            self.fault(f"no fact is named {name.text}; " + (f"is it {near[0]}?" if near else f"see {', '.join(FACTS)}"))
        self.at += 1
        kind = FACTS[name.text].kind
        if self.here.sort != "sign":
            if kind != "check":
                self.fault(f"{name.text} is no yes or no: compare it, as in {name.text} == ...", name)
            return _Name(name.text)
        sign = self.here
        self.at += 1
        if kind == "check":
            self.fault(f'{name.text} is yes or no: write "{name.text}" or "not {name.text}"', sign)
        if kind in WORDLESS and sign.text not in ("==", "!="):
            self.fault(f"{name.text} is a choice: it can be == or !=, not {sign.text}", sign)
        return _Compare(sign.text, name.text, self.right_side(name.text))

    def right_side(self, left: str) -> _Name | _Literal:
        token = self.here
        kind = FACTS[left].kind
        if token.sort == "word" and token.text in FACTS:
            if FACTS[token.text].kind != kind:
                self.fault(f"{left} is {kind}, {token.text} is {FACTS[token.text].kind}: they cannot be compared")
            self.at += 1
            return _Name(token.text)
        if kind in WORDLESS:
            if token.sort not in ("word", "text", "number") or token.text in _JOINERS:
                self.fault(f"expected a choice after {left}; found {token.text or 'the end'}")
            chosen = token.text.strip("'\"")
            if left == "family" and chosen not in FAMILIES:
                self.fault(f"no family is named {chosen}; there are {', '.join(FAMILIES)}")
            self.at += 1
            return _Literal(chosen, token.text)
        if token.sort != "number":
            self.fault(f"{left} is {kind}: expected a number; found {token.text or 'the end'}")
        return self.number(left)

    def number(self, left: str) -> _Literal:
        """A number with or without unit, turned into the unit of the fact on the left."""
        fact, token, typed = FACTS[left], self.here, self.here.text
        self.at += 1
        if self.here.sort == "word" and self.here.text not in _JOINERS:
            typed += f" {self.here.text}"
            self.at += 1
        try:
            quantity = parse(typed, fact.kind, fact.unit)
            return _Literal(convert(quantity.value, quantity.unit, fact.unit), typed)
        except NotAReading as error:
            self.fault(error.message, token)


def _tokens(text: str) -> Iterator[_Token]:
    at = 0
    while at < len(text):
        match = _TOKEN.match(text, at)
        if not match:
            raise ConditionError(at + 1, f"{text[at]!r} has no meaning here")
        if match.lastgroup and match.lastgroup != "space":
            yield _Token(match.lastgroup, match[0], at + 1)
        at = match.end()
    yield _Token("end", "", len(text) + 1)


def _value(side: _Name | _Literal, plan: Plan) -> FactValue | None:
    return plan.get(side.fact) if isinstance(side, _Name) else side.value


def _holds(node: _Node, plan: Plan) -> bool | None:
    """Three-valued: false and unknown is false, true or unknown is true."""
    match node:
        case _Name(fact):
            found = plan.get(fact)
            return None if found is None else bool(found)
        case _Not(part):
            inner = _holds(part, plan)
            return None if inner is None else not inner
        case _Both(joiner, parts):
            found_all = [_holds(part, plan) for part in parts]
            decides = joiner == "or"
            return decides if decides in found_all else None if None in found_all else not decides
        case _Compare(sign, left, right):
            one, two = plan.get(left), _value(right, plan)
            if one is None or two is None:
                return None
            if FACTS[left].kind in WORDLESS:
                return COMPARE[sign][0](str(one), str(two))
            if isinstance(right, _Name):
                two = convert(Fraction(two), FACTS[right.fact].unit, FACTS[left].unit)
            return COMPARE[sign][0](Fraction(one), two)


def _names(node: _Node) -> Iterator[str]:
    match node:
        case _Name(fact):
            yield fact
        case _Not(part):
            yield from _names(part)
        case _Both(_, parts):
            for part in parts:
                yield from _names(part)
        case _Compare(_, left, right):
            yield left
            if isinstance(right, _Name):
                yield right.fact


def _words(node: _Node) -> str:
    match node:
        case _Name(fact):
            return FACTS[fact].title
        case _Not(part):
            inner = _words(part)
            return f"not ({inner})" if isinstance(part, _Both) else f"not {inner}"
        case _Both(joiner, parts):
            return f" {joiner} ".join(f"({_words(p)})" if isinstance(p, _Both) else _words(p) for p in parts)
        case _Compare(sign, left, right):
            other = FACTS[right.fact].title if isinstance(right, _Name) else right.shown.strip("'\"").replace("_", " ")
            return f"{FACTS[left].title} {COMPARE[sign][1]}{other}"
