"""The corridor's list and plan: filters in the address, bad values beside their field, CSV, a fixed number of queries."""

import csv
import re
from io import StringIO
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from apps.corridor.models import Corridor, Foundation
from apps.people.models import Person
from tests.factories.corridor import bring_in
from tests.factories.findings import raised
from tests.factories.holdpoints import at_stage

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clock")]


def marks(page: str) -> list[str]:
    """Return the marks of the list's rows, in order."""
    return re.findall(r'<th scope="row">\s*<a class="tag"[^>]*>([^<]+)</a>', page)


@pytest.fixture
def ten(corridor: Corridor) -> list[Foundation]:
    """LP-001 to LP-008 and PB-001, PB-002, 120 ft apart, sides in turn."""
    poles = bring_in(corridor, [f"LP-{number:03d}" for number in range(1, 9)])
    return [*poles, *bring_in(corridor, ["PB-001", "PB-002"], "PB1")]


@pytest.fixture
def shown(as_person: Any, corridor: Corridor, office: Person) -> Any:
    """Return the list's page for a query."""

    def get(**query: str) -> str:
        answer = as_person(office).get(reverse("board:corridor", args=[corridor.slug]), query)
        assert answer.status_code == 200
        return str(answer.content.decode())

    return get


def test_the_list_shows_all_up_station(ten: list[Foundation], shown: Any) -> None:
    page = shown()
    assert marks(page) == [each.mark for each in sorted(ten, key=lambda each: each.distance_ft)]
    assert "10 of 10" in page


@pytest.mark.parametrize(
    ("query", "expected"),
    [
        ({"side": "L"}, ["LP-001", "LP-003", "LP-005", "LP-007", "PB-001"]),
        ({"family": "pedestal_base"}, ["PB-001", "PB-002"]),
        ({"word": "pb-00"}, ["PB-001", "PB-002"]),
        ({"stage": "drill"}, ["LP-001"]),
        ({"stage": "layout", "family": "transformer_base", "side": "L"}, ["LP-003", "LP-005", "LP-007"]),
        ({"state": "inspected"}, ["LP-002"]),
        ({"state": "notified"}, ["LP-004"]),
        ({"state": "held"}, ["LP-003"]),
        ({"word": "casing left"}, ["LP-003"]),
        ({"start": "105+00", "to": "107+00"}, ["LP-001", "LP-002"]),
        ({"to": "106+40.00"}, ["LP-001", "LP-002"]),
    ],
)
def test_each_filter_keeps_what_it_says(
    query: dict[str, str], expected: list[str], ten: list[Foundation], shown: Any
) -> None:
    at_stage(ten[0], "layout", "released")
    at_stage(ten[1], "layout", "inspected")
    at_stage(ten[3], "layout", "notified")
    raised(ten[2], stage="layout")
    page = shown(**query)
    assert marks(page) == expected
    assert f"{len(expected)} of 10" in page


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ({"start": "12+3"}, "12+3"),
        ({"to": "soon"}, "soon"),
        ({"side": "middle"}, "middle"),
        ({"crew": "no-crew"}, ""),
        ({"family": "lighthouse"}, "lighthouse"),
    ],
)
def test_a_bad_value_is_said_beside_its_field_and_the_rest_is_kept(
    query: dict[str, str], said: str, ten: list[Foundation], shown: Any
) -> None:
    page = shown(**query, word="LP")
    field = next(iter(query))
    assert f"id_{field}_error" in page
    assert said in page
    assert 'value="LP"' in page


def test_a_reach_that_ends_before_it_begins_is_said(ten: list[Foundation], shown: Any) -> None:
    page = shown(start="110+00", to="105+00")
    assert "id_to_error" in page and "110+00" in page


@pytest.mark.parametrize("sort", ["station", "-station", "mark", "-mark", "offset", "last", "age", "nonsense", "-"])
def test_every_sort_keeps_every_row(sort: str, ten: list[Foundation], shown: Any) -> None:
    assert sorted(marks(shown(sort=sort))) == sorted(each.mark for each in ten)


def test_the_sorted_column_is_marked(ten: list[Foundation], shown: Any) -> None:
    page = shown(sort="-mark")
    assert marks(page)[0] == "PB-002"
    assert 'aria-sort="descending"' in page


def test_the_list_asks_as_many_questions_for_sixty_as_for_three(
    as_person: Any, corridor: Corridor, office: Person
) -> None:
    client, url = as_person(office), reverse("board:corridor", args=[corridor.slug])
    at_stage(bring_in(corridor, ["LP-001"])[0], "base_set", "ready")
    raised(bring_in(corridor, ["LP-002"])[0])
    bring_in(corridor, ["LP-003"])
    with CaptureQueriesContext(
        connection,
    ) as few:
        client.get(url)
    bring_in(corridor, [f"LP-{number:03d}" for number in range(4, 61)])
    with CaptureQueriesContext(connection) as many:
        client.get(url)
    assert len(many) == len(few) <= 20


# ---- CSV


def lines(answer: Any) -> list[dict[str, str]]:
    """Return the rows of a CSV answer."""
    assert answer["Content-Type"].startswith("text/csv")
    return list(csv.DictReader(StringIO(answer.content.decode("utf-8-sig"))))


def test_csv_holds_the_same_rows_as_the_page(
    ten: list[Foundation], as_person: Any, corridor: Corridor, office: Person, shown: Any
) -> None:
    query = {"side": "L", "sort": "-station"}
    answer = as_person(office).get(reverse("board:corridor", args=[corridor.slug]), {**query, "format": "csv"})
    assert [row["mark"] for row in lines(answer)] == marks(shown(**query))
    assert "attachment" in answer["Content-Disposition"]


@pytest.mark.parametrize("first", ["=", "+", "-", "@"])
def test_a_text_cell_that_a_spreadsheet_would_run_gets_an_apostrophe(
    first: str, ten: list[Foundation], as_person: Any, corridor: Corridor, office: Person
) -> None:
    """Cells that begin with = + - @ tab CR are formula triggers: OWASP, CSV Injection."""
    corridor.designs.filter(name="PB1").update(name=f"{first}SUM(A1)")
    answer = as_person(office).get(
        reverse("board:corridor", args=[corridor.slug]), {"format": "csv", "family": "pedestal_base"}
    )
    assert {row["design"] for row in lines(answer)} == {f"'{first}SUM(A1)"}


def test_csv_of_a_bad_filter_is_refused_with_the_page(
    ten: list[Foundation], as_person: Any, corridor: Corridor, office: Person
) -> None:
    answer = as_person(office).get(reverse("board:corridor", args=[corridor.slug]), {"format": "csv", "start": "x"})
    assert answer["Content-Type"].startswith("text/html")
    assert b"id_start_error" in answer.content


# ---- the page itself


def test_a_crew_of_another_corridor_is_no_choice(as_person: Any, corridor: Corridor, office: Person) -> None:
    from tests.factories.corridor import whole_corridor

    other = whole_corridor("other-road")
    bring_in(corridor, ["LP-001"])
    client = as_person(office)
    client.get(reverse("board:corridor", args=[other.slug]))
    page = client.get(reverse("board:corridor", args=[corridor.slug])).content.decode()
    assert str(other.crews.get().pk) not in page
    assert str(corridor.crews.get().pk) in page


def test_an_empty_corridor_says_what_would_stand_there(as_person: Any, corridor: Corridor, office: Person) -> None:
    for page in ("board:corridor", "board:morning"):
        answer = as_person(office).get(reverse(page, args=[corridor.slug]))
        assert answer.status_code == 200
        assert "No foundations yet" in answer.content.decode()
