"""What the Morning sheet shows, in a number of queries that does not grow with the corridor. No rule is made here."""

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from apps.board.charts import Bars, bars
from apps.board.done import Concrete, Output, concrete, output
from apps.board.forecast import Finish, finish_of
from apps.board.planned import Progress, progress
from apps.board.road import Course, courses
from apps.board.rows import Row, next_points, open_findings, rows
from apps.board.trends import Trends, trends
from apps.board.waits import Party, parties
from apps.calc.stages import FAMILIES, STAGES, Stage
from apps.corridor.models import Corridor, Tally
from apps.findings import ages
from apps.findings.models import Finding
from apps.holdpoints.models import HoldPoint

WEEKS = 12
BUILD_SHOWN = 5
NOTICES_SHOWN = 6
HOLDING_SHOWN = 3


class Column(NamedTuple):
    """One stage of the hold-point flow: how many foundations stand in which state."""

    stage: Stage
    number: int
    released: int
    inspected: int
    notified: int
    returned: int
    ready: int
    held: int


class Cell(NamedTuple):
    """Open findings of one grade and age."""

    band: str
    """Its key, as the register's filter has it."""
    number: int
    holding: int
    marks: list[bool]
    """For each finding whether it holds, the holding first; empty where there are too many to draw."""


class GradeRow(NamedTuple):
    """Open findings of one grade by age."""

    grade: str
    title: str
    cells: list[Cell]
    number: int


class Notices(NamedTuple):
    """Notices for one time, stage and crew."""

    when: datetime
    stage: str
    crew: str
    rows: list[Row]


class Contract(NamedTuple):
    """How far away the contract date is."""

    day: date
    days: int
    """Calendar days left; below zero past it."""
    working_days: int
    to_make: int
    """Releases still to make."""


@dataclass(frozen=True, slots=True)
class Morning:
    """Everything on the sheet."""

    tally: Tally
    percent: Decimal
    change: Decimal | None
    """Points more than on the last working morning; None where there is no earlier morning."""
    since: str
    """That morning in words."""
    since_day: date
    flow: list[Column]
    courses: list[Course]
    grades: list[GradeRow]
    all_holding: list[tuple[Finding, Row]]
    """The findings that hold work, the oldest first, each with where its foundation stands."""
    holding_count: int
    held: int
    """Foundations that a finding holds."""
    parties: list[Party]
    build: list[Row]
    build_by_stage: list[tuple[Stage, int]]
    may_build: int
    notices: list[Notices]
    notified_today: int
    notified_later: int
    opens_today: int
    """Foundations whose gate opens by itself before the day is over."""
    opens_tomorrow: int
    plan: Progress
    """Against the straight plan of the contract's dates."""
    weeks: Bars
    output: list[Output]
    concrete: Concrete
    """Since Monday."""
    contract: Contract
    finish: Finish | None
    trends: Trends
    families: list[tuple[str, int]]

    @property
    def holding(self) -> list[tuple[Finding, Row]]:
        """The oldest of those that hold work: as many as the sheet has room for."""
        return self.all_holding[:HOLDING_SHOWN]

    @property
    def change_words(self) -> str:
        """Say the change as the first line does: 0.9 up since yesterday."""
        if self.change is None:
            return "no earlier morning to compare"
        if not self.change:
            return f"the same as {self.since}"
        return f"{abs(self.change)} {'up' if self.change > 0 else 'down'} since {self.since}"

    @property
    def change_points(self) -> str:
        """Say the change alone: 0.9 points more."""
        if not self.change:
            return "Nothing more"
        return f"{abs(self.change)} points {'more' if self.change > 0 else 'less'}"

    @property
    def behind(self) -> Decimal:
        """Points behind the plan; below zero ahead of it."""
        return tenth(self.plan.behind)

    @property
    def ahead(self) -> Decimal:
        """Points ahead of it."""
        return -self.behind

    @property
    def releases(self) -> int:
        """Releases made."""
        return sum(column.released for column in self.flow)

    @property
    def families_words(self) -> str:
        """Say what stands here: 126 light pole, 22 pedestal; empty where nothing does."""
        return ", ".join(f"{count} {FAMILIES[family].lower()}" for family, count in self.families)

    @property
    def findings(self) -> int:
        """Open findings."""
        return sum(row.number for row in self.grades)


def morning(corridor: Corridor, at: datetime) -> Morning:
    """Return the whole sheet as of a moment. The corridor comes with `tally` and `edition` selected."""
    today, tally = corridor.day(at), corridor.tally
    findings = open_findings(corridor)
    every = rows(next_points(corridor), findings, corridor, at)
    standing = [row for row in every if not row.standing.abandoned]
    build = _may_be_built(standing)
    stages = Counter(row.point.place for row in build)
    for_today, later = _notified(standing, today)
    since, monday = last_working_day(corridor, today), today - timedelta(days=today.weekday())
    plan = progress(corridor, tally, today)
    before = plan.before(since)
    return Morning(
        tally=tally,
        percent=tenth(tally.percent()),
        change=None if before is None else tenth(tally.percent() - before),
        since=_day_words(since, today),
        since_day=since,
        flow=_flow(tally, standing),
        courses=courses(corridor, every),
        grades=_grades(findings, corridor, today),
        all_holding=_holding(findings, standing),
        holding_count=sum(finding.holds for finding in findings),
        held=sum(row.held for row in standing),
        parties=parties(standing, findings, corridor, at),
        build=build[:BUILD_SHOWN],
        build_by_stage=[(stage, stages[place]) for place, stage in reversed(list(enumerate(STAGES))) if stages[place]],
        may_build=len(build),
        notices=for_today[:NOTICES_SHOWN],
        notified_today=sum(len(notices.rows) for notices in for_today),
        notified_later=later,
        opens_today=sum(row.opens_in(0) for row in standing),
        opens_tomorrow=sum(row.opens_in(1) for row in standing),
        plan=plan,
        weeks=_weeks(corridor, monday),
        output=output(corridor, monday),
        concrete=concrete(corridor, monday, today),
        contract=_contract(corridor, tally, today),
        finish=finish_of(corridor, at),
        trends=trends(corridor, at),
        families=list(Counter(row.foundation.design.family for row in standing).most_common()),
    )


