"""A line looked at before it is kept: drawn to scale, as a table to hold against the plans, and what looks odd about it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Count
from django.utils.safestring import SafeString

from apps.calc.alignment import Alignment as Line
from apps.calc.alignment import (
    Joint,
    OffAlignment,
    build,
    crossing_distance,
    joints,
    oddities,
    show_bearing,
    write_station,
)
from apps.calc.alignment.places import aside
from apps.corridor.models import Alignment, Corridor
from apps.sheet.drawn.alignment import whole_line

PROJECTED = {"transverse_mercator": "transverse Mercator", "lambert_conformal": "Lambert conformal conic"}


@dataclass(frozen=True, slots=True)
class Row:
    """One joint as the table shows it; lengths in feet."""

    name: str
    station: str
    begins: str
    length: str
    radius: str
    turn: str
    bearing: str
    degrees: str
    east: str
    north: str


@dataclass(frozen=True, slots=True)
class Look:
    """A line before it is kept, or as it is kept."""

    name: str
    first: str
    last: str
    length: str
    elements: int
    drawing: SafeString
    rows: tuple[Row, ...]
    odd: tuple[str, ...]
    streets: tuple[tuple[str, str], ...]
    """Station and name."""
    grid: str
    point: str
    """Where the check point stands; empty: none was given."""


def look(
    name: str,
    definition: Mapping[str, Any],
    crossings: Sequence[Mapping[str, str]],
    grid: Mapping[str, Any] | None,
    point: tuple[float, float] | None = None,
) -> Look:
    """Return a line as a page shows it; all of it was built before."""
    line = build(definition)
    found = joints(line)
    streets = sorted((float(crossing_distance(line, each)), each["name"]) for each in crossings)
    return Look(
        name=name,
        first=found[0].station,
        last=found[-1].station,
        length=f"{float(line.length):,.2f}",
        elements=len(line.elements),
        drawing=whole_line(line, streets).svg("line"),
        rows=tuple(_row(each) for each in found),
        odd=oddities(line),
        streets=tuple((write_station(line.label(at)), called) for at, called in streets),
        grid=grid_words(grid),
        point=_point_words(line, point) if point else "",
    )


def _row(each: Joint) -> Row:
    element = each.element
    ends = [] if element is None else [element.radius_in, element.radius_out]
    radii = [f"{float(radius):,.2f}" if radius else "straight" for radius in ends]
    return Row(
        name=each.name,
        station=each.station,
        begins=element.kind if element else "",
        length=f"{float(element.length):,.2f}" if element else "",
        radius="" if not any(ends) else radii[0] if radii[0] == radii[1] else " to ".join(radii),
        turn=(element.turn or "") if element else "",
        bearing=show_bearing(each.bearing_deg),
        degrees=f"{each.bearing_deg:.4f}",
        east=f"{each.e:,.3f}",
        north=f"{each.n:,.3f}",
    )


def grid_words(grid: Mapping[str, Any] | None) -> str:
    """Say in which grid a line's coordinates are; empty where it is not known."""
    if not grid:
        return ""
    foot = "international" if grid.get("foot") == "international" else "US survey"
    scale = f", scale {grid['scale']}" if grid.get("scale") else ""
    parallels = f", parallels {grid['lat1_deg']}° and {grid['lat2_deg']}°" if grid.get("lat1_deg") else ""
    return (
        f"{PROJECTED[grid['projection']]}, origin {grid['lat0_deg']}°, {grid['lon0_deg']}°{scale}{parallels}, "
        f"false east {grid.get('false_east_ft', 0)} ft, north {grid.get('false_north_ft', 0)} ft, {foot} feet"
    )


def _point_words(line: Line, point: tuple[float, float]) -> str:
    east, north = point
    said = f"The check point stands at east {east:,.2f}, north {north:,.2f} ft"
    try:
        distance, offset = line.project(east, north)
    except OffAlignment as fault:
        return f"{said}; it {fault.message}."
    on = aside(offset)
    return (
        f"{said}: station {write_station(line.label(distance))}, {on if on == 'on the line' else f'{on} of the line'}."
    )


@dataclass(frozen=True, slots=True)
class Listed:
    """An alignment in the list."""

    row: Alignment
    first: str
    last: str
    length: str
    elements: int
    foundations: int


def listed(corridor: Corridor) -> list[Listed]:
    """Return the corridor's alignments, each with how many foundations stand along it. One query."""
    rows = corridor.alignments.annotate(standing=Count("foundations")).order_by("name")
    return [_listed(each, each.standing) for each in rows]


def _listed(row: Alignment, foundations: int) -> Listed:
    line: Line = row.geometry
    first, last = (write_station(line.label(at)) for at in (0, line.length))
    return Listed(row, first, last, f"{float(line.length):,.2f}", len(line.elements), foundations)
