"""Control charts and Pareto: individuals and moving range, p, np, c and u charts. Control limits are not requirements.

Importing the room registers its calculations.
"""

from apps.calc.control.attributes import Attributes, c_chart, np_chart, p_chart, u_chart
from apps.calc.control.causes import Pareto, ParetoRow, pareto
from apps.calc.control.singles import (
    D2_EXACT,
    D2_TABLED,
    D3_EXACT,
    D4_EXACT,
    D4_TABLED,
    RUN,
    Individuals,
    individuals,
)

__all__ = [
    "D2_EXACT",
    "D2_TABLED",
    "D3_EXACT",
    "D4_EXACT",
    "D4_TABLED",
    "RUN",
    "Attributes",
    "Individuals",
    "Pareto",
    "ParetoRow",
    "c_chart",
    "individuals",
    "np_chart",
    "p_chart",
    "pareto",
    "u_chart",
]
