"""The paper itself, brought on Materials: kept, named by its entry, linked beside its row, handed out to members alone."""

import re
from hashlib import sha256
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from apps.corridor.models import Corridor, Foundation
from apps.materials.models import Certificate, Instrument, LocateTicket
from apps.people.models import Person
from apps.record.ids import uuid7
from apps.record.models import Attachment
from apps.record.verify import verify
from tests.factories import materials
from tests.factories.record import certificate_pdf, last_entry, paper, picture
from tests.factories.times import DAY, NOW

PAGE, ADD, FILE = "setup:materials", "setup:material", "dossier:paper"
TODAY = f"{NOW:%Y-%m-%d}"
SAID: dict[str, dict[str, str]] = {
    "ticket": {"number": "AM-9", "valid_from": TODAY, "valid_until": TODAY, "answered": "on"},
    "certificate": {"covers": "mix", "number": "M-1", "received_on": TODAY, "note": "With the first truck"},
    "instrument": {"name": "TW-9", "kind": "wrench", "calibrated_until": TODAY},
}
MODELS: dict[str, Any] = {"ticket": LocateTicket, "certificate": Certificate, "instrument": Instrument}


def add(client: Any, corridor: Corridor, entry: str, /, **said: Any) -> Any:
    return client.post(reverse(ADD, args=[corridor.slug, entry]), {"client_id": uuid7(), **SAID[entry], **said})


def form_of(page: Any, entry: str) -> Any:
    (form,) = [form for key, _, form, _ in page.context["forms"] if key == entry]
    return form


def filed(entry: str) -> Attachment:
    """Return the file of the row that SAID makes."""
    key = "name" if entry == "instrument" else "number"
    found: Attachment = MODELS[entry].objects.get(**{key: SAID[entry][key]}).paper
    return found


@pytest.mark.parametrize("entry", list(SAID))
@pytest.mark.parametrize(("file", "kind"), [(paper, "application/pdf"), (picture, "image/png")])
def test_each_kind_takes_its_paper_and_links_to_it(
    corridor: Corridor, office: Person, as_person: Any, clock: Any, entry: str, file: Any, kind: str
) -> None:
    client = as_person(office)
    assert add(client, corridor, entry, paper=file("from the mill.x")).status_code == 302
    row = filed(entry)
    assert (row.kind, row.name, row.log) == (kind, "from the mill.x", corridor.pk)
    assert last_entry(corridor.pk).payload["paper"] == {"sha256": row.sha256, "name": "from the mill.x"}
    text = client.get(reverse(PAGE, args=[corridor.slug])).content.decode()
    assert f'href="{reverse(FILE, args=[corridor.slug, row.pk])}">from the mill.x</a>' in text
    assert row.sha256[:12] in text
    assert verify(corridor.pk).faults == []


@pytest.mark.parametrize("entry", list(SAID))
def test_the_paper_may_be_left_out_and_the_entry_is_as_before(
    corridor: Corridor, office: Person, as_person: Any, clock: Any, entry: str
) -> None:
    assert add(as_person(office), corridor, entry).status_code == 302
    assert filed(entry) is None
    assert "paper" not in last_entry(corridor.pk).payload


@pytest.mark.parametrize("entry", list(SAID))
@pytest.mark.parametrize(
    ("said", "why"),
    [
        ({"catalog": b"/OpenAction << /S /JavaScript >>"}, "carries JavaScript"),
        ({"trailer": b"/Encrypt 9 0 R"}, "is encrypted"),
        ({"pages": 0}, "without a page"),
    ],
)
def test_a_wrong_file_is_named_and_all_that_was_typed_stays(
    corridor: Corridor, office: Person, as_person: Any, clock: Any, entry: str, said: Any, why: str
) -> None:
    page = add(as_person(office), corridor, entry, paper=paper(**said))
    assert page.status_code == 422
    form = form_of(page, entry)
    assert why in str(form.errors["paper"]) and list(form.errors) == ["paper"]
    ticked = {"answered": "True"} if entry == "ticket" else {}
    assert {name: str(form[name].value()) for name in SAID[entry]} == SAID[entry] | ticked
    assert not Attachment.objects.exists()
    assert "Nothing was written, nothing is lost." in page.content.decode()


def test_an_empty_file_is_named_like_any_other_fault(
    corridor: Corridor, office: Person, as_person: Any, clock: Any
) -> None:
    page = add(as_person(office), corridor, "certificate", paper=SimpleUploadedFile("nothing.pdf", b""))
    assert "nothing.pdf is empty" in str(form_of(page, "certificate").errors["paper"])


def test_a_good_file_beside_a_wrong_answer_need_not_be_chosen_again(
    corridor: Corridor, office: Person, as_person: Any, clock: Any
) -> None:
    client, client_id = as_person(office), uuid7()
    page = add(client, corridor, "certificate", client_id=client_id, number="", paper=paper())
    assert page.status_code == 422
    text = page.content.decode()
    assert "mill.pdf is here already" in text and 'value="With the first truck"' in text
    kept = form_of(page, "certificate")["kept"].value()
    assert add(client, corridor, "certificate", client_id=client_id, kept=kept).status_code == 302
    assert filed("certificate").sha256 == sha256(certificate_pdf()).hexdigest()
    assert Certificate.objects.get(number="M-1").note == "With the first truck"
    add(client, corridor, "certificate", number="M-2", kept=kept)
    assert Certificate.objects.get(number="M-2").paper is None, "another form may not name it"


