"""An alignment: tangents, arcs and spirals joined end to end, its station labels, and places left and right of it."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import TYPE_CHECKING, Any, NamedTuple

from apps.calc.alignment import geometry
from apps.calc.alignment.stations import Equation, OffAlignment, Part, divide, find, read_station
from apps.calc.errors import CalcError, Exactable, between, counted, exact, finite, positive

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

KINDS = ("tangent", "curve", "spiral")
TURNS = ("left", "right")
END_TOLERANCE_FT = 1e-6
"""A point or a distance this little past an end is taken as at the end: rounding, not geometry."""


class Element(NamedTuple):
    """One element [ft]. A tangent has no radius, a curve has the same radius at both ends, None stands for straight."""

    kind: str
    length: Fraction
    radius_in: Fraction | None = None
    radius_out: Fraction | None = None
    turn: str | None = None

    @property
    def shape(self) -> geometry.Shape:
        """The element as length and curvatures, right positive."""
        sign = -1 if self.turn == "left" else 1
        k0, k1 = (sign / float(radius) if radius else 0.0 for radius in (self.radius_in, self.radius_out))
        return geometry.Shape(float(self.length), k0, k1)


@dataclass(frozen=True)
class Alignment:
    """A line that stations run along. Make one with `build`. Everything in feet and degrees.

    `start` is the station label at distance 0. Coordinates are east, north of any plane grid; bearings run clockwise
    from north, 0 to 360. Distances run from 0 to `length` through every station equation; labels do not.
    """

    start: Fraction
    start_e: float
    start_n: float
    start_bearing_deg: float
    elements: tuple[Element, ...]
    equations: tuple[Equation, ...] = ()

    @classmethod
    def from_definition(cls, definition: Mapping[str, Any]) -> "Alignment":
        """Make an alignment from plain data: the same as `build`."""
        return build(definition)

    @cached_property
    def length(self) -> Fraction:
        """Distance from the start to the end [ft], exact."""
        return sum((each.length for each in self.elements), Fraction(0))

    @cached_property
    def parts(self) -> tuple[Part, ...]:
        """The stretches between station equations, in order."""
        return divide(self.start, self.length, self.equations)

    @cached_property
    def joints(self) -> tuple[Fraction, ...]:
        """The distances at which elements begin and end [ft], from 0 to the length."""
        ends = [Fraction(0)]
        for each in self.elements:
            ends.append(ends[-1] + each.length)
        return tuple(ends)

    @cached_property
    def table(self) -> geometry.Table:
        """The elements as arrays."""
        return geometry.lay_out(
            [each.shape for each in self.elements],
            complex(self.start_n, self.start_e),
            math.radians(self.start_bearing_deg),
        )

    def distance(self, station: Exactable, part: int | str | None = None) -> Fraction:
        """Return the distance from the start [ft] of a station: "231+40.00", or its feet. Exact.

        A station that an equation makes occur twice needs `part`: "back", "ahead", or the number of a part.
        OffAlignment names the range of the alignment, the gap, or the places between which to choose.
        """
        return find(self.parts, read_station(station), part)

    def label(self, distance: Exactable) -> Fraction:
        """Return the station [ft] at a distance from the start. Exact; at an equation, the ahead station."""
        at = self._inside(distance)
        part = self._part(at)
        return part.first + at - part.start

    def part(self, distance: Exactable) -> int:
        """Return the number of the part that a distance lies in, from 1; at an equation, the part ahead."""
        return self._part(self._inside(distance)).number

    def point(self, distance: Exactable, offset: Exactable = 0) -> tuple[float, float]:
        """Return east and north [ft] at a distance and offset [ft], offset right positive looking up-station."""
        places = self.points([float(self._inside(distance))], [float(exact("offset", offset))])
        return float(places[0, 0]), float(places[0, 1])

    def bearing(self, distance: Exactable) -> float:
        """Return the direction of the tangent looking up-station [degrees clockwise from north, 0 to 360]."""
        import numpy as np

        at = np.array([float(self._inside(distance))])
        which = geometry.element_at(self.table, at)
        heading = geometry.heading(self.table, which, at - self.table.start[which])
        return math.degrees(float(heading[0])) % 360

    def project(self, e: float, n: float) -> tuple[float, float]:
        """Return distance and offset [ft] of the nearest place on the alignment to a point.

        OffAlignment when the nearest place is an end and the point lies past it: no station is square to it.
        """
        import numpy as np

        target = complex(float(finite("n", n)), float(finite("e", e)))
        found = geometry.nearest(self.table, np.array([target]))
        if found.beyond[0] > END_TOLERANCE_FT:
            end = "start" if found.distance[0] <= 0 else "end"
            raise OffAlignment("point", f"lies {found.beyond[0]:.2f} ft past the {end} of the alignment")
        return float(found.distance[0]), float(found.offset[0])

    def points(self, distances: "ArrayLike", offsets: "ArrayLike" = 0.0) -> "NDArray[np.float64]":
        """Return an array of east, north [ft], one row a place. Offsets [ft] are one for all, or one a distance."""
        import numpy as np

        at = _finite_array("distances", distances)
        try:
            offset = np.broadcast_to(_finite_array("offsets", offsets), at.shape)
        except ValueError:
            raise CalcError("offsets", f"needs one value, or one for each of {len(at)} distances") from None
        if np.any((at < -END_TOLERANCE_FT) | (at > self.table.total + END_TOLERANCE_FT)):
            raise OffAlignment("distances", f"must be from 0 to {self.table.total:.2f} ft")
        found = geometry.points(self.table, at, offset)
        return np.column_stack((found.imag, found.real))

    def project_many(self, places: "ArrayLike") -> tuple["NDArray[np.float64]", "NDArray[np.float64]"]:
        """Return distances and offsets [ft] of rows of east, north. A point past an end gets NaN for both."""
        import numpy as np

        rows = _finite_array("places", places, columns=2)
        found = geometry.nearest(self.table, rows[:, 1] + 1j * rows[:, 0])
        past = found.beyond > END_TOLERANCE_FT
        return np.where(past, np.nan, found.distance), np.where(past, np.nan, found.offset)

    def _inside(self, distance: Exactable) -> Fraction:
        at = exact("distance", distance)
        held = min(max(at, Fraction(0)), self.length)
        if abs(at - held) > END_TOLERANCE_FT:
            raise OffAlignment("distance", f"must be from 0 to {float(self.length):.2f} ft, got {float(at):.2f}")
        return held

    def _part(self, at: Fraction) -> Part:
        return next(part for part in reversed(self.parts) if part.start <= at)


def build(data: Mapping[str, Any]) -> Alignment:
    """Make an alignment from plain data, such as a JSON field holds, all in feet. Numbers as text stay exact.

        {"start_station": "100+00.00", "start_e": 0, "start_n": 0, "start_bearing_deg": 78.0,
         "elements": [{"kind": "tangent", "length": "5200"},
                      {"kind": "spiral", "length": "210", "radius_in": None, "radius_out": "3000", "turn": "right"},
                      {"kind": "curve", "length": "575.40", "radius": "3000", "turn": "right"}],
         "equations": [{"back": "253+75.00", "ahead": "254+10.00"}]}

    Elements follow each other without a bend; equations stand in order along the line. CalcError names what is wrong,
    such as elements[1].radius_out.
    """
    elements = counted("elements", _list("elements", data.get("elements")), 1)
    bearing = exact("start_bearing_deg", _required(data, "start_bearing_deg", ""))
    made = Alignment(
        start=read_station(_required(data, "start_station", ""), "start_station"),
        start_e=float(exact("start_e", data.get("start_e", 0))),
        start_n=float(exact("start_n", data.get("start_n", 0))),
        start_bearing_deg=between("start_bearing_deg", float(bearing), 0, 360),
        elements=tuple(_element(f"elements[{index}].", each) for index, each in enumerate(elements)),
        equations=tuple(
            _equation(f"equations[{index}].", each)
            for index, each in enumerate(_list("equations", data.get("equations") or ()))
        ),
    )
    divide(made.start, made.length, made.equations)
    return made


def _equation(at: str, raw: Mapping[str, Any]) -> Equation:
    return Equation(*(read_station(_required(raw, key, at), at + key) for key in ("back", "ahead")))


def _element(at: str, raw: Mapping[str, Any]) -> Element:
    kind = _required(raw, "kind", at)
    if kind not in KINDS:
        raise CalcError(f"{at}kind", f"expected one of {', '.join(KINDS)}, got {kind!r}")
    length = positive(f"{at}length", exact(f"{at}length", _required(raw, "length", at)))
    if kind == "tangent":
        return Element(kind, length)
    turn = _required(raw, "turn", at)
    if turn not in TURNS:
        raise CalcError(f"{at}turn", f"expected left or right, got {turn!r}")
    if kind == "spiral":
        return _spiral(at, raw, length, turn)
    radius = _radius(at, "radius", _required(raw, "radius", at))
    if length >= 2 * math.pi * float(radius or 0):
        raise CalcError(f"{at}length", f"a curve of radius {float(radius or 0):g} ft this long closes on itself")
    return Element(kind, length, radius, radius, turn)


def _spiral(at: str, raw: Mapping[str, Any], length: Fraction, turn: str) -> Element:
    radius_in, radius_out = (_radius(at, key, raw.get(key)) for key in ("radius_in", "radius_out"))
    if radius_in == radius_out:
        raise CalcError(f"{at}radius_out", "a spiral's two radii differ; leave one out where it meets a tangent")
    return Element("spiral", length, radius_in, radius_out, turn)


def _radius(at: str, key: str, raw: Exactable | None) -> Fraction | None:
    return None if raw is None else positive(at + key, exact(at + key, raw))


def _required(raw: Mapping[str, Any], key: str, at: str) -> Any:
    if not isinstance(raw, Mapping):
        raise CalcError(at.rstrip("."), f"expected named values, got {raw!r}")
    if raw.get(key) is None:
        raise CalcError(at + key, "is missing")
    return raw[key]


def _list(field: str, raw: Any) -> Sequence[Mapping[str, Any]]:
    if raw is None or isinstance(raw, str | bytes | Mapping) or not isinstance(raw, Sequence):
        raise CalcError(field, f"expected a list, got {raw!r}")
    return raw


def _finite_array(field: str, values: "ArrayLike", columns: int = 0) -> Any:
    import numpy as np

    try:
        array = np.asarray(values, dtype=float)
    except (TypeError, ValueError):
        raise CalcError(field, "expected numbers") from None
    if columns and (array.ndim != 2 or array.shape[1] != columns):
        raise CalcError(field, f"expected rows of {columns} numbers, got shape {array.shape}")
    if not columns and array.ndim > 1:
        raise CalcError(field, f"expected a row of numbers, got shape {array.shape}")
    if not np.all(np.isfinite(array)):
        raise CalcError(field, "expected finite numbers")
    return array if columns else np.atleast_1d(array)
