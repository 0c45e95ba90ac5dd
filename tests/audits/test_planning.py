"""How many to draw: plans of the table, the chances said in plain words, and what is refused."""

from decimal import Decimal

import pytest

from apps.audits.checklist import NotAChecklist, parse, questions
from apps.audits.planning import LIMITS, Plan, chance_words, chances, planned
from apps.audits.recomputed import CHECKS
from apps.calc.errors import CalcError
from apps.calc.stages import STAGE_KEYS


def test_the_plan_is_that_of_the_table() -> None:
    # QC-S16: ISO 2859-1, tables 1 and 2-A: 148 at level II is letter F, 20 items, Ac 1 at 2.5 %.
    found = planned({"All": 148}, Plan(level="II"))
    assert (found.sample, found.accept) == (20, 1)
    assert (
        found.sentence
        == "Look at 20 of 148, drawn by chance. The lot is accepted where at most 1 of them is not in order."
    )


def test_both_risks_are_those_of_the_lot() -> None:
    # By hand, N 10, n 2, c 0: AQL 10 % is one, 1 − C(9,2)/C(10,2) = 0.2; LTPD 40 % is four, C(6,2)/C(10,2) = 1/3.
    asked = Plan(limit_percent=Decimal(10), limiting_percent=Decimal(40), level="II")
    found = planned({"All": 10}, asked)
    from math import comb

    n, c = found.sample, found.accept

    def accepted(bad: int) -> float:
        return sum(comb(bad, k) * comb(10 - bad, n - k) for k in range(c + 1)) / comb(10, n)

    assert found.producer == pytest.approx(1 - accepted(1))
    assert found.consumer == pytest.approx(accepted(4))


@pytest.mark.parametrize(
    ("share", "words"),
    # e-Handbook 6.2.2, n 52, c 3, operating curve at 1, 2, 5 and 10 %: .998, .980, .739, .223 (print from memory).
    [(1, "over 0.99"), (2, "0.98"), (5, "0.74"), (10, "0.22")],
)
def test_a_chance_is_said_in_plain_words(share: int, words: str) -> None:
    (found,) = [each for each in chances(100_000, 52, 3) if each.in_hundred == share]
    assert found.number == 1000 * share
    assert found.sentence == (
        f"If {share} in 100 of all hold points of the lot ({1000 * share:,}) were not in order, this sample would accept it "
        f"with probability {words}."
    )


@pytest.mark.parametrize(("chance", "words"), [(0.0, "0"), (0.004, "under 0.01"), (0.996, "over 0.99"), (1.0, "1")])
def test_a_probability_is_never_rounded_to_certainty(chance: float, words: str) -> None:
    assert chance_words(chance) == words


def test_two_risks_give_the_smallest_sample_of_the_lot() -> None:
    found = planned({"Drill": 100, "Pour": 48}, Plan(kind="risks"))
    assert (found.sample, found.accept) == (31, 2)
    assert found.producer <= 0.05 and found.consumer <= 0.10
    # 31 · 100/148 = 20.9 and 10.1.
    assert found.strata == {"Drill": (100, 21), "Pour": (48, 10)}


@pytest.mark.parametrize(
    ("sizes", "asked", "field"),
    [
        ({"All": 1}, Plan(), "lot"),
        ({}, Plan(), "lot"),
        ({"All": 50}, Plan(limiting_percent=Decimal("2.5")), "limiting_percent"),
        (dict.fromkeys("abcdefghij", 4), Plan(limit_percent=Decimal("6.5")), "strata"),
    ],
)
def test_what_cannot_be_planned_names_its_field(sizes: dict[str, int], asked: Plan, field: str) -> None:
    with pytest.raises(CalcError) as refused:
        planned(sizes, asked)
    assert refused.value.field == field


def test_the_table_offers_shares_of_items_only() -> None:
    assert LIMITS[0] == "0.01"
    assert LIMITS[-1] == "10"


# ---- the checklist


def test_every_check_is_asked_and_every_question_has_a_basis() -> None:
    asked = questions()
    assert {each.recompute for each in asked if each.recompute} == set(CHECKS)
    assert any(not each.recompute for each in asked), "something is left to the eye"
    assert all(each.basis and each.look and each.ask.endswith("?") for each in asked)
    assert all(sum(each.asked_at(stage) for each in asked) >= 10 for stage in STAGE_KEYS)


def test_questions_come_back_from_what_an_audit_keeps() -> None:
    assert parse([each.as_json() for each in questions()]) == questions()


@pytest.mark.parametrize(
    "spoiled",
    [{"stages": ["roof"]}, {"recompute": "weather"}, {"colour": "red"}],
)
def test_a_question_that_cannot_be_asked_is_named(spoiled: dict[str, object]) -> None:
    block = {"key": "mine", "ask": "Is it?", "look": "Here", "basis": "common practice, no source", **spoiled}
    with pytest.raises(NotAChecklist, match="mine"):
        parse([block])


def test_a_key_stands_once() -> None:
    with pytest.raises(NotAChecklist, match="twice"):
        parse([each.as_json() for each in questions()[:1]] * 2)
