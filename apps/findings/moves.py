"""Every move of a finding: from which states, by whom, to which state. Pages, acts, tests and the docs' diagram read this table."""

from typing import NamedTuple

from apps.corridor.access import Role

OPEN, DECIDED, ANSWERED, VERIFIED, CLOSED = "open", "decided", "answered", "verified", "closed"


class Move(NamedTuple):
    """One allowed move."""

    act: str
    title: str
    """The button: a verb with its object."""
    old: frozenset[str]
    new: str
    roles: frozenset[str]


MOVES: tuple[Move, ...] = (
    Move(
        "decide_disposition",
        "Decide disposition",
        frozenset({OPEN, DECIDED}),
        DECIDED,
        frozenset({Role.ENGINEER, Role.INSPECTOR}),
    ),
    Move("answer_finding", "Report correction", frozenset({DECIDED}), ANSWERED, frozenset({Role.FOREMAN})),
    Move(
        "verify_finding",
        "Verify correction",
        frozenset({ANSWERED}),
        VERIFIED,
        frozenset({Role.INSPECTOR, Role.ENGINEER}),
    ),
    Move(
        "refuse_correction",
        "Send correction back",
        frozenset({ANSWERED}),
        DECIDED,
        frozenset({Role.INSPECTOR, Role.ENGINEER}),
    ),
    Move("close_finding", "Close finding", frozenset({VERIFIED, DECIDED}), CLOSED, frozenset({Role.ENGINEER})),
    Move("reopen_finding", "Reopen finding", frozenset({CLOSED}), OPEN, frozenset({Role.ENGINEER, Role.INSPECTOR})),
)
MOVE: dict[str, Move] = {move.act: move for move in MOVES}

RAISE_ROLES = frozenset({Role.INSPECTOR, Role.ENGINEER, Role.OFFICE})

ASSIGN_ROLES = frozenset({Role.ENGINEER, Role.OFFICE})
"""Who says of a finding whose it is, why, by when and what it costs."""

# Days to the promised answer, by grade. Common practice, no source.
ANSWER_DAYS = {"critical": 3, "major": 5, "minor": 14}

# Who may decide what. An inspector agrees to the rework of a minor finding; all else is the engineer's.
# Repair, concession and regrade of a major or critical finding touch the design: they need the consent of the engineer of record.
# Common practice, no source.
INSPECTOR_DECIDES = frozenset({("minor", "rework")})
NEEDS_CONSENT = frozenset(
    (grade, kind) for grade in ("major", "critical") for kind in ("repair", "concession", "regrade")
)
NOT_USED = frozenset({("critical", "regrade"), ("minor", "reject")})
