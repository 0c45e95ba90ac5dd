"""Many at once and one by one give the same verdicts, to the last fraction."""

from fractions import Fraction as Exact
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.calc.batch import Given, judge_many
from apps.calc.readings import Reading
from apps.calc.requirement import Requirement
from apps.calc.verdict import judge
from tests.factories.requirements import default_files

PLAN: dict[str, Any] = {"family": "transformer_base", "depth": Exact(96), "bolt_circle": Exact(14), "design": "LP1"}
EDITION = default_files().requirements


def requirement(**more: Any) -> Requirement:
    block = {"key": "drill.x", "title": "X", "kind": "length", "unit": "in", "grade": "minor", "source": "s"}
    return Requirement.parse({**block, **more})


def at(places: tuple[str, ...], values: list[Exact], unit: str = "in") -> tuple[Reading, ...]:
    return tuple(Reading(place, str(value), unit, value) for place, value in zip(places, values, strict=True))


def same(spec: Requirement, rows: list[Given], plan: dict[str, Any], rule: str) -> None:
    many = judge_many(spec, rows, plan=plan, rule=rule)
    for row, found in zip(rows, many, strict=True):
        one = judge(
            spec, row.readings, plan=plan, others=row.others, uncertainty=row.uncertainty, rule=rule,
            reason=row.reason, not_applicable=row.not_applicable,
        )  # fmt: skip
        assert (found.outcome, found.value, found.margin, found.at_limit) == (
            one.outcome, one.value, one.margin, one.at_limit,
        ), (spec.key, row)  # fmt: skip


NUMBERS = st.one_of(
    st.fractions(-20, 20, max_denominator=64),
    st.integers(-20, 20).map(Exact),
    st.fractions(-20, 20, max_denominator=10**9),
)
LIMITS: list[dict[str, Any]] = [
    {"compare": "max", "limit": "1/8"},
    {"compare": "max", "limit": "2", "refer": "1"},
    {"compare": "min", "limit": "-3"},
    {"compare": "min", "limit": "-3", "refer": "1/3"},
    {"compare": "range", "low": "-6", "high": "8"},
    {"compare": "nominal", "nominal": "2", "plus": "1/8", "minus": "1/4", "refer": "1/16"},
    {"compare": "min", "limit": "plan.depth - 6"},
    {"compare": "nominal", "nominal": "4", "plus": "0", "minus": "0"},
]


@pytest.mark.parametrize("take", ["each", "least", "greatest", "mean", "spread", "sum"])
@pytest.mark.parametrize("limits", LIMITS, ids=lambda each: f"{each['compare']}-{'refer' in each}")
@given(data=st.data())
@settings(max_examples=25)
def test_numbers_are_judged_alike(limits: dict[str, Any], take: str, data: st.DataObject) -> None:
    places = tuple("abc"[: data.draw(st.integers(1, 3))])
    spec = requirement(take=take, places=list(places), **limits)
    rows = [
        Given(
            at(places, data.draw(st.lists(NUMBERS, min_size=len(places), max_size=len(places)))),
            uncertainty=data.draw(st.one_of(st.none(), st.fractions(0, 2, max_denominator=64))),
            not_applicable=data.draw(st.sampled_from([False, False, False, True])),
        )
        for _ in range(data.draw(st.integers(1, 5)))
    ]
    same(spec, rows, PLAN, data.draw(st.sampled_from(["simple", "guarded"])))


def test_exactly_at_the_limit_conforms_and_says_so() -> None:
    spec = requirement(compare="max", limit="1/8")
    rows = [Given(at(("",), [each])) for each in (Exact(1, 8), Exact(1, 8) + Exact(1, 10**15), Exact(127, 1016))]
    found = judge_many(spec, rows, plan=PLAN)
    assert [each.outcome for each in found] == ["conforms", "nonconforming", "conforms"]
    assert [each.at_limit for each in found] == [True, False, True]


def test_other_units_are_turned_exactly() -> None:
    spec = requirement(compare="max", limit="1/8")
    same(spec, [Given(at(("",), [Exact(each)], "mm")) for each in ("3.175", "3.1751", "3")], PLAN, "simple")


def test_numbers_that_would_not_fit_are_judged_all_the_same() -> None:
    spec = requirement(compare="max", limit="1/8", places=["a", "b"])
    wide = [Exact(1, 3**41), Exact(1, 7**23), Exact(10**30), Exact(1, 11**19)]
    same(spec, [Given(at(("a", "b"), [one, other])) for one in wide for other in wide], PLAN, "guarded")


def test_what_lacks_a_fact_or_a_place_or_was_not_seen_goes_the_slow_way() -> None:
    spec = requirement(compare="min", limit="plan.depth", places=["a", "b"])
    half = at(("a",), [Exact(100)])
    unseen = (Reading("a", "not seen", "", None), *at(("b",), [Exact(100)]))
    rows = [Given(half), Given(unseen, reason="dark"), Given(()), Given(at(("b", "a"), [Exact(90), Exact(100)]))]
    same(spec, rows, PLAN, "simple")
    same(spec, rows, {"family": "transformer_base"}, "simple")


@pytest.mark.parametrize("spec", EDITION, ids=lambda spec: spec.key)
@pytest.mark.parametrize("rule", ["simple", "guarded"])
def test_every_requirement_of_the_default_edition(spec: Requirement, rule: str) -> None:
    places = spec.places or ("",)
    answers: list[tuple[Reading, ...]] = [()]
    if spec.kind == "check":
        answers += [
            tuple(Reading(place, text, "", value) for place in places)
            for text, value in (("yes", True), ("no", False), ("not seen", None))
        ]
    elif spec.kind in ("choice", "text"):
        words = [*(str(each) for each in spec.limits(PLAN).allowed), "other"]
        answers += [tuple(Reading(place, word, "", word) for place in places) for word in words]
    else:
        steps = (Exact(0), Exact(1, 8), Exact(4), Exact(96), Exact(400, 3))
        answers += [at(places, [each + Exact(k, 7) for k in range(len(places))], spec.unit) for each in steps]
    rows = [Given(each, others={}) for each in answers] + [Given(answers[-1], not_applicable=True, reason="none here")]
    same(spec, rows, PLAN, rule)
