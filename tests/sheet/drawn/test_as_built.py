"""As-built drawings: true to the scale they say, a reading that moves moves its line, red only where it is over."""

import math
from dataclasses import replace
from fractions import Fraction as Exact

import pytest

from apps.sheet import inks
from apps.sheet.drawn.as_built import Base, Bolt, Cage, Conduit, Pole, Section, Stub, base_plan, section
from apps.sheet.drawn.as_built.said import clipped, feet_inches, span
from apps.sheet.drawn.as_built.section import turn_heights
from tests.sheet.drawn.sheet_reader import Sheet
from tests.sheet.drawn.words import cut_off, meeting

CAGE = Cage(
    along=Exact(24), across=Exact(24), length=Exact(90), top_cover=Exact(3), bottom_cover=Exact(3),
    covers={each: Exact(3) for each in ("up-station", "down-station", "left", "right")},
    pitches={each: Exact(6) for each in ("top", "quarter", "middle", "three-quarter", "bottom")},
    flat={"top": Exact(2), "bottom": Exact(2)}, bars=6, bar_size="4", spiral_size="3", bar_in=0.5, spiral_in=0.375,
    cover_limit=Exact(3),
)  # fmt: skip
BOLTS = tuple(Bolt(x * 4.95, y * 4.95, Exact(3), Exact(30)) for x, y in ((-1, 1), (1, 1), (1, -1), (-1, -1)))
HOLE = Section(
    name="LP-001",
    diameter=Exact(30),
    depth=Exact(96),
    widths={"top": Exact(31), "bottom": Exact(30)},
    depths={each: Exact(97) for each in ("centre", "up-station", "down-station", "left", "right")},
)
WHOLE = replace(
    HOLE, volume=Exact(8, 5), neat=Exact(29, 20), top=Exact(1, 8), cage=CAGE, bolts=BOLTS, bolt_diameter=Exact(1),
    bolt_grade="55", conduits=(Conduit(Exact(2), Exact(3), 2.0), Conduit(Exact(2), Exact(3), 2.0)),
    conduit_size="2 in PVC", buried=Exact(24), base="transformer base", torques=(Exact(150),) * 4,
    stub=Stub(Exact(3), Exact(7, 2), Exact(4), "diagonal A-C"), pole=Pole(Exact(35), {"along the road": Exact(1, 5)}),
)  # fmt: skip
BASE = Base(
    name="LP-001", diameter=Exact(30), bolt_circle=Exact(14), along=Exact(31), across=Exact(30), poured=True, cage=CAGE,
    bolts=BOLTS, bolt_diameter=Exact(1), fitted=14.0, angle=Exact(4, 5), angle_limit=Exact(2), set=True,
    gaps={"A": Exact(0), "B": Exact(0), "C": Exact(1, 8), "D": Exact(0)}, gap_limit=Exact(1, 8), high=("B", "D"),
    torques={each: Exact(150) for each in "ABCD"},
)  # fmt: skip


def cut(given: Section) -> Sheet:
    return Sheet(section(given).svg("k"))


def above(given: Base) -> Sheet:
    return Sheet(base_plan(given).svg("k"))


def outline(sheet: Sheet) -> tuple[float, float, float, float]:
    """The plans' outline in a section: the tallest thin shape in line."""
    thin = [each for each in sheet.boxes("s-line", weight="0.7") if each[2] - each[0] > 1]
    return max(thin, key=lambda each: each[3] - each[1])


def heavy(sheet: Sheet) -> list[tuple[float, float, float, float]]:
    return sheet.boxes("s-ink", weight="1.8")


# ---- section


def test_a_shaft_of_30_in_is_120_units_wide_at_4_units_an_inch_as_its_bar_says() -> None:
    sheet = cut(WHOLE)
    left, top, right, bottom = outline(sheet)
    assert right - left == pytest.approx(120, abs=0.2)
    assert bottom - top == pytest.approx(96 * 4, abs=0.2)
    assert sheet.a_unit == pytest.approx(12 * 4)


