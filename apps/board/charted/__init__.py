"""The charts of the morning board: each a sentence computed from the data, the figure, and the same as a table. No query stands here."""

from collections.abc import Sequence
from dataclasses import dataclass

from apps.board.figures import Figure

Rows = Sequence[tuple[str, ...]]


@dataclass(frozen=True)
class Chart:
    """One chart, ready for the page."""

    key: str
    title: str
    sentence: str
    """What it shows, or why there is nothing to show yet."""
    fact: str = ""
    """How to read the marks."""
    head: tuple[str, ...] = ()
    rows: Rows = ()
    figure: Figure | None = None


def counted(number: int, of: int) -> str:
    """Say so many of so many as a sentence begins: None of 74 is, 1 of 74 is, 3 of 74 are."""
    return f"{number or 'None'} of {of} {'are' if number > 1 else 'is'}"
