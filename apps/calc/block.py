"""Reading one block of an edition's file into a Requirement: every fault at once, each in words an owner can act on."""

import difflib
import json
import re
from collections.abc import Callable, Iterable, Mapping
from decimal import Decimal
from fractions import Fraction
from functools import partial
from typing import Any

from apps.calc.condition import Condition, ConditionError
from apps.calc.facts import FACTS, ON_FILE
from apps.calc.limits import Bound, read_allowed, read_bound
from apps.calc.requirement import COMPARISONS, GRADES, TAKES, Requirement, RequirementError
from apps.calc.stages import FAMILIES, STAGE_KEYS
from apps.calc.units import KINDS, NOTATIONS, WORDLESS

NEEDS = {
    "max": ("limit",),
    "min": ("limit",),
    "range": ("low", "high"),
    "nominal": ("nominal", "plus", "minus"),
    "one_of": ("values",),
    "yes": (),
    "noted": (),
}
"""The fields that say the limit, by comparison."""
BOUNDS = ("limit", "low", "high", "nominal", "plus", "minus", "refer")
DIFFERENCES = ("plus", "minus")
TEXTS = (
    "key",
    "title",
    "kind",
    "unit",
    "notation",
    "take",
    "compare",
    "unless",
    "on_file",
    "calculation",
    "output",
    "grade",
    "hidden_after",
)
LONG_TEXTS = ("when", "advice", "caution", "source", "clause", "note")
LISTS = ("family", "places", "evidence", "values", "plausible")
FIELDS = (*TEXTS, *LONG_TEXTS, *LISTS, *BOUNDS, "inputs")
NEEDED = ("key", "title", "kind", "compare", "source")
_KEY = re.compile(r"([a-z_]+)\.[a-z0-9_]+")


