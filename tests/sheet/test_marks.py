"""Marks differ by shape, and a margin bar puts limit and reading where they belong."""

import re
import xml.etree.ElementTree as ET
from datetime import timedelta
from fractions import Fraction

import pytest

from apps.calc.limits import Limits
from apps.calc.requirement import OUTCOMES
from apps.sheet import marks
from apps.sheet.templatetags.sheet import age_words, station


def test_every_outcome_of_a_verdict_has_a_mark_and_a_word() -> None:
    assert set(OUTCOMES) <= marks.VERDICT_MARKS.keys() == marks.VERDICT_WORDS.keys()


@pytest.mark.parametrize(
    "known", [marks.VERDICT_MARKS, {k: v for k, v in marks.STATE_MARKS.items() if k not in ("standard", "done")}]
)
def test_marks_differ_without_colour(known: dict[str, str]) -> None:
    drawn = [re.sub(r"[sf]-(?!none|sheet)[a-z0-9-]+", "dark", lines) for lines in known.values()]
    same = [key for key, lines in zip(known, drawn, strict=True) if drawn.count(lines) > 1]
    # a colour alone parts these pairs, and a word stands beside each: a finding that is closed, a hold point that is reopened
    assert set(same) <= {"finding", "finding_closed", "reopened", "open"}


def test_conforming_at_the_limit_stands_against_a_bar() -> None:
    assert marks.verdict_key("conforms", at_limit=True) == "at_limit"
    assert marks.verdict_key("refer", at_limit=True) == "refer"


@pytest.mark.parametrize("word", ["failed", "passed", "OK", "invalid"])
def test_words_of_verdicts_are_those_of_the_trade(word: str) -> None:
    assert all(word.lower() not in said.lower().split() for said in marks.VERDICT_WORDS.values())


def test_an_unknown_state_is_refused_with_those_known() -> None:
    with pytest.raises(KeyError, match="notified"):
        marks.state_mark("waiting")


def test_a_reading_inside_a_range_stands_between_its_ticks() -> None:
    low, high, at = marks.place(150, 250, 225)
    assert low is not None and high is not None
    assert low < at < high


def test_a_reading_at_a_greatest_value_stands_on_the_tick() -> None:
    _, high, at = marks.place(None, 4, 4)
    assert at == high


def test_a_reading_at_a_least_value_stands_on_the_tick() -> None:
    low, _, at = marks.place(3000, None, 3000)
    assert at == low


@pytest.mark.parametrize(
    ("low", "high", "value"), [(None, 0.125, 5.0), (96, None, 1), (1, 2, 900), (None, 0, -3), (0, None, 4)]
)
def test_a_reading_far_off_stays_on_the_bar(low: float | None, high: float | None, value: float) -> None:
    assert 0 < marks.place(low, high, value)[2] < 1


def test_a_greatest_value_is_drawn_from_zero() -> None:
    _, high, at = marks.place(None, Fraction(1, 8), Fraction(1, 16))  # type: ignore[arg-type]
    assert high is not None
    assert at == pytest.approx(high / 2)


def test_the_bar_takes_the_limits_of_a_requirement_as_they_are() -> None:
    drawn = marks.margin_bar(Limits(high=Fraction(1, 8)), Fraction(5, 32), "nonconforming")
    assert "f-red" in drawn
    assert ET.fromstring(drawn).get("width") == "150"


@pytest.mark.parametrize(("outcome", "paint"), [("conforms", "f-ink s-sheet"), ("refer", "f-sheet s-ink")])
def test_the_diamond_is_filled_when_it_conforms_and_hollow_when_it_refers(outcome: str, paint: str) -> None:
    assert paint in marks.margin_bar((None, 1), 0.5, outcome)


def test_without_limits_there_is_no_bar_and_without_reading_no_diamond() -> None:
    assert marks.margin_bar((None, None), 3, "conforms") == ""
    assert "l5.8 5.8" not in marks.margin_bar((1, 2), None, "not_measured")


@pytest.mark.parametrize(
    ("span", "said"),
    [
        (timedelta(minutes=-3), "0 min"),
        (timedelta(minutes=35), "35 min"),
        (timedelta(hours=23, minutes=59), "23 h"),
        (timedelta(days=1), "1 d"),
        (timedelta(hours=26), "1 d 2 h"),
        (timedelta(days=2, hours=23), "2 d 23 h"),
        (timedelta(days=3, hours=5), "3 d"),
        (timedelta(days=16), "16 d"),
    ],
)
def test_an_age_is_said_in_days_and_hours(span: timedelta, said: str) -> None:
    assert age_words(span) == said


def test_a_station_is_written_to_the_hundredth_or_to_the_foot() -> None:
    assert station(Fraction(23140)) == "231+40.00"
    assert station(23140.0, 0) == "231+40"
