"""From a schedule's lines to foundations: each fault named, nothing half done."""

from decimal import Decimal
from uuid import uuid4

import pytest
from django.db import connection

from apps.calc.stages import STAGE_KEYS
from apps.corridor.acts import add_alignment
from apps.corridor.models import Corridor, Foundation
from apps.corridor.schedule_file import Line
from apps.holdpoints import recount, schedule
from apps.holdpoints.schedule import check, row_for_successor, take_in_schedule
from apps.people.models import Person
from apps.record.acts import OtherPayload, Refused
from apps.record.models import Entry
from tests.factories.corridor import ALIGNMENT, cells
from tests.factories.doing import standing
from tests.factories.times import NOW


def line(corridor: Corridor, number: int = 2, mark: str = "LP-001", **changed: str) -> Line:
    """Return a line that can be brought in, with some cells changed."""
    return Line(
        number,
        {
            **cells(mark, corridor.designs.get(name="LP1"), number),
            **{k.replace("_", " "): v for k, v in changed.items()},
        },
    )


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"mark": "LP 1"}, "expected at most 20 letters"),
        ({"mark": ""}, "no mark"),
        ({"design": "LP9"}, 'Design "LP9" is not known here'),
        ({"alignment": "Ramp"}, 'Alignment "Ramp" is not known here'),
        ({"side": "north"}, 'Side "north" is not read'),
        ({"station": "999+00.00"}, "Station:"),
        ({"station": "12+5"}, "Station:"),
        ({"station": "١٢"}, "Station:"),
        ({"depth": "80 ft"}, "does not fit design LP1"),
        ({"depth": "96 mm"}, "does not fit design LP1"),
        ({"offset": "3800 ft"}, "more than 300 ft"),
        ({"offset": "-3 ft"}, "Offset:"),
        ({"offset": "8500"}, "8,500 ft is more than 300 ft: look at its unit again"),
        ({"offset": "1,200"}, "Is it 1200 or 1.200?"),
        ({"offset": ""}, "Offset: Nothing is typed"),
        ({"depth": "96"}, "Depth 96 ft 0 in does not fit design LP1: expected 3 ft 0 in to 12 ft 0 in"),
        ({"depth": "0"}, "does not fit design LP1"),
        ({"depth": "7/0"}, "Depth: "),
        ({"pole_height": "tall"}, "Pole height:"),
        ({"pole_height": "40 in"}, "less than 6 ft: look at its unit again"),
        ({"pole_height": "480"}, "more than 150 ft: look at its unit again"),
        ({"arm": "96"}, "more than 60 ft"),
        ({"circuit": "C" * 41}, "Circuit has 41 characters"),
        ({"mark": "L" * 21}, "at most 20"),
        ({"mark": "LP\u2013001"}, "expected at most 20 letters"),
        ({"side": ""}, "Side"),
        ({"station": ""}, "Station:"),
        ({"": "by the gate"}, "stands past the last column"),
    ],
)
def test_a_wrong_cell_is_named(corridor: Corridor, changed: dict[str, str], said: str) -> None:
    (row,) = check(corridor, [line(corridor, **changed)])
    assert row.foundation is None
    assert said in " ".join(row.faults)


@pytest.mark.parametrize(
    ("written", "side"), [("L", "L"), ("Lt.", "L"), ("left", "L"), ("R", "R"), ("RT", "R"), ("Right", "R")]
)
def test_sides_are_read_as_people_write_them(corridor: Corridor, written: str, side: str) -> None:
    (row,) = check(corridor, [line(corridor, side=written)])
    assert row.foundation is not None
    assert row.foundation.side == side


def test_depth_is_kept_in_inches_whatever_it_was_written_in(corridor: Corridor) -> None:
    rows = check(corridor, [line(corridor, 2, "LP-001", depth="8 ft"), line(corridor, 3, "LP-002", depth="96 in")])
    assert [row.foundation.depth_in for row in rows if row.foundation] == [Decimal(96), Decimal(96)]


def test_a_mark_that_stands_twice_in_the_file_names_the_first_line(corridor: Corridor) -> None:
    rows = check(corridor, [line(corridor, 2), line(corridor, 3)])
    assert rows[0].foundation is not None
    assert rows[1].faults == ["Mark LP-001 stands in line 2 already."]


