"""The bundle: checked by its own verify.py in a Python that knows nothing of us; whatever is altered in it is named."""

import csv
import io
import json
import subprocess
import sys
import zipfile
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from django.core.files.storage import default_storage

from apps.corridor import entries
from apps.corridor.models import Corridor, Foundation
from apps.dossier import bundle
from apps.holdpoints.models import Measurement
from apps.record import heads, keys, signing
from apps.record.acts import Refused
from apps.record.fixes import Fix
from apps.record.guard import lifted
from apps.record.ids import uuid7
from apps.record.models import Attachment, Entry
from apps.record.photos import sealed_name
from apps.record.verify import verify
from tests.factories import findings, followups, materials
from tests.factories.corridor import bring_in, member
from tests.factories.holdpoints import after, at_stage, inspect, photos_for
from tests.factories.record import certificate_pdf, last_entry, paper, picture, png
from tests.factories.times import HOUR, NOW

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def own_folder(settings: Any, tmp_path: Path) -> None:
    """A key and a store of photos of its own for each test."""
    settings.RECORD_KEY, settings.MEDIA_ROOT = str(tmp_path / "record-key"), str(tmp_path / "evidence")


@pytest.fixture
def lived(foundation: Foundation) -> Foundation:
    """A foundation with releases, a finding, concrete; and another one beside it."""
    for role in ("engineer", "inspector", "office", "foreman", "auditor"):
        member(foundation.corridor, role)
    at_stage(foundation, "drill", "released")
    findings.in_state(foundation, "closed", at=later(foundation.corridor))
    inspector = member(foundation.corridor, "inspector")
    followups.added(foundation.corridor, inspector, at=later(foundation.corridor), foundation=foundation)
    materials.strength(materials.load(foundation, at=later(foundation.corridor)), 4000, 7, later(foundation.corridor))
    return foundation


def later(corridor: Corridor) -> Any:
    return last_entry(corridor.pk).received_at + HOUR


def unpacked(tmp_path: Path, foundation: Foundation, **more: Any) -> Path:
    """Make a bundle and unpack it."""
    made = io.BytesIO()
    bundle.write(made, foundation.corridor, [foundation], **more)
    folder = tmp_path / "bundle"
    zipfile.ZipFile(made).extractall(folder)
    return folder


def checked(folder: Path, *arguments: str) -> tuple[int, str]:
    """Run verify.py as an auditor would, with no way to our modules or to anything installed."""
    run = subprocess.run(
        [sys.executable, "-I", "-S", "verify.py", *arguments], cwd=folder, capture_output=True, text=True, check=False
    )
    assert run.stderr == ""
    return run.returncode, run.stdout


def kept_head(tmp_path: Path, corridor: Corridor) -> str:
    kept = heads.current(corridor.pk)
    assert kept is not None
    file = tmp_path / "kept.json"
    file.write_text(kept.as_text())
    return str(file)


# ---- whole


def test_a_station_proves_itself(lived: Foundation, tmp_path: Path) -> None:
    code, said = checked(unpacked(tmp_path, lived))
    number = len(bundle.entries_of(lived.corridor, [lived.mark], 10**6))
    assert code == 0, said
    size = last_entry(lived.corridor_id).sequence
    assert f"Each of the {number} entries here is in the record of {size} entries, unchanged, at its place." in said
    assert "rows of data are what the entries say that was written" in said
    assert "What this does not show: that a reading was true" in said


def test_the_whole_record_proves_that_nothing_was_left_out(lived: Foundation, tmp_path: Path) -> None:
    bring_in(lived.corridor, ["LP-002"])
    folder = unpacked(tmp_path, lived, whole=True)
    code, said = checked(folder)
    assert code == 0, said
    assert f"All {last_entry(lived.corridor_id).sequence} entries of the record are here, none was left out" in said
    assert not (folder / "proofs.json").exists()


def test_the_rows_are_those_that_verifying_the_record_answers_for(lived: Foundation, tmp_path: Path) -> None:
    lines = (unpacked(tmp_path, lived, whole=True) / "rows.jsonl").read_text().splitlines()
    assert len(lines) == verify(lived.corridor_id).rows


