"""Migrations: complete, reversible, and the guards stand and fall with their tables."""

import pytest
from django.core.management import call_command
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from apps.record.guard import GUARDED, SEALED


@pytest.mark.django_db
def test_models_and_migrations_agree() -> None:
    call_command("makemigrations", "--check", "--dry-run", verbosity=0)


def guarded_tables() -> set[str]:
    sql = {
        "sqlite": "SELECT DISTINCT tbl_name FROM sqlite_master WHERE type = 'trigger'",
        "postgresql": "SELECT DISTINCT tgrelid::regclass::text FROM pg_trigger WHERE NOT tgisinternal",
    }[connection.vendor]
    with connection.cursor() as cursor:
        cursor.execute(sql)
        return {name for (name,) in cursor.fetchall()}


@pytest.mark.django_db(transaction=True)
def test_guards_can_be_taken_back_and_put_up_again() -> None:
    latest = MigrationExecutor(connection).loader.graph.leaf_nodes()
    before = [
        ("record", "0001_initial"),
        ("requirements", "0001_initial"),
        ("findings", "0002_initial"),
        ("holdpoints", "0002_initial"),
    ]
    assert guarded_tables() == {*GUARDED, *SEALED}
    try:
        MigrationExecutor(connection).migrate(before)
        assert guarded_tables() == set()
    finally:
        MigrationExecutor(connection).migrate(latest)
    assert guarded_tables() == {*GUARDED, *SEALED}


@pytest.mark.django_db
def test_no_migration_waits() -> None:
    executor = MigrationExecutor(connection)
    assert executor.migration_plan(executor.loader.graph.leaf_nodes()) == []
