"""The bundle: a zip of one station, of several, or of the whole record, that proves itself on the reader's own computer.

Everything in it is read from the database at one signed head. `verify.py` is put together from the modules that check: it needs
nothing but Python.
"""

import csv
import inspect
import io
import json
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from datetime import datetime
from typing import IO, Any
from zipfile import ZIP_DEFLATED, ZIP_STORED, ZipFile, ZipInfo

from django.core.files.storage import default_storage
from django.db.models import Q

from apps.corridor.models import Corridor, Foundation
from apps.holdpoints.models import Measurement, Photo
from apps.materials.models import Certificate
from apps.record import canonical, ed25519, heads, merkle, offline, proofs, rows
from apps.record.heads import Kept
from apps.record.models import Attachment, Entry
from apps.record.papers import PDF
from apps.record.photos import sealed_name, shown_name
from apps.sheet import wording
from apps.sheet.cells import safe_cell

KEY_ACTS = ("open_corridor", "change_key")
PAPER_ACTS = ("add_certificate", "add_locate_ticket", "calibrate", "accept_product", "add_curve")
PAPERS = (
    "materials_certificate",
    "materials_locateticket",
    "materials_instrument",
    "materials_acceptedproduct",
    "materials_maturitycurve",
)
"""Tables of papers that speak for the whole corridor: every bundle holds them."""
OF_FOUNDATION: dict[str, str] = {
    "corridor_foundation": "pk",
    "holdpoints_holdpoint": "foundation",
    "holdpoints_notice": "hold_point__foundation",
    "holdpoints_inspection": "hold_point__foundation",
    "holdpoints_measurement": "foundation",
    "holdpoints_photo": "inspection__hold_point__foundation",
    "holdpoints_holelook": "foundation",
    "holdpoints_decision": "inspection__hold_point__foundation",
    "holdpoints_condition": "decision__inspection__hold_point__foundation",
    "holdpoints_reopening": "hold_point__foundation",
    "findings_finding": "foundation",
    "findings_disposition": "finding__foundation",
    "findings_answer": "finding__foundation",
    "findings_verification": "finding__foundation",
    "followups_followup": "foundation",
    "materials_concreteload": "placements__foundation",
    "materials_placement": "foundation",
    "materials_strengthtest": "load__placements__foundation",
    "materials_computation": "foundation",
    "materials_lotuse": "foundation",
    "materials_maturityreading": "foundation",
}
"""Table → the way from a row to its foundation: the rows that the bundle of a station holds."""

MEASURED = (
    "stage", "attempt", "requirement", "title", "limit", "readings", "value", "unit", "verdict", "margin", "reason", "read with",
    "entry",
)  # fmt: skip
CERTIFIED = ("covers", "number", "heat or lot", "received", "until", "note", "SHA-256 of the paper")
HAPPENED = ("entry", "received", "device", "what", "by", "role", "leaf hash")

Progress = Callable[[int, int, str], None]
Paper = Callable[[Foundation], bytes]


class Bundle:
    """A zip under way: files are dated by the head, so that equal content gives equal bytes."""

    def __init__(self, file: IO[bytes], at: datetime) -> None:
        """Begin an empty zip."""
        self.zip = ZipFile(file, "w", ZIP_DEFLATED)
        self.at = at.timetuple()[:6]

    def add(self, name: str, content: str | bytes) -> None:
        """Add one file; pictures are not packed again."""
        entry = ZipInfo(name, self.at)
        entry.compress_type = ZIP_STORED if name.endswith((".jpg", ".png", ".webp", ".pdf")) else ZIP_DEFLATED
        entry.external_attr = 0o644 << 16
        self.zip.writestr(entry, content)


def script() -> str:
    """Return verify.py: the modules that check, one after the other, without their imports of each other."""
    parts = []
    for module in (canonical, merkle, ed25519, offline):
        lines = inspect.getsource(module).split("\n")
        parts.append("\n".join(line for line in lines if not line.startswith("from apps.")))
    return "\n\n".join(parts)


def entries_of(corridor: Corridor, marks: list[str], size: int) -> list[Entry]:
    """Return the entries of a bundle: of the foundations, of the papers, and those that say which key signs; all for no marks."""
    found = Entry.objects.of_log(corridor.pk).filter(sequence__lte=size)
    return list(found.filter(Q(mark__in=marks) | Q(act__in=KEY_ACTS + PAPER_ACTS)) if marks else found)