def test_a_mark_of_the_corridor_is_refused(corridor: Corridor, foundation: Foundation) -> None:
    (row,) = check(corridor, [line(corridor, mark=foundation.mark)])
    assert row.faults == [f"Mark {foundation.mark} stands in the corridor already."]


def test_a_wrong_line_tells_everything_that_is_wrong_with_it(corridor: Corridor) -> None:
    (row,) = check(corridor, [line(corridor, mark="LP 1", side="up", depth="deep", design="LP1", station="1+1")])
    assert [fault.split()[0].rstrip(":") for fault in row.faults] == ["Mark", "Side", "Depth", "Station"]


def test_two_foundations_at_one_place_are_refused(corridor: Corridor) -> None:
    lines = [line(corridor, 2, "LP-001"), line(corridor, 2, "LP-002"), line(corridor, 2, "LP-003", side="left")]
    assert [row.faults for row in check(corridor, lines)] == [
        [],
        ["LP-002 stands at the same station, side and offset as LP-001."],
        [],
    ]


@pytest.mark.parametrize(
    ("cell", "feet"), [("28", "28"), ("28 ft", "28"), ("28'", "28"), ("8.5 m", "27.89"), ("28,5", "28.5")]
)
def test_an_offset_is_kept_in_feet_as_its_entry_says_it(
    corridor: Corridor, office: Person, cell: str, feet: str
) -> None:
    take_in_schedule(corridor=corridor, lines=[line(corridor, offset=cell)], by=office, at=NOW, client_id=uuid4())
    made, entry = Foundation.objects.get(), Entry.objects.get(act="bring_in_foundation")
    assert made.offset_ft == Decimal(feet) == Decimal(entry.payload["offset_ft"])


# ---- stations and the equations of an alignment


@pytest.fixture
def equations(corridor: Corridor, admin: Person) -> Corridor:
    """The corridor with two more alignments: "Gap" jumps ahead, on "Twice" the stations 118+00 to 120+00 occur twice."""
    for name, back, ahead in (("Gap", "120+00", "122+00"), ("Twice", "120+00", "118+00")):
        definition = {**ALIGNMENT, "equations": [{"back": back, "ahead": ahead}]}
        add_alignment(corridor=corridor, name=name, definition=definition, by=admin, at=NOW, client_id=uuid4())
    return corridor


@pytest.mark.parametrize(
    ("alignment", "station", "said"),
    [
        ("Parkway", "99+99.99", "99+99.99 is off the alignment, which runs 100+00.00 to 400+00.00"),
        ("Parkway", "400+00.01", "is off the alignment"),
        ("Gap", "121+00", "121+00.00 does not exist: the equation 120+00.00 back = 122+00.00 ahead leaves a gap there"),
        ("Twice", "119+00", "119+00.00 occurs 2 times"),
    ],
)
def test_a_station_that_is_nowhere_or_twice_is_refused(
    equations: Corridor, alignment: str, station: str, said: str
) -> None:
    (row,) = check(equations, [line(equations, alignment=alignment, station=station)])
    assert row.foundation is None
    assert row.faults[0].startswith("Station: ")
    assert said in row.faults[0]


@pytest.mark.parametrize(
    ("alignment", "station", "along"),
    [
        ("parkway", "100+00", "0"),
        ("Parkway", "400+00.00", "30000"),
        ("Parkway", "11240", "1240"),
        ("Gap", "122+50", "2050"),
        ("Twice", "119+00 back", "1900"),
        ("Twice", "119+00 Ahead", "2100"),
    ],
)
def test_a_station_is_found_along_its_alignment(equations: Corridor, alignment: str, station: str, along: str) -> None:
    # The equations take 200 ft of labels away, or give them twice: distance = station - 100+00 -+ 200 ft ahead of them.
    (row,) = check(equations, [line(equations, alignment=alignment, station=station)])
    assert row.foundation is not None, row.faults
    assert row.foundation.distance_ft == Decimal(along)


@pytest.mark.parametrize("where", ["back", "ahead"])
def test_a_successor_of_a_foundation_whose_station_occurs_twice_stands_at_the_same_one(
    equations: Corridor, office: Person, where: str
) -> None:
    lines = [line(equations, alignment="Twice", station=f"119+00 {where}")]
    take_in_schedule(corridor=equations, lines=lines, by=office, at=NOW, client_id=uuid4())
    old = Foundation.objects.get()
    made = row_for_successor(old, {"mark": "LP-001A", "offset": "31 ft"})
    assert (made.distance_ft, made.offset_ft) == (old.distance_ft, Decimal(31))


