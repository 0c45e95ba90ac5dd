"""The dossier: the record of one foundation on paper, in the order of an audit. It reads the same query as the page.

What the page filters, paper never does: it holds every entry, every decision, every photo. Of an attempt that was not the last it
shows the rows that did not conform; the rest of it stands in the record under the entry that is named.
"""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from itertools import groupby
from typing import Any

from django.utils import timezone

from apps.calc.stages import STAGES, Stage
from apps.calc.stationing import show_station
from apps.corridor.models import Corridor, Foundation
from apps.dossier import queries
from apps.dossier.queries import Attempt, Event, Station
from apps.findings.models import Finding
from apps.holdpoints.models import Inspection
from apps.record import merkle, proofs
from apps.record.canonical import canonical
from apps.record.heads import Kept
from apps.record.photos import is_shown
from apps.requirements.models import Edition, Requirement
from apps.sheet.as_built import AsBuilt
from apps.sheet.marks import VERDICT_WORDS, verdict_key
from apps.sheet.measured import Measured
from apps.sheet.pdf import Carried, on_paper, pdf
from apps.sheet.photos import Shot, caution
from apps.sheet.square import square

TEMPLATE = "dossier/paper/dossier.html"
PHOTOS_A_ROW, LEAVES_A_ROW = 3, 4
SHORT = 900
"""Characters of a check that shares a row with another; a longer one has the whole width."""


@dataclass(frozen=True, slots=True)
class Row:
    """One requirement as measured, with the kind of its source."""

    measured: Measured
    source: str
    calculation: str
    source_title: str

    @property
    def word(self) -> str:
        """Its verdict in words, small for a narrow column."""
        row = self.measured.row
        return VERDICT_WORDS[verdict_key(row.outcome, row.at_limit)].lower()


@dataclass(frozen=True, slots=True)
class Table:
    """One stage: its last attempt whole, of the others what did not conform."""

    number: int
    stage: Stage
    last: Inspection
    rows: list[Row]
    plain: list[tuple[str, list[str]]]
    """What was asked and answered yes, with nothing more to say: kind of source, titles."""
    before: list[tuple[Inspection, list[Row]]]


@dataclass(frozen=True, slots=True)
class Check:
    """One computed check, measured at a hold point or put to the foundation from the Bench."""

    title: str
    question: str
    steps: list[dict[str, Any]]
    sentence: str
    outcome: str
    at_limit: bool
    source: str
    caution: str = ""

    @property
    def is_short(self) -> bool:
        """Whether it fits beside another."""
        words = [self.title, self.question, self.sentence, self.source, self.caution]
        return len("".join(words)) + sum(len(str(step.get("numbers", ""))) for step in self.steps) < SHORT


@dataclass(frozen=True, slots=True)
class Shown:
    """One photo with what stands under it."""

    number: int
    shot: Shot
    stage: str
    entry: int
    stored: bool


@dataclass(frozen=True, slots=True)
class Integrity:
    """What a reader can check without us: the tree's size and root, and the path from the last entry here to that root."""

    size: int
    root: str
    changed_at: datetime
    entry: int
    act: str
    leaf: str
    path: list[str]
    leads_there: bool
    """Whether leaf and path, combined just now, gave the root."""
    signed: Kept | None
    """The signed head; None while the record has none."""
    paths: dict[int, list[str]]
    """Of every entry here, by its number."""


def dossier(
    corridor: Corridor, mark: str, *, at: datetime, address: str, size: str = "letter", form: str = "ua"
) -> bytes:
    """Return the dossier of one foundation. `address` is where its record is read. Foundation.DoesNotExist for an unknown mark."""
    rows = Foundation.objects.select_related("design", "alignment", "crew", "replaces", "successor")
    foundation = rows.get(corridor=corridor, mark=mark)
    with timezone.override(corridor.zone):
        context = assembled(corridor, foundation, at=at, address=address)
        carried = [_carried(context["shown"], context["integrity"])] if form == "archive" else []
        return pdf(TEMPLATE, context, at=at, size=size, form=form, carried=carried)