def test_a_shaft_deeper_than_twelve_and_a_half_feet_is_drawn_at_half_the_scale() -> None:
    sheet = cut(replace(HOLE, depth=Exact(168), depths={"centre": Exact(168)}))
    left, _, right, _ = outline(sheet)
    assert right - left == pytest.approx(60, abs=0.2)
    assert sheet.a_unit == pytest.approx(12 * 2)


def test_the_walls_stand_where_their_widths_put_them() -> None:
    sheet = cut(HOLE)
    walls = [each for each in heavy(sheet) if each[3] - each[1] > 300]
    assert len(walls) == 2
    axis = (outline(sheet)[0] + outline(sheet)[2]) / 2
    for left, top, right, bottom in walls:
        assert sorted((abs(left - axis), abs(right - axis))) == pytest.approx([60, 62], abs=0.2)
        assert bottom - top == pytest.approx(97 * 4, abs=0.2)


@pytest.mark.parametrize(("place", "deeper"), [("up-station", 2), ("down-station", 1), ("centre", 3)])
def test_a_moved_sounding_moves_the_bottom(place: str, deeper: int) -> None:
    moved = replace(HOLE, depths={**HOLE.depths, place: Exact(97 + deeper)})

    def bottom(sheet: Sheet) -> tuple[float, float, float, float]:
        return max((each for each in heavy(sheet) if each[2] - each[0] > 100), key=lambda each: each[3])

    before, after = bottom(cut(HOLE)), bottom(cut(moved))
    assert after[3] - before[3] == pytest.approx(4 * deeper, abs=0.2)
    assert after[1] == pytest.approx(before[1], abs=0.2)


def test_what_was_not_measured_is_not_drawn() -> None:
    sheet = cut(HOLE)
    assert not sheet.shapes(fill="conc")
    assert not [each for each in sheet.words if "bolts" in each or "chord" in each or "spiral" in each]
    bare = cut(replace(HOLE, widths={}, depths={"centre": Exact(97)}))
    assert not [each for each in heavy(bare) if each[3] - each[1] > 50]


def test_the_top_of_concrete_stands_over_grade_by_what_was_measured() -> None:
    low, high = (
        min(each[1] for each in heavy(cut(replace(WHOLE, top=top))) if each[2] - each[0] > 100)
        for top in (Exact(-1, 2), Exact(1, 2))
    )
    assert low - high == pytest.approx(4, abs=0.2)


def test_the_cage_stands_off_the_middle_by_half_the_difference_of_its_covers() -> None:
    off = replace(CAGE, covers={**CAGE.covers, "up-station": Exact(4), "down-station": Exact(2)})
    centred, moved = cut(WHOLE), cut(replace(WHOLE, cage=off))
    bars = [
        sorted(each[0] for each in sheet.boxes("s-ink", weight="2") if each[3] - each[1] > 300)
        for sheet in (centred, moved)
    ]
    assert len(bars[0]) == len(bars[1]) == 2
    assert [one - other for one, other in zip(*bars, strict=True)] == pytest.approx([4, 4], abs=0.2)
    assert "2 in cover" in moved.said
    red = [each for each in moved.root.iter("text") if "f-red" in (each.get("class") or "")]
    assert [each.text for each in red] == ["2 in cover"]


def test_turns_follow_the_pitch_measured_at_their_level() -> None:
    even = turn_heights({"top": 6.0, "bottom": 6.0}, 60)
    assert even == pytest.approx([6 * each for each in range(11)])
    wider = turn_heights({"top": 6.0, "middle": 6.0, "bottom": 12.0}, 60)
    assert wider[:6] == pytest.approx(even[:6])
    assert len(wider) < len(even)
    assert turn_heights({}, 60) == []


def test_a_hole_that_stopped_short_is_hatched_red_up_to_the_depth_ordered() -> None:
    short = {**HOLE.depths, "centre": Exact(94), "up-station": Exact(95), "down-station": Exact(97)}
    sheet = cut(replace(HOLE, depths=short, shallow=True))
    (left, top, _, bottom), axis_left = sheet.boxes(fill="over")[0], outline(sheet)[0]
    assert bottom - top == pytest.approx(2 * 4, abs=0.2)
    assert left == pytest.approx(axis_left, abs=0.2)
    assert not cut(HOLE).boxes(fill="over")


