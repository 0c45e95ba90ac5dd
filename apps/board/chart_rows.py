"""What the charts are drawn from, in a fixed number of queries."""

from collections import Counter
from datetime import datetime, timedelta
from fractions import Fraction

from django.db.models import OuterRef, Subquery

from apps.board.charted import Chart, pace, quality
from apps.board.forecast import Forecast
from apps.board.planned import Progress
from apps.calc.stages import STAGE_KEYS, STAGES
from apps.corridor.models import Corridor
from apps.findings.models import Finding
from apps.holdpoints.models import Decision, Inspection, Measurement, Notice
from apps.materials.models import StrengthTest

OVERBREAK = "pour.overbreak"
STRENGTH_AGE_D = 28
WEEKS = 16
NO_CREW = "no crew named"


def charts(corridor: Corridor, at: datetime, foretold: Forecast, done: Progress) -> list[Chart]:
    """Return every chart, in the order of the page."""
    today = corridor.day(at)
    return [
        pace.percent(done, today, pace.Finish(foretold.p50, foretold.p80, corridor.finishes_on)),
        _production(corridor, at),
        *_attempts(corridor),
        quality.causes(
            [str(Finding.Cause(cause).label) for cause in corridor.findings.values_list("cause", flat=True)]
        ),
        quality.strength(_strengths(corridor)),
        quality.overbreak(_overbreak(corridor)),
    ]


def _production(corridor: Corridor, at: datetime) -> Chart:
    today = corridor.day(at)
    monday = today - timedelta(days=today.weekday())
    counted: Counter[tuple[object, str]] = Counter()
    first = monday
    for day, stage, released in corridor.production.values_list("day", "stage", "released"):
        week = day - timedelta(days=day.weekday())
        counted[week, stage] += released
        first = min(first, week)
    first = max(first, monday - timedelta(weeks=WEEKS - 1))
    mondays = [first + timedelta(weeks=back) for back in range((monday - first).days // 7 + 1)]
    weeks = [pace.Week(each, tuple(counted[each, stage] for stage in STAGE_KEYS)) for each in mondays]
    through, foundations = corridor.tally.released(), corridor.tally.foundations
    left = [foundations - through[stage] for stage in STAGE_KEYS]
    days = range((corridor.finishes_on - today).days + 1)
    working = sum(corridor.works_on(today + timedelta(days=ahead)) for ahead in days)
    return pace.production(weeks, left, working / max(len(corridor.working_days), 1))


def _attempts(corridor: Corridor) -> list[Chart]:
    """Return the waits, and what was accepted the first time, from one reading of all attempts."""
    answers: list[list[float]] = [[] for _ in STAGES]
    visits: list[list[float]] = [[] for _ in STAGES]
    accepted, decided = Counter[tuple[int, str]](), Counter[tuple[int, str]]()
    notices = Notice.objects.filter(
        hold_point=OuterRef("hold_point"), withdrawn_at=None, given_at__lte=OuterRef("received_at")
    )
    read = Inspection.objects.filter(hold_point__corridor=corridor).order_by("received_at", "id")
    read = read.annotate(asked=Subquery(notices.order_by("-given_at").values("asked_for")[:1]))
    fields = ("hold_point__place", "attempt", "crew__name", "received_at", "decision__at", "decision__kind", "asked")
    for place, attempt, crew, sent, answered, kind, asked in read.values_list(*fields):
        if answered is not None:
            answers[place].append((answered - sent) / timedelta(hours=1))
        if asked is not None and asked <= sent:
            visits[place].append((sent - asked) / timedelta(hours=1))
        if attempt == 1 and kind is not None:
            accepted[place, crew or NO_CREW] += kind != Decision.Kind.RETURN
            decided[place, crew or NO_CREW] += 1
    return [
        pace.waits(_waits(answers, corridor.release_promise_hours), _waits(visits, corridor.inspection_promise_hours)),
        quality.first_time([quality.First(*key, accepted[key], decided[key]) for key in decided]),
    ]


def _waits(hours: list[list[float]], promised: int) -> list[pace.Waits]:
    return [pace.Waits(stage.title, its, promised) for stage, its in zip(STAGES, hours, strict=True)]


def _strengths(corridor: Corridor) -> list[quality.Strength]:
    """Return the 28-day tests of standard-cured cylinders; the specified strength is the highest that the load went into."""
    read = StrengthTest.objects.filter(load__corridor=corridor, age_d=STRENGTH_AGE_D, field_cured=False)
    fields = (
        "pk",
        "load__ticket",
        "tested_at",
        "strength_psi",
        "load__placements__foundation__design__concrete_strength_psi",
    )
    found: dict[object, quality.Strength] = {}
    for pk, ticket, tested, psi, specified in read.order_by("tested_at", "pk").values_list(*fields):
        before = found[pk].specified if pk in found else 0
        found[pk] = quality.Strength(ticket, corridor.day(tested), psi, max(before, specified or 0))
    return list(found.values())


def _overbreak(corridor: Corridor) -> list[quality.Over]:
    """Return what was placed over theoretical, once a foundation: its last attempt."""
    read = Measurement.objects.filter(inspection__hold_point__corridor=corridor, requirement_key=OVERBREAK).exclude(
        value=""
    )
    fields = ("foundation__mark", "inspection__crew__name", "value", "limits")
    last = {
        mark: quality.Over(
            mark, crew or NO_CREW, Fraction(value), Fraction(limits["high"]) if limits.get("high") else None
        )
        for mark, crew, value, limits in read.order_by("inspection__received_at").values_list(*fields)
    }
    return list(last.values())
