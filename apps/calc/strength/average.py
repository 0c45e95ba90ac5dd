"""The average strength that a mixture must be proportioned for."""

import itertools
from dataclasses import dataclass

from apps.calc.errors import CalcError, finite, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.strength.acceptance import UNITS_OF_STRENGTH, units_of
from apps.calc.working import Step
from apps.calc.working import number_text as text


def deviation_factor(tests: int) -> float:
    """Return the factor on the standard deviation of a record of 15 to 30 tests: 1.16 down to 1.00.

    15 tests 1.16, 20 1.08, 25 1.03, 30 or more 1.00, straight between.
    Errors: CalcError on fewer than 15 tests. Source: ACI 301; ACI 318-11, 5.3.1.2.

    >>> round(deviation_factor(17), 3)
    1.128
    """
    if finite("tests", tests) < 15:
        raise CalcError("tests", f"a record of fewer than 15 tests gives no standard deviation, got {tests}")
    table = ((15, 1.16), (20, 1.08), (25, 1.03), (30, 1.00))
    for (low, above), (high, below) in itertools.pairwise(table):
        if tests <= high:
            return above + (below - above) * (tests - low) / (high - low)
    return 1.0


@dataclass(frozen=True, slots=True)
class RequiredAverage:
    """The average strength that a mixture must be proportioned for."""

    required: float
    by_averages: float | None
    by_singles: float | None
    """The two expressions; None without a record."""
    sentence: str
    working: tuple[Step, ...]


@calculation(
    "strength.required_average",
    "Required average strength",
    "ACI 301; ACI 318-11, 5.3.2",
    inputs=(
        Input("specified", "pressure", "psi", "specified strength f'c", low=1),
        Input(
            "deviation", "pressure", "psi", "standard deviation of the record (absent: no record)", optional=True, low=0
        ),
        Input("tests", "count", "", "tests in the record", default=30, low=1),
    ),
    outputs=(
        Output("required", "pressure", "psi", "required average"),
        Output("by_averages", "pressure", "psi", "so that averages of three conform"),
        Output("by_singles", "pressure", "psi", "so that single tests conform"),
    ),
    beyond="That the concrete delivered has it: it is what a mixture is proportioned for, and the record must be of like concrete.",
    # f'c 4,500 psi with a standard deviation of 350 psi (the case of the docstring and of tests/calc/test_strength.py).
    example={"specified": "4500 psi", "deviation": "350 psi"},
)
def required_average(
    *,
    specified: float,
    deviation: float | None = None,
    tests: float = 30,
    unit: str = "psi",
    deficit: float | None = None,
    before_2002: bool = False,
) -> RequiredAverage:
    """Return the required average strength, in `unit`, from f'c and the standard deviation of a record of tests.

    To 5000 psi (35 MPa): max(f'c + 1.34 s, f'c + 2.33 s − 500 psi or `deficit`); above: max(f'c + 1.34 s, 0.90 f'c
    + 2.33 s). Without a record: f'c + 1000, 1200, or 1.10 f'c + 700 psi (7.0, 8.3, 1.10 f'c + 5.0 MPa); editions before
    ACI 318-02 had + 1400 psi (9.7 MPa) above 5000. Fewer than 15 tests count as no record.
    Errors: CalcError on f'c of zero or less, a negative deviation. Source: ACI 301; ACI 318-11, 5.3.2.

    >>> round(required_average(specified=4500, deviation=350).required)
    4969
    """
    units = units_of(unit)
    positive("specified", specified)
    if deviation is None or finite("tests", tests) < 15:
        return _without_record(specified, unit, before_2002)
    s = not_negative("deviation", deviation) * deviation_factor(int(tests))
    short = units.deficit if deficit is None else not_negative("deficit", deficit)
    low = specified <= units.change
    by_averages = specified + 1.34 * s
    by_singles = specified + 2.33 * s - short if low else 0.9 * specified + 2.33 * s
    fc, dev = text(specified), text(s)
    second = f"{fc} + 2.33 · {dev} − {text(short)}" if low else f"0.90 · {fc} + 2.33 · {dev}"
    working = (
        Step("s", "s of the record · factor", f"{text(deviation)} · {text(deviation_factor(int(tests)))}", s, unit),
        Step("f'cr (1)", "f'c + 1.34 s", f"{fc} + 1.34 · {dev}", by_averages, unit),
        Step("f'cr (2)", "f'c + 2.33 s − deficit, or 0.90 f'c + 2.33 s", second, by_singles, unit),
        Step("f'cr", "the greater", "", max(by_averages, by_singles), unit),
    )
    required = max(by_averages, by_singles)
    governs = "averages of three" if by_averages >= by_singles else "single tests"
    sentence = f"Proportion for {text(round(required))} {unit}, {text(round(required - specified))} over f'c: {governs} govern."
    return RequiredAverage(required, by_averages, by_singles, sentence, working)


def _without_record(specified: float, unit: str, before_2002: bool) -> RequiredAverage:
    low, middle, high, old, change = (1000, 1200, 700, 1400, 3000) if unit == "psi" else (7.0, 8.3, 5.0, 9.7, 21)
    if specified < change:
        required, rule = specified + low, f"f'c + {low}"
    elif specified <= UNITS_OF_STRENGTH[unit].change:
        required, rule = specified + middle, f"f'c + {middle}"
    elif before_2002:
        required, rule = specified + old, f"f'c + {old}"
    else:
        required, rule = 1.10 * specified + high, f"1.10 f'c + {high}"
    sentence = f"Proportion for {text(required)} {unit}: without a record of 15 tests or more it is {rule}."
    steps = (Step("f'cr", rule, f"f'c {text(specified)}", required, unit),)
    return RequiredAverage(required, None, None, sentence, steps)
