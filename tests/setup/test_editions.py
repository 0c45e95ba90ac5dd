"""Pages of editions: by role, with wrong input, two people at once; nothing changes but through the acts."""

from typing import Any

import pytest
from django.urls import reverse

from apps.corridor import editions as acts
from apps.corridor.models import Corridor, Foundation
from apps.people.models import Person
from apps.record.ids import uuid7
from apps.record.models import Entry
from apps.requirements.models import Edition
from apps.setup.editions.forms import BlockForm
from tests.factories.holdpoints import at_stage
from tests.factories.requirements import default_edition, drafted
from tests.factories.times import NOW

KEY = "base_set.corner_gap"
PASSWORD = "alder-mesa-demo-tests"


def to(name: str, corridor: Corridor, *more: Any) -> str:
    return reverse(f"setup:{name}", args=[corridor.slug, *more])


@pytest.fixture
def signing(engineer: Person) -> Person:
    """The engineer, with a password that the test knows."""
    engineer.set_password(PASSWORD)
    engineer.save()
    return engineer


def typed(edition: Edition, of: str = KEY, **more: Any) -> dict[str, Any]:
    return {**BlockForm.typed(edition.requirements.get(key=of).block), "client_id": uuid7(), **more}


# ---- reading


@pytest.mark.parametrize(
    ("reading", "words"),
    [
        ("1/16", "Conforms"),
        ("3/32", "Refers"),
        ("3/16 in", "Nonconforming</span>, critical"),
        ("4 mm", "Nonconforming"),
        ("x", "is not read"),
    ],
)
def test_a_reading_is_judged_at_once(
    corridor: Corridor, auditor: Person, as_person: Any, reading: str, words: str
) -> None:
    address = to("requirement", corridor, 1, KEY)
    page = as_person(auditor).get(address, {"reading": reading})
    assert words in page.content.decode()
    part = as_person(auditor).get(address, {"reading": reading}, headers={"hx-request": "true"})
    assert words in part.content.decode()
    assert "<html" not in part.content.decode()


def test_a_requirement_shows_limit_source_examples_and_history(
    corridor: Corridor, foreman: Person, as_person: Any
) -> None:
    drafted(corridor, limit="3/32")
    page = as_person(foreman).get(to("requirement", corridor, 1, KEY)).content.decode()
    for words in ("At most 1/8 in", "Common practice", "9/64", "limit <del>1/8</del> <ins>3/32</ins>"):
        assert words in page, words


def test_every_requirement_of_the_default_edition_has_its_page(
    corridor: Corridor, engineer: Person, as_person: Any
) -> None:
    client = as_person(engineer)
    for row in default_edition().requirements.all():
        assert client.get(to("requirement", corridor, 1, row.key)).status_code == 200, row.key


@pytest.mark.parametrize("name", ["requirement", "edition", "edition_tried"])
def test_what_is_not_there_is_not_found_and_strangers_find_nothing(
    corridor: Corridor, engineer: Person, stranger: Person, as_person: Any, name: str
) -> None:
    more = (KEY,) if name == "requirement" else ()
    assert as_person(engineer).get(to(name, corridor, 99, *more)).status_code == 404
    assert as_person(stranger).get(to(name, corridor, 1, *more)).status_code == 404


# ---- drafting


def test_a_draft_is_begun_and_opens(corridor: Corridor, engineer: Person, as_person: Any) -> None:
    client = as_person(engineer)
    said = {"title": "Spring", "based_on": 1, "client_id": uuid7()}
    assert client.post(to("editions", corridor), said).url == to("edition", corridor, 2)
    assert "Throw draft 2 away" in client.get(to("edition", corridor, 2)).content.decode()
    assert client.post(to("editions", corridor), {**said, "title": ""}).status_code == 422


@pytest.mark.parametrize("who", ["inspector", "foreman", "office", "auditor"])
def test_others_read_and_change_nothing(
    corridor: Corridor, who: str, request: pytest.FixtureRequest, as_person: Any
) -> None:
    draft = drafted(corridor, limit="3/32")
    client = as_person(request.getfixturevalue(who))
    page = client.get(to("edition", corridor, 2)).content.decode()
    assert "3/32" in page
    assert '<form method="post" action="/c/' not in page
    assert client.get(to("requirement_edit", corridor, 2, KEY)).status_code == 302
    assert client.post(to("requirement_edit", corridor, 2, KEY), typed(draft, limit="1/2")).status_code == 302
    assert (
        client.post(to("editions", corridor), {"title": "Mine", "based_on": 1, "client_id": uuid7()}).status_code == 422
    )
    assert client.post(to("edition_go", corridor, 2, "discard"), {"client_id": uuid7()}).status_code == 409
    assert draft.requirements.get(key=KEY).block["limit"] == "3/32"
    assert Edition.objects.count() == 2


