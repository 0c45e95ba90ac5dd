"""The registry of calculations, the lines of working, and the errors that calculations raise."""

import dataclasses
import inspect
import pickle
import subprocess
import sys
from decimal import Decimal
from fractions import Fraction as Exact
from pathlib import Path

import pytest

from apps.calc import registry
from apps.calc.errors import CalcError, NotAReading, between, counted, finite, not_negative, positive
from apps.calc.registry import Input, UnknownCalculation
from apps.calc.units import KINDS
from apps.calc.working import Step, as_rows, number_text


@dataclasses.dataclass(frozen=True)
class _Sum:
    total: float
    working: tuple[Step, ...] = ()


@pytest.fixture
def added():
    @registry.calculation(
        "test_sum", "Sum", "arithmetic",
        inputs=(
            Input("parts", "length", "in", "parts", many=True, low=0, high=10),
            Input("times", "count", "", "times", default=1, low=1),
            Input("way", "choice", "", "way", default="up", choices=("up", "down")),
            Input("more", "length", "in", "more", optional=True),
        ),
    )  # fmt: skip
    def _(*, parts, times, way, more=100):
        return _Sum((sum(parts) * times + more) * (1 if way == "up" else -1))

    yield registry.find("test_sum")
    del registry._calculations["test_sum"]


def test_a_calculation_runs_with_defaults_filled_in(added):
    assert added.run({"parts": [1, 2]}).total == 103
    assert added.run({"parts": [1, 2], "times": 2, "way": "down", "more": 0}).total == -6


@pytest.mark.parametrize(
    ("values", "field", "words"),
    [
        ({}, "parts", "missing"),
        ({"parts": 3}, "parts", "expected a list"),
        ({"parts": "12"}, "parts", "expected a list"),
        ({"parts": [11]}, "parts", "from"),
        ({"parts": [float("nan")]}, "parts", "finite"),
        ({"parts": [float("inf")]}, "parts", "finite"),
        ({"parts": ["1"]}, "parts", "expected a number"),
        ({"parts": [True]}, "parts", "expected a number"),
        ({"parts": [1], "times": 0}, "times", "from 1"),
        ({"parts": [1], "way": "left"}, "way", "up, down"),
        ({"parts": [1], "part": 1}, "part", "takes no such input"),
    ],
)
def test_impossible_input_names_its_field(added, values, field, words):
    with pytest.raises(CalcError, match=words) as found:
        added.run(values)
    assert found.value.field == field


def test_a_name_is_registered_once(added):
    with pytest.raises(ValueError, match="registered twice"):
        registry.calculation("test_sum", "Other", "none")(lambda: _Sum(0))


def test_an_unknown_calculation_is_named():
    with pytest.raises(UnknownCalculation, match="no calculation named 'nowhere'"):
        registry.find("nowhere")


def test_every_room_registers_sound_calculations():
    found = registry.all()
    assert len(found) >= len({each.name.split(".")[0] for each in found}) > 3
    for each in found:
        assert each.title, each.name
        assert each.source, each.name
        for part in (*each.inputs, *each.outputs):
            assert part.kind in KINDS, f"{each.name}: {part.name}"
            assert part.unit in (KINDS[part.kind] or ("",)), f"{each.name}: {part.name} in {part.unit!r}"
        assert registry.find(each.name) is each


def test_every_calculation_says_its_errors_and_its_source():
    for each in registry.all():
        said = inspect.getdoc(each.function) or ""
        assert "as `" in said or "as there" in said or ("CalcError" in said and "Source" in said), each.name


def test_core_modules_are_no_rooms():
    folder = Path(registry.__file__).parent
    assert {path.stem for path in folder.glob("*.py")} >= registry.CORE
    assert not set(registry.rooms()) & registry.CORE
    assert "seating" in registry.rooms()


def test_the_core_loads_neither_django_nor_numpy():
    code = (
        "import sys, apps.calc.verdict, apps.calc.registry; "
        "loaded = {name.split('.')[0] for name in sys.modules}; "
        "print(sorted(loaded & {'django', 'numpy', 'scipy'}), apps.calc.registry._loaded)"
    )
    root = Path(registry.__file__).parents[2]
    told = subprocess.run([sys.executable, "-c", code], cwd=root, capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "[] set()"


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (None, ""),
        (True, "yes"),
        ("B", "B"),
        (0, "0"),
        (-0.0, "0"),
        (Exact(1, 3), "0.333333"),
        (961.25, "961.25"),
        (12345678, "12345678"),
        (-0.5, "-0.5"),
        (1e-7, "0.0000001"),
        (2.0, "2"),
        (Decimal("1.50"), "1.5"),
        (1200.0, "1200"),
        (0.1 + 0.2, "0.3"),
    ],
)
def test_numbers_are_written_in_plain_decimals(value, text):
    assert number_text(value) == text


def test_steps_become_rows():
    row = as_rows([Step("R", "C² / (8 m) + m / 2", "62² / (8 × 0.5) + 0.5 / 2", 961.25, "ft")])[0]
    assert row == {
        "symbol": "R",
        "expression": "C² / (8 m) + m / 2",
        "numbers": "62² / (8 × 0.5) + 0.5 / 2",
        "value": "961.25",
        "unit": "ft",
    }


@pytest.mark.parametrize(
    ("check", "value"),
    [
        (finite, float("nan")),
        (finite, float("-inf")),
        (finite, Decimal("NaN")),
        (finite, True),
        (finite, "3"),
        (positive, 0),
        (positive, Exact(-1, 2)),
        (not_negative, -1e-9),
        (lambda field, value: between(field, value, 0, 1), 1.5),
        (lambda field, value: counted(field, value, 4, 4), [1, 2, 3]),
        (lambda field, value: counted(field, value, 3), [1]),
    ],
)
def test_helpers_refuse_the_impossible(check, value):
    with pytest.raises(CalcError) as found:
        check("depth", value)
    assert found.value.field == "depth"


def test_helpers_hand_back_what_is_sound():
    assert positive("x", Exact(1, 2)) == Exact(1, 2)
    assert not_negative("x", 0) == 0
    assert between("x", 1, 0, 1) == 1
    assert counted("x", [1, 2], 1, 3) == [1, 2]


@pytest.mark.parametrize("error", [CalcError("depth", "must be over zero"), NotAReading("not read", ("a", "b"))])
def test_errors_survive_a_pool_of_workers(error):
    again = pickle.loads(pickle.dumps(error))  # noqa: S301  our own bytes
    assert (again.__dict__, str(again)) == (error.__dict__, str(error))
