"""A requirement block: read, checked with all faults at once, limits exact, said in trade words."""

import json
import tomllib
from decimal import Decimal
from fractions import Fraction as Exact
from pathlib import Path

import pytest

from apps.calc.limits import Bound, Limits
from apps.calc.requirement import FACTS, Requirement, RequirementError

BLOCK = {
    "key": "base_set.corner_gap",
    "title": "Gap at each corner, base free",
    "family": ["transformer_base"],
    "when": "pole_height >= 40 ft and not solar",
    "kind": "length",
    "unit": "in",
    "notation": "inches",
    "places": ["A", "B", "C", "D"],
    "take": "greatest",
    "compare": "max",
    "limit": "1/8",
    "refer": "1/16",
    "plausible": ["0", "2"],
    "grade": "critical",
    "evidence": ["corner_gap"],
    "hidden_after": "pole_set",
    "advice": "Do not tighten.",
    "caution": "fingers",
    "source": "common_practice",
    "clause": "",
    "note": "",
}
PLAN = {"depth": Exact(96), "bolt_circle": Exact(14), "bar_size": "4", "bolt_count": Exact(4), "pole_height": Exact(40)}


def made(**fields):
    return Requirement.parse({"key": "drill.x", "title": "x", "grade": "minor", "source": "s"} | fields)


def faults(**fields):
    with pytest.raises(RequirementError) as found:
        made(**fields)
    return found.value.faults


def test_a_block_is_read_with_all_its_fields():
    found = Requirement.parse(BLOCK)
    assert found.limits({}) == Limits(high=Exact(1, 8), refer_high=Exact(1, 16))
    assert found.stage == "base_set"
    assert found.places == ("A", "B", "C", "D")
    assert found.plausible == (Exact(0), Exact(2))
    assert found.limit == Bound(Exact(1, 8))
    assert found.refer_text({}) == "refers over 1/16 in"


def test_a_block_survives_the_database():
    found = Requirement.parse(BLOCK)
    stored = json.loads(json.dumps(found.as_block()))
    assert stored == BLOCK
    assert Requirement.parse(stored) == found
    assert hash(Requirement.parse(stored)) == hash(found)


def test_a_requirement_read_with_exact_decimals_is_the_same_as_one_from_text():
    decimal = tomllib.loads('low = "6"\nhigh = "8"\n', parse_float=Decimal)
    assert made(kind="length", unit="in", compare="range", **decimal).limits({}) == Limits(low=Exact(6), high=Exact(8))


LENGTH = {"kind": "length", "unit": "in"}
TEXTS = [
    (LENGTH | {"compare": "max", "limit": "1/8"}, "at most 1/8 in"),
    (LENGTH | {"compare": "min", "limit": "plan.depth", "notation": "feet_inches"}, "at least 8 ft 0 in"),
    (LENGTH | {"compare": "min", "limit": "plan.depth - 6"}, "at least 90 in"),
    (LENGTH | {"compare": "max", "limit": "plan.depth + 1 ft"}, "at most 108 in"),
    (LENGTH | {"compare": "nominal", "nominal": "plan.bolt_circle", "plus": "1/8", "minus": "1/8"}, "14 ± 1/8 in"),
    (LENGTH | {"compare": "nominal", "nominal": "24", "plus": "0", "minus": "1"}, "24 in, plus 0 and minus 1 in"),
    (LENGTH | {"compare": "range", "low": "6", "high": "8"}, "6 to 8 in"),
    ({"kind": "choice", "compare": "one_of", "values": ["36", "55", "105"]}, "36, 55 or 105"),
    ({"kind": "choice", "compare": "one_of", "values": ["plan.bar_size"]}, "4"),
    ({"kind": "count", "compare": "nominal", "nominal": "plan.bolt_count", "plus": "0", "minus": "0"}, "4"),
    ({"kind": "check", "compare": "yes"}, "yes"),
    ({"kind": "text", "compare": "noted"}, "noted"),
    ({"kind": "slope", "unit": "H:V", "compare": "min", "limit": "6:1"}, "6:1 or flatter"),
    ({"kind": "ratio", "unit": "1:n", "compare": "max", "limit": "1:40"}, "at most 1:40"),
    ({"kind": "angle", "unit": "deg", "compare": "nominal", "nominal": "90", "plus": "2", "minus": "2"}, "90 ± 2°"),
    ({"kind": "temperature", "unit": "F", "compare": "max", "limit": "35 C"}, "at most 95 °F"),
    ({"kind": "torque", "unit": "ft-lb", "compare": "range", "low": "150", "high": "250"}, "150 to 250 ft-lb"),
]


