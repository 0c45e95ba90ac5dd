"""The kinds of job. A kind is a function of an app above: `@kind("dossiers", "Dossiers of a corridor", minutes=60)`.

It is called with the job and a Report, works in steps, says after each how far it is, and writes its result, if it has one, to
`report.file(name)`. What it reads may have changed since it was asked for; it writes nothing of the domain, or does so by acts.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from apps.jobs.models import Job
    from apps.jobs.queue import Report

Work = Callable[["Job", "Report"], None]


class UnknownKind(KeyError):
    """A kind of job that no installed app offers."""


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of job."""

    name: str
    title: str
    work: Work
    limit: timedelta
    """After this long it is stopped and said to have failed."""


KINDS: dict[str, Kind] = {}


def kind(name: str, title: str, *, minutes: float) -> Callable[[Work], Work]:
    """Register a function as a kind of job. ValueError for a name that is taken."""

    def register(work: Work) -> Work:
        if name in KINDS:
            raise ValueError(f"a kind of job is named {name!r} already")
        KINDS[name] = Kind(name, title, work, timedelta(minutes=minutes))
        return work

    return register


def find(name: str) -> Kind:
    """Return a kind by its name. UnknownKind with the names that there are."""
    if name not in KINDS:
        raise UnknownKind(f"there is no kind of job named {name!r}; known are {', '.join(sorted(KINDS)) or 'none'}")
    return KINDS[name]