def test_a_station_holds_every_row_that_its_own_entries_name(lived: Foundation, tmp_path: Path) -> None:
    folder = unpacked(tmp_path, lived)
    held = {(each["table"], each["key"]) for each in map(json.loads, (folder / "rows.jsonl").read_text().splitlines())}
    entries = Entry.objects.of_log(lived.corridor_id).filter(mark=lived.mark)
    named = {
        (table, key) for entry in entries for table, keys in json.loads(entry.text)["rows"].items() for key in keys
    }
    assert "followups_followup" in {table for table, _ in named}
    assert named - held == set()


def test_where_the_phone_stood_is_in_the_rows_and_a_forged_place_is_found(
    foundation: Foundation, tmp_path: Path
) -> None:
    point, where = (
        at_stage(foundation, "layout", "notified"),
        Fix(Decimal("34.1204567"), Decimal("-104.3304"), Decimal(12), NOW, 40),
    )
    inspect(point, after(foundation), photos=[shot._replace(fix=where) for shot in photos_for(point)])
    folder = unpacked(tmp_path, foundation)
    assert checked(folder)[0] == 0
    assert "where the phone stood" in (folder / "README.txt").read_text()
    rows = (folder / "rows.jsonl").read_text()
    assert '"fix_lat":"34.1204567"' in rows
    (folder / "rows.jsonl").write_text(rows.replace('"fix_lat":"34.1204567"', '"fix_lat":"34.1204568"', 1))
    code, said = checked(folder)
    assert code == 1 and "Rows that are not what their entry says: holdpoints_photo" in said


def test_with_a_key_and_a_head_of_ones_own(lived: Foundation, tmp_path: Path) -> None:
    """A head kept on the last day of work is among the daily ones, so that a part of a record can be held against it."""
    first, kept = signing.public_key(), kept_head(tmp_path, lived.corridor)
    materials.computation(lived, at=later(lived.corridor) + 30 * HOUR)
    folder = unpacked(tmp_path, lived)
    code, said = checked(folder, "--key", first, "--head", kept)
    assert "The record began with the key that you gave." in said
    assert "entries of the head that you kept" in said
    assert code == 0, said
    code, said = checked(folder, "--key", "ab" * 32)
    assert (code, "not with the one that you gave" in said) == (1, True)


def test_a_key_that_was_handed_over(lived: Foundation, tmp_path: Path) -> None:
    first = signing.public_key()
    keys.rotate(by=member(lived.corridor, "office"), at=later(lived.corridor))
    code, said = checked(unpacked(tmp_path, lived), "--key", first)
    assert code == 0, said
    assert "handed over by the old key" in said


def test_a_head_without_proof_in_a_part_is_said_so(lived: Foundation, tmp_path: Path) -> None:
    """A head of the middle of a day is not among the daily ones: the bundle says that it cannot tell, not that all is well."""
    kept = kept_head(tmp_path, lived.corridor)
    materials.computation(lived, at=later(lived.corridor))
    materials.computation(lived, at=later(lived.corridor))
    code, said = checked(unpacked(tmp_path, lived), "--head", kept)
    assert code == 1
    assert "holds no proof for the head that you kept" in said
    code, said = checked(unpacked(tmp_path, lived, whole=True), "--head", kept)
    assert code == 0, said


def test_equal_content_gives_equal_bytes(lived: Foundation) -> None:
    one, other = io.BytesIO(), io.BytesIO()
    bundle.write(one, lived.corridor, [lived], originals=True)
    bundle.write(other, lived.corridor, [lived], originals=True)
    assert one.getvalue() == other.getvalue()


def test_originals_only_where_asked(lived: Foundation, tmp_path: Path) -> None:
    assert not list(unpacked(tmp_path, lived).glob("photos/*"))
    folder = unpacked(tmp_path / "with", lived, originals=True)
    assert list(folder.glob("photos/original-*"))
    code, said = checked(folder)
    assert code == 0
    assert "photos are the very files that were sealed" in said


def papered(lived: Foundation, file: Any) -> Attachment:
    """Return the file of a certificate that was entered with it."""
    row = materials.certificate(lived.corridor, at=later(lived.corridor), paper=file).paper
    assert row is not None
    return row


