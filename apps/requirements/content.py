"""What an edition says, whether it came from files or from a draft in the database: checked the same way, digested the same way."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from hashlib import sha256
from typing import Any, NamedTuple

from apps.calc.computed import calculation_faults
from apps.calc.requirement import Requirement, RequirementError
from apps.calc.stages import STAGE_KEYS
from apps.calc.verdict import RULES
from apps.record.canonical import canonical

KINDS_OF_SOURCE = ("standard", "contract", "common practice")
GATES: dict[str, str] = {
    "concrete_age_d": "age of concrete before a base, days",
    "concrete_strength_percent": "or strength of concrete, % of the specified",
    "concrete_maturity": "strength by maturity counts (ASTM C1074)",
    "open_hole_h": "a hole stands open since it was looked at, hours",
    "locate_ticket": "locate ticket before drilling",
    "certificates": "certificates before pour, base and pole",
    "wrench_calibration": "torque wrench in calibration before a base",
}
"""The gates of an edition, each a whole number: a measure, or 1 where it is asked for. 0, or no number: it is not."""


class Fault(NamedTuple):
    """Something wrong with an edition: where (stage, key of the block, field; each may be empty) and what."""

    stage: str
    key: str
    field: str
    what: str

    @property
    def words(self) -> str:
        """The fault in one sentence, for a page."""
        return (
            f"{self.key or self.stage}: {self.field}: {self.what}"
            if self.field
            else f"{self.key or self.stage}: {self.what}"
        )


@dataclass(frozen=True)
class Content:
    """An edition's content. `requirements` holds those that could be read, in the order of work."""

    number: int
    title: str
    rule: str
    gates: Mapping[str, Any]
    cautions: list[dict[str, str]]
    sources: Mapping[str, Any]
    stages: Mapping[str, Any]
    requirements: list[Requirement]

    @property
    def digest(self) -> str:
        """SHA-256 over the canonical content: what a corridor's record names when it puts the edition in force."""
        blocks = [requirement.as_block() for requirement in self.requirements]
        content = [self.number, self.title, self.rule, self.gates, self.cautions, self.sources, self.stages, blocks]
        return sha256(canonical(content).encode()).hexdigest()


def read_blocks(stage: str, blocks: Iterable[Mapping[str, Any]]) -> tuple[list[Requirement], list[Fault]]:
    """Read the requirement blocks of a stage; return those that are sound and every fault of the others."""
    found: list[Requirement] = []
    faults: list[Fault] = []
    for block in blocks:
        key = str(block.get("key", ""))
        try:
            found.append(Requirement.parse(block))
        except RequirementError as error:
            faults += [Fault(stage, key, *_parted(fault)) for fault in error.faults]
    return found, faults


def _parted(fault: str) -> tuple[str, str]:
    """Part "limit: is missing" into field and what."""
    field, _, what = fault.partition(": ")
    return (field, what) if what else ("", fault)


def faults_of(content: Content) -> list[Fault]:
    """Return everything that keeps an edition from being published, beyond what keeps a block from being read."""
    faults = list(_general(content))
    for requirement in content.requirements:
        faults += _names(requirement, content)
    keys = [requirement.key for requirement in content.requirements]
    faults += [Fault("", key, "key", "stands twice") for key in sorted({key for key in keys if keys.count(key) > 1})]
    faults += _inputs(content)
    for fault in calculation_faults(content.requirements):
        key, _, what = fault.partition(": ")
        faults.append(Fault(key.partition(".")[0], key, "calculation", what))
    return faults


def _general(content: Content) -> Iterable[Fault]:
    if isinstance(content.number, bool) or not isinstance(content.number, int) or content.number < 1:
        yield Fault("edition", "", "number", f"expected a whole number from 1, got {content.number!r}")
    if content.rule not in RULES:
        yield Fault("edition", "", "rule", f"expected {' or '.join(RULES)}, got {content.rule!r}")
    for name, value in content.gates.items():
        if name not in GATES:
            yield Fault("edition", "", name, f"no gate of this name; there are {', '.join(GATES)}")
        elif isinstance(value, bool) or not isinstance(value, int) or value < 0:
            yield Fault("edition", "", name, f"expected a whole number, got {value!r}")
    for key, source in content.sources.items():
        kind = source.get("kind") if isinstance(source, Mapping) else None
        if kind not in KINDS_OF_SOURCE:
            yield Fault("sources", key, "kind", f"expected one of {', '.join(KINDS_OF_SOURCE)}, got {kind!r}")
    for stage in STAGE_KEYS:
        if not any(requirement.stage == stage for requirement in content.requirements):
            yield Fault(stage, "", "", "has no requirement")


def _names(requirement: Requirement, content: Content) -> Iterable[Fault]:
    """The names that a block uses must stand in the edition."""
    stage = content.stages.get(requirement.stage, {})
    views = {view.get("key") for view in stage.get("views", [])}
    cautions = {caution.get("key") for caution in stage.get("cautions", [])}
    if requirement.source not in content.sources:
        yield Fault(requirement.stage, requirement.key, "source", f"no source is named {requirement.source!r}")
    if requirement.caution and requirement.caution not in cautions:
        yield Fault(requirement.stage, requirement.key, "caution", f"the stage has no caution {requirement.caution!r}")
    if requirement.unless and requirement.unless not in {each.key for each in content.requirements}:
        yield Fault(requirement.stage, requirement.key, "unless", f"no requirement is named {requirement.unless}")
    for view in requirement.evidence:
        if view not in views:
            yield Fault(requirement.stage, requirement.key, "evidence", f"the stage has no photo view {view!r}")


def _inputs(content: Content) -> Iterable[Fault]:
    """A calculation takes readings of requirements that stand in the edition, of its own stage or one before."""
    places = {requirement.key: STAGE_KEYS.index(requirement.stage) for requirement in content.requirements}
    for requirement in content.requirements:
        for name, wanted in requirement.inputs.items():
            if wanted.startswith("plan."):
                continue
            if wanted not in places:
                yield Fault(requirement.stage, requirement.key, "inputs", f"{name}: no requirement is named {wanted}")
            elif places[wanted] > STAGE_KEYS.index(requirement.stage):
                yield Fault(requirement.stage, requirement.key, "inputs", f"{name}: {wanted} is read at a later stage")