@pytest.mark.parametrize(("along", "over"), [(Exact(4), False), (Exact(5), True)])
def test_what_stands_over_the_limit_of_the_chord_is_hatched(along: Exact, over: bool) -> None:
    sheet = cut(replace(WHOLE, stub=Stub(along, along, Exact(4), "along the road")))
    assert bool(sheet.boxes(fill="over")) is over
    chord = next(each for each in sheet.boxes("s-ink", weight="1.1") if each[2] - each[0] > 200)
    assert chord[2] - chord[0] == pytest.approx(60 * 4, abs=0.2)
    line = next(each for each in sheet.boxes("s-red" if over else "s-ink", weight="2.2") if each[1] == each[3])
    assert chord[1] - line[1] == pytest.approx(4 * float(along - 4), abs=0.2)


def test_bolts_are_true_in_width_and_stand_as_high_as_read() -> None:
    uneven = tuple(replace(each, above=Exact(number)) for number, each in enumerate(BOLTS, 1))
    found = [each for each in cut(replace(WHOLE, bolts=uneven)).boxes(weight="4") if each[0] == each[2]]
    assert sorted(each[3] - each[1] for each in found) == pytest.approx([120] * 4, abs=0.2)
    tops = sorted(each[1] for each in found)
    assert [one - tops[0] for one in tops] == pytest.approx([0, 4, 8, 12], abs=0.2)


def test_on_the_left_side_of_the_road_the_base_plan_is_turned_and_the_section_is_not() -> None:
    marked = (replace(BOLTS[0], above=Exact(1)), *BOLTS[1:])

    def lowest(sheet: Sheet) -> float:
        found = max((each for each in sheet.boxes("s-ink", weight="4") if each[0] == each[2]), key=lambda each: each[1])
        return found[0]

    axis = sum(outline(cut(WHOLE))[::2]) / 2
    assert lowest(cut(replace(WHOLE, bolts=marked))) < axis < lowest(cut(replace(WHOLE, bolts=marked, mirrored=True)))


@pytest.mark.parametrize("given", [HOLE, WHOLE], ids=["hole", "whole"])
@pytest.mark.parametrize("depth", [Exact(60), Exact(96), Exact(144), Exact(300)])
@pytest.mark.parametrize("wide", [Exact(24), Exact(30), Exact(48)])
def test_words_of_a_section_stand_on_the_paper_and_clear_of_each_other(
    given: Section, depth: Exact, wide: Exact
) -> None:
    sheet = cut(
        replace(
            given,
            depth=depth,
            depths=dict.fromkeys(given.depths, depth + 1),
            diameter=wide,
            widths={"top": wide + Exact(7, 16), "bottom": wide + Exact(11, 16)},
            cage=replace(CAGE, along=wide - 6, length=depth - 6) if given.cage else None,
        )
    )
    assert cut_off(sheet) == []
    assert meeting(sheet) == []


# ---- base plan


def test_the_base_plan_is_to_the_scale_of_its_bar() -> None:
    sheet = above(BASE)
    assert sheet.a_unit == pytest.approx(12 * 7.5)
    circles = [each for each in sheet.boxes("s-line", weight="0.7") if each[2] - each[0] == each[3] - each[1]]
    assert max(each[2] - each[0] for each in circles) == pytest.approx(30 * 7.5, abs=0.2)


def test_the_gap_of_an_eighth_stands_at_its_corner_and_conforms() -> None:
    sheet = above(BASE)
    wedges = sheet.boxes(fill="within")
    assert len(wedges) == 1
    assert not sheet.boxes(fill="over")
    left, top, _, _ = wedges[0]
    centre = sheet.boxes("f-none", weight="0.8")[-1]
    assert left > (centre[0] + centre[2]) / 2
    assert top > (centre[1] + centre[3]) / 2
    corner, words = sheet.at("C"), sheet.at("gap 1/8 in")
    assert words == pytest.approx((corner[0], corner[1] + 15))
    assert sheet.words.count("bears") == 3 + 1


