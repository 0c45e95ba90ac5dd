"""The table of moves as Markdown, for DEVELOPERS.md: a test compares the two, so the page cannot fall behind the code."""

from collections.abc import Iterable, Sequence

from apps.findings.moves import MOVES as FINDING_MOVES
from apps.followups import moves as follow_ups_moves
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


def follow_ups() -> str:
    """Return the moves of a follow-up as a Markdown table."""
    head = ("act", "from", "to", "who")
    adders, offices = (", ".join(sorted(roles)) for roles in (follow_ups_moves.ADD_ROLES, follow_ups_moves.OFFICES))
    added = ("`add_follow_up`", "", follow_ups_moves.OPEN, adders)

    def who(move: follow_ups_moves.Move) -> str:
        besides = [(move.owner, "whose it is"), (move.adder, "who added it")]
        return ", ".join([offices, *(words for may, words in besides if may)])

    moved = ((f"`{move.act}`", follow_ups_moves.OPEN, move.new, who(move)) for move in follow_ups_moves.MOVES)
    return _table(head, (added, *moved))
