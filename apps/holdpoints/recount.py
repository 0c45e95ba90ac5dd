"""The counts of a corridor, counted again from the rows: what `manage.py recount` compares the running counts with."""

from collections import Counter, defaultdict
from typing import Any

from django.db.models import Count

from apps.corridor import tally
from apps.corridor.models import Corridor, Production
from apps.findings.models import Finding
from apps.holdpoints.models import Decision, HoldPoint

KEPT = ("foundations", "abandoned", "hold_points", "findings")


def from_rows(corridor: Corridor) -> dict[str, Any]:
    """Count a corridor's foundations, hold points and open findings from their rows."""
    states: dict[str, dict[str, int]] = defaultdict(dict)
    counted = (
        HoldPoint.objects.standing()
        .filter(corridor=corridor)
        .order_by()
        .values_list("stage", "state")
        .annotate(Count("id"))
    )
    for stage, state, number in counted:
        states[stage][state] = number
    findings = (
        Finding.objects.unsettled().filter(corridor=corridor).order_by().values_list("grade").annotate(Count("id"))
    )
    return {
        "foundations": corridor.foundations.standing().count(),
        "abandoned": corridor.foundations.exclude(abandoned_at=None).count(),
        "hold_points": dict(states),
        "findings": dict(findings),
    }


def produced_from_rows(corridor: Corridor) -> Counter[tuple[Any, str]]:
    """Count the releases of each local day and stage from the decisions."""
    releases = Decision.objects.exclude(kind=Decision.Kind.RETURN).filter(inspection__hold_point__corridor=corridor)
    return Counter(
        (corridor.day(at), stage) for at, stage in releases.values_list("at", "inspection__hold_point__stage")
    )


def differences(corridor: Corridor) -> list[str]:
    """Return a sentence for each running count that the rows do not bear out; empty when all agree."""
    rows, found = from_rows(corridor), []
    for name in KEPT:
        kept = getattr(corridor.tally, name)
        if kept != rows[name]:
            found.append(f"{name}: kept {kept}, counted {rows[name]}.")
    kept_production = Counter(
        {
            (day, stage): number
            for day, stage, number in corridor.production.values_list("day", "stage", "released")
            if number
        }
    )
    counted = produced_from_rows(corridor)
    for day, stage in sorted(set(kept_production) | set(counted)):
        if kept_production[day, stage] != counted[day, stage]:
            found.append(
                f"releases of {stage} on {day}: kept {kept_production[day, stage]}, counted {counted[day, stage]}."
            )
    return found


def mend(corridor: Corridor) -> None:
    """Set the running counts to what the rows say."""
    tally.lock(corridor)
    rows = from_rows(corridor)
    for name in KEPT:
        setattr(corridor.tally, name, rows[name])
    corridor.tally.version += 1
    corridor.tally.save()
    corridor.production.all().delete()
    Production.objects.bulk_create(
        Production(corridor=corridor, day=day, stage=stage, released=number)
        for (day, stage), number in produced_from_rows(corridor).items()
    )
