"""The bench: work and floor in turn, the same answer asked of both, ratios that can be kept and compared."""

import json
from collections.abc import Callable, Iterator
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from apps.config.benches import desk, timing
from apps.config.benches.timing import Case, Differs, Line, grown, measure, table, with_growth
from apps.config.demo import scene
from apps.config.management.commands.bench import NAMES
from apps.corridor.models import Corridor
from apps.people.models import Person


def ticking(*lasts: float) -> Callable[[], float]:
    """A clock by which the calls after each other last so long, work and floor in turn."""

    def ticks() -> Iterator[float]:
        now = 0.0
        while True:
            for each in lasts:
                yield now
                now += each
                yield now

    return ticks().__next__


def case(work: Any = 1, floor: Any = 1, **more: Any) -> Case:
    return Case("name", 10, lambda: work, lambda: floor, "a floor", **more)


def test_the_ratio_is_the_median_of_the_pairs() -> None:
    line = measure(case(), 3, ticking(2.0, 1.0, 9.0, 3.0, 8.0, 2.0))
    assert (line.median, line.floor, line.ratio) == (8.0, 2.0, 3.0)
    assert (line.low, line.high) == (2.0, 9.0)


def test_a_floor_that_does_a_part_is_scaled() -> None:
    assert measure(case(scale=10), 1, ticking(2.0, 1.0)).ratio == pytest.approx(0.2)


def test_answers_that_differ_are_no_comparison() -> None:
    with pytest.raises(Differs, match="name 10: the work and a floor give different answers"):
        measure(case(1, 2, same=lambda one, other: one == other), 1)


def test_growth_is_against_the_smallest_size_of_the_name() -> None:
    lines = [
        Line("a", 100, 1, 1, 1, 1, "f", 6.0),
        Line("a", 10, 1, 1, 1, 1, "f", 2.0),
        Line("b", 5, 1, 1, 1, 1, "f", 4.0),
    ]
    assert [line.growth for line in with_growth(lines)] == [3.0, 1.0, 1.0]


@pytest.mark.parametrize(("ratio", "named"), [(2.9, 0), (3.0, 0), (3.1, 1)])
def test_a_ratio_that_grew_by_more_than_half_is_named(ratio: float, named: int) -> None:
    kept = [{"name": "a", "size": 10, "ratio": 2.0}]
    assert len(grown([Line("a", 10, 1, 1, 1, 1, "f", ratio), Line("new", 1, 1, 1, 1, 1, "f", 9.0)], kept)) == named


def test_times_are_written_in_a_unit_that_fits() -> None:
    text = table([Line("a", 1_000, 2.5, 0.0025, 2.5e-6, 2.5e-8, "f", 1.0)])
    assert all(word in text for word in ("1,000", "2.5 s", "2.5 ms", "2.5 µs", "25 ns"))


def test_a_name_that_is_not_there_lists_those_that_are() -> None:
    assert "calc" in NAMES
    with pytest.raises(CommandError, match=r"There is no bench nothing; there are .*calc"):
        call_command("bench", "nothing")


def test_sizes_are_whole_numbers() -> None:
    with pytest.raises(CommandError, match="whole numbers"):
        call_command("bench", "calc", sizes="many")


def test_the_calculations_are_measured_kept_and_compared(tmp_path: Path) -> None:
    out, kept = StringIO(), tmp_path / "kept.json"
    call_command("bench", "calc", sizes="10,40", repeat=1, json=kept, stdout=out)
    lines = json.loads(kept.read_text())
    assert {"project points", "seat a base", "draw the finish", "start"} <= {line["name"] for line in lines}
    assert all(line["ratio"] > 0 for line in lines)
    assert "processors, load" in out.getvalue()
    kept.write_text(json.dumps([{**line, "ratio": line["ratio"] / 100} for line in lines]))
    again = StringIO()
    call_command("bench", "calc", sizes="10,40", repeat=1, against=kept, stdout=again)
    assert "Grown by more than half:" in again.getvalue()


@pytest.mark.django_db
def test_the_desk_is_measured_and_refused_where_its_queries_grow(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """In the test's own database: making and dropping one of its own is left out."""
    monkeypatch.setattr(desk.connection.creation, "create_test_db", lambda **_: "same")
    monkeypatch.setattr(desk.atexit, "register", lambda *_: None)
    sizes = []
    for each in desk.cases([2, 6]):
        each.work()
        each.floor()
        sizes.append(each.size)
    assert sizes == [2, 2, 6, 6]
    asked = iter([10, 11])
    monkeypatch.setattr(desk, "_queries", lambda _: next(asked))
    built = scene.Scene(Corridor.objects.exclude(slug="idle").get(), _by_role(), [], {})
    monkeypatch.setattr(desk.scene, "build", lambda *_: built)
    with pytest.raises(Differs, match="asks the database more"):
        list(desk.cases([7, 8]))


def _by_role() -> dict[str, list[Person]]:
    """Return the people of the scene that stands already."""
    return {role: list(Person.objects.filter(memberships__role=role)) for role in ("engineer", "inspector")}


def test_each_pair_is_run_in_turn() -> None:
    order: list[str] = []
    both = Case("n", 1, lambda: order.append("work"), lambda: order.append("floor"), "f")
    timing.measure(both, 2)
    assert order == ["work", "floor"] * 3
