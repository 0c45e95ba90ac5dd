"""Alignments out of a LandXML 1.2 file, as plain data that `build` takes. Feet only; tangents, arcs and clothoids only.

Source: the schema LandXML-1.2.xsd (7/29/2008), namespace http://www.landxml.org/schema/LandXML-1.2. Points are written
"north east"; names of the units from memory.
"""

import cmath
import math
from collections.abc import Mapping, Sequence
from typing import Any
from xml.etree import ElementTree

from apps.calc.alignment.line import build
from apps.calc.errors import CalcError, exact

NAMESPACE = "http://www.landxml.org/schema/LandXML-1.2"
FEET = {"foot": "international", "USSurveyFoot": "us_survey"}
"""Both are read as they stand: stations are labels in the file's own foot, and a factor would shift them."""
JOIN_FT = 0.05
"""Points of the file may lie so far from the line that its lengths and radii make: common practice, no source."""
TURNS = {"cw": "right", "ccw": "left"}

Definition = dict[str, Any]


def definitions(text: str | bytes) -> dict[str, Definition]:
    """Return every alignment of a file by its name, as plain data for `build`, all of it built once as a check.

    CalcError names what is missing, is not read here, or does not join, such as Alignment[0].StaEquation[1].staInternal.
    """
    root = _root(text)
    _in_feet(root)
    found: dict[str, Definition] = {}
    for index, each in enumerate(root.iterfind(f"{_q('Alignments')}/{_q('Alignment')}")):
        at = f"Alignment[{index}]"
        name = _needed(each, "name", at)
        if name in found:
            raise CalcError(f"{at}.name", f"two alignments are named {name!r}")
        found[name] = _definition(each, at)
    if not found:
        raise CalcError("Alignments", "the file holds no alignment")
    return found


def _root(text: str | bytes) -> ElementTree.Element:
    try:
        written = text if isinstance(text, str) else text.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise CalcError("file", "is not written in UTF-8") from None
    # A document type could define entities that grow without end; LandXML needs none.
    if "<!DOCTYPE" in written.upper():
        raise CalcError("file", "has a document type; LandXML has none")
    try:
        root = ElementTree.fromstring(written)  # noqa: S314  without a document type there are no entities to expand
    except (ElementTree.ParseError, ValueError) as error:
        raise CalcError("file", f"is no XML: {error}") from None
    if root.tag != _q("LandXML"):
        raise CalcError("file", f"is not LandXML 1.2, but {root.tag}")
    return root


def foot(text: str | bytes) -> str:
    """Return which foot a file says that it is in, by the names of calc.alignment.grid. CalcError as definitions."""
    return _in_feet(_root(text))


def _in_feet(root: ElementTree.Element) -> str:
    units = root.find(_q("Units"))
    imperial = None if units is None else units.find(_q("Imperial"))
    unit = "" if imperial is None else imperial.get("linearUnit", "")
    if unit not in FEET:
        metric = None if units is None else units.find(_q("Metric"))
        got = unit or ("none" if metric is None else f"Metric, {metric.get('linearUnit', 'no linearUnit')}")
        raise CalcError("Units", f"must be Imperial with linearUnit {' or '.join(FEET)}, got {got}")
    return FEET[unit]


def _definition(alignment: ElementTree.Element, at: str) -> Definition:
    start = _needed(alignment, "staStart", at)
    shapes = list(alignment.find(_q("CoordGeom")) or ())
    if not shapes:
        raise CalcError(f"{at}.CoordGeom", "has no element")
    named = [f"{at}.{_local(each)}[{index}]" for index, each in enumerate(shapes)]
    origin = _point(shapes[0], "Start", named[0])
    made = {
        "start_station": start,
        "start_e": repr(origin.imag),
        "start_n": repr(origin.real),
        "start_bearing_deg": repr(math.degrees(_first_bearing(shapes[0], named[0])) % 360),
        "elements": [_element(each, name) for each, name in zip(shapes, named, strict=True)],
        "equations": _equations(alignment, start, at),
    }
    _joins(made, alignment, shapes, named, at)
    return made


