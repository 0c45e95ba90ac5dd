"""The six stages and the two families: the words that every other module, file and page keys on."""

from typing import NamedTuple


class Stage(NamedTuple):
    """One stage of a foundation, in work order."""

    key: str
    title: str
    """As a page writes it: "Base set"."""
    to_do: str
    """The work as an order to a crew: "set base"."""


STAGES: tuple[Stage, ...] = (
    Stage("layout", "Layout", "set out"),
    Stage("drill", "Drill", "drill"),
    Stage("cage", "Cage", "set cage"),
    Stage("pour", "Pour", "pour"),
    Stage("base_set", "Base set", "set base"),
    Stage("pole_set", "Pole set", "set pole"),
)
STAGE_KEYS: tuple[str, ...] = tuple(stage.key for stage in STAGES)
STAGE_BY_KEY: dict[str, Stage] = {stage.key: stage for stage in STAGES}

FAMILIES: dict[str, str] = {"transformer_base": "Light pole", "pedestal_base": "Pedestal"}

# Shares of the work, in percent, for the weighted percent complete. Common practice, no source.
DEFAULT_WEIGHTS: dict[str, int] = {"layout": 5, "drill": 20, "cage": 15, "pour": 30, "base_set": 15, "pole_set": 15}


def position(stage: str) -> int:
    """Return the place of a stage in the work order, 0 for layout. KeyError on an unknown stage."""
    return STAGE_KEYS.index(STAGE_BY_KEY[stage].key)


def before(stage: str) -> str | None:
    """Return the stage that must be released first, None for layout."""
    at = position(stage)
    return STAGE_KEYS[at - 1] if at else None


def after(stage: str) -> tuple[str, ...]:
    """Return the stages that stand on this one, nearest first."""
    return STAGE_KEYS[position(stage) + 1 :]
