"""The glyph: a foundation drawn as what stands there. Box 24 × 48, ground at y = 28; pure functions that write SVG.

Lines carry paint classes ("s-ink f-conc", static/css/parts.css), never colours, so that night and print need no second drawing.
Below the ground line is in the ground, above it stands. Stages add; a part that is only asked for or looked at is dashed.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe

from apps.calc.stages import STAGES

BOX = (24, 48)
GROUND = 28
SIZES = (14, 17, 24, 36)
NEXT_STATES = ("", "not_ready", "ready", "notified", "inspected", "returned", "reopened")
UNDER_WAY = ("notified", "inspected", "returned", "reopened")

STAGE_WORDS = tuple(stage.title.lower() for stage in STAGES)
STATE_WORDS = {
    "not_ready": "not ready",
    "ready": "to do",
    "notified": "notified",
    "inspected": "inspected, awaiting release",
    "returned": "returned",
    "reopened": "reopened",
}
SIDE_WORDS = {"L": "left", "R": "right"}


@dataclass(frozen=True, slots=True)
class Standing:
    """What stands at one foundation, and what is under way.

    `released` counts the stages released, 0 to 6; `next_state` is the state of the stage after them. Several facts may hold
    at once: held hides an open finding, a condition stands with any.
    """

    family: str
    released: int
    next_state: str = ""
    held: bool = False
    open_finding: bool = False
    condition: bool = False
    abandoned: bool = False

    def __post_init__(self) -> None:
        if self.family not in _FORMS:
            raise ValueError(f"family is {self.family!r}; a glyph knows {', '.join(_FORMS)}")
        if not 0 <= self.released <= len(STAGES):
            raise ValueError(f"released is {self.released}; a foundation has 0 to {len(STAGES)} released stages")
        if self.next_state not in NEXT_STATES:
            raise ValueError(
                f"next_state is {self.next_state!r}; expected one of {', '.join(NEXT_STATES[1:])} or nothing"
            )


@dataclass(frozen=True, slots=True)
class _Form:
    """The measures in which a light pole and a pedestal differ, in units of the box."""

    left: float
    right: float
    bottom: float
    bars: tuple[float, float]
    bar_foot: float
    ties: tuple[float, ...]
    bolts: tuple[float, float]
    base: str
    pole: str
    head: str
    held: tuple[float, float, float]


_FORMS = {
    "transformer_base": _Form(
        left=7.5, right=16.5, bottom=45, bars=(9.8, 14.2), bar_foot=43.4, ties=(31.5, 35.5, 39.5, 43), bolts=(9.5, 14.5),
        base="M8.2 26.3H15.8L14.6 19.4H9.4Z", pole="M12 19.4V3.4H18", head="M16.6 2H22.2V5.2H16.6Z", held=(5, 19, 46.4),
    ),
    "pedestal_base": _Form(
        left=8.7, right=15.3, bottom=40, bars=(10.6, 13.4), bar_foot=38.4, ties=(31.5, 35, 38.2), bolts=(10.7, 13.3),
        base="M9.2 26.3H14.8L13.1 21.4H10.9Z", pole="M12 21.4V11", head="M12 5.6A2.9 2.9 0 1 0 12.01 5.6Z", held=(6.4, 17.6, 41.6),
    ),
}  # fmt: skip
_STAKE = "M10.9 17.2L13.1 15.6V28L12 32L10.9 28Z"
_TOP_OF_CONCRETE = 26.3
_BOLT_TOP = 22.6
_DASH = "2.2 1.5"
_MOVED = ' transform="translate(14.6 2.6)"'
"""A flag stands where the ring of the next stage would: the ring then goes to the right of the pole."""


def _n(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")


def _path(d: str, paint: str, weight: float, scale: float, dash: str = "", more: str = "") -> str:
    stroke = f' stroke-width="{_n(weight * scale)}"' if weight else ""
    return f'<path d="{d}" class="{paint}"{stroke}' + (f' stroke-dasharray="{dash}"' if dash else "") + more + "/>"


def _hole(form: _Form) -> str:
    return f"M{form.left} {GROUND}V{form.bottom}H{form.right}V{GROUND}"


def _cage(form: _Form) -> str:
    left, right = form.bars
    bars = f"M{left} 30V{form.bar_foot}M{right} 30V{form.bar_foot}"
    return bars + "".join(f"M{left} {tie}H{right}" for tie in form.ties)


def _shaft(form: _Form) -> str:
    return f"M{form.left} {_TOP_OF_CONCRETE}H{form.right}V{form.bottom}H{form.left}Z"


def _bolts(form: _Form) -> str:
    return "".join(f"M{x} {_TOP_OF_CONCRETE}V{_BOLT_TOP}" for x in form.bolts)


def _stipple(form: _Form) -> str:
    """Return aggregate as small dots, in rows that step like stone in mortar; used from 48 px width."""
    dots, row, y = [], 0, _TOP_OF_CONCRETE + 1.6
    while y < form.bottom - 1:
        x = form.left + (1.5 if row % 2 else 2.7)
        while x < form.right - 1:
            dots.append(f"M{_n(x)} {_n(y)}h.01")
            x += 2.4
        y, row = y + 1.9, row + 1
    return "".join(dots)


def _ground(standing: Standing, form: _Form, scale: float) -> str:
    if standing.released >= 2:
        return _path(f"M1 {GROUND}H{form.left}M{form.right} {GROUND}H23", "f-none s-rule-2", 1, scale)
    lines = _path(f"M1 {GROUND}H23", "f-none s-rule-2", 1, scale)
    if standing.released == 0:
        lines += _path("M12 25.5V30.5M9.5 28H14.5", "f-none s-rule-2", 1, scale)
    return lines


def _built(standing: Standing, form: _Form, scale: float, *, stippled: bool) -> str:
    """Return what is released. Only what work replaces is replaced: stake by hole, bolts by base."""
    done, out = standing.released, []
    if done == 1:
        out.append(_path(_STAKE, "f-ink s-ink", 0.5, scale))
    if done in (2, 3):
        out.append(_path(_hole(form), "f-void s-ink", 1.4, scale))
    if done == 3:
        out.append(_path(_cage(form), "f-none s-ink", 1.1, scale))
    if done >= 4:
        out.append(_path(_shaft(form), "f-conc-2 s-ink" if stippled else "f-conc s-ink", 1.4, scale))
        if stippled:
            out.append(_path(_stipple(form), "f-none s-ink", 0.9, scale, more=' stroke-linecap="round"'))
    if done == 4:
        out.append(_path(_bolts(form), "f-none s-ink", 1.4, scale))
    if done >= 5:
        out.append(_path(form.base, "f-ink s-ink", 0.8, scale))
    if done >= 6:
        out.append(_path(form.pole, "f-none s-ink", 1.6, scale) + _path(form.head, "f-ink", 0, scale))
    return "".join(out)


def _next_part(standing: Standing, form: _Form, scale: float) -> str:
    """Return the part of the stage under way, dashed: in line when asked or looked at, in red when reopened."""
    at = standing.released
    if standing.next_state not in UNDER_WAY or at >= len(STAGES):
        return ""
    red = standing.next_state == "reopened"
    paint = "f-none s-red" if red else "f-none s-line"
    if at == 0:
        return _path(_STAKE, paint, 1.1, scale, "2 1.3")
    if at == 3:
        return _path(_shaft(form), "f-none s-red" if red else "f-conc-2 s-line", 1.4, scale, _DASH)
    if at == 5:
        return _path(form.pole, paint, 1.4, scale, _DASH) + _path(form.head, paint, 1.1, scale, "1.6 1.1")
    outline, weight = {1: (_hole(form), 1.4), 2: (_cage(form), 1.1), 4: (form.base, 1.4)}[at]
    return _path(outline, paint, weight, scale, _DASH)


def _state_mark(standing: Standing, scale: float) -> str:
    if standing.held or standing.next_state not in UNDER_WAY or standing.released >= len(STAGES):
        return ""
    place = _MOVED if standing.open_finding else ""
    if standing.next_state == "returned":
        return _path("M8.4 12.6V8.2H2.6M5.4 5.4L2.6 8.2L5.4 11", "f-none s-ink", 1.4, scale, more=place)
    ring = f'<circle cx="4.6" cy="9" r="3.1" class="f-sheet s-line" stroke-width="{_n(1.3 * scale)}"{place}/>'
    if standing.next_state == "notified":
        return ring
    return ring + _path("M4.6 5.9A3.1 3.1 0 0 1 4.6 12.1Z", "f-line", 0, scale, more=place)


def hatching(left: float, top: float, right: float, bottom: float, step: float) -> str:
    """Return path data of 45° lines that fill a box, each cut at its edges: no pattern, so nothing to refer to by name."""
    lines, c = [], left + top + step
    while c < right + bottom:
        x1, x2 = max(left, c - bottom), min(right, c - top)
        lines.append(f"M{_n(x1)} {_n(c - x1)}L{_n(x2)} {_n(c - x2)}")
        c += step
    return "".join(lines)


def _stops(standing: Standing, form: _Form, scale: float) -> str:
    out = ""
    if standing.condition:
        out = _path("M5 20.6L1.6 26.4H8.4Z", "f-sheet s-ink", 1.1, scale)
    if standing.held:
        left, right, bottom = form.held
        # along x + y the lines lie 3.2 √2 apart, so that they stand 3.2 apart across
        out += _path(hatching(left, 29, right, bottom, 4.525), "f-none s-red", 1.5, scale)
        out += _path(f"M{left} 29H{right}V{bottom}H{left}Z", "f-none s-red", 1.2, scale)
        out += _path("M3 29V6", "f-none s-red", 1.6, scale) + _path("M3 6L11.8 9.8L3 13.6Z", "f-red s-red", 1, scale)
    elif standing.open_finding:
        out += _path("M3 29V8", "f-none s-red", 1.3, scale) + _path(
            "M3 8.2L10.4 11.4L3 14.6Z", "f-sheet s-red", 1.3, scale
        )
    return out


def drawing(standing: Standing, width: float = 24) -> str:
    """Return the lines of a glyph in units of its box, for a glyph shown `width` px wide."""
    form = _FORMS[standing.family]
    scale = 0.55 if width >= 48 else 1.0
    built = _ground(standing, form, scale) + _built(standing, form, scale, stippled=width >= 48)
    if standing.abandoned:
        quiet = (
            built.replace("s-ink", "s-rule-2")
            .replace("f-ink", "f-rule-2")
            .replace("f-conc-2", "f-none")
            .replace("f-conc", "f-none")
        )
        return quiet + _path("M4 4L20 46M20 4L4 46", "f-none s-rule-2", 1.6, scale)
    dashed = _next_part(standing, form, scale) if width >= 17 else ""
    return built + dashed + _stops(standing, form, scale) + _state_mark(standing, scale)


def symbol_id(standing: Standing, width: float = 24) -> str:
    """Return the name of a drawing: the same for every foundation that looks the same at this width."""
    facts = [
        ("h", standing.held),
        ("o", standing.open_finding and not standing.held),
        ("c", standing.condition),
        ("x", standing.abandoned),
    ]
    state = standing.next_state if standing.next_state in UNDER_WAY and standing.released < len(STAGES) else ""
    tail = "".join(letter for letter, holds in facts if holds)
    return f"g{int(width)}-{standing.family[0]}{standing.released}{state[:3]}" + (f"-{tail}" if tail else "")


def symbol(standing: Standing, width: float = 24) -> str:
    """Return one SVG symbol. The clear rectangle makes the whole box a target, not only its lines."""
    hit = '<rect class="hit" width="24" height="48"/>'
    return f'<symbol id="{symbol_id(standing, width)}" viewBox="0 0 24 48">{hit}{drawing(standing, width)}</symbol>'


def symbols(standings: Iterable[Standing], width: float = 24) -> str:
    """Return each distinct symbol once, in order of first appearance."""
    distinct = {symbol_id(standing, width): standing for standing in standings}
    return "".join(symbol(standing, width) for standing in distinct.values())


def sprite(standings: Iterable[Standing], width: float = 24) -> SafeString:
    """Return one hidden svg that holds each distinct symbol once, for a page that repeats them with <use>."""
    return mark_safe(
        f'<svg class="sprite" aria-hidden="true" focusable="false"><defs>{symbols(standings, width)}</defs></svg>'
    )


@lru_cache(maxsize=4096)
def picture(standing: Standing, width: float = 24, name: str = "") -> SafeString:
    """Return one whole glyph as inline svg, `width` px wide; `name` is its accessible name, none when words stand beside it."""
    access = f'role="img" aria-label="{escape(name)}"' if name else 'aria-hidden="true"'
    size = f'width="{_n(width)}" height="{_n(2 * width)}"'
    return mark_safe(
        f'<svg class="gl" {size} viewBox="0 0 24 48" {access} focusable="false">{drawing(standing, width)}</svg>'
    )


def sentence(standing: Standing, mark: str, station_text: str, side: str, reason: str = "") -> str:
    """Say in words what the glyph draws: "LP-071, station 274+94 right, cage released, pour held: 7-day cylinders at 71 % of specified".

    `side` is L, R or the word. `reason` is what stands in the way, in words; it ends the sentence.
    """
    parts = [mark, f"station {station_text} {SIDE_WORDS.get(side, side)}".rstrip()]
    done = standing.released
    if standing.abandoned:
        parts.append("abandoned")
    else:
        if done == len(STAGES):
            parts.append("complete")
        elif done:
            parts.append(f"{STAGE_WORDS[done - 1]} released")
        elif standing.next_state not in UNDER_WAY and not standing.held:
            parts.append("not begun")
        parts.extend(_next_words(standing))
    return ", ".join(parts) + (f": {reason}" if reason else "")


def _next_words(standing: Standing) -> list[str]:
    stage = STAGE_WORDS[standing.released] if standing.released < len(STAGES) else ""
    words = []
    if standing.condition:
        words.append("with a condition to meet")
    if standing.open_finding and not standing.held:
        words.append("open finding")
    if standing.held:
        words.append(f"{stage} held".strip())
    elif stage and standing.next_state:
        words.append(f"{stage} {STATE_WORDS[standing.next_state]}")
    return words
