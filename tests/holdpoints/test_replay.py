"""Judging again: the same readings, facts and edition give the same verdicts, and one that was tampered with is named."""

from datetime import date
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from apps.calc.facts import facts_as_json, facts_from_json
from apps.corridor.models import Corridor, Foundation
from apps.holdpoints import judging
from apps.holdpoints.judging import Answered, Given, Typed
from apps.holdpoints.models import Inspection, Measurement
from apps.holdpoints.replay import differences
from apps.record import guard
from apps.record.models import Entry
from tests.factories import holdpoints, materials
from tests.factories.holdpoints import answers_that_conform, at_stage, hold_point


@pytest.fixture
def built(foundation: Foundation, pedestal: Foundation) -> Foundation:
    """LP-001 built to the base, with a wrench past its date and one of two that was enough; PB-001 returned at drill."""
    at_stage(pedestal, "drill", "returned")
    point = at_stage(foundation, "base_set", "notified")
    answers: dict[str, Any] = answers_that_conform(point)
    wrench = materials.instrument(foundation.corridor, date(2026, 3, 3), "TW-05")
    answers["base_set.torque"] = answers["base_set.torque"]._replace(instrument=wrench)
    answers["base_set.concrete_age"] = Answered((Typed("", "5 d"),))
    answers["base_set.lubricant"] = Answered(reason="None was delivered")
    holdpoints.inspect(hold_point(foundation, "base_set"), holdpoints.after(foundation), answers=answers)
    return foundation


def test_every_verdict_is_found_again(corridor: Corridor, built: Foundation) -> None:
    found = list(differences(corridor))
    assert len(found) == Measurement.objects.count() > 150
    assert [each for each in found if each is not None] == []
    outcomes = set(Measurement.objects.values_list("outcome", flat=True))
    assert outcomes >= {"conforms", "refer", "not_applicable", "not_measured"}


def test_it_rests_on_the_facts_of_the_day_and_not_on_the_plans_of_today(corridor: Corridor, built: Foundation) -> None:
    design = built.design
    design.bolt_circle_in, design.shaft_diameter_in = 12, 48
    design.save()
    assert not any(differences(corridor))


def test_an_instrument_that_was_calibrated_since_changes_nothing(corridor: Corridor, built: Foundation) -> None:
    materials.instrument(corridor, date(2030, 1, 1), "TW-05")
    assert Measurement.objects.get(requirement_key="base_set.torque", outcome="refer")
    assert not any(differences(corridor))


@pytest.mark.parametrize(
    ("change", "column"),
    [
        ({"outcome": "nonconforming"}, "outcome"),
        ({"value": "1/3"}, "value"),
        ({"margin": "7"}, "margin"),
        ({"limits": {"high": "9"}}, "limits"),
        ({"readings": [{"place": "A", "typed": "1", "unit": "in"}]}, "outcome"),
    ],
)
def test_a_measurement_that_was_tampered_with_is_named(
    corridor: Corridor, built: Foundation, change: dict[str, Any], column: str
) -> None:
    row = Measurement.objects.get(requirement_key="base_set.corner_gap")
    with guard.lifted():
        Measurement.objects.filter(pk=row.pk).update(**change)
    (found,) = [each for each in differences(corridor) if each is not None]
    assert (found.measurement, found.column) == (row, column)
    out = StringIO()
    with pytest.raises(CommandError, match="Verdicts differ"):
        call_command("rejudge", "--check", stdout=out)
    total = Measurement.objects.count()
    assert f"{total - 1} of {total} verdicts agree" in out.getvalue()
    assert "LP-001" in out.getvalue()
    assert "base_set.corner_gap: " in out.getvalue()


def test_the_command_counts_what_agrees(corridor: Corridor, built: Foundation) -> None:
    out = StringIO()
    call_command("rejudge", "--check", corridor=corridor.slug, stdout=out)
    total = Measurement.objects.count()
    assert out.getvalue().strip() == f"alder-mesa: {total} of {total} verdicts agree."
    with pytest.raises(CommandError, match="no corridor nowhere"):
        call_command("rejudge", corridor="nowhere")


def test_the_facts_stand_with_the_inspection_and_in_its_entry(corridor: Corridor, built: Foundation) -> None:
    inspection = Inspection.objects.get(hold_point__foundation=built, hold_point__stage="pour")
    assert inspection.facts is not None
    assert inspection.facts["soil"] == "as the design assumes"
    entry = Entry.objects.get(log=corridor.pk, sequence=inspection.entry)
    assert entry.payload["facts"] == inspection.facts


def test_facts_come_back_exactly(foundation: Foundation) -> None:
    plan = foundation.plan
    assert facts_from_json(facts_as_json(plan)) == plan
    assert facts_from_json({"moon": "full", "depth": "385/4"}) == {"depth": judging.Fraction(385, 4)}


@pytest.mark.parametrize("given", [Given(), Given("", True, judging.Fraction(1, 64), "TW-04 is past its calibration")])
def test_what_was_said_besides_comes_back(given: Given) -> None:
    assert Given.from_json(given.as_json()) == given
