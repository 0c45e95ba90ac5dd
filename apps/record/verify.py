"""Walking a whole record: rows against entries, entries against the tree, the tree against signed heads, files against hashes.

It trusts nothing that the application computed before: every text is spelled anew, every hash made anew. Chunks of entries are
independent of each other and may be walked by several processes.
"""

from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from hashlib import sha256
from itertools import pairwise
from multiprocessing import get_context
from typing import Any, NamedTuple
from uuid import UUID

import django
from django.core.files.storage import default_storage

from apps.record import merkle, rows
from apps.record.heads import Kept
from apps.record.models import Attachment, Entry, Head, Node, SignedHead
from apps.record.offline import papers_named, photos_named
from apps.record.papers import PDF
from apps.record.photos import sealed_name
from apps.record.whole import spelled

AT_ONCE = 2000
"""Entries of one chunk."""
SLACK = timedelta(minutes=5)
"""Two servers' clocks may differ, and a request may wait for another; a step back over this is a clock that was moved."""


class Fault(NamedTuple):
    """Something that does not agree: of what kind, where, and what."""

    kind: str
    where: str
    what: str

    def __str__(self) -> str:
        return f"{self.where}: {self.what}"


class Rotation(NamedTuple):
    """An entry from which on another key signs."""

    sequence: int
    key: str
    old: str
    handover: str
    """Signature of the old key over the change; empty: the old key was lost."""


@dataclass(slots=True)
class Chunk:
    """What a run of entries came to."""

    faults: list[Fault] = field(default_factory=list)
    leaves: list[bytes] = field(default_factory=list)
    named: dict[str, dict[str, tuple[str, int]]] = field(default_factory=dict)
    """table → row → (digest, entry): as the last entry of the chunk that names it has it."""
    files: dict[str, int] = field(default_factory=dict)
    """SHA-256 of a photo or paper → the entry that names it."""
    papers: dict[tuple[str, str], tuple[str, int]] = field(default_factory=dict)
    """(table, row) → (SHA-256 of its paper, entry): as the last entry of the chunk that names the row has it; "" for none."""
    rotations: list[Rotation] = field(default_factory=list)
    earliest: datetime | None = None
    latest: datetime | None = None


@dataclass(slots=True)
class Report:
    """What a walk came to."""

    entries: int = 0
    rows: int = 0
    heads: int = 0
    files: int = 0
    root: str = ""
    key: str = ""
    """The key in force at the end."""
    faults: list[Fault] = field(default_factory=list)
    since: str = ""
    """What the head kept outside came to, in a sentence; empty where none was given."""

    @property
    def whole(self) -> bool:
        """Whether everything agrees."""
        return not self.faults


Progress = Callable[[str, int, int], None]
"""Told what is walked, how much of it is done, and how much there is."""


def _quiet(what: str, done: int, total: int) -> None:
    """Tell nobody."""


# ---- entries


def walk_chunk(log: UUID, first: int, last: int) -> Chunk:
    """Walk the entries first to last of a log, both included."""
    chunk, expected = Chunk(), first
    nodes = Node.objects.filter(log=log, level=0, place__gte=first - 1, place__lt=last)
    kept = dict(nodes.values_list("place", "hash"))
    for entry in Entry.objects.filter(log=log, sequence__gte=first, sequence__lte=last).order_by("sequence"):
        if entry.sequence != expected:
            missing = f"{expected}" if entry.sequence == expected + 1 else f"{expected} to {entry.sequence - 1}"
            chunk.faults.append(Fault("entry", f"entry {missing}", "is missing"))
            chunk.leaves += [b""] * (entry.sequence - expected)
        expected = entry.sequence + 1
        _entry(entry, kept.get(entry.sequence - 1, ""), chunk)
    if expected <= last:
        missing = f"{expected}" if expected == last else f"{expected} to {last}"
        chunk.faults.append(Fault("entry", f"entry {missing}", "is missing"))
        chunk.leaves += [b""] * (last + 1 - expected)
    return chunk


