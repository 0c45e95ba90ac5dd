"""Drawings of torque say and measure what the result says."""

import math
import re

import pytest

from apps.calc import registry
from tests.sheet.drawn.sheet_reader import Sheet, drawn

PRELOAD = {"torque_ftlb": 150, "diameter_in": 1, "grade": "55"}


def middles(sheet: Sheet, paint: str) -> list[tuple[float, float]]:
    return [((left + right) / 2, (top + foot) / 2) for left, top, right, foot in sheet.boxes(paint)]


def test_preload_stands_between_both_nut_factors() -> None:
    (sheet,) = drawn("torque.preload", PRELOAD)
    high, low = sorted(middles(sheet, "f-ink"), key=lambda each: each[1])
    floor = next(each for each in sheet.boxes("s-ink", weight="1") if each[1] == each[3] and each[2] - each[0] > 300)[1]
    assert high[0] == low[0]
    assert (floor - high[1]) / (floor - low[1]) == pytest.approx(0.27 / 0.18, rel=0.005)
    assert {"10,000 lbf", "6,667 lbf", "K 0.18", "K 0.27", "yield, grade 55: 33.3 kip"} <= set(sheet.words)


def test_preload_over_yield_is_red_and_only_then() -> None:
    assert not drawn("torque.preload", PRELOAD)[0].shapes("f-red")
    # 250 ft-lb on grade 36: 16.7 kip is over nothing, 600 ft-lb: both ends are over 21.8 kip, 400 ft-lb: the upper alone.
    for torque, over in ((250, 0), (400, 1), (600, 2)):
        (sheet,) = drawn("torque.preload", PRELOAD | {"torque_ftlb": torque, "grade": "36"})
        assert len(sheet.shapes("f-red")) == over


@pytest.mark.parametrize("count", [3, 4, 8, 24])
def test_every_bolt_carries_its_place_in_the_order(count: int) -> None:
    values = {"diameter_in": 1, "grade": "55", "count": count}
    sheet = drawn("torque.double_nut", values)[0]
    order = registry.find("torque.double_nut").run(values).order
    bolts = {
        bolt: (210 + 100 * math.sin(2 * math.pi * (bolt - 1) / count), 152 - 100 * math.cos(2 * math.pi * (bolt - 1) / count))
        for bolt in order
    }  # fmt: skip
    inside = {
        each.text: (float(each.get("x", "")), float(each.get("y", "")) - 4.5)
        for each in sheet.root.iter("text")
        if each.get("font-weight") and (each.text or "").isdigit()
    }
    assert len(inside) == count
    for place, bolt in enumerate(order, 1):
        assert math.dist(inside[str(place)], bolts[bolt]) < 0.2


def test_the_turn_of_the_nut_is_drawn_at_its_angle() -> None:
    for values, angle in (({"diameter_in": 1, "grade": "55"}, 120), ({"diameter_in": 1.75, "grade": "36"}, 30)):
        sheet = drawn("torque.double_nut", values)[1]
        (mark,) = (each for each in sheet.shapes("s-ink", weight="2.2"))
        x1, y1, x2, y2 = (float(each) for each in re.findall(r"-?[0-9.]+", mark.get("d", "")))
        assert math.degrees(math.atan2(x2 - x1, y1 - y2)) == pytest.approx(angle, abs=0.2)
        assert {f"{angle}°", f"up to {angle + 20}°"} <= set(sheet.words)


def test_snug_is_a_fifth_to_three_tenths_of_the_verification_torque() -> None:
    sheet = drawn("torque.double_nut", {"diameter_in": 1, "grade": "55"})[2]
    (snug,), (verify,) = sheet.boxes("f-conc"), sheet.boxes("s-ink", weight="2.4")
    assert [(each - 24) / (verify[0] - 24) for each in (snug[0], snug[2])] == pytest.approx([0.2, 0.3], abs=0.002)
    assert {"54 to 81 ft-lb", "270 ft-lb"} <= set(sheet.words)


def test_a_reading_beyond_its_limit_is_red_and_no_other() -> None:
    (sheet,) = drawn("torque.wrench", {"set_ftlb": [5.3, 30, 60, 88], "reference_ftlb": [5, 31.5, 60, 90]})
    assert len(sheet.shapes("f-red")) == 1
    assert {"+6.0 %", "−4.8 %", "−2.2 %", "+4 %", "−4 %"} <= set(sheet.words)
    (fine,) = drawn("torque.wrench", {"set_ftlb": [104, 96], "reference_ftlb": [100, 100]})
    assert not fine.shapes("f-red")


def test_the_band_of_a_wrench_is_as_wide_as_its_limits() -> None:
    (sheet,) = drawn("torque.wrench", {"set_ftlb": [100], "reference_ftlb": [98], "limit_percent": 3})
    (band,) = sheet.boxes("f-line-3")
    (zero,) = (each for each in sheet.boxes("s-ink", weight="1") if each[1] == each[3] == (band[1] + band[3]) / 2)
    ((_, y),) = middles(sheet, "f-ink")
    assert (zero[1] - y) / (band[3] - band[1]) * 6 == pytest.approx(100 / 98 * 100 - 100, abs=0.03)


@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("torque.preload", PRELOAD | {"torque_ftlb": 0}),
        ("torque.preload", {"torque_ftlb": 1e9, "diameter_in": 0.25, "threads": 20, "low_factor": 0.05, "high_factor": 1}),
        ("torque.double_nut", {"diameter_in": 0.2, "grade": "36", "count": 24, "threads": 80}),
        ("torque.double_nut", {"diameter_in": 6, "grade": "105", "count": 3, "threads": 4}),
        ("torque.wrench", {"set_ftlb": [1e-6], "reference_ftlb": [1e6]}),
        ("torque.wrench", {"set_ftlb": [1e6] * 40, "reference_ftlb": [1e-3] * 40, "limit_percent": 0.1}),
    ],
)  # fmt: skip
def test_extremes_are_drawn_within_the_paper(name: str, values: dict[str, object]) -> None:
    for sheet in drawn(name, values):
        across, down = (float(sheet.root.get(each, "")) for each in ("width", "height"))
        for left, top, right, foot in sheet.boxes("s-ink") + sheet.boxes("f-ink") + sheet.boxes("f-line-3"):
            assert -1 <= left <= right <= across + 1
            assert -1 <= top <= foot <= down + 1
