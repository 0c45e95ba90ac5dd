"""Drawings of decisions measure and say what the result says."""

import pytest

from apps.calc import registry
from apps.calc.typed import read_inputs
from apps.sheet.drawn.decision import DRAWINGS
from tests.sheet.drawn.sheet_reader import Box, Sheet, drawn
from tests.sheet.drawn.words import cut_off, meeting

DIODE = {"value": -5.47, "standard_uncertainty": 0.05, "high": -5.40}
DEAVER = {"mean": 0.0, "sd": 4.0, "standard_uncertainty": 1.0, "low": -8.0, "high": 8.0}


def figures(sheet: Sheet) -> dict[str, float]:
    """The figures along x, by their words, with the place that they stand at."""
    found = [each for each in sheet.root.iter("text") if each.get("text-anchor") == "middle"]
    return {each.text or "": float(each.get("x", "")) for each in found}


def high(box: Box) -> float:
    return box[3] - box[1]


def wide(box: Box) -> float:
    return box[2] - box[0]


def test_hatching_begins_just_at_the_limit_and_only_beyond_it() -> None:
    sheet = drawn("decision.conformity", DIODE)[0]
    at = figures(sheet)
    inch = (at["−5.4"] - at["−5.6"]) / 0.2
    tail = max(sheet.boxes("s-red", "over"), key=high)  # the other is the key
    assert tail[0] == pytest.approx(at["−5.4"], abs=0.2)
    (curve,) = [each for each in sheet.boxes("s-ink") if wide(each) > 300 and high(each) > 50]
    # Under a normal curve 1.4 standard deviations from its mean: exp(-1.4² / 2) of its height.
    assert high(tail) / high(curve) == pytest.approx(0.3753, abs=0.01)
    assert at["−5.5"] - at["−5.6"] == pytest.approx(0.1 * inch, abs=0.2)
    assert {"91.9 % within", "8.1 % outside", "upper limit −5.4", "measured −5.47"} <= set(sheet.words)


def test_a_value_without_uncertainty_within_its_limit_has_nothing_red_but_the_limit() -> None:
    (sheet,) = drawn("decision.conformity", DIODE | {"standard_uncertainty": 0.0})
    assert not sheet.shapes(fill="over")
    assert "8.1 % outside" not in sheet.said


def test_the_budget_is_to_one_scale_greatest_first() -> None:
    (sheet,) = drawn("decision.uncertainty", {"half_widths": [3.0, 4.0], "kinds": ["standard", "standard"]})
    first, second = sheet.boxes("f-conc")
    (all_,) = sheet.boxes("f-ink")
    assert wide(first) / wide(second) == pytest.approx(4 / 3, abs=0.01)
    assert wide(all_) / wide(first) == pytest.approx(5 / 4, abs=0.01)
    assert "4, 64 %" in sheet.words


def test_many_components_are_gathered_into_one_row_of_the_same_variance() -> None:
    (sheet,) = drawn("decision.uncertainty", {"half_widths": [1.0] * 40, "kinds": ["standard"] * 40})
    (rest,) = sheet.boxes(fill="within")
    assert wide(rest) / wide(sheet.boxes("f-conc")[0]) == pytest.approx(27**0.5, rel=0.01)
    assert "27 others" in sheet.words


def test_the_lane_of_a_guard_band_is_to_scale() -> None:
    sheet = drawn("decision.guard_band", {"standard_uncertainty": 0.010, "high": 0.125, "risk": 0.05})[0]
    at = figures(sheet)
    (band,) = sheet.boxes("s-ochre", "maybe")
    assert wide(band) == pytest.approx(0.016449 * (at["0.16"] - at["0.1"]) / 0.06, abs=0.3)
    assert {"conforms", "refers", "nonconforming", "limit 0.125", "accept up to 0.1086", "5 %"} <= set(sheet.words)
    assert len(sheet.shapes("s-red", "over")) == 1


def test_simple_acceptance_has_no_zone_that_refers() -> None:
    sheet = drawn("decision.guard_band", {"standard_uncertainty": 0.01, "high": 0.125, "risk": 0.5})[0]
    assert not sheet.shapes(fill="maybe")


