"""The seating drawings say what the calculation found, to scale, and red only where it is over."""

import re
from fractions import Fraction as Exact
from typing import Any

import pytest

from apps.calc import registry
from apps.sheet.drawn import pictures, tables
from apps.sheet.drawn.seating import DRAWINGS, diagonals, lean, plan

SEATING = registry.find("seating")


def drawn(**values: Any) -> tuple[dict[str, Any], Any]:
    return SEATING.arguments(values), SEATING.run(values)


def rocking(c: str = "3/16", **more: Any) -> tuple[dict[str, Any], Any]:
    return drawn(a=Exact(0), b=Exact(1, 32), c=Exact(c), d=Exact(0), **more)


def svg(draw: Any, made: tuple[dict[str, Any], Any]) -> str:
    return str(draw(*made).svg("k"))


def test_the_bolt_circle_is_drawn_to_the_scale_of_its_bar() -> None:
    text = svg(plan, rocking(bolt_circle=Exact(20)))
    radius = float(re.search(r'<circle [^>]*r="([\d.]+)"[^>]*stroke-dasharray="5 3"', text)[1])  # type: ignore[index]
    bar = re.search(r'M20 360L([\d.]+) 360" class="f-none s-ink" stroke-width="1"', text)
    assert bar
    assert (float(bar[1]) - 20) / 10 == pytest.approx(2 * radius / 20, rel=0.01)
    assert ">10 in</text>" in text


@pytest.mark.parametrize(("c", "red"), [("3/16", True), ("5/32", False), ("1/32", False)])
def test_a_corner_is_hatched_red_only_beyond_the_limit(c: str, red: bool) -> None:
    assert ("url(#k-over)" in svg(plan, rocking(c))) is red


def test_a_base_that_bears_everywhere_has_four_squares_and_no_wedge() -> None:
    text = svg(plan, drawn(a=Exact(0), b=Exact(0), c=Exact(0), d=Exact(0)))
    assert text.count("  bears<") == 4
    assert "k-over" not in text
    assert "k-within" not in text


def test_heights_along_a_diagonal_are_enlarged_by_what_the_bar_says() -> None:
    values, result = rocking()
    text = svg(diagonals, (values, result))
    times = int(re.search(r"heights drawn (\d+) times", text)[1])  # type: ignore[index]
    across = 140 / 14
    red = re.search(r'M(\S+) (\S+)L(\S+) (\S+)" class="f-none s-red" stroke-width="1.6"', text)
    assert red
    assert float(red[2]) - float(red[4]) == pytest.approx(float(result.seats[0].gap) * across * times, abs=0.2)
    assert f"{times} times</text>" in text


def test_a_gauge_says_nothing_of_lean_and_nothing_is_drawn() -> None:
    values, result = drawn(gaps=[Exact(0), Exact(0), Exact(1, 16), Exact(0)], pole_height=Exact(35))
    assert lean(values, result) is None
    assert len(pictures("seating", values, result)) == len(DRAWINGS["seating"]) - 1


def test_a_base_on_more_bolts_has_a_plan_and_no_diagonals() -> None:
    values, result = drawn(readings=[Exact(each, 64) for each in (0, 1, 0, 2, 0, 1)])
    assert diagonals(values, result) is None
    assert "F  " in svg(plan, (values, result))


@pytest.mark.parametrize("height", [Exact(0), Exact(1, 1000), Exact(5), Exact(500)])
def test_extreme_heights_are_still_drawn(height: Exact) -> None:
    values, result = drawn(a=height, b=Exact(0), c=height, d=Exact(0), pole_height=Exact(100))
    for each in pictures("seating", values, result):
        assert not re.search(r"nan|inf[^o]", each.svg)


def test_tables_name_positions_cuts_and_rounds() -> None:
    values, result = rocking("5/32", pole_height=Exact(35))
    named = {each.title.split(",")[0].split(" that")[0]: each.rows for each in tables("seating", values, result)}
    assert [row[1] for row in named["Positions"]] == [", ".join(seat.carries) for seat in result.seats]
    assert [row[1] for row in named["Tightening"]] == ["150 ft-lb", "175 ft-lb", "200 ft-lb", "225 ft-lb", "250 ft-lb"]
    assert len(named["Least grinding"]) == 3
