"""The calculations from a terminal, and how lightly the package loads."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from apps.calc import registry
from apps.calc.__main__ import main

ROOT = Path(__file__).resolve().parents[2]
ISSUE = ["seating", "a=0", "b=1/32", "c=3/16", "d=0", "pole_height=40 ft"]


def python(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, *words],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "PYTHONPATH": ""},
    )


def test_the_list_names_every_registered_calculation(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([]) == 0
    shown = capsys.readouterr().out
    for each in registry.all():
        assert each.name in shown and each.title in shown


@pytest.mark.parametrize("name", ["alignment", "seating", "bolt_circle", "clearance", "shaft"])
def test_help_names_inputs_outputs_and_source(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([name, "--help"]) == 0
    shown, found = capsys.readouterr().out, registry.find(name)
    assert found.source in shown and found.caution in shown
    for each in (*found.inputs, *found.outputs):
        assert each.name in shown and each.title in shown


def test_json_answers_in_numbers(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*ISSUE, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert (found["gap_in"], found["plan"]["outcome"]) == (0.15625, "do not tighten")
    assert found["working"][0] == {
        "symbol": "w",
        "expression": "A − B + C − D",
        "numbers": "(0) − (0.03125) + (0.1875) − (0)",
        "value": "0.15625",
        "unit": "in",
    }
    for each in registry.find("seating").outputs:
        assert each.name in found


def test_text_answers_with_sentence_working_and_caution(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(ISSUE) == 0
    shown = capsys.readouterr().out
    assert shown.startswith("Do not tighten.")
    assert "A − B + C − D" in shown and "Fingers" in shown


def test_units_typed_are_converted(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["seating", "a=0", "b=0", "c=3.175 mm", "d=0", "bolt_circle=355.6 mm", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert (found["gap_in"], found["plan"]["outcome"]) == (0.125, "step")


def test_lists_checks_and_texts_are_read(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["seating", "gaps=0,1/16,0,1/16", "torques=150,150,150,150", "contact=yes", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["check"]["outcome"] == "conforms"
    words = ["alignment", "elements=tangent 500, curve 300 radius 1000 right", "start_station=10+00", "station=12+00"]
    assert main([*words, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["n"] == 200


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["seating", "a=0", "b=0", "c=0"], "d: is missing"),
        (["seating", "a=zero"], "a: "),
        (["seating", "height=3"], "height: "),
        (["seating", "3"], "3: expected name=value"),
        (["seating", "contact=maybe"], "contact: expected yes or no"),
        (["shaft", "shaft_diameter=30", "depth=-8"], "depth: "),
        (["nothing"], "no calculation named 'nothing'"),
        (["seating", "--yaml"], "--yaml: is not known"),
    ],
)
def test_what_cannot_be_taken_is_said_on_the_error_stream(
    words: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(words) == 2
    shown = capsys.readouterr()
    assert said in shown.err
    assert not shown.out


def test_the_module_runs_alone() -> None:
    found = python("-m", "apps.calc", *ISSUE, "--json")
    assert found.returncode == 0, found.stderr
    assert json.loads(found.stdout)["gap_in"] == 0.15625


LOAD = """
import sys
{statement}
print(sorted(name for name in ("numpy", "scipy", "django") if name in sys.modules))
"""


@pytest.mark.parametrize(
    "statement",
    [
        "import apps.calc, apps.calc.registry, apps.calc.units",
        "from apps.calc import alignment, bolt_circle, clearance, seating, shaft",
    ],
)
def test_the_package_loads_without_numpy_scipy_or_django(statement: str) -> None:
    run = python("-c", LOAD.format(statement=statement))
    assert run.returncode == 0, run.stderr
    assert run.stdout.strip() == "[]"


def test_a_flat_seat_is_answered_without_scipy() -> None:
    found = python(
        "-c",
        "import sys; from apps.calc.seating import seat; seat(a=0, b=0, c=0, d=0); print('scipy' in sys.modules)",
    )
    assert found.stdout.strip() == "False", found.stderr
