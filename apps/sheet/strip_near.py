"""The strip from near: every foundation as its glyph, left of the road above it, right of it below."""

from collections.abc import Sequence

from django.utils.html import escape

from apps.sheet import glyphs
from apps.sheet.strip_road import Road, Row, Spotted, figures, match_lines, n, names, road_band, text, width_of

_NAMES = 18
_GAP = 9
_FIGURES = 21
ROAD = 26


def row_height(glyph: int, *, marked: bool) -> float:
    """Return how high a row of glyphs `glyph` px wide stands, px; `marked` rows write each mark at the road side."""
    return _NAMES + _FIGURES + ROAD + 2 * (2 * glyph + _GAP + (14 if marked else 0))


def road_top(glyph: int, *, marked: bool) -> float:
    """Return how far below the top of a row its road begins, px."""
    return _NAMES + 2 * glyph + _GAP + (14 if marked else 0)


def spread(
    wanted: Sequence[float], halves: Sequence[float], low: float, high: float, firm: Sequence[bool] = ()
) -> list[float]:
    """Return places as near as possible to `wanted`, in the same order, none closer than the halves of both neighbours.

    Least squares by pooling neighbours that would overlap; a firm one (a match line) hardly gives way. Where there is no
    room for all between `low` and `high`, all are set at even distances.
    """
    if not wanted:
        return []
    offsets, total = [], 0.0
    for i, half in enumerate(halves):
        total += (halves[i - 1] + half) if i else 0.0
        offsets.append(total)
    if total > high - low:
        return [low + offset * (high - low) / total for offset in offsets]
    pools: list[list[float]] = []
    for i, place in enumerate(wanted):
        weight = 1e6 if firm and firm[i] else 1.0
        pools.append([(place - offsets[i]) * weight, weight, 1])
        while len(pools) > 1 and pools[-2][0] / pools[-2][1] >= pools[-1][0] / pools[-1][1]:
            last = pools.pop()
            pools[-1] = [a + b for a, b in zip(pools[-1], last, strict=True)]
    places = [weighted / weight for weighted, weight, count in pools for _ in range(int(count))]
    return [min(max(at, low), high - total) + offset for at, offset in zip(places, offsets, strict=True)]


def row_of_glyphs(road: Road, row: Row, glyph: int, *, marked: bool) -> str:
    """Return one row: road, leaders, glyphs as links in station order, marks, match lines, figures, names."""
    placed = [*_placed(road, row, "L", glyph, marked=marked), *_placed(road, row, "R", glyph, marked=marked)]
    placed.sort(key=lambda item: item[1].station)
    links = "".join(_link(row, x, spot, glyph, marked=marked) for x, spot in placed)
    leaders = "".join(_leader(row, x, spot, marked=marked) for x, spot in placed)
    leaders = f'<path d="{leaders}" class="f-none s-rule-2" stroke-width=".8"/>' if leaders else ""
    return road_band(road, row) + leaders + match_lines(road, row) + links + figures(road, row) + names(road, row)


def _placed(road: Road, row: Row, side: str, glyph: int, *, marked: bool) -> list[tuple[float, Spotted]]:
    """Return the foundations of one side with the x they take, moved aside from each other and from station equations."""
    items: list[tuple[float, float, Spotted | None]] = [
        (row.x(at), 4.0, None) for at, _, _ in road.equations if row.has(at)
    ]
    for spot in row.spots:
        if spot.side == side:
            half = max(glyph * 0.375, width_of(spot.mark, 12) / 2 + 3 if marked else 0)
            items.append((row.x(spot.station), half, spot))
    items.sort(key=lambda item: item[0])
    firm = [spot is None for _, _, spot in items]
    edge = glyph / 2
    places = spread([x for x, _, _ in items], [half for _, half, _ in items], row.left - edge, row.right + edge, firm)
    return [(x, spot) for x, (_, _, spot) in zip(places, items, strict=True) if spot is not None]


def _leader(row: Row, x: float, spot: Spotted, *, marked: bool) -> str:
    true, gap = row.x(spot.station), _GAP + (14 if marked else 0)
    if spot.side == "L":
        tail = f"L{n(x)} {n(row.road - gap + 1)}" if abs(x - true) > 1.5 and not marked else ""
        return f"M{n(true)} {n(row.road)}v-3{tail}"
    tail = f"L{n(x)} {n(row.low + gap - 1)}" if abs(x - true) > 1.5 and not marked else ""
    return f"M{n(true)} {n(row.low)}v3{tail}"


def _link(row: Row, x: float, spot: Spotted, glyph: int, *, marked: bool) -> str:
    gap = _GAP + (14 if marked else 0)
    above = spot.side == "L"
    y = row.road - gap - 2 * glyph if above else row.low + gap
    name = escape(spot.title)
    symbol = glyphs.symbol_id(spot.standing, glyph)
    drawn = f'<use href="#{symbol}" x="{n(x - glyph / 2)}" y="{n(y)}" width="{glyph}" height="{2 * glyph}"/>'
    if marked:
        drawn += text(x, row.road - 10 if above else row.low + 18, spot.mark, "own")
    return f'<a href="{escape(spot.href)}" aria-label="{name}"><title>{name}</title>{drawn}</a>'
