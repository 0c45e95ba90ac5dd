"""Drafts and published editions: begun, changed, published once; afterwards the database itself keeps them."""

from typing import Any

import pytest
from django.db import DatabaseError, transaction

from apps.corridor import editions
from apps.corridor.models import Corridor
from apps.people.models import Person
from apps.record.acts import Refused
from apps.record.ids import uuid7
from apps.record.models import Entry
from apps.requirements.compare import differences, general
from apps.requirements.models import Edition, Requirement
from tests.factories.requirements import default_edition, drafted
from tests.factories.times import NOW

KEY = "base_set.corner_gap"


def told(corridor: Corridor, engineer: Person) -> dict[str, Any]:
    return {"corridor": corridor, "by": engineer, "at": NOW, "client_id": uuid7()}


def block(edition: Edition, key: str = KEY) -> dict[str, Any]:
    found: dict[str, Any] = edition.requirements.get(key=key).block
    return found


def test_a_draft_begins_with_everything_and_differs_in_nothing(corridor: Corridor) -> None:
    draft, old = drafted(corridor), default_edition()
    assert (draft.state, draft.number, draft.based_on) == ("draft", old.number + 1, old)
    assert differences(old.content(), draft.content()) == []
    assert [name for name, _, _ in general(old.content(), draft.content())] == ["title"]


def test_a_change_is_entered_with_what_stood_before(corridor: Corridor) -> None:
    draft = drafted(corridor, limit="3/32")
    payload = Entry.objects.get(act="change_requirement").payload
    assert (payload["before"]["limit"], payload["after"]["limit"]) == ("1/8", "3/32")
    (found,) = differences(default_edition().content(), draft.content())
    assert (found.key, found.kind, found.fields, found.judges) == (KEY, "changed", (("limit", "1/8", "3/32"),), True)


def test_a_change_of_words_alone_judges_nothing(corridor: Corridor) -> None:
    draft = drafted(corridor, advice="Call the engineer.")
    (found,) = differences(default_edition().content(), draft.content())
    assert not found.judges


def test_a_new_requirement_stands_last_of_its_stage_and_one_may_be_taken_out(
    corridor: Corridor, engineer: Person
) -> None:
    draft = drafted(corridor)
    new = {**block(draft), "key": "base_set.second_gap", "title": "Second gap"}
    editions.change_requirement(draft=draft, block=new, was=None, **told(corridor, engineer))
    keys = [row.key for row in draft.requirements.at("base_set")]
    assert keys[-1] == "base_set.second_gap"
    assert draft.requirements.get(key="pole_set.tag").place > draft.requirements.get(key="base_set.second_gap").place
    editions.drop_requirement(draft=draft, key=KEY, was=block(draft), **told(corridor, engineer))
    kinds = {each.key: each.kind for each in differences(default_edition().content(), draft.content())}
    assert kinds == {"base_set.second_gap": "added", KEY: "taken out"}


def test_two_people_who_change_the_same_requirement_do_not_overwrite_each_other(
    corridor: Corridor, engineer: Person
) -> None:
    draft = drafted(corridor)
    seen = block(draft)
    editions.change_requirement(draft=draft, block={**seen, "limit": "3/32"}, was=seen, **told(corridor, engineer))
    with pytest.raises(Refused, match="was changed since you opened it"):
        editions.change_requirement(draft=draft, block={**seen, "limit": "1/16"}, was=seen, **told(corridor, engineer))
    assert block(draft)["limit"] == "3/32"
    with pytest.raises(Refused, match="is there already"):
        editions.change_requirement(draft=draft, block=seen, was=None, **told(corridor, engineer))


def test_a_bad_block_is_refused_with_every_fault(corridor: Corridor, engineer: Person) -> None:
    draft = drafted(corridor)
    with pytest.raises(Refused) as refused:
        editions.change_requirement(
            draft=draft,
            block={**block(draft), "limit": "x", "grade": "awful"},
            was=block(draft),
            **told(corridor, engineer),
        )
    assert len(refused.value.reasons) == 2
    assert block(draft)["limit"] == "1/8"


