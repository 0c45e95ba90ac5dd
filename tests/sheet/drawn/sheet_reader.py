"""Reads a drawing back, for tests: its words, what is painted how, and how long the scale bar is."""

import re
import xml.etree.ElementTree as ET
from collections.abc import Mapping
from typing import Any

from apps.calc import registry
from apps.sheet.drawn import pictures
from apps.sheet.drawn.paper import text_width

Box = tuple[float, float, float, float]
PLACED = ("d", "x", "y", "cx", "cy", "r", "width", "height", "transform", "stroke-width")


class Sheet:
    """One drawing as drawn."""

    def __init__(self, svg: str) -> None:
        self.root = ET.fromstring(svg)
        placed = [each.get(part, "") for each in self.root.iter() for part in PLACED]
        assert not [each for each in placed if "nan" in each or "inf" in each]
        self.name = self.root.get("aria-label", "")
        self.words = [each.text or "" for each in self.root.iter("text")]

    @property
    def said(self) -> str:
        """All words in one."""
        return " | ".join(self.words)

    def shapes(self, paint: str = "", fill: str = "", weight: str = "") -> list[ET.Element]:
        """Paths and circles with this paint class, pattern ("conc", "over", "within") or stroke width."""
        found = [each for each in self.root if each.tag in ("path", "circle")]
        found = [each for each in found if not paint or paint in (each.get("class") or "").split()]
        found = [each for each in found if not fill or (each.get("fill") or "").endswith(f"-{fill})")]
        return [each for each in found if not weight or each.get("stroke-width") == weight]

    def boxes(self, paint: str = "", fill: str = "", weight: str = "") -> list[Box]:
        """Left, top, right and bottom of those shapes."""
        return [box(each) for each in self.shapes(paint, fill, weight)]

    def at(self, words: str) -> tuple[float, float]:
        """Where words stand."""
        found = next(each for each in self.root.iter("text") if words in (each.text or ""))
        return float(found.get("x", "")), float(found.get("y", ""))

    @property
    def words_off_paper(self) -> list[str]:
        """Words that reach beyond an edge of the drawing."""
        wide, high = float(self.root.get("width", "")), float(self.root.get("height", ""))
        found = []
        for each in self.root.iter("text"):
            long = text_width(each.text or "", float(each.get("font-size", "")), bool(each.get("font-weight")))
            left = (
                float(each.get("x", ""))
                - {"start": 0, "middle": long / 2, "end": long}[each.get("text-anchor", "start")]
            )
            if left < 0 or left + long > wide or not 8 <= float(each.get("y", "")) <= high - 2:
                found.append(each.text or "")
        return found

    @property
    def a_unit(self) -> float:
        """Paper units of one unit of the scale bar: the bar whose first half is heavy, against the number after it."""
        half = next(each for each in self.boxes("s-ink", weight="3") if each[1] == each[3])
        whole = next(
            each for each in self.boxes("s-ink", weight="1") if each[0] == half[0] and each[1] == each[3] == half[1]
        )
        number = next(
            each.text or ""
            for each in self.root.iter("text")
            if abs(float(each.get("y", "")) - half[1] - 4) < 0.2 and abs(float(each.get("x", "")) - whole[2] - 7) < 0.2
        )
        return (whole[2] - whole[0]) / float(number.split()[0])


def box(shape: ET.Element) -> Box:
    """Left, top, right and bottom of a path of straight lines, or of a circle."""
    if shape.tag == "circle":
        x, y, r = (float(shape.get(each, "")) for each in ("cx", "cy", "r"))
        return x - r, y - r, x + r, y + r
    numbers = [float(each) for each in re.findall(r"-?[0-9.]+", shape.get("d", ""))]
    return min(numbers[::2]), min(numbers[1::2]), max(numbers[::2]), max(numbers[1::2])


def drawn(calculation: str, values: Mapping[str, Any]) -> list[Sheet]:
    """Run a calculation and read back its drawings."""
    found = registry.find(calculation)
    arguments = found.arguments(values)
    return [Sheet(each.svg) for each in pictures(calculation, arguments, found.run(arguments))]
