"""Drawings to scale of what a calculation found, by the name of the calculation: one module a room, named as in apps.calc.

A room's module holds DRAWINGS: the name of a calculation to what it draws, in order. A drawing is a function of the values
that went in (in the units of the inputs, defaults filled in) and of the result; it returns a Paper, or None where there is
nothing to draw. TABLES, where a room has them, names functions of the same arguments that return a Table of what the outputs
cannot hold: positions, cuts, steps. Pure: numbers in, SVG and words out; the same for a page and for paper.
"""

import importlib
import importlib.util
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple

from django.utils.safestring import SafeString

from apps.sheet.drawn.paper import Paper


class Drawing(NamedTuple):
    """One drawing of a calculation: the head of its detail, the short fact beside it, who draws it, and how wide."""

    title: str
    fact: str
    draw: Callable[[Mapping[str, Any], Any], Paper | None]
    wide: bool = False
    """Whether it wants the whole width of the column."""


class Table(NamedTuple):
    """Rows of words under a head; the first of a row names it."""

    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing as drawn."""

    title: str
    fact: str
    svg: SafeString
    wide: bool


def drawings(name: str) -> tuple[Drawing, ...]:
    """Return what a calculation of this name draws; nothing when its room draws nothing."""
    found: tuple[Drawing, ...] = getattr(_room(name), "DRAWINGS", {}).get(name, ())
    return found


def _room(name: str) -> object:
    """Return the module that draws a calculation's room; None when there is none."""
    module = f"{__name__}.{name.split('.', 1)[0]}"
    return importlib.import_module(module) if importlib.util.find_spec(module) else None


def tables(name: str, values: Mapping[str, Any], result: Any) -> list[Table]:
    """Return the tables of a result that have rows; `values` are the arguments that it was calculated with."""
    made = [make(values, result) for make in getattr(_room(name), "TABLES", {}).get(name, ())]
    return [each for each in made if each.rows]


def pictures(name: str, values: Mapping[str, Any], result: Any) -> list[Picture]:
    """Return the drawings of a result; `values` are the arguments that it was calculated with."""
    found = []
    for number, each in enumerate(drawings(name)):
        paper = each.draw(values, result)
        if paper is not None:
            found.append(Picture(each.title, each.fact, paper.svg(f"{name.replace('.', '-')}-{number}"), each.wide))
    return found
