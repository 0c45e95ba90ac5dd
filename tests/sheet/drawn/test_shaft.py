"""Drawings of a shaft say and measure what the result says."""

import math

import pytest

from tests.sheet.drawn.sheet_reader import Box, drawn

SHAFT = {"shaft_diameter": 30, "depth": 8, "bar_size": "9", "bar_count": 8, "spiral_size": "4", "placed": 1.75}
POUR = {"shaft_diameter": 30, "depth": 8, "soundings": [6, 4, 2, 0], "placed": [0.40, 0.74, 1.15, 1.68]}
COVER = {"hole_diameter": 30, "cage_diameter": 24, "off_centre": 0.75}
HOLE = {"depth": 10, "off_x": 2, "off_y": 1.5, "lean_x": 2.2}


def high(box: Box) -> float:
    return box[3] - box[1]


def wide(box: Box) -> float:
    return box[2] - box[0]


def middle(box: Box) -> tuple[float, float]:
    return (box[0] + box[2]) / 2, (box[1] + box[3]) / 2


def test_the_section_of_a_shaft_is_to_scale_with_a_line_for_every_turn() -> None:
    sheet = drawn("shaft", SHAFT)[0]
    (body,) = sheet.boxes("s-ink", "conc")
    foot = sheet.a_unit  # the bar of this drawing is in feet
    assert (high(body), wide(body)) == pytest.approx((8 * foot, 2.5 * foot), rel=4e-3)
    turns = [each for each in sheet.boxes("s-ink", weight="1.2") if 0 < high(each) and wide(each) > 10]
    assert len(turns) == 15  # 90 in of bars at 6 in
    assert all(wide(each) == pytest.approx(23.5 / 12 * foot, abs=0.3) for each in turns)
    assert {"8 ft", "30 in", "6 in pitch", "8 bars No. 9", "7.5 ft long"} <= set(sheet.words)


def test_turns_too_close_to_draw_become_hatching() -> None:
    deep = drawn("shaft", SHAFT | {"depth": 200})[0]
    assert len(deep.shapes(fill="within")) == 1
    assert not drawn("shaft", SHAFT)[0].shapes(fill="within")


def test_the_cut_shows_bars_on_their_circle_in_their_thickness() -> None:
    sheet = drawn("shaft", SHAFT)[1]
    inch = sheet.a_unit
    (body,) = sheet.boxes("s-ink", "conc")
    bars = sheet.boxes("f-ink")
    assert len(bars) == 8
    for each in bars:
        assert math.dist(middle(each), middle(body)) == pytest.approx(21.872 / 2 * inch, abs=0.2)
        assert wide(each) == pytest.approx(1.128 * inch, abs=0.2)
    spiral = next(each for each in sheet.shapes("f-none") if each.tag == "circle")
    assert float(spiral.get("r", "")) == pytest.approx(23.5 / 2 * inch, abs=0.1)
    assert float(spiral.get("stroke-width", "")) == pytest.approx(0.5 * inch, abs=0.1)
    assert {"3 in", "24 in", "21.872 in"} <= set(sheet.words)


def test_concrete_placed_is_drawn_against_the_neat_volume() -> None:
    sheet = drawn("shaft", SHAFT)[2]
    (neat,) = sheet.boxes("f-sheet", weight="0.7")
    (over,) = sheet.boxes(fill="within")
    assert (wide(neat) + wide(over)) / wide(neat) == pytest.approx(1.2032, abs=0.002)
    assert "1.20 of neat, 20 % over" in sheet.words
    assert len(drawn("shaft", {"shaft_diameter": 30, "depth": 8})) == 2


def test_a_stretch_out_of_its_band_is_red_and_no_other() -> None:
    line, bars = drawn("shaft.curve", POUR)
    assert len(line.shapes("s-red")) == 2
    over, short = sorted(bars.boxes("s-red", "over"))[::-1]
    # From the limit to what was found, on the scale of the longest bar, which ends at 1.3.
    a_foot = math.pi / 4 * 2.5**2 / 27
    over_by, short_by = 0.53 / (2 * a_foot) - 1.3, 1 - 0.34 / (2 * a_foot)
    scale = max(wide(each) for each in bars.boxes("f-conc")) / 1.3
    assert (wide(over) / scale, wide(short) / scale) == pytest.approx((over_by, short_by), abs=0.004)
    assert {"1.46", "0.94", "1.13", "1.10"} <= set(bars.words)
    even = POUR | {"placed": [0.40, 0.80, 1.20, 1.60]}
    line, bars = drawn("shaft.curve", even)
    assert not line.shapes("s-red")
    assert not bars.shapes(fill="over")


def test_the_neat_line_and_the_soundings_share_one_scale() -> None:
    line = drawn("shaft.curve", POUR)[0]
    (neat,) = line.boxes("s-line", weight="0.9")
    dots = [middle(each) for each in line.boxes("f-ink")]
    assert len(dots) == 4
    # The neat line runs over 1.4544 yd³ and 8 ft: the dots must stand where these scales put them.
    for (x, y), placed, depth in zip(dots, POUR["placed"], POUR["soundings"], strict=True):
        assert (x - neat[0]) / wide(neat) == pytest.approx(placed / 1.4544, abs=0.003)
        assert (y - neat[1]) / high(neat) == pytest.approx(depth / 8, abs=0.003)


