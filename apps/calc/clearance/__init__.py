"""Breakaway clearance: how far what is left standing rises above a straightedge laid from ground to ground over it.

One level for all heights, in inches: the top of the concrete is a good one. x and y in inches from the centre of the
foundation, on the same axes as the bolts; directions in degrees counter-clockwise from +x.
"""

from apps.calc.clearance.along import Profile, profile
from apps.calc.clearance.around import Clearance, Standing, clearance
from apps.calc.clearance.chord import CHORD_IN, LIMIT_IN
from apps.calc.clearance.momentum import momentum_change

__all__ = [
    "CHORD_IN",
    "LIMIT_IN",
    "Clearance",
    "Profile",
    "Standing",
    "clearance",
    "momentum_change",
    "profile",
]
