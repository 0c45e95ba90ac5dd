"""Entering: one order, one spelling, one hash; and what an act does with a repeat, a twin and a fault."""

import json
from datetime import UTC, date, datetime, timedelta, timezone
from decimal import Decimal
from fractions import Fraction
from hashlib import sha256
from typing import Any
from uuid import UUID

import pytest
from django.db import connection

from apps.corridor import acts as corridor_acts
from apps.corridor.models import Corridor, Crew, Foundation
from apps.people.models import Person
from apps.record import merkle
from apps.record.acts import Answer, OtherPayload, Refused, act, enter, open_log, plain
from apps.record.canonical import canonical
from apps.record.guard import lifted
from apps.record.ids import uuid7
from apps.record.models import Entry, Head, Node, Receipt
from tests.factories.holdpoints import at_stage
from tests.factories.record import node_of, picture, png
from tests.factories.times import NOW, START


def entered_text(entry: Entry) -> str:
    """The text that an entry's columns spell: what its leaf was taken over if nobody changed it since."""
    columns = [
        "log",
        "sequence",
        "act",
        "subject",
        "mark",
        "station",
        "actor",
        "actor_name",
        "role",
        "device_at",
        "received_at",
        "payload",
        *(["rows"] if entry.rows else []),
    ]
    return canonical(plain({name: getattr(entry, name) for name in columns}))


def altered(corridor: Corridor) -> list[int]:
    """Sequences of the entries whose columns or text no longer lead to their leaf, or whose leaf is not in the tree."""
    nodes = node_of(corridor.pk)
    return [
        entry.sequence
        for entry in Entry.objects.of_log(corridor.pk)
        if not (
            entered_text(entry) == entry.text
            and merkle.leaf_hash(entry.text.encode()).hex() == entry.leaf == nodes[0, entry.sequence - 1].hex()
        )
    ]


def test_a_new_log_is_an_empty_tree(db: None) -> None:
    log = uuid7()
    open_log(log=log, origin="A road", at=NOW)
    open_log(log=log, origin="Another name", at=NOW + timedelta(days=1))
    head = Head.objects.get(log=log)
    # RFC 9162, 2.1.1: the hash of an empty list is the hash of an empty string.
    assert (head.size, head.peaks, head.root, head.origin) == (0, [], sha256(b"").hexdigest(), "A road")


def test_entries_are_numbered_without_gaps(foundation: Foundation) -> None:
    at_stage(foundation, "drill", "released")
    numbers = list(Entry.objects.of_log(foundation.corridor_id).values_list("sequence", flat=True))
    assert numbers == list(range(1, len(numbers) + 1))
    assert len(numbers) > 15


def test_the_head_is_the_root_over_all_leaves(foundation: Foundation) -> None:
    at_stage(foundation, "layout", "released")
    log = foundation.corridor_id
    head = Head.objects.get(log=log)
    leaves = [merkle.leaf_hash(text.encode()) for text in Entry.objects.of_log(log).values_list("text", flat=True)]
    peaks: list[bytes] = []
    for size, leaf in enumerate(leaves):
        peaks, _ = merkle.append(size, peaks, leaf)
    assert (head.size, head.root, head.peaks) == (
        len(leaves),
        merkle.root(peaks).hex(),
        [peak.hex() for peak in peaks],
    )


def test_the_kept_nodes_prove_every_entry(foundation: Foundation) -> None:
    at_stage(foundation, "layout", "released")
    log = foundation.corridor_id
    head, nodes = Head.objects.get(log=log), node_of(log)
    for entry in Entry.objects.of_log(log):
        path = merkle.inclusion_proof(entry.sequence - 1, head.size, lambda level, place: nodes[level, place])
        leaf = merkle.leaf_hash(entry.text.encode())
        assert merkle.root_from_inclusion(entry.sequence - 1, head.size, leaf, path).hex() == head.root


def test_a_node_is_kept_once_for_every_completed_subtree(foundation: Foundation) -> None:
    size = Head.objects.get(log=foundation.corridor_id).size
    assert Node.objects.filter(log=foundation.corridor_id).count() == sum(
        size >> level for level in range(size.bit_length())
    )