def test_a_requirement_is_edited_and_the_difference_shown(corridor: Corridor, engineer: Person, as_person: Any) -> None:
    draft, client = drafted(corridor), as_person(engineer)
    address = to("requirement_edit", corridor, 2, KEY)
    was = client.get(address).context["was"]
    assert client.post(address, typed(draft, limit="3/32", was=was)).url == to("edition", corridor, 2)
    assert draft.requirements.get(key=KEY).block["limit"] == "3/32"
    page = client.get(to("edition", corridor, 2))
    assert (page.context["changed"], page.context["judging"]) == (1, 1)
    assert "<del>1/8</del>" in page.content.decode()


def test_an_untouched_form_changes_nothing(corridor: Corridor, engineer: Person, as_person: Any) -> None:
    draft, client = drafted(corridor), as_person(engineer)
    for row in default_edition().requirements.all():
        address = to("requirement_edit", corridor, 2, row.key)
        form = client.get(address).context["form"]
        again = BlockForm(draft, {**form.initial, "client_id": str(uuid7())})
        assert again.is_valid(), (row.key, again.errors)
        assert again.requirement == row.spec, row.key


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"limit": "an eighth"}, "limit"),
        ({"grade": ""}, "grade"),
        ({"when": "pole >= 3"}, "when"),
        ({"key": "base_set.other"}, "key"),
        ({"unit": "deg"}, "unit"),
    ],
)
def test_faults_stand_at_their_fields_and_nothing_typed_is_lost(
    corridor: Corridor, engineer: Person, as_person: Any, wrong: dict[str, str], field: str
) -> None:
    draft = drafted(corridor)
    page = as_person(engineer).post(to("requirement_edit", corridor, 2, KEY), typed(draft, advice="Call me", **wrong))
    assert page.status_code == 422
    assert field in page.context["form"].errors
    assert "Call me" in page.content.decode()
    assert draft.requirements.get(key=KEY).block["limit"] == "1/8"


def test_two_who_edit_the_same_requirement_are_told(corridor: Corridor, engineer: Person, as_person: Any) -> None:
    draft, client = drafted(corridor), as_person(engineer)
    address = to("requirement_edit", corridor, 2, KEY)
    was = client.get(address).context["was"]
    client.post(address, typed(draft, limit="3/32", was=was))
    page = client.post(address, typed(draft, limit="1/16", was=was))
    assert page.status_code == 422
    assert "was changed since you opened it" in page.content.decode()
    assert draft.requirements.get(key=KEY).block["limit"] == "3/32"


def test_examples_follow_what_is_typed_and_write_nothing(corridor: Corridor, engineer: Person, as_person: Any) -> None:
    draft, client = drafted(corridor), as_person(engineer)
    address = to("requirement_edit", corridor, 2, KEY)
    said = typed(draft, limit="1/4", refer="", reading="3/16")
    part = client.post(address, said, headers={"hx-request": "true"}).content.decode()
    assert "17/64 in" in part
    assert "Conforms" in part
    whole = client.post(address, {**said, "example": "yes"})
    assert whole.status_code == 200
    assert "17/64 in" in whole.content.decode()
    assert draft.requirements.get(key=KEY).block["limit"] == "1/8"


def test_one_is_added_and_one_taken_out(corridor: Corridor, engineer: Person, as_person: Any) -> None:
    draft, client = drafted(corridor), as_person(engineer)
    new = typed(
        draft,
        key="base_set.second_gap",
        title="Second gap",
        was=client.get(to("requirement_new", corridor, 2)).context["was"],
    )
    assert client.post(to("requirement_new", corridor, 2), new).status_code == 302
    address = to("requirement_edit", corridor, 2, KEY)
    was = client.get(address).context["was"]
    assert client.post(address, typed(draft, drop="yes", was=was)).status_code == 302
    keys = set(draft.requirements.values_list("key", flat=True))
    assert "base_set.second_gap" in keys
    assert KEY not in keys


