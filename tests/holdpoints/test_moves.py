"""The table of moves is the whole truth: every state, role and act is tried, and what the table does not list is refused."""

from collections.abc import Callable
from functools import partial
from typing import Any

import pytest
from django.db import transaction

from apps.corridor.access import Role
from apps.corridor.models import Corridor, Foundation
from apps.findings import acts as finding_acts
from apps.findings import moves as finding_moves
from apps.findings.models import Finding
from apps.holdpoints import acts, moves
from apps.holdpoints.models import HoldPoint
from apps.people.models import Person
from apps.record.acts import Refused
from apps.record.ids import uuid7
from tests.factories import people
from tests.factories.corridor import member
from tests.factories.doing import do, hold_point_acts, standing
from tests.factories.findings import LETTER, in_state
from tests.factories.holdpoints import after, at_stage, hold_point
from tests.factories.times import HOUR

STATES = HoldPoint.State.values
ON_HOLD_POINTS = {move.act for move in moves.MOVES if move.roles}
FOLLOWING = {"make_ready", "pull_back"}
"""Moves that no person makes: they follow from another act."""


def trial(call: Callable[[], Any], look: Callable[[], str]) -> Refused | str:
    """Do something, look at what came of it, and undo it, so that the next trial begins where this one did."""
    with transaction.atomic():
        try:
            call()
        except Refused as refused:
            return refused
        seen = look()
        transaction.set_rollback(True)
        return seen


def people_by_role(corridor: Corridor) -> dict[str, Person]:
    """Someone for every role, and two who have none here."""
    by = {role: member(corridor, role) for role in Role.values}
    return {**by, "administrator": people.administrator(), "stranger": people.person("n.stranger")}


def assert_refused_like_all(refused: Refused) -> None:
    """Refusals have one shape: reasons, each a sentence."""
    assert isinstance(refused.reasons, tuple)
    assert refused.reasons
    for reason in refused.reasons:
        assert reason[0].isupper()
        assert reason.endswith(".")
        assert ".." not in reason


def test_the_table_knows_every_state_and_every_act() -> None:
    named = {
        name
        for name, act in vars(acts).items()
        if getattr(act, "is_act", False) and act.__module__.startswith(f"{acts.__name__}.")
    }
    assert named == ON_HOLD_POINTS | {"abandon", "meet_condition", "release_clean"}
    assert {move.act for move in moves.MOVES} == ON_HOLD_POINTS | FOLLOWING
    assert {state for move in moves.MOVES for state in move.old} == set(STATES)
    assert {move.new for move in moves.MOVES} == set(STATES)


def test_the_table_is_without_doubt() -> None:
    pairs = [(move.act, state) for move in moves.MOVES for state in move.old]
    assert len(pairs) == len(set(pairs))
    for move in moves.MOVES:
        assert bool(move.title) == bool(move.roles) == (move.act not in FOLLOWING)
        assert move.roles <= set(Role.values)
        for state in move.old:
            assert moves.find(move.act, state) is move


def test_every_state_can_be_left_by_someone() -> None:
    for state in set(STATES) - {"not_ready"}:
        assert moves.open_to(state, set(Role.values)), state


def test_an_auditor_moves_nothing() -> None:
    assert not any("auditor" in move.roles for move in (*moves.MOVES, *finding_moves.MOVES))
    assert all(not moves.open_to(state, {"auditor"}) for state in STATES)


@pytest.mark.parametrize("state", STATES)
def test_every_role_and_act_does_what_the_table_says(foundation: Foundation, state: str) -> None:
    # A stage with one before it, so that every state can be had.
    point = at_stage(foundation, "drill", state)
    inspection = point.inspections.last() or hold_point(foundation, "layout").inspections.last()
    at, corridor = after(foundation), foundation.corridor
    before, tried, allowed = standing(corridor), 0, 0
    for role, by in people_by_role(corridor).items():
        for name in ON_HOLD_POINTS:
            move = moves.find(name, state)
            arguments = hold_point_acts(point, inspection, at)[name]
            found = trial(partial(do, name, point, by, at, **arguments), lambda: hold_point(foundation, "drill").state)
            if isinstance(found, Refused):
                assert move is None or role not in move.roles, f"{role} could not {name} in {state}: {found}"
                assert_refused_like_all(found)
            else:
                assert move is not None, f"{role} could {name} in {state}"
                assert role in move.roles, f"{role} could {name} in {state}"
                assert found == move.new
                allowed += 1
            tried += 1
            assert standing(corridor) == before
    assert tried == (len(Role.values) + 2) * len(ON_HOLD_POINTS)
    assert allowed == sum(len(move.roles) for move in moves.MOVES if state in move.old)


@pytest.mark.parametrize("state", STATES)
def test_the_buttons_of_a_role_are_the_acts_that_it_may_do(state: str) -> None:
    for role in Role.values:
        shown = {move.act for move in moves.open_to(state, {role})}
        assert shown == {move.act for move in moves.MOVES if state in move.old and role in move.roles}


# ---- findings

FINDING_ARGUMENTS = {
    "decide_disposition": {"kind": "rework", "reason": "As drawn", "consent": LETTER},
    "answer_finding": {"done": "Pulled and set again"},
    "verify_finding": {"reading": "Seen, as drawn"},
    "refuse_correction": {"reading": "Seen, still there"},
    "close_finding": {},
    "reopen_finding": {"reason": "It came back"},
}


def allowed_for_finding(state: str, role: str, name: str) -> bool:
    """What the table says, less the two rules that stand beside it in the acts' own words."""
    move = finding_moves.MOVE[name]
    if state not in move.old or role not in move.roles:
        return False
    if name == "decide_disposition" and role == "inspector":
        return False  # the finding of this test is major: its rework is the engineer's
    return not (name == "close_finding" and state == "decided")  # rework that nobody verified


def test_the_table_of_findings_knows_every_state_and_act() -> None:
    named = {name for name, act in vars(finding_acts).items() if getattr(act, "is_act", False)}
    assert named == set(finding_moves.MOVE) | {"raise_finding", "assign_finding"}
    assert set(FINDING_ARGUMENTS) == set(finding_moves.MOVE)
    assert {state for move in finding_moves.MOVES for state in move.old} == set(Finding.State.values)


@pytest.mark.parametrize("state", Finding.State.values)
def test_every_role_and_act_on_a_finding_does_what_the_table_says(foundation: Foundation, state: str) -> None:
    finding = in_state(foundation, state)
    before, at = standing(foundation.corridor), finding.since + HOUR
    for role, by in people_by_role(foundation.corridor).items():
        for name, arguments in FINDING_ARGUMENTS.items():
            act = partial(getattr(finding_acts, name), finding=finding, by=by, at=at, client_id=uuid7(), **arguments)
            found = trial(act, lambda: Finding.objects.get(pk=finding.pk).state)
            if allowed_for_finding(state, role, name):
                assert found == finding_moves.MOVE[name].new, f"{role} could not {name} in {state}: {found}"
            else:
                assert isinstance(found, Refused), f"{role} could {name} in {state}"
                assert_refused_like_all(found)
            assert standing(foundation.corridor) == before
