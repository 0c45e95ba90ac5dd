"""Every move of a follow-up: from which state, to which, by whom. Pages, acts and tests read this table."""

from typing import NamedTuple

from apps.corridor.access import Role

OPEN, DONE, DROPPED = "open", "done", "dropped"
OFFICES = frozenset({Role.ENGINEER, Role.OFFICE})
ADD_ROLES = frozenset({Role.ENGINEER, Role.OFFICE, Role.INSPECTOR, Role.FOREMAN})
"""Whoever works on the corridor adds one; the auditor reads."""


class Move(NamedTuple):
    """One allowed move."""

    act: str
    title: str
    """The button: a verb with its object."""
    new: str
    owner: bool
    """Whether the person whose it is may make it, besides engineer and office."""
    adder: bool
    """Whether the person who added it may."""


MOVES: tuple[Move, ...] = (
    Move("finish_follow_up", "Report it done", DONE, owner=True, adder=True),
    Move("postpone_follow_up", "Give it another day", OPEN, owner=False, adder=True),
    Move("drop_follow_up", "Drop it", DROPPED, owner=False, adder=True),
)
"""All of them start from open: what is done or dropped stays so, and what comes back is a new one."""
MOVE: dict[str, Move] = {move.act: move for move in MOVES}