def test_terms_are_kept_or_their_fault_is_said(corridor: Corridor, engineer: Person, as_person: Any) -> None:
    draft, client = drafted(corridor), as_person(engineer)
    said = {"title": "Careful", "rule": "guarded", "concrete_age_d": "10", "client_id": uuid7()}
    assert client.post(to("edition_terms", corridor, 2), said).status_code == 302
    draft.refresh_from_db()
    assert (draft.rule, draft.gates["concrete_age_d"]) == ("guarded", 10)
    assert client.post(to("edition_terms", corridor, 2), {**said, "concrete_age_d": "-1"}).status_code == 422


def test_publishing_is_signed_and_then_put_in_force(corridor: Corridor, signing: Person, as_person: Any) -> None:
    draft, client = drafted(corridor, limit="3/32"), as_person(signing)
    wrong = client.post(to("edition_publish", corridor, 2), {"client_id": uuid7(), "password": "guess"})
    assert wrong.status_code == 422
    assert (
        client.post(to("edition_publish", corridor, 2), {"client_id": uuid7(), "password": PASSWORD}).status_code == 302
    )
    draft.refresh_from_db()
    assert draft.state == "published"
    assert Entry.objects.of_log(corridor.pk).get(act="publish_draft").payload["signed"] == "password"
    assert client.post(to("edition_go", corridor, 2, "force"), {"client_id": uuid7()}).status_code == 302
    corridor.refresh_from_db()
    assert corridor.edition == draft
    assert client.post(to("edition_go", corridor, 2, "moon"), {"client_id": uuid7()}).status_code == 404


def test_a_draft_with_faults_is_not_published_and_says_why(corridor: Corridor, signing: Person, as_person: Any) -> None:
    draft = drafted(corridor, source="nowhere")
    page = as_person(signing).post(to("edition_publish", corridor, 2), {"client_id": uuid7(), "password": PASSWORD})
    assert page.status_code == 422
    assert "no source is named" in page.content.decode()
    draft.refresh_from_db()
    assert draft.is_draft


def test_open_hold_points_that_an_edition_touches_are_named(
    corridor: Corridor, foundation: Foundation, pedestal: Foundation, engineer: Person, as_person: Any
) -> None:
    at_stage(foundation, "base_set", "inspected")
    at_stage(pedestal, "drill", "inspected")
    draft = drafted(corridor, limit="3/32")
    told = {"corridor": corridor, "by": engineer, "at": NOW}
    acts.publish_draft(draft=draft, client_id=uuid7(), **told)
    page = as_person(engineer).get(to("edition", corridor, 2))
    assert [(each.foundation.mark, each.stage) for each in page.context["touched"]] == [("LP-001", "base_set")]
    acts.put_in_force(edition=draft, client_id=uuid7(), **told)
    point = page.context["touched"][0]
    point.refresh_from_db()
    assert point.edition.number == 1


# ---- trying


def test_a_draft_is_tried_shown_and_handed_out(
    corridor: Corridor, foundation: Foundation, engineer: Person, as_person: Any
) -> None:
    at_stage(foundation, "pole_set", "ready")
    drafted(corridor, limit="-1/8", refer="-1/4", plausible=["-2", "2"])
    client = as_person(engineer)
    page = client.get(to("edition_tried", corridor, 2))
    text = page.content.decode()
    assert "1 conforming would be nonconforming." in text
    assert "LP-001" in text
    assert "<svg" in text
    rows = client.get(to("edition_tried", corridor, 2), {"format": "csv"}).content.decode().splitlines()
    assert len(rows) == 2
    assert rows[1].startswith("LP-001,base_set,base_set.corner_gap,1,")


def test_an_edition_that_changes_nothing_says_so(
    corridor: Corridor, foundation: Foundation, engineer: Person, as_person: Any
) -> None:
    at_stage(foundation, "layout", "released")
    drafted(corridor, advice="Call.")
    assert (
        "No verdict would be another one." in as_person(engineer).get(to("edition_tried", corridor, 2)).content.decode()
    )


@pytest.mark.parametrize("asked", ["1", "2", "99", "x", "\N{SUPERSCRIPT TWO}"])
def test_the_list_of_requirements_takes_an_edition(
    corridor: Corridor, engineer: Person, as_person: Any, asked: str
) -> None:
    drafted(corridor)
    page = as_person(engineer).get(to("requirements", corridor), {"edition": asked})
    assert page.context["edition"].number == (2 if asked == "2" else 1)
    assert as_person(engineer).get(to("edition", corridor, 2), {"with": asked}).status_code == 200