def _entry(entry: Entry, node: str, chunk: Chunk) -> None:
    where, leaf = f"entry {entry.sequence}, {entry.act} {entry.subject}", merkle.leaf_hash(entry.text.encode())
    chunk.leaves.append(leaf)
    if spelled(entry) != entry.text:
        chunk.faults.append(Fault("entry", where, "its columns are not what its text says"))
    if leaf.hex() != entry.leaf:
        chunk.faults.append(Fault("entry", where, "its text does not lead to its hash"))
    if leaf.hex() != node:
        chunk.faults.append(Fault("tree", where, "its hash is not the one in the tree"))
    if chunk.latest is not None and entry.received_at < chunk.latest - SLACK:
        chunk.faults.append(_clock(where, chunk.latest, entry.received_at))
    chunk.latest = max(chunk.latest or entry.received_at, entry.received_at)
    chunk.earliest = min(chunk.earliest or entry.received_at, entry.received_at)
    for table, named in entry.rows.items():
        chunk.named.setdefault(table, {}).update({key: (made, entry.sequence) for key, made in named.items()})
    for digest in (*photos_named(entry.payload), *papers_named(entry.payload)):
        chunk.files.setdefault(digest, entry.sequence)
    paper = next(iter(papers_named(entry.payload)), "")
    for table in rows.PAPERED & entry.rows.keys():
        chunk.papers.update({(table, key): (paper, entry.sequence) for key in entry.rows[table]})
    if entry.act == "open_corridor" and entry.payload.get("record_key"):
        chunk.rotations.append(Rotation(entry.sequence, entry.payload["record_key"], "", ""))
    if entry.act == "change_key":
        said = entry.payload
        chunk.rotations.append(Rotation(entry.sequence, said["new"], said["old"], said["handover"]))


def _clock(where: str, before: datetime, at: datetime) -> Fault:
    back = round((before - at).total_seconds() / 60)
    return Fault("clock", where, f"the server's clock stood {back} min earlier than at an entry before it")


# ---- tree and heads


class _Tree:
    """A tree that grows leaf by leaf, and what its root was where somebody asks."""

    def __init__(self, wanted: Iterable[int]) -> None:
        self.wanted, self.roots = set(wanted), {0: merkle.EMPTY_ROOT.hex()}
        self.size, self.peaks = 0, list[bytes]()

    def grow(self, leaves: Iterable[bytes]) -> list[tuple[int, int, bytes]]:
        made: list[tuple[int, int, bytes]] = []
        for leaf in leaves:
            self.peaks, new = merkle.append(self.size, self.peaks, leaf)
            self.size += 1
            made += [each for each in new if each[0]]
            if self.size in self.wanted:
                self.roots[self.size] = merkle.root(self.peaks).hex()
        return made


def _nodes(log: UUID, made: list[tuple[int, int, bytes]]) -> Iterator[Fault]:
    """Hold the interior nodes that a run of leaves completes against those that are kept."""
    places: dict[int, tuple[int, int]] = {}
    for level, place, _ in made:
        low, high = places.get(level, (place, place))
        places[level] = (min(low, place), max(high, place))
    for level, (low, high) in places.items():
        found = dict(
            Node.objects.filter(log=log, level=level, place__gte=low, place__lte=high).values_list("place", "hash")
        )
        for _, place, digest in (each for each in made if each[0] == level):
            if found.get(place) != digest.hex():
                yield Fault("tree", f"node {level}/{place}", "is not what the leaves below it lead to")


def _key_at(rotations: list[Rotation], size: int) -> str:
    """Return the key in force for a head of so many entries; empty where no entry says."""
    return next((each.key for each in reversed(rotations) if each.sequence <= size), "")


def _rotated(log: UUID, rotations: list[Rotation]) -> Iterator[Fault]:
    """Check that each change of the key was handed over by the key before it."""
    from apps.record.keys import handover_text
    from apps.record.signing import is_signed

    for before, each in pairwise(rotations):
        where = f"entry {each.sequence}, change_key"
        if each.old != before.key:
            yield Fault("key", where, "names another old key than the one that was in force")
        if each.handover and not is_signed(before.key, handover_text(log, each.key).encode(), each.handover):
            yield Fault("key", where, "its handover is not signed by the old key")


