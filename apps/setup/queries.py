"""What Setup and Requirements show."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.urls import reverse

from apps.calc.limits import MissingFact
from apps.corridor.models import Corridor, Design
from apps.corridor.plan import facts_of_design
from apps.requirements.models import Edition, Requirement

PAGES = ("terms", "members", "editions", "alignments", "designs", "schedule")
"""Where each step is done."""


@dataclass(frozen=True, slots=True)
class Step:
    """One thing that must stand before work can be recorded."""

    title: str
    done: bool
    words: str
    url: str = ""


def steps(corridor: Corridor) -> list[Step]:
    """Return what is done and what is still missing, each with the page on which it is brought in."""
    at = {name: reverse(f"setup:{name}", args=[corridor.slug]) for name in PAGES}
    roles = Counter(corridor.memberships.values_list("role", flat=True))
    lines, designs = corridor.alignments.count(), corridor.designs.count()
    foundations = corridor.tally.foundations
    missing = [role for role in ("inspector", "engineer", "foreman") if not roles[role]]
    return [
        Step(
            "Contract", True, f"{corridor.name}, {corridor.owner}, until {corridor.finishes_on:%-d %b %Y}", at["terms"]
        ),
        Step(
            "People",
            not missing,
            f"{sum(roles.values())} memberships" + (f"; nobody is {', '.join(missing)}" if missing else ""),
            at["members"],
        ),
        Step("Edition of requirements", True, f"{corridor.edition}: {corridor.edition.title}", at["editions"]),
        Step("Alignment", lines > 0, f"{lines} brought in", at["alignments"]),
        Step("Designs", designs > 0, f"{designs} brought in", at["designs"]),
        Step("Foundations", foundations > 0, f"{foundations} standing", at["schedule"]),
    ]


@dataclass(frozen=True, slots=True)
class Line:
    """One requirement as the table shows it."""

    row: Requirement
    limit: str
    refers: str
    often: str
    evidence: str
    source: str
    kind: str
    caution: dict[str, str] | None


def lines(edition: Edition, rows: Iterable[Requirement], design: Design | None) -> list[Line]:
    """Return the table's lines; limits that name the plans are written with the values of a design, where one is chosen."""
    plan: dict[str, Any] = facts_of_design(design) if design is not None else {}
    found = []
    for row in rows:
        spec, source = row.spec, edition.sources.get(row.spec.source, {})
        views = edition.views(row.stage)
        try:
            refers = spec.refer_text(plan)
        except MissingFact:
            refers = ""
        found.append(
            Line(
                row=row,
                limit=spec.limit_text(plan),
                refers=refers,
                often=f"{len(spec.places)}: {', '.join(spec.places)}" if spec.places else "1",
                evidence=", ".join(views.get(view, view) for view in spec.evidence),
                source=", ".join(
                    part for part in (str(source.get("title", "")), str(source.get("edition", "")), spec.clause) if part
                ),
                kind=str(source.get("kind", "")).replace(" ", "_"),
                caution=edition.stage_cautions(row.stage).get(spec.caution),
            )
        )
    return found
