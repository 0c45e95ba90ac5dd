"""A transformer base on its corners: how it rests, gaps, tilt, pole lean, least grinding, and the torque decision.

base = seating.seat(a=0, b=Fraction(1, 32), c=Fraction(3, 16), d=0, bolt_circle=14, pole_height=40)
base.gap_in, base.plan.outcome, base.sentence, base.grindings
"""

from apps.calc.seating.answer import Seating, seat
from apps.calc.seating.grinding import Grinding, least_grinding
from apps.calc.seating.planes import Corner, Seat, Zone, least_squares, minimum_zone, on_circle, seats
from apps.calc.seating.tightening import TorqueCheck, TorquePlan, TorqueRule, check_torque, plan_torque

__all__ = [
    "Corner",
    "Grinding",
    "Seat",
    "Seating",
    "TorqueCheck",
    "TorquePlan",
    "TorqueRule",
    "Zone",
    "check_torque",
    "least_grinding",
    "least_squares",
    "minimum_zone",
    "on_circle",
    "plan_torque",
    "seat",
    "seats",
]
