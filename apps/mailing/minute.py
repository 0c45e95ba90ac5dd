"""Mail in the worker's minute: read the record on, see what is due, send."""

from datetime import datetime
from threading import Event

from apps.jobs.minute import each_minute
from apps.mailing import due, news, outbox, papers


@each_minute("mail")
def mail(at: datetime, stop: Event) -> None:
    """Make the letters of what happened and of what is due, then send those that may go."""
    outbox.reap(at)
    news.read(at)
    due.find(at)
    outbox.send(at, stop)
    outbox.clear(at)
    papers.clear(at)
