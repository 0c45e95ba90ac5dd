"""What the program finds out by itself: yes on a clean record, no with its reason on each spoiled one."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from apps.audits.recomputed import CHECKS, Recomputed, gather
from apps.corridor.models import Corridor, Foundation
from apps.findings.models import Finding
from apps.holdpoints import acts
from apps.holdpoints.models import Condition, Decision, Inspection, Measurement, Photo
from apps.materials.models import Certificate, ConcreteLoad, Instrument, Placement
from apps.people.models import Person
from apps.record import guard
from apps.record.ids import uuid7
from apps.record.models import Entry
from tests.factories import findings, materials
from tests.factories.corridor import bring_in, member
from tests.factories.holdpoints import after, answers_that_conform, at_stage, attempt, hold_point, inspect, release
from tests.factories.times import DAY, NOW

LATER = NOW + 60 * DAY
FRESH = {"slump_in": Decimal(7), "air_percent": Decimal("5.5"), "temperature_f": Decimal(70)}


def found(foundation: Foundation, stage: str, check: str, at: Any = LATER) -> Recomputed:
    """Return what a check says of the last attempt at a stage."""
    inspection = attempt(hold_point(foundation, stage))
    return CHECKS[check](gather(foundation.corridor, [inspection], at)[inspection.pk])


@pytest.fixture
def poured(foundation: Foundation) -> Foundation:
    """LP-001, poured from one load and released."""
    at_stage(foundation, "pour", "released")
    materials.load(foundation, at=after(foundation), **FRESH)
    return foundation


@pytest.mark.parametrize("check", CHECKS)
def test_a_clean_record_gives_no_no(poured: Foundation, check: str) -> None:
    said = found(poured, "pour", check)
    assert said.word == ("na" if check in {"condition", "calibration"} else "yes"), said
    assert said.why.endswith(".")


def test_a_requirement_without_its_row_is_named(poured: Foundation) -> None:
    row = Measurement.objects.filter(foundation=poured, stage="drill").first()
    assert row is not None
    with guard.lifted():
        row.delete()
    assert found(poured, "drill", "readings") == ("no", f"Not answered: {row.title}.")


def test_what_was_not_measured_is_named(poured: Foundation) -> None:
    row = Measurement.objects.filter(foundation=poured, stage="drill").first()
    assert row is not None
    with guard.lifted():
        Measurement.objects.filter(pk=row.pk).update(outcome="not_measured", reason="Dark")
    assert row.title in found(poured, "drill", "readings").why


def test_a_verdict_that_comes_out_otherwise_is_named(poured: Foundation) -> None:
    row = Measurement.objects.filter(foundation=poured, stage="drill", outcome="conforms").first()
    assert row is not None
    with guard.lifted():
        Measurement.objects.filter(pk=row.pk).update(outcome="refer")
    assert found(poured, "drill", "verdicts") == ("no", f"Judged otherwise now: {row.title}.")


def by_wrench(foundation: Foundation, wrench: Instrument) -> None:
    """Inspect and release the layout with an instrument named at every reading."""
    point = at_stage(foundation, "layout", "notified")
    told = {key: each._replace(instrument=wrench) for key, each in answers_that_conform(point).items()}
    release(inspect(point, after(foundation), answers=told), after(foundation), reason="Read again with another")


def test_an_instrument_past_its_day_is_named_by_what_was_entered_then(foundation: Foundation) -> None:
    wrench = materials.instrument(foundation.corridor, date(2026, 3, 1))
    by_wrench(foundation, wrench)
    said = found(foundation, "layout", "calibration")
    assert said.word == "no" and wrench.name in said.why
    # A calibration entered after the inspection does not reach back, though the instrument's own row now says it holds.
    materials.instrument(foundation.corridor, date(2030, 3, 1), at=LATER)
    assert found(foundation, "layout", "calibration") == said


def test_an_instrument_in_calibration_then_stays_so(foundation: Foundation) -> None:
    wrench = materials.instrument(foundation.corridor, date(2026, 12, 1))
    by_wrench(foundation, wrench)
    Instrument.objects.update(calibrated_until=date(2026, 1, 1))
    assert found(foundation, "layout", "calibration").word == "yes"


def test_a_missing_view_is_named(poured: Foundation) -> None:
    photo = Photo.objects.filter(
        inspection__hold_point__foundation=poured, inspection__hold_point__stage="drill"
    ).first()
    assert photo is not None
    with guard.lifted():
        photo.delete()
    assert found(poured, "drill", "views") == ("no", f"No photo: {photo.title}.")


def test_one_person_for_both_is_seen(poured: Foundation, inspector: Person) -> None:
    with guard.lifted():
        Decision.objects.filter(inspection__hold_point__stage="drill").update(by=inspector)
    assert found(poured, "drill", "two_people").word == "no"


def test_an_order_that_cannot_be_is_seen(poured: Foundation) -> None:
    with guard.lifted():
        Decision.objects.filter(inspection__hold_point__stage="layout").update(at=LATER)
    assert found(poured, "drill", "order").why.startswith("Layout was not released when this was inspected")
    with guard.lifted():
        Inspection.objects.filter(hold_point__stage="layout").update(received_at=LATER + DAY)
    assert "before the inspection arrived" in found(poured, "layout", "order").why


def test_a_finding_of_the_stage_that_was_open_at_the_release_is_named(poured: Foundation) -> None:
    finding = findings.raised(poured, stage="drill", grade="major")
    assert found(poured, "drill", "findings").why.endswith(f": {finding.name}.")
    assert found(poured, "cage", "findings").word == "yes"
    Finding.objects.update(grade="minor")
    assert found(poured, "drill", "findings").word == "yes"


def test_a_finding_closed_before_the_release_is_well(foundation: Foundation) -> None:
    finding = findings.in_state(foundation, "closed", stage="layout")
    release(at_stage(foundation, "layout", "inspected"), finding.since + DAY)
    assert found(foundation, "layout", "findings") == ("yes", f"Closed before the release: {finding.name}.")


def test_a_condition_is_met_late_or_not_due(foundation: Foundation, engineer: Person) -> None:
    point = at_stage(foundation, "layout", "inspected")
    at = after(foundation)
    due = foundation.corridor.day(at + 5 * DAY)
    acts.release_with_condition(
        hold_point=point, inspection=attempt(point), condition="As-built sketch", owner="Crew 1", due_on=due, by=engineer,
        at=at, client_id=uuid7(),
    )  # fmt: skip
    assert found(foundation, "layout", "condition", at).word == "na"
    assert found(foundation, "layout", "condition", at + 6 * DAY).word == "no"
    acts.meet_condition(
        condition=Condition.objects.get(), how="Sketch on file", by=engineer, at=at + DAY, client_id=uuid7()
    )
    assert found(foundation, "layout", "condition", at + 60 * DAY).word == "yes"
    Condition.objects.update(met_at=at + 9 * DAY)
    assert found(foundation, "layout", "condition", at + 60 * DAY).word == "no"


def test_concrete_papers_that_lack_are_named(poured: Foundation) -> None:
    load = ConcreteLoad.objects.get()
    with guard.lifted():
        ConcreteLoad.objects.update(air_percent=None)
    assert found(poured, "pour", "concrete") == ("no", f"Not entered: load {load.ticket}, air.")
    with guard.lifted():
        Placement.objects.all().delete()
    assert found(poured, "pour", "concrete").word == "no"


def test_a_certificate_that_came_after_the_release_does_not_count(poured: Foundation) -> None:
    with guard.lifted():
        Certificate.objects.filter(covers="steel").update(added_at=LATER)
    assert found(poured, "pour", "papers").why.endswith("Reinforcing steel.")
    assert found(poured, "drill", "papers").word == "na"


def test_an_entry_changed_behind_the_application_is_named(poured: Foundation) -> None:
    entry = Entry.objects.filter(act="release", mark=poured.mark, subject__endswith="/drill").get()
    with guard.lifted():
        Entry.objects.filter(pk=entry.pk).update(actor_name="Somebody else")
    assert found(poured, "drill", "entries") == ("no", f"Missing, or not as hashed: entry {entry.sequence}.")
    assert found(poured, "layout", "entries").word == "yes"


def test_many_hold_points_cost_what_one_costs(corridor: Corridor) -> None:
    made = bring_in(corridor, ["LP-001", "LP-002", "LP-003"])
    for each in made:
        at_stage(each, "drill", "released")
    every = list(Inspection.objects.order_by("entry"))
    costs = []
    for some in (every[:1], every):
        with CaptureQueriesContext(connection) as asked:
            on_file = gather(corridor, some, LATER)
            for each in on_file.values():
                for check in CHECKS.values():
                    assert check(each).word in {"yes", "no", "na"}
        costs.append(len(asked))
    assert costs[0] == costs[1]
    assert member(corridor, "auditor").pk not in {each.inspector_id for each in every}
