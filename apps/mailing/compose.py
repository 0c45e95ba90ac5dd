"""From letters to mails, at the moment of sending: whether the person is still a member and wants it, whether it is still so, the text.

Letters of one kind on one corridor to one person become one mail, so that a night's inspections are one mail in the morning.
"""

import logging
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property
from itertools import groupby
from typing import Any
from urllib.parse import urlsplit
from uuid import UUID

from django.conf import settings
from django.core.mail import EmailMessage
from django.template.loader import render_to_string

from apps.corridor.models import Corridor
from apps.findings.models import Finding
from apps.followups.models import FollowUp
from apps.holdpoints.models import Condition, HoldPoint, Inspection
from apps.mailing import digest, kinds, lines, papers, stop
from apps.mailing.kinds import KIND
from apps.mailing.lines import Line
from apps.mailing.models import Letter, Paper
from apps.mailing.readers import Reader, readers

log = logging.getLogger(__name__)
SHOWN = 25
"""Lines in one mail; the others are counted."""


@dataclass(frozen=True, slots=True)
class Mail:
    """A mail and the letters that it tells."""

    message: EmailMessage
    letters: list[Letter]


@dataclass(slots=True)
class Kept:
    """Letters that do not go: not at all, with the reason, or later."""

    dropped: list[tuple[Letter, str]] = field(default_factory=list)
    later: list[tuple[Letter, datetime]] = field(default_factory=list)


class Facts:
    """What digests and papers are written from, read once a minute, when the first is asked for."""

    def __init__(self, at: datetime) -> None:
        self.at = at
        self._papers: dict[tuple[str, UUID, str], Paper] = {}

    def paper(self, kind: str, corridor: Corridor, size: str) -> Paper | None:
        """Return the paper of a corridor's day; None while another worker makes it."""
        key = (kind, corridor.pk, size)
        found = self._papers.get(key) or papers.paper(kind, corridor, self.at, size)
        if found is not None:
            self._papers[key] = found
        return found

    @cached_property
    def standings(self) -> dict[UUID, digest.Standing]:
        """How every corridor stands."""
        return digest.read(self.at)


def together(letter: Letter) -> tuple[int, UUID | None, str]:
    """Return what letters of one mail share: person, corridor, kind."""
    return letter.person_id, letter.corridor_id, letter.kind


def mails(batch: Sequence[Letter], facts: Facts, at: datetime) -> tuple[list[Mail], Kept]:
    """Write the mails of a batch; say of each letter that does not go why, or until when it rests."""
    able = readers(at, {letter.person_id for letter in batch})
    things, kept, found = Things(batch, at), Kept(), []
    for (person, corridor, kind), group in groupby(batch, key=together):
        letters = list(group)
        reader = able.get(person)
        if reader is None or (corridor is not None and not reader.roles(corridor) & KIND[kind].roles):
            kept.dropped += [(each, "No member in a role that gets this, or without an address.") for each in letters]
        elif not reader.wants(kind):
            kept.dropped += [(each, "Not wanted any more.") for each in letters]
        elif (free := reader.free_at(at)) > at:
            kept.later += [(each, free) for each in letters]
        else:
            found += _written(letters, reader, facts, things, kept)
    return found, kept


def _written(letters: list[Letter], reader: Reader, facts: Facts, things: "Things", kept: Kept) -> list[Mail]:
    """Write one mail. One that cannot be written is dropped alone and told to the log."""
    try:
        if letters[0].kind in papers.MAKERS:
            return _papers(letters, reader, facts, kept)
        if letters[0].kind == kinds.DIGEST:
            message = _digest(letters[0], reader, facts)
            so = {letter.pk for letter in letters if message is not None}
        else:
            message, so = _news(letters, reader, things)
    except Exception as fault:
        log.exception("a mail of kind %s could not be written", letters[0].kind)
        kept.dropped += [(each, f"It could not be written ({type(fault).__name__}).") for each in letters]
        return []
    kept.dropped += [(each, "No longer so, or nothing to tell.") for each in letters if each.pk not in so]
    return [Mail(message, [each for each in letters if each.pk in so])] if message is not None else []


