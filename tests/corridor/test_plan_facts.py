"""Facts of the plans that stand in no column of their own: read as people write them, kept exact, asked for by requirements."""

from fractions import Fraction
from typing import Any

import pytest

from apps.calc.errors import NotAReading
from apps.corridor import acts
from apps.corridor.models import Corridor, Foundation
from apps.corridor.plan import kept
from apps.corridor.schedule_file import Line
from apps.holdpoints import schedule
from apps.record.acts import Refused
from apps.record.ids import uuid7
from tests.factories.corridor import LIGHT_POLE, cells, member
from tests.factories.people import administrator
from tests.factories.times import NOW


@pytest.mark.parametrize(
    ("name", "typed", "text"),
    [
        ("setback", "14 ft 3 in", "57/4"),
        ("setback", "4.5 m", "1875/127"),
        ("air", "6 %", "6"),
        ("mix", " 4000-L ", "4000-L"),
        ("walk", "Yes", "yes"),
        ("button", "no", "no"),
    ],
)
def test_a_fact_is_kept_exact_in_its_own_unit(name: str, typed: str, text: str) -> None:
    assert kept(name, typed) == text


@pytest.mark.parametrize(("name", "typed"), [("setback", "far"), ("walk", "perhaps"), ("mix", " "), ("air", "6 ft")])
def test_what_cannot_be_read_is_said(name: str, typed: str) -> None:
    with pytest.raises(NotAReading):
        kept(name, typed)


def test_only_known_facts_are_kept() -> None:
    with pytest.raises(ValueError, match="no fact is named 'depth'"):
        kept("depth", "8 ft")


def brought_in(corridor: Corridor, **more: str) -> Foundation:
    line = Line(1, {**cells("LP-700", corridor.designs.get(name="LP1"), 40), **more})
    schedule.take_in_schedule(corridor=corridor, lines=[line], by=member(corridor, "office"), at=NOW, client_id=uuid7())
    return corridor.foundations.get(mark="LP-700")


def test_the_schedule_says_more_of_the_place(corridor: Corridor) -> None:
    plan = brought_in(corridor, **{"setback": "14.25 ft", "barrier": "yes", "barrier clearance": "5 ft"}).plan
    assert (plan["setback"], plan["barrier"], plan["barrier_clearance"]) == (Fraction(57, 4), True, 5)
    assert (plan["walk"], plan["button"], plan["mix"], plan["air"]) == (False, False, "4000-A", 6)


def test_what_the_place_says_goes_before_what_the_design_says(corridor: Corridor) -> None:
    made = brought_in(corridor)
    made.more = {"mix": "5000-B"}
    assert made.plan["mix"] == "5000-B"


def test_a_cell_that_cannot_be_read_is_named(corridor: Corridor) -> None:
    with pytest.raises(Refused, match='Setback: "near" is not read'):
        brought_in(corridor, setback="near")


@pytest.mark.parametrize("more", [{"air": "much"}, {"depth": "8 ft"}])
def test_a_design_with_a_fact_that_cannot_be_kept_is_refused(corridor: Corridor, more: dict[str, Any]) -> None:
    fields = {**LIGHT_POLE, "name": "LP9", "more": more}
    with pytest.raises(Refused):
        acts.add_design(corridor=corridor, fields=fields, by=administrator(), at=NOW, client_id=uuid7())
    assert not corridor.designs.filter(name="LP9").exists()
