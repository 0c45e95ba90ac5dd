"""What the pages of findings show: the register, its sums and bars, and the life of one finding."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any, NamedTuple

from django.db.models import Count, Max, Q, QuerySet
from django.db.models.functions import TruncWeek

from apps.calc.control import pareto
from apps.calc.stages import STAGES
from apps.corridor.models import Corridor
from apps.findings import moves
from apps.findings.models import BLOCKING_GRADES, Disposition, Finding
from apps.findings.turn import CONTRACTOR, ENGINEER, INSPECTOR, mover, with_decided
from apps.holdpoints.models import Measurement
from apps.record.models import Entry
from apps.sheet.glyphs import Standing

GRADES = ("critical", "major", "minor")
PARTIES = {ENGINEER: "Engineer", CONTRACTOR: "Contractor", INSPECTOR: "Inspector", "": ""}
WAITED_FOR = {ENGINEER: "the engineer", CONTRACTOR: "the contractor", INSPECTOR: "an inspector"}
NUMBERS = ("none", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
OFTEN = 3
"""A requirement that was missed this often keeps coming back."""
FEW = 7
"""Causes drawn by name; the rest is one bar."""


def in_words(number: int) -> str:
    """Write a small number as its word."""
    return NUMBERS[number] if number < len(NUMBERS) else str(number)


def rows(corridor: Corridor) -> QuerySet[Finding]:
    """Return the findings of a corridor with what a line of the register shows."""
    found = Finding.objects.filter(corridor=corridor).select_related("foundation__design", "crew")
    return with_decided(found)


# ---- the register


class AgeBar(NamedTuple):
    """Days open against the promise, in px along a track: the promise stands at the same place in a whole group."""

    kept: float
    over: float
    tick: float


@dataclass(frozen=True, slots=True)
class Line:
    """One finding in the register."""

    finding: Finding
    standing: Standing
    bar: AgeBar
    late: bool
    until: datetime
    """Until when it was, or is, open."""
    decided: Disposition | None
    mover: str
    overdue: bool


TRACK = 150.0
PROMISE_AT = 0.5


def age_bar(age: timedelta, promise: timedelta) -> AgeBar:
    """Lay out an age: up to the promise, and beyond it to the end of the track at twice the promise."""
    tick = TRACK * PROMISE_AT
    length = min(tick * (age / promise), TRACK)
    return AgeBar(round(min(length, tick), 1), round(max(length - tick, 0.0), 1), tick)


def line(finding: Finding, drawn: dict[object, Standing], now: datetime, today: date) -> Line:
    """Return what one line shows. The finding comes with its dispositions prefetched and `decided` annotated."""
    promise, until = timedelta(days=moves.ANSWER_DAYS[finding.grade]), finding.closed_at or now
    age = until - finding.raised_at
    decided = list(finding.dispositions.all())
    party = PARTIES[mover(finding.state, finding.decided or "")]  # type: ignore[attr-defined]
    crew = f", {finding.crew}" if finding.crew and party == PARTIES[CONTRACTOR] else ""
    return Line(
        finding=finding,
        standing=drawn[finding.foundation_id],
        bar=age_bar(age, promise),
        late=finding.is_open and age > promise,
        until=until,
        decided=decided[-1] if decided else None,
        mover=f"{party}{crew}",
        overdue=finding.is_open and finding.due_on < today,
    )


class Group(NamedTuple):
    """The lines of one grade."""

    title: str
    days: int
    lines: list[Line]

    @property
    def promise(self) -> timedelta:
        """Within what time an answer is promised."""
        return timedelta(days=self.days)


def groups(lines: Sequence[Line]) -> list[Group]:
    """Return the lines by grade, the gravest first."""
    found = [
        Group(
            Finding.Grade(grade).label,
            moves.ANSWER_DAYS[grade],
            [each for each in lines if each.finding.grade == grade],
        )
        for grade in GRADES
    ]
    return [group for group in found if group.lines]


# ---- the sentence and the sums


@dataclass(frozen=True, slots=True)
class Summary:
    """The register in a few numbers."""

    total: int
    open: int
    holding: int
    late: int
    oldest: Finding | None
    """The oldest that holds work and is past its answer."""
    waits: list[str]
    """Who is waited for, in words."""
    since: datetime | None

    @property
    def closed(self) -> int:
        """How many are closed."""
        return self.total - self.open

    @property
    def late_words(self) -> str:
        """Say how many are past their answer."""
        if not self.late:
            return "None is past its answer"
        return (
            f"{in_words(self.late).capitalize()} {'is past its answer' if self.late == 1 else 'are past their answer'}"
        )


def summary(corridor: Corridor, today: date) -> Summary:
    """Count what is open, what holds, what is late, and who moves next."""
    everything = Finding.objects.filter(corridor=corridor)
    unsettled = list(with_decided(everything.unsettled()).order_by("raised_at"))
    parties = [mover(each.state, each.decided or "") for each in unsettled]  # type: ignore[attr-defined]
    late = [each for each in unsettled if each.due_on < today]
    waits = [
        f"{in_words(number)} wait{'s' if number == 1 else ''} for {words}"
        for party, words in WAITED_FOR.items()
        if (number := parties.count(party))
    ]
    first = everything.order_by("raised_at").values_list("raised_at", flat=True).first()
    return Summary(
        total=everything.count(),
        open=len(unsettled),
        holding=sum(each.grade in BLOCKING_GRADES for each in unsettled),
        late=len(late),
        oldest=next((each for each in late if each.holds), None),
        waits=waits,
        since=first,
    )


class Cause(NamedTuple):
    """One bar of the causes."""

    label: str
    number: int
    share: float
    """Running share up to and with this one, in percent."""
    y: float
    width: float
    few: bool
    """One of those that make half of all."""
    rest: bool

    @property
    def end(self) -> float:
        """Where its figure stands."""
        return round(BAR_START + self.width + 6, 1)


BAR_START = 180.0
BAR_ROW, BAR_LONGEST = 27.0, 260.0


class Causes(NamedTuple):
    """The causes from most to least."""

    bars: list[Cause]
    total: int
    few: int
    made: int
    """How many findings the few make."""
    height: float
    rule: float
    """Where the rule under the few stands."""
    table: list[tuple[str, int, float]]


def causes(corridor: Corridor) -> Causes | None:
    """Return the causes of all findings of a corridor, sorted; None before the first finding."""
    counted = Finding.objects.filter(corridor=corridor).values_list("cause").annotate(number=Count("pk"))
    found = sorted(counted, key=lambda pair: (-pair[1], pair[0]))
    if not found:
        return None
    chart = pareto(labels=[Finding.Cause(cause).label for cause, _ in found], counts=[number for _, number in found])
    table = [(row.label, int(row.count), row.cumulative_percent) for row in chart.rows]
    total = sum(number for _, number, _ in table)
    few = next(place for place, row in enumerate(table, 1) if row[2] >= 50)
    named, rest = (table, []) if len(table) <= FEW + 1 else (table[:FEW], table[FEW:])
    most = max(named[0][1], sum(number for _, number, _ in rest))
    drawn = [
        Cause(label, number, share, place * BAR_ROW, BAR_LONGEST * number / most, place < few, False)
        for place, (label, number, share) in enumerate(named)
    ]
    if rest:
        others = sum(number for _, number, _ in rest)
        label = f"Others, {in_words(len(rest))} cause{'' if len(rest) == 1 else 's'}"
        drawn.append(Cause(label, others, 100.0, len(named) * BAR_ROW, BAR_LONGEST * others / most, False, True))
    made = sum(number for _, number, _ in table[:few])
    return Causes(drawn, total, few, made, len(drawn) * BAR_ROW + 6, few * BAR_ROW, table)


class Week(NamedTuple):
    """Raised and closed in one week, laid out."""

    monday: date
    raised: int
    closed: int
    x: float
    up: float
    down: float


WEEKS, WEEK_WIDTH, HALF = 14, 22.0, 58.0


def weeks(corridor: Corridor, now: datetime) -> list[Week]:
    """Return how many findings were raised and closed in each of the last weeks, the running one last."""
    this = corridor.day(now) - timedelta(days=corridor.day(now).weekday())
    mondays = [this - timedelta(weeks=back) for back in range(WEEKS - 1, -1, -1)]
    counts = []
    for moment in ("raised_at", "closed_at"):
        dated = Finding.objects.filter(corridor=corridor, **{f"{moment}__gte": now - timedelta(weeks=WEEKS + 1)})
        by_week = dated.annotate(week=TruncWeek(moment, tzinfo=corridor.zone)).values_list("week")
        counts.append({week.date(): number for week, number in by_week.annotate(number=Count("pk"))})
    raised, closed = counts
    most = max([*raised.values(), *closed.values(), 1])
    return [
        Week(
            monday,
            raised.get(monday, 0),
            closed.get(monday, 0),
            place * WEEK_WIDTH,
            round(HALF * raised.get(monday, 0) / most, 1),
            round(HALF * closed.get(monday, 0) / most, 1),
        )
        for place, monday in enumerate(mondays)
    ]


class Again(NamedTuple):
    """A requirement that is missed again and again."""

    title: str
    stage: str
    number: int
    foundations: int
    crew: str
    """The crew that it happened to most often, empty where none is known."""
    crew_number: int


def coming_back(corridor: Corridor) -> list[Again]:
    """Return the requirements that were missed most often, and by which crew."""
    missed = Finding.objects.filter(corridor=corridor).exclude(requirement_key="")
    counted = (
        missed.values("requirement_key", "stage")
        .annotate(number=Count("pk"), foundations=Count("foundation", distinct=True), title=Max("title"))
        .filter(number__gte=OFTEN)
        .order_by("-number", "requirement_key")[:6]
    )
    keys = [each["requirement_key"] for each in counted]
    crews: dict[str, tuple[str, int]] = {}
    by_crew = missed.filter(requirement_key__in=keys, crew__isnull=False).values_list("requirement_key", "crew__name")
    for key, crew, number in by_crew.annotate(number=Count("pk")).order_by("-number", "crew__name"):
        crews.setdefault(key, (crew, number))
    titles = {stage.key: stage.title for stage in STAGES}
    return [
        Again(
            each["title"].split(":", 1)[0],
            titles[each["stage"]].lower(),
            each["number"],
            each["foundations"],
            *crews.get(each["requirement_key"], ("", 0)),
        )
        for each in counted
    ]


# ---- one finding


class Happening(NamedTuple):
    """One entry in the life of a finding."""

    entry: Entry
    mark: str
    title: str
    text: str


MARKS = {
    "raise_finding": "finding",
    "decide_disposition": "inspected",
    "answer_finding": "notified",
    "verify_finding": "done",
    "refuse_correction": "returned",
    "close_finding": "finding_closed",
    "reopen_finding": "reopened",
    "assign_finding": "open",
}


ASSIGNED = {
    "crew": "{}",
    "cause": "cause {}",
    "due_on": "answer by {}",
    "cost": "{} dollars",
    "delay_d": "{} working days",
}


def readings(finding: Finding) -> QuerySet[Measurement]:
    """Return the readings behind a finding: those that raised it, and of a requirement every reading at its foundation."""
    behind = Q(finding=finding)
    if finding.requirement_key:
        behind |= Q(foundation=finding.foundation_id, requirement_key=finding.requirement_key)
    return Measurement.objects.filter(behind).select_related("inspection__inspector")


def life(finding: Finding) -> list[Happening]:
    """Return everything the record holds about one finding, in its order."""
    about = Entry.objects.filter(log=finding.corridor_id, mark=finding.foundation.mark, subject=finding.name)
    return [
        Happening(entry, MARKS.get(entry.act, "open"), *_words(entry.act, entry.payload))
        for entry in about.order_by("sequence")
    ]


def _words(act: str, said: dict[str, Any]) -> tuple[str, str]:
    """Return what an entry about a finding says: what was done, and the words given with it."""
    if act == "decide_disposition":
        consent = f" Consent: {said['consent']}." if said.get("consent") else ""
        due = f" Due {date.fromisoformat(said['due_on']):%-d %b %Y}." if said.get("due_on") else ""
        return f"{Disposition.Kind(said['kind']).label} decided", f"{said['reason']}{consent}{due}"
    if act == "assign_finding":
        return "Assigned", ", ".join(words.format(said[name]) for name, words in ASSIGNED.items() if name in said)
    titles = {
        "raise_finding": ("Raised", "title"),
        "answer_finding": ("Correction reported", "done"),
        "verify_finding": ("Verified, conforms", "reading"),
        "refuse_correction": ("Sent back, still nonconforming", "reading"),
        "close_finding": ("Closed", "note"),
        "reopen_finding": ("Reopened", "reason"),
    }
    title, key = titles.get(act, (act.replace("_", " ").capitalize(), "reason"))
    return title, str(said.get(key, ""))


def state_words(finding: Finding, decided: Disposition | None) -> str:
    """Return the state in words; what is left as it is by its disposition has no correction under way."""
    if finding.state == Finding.State.DECIDED and decided is not None and decided.leaves_it:
        return f"{decided.get_kind_display()} decided, to be closed"
    return finding.get_state_display()


def open_moves(finding: Finding, decided: Disposition | None, roles: frozenset[str]) -> list[moves.Move]:
    """Return the moves from this state that these roles may make, without those that the disposition leaves no room for."""
    left = {"answer_finding"} if decided is not None and decided.leaves_it else set()
    if finding.state == Finding.State.DECIDED and not left:
        left = {"close_finding"}
    return [move for move in moves.MOVES if finding.state in move.old and move.roles & roles and move.act not in left]
