"""Lateral capacity: wind on a pole, what a shaft or post carries, bolt tension. A screen: a licensed engineer decides.

Importing the room registers its calculations.
"""

from apps.calc.capacity import bolts, post, pressure, shaft, wind

__all__ = ["bolts", "post", "pressure", "shaft", "wind"]
