"""The Morning sheet on one page of paper, across: what the page shows, for the meeting's wall and for the mail.

Nothing here runs over the page. What could be long is bounded: rows of a detail by number, the strip by height, what people typed by
lines. What is left out is counted, and the page, which the sheet names, has the rows behind every number.
"""

import re
from collections.abc import Sequence
from datetime import datetime
from typing import Any, NamedTuple

from django.conf import settings
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.safestring import SafeString, mark_safe

from apps.board import queries, waits
from apps.board.addresses import addresses
from apps.board.charts import HEIGHT, WIDTH
from apps.board.meeting.followups import due_first
from apps.board.queries import Morning
from apps.board.road import Course
from apps.corridor.models import Corridor
from apps.findings import ages
from apps.sheet import inks
from apps.sheet.frame import titleblock_of
from apps.sheet.pdf import on_paper, pdf
from apps.sheet.strip import strip

TEMPLATE = "board/morning_paper.html"
WIDE_PT = {"letter": 724.0, "A4": 774.0}
"""Inside the border of the sheet, by paper."""
HIGH_PT = {"letter": 196.0, "A4": 186.0}
"""What the strips of all alignments may take together."""
SCALES = ((0, 0.56), (0, 0.54), (1, 0.56), (1, 0.5), (1, 0.44))
"""How the strip is drawn: rows (0: as the room asks) and points a pixel, until all alignments stand within the height."""
NOTICES, FOLLOW_UPS, CREWS = 2, 3, 3
"""Rows of these details; of the others the sheet itself shows few."""
WAITS_PT, WEEKS_PT = 186.0, 156.0
WAITS_TEXT, WEEKS_TEXT = 16, 15
"""Size of the words in the two small drawings, in their own units: 7 pt as printed."""
_SVG = re.compile(r"<svg\b.*?</svg>", re.DOTALL)


class Strip(NamedTuple):
    """One alignment drawn."""

    title: str
    """Empty where it is the only one."""
    drawn: SafeString


def morning_paper(corridor: Corridor, at: datetime, *, size: str = "letter") -> bytes:
    """Return the sheet as a PDF of one page. The corridor comes with its counts. ValueError for another size than pdf.SIZES."""
    with timezone.override(corridor.zone):
        return printed(corridor, queries.morning(corridor, at), at, size=size)


def printed(corridor: Corridor, sheet: Morning, at: datetime, *, size: str = "letter") -> bytes:
    """Return a sheet that was read before as a PDF; times are written in the zone that is active."""
    context = assembled(corridor, sheet, at, size=size)
    return pdf(TEMPLATE, context, at=at, size=size, across=True, address=settings.SITE_ADDRESS)


def assembled(corridor: Corridor, sheet: Morning, at: datetime, *, size: str = "letter") -> dict[str, Any]:
    """Return what the template of the paper needs. KeyError for a size that has no width here."""
    context = context_of(corridor, sheet, at)
    strips, left_out = strips_of(sheet.courses, size) if sheet.courses else ([], 0)
    stations = sheet.courses[0].reach if len(sheet.courses) == 1 else f"{len(sheet.courses)} alignments"
    return context | {
        "size": size,
        "percent_bar": bar(float(sheet.percent), 100, 102),
        "released_bars": [(each, bar(each.released, sheet.tally.foundations, 30)) for each in sheet.flow],
        "strips": strips,
        "strips_left_out": left_out,
        "waits": drawings(render_to_string("board/_waits.html", context), WAITS_PT, WAITS_TEXT),
        "weeks": drawings(render_to_string("board/_weeks.html", context), WEEKS_PT, WEEKS_TEXT),
        "notices": sheet.notices[:NOTICES],
        "notices_left_out": sheet.notified_today - sum(len(each.rows) for each in sheet.notices[:NOTICES]),
        "follow_ups_shown": context["follow_ups"].rows[:FOLLOW_UPS],
        "crews": sheet.output[:CREWS],
        "titleblock": titleblock_of(
            corridor,
            at,
            ("Stations", stations if sheet.courses else "none yet"),
            ("Foundations", sheet.families_words or "none yet"),
        ),
    }


