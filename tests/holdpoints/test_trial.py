"""A draft tried against history: the same as judging every past reading by it, one after another."""

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from apps.corridor import editions
from apps.corridor.models import Corridor, Foundation
from apps.holdpoints.models import Inspection, Measurement
from apps.holdpoints.replay import Reader, again
from apps.holdpoints.trial import trial
from apps.people.models import Person
from apps.record.ids import uuid7
from apps.requirements.models import Edition
from tests.factories.holdpoints import at_stage
from tests.factories.requirements import default_edition, drafted
from tests.factories.times import NOW


@pytest.fixture
def history(foundation: Foundation, pedestal: Foundation) -> Foundation:
    """A light pole built to the end and a pedestal to the cage."""
    at_stage(foundation, "pole_set", "released")
    at_stage(pedestal, "cage", "inspected")
    return foundation


def change(corridor: Corridor, engineer: Person, draft: Edition, key: str, **fields: Any) -> None:
    was = draft.requirements.get(key=key).block
    told = {"corridor": corridor, "draft": draft, "by": engineer, "at": NOW, "client_id": uuid7()}
    editions.change_requirement(block={**was, **fields}, was=was, **told)


def one_by_one(corridor: Corridor, draft: Edition) -> dict[Any, tuple[str, str]]:
    """Judge every measurement by the draft, inspection by inspection; return those that differ."""
    specs = {row.key: row.spec for row in draft.requirements.order_by("place")}
    reader, found = Reader(), {}
    for inspection in Inspection.objects.filter(hold_point__corridor=corridor):
        inspection.edition.rule = draft.rule
        rows = list(inspection.measurements.all())
        judged = again(inspection, rows, specs, reader)
        found |= {
            row.pk: (row.outcome, judged[row.requirement_key].outcome)
            for row in rows
            if row.requirement_key in judged and judged[row.requirement_key].outcome != row.outcome
        }
    return found


CHANGES: list[dict[str, dict[str, Any]]] = [
    {},
    {"base_set.corner_gap": {"advice": "Call."}},
    {"cage.side_cover": {"limit": "30"}},
    {"drill.depth": {"limit": "plan.depth + 40"}, "pole_set.plumb": {"limit": "0.01"}},
    {"pour.top_twist": {"limit": "-1"}},
    {"pour.overbreak": {"limit": "1.05"}, "pour.volume_ratio": {"limit": "1.2"}},
    {"base_set.concrete_age": {"limit": "90"}},
    {"base_set.concrete_age": {"limit": "90"}, "base_set.concrete_strength": {"limit": "400"}},
    {"drill.casing": {"values": ["permanent"]}},
    {"cage.bolt_plumb": {"refer": "1:400"}},
    {"layout.foreslope": {"when": "depth > 40 ft"}},
    {"base_set.torque": {"family": ["pedestal_base"]}},
]


@pytest.mark.parametrize("changes", CHANGES, ids=lambda each: ", ".join(each) or "nothing")
def test_it_finds_what_one_by_one_finds(
    corridor: Corridor, history: Foundation, engineer: Person, changes: dict[str, dict[str, Any]]
) -> None:
    draft = drafted(corridor)
    for key, fields in changes.items():
        change(corridor, engineer, draft, key, **fields)
    slow, quick = one_by_one(corridor, draft), trial(corridor, draft)
    assert {each.measurement: (each.before, each.after) for each in quick.changed} == slow
    assert (quick.judged, quick.same) == (Measurement.objects.count(), Measurement.objects.count() - len(slow))
    assert {each.key: each.changed for each in quick.by_key}.keys() == {each.key for each in quick.changed}
    if any(set(fields) - {"advice"} for fields in changes.values()):
        assert slow, "a case that changes nothing shows nothing"


def test_a_guarded_draft_sends_what_no_instrument_was_named_for_to_the_engineer(
    corridor: Corridor, history: Foundation, engineer: Person
) -> None:
    draft = drafted(corridor)
    editions.set_terms(
        corridor=corridor,
        draft=draft,
        title="Careful",
        rule="guarded",
        gates={},
        by=engineer,
        at=NOW,
        client_id=uuid7(),
    )
    draft.refresh_from_db()
    quick = trial(corridor, draft)
    assert quick.judged - quick.same == len(one_by_one(corridor, draft)) > 20
    assert {each.after for each in quick.changed} == {"refer"}


def test_a_changed_verdict_says_where_what_and_both_limits(corridor: Corridor, history: Foundation) -> None:
    (found,) = trial(corridor, drafted(corridor, limit="-1/8", refer="-1/4", plausible=["-2", "2"])).changed
    assert (found.mark, found.stage, found.key, found.attempt) == ("LP-001", "base_set", "base_set.corner_gap", 1)
    assert (found.before, found.after) == ("conforms", "nonconforming")
    assert (found.limit_before, found.limit_after) == ("at most 1/8 in", "at most -1/8 in")
    assert found.value_text


def test_what_was_added_and_taken_out_is_named(corridor: Corridor, history: Foundation, engineer: Person) -> None:
    draft = drafted(corridor)
    block = draft.requirements.get(key="base_set.corner_gap").block
    told = {"corridor": corridor, "draft": draft, "by": engineer, "at": NOW}
    editions.change_requirement(block={**block, "key": "base_set.new_gap"}, was=None, client_id=uuid7(), **told)
    editions.drop_requirement(key="base_set.corner_gap", was=block, client_id=uuid7(), **told)
    found = trial(corridor, draft)
    assert ("base_set.new_gap", block["title"]) in found.added
    assert found.dropped == [("base_set.corner_gap", block["title"])]


def test_the_number_of_queries_does_not_grow_with_history(
    corridor: Corridor, foundation: Foundation, pedestal: Foundation, engineer: Person
) -> None:
    draft = drafted(corridor)
    change(corridor, engineer, draft, "layout.foreslope", limit="900")
    counts = []
    for each in (foundation, pedestal):
        at_stage(each, "layout", "released")
        with CaptureQueriesContext(
            connection,
        ) as asked:
            assert trial(corridor, draft).by_key
        counts.append(len(asked))
    assert counts[0] == counts[1] < 20


def test_without_history_nothing_is_judged(corridor: Corridor) -> None:
    found = trial(corridor, drafted(corridor))
    assert (found.judged, found.same, found.changed, found.by_key) == (0, 0, [], [])
    assert len(found.added) == default_edition().requirements.count()
