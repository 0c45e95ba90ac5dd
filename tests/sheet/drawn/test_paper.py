"""The drawing board: true to scale, safe words, patterns only where used, axes that hold what is drawn."""

import re
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.sheet.drawn.chart import Chart
from apps.sheet.drawn.paper import Paper, View, nice_step, nice_ticks, spread

SVG = "{http://www.w3.org/2000/svg}"


def test_a_view_keeps_one_scale_and_stands_in_its_box() -> None:
    view = View.fit((0, 10), (0, 5), (20, 30, 200, 80))
    (x1, y1), (x2, y2) = view(0, 0), view(10, 5)
    assert (x2 - x1) / 10 == pytest.approx((y1 - y2) / 5) == pytest.approx(view.across)
    assert 20 <= x1 < x2 <= 220
    assert 30 <= y2 < y1 <= 110
    assert view.times == 1


@pytest.mark.parametrize(("xs", "ys"), [((3, 3), (1, 4)), ((1, 4), (3, 3)), ((2, 2), (2, 2))])
def test_a_view_of_no_extent_is_still_a_view(xs: tuple[int, int], ys: tuple[int, int]) -> None:
    x, y = View.fit(xs, ys, (0, 0, 100, 100))(xs[0], ys[0])
    assert 0 <= x <= 100
    assert 0 <= y <= 100


def test_words_are_escaped_and_cannot_break_the_drawing() -> None:
    paper = Paper(100, 50, 'a "name" & <more>')
    paper.text((1, 2), "<script>{key}\0</script>")
    root = ElementTree.fromstring(paper.svg("k"))
    assert root.attrib["aria-label"] == 'a "name" & <more>'
    assert [each.text for each in root.iter() if each.tag.endswith("text")] == ["<script>{key}</script>"]


def test_patterns_stand_only_where_used_under_the_key_of_the_drawing() -> None:
    plain, filled = Paper(10, 10, "plain"), Paper(10, 10, "filled")
    plain.rect(0, 0, 5, 5)
    filled.rect(0, 0, 5, 5, fill="over")
    assert "pattern" not in plain.svg("k")
    assert 'id="k-over"' in filled.svg("k")
    assert "url(#k-over)" in filled.svg("k")
    assert "\0" not in filled.svg("k")


def test_every_paint_is_a_token_so_that_paper_can_write_it_out() -> None:
    from apps.sheet.inks import painted
    from apps.sheet.inks import paper as inks

    board = Paper(200, 100, "all")
    for fill in ("concrete", "over", "within", "maybe"):
        board.rect(0, 0, 9, 9, fill=fill)
    board.dimension((0, 0), (50, 0), "1 in", kind="over")
    board.scale_bar((0, 50), 40, "1 ft")
    Chart(board, (0, 1), (0, 1), "x", "y").limit(0.5, "limit")
    assert 'class="s-' not in painted(board.svg("k"), inks())


@given(st.floats(1e-6, 1e9), st.integers(2, 9))
def test_a_step_is_round_and_parts_a_span_into_few_enough(span: float, most: int) -> None:
    step = nice_step(span, most)
    assert span / step <= most * (1 + 1e-9)
    assert f"{step:.0e}"[0] in "125"


@given(st.floats(-1e6, 1e6), st.floats(1e-3, 1e6))
def test_ticks_lie_in_their_range(low: float, span: float) -> None:
    ticks = nice_ticks(low, low + span)
    assert 1 <= len(ticks) <= 8
    assert all(low - span * 1e-3 <= each <= low + span * 1.001 for each in ticks)


@given(st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=9))
def test_a_spread_holds_its_values(values: list[float]) -> None:
    low, high = spread(values)
    assert low < high
    assert all(low <= each <= high for each in values)


def test_a_chart_puts_values_where_its_axes_say() -> None:
    paper = Paper(420, 260, "chart")
    chart = Chart(paper, (0, 10), (0, 100), "days", "psi")
    assert chart.at(0, 0) == pytest.approx((chart.left, chart.top + chart.height))
    assert chart.at(10, 100) == pytest.approx((chart.left + chart.width, chart.top))
    chart.points([(5, 50)])
    dot = re.search(r'<circle cx="([\d.]+)" cy="([\d.]+)"', paper.svg("k"))
    assert dot
    assert (float(dot[1]), float(dot[2])) == pytest.approx(chart.at(5, 50), abs=0.06)