def test_publishing_seals_it_with_the_digest_of_its_content(corridor: Corridor, engineer: Person) -> None:
    draft = drafted(corridor, limit="3/32")
    answer = editions.publish_draft(draft=draft, **told(corridor, engineer))
    draft.refresh_from_db()
    assert draft.state == "published"
    assert draft.digest == answer["digest"] == draft.content().digest != default_edition().digest
    entry = Entry.objects.get(act="publish_draft")
    assert (entry.payload["digest"], entry.payload["changed"]) == (draft.digest, [KEY])
    for change in (
        lambda: editions.change_requirement(
            draft=draft, block=block(draft), was=block(draft), **told(corridor, engineer)
        ),
        lambda: editions.publish_draft(draft=draft, **told(corridor, engineer)),
        lambda: editions.discard_draft(draft=draft, **told(corridor, engineer)),
    ):
        with pytest.raises(Refused, match="never changes"):
            change()


def test_a_draft_with_faults_is_not_published(corridor: Corridor, engineer: Person) -> None:
    draft = drafted(corridor, source="nowhere")
    with pytest.raises(Refused, match="no source is named 'nowhere'"):
        editions.publish_draft(draft=draft, **told(corridor, engineer))
    draft.refresh_from_db()
    assert draft.is_draft


def test_the_database_keeps_a_published_edition_as_it_is(corridor: Corridor) -> None:
    edition = default_edition()
    row = edition.requirements.first()
    assert row is not None
    changes = (
        lambda: Requirement.objects.filter(pk=row.pk).update(grade="minor"),
        lambda: Requirement.objects.filter(pk=row.pk).delete(),
        lambda: Requirement.objects.create(
            edition=edition, place=999, key="drill.x", stage="drill", title="x", grade="minor", block={}
        ),
        lambda: Edition.objects.filter(pk=edition.pk).update(title="Other"),
        lambda: Edition.objects.filter(pk=edition.pk).update(sources={}),
        lambda: Edition.objects.filter(pk=edition.pk).update(state="draft", digest="", published_at=None),
        lambda: Edition.objects.filter(pk=edition.pk)._raw_delete("default"),
    )
    for change in changes:
        with pytest.raises(DatabaseError, match="a published edition never changes"), transaction.atomic():
            change()


def test_an_edition_that_no_corridor_uses_is_superseded_and_may_come_back(corridor: Corridor, engineer: Person) -> None:
    old, draft = default_edition(), drafted(corridor, limit="3/32")
    editions.publish_draft(draft=draft, **told(corridor, engineer))
    editions.put_in_force(edition=draft, **told(corridor, engineer))
    old.refresh_from_db()
    assert old.state == "superseded"
    corridor.refresh_from_db()
    editions.put_in_force(edition=old, **told(corridor, engineer))
    old.refresh_from_db()
    draft.refresh_from_db()
    assert (old.state, draft.state) == ("published", "superseded")


def test_terms_are_changed_and_entered(corridor: Corridor, engineer: Person) -> None:
    draft = drafted(corridor)
    editions.set_terms(
        draft=draft, title="Careful", rule="guarded", gates={"concrete_age_d": 10}, **told(corridor, engineer)
    )
    draft.refresh_from_db()
    assert (draft.title, draft.rule, draft.gates["concrete_age_d"]) == ("Careful", "guarded", 10)
    for wrong in ({"rule": "strict"}, {"gates": {"moon": 1}}, {"gates": {"open_hole_h": -1}}):
        with pytest.raises(Refused):
            editions.set_terms(
                **{"draft": draft, "title": "x", "rule": "simple", "gates": {}, **wrong}, **told(corridor, engineer)
            )


@pytest.mark.parametrize("who", ["inspector", "foreman", "office", "auditor"])
def test_only_the_engineer_drafts(corridor: Corridor, who: str, request: pytest.FixtureRequest) -> None:
    with pytest.raises(Refused, match="for the resident engineer"):
        editions.begin_draft(based_on=default_edition(), title="Mine", **told(corridor, request.getfixturevalue(who)))
