"""The plan: the true alignment seen from above, a square for each foundation filled from below by sixths."""

from collections.abc import Sequence
from math import hypot

from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe

from apps.corridor.models import Alignment, Foundation
from apps.sheet.glyphs import Standing

WIDTH, MARGIN, SQUARE = 1200.0, 46.0, 8.0
STEPS = 240


def _n(value: float) -> str:
    return f"{value:.1f}"


class _Frame:
    """Feet on the ground to units of the drawing, north up."""

    def __init__(self, ground: Sequence[tuple[float, float]]) -> None:
        easts, norths = [east for east, _ in ground], [north for _, north in ground]
        self.west, self.south = min(easts), min(norths)
        wide, high = max(easts) - self.west, max(norths) - self.south
        self.scale = (WIDTH - 2 * MARGIN) / max(wide, high * 2.6, 1)
        self.height = high * self.scale + 2 * MARGIN + 24
        self.left = MARGIN + (WIDTH - 2 * MARGIN - wide * self.scale) / 2

    def at(self, east: float, north: float) -> tuple[float, float]:
        """Return where a point of the ground is drawn."""
        return self.left + (east - self.west) * self.scale, self.height - MARGIN - (north - self.south) * self.scale


def plan(
    alignment: Alignment,
    foundations: Sequence[Foundation],
    drawn: dict[object, Standing],
    shown: set[object],
    slug: str,
) -> SafeString:
    """Draw the road to scale with every foundation beside it; those not shown by the filter are drawn faint. Links are the list's."""
    line = alignment.geometry
    length = float(line.length)
    centre = [tuple(point) for point in line.points([length * step / STEPS for step in range(STEPS + 1)], 0.0)]
    frame = _Frame(centre)
    road = [frame.at(east, north) for east, north in centre]
    path = "M" + "L".join(f"{_n(x)} {_n(y)}" for x, y in road)
    parts = [
        f'<path d="{path}" class="f-none s-line" stroke-width="11"/>',
        f'<path d="{path}" class="f-none s-road" stroke-width="9"/>',
        f'<path d="{path}" class="f-none s-line" stroke-width=".8" stroke-dasharray="10 3 2 3"/>',
    ]
    parts += [_crossing(line, frame, each) for each in alignment.crossings]
    parts += [_square(line, frame, each, drawn[each.pk], each.pk in shown, slug) for each in foundations]
    parts.append(_furniture(frame))
    label = f"Plan of {alignment.name}: {len(shown)} of {len(foundations)} foundations shown"
    return mark_safe(  # noqa: S308 - numbers and escaped words
        f'<svg class="plan drawing" viewBox="0 0 {_n(WIDTH)} {_n(frame.height)}" role="img" aria-label="{escape(label)}">{"".join(parts)}</svg>'
    )


def _aside(line: object, frame: _Frame, distance: float, side: float, away: float) -> tuple[float, float]:
    """Return a place beside the road, `away` units of the drawing from its centre, to the right for side 1."""
    foot = frame.at(*line.point(distance))  # type: ignore[attr-defined]
    ahead = frame.at(*line.point(distance, side * 100))  # type: ignore[attr-defined]
    dx, dy = ahead[0] - foot[0], ahead[1] - foot[1]
    size = hypot(dx, dy) or 1.0
    return foot[0] + dx / size * away, foot[1] + dy / size * away


def _square(line: object, frame: _Frame, each: Foundation, standing: Standing, shown: bool, slug: str) -> str:
    side = 1 if each.side == "R" else -1
    x, y = _aside(line, frame, float(each.distance_ft), side, 15)
    left, top = x - SQUARE / 2, y - SQUARE / 2
    filled = SQUARE * standing.released / 6
    ink = "s-ink" if shown else "s-rule-2"
    box = f'<path d="M{_n(left)} {_n(top)}h{SQUARE}v{SQUARE}h-{SQUARE}z" class="f-void {ink}" stroke-width=".9"/>'
    fill = f'<path d="M{_n(left)} {_n(top + SQUARE - filled)}h{SQUARE}v{_n(filled)}h-{SQUARE}z" class="{"f-ink" if shown else "f-rule-2"}"/>'
    flag = (
        f'<path d="M{_n(x)} {_n(top)}v-12l8 3.5l-8 3.5" class="f-red s-red" stroke-width="1.2"/>'
        if standing.held
        else ""
    )
    return f"<g><title>{escape(each.mark)}</title>{box}{fill}{flag}</g>"


def _crossing(line: object, frame: _Frame, each: dict[str, str]) -> str:
    distance = float(line.distance(each["station"]))  # type: ignore[attr-defined]
    x, y = _aside(line, frame, distance, -1, 40)
    foot_x, foot_y = _aside(line, frame, distance, -1, 6)
    leader = f'<path d="M{_n(foot_x)} {_n(foot_y)}L{_n(x)} {_n(y + 4)}" class="f-none s-ink-2" stroke-width=".6"/>'
    return f'{leader}<text x="{_n(x)}" y="{_n(y)}" text-anchor="middle" class="f-ink-2" font-size="12">{escape(each["name"])}</text>'


def _furniture(frame: _Frame) -> str:
    """North arrow and scale bar, its first half filled."""
    x, y = WIDTH - 30, 52
    feet = next(size for size in (500, 1000, 2000, 5000, 10000) if size * frame.scale > 60 or size == 10000)
    bar = feet * frame.scale
    left, foot = WIDTH - MARGIN - bar, frame.height - 12
    return (
        f'<path d="M{x} {y}V{y - 34}M{x - 5} {y - 24}L{x} {y - 36}L{x + 5} {y - 24}" class="f-none s-ink" stroke-width="1.2"/>'
        f'<text x="{x}" y="{y - 40}" text-anchor="middle" class="f-ink" font-size="12" font-weight="600">N</text>'
        f'<path d="M{_n(left)} {_n(foot)}h{_n(bar / 2)}v-3h-{_n(bar / 2)}z" class="f-ink"/>'
        f'<path d="M{_n(left)} {_n(foot)}h{_n(bar)}m0 -6v6M{_n(left)} {_n(foot - 6)}v6" class="f-none s-ink" stroke-width="1"/>'
        f'<text x="{_n(left + bar)}" y="{_n(foot - 9)}" text-anchor="end" class="f-ink" font-size="12">{feet:,} ft</text>'
    )
