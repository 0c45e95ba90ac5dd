"""Two editions side by side: what was added, taken out, changed, field by field."""

from typing import Any, NamedTuple

from apps.calc.requirement import Requirement
from apps.requirements.content import Content

ADDED, REMOVED, CHANGED = "added", "taken out", "changed"


class Difference(NamedTuple):
    """One requirement that is not the same in both; `fields` are (name, before, after) as the files write them."""

    key: str
    stage: str
    title: str
    kind: str
    fields: tuple[tuple[str, str, str], ...] = ()

    @property
    def judges(self) -> bool:
        """Whether verdicts can differ by it: words and sources change none."""
        return self.kind != CHANGED or any(name not in WORDS for name, _, _ in self.fields)


WORDS = frozenset(
    ["title", "advice", "caution", "source", "clause", "note", "evidence", "hidden_after", "notation", "on_file"]
)
"""Fields that change no verdict."""


def differences(old: Content, new: Content) -> list[Difference]:
    """Return what differs between two editions, in the order of work of the new one, what was taken out last."""
    before = {each.key: each for each in old.requirements}
    after = {each.key: each for each in new.requirements}
    found = []
    for key, each in after.items():
        if key not in before:
            found.append(Difference(key, each.stage, each.title, ADDED))
        elif fields := _fields(before[key], each):
            found.append(Difference(key, each.stage, each.title, CHANGED, fields))
    return found + [
        Difference(key, each.stage, each.title, REMOVED) for key, each in before.items() if key not in after
    ]


def general(old: Content, new: Content) -> list[tuple[str, str, str]]:
    """Return what differs beside the requirements: rule, gates, cautions, views, sources, as (name, before, after)."""
    pairs: list[tuple[str, Any, Any]] = [("title", old.title, new.title), ("rule", old.rule, new.rule)]
    pairs += [(f"gate {name}", old.gates.get(name), new.gates.get(name)) for name in sorted({*old.gates, *new.gates})]
    pairs += [("cautions", old.cautions, new.cautions), ("sources", old.sources, new.sources)]
    pairs += [(f"{stage} views and cautions", old.stages.get(stage), new.stages.get(stage)) for stage in new.stages]
    return [(name, _text(one), _text(other)) for name, one, other in pairs if one != other]


def _fields(old: Requirement, new: Requirement) -> tuple[tuple[str, str, str], ...]:
    before, after = old.as_block(), new.as_block()
    names = [*before, *(name for name in after if name not in before)]
    pairs = ((name, before.get(name), after.get(name)) for name in names)
    return tuple((name, _text(one), _text(other)) for name, one, other in pairs if one != other)


def _text(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, list):
        return ", ".join(_text(each) for each in value)
    if isinstance(value, dict):
        return ", ".join(f"{name} {_text(each)}" for name, each in value.items())
    return str(value)
