"""What is left standing against the 60-in chord: worked profiles, and what must always hold."""

import doctest
import math
from types import ModuleType
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.calc import clearance as room
from apps.calc.clearance import along, around, clearance, momentum, momentum_change, profile
from apps.calc.errors import CalcError
from apps.calc.registry import find

EIGHT = [45.0 * step for step in range(8)]
AWAY = (12.0, 40.0, 90.0)


def ground(height: Any) -> dict[str, list[float]]:
    """Readings in eight directions at three distances, of a ground given as a function of x and y."""
    rows = [(turn, away) for turn in EIGHT for away in AWAY]
    at = [(away * math.cos(math.radians(turn)), away * math.sin(math.radians(turn))) for turn, away in rows]
    return {
        "directions": [turn for turn, _ in rows],
        "distances": [away for _, away in rows],
        "heights": [float(height(x, y)) for x, y in at],
    }


def one(top: float, x: float = 0, y: float = 0, name: str = "bolt 1") -> dict[str, Any]:
    return {"names": [name], "x": [x], "y": [y], "tops": [top]}


@pytest.mark.parametrize("module", [along, around, momentum])
def test_examples_in_docstrings_run(module: ModuleType) -> None:
    ran = doctest.testmod(module)
    assert ran.attempted and not ran.failed


# Structural reference, section 8: the stub rule, cases computed with a numpy scan; tolerance 0.01 in ----------------


def test_level_ground_adds_nothing() -> None:
    # K-D1
    found = profile(distances=[-60, 60], heights=[0, 0], top=3.5)
    assert (found.worst, found.over) == (pytest.approx(3.5, abs=0.01), 0)


def test_a_straight_slope_adds_nothing() -> None:
    # K-D2: 6:1 through the support.
    found = profile(distances=[-60, 60], heights=[10, -10], top=3.5)
    assert (found.worst, found.over) == (pytest.approx(3.5, abs=0.01), 0)


def test_a_break_at_the_support_adds_two_and_a_half_inches() -> None:
    # K-D3: level, then 6:1 down from the support.
    found = profile(distances=[-60, 0, 60], heights=[0, 0, -10], top=3.0)
    assert (found.worst, found.begins) == pytest.approx((5.50, -30), abs=0.01)
    assert found.over == pytest.approx(1.5, abs=0.01)


def test_a_level_pad_helps_but_not_enough() -> None:
    # K-D4: 18 in of level ground beyond the support first.
    found = profile(distances=[-60, 18, 60], heights=[0, 0, -7], top=3.0)
    assert found.worst == pytest.approx(4.225, abs=0.01)
    assert found.begins == pytest.approx(-21, abs=0.25)
    assert found.over > 0


def test_limits_carry_their_figures() -> None:
    # K-D5: Highway Engineering Handbook text: 4 in over a 60-in chord.
    assert (room.LIMIT_IN, room.CHORD_IN) == (4, 60)


def test_change_of_momentum() -> None:
    # K-D6: 1800 lb car at 16 ft/s; tolerance 0.2.
    assert momentum_change(1800, 16) == pytest.approx(895.1, abs=0.2)


# All directions ------------------------------------------------------------------------------------------------------


def test_exactly_the_limit_conforms() -> None:
    found = clearance(**ground(lambda x, y: 0), **one(4.0))
    assert (found.over, found.verdict) == (0, "conforms")
    assert clearance(**ground(lambda x, y: 0), **one(4.01)).verdict == "nonconforming"


def test_any_plane_ground_adds_nothing_in_any_direction() -> None:
    found = clearance(**ground(lambda x, y: x / 6 - y / 10 + 2), **one(3.0 + 7 / 6 + 2, x=7))
    assert found.worst == pytest.approx(3.0, abs=1e-6)


def test_a_break_in_the_ground_is_found_in_its_own_direction() -> None:
    """K-D3 laid across the y axis: level for x <= 0, 6:1 down beyond."""
    readings = ground(lambda x, y: min(0.0, -x / 6))
    readings["directions"] += [0.0] + [90.0, 270.0] * 3
    readings["distances"] += [0.0, 30.0, 30.0, 60.0, 60.0, 88.0, 88.0]
    readings["heights"] += [0.0] * 7
    found = clearance(**readings, **one(3.0))
    assert found.worst == pytest.approx(5.5, abs=0.01)
    assert found.standing[0].direction_deg == 0
    assert found.standing[0].begins == pytest.approx(-30, abs=0.25)


def test_the_one_that_offends_is_named_with_how_much() -> None:
    found = clearance(
        **ground(lambda x, y: 0),
        names=["bolt 1", "bolt 2", "conduit"],
        x=[5, -5, 0],
        y=[5, 5, 2],
        tops=[3.5, 4.25, 5.0],
    )
    assert [each.name for each in found.standing] == ["conduit", "bolt 2", "bolt 1"]
    assert [each.over for each in found.standing] == pytest.approx([1.0, 0.25, 0])
    assert "conduit by 1.00 in; bolt 2 by 0.25 in" in found.sentence
    assert "bolt 1" not in found.sentence


def test_ground_not_measured_far_enough_is_said() -> None:
    near = {"directions": EIGHT, "distances": [45.0] * 8, "heights": [0.0] * 8}
    found = clearance(**near, **one(3.0))
    assert (found.verdict, found.judged < 1) == ("refer", True)
    assert "not measured" in found.sentence
    with pytest.raises(CalcError) as caught:
        clearance(directions=EIGHT, distances=[20.0] * 8, heights=[0.0] * 8, **one(3.0))
    assert caught.value.field == "distances"