def assembled(corridor: Corridor, foundation: Foundation, *, at: datetime, address: str) -> dict[str, Any]:
    """Return what the templates of the dossier need."""
    shown = queries.station(corridor, foundation)
    integrity = _integrity(shown)
    tables = list(_tables(shown))
    photos = list(_photos(shown))
    return {
        "corridor": corridor,
        "shown": shown,
        "foundation": foundation,
        "place": f"{show_station(foundation.station_ft)} {foundation.get_side_display()}",
        "now": at,
        "state": _state(shown),
        "complete": shown.released == len(STAGES) and not any(each.is_open for each in shown.findings),
        "concessions": [each.name for each in shown.findings if _left_as_it_is(each)],
        "built": shown.built,
        "drawings": _drawings(shown.built),
        "days": _days(corridor, shown.events),
        "tables": tables,
        "sums": _sums(tables),
        "pairs": list(_pairs(_checks(tables) + _computed(shown))),
        "photo_rows": _filled(_rows_of(photos, PHOTOS_A_ROW), PHOTOS_A_ROW),
        "photo_count": len(photos),
        "photo_caution": caution(corridor.photo_reach_ft) if photos else "",
        "integrity": integrity,
        "leaf_rows": _rows_of(shown.events, LEAVES_A_ROW),
        "address": address,
        "code": square(f"{address}?size={integrity.size}&root={integrity.root}"),
    }


def _rows_of(things: list[Any], number: int) -> list[list[Any]]:
    return [things[first : first + number] for first in range(0, len(things), number)]


def _drawings(built: AsBuilt) -> dict[str, str]:
    """Return the as-built drawings as paper takes them, to scale; empty where nothing was measured."""
    return {
        "section": on_paper(built.section, built.section_pt) if built.section else "",
        "base_plan": on_paper(built.base_plan, built.base_plan_pt) if built.base_plan else "",
    }


def _filled(rows: list[list[Any]], number: int) -> list[list[Any]]:
    """Fill the last row up: a photo alone in it is no wider than the others."""
    return [row + [None] * (number - len(row)) for row in rows]


# ---- cover


def _state(shown: Station) -> str:
    """Say where the foundation stands: what is released, what was found, what was asked."""
    said = []
    if shown.foundation.abandoned_at is None:
        said.append(
            "All six hold points are released."
            if shown.released == len(STAGES)
            else f"{shown.released} of six hold points released."
        )
    count = len(shown.findings)
    still = sum(each.is_open for each in shown.findings)
    if count:
        ends = "all are closed" if not still else f"{still} {'is' if still == 1 else 'are'} open"
        ends = ends if count > 1 or still else "it is closed"
        said.append(f"{count} finding{'s were' if count > 1 else ' was'} raised; {ends}.")
    else:
        said.append("No finding was raised.")
    conditions = [each for _, attempt, _ in shown.decided if (each := getattr(attempt.decision, "condition", None))]
    for each in conditions:
        met = f"met on {each.met_at:%-d %B %Y}" if each.met_at else f"to be met by {each.due_on:%-d %B %Y}"
        said.append(f"A release carried a condition, {met}.")
    return " ".join(said)


def _left_as_it_is(finding: Finding) -> bool:
    last = finding.dispositions.all()
    return bool(last) and last[len(last) - 1].leaves_it


def _days(corridor: Corridor, events: list[Event]) -> list[tuple[date, list[Event]]]:
    return [(day, list(group)) for day, group in groupby(events, key=lambda each: corridor.day(each.entry.received_at))]


# ---- required and measured, computed checks


def _tables(shown: Station) -> Iterator[Table]:
    """Yield a table a stage."""
    editions = {attempt.inspection.edition for _, tried in shown.stages for attempt in tried}
    known = {(rule.edition_id, rule.key): rule for rule in Requirement.objects.filter(edition__in=editions)}
    for number, (stage, tried) in enumerate(shown.stages, start=1):
        *earlier, last = tried
        before = [
            (each.inspection, [row for row in _rows(each, known) if row.measured.row.outcome != "conforms"])
            for each in earlier
        ]
        rows = _rows(last, known)
        plain = [row for row in rows if _is_plain(row)]
        by_source = [
            (source, [row.measured.row.title for row in plain if row.source == source])
            for source in sorted({row.source for row in plain})
        ]
        yield Table(number, stage, last.inspection, [row for row in rows if row not in plain], by_source, before)


def _is_plain(row: Row) -> bool:
    """Whether a row says no more than yes: asked for a yes, answered so, everywhere."""
    found = row.measured.row
    return found.outcome == "conforms" and (found.limit_text, found.value_text) == ("yes", "yes")


def _rows(attempt: Attempt, known: dict[tuple[Any, str], Requirement]) -> list[Row]:
    edition = attempt.inspection.edition
    found = [(each, known.get((edition.pk, each.row.requirement_key))) for each in attempt.measured]
    return [
        Row(each, rule.source_kind.removeprefix("common "), rule.spec.calculation, _source(edition, rule))
        if rule
        else Row(each, "", "", "")
        for each, rule in found
    ]


def _source(edition: Edition, rule: Requirement) -> str:
    """Return where a limit comes from: title, edition and clause."""
    source = edition.sources.get(rule.spec.source, {})
    said = [source.get("title", rule.spec.source), source.get("edition", ""), rule.spec.clause]
    return ", ".join(str(each) for each in said if each)


