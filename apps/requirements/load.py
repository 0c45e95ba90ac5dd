"""Reading an edition's files: everything is checked, every fault named with its file and line, before anything is kept."""

import re
import tomllib
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any

from apps.calc.requirement import Requirement, RequirementError
from apps.calc.stages import STAGE_KEYS
from apps.record.canonical import canonical


class BadEdition(ValueError):
    """An edition's files with faults. `faults` are lines like "drill.toml, line 41, drill.depth: …"."""

    def __init__(self, faults: list[str]) -> None:
        super().__init__("\n".join(faults))
        self.faults = faults


@dataclass(frozen=True)
class EditionFiles:
    """What an edition's folder says, checked."""

    number: int
    title: str
    rule: str
    gates: dict[str, Any]
    cautions: list[dict[str, str]]
    sources: dict[str, Any]
    stages: dict[str, Any]
    requirements: list[Requirement]

    @property
    def digest(self) -> str:
        """SHA-256 over the canonical content: what a corridor's record names when it puts the edition in force."""
        blocks = [requirement.as_block() for requirement in self.requirements]
        content = [self.number, self.title, self.rule, self.gates, self.cautions, self.sources, self.stages, blocks]
        return sha256(canonical(content).encode()).hexdigest()


def _toml(path: Path, faults: list[str]) -> dict[str, Any]:
    """Return a file's content, or note why it cannot be read."""
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        faults.append(f"{path.name}: the file is missing.")
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as fault:
        faults.append(f"{path.name}: {fault}")
    return {}


def _line_of(path: Path, key: str) -> int:
    """Return the line on which a requirement's key stands, 1 if it cannot be found."""
    pattern = re.compile(rf"\s*key\s*=\s*[\"']{re.escape(key)}[\"']")
    lines = path.read_text(encoding="utf-8").splitlines()
    return next((number for number, line in enumerate(lines, start=1) if pattern.match(line)), 1)


def _stage(
    path: Path, stage: str, sources: dict[str, Any], faults: list[str]
) -> tuple[dict[str, Any], list[Requirement]]:
    """Read and check one stage's file."""
    content, found = _toml(path, faults), []
    views = {view["key"]: view for view in content.get("view", [])}
    cautions = {caution["key"]: caution for caution in content.get("caution", [])}
    for block in content.get("requirement", []):
        key = str(block.get("key", "without a key"))
        where = f"{path.name}, line {_line_of(path, key)}, {key}"
        try:
            requirement = Requirement.parse(block)
        except RequirementError as error:
            faults += [f"{where}: {fault}" for fault in getattr(error, "faults", [str(error)])]
            continue
        if requirement.stage != stage:
            faults.append(f"{where}: the key must begin with {stage}.")
        if requirement.source not in sources:
            faults.append(f"{where}: source {requirement.source!r} does not stand in sources.toml.")
        if requirement.caution and requirement.caution not in cautions:
            faults.append(f"{where}: caution {requirement.caution!r} has no block in this file.")
        faults += [
            f"{where}: view {view!r} has no block in this file." for view in requirement.evidence if view not in views
        ]
        found.append(requirement)
    stage_content = {
        "preconditions": content.get("preconditions", []),
        "views": list(views.values()),
        "cautions": list(cautions.values()),
    }
    return stage_content, found


def read(folder: Path) -> EditionFiles:
    """Return an edition from its folder. BadEdition names every fault; nothing is half read."""
    faults: list[str] = []
    edition, sources = _toml(folder / "edition.toml", faults), _toml(folder / "sources.toml", faults)
    stages: dict[str, Any] = {}
    requirements: list[Requirement] = []
    for stage in STAGE_KEYS:
        stages[stage], found = _stage(folder / f"{stage}.toml", stage, sources, faults)
        requirements += found
    keys = [requirement.key for requirement in requirements]
    faults += [f"{key} stands twice." for key in sorted({key for key in keys if keys.count(key) > 1})]
    if not isinstance(edition.get("number"), int):
        faults.append("edition.toml: number must be a whole number.")
    if edition.get("rule", "simple") not in {"simple", "guarded"}:
        faults.append("edition.toml: rule must be simple or guarded.")
    if faults:
        raise BadEdition(faults)
    return EditionFiles(
        number=edition["number"],
        title=str(edition.get("title", "")),
        rule=str(edition.get("rule", "simple")),
        gates=edition.get("gates", {}),
        cautions=edition.get("cautions_all", []),
        sources=sources,
        stages=stages,
        requirements=requirements,
    )
