"""Acceptance of strength tests by the code's two rules."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from apps.calc.errors import CalcError, counted, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.strength.caution import CAUTION
from apps.calc.working import Step
from apps.calc.working import number_text as text


class Units(NamedTuple):
    """The constants of ACI 318 in one system: below `change` a test may lack `deficit`, above it a tenth."""

    change: float
    deficit: float


UNITS_OF_STRENGTH = {"psi": Units(5000, 500), "MPa": Units(35, 3.5)}
"""ACI 318-19 and 318M-19. The SI edition's 3.5 MPa is not 500 psi (3.45 MPa): a case says which it uses."""


def units_of(unit: str) -> Units:
    if unit not in UNITS_OF_STRENGTH:
        raise CalcError("unit", f"expected one of {', '.join(UNITS_OF_STRENGTH)}, got {unit!r}")
    return UNITS_OF_STRENGTH[unit]


def single_test_floor(specified: float, unit: str = "psi") -> float:
    """Return the least that one test may be: f'c − 500 psi (3.5 MPa) to f'c 5000 psi (35 MPa), 0.90 f'c above.

    Errors: CalcError on f'c of zero or less, an unknown unit. Source: ACI 318-19, 26.12.3.1(b).

    >>> single_test_floor(6000)
    5400.0
    """
    return float(_floor(specified, unit))


def _floor(specified: float, unit: str) -> Fraction:
    units, exact = units_of(unit), _typed(positive("specified", specified))
    if specified <= units.change:
        return max(exact - _typed(units.deficit), Fraction(0))
    return exact * 9 / 10


def _typed(value: float) -> Fraction:
    """The number as somebody typed it: 4500.9 means 45009/10, which no float holds, and a limit is judged exactly."""
    return Fraction(str(value))


def test_strength(cylinders: Sequence[float], *, four_by_eight: bool) -> float:
    """Return the strength of one test: the mean of at least two 6×12 in or three 4×8 in cylinders of one sample.

    Errors: CalcError on too few cylinders or a negative strength. Source: ACI 318-19, 26.12.1.1.

    >>> test_strength([4100, 4200], four_by_eight=False)
    4150.0
    """
    for each in counted("cylinders", cylinders, 3 if four_by_eight else 2):
        not_negative("cylinders", each)
    return math.fsum(cylinders) / len(cylinders)


test_strength.__test__ = False  # type: ignore[attr-defined]  # a test of concrete, not of this program


@dataclass(frozen=True, slots=True)
class Acceptance:
    """Strength tests of one class of concrete against the two rules of the code."""

    averages: tuple[float, ...]
    """Of every three tests in a row."""
    averages_conform: bool | None
    """Rule (a); None while there are fewer than three tests."""
    singles_conform: bool
    """Rule (b)."""
    low_averages: tuple[int, ...]
    """Which averages are low, by their last test, 1 for the first test."""
    low_tests: tuple[int, ...]
    floor: float
    sentence: str
    working: tuple[Step, ...]
    caution: str = CAUTION


@calculation(
    "strength.acceptance",
    "Acceptance of strength tests",
    "ACI 318-19, 26.12.3.1",
    inputs=(
        Input("tests", "pressure", "psi", "strength tests in order of sampling", many=True, low=0),
        Input("specified", "pressure", "psi", "specified strength f'c", low=1),
    ),
    outputs=(
        Output("floor", "pressure", "psi", "least that one test may be"),
        Output("averages", "pressure", "psi", "averages of three in a row"),
        Output("averages_conform", "check", "", "averages conform"),
        Output("singles_conform", "check", "", "single tests conform"),
    ),
    caution=CAUTION,
    beyond=(
        "Whether the concrete in one foundation is weak: cores tell that. A low average of three is a reason to raise the "
        "strength of what is still to come, not by itself to reject a shaft."
    ),
    # Invented: the last three tests average under 4,000 psi, none is under its floor.
    example={"tests": "4350, 4210, 4480, 4120, 3870, 3920", "specified": "4000 psi"},
)
def acceptance(*, tests: Sequence[float], specified: float, unit: str = "psi") -> Acceptance:
    """Judge tests in order: (a) every average of three in a row is f'c or more, (b) no test is under its floor.

    Each test is itself a mean of cylinders (`test_strength`). Strengths and f'c in `unit`, psi or MPa.
    Errors: CalcError on no test, a negative test, f'c of zero or less. Source: ACI 318-19, 26.12.3.1.

    >>> result = acceptance(tests=[3950, 4100, 4050, 3800], specified=4000)
    >>> result.averages_conform, result.singles_conform, result.low_averages
    (False, True, (4,))
    """
    for each in counted("tests", tests, 1):
        not_negative("tests", each)
    floor = _floor(specified, unit)
    triples = [tests[at : at + 3] for at in range(len(tests) - 2)]
    averages = tuple(math.fsum(three) / 3 for three in triples)
    low_averages = tuple(at + 3 for at, three in enumerate(triples) if sum(map(_typed, three)) < 3 * _typed(specified))
    low_tests = tuple(at for at, each in enumerate(tests, 1) if _typed(each) < floor)
    steps = [
        Step(f"x̄{at + 1}–{at + 3}", "Σ 3 tests / 3 ≥ f'c", f"({' + '.join(map(text, three))}) / 3", average, unit)
        for at, (three, average) in enumerate(zip(triples, averages, strict=True))
    ]
    steps.append(Step("floor", "f'c − deficit, or 0.90 f'c", f"f'c {text(specified)}", float(floor), unit))
    steps.append(Step("least", "least single test ≥ floor", f"of {len(tests)} tests", min(tests), unit))
    judged = not low_averages if triples else None
    sentence = _sentence(len(tests), averages, low_averages, low_tests, specified, float(floor), unit)
    return Acceptance(averages, judged, not low_tests, low_averages, low_tests, float(floor), sentence, tuple(steps))


def _sentence(
    count: int,
    averages: Sequence[float],
    low_averages: Sequence[int],
    low_tests: Sequence[int],
    specified: float,
    floor: float,
    unit: str,
) -> str:
    least = min(averages) if averages else None
    average = (
        "fewer than three tests, no average yet"
        if least is None
        else f"least average of three {text(round(least, 1))} {unit}"
    )
    said = (
        f"{average}; {count} test{'s' if count > 1 else ''}, floor {text(floor)} {unit}, f'c {text(specified)} {unit}"
    )
    if low_tests or low_averages:
        singles = f"test {', '.join(map(str, low_tests))} under the floor" if low_tests else ""
        threes = f"the average ending at test {', '.join(map(str, low_averages))} under f'c" if low_averages else ""
        return f"Nonconforming: {' and '.join(filter(None, (threes, singles)))}. {said[:1].upper()}{said[1:]}."
    return f"Conforms: {said}."