@pytest.mark.parametrize("whole", [False, True])
def test_papers_go_along_and_are_checked(lived: Foundation, tmp_path: Path, whole: bool) -> None:
    row = papered(lived, paper())
    folder = unpacked(tmp_path, lived, whole=whole)
    name = f"papers/original-{row.sha256}.pdf"
    assert (folder / name).read_bytes() == certificate_pdf()
    code, said = checked(folder)
    assert code == 0, said
    assert "1 papers are the very files that were sealed." in said
    assert row.sha256 in (folder / "certificates.csv").read_text()
    (folder / name).write_bytes(certificate_pdf(b"/Lang (en)"))
    code, said = checked(folder)
    assert (code, f"Papers whose bytes no entry names: original-{row.sha256}.pdf" in said) == (1, True)


def test_of_a_picture_of_a_paper_the_original_goes_only_where_asked(lived: Foundation, tmp_path: Path) -> None:
    row = papered(lived, picture("scan.png", "teal"))
    folder = unpacked(tmp_path, lived)
    assert [each.name for each in (folder / "papers").iterdir()] == [f"copy-{row.sha256}.jpg"]
    assert checked(folder)[0] == 0
    folder = unpacked(tmp_path / "with", lived, originals=True)
    assert (folder / f"papers/original-{row.sha256}.png").read_bytes() == png("teal")
    assert checked(folder)[0] == 0


def test_a_paper_of_a_calibration_before_goes_along_too(lived: Foundation, tmp_path: Path) -> None:
    """The row has the last calibration only; the entry of the one before names its paper all the same."""
    for until, file in ((date(2026, 6, 1), paper()), (date(2027, 6, 1), paper(catalog=b"/Lang (en)"))):
        materials.instrument(lived.corridor, until, "TW-9", at=later(lived.corridor), paper=file)
    folder = unpacked(tmp_path, lived)
    assert len(list((folder / "papers").glob("original-*.pdf"))) == 2
    assert checked(folder)[0] == 0


def test_the_tables_are_the_rows(lived: Foundation, tmp_path: Path) -> None:
    with (unpacked(tmp_path, lived) / f"stations/{lived.mark}/measurements.csv").open(newline="") as file:
        found = list(csv.DictReader(file))
    kept = Measurement.objects.filter(foundation=lived).order_by("inspection__entry", "place")
    assert [(each["requirement"], each["value"]) for each in found] == [
        (row.requirement_key, row.value_text) for row in kept
    ]


# ---- tampered with


def change(folder: Path, name: str, old: str, new: str) -> None:
    text = (folder / name).read_text()
    assert old in text
    (folder / name).write_text(text.replace(old, new, 1))


@pytest.mark.parametrize(
    ("name", "old", "new", "fault"),
    [
        ("entries.jsonl", '"act":"release"', '"act":"returns"', "Not in the record of the head as they stand here: entries"),
        ("entries.jsonl", '{"act"', '{ "act"', "is not written in canonical form"),
        ("head.json", '"size":', '"size":1', "The head is NOT signed by the key that it names."),
        ("rows.jsonl", '"conforms"', '"confirms"', "Rows that are not what their entry says: holdpoints_"),
        ("rows.jsonl", '"table":"holdpoints_photo"', '"table":"holdpoints_pic"', "1 rows are named by no entry here."),
        ("heads.json", '"signature": "', '"signature": "00', "The record does not begin with what earlier heads cover"),
    ],
)  # fmt: skip
def test_what_is_altered_in_a_bundle_is_named(
    lived: Foundation, tmp_path: Path, name: str, old: str, new: str, fault: str
) -> None:
    folder = unpacked(tmp_path, lived)
    change(folder, name, old, new)
    code, said = checked(folder)
    assert code == 1
    assert fault in said


def test_an_entry_left_out_of_the_whole_record_is_named(lived: Foundation, tmp_path: Path) -> None:
    folder = unpacked(tmp_path, lived, whole=True)
    lines = (folder / "entries.jsonl").read_text().splitlines(keepends=True)
    (folder / "entries.jsonl").write_text("".join(lines[:8] + lines[9:]))
    code, said = checked(folder)
    assert (code, "Not in the record of the head as they stand here" in said) == (1, True)


def test_a_photo_replaced_in_the_store_shows_in_the_bundle(lived: Foundation, tmp_path: Path) -> None:
    entry = (
        Entry.objects.of_log(lived.corridor_id).filter(act="submit_inspection", payload__photos__isnull=False).first()
    )
    assert entry is not None
    digest = next(iter(entry.payload["photos"].values()))
    Path(default_storage.path(sealed_name(digest))).write_bytes(b"another picture")
    code, said = checked(unpacked(tmp_path, lived, originals=True))
    assert (code, "Photos whose bytes no entry names" in said) == (1, True)


