"""A foundation as built: the attempt that stands, exact values with their entries, drawn and in the table of its page."""

import re
from collections.abc import Mapping
from xml.etree import ElementTree

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from apps.calc.stages import STAGE_KEYS
from apps.corridor.models import Corridor, Foundation
from apps.holdpoints.judging import Answered, Typed
from apps.holdpoints.models import Inspection, Measurement
from apps.people.models import Person
from apps.sheet import as_built
from apps.sheet.as_built import drawings
from apps.sheet.pdf import on_paper
from tests.factories import holdpoints
from tests.factories.corridor import bring_in
from tests.factories.holdpoints import answers_that_conform, at_stage, hold_point, inspect, release, send_back


def typed(foundation: Foundation, stage: str, readings: Mapping[str, Mapping[str, str]]) -> dict[str, Answered]:
    """Answers that conform, but for these readings: key → place → text."""
    answers = answers_that_conform(hold_point(foundation, stage))
    said = {key: Answered(tuple(Typed(place, text) for place, text in each.items())) for key, each in readings.items()}
    assert said.keys() <= answers.keys()
    return {**answers, **said}


def released(foundation: Foundation, stage: str, readings: Mapping[str, Mapping[str, str]]) -> Inspection:
    """Release a stage with these readings."""
    before = STAGE_KEYS[: STAGE_KEYS.index(stage)]
    if before:
        at_stage(foundation, before[-1], "released")
    wait = holdpoints.CURE if stage == "base_set" else holdpoints.HOUR
    point = holdpoints.give_notice(hold_point(foundation, stage), holdpoints.after(foundation, wait))
    answers = typed(foundation, stage, readings)
    point = inspect(point, holdpoints.after(foundation, 2 * holdpoints.HOUR), answers)
    release(point, holdpoints.after(foundation))
    return holdpoints.attempt(point)


def fresh(foundation: Foundation) -> Foundation:
    return Foundation.objects.select_related("design").get(pk=foundation.pk)


def words(svg: str) -> list[str]:
    return [each.text or "" for each in ElementTree.fromstring(svg).iter("text")]


def row(foundation: Foundation, title: str) -> as_built.Row:
    return next(each for each in drawings(fresh(foundation)).rows if each.title == title)


DEPTHS = {"centre": "8 ft 2 in", "up-station": "8 ft 1 1/2 in", "down-station": "8 ft 3 in", "left": "8 ft 2 in"}
HOLE = {
    "drill.depth": {**DEPTHS, "right": "8 ft 1 in"},
    "drill.diameter": {"top, along the road": "25 3/8 in", "top, across the road": "25 in", "bottom": "24 1/2 in"},
}


def test_a_foundation_with_nothing_measured_has_no_drawing_and_no_row(foundation: Foundation) -> None:
    found = drawings(foundation)
    assert (found.section, found.base_plan, found.rows, found.sources) == ("", "", (), ())
    assert found.section_pt == found.base_plan_pt == 0


def test_a_staked_foundation_has_rows_and_no_drawing_yet(foundation: Foundation) -> None:
    at_stage(foundation, "layout", "released")
    found = drawings(fresh(foundation))
    assert (found.section, found.base_plan) == ("", "")
    assert [each.title for each in found.rows][:2] == ["Station", "Offset"]


def test_numbers_on_the_drawings_are_the_readings_of_the_released_attempt(foundation: Foundation) -> None:
    attempt = released(foundation, "drill", HOLE)
    found = drawings(fresh(foundation))
    said = words(found.section)
    assert "8′-1″" in said, "the least depth"
    assert "8′-0″" in said, "the depth ordered"
    assert "2′-0 1/2″" in said
    assert "at the bottom, 2′-1 3/8″ at the top" in said
    assert "hole 2′-1 3/8″ × 2′-1″" in words(found.base_plan)
    depth = row(foundation, "Depth")
    assert depth.built.replace("\xa0", " ") == "8 ft 1 in at the right"
    assert depth.built.replace("\xa0", " ") == Measurement.objects.get(requirement_key="drill.depth").value_text
    assert (depth.plan, depth.planned, depth.entry) == ("8\xa0ft 0\xa0in", True, attempt.entry)


def test_metric_readings_are_drawn_where_they_lie(foundation: Foundation) -> None:
    depths = dict.fromkeys(HOLE["drill.depth"], "2489.2 mm")
    released(foundation, "drill", {"drill.depth": depths})
    assert "8′-2″" in words(drawings(fresh(foundation)).section), "2,489.2 mm is 98 in"


def test_the_last_release_stands_and_not_a_later_attempt(foundation: Foundation) -> None:
    first = released(foundation, "drill", HOLE)
    holdpoints.reopen(hold_point(foundation, "drill"), holdpoints.after(foundation))
    deeper = {"drill.depth": dict.fromkeys(HOLE["drill.depth"], "9 ft")}
    point = inspect(hold_point(foundation, "drill"), holdpoints.after(foundation), typed(foundation, "drill", deeper))
    found = drawings(fresh(foundation))
    assert found.entries[-1] == first.entry
    assert found.sources[-1].said == "released, since then inspected, awaiting release"
    assert "8′-1″" in words(found.section)
    release(point, holdpoints.after(foundation))
    found = drawings(fresh(foundation))
    assert found.sources[-1].attempt == 2
    assert found.sources[-1].said == "released"
    assert "9′-0″" in words(found.section)


