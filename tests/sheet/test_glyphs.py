"""A glyph draws what stands there: stages add, what is asked for is dashed, what stops work is red."""

import itertools
import xml.etree.ElementTree as ET

import pytest

from apps.sheet import glyphs
from apps.sheet.glyphs import Standing, drawing, sentence, symbol_id

FAMILIES = ("transformer_base", "pedestal_base")


def pole(released: int, next_state: str = "", **facts: bool) -> Standing:
    return Standing("transformer_base", released, next_state, **facts)


def paths(standing: Standing, width: float = 24) -> list[ET.Element]:
    return list(ET.fromstring(f"<g>{drawing(standing, width)}</g>"))


def every_standing() -> list[Standing]:
    flags = list(itertools.product((False, True), repeat=4))
    return [
        Standing(family, released, state, *flag)
        for family in FAMILIES
        for released in range(7)
        for state in glyphs.NEXT_STATES
        for flag in flags
    ]


def test_nothing_begun_is_a_cross_on_the_ground() -> None:
    assert [p.get("d") for p in paths(pole(0))] == ["M1 28H23", "M12 25.5V30.5M9.5 28H14.5"]


def test_the_ground_is_broken_over_a_hole() -> None:
    assert "M1 28H7.5M16.5 28H23" in drawing(pole(2))
    assert "M1 28H8.7M15.3 28H23" in drawing(Standing("pedestal_base", 2))


@pytest.mark.parametrize(
    ("released", "stands", "replaced"),
    [
        (1, "M10.9 17.2L13.1 15.6V28L12 32L10.9 28Z", "M12 25.5V30.5M9.5 28H14.5"),
        (2, "M7.5 28V45H16.5V28", "M10.9 17.2L13.1 15.6V28L12 32L10.9 28Z"),
        (3, "M9.8 30V43.4M14.2 30V43.4M9.8 31.5H14.2M9.8 35.5H14.2M9.8 39.5H14.2M9.8 43H14.2", "M10.9 17.2"),
        (4, "M7.5 26.3H16.5V45H7.5Z", "M9.8 30V43.4"),
        (5, "M8.2 26.3H15.8L14.6 19.4H9.4Z", "M9.5 26.3V22.6M14.5 26.3V22.6"),
        (6, "M12 19.4V3.4H18", "M9.5 26.3V22.6"),
    ],
)
def test_a_stage_adds_its_part_and_takes_away_only_what_it_replaces(released: int, stands: str, replaced: str) -> None:
    assert stands in drawing(pole(released))
    assert replaced not in drawing(pole(released))


def test_the_base_stays_under_the_pole_and_the_hole_about_the_cage() -> None:
    assert "M8.2 26.3H15.8L14.6 19.4H9.4Z" in drawing(pole(6))
    assert "M7.5 28V45H16.5V28" in drawing(pole(3))


def test_a_pedestal_is_narrower_and_shallower_than_a_light_pole() -> None:
    assert "M8.7 26.3H15.3V40H8.7Z" in drawing(Standing("pedestal_base", 4))
    assert "2.9 2.9" in drawing(Standing("pedestal_base", 6))


@pytest.mark.parametrize("state", ["notified", "inspected", "returned"])
@pytest.mark.parametrize("released", range(6))
def test_the_part_under_way_is_dashed_in_line(released: int, state: str) -> None:
    dashed = [p for p in paths(pole(released, state)) if p.get("stroke-dasharray")]
    assert dashed and all("s-line" in p.get("class", "") for p in dashed)


@pytest.mark.parametrize("released", range(6))
def test_a_reopened_part_is_dashed_in_red(released: int) -> None:
    dashed = [p for p in paths(pole(released, "reopened")) if p.get("stroke-dasharray")]
    assert dashed and all("s-red" in p.get("class", "") for p in dashed)


@pytest.mark.parametrize("state", ["", "not_ready", "ready"])
def test_a_stage_that_nobody_asked_for_adds_nothing(state: str) -> None:
    assert drawing(pole(3, state)) == drawing(pole(3))


def test_notified_is_a_ring_and_awaiting_release_a_half_filled_one() -> None:
    assert "<circle" in drawing(pole(2, "notified")) and "f-line" not in drawing(pole(2, "notified")).replace(
        "f-line-3", ""
    )
    assert "M4.6 5.9A3.1 3.1 0 0 1 4.6 12.1Z" in drawing(pole(2, "inspected"))


def test_returned_is_a_bent_arrow_without_a_ring() -> None:
    assert "M8.4 12.6V8.2H2.6" in drawing(pole(2, "returned"))
    assert "<circle" not in drawing(pole(2, "returned"))


def test_held_hides_an_open_finding() -> None:
    both = drawing(pole(4, held=True, open_finding=True))
    assert both == drawing(pole(4, held=True))
    assert "M3 6L11.8 9.8L3 13.6Z" in both and "M5 29H19V46.4H5Z" in both