def _head(kept: Kept, where: str, log: UUID, tree: _Tree, key: str) -> Iterator[Fault]:
    """Hold a signed head against the tree and the key in force."""
    if str(kept.said["log"]) != str(log):
        yield Fault("head", where, "is of another record")
        return
    if not kept.is_signed():
        yield Fault("head", where, "its signature is not by the key that it names")
    elif key and kept.key != key:
        yield Fault("head", where, f"is signed by key {kept.key[:16]}, but key {key[:16]} was in force")
    if kept.size > tree.size:
        yield Fault("head", where, f"covers {kept.size} entries, the record has {tree.size}: its end was cut off")
    elif tree.roots.get(kept.size) != kept.root:
        yield Fault("head", where, "its root is not that of the entries that it covers")


def _heads(log: UUID, tree: _Tree, rotations: list[Rotation], report: Report) -> None:
    """Hold all kept heads and the newest one against the tree."""
    for row in SignedHead.objects.filter(log=log).order_by("size").iterator(chunk_size=AT_ONCE):
        kept = Kept(row.statement, row.signature)
        report.heads += 1
        key = _key_at(rotations, row.size)
        report.faults += _head(kept, f"head at {row.size}", log, tree, key)
        if kept.size != row.size:
            report.faults.append(Fault("head", f"head at {row.size}", "its statement covers another number of entries"))
    head = Head.objects.get(log=log)
    report.root, report.key = tree.roots.get(tree.size, ""), _key_at(rotations, tree.size)
    if head.size != tree.size:
        report.faults.append(Fault("head", "the head", f"says {head.size} entries, there are {tree.size}"))
    elif head.root != report.root or [bytes.fromhex(each) for each in head.peaks] != tree.peaks:
        report.faults.append(Fault("head", "the head", "its root is not that of the entries"))
    if head.size:
        report.heads += 1
        report.faults += _head(Kept(head.statement, head.signature), "the newest head", log, tree, report.key)


# ---- rows and files


def walk_rows(log: UUID, table: str, named: dict[str, tuple[str, int]]) -> tuple[int, list[Fault]]:
    """Hold the rows of a table against the last entry that names each. Returns how many there are, and what does not agree."""
    faults, left, number = [], dict(named), 0
    for key, digest in rows.stored(log, table):
        number += 1
        said = left.pop(key, None)
        if said is None:
            faults.append(Fault("row", f"{table} {key}", "no entry names it: it was slipped in"))
        elif said[0] != digest:
            faults.append(Fault("row", f"{table} {key}", f"was changed since entry {said[1]}"))
    faults += [
        Fault("row", f"{table} {key}", f"is missing; entry {entry} names it") for key, (_, entry) in left.items()
    ]
    return number, faults


def walk_files(log: UUID, named: dict[str, int]) -> tuple[int, list[Fault]]:
    """Hold the sealed files of photos and papers against their hashes; `named` are those that entries name. Returns how many there are."""
    known = dict(Attachment.objects.filter(log=log).values_list("sha256", "kind"))
    faults = []
    for digest in sorted(known.keys() | named):
        what = "paper" if known.get(digest) == PDF else "photo"
        where = f"{what} {digest[:16]}" + (f" of entry {named[digest]}" if digest in named else "")
        if not default_storage.exists(sealed_name(digest)):
            faults.append(Fault("file", where, "its sealed original is missing"))
            continue
        with default_storage.open(sealed_name(digest)) as file:
            if sha256(file.read()).hexdigest() != digest:
                faults.append(Fault("file", where, "its bytes are not those that were sealed"))
    faults += [
        Fault("file", f"file {digest[:16]} of entry {named[digest]}", "is not among the attachments")
        for digest in sorted(named.keys() - known)
    ]
    return len(known), faults