def test_an_entry_says_who_when_where_and_under_which_role(foundation: Foundation, inspector: Person) -> None:
    point = at_stage(foundation, "layout", "inspected")
    entry = Entry.objects.of_log(foundation.corridor_id).get(act="submit_inspection")
    assert (entry.subject, entry.mark, entry.station) == ("LP-001/layout", "LP-001", "10520.00")
    assert (entry.actor, entry.actor_name, entry.role) == ("d.reyes", "D. Reyes", "inspector")
    assert entry.received_at == point.since
    assert json.loads(entry.text)["payload"] == entry.payload
    assert {row["outcome"] for row in entry.payload["measured"]} == {"conforms"}


def test_the_text_of_an_entry_is_its_columns_in_canonical_form(foundation: Foundation) -> None:
    at_stage(foundation, "layout", "released")
    assert altered(foundation.corridor) == []


@pytest.mark.parametrize(
    ("column", "value"),
    [("text", "{}"), ("actor", "n.stranger"), ("actor_name", "N. Stranger"), ("role", "office"), ("mark", "LP-999")],
)
def test_an_entry_edited_behind_the_back_is_found(foundation: Foundation, column: str, value: str) -> None:
    at_stage(foundation, "layout", "released")
    with lifted():
        Entry.objects.filter(log=foundation.corridor_id, sequence=5).update(**{column: value})
    assert altered(foundation.corridor) == [5]


def test_an_entry_rewritten_with_its_leaf_is_found_in_the_tree(foundation: Foundation) -> None:
    log = foundation.corridor_id
    entry = Entry.objects.of_log(log).get(sequence=5)
    entry.payload = {**entry.payload, "name": "someone else"}
    text = entered_text(entry)
    with lifted():
        Entry.objects.filter(pk=entry.pk).update(
            payload=entry.payload, text=text, leaf=merkle.leaf_hash(text.encode()).hex()
        )
    assert altered(foundation.corridor) == [5]


def test_a_tree_rewritten_whole_is_found_by_an_old_head(foundation: Foundation) -> None:
    log = foundation.corridor_id
    old, nodes = Head.objects.get(log=log), node_of(log)
    leaves = [nodes[0, place] for place in range(old.size)]
    leaves[3] = merkle.leaf_hash(b"another story")
    peaks: list[bytes] = []
    forged: dict[tuple[int, int], bytes] = {}
    for size, leaf in enumerate([*leaves, merkle.leaf_hash(b"one more")]):
        peaks, made = merkle.append(size, peaks, leaf)
        forged.update({(level, place): node for level, place, node in made})
    proof = merkle.consistency_proof(old.size, old.size + 1, lambda level, place: forged[level, place])
    assert not merkle.consistent(old.size, old.size + 1, bytes.fromhex(old.root), merkle.root(peaks), proof)


def test_two_corridors_have_two_records(corridor: Corridor, inspector: Person) -> None:
    other = uuid7()
    before = Head.objects.get(log=corridor.pk).size
    open_log(log=other, origin="Another road", at=NOW)
    entry = enter(log=other, act="look", subject="x", by=inspector, role="inspector", at=NOW, payload={})
    assert entry.sequence == 1
    assert Head.objects.get(log=corridor.pk).size == before


# ---- what a record can hold


@pytest.mark.parametrize(
    ("value", "kept"),
    [
        (Decimal("8.10"), "8.10"),
        (Fraction(385, 16), "385/16"),
        (UUID(int=7), "00000000-0000-0000-0000-000000000007"),
        (date(2026, 3, 2), "2026-03-02"),
        (datetime(2026, 3, 2, 8, 0, tzinfo=timezone(timedelta(hours=-7))), "2026-03-02T15:00:00.000000+00:00"),
        ((1, [Decimal(2)]), [1, ["2"]]),
        ({1: {"a": Fraction(1, 2)}}, {"1": {"a": "1/2"}}),
        (b"bytes", sha256(b"bytes").hexdigest()),
        (None, None),
        (True, True),
    ],
)
def test_a_value_is_kept_in_one_spelling(value: Any, kept: Any) -> None:
    assert plain(value) == kept


def test_a_time_without_a_zone_is_refused() -> None:
    with pytest.raises(ValueError, match="no time zone"):
        plain(datetime(2026, 3, 2, 8, 0))  # noqa: DTZ001


def test_a_file_is_kept_by_its_hash_and_can_be_read_again() -> None:
    file = picture()
    assert plain(file) == sha256(png()).hexdigest()
    assert file.read() == png()


