"""Whether an entry still says what its hash was taken over."""

from typing import Any

from apps.record import merkle
from apps.record.acts import plain
from apps.record.canonical import canonical
from apps.record.models import Entry

COLUMNS = (
    "log", "sequence", "act", "subject", "mark", "station", "actor", "actor_name", "role", "device_at", "received_at", "payload",
)  # fmt: skip


def spelled(entry: Entry) -> str:
    """Return the canonical JSON that an entry's columns spell."""
    columns: dict[str, Any] = {name: getattr(entry, name) for name in COLUMNS}
    if entry.rows:
        columns["rows"] = entry.rows
    return canonical(plain(columns))


def agrees(entry: Entry) -> bool:
    """Say whether an entry's columns, its text and its leaf hash agree with each other."""
    text = spelled(entry)
    return text == entry.text and merkle.leaf_hash(text.encode()).hex() == entry.leaf