@pytest.mark.parametrize("corner", ["A", "B", "C", "D"])
def test_a_gap_over_the_limit_is_red_at_its_corner_alone(corner: str) -> None:
    gaps = {each: Exact(9, 64) if each == corner else Exact(0) for each in "ABCD"}
    sheet = above(replace(BASE, gaps=gaps, high=()))
    wedges = sheet.boxes(fill="over")
    assert len(wedges) == 1
    middle = float(sheet.root.get("width", "")) / 2
    assert (wedges[0][0] < middle - 20) == (corner in "AD")
    assert [each.text for each in sheet.root.iter("text") if "f-red" in (each.get("class") or "")] == ["gap 9/64 in"]


def test_a_moved_bolt_moves_its_dot() -> None:
    moved = (replace(BOLTS[0], x=BOLTS[0].x - 1), *BOLTS[1:])

    def dots(given: Base) -> list[tuple[float, float, float, float]]:
        return [each for each in above(given).boxes("f-ink") if math.isclose(each[2] - each[0], 7.5, abs_tol=0.3)]

    before, after = dots(BASE), dots(replace(BASE, bolts=moved))
    assert len(before) == len(after) == 4
    assert before[0][0] - after[0][0] == pytest.approx(7.5, abs=0.2)
    assert before[1:] == after[1:]


def test_up_station_is_right_on_the_right_side_and_left_on_the_left() -> None:
    middle = float(above(BASE).root.get("width", "")) / 2
    assert above(BASE).at("up-station")[0] > middle > above(replace(BASE, right_side=False)).at("up-station")[0]


def test_a_base_that_was_not_set_has_neither_corners_found_nor_outline() -> None:
    sheet = above(replace(BASE, set=False, gaps={}, torques={}, high=()))
    assert not [each for each in sheet.words if "bears" in each or "gap" in each or "size" in each]
    assert not sheet.boxes(fill="within")


@pytest.mark.parametrize("wide", [Exact(20), Exact(30), Exact(48)])
def test_words_of_a_base_plan_stand_on_the_paper_and_clear_of_each_other(wide: Exact) -> None:
    sheet = above(replace(BASE, diameter=wide, along=wide + Exact(7, 16), across=wide + Exact(11, 16)))
    assert cut_off(sheet) == []
    assert meeting(sheet) == []


# ---- both


@pytest.mark.parametrize("svg", [section(WHOLE).svg("k"), base_plan(BASE).svg("k")], ids=["section", "base plan"])
def test_every_paint_is_a_token_so_that_paper_can_write_it_out(svg: str) -> None:
    assert 'class="s-' not in inks.painted(svg, inks.paper())


def test_a_mark_cannot_break_a_drawing() -> None:
    assert cut(replace(WHOLE, name="<x>", conduit_size='"<b>"')).name.startswith("<x>, as-built section")
    assert "<x>" not in section(replace(WHOLE, name="<x>")).svg("k")
    assert above(replace(BASE, name="<x>")).name.startswith("<x>, as-built base plan")


@pytest.mark.parametrize(
    ("value", "written"),
    [("315/4", "6′-6 3/4″"), ("24", "2′-0″"), ("391/16", "2′-0 7/16″"), ("19/2", "9 1/2″"), ("0", "0″")],
)
def test_dimensions_are_written_in_feet_and_inches(value: str, written: str) -> None:
    assert feet_inches(Exact(value)) == written


def test_a_span_names_its_unit_once_and_one_value_once() -> None:
    assert span([Exact(205), Exact(190)], "ft-lb") == "190 to 205 ft-lb"
    assert span([Exact(3), Exact(3)]) == "3 in"


def test_long_words_are_cut_off_and_say_so() -> None:
    assert clipped("conduits 2 in PVC", 144) == "conduits 2 in PVC"
    assert clipped("w" * 90, 144).endswith("…")