def read_block(block: Mapping[str, Any]) -> Requirement:
    """Return the requirement of a block. RequirementError lists every fault."""
    reading = _Block({name: _plain(value) for name, value in block.items()})
    reading.shape()
    reading.meaning()
    if reading.faults:
        raise RequirementError(str(block.get("key") or "a requirement without key"), reading.faults)
    stored = json.dumps(reading.block, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return Requirement(**reading.found, block=stored)


def _plain(value: Any) -> Any:
    """Turn what a TOML or JSON reader may hand over into plain JSON values; an exact decimal becomes text."""
    if isinstance(value, Decimal):
        return str(value)
    if isinstance(value, Mapping):
        return {str(name): _plain(each) for name, each in value.items()}
    return [_plain(each) for each in value] if isinstance(value, list | tuple) else value


def _misshapen(name: str, value: Any) -> str:
    """Say what is wrong with the plain type of a field; empty: nothing."""
    if name not in FIELDS:
        near = difflib.get_close_matches(name, FIELDS, 1)
        return "no such field" + (f"; is it {near[0]}?" if near else "")
    if name in TEXTS + LONG_TEXTS and not isinstance(value, str):
        return f"expected text in quotes, got {value!r}"
    if name in LISTS and not isinstance(value, list):
        return f"expected a list in brackets, got {value!r}"
    if name in BOUNDS and (isinstance(value, bool) or not isinstance(value, str | int)):
        return f'expected a number in quotes, such as "1/8", got {value!r}'
    if name == "inputs" and not (isinstance(value, dict) and all(isinstance(each, str) for each in value.values())):
        return 'expected { name = "stage.key" } or { name = "plan.NAME" }'
    return ""


class _Block:
    """One block while it is read: what was found, and what is wrong."""

    def __init__(self, block: dict[str, Any]) -> None:
        self.block = block
        self.found: dict[str, Any] = {}
        self.faults: list[str] = []

    def fault(self, name: str, message: str) -> None:
        self.faults.append(f"{name}: {message}")

    def blamed(self, name: str) -> bool:
        return any(fault.startswith(f"{name}:") for fault in self.faults)

    def shape(self) -> None:
        """Check names and plain types. A field that has not even these is put aside, so that the rest can be judged."""
        for name, value in list(self.block.items()):
            if fault := _misshapen(name, value):
                self.fault(name, fault)
                del self.block[name]
        for name in NEEDED:
            if not self.block.get(name) and not self.blamed(name):
                self.fault(name, "is missing")

    def meaning(self) -> None:
        """Check what the fields say, and fill `found`."""
        for name in (*TEXTS, *LONG_TEXTS):
            if self.block.get(name) and name != "when":
                self.found[name] = self.block[name].strip()
        self.words()
        if self.block.get("kind") in KINDS and self.block.get("compare") in COMPARISONS:
            self.measure()
            self.comparison()
            self.order()
        self.lists()
        self.condition()
        self.either()
        self.known()
        self.computed()

    def one_of(self, name: str, allowed: Iterable[str]) -> None:
        value = self.block.get(name)
        if value and value not in allowed:
            self.fault(name, f"expected one of {', '.join(allowed)}, got {value!r}")

    def words(self) -> None:
        self.one_of("kind", KINDS)
        self.one_of("compare", COMPARISONS)
        self.one_of("take", TAKES)
        self.one_of("grade", GRADES)
        self.one_of("notation", NOTATIONS)
        self.one_of("hidden_after", STAGE_KEYS)
        key = _KEY.fullmatch(self.block.get("key", ""))
        if self.block.get("key") and (not key or key[1] not in STAGE_KEYS):
            self.fault(
                "key", f"expected stage.name, the stage one of {', '.join(STAGE_KEYS)}; got {self.block['key']!r}"
            )
        if not self.block.get("grade") and self.block.get("compare") != "noted":
            self.fault("grade", f"is missing: one of {', '.join(GRADES)}")

    def measure(self) -> None:
        """Check kind, unit and comparison against each other."""
        kind, unit, compare = self.block["kind"], self.block.get("unit", ""), self.block["compare"]
        if unit not in (KINDS[kind] or ("",)):
            allowed = ", ".join(KINDS[kind]) or "none"
            self.fault("unit", f"expected {allowed} for {kind}, got {unit!r}")
        if compare == "yes" and kind != "check":
            self.fault("compare", f"yes is for kind check, not {kind}")
        if kind in WORDLESS and compare in ("max", "min", "range", "nominal"):
            self.fault("compare", f"{compare} needs a kind with numbers, not {kind}")
        if kind in WORDLESS and self.block.get("take", "each") != "each":
            self.fault("take", f"{self.block['take']} needs a kind with numbers, not {kind}")
        if self.block.get("notation") in ("inches", "feet_inches") and unit not in ("in", "ft"):
            self.fault("notation", f"{self.block['notation']} needs the unit in or ft, not {unit!r}")

    def comparison(self) -> None:
        """Read the limits that the comparison needs; others have no meaning there."""
        compare, kind, unit = self.block["compare"], self.block["kind"], self.block.get("unit", "")
        for name in NEEDS[compare]:
            if self.block.get(name) in (None, "", []) and not self.blamed(name):
                self.fault(name, f"is missing: {compare} needs {' and '.join(NEEDS[compare])}")
        allowed = (*NEEDS[compare], *(("refer",) if compare in ("max", "min", "range", "nominal") else ()))
        for name in (*BOUNDS, "values"):
            if name in self.block and name not in allowed:
                self.fault(name, f"has no meaning with compare = {compare!r}")
        if self.blamed("unit"):
            return
        for name in BOUNDS:
            if name in self.block and name in allowed and self.block[name] != "":
                difference = name in DIFFERENCES or (name == "refer" and compare in ("range", "nominal"))
                self.take(name, partial(read_bound, self.block[name], kind, unit, tolerance=difference))
        if "values" in allowed:
            self.take("values", lambda: tuple(read_allowed(each, kind, unit) for each in self.block.get("values", ())))

    def take(self, name: str, read: Callable[[], Any]) -> None:
        try:
            self.found[name] = read()
        except ValueError as error:
            self.fault(name, str(error))

    def order(self) -> None:
        """Check that fixed limits do not contradict each other. Those of the plans are known only at a foundation."""
        fixed = {name: b.value for name, b in self.found.items() if isinstance(b, Bound) and not b.fact}
        for name in DIFFERENCES:
            if fixed.get(name, 0) < 0:
                self.fault(name, "must be zero or more")
        if "low" in fixed and "high" in fixed and fixed["low"] > fixed["high"]:
            self.fault("low", "must not be over high")
        if "refer" not in fixed:
            return
        compare, refer = self.block["compare"], fixed["refer"]
        if compare == "max" and refer > fixed.get("limit", refer):
            self.fault("refer", "must not be over the limit: the engineer judges from refer up to it")
        if compare == "min" and refer < fixed.get("limit", refer):
            self.fault("refer", "must not be under the limit: the engineer judges from refer down to it")
        if compare in ("range", "nominal"):
            width = fixed.get("plus", Fraction(0)) + fixed.get("minus", Fraction(0))
            if compare == "range" and {"low", "high"} <= fixed.keys():
                width = fixed["high"] - fixed["low"]
            if refer < 0 or 2 * refer > width:
                self.fault("refer", "is a distance from each limit, from zero to half of the range")

    def lists(self) -> None:
        for name in ("family", "places", "evidence"):
            values = self.block.get(name, [])
            if not all(isinstance(each, str) and each.strip() for each in values):
                self.fault(name, f"expected a list of texts, got {values!r}")
            elif len(set(values)) != len(values):
                self.fault(name, "names one twice")
            else:
                self.found[name] = tuple(values)
        for each in self.found.get("family", ()):
            if each not in FAMILIES:
                self.fault("family", f"expected {' or '.join(FAMILIES)}, got {each!r}")
        if "plausible" in self.block:
            self.plausible(self.block["plausible"])

    def plausible(self, ends: list[Any]) -> None:
        kind, unit = self.block.get("kind"), self.block.get("unit", "")
        if len(ends) != 2 or kind in WORDLESS:
            self.fault("plausible", 'expected two numbers, such as ["0", "2"], of a kind with numbers')
            return
        try:
            low, high = (read_bound(end, str(kind), unit) for end in ends)
        except ValueError as error:
            self.fault("plausible", str(error))
            return
        if low.fact or high.fact or low.value >= high.value:
            self.fault("plausible", "expected two fixed numbers, the lesser first")
        self.found["plausible"] = (low.value, high.value)

    def condition(self) -> None:
        if self.block.get("when"):
            try:
                self.found["when"] = Condition.parse(self.block["when"])
            except ConditionError as error:
                self.fault("when", str(error))

    def either(self) -> None:
        """The other of two requirements of which one is enough stands at the same stage."""
        unless, key = self.block.get("unless", ""), self.block.get("key", "")
        if unless and (
            not _KEY.fullmatch(unless) or unless.partition(".")[0] != key.partition(".")[0] or unless == key
        ):
            self.fault("unless", f"expected another key of the same stage, got {unless!r}")

    def known(self) -> None:
        """What is on file is of the requirement's kind, and one value."""
        name, kind = self.block.get("on_file", ""), self.block.get("kind")
        self.one_of("on_file", ON_FILE)
        if name in ON_FILE and ON_FILE[name].kind != kind:
            self.fault("on_file", f"{name} is for kind {ON_FILE[name].kind}, not {kind}")
        if name and (self.block.get("places") or self.block.get("calculation")):
            self.fault("on_file", "is for one reading: without places and calculation")

    def computed(self) -> None:
        """A calculation needs inputs and an output; neither means anything without one."""
        inputs = self.found["inputs"] = dict(self.block.get("inputs", {}))
        for name in ("inputs", "output"):
            if bool(self.block.get(name)) != bool(self.block.get("calculation")):
                self.fault(name, "goes together with calculation: both or neither")
        for name, wanted in inputs.items():
            stage, _, rest = wanted.partition(".")
            if stage == "plan" and rest not in FACTS:
                self.fault("inputs", f"{name}: no fact is named {wanted}")
            elif stage != "plan" and (not _KEY.fullmatch(wanted) or stage not in STAGE_KEYS):
                self.fault("inputs", f"{name}: expected stage.key or plan.NAME, got {wanted!r}")
