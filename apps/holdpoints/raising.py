"""Acts that join a finding with what it was read at or what becomes of its foundation: each one transaction."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any
from uuid import UUID

from apps.corridor.models import Crew
from apps.findings import acts as finding_acts
from apps.findings.models import Disposition, Finding
from apps.holdpoints.acts import give_up
from apps.holdpoints.models import Measurement
from apps.people.models import Person
from apps.record.acts import Answer, Refused, act


@act
def raise_at_measurement(
    *,
    measurement: Measurement,
    title: str,
    grade: str,
    by: Person,
    at: datetime,
    client_id: UUID,
    cause: str = "unknown",
    crew: Crew | None = None,
    due_on: date | None = None,
) -> Answer:
    """Raise a finding from one reading that was kept. Requirement, reading and limit are the row's, never a page's."""
    row = Measurement.objects.select_related("inspection", "foundation__corridor", "foundation__crew").get(
        pk=measurement.pk
    )
    open_already = row.foundation.findings.unsettled().filter(requirement_key=row.requirement_key).last()
    if open_already is not None:
        raise Refused(f"{open_already.name} is open for this requirement at {row.foundation.mark} already.")
    return finding_acts.raised(
        row.foundation,
        title,
        by,
        at,
        stage=row.stage,
        grade=grade,
        cause=cause,
        crew=crew or row.inspection.crew,
        due_on=due_on,
        requirement_key=row.requirement_key,
        reading=row.value_text or row.reason,
        limit=row.limit_text,
    )


@act
def reject_and_abandon(
    *,
    finding: Finding,
    reason: str,
    by: Person,
    at: datetime,
    client_id: UUID,
    consent: str = "",
    cause: str = "",
    successor: Mapping[str, Any] | None = None,
) -> Answer:
    """Reject the work and give its foundation up, with what replaces it: decided, abandoned and brought in, or nothing of it."""
    decided = finding_acts.decide(finding, Disposition.Kind.REJECT, reason, by, at, consent, None, cause)
    given_up = give_up(finding.foundation, f"{finding.name} rejected: {reason.strip()}", by, at, successor)
    return {"finding": finding.name, "decided": decided["entry"], **given_up}
