"""Whether an entry still says what its hash was taken over."""

from apps.record import merkle
from apps.record.acts import plain
from apps.record.canonical import canonical
from apps.record.models import Entry

COLUMNS = (
    "log", "sequence", "act", "subject", "mark", "station", "actor", "actor_name", "role", "device_at", "received_at", "payload",
)  # fmt: skip


def agrees(entry: Entry) -> bool:
    """Say whether an entry's columns, its text and its leaf hash agree with each other."""
    text = canonical(plain({name: getattr(entry, name) for name in COLUMNS}))
    return text == entry.text and merkle.leaf_hash(text.encode()).hex() == entry.leaf