def test_times_are_the_same_in_every_zone() -> None:
    denver = datetime(2026, 3, 2, 8, 0, tzinfo=timezone(timedelta(hours=-7)))
    assert plain(denver) == plain(denver.astimezone(UTC))


# ---- acts


@act
def note_crew(*, corridor: Corridor, name: str, by: Person, at: datetime, client_id: UUID) -> Answer:
    """An act for these tests: makes a crew, enters it, and fails or refuses when its name says so."""
    Crew.objects.create(corridor=corridor, name=name)
    entry = enter(log=corridor.pk, act="note_crew", subject=name, by=by, role="office", at=at, payload={"name": name})
    if name == "fault":
        raise RuntimeError("in the middle")
    if name == "refused":
        raise Refused("Not this one.")
    return {"entry": entry.sequence}


def counts(corridor: Corridor) -> tuple[int, int, int, int]:
    log = corridor.pk
    nodes = Node.objects.filter(log=log).count()
    return Head.objects.get(log=log).size, nodes, corridor.crews.count(), Receipt.objects.count()


@pytest.mark.parametrize(("name", "fault"), [("fault", RuntimeError), ("refused", Refused)])
def test_an_act_that_ends_in_a_fault_leaves_nothing(
    corridor: Corridor, office: Person, name: str, fault: type[Exception]
) -> None:
    before = counts(corridor)
    with pytest.raises(fault):
        note_crew(corridor=corridor, name=name, by=office, at=NOW, client_id=uuid7())
    assert counts(corridor) == before


def test_a_repeat_gets_the_first_answer_and_changes_nothing(corridor: Corridor, office: Person) -> None:
    client_id = uuid7()
    first = note_crew(corridor=corridor, name="Crew 2", by=office, at=NOW, client_id=client_id)
    before = counts(corridor)
    again = note_crew(corridor=corridor, name="Crew 2", by=office, at=NOW + timedelta(hours=3), client_id=client_id)
    assert again == first
    assert counts(corridor) == before


def test_the_same_client_id_with_other_content_is_refused(corridor: Corridor, office: Person) -> None:
    client_id = uuid7()
    note_crew(corridor=corridor, name="Crew 2", by=office, at=NOW, client_id=client_id)
    before = counts(corridor)
    with pytest.raises(OtherPayload, match="received before with other content"):
        note_crew(corridor=corridor, name="Crew 3", by=office, at=NOW, client_id=client_id)
    assert counts(corridor) == before


def test_a_client_id_belongs_to_one_person(corridor: Corridor, office: Person, engineer: Person) -> None:
    client_id = uuid7()
    note_crew(corridor=corridor, name="Crew 2", by=office, at=NOW, client_id=client_id)
    answer = note_crew(corridor=corridor, name="Crew 3", by=engineer, at=NOW, client_id=client_id)
    assert answer["entry"] == Head.objects.get(log=corridor.pk).size


def test_a_client_id_belongs_to_one_act(corridor: Corridor, admin: Person) -> None:
    client_id = uuid7()
    corridor_acts.add_crew(corridor=corridor, name="Crew 2", by=admin, at=NOW, client_id=client_id)
    with pytest.raises(OtherPayload):
        note_crew(corridor=corridor, name="Crew 2", by=admin, at=NOW, client_id=client_id)


def test_an_act_takes_keywords_only(corridor: Corridor, office: Person) -> None:
    with pytest.raises(TypeError, match="keywords only"):
        note_crew(corridor, "Crew 2", office, NOW, uuid7())  # type: ignore[misc]


def test_an_act_without_a_clients_id_is_no_act() -> None:
    with pytest.raises(TypeError, match="client_id"):

        @act
        def careless(*, by: Person, at: datetime) -> Answer:
            return {}


def test_reasons_are_whole_sentences_in_their_order() -> None:
    refused = Refused("First.", "Second.")
    assert refused.reasons == ("First.", "Second.")
    assert str(refused) == "First. Second."


@pytest.mark.django_db(transaction=True)
def test_the_whole_act_is_one_transaction() -> None:
    from tests.factories.corridor import whole_corridor  # made here: a transactional test begins with empty tables
    from tests.factories.people import person

    corridor = whole_corridor()
    before = counts(corridor)
    with pytest.raises(RuntimeError):
        note_crew(corridor=corridor, name="fault", by=person("p.lindqvist"), at=START, client_id=uuid7())
    assert not connection.in_atomic_block
    assert counts(corridor) == before
