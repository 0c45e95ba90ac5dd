"""Tables that only grow: on both databases the database itself refuses to change or delete a row of them."""

from collections.abc import Callable
from typing import Any

import pytest
from django.apps import apps
from django.db import DatabaseError, connection, models, transaction

from apps.audits.models import Answer as AuditAnswer
from apps.audits.models import Drawn
from apps.corridor.models import Foundation
from apps.findings.models import Answer, Disposition, Verification
from apps.holdpoints.models import Decision, HoleLook, Inspection, Measurement, Photo, Reopening
from apps.materials.models import (
    AcceptedProduct,
    Certificate,
    Computation,
    ConcreteLoad,
    LocateTicket,
    LotUse,
    MaturityCurve,
    MaturityReading,
    Placement,
    StrengthTest,
)
from apps.record.guard import GUARDED, SEALED, guard, lifted, seal
from apps.record.models import Attachment, Entry, Node, SignedHead
from tests.factories import audits, findings, materials
from tests.factories.holdpoints import after, at_stage, hold_point, look_again, reopen

MODELS: dict[str, type[models.Model]] = {model._meta.db_table: model for model in apps.get_models()}
GROWING = (
    Entry, Node, Attachment, Inspection, Measurement, Photo, Decision, Reopening, Disposition, Answer, Verification, Computation,
    LocateTicket, Certificate, HoleLook, SignedHead, Drawn, AuditAnswer, ConcreteLoad, Placement, StrengthTest,
    AcceptedProduct, LotUse, MaturityCurve, MaturityReading,
)  # fmt: skip


def triggers() -> set[str]:
    """Names of the triggers that the database really holds, without those that PostgreSQL makes for foreign keys."""
    sql = {
        "sqlite": "SELECT name FROM sqlite_master WHERE type = 'trigger'",
        "postgresql": "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal",
    }[connection.vendor]
    with connection.cursor() as cursor:
        cursor.execute(sql)
        return {name for (name,) in cursor.fetchall()}


@pytest.fixture
def filled(foundation: Foundation) -> Foundation:
    """A foundation with a row in every table that only grows."""
    at_stage(foundation, "drill", "released")
    audits.answer(audits.drawn(foundation.corridor))
    look_again(foundation, after(foundation))
    reopen(hold_point(foundation, "layout"), after(foundation))
    findings.in_state(foundation, "closed")
    materials.computation(foundation)
    materials.strength(materials.load(foundation), 4000, 7, after(foundation))
    materials.product(foundation.corridor)
    materials.lot(foundation)
    materials.matured(foundation)
    empty = [model.__name__ for model in GROWING if not model._default_manager.exists()]
    assert not empty
    return foundation


def refused(change: Callable[[], Any], table: str) -> None:
    with pytest.raises(DatabaseError, match=f"{table} only grows"), transaction.atomic():
        change()


def test_every_growing_model_is_guarded() -> None:
    assert {model._meta.db_table for model in GROWING} == set(GUARDED)


@pytest.mark.django_db
def test_guarded_is_what_the_database_holds() -> None:
    events = ("update", "delete") if connection.vendor == "sqlite" else ("change", "truncate")
    sealed = {f"{table}_sealed_{event}" for table in SEALED for event in ("update", "delete")}
    sealed.add("requirements_requirement_sealed_insert")
    assert triggers() == sealed | {f"{table}_no_{event}" for table in GUARDED for event in events}


@pytest.mark.parametrize("table", GUARDED)
def test_an_update_is_refused(filled: Foundation, table: str) -> None:
    model = MODELS[table]
    column = next(field for field in model._meta.concrete_fields if not field.primary_key)
    refused(lambda: model._default_manager.update(**{column.name: models.F(column.name)}), table)


@pytest.mark.parametrize("table", GUARDED)
def test_saving_a_row_again_is_refused(filled: Foundation, table: str) -> None:
    row = MODELS[table]._default_manager.first()
    assert row is not None
    refused(row.save, table)


@pytest.mark.parametrize("table", GUARDED)
def test_a_delete_is_refused(filled: Foundation, table: str) -> None:
    queryset = MODELS[table]._default_manager.all()
    before = queryset.count()
    refused(lambda: queryset._raw_delete(connection.alias), table)
    assert queryset.count() == before > 0


@pytest.mark.parametrize("table", GUARDED)
def test_emptying_the_table_at_once_is_refused(filled: Foundation, table: str) -> None:
    # SQLite has no TRUNCATE; its DELETE without WHERE takes a short cut that a trigger must switch off.
    sql = f"DELETE FROM {table}" if connection.vendor == "sqlite" else f"TRUNCATE {table} CASCADE"  # noqa: S608

    def empty() -> None:
        with connection.cursor() as cursor:
            cursor.execute(sql)

    connection.check_constraints()  # settles what PostgreSQL defers to the commit, or it would refuse for that reason
    refused(empty, table)


def test_lifted_puts_every_guard_back(filled: Foundation) -> None:
    before = triggers()
    with lifted():
        assert not triggers()
    assert triggers() == before


@pytest.mark.django_db
def test_lifted_puts_every_guard_back_after_a_fault() -> None:
    before = triggers()
    with pytest.raises(RuntimeError), lifted():
        raise RuntimeError
    assert triggers() == before


def test_a_table_that_is_not_listed_cannot_be_guarded() -> None:
    with pytest.raises(ValueError, match="not in GUARDED"):
        guard("people_person")
    with pytest.raises(ValueError, match="not in SEALED"):
        seal("people_person")