def walk_papers(log: UUID, papers: dict[tuple[str, str], tuple[str, int]]) -> Iterator[Fault]:
    """Hold the file that each row has as its paper against the one that the last entry of the row names: it may not be exchanged."""
    for table in sorted(rows.PAPERED):
        found = rows.model_of(table)._default_manager.filter(**{rows.RECORDED[table]: log})
        for key, digest in found.order_by("pk").values_list("pk", "paper__sha256"):
            said, entry = papers.get((table, str(key)), ("", 0))
            if (digest or "") != said:
                yield Fault("file", f"{table} {key}", f"its paper is another file than entry {entry} names")


# ---- the whole


@contextmanager
def _workers(number: int) -> Iterator[Executor | None]:
    """Give several processes, or none where one is enough."""
    if number < 2:
        yield None
        return
    with ProcessPoolExecutor(number, mp_context=get_context("spawn"), initializer=django.setup) as pool:
        yield pool


def _each(pool: Executor | None, work: Callable[..., Any], tasks: list[tuple[Any, ...]]) -> Iterator[Any]:
    """Do tasks in their order, here or by the processes."""
    if pool is None:
        return (work(*task) for task in tasks)
    return pool.map(work, *zip(*tasks, strict=True)) if tasks else iter(())


def verify(
    log: UUID, *, since: Kept | None = None, key: str = "", workers: int = 1, progress: Progress = _quiet
) -> Report:
    """Walk a record and return what does not agree, the first first.

    `since` is a head that somebody kept outside: today's record must extend it. `key` is the public key (hex) that an auditor was
    given for the beginning of the record. LookupError where there is no such record.
    """
    if not Head.objects.filter(log=log).exists():
        raise LookupError("There is no such record.")
    last = Entry.objects.filter(log=log).order_by("sequence").last()
    size = last.sequence if last else 0
    sizes = (
        set(SignedHead.objects.filter(log=log).values_list("size", flat=True)) | {size} | {since.size if since else 0}
    )
    report, whole, tree = Report(entries=Entry.objects.filter(log=log).count()), Chunk(), _Tree(sizes)
    with _workers(workers) as pool:
        spans = [(log, first, min(first + AT_ONCE - 1, size)) for first in range(1, size + 1, AT_ONCE)]
        for chunk in _each(pool, walk_chunk, spans):
            _join(whole, chunk)
            report.faults += chunk.faults
            report.faults += _nodes(log, tree.grow(chunk.leaves))
            progress("entries", tree.size, size)
        report.faults += _rotated(log, whole.rotations)
        _heads(log, tree, whole.rotations, report)
        tables = [(log, table, whole.named.get(table, {})) for table in rows.RECORDED]
        for done, (number, faults) in enumerate(_each(pool, walk_rows, tables), start=1):
            report.rows += number
            report.faults += faults
            progress("tables", done, len(tables))
    report.files, faults = walk_files(log, whole.files)
    report.faults += faults
    report.faults += walk_papers(log, whole.papers)
    progress("files", report.files, report.files)
    if key and whole.rotations and whole.rotations[0].key != key:
        report.faults.append(Fault("key", "the first key", f"is {whole.rotations[0].key[:16]}, not the one you gave"))
    if since is not None:
        _since(since, log, tree, whole.rotations, report)
    return report


def _join(whole: Chunk, chunk: Chunk) -> None:
    """Put a chunk's named rows, files, papers, keys and times to those before it."""
    for table, named in chunk.named.items():
        whole.named.setdefault(table, {}).update(named)
    whole.papers.update(chunk.papers)
    for digest, entry in chunk.files.items():
        whole.files.setdefault(digest, entry)
    whole.rotations += chunk.rotations
    if whole.latest and chunk.earliest and chunk.earliest < whole.latest - SLACK:
        chunk.faults.append(_clock("between two runs of entries", whole.latest, chunk.earliest))
    whole.latest = max(filter(None, (whole.latest, chunk.latest)), default=None)


def _since(since: Kept, log: UUID, tree: _Tree, rotations: list[Rotation], report: Report) -> None:
    """Hold the record against a head that was kept outside."""
    key = _key_at(rotations, since.size)
    faults = list(_head(since, f"the head you kept, of {since.size} entries", log, tree, key))
    report.faults += faults
    if not faults:
        report.since = f"Today's record of {tree.size} entries begins with the {since.size} that the head you kept covers, unchanged."
