"""Anchor bolts and the wrench: preload from torque, double-nut joints and their order, wrench deviation and calibration.

What is written here for double-nut joints (pretension, turn of nut, verification torque) is not for a breakaway base
seated on its concrete: there the base maker's torque rules, because the base was crash-tested with it.
Importing the room registers its calculations.
"""

from apps.calc.torque.calibration import WrenchCheck, add_months, calibration_due, wrench
from apps.calc.torque.joint import (
    SNUG_SHARES,
    DoubleNut,
    double_nut,
    nut_rotation_deg,
    pretension_kip,
    rod_stands_true,
    tightening_order,
)
from apps.calc.torque.rod import COARSE, GRADES, Grade, stress_area, threads_per_inch
from apps.calc.torque.tension import NUT_FACTORS, Preload, preload, torque_for

__all__ = [
    "COARSE",
    "GRADES",
    "NUT_FACTORS",
    "SNUG_SHARES",
    "DoubleNut",
    "Grade",
    "Preload",
    "WrenchCheck",
    "add_months",
    "calibration_due",
    "double_nut",
    "nut_rotation_deg",
    "preload",
    "pretension_kip",
    "rod_stands_true",
    "stress_area",
    "threads_per_inch",
    "tightening_order",
    "torque_for",
    "wrench",
]
