"""A foundation as it was built, to scale from measured values: its section along the road and its base from above.

Pure: numbers in, SVG out; who finds the numbers on file is apps.sheet.as_built. What was measured is heavy and in ink, the
plans are thin and in line; what is known to stand there without a size on file is a dashed outline and says so.
"""

from apps.sheet.drawn.as_built.base_plan import PLAN_POINTS, base_plan
from apps.sheet.drawn.as_built.section import SECTION_POINTS, section
from apps.sheet.drawn.as_built.values import Base, Bolt, Cage, Conduit, Pole, Section, Stub

__all__ = [
    "PLAN_POINTS",
    "SECTION_POINTS",
    "Base",
    "Bolt",
    "Cage",
    "Conduit",
    "Pole",
    "Section",
    "Stub",
    "base_plan",
    "section",
]
