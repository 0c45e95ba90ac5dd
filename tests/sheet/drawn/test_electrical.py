"""The electrical drawings: wires true in area and never over each other, limits in red only when passed, extremes on the paper."""

import math
from itertools import combinations
from typing import Any

import pytest

from apps.calc import registry
from apps.calc.electrical.wiring import CONDUITS, THHN_AREA_IN2
from apps.calc.working import number_text
from apps.sheet.drawn import pictures
from tests.sheet.drawn.sheet_reader import Sheet


def drawn(name: str, **values: Any) -> tuple[list[Sheet], Any]:
    found = registry.find(name)
    result = found.run(values)
    return [Sheet(each.svg) for each in pictures(name, found.arguments(values), result)], result


def fill(**more: Any) -> tuple[list[Sheet], Any]:
    asked = {"gauges": ["12", "8"], "counts": [3, 4], "conduit": "EMT", "size": "1"} | more
    return drawn("electrical.fill", **asked)


def test_wires_are_true_to_the_conduit_and_lie_apart_within_it() -> None:
    (inside, _), _ = fill()
    circles = [
        (float(each.get("cx", "")), float(each.get("cy", "")), float(each.get("r", "")))
        for each in inside.shapes()
        if each.tag == "circle"
    ]
    (x, y, whole), wires = circles[0], circles[1:]
    assert len(wires) == 7
    areas = sorted(THHN_AREA_IN2[gauge] / CONDUITS["EMT"]["1"] for gauge in ("12", "12", "12", "8", "8", "8", "8"))
    assert sorted((r / whole) ** 2 for *_, r in wires) == pytest.approx(areas, rel=0.02)
    assert all(math.hypot(a - x, b - y) + r <= whole + 0.2 for a, b, r in wires)
    assert all(math.hypot(a - c, b - d) >= r + s - 0.2 for (a, b, r), (c, d, s) in combinations(wires, 2))


@pytest.mark.parametrize(("count", "over"), [(4, False), (40, True)])
def test_what_is_over_the_fill_is_hatched(count: int, over: bool) -> None:
    (_, bar), result = fill(counts=[count, 1])
    assert bool(bar.shapes(fill="over")) is over is (not result.fits)


def test_a_conduit_that_cannot_hold_its_wires_says_how_many_are_left() -> None:
    (inside, _), result = fill(gauges=["4/0"], counts=[9], size="1/2")
    assert "9 find no room in the drawing" in inside.said
    assert result.sentence.endswith("No listed size of EMT takes these wires.")


@pytest.mark.parametrize(("soil", "red"), [(50, False), (62, False), (64, True), (5000, True)])
def test_a_rod_over_25_ohm_is_marked(soil: float, red: bool) -> None:
    (earth, chart), result = drawn("electrical.rod", resistivity_ohm_m=soil)
    assert bool(chart.shapes("f-red")) is red is result.supplement_needed
    assert f"{number_text(result.resistance_ohm, 3)} ohm to earth" in earth.said
    assert ("gets a second electrode" in result.sentence) is red


def test_the_probe_stands_where_the_slope_puts_it() -> None:
    (_, side), result = drawn("electrical.fall_of_potential", near_ohm=4.4, middle_ohm=4.9, far_ohm=5.3)
    (left, *_), (at, *_), (right, *_) = (side.at(words) for words in ("electrode", "potential", "current"))
    assert (at - left) / (right - left) == pytest.approx(result.place, abs=0.002)


def test_the_drop_is_drawn_between_supply_and_load() -> None:
    (line,), result = drawn("electrical.drop", volts=120, amperes=10, one_way_ft=140, gauge="12")
    assert "114.5 V, 4.62 % lost" in line.said
    assert "supply 120 V" in line.said
    assert result.sentence == "5.54 V is lost on the way, 4.62 % of the supply: 114.5 V is left at the load."


@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("electrical.rod", {"resistivity_ohm_m": 0.1, "length_ft": 200, "diameter_in": 6}),
        ("electrical.rod", {"resistivity_ohm_m": 100_000, "length_ft": 1, "diameter_in": 0.1}),
        ("electrical.drop", {"volts": 12, "amperes": 0, "one_way_ft": 0, "gauge": "14"}),
        ("electrical.drop", {"volts": 12, "amperes": 3.9, "one_way_ft": 480, "gauge": "14"}),
        ("electrical.fall_of_potential", {"near_ohm": 1e-6, "middle_ohm": 2e-6, "far_ohm": 3e-6}),
        ("electrical.fill", {"gauges": ["14"], "counts": [900], "conduit": "EMT", "size": "2"}),
    ],
)
def test_extremes_stay_on_the_paper(name: str, values: dict[str, Any]) -> None:
    for sheet in drawn(name, **values)[0]:
        assert sheet.words_off_paper == []
