"""What the papers say of a foundation's concrete: the values that a requirement may be filled in from, and where each is from."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest

from apps.calc.facts import ON_FILE
from apps.calc.readings import read
from apps.calc.requirement import Requirement, RequirementError
from apps.corridor.models import Foundation
from apps.holdpoints import concrete
from apps.requirements.models import Requirement as Row
from tests.factories.materials import load, strength
from tests.factories.times import DAY, NOW

pytestmark = pytest.mark.django_db


def known(foundation: Foundation, at: Any = NOW) -> dict[str, str]:
    return {name: each.text for name, each in concrete.on_file(foundation, at).items()}


def test_nothing_is_known_before_anything_is_entered(foundation: Foundation) -> None:
    assert known(foundation) == {}


def test_one_load_says_slump_air_temperature_minutes_and_volume(foundation: Foundation) -> None:
    load(foundation, slump_in=Decimal("6.50"), air_percent=Decimal("5.8"), temperature_f=Decimal("71.0"))
    assert known(foundation) == {
        "load.minutes": "60",
        "load.slump": "6.5",
        "load.air": "5.8",
        "load.warmest": "71",
        "load.coldest": "71",
        "load.placed": "0.95",
        "concrete.age": "0",
    }
    assert concrete.on_file(foundation, NOW)["load.slump"].said == "load T-1001"


def test_two_loads_that_differ_say_no_slump_but_the_warmest_and_the_longest(foundation: Foundation) -> None:
    load(foundation, slump_in=Decimal(6), temperature_f=Decimal(68))
    load(foundation, ticket="T-1002", at=NOW + timedelta(minutes=20), slump_in=Decimal(7), temperature_f=Decimal(74))
    found = known(foundation, NOW + DAY)
    assert "load.slump" not in found
    assert (found["load.coldest"], found["load.warmest"], found["load.placed"]) == ("68", "74", "1.9")


def test_a_load_without_temperature_leaves_the_warmest_open(foundation: Foundation) -> None:
    load(foundation, temperature_f=Decimal(68))
    load(foundation, ticket="T-1002")
    assert "load.warmest" not in known(foundation)


def test_an_age_is_never_rounded_up(foundation: Foundation) -> None:
    load(foundation)
    assert known(foundation, NOW + 7 * DAY - timedelta(minutes=1))["concrete.age"] == "6.9"
    assert known(foundation, NOW + 7 * DAY)["concrete.age"] == "7"


def test_strength_is_of_field_cured_specimens_in_percent_of_the_specified(foundation: Foundation) -> None:
    placed, specified = load(foundation), foundation.design.concrete_strength_psi
    strength(placed, specified, 3, NOW + 3 * DAY)
    assert "concrete.strength" not in known(foundation, NOW + 4 * DAY)
    strength(placed, specified * 3 // 4, 3, NOW + 3 * DAY, field_cured=True)
    assert known(foundation, NOW + 4 * DAY)["concrete.strength"] == "75"


def test_everything_on_file_reads_as_the_requirement_that_names_it(foundation: Foundation) -> None:
    placed = load(foundation, slump_in=Decimal(6), air_percent=Decimal("5.8"), temperature_f=Decimal(71))
    strength(placed, 4000, 3, NOW + 3 * DAY, field_cured=True)
    found = concrete.on_file(foundation, NOW + 4 * DAY)
    assert found.keys() == ON_FILE.keys()
    specs = [row.spec for row in Row.objects.filter(edition=foundation.corridor.edition) if row.spec.on_file]
    assert {spec.on_file for spec in specs} == ON_FILE.keys()
    for spec in specs:
        each = found[spec.on_file]
        assert read(spec, "", each.text, each.unit).measured(spec.unit) is not None


@pytest.mark.parametrize(
    ("more", "fault"),
    [
        ({"on_file": "load.weight"}, "on_file: expected one of load.minutes"),
        ({"on_file": "load.air"}, "on_file: load.air is for kind percent, not length"),
        ({"on_file": "load.slump", "places": ["A", "B"]}, "on_file: is for one reading"),
    ],
)
def test_a_block_that_names_what_cannot_be_filled_in_is_refused(more: dict[str, Any], fault: str) -> None:
    block = {"key": "pour.slump", "title": "Slump", "kind": "length", "unit": "in", "compare": "noted", "source": "x"}
    with pytest.raises(RequirementError, match=fault):
        Requirement.parse(block | more)
