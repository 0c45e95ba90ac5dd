"""Walking a record: whole after every act, and each kind of tampering, done behind the application's back, is named."""

import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from io import StringIO
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from django.core.files.storage import default_storage
from django.core.management import CommandError, call_command
from django.db import connection
from django.db.models import F

from apps.corridor.models import Foundation
from apps.findings.models import Finding
from apps.holdpoints.models import HoldPoint, Measurement
from apps.materials.models import Certificate, ConcreteLoad
from apps.record import heads, keys, merkle, signing
from apps.record.acts import Refused, enter
from apps.record.guard import lifted
from apps.record.models import Attachment, Entry, Head, Node, SignedHead
from apps.record.photos import sealed_name
from apps.record.rows import PAPERED, RECORDED, model_of
from apps.record.verify import Report, verify
from apps.record.whole import spelled
from tests.factories import findings, materials
from tests.factories.corridor import member
from tests.factories.holdpoints import after, at_stage, hold_point, look_again, reopen
from tests.factories.record import last_entry, node_of, paper
from tests.factories.times import HOUR

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def own_folder(settings: Any, tmp_path: Path) -> None:
    """A key and a store of photos of its own for each test: they are tampered with."""
    settings.RECORD_KEY, settings.MEDIA_ROOT = str(tmp_path / "record-key"), str(tmp_path / "evidence")


@pytest.fixture
def filled(foundation: Foundation) -> Foundation:
    """A foundation with a life: releases, a reopening, a finding closed, concrete, a calculation."""
    for role in ("engineer", "inspector", "office", "foreman"):
        member(foundation.corridor, role)
    at_stage(foundation, "drill", "released")
    look_again(foundation, after(foundation))
    reopen(hold_point(foundation, "layout"), after(foundation))
    findings.in_state(foundation, "closed", at=later(foundation))
    materials.strength(materials.load(foundation, at=later(foundation)), 4000, 7, later(foundation))
    grow(foundation)
    return foundation


def later(foundation: Foundation) -> datetime:
    """Return a moment later than everything in the record."""
    return last_entry(foundation.corridor_id).received_at + HOUR


def grow(foundation: Foundation) -> None:
    """Let one more entry be made."""
    materials.computation(foundation, at=later(foundation))


def walked(foundation: Foundation, **more: Any) -> Report:
    return verify(foundation.corridor_id, **more)


def said(report: Report) -> list[str]:
    return [f"{each.kind}: {each}" for each in report.faults]


@contextmanager
def behind() -> Iterator[None]:
    """Change rows as somebody with the database's password would, not as the application does."""
    with lifted():
        yield


def respelled(entry: Entry) -> None:
    """Make an entry agree with itself again, as a careful forger would."""
    entry.text = spelled(entry)
    entry.leaf = merkle.leaf_hash(entry.text.encode()).hex()
    entry.save()


def replanted(log: UUID) -> None:
    """Build the whole tree anew over the entries as they stand, and put its root in the head, unsigned."""
    Node.objects.filter(log=log).delete()
    peaks: list[bytes] = []
    entries = list(Entry.objects.filter(log=log).order_by("sequence"))
    for place, entry in enumerate(entries):
        peaks, made = merkle.append(place, peaks, bytes.fromhex(entry.leaf))
        Node.objects.bulk_create(Node(log=log, level=at, place=where, hash=each.hex()) for at, where, each in made)
    Head.objects.filter(log=log).update(
        size=len(entries), root=merkle.root(peaks).hex(), peaks=[each.hex() for each in peaks]
    )


# ---- whole


def test_a_life_of_acts_leaves_a_whole_record(filled: Foundation) -> None:
    report = walked(filled)
    assert said(report) == []
    assert report.entries == Entry.objects.of_log(filled.corridor_id).count() > 30
    assert report.root == Head.objects.get(log=filled.corridor_id).root
    assert report.key == signing.public_key()
    assert report.rows == sum(model_of(table)._default_manager.count() for table in RECORDED) > 80
    assert report.heads > 3
    assert report.files == Attachment.objects.filter(log=filled.corridor_id).count() > 0


def test_papers_on_file_leave_a_whole_record(filled: Foundation) -> None:
    papered(filled)
    materials.certificate(filled.corridor, at=later(filled), paper=None)
    assert said(walked(filled)) == []


def test_papered_are_the_tables_with_a_paper() -> None:
    assert {
        table for table in RECORDED if "paper" in {field.name for field in model_of(table)._meta.get_fields()}
    } == PAPERED