def tenth(value: Fraction) -> Decimal:
    """Round to a tenth of a percent, as pages show it."""
    return Decimal(round(value * 10)).scaleb(-1)


# ---- compared with the last working morning


def last_working_day(corridor: Corridor, today: date) -> date:
    """Return the last working day before today; yesterday where two weeks hold none."""
    days = [today - timedelta(days=back) for back in range(1, 15)]
    return next((day for day in days if corridor.works_on(day)), days[0])


def _day_words(day: date, today: date) -> str:
    """Say a day as a meeting would: yesterday, Friday, 14 Oct."""
    if (today - day).days == 1:
        return "yesterday"
    return f"{day:%A}" if (today - day).days < 7 else f"{day:%-d %b}"


# ---- the parts of the sheet


def _flow(tally: Tally, standing: Sequence[Row]) -> list[Column]:
    """Return the columns of the flow from the counts; a held foundation counts at the stage that it would go to next."""
    held = Counter(row.point.place for row in standing if row.held)
    columns = []
    for place, stage in enumerate(STAGES):
        states = defaultdict(int, tally.hold_points.get(stage.key, {}))
        returned = states["returned"] + states["reopened"]
        columns.append(
            Column(
                stage,
                place + 1,
                states["released"],
                states["inspected"],
                states["notified"],
                returned,
                states["ready"],
                held[place],
            )
        )
    return columns


def _grades(findings: Sequence[Finding], corridor: Corridor, today: date) -> list[GradeRow]:
    """Return the open findings by grade, the worst first, and by age in days."""
    cells: dict[tuple[str, str], list[Finding]] = defaultdict(list)
    for finding in findings:
        cells[finding.grade, ages.band_of(finding, corridor, today).key].append(finding)
    grades = []
    for grade, title in reversed(Finding.Grade.choices):
        its = [_cell(band.key, cells[str(grade), band.key]) for band in ages.BANDS]
        grades.append(GradeRow(str(grade), str(title), its, sum(cell.number for cell in its)))
    return grades


def _cell(band: str, findings: Sequence[Finding]) -> Cell:
    marks = sorted((finding.holds for finding in findings), reverse=True)
    return Cell(band, len(marks), sum(marks), marks if len(marks) <= 3 else [])


def _holding(findings: Sequence[Finding], standing: Sequence[Row]) -> list[tuple[Finding, Row]]:
    """Return the findings that hold work, the oldest first, each with where its foundation stands."""
    by_foundation = {row.foundation.pk: row for row in standing}
    held = [finding for finding in findings if finding.holds and finding.foundation_id in by_foundation]
    return [(finding, by_foundation[finding.foundation_id]) for finding in held]


def _may_be_built(standing: Sequence[Row]) -> list[Row]:
    """Return what the crews may build today: the later the stage, the first; then as the gates open; then up-station."""
    free = [row for row in standing if row.may_be_built]
    return sorted(free, key=lambda row: (-row.point.place, _opens(row), row.foundation.distance_ft))


def _opens(row: Row) -> datetime:
    """Return when a row's gate opens: now, where it is open or there is none."""
    gate = row.situation.gate
    return row.at if gate.is_open or gate.opens_at is None else gate.opens_at


def _notified(standing: Sequence[Row], today: date) -> tuple[list[Notices], int]:
    """Return the notices for today and before, by time, stage and crew, and how many are for later."""
    groups: dict[tuple[datetime, int, str], list[Row]] = defaultdict(list)
    later = 0
    for row in standing:
        asked = row.point.asked_for
        if row.point.state != HoldPoint.State.NOTIFIED or asked is None:
            continue
        if row.foundation.corridor.day(asked) > today:
            later += 1
        else:
            groups[asked, row.point.place, str(row.foundation.crew or "")].append(row)
    return [Notices(when, STAGES[place].title, crew, its) for (when, place, crew), its in sorted(groups.items())], later


def _weeks(corridor: Corridor, monday: date) -> Bars:
    """Return the releases of the last weeks; the one of that Monday is not over."""
    first = monday - timedelta(weeks=WEEKS - 1)
    counted: Counter[date] = Counter()
    for day, released in corridor.production.filter(day__gte=first).values_list("day", "released"):
        counted[day - timedelta(days=day.weekday())] += released
    return bars([(first + timedelta(weeks=week), counted[first + timedelta(weeks=week)]) for week in range(WEEKS)])


def _contract(corridor: Corridor, tally: Tally, today: date) -> Contract:
    days = (corridor.finishes_on - today).days
    working = sum(corridor.works_on(today + timedelta(days=ahead)) for ahead in range(days + 1))
    to_make = tally.foundations * len(STAGES) - sum(tally.released().values())
    return Contract(corridor.finishes_on, days, working, to_make)
