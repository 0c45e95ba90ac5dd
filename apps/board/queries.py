"""What the morning sheet shows, in a number of queries that does not grow with the corridor."""

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal

from django.db.models import Count, Exists, OuterRef, Sum
from django.urls import reverse

from apps.calc.shown import decimal
from apps.calc.stages import STAGES
from apps.calc.stationing import show_station
from apps.corridor.models import Alignment, Corridor, Foundation, Snapshot, Tally
from apps.findings.models import Finding
from apps.holdpoints import blockers
from apps.holdpoints.models import Condition, HoldPoint
from apps.materials.models import ConcreteLoad
from apps.sheet.glyphs import Standing, sentence
from apps.sheet.standing import standing
from apps.sheet.strip import Road, Spot

WEEKS = 12


@dataclass(frozen=True, slots=True)
class Flow:
    """One column of the hold-point flow."""

    number: int
    key: str
    title: str
    released: int
    total: int
    inspected: int
    notified: int
    ready: int
    returned: int
    held: int

    @property
    def share(self) -> int:
        """Released, in percent of the foundations."""
        return round(100 * self.released / self.total) if self.total else 0


@dataclass(frozen=True, slots=True)
class Wait:
    """What one party is waited for, the longest first."""

    title: str
    who: str
    url: str
    promise: timedelta
    items: list[tuple[str, datetime]]
    """(words, since)."""

    def late(self, now: datetime) -> int:
        """Return how many wait longer than promised."""
        return sum(now - since > self.promise for _, since in self.items)


@dataclass(frozen=True, slots=True)
class Work:
    """A hold point that may be built, or that notice was given for."""

    point: HoldPoint
    standing: Standing
    words: str
    when: datetime | None = None


@dataclass(frozen=True, slots=True)
class Week:
    """Releases of one week."""

    monday: date
    released: int
    whole: bool


@dataclass(frozen=True, slots=True)
class Morning:
    """Everything on the sheet."""

    tally: Tally
    percent: Decimal
    change: Decimal | None
    since: date | None
    flow: list[Flow]
    road: Road | None
    spots: list[Spot]
    waits: list[Wait]
    build: list[Work]
    may_build: int
    notified: list[Work]
    findings: list[Finding]
    grades: list[tuple[str, list[int], int]]
    holding: int
    weeks: list[Week]
    loads: int
    placed: Decimal


def last_morning(corridor: Corridor, today: date) -> date:
    """Return the last working day before today: the day of the last meeting."""
    day = today - timedelta(days=1)
    for _ in range(14):
        if corridor.works_on(day):
            return day
        day -= timedelta(days=1)
    return day


def tenth(value: Decimal) -> Decimal:
    """Round to a tenth of a percent, as pages show it."""
    return value.quantize(Decimal("0.1"))


def morning(corridor: Corridor, now: datetime) -> Morning:
    """Return the whole sheet."""
    today, tally = corridor.day(now), corridor.tally
    percent = Decimal(decimal(tally.percent(), 3, grouped=False))
    snapshot = (
        Snapshot.objects.filter(corridor=corridor, day__lt=last_morning(corridor, today)).order_by("-day").first()
    )
    points = _points(corridor)
    open_findings = list(corridor.findings.unsettled().select_related("foundation").order_by("raised_at"))
    holding = [finding for finding in open_findings if finding.holds]
    drawn = _drawn(points, open_findings)
    foundations = [point.foundation for point in points if point.place == 0]
    build, may_build, notified = _work(points, drawn, holding, now)
    monday = datetime.combine(today - timedelta(days=today.weekday()), time(), corridor.zone)
    concrete = ConcreteLoad.objects.filter(corridor=corridor, discharged_at__gte=monday).aggregate(
        loads=Count("id"), volume=Sum("volume_yd3")
    )
    return Morning(
        tally=tally,
        percent=tenth(percent),
        change=tenth(percent - snapshot.percent) if snapshot else None,
        since=last_morning(corridor, today) if snapshot else None,
        flow=_flow(tally, drawn, holding),
        road=road(corridor, foundations),
        spots=spots(corridor, foundations, drawn),
        waits=_waits(corridor, points, open_findings),
        build=build,
        may_build=may_build,
        notified=notified,
        findings=holding or open_findings,
        grades=_grades(open_findings, now),
        holding=len(holding),
        weeks=_weeks(corridor, today),
        loads=concrete["loads"],
        placed=concrete["volume"] or Decimal(0),
    )