def test_without_a_release_the_last_attempt_is_drawn_and_says_so(foundation: Foundation) -> None:
    at_stage(foundation, "drill", "notified")
    short = {"drill.depth": {**HOLE["drill.depth"], "centre": "7 ft 10 in"}}
    point = inspect(
        hold_point(foundation, "drill"),
        holdpoints.after(foundation, 2 * holdpoints.HOUR),
        typed(foundation, "drill", short),
    )
    found = drawings(fresh(foundation))
    assert found.sources[-1].said == "not decided yet"
    assert "-over)" in found.section
    assert row(foundation, "Depth").outcome == "nonconforming"
    send_back(point, holdpoints.after(foundation))
    assert drawings(fresh(foundation)).sources[-1].said == "returned"


def test_bolts_stand_where_six_lengths_put_them(foundation: Foundation) -> None:
    sides = {"1-2": "9 15/16 in", "2-3": "9 7/8 in", "3-4": "9 15/16 in", "4-1": "9 7/8 in"}
    circle = {"1-3": "14 1/16 in", "2-4": "14 in"}
    released(foundation, "cage", {"cage.bolt_adjacent": sides, "cage.bolt_circle": circle})
    found = drawings(fresh(foundation))
    fitted = re.search(r"bolt circle ([\d.]+) in", " ".join(words(found.base_plan)))
    assert fitted
    assert 14.0 <= float(fitted[1]) <= 14.06
    assert row(foundation, "Bolt circle, fitted").built == f"{fitted[1]} in"


def test_lengths_that_close_to_no_bolts_are_in_the_table_and_not_drawn(foundation: Foundation) -> None:
    at_stage(foundation, "cage", "notified")
    circle = {"1-3": "30 in", "2-4": "14 in"}
    inspect(
        hold_point(foundation, "cage"),
        holdpoints.after(foundation, 2 * holdpoints.HOUR),
        typed(foundation, "cage", {"cage.bolt_circle": circle}),
    )
    found = drawings(fresh(foundation))
    assert "bolt circle" not in " ".join(words(found.base_plan))
    assert "Bolt circle, fitted" not in [each.title for each in found.rows]
    assert "1-3: 30, 2-4: 14" in row(foundation, "Bolt circle, diagonals").typed.replace("\xa0", " ")


def test_a_gap_is_written_at_its_corner_beside_its_torque(foundation: Foundation) -> None:
    gaps = {"A": "0", "B": "0", "C": "1/16 in", "D": "0"}
    torques = {"1": "150", "2": "160", "3": "170", "4": "180"}
    entry = released(foundation, "base_set", {"base_set.corner_gap": gaps, "base_set.torque": torques}).entry
    root = ElementTree.fromstring(drawings(fresh(foundation)).base_plan)
    at = {each.text: (float(each.get("x", "")), float(each.get("y", ""))) for each in root.iter("text")}
    assert at["gap 1/16 in"] == (at["C"][0], at["C"][1] + 15)
    assert at["170 ft-lb"] == (at["C"][0], at["C"][1] + 30)
    assert row(foundation, "Gap at a corner, base free").entry == entry


@pytest.mark.parametrize("design", ["LP1", "PB1"])
@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize("stage", STAGE_KEYS)
def test_every_stage_of_both_families_draws_well_formed_and_on_paper(
    corridor: Corridor, design: str, side: str, stage: str
) -> None:
    foundation = bring_in(corridor, ["X-01"], design, side=side)[0]
    at_stage(foundation, stage, "released")
    found = drawings(fresh(foundation))
    assert found.rows
    drawn = [found.section, found.base_plan]
    assert all(drawn) is (stage != "layout")
    for svg, wide in zip(drawn, (found.section_pt, found.base_plan_pt), strict=True):
        if svg:
            ElementTree.fromstring(svg)
            assert not re.search(r"\bnan\b|\binf\b", svg)
            assert 'class="s-' not in on_paper(svg, wide)
    assert {each.entry for each in found.rows} <= set(found.entries)


def test_a_whole_foundation_costs_three_queries(foundation: Foundation) -> None:
    at_stage(foundation, "pole_set", "released")
    found = fresh(foundation)
    with CaptureQueriesContext(connection) as asked:
        drawings(found)
    assert len(asked) == 3


def test_the_page_shows_both_drawings_and_links_every_entry_they_come_from(
    client: Client, corridor: Corridor, foundation: Foundation, auditor: Person
) -> None:
    at_stage(foundation, "base_set", "released")
    client.force_login(auditor)
    text = client.get(reverse("dossier:station", args=[corridor.slug, foundation.mark])).content.decode()
    found = drawings(fresh(foundation))
    assert found.section in text
    assert found.base_plan in text
    shown = text[text.index('id="detail-4"') : text.index('id="detail-5"')]
    for entry in found.entries:
        assert reverse("dossier:entry", args=[corridor.slug, entry]) in shown
    assert shown.count("<tr") == 1 + len(found.rows)


def test_the_page_of_a_foundation_that_nobody_looked_at_says_so(
    client: Client, corridor: Corridor, foundation: Foundation, auditor: Person
) -> None:
    client.force_login(auditor)
    text = client.get(reverse("dossier:station", args=[corridor.slug, foundation.mark])).content.decode()
    assert "Nothing in the ground was measured yet." in text
    assert '<svg class="drawing drawn"' not in text
