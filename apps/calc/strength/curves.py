"""Strength as a function of maturity or age: three published forms, fitted by least squares."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from apps.calc.errors import CalcError, counted, finite, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.strength.caution import CAUTION
from apps.calc.working import Step
from apps.calc.working import number_text as text

if TYPE_CHECKING:
    import numpy as np


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
    sentence: str
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
        Input("maturities", "number", "1", "maturity or age of each test", many=True, low=0),
        Input("strengths", "number", "1", "strength of each test", many=True, low=0),
        Input("form", "choice", "", "function", default="hyperbolic", choices=tuple(CURVES)),
    ),
    outputs=(
        Output("r_squared", "ratio", "1", "R²"),
        Output("residual_sd", "number", "1", "standard deviation about the curve, in the unit of strength"),
    ),
    caution=CAUTION,
    beyond=(
        "A strength outside the tests that it was fitted to, or of another mixture, water ratio or cement. "
        "A high R² does not make a curve right: look at the points."
    ),
    # NIST Dataplot reference data LEW11 (H. S. Lew): bond strength against maturity in days.
    example={
        "maturities": (
            "5.3, 5.4, 6.4, 6.5, 7.3, 7.4, 8.2, 8.5, 8.8, 9.7, 9.8, 10.6, 12.2, 12.3, 13.5, 14, "
            "16.1, 16.4, 18.5, 18.7, 19.5, 21.1, 22, 22.2, 25.3, 26"
        ),
        "strengths": (
            "8.5, 11.2, 14.5, 12.2, 13.8, 14, 17.2, 17, 17.3, 20, 19.9, 19.6, 21.5, 21.2, 22.9, "
            "23.9, 26, 24.2, 26.2, 26, 26, 28, 26.3, 25.9, 27.5, 27"
        ),
    },
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
    spread = math.sqrt(squares / free) if free else None
    return Curve(form, found, squares, r_squared, spread, _sentence(form, found, r_squared, spread), working)


def _sentence(form: str, found: tuple[float, ...], r_squared: float, spread: float | None) -> str:
    names = CURVES[form][1]
    said = ", ".join(f"{name} {text(round(value, 9), 4)}" for name, value in zip(names, found, strict=True))
    about = f", {text(spread, 2)} about the curve" if spread is not None else ", as many constants as tests"
    return f"The {form} curve has {said}; R² {text(r_squared, 4)}{about}."


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
