"""The table of moves as Markdown, for DEVELOPERS.md: a test compares the two, so the page cannot fall behind the code."""

from collections.abc import Iterable, Sequence

from apps.findings.moves import MOVES as FINDING_MOVES
from apps.holdpoints.moves import MOVES


def _table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    lines = [f"| {' | '.join(head)} |", f"|{'---|' * len(head)}"]
    return "\n".join([*lines, *(f"| {' | '.join(row)} |" for row in rows)])


def hold_points() -> str:
    """Return the moves of a hold point as a Markdown table."""
    head = ("act", "from", "to", "who", "what must be true")
    return _table(
        head,
        (
            (
                f"`{move.act}`",
                ", ".join(sorted(move.old)),
                move.new,
                ", ".join(sorted(move.roles)) or "follows from another act",
                move.when or "nothing more",
            )
            for move in MOVES
        ),
    )


def findings() -> str:
    """Return the moves of a finding as a Markdown table."""
    head = ("act", "from", "to", "who")
    return _table(
        head,
        (
            (f"`{move.act}`", ", ".join(sorted(move.old)), move.new, ", ".join(sorted(move.roles)))
            for move in FINDING_MOVES
        ),
    )
