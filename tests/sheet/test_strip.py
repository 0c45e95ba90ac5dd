"""The strip chooses its detail by room, keeps foundations apart and in station order, and says the same to those who cannot see it."""

import re
import xml.etree.ElementTree as ET
from itertools import pairwise

import pytest

from apps.sheet.glyphs import Standing, sentence
from apps.sheet.strip import Level, Road, Spot, choose, level_for, strip
from apps.sheet.strip_far import shares_released
from apps.sheet.strip_near import spread
from apps.sheet.strip_road import Row, breaks, plain_figure

SVG = "{http://www.w3.org/2000/svg}"


def spots(count: int, start: float = 10_000, end: float = 41_250) -> list[Spot]:
    out = []
    for i in range(count):
        at = start + (i + 0.5) * (end - start) / count
        standing = Standing(
            "pedestal_base" if i % 7 == 3 else "transformer_base",
            6 - 6 * i // count,
            "notified" if i % 5 == 0 else "ready",
            held=i % 29 == 8,
        )
        mark, side = f"LP-{i + 1:03d}", "LR"[i % 2]
        out.append(
            Spot(
                mark,
                at,
                side,
                f"/station/{mark}/",
                standing,
                sentence(standing, mark, plain_figure(at), side),
            )
        )
    return out


ROAD = Road(
    10_000, 41_250,
    curves=[(15_000, 21_000, "L"), (25_000, 29_000, "R")], crossings=[(12_000, "Juniper St"), (22_000, "Quarry Rd")],
    equations=[(30_000, "300+00", "301+60")], crews=[(20_000, 22_000, "Crew 3")],
    figure=lambda at: plain_figure(at if at < 30_000 else at + 160), reach=lambda a, b, side: f"/corridor/?from={a:.0f}&to={b:.0f}",
)  # fmt: skip


def tree(drawn: str) -> ET.Element:
    return ET.fromstring(drawn)


@pytest.mark.parametrize(
    ("count", "level", "rows"),
    [
        (40, Level.LARGE, 1),
        (148, Level.MIDDLE, 2),
        (400, Level.SMALL, 2),
        (2000, Level.CELLS, 3),
        (20_000, Level.BAND, 1),
        (0, Level.LARGE, 1),
    ],
)
def test_the_level_follows_the_room_on_the_wall(count: int, level: Level, rows: int) -> None:
    assert choose(spots(count), 1838)[:2] == (level, rows)


@pytest.mark.parametrize(
    ("room", "level"),
    [
        (60.1, Level.LARGE),
        (60, Level.MIDDLE),
        (24, Level.SMALL),
        (14, Level.CELLS),
        (3.4, Level.BAND),
        (0.1, Level.BAND),
    ],
)
def test_the_steps_between_levels_are_where_the_sheet_says(room: float, level: Level) -> None:
    assert level_for(room) is level


def test_the_same_foundations_become_cells_on_a_phone() -> None:
    assert choose(spots(148), 390)[0] is Level.CELLS


def test_rows_that_the_page_asks_for_are_kept() -> None:
    assert choose(spots(148), 1838, rows=3)[1] == 3
    assert choose(spots(20), 1838, rows=2)[0] is Level.MIDDLE


@pytest.mark.parametrize("count", [40, 148, 400])
def test_links_stand_in_station_order_and_carry_their_sentence(count: int) -> None:
    given = spots(count)
    links = tree(strip(list(reversed(given)), ROAD, width=1838)).findall(".//a")
    assert [link.get("href") for link in links] == [spot.href for spot in given]
    assert [link.get("aria-label") for link in links] == [spot.title for spot in given]
    assert [link.findtext("title") for link in links] == [spot.title for spot in given]


@pytest.mark.parametrize("count", [2000, 20_000])
def test_from_cells_up_the_links_are_reaches_that_cover_all_foundations(count: int) -> None:
    links = tree(strip(spots(count), ROAD, width=1838)).findall(".//a")
    told = [re.search(r": (\d+) foundations", link.get("aria-label", "")) for link in links]
    assert sum(int(match[1]) for match in told if match) == count
    assert all("/corridor/?from=" in link.get("href", "") for link in links)


def test_reaches_are_wide_enough_to_press() -> None:
    for rect in tree(strip(spots(20_000), ROAD, width=1838)).iter("rect"):
        assert float(rect.get("width", 0)) >= 24


def test_without_a_reach_address_the_far_levels_have_no_links() -> None:
    assert "<a " not in strip(spots(2000), Road(10_000, 41_250), width=1838)


