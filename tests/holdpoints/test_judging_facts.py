"""What a hold point is judged by besides the plans: the ground as it was found before, and the other of two that is enough."""

from typing import Any

import pytest

from apps.calc.condition import Condition
from apps.corridor.models import Corridor, Foundation
from apps.holdpoints import judging
from apps.holdpoints.judging import Answered, Typed
from tests.factories.holdpoints import answers_that_conform, at_stage, hold_point, requirements
from tests.factories.times import NOW


def test_soil_and_slope_are_known_from_the_stage_after(foundation: Foundation) -> None:
    at_stage(foundation, "drill", "ready")
    drill = judging.facts_at(hold_point(foundation, "drill"))
    assert drill["slope"] > 6
    assert "soil" not in drill
    at_stage(foundation, "cage", "ready")
    cage = judging.facts_at(hold_point(foundation, "cage"))
    assert (cage["slope"], cage["soil"]) == (drill["slope"], "as the design assumes")


@pytest.mark.parametrize(
    ("when", "applies"),
    [
        ("soil == 'as the design assumes'", True),
        ("soil == rock", False),
        ("slope >= 6:1 and not solar", True),
        ("depth > 20 ft", False),
    ],
)
def test_a_condition_may_ask_for_them(foundation: Foundation, when: str, applies: bool) -> None:
    at_stage(foundation, "cage", "ready")
    assert Condition.parse(when).holds(judging.facts_at(hold_point(foundation, "cage"))) is applies


def test_a_condition_over_what_was_not_found_yet_cannot_be_told(foundation: Foundation) -> None:
    assert Condition.parse("soil == rock").holds(judging.facts_at(hold_point(foundation, "layout"))) is None


@pytest.mark.parametrize(
    ("age", "strength", "outcomes"),
    [
        ("8 d", "80 %", ("conforms", "conforms")),
        ("5 d", "80 %", ("not_applicable", "conforms")),
        ("8 d", "60 %", ("conforms", "not_applicable")),
        ("8 d", "", ("conforms", "not_applicable")),
        ("5 d", "60 %", ("nonconforming", "nonconforming")),
        ("", "", ("not_measured", "not_measured")),
    ],
)
def test_age_or_strength_is_enough(foundation: Foundation, age: str, strength: str, outcomes: tuple[str, str]) -> None:
    point = at_stage(foundation, "base_set", "ready")
    answers: dict[str, Any] = answers_that_conform(point)
    keys = ("base_set.concrete_age", "base_set.concrete_strength")
    for key, text in zip(keys, (age, strength), strict=True):
        answers[key] = Answered((Typed("", text),) if text else ())
    facts = judging.facts_at(point)
    judged = {
        each.requirement.key: each
        for each in judging.judge_all(requirements(point), answers, plan=facts, day=NOW.date())
    }
    assert tuple(judged[key].verdict.outcome for key in keys) == outcomes
    for key, outcome in zip(keys, outcomes, strict=True):
        if outcome == "not_applicable":
            assert "one of the two is enough" in judging.reason_of(judged[key])


def test_four_heights_give_gap_and_fall(foundation: Foundation, corridor: Corridor) -> None:
    point = at_stage(foundation, "pour", "ready")
    answers = answers_that_conform(point)
    heights = zip("ABCD", ("0", "1/32", "3/16", "0"), strict=True)
    answers["pour.top_twist"] = Answered(tuple(Typed(place, text) for place, text in heights))
    facts = judging.facts_at(point)
    judged = {
        each.requirement.key: each.verdict
        for each in judging.judge_all(requirements(point), answers, plan=facts, day=NOW.date())
    }
    assert (judged["pour.top_twist"].outcome, judged["pour.top_twist"].value_text) == ("nonconforming", "5/32 in")
    assert (judged["pour.top_level"].outcome, judged["pour.top_level"].value_text) == ("nonconforming", "3/16 in")
    assert any(step.symbol == "w" for step in judged["pour.top_twist"].working)


def test_the_volume_placed_is_held_against_the_plans(foundation: Foundation) -> None:
    point = at_stage(foundation, "pour", "ready")
    facts = judging.facts_at(point)
    for share, low, high in (
        (0.95, "nonconforming", "conforms"),
        (1.1, "conforms", "conforms"),
        (1.4, "conforms", "nonconforming"),
    ):
        answers = answers_that_conform(point)
        answers["pour.volume_placed"] = Answered((Typed("", f"{float(facts['volume']) * share:.3f}"),))
        judged = {
            each.requirement.key: each.verdict
            for each in judging.judge_all(requirements(point), answers, plan=facts, day=NOW.date())
        }
        assert (judged["pour.volume_ratio"].outcome, judged["pour.overbreak"].outcome) == (low, high)
        assert judged["pour.volume_theoretical"].value is not None
