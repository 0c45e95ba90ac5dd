"""Putting a calculation to a foundation: it is computed here, stands in the record, and is never changed."""

from typing import Any

import pytest
from django.db import DatabaseError, transaction

from apps.corridor.models import Corridor, Foundation
from apps.materials import computing
from apps.materials.models import Computation
from apps.people.models import Person
from apps.record.acts import Refused
from apps.record.ids import uuid7
from apps.record.models import Entry
from tests.factories import findings
from tests.factories.doing import standing
from tests.factories.times import NOW

ROCKS = {"a": "0", "b": "1/32", "c": "3/16 in", "d": "0", "bolt_circle": "14"}


def put(foundation: Foundation, by: Person, **more: Any) -> Computation:
    asked = {"calculation": "seating", "typed": ROCKS, "client_id": uuid7()} | more
    answer = computing.attach_computation(foundation=foundation, by=by, at=NOW, **asked)
    return Computation.objects.get(pk=answer["computation"])


def test_what_came_out_stands_with_its_working_and_source(foundation: Foundation, inspector: Person) -> None:
    made = put(foundation, inspector, stage="base_set", note="Before grinding")
    assert made.title == "Seating on four corners"
    assert "stands open by 5/32 in" in made.sentence
    assert {"title": "greatest gap", "value": "5/32 in", "other": "4 mm"} in made.answers
    assert made.working[0]["symbol"] == "w"
    assert made.source.startswith("Statics of three supports")
    assert "Fingers out" in made.caution
    assert made.beyond


def test_the_record_holds_what_went_in_and_what_came_out(foundation: Foundation, inspector: Person) -> None:
    made = put(foundation, inspector)
    entry = Entry.objects.get(log=foundation.corridor_id, sequence=made.entry)
    assert (entry.act, entry.mark, entry.role) == ("attach_computation", foundation.mark, "inspector")
    assert entry.payload["typed"] == ROCKS
    assert entry.payload["sentence"] == made.sentence
    assert entry.payload["working"] == made.working


def test_si_numbers_are_read_as_such(foundation: Foundation, inspector: Person) -> None:
    typed = {"a": "0", "b": "0", "c": "3.175", "d": "0", "bolt_circle": "355.6"}
    assert "1/8 in" in put(foundation, inspector, typed=typed, system="SI").sentence


def test_the_address_brings_everything_back(foundation: Foundation, inspector: Person) -> None:
    assert put(foundation, inspector).address == "a=0&b=1%2F32&c=3%2F16+in&d=0&bolt_circle=14&units=US&for=LP-001"


def test_it_may_answer_a_finding_of_the_foundation(
    foundation: Foundation, pedestal: Foundation, inspector: Person
) -> None:
    mine, other = findings.raised(foundation), findings.raised(pedestal)
    assert put(foundation, inspector, finding=mine).finding == mine
    with pytest.raises(Refused, match="is not on LP-001"):
        put(foundation, inspector, finding=other)


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"typed": {"a": "0", "b": "x", "c": "0", "d": "0"}}, 'Corner b, as read: "x" is not read'),
        ({"typed": {"a": "0", "b": "0", "c": "0"}}, "Corner d, as read: is missing"),
        ({"typed": {"depth": "8"}}, "Depth: Seating on four corners takes no such input"),
        ({"calculation": "nowhere"}, "There is no calculation named nowhere"),
        ({"system": "metric"}, "Units are US or SI"),
        ({"stage": "roof"}, "Stage: "),
        ({"note": "x" * 501}, "The note has 501 characters"),
    ],
)
def test_what_cannot_be_computed_is_refused_and_nothing_changes(
    foundation: Foundation, inspector: Person, more: dict[str, Any], words: str
) -> None:
    before = standing(foundation.corridor)
    with pytest.raises(Refused, match=words):
        put(foundation, inspector, **more)
    assert standing(foundation.corridor) == before
    assert not Computation.objects.exists()


@pytest.mark.parametrize("who", ["foreman", "auditor", "stranger"])
def test_only_inspector_engineer_and_office_put_one(
    foundation: Foundation, who: str, request: pytest.FixtureRequest
) -> None:
    with pytest.raises(Refused, match="This is for the inspector"):
        put(foundation, request.getfixturevalue(who))


def test_none_is_put_to_an_abandoned_foundation(foundation: Foundation, engineer: Person) -> None:
    from apps.holdpoints.acts import abandon

    abandon(foundation=foundation, reason="Rock", by=engineer, at=NOW, client_id=uuid7())
    with pytest.raises(Refused, match="abandoned"):
        put(foundation, engineer)


@pytest.mark.parametrize("change", ["update", "delete"])
def test_the_database_keeps_it_as_it_is(foundation: Foundation, inspector: Person, change: str) -> None:
    put(foundation, inspector)
    with pytest.raises(DatabaseError, match="only grows"), transaction.atomic():
        getattr(Computation.objects.all(), change)(**({"note": "better"} if change == "update" else {}))


def test_the_corridor_is_named_for_its_version(corridor: Corridor, foundation: Foundation, inspector: Person) -> None:
    corridor.tally.refresh_from_db()
    before = corridor.tally.version
    put(foundation, inspector)
    corridor.tally.refresh_from_db()
    assert corridor.tally.version == before + 1