def test_each_drawing_is_defined_once_and_every_use_finds_it() -> None:
    drawn = tree(strip(spots(148), ROAD, width=1838))
    defined = [symbol.get("id") for symbol in drawn.iter("symbol")]
    assert len(defined) == len(set(defined)) < 60
    assert {use.get("href", "")[1:] for use in drawn.iter("use")} == set(defined)


def test_foundations_at_one_place_are_set_apart_with_leaders() -> None:
    crowd = [Spot(f"LP-{i}", 20_000 + i * 10, "L", "/", Standing("transformer_base", 4), f"LP-{i}") for i in range(9)]
    drawn = tree(strip([*crowd, *spots(140)], ROAD, width=1838))
    rows: dict[str, list[float]] = {}
    for use in drawn.iter("use"):
        rows.setdefault(use.get("y", ""), []).append(float(use.get("x", 0)))
    for places in rows.values():
        assert all(b - a >= 17.9 for a, b in pairwise(sorted(places)))


def test_spreading_moves_nothing_that_has_room() -> None:
    assert spread([10, 50, 90], [5, 5, 5], 0, 100) == [10, 50, 90]


def test_spreading_moves_a_pair_equally_to_both_sides() -> None:
    assert spread([50, 50], [5, 5], 0, 100) == [45, 55]


def test_spreading_stays_inside_its_bounds_and_in_order() -> None:
    placed = spread([0, 0, 1, 99, 100], [5] * 5, 0, 100)
    assert placed == sorted(placed) and placed[0] >= 0 and placed[-1] <= 100
    assert all(b - a >= 10 - 1e-9 for a, b in pairwise(placed))


def test_spreading_does_not_move_what_is_firm() -> None:
    assert spread([50, 50], [5, 5], 0, 100, [True, False])[0] == pytest.approx(50, abs=0.01)


def test_spreading_without_room_sets_all_at_even_distances() -> None:
    assert spread([5, 5, 5], [10, 10, 10], 0, 20) == [0, 10, 20]


def test_rows_break_in_a_gap_never_on_a_foundation() -> None:
    given = [10_000 + 150.0 * i for i in range(200)]
    start, middle, end = breaks(Road(10_000, 40_000), given, 2)
    assert (start, end) == (10_000, 40_000) and abs(middle - 25_000) < 500
    assert min(abs(middle - at) for at in given) > 50


def test_figures_are_even_stations_on_both_sides_of_an_equation() -> None:
    words = [text.text for text in tree(strip(spots(148), ROAD, width=1838)).iter("text")]
    figures = [word for word in words if word and re.fullmatch(r"\d+\+\d\d", word)]
    assert len(figures) > 20 and all(figure.endswith("0+00") for figure in figures)
    assert "300+00 = 301+60" in words


def test_match_lines_name_the_same_station_on_both_rows() -> None:
    words = [text.text or "" for text in tree(strip(spots(148), ROAD, width=1838)).iter("text")]
    matches = [word for word in words if word.startswith("Match line")]
    assert len(matches) == 2 and len(set(matches)) == 1


def test_names_of_cross_streets_never_touch() -> None:
    close = Road(10_000, 41_250, crossings=[(20_000 + 120 * i, f"Very long street {i}") for i in range(12)])
    places = [
        float(t.get("x", 0))
        for t in tree(strip(spots(40), close, width=1838)).iter("text")
        if (t.text or "").startswith("Very")
    ]
    assert 1 <= len(places) < 12
    assert all(b - a >= 115 for a, b in pairwise(sorted(places)))


def test_crews_on_the_same_reach_share_the_width_of_the_road() -> None:
    road = Road(10_000, 41_250, crews=[(20_000, 26_000, "Crew 1"), (24_000, 30_000, "Crew 2")])
    drawn = tree(strip([], road, width=1838))
    bars = [path.get("d", "") for path in drawn.iter("path") if path.findtext("title", "").startswith("Crew")]
    tops = [re.match(r"M[\d.]+ ([\d.]+)", bar) for bar in bars]
    assert len({match[1] for match in tops if match}) == 2


def test_an_empty_corridor_still_shows_its_road() -> None:
    drawn = strip([], ROAD, width=1280)
    assert "f-road" in drawn and "<use" not in drawn and "0 foundations" in drawn


def test_held_foundations_are_flagged_at_every_level() -> None:
    for count in (40, 148, 400, 2000, 20_000):
        assert "f-red s-red" in strip(spots(count), ROAD, width=1838)


