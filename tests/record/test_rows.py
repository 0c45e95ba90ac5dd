"""The digest of a row: columns that came later keep silent until they say something."""

from datetime import UTC
from hashlib import sha256

import pytest
from django.apps import apps

from apps.corridor.models import Foundation
from apps.holdpoints.models import Decision
from apps.record.canonical import canonical
from apps.record.rows import ADDED, RECORDED, columns, digest, model_of
from apps.record.verify import verify
from tests.factories import materials
from tests.factories.holdpoints import after, at_stage, send_back
from tests.factories.times import NOW

pytestmark = pytest.mark.django_db


def test_every_added_column_is_one_of_its_table_and_holds_its_default_there() -> None:
    assert set(ADDED) <= set(RECORDED)
    for table, silent in ADDED.items():
        fields = {field.attname: field for field in model_of(table)._meta.concrete_fields}
        assert {name: fields[name].get_default() for name in silent} == silent
    assert apps.get_model("holdpoints", "Decision")._meta.db_table in ADDED


def test_a_decision_of_before_keeps_its_digest_and_one_that_says_more_gets_another(foundation: Foundation) -> None:
    point = at_stage(foundation, "layout", "inspected")
    send_back(point, after(foundation), show="")
    old = Decision.objects.get()
    assert "show" not in columns(old)
    before = digest(old)
    old.show = "The tape"
    assert columns(old)["show"] == "The tape"
    assert digest(old) != before


def test_what_to_show_stands_under_the_record(foundation: Foundation) -> None:
    point = at_stage(foundation, "layout", "inspected")
    send_back(point, after(foundation), show="The tape, from both sides")
    assert not verify(foundation.corridor_id).faults


def test_a_row_of_before_papers_could_be_kept_keeps_its_digest(foundation: Foundation) -> None:
    """What the digest was taken over before the column came: the other columns, spelled out here."""
    row = materials.certificate(foundation.corridor, paper=None)
    before = {
        "id": str(row.pk), "corridor_id": str(row.corridor_id), "covers": "steel", "number": "C-77", "product_id": None, "lot": "",
        "received_on": f"{foundation.corridor.day(NOW)}", "valid_until": None, "note": "", "by_id": row.by_id,
        "added_at": NOW.astimezone(UTC).isoformat(timespec="microseconds"),
    }  # fmt: skip
    assert digest(row) == sha256(canonical(before).encode()).hexdigest()
    assert digest(materials.certificate(foundation.corridor)) != digest(row)
    assert columns(materials.certificate(foundation.corridor))["paper_id"]
