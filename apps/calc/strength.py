"""Strength of concrete: gain with age, maturity, strength–maturity curves, acceptance of tests, required average."""

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from apps.calc.errors import CalcError, between, counted, finite, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.working import Step
from apps.calc.working import number_text as text

CAUTION = (
    "An estimate: cylinders cured in the field, or a maturity curve proved for this mixture, decide when load may "
    "come. The engineer releases."
)
ZERO_C = 273.15
GAS_CONSTANT = 8.314
"""J/(mol K)."""


class Gain(NamedTuple):
    """Constants of f(t) = f28 t/(a + b t), t in days."""

    a: float
    b: float


# ACI 209R-92, table for equation 2-1: cement type and curing.
GAINS = {
    "type I, moist": Gain(4.0, 0.85),
    "type III, moist": Gain(2.3, 0.92),
    "type I, steam": Gain(1.0, 0.95),
    "type III, steam": Gain(0.70, 0.98),
}


def gain_ratio(age_days: float, gain: Gain) -> float:
    """Return f(t)/f28 = t/(a + b t) at an age [days]. It is 1.007 at 28 days for type I moist: a rounded fit.

    Errors: CalcError on a negative age or constants of zero or less. Source: ACI 209R-92, equation 2-1.

    >>> round(gain_ratio(7, GAINS["type I, moist"]), 4)
    0.7035
    """
    not_negative("age_days", age_days)
    return age_days / (positive("a", gain.a) + positive("b", gain.b) * age_days)


def fitted_gain(*, early_days: float, early_strength: float, strength_28: float) -> Gain:
    """Return a and b through one early test and the 28-day strength, in any one unit, so that f(28) = f28.

    Errors: CalcError on an early age not between 0 and 28 days, an early strength not under the 28-day one.
    Source: algebra on ACI 209R-92, equation 2-1.

    >>> gain = fitted_gain(early_days=7, early_strength=2800, strength_28=4000)
    >>> round(gain.a, 3), round(gain.b, 4)
    (4.0, 0.8571)
    """
    if not 0 < positive("early_days", early_days) < 28:
        raise CalcError("early_days", f"must lie between 0 and 28, got {early_days}")
    if positive("early_strength", early_strength) >= positive("strength_28", strength_28):
        raise CalcError("early_strength", f"{early_strength} is not under the 28-day strength of {strength_28}")
    b = (early_days * strength_28 - 28 * early_strength) / (early_strength * (early_days - 28))
    a = 28 * (1 - b)
    if b <= 0:
        raise CalcError("early_strength", "the two tests lie on no curve that levels off")
    return Gain(a, b)


@dataclass(frozen=True, slots=True)
class StrengthAtAge:
    """Strength at an age, in the unit that went in."""

    strength_psi: float
    ratio: float
    reached_days: float | None
    """Age at which the strength asked for is reached; None when never, or when none was asked."""
    working: tuple[Step, ...]
    caution: str = CAUTION


@calculation(
    "strength.gain",
    "Strength at an age, and the age of a strength",
    "ACI 209R-92, equation 2-1: f(t) = f28 t/(a + b t)",
    inputs=(
        Input("strength_28_psi", "pressure", "psi", "strength at 28 days", low=1),
        Input("age_days", "time", "d", "age", low=0),
        Input("mixture", "choice", "", "cement and curing", default="type I, moist", choices=tuple(GAINS)),
        Input("wanted_psi", "pressure", "psi", "strength that a gate asks for", optional=True, low=1),
    ),
    outputs=(
        Output("strength_psi", "pressure", "psi", "strength at the age"),
        Output("reached_days", "time", "d", "age at which the gate opens"),
    ),
    caution=CAUTION,
)
def strength_at(
    *, strength_28_psi: float, age_days: float, mixture: str = "type I, moist", wanted_psi: float | None = None
) -> StrengthAtAge:
    """Return the strength [psi] at an age [days] from the 28-day strength, and when a wanted strength is reached.

    Errors: CalcError on a value of zero or less, an unknown mixture. Source: ACI 209R-92, equation 2-1.

    >>> round(strength_at(strength_28_psi=4000, age_days=7).strength_psi)
    2814
    """
    if mixture not in GAINS:
        raise CalcError("mixture", f"expected one of {', '.join(GAINS)}, got {mixture!r}")
    gain = GAINS[mixture]
    ratio = gain_ratio(age_days, gain)
    strength = positive("strength_28_psi", strength_28_psi) * ratio
    shown = f"{text(age_days)} / ({gain.a} + {gain.b} · {text(age_days)})"
    working = [
        Step("f/f28", "t / (a + b t)", shown, ratio),
        Step("f", "f28 · f/f28", f"{text(strength_28_psi)} · {text(ratio)}", strength, "psi"),
    ]
    reached = None
    if wanted_psi is not None:
        left = strength_28_psi - gain.b * positive("wanted_psi", wanted_psi)
        reached = gain.a * wanted_psi / left if left > 0 else None
        numbers = f"{gain.a} · {text(wanted_psi)} / ({text(strength_28_psi)} − {gain.b} · {text(wanted_psi)})"
        working.append(Step("t", "a f / (f28 − b f)", numbers, "never" if reached is None else reached, "d"))
    return StrengthAtAge(strength, ratio, reached, tuple(working))


