"""Pages of what proves the record: signed heads, a head kept outside, bundles, corrections, a station as it stood on a day."""

import io
import json
import zipfile
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from apps.corridor.models import Foundation
from apps.dossier import batch
from apps.findings.models import Finding
from apps.holdpoints.models import HoldPoint
from apps.holdpoints.past import CannotBe, stood
from apps.jobs import queue
from apps.jobs.models import Job
from apps.people.models import Person
from apps.record import heads, signing
from apps.record.guard import lifted
from apps.record.ids import uuid7
from apps.record.models import Entry, Head
from tests.factories import findings, followups
from tests.factories.corridor import member
from tests.factories.holdpoints import after, at_stage, hold_point, reopen, send_back
from tests.factories.record import last_entry
from tests.factories.times import HOUR

pytestmark = [
    pytest.mark.django_db,
    # WeasyPrint leaves its colour profile open when it writes the archive form.
    pytest.mark.filterwarnings("ignore:unclosed file.*sRGB2014:ResourceWarning"),
    pytest.mark.filterwarnings("ignore:Exception ignored in.*sRGB2014:pytest.PytestUnraisableExceptionWarning"),
]


@pytest.fixture(autouse=True)
def own_folder(settings: Any, tmp_path: Path) -> None:
    """A key, a store and results of its own for each test."""
    settings.RECORD_KEY, settings.MEDIA_ROOT = str(tmp_path / "record-key"), str(tmp_path / "evidence")
    settings.RESULTS_ROOT = str(tmp_path / "results")


@pytest.fixture
def released(foundation: Foundation) -> Foundation:
    """A foundation whose drill is released, and all roles."""
    for role in ("engineer", "inspector", "office", "foreman", "auditor"):
        member(foundation.corridor, role)
    at_stage(foundation, "drill", "released")
    return foundation


@pytest.fixture
def auditor(released: Foundation) -> Person:
    return member(released.corridor, "auditor")


def url(foundation: Foundation, name: str, *more: Any) -> str:
    return reverse(f"dossier:{name}", args=[foundation.corridor.slug, *more])


def kept_file(text: str) -> SimpleUploadedFile:
    return SimpleUploadedFile("head.json", text.encode(), "application/json")


def current(foundation: Foundation) -> heads.Kept:
    found = heads.current(foundation.corridor_id)
    assert found is not None
    return found


# ---- heads


def test_the_page_names_the_head_and_hands_it_out(released: Foundation, auditor: Person, as_person: Any) -> None:
    client, head = as_person(auditor), current(released)
    page = client.get(url(released, "proof")).content.decode()
    for said in (head.root, head.key, head.signature, f"{head.size} entries, signed."):
        assert said in page
    answer = client.get(url(released, "head", head.size))
    assert heads.from_text(answer.content.decode()) == head
    assert "attachment" in answer["Content-Disposition"]
    assert client.get(url(released, "head", 99_999)).status_code == 404


def test_a_head_that_was_not_kept_is_answered_by_the_newest(
    released: Foundation, auditor: Person, office: Person, as_person: Any
) -> None:
    shown = current(released)
    followups.added(released.corridor, office)
    newest = current(released)
    assert newest.size == shown.size + 1
    answer = as_person(auditor).get(url(released, "head", shown.size))
    got = heads.from_text(answer.content.decode())
    assert got.size in (shown.size, newest.size)
    assert f"-{got.size}.json" in answer["Content-Disposition"]


def test_a_kept_head_is_held_against_the_record(released: Foundation, auditor: Person, as_person: Any) -> None:
    kept = current(released)
    reopen(hold_point(released, "drill"), after(released))
    answer = as_person(auditor).post(url(released, "proof"), {"head": kept_file(kept.as_text())})
    size = current(released).size
    assert (
        f"record of {size} entries begins with the {kept.size} that your head covers, unchanged"
        in answer.content.decode()
    )