def _points(corridor: Corridor) -> list[HoldPoint]:
    """Return every hold point of the standing foundations, up-station, each with its foundation and an open condition if any."""
    conditions = Condition.objects.filter(met_at=None, decision__inspection__hold_point=OuterRef("pk"))
    found = HoldPoint.objects.standing().filter(corridor=corridor).annotate(conditioned=Exists(conditions))
    rows = list(
        found.select_related("foundation__design", "foundation__crew").order_by(
            "foundation__distance_ft", "foundation__side", "foundation__mark", "place"
        )
    )
    for row in rows:
        row.foundation.corridor = corridor
    return rows


def _drawn(points: Sequence[HoldPoint], findings: Sequence[Finding]) -> dict[object, Standing]:
    """Return how each foundation stands, from rows that are here already."""
    states: dict[object, dict[str, str]] = defaultdict(dict)
    conditions = set()
    for point in points:
        states[point.foundation_id][point.stage] = point.state
        if point.conditioned:  # type: ignore[attr-defined]
            conditions.add(point.foundation_id)
    grades: dict[object, set[str]] = defaultdict(set)
    for finding in findings:
        grades[finding.foundation_id].add(finding.grade)
    return {
        point.foundation_id: standing(
            point.foundation,
            states[point.foundation_id],
            grades[point.foundation_id],
            point.foundation_id in conditions,
        )
        for point in points
        if point.place == 0
    }


def _flow(tally: Tally, drawn: dict[object, Standing], holding: Sequence[Finding]) -> list[Flow]:
    """Return the columns of the flow; a held foundation counts at the stage that it would go to next."""
    held = Counter(drawn[finding].released for finding in {each.foundation_id for each in holding} if finding in drawn)
    columns = []
    for number, stage in enumerate(STAGES):
        states = tally.hold_points.get(stage.key, {})
        columns.append(
            Flow(
                number=number + 1,
                key=stage.key,
                title=stage.title,
                released=states.get("released", 0),
                total=tally.foundations,
                inspected=states.get("inspected", 0),
                notified=states.get("notified", 0),
                ready=states.get("ready", 0),
                returned=states.get("returned", 0) + states.get("reopened", 0),
                held=held[number],
            )
        )
    return columns


def _waits(corridor: Corridor, points: Sequence[HoldPoint], findings: Sequence[Finding]) -> list[Wait]:
    """Return who is waited for: the engineer, the inspectors, the contractor."""

    def of(*states: str) -> list[tuple[str, datetime]]:
        waiting = [(f"{point}", point.since) for point in points if point.state in states]
        return sorted(waiting, key=lambda item: item[1])

    slug = corridor.slug
    asked = sorted(
        (
            (f"{point}", point.asked_for)
            for point in points
            if point.state == "notified" and point.asked_for is not None
        ),
        key=lambda item: item[1],
    )
    corrections = [(finding.name, finding.since) for finding in findings if finding.state == "decided"]
    decisions = [(finding.name, finding.since) for finding in findings if finding.state in {"open", "verified"}]
    return [
        Wait(
            "releases",
            "the engineer",
            reverse("desk:queue", args=[slug]),
            timedelta(hours=corridor.release_promise_hours),
            of("inspected"),
        ),
        Wait(
            "decisions on findings",
            "the engineer",
            reverse("desk:findings", args=[slug]),
            timedelta(hours=corridor.release_promise_hours),
            sorted(decisions, key=lambda item: item[1]),
        ),
        Wait(
            "inspections",
            "the inspectors",
            reverse("field:today", args=[slug]),
            timedelta(hours=corridor.inspection_promise_hours),
            asked,
        ),
        Wait(
            "corrections",
            "the contractor",
            reverse("desk:findings", args=[slug]),
            timedelta(days=3),
            sorted([*of("returned", "reopened"), *corrections], key=lambda item: item[1]),
        ),
    ]


