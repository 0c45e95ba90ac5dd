"""Changing the key that signs heads: an entry in every record, handed over by the old key where it still exists."""

import json
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction

from apps.record import signing
from apps.record.acts import enter
from apps.record.canonical import canonical
from apps.record.models import Head


def handover_text(log: UUID, new: str) -> str:
    """Return what the old key signs when it hands over."""
    return canonical({"log": str(log), "new_key": new})


def rotate(*, by: Any, at: datetime, lost: bool = False) -> dict[str, Any]:
    """Make a new key and enter the change in every record. `lost`: the old key is not at hand, so nothing hands over.

    Writers wait meanwhile: no head is signed by the new key before its entry. Returns the new key, and in how many records.
    """
    with transaction.atomic():
        logs = list(Head.objects.select_for_update().order_by("log"))
        old = signing.seed()
        signing.write(signing.new_seed())
        try:
            for head in logs:
                _enter(head, None if lost else old, by, at)
        except BaseException:
            signing.write(old)
            raise
    return {"new": signing.public_key(), "records": len(logs)}


def _enter(head: Head, old: bytes | None, by: Any, at: datetime) -> None:
    new = signing.public_key()
    before = str(json.loads(head.statement)["key"]) if head.statement else ""
    handover = "" if old is None else signing.sign(handover_text(head.log, new).encode(), old).signature
    enter(
        log=head.log,
        act="change_key",
        subject="record key",
        by=by,
        role="administrator",
        at=at,
        payload={"old": before, "new": new, "handover": handover},
        keep_head=True,
    )
