"""The condition language of `when`: read once, type checked, three-valued, never evaluated as code."""

from fractions import Fraction as Exact

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.calc.condition import Condition, ConditionError, parse_condition

PLAN = {
    "pole_height": Exact(45),
    "solar": False,
    "walk": True,
    "family": "transformer_base",
    "side": "left",
    "depth": Exact(96),
}


@pytest.mark.parametrize(
    ("text", "holds"),
    [
        ("pole_height >= 40 ft and not solar", True),
        ("pole_height > 45", False),
        ("pole_height >= 45", True),
        ("depth == 8 ft", True),
        ("depth <= 2438.4 mm", True),
        ("depth < 2438.4 mm", False),
        ("depth != 96 in", False),
        ("depth >= 95 1/2", True),
        ("pole_height > depth", True),
        ("family == transformer_base", True),
        ("family == 'pedestal_base'", False),
        ("side != right", True),
        ("not walk", False),
        ("not (walk and solar)", True),
        ("solar or walk", True),
        ("not solar and not walk or side == left", True),
    ],
)
def test_conditions_hold_as_written(text, holds):
    assert Condition.parse(text).holds(PLAN) is holds


@pytest.mark.parametrize(
    ("text", "holds"),
    [
        ("button", None),
        ("not button", None),
        ("arm_length > 6 ft", None),
        ("button and walk", None),
        ("button and solar", False),
        ("button or walk", True),
        ("button or solar", None),
    ],
)
def test_an_absent_fact_is_unknown_only_where_it_decides(text, holds):
    condition = parse_condition(text)
    assert condition.holds(PLAN) is holds
    assert condition.missing(PLAN) == (("arm_length",) if "arm" in text else ("button",))


@pytest.mark.parametrize(
    ("text", "column", "words"),
    [
        ("", 1, "expected a fact"),
        ("pole_hight > 3", 1, "is it pole_height?"),
        ("solar and pole_height", 11, "is no yes or no"),
        ("solar == yes", 7, 'write "solar" or "not solar"'),
        ("depth > 3 kg", 9, "Expected a length"),
        ("depth > ", 9, "found the end"),
        ("depth > deep", 9, "expected a number"),
        ("(solar", 7, "closing parenthesis"),
        ("solar)", 6, "expected and, or, or the end"),
        ("solar walk", 7, "expected and, or, or the end"),
        ("side < left", 6, "is a choice"),
        ("depth > bolt_count", 9, "cannot be compared"),
        ("family == pedestal", 11, "no family is named pedestal"),
        ("solar or", 9, "expected a fact"),
        ("depth > 3; solar", 10, "has no meaning here"),
        ("__import__('os')", 1, "has no meaning here"),
        ("solar and lambda", 11, "no fact is named lambda"),
        ("depth >= 1_0", 11, "has no meaning here"),
        ("depth >= ٣", 10, "has no meaning here"),
        ("not " * 30 + "solar", 81, "nested more than 20 deep"),
    ],
)
def test_a_fault_is_named_with_its_column(text, column, words):
    with pytest.raises(ConditionError) as found:
        Condition.parse(text)
    assert words in found.value.message
    assert found.value.column == column


def test_a_very_long_condition_is_refused():
    with pytest.raises(ConditionError, match="at most 400 characters"):
        Condition.parse(" or ".join(["solar"] * 200))


def test_a_condition_is_said_in_trade_words():
    assert (
        Condition.parse("pole_height >= 40 ft and not walk").words()
        == "pole height at least 40 ft and not stands at a walk"
    )
    assert Condition.parse("family == pedestal_base").words() == "family pedestal base"


@given(st.text(alphabet="()solarwkdepth<>=!and or not'\"0123456789. ftin", max_size=60))
def test_any_text_is_read_or_refused_and_never_breaks(text):
    column, held = 1, None
    try:
        held = Condition.parse(text).holds(PLAN)
    except ConditionError as error:
        column = error.column
    assert 1 <= column <= len(text) + 1
    assert held in (True, False, None)


@given(st.booleans(), st.booleans(), st.booleans())
def test_logic_agrees_with_that_of_python(solar, walk, button):
    """Referee: Python's own and, or, not on the same values."""
    condition = Condition.parse("not solar and walk or button and not (solar or walk)")
    expected = (not solar and walk) or (button and not (solar or walk))
    assert condition.holds({"solar": solar, "walk": walk, "button": button}) is expected