def test_the_ring_makes_way_for_the_flag_of_an_open_finding() -> None:
    assert "translate" in drawing(pole(4, "notified", open_finding=True))
    assert "translate" not in drawing(pole(4, "notified"))


def test_a_condition_stands_with_any_state() -> None:
    for standing in (pole(4, condition=True), pole(4, "notified", condition=True), pole(4, held=True, condition=True)):
        assert "M5 20.6L1.6 26.4H8.4Z" in drawing(standing)


def test_an_abandoned_foundation_is_all_quiet_and_crossed_out() -> None:
    classes = {name for p in paths(pole(6, abandoned=True, held=True)) for name in p.get("class", "").split()}
    assert classes <= {"f-none", "s-rule-2", "f-rule-2", "f-void"}
    assert "M4 4L20 46M20 4L4 46" in drawing(pole(0, abandoned=True))


def test_small_glyphs_drop_dashed_parts_and_keep_ring_and_flag() -> None:
    small = drawing(pole(4, "notified", open_finding=True), 14)
    assert "stroke-dasharray" not in small and "<circle" in small and "M3 8.2L10.4 11.4L3 14.6Z" in small


def test_lines_are_lighter_and_concrete_is_stippled_from_48_px() -> None:
    large = {p.get("d"): p.get("stroke-width") for p in paths(pole(4), 48)}
    assert large["M7.5 26.3H16.5V45H7.5Z"] == "0.77"  # .55 of 1.4
    assert len(paths(pole(4), 48)) == len(paths(pole(4), 47)) + 1


def test_hatching_keeps_inside_its_box_and_rises_at_45_degrees() -> None:
    for line in glyphs.hatching(5, 29, 19, 46.4, 4.525).split("M")[1:]:
        (x1, y1), (x2, y2) = (map(float, end.split()) for end in line.split("L"))
        assert 5 <= x1 <= x2 <= 19 and 29 <= y2 <= y1 <= 46.4
        assert x2 - x1 == pytest.approx(y1 - y2, abs=0.02)


@pytest.mark.parametrize("width", glyphs.SIZES)
def test_one_name_means_one_drawing(width: int) -> None:
    seen: dict[str, str] = {}
    for standing in every_standing():
        drawn = drawing(standing, width)
        if not standing.abandoned:
            assert seen.setdefault(symbol_id(standing, width), drawn) == drawn
    assert len(seen) > 100


def test_every_standing_draws_well_formed_lines_without_a_colour() -> None:
    for standing in every_standing():
        assert "#" not in drawing(standing)
        assert paths(standing)


def test_a_sprite_holds_each_drawing_once() -> None:
    sheet = glyphs.sprite([pole(3), pole(3), pole(3, "ready"), pole(4)])
    assert sheet.count("<symbol") == 2


def test_a_picture_is_silent_beside_words_and_named_alone() -> None:
    assert 'aria-hidden="true"' in glyphs.picture(pole(3))
    named = glyphs.picture(pole(3), 36, 'LP-001 <"cage">')
    assert 'role="img"' in named and "&lt;&quot;cage&quot;&gt;" in named and 'height="72"' in named


@pytest.mark.parametrize(
    ("standing", "reason", "said"),
    [
        (
            pole(3, "ready", held=True),
            "7-day cylinders at 71 % of specified",
            "cage released, pour held: 7-day cylinders at 71 % of specified",
        ),
        (pole(0, "ready"), "", "not begun, layout to do"),
        (pole(0, "notified"), "", "layout notified"),
        (pole(4, "inspected"), "", "pour released, base set inspected, awaiting release"),
        (pole(5, "not_ready", condition=True), "", "base set released, with a condition to meet, pole set not ready"),
        (pole(6, open_finding=True), "grout cap chipped", "complete, open finding: grout cap chipped"),
        (pole(6, held=True), "", "complete, held"),
        (pole(2, abandoned=True), "rock at 5 ft", "abandoned: rock at 5 ft"),
    ],
)
def test_the_sentence_says_what_the_glyph_draws(standing: Standing, reason: str, said: str) -> None:
    assert sentence(standing, "LP-071", "274+94", "R", reason) == f"LP-071, station 274+94 right, {said}"


@pytest.mark.parametrize(
    ("fields", "named"),
    [
        (("mast", 1), "mast"),
        (("pedestal_base", 7), "7"),
        (("pedestal_base", -1), "-1"),
        (("pedestal_base", 1, "released"), "released"),
    ],
)
def test_an_impossible_standing_is_refused_by_name(fields: tuple[object, ...], named: str) -> None:
    with pytest.raises(ValueError, match=named):
        Standing(*fields)  # type: ignore[arg-type]
