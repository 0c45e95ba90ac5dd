"""How a trial is drawn: the readings of one requirement on their axis, the old limit, the new one, what moved."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from django.utils.safestring import SafeString

from apps.calc.working import number_text
from apps.holdpoints.trial import LISTED, ByKey, Changed, Trial
from apps.sheet.drawn.paper import Paper, View, nice_ticks, spread

MOST = 60
"""So many readings are drawn of one requirement."""


@dataclass(frozen=True, slots=True)
class Group:
    """One requirement with what a draft would change of it."""

    by_key: ByKey
    changed: list[Changed]
    picture: SafeString | None
    hidden: int

    @property
    def fact(self) -> str:
        """How many of how many."""
        return f"{self.by_key.changed} of {self.by_key.judged} otherwise"


def groups(result: Trial) -> list[Group]:
    """Return the changed readings by requirement, each drawn."""
    found = []
    for number, each in enumerate(result.by_key):
        mine = [one for one in result.changed if one.key == each.key]
        found.append(Group(each, mine, _drawn(mine, number), max(each.changed - LISTED, 0)))
    return found


WORDS = {
    "conforms": "conforming",
    "refer": "referring",
    "not_measured": "not measured",
    "not_applicable": "not applying",
}


def moves(result: Trial) -> list[tuple[str, str, int]]:
    """Return how many verdicts would go from which outcome to which, in words, the most first."""
    count: Counter[tuple[str, str]] = Counter()
    for each in result.by_key:
        for before, after, number in each.moves:
            count[(before, after)] += number
    return [
        (WORDS.get(before, before), WORDS.get(after, after), number) for (before, after), number in count.most_common()
    ]


def _drawn(changed: Sequence[Changed], number: int) -> SafeString | None:
    """Draw readings as diamonds on the measured axis; nothing where they are no numbers."""
    values = [(float(Fraction(each.value)), each) for each in changed[:MOST] if each.value]
    if not values:
        return None
    low, high = spread([value for value, _ in values], 0.2)
    ends = f"from {number_text(min(value for value, _ in values), 4)} to {number_text(max(value for value, _ in values), 4)}"
    paper = Paper(420, 96, f"{len(values)} readings that would be judged otherwise, {ends}.")
    view = View(low, 0, 16, 58, 388 / (high - low), 1)
    paper.line((16, 58), (404, 58), weight=1)
    for tick in nice_ticks(low, high, 6):
        x, _ = view(tick, 0)
        paper.line((x, 58), (x, 63), weight=1)
        paper.text((x, 77), number_text(tick, 4), anchor="middle", paint="f-ink-2")
    for value, each in values:
        x, _ = view(value, 0)
        paint = {"nonconforming": "f-red", "refer": "f-sheet s-ink"}.get(each.after, "f-ink")
        paper.diamond((x, 44), 5, paint)
    before, after = ({getattr(each, name) for _, each in values} for name in ("limit_before", "limit_after"))
    one = len(after) == len(before) == 1
    paper.text((16, 20), f"before {changed[0].limit_before}" if one else "limits differ by foundation", paint="f-ink-2")
    if one:
        paper.text((404, 20), f"after {changed[0].limit_after}", anchor="end", bold=True, paint="f-red")
    return paper.svg(f"tried-{number}")