def test_a_changed_record_does_not_begin_with_a_kept_head(
    released: Foundation, auditor: Person, as_person: Any
) -> None:
    kept = current(released)
    said = json.loads(kept.as_text())
    said["statement"]["root"] = "ab" * 32
    text = heads.canonical(said["statement"])
    said["signature"] = signing.sign(text.encode()).signature  # truly signed: only the record differs
    page = as_person(auditor).post(url(released, "proof"), {"head": kept_file(json.dumps(said))}).content.decode()
    assert "The record does not begin with the" in page


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("no json", "no signed head of a record"),
        ("x" * 20_000, "no signed head of a record"),
        ('{"statement": {}, "signature": ""}', "no signed head of a record"),
    ],
)
def test_another_file_is_answered_with_a_sentence(
    released: Foundation, auditor: Person, as_person: Any, text: str, said: str
) -> None:
    assert said in as_person(auditor).post(url(released, "proof"), {"head": kept_file(text)}).content.decode()


def test_no_file_is_answered_beside_the_field(released: Foundation, auditor: Person, as_person: Any) -> None:
    assert as_person(auditor).post(url(released, "proof"), {}).status_code == 422


def test_a_cut_record_is_noticed(released: Foundation, auditor: Person, as_person: Any) -> None:
    kept = current(released)
    with lifted():
        Head.objects.filter(log=released.corridor_id).update(
            statement=kept.statement.replace(f'"size":{kept.size}', f'"size":{kept.size - 1}')
        )
    page = as_person(auditor).post(url(released, "proof"), {"head": kept_file(kept.as_text())}).content.decode()
    assert "the end of the record was cut off" in page


# ---- bundles


def test_the_bundle_of_a_station_comes_at_once_and_is_entered(
    released: Foundation, auditor: Person, as_person: Any
) -> None:
    answer = as_person(auditor).post(url(released, "station_bundle", released.mark), {"client_id": uuid7()})
    names = zipfile.ZipFile(io.BytesIO(answer.content)).namelist()
    assert {"verify.py", "head.json", f"stations/{released.mark}/dossier.pdf"} <= set(names)
    entry = last_entry(released.corridor_id)
    assert (entry.act, entry.actor, entry.mark) == ("hand_over", auditor.username, released.mark)


def test_the_bundle_of_the_whole_record_is_a_job(released: Foundation, auditor: Person, as_person: Any) -> None:
    answer = as_person(auditor).post(url(released, "whole_bundle"), {"client_id": uuid7(), "originals": "on"})
    job = Job.objects.get()
    assert answer["Location"].endswith(f"/{job.pk}/")
    at = last_entry(released.corridor_id).received_at + HOUR
    taken = queue.take(at)
    assert taken is not None
    queue.run(taken, lambda: at)
    job.refresh_from_db()
    assert (job.state, job.error) == ("done", "")
    names = zipfile.ZipFile(job.result).namelist()
    assert "proofs.json" not in names
    assert any(each.startswith("photos/original-") for each in names)
    assert job.kind == batch.BUNDLE


def test_a_foreman_gets_no_bundle(released: Foundation, as_person: Any) -> None:
    foreman = member(released.corridor, "foreman")
    answer = as_person(foreman).post(url(released, "station_bundle", released.mark), {"client_id": uuid7()})
    assert answer.status_code == 302
    assert last_entry(released.corridor_id).act != "hand_over"
    assert "Make the bundle" not in as_person(foreman).get(url(released, "station", released.mark)).content.decode()


# ---- an entry, corrected


def test_an_entry_shows_its_way_to_the_signed_root(released: Foundation, auditor: Person, as_person: Any) -> None:
    page = as_person(auditor).get(url(released, "entry", 7)).content.decode()
    assert current(released).root in page
    assert page.count('<li class="hash">') == 5


def test_a_correction_stands_on_both_entries_and_in_the_history(released: Foundation, as_person: Any) -> None:
    inspector = member(released.corridor, "inspector")
    old = Entry.objects.of_log(released.corridor_id).filter(act="submit_inspection", actor=inspector.username).first()
    assert old is not None
    client = as_person(inspector)
    said = {"client_id": uuid7(), "right": "Depth 97 in", "reason": "Wrong end of the tape"}
    client.post(url(released, "correct", old.sequence), said)
    made = last_entry(released.corridor_id)
    assert "Corrected by" in client.get(url(released, "entry", old.sequence)).content.decode()
    assert f"entry {old.sequence}</a>" in client.get(url(released, "entry", made.sequence)).content.decode()
    assert f"entry {made.sequence}</a>.</b>" in client.get(url(released, "station", released.mark)).content.decode()


