"""Station and offset to coordinates and back, tangent direction, station equations, bolt pair against the road.

line = alignment.build({"start_station": "100+00.00", ...})       # see build
line.point(line.distance("231+40.00"), offset=-28)                 # east, north
alignment.write_station(line.label(13140))                         # "231+40.00", exact
"""

from apps.calc.alignment.answers import Orientation, Place, bolt_pair, line_from_text, orientation, place, project
from apps.calc.alignment.curves import CircularCurve, SpiralledCurve, circular_curve, radius_of_degree, spiralled_curve
from apps.calc.alignment.line import Alignment, Element, build
from apps.calc.alignment.stations import Equation, OffAlignment, Part, read_station, write_station

__all__ = [
    "Alignment",
    "CircularCurve",
    "Element",
    "Equation",
    "OffAlignment",
    "Orientation",
    "Part",
    "Place",
    "SpiralledCurve",
    "bolt_pair",
    "build",
    "circular_curve",
    "line_from_text",
    "orientation",
    "place",
    "project",
    "radius_of_degree",
    "read_station",
    "spiralled_curve",
    "write_station",
]