def test_the_cage_stands_off_to_scale_and_short_cover_is_hatched_red() -> None:
    (sheet,) = drawn("shaft.cover", COVER | {"asked": 3})
    inch = sheet.a_unit
    (hole,) = sheet.boxes("s-ink", "conc")
    (cage,) = sheet.boxes("f-sheet", weight="1.8")
    assert (wide(hole), wide(cage)) == pytest.approx((30 * inch, 24 * inch), rel=4e-3)
    assert middle(cage)[0] - middle(hole)[0] == pytest.approx(0.75 * inch, abs=0.2)
    (short,) = sheet.boxes("s-red", "over")
    assert hole[2] - short[2] == pytest.approx(2.25 * inch, abs=0.2)
    assert {"2 1/4 in", "short 3/4 in", "asked 3 in"} <= set(sheet.words)


@pytest.mark.parametrize("more", [{}, {"asked": 2.25}, {"asked": 2}])
def test_cover_that_is_met_or_not_asked_has_nothing_red(more: dict[str, float]) -> None:
    (sheet,) = drawn("shaft.cover", COVER | more)
    assert not sheet.shapes("s-red")
    assert not sheet.shapes(fill="over")
    assert "short" not in sheet.said


def test_the_hole_stands_off_its_stake_to_scale_within_its_limit() -> None:
    sheet = drawn("shaft.hole", HOLE | {"off_limit": 3})[0]
    (limit,) = sheet.boxes("f-line-3")
    top = next(each for each in sheet.boxes("f-ink") if wide(each) == pytest.approx(10) and each[1] < 300)
    assert wide(limit) == pytest.approx(6 * sheet.a_unit, abs=0.3)
    assert math.dist(middle(top), middle(limit)) == pytest.approx(2.5 * sheet.a_unit, abs=0.2)
    assert not sheet.shapes("f-red")
    assert drawn("shaft.hole", HOLE | {"off_limit": 2})[0].shapes("f-red")


def test_the_lean_is_enlarged_as_it_says_and_hatched_only_over_the_limit() -> None:
    for limit, over in ((2, 0), (1.5, 1)):
        sheet = drawn("shaft.hole", HOLE | {"plumb_limit": limit})[1]
        axis = next(each for each in sheet.boxes(weight="2.4"))
        times = int(sheet.name.split("drawn ")[1].split(" ")[0])
        assert wide(axis) / high(axis) == pytest.approx(2.2 / 120 * times, rel=0.01)
        assert len(sheet.shapes("s-red", "over")) == over
        assert f"limit {limit} %" in sheet.words
        assert any(f"sideways, {times} times" in each for each in sheet.words)


def test_thin_sediment_is_filled_and_the_rest_hatched() -> None:
    sheet = drawn("shaft.hole", HOLE | {"sediment": [0.25, 0.75, 0.25, 0.5, 1.25]})[2]
    assert len(sheet.shapes("f-conc")) == 2
    assert len(sheet.shapes(fill="within")) == 3
    assert "1 1/4 in" in sheet.words
    assert len(drawn("shaft.hole", HOLE)) == 2


@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("shaft", SHAFT | {"shaft_diameter": 240, "depth": 0.5, "bar_count": 100, "pitch": 0.5, "placed": 0}),
        ("shaft", SHAFT | {"shaft_diameter": 10, "depth": 200, "bar_length": 400, "placed": 1e6, "spiral_height": 0}),
        ("shaft", SHAFT | {"bar_length": 0, "spiral_height": 96, "flat_turns": 0}),
        ("shaft.curve", POUR | {"soundings": [7.999], "placed": [0]}),
        ("shaft.curve", POUR | {"soundings": [4, 3.99, 0], "placed": [50, 50, 50], "least": 0, "most": 0}),
        ("shaft.cover", {"hole_diameter": 240, "cage_diameter": 1, "off_centre": 119.5, "asked": 300}),
        ("shaft.cover", {"hole_diameter": 6, "cage_diameter": 5.999, "asked": 0}),
        ("shaft.hole", {"depth": 0.5, "off_x": -500, "lean_y": 500, "plumb_limit": 0.001, "off_limit": 0}),
        ("shaft.hole", {"depth": 200, "sediment": [0.0] * 60, "thin": 0, "plumb_limit": 0}),
    ],
)
def test_extremes_are_drawn_within_the_paper(name: str, values: dict[str, object]) -> None:
    for sheet in drawn(name, values):
        across, down = (float(sheet.root.get(each, "")) for each in ("width", "height"))
        for left, top, right, bottom in sheet.boxes("s-ink") + sheet.boxes("f-ink") + sheet.boxes(fill="over"):
            assert -1 <= left <= right <= across + 1
            assert -1 <= top <= bottom <= down + 1