# ---- single things


class Things:
    """What the letters of a batch are about, as it stands now: a query a sort of thing, none for a sort that no letter names."""

    def __init__(self, batch: Sequence[Letter], at: datetime) -> None:
        self.at = at
        self.points = self._points(batch)
        self.attempts = self._attempts()
        self.findings = self._findings(batch)
        self.conditions = self._conditions(batch)
        self.follow_ups = self._follow_ups(batch)

    def line(self, letter: Letter, corridor: Corridor) -> Line | None:
        """Return the line of a letter; None if it is no longer so."""
        if letter.kind == kinds.CONDITION_DUE:
            condition = self.conditions.get(letter.about)
            return lines.condition_line(condition, corridor, self.at) if condition else None
        if letter.kind == kinds.FOLLOW_UP:
            row = self.follow_ups.get((corridor.pk, letter.about))
            return lines.follow_up_line(row, corridor, self.at) if row else None
        if letter.about.startswith("F-"):
            return self._finding(letter, corridor)
        return self._point(letter, corridor)

    def _finding(self, letter: Letter, corridor: Corridor) -> Line | None:
        finding = self.findings.get((corridor.pk, letter.about))
        decided = finding is not None and finding.state == Finding.State.DECIDED
        if finding is None or (letter.kind == kinds.FINDING_DECIDED and not decided):
            return None
        line = lines.finding_line(finding, corridor, self.at)
        return line if line.late or letter.kind != kinds.FINDING_LATE else None

    def _point(self, letter: Letter, corridor: Corridor) -> Line | None:
        point = self.points.get((corridor.pk, letter.about))
        wanted = HoldPoint.State.RETURNED if letter.kind == kinds.RETURNED else HoldPoint.State.INSPECTED
        if point is None or point.state != wanted:
            return None
        attempt = self.attempts.get(point.pk)
        if letter.kind == kinds.RETURNED:
            return lines.returned_line(point, getattr(attempt, "decision", None), corridor)
        return lines.release_line(point, attempt, corridor, self.at)

    def _points(self, batch: Sequence[Letter]) -> dict[tuple[UUID, str], HoldPoint]:
        named = {(each.corridor_id, each.about) for each in batch if "/" in each.about}
        if not named:
            return {}
        marks = {about.split("/")[0] for _, about in named}
        rows = HoldPoint.objects.standing().filter(
            corridor__in={corridor for corridor, _ in named}, foundation__mark__in=marks
        )
        return {
            (row.corridor_id, f"{row.foundation.mark}/{row.stage}"): row for row in rows.select_related("foundation")
        }

    def _attempts(self) -> dict[UUID, Inspection]:
        if not self.points:
            return {}
        rows = Inspection.objects.filter(hold_point__in=[point.pk for point in self.points.values()])
        return {row.hold_point_id: row for row in rows.select_related("inspector", "decision__by").order_by("attempt")}

    def _findings(self, batch: Sequence[Letter]) -> dict[tuple[UUID, str], Finding]:
        named = {(each.corridor_id, each.about) for each in batch if each.about.startswith("F-")}
        if not named:
            return {}
        numbers = {int(about.removeprefix("F-")) for _, about in named}
        rows = Finding.objects.unsettled().filter(corridor__in={key for key, _ in named}, number__in=numbers)
        return {(row.corridor_id, row.name): row for row in rows.select_related("foundation")}

    def _follow_ups(self, batch: Sequence[Letter]) -> dict[tuple[UUID, str], FollowUp]:
        named = {(each.corridor_id, each.about) for each in batch if each.kind == kinds.FOLLOW_UP}
        if not named:
            return {}
        numbers = {int(about.rpartition(" ")[2]) for _, about in named}
        rows = FollowUp.objects.to_do().filter(corridor__in={key for key, _ in named}, number__in=numbers)
        return {(row.corridor_id, row.name): row for row in rows.select_related("foundation", "finding")}

    def _conditions(self, batch: Sequence[Letter]) -> dict[str, Condition]:
        named = [each.about for each in batch if each.kind == kinds.CONDITION_DUE]
        if not named:
            return {}
        way = "decision__inspection__hold_point__foundation"
        rows = Condition.objects.filter(pk__in=named, met_at=None, **{f"{way}__abandoned_at": None})
        return {str(row.pk): row for row in rows.select_related(way)}


