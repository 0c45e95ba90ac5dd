"""Canonical JSON against RFC 8785 (2020): its rules and the published vectors that hold no fraction.

Vectors: https://github.com/cyberphone/json-canonicalization (commit 19d51d7f, testdata), the RFC author's own set; checked with
an ECMAScript engine. Vectors with fractions show what we refuse: our payloads write such numbers as text.
"""

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.record.canonical import canonical

ARRAYS = '[ 56, { "d": true, "10": null, "1": [ ] } ]'
FRENCH = (
    '{ "peach": "This sorting order", "péché": "is wrong according to French", '
    '"pêche": "but canonicalization MUST", "sin":   "ignore locale" }'
)
VALUES_STRING = r'{"string": "\u20ac$\u000F\u000aA\u0027\u0042\u0022\u005c\\\"\/", "literals": [null, true, false]}'


def test_arrays_and_nested_objects_are_as_published() -> None:
    assert (
        canonical(json.loads(ARRAYS)).encode().hex()
        == "5b35362c7b2231223a5b5d2c223130223a6e756c6c2c2264223a747275657d5d"
    )


def test_french_words_are_ordered_without_a_locale() -> None:
    wanted = (
        "7b227065616368223a225468697320736f7274696e67206f72646572222c2270c3a96368c3a9223a2269732077726f6e6720616363"
        "6f7264696e6720746f204672656e6368222c2270c3aa636865223a226275742063616e6f6e6963616c697a6174696f6e204d555354"
        "222c2273696e223a2269676e6f7265206c6f63616c65227d"
    )
    assert canonical(json.loads(FRENCH)).encode().hex() == wanted


def test_text_and_literals_are_as_published() -> None:
    # Vector "values" without its member "numbers", which holds fractions.
    wanted = (
        "7b226c69746572616c73223a5b6e756c6c2c747275652c66616c73655d2c22737472696e67223a22e282ac245c75303030665c6e41"
        "27425c225c5c5c5c5c222f227d"
    )
    assert canonical(json.loads(VALUES_STRING)).encode().hex() == wanted


def test_members_stand_in_utf_16_order() -> None:
    # RFC 8785, 3.2.3: its example of property names, in the order that it gives.
    ordered = ["\r", "1", "\u0080", "\u00f6", "\u20ac", "\U0001f600", "\ufb33"]
    assert list(json.loads(canonical(dict.fromkeys(reversed(ordered), 0)))) == ordered


def test_utf_16_order_differs_from_the_order_of_code_points() -> None:
    # U+1F600 begins with the surrogate D83D in UTF-16 and so stands before U+FB33.
    assert sorted(["\U0001f600", "\ufb33"]) == ["\ufb33", "\U0001f600"]
    assert canonical({"\ufb33": 1, "\U0001f600": 2}) == '{"\U0001f600":2,"\ufb33":1}'


@pytest.mark.parametrize(
    ("character", "written"),
    [
        ("\b", "\\b"),
        ("\t", "\\t"),
        ("\n", "\\n"),
        ("\f", "\\f"),
        ("\r", "\\r"),
        ('"', '\\"'),
        ("\\", "\\\\"),
        ("\x00", "\\u0000"),
        ("\x1f", "\\u001f"),
        ("/", "/"),
        ("\x7f", "\x7f"),
        ("\u2028", "\u2028"),
    ],
)
def test_characters_are_escaped_as_the_standard_says(character: str, written: str) -> None:
    # RFC 8785, 3.2.2.2: two-character escapes where there are some, lower-case \u00xx below a space, all else as it is.
    assert canonical(character) == f'"{written}"'


@pytest.mark.parametrize("value", [1.0, 0.5, -0.0, float("nan"), float("inf"), 1e30])
def test_a_float_is_refused_and_named(value: float) -> None:
    with pytest.raises(ValueError, match=r"payload\.depth\[1\]: float has no single JSON spelling"):
        canonical({"depth": ["1", value]})


@pytest.mark.parametrize("value", [2**53, -(2**53)])
def test_an_integer_beyond_every_reader_is_refused(value: int) -> None:
    with pytest.raises(ValueError, match="write it as text"):
        canonical({"count": value})


@pytest.mark.parametrize("value", [2**53 - 1, -(2**53) + 1, 0, -1])
def test_an_integer_is_written_as_it_is(value: int) -> None:
    assert canonical(value) == str(value)


def test_true_is_not_one() -> None:
    assert canonical([True, 1, False, 0, None]) == "[true,1,false,0,null]"


@pytest.mark.parametrize("value", [{1, 2}, b"bytes", object(), {1: "number as a name"}, {"a": {None: 1}}])
def test_what_json_does_not_have_is_refused(value: Any) -> None:
    with pytest.raises(ValueError, match="payload"):
        canonical(value)


@pytest.mark.parametrize("value", ["\ud800", {"\udead": 1}])
def test_a_lone_surrogate_is_refused(value: Any) -> None:
    # RFC 8785, 3.2.2.2: a lone surrogate must end in an error.
    with pytest.raises(ValueError):
        canonical(value)


PLAIN = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53) + 1, 2**53 - 1) | st.text(),
    lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner),
    max_leaves=20,
)


@given(PLAIN)
def test_a_value_survives_its_canonical_form(value: Any) -> None:
    assert json.loads(canonical(value)) == value


@given(st.dictionaries(st.text(), st.integers(0, 9), min_size=2))
def test_the_order_of_entering_members_leaves_no_trace(value: dict[str, int]) -> None:
    assert canonical(dict(reversed(value.items()))) == canonical(value)
