"""How old open findings are, in bands of days: the same on the morning sheet and in the register's filter."""

from datetime import date, timedelta
from typing import NamedTuple

from django.db.models import QuerySet

from apps.corridor.models import Corridor
from apps.findings.models import Finding


class Band(NamedTuple):
    """Ages from and to so many days, both counted in; no end: any age over."""

    key: str
    words: str
    first: int
    last: int | None


BANDS = (
    Band("0-3", "to 3 d", 0, 3),
    Band("4-7", "4 to 7 d", 4, 7),
    Band("8-14", "8 to 14 d", 8, 14),
    Band("15-", "over 14 d", 15, None),
)


def band_of(finding: Finding, corridor: Corridor, today: date) -> Band:
    """Return the band of a finding on a day of its corridor."""
    days = (today - corridor.day(finding.raised_at)).days
    return next(band for band in BANDS if band.last is None or days <= band.last)


def within(rows: QuerySet[Finding], key: str, corridor: Corridor, today: date) -> QuerySet[Finding]:
    """Keep the open ones of a band."""
    band = next(each for each in BANDS if each.key == key)
    rows = rows.exclude(state=Finding.State.CLOSED)
    if band.first:
        rows = rows.filter(raised_at__lt=corridor.day_begins(today - timedelta(days=band.first - 1)))
    if band.last is not None:
        rows = rows.filter(raised_at__gte=corridor.day_begins(today - timedelta(days=band.last)))
    return rows