def test_a_file_that_came_is_put_in_the_place_of_one_before_and_a_wrong_one_is_not(
    corridor: Corridor, office: Person, as_person: Any, clock: Any
) -> None:
    client, client_id = as_person(office), uuid7()
    page = add(client, corridor, "certificate", client_id=client_id, number="", paper=paper())
    page = add(
        client, corridor, "certificate", client_id=client_id, kept=form_of(page, "certificate")["kept"].value(),
        paper=paper("wrong.pdf", trailer=b"/Encrypt 9 0 R"),
    )  # fmt: skip
    assert "wrong.pdf is encrypted" in page.content.decode() and "mill.pdf is here already" in page.content.decode()
    kept = form_of(page, "certificate")["kept"].value()
    add(client, corridor, "certificate", client_id=client_id, kept=kept, paper=picture("scan.png"))
    assert filed("certificate").name == "scan.png"


def test_of_those_who_may_enter_nothing_no_file_is_sealed(corridor: Corridor, auditor: Person, as_person: Any) -> None:
    assert add(as_person(auditor), corridor, "certificate", paper=paper()).status_code == 409
    assert not Attachment.objects.exists()


def test_a_new_calibration_drops_the_paper_of_the_one_before(
    corridor: Corridor, office: Person, as_person: Any, clock: Any
) -> None:
    client = as_person(office)
    add(client, corridor, "instrument", paper=paper())
    add(client, corridor, "instrument", uncertainty="4 %")
    assert filed("instrument").name == "mill.pdf", "the same calibration keeps its paper"
    assert last_entry(corridor.pk).payload["paper"]["name"] == "mill.pdf"
    add(client, corridor, "instrument", calibrated_until=f"{NOW + 90 * DAY:%Y-%m-%d}")
    assert filed("instrument") is None
    assert verify(corridor.pk).faults == []


def test_members_are_handed_the_very_file_and_strangers_nothing(
    corridor: Corridor, foundation: Foundation, office: Person, foreman: Person, stranger: Person, as_person: Any, clock: Any
) -> None:  # fmt: skip
    add(as_person(office), corridor, "certificate", paper=paper("heat <20814>.html"))
    address = reverse(FILE, args=[corridor.slug, filed("certificate").pk])
    answer = as_person(foreman).get(address)
    assert answer.content == certificate_pdf()
    assert answer["Content-Type"] == "application/pdf"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Content-Security-Policy"] == "sandbox; default-src 'none'"
    assert answer["Content-Disposition"] == 'attachment; filename="heat <20814>.pdf"'
    assert as_person(stranger).get(address).status_code == 404
    assert as_person(office).get(reverse(FILE, args=[corridor.slug, uuid7()])).status_code == 404


def test_of_a_picture_the_copy_without_what_the_phone_wrote_is_handed_out(
    corridor: Corridor, office: Person, as_person: Any, clock: Any
) -> None:
    client = as_person(office)
    add(client, corridor, "certificate", paper=picture("scan.png"))
    answer = client.get(reverse(FILE, args=[corridor.slug, filed("certificate").pk]))
    assert answer["Content-Type"] == "image/jpeg" and answer.content.startswith(b"\xff\xd8")
    assert answer["Content-Disposition"] == 'attachment; filename="scan.jpg"'
    assert "given as a copy" in client.get(reverse(PAGE, args=[corridor.slug])).content.decode()


def test_a_file_missing_from_the_store_is_said_so(
    corridor: Corridor, office: Person, as_person: Any, clock: Any, settings: Any, tmp_path: Any
) -> None:
    client = as_person(office)
    add(client, corridor, "certificate", paper=paper())
    settings.MEDIA_ROOT = str(tmp_path)
    assert client.get(reverse(FILE, args=[corridor.slug, filed("certificate").pk])).status_code == 404


def test_the_station_record_links_to_the_paper_of_a_lot(
    corridor: Corridor, foundation: Foundation, office: Person, auditor: Person, as_person: Any, clock: Any
) -> None:
    add(as_person(office), corridor, "certificate", covers="steel", paper=paper())
    materials.lot(foundation, number="M-1")
    text = as_person(auditor).get(reverse("dossier:station", args=[corridor.slug, "LP-001"])).content.decode()
    assert reverse(FILE, args=[corridor.slug, filed("certificate").pk]) in text


def test_the_page_asks_no_more_of_the_database_for_more_papers(
    corridor: Corridor, office: Person, as_person: Any, clock: Any
) -> None:
    client = as_person(office)
    counts = []
    for number in ("A", "B", "C"):
        add(client, corridor, "certificate", number=number, paper=paper())
        add(client, corridor, "ticket", number=number, paper=paper())
        with CaptureQueriesContext(connection) as asked:
            text = client.get(reverse(PAGE, args=[corridor.slug])).content.decode()
        counts.append(len(asked))
    assert len(set(counts)) == 1
    assert len(re.findall("mill.pdf</a>", text)) == 6
