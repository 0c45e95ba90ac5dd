"""The neat volume of a shaft."""

import math

from apps.calc.errors import positive

IN3_PER_YD3 = 46_656


def neat_volume(diameter_in: float, depth_ft: float) -> float:
    """Return the neat volume [yd³] of a shaft of a diameter [in] and depth [ft], both over 0.

    Source: volume of a cylinder; 1 yd³ is 46,656 in³. CalcError otherwise.

    >>> round(neat_volume(30, 8), 4)
    1.4544
    """
    across, deep = float(positive("diameter_in", diameter_in)), float(positive("depth_ft", depth_ft))
    return math.pi / 4 * across**2 * deep * 12 / IN3_PER_YD3
