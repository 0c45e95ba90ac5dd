"""What the docs list is what the code has."""

from pathlib import Path

from apps.config.env import VARIABLES
from apps.holdpoints import diagram

TOP = Path(__file__).resolve().parents[1]


def between(name: str, start: str, end: str) -> str:
    """Return a document's text between two markers."""
    text = (TOP / name).read_text(encoding="utf-8")
    return text.split(start, 1)[1].split("-->", 1)[1].split(end, 1)[0]


def test_readme_lists_every_setting_with_its_default_and_meaning() -> None:
    listed = between("README.md", "<!-- settings", "<!-- end of settings")
    rows = [line for line in listed.splitlines() if line.startswith("| `")]
    assert len(rows) == len(VARIABLES)
    for variable, row in zip(VARIABLES, rows, strict=True):
        assert f"`{variable.name}`" in row
        assert variable.meaning in row
        assert (f"`{variable.default}`" if variable.default else "empty") in row


def test_developers_shows_the_moves_that_the_code_has() -> None:
    shown = between("DEVELOPERS.md", "<!-- moves", "<!-- end of moves").strip()
    assert shown == f"{diagram.hold_points()}\n\n{diagram.findings()}\n\n{diagram.follow_ups()}"


def test_only_the_agreed_names_stand_at_the_top() -> None:
    agreed = {
        "README.md",
        "DEVELOPERS.md",
        "LICENSE",
        "manage.py",
        "pyproject.toml",
        "apps",
        "templates",
        "static",
        "tests",
        "fixtures",
    }
    found = {path.name for path in TOP.iterdir() if not path.name.startswith(".")} - {"uv.lock"}
    assert found == agreed
