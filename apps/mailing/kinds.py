"""The kinds of mail: what each is about and in which roles a person gets it. Page, letters and the check at sending read this table."""

from typing import NamedTuple

from apps.corridor.access import Role

RELEASE_WAITS, RETURNED, RELEASE_LATE = "release_waits", "returned", "release_late"
FINDING_RAISED, FINDING_DECIDED, FINDING_LATE = "finding_raised", "finding_decided", "finding_late"
CONDITION_DUE, FOLLOW_UP, DIGEST, MORNING = "condition_due", "follow_up", "digest", "morning"


class Kind(NamedTuple):
    """One kind of mail."""

    key: str
    title: str
    who: str
    """Who gets it, in a sentence of the settings page."""
    roles: frozenset[str]
    """Nobody without one of these roles on the corridor, on the day of sending, is sent it."""
    many: str
    """Subject when several stand in one mail, behind their number."""
    asked: bool = False
    """Sent only to those who asked for it; the others to everybody who did not turn them off."""


KINDS: tuple[Kind, ...] = (
    Kind(
        RELEASE_WAITS,
        "A release waits",
        "Engineers, when an inspection comes in.",
        frozenset({Role.ENGINEER}),
        "hold points wait for your release",
    ),
    Kind(
        RETURNED,
        "An inspection is returned",
        "Whoever inspected, and the foreman of the crew.",
        frozenset({Role.INSPECTOR, Role.FOREMAN, Role.ENGINEER}),
        "hold points were returned",
    ),
    Kind(
        RELEASE_LATE,
        "A release is overdue",
        "Engineers and the project office, once for each attempt past its promised answer.",
        frozenset({Role.ENGINEER, Role.OFFICE}),
        "releases are overdue",
    ),
    Kind(
        FINDING_RAISED,
        "A finding is raised or reopened",
        "Engineers, and the foreman of the crew.",
        frozenset({Role.ENGINEER, Role.FOREMAN}),
        "findings were raised",
    ),
    Kind(
        FINDING_DECIDED,
        "A finding is decided",
        "The foreman of the crew and whoever raised it; also when a correction comes back.",
        frozenset(Role.values) - {Role.AUDITOR},
        "findings were decided",
    ),
    Kind(
        FINDING_LATE,
        "A finding is overdue",
        "Whoever it waits for, and the project office, once for each promised day that passed.",
        frozenset(Role.values) - {Role.AUDITOR},
        "findings are overdue",
    ),
    Kind(
        CONDITION_DUE,
        "A condition falls due",
        "Whoever released with it, the foreman of the crew and the project office.",
        frozenset({Role.ENGINEER, Role.FOREMAN, Role.OFFICE}),
        "conditions fall due",
    ),
    Kind(
        FOLLOW_UP,
        "A follow-up is yours",
        "Whoever is given one by somebody else.",
        frozenset(Role.values),
        "follow-ups are yours",
    ),
    Kind(
        DIGEST,
        "The day's digest",
        "Everybody, once a day: what waits for you and what happened; with the signed head of the record.",
        frozenset(Role.values),
        "",
    ),
    Kind(
        MORNING,
        "The morning sheet",
        "Whoever asks for it, on each working morning of the corridor: the sheet as a PDF of one page, its numbers in the mail.",
        frozenset(Role.values),
        "",
        asked=True,
    ),
)
KIND: dict[str, Kind] = {kind.key: kind for kind in KINDS}
