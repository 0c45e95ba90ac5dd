"""An edition's files: every fault with its file and line, and nothing loaded."""

import shutil
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from apps.requirements.content import GATES
from apps.requirements.load import BadEdition, read
from apps.requirements.models import Edition
from tests.factories.requirements import FOLDER


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A copy of the default edition that may be spoilt."""
    return Path(shutil.copytree(FOLDER, tmp_path / "edition"))


def spoil(folder: Path, name: str, old: str, new: str, after: str = "") -> int:
    """Replace the first `old` after `after` in a file; return the line that it stands on."""
    path = folder / name
    text = path.read_text()
    at = text.index(old, text.index(after) if after else 0)
    path.write_text(text[:at] + new + text[at + len(old) :])
    return text[:at].count("\n") + 1


def faults(folder: Path) -> list[str]:
    with pytest.raises(BadEdition) as found:
        read(folder)
    return found.value.faults


CORNER = 'key = "base_set.corner_gap"'
SPOILT = [
    ('limit = "1/8"', 'limit = "an eighth"', "limit: "),
    ('limit = "1/8"', 'limitt = "1/8"', "limitt: no such field; is it limit?"),
    ('compare = "max"', 'compare = "most"', "compare: expected one of"),
    ('kind = "length"', 'kind = "torque"', "unit: expected ft-lb"),
    ('grade = "critical"', 'grade = "awful"', "grade: expected one of minor, major, critical"),
    ('source = "common_practice"', 'source = "nowhere"', "source: no source is named 'nowhere'"),
    ('caution = "fingers"', 'caution = "toes"', "caution: the stage has no caution 'toes'"),
]


@pytest.mark.parametrize(("old", "new", "words"), SPOILT)
def test_a_fault_is_named_with_file_line_and_key(folder: Path, old: str, new: str, words: str) -> None:
    line = spoil(folder, "base_set.toml", old, new, CORNER)
    named = [each for each in faults(folder) if words in each]
    assert named, faults(folder)
    # An unknown field and a wrong value stand on their own line; what follows from them on the line of the field it is about.
    where = named[0].split(", ")
    assert where[0] == "base_set.toml"
    assert where[2].startswith("base_set.corner_gap")
    if not words.startswith("unit"):
        assert where[1] == f"line {line}"


def test_every_fault_is_named_at_once(folder: Path) -> None:
    first = spoil(folder, "drill.toml", 'compare = "min"', 'compare = "least"')
    second = spoil(folder, "base_set.toml", 'limit = "1/8"', 'limit = "x"', CORNER)
    third = spoil(folder, "edition.toml", 'rule = "simple"', 'rule = "kind"')
    text = "\n".join(faults(folder))
    for name, line in (("drill.toml", first), ("base_set.toml", second), ("edition.toml", third)):
        assert f"{name}, line {line}" in text


def test_a_key_that_stands_twice_and_one_of_another_stage_are_named(folder: Path) -> None:
    path = folder / "base_set.toml"
    text = path.read_text()
    block = text[text.index("[[requirement]]") : text.index("[[requirement]]", text.index("[[requirement]]") + 1)]
    path.write_text(text + "\n" + block + block.replace("base_set.", "drill."))
    told = "\n".join(faults(folder))
    assert "base_set.concrete_age: key: stands twice" in told
    assert "drill.concrete_age: key: must begin with base_set" in told


@pytest.mark.parametrize("name", [*GATES, "moon"])
def test_a_gate_is_a_whole_number_of_a_known_name(folder: Path, name: str) -> None:
    path = folder / "edition.toml"
    lines = [f'{name} = "soon"' if line.startswith(f"{name} =") else line for line in path.read_text().splitlines()]
    if name == "moon":
        lines.insert(lines.index("[gates]") + 1, "moon = 3")
    path.write_text("\n".join(lines))
    number = next(n for n, line in enumerate(lines, 1) if line.startswith(f"{name} ="))
    assert any(each.startswith(f"edition.toml, line {number}") for each in faults(folder))


@pytest.mark.parametrize("name", ["edition.toml", "sources.toml", "pour.toml"])
def test_a_file_that_is_missing_or_no_toml_is_named(folder: Path, name: str) -> None:
    (folder / name).write_text("key = = 3")
    assert any(each.startswith(f"{name}: ") and "line 1" in each for each in faults(folder))
    (folder / name).unlink()
    assert f"{name}: the file is missing" in faults(folder)


def test_a_calculation_that_cannot_be_fed_is_named(folder: Path) -> None:
    path = folder / "base_set.toml"
    made = (
        '[[requirement]]\nkey = "base_set.rocks"\ntitle = "Rocks"\nkind = "length"\nunit = "in"\ncompare = "max"\nlimit = "1/8"\n'
        'calculation = "seating"\ninputs = { gaps = "base_set.nothing", colour = "plan.depth" }\noutput = "colour"\n'
        'grade = "major"\nsource = "common_practice"\n'
    )
    path.write_text(f"{path.read_text()}\n{made}")
    told = "\n".join(faults(folder))
    assert "inputs: gaps: no requirement is named base_set.nothing" in told
    assert "seating has no input colour" in told
    assert "seating has no output colour" in told


@pytest.mark.django_db
def test_nothing_of_a_bad_edition_is_loaded(folder: Path) -> None:
    spoil(folder, "pole_set.toml", 'compare = "', 'compare = "un')
    with pytest.raises(CommandError, match=r"pole_set\.toml, line \d+"):
        call_command("load_requirements", str(folder))
    assert not Edition.objects.exists()


@pytest.mark.django_db
def test_files_kept_as_a_draft_stand_beside_what_is_published(folder: Path) -> None:
    call_command("load_requirements", str(folder))
    with pytest.raises(CommandError, match="There is an edition"):
        call_command("load_requirements", str(folder), "--draft")
    published = Edition.objects.get()
    spoil(folder, "edition.toml", f"number = {published.number}", f"number = {published.number + 1}")
    call_command("load_requirements", str(folder), "--draft")
    draft = Edition.objects.get(number=published.number + 1)
    assert (draft.is_draft, draft.based_on, draft.digest) == (True, published, "")
    assert draft.requirements.count() == published.requirements.count()
