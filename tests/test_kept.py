"""What factories wrote once and what is written again are the same rows; where that could not be, the acts are done."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from decimal import Decimal
from pathlib import Path
from threading import Thread
from typing import Any

import pytest
from django.apps import apps
from django.db import connections, models, transaction

from apps.corridor.models import Corridor, Crew
from apps.holdpoints.models import Condition
from apps.people.models import Person
from apps.record.acts import Refused
from apps.record.verify import verify
from tests.factories import corridor as corridors
from tests.factories import findings, followups, materials
from tests.factories.history import History
from tests.factories.holdpoints import at_stage, hold_point
from tests.factories.kept import TAPE, Kept, kept, said
from tests.factories.people import person
from tests.factories.record import picture
from tests.factories.times import NOW

pytestmark = pytest.mark.django_db


def rows() -> dict[str, list[Any]]:
    """Return every row of every table; without keys that the database counts, which no other row names."""
    found = {}
    for model in apps.get_models(include_auto_created=True):
        counted = isinstance(model._meta.pk, models.AutoField) and model is not Person
        names = [field.attname for field in model._meta.concrete_fields if not (counted and field.primary_key)]
        found[model._meta.label] = sorted(map(repr, model._default_manager.values_list(*names)))
    return found


def files(folder: Path) -> dict[Path, bytes]:
    return {path.relative_to(folder): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


@pytest.fixture
def fresh(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is kept yet."""
    monkeypatch.setattr(TAPE, "kept", {})


@contextmanager
def within(settings: Any, folder: Path) -> Iterator[None]:
    """A test within this one: empty tables and folders at its beginning, and none of its rows afterwards."""
    settings.RECORD_KEY, settings.MEDIA_ROOT = str(folder / "record-key"), str(folder / "evidence")
    TAPE.begin()
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


@pytest.fixture
def no_act_again(monkeypatch: pytest.MonkeyPatch) -> Any:
    """Call it, and from then on no function with `@kept` may run."""

    def forbid() -> None:
        def run(function: Any) -> Kept:
            raise AssertionError("it ran a second time")

        monkeypatch.setattr(TAPE, "record", run)

    return forbid


def a_corridor_at_work() -> None:
    corridor = corridors.whole_corridor()
    pole, pedestal = corridors.light_pole(corridor), corridors.pedestal(corridor)
    at_stage(pole, "base_set", "released")
    at_stage(pedestal, "drill", "reopened")
    at_stage(pedestal, "drill", "returned")
    findings.in_state(pole, "closed", stage="pole_set", grade="minor")
    materials.strength(materials.load(pole), 4100, 7, NOW)
    followups.added(corridor, person("d.reyes"))


def random_work() -> None:
    done = History.played(corridors.whole_corridor(), 5, 40).done
    assert done["refused"], "no act was taken back, whose rows must not be written again"


@pytest.mark.parametrize("work", [a_corridor_at_work, random_work])
@pytest.mark.usefixtures("fresh")
def test_the_same_rows_are_written_again(work: Any, no_act_again: Any, settings: Any, tmp_path: Path) -> None:
    with within(settings, tmp_path / "one"):
        work()
        first, walked = rows(), verify(Corridor.objects.get().pk)
    no_act_again()
    with within(settings, tmp_path / "two"):
        work()
        assert rows() == first
        assert verify(Corridor.objects.get().pk) == walked
    assert files(tmp_path / "two") == files(tmp_path / "one")
    assert len(files(tmp_path / "two")) == 3  # the key, a photo sealed and as it is shown
    assert len(first["record.Entry"]) > 30


@pytest.mark.usefixtures("fresh")
def test_another_beginning_is_another_work(settings: Any, tmp_path: Path) -> None:
    with within(settings, tmp_path / "one"):
        at_stage(corridors.light_pole(corridors.whole_corridor()), "layout", "released")
    with within(settings, tmp_path / "two"):
        corridor = corridors.whole_corridor(release_promise_hours=4)
        assert corridor.release_promise_hours == 4
        pole = corridors.light_pole(corridor, "LP-002")
        assert at_stage(pole, "layout", "inspected").foundation.mark == "LP-002"


@pytest.mark.usefixtures("fresh")
def test_after_any_other_write_the_acts_are_done(no_act_again: Any) -> None:
    corridor = corridors.whole_corridor()
    Crew.objects.create(corridor=corridor, name="Crew 2")
    assert TAPE.standing is None
    no_act_again()
    at_stage(corridors.light_pole(corridor), "layout", "notified")
    assert hold_point(corridor.foundations.get(), "layout").state == "notified"


def test_without_its_key_an_act_is_refused_though_it_was_kept(settings: Any, tmp_path: Path) -> None:
    with within(settings, tmp_path / "one"):
        corridors.light_pole(corridors.whole_corridor())
    with within(settings, tmp_path / "two"):
        corridor = corridors.whole_corridor()
        Path(settings.RECORD_KEY).unlink()
        with pytest.raises(Refused, match="key that signs the record is missing"):
            corridors.light_pole(corridor)


def test_what_is_taken_back_leaves_it_where_it_stood(corridor: Corridor) -> None:
    before = TAPE.standing
    assert before
    with pytest.raises(Refused), transaction.atomic():  # noqa: PT012
        Crew.objects.create(corridor=corridor, name="Crew 2")
        assert TAPE.standing is None
        raise Refused("No.")
    assert TAPE.standing == before
    with pytest.raises(ValueError, match="cannot be reached"):
        at_stage(corridors.light_pole(corridor), "layout", "nowhere")
    assert TAPE.standing is None


@pytest.mark.django_db(transaction=True)
def test_a_write_of_another_thread_is_heard() -> None:
    corridor = corridors.whole_corridor()
    assert TAPE.standing

    def write() -> None:
        Crew.objects.create(corridor=corridor, name="Crew 2")
        connections.close_all()

    thread = Thread(target=write)
    thread.start()
    thread.join(60)
    assert TAPE.standing is None


def test_arguments_are_the_same_only_where_they_say_the_same(corridor: Corridor) -> None:
    assert said({"a": [Decimal("1.0"), NOW]}) == said({"a": (Decimal("1.0"), NOW)})
    assert said(Decimal("1.0")) != said(Decimal("1.00"))
    assert said(1) != said(True)
    assert said(corridor) != said(corridor.crews.get()) != said(str(corridor.pk))
    assert said(person) != said(corridors.member)
    for other in (picture(), corridor.pk, object()):
        with pytest.raises(TypeError):
            said([other])


@kept
def two_conditions(at: datetime) -> int:
    return Condition.objects.count()


def test_what_writes_nothing_moves_nothing(corridor: Corridor) -> None:
    before = TAPE.standing
    assert two_conditions(NOW) == 0
    assert TAPE.standing == before