def write(
    file: IO[bytes],
    corridor: Corridor,
    foundations: list[Foundation],
    *,
    whole: bool = False,
    originals: bool = False,
    paper: Paper | None = None,
    progress: Progress = lambda done, total, now: None,
) -> Kept:
    """Write a bundle of these foundations; `whole`: with every entry and row of the record. Returns the head that it proves against.

    `originals`: photos as they were sealed, with whatever the phone wrote into them; else re-encoded copies, which prove nothing.
    `paper` gives the dossier of a foundation as PDF.
    """
    head = heads.current(corridor.pk)
    if head is None:
        raise ValueError("The record has no entry yet.")
    bundle = Bundle(file, datetime.fromisoformat(str(head.said["at"])))
    marks = [] if whole else [each.mark for each in foundations]
    entries = entries_of(corridor, marks, head.size)
    bundle.add("README.txt", _readme(corridor, head, foundations, whole=whole, originals=originals))
    bundle.add("verify.py", script())
    bundle.add("head.json", head.as_text())
    bundle.add("entries.jsonl", "".join(f"{each.text}\n" for each in entries))
    if not whole:
        paths = proofs.inclusion(corridor.pk, (each.sequence for each in entries), head.size)
        bundle.add("proofs.json", json.dumps({"size": head.size, "paths": paths}))
    bundle.add("heads.json", json.dumps(list(_earlier(corridor, head, with_proofs=not whole))))
    bundle.add("rows.jsonl", "".join(f"{line}\n" for line in _rows(corridor, foundations, whole=whole)))
    bundle.add("certificates.csv", _table(CERTIFIED, _certified(corridor)))
    _papers(bundle, corridor, entries, originals=originals)
    by_mark: dict[str, list[Entry]] = defaultdict(list)
    for entry in entries:
        by_mark[entry.mark].append(entry)
    for done, foundation in enumerate(foundations, start=1):
        _station(bundle, foundation, by_mark[foundation.mark], originals=originals, paper=paper)
        progress(done, len(foundations), foundation.mark)
    bundle.zip.close()
    return head


def _earlier(corridor: Corridor, head: Kept, *, with_proofs: bool) -> Iterator[dict[str, Any]]:
    """Yield the last head of each day, as a digest that somebody kept would have it, with the proof that the record extends it."""
    for row in heads.daily(corridor.pk, corridor.day, head.size).values():
        kept = Kept(row.statement, row.signature)
        steps = proofs.consistency(corridor.pk, kept.size, head.size) if with_proofs else []
        yield {"statement": kept.said, "signature": kept.signature, "proof": steps}


def _rows(corridor: Corridor, foundations: Iterable[Foundation], *, whole: bool) -> Iterator[str]:
    """Yield the rows as the entries digested them."""
    keys = [each.pk for each in foundations]
    for table, way in rows.RECORDED.items():
        if not whole and table not in (*OF_FOUNDATION, *PAPERS):
            continue
        of_corridor = whole or table in PAPERS
        chosen = {way: corridor.pk} if of_corridor else {f"{OF_FOUNDATION[table]}__in": keys}
        for row in (
            rows.model_of(table)._default_manager.filter(**chosen).distinct().order_by("pk").iterator(chunk_size=2000)
        ):
            yield canonical.canonical({"table": table, "key": str(row.pk), "columns": rows.columns(row)})


def _certified(corridor: Corridor) -> Iterator[tuple[object, ...]]:
    for each in Certificate.objects.filter(corridor=corridor).select_related("paper"):
        paper = each.paper.sha256 if each.paper else ""
        yield (
            each.get_covers_display(),
            each.number,
            each.lot,
            each.received_on,
            each.valid_until or "",
            each.note,
            paper,
        )


def _papers(bundle: Bundle, corridor: Corridor, entries: Iterable[Entry], *, originals: bool) -> None:
    """Add the files of papers that the entries name: a PDF as it was sealed; of a picture a copy, unless originals are asked for."""
    named = {digest for entry in entries for digest in offline.papers_named(entry.payload)}
    for row in Attachment.objects.filter(log=corridor.pk, sha256__in=named).order_by("sha256"):
        if originals or row.kind == PDF:
            _stored(bundle, sealed_name(row.sha256), f"papers/original-{row.sha256}.{_ending(row)}")
        else:
            _stored(bundle, shown_name(row.sha256), f"papers/copy-{row.sha256}.jpg")


def _table(head: Iterable[str], lines: Iterable[Iterable[object]]) -> str:
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(head)
    writer.writerows([safe_cell(cell) for cell in line] for line in lines)
    return out.getvalue()


