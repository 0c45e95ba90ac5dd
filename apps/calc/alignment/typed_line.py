"""An alignment from short lines of text, as a bench or a terminal takes them."""

from collections.abc import Sequence

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
            "elements": [_element(f"elements[{index}]", each) for index, each in enumerate(elements)],
            "equations": [_equation(f"equations[{index}]", each) for index, each in enumerate(equations)],
        }
    )


def _element(at: str, text: str) -> dict[str, str | None]:
    match str(text).split():
        case ["tangent", length]:
            return {"kind": "tangent", "length": length}
        case ["curve", length, "radius", radius, turn]:
            return {"kind": "curve", "length": length, "radius": radius, "turn": turn}
        case ["spiral", length, radius_in, "to", radius_out, turn]:
            radii = [None if each == "-" else each for each in (radius_in, radius_out)]
            return {"kind": "spiral", "length": length, "radius_in": radii[0], "radius_out": radii[1], "turn": turn}
    raise CalcError(
        at, f"expected tangent L, curve L radius R left|right or spiral L R|- to R|- left|right, got {text!r}"
    )


def _equation(at: str, text: str) -> dict[str, str]:
    back, equals, ahead = (each.strip() for each in str(text).partition("="))
    if not equals:
        raise CalcError(at, f"expected back = ahead, such as 253+75 = 254+10, got {text!r}")
    return {"back": back, "ahead": ahead}
