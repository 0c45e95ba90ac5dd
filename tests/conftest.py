"""What every test may ask for: one corridor with its people, a foundation, and the helpers of tests/factories."""

import gc
from collections.abc import Iterator
from typing import Any

import pytest
from django.test import Client, TransactionTestCase
from hypothesis import settings as hypothesis_settings

from apps.corridor.models import Corridor, Crew, Design, Foundation
from apps.people.models import Person
from apps.record import guard
from apps.requirements.models import Edition
from tests.database import vendor
from tests.factories import corridor as corridors
from tests.factories import people, requirements
from tests.factories.kept import TAPE
from tests.factories.times import NOW

hypothesis_settings.register_profile("house", deadline=None, derandomize=True)
hypothesis_settings.load_profile("house")


# ---- the two databases


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark what touches the database, so that tests/run.sh repeats that, and only that, on the other one."""
    for item in items:
        asked = set(getattr(item, "fixturenames", ()))
        cls = getattr(item, "cls", None)
        tested = isinstance(cls, type) and issubclass(cls, TransactionTestCase)
        if tested or asked & {"db", "transactional_db", "live_server"} or item.get_closest_marker("django_db"):
            item.add_marker("database")


def pytest_collection_finish() -> None:
    """Let the collector of garbage leave alone what stands for the whole run, and come less often: an eighth of the time."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)


@pytest.fixture(scope="session")
def django_db_keepdb(request: pytest.FixtureRequest) -> bool:
    """On PostgreSQL the whole server is thrown away after the run: a pool still closing would only refuse the database's own end."""
    return vendor() == "postgresql" or bool(request.config.getvalue("reuse_db"))


@pytest.fixture(autouse=True, scope="session")
def _flush_under_lifted_guards() -> Iterator[None]:
    """Let the clean-up after transactional tests through: the tables that only grow would refuse it too."""
    teardown = TransactionTestCase._fixture_teardown

    def lifted(case: TransactionTestCase) -> None:
        with guard.lifted():
            teardown(case)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(TransactionTestCase, "_fixture_teardown", lifted)
        yield


@pytest.fixture(autouse=True)
def _empty_tables() -> None:
    """A test begins with empty tables: from here on it is known what factories wrote."""
    TAPE.begin()


# ---- the corridor and its people


@pytest.fixture
def edition(db: None) -> Edition:
    """The default edition, published."""
    return requirements.default_edition()


@pytest.fixture
def admin(db: None) -> Person:
    """The administrator: manages people and settings, is no member of any corridor."""
    return people.administrator()


@pytest.fixture
def corridor(db: None) -> Corridor:
    """A corridor with alignment "Parkway", LP1 and PB1, "Crew 1" and a member for every role; no foundation yet."""
    return corridors.whole_corridor()


@pytest.fixture
def crew(corridor: Corridor) -> Crew:
    """Crew 1."""
    return corridor.crews.get(name="Crew 1")


@pytest.fixture
def light_pole_design(corridor: Corridor) -> Design:
    """LP1: 24 in shaft, four bolts on 14 in."""
    return corridor.designs.get(name="LP1")


@pytest.fixture
def pedestal_design(corridor: Corridor) -> Design:
    """PB1: 20 in shaft, four bolts on 12 3/4 in."""
    return corridor.designs.get(name="PB1")


@pytest.fixture
def inspector(corridor: Corridor) -> Person:
    """D. Reyes, who inspects unless a test says otherwise."""
    return people.person("d.reyes")


@pytest.fixture
def second_inspector(corridor: Corridor) -> Person:
    """A. Whitlock."""
    return people.person("a.whitlock")


@pytest.fixture
def engineer(corridor: Corridor) -> Person:
    """R. Halvorsen, PE, who decides unless a test says otherwise."""
    return people.person("r.halvorsen")


@pytest.fixture
def second_engineer(corridor: Corridor) -> Person:
    """S. Okafor, PE."""
    return people.person("s.okafor")


@pytest.fixture
def foreman(corridor: Corridor) -> Person:
    """J. Brandt, of Crew 1."""
    return people.person("j.brandt")


@pytest.fixture
def office(corridor: Corridor) -> Person:
    """P. Lindqvist."""
    return people.person("p.lindqvist")


@pytest.fixture
def auditor(corridor: Corridor) -> Person:
    """E. Marsh, who reads everything and writes audits alone."""
    return people.person("e.marsh")


@pytest.fixture
def stranger(db: None) -> Person:
    """A person with an account and no membership."""
    return people.person("n.stranger")


@pytest.fixture
def foundation(corridor: Corridor) -> Foundation:
    """LP-001, a light pole: layout is ready."""
    return corridors.light_pole(corridor)


@pytest.fixture
def pedestal(corridor: Corridor) -> Foundation:
    """PB-001, a pedestal: layout is ready."""
    return corridors.pedestal(corridor)


# ---- pages


@pytest.fixture
def as_person(client: Client) -> Any:
    """Sign a person in: `as_person(engineer).get(url)`."""

    def signed_in(person: Person) -> Client:
        client.force_login(person)
        return client

    return signed_in


@pytest.fixture
def clock() -> Iterator[Any]:
    """The server's clock stands at NOW of tests/factories/times.py, for pages, which read it; `clock.move_to(...)`."""
    import time_machine

    with time_machine.travel(NOW, tick=False) as travelled:
        yield travelled
