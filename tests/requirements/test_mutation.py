"""Every limit of the default edition moved by one unit of its resolution, up and down: a check must notice each time."""

import re
from collections.abc import Iterator
from copy import deepcopy
from fractions import Fraction
from typing import Any

import pytest

from tests.test_default_edition import BLOCKS, VALUES

Block = dict[str, Any]
LIMITS = ("limit", "low", "high", "nominal", "plus", "minus", "refer")
NUMBER = re.compile(r"(?P<sign>-?)(?P<whole>[0-9]+)(?:\.(?P<rest>[0-9]+)|(?P<over>[/:])(?P<under>[0-9]+))?$")
REASONS: dict[tuple[str, str], str] = {}
"""(key, field) of a limit that may move unnoticed, and why. None may."""


def moved(text: str) -> Iterator[str]:
    """Yield a number as written, one unit of its last place higher and lower: 1/8 → 2/8 and 0/8, 1.3 → 1.4 and 1.2."""
    found = NUMBER.search(text)
    if not found:
        return
    before = text[: found.start()]
    whole, rest, over, under = found["whole"], found["rest"], found["over"], found["under"]
    for step in (1, -1):
        if over == ":":
            yield (
                f"{before}{found['sign']}{whole}:{int(under) + step}"
                if before or whole == "1"
                else f"{int(whole) + step}:{under}"
            )
        elif over:
            yield f"{before}{found['sign']}{int(whole) + step}/{under}"
        elif rest:
            value = Fraction(f"{whole}.{rest}") + Fraction(step, 10 ** len(rest))
            yield f"{before}{found['sign']}{float(value):.{len(rest)}f}"
        else:
            yield f"{before}{found['sign']}{int(whole) + step}"


def mutants() -> list[Any]:
    """Every block with one number of one limit moved."""
    made = []
    for block in BLOCKS:
        fields: list[tuple[str, str | int, str]] = [(name, name, block[name]) for name in LIMITS if name in block]
        fields += [(f"values.{at}", at, text) for at, text in enumerate(block.get("values", ()))]
        for name, place, text in fields:
            for new in moved(str(text)):
                mutant = deepcopy(block)
                if isinstance(place, int):
                    mutant["values"][place] = new
                else:
                    mutant[place] = new
                made.append(pytest.param(mutant, name, id=f"{block['key']}-{name}-{new}"))
    return made


MUTANTS = mutants()


def noticed(block: Block) -> list[str]:
    """Return the checked values that a block does not have: what test_limit_is_what_its_source_says would say of it."""
    return [
        f"{key}.{field}"
        for key, field, expected, _, _ in VALUES
        if key == block["key"] and block.get(field) != expected
    ]


@pytest.mark.parametrize("block", BLOCKS, ids=lambda block: block["key"])
def test_a_block_as_it_stands_is_not_complained_of(block: Block) -> None:
    assert noticed(block) == []


@pytest.mark.parametrize(("mutant", "field"), MUTANTS)
def test_a_moved_limit_is_noticed(mutant: Block, field: str) -> None:
    name = field.partition(".")[0]
    if (mutant["key"], name) in REASONS:
        pytest.skip(REASONS[(mutant["key"], name)])
    assert f"{mutant['key']}.{name}" in noticed(mutant)


def test_there_is_a_mutant_for_every_number_of_a_limit() -> None:
    numbers = sum(
        bool(NUMBER.search(str(text)))
        for block in BLOCKS
        for text in (*(block[name] for name in LIMITS if name in block), *block.get("values", ()))
    )
    assert len(MUTANTS) == 2 * numbers > 200
