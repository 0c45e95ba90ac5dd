"""Checks of the project's own: settings that can lose an entry are refused before the first request."""

import sqlite3
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings as live

from apps.config import settings as project
from apps.config.checks import sqlite_is_durable


def with_options(settings: Any, **changed: Any) -> list[str]:
    databases = deepcopy(live.DATABASES)
    databases["default"]["ENGINE"] = "django.db.backends.sqlite3"
    databases["default"]["OPTIONS"] = {**project.SQLITE_OPTIONS, **changed}
    settings.DATABASES = databases
    return [str(message.id) for message in sqlite_is_durable(None)]


@pytest.fixture(autouse=True)
def _quiet() -> Any:
    # Changed in the settings of a test only, never in a connection: Django warns of the first, it cannot see the second.
    import warnings

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        yield


def test_the_settings_as_they_are_pass(settings: Any) -> None:
    assert with_options(settings) == []


@pytest.mark.parametrize("mode", ["DEFERRED", None])
def test_transactions_that_begin_late_are_refused(settings: Any, mode: str | None) -> None:
    assert with_options(settings, transaction_mode=mode) == ["config.E001"]


@pytest.mark.parametrize(
    "command", ["PRAGMA synchronous=NORMAL", "PRAGMA journal_mode=WAL; PRAGMA synchronous = NORMAL;"]
)
def test_a_journal_that_may_lose_a_commit_is_refused(settings: Any, command: str) -> None:
    assert with_options(settings, init_command=command) == ["config.E002"]


def test_while_developing_it_is_said_which_journal_is_in_force(settings: Any) -> None:
    settings.DEBUG, settings.SQLITE_WAL_IS_SOUND = True, False
    assert with_options(settings) == ["config.I001"]


def test_postgresql_has_nothing_of_this(settings: Any) -> None:
    settings.DATABASES = {"default": {"ENGINE": "django.db.backends.postgresql"}}
    assert sqlite_is_durable(None) == []


def test_the_journal_follows_the_version_of_sqlite() -> None:
    command = str(project.SQLITE_OPTIONS["init_command"])
    assert ("journal_mode=WAL" in command) == project.SQLITE_WAL_IS_SOUND
    # https://www.sqlite.org/wal.html, the WAL-reset defect: in 3.7.0 to 3.51.2, mended in 3.51.3, 3.50.7 and 3.44.6.
    if sqlite3.sqlite_version_info < (3, 44, 6):
        assert not project.SQLITE_WAL_IS_SOUND
    if sqlite3.sqlite_version_info >= (3, 51, 3):
        assert project.SQLITE_WAL_IS_SOUND


def test_a_connection_is_as_durable_as_the_settings_say(tmp_path: Path) -> None:
    connection = sqlite3.connect(tmp_path / "durable.sqlite3")
    try:
        for command in str(project.SQLITE_OPTIONS["init_command"]).split(";"):
            connection.execute(command)
        # FULL is 2, EXTRA is 3: https://www.sqlite.org/pragma.html#pragma_synchronous
        assert connection.execute("PRAGMA synchronous").fetchone()[0] in {2, 3}
        assert connection.execute("PRAGMA foreign_keys").fetchone()[0] == 1
    finally:
        connection.close()