def test_among_equal_chords_the_one_that_lies_evenly_over_the_thing_is_named() -> None:
    assert profile(distances=[-60, 60], heights=[0, 0], top=3.5).begins == -30
    assert clearance(**ground(lambda x, y: 0), **one(3.5)).standing[0].begins == -30


def test_two_things_of_one_name_keep_their_own_tops() -> None:
    found = clearance(**ground(lambda x, y: 0), names=["bolt", "bolt"], x=[5, -5], y=[0, 0], tops=[2.0, 3.0])
    assert [(each.number, each.projection) for each in found.standing] == [(1, 3.0), (0, 2.0)]
    assert [step.numbers.split(" ")[0] for step in found.working[:2]] == ["3", "2"]


def test_the_sentence_says_the_verdict_first() -> None:
    within = clearance(**ground(lambda x, y: 0), **one(3.5))
    assert within.sentence == "Conforms: nothing stands over 4 in; the highest is bolt 1, 3.50 in."
    over = clearance(**ground(lambda x, y: 0), **one(4.5))
    assert over.sentence.startswith("Over the limit of 4 in: bolt 1 by 0.50 in.")
    near = clearance(directions=EIGHT, distances=[45.0] * 8, heights=[0.0] * 8, **one(3.0))
    assert near.sentence.startswith("Refers to the engineer: nothing stands over 4 in")


def test_the_sentence_of_one_line_says_where_the_worst_chord_lies() -> None:
    over = profile(distances=[-60, 0, 60], heights=[0, 0, -10], top=3.0).sentence
    assert over.startswith("Over the limit by 1.5 in: it stands 5.5 in above a 60-in chord that begins 30 in before it")
    assert profile(distances=[-60, 60], heights=[0, 0], top=3.5).sentence.startswith("Conforms: it stands 3.5 in")


heights = st.lists(st.floats(-8, 8), min_size=24, max_size=24)


@settings(deadline=None, max_examples=20)
@given(levels=heights, top=st.floats(0, 6))
def test_the_sweep_agrees_with_chords_laid_one_by_one(levels: list[float], top: float) -> None:
    """The referee: a plain loop over the same triangles, with the one-line formula."""
    readings = {**ground(lambda x, y: 0), "heights": levels}
    found = clearance(**readings, **one(top, x=3, y=-4))
    surface = around.ground_of(readings["directions"], readings["distances"], levels)
    worst = -math.inf
    for turn in range(0, 180, 15):
        way = np.array((math.cos(math.radians(turn)), math.sin(math.radians(turn))))
        for begins in range(-60, 1, 5):
            back, ahead = (float(surface(*(np.array((3, -4)) + way * at))) for at in (begins, begins + 60))
            worst = max(worst, top - (back + (ahead - back) * -begins / 60))
    assert found.worst >= worst - 1e-9


@settings(deadline=None, max_examples=20)
@given(levels=heights, raised=st.floats(0, 3), factor=st.sampled_from((25.4, 2.54, 0.5)))
def test_lifting_and_scaling_leave_the_verdict(levels: list[float], raised: float, factor: float) -> None:
    readings = {**ground(lambda x, y: 0), "heights": levels}
    here = clearance(**readings, **one(3.0, x=5))
    lifted = clearance(**{**readings, "heights": [each + raised for each in levels]}, **one(3.0 + raised, x=5))
    assert lifted.worst == pytest.approx(here.worst, abs=1e-6)
    if abs(here.worst - 4) < 1e-4:
        return
    scaled = clearance(
        directions=readings["directions"],
        distances=[each * factor for each in readings["distances"]],
        heights=[each * factor for each in levels],
        **one(3.0 * factor, x=5 * factor),
        limit=4 * factor,
        chord=60 * factor,
    )
    assert (here.verdict == "nonconforming") == (scaled.verdict == "nonconforming") or scaled.judged < 1


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"directions": [0.0, 90.0]}, "directions"),
        ({"directions": [0.0] * 8}, "directions"),
        ({"distances": [80.0] * 7}, "distances"),
        ({"distances": [-80.0] * 8}, "distances"),
        ({"heights": [math.nan] * 8}, "heights"),
        ({"names": []}, "names"),
        ({"x": [1, 2]}, "x"),
        ({"tops": [math.inf]}, "tops"),
        ({"limit": -1}, "limit"),
        ({"chord": 0}, "chord"),
    ],
)
def test_bad_input_names_the_field(change: dict[str, Any], field: str) -> None:
    readings = {"directions": EIGHT, "distances": [80.0] * 8, "heights": [0.0] * 8}
    with pytest.raises(CalcError) as caught:
        clearance(**{**readings, **one(3.0), **change})
    assert caught.value.field == field


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"distances": [-60, 60, 60]}, "distances"),
        ({"distances": [-50, 0, 60]}, "distances"),
        ({"heights": [0, 0]}, "heights"),
        ({"top": math.nan}, "top"),
    ],
)
def test_bad_profile_names_the_field(change: dict[str, Any], field: str) -> None:
    with pytest.raises(CalcError) as caught:
        profile(**{"distances": [-60, 0, 60], "heights": [0, 0, 0], "top": 3, **change})
    assert caught.value.field == field


def test_the_registry_answers_with_working_and_caution() -> None:
    found = find("clearance").run({**ground(lambda x, y: 0), **one(3.0)})
    assert found.working and "snag" in found.caution
    for each in find("clearance").outputs:
        assert hasattr(found, each.name)
