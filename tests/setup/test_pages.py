"""Setup's pages: a schedule checked first and brought in after, requirements browsed, strangers kept out."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse

from apps.corridor.models import Corridor, Foundation
from apps.people.models import Person
from tests.factories.corridor import bring_in, cells


def schedule(corridor: Corridor, *marks: str, **changed: str) -> bytes:
    """Return a schedule as CSV; what is changed is changed in the last line."""
    rows = [cells(mark, corridor.designs.get(name="LP1"), place) for place, mark in enumerate(marks)]
    rows[-1] = {**rows[-1], **changed}
    lines = [",".join(rows[0]), *(",".join(row.values()) for row in rows)]
    return "\n".join(lines).encode()


def check_file(client: Client, corridor: Corridor, data: bytes) -> object:
    file = SimpleUploadedFile("foundations.csv", data, content_type="text/csv")
    return client.post(reverse("setup:schedule", args=[corridor.slug]), {"file": file})


def test_a_schedule_is_checked_and_nothing_is_written(client: Client, corridor: Corridor, office: Person) -> None:
    client.force_login(office)
    page = check_file(client, corridor, schedule(corridor, "LP-001", "LP-002"))
    text = page.content.decode()
    assert "2 foundations can be brought in, 0 lines" in text
    assert not Foundation.objects.exists()


def test_what_was_checked_is_brought_in_when_the_person_says_so(
    client: Client, corridor: Corridor, office: Person
) -> None:
    client.force_login(office)
    page = check_file(client, corridor, schedule(corridor, "LP-001", "LP-002", side="up"))
    sent = {"lines": page.context["lines"], "client_id": str(page.context["client_id"])}
    address = reverse("setup:schedule", args=[corridor.slug])
    refused = client.post(address, sent)
    assert refused.status_code == 409
    assert "Line 3: Side" in refused.content.decode()
    assert not Foundation.objects.exists()
    done = client.post(
        address, {**sent, "client_id": str(refused.context["client_id"]), "skip_bad": "yes"}, follow=True
    )
    assert "Brought in: 1. Skipped: line 3." in done.content.decode()
    assert Foundation.objects.count() == 1


def test_a_line_that_went_wrong_since_it_was_checked_stops_all_of_them(
    client: Client, corridor: Corridor, office: Person
) -> None:
    client.force_login(office)
    page = check_file(client, corridor, schedule(corridor, "LP-001", "LP-002", side="up"))
    assert "Bring in 1, skip 1" in page.content.decode()
    bring_in(corridor, ["LP-001"])
    sent = {"lines": page.context["lines"], "client_id": str(page.context["client_id"]), "skip_bad": "yes"}
    answer = client.post(reverse("setup:schedule", args=[corridor.slug]), sent)
    assert answer.status_code == 409
    assert "Line 2: Mark LP-001 stands in the corridor already." in answer.content.decode()


def test_a_column_that_nobody_reads_is_named_before_anything_is_written(
    client: Client, corridor: Corridor, office: Person
) -> None:
    client.force_login(office)
    data = schedule(corridor, "LP-001").replace(b"pole height", b"pole hight")
    text = check_file(client, corridor, data).content.decode()
    assert "Columns that nobody reads: pole hight." in text
    assert "Bring in all 1" in text


@pytest.mark.parametrize("role", ["auditor", "inspector"])
def test_who_may_not_bring_in_is_told_and_offered_no_button(
    client: Client, corridor: Corridor, role: str, request: pytest.FixtureRequest
) -> None:
    client.force_login(request.getfixturevalue(role))
    page = check_file(client, corridor, schedule(corridor, "LP-001"))
    assert "The project office or the engineer brings a schedule in" in page.content.decode()
    assert "Bring in all" not in page.content.decode()
    sent = {"lines": page.context["lines"], "client_id": str(page.context["client_id"])}
    assert client.post(reverse("setup:schedule", args=[corridor.slug]), sent).status_code == 409
    assert not Foundation.objects.exists()


def test_lines_that_were_changed_on_the_way_are_refused(client: Client, corridor: Corridor, office: Person) -> None:
    client.force_login(office)
    page = check_file(client, corridor, schedule(corridor, "LP-001"))
    sent = {"lines": f"x{page.context['lines']}", "client_id": str(page.context["client_id"])}
    answer = client.post(reverse("setup:schedule", args=[corridor.slug]), sent, follow=True)
    assert "came back changed" in answer.content.decode()
    assert not Foundation.objects.exists()


def test_a_file_that_is_no_schedule_is_told_beside_its_field(
    client: Client, corridor: Corridor, office: Person
) -> None:
    client.force_login(office)
    page = check_file(client, corridor, b"mark,station\nLP-001,1")
    assert page.status_code == 422
    assert "The first line lacks" in page.content.decode()


@pytest.mark.parametrize(
    "route", ["setup:setup", "setup:schedule", "setup:requirements", "dossier:stations", "board:morning"]
)
def test_a_stranger_finds_no_corridor(client: Client, corridor: Corridor, stranger: Person, route: str) -> None:
    client.force_login(stranger)
    assert client.get(reverse(route, args=[corridor.slug])).status_code == 404
    assert client.get(reverse(route, args=["no-such-road"])).status_code == 404


def test_requirements_are_found_by_word_and_stage(client: Client, corridor: Corridor, engineer: Person) -> None:
    client.force_login(engineer)
    page = client.get(reverse("setup:requirements", args=[corridor.slug]), {"at": "base_set", "word": "corner_gap"})
    assert [line.row.key for line in page.context["lines"]] == ["base_set.corner_gap"]
    text = page.content.decode()
    assert "at most 1/8 in; refers over 1/16 in" in text
    assert "common practice" in text


def test_the_command_checks_first_and_writes_when_told(
    corridor: Corridor, office: Person, tmp_path: object, capsys: object
) -> None:
    path = tmp_path / "foundations.csv"
    path.write_bytes(schedule(corridor, "LP-001", "LP-002", side="up"))
    asked = {"corridor": corridor.slug, "person": office.username}
    with pytest.raises(CommandError) as wrong:
        call_command("import_schedule", str(path), **asked)
    assert wrong.value.returncode == 1
    assert "line 3: WRONG Side" in capsys.readouterr().out
    assert not Foundation.objects.exists()
    call_command("import_schedule", str(path), write=True, skip_bad=True, **asked)
    assert list(Foundation.objects.values_list("mark", flat=True)) == ["LP-001"]
    with pytest.raises(CommandError, match="There is no corridor nowhere") as unknown:
        call_command("import_schedule", str(path), corridor="nowhere", person=office.username)
    assert unknown.value.returncode == 2
