"""Every move of a hold point: from which states, by whom, to which state. Pages, API, acts, tests and the docs' diagram read it.

`held` is no state: it is the fact that a blocking finding is open on the foundation, and blockers.py asks for it.
"""

from typing import NamedTuple

from apps.corridor.access import Role
from apps.holdpoints.models import HoldPoint

State = HoldPoint.State


class Move(NamedTuple):
    """One allowed move. `roles` is empty where the move follows from another act."""

    act: str
    title: str
    """The button: a verb; the page adds the object."""
    old: frozenset[str]
    new: str
    roles: frozenset[str]
    when: str
    """What must be true besides state and role, in words for the docs; blockers.py has it in code."""


_ASKERS = frozenset({Role.FOREMAN, Role.INSPECTOR, Role.ENGINEER, Role.OFFICE})
_LOOKERS = frozenset({Role.INSPECTOR, Role.ENGINEER})
_ENGINEER = frozenset({Role.ENGINEER})

MOVES: tuple[Move, ...] = (
    Move("make_ready", "", frozenset({State.NOT_READY}), State.READY, frozenset(), "the stage before is released"),
    Move(
        "give_notice",
        "Give notice",
        frozenset({State.READY, State.RETURNED, State.REOPENED}),
        State.NOTIFIED,
        _ASKERS,
        "the stage before is released, nothing holds the foundation, the gate opens by then",
    ),
    Move("withdraw_notice", "Withdraw notice", frozenset({State.NOTIFIED}), State.READY, _ASKERS, ""),
    Move(
        "submit_inspection",
        "Send inspection",
        frozenset({State.NOTIFIED, State.RETURNED, State.REOPENED}),
        State.INSPECTED,
        _LOOKERS,
        "the stage before is released, nothing holds the foundation, the gate is open",
    ),
    Move(
        "release",
        "Release",
        frozenset({State.INSPECTED}),
        State.RELEASED,
        _ENGINEER,
        "every requirement answered and conforming or accepted, photos there, nothing holds, another person inspected",
    ),
    Move(
        "release_with_condition",
        "Release with condition",
        frozenset({State.INSPECTED}),
        State.RELEASED,
        _ENGINEER,
        "as for a release, and what must still happen, by whom, until when",
    ),
    Move("return_inspection", "Return", frozenset({State.INSPECTED}), State.RETURNED, _ENGINEER, "a reason is given"),
    Move("reopen", "Reopen", frozenset({State.RELEASED}), State.REOPENED, _LOOKERS, "a reason is given"),
    Move("pull_back", "", frozenset({State.RELEASED}), State.REOPENED, frozenset(), "a stage below it was reopened"),
    Move(
        "pull_back",
        "",
        frozenset({State.READY, State.NOTIFIED, State.INSPECTED, State.RETURNED}),
        State.NOT_READY,
        frozenset(),
        "a stage below it was reopened",
    ),
)

ABANDON_ROLES = _ENGINEER
CONDITION_ROLES = frozenset({Role.INSPECTOR, Role.ENGINEER, Role.OFFICE})


def find(act: str, state: str) -> Move | None:
    """Return the move that an act makes from a state, None if there is none."""
    return next((move for move in MOVES if move.act == act and state in move.old), None)


def roles(act: str) -> frozenset[str]:
    """Return who may do an act."""
    return frozenset(role for move in MOVES if move.act == act for role in move.roles)


def open_to(state: str, held: set[str]) -> list[Move]:
    """Return the moves from a state that someone with these roles may make."""
    return [move for move in MOVES if state in move.old and move.roles & held]
