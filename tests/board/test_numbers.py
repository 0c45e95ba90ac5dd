"""Every number of the morning sheet leads to the rows behind it, and equals a count of them, after any history."""

import re
from collections import Counter
from datetime import date, datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from html.parser import HTMLParser
from typing import Any

import pytest
from django.urls import reverse

from apps.board import queries
from apps.calc.stages import STAGE_KEYS
from apps.corridor.models import Corridor
from apps.findings.models import Finding
from apps.findings.turn import mover
from apps.holdpoints import blockers, past
from apps.holdpoints.models import Decision, HoldPoint
from apps.materials.models import Placement
from apps.people.models import Person
from apps.record.models import Entry
from tests.factories.corridor import bring_in
from tests.factories.history import History

pytestmark = pytest.mark.django_db
STEPS = 120
FREE = frozenset(
    {"sta", "time", "why", "q", "age", "u", "vh", "legend", "oldest", "promise", "rule", "ring", "nb", "held-list"}
)
"""Parts of a detail whose figures are no counts: stations, times, ages, units, names of findings, the total said
again, words for the ear."""
WEEK = re.compile(r"\d+ [A-Z][a-z]{2}(, so far)?|, last 12 weeks")
VOID = frozenset({"br", "img", "input", "meta", "link", "hr"})
FREE_TAGS = frozenset({"svg", "caption", "thead", "a", "h2", "progress", "summary", "time"})


