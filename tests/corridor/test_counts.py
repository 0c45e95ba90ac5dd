"""Running counts: after any history they are what a count of the rows gives; days close, releases are counted on their day."""

from datetime import timedelta
from decimal import Decimal
from fractions import Fraction

import pytest

from apps.corridor.models import Corridor, Foundation, Production, Snapshot
from apps.holdpoints import recount
from apps.holdpoints.models import Inspection
from apps.record.models import Entry, Head
from tests.factories import corridor as corridors
from tests.factories import findings as steps
from tests.factories.doing import do
from tests.factories.history import History
from tests.factories.holdpoints import answers_that_conform, at_stage
from tests.factories.times import NOW

STEPS = 240


@pytest.mark.parametrize("seed", range(3))
def test_counts_agree_with_the_rows_after_any_history(corridor: Corridor, seed: int) -> None:
    history = History(corridor, seed)
    for number in range(STEPS):
        history.step()
        if number % 10 == 0 or number == STEPS - 1:
            assert recount.differences(Corridor.objects.get(pk=corridor.pk)) == [], history.done
    # The history was one: most kinds of work happened.
    assert set(history.done) >= {"give_notice", "submit_inspection", "release", "raise_finding", "refused"}
    assert Inspection.objects.count() > 10
    assert Head.objects.get(log=corridor.pk).size == Entry.objects.of_log(corridor.pk).count() > 150


def test_a_recount_says_what_differs_and_mends_it(corridor: Corridor, foundation: Foundation) -> None:
    at_stage(foundation, "drill", "released")
    steps.raised(foundation)
    tally = corridor.tally
    tally.refresh_from_db()
    tally.foundations, tally.findings = 7, {}
    tally.hold_points["drill"] = {"released": 2}
    tally.save()
    Production.objects.update(released=9)
    corridor = Corridor.objects.get(pk=corridor.pk)
    said = " ".join(recount.differences(corridor))
    for word in ("foundations: kept 7, counted 1", "hold_points", "findings", "releases of drill"):
        assert word in said
    recount.mend(corridor)
    assert recount.differences(Corridor.objects.get(pk=corridor.pk)) == []


def test_a_release_is_counted_on_the_corridors_day(corridor: Corridor, foundation: Foundation) -> None:
    # 05:30 UTC on the fourth is 22:30 on the third in America/Denver.
    point = at_stage(foundation, "layout", "inspected")
    late = NOW.replace(day=4, hour=5, minute=30)
    do("release", point, corridors.member(corridor, "engineer"), late, inspection=point.inspections.get())
    row = Production.objects.get()
    assert (row.day.isoformat(), row.stage, row.released) == ("2026-03-03", "layout", 1)


def test_a_day_is_closed_by_the_first_change_of_a_later_day(corridor: Corridor, foundation: Foundation) -> None:
    at_stage(foundation, "layout", "released")
    closed = {snapshot.day.isoformat(): snapshot for snapshot in Snapshot.objects.all()}
    assert set(closed) == {"2026-03-02"}
    assert closed["2026-03-02"].hold_points["layout"] == {"ready": 1}
    steps.raised(foundation, at=NOW + timedelta(days=3))
    snapshot = Snapshot.objects.get(day="2026-03-03")
    assert snapshot.hold_points["layout"] == {"released": 1}
    assert (snapshot.foundations, snapshot.findings) == (1, {})
    # One of one foundation has its layout, which weighs 5 of 100.
    assert snapshot.percent == Decimal(5)


def test_percent_complete_weighs_the_stages(corridor: Corridor) -> None:
    first, second = corridors.bring_in(corridor, ["LP-001", "LP-002"])
    at_stage(first, "cage", "released")
    at_stage(second, "layout", "released")
    corridor.tally.refresh_from_db()
    # Weights 5, 20, 15: (5 + 20 + 15) of one and 5 of the other, of two.
    assert corridor.tally.percent() == Fraction(45, 2)


def test_the_version_rises_with_every_act(corridor: Corridor, foundation: Foundation) -> None:
    versions = []
    for state in ("notified", "inspected", "returned"):
        at_stage(foundation, "layout", state)
        corridor.tally.refresh_from_db()
        versions.append(corridor.tally.version)
    assert versions == sorted(set(versions))


def test_answers_are_judged_by_the_edition_in_force(foundation: Foundation) -> None:
    point = at_stage(foundation, "layout", "inspected")
    assert point.edition == foundation.corridor.edition
    assert set(answers_that_conform(point)) == set(
        point.inspections.get().measurements.values_list("requirement_key", flat=True)
    )
