"""Strength of concrete: gain with age, maturity, strength–maturity curves, acceptance of tests, required average.

Importing the room registers its calculations.
"""

from apps.calc.strength.acceptance import (
    UNITS_OF_STRENGTH,
    Acceptance,
    Units,
    acceptance,
    single_test_floor,
    test_strength,
)
from apps.calc.strength.average import RequiredAverage, deviation_factor, required_average
from apps.calc.strength.caution import CAUTION
from apps.calc.strength.curves import CURVES, Curve, exponential, fit_curve, hyperbolic, logarithmic
from apps.calc.strength.gain import GAINS, Gain, StrengthAtAge, fitted_gain, gain_ratio, strength_28_from, strength_at
from apps.calc.strength.maturity import GAS_CONSTANT, Maturity, age_factor, hours_to_maturity, maturity

__all__ = [
    "CAUTION",
    "CURVES",
    "GAINS",
    "GAS_CONSTANT",
    "UNITS_OF_STRENGTH",
    "Acceptance",
    "Curve",
    "Gain",
    "Maturity",
    "RequiredAverage",
    "StrengthAtAge",
    "Units",
    "acceptance",
    "age_factor",
    "deviation_factor",
    "exponential",
    "fit_curve",
    "fitted_gain",
    "gain_ratio",
    "hours_to_maturity",
    "hyperbolic",
    "logarithmic",
    "maturity",
    "required_average",
    "single_test_floor",
    "strength_28_from",
    "strength_at",
    "test_strength",
]
