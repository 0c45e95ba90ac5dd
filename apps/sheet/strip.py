"""The corridor strip: the road as a band with its foundations, as one server-made SVG. Pure; no database, no request.

The level of detail is chosen by room, never by a fixed count: px to a foundation on the fuller side of the road.
"""

import itertools
from collections.abc import Sequence
from enum import Enum

from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe

from apps.sheet import glyphs, strip_far, strip_near
from apps.sheet.reaches import Reach
from apps.sheet.strip_road import Road, Row, Spot, Spotted, breaks

__all__ = ["Level", "Road", "Spot", "Spotted", "choose", "reaches", "strip"]

_MARGIN = 40


class Level(Enum):
    """How foundations are drawn; the value is the least room in px to a foundation of its side."""

    LARGE = 60.0
    MIDDLE = 24.0
    SMALL = 14.0
    CELLS = 3.4
    BAND = 0.0


def level_for(room: float) -> Level:
    """Return the level for `room` px to a foundation."""
    return next(level for level in Level if room > level.value or level is Level.BAND)


def choose(spots: Sequence[Spotted], width: int, rows: int = 0) -> tuple[Level, int, float]:
    """Return level, number of rows and room for this many foundations on a drawing `width` px wide.

    `rows` 0 means as few as serve: one where marks can be written, two of glyphs, up to three of cells, one of the band.
    """
    left = sum(spot.side == "L" for spot in spots)
    fuller = max(left, len(spots) - left, 1)
    usable = max(width - 2 * _MARGIN, 100)

    def room(count: int) -> float:
        return usable * count / fuller

    if rows:
        level = level_for(room(rows))
        if level is Level.LARGE and rows > 1:
            level = Level.MIDDLE
        return level, 1 if level is Level.BAND else rows, room(rows)
    if room(1) > Level.LARGE.value:
        return Level.LARGE, 1, room(1)
    if room(2) > Level.SMALL.value:
        return (Level.MIDDLE if room(2) > Level.MIDDLE.value else Level.SMALL), 2, room(2)
    for count in (1, 2, 3):
        if room(count) > (5 if count < 3 else Level.CELLS.value):
            return Level.CELLS, count, room(count)
    return Level.BAND, 1, room(1)


def strip(spots: Sequence[Spotted], road: Road, *, width: int, rows: int = 0, label: str = "") -> SafeString:
    """Draw the strip `width` px wide. `rows` 0 lets the room decide; `label` names the drawing for those who cannot see it.

    Links stand in station order and carry each foundation's sentence; from cells up the links are reaches (`road.reach`).
    A table of the same rows belongs beside it: that is the page's. static/js/along.js lets arrow keys go along the links.
    """
    spots = sorted(spots, key=lambda spot: spot.station)
    level, count, room = choose(spots, width, rows)
    glyph = _glyph(level, width)
    drawn, height = [], 2.0
    for row in _rows(spots, road, level, count, glyph, width):
        if level is Level.BAND:
            drawn.append(strip_far.band(road, row))
        elif level is Level.CELLS:
            drawn.append(strip_far.row_of_cells(road, row, room))
        else:
            drawn.append(strip_near.row_of_glyphs(road, row, glyph, marked=level is Level.LARGE))
        height = row.foot
    defs = f"<defs>{glyphs.symbols((spot.standing for spot in spots), glyph)}</defs>" if glyph else ""
    name = escape(
        label
        or f"Corridor strip, {road.short_figure(road.start)} to {road.short_figure(road.end)}, {len(spots)} foundations"
    )
    fit = "at-wall" if width >= 1600 else "at-desk" if width >= 1100 else "at-hand"
    box = f'class="{fit}" viewBox="0 0 {width} {height:.0f}" width="{width}" height="{height:.0f}"'
    return mark_safe(
        f'<div class="course" role="group" aria-label="{name}" data-along=""><svg {box}>'
        f"{defs}{''.join(drawn)}</svg>{READOUT}</div>"
    )


READOUT = mark_safe(
    '<p class="course-say"><span data-say="" aria-hidden="true"></span> <span data-where="" aria-live="polite"></span></p>'
)
"""What is under pointer or focus, in words, and which of how many: a reader hears the link's own name, and from here only where it is."""


def reaches(spots: Sequence[Spotted], road: Road, *, width: int, rows: int = 0) -> list[Reach]:
    """Return the reaches that a strip `width` px wide would show, for the table beside it; none where it shows single foundations."""
    spots = sorted(spots, key=lambda spot: spot.station)
    level, count, _ = choose(spots, width, rows)
    if level not in (Level.CELLS, Level.BAND):
        return []
    return [reach for row in _rows(spots, road, level, count, 0, width) for reach in strip_far.cut_row(road, row)]


def _glyph(level: Level, width: int) -> int:
    """Return how wide a glyph is drawn, px; 0 where there is none."""
    return {Level.LARGE: 36, Level.MIDDLE: 24 if width >= 1500 else 21, Level.SMALL: 14}.get(level, 0)


def _rows(spots: Sequence[Spotted], road: Road, level: Level, count: int, glyph: int, width: int) -> list[Row]:
    """Cut the road into rows, each with its place on the drawing and its foundations."""
    ends = breaks(road, [spot.station for spot in spots], count)
    marked = level is Level.LARGE
    if level is Level.BAND:
        high, road_at, thick, left = float(strip_far.BAND_ROW), float(strip_far.BAND_ROAD_TOP), 8.0, strip_far.BAND_LEFT
    elif level is Level.CELLS:
        high, road_at, thick, left = (
            float(strip_far.CELL_ROW),
            float(strip_far.CELL_ROAD_TOP),
            float(strip_far.CELL_ROAD),
            _MARGIN,
        )
    else:
        high, road_at = strip_near.row_height(glyph, marked=marked), strip_near.road_top(glyph, marked=marked)
        thick, left = float(strip_near.ROAD), _MARGIN
    rows, at = [], {spot.station for spot in spots}
    for k, (start, end) in enumerate(itertools.pairwise(ends)):
        last = k == count - 1
        inside = [spot for spot in spots if (start <= spot.station or k == 0) and (spot.station < end or last)]
        top = k * (high + 4)
        place = (left, width - _MARGIN, top, top + road_at, thick, top + high)
        rows.append(Row(start, end, *place, k == 0, last, not last and end in at, inside))
    return rows
