"""Lateral capacity: wind on a pole, what a shaft or post carries, bolt tension. A screen for the engineer, no design.

Importing the room registers its calculations.
"""

from apps.calc.capacity import bolts, post, shaft, wind

__all__ = ["bolts", "post", "shaft", "wind"]