def context_of(corridor: Corridor, sheet: Morning, at: datetime) -> dict[str, Any]:
    """Return what the parts of the sheet need wherever they are drawn: on the page, on paper, in a mail."""
    return addresses(corridor) | {
        "corridor": corridor,
        "sheet": sheet,
        "now": at,
        "chart": {"width": WIDTH, "height": HEIGHT},
        "axis": {"width": waits.WIDTH, "ticks": waits.ticks()},
        "ages": ages.BANDS,
        "follow_ups": due_first(corridor),
        "today": corridor.day(at),
    }


def name_of(corridor: Corridor, at: datetime) -> str:
    """Return the file name of a day's sheet."""
    return f"{corridor.slug}-morning-{corridor.day(at):%Y-%m-%d}.pdf"


# ---- drawings


def strips_of(courses: Sequence[Course], size: str) -> tuple[list[Strip], int]:
    """Return the alignments drawn within the height that they share, and how many found no room even when drawn small."""
    wide_pt, high_pt = WIDE_PT[size], HIGH_PT[size]
    for rows, scale in SCALES:
        drawn = [_strip(each, wide_pt, rows, scale) for each in courses]
        if sum(map(high_of, drawn)) <= high_pt:
            break
    fit: list[SafeString] = []
    left = high_pt
    for each in drawn:
        left -= high_of(each)
        if left < 0 and fit:
            break
        fit.append(each)
    several = len(courses) > 1
    titles = [f"{each.alignment.name}, {each.reach}" if several else "" for each in courses]
    return [Strip(title, each) for title, each in zip(titles, fit, strict=False)], len(courses) - len(fit)


def _strip(course: Course, wide_pt: float, rows: int, scale: float) -> SafeString:
    svg = _SVG.search(strip(course.spots, course.road, width=round(wide_pt / scale), rows=rows))
    assert svg is not None, "a strip is one drawing"
    return _drawing(svg[0], wide_pt, 13)


def high_of(svg: str) -> float:
    """Return how high a drawing stands on paper, with the line over it, pt."""
    found = re.search(r'height="([\d.]+)pt"', svg)
    assert found is not None, "a drawing on paper has its size"
    return float(found[1]) + 2


def bar(done: float, whole: float, wide_pt: float) -> SafeString:
    """Return how much of a whole is done as a bar, its outline the whole. The figure stands beside it."""
    part = wide_pt * min(max(done / whole, 0), 1) if whole else 0
    svg = (
        f'<svg class="bar" aria-hidden="true" viewBox="0 0 {wide_pt:g} 5"><path class="f-line-3 s-rule-2" stroke-width=".6" '
        f'd="M.3 .3H{wide_pt - 0.3:g}V4.7H.3Z"/><path class="f-ink" d="M0 0H{part:.1f}V5H0Z"/></svg>'
    )
    return on_paper(svg, wide_pt)  # type: ignore[return-value]


def drawings(html: str, wide_pt: float, text: float) -> SafeString:
    """Return a part of the page with its drawings as paper takes them, the words in them `text` of their units high."""
    return mark_safe(_SVG.sub(lambda found: _drawing(found[0], wide_pt, text), html))


def _drawing(svg: str, wide_pt: float, text: float) -> SafeString:
    """Return a drawing with its words' size and the few classes written into it that a page gives by its stylesheet."""
    styled = on_paper(svg, wide_pt).replace("<svg ", f'<svg font-size="{text:g}" ', 1)
    head, sep, rest = styled.partition(">")
    return mark_safe(f"{head}{sep}<style>{_style()}</style>{rest}")


def _style() -> str:
    ink = inks.paper()
    return (
        f"text.own{{fill:{ink['ink']};font-size:12px}}"
        f"text.crew{{fill:{ink['on-ink']};font-weight:600}}text.tight{{font-size:11px}}"
        f"text.count{{fill:{ink['red']};font-weight:600}}.hit{{fill:none}}"
    )