def _station(
    bundle: Bundle, foundation: Foundation, entries: list[Entry], *, originals: bool, paper: Paper | None
) -> None:
    """Add what a person reads of one foundation: measurements, history, dossier, photos."""
    folder = f"stations/{foundation.mark}"
    bundle.add(f"{folder}/measurements.csv", _table(MEASURED, _measured(foundation)))
    history = [
        (
            e.sequence,
            e.received_at.isoformat(),
            e.device_at.isoformat(),
            wording.sentence(e),
            e.actor_name,
            e.role,
            e.leaf,
        )
        for e in entries
    ]
    bundle.add(f"{folder}/history.csv", _table(HAPPENED, history))
    if paper is not None:
        bundle.add(f"{folder}/dossier.pdf", paper(foundation))
    photos = Photo.objects.filter(inspection__hold_point__foundation=foundation)
    for photo in photos.select_related("attachment", "inspection__hold_point").order_by("pk"):
        _photo(bundle, foundation, photo, originals=originals)


def _measured(foundation: Foundation) -> Iterator[tuple[object, ...]]:
    found = Measurement.objects.filter(foundation=foundation).select_related("inspection", "instrument")
    for row in found.order_by("inspection__entry", "place"):
        read = "; ".join(f"{each['place']} {each['typed']} {each['unit']}".strip() for each in row.readings)
        yield (
            row.stage, row.inspection.attempt, row.requirement_key, row.title, row.limit_text, read, row.value_text, row.unit,
            row.outcome, row.margin_text, row.reason, row.instrument.name if row.instrument else "", row.inspection.entry,
        )  # fmt: skip


def _photo(bundle: Bundle, foundation: Foundation, photo: Photo, *, originals: bool) -> None:
    """Add a photo: the copy that pages show, or the sealed original."""
    digest, inspection = photo.attachment.sha256, photo.inspection
    view = f"{inspection.hold_point.stage}-{inspection.attempt}-{photo.view}"
    stored, name = shown_name(digest), f"stations/{foundation.mark}/photos/{view}.jpg"
    if originals:
        stored, name = sealed_name(digest), f"photos/original-{digest}.{_ending(photo.attachment)}"
    _stored(bundle, stored, name)


def _ending(row: Attachment) -> str:
    """Return how the name of a sealed file ends, by what its bytes are."""
    return row.kind.rpartition("/")[2].replace("jpeg", "jpg")


def _stored(bundle: Bundle, stored: str, name: str) -> None:
    """Add a file of the store, once; one that is missing there is left out: verifying the record on the server names it."""
    if default_storage.exists(stored) and name not in bundle.zip.NameToInfo:
        with default_storage.open(stored) as file:
            bundle.add(name, file.read())


def _readme(corridor: Corridor, head: Kept, foundations: list[Foundation], *, whole: bool, originals: bool) -> str:
    """Say in plain words what this is, how to check it, and what a check shows and does not show."""
    what = "the whole record" if whole else f"{', '.join(each.mark for each in foundations[:12])}"
    more = f" and {len(foundations) - 12} more" if not whole and len(foundations) > 12 else ""
    photos = (
        "photos/ holds the very files that were sealed; they may carry what the phone wrote into them, such as its position. So may\n"
        "pictures in papers/."
        if originals
        else "Photos, and pictures in papers/, are copies without what the phone wrote into them; copies cannot be checked. The sealed\n"
        "originals can be asked for."
    )
    return f"""{corridor.name}: {what}{more}
Signed head: {head.size} entries, {head.said["at"]}
Root: {head.root}
Key: {head.key}

WHAT IS HERE
head.json       what the record was when this bundle was made, signed
entries.jsonl   what was entered, each line one entry in its canonical form; its hash is a leaf of the record's tree
proofs.json     for each entry the path from its leaf to the root (absent where every entry is here)
heads.json      the last signed head of each day before, with the proof that the record begins with what it covers
rows.jsonl      the data that the entries wrote, as the database has it; with a photo also where the phone stood as it was
                sent, if the inspector let it say so: that is personal
certificates.csv  the certificates on file, for reading
papers/         the files of certificates, tickets and calibrations, where they are on file, each under its SHA-256; an entry names it.
                They came from others: open them as you would a file from a mail
stations/       for reading: measurements, history, dossier, photos
{photos}

HOW TO CHECK
Python 3.11 or later is all that is needed, and no network:
    python3 verify.py
With the key that you were given when the record began, and a head that you kept (from a mail, a PDF's foot, a file):
    python3 verify.py --key FIRST_KEY --head YOUR_HEAD.json

WHAT A CHECK SHOWS
That every entry here is in the signed record, unchanged, at its place; that the data here are what the entries say was written; that
the record begins with what earlier heads cover. With a head that you kept, that nothing up to it was changed since.

WHAT IT DOES NOT SHOW
That a reading was true. That nothing happened which nobody entered. That the tables and dossiers for reading are as they were made:
entries, rows and the files that they name are what is checked. In a part of a record: that no further entry names the station;
for that, ask for the whole record. Without a key and a head of your own: that this is the record of that day, and not another one made
later as a whole by somebody who holds the key.

Cautions printed beside the work are the usual ones; local codes and licensed practice decide.
"""
