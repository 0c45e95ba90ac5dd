"""The default edition, its files read once per process."""

from functools import cache
from pathlib import Path

from apps.requirements.acts import publish_edition
from apps.requirements.load import EditionFiles, read
from apps.requirements.models import Edition
from tests.factories.times import START

FOLDER = Path(__file__).parents[2] / "fixtures" / "requirements" / "default"


@cache
def default_files() -> EditionFiles:
    """Return what the default edition's folder says."""
    return read(FOLDER)


def default_edition() -> Edition:
    """Publish the default edition, or return it if it is published."""
    return publish_edition(files=default_files(), by="Administrator", at=START)
