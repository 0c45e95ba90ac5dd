"""Strip, plan and list on a long road: what a reach says is what its page lists; pages and queries stay bounded; nobody is lost."""

import re
from html import unescape
from typing import Any

import pytest
from django.db import connection
from django.db.models.query import QuerySet
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from apps.board.plan import Plan, plan
from apps.board.road import courses
from apps.board.rows import Row, next_points, open_findings, rows
from apps.corridor import acts
from apps.corridor.models import Corridor, Foundation
from apps.people.models import Person
from apps.record.ids import uuid7
from tests.factories.corridor import ALIGNMENT, bring_in, member
from tests.factories.crowd import crowd
from tests.factories.findings import raised
from tests.factories.holdpoints import at_stage
from tests.factories.times import NOW, START

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clock")]

LINK = re.compile(r'<a href="([^"]+)" aria-label="([^"]+)">')
COUNT = re.compile(r": (\d+) foundations?\b")


@pytest.fixture
def page(as_person: Any, corridor: Corridor, office: Person) -> Any:
    """Return a page of the corridor: `page("corridor", state="held")`, or by its address."""

    def get(name: str, **query: str) -> str:
        address = name if name.startswith("/") else reverse(f"board:{name}", args=[corridor.slug])
        answer = as_person(office).get(address, query or None)
        assert answer.status_code == 200
        return str(answer.content.decode())

    return get


def listed(page: str) -> int:
    match = re.search(r'data-count="(\d+)"', page)
    assert match
    return int(match[1])


def drawings(page: str) -> list[list[tuple[str, str]]]:
    """Return address and name of every link of every drawing of a page: the plan, then the strip for wall, desk and hand."""
    parts = page.split("data-along")[1:]
    return [[(unescape(a), unescape(b)) for a, b in LINK.findall(part.split("</svg>")[0])] for part in parts]


def rows_of(corridor: Corridor) -> list[Row]:
    return rows(next_points(corridor), open_findings(corridor), corridor, NOW)


def planned(corridor: Corridor, bounds: tuple[float, float] | None = None) -> Plan:
    every = rows_of(corridor)
    inside = [row for row in every if bounds is None or bounds[0] <= row.foundation.station_ft <= bounds[1]]
    drawn = plan(courses(corridor, inside, bounds), {row.foundation.pk for row in inside}, None)
    assert drawn is not None
    return drawn


# ---- plan


def test_the_plan_of_a_short_road_has_a_square_for_each_foundation_that_leads_to_it(corridor: Corridor) -> None:
    made = crowd(corridor, 150)
    drawn = planned(corridor)
    assert drawn.blocks == [] and "square" in drawn.fact
    marks = [re.search(r"/foundations/([^/]+)/", square.href) for square in drawn.squares]
    assert [match[1] for match in marks if match] == [each.mark for each in made]


@pytest.mark.parametrize("count", [2000, 5000])
def test_the_plan_of_a_long_road_has_blocks_in_which_every_foundation_stands_once(
    corridor: Corridor, count: int
) -> None:
    made = crowd(corridor, count)
    drawn = planned(corridor)
    assert drawn.squares == [] and "block" in drawn.fact
    assert len(drawn.blocks) <= 100
    told = [spot.row.foundation.pk for block in drawn.blocks for spot in block.reach.spots]  # type: ignore[attr-defined]
    assert len(told) == len(set(told)) == count
    assert sum(block.held for block in drawn.blocks) == sum(row.held for row in rows_of(corridor))
    assert {spot.side for block in drawn.blocks for spot in block.reach.spots if block.reach.side == "L"} == {"L"}
    assert len(made) == count


def test_a_reach_of_a_long_road_is_drawn_one_level_nearer(corridor: Corridor) -> None:
    crowd(corridor, 2000)
    near = planned(corridor, (12_000, 12_999.99))
    assert near.blocks == [] and len(near.squares) == 66
    assert all(0 < float(square.outline[1:].split()[0]) < 1200 for square in near.squares)


def test_a_block_is_filled_as_far_as_is_released(corridor: Corridor) -> None:
    crowd(corridor, 2000)
    blocks = planned(corridor).blocks
    assert blocks[0].reach.share == 1 and blocks[0].filled == blocks[0].outline
    assert blocks[-1].reach.share < 0.1 and blocks[-1].filled != blocks[-1].outline


# ---- pages


def test_what_a_reach_says_is_what_its_page_lists(corridor: Corridor, page: Any) -> None:
    crowd(corridor, 2000)
    plan_links, _, desk, _ = drawings(page("corridor"))
    assert sum(int(COUNT.findall(name)[0]) for _, name in plan_links) == 2000
    assert sum(int(COUNT.findall(name)[0]) for _, name in desk) == 2000
    for address, name in [*plan_links[::9], *desk[::9]]:
        assert listed(page(address)) == int(COUNT.findall(name)[0]), name


def test_a_reach_keeps_what_else_the_list_is_limited_to(corridor: Corridor, page: Any) -> None:
    crowd(corridor, 2000)
    whole = page("corridor", state="ready", side="L", sort="-age")
    _, _, desk, _ = drawings(whole)
    assert sum(int(COUNT.findall(name)[0]) for _, name in desk) == listed(whole) < 2000
    address, name = desk[1]
    assert "state=ready" in address and "side=L" in address and "sort=-age" in address
    assert listed(page(address)) == int(COUNT.findall(name)[0])