def test_checking_writes_nothing(corridor: Corridor) -> None:
    before = Entry.objects.count()
    check(corridor, [line(corridor)])
    assert (Foundation.objects.count(), Entry.objects.count()) == (0, before)


def test_one_wrong_line_keeps_all_out(corridor: Corridor, office: Person) -> None:
    lines = [line(corridor, 2, "LP-001"), line(corridor, 3, "LP-002", side="up")]
    with pytest.raises(Refused, match="Line 3: Side"):
        take_in_schedule(corridor=corridor, lines=lines, by=office, at=NOW, client_id=uuid4())
    assert not Foundation.objects.exists()


def test_a_schedule_of_wrong_lines_only_is_refused_even_if_they_may_be_skipped(
    corridor: Corridor, office: Person
) -> None:
    before = standing(corridor)
    with pytest.raises(Refused, match="No line of the schedule can be brought in"):
        take_in_schedule(
            corridor=corridor, lines=[line(corridor, side="up")], by=office, at=NOW, client_id=uuid4(), skip_bad=True
        )
    assert standing(corridor) == before


def test_wrong_lines_are_skipped_when_the_person_says_so(corridor: Corridor, office: Person) -> None:
    lines = [line(corridor, 2, "LP-001"), line(corridor, 3, "LP-002", side="up")]
    answer = take_in_schedule(corridor=corridor, lines=lines, by=office, at=NOW, client_id=uuid4(), skip_bad=True)
    assert answer == {"made": 1, "skipped": [3]}
    assert list(Foundation.objects.values_list("mark", flat=True)) == ["LP-001"]


def test_foundations_come_with_hold_points_counts_and_an_entry_each(corridor: Corridor, office: Person) -> None:
    lines = [line(corridor, 2, "LP-001"), line(corridor, 3, "LP-002")]
    take_in_schedule(corridor=corridor, lines=lines, by=office, at=NOW, client_id=uuid4())
    made = Foundation.objects.get(mark="LP-002")
    states = list(made.hold_points.order_by("place").values_list("stage", "state"))
    assert states == [("layout", "ready"), *((stage, "not_ready") for stage in STAGE_KEYS[1:])]
    corridor.tally.refresh_from_db()
    assert corridor.tally.foundations == 2
    assert recount.differences(corridor) == []
    assert Entry.objects.filter(act="bring_in_foundation").count() == 2


def test_the_same_schedule_sent_twice_is_brought_in_once(corridor: Corridor, office: Person) -> None:
    lines, client_id = [line(corridor)], uuid4()
    first = take_in_schedule(corridor=corridor, lines=lines, by=office, at=NOW, client_id=client_id)
    assert take_in_schedule(corridor=corridor, lines=lines, by=office, at=NOW, client_id=client_id) == first
    with pytest.raises(OtherPayload):
        take_in_schedule(
            corridor=corridor, lines=[line(corridor, mark="LP-009")], by=office, at=NOW, client_id=client_id
        )
    assert Foundation.objects.count() == 1


@pytest.mark.parametrize("role", ["inspector", "foreman", "auditor"])
def test_a_schedule_is_the_offices_or_the_engineers(
    corridor: Corridor, role: str, request: pytest.FixtureRequest
) -> None:
    with pytest.raises(Refused, match="project office"):
        take_in_schedule(
            corridor=corridor, lines=[line(corridor)], by=request.getfixturevalue(role), at=NOW, client_id=uuid4()
        )


def test_many_at_once_are_counted_by_the_database(
    corridor: Corridor, office: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Both ways bring in the same; on PostgreSQL its planner knows of the new rows at once."""
    monkeypatch.setattr(schedule, "MANY", 2)
    lines = [line(corridor, 2, "LP-001"), line(corridor, 3, "LP-002")]
    take_in_schedule(corridor=corridor, lines=lines, by=office, at=NOW, client_id=uuid4())
    assert corridor.foundations.count() == 2
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT reltuples FROM pg_class WHERE relname = 'holdpoints_holdpoint'")
            assert cursor.fetchone() == (12,)