def strength_28_from(*, strength: float, age_days: float, gain: Gain) -> float:
    """Return the 28-day strength that a test at an age [days] points to, in the unit that went in.

    Errors: CalcError on a value of zero or less. Source: ACI 209R-92, equation 2-1.

    >>> round(strength_28_from(strength=2500, age_days=7, gain=GAINS["type I, moist"]), 2)
    3553.57
    """
    return positive("strength", strength) / gain_ratio(positive("age_days", age_days), gain)


# --- maturity


@dataclass(frozen=True, slots=True)
class Maturity:
    """Maturity of a temperature history, by both functions of the standard."""

    degree_hours: float
    """Nurse–Saul, °C h over the datum."""
    equivalent_hours: float
    """Equivalent age at the reference temperature, h."""
    hours: float
    working: tuple[Step, ...]
    caution: str = CAUTION


@calculation(
    "strength.maturity",
    "Maturity of a temperature history",
    "ASTM C1074: temperature–time factor (Nurse–Saul) and equivalent age",
    inputs=(
        Input("hours", "time", "h", "length of each interval", many=True, low=0),
        Input("temperatures_c", "temperature", "C", "mean concrete temperature in each", many=True, low=-50, high=100),
        Input("datum_c", "temperature", "C", "datum temperature", default=0.0, low=-20, high=20),
        Input(
            "q_kelvin", "ratio", "1", "activation energy over gas constant Q, K", default=5000.0, low=500, high=15_000
        ),
        Input("reference_c", "temperature", "C", "reference temperature", default=20.0, low=0, high=40),
    ),
    outputs=(
        Output("degree_hours", "ratio", "1", "temperature–time factor, °C h"),
        Output("equivalent_hours", "time", "h", "equivalent age"),
    ),
    caution=CAUTION,
)
def maturity(
    *,
    hours: Sequence[float],
    temperatures_c: Sequence[float],
    datum_c: float = 0.0,
    q_kelvin: float = 5000.0,
    reference_c: float = 20.0,
) -> Maturity:
    """Return Nurse–Saul maturity [°C h] and equivalent age [h] of intervals [h] at mean temperatures [°C].

    An interval colder than the datum counts zero, never less. Q is activation energy over the gas constant [K].
    Errors: CalcError on no interval, lists of different length, a negative length, a temperature under −50 °C.
    Source: ASTM C1074 (equivalent age from memory; Q 5000 K usual for type I without admixture, from memory).

    >>> result = maturity(hours=[12, 12], temperatures_c=[20, 25])
    >>> result.degree_hours, round(result.equivalent_hours, 2)
    (540.0, 27.97)
    """
    counted("temperatures_c", temperatures_c, len(counted("hours", hours, 1)), len(hours))
    for length, temperature in zip(hours, temperatures_c, strict=True):
        not_negative("hours", length)
        between("temperatures_c", temperature, -50, 100)
    pairs = list(zip(hours, temperatures_c, strict=True))
    factor = float(sum(max(temperature - datum_c, 0) * length for length, temperature in pairs))
    age = sum(length * age_factor(temperature, q_kelvin, reference_c) for length, temperature in pairs)
    shown = " + ".join(f"({text(each)} − {text(datum_c)})·{text(length)}" for length, each in pairs[:6])
    more = "" if len(pairs) <= 6 else f" + … ({len(pairs)} intervals)"
    working = (
        Step("M", "Σ max(T − T₀, 0) Δt", shown + more, factor, "°C h"),
        Step("t_e", "Σ exp(−Q (1/T − 1/T_s)) Δt", f"Q {text(q_kelvin)} K, T_s {text(reference_c)} °C", age, "h"),
    )
    return Maturity(factor, age, float(sum(hours)), working)


