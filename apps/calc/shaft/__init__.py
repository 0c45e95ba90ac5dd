"""The drilled shaft: concrete and steel that it takes, the concrete curve, cover round the cage, place and plumb of the hole.

Importing the room registers its calculations.
"""

from apps.calc.shaft.bars import BARS, Bar, bar, bar_weight
from apps.calc.shaft.cage import Cage, Spiral, cage_of, spiral_of
from apps.calc.shaft.covering import Cover, cover
from apps.calc.shaft.drilled import Hole, hole
from apps.calc.shaft.pour import Curve, Interval, curve
from apps.calc.shaft.quantities import Shaft, shaft
from apps.calc.shaft.volume import neat_volume

__all__ = [
    "BARS",
    "Bar",
    "Cage",
    "Cover",
    "Curve",
    "Hole",
    "Interval",
    "Shaft",
    "Spiral",
    "bar",
    "bar_weight",
    "cage_of",
    "cover",
    "curve",
    "hole",
    "neat_volume",
    "shaft",
    "spiral_of",
]
