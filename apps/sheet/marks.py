"""Small marks for verdicts and states, and the margin bar: inline SVG in paint classes. Each mark stands beside its word.

Shapes differ, so that a grey print and a forced palette lose nothing.
"""

from collections.abc import Sequence
from functools import lru_cache
from typing import Protocol

from django.utils.safestring import SafeString, mark_safe

from apps.sheet.glyphs import hatching


class Limits(Protocol):
    """What a margin bar needs of a requirement's limits: two bounds, either may be None."""

    low: float | None
    high: float | None


_DIAMOND = '<path d="M7 1.2L12.8 7L7 12.8L1.2 7Z" class="f-ink"/>'
_SQUARE = '<path d="M1 1H13V13H1Z" class="f-ink"/>'
_DASHED = '<path d="M1.6 1.6H12.4V12.4H1.6Z" class="f-none s-{}" stroke-width="1.3" stroke-dasharray="2.2 1.6"/>'
_RING = '<circle cx="7" cy="7" r="4.7" class="f-sheet s-line" stroke-width="2"/>'
_HALF = _RING + '<path d="M7 2.3A4.7 4.7 0 0 1 7 11.7Z" class="f-line"/>'
_FLAG = '<path d="M2.4 13.6V1" class="s-red" stroke-width="2"/><path d="M2.4 1.2L12 4.8L2.4 8.4Z" class="f-red"/>'
_OPEN_FLAG = '<path d="M2 13.4V1.2L11 4.6L2 8" class="f-sheet s-{}" stroke-width="1.4"/>'

VERDICT_MARKS = {
    "conforms": _DIAMOND,
    "at_limit": '<path d="M5.8 1.6L11 7L5.8 12.4L.6 7Z" class="f-ink"/><path d="M12.6 .8V13.2" class="s-ink" stroke-width="1.8"/>',
    "refer": '<path d="M7 1.6L12.4 7L7 12.4L1.6 7Z" class="f-sheet s-ink" stroke-width="1.5"/>',
    "nonconforming": _FLAG,
    "not_measured": _DASHED.format("ink"),
    "not_applicable": '<path d="M2.5 7H11.5" class="s-rule-2" stroke-width="1.6"/>',
}
VERDICT_WORDS = {
    "conforms": "Conforms",
    "at_limit": "Conforms, at the limit",
    "refer": "Refers",
    "nonconforming": "Nonconforming",
    "not_measured": "Not measured",
    "not_applicable": "Does not apply",
}

STATE_MARKS = {
    "not_ready": '<path d="M1.5 9H12.5M7 6.5V11.5" class="s-rule-2" stroke-width="1.3"/>',
    "ready": '<path d="M1.5 11.5H12.5M7 1.5V9.8M4.2 7L7 9.8L9.8 7" class="f-none s-ink" stroke-width="1.4"/>',
    "notified": _RING,
    "inspected": _HALF,
    "returned": '<path d="M11.5 12V5.5H2.5M6 2L2.5 5.5L6 9" class="f-none s-ink" stroke-width="1.6"/>',
    "released": _SQUARE,
    "reopened": _DASHED.format("red"),
    "held": f'<path d="{hatching(0.6, 7, 9.6, 13.4, 3.2)}" class="s-red" stroke-width="1.1"/>'
    '<path d="M.6 7H9.6V13.4H.6Z" class="f-none s-red"/>'
    '<path d="M2 13V1L11 4.2L2 7.4" class="f-red s-red"/>',
    "finding": _OPEN_FLAG.format("red"),
    "finding_closed": _OPEN_FLAG.format("ink"),
    "condition": '<path d="M7 1.5L13 12.5H1Z" class="f-sheet s-ink" stroke-width="1.3"/>',
    "abandoned": '<path d="M2 2L12 12M12 2L2 12" class="s-rule-2" stroke-width="1.8"/>',
    "late": '<path d="M7 1.2L12.8 7L7 12.8L1.2 7Z" class="f-ochre"/>',
    "test": '<path d="M3.5 2.5H10.5V11.5H3.5ZM3.5 4.8H10.5" class="f-conc-2 s-ink" stroke-width="1.2"/>',
    "done": _SQUARE,
    "open": _DASHED.format("ink"),
    "locked": '<path d="M3.6 6.5V4.4A3.4 3.4 0 0 1 10.4 4.4V6.5" class="f-none s-ink" stroke-width="1.4"/>'
    '<path d="M2 6.5H12V13.1H2Z" class="f-ink"/>',
    "standard": _SQUARE,
    "contract": '<path d="M1.7 1.7H12.3V12.3H1.7Z" class="f-sheet s-ink" stroke-width="1.5"/>',
    "common_practice": '<circle cx="7" cy="7" r="5.2" class="f-sheet s-ink" stroke-width="1.4" stroke-dasharray="1.9 1.4"/>',
}  # fmt: skip


