"""Findings in every state, brought there by the acts."""

from datetime import datetime
from typing import Any

from apps.corridor.models import Foundation
from apps.findings import acts
from apps.findings.models import Finding
from tests.factories.corridor import member
from tests.factories.kept import done
from tests.factories.times import HOUR, NOW

LETTER = "Letter 14 of the engineer of record, 2026-03-04"


def raised(
    foundation: Foundation, stage: str = "drill", grade: str = "major", at: datetime = NOW, **more: Any
) -> Finding:
    """Raise a finding by hand, by the inspector."""
    answer = done(
        acts.raise_finding,
        foundation=foundation,
        stage=stage,
        title="Casing left in the hole",
        grade=grade,
        by=member(foundation.corridor, "inspector"),
        at=at,
        **more,
    )
    return Finding.objects.get(corridor=foundation.corridor, number=int(answer["finding"].removeprefix("F-")))


def decided(finding: Finding, kind: str = "rework", at: datetime | None = None) -> Finding:
    """Decide what happens about a finding, by the engineer, with the consent that some kinds need."""
    done(
        acts.decide_disposition,
        finding=finding,
        kind=kind,
        reason="As the drawing shows",
        consent=LETTER,
        by=member(finding.corridor, "engineer"),
        at=at or finding.since + HOUR,
    )
    return _fresh(finding)


def answered(finding: Finding) -> Finding:
    """Report the correction, by the foreman."""
    foreman = member(finding.corridor, "foreman")
    done(acts.answer_finding, finding=finding, done="Pulled and set again", by=foreman, at=finding.since + HOUR)
    return _fresh(finding)


def verified(finding: Finding) -> Finding:
    """Verify the correction, by the inspector."""
    inspector = member(finding.corridor, "inspector")
    done(acts.verify_finding, finding=finding, reading="Seen, as drawn", by=inspector, at=finding.since + HOUR)
    return _fresh(finding)


def closed(finding: Finding) -> Finding:
    """Close the finding, by the engineer."""
    done(acts.close_finding, finding=finding, by=member(finding.corridor, "engineer"), at=finding.since + HOUR)
    return _fresh(finding)


STEPS = {"open": raised, "decided": decided, "answered": answered, "verified": verified, "closed": closed}


def in_state(foundation: Foundation, state: str, **more: Any) -> Finding:
    """Return a finding raised at a foundation and brought to a state."""
    finding = raised(foundation, **more)
    for name, step in list(STEPS.items())[1:]:
        if finding.state == state:
            break
        finding = step(finding)
        assert finding.state == name
    return finding


def _fresh(finding: Finding) -> Finding:
    return Finding.objects.select_related("foundation__corridor", "corridor").get(pk=finding.pk)
