"""What an engineer sees of an attempt besides its verdicts: what changed, how the instrument stood on the day, the work drawn to
scale, and what follows from the readings by calculation."""

from datetime import date
from fractions import Fraction
from typing import Any

import pytest
from django.urls import reverse

from apps.calc.registry import find
from apps.corridor.models import Foundation
from apps.desk import evidence
from apps.holdpoints.models import HoldPoint, Inspection, Measurement
from apps.holdpoints.replay import facts_of
from apps.materials.models import Computation, Instrument
from apps.people.models import Person
from apps.sheet import as_built, checks
from apps.sheet.measured import Measured
from tests.desk.doing import address, awaiting, referring, text
from tests.factories import materials
from tests.factories.holdpoints import at_stage, attempt, give_notice, inspect, send_back
from tests.factories.times import DAY, HOUR, NOW

pytestmark = pytest.mark.django_db


def values_of(point: HoldPoint, **typed: list[str]) -> as_built.Values:
    """Return the readings of a hold point's last attempt, some of them typed otherwise."""
    found = attempt(point)
    rows = list(found.measurements.all())
    for row in rows:
        if words := typed.get(row.requirement_key.replace(".", "_")):
            row.readings = [{**each, "typed": word} for each, word in zip(row.readings, words, strict=True)]
    return as_built.Values(point.foundation, [found], rows)


def computed(point: HoldPoint, **typed: list[str]) -> dict[str, checks.Check]:
    found = checks.of_attempt(values_of(point, **typed), point.stage, facts_of(attempt(point)))
    return {each.title: each for each in found}


# ---- what changed


def test_what_changed_stands_beside_what_was_asked_for(
    as_person: Any, foundation: Foundation, engineer: Person
) -> None:
    returned = send_back(awaiting(foundation), NOW + 4 * HOUR, reason="The photo is dark.", show="The stake by day")
    point = inspect(give_notice(returned, NOW + 5 * HOUR), NOW + 6 * HOUR)
    page = text(as_person(engineer).get(address(point)))
    assert "Changed since attempt 1" in page
    assert "The photo is dark." in page and "The stake by day" in page
    assert "Every reading is the same as before." in page


def test_only_what_reads_otherwise_is_listed_and_what_is_asked_no_more_too(foundation: Foundation) -> None:
    returned = send_back(awaiting(foundation), NOW + 4 * HOUR)
    point = inspect(give_notice(returned, NOW + 5 * HOUR), NOW + 6 * HOUR)
    before, now = point.inspections.order_by("attempt")
    rows = [Measured.of(row) for row in now.measurements.order_by("place")]
    changed, gone = rows[1].row, rows[0].row
    changed.readings, changed.value_text = [{"place": "", "typed": "7 in", "unit": "in"}], "7 in"
    found = evidence.changes(before, rows[1:])
    assert [each.title for each in found.rows] == [changed.title, gone.title]
    assert found.rows[0].now is not None and found.rows[0].now.row.value_text == "7 in"
    assert found.rows[1].now is None
    assert found.same == len(rows) - 2


def test_the_first_attempt_has_no_change(as_person: Any, foundation: Foundation, engineer: Person) -> None:
    assert "Changed since" not in text(as_person(engineer).get(address(awaiting(foundation))))


# ---- the instrument on the day


def read_with(doubt: str = "", until: date | None = None, *, needs: bool = True) -> list[Measurement]:
    wrench = Instrument(name="TW-04", kind="wrench", needs_calibration=needs, calibrated_until=until)
    return [Measurement(instrument=wrench, given={"doubt": doubt} if doubt else {})]


