"""From a schedule's lines to foundations: each fault named, nothing half done."""

from decimal import Decimal
from uuid import uuid4

import pytest

from apps.calc.stages import STAGE_KEYS
from apps.corridor.models import Corridor, Foundation
from apps.corridor.schedule_file import Line
from apps.holdpoints import recount
from apps.holdpoints.schedule import check, take_in_schedule
from apps.people.models import Person
from apps.record.acts import OtherPayload, Refused
from apps.record.models import Entry
from tests.factories.corridor import cells
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
        ({"mark": "LP 1"}, "is not read: expected letters"),
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
        ({"pole_height": "tall"}, "Pole height:"),
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


def test_checking_writes_nothing(corridor: Corridor) -> None:
    before = Entry.objects.count()
    check(corridor, [line(corridor)])
    assert (Foundation.objects.count(), Entry.objects.count()) == (0, before)


def test_one_wrong_line_keeps_all_out(corridor: Corridor, office: Person) -> None:
    lines = [line(corridor, 2, "LP-001"), line(corridor, 3, "LP-002", side="up")]
    with pytest.raises(Refused, match="Line 3: Side"):
        take_in_schedule(corridor=corridor, lines=lines, by=office, at=NOW, client_id=uuid4())
    assert not Foundation.objects.exists()


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
