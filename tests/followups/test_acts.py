"""Follow-ups: who adds and ends them, from which state, and what the record says of it."""

from datetime import timedelta
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from apps.corridor.models import Corridor, Foundation
from apps.followups import acts, moves
from apps.followups.models import FollowUp
from apps.people.models import Person
from apps.record import verify
from apps.record.acts import Refused
from apps.record.ids import uuid7
from apps.record.models import Entry
from tests.factories import findings
from tests.factories.corridor import grant, open_corridor
from tests.factories.followups import added
from tests.factories.people import person
from tests.factories.times import DAY, HOUR, NOW

pytestmark = pytest.mark.django_db
ROLES = ("engineer", "office", "inspector", "foreman", "auditor")
SIGN_IN = {
    "engineer": "r.halvorsen", "office": "p.lindqvist", "inspector": "d.reyes", "foreman": "j.brandt", "auditor": "e.marsh",
}  # fmt: skip


def make(name: str, row: FollowUp, by: Person, **more: Any) -> Any:
    """Make a move of a follow-up, an hour after it was added."""
    arguments: dict[str, dict[str, Any]] = {
        "finish_follow_up": {"how": "The letter is on file"},
        "drop_follow_up": {"reason": "The mill sent it"},
        "postpone_follow_up": {"due_on": row.due_on + timedelta(days=3), "reason": "The mill is closed"},
    }
    given = arguments[name] | more
    return getattr(acts, name)(follow_up=row, by=by, at=NOW + HOUR, client_id=uuid7(), **given)


@pytest.mark.parametrize("role", ROLES)
def test_whoever_works_here_adds_one_and_the_auditor_reads(corridor: Corridor, office: Person, role: str) -> None:
    by = person(SIGN_IN[role])
    if role in moves.ADD_ROLES:
        assert added(corridor, office, by=by).added_by == by
    else:
        with pytest.raises(Refused, match="you are not that today"):
            added(corridor, office, by=by)
        assert not FollowUp.objects.exists()


WHO = [
    (role, whose)
    for role in ROLES
    for whose in ("owner", "adder", "neither")
    if whose != "adder" or role in moves.ADD_ROLES
]


@pytest.mark.parametrize(("role", "whose"), WHO)
@pytest.mark.parametrize("move", moves.MOVES, ids=lambda move: move.act)
def test_every_move_by_every_role_as_owner_as_adder_and_as_neither(
    corridor: Corridor, second_engineer: Person, second_inspector: Person, move: moves.Move, role: str, whose: str
) -> None:
    by = person(SIGN_IN[role])
    other = {"by": second_engineer}
    row = added(corridor, by if whose == "owner" else second_inspector, **({"by": by} if whose == "adder" else other))
    allowed = role in moves.OFFICES or (move.owner and whose == "owner") or (move.adder and whose == "adder")
    before = Entry.objects.count()
    if not allowed:
        with pytest.raises(Refused, match="you are not that today"):
            make(move.act, row, by)
        row.refresh_from_db()
        assert (row.state, Entry.objects.count()) == ("open", before)
        return
    make(move.act, row, by)
    row.refresh_from_db()
    assert row.state == move.new
    entry = Entry.objects.latest("sequence")
    assert (entry.act, entry.subject, entry.role) == (move.act, row.name, role)


@pytest.mark.parametrize("move", moves.MOVES, ids=lambda move: move.act)
@pytest.mark.parametrize("ended", ["finish_follow_up", "drop_follow_up"])
def test_what_is_over_stays_so(
    corridor: Corridor, office: Person, engineer: Person, move: moves.Move, ended: str
) -> None:
    row = added(corridor, office)
    make(ended, row, engineer)
    with pytest.raises(Refused, match="already"):
        make(move.act, row, engineer)


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"text": "  "}, "Say what is to be done"),
        ({"text": "x" * 201}, "201 characters"),
        ({"days": -1}, "lies in the past"),
    ],
)
def test_what_makes_no_sense_is_refused(corridor: Corridor, office: Person, more: dict[str, Any], said: str) -> None:
    with pytest.raises(Refused, match=said):
        added(corridor, office, **more)


def test_it_is_given_to_a_member_of_the_corridor(corridor: Corridor, stranger: Person) -> None:
    with pytest.raises(Refused, match="is no member"):
        added(corridor, stranger)


def test_it_is_about_something_of_its_own_corridor(corridor: Corridor, foundation: Foundation, office: Person) -> None:
    other = open_corridor("calder-road")
    grant(other, office, "office")
    with pytest.raises(Refused, match="another corridor"):
        added(other, office, by=office, foundation=foundation)


def test_about_a_finding_it_is_about_its_foundation_too(foundation: Foundation, office: Person) -> None:
    finding = findings.raised(foundation)
    row = added(foundation.corridor, office, finding=finding)
    assert (row.finding, row.foundation) == (finding, foundation)
    entry = Entry.objects.latest("sequence")
    assert (entry.mark, entry.payload["finding"]) == (foundation.mark, "F-001")


@pytest.mark.parametrize("name", ["finish_follow_up", "drop_follow_up"])
def test_an_end_needs_its_word(corridor: Corridor, office: Person, name: str) -> None:
    row = added(corridor, office)
    word = {"finish_follow_up": "how", "drop_follow_up": "reason"}[name]
    with pytest.raises(Refused, match="Say"):
        make(name, row, office, **{word: "  "})


def test_another_day_keeps_the_one_before_in_the_record(corridor: Corridor, office: Person) -> None:
    row = added(corridor, office)
    make("postpone_follow_up", row, office)
    payload = Entry.objects.latest("sequence").payload
    assert (payload["before"], payload["due_on"]) == (str(row.due_on), str(row.due_on + timedelta(days=3)))
    with pytest.raises(Refused, match="lies in the past"):
        make("postpone_follow_up", row, office, due_on=corridor.day(NOW - DAY))


def test_numbers_run_on_in_each_corridor(corridor: Corridor, office: Person) -> None:
    assert [added(corridor, office).number for _ in range(3)] == [1, 2, 3]


def test_late_is_what_is_to_do_after_its_day(corridor: Corridor, office: Person) -> None:
    late, done, due = (added(corridor, office, days=days) for days in (0, 0, 1))
    make("finish_follow_up", done, office)
    assert list(FollowUp.objects.late(corridor.day(NOW + DAY))) == [late]
    assert set(FollowUp.objects.to_do()) == {late, due}


def test_every_change_of_one_makes_the_pages_new(corridor: Corridor, office: Person) -> None:
    versions = []
    row = added(corridor, office)
    for name in ("postpone_follow_up", "finish_follow_up"):
        make(name, row, office)
        corridor.tally.refresh_from_db()
        versions.append(corridor.tally.version)
    assert versions[0] < versions[1]


def test_the_record_answers_for_it(corridor: Corridor, office: Person) -> None:
    row = added(corridor, office)
    make("finish_follow_up", row, office)
    assert not verify.verify(corridor.pk).faults
    FollowUp.objects.update(ended_how="Something else")
    assert verify.verify(corridor.pk).faults


def test_the_database_refuses_an_end_without_a_word(corridor: Corridor, office: Person) -> None:
    added(corridor, office)
    with pytest.raises(IntegrityError), transaction.atomic():
        FollowUp.objects.update(state="done")