def _sums(tables: list[Table]) -> str:
    """Count the last attempts' outcomes in words."""
    rows = [row.measured.row for table in tables for row in table.rows]
    plain = sum(len(titles) for table in tables for _, titles in table.plain)
    words = (("conforms", "conform"), ("refer", "refer"), ("nonconforming", "nonconforming"))
    more = (("not_measured", "not measured"), ("not_applicable", "do not apply"))
    counted = [
        (sum(row.outcome == outcome for row in rows) + (plain if outcome == "conforms" else 0), word)
        for outcome, word in words + more
    ]
    at_limit = sum(row.at_limit for row in rows)
    said = [f"{count} {word}" for count, word in counted if count] + ([f"{at_limit} at the limit"] if at_limit else [])
    total = len(rows) + plain
    return f"{total} requirements: {', '.join(said)}" if total else "nothing inspected yet"


def _checks(tables: list[Table]) -> list[Check]:
    """Return the requirements that rest on a calculation, as last judged."""
    return [
        Check(
            title=row.measured.row.title,
            question=f"{table.stage.title}: {row.measured.row.limit_text}",
            steps=row.measured.row.working,
            sentence=row.measured.row.sentence or row.measured.row.headline,
            outcome=row.measured.row.outcome,
            at_limit=row.measured.row.at_limit,
            source=row.source_title,
        )
        for table in tables
        for row in table.rows
        if row.calculation and row.measured.row.working
    ]


def _computed(shown: Station) -> list[Check]:
    """Return the calculations put to the foundation."""
    return [
        Check(
            title=each.title,
            question=f"Put here by {each.by}, entry {each.entry}. {each.note}".strip(),
            steps=each.working,
            sentence=each.sentence,
            outcome="",
            at_limit=False,
            source=f"{each.source} {each.beyond}".strip(),
            caution=each.caution,
        )
        for each in shown.computations
    ]


def _pairs(checks: list[Check]) -> Iterator[list[Check]]:
    """Lay checks out in rows: two short ones beside each other, a long one alone."""
    waiting: list[Check] = []
    for each in checks:
        if not each.is_short:
            yield [each]
            continue
        waiting.append(each)
        if len(waiting) == 2:
            yield waiting
            waiting = []
    if waiting:
        yield waiting


# ---- photos


def _photos(shown: Station) -> Iterator[Shown]:
    """Yield every photo of every attempt, numbered in the order of work."""
    number = 0
    for stage, tried in shown.stages:
        for attempt in tried:
            for shot in attempt.photos.shots:
                number += 1
                entry = attempt.inspection.entry
                yield Shown(number, shot, stage.title, entry, is_shown(shot.photo.attachment.sha256))


# ---- is this record whole


def _integrity(shown: Station) -> Integrity:
    """Return size and root of the record, its signature, and the paths of this station's entries; that of the last is walked here."""
    head, last = shown.head, shown.events[-1].entry
    paths = proofs.inclusion(head.log, (each.entry.sequence for each in shown.events), head.size)
    path = paths[last.sequence]
    try:
        steps = [bytes.fromhex(each) for each in path]
        root = merkle.root_from_inclusion(last.sequence - 1, head.size, bytes.fromhex(last.leaf), steps)
    except ValueError:
        root = b""
    return Integrity(
        size=head.size,
        root=head.root,
        changed_at=head.changed_at,
        entry=last.sequence,
        act=shown.events[-1].words,
        leaf=last.leaf,
        path=path,
        leads_there=root.hex() == head.root,
        signed=Kept(head.statement, head.signature) if head.signature else None,
        paths=paths,
    )


def _carried(shown: Station, integrity: Integrity) -> Carried:
    """Return the record of this foundation as canonical JSON: every entry's text with its leaf, head and path."""
    mark = shown.foundation.mark
    text = canonical(
        {
            "about": "Entries of one foundation. leaf = SHA-256(00, text); node = SHA-256(01, left, right); RFC 9162, section 2.1.",
            "origin": shown.head.origin,
            "log": str(shown.head.log),
            "mark": mark,
            "head": {"size": integrity.size, "root": integrity.root},
            "signed": json.loads(integrity.signed.as_text()) if integrity.signed else None,
            "entries": [
                {
                    "sequence": each.entry.sequence,
                    "text": each.entry.text,
                    "leaf": each.entry.leaf,
                    "path": integrity.paths[each.entry.sequence],
                }
                for each in shown.events
            ],
        }
    )
    return Carried(f"{mark}-record.json", text, f"The entries of {mark} as recorded, with head and inclusion path")