def test_every_table_of_a_corridor_is_answered_for_or_counted() -> None:
    """A new table with a way to a corridor must be put into RECORDED, or here with its reason."""
    from django.apps import apps

    counted = {"corridor_tally", "corridor_production", "corridor_snapshot"}  # recounted by manage.py recount
    counted |= {"findings_savedview", "holdpoints_opened"}  # a person's own filters, and what was on their screen
    ours = {"corridor", "holdpoints", "findings", "followups", "materials", "audits"}
    tables = {model._meta.db_table for model in apps.get_models() if model._meta.app_label in ours}
    assert tables - counted == set(RECORDED)


@pytest.mark.parametrize("table", sorted(RECORDED))
def test_every_table_leads_to_its_corridor(table: str, filled: Foundation) -> None:
    rows = model_of(table)._default_manager.filter(**{RECORDED[table]: filled.corridor_id})
    assert rows.count() <= model_of(table)._default_manager.count()


def test_several_processes_come_to_the_same(filled: Foundation, monkeypatch: pytest.MonkeyPatch) -> None:
    """Chunks do not depend on each other: many small ones come to what one large one does."""
    one = walked(filled)
    monkeypatch.setattr("apps.record.verify.AT_ONCE", 3)
    assert walked(filled) == one


# ---- tampered


def edit_row(foundation: Foundation) -> str:
    row = Measurement.objects.filter(foundation=foundation).exclude(value_text="").order_by("pk").first()
    assert row is not None
    Measurement.objects.filter(pk=row.pk).update(value_text="9 in", outcome="conforms")
    return f"row: holdpoints_measurement {row.pk}: was changed since entry {row.inspection.entry}"


def edit_state(foundation: Foundation) -> str:
    point = hold_point(foundation, "pole_set")
    HoldPoint.objects.filter(pk=point.pk).update(state="ready")
    return f"row: holdpoints_holdpoint {point.pk}: was changed since entry"


def delete_row(foundation: Foundation) -> str:
    finding = Finding.objects.get(foundation=foundation)
    key = finding.pk
    for rows in (finding.dispositions, finding.answers, finding.verifications):
        rows.all().delete()
    finding.delete()
    return f"row: findings_finding {key}: is missing; entry"


def slip_in_row(foundation: Foundation) -> str:
    load = ConcreteLoad.objects.get()
    load.pk, load.ticket = UUID(int=7), "T-9999"
    load.save(force_insert=True)
    return f"row: materials_concreteload {load.pk}: no entry names it: it was slipped in"


def edit_entry(foundation: Foundation) -> str:
    entry = Entry.objects.of_log(foundation.corridor_id).filter(act="release").first()
    assert entry is not None
    Entry.objects.filter(pk=entry.pk).update(payload={**entry.payload, "reason": "looked fine"})
    return f"entry: entry {entry.sequence}, release {entry.subject}: its columns are not what its text says"


def edit_entry_and_text(foundation: Foundation) -> str:
    entry = Entry.objects.of_log(foundation.corridor_id).filter(act="release").first()
    assert entry is not None
    entry.payload = {**entry.payload, "reason": "looked fine"}
    respelled(entry)
    return f"tree: entry {entry.sequence}, release {entry.subject}: its hash is not the one in the tree"


def edit_entry_and_tree(foundation: Foundation) -> str:
    edit_entry_and_text(foundation)
    replanted(foundation.corridor_id)
    return "head: the newest head: its root is not that of the entries that it covers"


def delete_entry(foundation: Foundation) -> str:
    Entry.objects.filter(log=foundation.corridor_id, sequence=9).delete()
    return "entry: entry 9: is missing"


def swap_entries(foundation: Foundation) -> str:
    log = foundation.corridor_id
    Entry.objects.filter(log=log, sequence=8).update(sequence=10_000)
    Entry.objects.filter(log=log, sequence=9).update(sequence=8)
    Entry.objects.filter(log=log, sequence=10_000).update(sequence=9)
    return "its columns are not what its text says"


def insert_entry(foundation: Foundation) -> str:
    """A careful one: everything after it is numbered anew, every text spelled anew, the tree built anew."""
    log = foundation.corridor_id
    for entry in Entry.objects.filter(log=log, sequence__gte=9).order_by("-sequence"):
        entry.sequence += 1
        respelled(entry)
    copy = Entry.objects.get(log=log, sequence=8)
    copy.pk, copy.sequence = UUID(int=7), 9
    copy.text, copy.leaf = spelled(copy), merkle.leaf_hash(spelled(copy).encode()).hex()
    copy.save(force_insert=True)
    replanted(log)
    return "its root is not that of the entries that it covers"