@pytest.mark.parametrize(
    "query", [{"stage": "cage"}, {"state": "held"}, {"finding": "minor"}, {"point": "pour.inspected"}]
)
def test_every_filter_limits_strip_plan_and_list_alike(corridor: Corridor, page: Any, query: dict[str, str]) -> None:
    crowd(corridor, 900)
    whole = page("corridor", **query)
    for links in drawings(whole):
        told = sum(int(COUNT.findall(name)[0]) if COUNT.findall(name) else 1 for _, name in links)
        assert told == listed(whole) > 0


def test_a_crew_limits_the_strip_too(corridor: Corridor, page: Any) -> None:
    crowd(corridor, 150)
    acts.add_crew(corridor=corridor, name="Crew 2", by=member(corridor, "office"), at=START, client_id=uuid7())
    other = corridor.crews.get(name="Crew 2")
    Foundation.objects.filter(corridor=corridor, mark__in=["LP-00001", "LP-00002"]).update(crew=other)
    whole = page("corridor", crew=str(other.pk))
    assert listed(whole) == 2
    assert [len(links) for links in drawings(whole)] == [2, 2, 2, 2]


@pytest.mark.parametrize("finding", ["open", "minor", "major", "critical"])
def test_the_finding_filter_keeps_open_findings_of_a_grade(corridor: Corridor, page: Any, finding: str) -> None:
    first, second, _ = bring_in(corridor, ["LP-001", "LP-002", "LP-003"])
    raised(first, stage="layout", grade="minor")
    raised(second, stage="layout", grade="major")
    assert listed(page("corridor", finding=finding)) == {"open": 2, "minor": 1, "major": 1, "critical": 0}[finding]


def test_a_short_road_shows_the_others_faint_and_without_links(corridor: Corridor, page: Any) -> None:
    crowd(corridor, 40)
    whole = page("corridor", side="L")
    assert [len(links) for links in drawings(whole)] == [20, 20, 20, 20]
    assert whole.count('<g class="faint">') == 20


def test_two_alignments_with_the_same_stations_are_kept_apart(corridor: Corridor, page: Any) -> None:
    acts.add_alignment(
        corridor=corridor, name="Ramp", definition={**ALIGNMENT, "start_n": "90400"}, crossings=[],
        by=member(corridor, "office"), at=START, client_id=uuid7(),
    )  # fmt: skip
    ramp = corridor.alignments.get(name="Ramp")
    made = crowd(corridor, 1200, alignment=corridor.alignments.get(name="Parkway"))
    Foundation.objects.filter(pk__in=[each.pk for each in made[::2]]).update(alignment=ramp)
    links = [link for drawing in drawings(page("corridor")) for link in drawing]
    assert {f"alignment={each.pk}" in address for address, _ in links for each in [ramp]} == {True, False}
    for address, name in links[::25]:
        assert listed(page(address)) == int(COUNT.findall(name)[0]), name


@pytest.mark.parametrize("name", ["morning", "corridor"])
def test_a_long_road_makes_no_heavier_page_and_no_further_query(
    corridor: Corridor, as_person: Any, office: Person, name: str
) -> None:
    client, url = as_person(office), reverse(f"board:{name}", args=[corridor.slug])
    crowd(corridor, 500)
    client.get(url)
    with CaptureQueriesContext(connection) as few:
        client.get(url)
    crowd(corridor, 2000, first=500)
    with CaptureQueriesContext(connection) as many:
        answer = client.get(url)
    assert len(many) == len(few)
    assert len(answer.content) < 700_000


def test_the_table_beside_a_long_strip_lists_reaches_that_sum_to_all(corridor: Corridor, page: Any) -> None:
    crowd(corridor, 2000)
    table = page("morning").split('<table class="table reaches">')[1].split("</table>")[0]
    lines = [[int(each) for each in re.findall(r">(\d+)<", row)] for row in table.split("<tr>")[2:]]
    assert sum(line[0] for line in lines) == 2000
    assert all(line[0] == sum(line[1:]) for line in lines)


# ---- what it costs


def test_the_lowest_hold_point_is_found_by_its_own_index(corridor: Corridor) -> None:
    """By an index on the corridor alone every hold point would be held against every other: the square of the road's length."""
    if connection.vendor != "sqlite":
        pytest.skip("PostgreSQL chooses by what it counted in the tables")
    crowd(corridor, 60)
    points: QuerySet[Any] = next_points(corridor)
    assert "hold_point_of_foundation (foundation_id=? AND place<?)" in points.explain()


def test_what_replaces_an_abandoned_one_is_said_and_costs_one_query(
    corridor: Corridor, django_assert_num_queries: Any
) -> None:
    first, second, third = bring_in(corridor, ["LP-001", "LP-002", "LP-003"])
    at_stage(third, "layout", "ready")
    Foundation.objects.filter(pk=first.pk).update(abandoned_at=NOW, abandoned_why="Rock at 3 ft")
    Foundation.objects.filter(pk=second.pk).update(abandoned_at=NOW, abandoned_why="Moved.")
    Foundation.objects.filter(pk=third.pk).update(replaces=first)
    made = {row.foundation.mark: row for row in rows_of(corridor)}
    with django_assert_num_queries(0):
        assert made["LP-001"].way.text == "Abandoned: Rock at 3 ft; LP-003 replaces it"
        assert made["LP-002"].way.text == "Abandoned: Moved"
