"""System checks of the project's own rules: `manage.py check` says in sentences what is missing."""

import sqlite3
from collections.abc import Sequence
from typing import Any

from django.conf import settings
from django.core.checks import CheckMessage, Error, Info, register


@register()
def sqlite_is_durable(app_configs: Sequence[Any] | None, **kwargs: Any) -> list[CheckMessage]:
    """Say which journal SQLite runs with, and refuse settings that can lose an acknowledged entry."""
    database: dict[str, Any] = settings.DATABASES["default"]
    if "sqlite3" not in database["ENGINE"]:
        return []
    options = database.get("OPTIONS", {})
    if options.get("transaction_mode") != "IMMEDIATE":
        return [
            Error(
                "SQLite without IMMEDIATE transactions loses writes under load.",
                hint="Keep SQLITE_OPTIONS.",
                id="config.E001",
            )
        ]
    if "synchronous=NORMAL" in str(options.get("init_command", "")).replace(" ", ""):
        return [Error("synchronous=NORMAL may lose an acknowledged entry after a power loss.", id="config.E002")]
    if not settings.SQLITE_WAL_IS_SOUND and settings.DEBUG:
        return [
            Info(
                f"SQLite {sqlite3.sqlite_version} has a known write-ahead-log defect; the rollback journal with EXTRA is in force.",
                id="config.I001",
            )
        ]
    return []
