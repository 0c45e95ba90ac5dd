"""The drawings of fresh concrete and of strength: true to their axes, red only beyond a limit, words apart, extremes on the paper."""

import re
from typing import Any

import pytest

from apps.calc import registry
from apps.calc.typed import read_inputs
from apps.sheet.drawn import pictures
from tests.sheet.drawn.sheet_reader import Sheet
from tests.sheet.drawn.words import cut_off, meeting

NAMES = [each.name for each in registry.all() if each.name.split(".")[0] in ("fresh_concrete", "strength")]


def drawn(name: str, **values: Any) -> tuple[list[Sheet], Any]:
    found = registry.find(name)
    result = found.run(values)
    return [Sheet(each.svg) for each in pictures(name, found.arguments(values), result)], result


@pytest.mark.parametrize("name", NAMES)
def test_the_words_of_an_example_keep_clear_of_each_other(name: str) -> None:
    found = registry.find(name)
    for sheet in drawn(name, **read_inputs(found, found.example)[0])[0]:
        assert meeting(sheet) == []
        assert cut_off(sheet) == []


AIR = {"concrete_f": 87, "air_f": 80, "humidity_percent": 50}
LOAD = {"batch_water_lb": 1960, "cementitious_lb": 4700, "withheld_gal": 16, "highest_ratio": 0.45}


@pytest.mark.parametrize(
    ("name", "values", "over"),
    [
        ("fresh_concrete.discharge", {"minutes": 90, "edition": "to C94-13"}, False),
        ("fresh_concrete.discharge", {"minutes": 91, "edition": "to C94-13"}, True),
        ("fresh_concrete.water", {**LOAD, "added_gal": 10}, False),
        ("fresh_concrete.water", {**LOAD, "added_gal": 30}, True),
        ("fresh_concrete.yield", {"batch_lb": 3915 * 8, "density_pcf": 145, "ordered_yd3": 8}, False),
        ("fresh_concrete.yield", {"batch_lb": 3915 * 7, "density_pcf": 145, "ordered_yd3": 8}, True),
    ],
)
def test_what_is_beyond_its_limit_is_hatched(name: str, values: dict[str, Any], over: bool) -> None:
    (sheet,), _ = drawn(name, **values)
    assert bool(sheet.shapes(fill="over")) is over


@pytest.mark.parametrize(("wind", "red"), [(5, False), (12, True)])
def test_the_wind_of_the_day_is_red_where_one_must_act(wind: float, red: bool) -> None:
    (sheet,), result = drawn("fresh_concrete.evaporation", **AIR, wind_mph=wind)
    assert any(each.tag == "circle" for each in sheet.shapes("f-red")) is red is result.act


def test_made_and_ordered_have_one_scale() -> None:
    (sheet,), result = drawn("fresh_concrete.yield", batch_lb=3915 * 6, density_pcf=145, ordered_yd3=8)
    (left, _, right, _) = sheet.boxes(fill="conc")[0]
    (x, _, end, _) = sheet.boxes("s-line")[0]
    assert (right - left) / (end - x) == pytest.approx(result.volume_yd3 / 8, rel=0.01)


def test_low_tests_and_averages_are_red() -> None:
    (sheet,), result = drawn("strength.acceptance", tests=[4100, 3400, 4300, 4400], specified=4000)
    assert len(sheet.shapes("f-red")) == len(result.low_tests) + len(result.low_averages) == 2


def test_the_rule_that_governs_is_in_ink() -> None:
    (sheet,), result = drawn("strength.required_average", specified=4500, deviation=700)
    assert f"{result.required:.0f} psi" in sheet.said
    assert result.required == result.by_singles
    ink = sheet.boxes("f-ink")
    assert len(ink) == 1
    assert ink[0][2] == max(box[2] for box in (*ink, *sheet.boxes("f-conc")))


def test_degree_hours_are_the_area_over_the_datum() -> None:
    (sheet,), result = drawn("strength.maturity", hours=[10, 10], temperatures_c=[20, 10], datum_c=0)
    areas = [(right - left) * (bottom - top) for left, top, right, bottom in sheet.boxes("f-line-3")]
    assert len(areas) == 2
    assert areas[0] / areas[1] == pytest.approx(2, rel=0.02)
    assert result.degree_hours == 300


EXTREMES: list[tuple[str, dict[str, Any]]] = [
    ("fresh_concrete.evaporation", {"concrete_f": 40, "air_f": 90, "humidity_percent": 100, "wind_mph": 0}),
    ("fresh_concrete.evaporation", {"concrete_f": 140, "air_f": 0, "humidity_percent": 0, "wind_mph": 100}),
    ("fresh_concrete.cooling", {"hours": [0, 500], "temperatures_f": [70, 70]}),
    ("fresh_concrete.discharge", {"minutes": 0, "edition": "C94-21 on"}),
    ("fresh_concrete.discharge", {"minutes": 2000, "edition": "to C94-13", "revolutions": 9000}),
    ("fresh_concrete.water", {**LOAD, "added_gal": 4000}),
    ("fresh_concrete.yield", {"batch_lb": 4e6, "density_pcf": 145, "ordered_yd3": 1}),
    ("strength.gain", {"strength_28_psi": 4000, "age_days": 0, "wanted_psi": 9000}),
    ("strength.gain", {"strength_28_psi": 12_000, "age_days": 3650}),
    ("strength.maturity", {"hours": [1], "temperatures_c": [-20]}),
    ("strength.curve", {"maturities": [1, 10], "strengths": [1, 2], "form": "logarithmic"}),
    ("strength.acceptance", {"tests": [4000], "specified": 4000}),
    ("strength.acceptance", {"tests": [100 + 137 * (k % 40) for k in range(60)], "specified": 4000}),
    ("strength.required_average", {"specified": 4000}),
]


@pytest.mark.parametrize(("name", "values"), EXTREMES)
def test_extremes_are_drawn_on_the_paper(name: str, values: dict[str, Any]) -> None:
    for sheet in drawn(name, **values)[0]:
        assert cut_off(sheet) == []
        assert not re.search(r"nan|inf\b", sheet.said)