def _mark(lines: str, size: float) -> SafeString:
    return mark_safe(
        f'<svg class="mk" width="{size:g}" height="{size:g}" viewBox="0 0 14 14" aria-hidden="true" focusable="false">{lines}</svg>'
    )


def verdict_key(outcome: str, at_limit: bool = False) -> str:
    """Return which mark and word an outcome takes. KeyError with the outcomes known if it is none of them."""
    key = "at_limit" if outcome == "conforms" and at_limit else outcome
    if key not in VERDICT_MARKS:
        raise KeyError(f"{outcome!r} is no outcome; expected one of {', '.join(VERDICT_MARKS)}")
    return key


@lru_cache(maxsize=256)
def verdict_mark(outcome: str, at_limit: bool = False, size: float = 13) -> SafeString:
    """Return the mark of a verdict, `size` px; its word stands beside it."""
    return _mark(VERDICT_MARKS[verdict_key(outcome, at_limit)], size)


@lru_cache(maxsize=256)
def state_mark(state: str, size: float = 14) -> SafeString:
    """Return the mark of a state, finding, queue item or kind of source, `size` px; its word stands beside it."""
    if state not in STATE_MARKS:
        raise KeyError(f"{state!r} has no mark; known are {', '.join(STATE_MARKS)}")
    return _mark(STATE_MARKS[state], size)


def _bounds(limits: Limits | Sequence[float | None]) -> tuple[float | None, float | None]:
    low, high = (limits[0], limits[1]) if isinstance(limits, Sequence) else (limits.low, limits.high)
    return None if low is None else float(low), None if high is None else float(high)


def place(low: float | None, high: float | None, value: float) -> tuple[float | None, float | None, float]:
    """Return where low limit, high limit and reading stand on a bar, 0 to 1. Bars of different rows have no common scale."""
    if low is not None and high is not None and high > low:
        at = 0.5 + (value - (low + high) / 2) / (high - low) * 0.5
        return 0.25, 0.75, min(max(at, 0.03), 0.95)
    limit = high if high is not None else low
    if limit is None:
        return None, None, 0.5
    if low is None and limit > 0 and 0 <= value <= 1.35 * limit:
        return None, 0.714, value / limit * 0.714  # from zero
    span = max(abs(value - limit) * 1.4, abs(limit) * 0.25, 1e-9)
    at = 0.5 + (value - limit) / span * 0.5
    return (0.5 if low is not None else None), (0.5 if high is not None else None), min(max(at, 0.03), 0.95)


def margin_bar(
    limits: Limits | Sequence[float | None], value: float | None, outcome: str, width: float = 150
) -> SafeString:
    """Return track, allowed band, limits as ticks and the reading: diamond filled conforms, hollow refers, red bar and flag fails.

    `limits` has .low and .high, or is a pair; either may be None. `value` in the same unit; None draws no reading.
    """
    low, high = _bounds(limits)
    start, wide = 6.0, width - 12
    low_at, high_at, at = place(low, high, 0.0 if value is None else float(value))
    if low_at is None and high_at is None:
        return mark_safe("")
    left = start + wide * (low_at or 0.0)
    right = start + wide * (1.0 if high_at is None else high_at)
    x = start + wide * at
    lines = f'<path d="M{start - 1:g} 9H{start + wide + 1:.1f}" class="s-rule-2" stroke-width=".8"/>'
    lines += f'<path d="M{left:.1f} 5.5H{right:.1f}V12.5H{left:.1f}Z" class="f-line-3 s-line-2" stroke-width=".8"/>'
    ticks = "".join(f"M{start + wide * tick:.1f} 1.5V16.5" for tick in (low_at, high_at) if tick is not None)
    lines += f'<path d="{ticks}" class="s-ink" stroke-width="1.5"/>'
    if value is not None:
        lines += _reading(x, left, right, outcome)
    return mark_safe(
        f'<svg class="mb" width="{width:g}" height="18" viewBox="0 0 {width:g} 18" aria-hidden="true" focusable="false">{lines}</svg>'
    )


def _reading(x: float, left: float, right: float, outcome: str) -> str:
    if outcome == "nonconforming":
        edge = left if x < left else right
        bar = f'<path d="M{edge:.1f} 5.5H{x:.1f}V12.5H{edge:.1f}Z" class="f-red"/>'
        return bar + f'<path d="M{x:.1f} 17V1l8 3.4l-8 3.4" class="f-red s-red" stroke-width="1.2"/>'
    paint = (
        'class="f-sheet s-ink" stroke-width="1.5"' if outcome == "refer" else 'class="f-ink s-sheet" stroke-width="1"'
    )
    return f'<path d="M{x:.1f} 3.2l5.8 5.8l-5.8 5.8l-5.8 -5.8Z" {paint}/>'
