"""The station record: everything that happened, each entry hashed again, strangers kept out, a constant number of queries."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from apps.corridor.models import Corridor, Foundation
from apps.people.models import Person
from apps.record import guard
from apps.record.models import Attachment, Entry
from tests.factories import holdpoints
from tests.factories.holdpoints import at_stage, hold_point
from tests.factories.places import fix, on_grid


def address(corridor: Corridor, mark: str = "LP-001") -> str:
    return reverse("dossier:station", args=[corridor.slug, mark])


def test_the_history_tells_what_happened_in_order(
    client: Client, corridor: Corridor, foundation: Foundation, auditor: Person
) -> None:
    at_stage(foundation, "layout", "returned")
    point = hold_point(foundation, "layout")
    holdpoints.inspect(point, holdpoints.after(foundation))
    client.force_login(auditor)
    events = client.get(address(corridor)).context["shown"].events
    assert [event.entry.act for event in events] == [
        "bring_in_foundation",
        "give_notice",
        "submit_inspection",
        "return_inspection",
        "submit_inspection",
    ]
    assert all(event.whole for event in events)


def test_the_history_is_narrowed_but_all_entries_are_hashed(
    client: Client, corridor: Corridor, foundation: Foundation, auditor: Person, engineer: Person
) -> None:
    at_stage(foundation, "layout", "released")
    client.force_login(auditor)
    page = client.get(address(corridor), {"person": engineer.username})
    assert [event.entry.act for event in page.context["shown"].events] == ["release"]
    assert page.context["shown"].total == page.context["shown"].whole == 4


def test_a_narrowed_history_still_offers_everybody(
    client: Client, corridor: Corridor, foundation: Foundation, auditor: Person, engineer: Person
) -> None:
    at_stage(foundation, "layout", "released")
    client.force_login(auditor)
    page = client.get(address(corridor), {"person": engineer.username})
    assert {name for name, _ in page.context["people"]} == {"d.reyes", "j.brandt", "p.lindqvist", "r.halvorsen"}


def test_every_attempt_and_every_decision_is_reached(
    client: Client, corridor: Corridor, foundation: Foundation, auditor: Person
) -> None:
    at_stage(foundation, "layout", "returned")
    point = holdpoints.inspect(hold_point(foundation, "layout"), holdpoints.after(foundation))
    holdpoints.release(point, holdpoints.after(foundation))
    client.force_login(auditor)
    page = client.get(address(corridor))
    text, decided = page.content.decode(), page.context["shown"].decided
    assert [attempt.decision.kind for _, attempt, _ in decided] == ["return", "release"]
    for entry in Entry.objects.filter(act__in=["submit_inspection", "return_inspection", "release"]):
        assert reverse("dossier:entry", args=[corridor.slug, entry.sequence]) in text
    assert all(leaf == Entry.objects.get(sequence=a.decision.entry, log=corridor.pk).leaf for _, a, leaf in decided)
    photos = Attachment.objects.count()
    assert photos > 0
    assert text.count("<figure>") == sum(
        a.inspection.photos.count() for _, tries in page.context["shown"].stages for a in tries
    )


def test_each_photo_says_where_it_is_from_and_no_page_the_coordinates(
    client: Client, corridor: Corridor, foundation: Foundation, auditor: Person
) -> None:
    gridded = on_grid(foundation)
    point, where = at_stage(gridded, "layout", "notified"), fix(gridded, 400)
    sent = [shot._replace(fix=where) for shot in holdpoints.photos_for(point)]
    holdpoints.inspect(point, holdpoints.after(gridded), photos=sent)
    client.force_login(auditor)
    text = client.get(address(corridor)).content.decode().replace("\N{NO-BREAK SPACE}", " ")
    said = "farther than 50 ft: 400 ft from the station, ± 40 ft, position of the phone, ± 12 m, 40 s before the photo was sent"
    assert text.count(said) == len(sent)
    assert "neither proves a place. 50 ft is this corridor’s limit: common practice, no source." in text
    number = Entry.objects.get(act="submit_inspection").sequence
    entry = client.get(reverse("dossier:entry", args=[corridor.slug, number])).content.decode()
    for page in (text, entry):
        assert str(where.lat) not in page and str(where.lon) not in page


def test_an_entry_changed_behind_the_application_is_named(
    client: Client, corridor: Corridor, foundation: Foundation, auditor: Person
) -> None:
    at_stage(foundation, "layout", "released")
    with guard.lifted():
        Entry.objects.filter(act="release").update(actor_name="Somebody else")
    client.force_login(auditor)
    page = client.get(address(corridor))
    assert [event.entry.act for event in page.context["shown"].events if not event.whole] == ["release"]
    assert "3 of 4 entries agree with their hashes" in page.content.decode()


def test_one_entry_shows_what_was_written(
    client: Client, corridor: Corridor, foundation: Foundation, auditor: Person
) -> None:
    at_stage(foundation, "layout", "inspected")
    entry = Entry.objects.get(act="submit_inspection")
    client.force_login(auditor)
    text = client.get(reverse("dossier:entry", args=[corridor.slug, entry.sequence])).content.decode()
    assert entry.leaf in text
    assert "layout.station" in text
    assert client.get(reverse("dossier:entry", args=[corridor.slug, 10_000])).status_code == 404


def test_the_page_costs_the_same_with_more_attempts(
    client: Client, corridor: Corridor, foundation: Foundation, auditor: Person
) -> None:
    at_stage(foundation, "layout", "returned")
    client.force_login(auditor)
    client.get(address(corridor))
    costs = []
    for _ in range(2):
        with CaptureQueriesContext(
            connection,
        ) as asked:
            client.get(address(corridor))
        costs.append(len(asked))
        point = holdpoints.inspect(hold_point(foundation, "layout"), holdpoints.after(foundation))
        holdpoints.send_back(point, holdpoints.after(foundation))
    assert costs[0] == costs[1]


def test_a_photo_is_for_members_and_cannot_run_anything(
    client: Client, corridor: Corridor, foundation: Foundation, auditor: Person, stranger: Person
) -> None:
    at_stage(foundation, "layout", "inspected")
    photo = Attachment.objects.first()
    assert photo is not None
    path = reverse("dossier:photo", args=[corridor.slug, photo.pk])
    client.force_login(auditor)
    answer = client.get(path)
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["Content-Security-Policy"] == "sandbox; default-src 'none'"
    client.force_login(stranger)
    assert client.get(path).status_code == 404


@pytest.mark.parametrize(
    ("asked", "first"), [("LP-001", "LP-001"), ("pb", "PB-001"), ("105+20", "LP-001"), ("999+00", None)]
)
def test_a_station_is_found_by_mark_or_the_nearest_is_shown(
    client: Client,
    corridor: Corridor,
    foundation: Foundation,
    pedestal: Foundation,
    auditor: Person,
    asked: str,
    first: str | None,
) -> None:
    client.force_login(auditor)
    page = client.get(reverse("dossier:stations", args=[corridor.slug]), {"find": asked})
    assert page.context["rows"], "nothing is shown at all"
    if first:
        assert page.context["rows"][0][0].mark == first
        assert "There is no foundation" not in page.content.decode()
    else:
        assert "There is no foundation" in page.content.decode()
