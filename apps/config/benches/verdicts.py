"""Verdicts of many foundations: the batch against one by one, with equal answers."""

import random
from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import cycle, islice
from pathlib import Path
from typing import Any

from apps.calc.batch import Given, judge_many
from apps.calc.readings import Reading
from apps.calc.requirement import Requirement
from apps.calc.units import WORDLESS
from apps.calc.verdict import judge
from apps.config.benches.timing import Case

EDITION = Path(__file__).resolve().parents[3] / "fixtures" / "requirements" / "default"
REQUIREMENTS = 40
SAMPLE = 40
"""So many foundations are judged one by one; their time is scaled to all."""
PLAN: dict[str, Any] = {
    "family": "transformer_base", "depth": Fraction(96), "shaft_diameter": Fraction(30), "bolt_circle": Fraction(14),
    "bolt_side": Fraction(99, 10), "spiral_pitch": Fraction(6), "cage_diameter": Fraction(24), "offset": Fraction(38),
    "cage_length": Fraction(90), "station": Fraction(10_400), "setback": Fraction(14), "bolt_count": Fraction(4),
}  # fmt: skip


def cases(sizes: Sequence[int] = ()) -> Iterator[Case]:
    """Yield one case a number of foundations: 40 requirements of the default edition at each."""
    specs = _requirements()
    for size in sizes or (1_000, 10_000):
        rows = {spec.key: _readings(spec, size) for spec in specs}
        yield _case(specs, rows, size)


def _requirements() -> list[Requirement]:
    """Take 40 requirements of the default edition: those with numbers, and a few with words."""
    from apps.requirements.load import read

    every = [each for each in read(EDITION).requirements if not each.calculation and not each.limits(PLAN).missing]
    numbers = [each for each in every if each.kind not in WORDLESS and each.compare != "noted"]
    words = [each for each in every if each.kind == "check"]
    return (numbers[: REQUIREMENTS - 6] + words[:6])[:REQUIREMENTS]


def _readings(spec: Requirement, size: int) -> list[Given]:
    """Draw readings about the limit, as a tape gives them: to 1/64."""
    rng = random.Random(spec.key)  # noqa: S311  a drawing of lots, not a secret
    limits = spec.limits(PLAN)
    middle = next((each for each in (limits.high, limits.low) if each is not None), Fraction(1))

    def reading(place: str) -> Reading:
        if spec.kind == "check":
            return Reading(place, "yes", "", rng.random() > 0.02)
        value = middle + Fraction(rng.randint(-40, 8), 64)
        return Reading(place, str(value), spec.unit, value)

    drawn = [Given(tuple(reading(place) for place in spec.places or ("",))) for _ in range(min(size, 2_000))]
    return list(islice(cycle(drawn), size))


def _case(specs: list[Requirement], rows: dict[str, list[Given]], size: int) -> Case:
    few = min(SAMPLE, size)

    def batch() -> list[list[str]]:
        return [[each.outcome for each in judge_many(spec, rows[spec.key], plan=PLAN)] for spec in specs]

    def singly() -> list[list[str]]:
        return [[judge(spec, each.readings, plan=PLAN).outcome for each in rows[spec.key][:few]] for spec in specs]

    def same(many: list[list[str]], single: list[list[str]]) -> bool:
        return [each[:few] for each in many] == single

    name = f"{len(specs)} requirements"
    return Case(name, size, batch, singly, f"one by one ({few} foundations, scaled)", size / few, same)
