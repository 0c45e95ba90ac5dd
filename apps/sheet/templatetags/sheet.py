"""Tags and filters that every page shares: glyphs, strip, marks, stations, ages, detail heads. Use: {% load sheet %}."""

import json
from collections.abc import Sequence
from datetime import datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django import template
from django.core.serializers.json import DjangoJSONEncoder
from django.forms import BaseForm
from django.utils.html import format_html
from django.utils.safestring import SafeString

from apps.calc.shown import show
from apps.calc.stages import FAMILIES, STAGES
from apps.calc.stationing import show_station
from apps.corridor.models import Corridor
from apps.materials.models import Computation
from apps.record import heads
from apps.sheet import checks, glyphs, marks
from apps.sheet.drawn import Picture
from apps.sheet.strip import READOUT, Road, Spotted
from apps.sheet.strip import strip as draw_strip

register = template.Library()


@register.simple_tag
def root_foot(corridor: Corridor | None) -> str:
    """Write the newest signed root for the foot of a print: every paper that leaves the house carries one. Empty without one."""
    head = heads.current(corridor.pk) if corridor else None
    return (
        format_html("<span>root {} … {} at entry {}</span>", head.root[:8], head.root[-4:], f"{head.size:,}")
        if head
        else ""
    )


@register.simple_tag
def glyph(standing: glyphs.Standing, size: float = 17, name: str = "") -> SafeString:
    """Draw a foundation, `size` px wide (14, 17, 24, 36). `name` only where no words stand beside it."""
    return glyphs.picture(standing, size, name)


@register.simple_tag
def stage_glyph(stages: int, size: float = 24, family: str = "transformer_base") -> SafeString:
    """Draw a foundation with its first `stages` stages released: heads of tables, tabs, legends."""
    return glyphs.picture(glyphs.Standing(family, stages), size)


@register.simple_tag
def pictures_of(computation: Computation) -> list[Picture]:
    """Return the drawings of a calculation put to a foundation, while it still says what it said."""
    return checks.pictures_of(computation)


@register.simple_tag
def strip(spots: Sequence[Spotted], road: Road, width: int = 1280, rows: int = 0, label: str = "") -> SafeString:
    """Draw the corridor strip `width` px wide; without `rows` the room decides."""
    return draw_strip(spots, road, width=width, rows=rows, label=label)


@register.simple_tag
def readout() -> SafeString:
    """Write the line under a drawing of links that along.js fills with what is under pointer or focus."""
    return READOUT


@register.inclusion_tag("components/glyph_legend.html")
def glyph_legend() -> dict[str, object]:
    """List the glyphs and the marks, for every sheet that draws them."""
    built = [
        (glyphs.Standing("transformer_base", k), "Not begun" if k == 0 else STAGES[k - 1].title)
        for k in range(len(STAGES) + 1)
    ]
    states = [
        ("notified", "notified"),
        ("inspected", "awaiting release"),
        ("held", "held"),
        ("finding", "open finding"),
        ("condition", "released with condition"),
    ]
    return {"built": built, "states": states}


@register.filter
def station(value: Decimal | Fraction | float, digits: int = 2) -> str:
    """Write a station in ft as 231+40.00; `|station:0` to the foot, 231+40."""
    if digits == 0:
        return show_station(Fraction(round(value))).removesuffix(".00")
    return show_station(Fraction(value) if isinstance(value, float) else value)


@register.filter
def as_json(value: Any) -> str:
    """Write a value as JSON for a data attribute, where a script of ours reads it; templates escape it like any text."""
    return json.dumps(value, cls=DjangoJSONEncoder)


@register.filter
def side(value: str) -> str:
    """Write L as left, R as right."""
    return glyphs.SIDE_WORDS.get(value, value)


@register.filter
def family(value: str) -> str:
    """Write a family key as its words."""
    return FAMILIES[value]


def age_words(span: timedelta) -> str:
    """Write a span as "35 min", "23 h", "1 d 2 h"; from three days on in whole days."""
    minutes = max(int(span.total_seconds()) // 60, 0)
    days, hours = divmod(minutes // 60, 24)
    if minutes < 60:
        return f"{minutes} min"
    if days == 0:
        return f"{hours} h"
    return f"{days} d {hours} h" if hours and days < 3 else f"{days} d"


@register.simple_tag
def age(since: datetime, now: datetime, promised: timedelta | None = None) -> str:
    """Write how long since; past the promise in ochre and with the word late."""
    span = now - since
    if promised is not None and span > promised:
        return format_html('<span class="late nb">{} <span class="vh">, </span>late</span>', age_words(span))
    return format_html('<span class="nb">{}</span>', age_words(span))


@register.simple_tag
def verdict_mark(outcome: str, at_limit: bool = False, size: float = 13) -> SafeString:
    """Draw the mark of a verdict; its word stands beside it."""
    return marks.verdict_mark(outcome, at_limit, size)


@register.simple_tag
def verdict(outcome: str, at_limit: bool = False, size: float = 13) -> SafeString:
    """Write mark and word of a verdict."""
    word = marks.VERDICT_WORDS[marks.verdict_key(outcome, at_limit)]
    return format_html('<span class="mark-word">{}{}</span>', marks.verdict_mark(outcome, at_limit, size), word)


@register.simple_tag
def state_mark(state: str, size: float = 14) -> SafeString:
    """Draw the mark of a state; its word stands beside it."""
    return marks.state_mark(state, size)


@register.simple_tag
def margin_bar(
    limits: marks.Limits | Sequence[float | None], value: float | None, outcome: str, width: float = 150
) -> SafeString:
    """Draw how far a reading stands from its limits; value and margin are written beside it."""
    return marks.margin_bar(limits, value, outcome, width)


@register.simple_tag
def detail(number: int | str, title: str, fact: str = "") -> SafeString:
    """Write the head of a detail: ringed number, underlined heading, one short fact. The section says aria-labelledby="detail-N"."""
    said = format_html('<p class="fact">{}</p>', fact) if fact else ""
    return format_html(
        '<header class="detail-head"><span class="ring" aria-hidden="true">{}</span><h2 id="detail-{}">{}</h2>{}</header>',
        number,
        number,
        title,
        said,
    )


@register.simple_tag
def invalid_fields(form: BaseForm) -> list[dict[str, object]]:
    """Return the fields of a form that have errors, each with its label and the id to go to."""
    return [{"label": field.label, "id": field.id_for_label or field.auto_id} for field in form if field.errors]


@register.filter
def inches(value: Decimal) -> str:
    """Write inches as the trade does: 17 1/4 in."""
    return show(Fraction(value), "in")


@register.filter
def feet_inches(value: Decimal) -> str:
    """Write a length in inches as feet and inches: 8 ft 0 in."""
    return show(Fraction(value), "in", "feet_inches")


@register.filter
def feet(value: Decimal) -> str:
    """Write feet: 35 ft."""
    return show(Fraction(value), "ft")