DAY_READ = date(2026, 3, 5)


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        (read_with(until=date(2027, 1, 1)), "in calibration when it was read on 5 Mar 2026; on file until 1 Jan 2027"),
        (
            # Calibrated since: what counted on the day is what was kept with the reading.
            read_with("TW-04 is past its calibration (1 Mar 2026)", until=date(2027, 1, 1)),
            "TW-04 is past its calibration (1 Mar 2026) when it was read on 5 Mar 2026: its readings refer",
        ),
        (read_with(), "no calibration on file; read 5 Mar 2026"),
        (read_with(needs=False), "needs no calibration"),
    ],
)
def test_an_instrument_is_said_as_it_stood_when_it_was_read(rows: list[Measurement], said: str) -> None:
    assert evidence.calibration(rows, DAY_READ) == said


# ---- drawn and computed


def test_a_base_is_seated_from_its_gaps_with_the_torque_that_follows(foundation: Foundation) -> None:
    """The seating is the Bench's own: the same sentence for the same gaps."""
    point = at_stage(foundation, "base_set", "inspected")
    found = computed(point, base_set_corner_gap=["0 in", "1/32 in", "0 in", "1/16 in"])["Seating on four corners"]
    gaps = [Fraction(0), Fraction(1, 32), Fraction(0), Fraction(1, 16)]
    direct = find("seating").run({"gaps": gaps, "bolt_circle": foundation.plan["bolt_circle"]})
    assert found.sentence.split(".")[0] == direct.sentence.split(".")[0]
    assert "Which corners carry" in [each.title for each in found.pictures]
    assert all("<svg" in each.svg for each in found.pictures)
    assert found.working and found.source


def test_gaps_that_contradict_each_other_are_said_and_not_hidden(foundation: Foundation) -> None:
    point = at_stage(foundation, "base_set", "inspected")
    found = computed(point, base_set_corner_gap=["1/64 in"] * 4)["Seating on four corners"]
    assert found.sentence == (
        "Not computed from these readings: no corner is in contact: a base that rests free touches at least one."
    )
    assert not found.pictures


def test_the_pour_shows_concrete_over_the_hole_and_the_top_as_a_seat(
    as_person: Any, foundation: Foundation, engineer: Person, clock: Any
) -> None:
    point = at_stage(foundation, "pour", "inspected")
    assert {"Shaft: concrete and steel", "Seating on four corners"} <= computed(point).keys()
    clock.move_to(point.since + HOUR)
    page = text(as_person(engineer).get(address(point)))
    for words in ("As built, to scale", "Section along the road", "Base from above", "Computed from these readings"):
        assert words in page
    assert "Concrete placed" in page and "Which corners carry" in page
    assert page.index("Computed from these readings") < page.index('id="decide"')


def test_a_calculation_put_to_a_foundation_is_drawn_while_it_says_the_same(
    as_person: Any, foundation: Foundation, engineer: Person
) -> None:
    point = awaiting(foundation)
    materials.computation(foundation, at=NOW + DAY)
    row = Computation.objects.get()
    drawn = checks.pictures_of(row)
    assert drawn and drawn[0].title in text(as_person(engineer).get(address(point)))
    row.sentence = "What an earlier version of the formula said."
    assert checks.pictures_of(row) == []
    row.calculation = "no.such"
    assert checks.pictures_of(row) == []


def test_a_reading_that_needs_judgement_offers_to_raise_a_finding_at_it(
    as_person: Any, foundation: Foundation, engineer: Person, office: Person, auditor: Person
) -> None:
    point = referring(foundation)
    row = attempt(point).measurements.get(outcome="refer")
    way = reverse("desk:raise_finding", args=[foundation.corridor.slug]) + f"?reading={row.pk}"
    assert way in text(as_person(engineer).get(address(point)))
    assert way in text(as_person(office).get(address(point)))
    assert way not in text(as_person(auditor).get(address(point)))


# ---- what follows by calculation from readings taken place by place


def changed(point: HoldPoint, **typed: list[str]) -> dict[str, checks.Check]:
    """Return the checks at a hold point with the stages below it, some readings typed otherwise."""
    found = list(
        Inspection.objects.filter(hold_point__foundation=point.foundation).select_related(
            "hold_point__foundation", "edition"
        )
    )
    rows = list(Measurement.objects.filter(inspection__in=found))
    for row in rows:
        if words := typed.get(row.requirement_key.replace(".", "_")):
            row.readings = [{**each, "typed": word} for each, word in zip(row.readings, words, strict=True)]
    values = as_built.Values(point.foundation, found, rows)
    return {each.title: each for each in checks.of_attempt(values, point.stage, facts_of(attempt(point)))}