def test_wrong_decisions_are_drawn_on_the_side_where_the_items_are() -> None:
    sheet = drawn("decision.risk", DEAVER)[0]
    at = figures(sheet)
    right = at["5"] + (at["10"] - at["5"]) * 3 / 5
    outside, inside = sheet.boxes("s-red", "over"), sheet.boxes("s-ochre", "maybe")
    assert any(each[0] == pytest.approx(right, abs=0.3) for each in outside)
    assert any(each[2] == pytest.approx(right, abs=0.3) for each in inside)
    assert "outside and accepted, 0.8 %" in sheet.words
    rows = drawn("decision.risk", DEAVER)[1]
    assert {"94 %", "1.5 %", "0.8 %", "3.7 %"} <= set(rows.words)


def test_both_intervals_of_a_share_are_as_long_as_they_are() -> None:
    sheet = drawn("decision.share", {"found": 4.0, "of": 20.0, "confidence": 0.9})[0]
    at = figures(sheet)
    percent = (at["40"] - at["10"]) / 30
    wilson, exact = sheet.boxes("f-conc-2")
    # NIST/SEMATECH e-Handbook 7.2.4.1: 4 of 20, 90 %: exact 7.1354 to 40.1028 %
    assert wide(exact) == pytest.approx((40.1028 - 7.1354) * percent, abs=0.3)
    assert wide(wilson) < wide(exact)


def test_what_turns_a_lot_away_is_hatched() -> None:
    lot = {"sample": 13.0, "accept": 1.0, "lot": 80.0, "defective": 4.0}
    sheet = drawn("decision.sampling", lot)[1]
    assert (len(sheet.shapes("f-conc")), len(sheet.shapes("s-red", "over"))) == (2, 2)
    assert "over 1: turned away" in sheet.words
    assert "87.8 % at 4" in drawn("decision.sampling", lot)[0].words
    assert not drawn("decision.sampling", lot | {"defective": 1.0})[1].shapes(fill="over")


@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("uncertainty", {"half_widths": [0.0], "kinds": ["standard"]}),
        ("uncertainty", {"half_widths": [1e9, 1e-9], "kinds": ["standard"] * 2}),
        ("conformity", {"value": 0.0, "standard_uncertainty": 0.0, "low": 0.0, "high": 0.0}),
        ("conformity", {"value": 1e6, "standard_uncertainty": 1e-6, "low": -1e9, "high": 1e9}),
        ("conformity", {"value": 5.0, "standard_uncertainty": 100.0, "low": -1e-3}),
        ("guard_band", {"standard_uncertainty": 0.0, "low": 0.0, "risk": 0.5}),
        ("guard_band", {"standard_uncertainty": 1.0, "low": -1e6, "high": 1e6, "risk": 1e-6}),
        ("risk", {"mean": 50.0, "sd": 0.1, "standard_uncertainty": 10.0, "low": 0.0, "accept_low": 60.0}),
        ("risk", {"mean": 0.0, "sd": 1.0, "standard_uncertainty": 1e-3, "low": -100.0, "high": 100.0}),
        ("share", {"found": 0.0, "of": 1.0, "confidence": 0.9999}),
        ("share", {"found": 1e8, "of": 1e8, "confidence": 0.01}),
        ("sampling", {"sample": 1.0, "accept": 0.0, "lot": 1.0, "defective": 0.0}),
        ("sampling", {"sample": 1e6, "accept": 5e5, "share": 0.5}),
        ("sampling", {"sample": 5.0, "accept": 9.0, "share": 1.0}),
        ("plan", {"lot": 2.0, "limit_percent": "10", "level": "III"}),
        ("plan", {"lot": 1e9, "limit_percent": "0.01", "level": "II"}),
    ],
)
def test_extremes_are_drawn_within_the_paper(name: str, values: dict[str, object]) -> None:
    for sheet in drawn(f"decision.{name}", values):
        across, down = (float(sheet.root.get(each, "")) for each in ("width", "height"))
        for left, top, right, bottom in sheet.boxes("s-ink") + sheet.boxes("f-conc") + sheet.boxes(fill="over"):
            assert -1 <= left <= right <= across + 1
            assert -1 <= top <= bottom <= down + 1
        assert not meeting(sheet)
        assert not cut_off(sheet)


@pytest.mark.parametrize("name", DRAWINGS)
def test_the_words_of_an_example_stand_clear_of_each_other(name: str) -> None:
    found = registry.find(name)
    for sheet in drawn(name, read_inputs(found, found.example)[0]):
        assert not meeting(sheet)
        assert not cut_off(sheet)