class Page(HTMLParser):
    """The links of a page by class, and the figures of its details that stand outside any link."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.open: list[tuple[str, set[str]]] = []
        self.links: list[tuple[str, str, str]] = []
        self.bare: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: Any) -> None:
        said = dict(attrs)
        kinds = set((said.get("class") or "").split())
        if tag not in VOID:
            self.open.append((tag, kinds))
        if tag == "a" and kinds & {"count", "figure"}:
            self.links.append(("count" if "count" in kinds else "figure", said["href"], ""))

    def handle_startendtag(self, tag: str, attrs: Any) -> None:
        """Drawings close their parts at once: nothing is written in them."""

    def handle_endtag(self, tag: str) -> None:
        while self.open and self.open.pop()[0] != tag:
            pass

    def handle_data(self, data: str) -> None:
        anchor = [kinds for tag, kinds in self.open if tag == "a"]
        if anchor and anchor[-1] & {"count", "figure"}:
            kind, href, text = self.links.pop()
            self.links.append((kind, href, text + data))
        in_detail = any("detail" in kinds and "road" not in kinds for _, kinds in self.open)
        free = any(tag in FREE_TAGS or kinds & FREE for tag, kinds in self.open)
        if in_detail and not free and re.search(r"[1-9]", data):
            self.bare.append(" ".join(data.split()))


@pytest.fixture(params=range(3))
def history(request: Any, corridor: Corridor) -> History:
    """A corridor after random work."""
    return History.played(corridor, 11 + request.param, STEPS)


def asked(client: Any, corridor: Corridor) -> str:
    answer = client.get(reverse("board:morning", args=[corridor.slug]))
    assert answer.status_code == 200
    return str(answer.content.decode())


def test_every_number_of_the_page_leads_to_its_rows(
    history: History, as_person: Any, office: Person, clock: Any
) -> None:
    clock.move_to(history.at)
    client = as_person(office)
    page = Page(asked(client, history.corridor))
    every_count_leads_to_as_many_rows(client, page)
    every_other_figure_stands_where_it_leads_to(client, page)
    no_figure_stands_without_a_link(page, {str(crew) for crew in history.corridor.crews.all()})


def every_count_leads_to_as_many_rows(client: Any, page: Page) -> None:
    counts = [(href, text) for kind, href, text in page.links if kind == "count"]
    assert len(counts) > 15
    for href, text in counts:
        target = client.get(href)
        assert target.status_code == 200, href
        listed = re.search(r'data-count="(\d+)"', target.content.decode())
        number = re.search(r"\d+", text)
        assert listed and number, (href, text)
        assert int(number[0]) == int(listed[1]), (href, text)


def every_other_figure_stands_where_it_leads_to(client: Any, page: Page) -> None:
    figures = [(href, text) for kind, href, text in page.links if kind == "figure"]
    assert len(figures) > 5
    for href, text in figures:
        target = re.sub(r"<[^>]+>", " ", client.get(href).content.decode())
        for figure in re.findall(r"\d+(?:\.\d+)?", text):
            assert re.search(rf"(?<![\d.]){re.escape(figure)}(?![\d.]*\d)", target), (href, text, figure)


def no_figure_stands_without_a_link(page: Page, names: set[str]) -> None:
    bare = [each for each in page.bare if not WEEK.fullmatch(each)]
    bare = [each for each in bare if each not in names]
    assert not bare, "; ".join(bare)


# ---- counted again, one row at a time, with nothing of the board's


def everything(corridor: Corridor) -> list[HoldPoint]:
    """Every hold point of a foundation that is not given up."""
    rows = HoldPoint.objects.filter(corridor=corridor, foundation__abandoned_at=None)
    return list(rows.select_related("foundation__design", "foundation__corridor").order_by("foundation_id", "place"))


def next_of(points: list[HoldPoint]) -> list[HoldPoint]:
    """For each foundation the lowest hold point that is not released; the last one where all are."""
    found: dict[Any, HoldPoint] = {}
    for point in points:
        kept = found.get(point.foundation_id)
        if kept is None or kept.state == "released":
            found[point.foundation_id] = point
    return list(found.values())


def open_ones(corridor: Corridor) -> list[Finding]:
    return [each for each in Finding.objects.filter(corridor=corridor) if each.state != "closed"]


def holding(corridor: Corridor) -> set[Any]:
    return {each.foundation_id for each in open_ones(corridor) if each.grade in ("major", "critical")}


def test_every_number_is_a_count_of_its_rows(history: History) -> None:
    corridor = Corridor.objects.select_related("edition", "tally").get(pk=history.corridor.pk)
    sheet = queries.morning(corridor, history.at)
    for counted_again in (
        the_flow_is_a_count_of_hold_points,
        percent_and_its_change_are_what_the_record_says,
        findings_and_who_is_waited_for,
        what_may_be_built_and_what_is_asked_for,
        weeks_crews_and_concrete_are_counts_of_decisions_and_tickets,
    ):
        counted_again(corridor, sheet, history.at)


def the_flow_is_a_count_of_hold_points(corridor: Corridor, sheet: queries.Morning, at: datetime) -> None:
    points, held = everything(corridor), holding(corridor)
    for column in sheet.flow:
        states = Counter(each.state for each in points if each.stage == column.stage.key)
        assert column.released == states["released"]
        assert (column.inspected, column.notified, column.ready) == (
            states["inspected"],
            states["notified"],
            states["ready"],
        )
        assert column.returned == states["returned"] + states["reopened"]
        assert column.held == sum(
            each.foundation_id in held for each in next_of(points) if each.stage == column.stage.key
        )
    foundations = {each.foundation_id for each in points}
    assert sheet.tally.foundations == len(foundations)
    assert sheet.held == len(held & foundations)
    assert sheet.contract.to_make == sum(each.state != "released" for each in points)


def percent_and_its_change_are_what_the_record_says(corridor: Corridor, sheet: queries.Morning, at: datetime) -> None:
    """Percent now from the rows; percent as the last working morning began from the entries alone, replayed."""
    assert sheet.percent == queries.tenth(weighed(corridor, Counter(
        each.stage for each in everything(corridor) if each.state == "released"
    ), sheet.tally.foundations))  # fmt: skip
    morning = corridor.day_begins(queries.last_working_day(corridor, corridor.day(at)))
    of_marks: dict[str, list[Entry]] = {}
    for entry in Entry.objects.of_log(corridor.pk).filter(received_at__lt=morning).exclude(mark=""):
        of_marks.setdefault(entry.mark, []).append(entry)
    stood = [then for then in map(past.stood, of_marks.values()) if then.there and not then.abandoned]
    released = Counter(key for then in stood for key, point in then.points.items() if point.state == "released")
    before = weighed(corridor, released, len(stood))
    assert sheet.change is not None
    assert abs(Fraction(sheet.change) - (weighed_now(sheet) - before)) <= Fraction(1, 10)


def weighed(corridor: Corridor, released: Counter[str], foundations: int) -> Fraction:
    whole = sum(corridor.weights[key] for key in STAGE_KEYS) * foundations
    return Fraction(100 * sum(corridor.weights[key] * released[key] for key in STAGE_KEYS), whole or 1)


def weighed_now(sheet: queries.Morning) -> Fraction:
    return Fraction(sheet.percent)


def findings_and_who_is_waited_for(corridor: Corridor, sheet: queries.Morning, at: datetime) -> None:
    today, found = corridor.day(at), open_ones(corridor)
    assert sheet.findings == len(found)
    assert sheet.holding_count == sum(each.grade in ("major", "critical") for each in found)
    for row in sheet.grades:
        ages = [(today - corridor.day(each.raised_at)).days for each in found if each.grade == row.grade]
        bands = [sum(0 <= age <= 3 for age in ages), sum(4 <= age <= 7 for age in ages)]
        bands += [sum(8 <= age <= 14 for age in ages), sum(age > 14 for age in ages)]
        assert [cell.number for cell in row.cells] == bands
    now = next_of(everything(corridor))
    turns = Counter(mover(each.state, decided(each)) for each in found)
    states = Counter(each.state for each in now)
    assert [party.number for party in sheet.parties] == [
        states["inspected"], turns["engineer"], states["notified"], turns["inspector"],
        states["returned"] + states["reopened"], turns["contractor"],
    ]  # fmt: skip
    promise = timedelta(hours=corridor.release_promise_hours)
    assert sheet.parties[0].late == sum(each.state == "inspected" and at - each.since > promise for each in now)
    assert sum(party.late for party in (sheet.parties[1], sheet.parties[3], sheet.parties[5])) == sum(
        each.due_on < today for each in found
    )


def decided(finding: Finding) -> str:
    last = finding.dispositions.order_by("at", "id").last()
    return last.kind if last else ""


def what_may_be_built_and_what_is_asked_for(corridor: Corridor, sheet: queries.Morning, at: datetime) -> None:
    evening = corridor.day_ends(corridor.day(at)).replace(microsecond=0)
    now = next_of(everything(corridor))
    free = [each for each in now if each.state == "ready"]
    free = [each for each in free if not blockers.to_build(blockers.situation(each, at), evening)]
    assert sheet.may_build == len(free)
    assert Counter({stage.key: count for stage, count in sheet.build_by_stage}) == Counter(each.stage for each in free)
    today = corridor.day(at)
    asked_for = [corridor.day(each.asked_for) for each in now if each.state == "notified" and each.asked_for]
    assert sheet.notified_today == sum(day <= today for day in asked_for)
    assert sheet.notified_later == sum(day > today for day in asked_for)


def weeks_crews_and_concrete_are_counts_of_decisions_and_tickets(
    corridor: Corridor, sheet: queries.Morning, at: datetime
) -> None:
    rows = Decision.objects.filter(inspection__hold_point__corridor=corridor).select_related("inspection__crew")
    made = [
        (corridor.day(each.at), str(each.inspection.crew or "no crew named")) for each in rows if each.kind != "return"
    ]
    for bar in sheet.weeks.bars:
        assert bar.number == sum(bar.monday <= day < bar.monday + timedelta(days=7) for day, _ in made)
    monday = sheet.weeks.running.monday
    for line in sheet.output:
        assert line.this_week == sum(day >= monday and crew == line.crew for day, crew in made)
        assert line.last_week == sum(0 < (monday - day).days <= 7 and crew == line.crew for day, crew in made)
    assert sum(line.this_week for line in sheet.output) == sheet.weeks.running.number
    assert sum(line.last_week for line in sheet.output) == sheet.weeks.last_whole.number
    placed = [
        each for each in Placement.objects.filter(load__corridor=corridor).select_related("load")
        if corridor.day(each.load.discharged_at) >= monday
    ]  # fmt: skip
    assert sheet.concrete.shafts == len({each.foundation_id for each in placed})
    assert sheet.concrete.placed_yd3 == sum((each.volume_yd3 for each in placed), Decimal(0))


# ---- the page of what was done


def test_a_span_ends_where_it_begins_or_later(corridor: Corridor, as_person: Any, office: Person) -> None:
    bring_in(corridor, ["LP-001"])
    address = reverse("board:done", args=[corridor.slug])
    answer = as_person(office).get(address, {"first": "2026-03-09", "last": "2026-03-02"})
    assert "The span ends before it begins" in answer.content.decode()
    assert as_person(office).get(address, {"first": "yesterday"}).status_code == 200


def test_a_day_of_the_corridor_is_not_a_day_of_greenwich(history: History, as_person: Any, office: Person) -> None:
    """Each local day's list has that day's releases; all days together have every one once, on the page and in the file."""
    corridor, client = history.corridor, as_person(office)
    rows = Decision.objects.exclude(kind="return").filter(inspection__hold_point__corridor=corridor)
    days: Counter[date] = Counter(corridor.day(each.at) for each in rows)
    address = reverse("board:done", args=[corridor.slug])
    for day, number in days.items():
        page = client.get(address, {"first": day.isoformat(), "last": day.isoformat()}).content.decode()
        assert f'data-count="{number}"' in page
    assert f'data-count="{sum(days.values())}"' in client.get(address).content.decode()

    lines = client.get(address, {"format": "csv"}).content.decode().splitlines()
    assert lines[0].startswith("released,mark,station,side,hold point")
    assert len(lines) - 1 == sum(days.values())
