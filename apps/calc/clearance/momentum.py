"""What a breakaway support may take from a car."""

from apps.calc.errors import not_negative, positive

GRAVITY_FTS2 = 32.174
"""Standard gravity, 9.80665 m/s² in ft/s²: NIST SP 811, B.8."""


def momentum_change(weight_lb: float, change_fps: float) -> float:
    """Return the change of momentum [lb-s] of a car of that weight [lb] at a change of velocity [ft/s].

    The limit on the change is 16 ft/s (5.0 m/s), preferred 10 ft/s (3.0 m/s): Highway Engineering Handbook, Sign and
    luminaire supports. 5 m/s is 16.40 ft/s, so the unit of a limit is kept with it.

    >>> round(momentum_change(1800, 16), 1)
    895.1
    """
    return float(positive("weight_lb", weight_lb)) / GRAVITY_FTS2 * float(not_negative("change_fps", change_fps))
