"""Control charts as drawn say and measure what the result says."""

import pytest

from apps.calc import registry
from apps.calc.typed import read_inputs
from apps.sheet.drawn.control import DRAWINGS
from tests.sheet.drawn.sheet_reader import Sheet, drawn
from tests.sheet.drawn.words import cut_off, meeting

JUMP = [10.0, 11.0, 10.0, 11.0, 10.0, 11.0, 10.0, 11.0, 10.0, 30.0]


def height(sheet: Sheet, words: str) -> float:
    """Where a figure along y stands."""
    return next(
        float(each.get("y", "")) - 4
        for each in sheet.root.iter("text")
        if each.text == words and each.get("text-anchor") == "end"
    )


def test_limits_stand_where_the_handbook_has_them() -> None:
    # NIST/SEMATECH e-Handbook 6.3.2.2: limits 55.8041 and 45.8159 about 50.81
    found = registry.find("control.individuals")
    sheet = drawn("control.individuals", read_inputs(found, found.example)[0])[0]
    unit = (height(sheet, "45") - height(sheet, "55")) / 10
    lines = sorted(each[1] for each in sheet.boxes("s-red") if each[1] == each[3])
    assert lines[1] - lines[0] == pytest.approx((55.8041 - 45.8159) * unit, abs=0.3)
    assert height(sheet, "55") - lines[0] == pytest.approx(0.8041 * unit, abs=0.3)
    assert {"upper limit 55.8", "lower limit 45.82", "centre 50.81", "last 52.1"} <= set(sheet.words)
    assert not sheet.shapes(fill="over")


def test_a_value_beyond_its_limit_is_hatched_from_the_limit_and_named() -> None:
    values, ranges = drawn("control.individuals", {"values": JUMP})
    (flag,) = values.boxes("s-red", "over")
    limit = next(each for each in values.boxes("s-red") if each[1] == each[3])
    assert flag[3] == pytest.approx(limit[1], abs=0.2)
    assert "10: 30" in values.words
    assert "10: 20" in ranges.words


def test_a_long_run_on_one_side_is_ringed() -> None:
    sheet = drawn("control.individuals", {"values": [-4.0, -4.0, *[1.0] * 8]})[0]
    assert len([each for each in sheet.shapes("s-red") if each.tag == "circle"]) == 1
    assert "ring: eighth or later in a row on one side" in sheet.words


def test_samples_of_unequal_size_have_limits_that_step() -> None:
    found = registry.find("control.p")
    (sheet,) = drawn("control.p", read_inputs(found, found.example)[0])
    # Ishikawa, Guide to Quality Control, pp 77-79: the 14th of 200 with 36 is beyond
    assert len(sheet.shapes("s-red", "over")) == 1
    assert "14: 18" in sheet.words
    assert "upper limit, last 15.12" in sheet.words
    (even,) = drawn("control.np", {"nonconforming": [2.0, 4.0], "size": 50.0})
    assert "upper limit 8.038" in even.words  # 3 + 3 √(3 · 0.94)


def test_causes_have_a_rule_under_the_few_that_matter() -> None:
    (sheet,) = drawn("control.pareto", {"labels": list("abcd"), "counts": [50.0, 35.0, 10.0, 5.0]})
    ink = [each for each in sheet.boxes("f-ink") if each[3] - each[1] > 10]
    assert len(ink) == 2
    assert len(sheet.shapes("f-conc")) == 2
    assert (ink[0][2] - ink[0][0]) / (ink[1][2] - ink[1][0]) == pytest.approx(50 / 35, abs=0.01)
    assert {"50, 50 %", "85 %", "100 %"} <= set(sheet.words)


@pytest.mark.parametrize("name", DRAWINGS)
def test_the_words_of_an_example_stand_clear_of_each_other(name: str) -> None:
    found = registry.find(name)
    for sheet in drawn(name, read_inputs(found, found.example)[0]):
        assert not meeting(sheet)
        assert not cut_off(sheet)


@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("individuals", {"values": [0.0, 0.0]}),
        ("individuals", {"values": [-1e6, 1e6] * 200}),
        ("individuals", {"values": [float(at % 7) for at in range(300)] + [1e4, -1e4]}),
        ("p", {"nonconforming": [0.0], "sizes": [1.0]}),
        ("p", {"nonconforming": [1.0, 1e6] * 60, "sizes": [1.0, 1e6] * 60}),
        ("np", {"nonconforming": [0.0] * 3, "size": 1e6}),
        ("u", {"counts": [1e6, 0.0], "sizes": [1e-3, 1e6]}),
        ("c", {"counts": [0.0, 400.0] * 20}),
        (
            "pareto",
            {"labels": [f"a cause with a name that is far too long {at}" for at in range(40)], "counts": [1e6] * 40},
        ),
        ("pareto", {"labels": ["a"], "counts": [0.001]}),
    ],
)
def test_extremes_are_drawn_within_the_paper(name: str, values: dict[str, object]) -> None:
    for sheet in drawn(f"control.{name}", values):
        across, down = (float(sheet.root.get(each, "")) for each in ("width", "height"))
        for left, top, right, bottom in sheet.boxes("s-ink") + sheet.boxes("f-ink") + sheet.boxes(fill="over"):
            assert -1 <= left <= right <= across + 1
            assert -1 <= top <= bottom <= down + 1
        assert not meeting(sheet)
        assert not cut_off(sheet)
