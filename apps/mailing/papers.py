"""Papers that go with a kind of mail. An app above makes them: it registers a function `(corridor, at, size)` with `@goes_with(kind)`.

A paper is made once for a corridor, day and size, by the worker that sends the first mail of it, and kept for the others: its row is put
in before it is made, so that a second worker finds it begun and waits, and a third mail costs a read. A worker killed over it leaves it
begun; after a while another one begins again.
"""

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import NamedTuple

from django.db.models import QuerySet

from apps.corridor.models import Corridor
from apps.mailing.models import Paper

SILENCE = timedelta(minutes=15)
"""A paper that was begun so long ago has lost its worker."""
PAUSE = timedelta(minutes=1)
"""After so long it is asked again for a paper that another worker makes."""
KEPT = timedelta(days=3)


class Made(NamedTuple):
    """What a maker gives back."""

    subject: str
    text: str
    """The numbers of the paper, for those who read the mail alone."""
    name: str
    """Of the file, with its ending."""
    content: bytes


Maker = Callable[[Corridor, datetime, str], Made]
MAKERS: dict[str, Maker] = {}


def goes_with(kind: str) -> Callable[[Maker], Maker]:
    """Register what makes the paper of a kind. ValueError for a kind that has one."""

    def register(maker: Maker) -> Maker:
        if kind in MAKERS:
            raise ValueError(f"a paper goes with {kind!r} already")
        MAKERS[kind] = maker
        return maker

    return register


def paper(kind: str, corridor: Corridor, at: datetime, size: str) -> Paper | None:
    """Return the paper of the corridor's day, made now if it was not yet; None while another worker makes it."""
    key = {"kind": kind, "corridor": corridor, "day": corridor.day(at), "size": size}
    rows = Paper.objects.filter(**key)
    found = rows.first()
    if found is not None and found.made_at is not None:
        return found
    begun = _begin_again(rows, at) if found is not None else _begin(key, at)
    if begun is None:
        return None
    try:
        made = MAKERS[kind](corridor, at, size)
    except Exception:
        begun.delete()  # the next mail tries again
        raise
    begun.subject, begun.text, begun.name, begun.content = made
    begun.made_at = at
    begun.save()
    return begun


def _begin(key: dict[str, object], at: datetime) -> Paper | None:
    """Put the row in; None where another worker was first."""
    found, new = Paper.objects.get_or_create(**key, defaults={"begun_at": at})
    return found if new else None


def _begin_again(rows: QuerySet[Paper], at: datetime) -> Paper | None:
    """Take over what a killed worker had begun; None where it is being made."""
    taken = rows.filter(made_at=None, begun_at__lt=at - SILENCE).update(begun_at=at)
    return rows.first() if taken else None


def clear(at: datetime) -> None:
    """Forget papers of days that are over."""
    old = Paper.objects.filter(begun_at__lt=at - KEPT)
    if old.exists():
        old.delete()
