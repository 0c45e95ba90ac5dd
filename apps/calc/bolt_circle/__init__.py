"""Anchor bolts on their circle: which circle fits, how far each bolt is off its place, whether a base goes on.

Points are bolt centres in inches, in order round the circle; x and y on any two square axes of the foundation's top.
"""

from apps.calc.bolt_circle.caution import CAUTION
from apps.calc.bolt_circle.chords import Template, template
from apps.calc.bolt_circle.fit import Circle, Points, fit_circle, linear_circle, unit_norm_circle
from apps.calc.bolt_circle.leaning import STEEPEST, Lean, lean
from apps.calc.bolt_circle.measured import TOLERANCE_IN, BoltCircle, measured_circle
from apps.calc.bolt_circle.pattern import Laid, lay_pattern
from apps.calc.bolt_circle.tape import from_tape

__all__ = [
    "CAUTION",
    "STEEPEST",
    "TOLERANCE_IN",
    "BoltCircle",
    "Circle",
    "Laid",
    "Lean",
    "Points",
    "Template",
    "fit_circle",
    "from_tape",
    "lay_pattern",
    "lean",
    "linear_circle",
    "measured_circle",
    "template",
    "unit_norm_circle",
]