def test_evaporation_is_computed_from_what_was_read_while_the_top_was_finished(foundation: Foundation) -> None:
    """87 °F concrete under 80 °F, 50 %, 12 mph: the worked example of the calculation, 0.2435 lb/(ft² h)."""
    point = at_stage(foundation, "pour", "inspected")
    found = changed(
        point,
        pour_temp_max=["87"],
        pour_air_temperature=["80"],
        pour_humidity=["50"],
        pour_wind=["12"],
    )["Evaporation from a fresh surface"]
    said = find("fresh_concrete.evaporation").run(
        {"concrete_f": 87.0, "air_f": 80.0, "humidity_percent": 50.0, "wind_mph": 12.0}
    )
    assert found.sentence == said.sentence and "Over the limit" in found.sentence
    assert [step["symbol"] for step in found.working] == ["E", "e0, e_s", "W", "rate"]
    assert found.pictures


GROUND = ["0", "0", "0", "0", "0", "0", "0", "0"]


def test_clearance_is_computed_from_ground_and_bolts(foundation: Foundation) -> None:
    point = at_stage(foundation, "base_set", "inspected")
    projection = ["3", "3 1/2", "3", "3"]
    found = changed(point, base_set_ground=GROUND, pour_bolt_projection=projection, cage_conduit_projection=["1", "1"])
    level = found["Breakaway clearance"]
    assert level.sentence == "Conforms: nothing stands over 4 in; the highest is bolt 2, 3.50 in."
    assert [picture.title for picture in level.pictures] == [
        "The worst chord in section",
        "From above",
        "Above their chords",
    ]
    assert "Where the conduits stand" in level.beyond


def test_a_ditch_between_the_four_lines_of_the_straightedge_is_found(foundation: Foundation) -> None:
    """Ground that falls away on both sides along the road: the same bolt stands over the limit there."""
    point = at_stage(foundation, "base_set", "inspected")
    away = ["0", "0", "0", "-6", "0", "0", "0", "-6"]
    found = changed(point, base_set_ground=away, pour_bolt_projection=["3", "3 1/2", "3", "3"])["Breakaway clearance"]
    assert found.sentence.startswith("Over the limit")


def test_clearance_waits_for_every_place(foundation: Foundation) -> None:
    point = at_stage(foundation, "base_set", "inspected")
    assert "Breakaway clearance" not in changed(point, base_set_ground=["", *GROUND[1:]])


def test_the_bolt_pair_is_held_against_the_roads_own_bearing(foundation: Foundation) -> None:
    point = at_stage(foundation, "cage", "inspected")
    found = changed(point, cage_bolt_orientation=["1.5"])["Bolt pair against the road"]
    assert found.sentence == "The bolt pair stands 1.5° off parallel to the road, within the limit."
    assert "Which way the pair is turned: that was not read" in found.beyond
    tangent = foundation.alignment.geometry.bearing(foundation.distance_ft)
    assert f"− {tangent:.2f}".rstrip("0").rstrip(".") in found.working[0]["numbers"]
    over = changed(point, cage_bolt_orientation=["3.25"])["Bolt pair against the road"]
    assert over.sentence == "The bolt pair stands 3.25° off parallel to the road, over the limit by 1.25°."


def test_up_station_lies_where_it_does_at_this_side(foundation: Foundation) -> None:
    point = at_stage(foundation, "pour", "inspected")
    drawn = {}
    for side in ("L", "R"):
        point.foundation.side = side
        drawn[side] = str(changed(point)["Seating on four corners"].pictures[0].svg)
    assert "upstation to the left" in drawn["L"] and "upstation to the right" in drawn["R"]
