"""Publishing an edition: once, whole, with its digest. The corridors that put it in force enter that in their records."""

from datetime import datetime

from django.db import transaction

from apps.record.acts import Refused
from apps.requirements.load import EditionFiles
from apps.requirements.models import Edition, Requirement


@transaction.atomic
def publish_edition(*, files: EditionFiles, by: str, at: datetime) -> Edition:
    """Keep an edition as published. The same content again changes nothing; other content under a published number is refused."""
    known = Edition.objects.filter(number=files.number).first()
    if known is not None:
        if known.digest != files.digest:
            raise Refused(
                f"Edition {files.number} is published with other content; give the changed files a new number."
            )
        return known
    edition = Edition.objects.create(
        number=files.number,
        title=files.title,
        state=Edition.State.PUBLISHED,
        rule=files.rule,
        stages=files.stages,
        sources=files.sources,
        gates=files.gates,
        cautions=files.cautions,
        digest=files.digest,
        published_at=at,
        published_by=by,
    )
    Requirement.objects.bulk_create(
        Requirement(
            edition=edition,
            place=place,
            key=spec.key,
            stage=spec.stage,
            family=spec.family[0] if len(spec.family) == 1 else "",
            title=spec.title,
            grade=spec.grade,
            source_kind=str(files.sources[spec.source].get("kind", "")),
            block=spec.as_block(),
        )
        for place, spec in enumerate(files.requirements)
    )
    return edition