@pytest.mark.parametrize(("fields", "text"), TEXTS)
def test_limits_are_said_in_trade_words(fields, text):
    found = made(**fields)
    assert found.limit_text(PLAN) == text
    assert found.limits(PLAN).missing == ()


@pytest.mark.parametrize(
    ("fields", "text", "fact"),
    [
        (LENGTH | {"compare": "min", "limit": "plan.depth"}, "at least the plan's depth ordered", "depth"),
        (LENGTH | {"compare": "min", "limit": "plan.depth - 6"}, "at least the plan's depth ordered - 6 in", "depth"),
        ({"kind": "choice", "compare": "one_of", "values": ["plan.bar_size"]}, "the plan's vertical bar", "bar_size"),
    ],
)
def test_a_limit_of_plans_that_are_silent_is_named_and_missing(fields, text, fact):
    found = made(**fields)
    assert found.limit_text({}) == text
    assert found.limits({}).missing == (fact,)


def test_a_limit_of_the_plans_comes_in_the_unit_of_the_requirement():
    found = made(kind="length", unit="mm", compare="min", limit="plan.depth - 1 in")
    assert found.limits(PLAN).low == Exact("2413")


def test_the_refer_band_lies_inside_both_limits():
    found = made(**LENGTH, compare="nominal", nominal="14", plus="1/8", minus="1/8", refer="1/16")
    assert found.limits({}) == Limits(Exact(111, 8), Exact(113, 8), Exact(223, 16), Exact(225, 16))
    assert found.refer_text({}) == "refers under 13 15/16 in or over 14 1/16 in"


def test_a_refer_bound_may_stand_at_the_limit_or_fill_half_of_the_range():
    assert made(**LENGTH, compare="max", limit="1/8", refer="1/8").limits({}).refer_high == Exact(1, 8)
    assert made(**LENGTH, compare="min", limit="1/8", refer="1/8").limits({}).refer_low == Exact(1, 8)
    assert made(**LENGTH, compare="range", low="6", high="8", refer="1").limits({})[2:4] == (7, 7)


def test_a_tolerance_of_temperature_has_no_zero_point():
    found = made(kind="temperature", unit="F", compare="nominal", nominal="20 C", plus="5 C", minus="9")
    assert found.limits({})[:2] == (Exact(59), Exact(77))


@pytest.mark.parametrize(
    ("plan", "applies"),
    [
        ({"family": "transformer_base", "pole_height": Exact(40), "solar": False}, True),
        ({"family": "transformer_base", "pole_height": Exact(40), "solar": True}, False),
        ({"family": "pedestal_base", "pole_height": Exact(40), "solar": False}, False),
        ({"family": "pedestal_base"}, False),
        ({"family": "transformer_base", "pole_height": Exact(40)}, None),
        ({"pole_height": Exact(40), "solar": False}, None),
        ({"pole_height": Exact(30)}, False),
    ],
)
def test_it_applies_by_family_and_condition(plan, applies):
    assert Requirement.parse(BLOCK).applies(plan) is applies


def test_only_some_requirements_take_readings_below_zero():
    assert made(**LENGTH, compare="nominal", nominal="0", plus="1/2", minus="1/2").signed
    assert made(kind="temperature", unit="C", compare="max", limit="35").signed
    assert not made(**LENGTH, compare="max", limit="1/8").signed
    assert not made(**LENGTH, compare="nominal", nominal="14", plus="1/8", minus="1/8").signed


