"""The questions that an auditor asks of every drawn hold point: data of fixtures/audits/checklist.toml."""

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from functools import cache
from pathlib import Path
from typing import Any

from django.conf import settings

from apps.audits.recomputed import CHECKS
from apps.calc.stages import STAGE_KEYS

FILE = Path(settings.BASE_DIR) / "fixtures" / "audits" / "checklist.toml"


class NotAChecklist(ValueError):
    """The file says something that cannot be asked; the sentence names the question."""


@dataclass(frozen=True, slots=True)
class Question:
    """One question. `recompute` is a name of recomputed.CHECKS, empty where only eyes can tell."""

    key: str
    ask: str
    look: str
    basis: str
    stages: tuple[str, ...] = ()
    recompute: str = ""

    def asked_at(self, stage: str) -> bool:
        """Say whether it is asked of a hold point of this stage."""
        return not self.stages or stage in self.stages

    def as_json(self) -> dict[str, Any]:
        """Return it as an audit keeps it."""
        return {**asdict(self), "stages": list(self.stages)}


def parse(blocks: Iterable[Mapping[str, Any]]) -> tuple[Question, ...]:
    """Return the questions of a file or of an audit. NotAChecklist with the question and its fault."""
    found = []
    for block in blocks:
        try:
            found.append(Question(**{**block, "stages": tuple(block.get("stages", ()))}))
        except TypeError as fault:
            raise NotAChecklist(f"{block.get('key', 'a question without key')}: {fault}") from fault
    for each in found:
        if strange := set(each.stages) - set(STAGE_KEYS):
            raise NotAChecklist(f"{each.key}: there is no stage {', '.join(sorted(strange))}.")
        if each.recompute and each.recompute not in CHECKS:
            raise NotAChecklist(f"{each.key}: nothing is recomputed under {each.recompute}.")
    if len({each.key for each in found}) != len(found):
        raise NotAChecklist("A key stands twice.")
    return tuple(found)


@cache
def questions() -> tuple[Question, ...]:
    """Return the questions that a new audit asks."""
    return parse(tomllib.loads(FILE.read_text(encoding="utf-8"))["question"])