def age_factor(temperature_c: float, q_kelvin: float = 5000.0, reference_c: float = 20.0) -> float:
    """Return exp(−Q (1/T − 1/Ts)), how much faster concrete ages at a temperature [°C] than at the reference [°C].

    Errors: CalcError at or under absolute zero, or a Q of zero or less. Source: ASTM C1074 (from memory).

    >>> round(age_factor(10), 4)
    0.5475
    """
    kelvin = [
        positive(name, ZERO_C + finite(name, each))
        for name, each in (("temperature_c", temperature_c), ("reference_c", reference_c))
    ]
    return math.exp(-positive("q_kelvin", q_kelvin) * (1 / kelvin[0] - 1 / kelvin[1]))


def hours_to_maturity(
    *, degree_hours: float, temperature_c: float, datum_c: float = 0.0, so_far: float = 0.0
) -> float | None:
    """Return the hours at a steady temperature [°C] until a maturity [°C h] is reached; None when too cold ever to.

    Errors: CalcError on a negative maturity. Source: ASTM C1074.

    >>> round(hours_to_maturity(degree_hours=3500, temperature_c=23), 2)
    152.17
    """
    left = not_negative("degree_hours", degree_hours) - not_negative("so_far", so_far)
    over = finite("temperature_c", temperature_c) - finite("datum_c", datum_c)
    if left <= 0:
        return 0.0
    return left / over if over > 0 else None


# --- strength as a function of maturity or age


def hyperbolic(time: float, ultimate: float, rate: float, start: float) -> float:
    """Return S = Su k (t − t0)/(1 + k (t − t0)), 0 before t0. Any one unit of time or maturity. Source: ASTM C1074.

    >>> round(hyperbolic(3, 40, 0.25, 0.5), 4)
    15.3846
    """
    grown = rate * max(time - start, 0.0)
    return ultimate * grown / (1 + grown)


def exponential(maturity_so_far: float, ultimate: float, tau: float, alpha: float) -> float:
    """Return S = Su exp(−(τ/M)^α). Any one unit. Source: Freiesleben Hansen and Pedersen, in ASTM C1074 appendices.

    >>> round(exponential(10, 31.0201, 5.92629, 1.46602), 2)
    19.5
    """
    return ultimate * math.exp(-((tau / maturity_so_far) ** alpha)) if maturity_so_far > 0 else 0.0


def logarithmic(maturity_so_far: float, a: float, b: float) -> float:
    """Return S = A + B log10(M). Any one unit; it goes below zero at small M. Source: ASTM C1074.

    >>> logarithmic(100, 1.0, 2.0)
    5.0
    """
    return a + b * math.log10(positive("maturity", maturity_so_far))


CURVES: dict[str, tuple[Callable[..., float], tuple[str, ...]]] = {
    "hyperbolic": (hyperbolic, ("Su", "k", "t0")),
    "logarithmic": (logarithmic, ("A", "B")),
    "exponential": (exponential, ("Su", "τ", "α")),
}


@dataclass(frozen=True, slots=True)
class Curve:
    """A strength–maturity curve fitted by least squares."""

    form: str
    parameters: tuple[float, ...]
    """In the order of the form: Su, k, t0; A, B; Su, τ, α."""
    sum_of_squares: float
    r_squared: float
    residual_sd: float | None
    """On n − p degrees of freedom; None when there are none."""
    working: tuple[Step, ...]
    caution: str = CAUTION

    def strength(self, maturity_so_far: float) -> float:
        """Return the curve's strength at a maturity, in the units of the fit."""
        return CURVES[self.form][0](maturity_so_far, *self.parameters)

    def maturity_for(self, strength: float) -> float | None:
        """Return the maturity at which a strength is reached; None when the curve never gets there."""
        if self.form == "logarithmic":
            return float(10 ** ((strength - self.parameters[0]) / self.parameters[1]))
        ultimate, one, two = self.parameters
        if not 0 < positive("strength", strength) < ultimate:
            return None
        if self.form == "hyperbolic":
            return two + strength / (one * (ultimate - strength))
        return float(one / (-math.log(strength / ultimate)) ** (1 / two))


