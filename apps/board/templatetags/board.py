"""Words and small drawings of the morning sheet."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from decimal import Decimal

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from apps.board.queries import Flow, Wait, Week
from apps.calc.stages import STAGE_BY_KEY
from apps.sheet.templatetags.sheet import age_words

register = template.Library()


@register.filter
def up_or_down(change: Decimal) -> str:
    """Say a change of percent complete: 0.9 up, 0.2 down, the same."""
    if change == 0:
        return "the same"
    return f"{abs(change)} {'up' if change > 0 else 'down'}"


@register.filter
def made(flow: Sequence[Flow]) -> int:
    """Return the releases made."""
    return sum(each.released for each in flow)


@register.filter
def total(flow: Sequence[Flow]) -> int:
    """Return the releases to make."""
    return sum(each.total for each in flow)


@register.filter
def made_of(releases: int, wanted: int) -> str:
    """Say how many of how many releases are made."""
    return f"{wanted} releases to make, {releases} made"


@register.filter
def open_now(number: int) -> str:
    """Say how many hold points are open."""
    return f"{number} open"


@register.filter
def span(promise: timedelta) -> str:
    """Say a promised time: 4 h, 1 d."""
    return age_words(promise)


@register.filter
def late(wait: Wait, now: datetime) -> int:
    """Return how many wait longer than promised."""
    return wait.late(now)


@register.filter
def to_do(stage: str) -> str:
    """Say a stage as an order: set base."""
    words = STAGE_BY_KEY[stage].to_do
    return words[:1].upper() + words[1:]


@register.simple_tag
def week_bars(weeks: Sequence[Week]) -> SafeString:
    """Draw releases per week as bars with their table; the running week is hatched."""
    if not weeks:
        return mark_safe('<p class="q">No release yet.</p>')  # noqa: S308 - a constant
    most = max(week.released for week in weeks) or 1
    wide, high = 360.0, 110.0
    step = wide / len(weeks)
    bars = []
    for place, week in enumerate(weeks):
        tall = (high - 26) * week.released / most
        left, top = place * step + 2, high - 14 - tall
        paint = "f-conc" if week.whole else "f-line-3 s-line"
        bars.append(
            f'<path d="M{left:.1f} {high - 14:.1f}v{-tall:.1f}h{step - 4:.1f}v{tall:.1f}z" class="{paint}" stroke-width="1"/>'
            f'<text x="{left + step / 2 - 2:.1f}" y="{top - 3:.1f}" text-anchor="middle" class="f-ink" font-size="11">{week.released}</text>'
        )
    first, last = weeks[0].monday, weeks[-1].monday
    axis = (
        f'<path d="M0 {high - 14}H{wide}" class="f-none s-ink" stroke-width="1"/>'
        f'<text x="0" y="{high - 2}" class="f-ink-2" font-size="11">{first:%-d %b}</text>'
        f'<text x="{wide}" y="{high - 2}" text-anchor="end" class="f-ink-2" font-size="11">this week</text>'
    )
    label = f"Releases per week from {first:%-d %b} to {last:%-d %b}: most {most}, this week {weeks[-1].released}"
    drawing = mark_safe("".join(bars) + axis)  # noqa: S308 - numbers only
    rows = [format_html("<tr><th scope='row'>{}</th><td class='r'>{}</td></tr>", f"{w.monday:%-d %b}", w.released) for w in weeks]
    return format_html(
        '<svg class="drawing" viewBox="0 0 {} {}" role="img" aria-label="{}">{}</svg>'
        "<details><summary>The same as a table</summary><table class='table'><tbody>{}</tbody></table></details>",
        wide,
        high,
        label,
        drawing,
        mark_safe("".join(rows)),  # noqa: S308 - escaped above
    )
