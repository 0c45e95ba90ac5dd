"""Which rows of the database the record answers for, and the digest by which an entry names the state of one.

An entry names every row that its act wrote. So each row can be held against the last entry that names it: one that was changed,
removed or slipped in behind the application's back is found.
"""

from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime
from decimal import Decimal
from hashlib import sha256
from typing import Any
from uuid import UUID

from django.apps import apps
from django.db import models

from apps.record.canonical import canonical

RECORDED: dict[str, str] = {
    "corridor_corridor": "pk",
    "corridor_alignment": "corridor",
    "corridor_crew": "corridor",
    "corridor_membership": "corridor",
    "corridor_design": "corridor",
    "corridor_foundation": "corridor",
    "holdpoints_holdpoint": "corridor",
    "holdpoints_notice": "hold_point__corridor",
    "holdpoints_inspection": "hold_point__corridor",
    "holdpoints_measurement": "foundation__corridor",
    "holdpoints_photo": "inspection__hold_point__corridor",
    "holdpoints_holelook": "foundation__corridor",
    "holdpoints_decision": "inspection__hold_point__corridor",
    "holdpoints_condition": "decision__inspection__hold_point__corridor",
    "holdpoints_reopening": "hold_point__corridor",
    "findings_finding": "corridor",
    "findings_disposition": "finding__corridor",
    "findings_answer": "finding__corridor",
    "findings_verification": "finding__corridor",
    "materials_instrument": "corridor",
    "materials_concreteload": "corridor",
    "materials_placement": "foundation__corridor",
    "materials_strengthtest": "load__corridor",
    "materials_locateticket": "corridor",
    "materials_certificate": "corridor",
    "materials_computation": "foundation__corridor",
    "materials_acceptedproduct": "corridor",
    "materials_lotuse": "foundation__corridor",
    "materials_maturitycurve": "corridor",
    "materials_maturityreading": "foundation__corridor",
    "followups_followup": "corridor",
    "audits_audit": "corridor",
    "audits_drawn": "audit__corridor",
    "audits_answer": "drawn__audit__corridor",
}
"""Table → the way from a row to its corridor. Counts are not here: they are recounted; photos' files are held against their hash."""

PAPERED = frozenset({"materials_instrument", "materials_locateticket", "materials_certificate"})
"""Tables whose rows may have their paper itself on file: an attachment in the column `paper`, named by the entry as its `paper`."""

ADDED: dict[str, dict[str, Any]] = {
    "corridor_corridor": {"photo_reach_ft": 50},
    "corridor_alignment": {"grid": None},
    "holdpoints_photo": dict.fromkeys(("fix_lat", "fix_lon", "fix_accuracy_m", "fix_at", "fix_age_s")),
    "holdpoints_decision": {"show": ""},
    **{table: {"paper_id": None} for table in PAPERED},
    "findings_finding": {"again_of_id": None, "cost": None, "delay_d": None},
}
"""Table → columns that came later, with what they hold in every row written before. They are left out of a row's columns while
they hold that, so that entries made before the column was there still name the same row."""

Named = dict[str, dict[str, str]]
"""Table → key of a row → digest."""


def _value(field: "models.Field[Any, Any]", value: Any) -> Any:
    """Return a column's value in its one spelling, whether it comes from the database or was given to the row."""
    if isinstance(field, models.ForeignKey):
        field = field.target_field
    if value is None or isinstance(field, models.JSONField):
        return value
    value = field.to_python(value)
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat(timespec="microseconds")
    if isinstance(value, Decimal) and isinstance(field, models.DecimalField):
        return f"{value:.{field.decimal_places}f}"
    return str(value) if isinstance(value, Decimal | UUID | date) else value


def columns(row: models.Model) -> dict[str, Any]:
    """Return a row's columns as canonical JSON can hold them, without those of ADDED that say nothing yet."""
    found = {field.attname: _value(field, field.value_from_object(row)) for field in row._meta.concrete_fields}
    silent = ADDED.get(row._meta.db_table, {})
    return {name: value for name, value in found.items() if name not in silent or value != silent[name]}


def digest(row: models.Model) -> str:
    """Return the SHA-256 over a row's columns. Numbers of entries are left out: the row is digested before it has one."""
    counted = {name: value for name, value in columns(row).items() if not name.endswith("entry")}
    return sha256(canonical(counted).encode()).hexdigest()


def named(rows: Iterable[models.Model]) -> Named:
    """Return how an entry names rows. ValueError for a row that the record does not answer for."""
    found: Named = {}
    for row in rows:
        table = row._meta.db_table
        if table not in RECORDED:
            raise ValueError(f"the record does not answer for {table}")
        found.setdefault(table, {})[str(row.pk)] = digest(row)
    return found


def model_of(table: str) -> type[models.Model]:
    """Return the model of a table."""
    return next(model for model in apps.get_models() if model._meta.db_table == table)


def stored(log: UUID, table: str) -> Iterator[tuple[str, str]]:
    """Yield key and digest of every row of a table that belongs to a corridor, as the database has it."""
    rows = model_of(table)._default_manager.filter(**{RECORDED[table]: log}).order_by("pk")
    for row in rows.iterator(chunk_size=2000):
        yield str(row.pk), digest(row)
