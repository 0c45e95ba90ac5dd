"""Upper apps import lower ones, never the reverse: import-linter says so, and no app stands outside the layers."""

from pathlib import Path

import pytest

TOP = Path(__file__).resolve().parents[1]


def test_the_apps_keep_their_layers(capsys: pytest.CaptureFixture[str]) -> None:
    from importlinter.cli import EXIT_STATUS_SUCCESS, lint_imports

    status = lint_imports(config_filename=str(TOP / "pyproject.toml"), no_cache=True)
    assert status == EXIT_STATUS_SUCCESS, capsys.readouterr().out


def test_every_app_has_its_layer() -> None:
    import tomllib

    settings = tomllib.loads((TOP / "pyproject.toml").read_text())["tool"]["importlinter"]
    layers = settings["contracts"][0]["layers"]
    listed = {name.strip() for layer in layers for name in layer.split("|")}
    folders = {path.parent.name for path in (TOP / "apps").glob("*/__init__.py")}
    assert listed == folders