def test_the_band_is_as_thick_as_the_share_released() -> None:
    given = [Spot("", 50.0, "L", "", Standing("transformer_base", done), "") for done in (6, 6, 3, 0)]
    given += [Spot("", 150.0, "L", "", Standing("pedestal_base", 1, abandoned=True), "")]
    shares, held = shares_released(Row(0, 200, 0, 12, 0, 0, 8, 20, spots=given), 2)
    assert [column[0] for column in shares] == [0.75, 0.75, 0.75, 0.5, 0.5, 0.5]
    assert [column[1] for column in shares] == [0.0] * 6
    assert held == [0, 0]


def test_the_band_names_its_six_layers_from_below() -> None:
    drawn = tree(strip(spots(20_000), ROAD, width=1838))
    labels = {text.text: float(text.get("y", 0)) for text in drawn.iter("text") if text.get("text-anchor") == "end"}
    assert list(labels) == ["Layout", "Drill", "Cage", "Pour", "Base set", "Pole set"]
    assert list(labels.values()) == sorted(labels.values(), reverse=True)


def test_words_from_people_are_escaped() -> None:
    odd = Spot("<b>", 20_000, "L", '/x?"><script>', Standing("transformer_base", 1), "a & b <script>")
    drawn = strip([odd], Road(10_000, 30_000, crossings=[(12_000, "<i>")]), width=1280, label='"><script>')
    assert "<script" not in drawn and "<i>" not in drawn
    assert tree(drawn).get("aria-label") == '"><script>'


def test_a_road_without_length_is_refused() -> None:
    with pytest.raises(ValueError, match="beyond the start"):
        Road(100, 100)


# ---- forty to twenty thousand: what is drawn stays bounded, and nobody is lost


@pytest.mark.parametrize("width", [360, 1280, 1838])
@pytest.mark.parametrize(("count", "most"), [(40, 330), (150, 700), (2000, 360), (20_000, 360)])
def test_the_number_of_drawn_elements_is_bounded(count: int, most: int, width: int) -> None:
    drawn = strip(spots(count), ROAD, width=width)
    assert sum(1 for _ in tree(drawn).iter()) <= most
    assert len(drawn) < 150_000


def test_ten_times_as_many_foundations_make_no_larger_band() -> None:
    assert len(strip(spots(20_000), ROAD, width=1280)) < 1.2 * len(strip(spots(5_000), ROAD, width=1280))


def test_every_foundation_has_one_cell() -> None:
    """A cell's track is one outline: as many as foundations, over all rows."""
    drawn = tree(strip(spots(2000), ROAD, width=1838))
    tracks = [path.get("d", "") for path in drawn.iter("path") if path.get("class") == "f-void s-rule-2"]
    assert sum(track.count("M") for track in tracks) == 2000


def test_the_flags_of_the_band_count_every_held_foundation() -> None:
    given = spots(20_000)
    drawn = tree(strip(given, ROAD, width=1838))
    flags = [path for path in drawn.iter("path") if path.get("class") == "f-red s-red"]
    numbers = [int(text.text or "0") for text in drawn.iter("text") if text.get("class") == "count"]
    assert sum(numbers) + len(flags) - len(numbers) == sum(spot.standing.held for spot in given)


def test_one_held_foundation_hatches_its_column_over_the_whole_band_and_many_only_its_head() -> None:
    def hatched(held: int) -> float:
        given = [
            Spot(
                "",
                10_000 + i * 1.5,
                "LR"[i % 2],
                "",
                Standing("transformer_base", 3, held=i % (20_000 // held) == 0),
                "",
            )
            for i in range(20_000)
        ]
        path = next(p for p in tree(strip(given, ROAD, width=1838)).iter("path") if p.get("class") == "f-none s-red")
        ys = [float(y) for y in re.findall(r"[ML][\d.]+ ([\d.]+)", path.get("d", ""))]
        return max(ys) - min(ys)

    assert hatched(1) > 60
    assert hatched(2000) < 10


def test_a_strip_is_one_group_with_a_line_that_says_where_one_is() -> None:
    drawn = tree(strip(spots(40), ROAD, width=1280))
    assert drawn.get("role") == "group" and "data-along" in drawn.attrib
    where = drawn.find(".//*[@data-where]")
    assert where is not None and where.get("aria-live") == "polite"
    say = drawn.find(".//*[@data-say]")
    assert say is not None and say.get("aria-hidden") == "true"


def test_without_scripts_every_link_is_a_plain_link() -> None:
    assert "tabindex" not in strip(spots(148), ROAD, width=1280)
