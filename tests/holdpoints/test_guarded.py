"""An edition that guards its limits: a reading nearer to one than its instrument can tell goes to the engineer."""

from datetime import date
from typing import Any

import pytest

from apps.corridor.models import Corridor, Foundation
from apps.holdpoints import judging
from apps.holdpoints.judging import Answered, Typed
from apps.materials import acts
from apps.materials.models import Instrument
from apps.people.models import Person
from apps.record.acts import Refused
from apps.record.ids import uuid7
from tests.factories.holdpoints import answers_that_conform, at_stage, requirements
from tests.factories.times import NOW

KEY = "base_set.stub_height"


def gauge(corridor: Corridor, office: Person, uncertainty: str) -> Instrument:
    said = {"kind": "gauge", "calibrated_until": date(2027, 1, 1), "by": office, "at": NOW, "client_id": uuid7()}
    acts.calibrate(corridor=corridor, name="TG-02", uncertainty=uncertainty, **said)
    return Instrument.objects.get(corridor=corridor, name="TG-02")


@pytest.mark.parametrize(
    ("rule", "uncertainty", "stub", "outcome"),
    [
        ("simple", "1/16 in", "4", "conforms"),
        ("guarded", "1/16 in", "3 15/16", "conforms"),
        ("guarded", "1/16 in", "3 31/32", "refer"),
        ("guarded", "1/16 in", "4", "refer"),
        ("guarded", "1/16 in", "4 1/64", "nonconforming"),
        ("guarded", "", "1", "refer"),
    ],
)
def test_the_rule_of_the_edition_decides(
    corridor: Corridor, foundation: Foundation, office: Person, rule: str, uncertainty: str, stub: str, outcome: str
) -> None:
    point = at_stage(foundation, "base_set", "ready")
    answers: dict[str, Any] = answers_that_conform(point)
    spec = next(row.spec for row in requirements(point) if row.key == KEY)
    readings = tuple(Typed(place, stub) for place in spec.places)
    answers[KEY] = Answered(readings, instrument=gauge(corridor, office, uncertainty))
    facts = judging.facts_at(point)
    judged = judging.judge_all(requirements(point), answers, plan=facts, day=NOW.date(), rule=rule)
    found = next(each for each in judged if each.requirement.key == KEY)
    assert found.verdict.outcome == outcome, found.verdict.sentence


def test_an_uncertainty_without_a_unit_is_refused(corridor: Corridor, office: Person) -> None:
    with pytest.raises(Refused, match="Expected an uncertainty with its unit"):
        gauge(corridor, office, "1/64")
