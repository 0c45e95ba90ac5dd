"""The strip from far: foundations as cells of six steps, or the whole road as a band of six layers.

Links lead to reaches, one level nearer.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence

from apps.calc.stages import STAGES
from apps.sheet.glyphs import hatching
from apps.sheet.reaches import Reach, cut, cuts
from apps.sheet.strip_near import spread
from apps.sheet.strip_road import Road, Row, Spotted, figures, match_lines, n, names, road_band, text

CELL_ROW = 132
CELL_ROAD = 12
_STEP = 4
_CELL = _STEP * len(STAGES)
CELL_ROAD_TOP = 18 + 11 + _CELL + 4

BAND_ROW = 146
BAND_ROAD_TOP = 108
BAND_LEFT = 78
_LAYER = 12
_COLUMN = 6.0


def row_of_cells(road: Road, row: Row, room: float) -> str:
    """Return one row of cells, `room` px to a foundation: six steps filled from below, one path for each tone."""
    pitch = min(room * 0.96, 12.0)
    tones: defaultdict[str, list[str]] = defaultdict(list)
    for side, foot in (("L", row.road - 4), ("R", row.low + 15 + _CELL)):
        spots = [spot for spot in row.spots if spot.side == side]
        places = spread([row.x(spot.station) for spot in spots], [pitch / 2] * len(spots), row.left, row.right)
        for x, spot in zip(places, spots, strict=True):
            _add_cell(tones, spot, x, foot, pitch * 0.8)
    cells = "".join(
        f'<path d="{"".join(tones[name])}" {paint}/>' for name, paint in _CELL_PAINTS.items() if tones[name]
    )
    return (
        road_band(road, row)
        + cells
        + match_lines(road, row)
        + figures(road, row)
        + names(road, row)
        + reaches(road, row)
    )


_CELL_PAINTS = {
    "track": 'class="f-void s-rule-2" stroke-width=".5"',
    "done": 'class="f-ink"',
    "half": 'class="f-line-2"',
    "asked": 'class="f-none s-line" stroke-width="1"',
    "undone": 'class="f-none s-red" stroke-width="1"',
    "gone": 'class="f-none s-rule-2" stroke-width="1"',
    "held": 'class="f-red s-red" stroke-width="1"',
}
_NEXT_TONE = {"notified": "asked", "returned": "asked", "inspected": "half", "reopened": "undone"}


def _add_cell(tones: dict[str, list[str]], spot: Spotted, x: float, foot: float, wide: float) -> None:
    standing, left = spot.standing, x - wide / 2
    tones["track"].append(f"M{n(left)} {n(foot)}v-{_CELL}h{n(wide)}v{_CELL}Z")
    if standing.abandoned:
        tones["gone"].append(f"M{n(left)} {n(foot)}l{n(wide)} -{_CELL}m-{n(wide)} 0l{n(wide)} {_CELL}")
        return
    done = standing.released * _STEP
    if done:
        tones["done"].append(f"M{n(left)} {n(foot)}v-{done}h{n(wide)}v{done}Z")
    if standing.next_state in _NEXT_TONE and standing.released < len(STAGES):
        tones[_NEXT_TONE[standing.next_state]].append(f"M{n(left)} {n(foot - done)}v-{_STEP}h{n(wide)}v{_STEP}Z")
    if standing.held:
        tones["held"].append(f"M{n(x)} {n(foot - _CELL)}v-9.5l6 2.4l-6 2.4")


def band(road: Road, row: Row) -> str:
    """Return the whole road as six layers; the thickness of a layer is the share released in its reach."""
    columns = max(int((row.right - row.left) / _COLUMN), 1)
    shares, held = shares_released(row, columns)
    foot = row.road - 6
    top = foot - len(STAGES) * _LAYER
    out, below = [], [0.0] * columns
    for k, stage in enumerate(STAGES):
        above = [base + share for base, share in zip(below, shares[k], strict=True)]
        out.append(
            f'<path d="{_layer(row, foot, below, above)}" class="f-t{k + 1} s-sheet" stroke-width=".8"><title>{stage.title}</title></path>'
        )
        out.append(text(row.left - 6, foot - _LAYER * k - 2, stage.title, "own", "end"))
        below = above
    out.append(_held_columns(row, held, top, foot))
    out += [_held_flag(row, reach, top) for reach in cut_row(road, row) if reach.counts["held"]]
    return road_band(road, row) + "".join(out) + figures(road, row) + names(road, row) + reaches(road, row)


def shares_released(row: Row, columns: int) -> tuple[list[list[float]], list[int]]:
    """Return for each stage the share released in each column, and how many foundations are held there."""
    counts = [[0] * (len(STAGES) + 1) for _ in range(columns)]
    held = [0] * columns
    per_foot = columns / (row.end - row.start)
    for spot in row.spots:
        at = min(max(int((spot.station - row.start) * per_foot), 0), columns - 1)
        if not spot.standing.abandoned:
            counts[at][spot.standing.released] += 1
            held[at] += spot.standing.held
    shares = [
        [sum(column[k + 1 :]) / total if (total := sum(column)) else 0.0 for column in counts]
        for k in range(len(STAGES))
    ]
    return shares, held


def _layer(row: Row, foot: float, below: Sequence[float], above: Sequence[float]) -> str:
    wide = (row.right - row.left) / len(above)

    def side(heights: Iterable[tuple[int, float]], back: bool) -> str:
        d, last = "", None
        for i, height in heights:
            y = n(foot - height * _LAYER)
            if y != last:
                d += f"H{n(row.left + (i + back) * wide)}V{y}"
                last = y
        return d

    forth = side(enumerate(above), False)
    back = side(reversed(list(enumerate(below))), True)
    return f"M{n(row.left)} {n(foot - below[0] * _LAYER)}{forth}H{n(row.right)}{back}H{n(row.left)}Z"


def _held_columns(row: Row, held: Sequence[int], top: float, foot: float) -> str:
    """Return the columns in which something is held, hatched; where they are more than a third of the road, only their heads, or
    hatching would hide what is released."""
    wide = (row.right - row.left) / len(held)
    low = foot if 3 * sum(count > 0 for count in held) <= len(held) else top + _LAYER / 2
    lines = "".join(
        hatching(row.left + i * wide, top, row.left + (i + 1) * wide, low, 5) for i, count in enumerate(held) if count
    )
    return f'<path d="{lines}" class="f-none s-red" stroke-width="1.2"/>' if lines else ""


def _held_flag(row: Row, reach: Reach, top: float) -> str:
    """Return the flag of a reach at the first of its held foundations, with their number from two up."""
    count = reach.counts["held"]
    first = next(spot.station for spot in reach.spots if spot.standing.held and not spot.standing.abandoned)
    x = min(row.x(first), row.x(reach.end) - 34)
    flag = f'<path d="M{n(x)} {n(top)}v-12l8 3.2l-8 3.2" class="f-red s-red" fill-opacity="1" stroke-width="1.2"/>'
    return flag + (text(x + 11, top - 3, str(count), "count", "start") if count > 1 else "")


def cut_row(road: Road, row: Row) -> list[Reach]:
    """Return the reaches of a row, some 44 px wide and more."""
    return cut(road, cuts(road, row.start, row.end, row.scale, 44), row.spots, taken=row.taken)


def reaches(road: Road, row: Row) -> str:
    """Return the reaches of a row as links, each named by its stations and what stands there."""
    if road.reach is None:
        return ""
    return "".join(reach.link(_hit(row, reach)) for reach in cut_row(road, row))


def _hit(row: Row, reach: Reach) -> str:
    x, wide = row.x(reach.start), row.x(reach.end) - row.x(reach.start)
    return (
        f'<rect class="hit" x="{n(x)}" y="{n(row.top + 16)}" width="{n(wide)}" height="{n(row.foot - row.top - 37)}"/>'
    )
