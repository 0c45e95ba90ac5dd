"""Station and offset to coordinates and back, tangent direction, station equations, bolt pair against the road.

line = alignment.build({"start_station": "100+00.00", ...})       # see build
line.point(line.distance("231+40.00"), offset=-28)                 # east, north
alignment.write_station(line.label(13140))                         # "231+40.00", exact
"""

from apps.calc.alignment.bearings import decimal_text, read_bearing, read_degrees, show_bearing
from apps.calc.alignment.circular import CircularCurve, circular_curve, radius_of_degree
from apps.calc.alignment.crossings import crossing_distance, crossing_fault, crossing_from_text, crossing_text
from apps.calc.alignment.grid import Grid, grid_from
from apps.calc.alignment.joints import Joint, joints, oddities
from apps.calc.alignment.line import Alignment, Element, build
from apps.calc.alignment.pair import Orientation, bolt_pair, orientation
from apps.calc.alignment.places import Place, place, project
from apps.calc.alignment.spiralled import SpiralledCurve, spiralled_curve
from apps.calc.alignment.stations import Equation, OffAlignment, Part, read_station, write_station
from apps.calc.alignment.typed_line import (
    element_text,
    elements_from_text,
    equation_text,
    equations_from_text,
    line_from_text,
)

__all__ = [
    "Alignment",
    "CircularCurve",
    "Element",
    "Equation",
    "Grid",
    "Joint",
    "OffAlignment",
    "Orientation",
    "Part",
    "Place",
    "SpiralledCurve",
    "bolt_pair",
    "build",
    "circular_curve",
    "crossing_distance",
    "crossing_fault",
    "crossing_from_text",
    "crossing_text",
    "decimal_text",
    "element_text",
    "elements_from_text",
    "equation_text",
    "equations_from_text",
    "grid_from",
    "joints",
    "line_from_text",
    "oddities",
    "orientation",
    "place",
    "project",
    "radius_of_degree",
    "read_bearing",
    "read_degrees",
    "read_station",
    "show_bearing",
    "spiralled_curve",
    "write_station",
]