def test_a_row_edited_on_the_server_shows_in_the_bundle(lived: Foundation, tmp_path: Path) -> None:
    with lifted():
        row = Measurement.objects.filter(foundation=lived, outcome="conforms").first()
        assert row is not None
        Measurement.objects.filter(pk=row.pk).update(value_text="9 in")
    code, said = checked(unpacked(tmp_path, lived))
    assert code == 1
    assert f"holdpoints_measurement {row.pk} (entry {row.inspection.entry})" in said


def test_a_record_made_anew_by_another_key_does_not_pass(lived: Foundation, tmp_path: Path) -> None:
    """The forger signs the head by a key of his own: the entries name the true one."""
    folder = unpacked(tmp_path, lived)
    head = json.loads((folder / "head.json").read_text())
    head["statement"]["key"] = signing.sign(b"", b"\x07" * 32).key
    text = heads.canonical(head["statement"])
    head["signature"] = signing.sign(text.encode(), b"\x07" * 32).signature
    (folder / "head.json").write_text(json.dumps(head))
    code, said = checked(folder)
    assert (code, "signed by another key than the one in force" in said) == (1, True)


@pytest.mark.parametrize("arguments", [("--head",), ("--head", "nowhere.json"), ("--what",)])
def test_wrong_words_are_answered_with_the_usage(lived: Foundation, tmp_path: Path, arguments: tuple[str, ...]) -> None:
    folder = unpacked(tmp_path, lived)
    command = [sys.executable, "-I", "verify.py", *arguments]
    run = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    assert (run.returncode, run.stderr.startswith("python3 verify.py")) == (2, True)


# ---- handing over, correcting


def test_handing_over_is_an_entry_of_the_bundle_itself(lived: Foundation, tmp_path: Path) -> None:
    auditor = member(lived.corridor, "auditor")
    said = {"subject": lived.mark, "marks": [lived.mark], "originals": False, "client_id": uuid7()}
    entries.hand_over(corridor=lived.corridor, by=auditor, at=later(lived.corridor), **said)
    text = (unpacked(tmp_path, lived) / "entries.jsonl").read_text()
    assert '"act":"hand_over"' in text
    with pytest.raises(Refused, match="auditor"):
        entries.hand_over(
            corridor=lived.corridor, by=member(lived.corridor, "foreman"), at=later(lived.corridor), **said | {"client_id": uuid7()}
        )  # fmt: skip


def corrected(lived: Foundation, role: str, sequence: int, **more: Any) -> Entry:
    said = {"right": "Depth 97 in", "reason": "Read from the wrong end of the tape"} | more
    entries.correct_entry(
        corridor=lived.corridor, sequence=sequence, by=member(lived.corridor, role), at=later(lived.corridor), client_id=uuid7(), **said
    )  # fmt: skip
    return last_entry(lived.corridor_id)


def test_a_correction_names_the_old_entry_and_changes_nothing_else(lived: Foundation) -> None:
    old = Entry.objects.of_log(lived.corridor_id).filter(act="submit_inspection").first()
    assert old is not None
    made = corrected(lived, "inspector", old.sequence)
    assert (made.act, made.payload["corrects"], made.mark) == ("correct_entry", old.sequence, lived.mark)
    assert Entry.objects.get(pk=old.pk).text == old.text
    assert verify(lived.corridor_id).whole


def test_who_corrects(lived: Foundation) -> None:
    """Whoever made the entry, or the engineer."""
    old = Entry.objects.of_log(lived.corridor_id).filter(act="submit_inspection").first()
    assert old is not None
    assert corrected(lived, "engineer", old.sequence).role == "engineer"
    for role in ("foreman", "office"):
        with pytest.raises(Refused, match="they or the engineer correct it"):
            corrected(lived, role, old.sequence)
    with pytest.raises(Refused, match="you are not that today"):
        corrected(lived, "auditor", old.sequence)
    with pytest.raises(Refused, match="There is no entry 9999"):
        corrected(lived, "engineer", 9999)
    with pytest.raises(Refused, match="how the mistake came about"):
        corrected(lived, "inspector", old.sequence, reason=" ")