def cut_off(foundation: Foundation) -> str:
    """The newest entries are dropped with their heads, and the head is put back to an old, truly signed one."""
    log = foundation.corridor_id
    old = SignedHead.objects.filter(log=log).order_by("-size")[2]
    Entry.objects.filter(log=log, sequence__gt=old.size).delete()
    SignedHead.objects.filter(log=log, size__gt=old.size).delete()
    replanted(log)
    Head.objects.filter(log=log).update(statement=old.statement, signature=old.signature)
    return "is missing; entry"  # rows of acts whose entries are gone answer to older entries, or to none


def replace_photo(foundation: Foundation) -> str:
    photo = Attachment.objects.filter(log=foundation.corridor_id).first()
    assert photo is not None
    path = Path(default_storage.path(sealed_name(photo.sha256)))
    path.write_bytes(b"another picture")
    return f"file: photo {photo.sha256[:16]}"


def remove_photo(foundation: Foundation) -> str:
    photo = Attachment.objects.filter(log=foundation.corridor_id).first()
    assert photo is not None
    default_storage.delete(sealed_name(photo.sha256))
    return "its sealed original is missing"


def papered(foundation: Foundation, **said: bytes) -> Certificate:
    """Return a certificate with its paper on file; entered with the guards up, as it should be."""
    return materials.certificate(foundation.corridor, at=later(foundation), paper=paper(**said))


def replace_paper(foundation: Foundation) -> str:
    row = papered(foundation).paper
    assert row is not None
    Path(default_storage.path(sealed_name(row.sha256))).write_bytes(b"%PDF-1.7 another paper")
    return (
        f"file: paper {row.sha256[:16]} of entry {last_entry(foundation.corridor_id).sequence}: its bytes are not those"
    )


def remove_paper(foundation: Foundation) -> str:
    row = papered(foundation).paper
    assert row is not None
    default_storage.delete(sealed_name(row.sha256))
    return f"file: paper {row.sha256[:16]}"


def name_no_paper(foundation: Foundation) -> str:
    row = papered(foundation)
    Certificate.objects.filter(pk=row.pk).update(paper=None)
    return f"row: materials_certificate {row.pk}: was changed"


def exchange_paper(foundation: Foundation) -> str:
    """The forger exchanges the file under a row that names it by its key, and leaves the old one in the store under another key."""
    row, other = papered(foundation), papered(foundation, catalog=b"/Lang (en)")
    assert row.paper is not None and other.paper is not None
    mine, theirs = row.paper, other.paper
    Attachment.objects.filter(pk=mine.pk).update(sha256=theirs.sha256)
    Attachment.objects.create(
        log=mine.log, sha256=mine.sha256, size=mine.size, kind=mine.kind, width=0, height=0, added_at=mine.added_at
    )
    return f"file: materials_certificate {row.pk}: its paper is another file than entry"


def forge_signature(foundation: Foundation) -> str:
    """The forger signs by a key of his own, and names the true key."""
    row = SignedHead.objects.filter(log=foundation.corridor_id).first()
    assert row is not None
    forged = signing.sign(row.statement.encode(), b"\x07" * 32).signature
    SignedHead.objects.filter(pk=row.pk).update(signature=forged)
    return f"head: head at {row.size}: its signature is not by the key that it names"


def sign_by_another(foundation: Foundation) -> str:
    """The forger signs by a key of his own, and names that."""
    row = SignedHead.objects.filter(log=foundation.corridor_id).first()
    assert row is not None
    own = signing.sign(b"", b"\x07" * 32).key
    statement = row.statement.replace(signing.public_key(), own)
    signature = signing.sign(statement.encode(), b"\x07" * 32).signature
    SignedHead.objects.filter(pk=row.pk).update(statement=statement, signature=signature)
    return f"head: head at {row.size}: is signed by key {own[:16]}, but key {signing.public_key()[:16]} was in force"


def move_clock(foundation: Foundation) -> str:
    Entry.objects.filter(log=foundation.corridor_id, sequence=9).update(
        received_at=F("received_at") - timedelta(hours=2)
    )
    return "entry: entry 9"


TAMPERINGS = (
    edit_row, edit_state, delete_row, slip_in_row, edit_entry, edit_entry_and_text, edit_entry_and_tree, delete_entry, swap_entries,
    insert_entry, replace_photo, remove_photo, replace_paper, remove_paper, name_no_paper, exchange_paper, forge_signature,
    sign_by_another, move_clock,
)  # fmt: skip


