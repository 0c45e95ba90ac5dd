"""The morning sheet in a mail: its numbers as text with the addresses of their rows, and its page of paper."""

from datetime import datetime
from html import unescape

from django.conf import settings
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.html import strip_tags

from apps.board import paper, queries
from apps.corridor.models import Corridor
from apps.mailing import kinds, lines
from apps.mailing.papers import Made, goes_with


@goes_with(kinds.MORNING)
def morning_mail(corridor: Corridor, at: datetime, size: str) -> Made:
    """Make text and paper of one morning from one reading. The corridor comes with its counts."""
    with timezone.override(corridor.zone):
        sheet = queries.morning(corridor, at)
        context = paper.context_of(corridor, sheet, at) | {
            "site": settings.SITE_ADDRESS,
            "page": lines.link("board:morning", corridor.slug),
        }
        said = unescape(strip_tags(render_to_string("board/_say.html", context)))
        text = render_to_string("board/morning_mail.txt", context | {"said": " ".join(said.split())})
        releases = sheet.parties[0]
        waits = f"{releases.number} {'release waits' if releases.number == 1 else 'releases wait'}"
        return Made(
            f"{corridor.name}, {corridor.day(at):%a %-d %b}: {sheet.percent} % complete, {waits}",
            text,
            paper.name_of(corridor, at),
            paper.printed(corridor, sheet, at, size=size),
        )