def test_a_correction_without_reason_keeps_what_was_typed(released: Foundation, as_person: Any) -> None:
    engineer = member(released.corridor, "engineer")
    answer = as_person(engineer).post(
        url(released, "correct", 7), {"client_id": uuid7(), "right": "Depth 97 in", "reason": ""}
    )
    assert answer.status_code == 422
    assert "Depth 97 in" in answer.content.decode()
    assert last_entry(released.corridor_id).act != "correct_entry"


# ---- as it stood


def same(foundation: Foundation) -> None:
    """Assert that what the entries say is what the rows say today."""
    then = stood(Entry.objects.of_log(foundation.corridor_id).about(foundation.mark))
    rows = HoldPoint.objects.filter(foundation=foundation).select_related("edition")
    assert {
        point.stage: (point.state, point.since, point.attempts, point.edition and point.edition.number)
        for point in rows
    } == {each.stage: (each.state, each.since, each.attempts, each.edition) for each in then.points.values()}
    found = Finding.objects.filter(foundation=foundation)
    assert {each.name: (each.state, each.since, each.grade) for each in found} == {
        each.name: (each.state, each.since, each.grade) for each in then.findings.values()
    }
    assert bool(foundation.abandoned_at) == bool(then.abandoned)


@pytest.mark.parametrize("stage", ["layout", "cage", "pour", "pole_set"])
@pytest.mark.parametrize("state", ["ready", "notified", "inspected", "returned", "released", "reopened"])
def test_rebuilt_from_the_entries_it_is_what_the_rows_say(foundation: Foundation, stage: str, state: str) -> None:
    at_stage(foundation, stage, state)
    same(foundation)


@pytest.mark.parametrize("state", list(findings.STEPS))
def test_findings_are_rebuilt(foundation: Foundation, state: str) -> None:
    findings.in_state(foundation, state)
    same(foundation)


def test_a_reopening_pulls_back_what_stood_on_it(foundation: Foundation) -> None:
    at_stage(foundation, "cage", "inspected")
    reopen(hold_point(foundation, "layout"), after(foundation))
    same(foundation)


def test_every_moment_is_a_past_that_was_a_present(foundation: Foundation) -> None:
    """What the page says of a moment is what the rows said then."""
    point = at_stage(foundation, "drill", "inspected")
    before = len(Entry.objects.of_log(foundation.corridor_id).about(foundation.mark))
    send_back(point, after(foundation))
    entries = list(Entry.objects.of_log(foundation.corridor_id).about(foundation.mark))
    assert stood(entries[:before]).points["drill"].state == "inspected"
    assert stood(entries).points["drill"].state == "returned"


def test_entries_that_cannot_follow_each_other_are_refused(foundation: Foundation) -> None:
    at_stage(foundation, "layout", "released")
    entries = list(Entry.objects.of_log(foundation.corridor_id).about(foundation.mark))
    release = next(each for each in entries if each.act == "release")
    with pytest.raises(CannotBe, match="cannot follow released"):
        stood([*entries, release])


def test_the_page_shows_a_day_and_says_what_came_later(released: Foundation, auditor: Person, as_person: Any) -> None:
    client = as_person(auditor)
    first = Entry.objects.of_log(released.corridor_id).about(released.mark).first()
    assert first is not None
    day = released.corridor.day(first.received_at)
    page = client.get(url(released, "past", released.mark), {"day": str(day)}).content.decode()
    assert "0 of six hold points released" in page
    page = client.get(url(released, "past", released.mark), {"day": str(day + timedelta(days=30))}).content.decode()
    assert "2 of six hold points released" in page
    page = client.get(url(released, "past", released.mark), {"day": str(day - timedelta(days=1))}).content.decode()
    assert "It was not brought in yet." in page


def test_a_day_that_is_none_is_said_beside_the_field(released: Foundation, auditor: Person, as_person: Any) -> None:
    answer = as_person(auditor).get(url(released, "past", released.mark), {"day": "yesterday"})
    assert answer.status_code == 422
    assert "“yesterday” is no day" in answer.content.decode()


@pytest.mark.parametrize("name", ["proof", "head", "past"])
def test_strangers_find_nothing(released: Foundation, stranger: Person, as_person: Any, name: str) -> None:
    more = {"proof": [], "head": [1], "past": [released.mark]}[name]
    assert as_person(stranger).get(url(released, name, *more)).status_code == 404
