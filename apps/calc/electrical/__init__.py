"""Grounding and wiring. Importing the room registers its calculations."""

from apps.calc.electrical import grounding, wiring

__all__ = ["grounding", "wiring"]