def _news(letters: list[Letter], reader: Reader, things: Things) -> tuple[EmailMessage | None, set[UUID]]:
    """Write the mail of single things; say which letters are in it."""
    kind, corridor = KIND[letters[0].kind], reader.memberships[letters[0].corridor_id][0].corridor  # type: ignore[index]
    told = {letter.pk: line for letter in letters if (line := things.line(letter, corridor))}
    said = list({line.words: line for line in told.values()}.values())
    if not said:
        return None, set()
    what = f"{said[0].name}: {kind.title[0].lower()}{kind.title[1:]}" if len(said) == 1 else f"{len(said)} {kind.many}"
    context = {
        "corridor": corridor,
        "lines": said[:SHOWN],
        "more": len(said) - len(said[:SHOWN]),
        "page": lines.link("board:morning", corridor.slug),
    }
    return _message(letters[0], reader, f"{what} ({corridor.name})", "mailing/news.txt", context), set(told)


# ---- the digest


def _digest(letter: Letter, reader: Reader, facts: Facts) -> EmailMessage | None:
    """Write a person's digest with the heads attached; None where nothing waits for them and nothing happened."""
    sections = digest.sections(reader, facts.standings, facts.at)
    if not sections:
        return None
    number, late = sum(len(each.waits) for each in sections), sum(each.late for each in sections)
    where = sections[0].corridor.name if len(sections) == 1 else f"{len(sections)} corridors"
    said = f"{number} {'waits' if number == 1 else 'wait'} for you" if number else "nothing waits for you"
    subject = f"{where}: {said}{f', {late} of them late' if late else ''}"
    local = facts.at.astimezone(reader.zone)
    context = {"sections": sections, "asked": f"{local:%a %-d %b %Y, %H:%M} {local.tzname()}"}
    message = _message(letter, reader, subject, "mailing/digest.txt", context)
    for each in sections:
        if each.head is not None:
            message.attach(each.head_name, each.head.as_text(), "application/json")
    return message


# ---- papers


def _papers(letters: list[Letter], reader: Reader, facts: Facts, kept: Kept) -> list[Mail]:
    """Write the mail that a paper goes with: of today alone, and later where another worker makes the paper just now."""
    corridor = reader.memberships[letters[0].corridor_id][0].corridor  # type: ignore[index]
    today = [each for each in letters if each.once == corridor.day(facts.at).isoformat()]
    kept.dropped += [(each, "Its day is over.") for each in letters if each not in today]
    if not today:
        return []
    paper = facts.paper(today[0].kind, corridor, reader.wish.paper_size)
    if paper is None:
        kept.later += [(each, facts.at + papers.PAUSE) for each in today]
        return []
    message = _message(today[0], reader, paper.subject, "mailing/paper.txt", {"paper": paper})
    message.attach(paper.name, bytes(paper.content), "application/pdf")
    return [Mail(message, today)]


# ---- all


def _message(letter: Letter, reader: Reader, subject: str, template: str, context: dict[str, Any]) -> EmailMessage:
    """Return a text mail with its ways out: RFC 8058 for the mail program's own button, RFC 3834 so that no machine answers."""
    out = stop.address(reader.person, letter.kind)
    context |= {"reader": reader, "kind": KIND[letter.kind], "out": out, "settings": lines.link("mailing:wishes")}
    return EmailMessage(
        subject=" ".join(subject.split()),
        body=render_to_string(template, context),
        to=[reader.person.email],
        headers={
            # One letter, one name: a server that hands a mail on twice lets the reader's program see that it is the same.
            "Message-ID": f"<{letter.pk}@{urlsplit(settings.SITE_ADDRESS).hostname}>",
            "Auto-Submitted": "auto-generated",
            "List-Unsubscribe": f"<{out}>",
            "List-Unsubscribe-Post": "List-Unsubscribe=One-Click",
        },
    )