@calculation(
    "strength.curve",
    "Strength–maturity curve by least squares",
    "ASTM C1074: hyperbolic, logarithmic and exponential functions; fit by SciPy",
    inputs=(
        Input("maturities", "ratio", "1", "maturity or age of each test", many=True, low=0),
        Input("strengths", "ratio", "1", "strength of each test", many=True, low=0),
        Input("form", "choice", "", "function", default="hyperbolic", choices=tuple(CURVES)),
    ),
    outputs=(Output("r_squared", "ratio", "1", "R²"),),
    caution=CAUTION,
)
def fit_curve(*, maturities: Sequence[float], strengths: Sequence[float], form: str = "hyperbolic") -> Curve:
    """Fit a strength–maturity function to tests by least squares of strength. Any units; the curve keeps them.

    Errors: CalcError on too few tests for the form, lists of different length, a maturity of zero or less, or tests
    that no such curve fits.
    Source: ASTM C1074 functions; least squares by scipy.optimize.curve_fit and numpy.

    >>> fit_curve(maturities=[10, 100, 1000], strengths=[1, 3, 5], form="logarithmic").strength(10_000)
    7.0
    """
    import numpy as np

    if form not in CURVES:
        raise CalcError("form", f"expected one of {', '.join(CURVES)}, got {form!r}")
    names = CURVES[form][1]
    counted("strengths", strengths, len(counted("maturities", maturities, len(names))), len(maturities))
    x = np.array([positive("maturities", each) for each in maturities], dtype=float)
    y = np.array([finite("strengths", each) for each in strengths], dtype=float)
    found = _fit_log(x, y) if form == "logarithmic" else _fit_bent(form, x, y)
    residuals = y - np.array([CURVES[form][0](each, *found) for each in x.tolist()])
    squares, total = float(residuals @ residuals), float(((y - y.mean()) ** 2).sum())
    free = len(x) - len(names)
    working = tuple(
        Step(name, "least squares of strength", f"{len(x)} tests, {form}", value)
        for name, value in zip(names, found, strict=True)
    )
    r_squared = 1 - squares / total if total else 1.0
    return Curve(form, found, squares, r_squared, math.sqrt(squares / free) if free else None, working)


def _fit_log(x: "object", y: "object") -> tuple[float, ...]:
    import numpy as np

    b, a = np.polyfit(np.log10(x), y, 1)  # type: ignore[call-overload]
    return round(float(a), 12), round(float(b), 12)


def _fit_bent(form: str, x: "object", y: "object") -> tuple[float, ...]:
    """Fit a form that is not linear in its parameters, from a start that any levelling curve is near."""
    import numpy as np
    from scipy.optimize import curve_fit

    times, strengths = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    highest, middle = float(strengths.max()), float(np.median(times))

    def bent(t: "np.ndarray", ultimate: float, one: float, two: float) -> "np.ndarray":
        if form == "hyperbolic":
            grown = one * np.maximum(t - two, 0)
            return ultimate * grown / (1 + grown)
        return ultimate * np.exp(-((one / t) ** two))

    start = (1.2 * highest, 1 / middle, times.min() / 2) if form == "hyperbolic" else (1.2 * highest, middle / 2, 1.0)
    try:
        found, _ = curve_fit(bent, times, strengths, p0=start, maxfev=20_000, bounds=([0, 0, 0], np.inf))
    except (RuntimeError, ValueError):
        raise CalcError("strengths", f"no {form} curve fits these tests") from None
    return tuple(float(each) for each in found)


# --- acceptance


class Units(NamedTuple):
    """The constants of ACI 318 in one system: below `change` a test may lack `deficit`, above it a tenth."""

    change: float
    deficit: float


UNITS_OF_STRENGTH = {"psi": Units(5000, 500), "MPa": Units(35, 3.5)}
"""ACI 318-19 and 318M-19. The SI edition's 3.5 MPa is not 500 psi (3.45 MPa): a case says which it uses."""


def _units(unit: str) -> Units:
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
    units, exact = _units(unit), _typed(positive("specified", specified))
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
    outputs=(Output("floor", "pressure", "psi", "least that one test may be"),),
    caution=CAUTION,
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
    return Acceptance(averages, judged, not low_tests, low_averages, low_tests, float(floor), tuple(steps))


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
    outputs=(Output("required", "pressure", "psi", "required average"),),
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
    units = _units(unit)
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
    return RequiredAverage(max(by_averages, by_singles), by_averages, by_singles, working)


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
    return RequiredAverage(required, None, None, (Step("f'cr", rule, f"f'c {text(specified)}", required, unit),))
