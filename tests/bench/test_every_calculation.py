"""Every registered calculation can be tried: its example is answered, said, drawn, and shown on its page."""

import re
from typing import Any
from xml.etree import ElementTree

import pytest
from django.urls import reverse

from apps.bench.forms import UNITS_NAME, AttachForm, EntryForm
from apps.bench.plan import ASKED
from apps.bench.rooms import ROOMS
from apps.bench.views import FOR
from apps.calc import registry
from apps.calc.answers import answers_of
from apps.calc.facts import FACTS
from apps.calc.registry import Calculation
from apps.calc.typed import read_inputs, unit_of
from apps.calc.working import as_rows
from apps.corridor.models import Corridor
from apps.people.models import Person
from apps.sheet.drawn import pictures

EVERY = [pytest.param(each, id=each.name) for each in registry.all()]
FORBIDDEN = re.compile(r"\b(pass(ed|es)?|fail(ed|s)?|OK|invalid)\b")


def tried(calculation: Calculation) -> tuple[dict[str, Any], Any]:
    """Return the arguments of the example, and what comes out of it."""
    values, faults = read_inputs(calculation, calculation.example)
    assert faults == {}
    return calculation.arguments(values), calculation.run(values)


@pytest.mark.parametrize("calculation", EVERY)
def test_the_example_is_answered_in_a_sentence_with_working(calculation: Calculation) -> None:
    _, result = tried(calculation)
    assert re.search(r"[.!]$", result.sentence), result.sentence
    assert re.search(r"\d", result.sentence), f"no number in: {result.sentence}"
    assert not FORBIDDEN.search(result.sentence), result.sentence
    assert "nan" not in result.sentence.lower()
    rows = as_rows(result.working)
    assert rows
    assert all(row["symbol"] and (row["expression"] or row["numbers"]) for row in rows)


@pytest.mark.parametrize("calculation", EVERY)
def test_it_says_what_it_does_not_say_and_gives_what_it_declares(calculation: Calculation) -> None:
    assert calculation.beyond.endswith(".")
    _, result = tried(calculation)
    for each in calculation.outputs:
        assert hasattr(result, each.name), f"{calculation.name} declares {each.name}, its result has none"
    shown = answers_of(calculation, result)
    assert shown
    assert all(row["value"] for row in shown)


@pytest.mark.parametrize("calculation", EVERY)
def test_it_is_drawn_whole(calculation: Calculation) -> None:
    arguments, result = tried(calculation)
    drawn = pictures(calculation.name, arguments, result)
    assert drawn
    keys: list[str] = []
    for each in drawn:
        root = ElementTree.fromstring(each.svg)
        assert root.attrib["aria-label"]
        assert len(list(root)) > 3
        assert not re.search(r"\b(nan|inf)\b", each.svg.lower())
        keys += re.findall(r'id="([^"]+)"', each.svg)
    assert len(keys) == len(set(keys))


@pytest.mark.parametrize("calculation", EVERY)
def test_the_example_means_the_same_on_a_page_and_in_a_terminal(calculation: Calculation) -> None:
    """A page takes plain numbers in US units, the terminal in those of the input: an example says its unit where they differ."""
    assert read_inputs(calculation, calculation.example, "US") == read_inputs(calculation, calculation.example)


@pytest.mark.parametrize("calculation", EVERY)
def test_si_numbers_give_the_same_answer(calculation: Calculation) -> None:
    """What is typed in the other system without a unit, turned exactly, says the same in every output."""
    arguments, result = tried(calculation)
    again = {}
    for each in calculation.inputs:
        value = arguments.get(each.name)
        other = unit_of(each, "SI")
        if other == each.unit or value is None:
            if each.name in calculation.example:
                again[each.name] = calculation.example[each.name]
            continue
        many = value if each.many else [value]
        again[each.name] = "; ".join(exactly(one, each.unit, other) for one in many)
    values, faults = read_inputs(calculation, again, "SI")
    assert faults == {}
    for before, after in zip(
        answers_of(calculation, result), answers_of(calculation, calculation.run(values)), strict=True
    ):
        assert before == after


def exactly(value: Any, unit: str, other: str) -> str:
    """Write a number of one unit as the plain number in another, to twelve places."""
    from fractions import Fraction

    from apps.calc.units import convert

    return f"{float(convert(Fraction(value), unit, other)):.12f}"


def test_every_room_has_its_title() -> None:
    assert set(ROOMS) == set(registry.rooms())


def test_what_the_plans_answer_is_asked_for_by_some_calculation() -> None:
    inputs = {f"{each.name.split('.', 1)[0]}.{one.name}" for each in registry.all() for one in each.inputs}
    assert set(ASKED) <= inputs
    assert set(ASKED.values()) <= set(FACTS)


def test_no_input_has_a_name_that_the_address_uses_otherwise() -> None:
    taken = {UNITS_NAME, FOR, *AttachForm().fields}
    assert not [(each.name, one.name) for each in registry.all() for one in each.inputs if one.name in taken]


@pytest.mark.once  # the database knows who looks, and nothing of calculations
@pytest.mark.django_db
@pytest.mark.parametrize("calculation", EVERY)
def test_its_page_shows_it(calculation: Calculation, corridor: Corridor, foreman: Person, as_person: Any) -> None:
    page = as_person(foreman).get(
        reverse("bench:calculation", args=[corridor.slug, calculation.name]), calculation.example
    )
    assert page.status_code == 200
    assert page.context["form"].errors == {}
    text = page.content.decode()
    assert calculation.title.replace("'", "&#x27;") in text
    assert "<svg" in text
    assert 'class="working-steps"' in text


def test_the_form_has_a_field_for_every_input() -> None:
    for each in registry.all():
        form = EntryForm(each)
        names = {field.name for field in (*form.main, *form.more)}
        assert names == {one.name for one in each.inputs}
