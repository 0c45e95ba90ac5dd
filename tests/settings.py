"""Settings of the tests: the project's own, in a data folder and on a database made for this run.

LAMPSTEAD_TEST_DATABASE=postgresql chooses PostgreSQL; without it the tests run on SQLite. The shell's variables of
apps/config/env.py are not heard.
"""

import os
from pathlib import Path

from apps.config import env
from tests import database

for _variable in env.VARIABLES:
    os.environ.pop(_variable.name, None)
os.environ["DATA_DIR"] = str(database.folder())
os.environ["SECRET_KEY"] = "only-for-tests"
os.environ["DATABASE_URL"] = database.url()

from apps.config.settings import *  # noqa: E402, F403

DATABASES["default"]["TEST"] = database.names(Path(os.environ["DATA_DIR"]))  # noqa: F405  # type: ignore[name-defined]
if database.vendor() == "sqlite":
    # Nothing of a test outlives the run, so it need not wait for the disk; locks and foreign keys are as in real work.
    _quick = "PRAGMA journal_mode=MEMORY; PRAGMA synchronous=OFF; PRAGMA foreign_keys=ON;"
    DATABASES["default"]["OPTIONS"] = {**SQLITE_OPTIONS, "init_command": _quick}  # noqa: F405  # type: ignore[name-defined]
# Settings are read: what the environment says from here on is the tests' own business.
for _variable in env.VARIABLES:
    os.environ.pop(_variable.name, None)
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
