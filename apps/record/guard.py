"""Tables that only grow: the database itself refuses update and delete, on SQLite and on PostgreSQL.

The SQL that differs between the two stands here and nowhere else. `guard("record_entry")` is a migration operation; `lifted(...)`
is for the clean-up after transactional tests, where the delete trigger would refuse the test runner too.
"""

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connections, migrations
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps

GUARDED: tuple[str, ...] = (
    "record_entry",
    "record_node",
    "record_attachment",
    "holdpoints_inspection",
    "holdpoints_measurement",
    "holdpoints_photo",
    "holdpoints_decision",
    "holdpoints_reopening",
    "findings_disposition",
    "findings_answer",
    "findings_verification",
    "materials_computation",
)
"""Every guarded table. A test compares it with the triggers that the database really holds."""

_REFUSAL = "{table} only grows: no row of it is changed or deleted; enter a correction instead"


def _install_sql(vendor: str, table: str) -> list[str]:
    refusal = _REFUSAL.format(table=table)
    if vendor == "sqlite":
        return [
            f"CREATE TRIGGER {table}_no_{event} BEFORE {event.upper()} ON {table} BEGIN SELECT RAISE(ABORT, '{refusal}'); END"
            for event in ("update", "delete")
        ]
    return [
        (
            f"CREATE OR REPLACE FUNCTION {table}_refuse() RETURNS trigger LANGUAGE plpgsql AS "
            f"$$ BEGIN RAISE EXCEPTION '{refusal}' USING ERRCODE = 'integrity_constraint_violation'; END $$"
        ),
        f"CREATE TRIGGER {table}_no_change BEFORE UPDATE OR DELETE ON {table} FOR EACH ROW EXECUTE FUNCTION {table}_refuse()",
        f"CREATE TRIGGER {table}_no_truncate BEFORE TRUNCATE ON {table} FOR EACH STATEMENT EXECUTE FUNCTION {table}_refuse()",
    ]


def _remove_sql(vendor: str, table: str) -> list[str]:
    if vendor == "sqlite":
        return [f"DROP TRIGGER IF EXISTS {table}_no_{event}" for event in ("update", "delete")]
    return [
        f"DROP TRIGGER IF EXISTS {table}_no_change ON {table}",
        f"DROP TRIGGER IF EXISTS {table}_no_truncate ON {table}",
        f"DROP FUNCTION IF EXISTS {table}_refuse()",
    ]


def _run(connection: BaseDatabaseWrapper, statements: list[str]) -> None:
    with connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)


def guard(table: str) -> migrations.RunPython:
    """Return the migration operation that makes a table append-only, with its reverse. ValueError for a table not in GUARDED."""
    if table not in GUARDED:
        raise ValueError(f"{table} is not in GUARDED")

    def install(apps: StateApps, editor: BaseDatabaseSchemaEditor) -> None:
        _run(editor.connection, _install_sql(editor.connection.vendor, table))

    def remove(apps: StateApps, editor: BaseDatabaseSchemaEditor) -> None:
        _run(editor.connection, _remove_sql(editor.connection.vendor, table))

    return migrations.RunPython(install, remove)


@contextmanager
def lifted(using: str = "default") -> Iterator[None]:
    """Lift every guard for the length of a block. For tests only: the application never calls this."""
    connection = connections[using]
    for table in GUARDED:
        _run(connection, _remove_sql(connection.vendor, table))
    try:
        yield
    finally:
        for table in GUARDED:
            _run(connection, _install_sql(connection.vendor, table))
