"""Keeping editions: from files or as a draft, changed while a draft, published once and whole, with its digest.

Who may is asked, and each step is entered in a corridor's record, by corridor.editions, which calls these.
"""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import Max

from apps.calc.requirement import Requirement as Spec
from apps.record.acts import Refused
from apps.requirements.content import Content, faults_of, read_blocks
from apps.requirements.models import Edition, Requirement


@transaction.atomic
def publish_edition(*, files: Content, by: str, at: datetime) -> Edition:
    """Keep an edition as published. The same content again changes nothing; other content under a published number is refused."""
    known = Edition.objects.filter(number=files.number).first()
    if known is not None:
        if known.digest != files.digest:
            raise Refused(
                f"Edition {files.number} is {known.get_state_display().lower()} with other content; give the changed files a new number."
            )
        return known
    edition = keep_draft(content=files)
    return publish(draft=edition, by=by, at=at)


@transaction.atomic
def keep_draft(*, content: Content, based_on: Edition | None = None) -> Edition:
    """Keep checked content as a draft. Refused when its number is taken."""
    if Edition.objects.filter(number=content.number).exists():
        raise Refused(f"There is an edition {content.number} already.")
    edition = Edition.objects.create(
        number=content.number,
        title=content.title,
        rule=content.rule,
        stages=content.stages,
        sources=content.sources,
        gates=content.gates,
        cautions=content.cautions,
        based_on=based_on,
    )
    Requirement.objects.bulk_create(row_of(edition, spec, place) for place, spec in enumerate(content.requirements))
    return edition


def row_of(edition: Edition, spec: Spec, place: int) -> Requirement:
    """Return the row that keeps a requirement, not yet saved."""
    return Requirement(
        edition=edition,
        place=place,
        key=spec.key,
        stage=spec.stage,
        family=spec.family[0] if len(spec.family) == 1 else "",
        title=spec.title,
        grade=spec.grade,
        source_kind=str(edition.sources.get(spec.source, {}).get("kind", "")),
        block=spec.as_block(),
    )


def next_number() -> int:
    """Return the number after the greatest."""
    return int(Edition.objects.aggregate(most=Max("number"))["most"] or 0) + 1


def locked_draft(draft: Edition) -> Edition:
    """Return the draft fresh and locked. Refused when it is published meanwhile."""
    fresh = Edition.objects.select_for_update().get(pk=draft.pk)
    if not fresh.is_draft:
        raise Refused(f"{fresh} is {fresh.get_state_display().lower()} and never changes; begin a draft of a new one.")
    return fresh


@transaction.atomic
def put_requirement(*, draft: Edition, block: Mapping[str, Any]) -> tuple[Requirement, dict[str, Any] | None]:
    """Put a requirement into a draft, in the place of the one with its key, else after the last of its stage.

    Returns the row and the block that stood there before. Refused with every fault of the block.
    """
    fresh = locked_draft(draft)
    stage = str(block.get("key", "")).partition(".")[0]
    specs, faults = read_blocks(stage, [block])
    if faults:
        raise Refused(*(fault.words for fault in faults))
    spec = specs[0]
    known = fresh.requirements.filter(key=spec.key).first()
    if known is not None:
        before = known.block
        row = row_of(fresh, spec, known.place)
        row.pk = known.pk
        row.save(force_update=True)
        return row, before
    last = fresh.requirements.filter(stage=spec.stage).aggregate(last=Max("place"))["last"]
    place = (fresh.requirements.aggregate(last=Max("place"))["last"] or 0) if last is None else last
    for later in fresh.requirements.filter(place__gt=place).order_by("-place"):
        later.place += 1
        later.save(update_fields=["place"])
    row = row_of(fresh, spec, place + 1)
    row.save()
    return row, None


@transaction.atomic
def drop_requirement(*, draft: Edition, key: str) -> dict[str, Any]:
    """Take a requirement out of a draft; return the block that stood there. Refused when there is none."""
    row = locked_draft(draft).requirements.filter(key=key).first()
    if row is None:
        raise Refused(f"{draft} has no requirement {key}.")
    block: dict[str, Any] = row.block
    row.delete()
    return block


@transaction.atomic
def publish(*, draft: Edition, by: str, at: datetime) -> Edition:
    """Publish a draft: from then on it never changes. Refused with every fault of it."""
    fresh = locked_draft(draft)
    content = fresh.content()
    faults = faults_of(content)
    if faults:
        raise Refused(*(fault.words for fault in faults))
    fresh.state, fresh.digest, fresh.published_at, fresh.published_by = (
        Edition.State.PUBLISHED,
        content.digest,
        at,
        by,
    )
    fresh.save()
    return fresh