def _element(shape: ElementTree.Element, at: str) -> dict[str, str | None]:
    match _local(shape):
        case "Line":
            start, end = (_point(shape, each, at) for each in ("Start", "End"))
            return {"kind": "tangent", "length": shape.get("length") or repr(abs(end - start))}
        case "Curve":
            radius, length = _arc(shape, at)
            return {"kind": "curve", "length": length, "radius": radius, "turn": _turn(shape, at)}
        case "Spiral":
            if (kind := _needed(shape, "spiType", at)) != "clothoid":
                raise CalcError(f"{at}.spiType", f"expected clothoid, got {kind!r}")
            ends = [_needed(shape, each, at) for each in ("radiusStart", "radiusEnd")]
            radii = [None if each == "INF" else each for each in ends]
            length = _needed(shape, "length", at)
            turn = _turn(shape, at)
            return {"kind": "spiral", "length": length, "radius_in": radii[0], "radius_out": radii[1], "turn": turn}
        case other:
            raise CalcError(at, f"expected Line, Curve or Spiral, got {other}")


def _arc(shape: ElementTree.Element, at: str) -> tuple[str, str]:
    """Return radius and length of an arc, as written, else from its points."""
    start, centre, end = (_point(shape, each, at) for each in ("Start", "Center", "End"))
    sign = 1 if _turn(shape, at) == "right" else -1
    if start == centre:
        raise CalcError(f"{at}.Center", "is the start of the curve")
    swept = sign * cmath.phase((end - centre) / (start - centre)) % math.tau
    radius = abs(start - centre)
    return shape.get("radius") or repr(radius), shape.get("length") or repr(radius * swept)


def _first_bearing(shape: ElementTree.Element, at: str) -> float:
    start = _point(shape, "Start", at)
    if _local(shape) == "Curve":
        inward = _point(shape, "Center", at) - start
        return cmath.phase(inward * (-1j if _turn(shape, at) == "right" else 1j))
    # A spiral that begins on a straight, or out of a curve, leaves its start along the line to its PI.
    return cmath.phase(_point(shape, "PI" if _local(shape) == "Spiral" else "End", at) - start)


def _equations(alignment: ElementTree.Element, start: str, at: str) -> list[dict[str, str]]:
    label = internal = exact(f"{at}.staStart", start)
    found = []
    for index, each in enumerate(alignment.iterfind(_q("StaEquation"))):
        name = f"{at}.StaEquation[{index}]"
        if each.get("staIncrement", "increasing") != "increasing":
            raise CalcError(f"{name}.staIncrement", "stations that run backward are not read")
        place, ahead = (exact(f"{name}.{key}", _needed(each, key, name)) for key in ("staInternal", "staAhead"))
        back = label + place - internal
        given = each.get("staBack")
        if given is not None and abs(exact(f"{name}.staBack", given) - back) > JOIN_FT:
            raise CalcError(f"{name}.staBack", f"is {given}, but staInternal makes it {float(back):.2f}")
        found.append({"back": given or str(float(back)), "ahead": _needed(each, "staAhead", name)})
        label, internal = ahead, place
    return found


def _joins(
    made: Definition,
    alignment: ElementTree.Element,
    shapes: Sequence[ElementTree.Element],
    named: Sequence[str],
    at: str,
) -> None:
    """Refuse a file whose own points do not lie on the line that its lengths and radii make."""
    line = build(made)
    long = float(exact(f"{at}.length", _needed(alignment, "length", at)))
    if abs(float(line.length) - long) > JOIN_FT:
        raise CalcError(f"{at}.length", f"is {long:.2f} ft, but the elements make {float(line.length):.2f}")
    for shape, name, joint in zip(shapes, named, line.joints[1:], strict=True):
        east, north = line.point(joint)
        away = abs(_point(shape, "End", name) - complex(north, east))
        if away > JOIN_FT:
            raise CalcError(f"{name}.End", f"lies {away:.2f} ft from where the elements up to it lead")


def _point(shape: ElementTree.Element, name: str, at: str) -> complex:
    """Return a point as north + east·i."""
    found = shape.find(_q(name))
    words = (found.text or "").split() if found is not None else []
    if len(words) < 2:
        raise CalcError(f"{at}.{name}", "expected north and east")
    north, east = (float(exact(f"{at}.{name}", each)) for each in words[:2])
    return complex(north, east)


def _turn(shape: ElementTree.Element, at: str) -> str:
    rot = _needed(shape, "rot", at)
    if rot not in TURNS:
        raise CalcError(f"{at}.rot", f"expected cw or ccw, got {rot!r}")
    return TURNS[rot]


def _needed(element: ElementTree.Element, key: str, at: str) -> str:
    attributes: Mapping[str, str] = element.attrib
    if not attributes.get(key, "").strip():
        raise CalcError(f"{at}.{key}", "is missing")
    return attributes[key].strip()


def _local(element: ElementTree.Element) -> str:
    return element.tag.removeprefix(f"{{{NAMESPACE}}}")


def _q(name: str) -> str:
    return f"{{{NAMESPACE}}}{name}"
