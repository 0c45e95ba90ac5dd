"""An alignment from short lines of text, as a bench, a terminal or a page takes them, and back."""

from collections.abc import Mapping, Sequence
from typing import Any

from apps.calc.alignment.line import Alignment, build
from apps.calc.errors import CalcError, Exactable
from apps.calc.registry import Input

LINE_INPUTS = (
    Input(
        "elements",
        "text",
        "",
        "elements: tangent 5200 / curve 1200 radius 2000 right / spiral 250 - to 2000 right",
        many=True,
    ),
    Input("start_station", "text", "", "station at the start", default="0+00"),
    Input("start_e", "length", "ft", "east at the start", default=0.0),
    Input("start_n", "length", "ft", "north at the start", default=0.0),
    Input(
        "start_bearing_deg", "angle", "deg", "bearing at the start, clockwise from north", default=0.0, low=0, high=360
    ),
    Input("equations", "text", "", "station equations: 253+75 = 254+10", many=True, default=()),
)


def line_from_text(
    *,
    elements: Sequence[str],
    equations: Sequence[str] = (),
    start_station: Exactable = "0+00",
    start_e: float = 0.0,
    start_n: float = 0.0,
    start_bearing_deg: float = 0.0,
) -> Alignment:
    """Make an alignment from short lines of text, as a bench or a terminal takes them [ft, degrees].

    Elements: "tangent 5200", "curve 1200 radius 2000 right", "spiral 250 - to 2000 right" (a dash stands for straight).
    Equations: "253+75 = 254+10", back before ahead. CalcError names the line that cannot be read.
    """
    return build(
        {
            "start_station": start_station,
            "start_e": start_e,
            "start_n": start_n,
            "start_bearing_deg": start_bearing_deg,
            "elements": elements_from_text(elements),
            "equations": equations_from_text(equations),
        }
    )


def elements_from_text(lines: Sequence[str]) -> list[dict[str, str | None]]:
    """Return elements as plain data for `build`. CalcError names the line that cannot be read, such as elements[1]."""
    return [_element(f"elements[{index}]", each) for index, each in enumerate(lines)]


def equations_from_text(lines: Sequence[str]) -> list[dict[str, str]]:
    """Return station equations as plain data for `build`. CalcError names the line that cannot be read."""
    return [_equation(f"equations[{index}]", each) for index, each in enumerate(lines)]


def element_text(element: Mapping[str, Any]) -> str:
    """Return an element of plain data as a line of text that elements_from_text reads."""
    kind, length = element["kind"], element["length"]
    if kind == "tangent":
        return f"tangent {length}"
    if kind == "curve":
        return f"curve {length} radius {element['radius']} {element['turn']}"
    ends = [element.get(each) or "-" for each in ("radius_in", "radius_out")]
    return f"spiral {length} {ends[0]} to {ends[1]} {element['turn']}"


def equation_text(equation: Mapping[str, str]) -> str:
    """Return a station equation of plain data as a line of text that equations_from_text reads."""
    return f"{equation['back']} = {equation['ahead']}"


TURN_WORDS = {"l": "left", "lt": "left", "left": "left", "r": "right", "rt": "right", "right": "right"}


def _words(text: str) -> list[str]:
    """Return the words of a line, small, without the feet that stand after its numbers."""
    words = (each.removesuffix("'") for each in str(text).casefold().replace("\u2032", "'").split())
    return [each for each in words if each not in {"ft", "ft.", "feet", ""}]


def _element(at: str, text: str) -> dict[str, str | None]:
    match _words(text):
        case ["tangent", length]:
            return {"kind": "tangent", "length": length}
        case ["curve", length, "radius" | "r", radius, turn] if turn in TURN_WORDS:
            return {"kind": "curve", "length": length, "radius": radius, "turn": TURN_WORDS[turn]}
        case ["spiral", length, radius_in, "to", radius_out, turn] if turn in TURN_WORDS:
            radii = [None if each == "-" else each for each in (radius_in, radius_out)]
            turned = TURN_WORDS[turn]
            return {"kind": "spiral", "length": length, "radius_in": radii[0], "radius_out": radii[1], "turn": turned}
    raise CalcError(
        at, f"expected tangent L, curve L radius R left|right or spiral L R|- to R|- left|right, got {text!r}"
    )


def _equation(at: str, text: str) -> dict[str, str]:
    back, equals, ahead = (each.strip() for each in str(text).partition("="))
    if not equals:
        raise CalcError(at, f"expected back = ahead, such as 253+75 = 254+10, got {text!r}")
    return {"back": back, "ahead": ahead}