def test_all_faults_are_told_at_once():
    with pytest.raises(RequirementError) as found:
        Requirement.parse(
            {"key": "foo.x", "kind": "lenght", "compare": "max", "limt": "3", "limit": 0.5, "when": "depht > 3"}
        )
    named = sorted(fault.split(":")[0] for fault in found.value.faults)
    assert named == ["grade", "key", "kind", "limit", "limt", "source", "title", "when"]
    assert "limt: no such field; is it limit?" in found.value.faults


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"kind": "length", "unit": "kg", "compare": "max", "limit": "1"}, "unit: expected in, ft, mm"),
        ({"kind": "length", "compare": "max", "limit": "1"}, "unit: expected"),
        (LENGTH | {"compare": "max"}, "limit: is missing"),
        (LENGTH | {"compare": "max", "limit": "1", "low": "2"}, "low: has no meaning"),
        (LENGTH | {"compare": "max", "limit": "abc"}, 'limit: "abc" is not read'),
        (LENGTH | {"compare": "max", "limit": "plan.deep"}, "no fact is named plan.deep"),
        (LENGTH | {"compare": "max", "limit": "plan.bolt_count"}, "plan.bolt_count is count"),
        (LENGTH | {"compare": "max", "limit": "1/8", "refer": "1/4"}, "refer: must not be over the limit"),
        (LENGTH | {"compare": "min", "limit": "8", "refer": "6"}, "refer: must not be under the limit"),
        (LENGTH | {"compare": "range", "low": "8", "high": "6"}, "low: must not be over high"),
        (LENGTH | {"compare": "range", "low": "6", "high": "8", "refer": "2"}, "half of the range"),
        (LENGTH | {"compare": "nominal", "nominal": "1", "plus": "-1", "minus": "1"}, "plus: must be zero or more"),
        (LENGTH | {"compare": "yes"}, "yes is for kind check"),
        ({"kind": "check", "compare": "max", "limit": "1"}, "needs a kind with numbers"),
        ({"kind": "check", "compare": "yes", "take": "mean"}, "take: mean needs"),
        ({"kind": "check", "compare": "yes", "places": ["A", "A"]}, "places: names one twice"),
        ({"kind": "check", "compare": "yes", "family": ["mast"]}, "family: expected transformer_base or pedestal_base"),
        ({"kind": "check", "compare": "yes", "hidden_after": "paint"}, "hidden_after: expected one of layout"),
        ({"kind": "check", "compare": "yes", "grade": "fatal"}, "grade: expected one of minor"),
        ({"kind": "check", "compare": "yes", "notation": "feet_inches"}, "notation: feet_inches needs"),
        ({"kind": "check", "compare": "yes", "calculation": "seating"}, "output: goes together"),
        ({"kind": "choice", "compare": "one_of", "values": []}, "values: is missing"),
        ({"kind": "choice", "compare": "one_of", "values": ["plan.depth"]}, "plan.depth is not a choice"),
        (LENGTH | {"compare": "max", "limit": "1", "plausible": ["2", "0"]}, "plausible: expected two fixed numbers"),
        (LENGTH | {"compare": "max", "limit": True}, "limit: expected a number in quotes"),
        ({"kind": "check", "compare": "yes", "when": "solar =="}, "when: column 7"),
        (
            {"kind": "check", "compare": "yes", "calculation": "c", "output": "o", "inputs": {"a": "x.y"}},
            "inputs: a: expected",
        ),
        (
            {"kind": "check", "compare": "yes", "calculation": "c", "output": "o", "inputs": {"a": "plan.y"}},
            "no fact is named",
        ),
    ],
)
def test_a_fault_names_its_field_and_what_is_expected(fields, words):
    assert any(words in fault for fault in faults(**fields)), faults(**fields)


def test_every_fact_has_a_unit_of_its_kind():
    from apps.calc.units import KINDS

    for name, fact in FACTS.items():
        assert fact.unit in (KINDS[fact.kind] or ("",)), name


def test_every_requirement_of_the_shipped_editions_is_read_and_survives_the_database():
    files = sorted((Path(__file__).parents[2] / "fixtures" / "requirements").glob("*/*.toml"))
    blocks = [block for file in files for block in tomllib.loads(file.read_text("utf-8")).get("requirement", ())]
    assert len(blocks) > 100
    for block in blocks:
        found = Requirement.parse(block)
        assert Requirement.parse(json.loads(json.dumps(found.as_block()))) == found
        assert found.limit_text({})
