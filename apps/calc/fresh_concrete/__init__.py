"""Fresh concrete: evaporation, time to discharge, slump, temperature, water added on site, yield.

Importing the room registers its calculations.
"""

from apps.calc.fresh_concrete.addition import POUNDS_A_GALLON, Water, water
from apps.calc.fresh_concrete.batch import Yield, batch_yield
from apps.calc.fresh_concrete.delivery import DISCHARGE, Discharge, DischargeRule, discharge
from apps.calc.fresh_concrete.drying import (
    ACT_ABOVE,
    LB_FT2_IN_KG_M2,
    Evaporation,
    evaporation,
    menzel_si,
    menzel_us,
    saturation_kpa,
    uno_si,
    uno_us,
)
from apps.calc.fresh_concrete.protection import DAY_FALL_F, HOUR_FALL_F, Cooling, Fall, cooling
from apps.calc.fresh_concrete.slump import Tolerance, operators_agree, reported_slump, slump_tolerance
from apps.calc.fresh_concrete.temperature import (
    HOTTEST_F,
    coldest_f,
    reported_temperature_f,
    taken_as_asked,
    thermometer_due,
    thermometer_true,
)

__all__ = [
    "ACT_ABOVE",
    "DAY_FALL_F",
    "DISCHARGE",
    "HOTTEST_F",
    "HOUR_FALL_F",
    "LB_FT2_IN_KG_M2",
    "POUNDS_A_GALLON",
    "Cooling",
    "Discharge",
    "DischargeRule",
    "Evaporation",
    "Fall",
    "Tolerance",
    "Water",
    "Yield",
    "batch_yield",
    "coldest_f",
    "cooling",
    "discharge",
    "evaporation",
    "menzel_si",
    "menzel_us",
    "operators_agree",
    "reported_slump",
    "reported_temperature_f",
    "saturation_kpa",
    "slump_tolerance",
    "taken_as_asked",
    "thermometer_due",
    "thermometer_true",
    "uno_si",
    "uno_us",
    "water",
]