@pytest.mark.parametrize("tamper", TAMPERINGS, ids=lambda each: each.__name__)
def test_tampering_is_named(filled: Foundation, tamper: Callable[[Foundation], str]) -> None:
    with behind():
        expected = tamper(filled)
    assert any(expected in each for each in said(walked(filled))), said(walked(filled))[:5]


def test_a_cut_end_is_found_by_the_rows_left_over_and_by_a_head_kept_outside(filled: Foundation) -> None:
    kept = heads.current(filled.corridor_id)
    assert kept is not None
    with behind():
        cut_off(filled)
    report = walked(filled, since=kept)
    size = Entry.objects.of_log(filled.corridor_id).count()
    cut = f"covers {kept.size} entries, the record has {size}: its end was cut off"
    assert f"head: the head you kept, of {kept.size} entries: {cut}" in said(report)
    assert any(each.startswith("row:") for each in said(report))
    assert report.since == ""


def test_a_server_whose_clock_is_set_back_is_noticed(filled: Foundation) -> None:
    """Nothing is forged here: the entry is as it was made. Its time still cannot be true."""
    last = Entry.objects.of_log(filled.corridor_id).last()
    assert last is not None
    enter(
        log=filled.corridor_id, act="look_again", subject="LP-001", by=member(filled.corridor, "inspector"), role="inspector",
        at=last.received_at - HOUR, payload={},
    )  # fmt: skip
    (fault,) = said(walked(filled))
    assert fault.endswith("the server's clock stood 60 min earlier than at an entry before it")


# ---- since a head kept outside


def current(foundation: Foundation) -> heads.Kept:
    kept = heads.current(foundation.corridor_id)
    assert kept is not None
    return kept


def test_a_record_extends_a_head_that_was_kept(filled: Foundation) -> None:
    kept = current(filled)
    grow(filled)
    report = walked(filled, since=heads.from_text(kept.as_text()))
    assert said(report) == []
    begins = f"begins with the {kept.size} that the head you kept covers, unchanged."
    assert report.since == f"Today's record of {report.entries} entries {begins}"


def test_a_head_of_another_record_proves_nothing(filled: Foundation) -> None:
    kept = current(filled)
    other = kept._replace(statement=kept.statement.replace(str(filled.corridor_id), str(UUID(int=1))))
    assert any("is of another record" in each for each in said(walked(filled, since=other)))


def test_a_head_that_covers_other_entries_is_named(filled: Foundation) -> None:
    """Truly signed by the true key, over a root that this record never had."""
    statement = current(filled).said | {"root": "ab" * 32}
    text = heads.canonical(statement)
    other = heads.Kept(text, signing.sign(text.encode()).signature)
    report = walked(filled, since=other)
    assert any("its root is not that of the entries that it covers" in each for each in said(report))
    assert report.since == ""


def test_a_head_from_a_file_is_read_whatever_its_layout(filled: Foundation) -> None:
    kept = current(filled)
    assert heads.from_text(json.dumps(json.loads(kept.as_text()), indent=2)) == kept
    assert kept.is_signed()


@pytest.mark.parametrize("text", ["", "{}", "[]", '{"statement": {"size": 1}, "signature": "aa"}', "null"])
def test_what_is_no_head_is_refused_with_a_sentence(text: str) -> None:
    with pytest.raises(ValueError, match="This is no signed head of a record"):
        heads.from_text(text)


# ---- heads are kept


def test_a_head_is_kept_at_each_release_and_every_five_minutes(filled: Foundation) -> None:
    log = filled.corridor_id
    sizes = set(SignedHead.objects.filter(log=log).values_list("size", flat=True))
    releases = set(Entry.objects.of_log(log).filter(act="release").values_list("sequence", flat=True))
    assert releases
    assert releases <= sizes
    kept_at = None
    for sequence, at in Entry.objects.of_log(log).values_list("sequence", "received_at"):
        if sequence in sizes:
            kept_at = at
        assert kept_at is not None
        assert at - kept_at < heads.EVERY


def test_a_head_is_not_kept_twice_within_five_minutes(filled: Foundation) -> None:
    last = last_entry(filled.corridor_id)
    materials.computation(filled, at=last.received_at + heads.EVERY - timedelta(seconds=1))
    sizes = SignedHead.objects.filter(log=filled.corridor_id).values_list("size", flat=True)
    assert last.sequence in sizes
    assert last.sequence + 1 not in sizes
    assert said(walked(filled)) == []


# ---- the key changes


