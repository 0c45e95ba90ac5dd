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
    "record_signedhead",
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
    "materials_locateticket",
    "materials_certificate",
    "materials_concreteload",
    "materials_placement",
    "materials_strengthtest",
    "materials_acceptedproduct",
    "materials_lotuse",
    "materials_maturitycurve",
    "materials_maturityreading",
    "holdpoints_holelook",
    "audits_drawn",
    "audits_answer",
)
"""Every guarded table. A test compares it with the triggers that the database really holds."""

SEALED: tuple[str, ...] = ("requirements_edition", "requirements_requirement")
"""Tables of editions: their rows change only while the edition is a draft."""

_SEALED = "a published edition never changes; begin a draft of a new one"
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


def _sealed_sql(vendor: str, table: str) -> list[str]:
    """Triggers that refuse a change to rows of an edition that is no draft; superseding it changes its state alone."""
    if table == "requirements_edition":
        kept = ("number", "title", "rule", "stages", "sources", "gates", "cautions", "digest", "published_at")
        cast = "::text" if vendor == "postgresql" else ""
        differs = " OR ".join(f"OLD.{name}{cast} IS NOT NEW.{name}{cast}" for name in kept)
        if vendor == "postgresql":
            differs = differs.replace("IS NOT", "IS DISTINCT FROM")
        rules = {
            "update": f"OLD.state <> 'draft' AND ({differs} OR NEW.state = 'draft')",
            "delete": "OLD.state <> 'draft'",
        }
    else:
        of = "(SELECT state FROM requirements_edition WHERE id = {row}.edition_id)"
        rules = {
            event: f"{of.format(row=row)} <> 'draft'"
            for event, row in (("insert", "NEW"), ("update", "OLD"), ("delete", "OLD"))
        }
    if vendor == "sqlite":
        return [
            f"CREATE TRIGGER {table}_sealed_{event} BEFORE {event.upper()} ON {table} WHEN {rule} "
            f"BEGIN SELECT RAISE(ABORT, '{_SEALED}'); END"
            for event, rule in rules.items()
        ]
    made = []
    for event, rule in rules.items():
        made += [
            (
                f"CREATE OR REPLACE FUNCTION {table}_sealed_{event}_refuse() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN IF {rule} THEN "
                f"RAISE EXCEPTION '{_SEALED}' USING ERRCODE = 'integrity_constraint_violation'; END IF; "
                f"RETURN {'OLD' if event == 'delete' else 'NEW'}; END $$"
            ),
            (
                f"CREATE TRIGGER {table}_sealed_{event} BEFORE {event.upper()} ON {table} FOR EACH ROW "
                f"EXECUTE FUNCTION {table}_sealed_{event}_refuse()"
            ),
        ]
    return made


def _unsealed_sql(vendor: str, table: str) -> list[str]:
    events = ("insert", "update", "delete")
    if vendor == "sqlite":
        return [f"DROP TRIGGER IF EXISTS {table}_sealed_{event}" for event in events]
    return [
        statement
        for event in events
        for statement in (
            f"DROP TRIGGER IF EXISTS {table}_sealed_{event} ON {table}",
            f"DROP FUNCTION IF EXISTS {table}_sealed_{event}_refuse()",
        )
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
        # A change of the table may have taken the triggers with it (SQLite) or left them (PostgreSQL): begin anew.
        vendor = editor.connection.vendor
        _run(editor.connection, [*_remove_sql(vendor, table), *_install_sql(vendor, table)])

    def remove(apps: StateApps, editor: BaseDatabaseSchemaEditor) -> None:
        _run(editor.connection, _remove_sql(editor.connection.vendor, table))

    return migrations.RunPython(install, remove)


def seal(table: str) -> migrations.RunPython:
    """Return the migration operation that keeps published editions as they are. ValueError for a table not in SEALED."""
    if table not in SEALED:
        raise ValueError(f"{table} is not in SEALED")

    def install(apps: StateApps, editor: BaseDatabaseSchemaEditor) -> None:
        vendor = editor.connection.vendor
        _run(editor.connection, [*_unsealed_sql(vendor, table), *_sealed_sql(vendor, table)])

    def remove(apps: StateApps, editor: BaseDatabaseSchemaEditor) -> None:
        _run(editor.connection, _unsealed_sql(editor.connection.vendor, table))

    return migrations.RunPython(install, remove)


@contextmanager
def lifted(using: str = "default") -> Iterator[None]:
    """Lift every guard for the length of a block. For tests only: the application never calls this."""
    connection = connections[using]
    for table in GUARDED:
        _run(connection, _remove_sql(connection.vendor, table))
    for table in SEALED:
        _run(connection, _unsealed_sql(connection.vendor, table))
    try:
        yield
    finally:
        for table in GUARDED:
            _run(connection, _install_sql(connection.vendor, table))
        for table in SEALED:
            _run(connection, _sealed_sql(connection.vendor, table))