def _work(
    points: Sequence[HoldPoint], drawn: dict[object, Standing], holding: Sequence[Finding], now: datetime
) -> tuple[list[Work], int, list[Work]]:
    """Return what may be built today (the later the stage, the first), how much that is, and what notice was given for."""
    ready = [point for point in points if point.state == "ready"]
    states = {(point.foundation_id, point.stage): point.state for point in points}
    situations = blockers.situations(ready, now, states=states, holding=holding)
    end = now.replace(hour=18, minute=0)
    open_now = [point for point in ready if not blockers.to_build(situations[point.pk], max(now, end))]
    open_now.sort(key=lambda point: (-point.place, point.foundation.distance_ft))
    build = [
        Work(point, drawn[point.foundation_id], situations[point.pk].gate.sentence or "the stage before is released")
        for point in open_now[:8]
    ]
    asked = sorted(
        (point for point in points if point.state == "notified" and point.asked_for), key=lambda p: p.asked_for or now
    )
    notified = [Work(point, drawn[point.foundation_id], "", point.asked_for) for point in asked[:10]]
    return build, len(open_now), notified


def _grades(findings: Sequence[Finding], now: datetime) -> list[tuple[str, list[int], int]]:
    """Return for each grade how many are open by age: to 3, 7, 14 days, older; and all."""
    rows = []
    for grade, title in reversed(Finding.Grade.choices):
        ages = [(now - finding.raised_at).days for finding in findings if finding.grade == grade]
        bands = [sum(low <= age < high for age in ages) for low, high in ((0, 4), (4, 8), (8, 15), (15, 10**6))]
        rows.append((str(title), bands, len(ages)))
    return rows


def _weeks(corridor: Corridor, today: date) -> list[Week]:
    """Return the releases of the last weeks, the running one last and marked as not whole."""
    monday = today - timedelta(days=today.weekday())
    first = monday - timedelta(weeks=WEEKS - 1)
    counted: dict[date, int] = defaultdict(int)
    for day, released in corridor.production.filter(day__gte=first).values_list("day", "released"):
        counted[day - timedelta(days=day.weekday())] += released
    mondays = [first + timedelta(weeks=week) for week in range(WEEKS)]
    return [Week(day, counted[day], day != monday) for day in mondays if counted or day == monday]


# ---- the road


def line_of(corridor: Corridor) -> Alignment | None:
    """Return the corridor's first alignment, None before one is brought in."""
    return corridor.alignments.order_by("name").first()


def road(corridor: Corridor, foundations: Sequence[Foundation]) -> Road | None:
    """Return the road as the strip draws it: curves, cross streets, station equation and where crews were last."""
    alignment = line_of(corridor)
    if alignment is None:
        return None
    line = alignment.geometry
    at, curves = 0.0, []
    for element in alignment.definition["elements"]:
        length = float(element["length"])
        if element["kind"] != "tangent":
            curves.append((at, at + length, "L" if element["turn"] == "left" else "R"))
        at += length
    crossings = [(float(line.distance(each["station"])), each["name"]) for each in alignment.crossings]
    equations = [
        (float(line.distance(each["back"], "back")), each["back"].split(".")[0], each["ahead"].split(".")[0])
        for each in alignment.definition.get("equations", [])
    ]

    def figure(distance: float) -> str:
        return show_station(line.label(min(max(round(distance, 2), 0), float(line.length)))).split(".", maxsplit=1)[0]

    def reach(low: float, high: float) -> str:
        return f"{reverse('board:corridor', args=[corridor.slug])}?from={figure(low)}&to={figure(high)}"

    return Road(
        start=0.0,
        end=float(line.length),
        curves=curves,
        crossings=crossings,
        equations=equations,
        crews=[],
        figure=figure,
        reach=reach,
    )


def spots(corridor: Corridor, foundations: Sequence[Foundation], drawn: dict[object, Standing]) -> list[Spot]:
    """Return the foundations as the strip draws them."""
    return [
        Spot(
            mark=each.mark,
            station=float(each.distance_ft),
            label_station=show_station(each.station_ft),
            side=each.side,
            href=reverse("board:foundation", args=[corridor.slug, each.mark]),
            standing=drawn[each.pk],
            title=sentence(
                drawn[each.pk], each.mark, show_station(each.station_ft).split(".", maxsplit=1)[0], each.side
            ),
        )
        for each in foundations
    ]
