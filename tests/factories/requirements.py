"""The default edition, its files read once per process."""

from functools import cache
from pathlib import Path
from typing import Any

from apps.corridor import editions
from apps.corridor.models import Corridor
from apps.requirements.acts import publish_edition
from apps.requirements.content import Content
from apps.requirements.load import read
from apps.requirements.models import Edition
from tests.factories.kept import done, kept
from tests.factories.times import NOW, START

FOLDER = Path(__file__).parents[2] / "fixtures" / "requirements" / "default"


@cache
def default_files() -> Content:
    """Return what the default edition's folder says."""
    return read(FOLDER)


def default_edition() -> Edition:
    """Publish the default edition, or return it if it is published."""
    _publish()
    return Edition.objects.get(number=default_files().number)


@kept
def _publish() -> None:
    publish_edition(files=default_files(), by="Administrator", at=START)


def drafted(
    corridor: Corridor, title: str = "Spring edition", based_on: Edition | None = None, **changes: Any
) -> Edition:
    """Return a draft begun by the corridor's engineer; `changes` are fields of base_set.corner_gap."""
    from tests.factories.corridor import member  # that module asks this one for the default edition

    engineer = member(corridor, "engineer")
    told = {"corridor": corridor, "by": engineer, "at": NOW}
    answer = done(editions.begin_draft, based_on=based_on or default_edition(), title=title, **told)
    draft = Edition.objects.get(number=answer["edition"])
    if changes:
        was = draft.requirements.get(key="base_set.corner_gap").block
        done(editions.change_requirement, draft=draft, block={**was, **changes}, was=was, **told)
    return draft