def test_a_key_handed_over_leaves_a_whole_record(filled: Foundation) -> None:
    old = signing.public_key()
    keys.rotate(by=member(filled.corridor, "office"), at=later(filled))
    report = walked(filled, key=old)
    assert said(report) == []
    assert report.key == signing.public_key() == current(filled).key != old


def test_another_first_key_than_the_one_given_is_named(filled: Foundation) -> None:
    assert any("not the one you gave" in each for each in said(walked(filled, key="ab" * 32)))


def test_a_lost_key_is_said_to_be_lost(filled: Foundation) -> None:
    keys.rotate(by=member(filled.corridor, "office"), at=later(filled), lost=True)
    entry = Entry.objects.of_log(filled.corridor_id).filter(act="change_key").get()
    assert entry.payload["handover"] == ""
    assert said(walked(filled)) == []


def test_a_handover_by_another_key_is_named(filled: Foundation) -> None:
    keys.rotate(by=member(filled.corridor, "office"), at=later(filled))
    entry = Entry.objects.of_log(filled.corridor_id).filter(act="change_key").get()
    forged = signing.sign(keys.handover_text(filled.corridor_id, entry.payload["new"]).encode(), b"\x07" * 32)
    with behind():
        entry.payload = {**entry.payload, "handover": forged.signature}
        respelled(entry)
    where = f"key: entry {entry.sequence}, change_key"
    assert f"{where}: its handover is not signed by the old key" in said(walked(filled))


def test_a_key_that_nobody_entered_is_named(filled: Foundation) -> None:
    """A forger with the server's disk can put his own key in place; what it signs stands out."""
    signing.write(b"\x07" * 32)
    grow(filled)
    assert any("is signed by key" in each for each in said(walked(filled)))


def test_a_missing_key_file_stops_the_writing_until_it_is_back_or_said_to_be_lost(
    filled: Foundation, settings: Any
) -> None:
    """A key made silently in its place would sign heads that no entry explains, and the record would not be whole for good."""
    file, entries = Path(settings.RECORD_KEY), last_entry(filled.corridor_id).sequence
    kept = file.read_text()
    file.unlink()
    with pytest.raises(Refused, match="The key that signs the record is missing"):
        grow(filled)
    assert (last_entry(filled.corridor_id).sequence, file.exists()) == (entries, False)
    file.write_text(kept)
    grow(filled)
    file.unlink()
    keys.rotate(by=member(filled.corridor, "office"), at=later(filled), lost=True)
    grow(filled)
    assert said(walked(filled)) == []


def test_the_key_file_is_for_its_owner_alone(settings: Any) -> None:
    assert not Path(settings.RECORD_KEY).exists()
    signing.seed()
    assert Path(settings.RECORD_KEY).stat().st_mode & 0o777 == 0o600


# ---- the command


def test_the_command_says_whole_and_names_what_is_not(filled: Foundation, tmp_path: Path) -> None:
    kept = heads.current(filled.corridor_id)
    assert kept is not None
    (tmp_path / "head.json").write_text(kept.as_text())
    out = StringIO()
    call_command("verify_record", since=tmp_path / "head.json", key=signing.public_key(), stdout=out)
    assert f"{filled.corridor.slug}: whole." in out.getvalue()
    assert "begins with the" in out.getvalue()
    with behind():
        expected = edit_row(filled)
    out = StringIO()
    with pytest.raises(CommandError, match="not whole"):
        call_command("verify_record", stdout=out)
    assert expected in out.getvalue()


def test_nodes_and_proofs_agree(filled: Foundation) -> None:
    """Proofs are made from a handful of kept nodes; the whole tree leads to the same."""
    from apps.record import proofs

    log, size = filled.corridor_id, Head.objects.get(log=filled.corridor_id).size
    nodes = node_of(log)
    paths = proofs.inclusion(log, range(1, size + 1), size)
    for sequence, path in paths.items():
        expected = merkle.inclusion_proof(sequence - 1, size, lambda level, place: nodes[level, place])
        assert path == [each.hex() for each in expected]
    root = bytes.fromhex(Head.objects.get(log=log).root)
    for old in SignedHead.objects.filter(log=log):
        proof = [bytes.fromhex(each) for each in proofs.consistency(log, old.size, size)]
        before = bytes.fromhex(heads.Kept(old.statement, old.signature).root)
        assert merkle.consistent(old.size, size, before, root, proof)


def test_a_proof_takes_one_query(filled: Foundation, django_assert_num_queries: Any) -> None:
    from apps.record import proofs

    with django_assert_num_queries(1):
        proofs.inclusion(filled.corridor_id, [7], 20)
    assert connection.vendor in {"sqlite", "postgresql"}
