"""Reading an edition's files: everything is checked, every fault named with its file and line, before anything is kept."""

import re
import tomllib
from pathlib import Path
from typing import Any

from apps.calc.requirement import Requirement
from apps.calc.stages import STAGE_KEYS
from apps.requirements.content import Content, Fault, faults_of, read_blocks

_HEAD = re.compile(r"\s*\[\[?\s*([^\]]+?)\s*\]\]?")
_FIELD = re.compile(r"""\s*["']?([A-Za-z0-9_-]+)["']?\s*=""")


class BadEdition(ValueError):
    """An edition's files with faults. `faults` are lines like "drill.toml, line 41, drill.depth: limit: is missing"."""

    def __init__(self, faults: list[str]) -> None:
        super().__init__("\n".join(faults))
        self.faults = faults


class _File:
    """One file of an edition: its content, and the line on which each field of each block stands."""

    def __init__(self, path: Path) -> None:
        self.name, self.fault, self.content = path.name, "", dict[str, Any]()
        self._lines: dict[tuple[str, str], int] = {}
        try:
            text = path.read_text(encoding="utf-8")
            self.content = tomllib.loads(text)
            self._find_lines(text)
        except FileNotFoundError:
            self.fault = f"{path.name}: the file is missing"
        except (tomllib.TOMLDecodeError, UnicodeDecodeError) as fault:
            self.fault = f"{path.name}: {fault}"

    def _find_lines(self, text: str) -> None:
        """Note the line of every block by its key (its table's name where it has none) and of every field of it."""
        block: dict[str, int] = {}
        key, start = "", 1
        for number, line in enumerate([*text.splitlines(), "[end]"], start=1):
            head = _HEAD.fullmatch(line.partition("#")[0].rstrip())
            if head:
                self._keep(key, start, block)
                key, start, block = head[1], number, {}
            elif field := _FIELD.match(line):
                block[field[1]] = number
                if field[1] == "key":
                    key = line.partition("=")[2].partition("#")[0].strip().strip("\"'")

    def _keep(self, key: str, start: int, block: dict[str, int]) -> None:
        self._lines.setdefault((key, ""), start)
        for field, number in block.items():
            self._lines.setdefault((key, field), number)

    def line(self, key: str, field: str) -> int:
        """Return the line of a field of a block; of the block when it lacks the field; 1 when there is no such block."""
        within_block = [(key, field), (key, "key"), (key, "")] if key else [("", field)]
        found = next((self._lines[named] for named in within_block if named in self._lines), None)
        return found or next((line for (_, each), line in self._lines.items() if each == field), 1)

    def words(self, fault: Fault) -> str:
        """Write a fault with this file and its line."""
        what = f"{fault.field}: {fault.what}" if fault.field else fault.what
        return (
            ", ".join(filter(None, (self.name, f"line {self.line(fault.key, fault.field)}", fault.key))) + f": {what}"
        )


def read(folder: Path) -> Content:
    """Return an edition from its folder. BadEdition names every fault with file and line; nothing is half read."""
    files = {name: _File(folder / f"{name}.toml") for name in ("edition", "sources", *STAGE_KEYS)}
    if unread := [file.fault for file in files.values() if file.fault]:
        raise BadEdition(unread)
    stages: dict[str, Any] = {}
    requirements: list[Requirement] = []
    faults: list[Fault] = []
    for stage in STAGE_KEYS:
        said = files[stage].content
        found, wrong = read_blocks(stage, said.get("requirement", []))
        faults += wrong
        faults += [Fault(stage, each.key, "key", f"must begin with {stage}") for each in found if each.stage != stage]
        requirements += found
        stages[stage] = {
            "preconditions": said.get("preconditions", []),
            "views": said.get("view", []),
            "cautions": said.get("caution", []),
        }
    edition = files["edition"].content
    content = Content(
        number=edition.get("number", 0),
        title=str(edition.get("title", "")),
        rule=str(edition.get("rule", "simple")),
        gates=edition.get("gates", {}),
        cautions=edition.get("cautions_all", []),
        sources=files["sources"].content,
        stages=stages,
        requirements=requirements,
    )
    faults += faults_of(content)
    if faults:
        raise BadEdition(
            [files.get(fault.stage or fault.key.partition(".")[0], files["edition"]).words(fault) for fault in faults]
        )
    return content
