"""Drawing an audit's sample again, from what the record keeps of it."""

from dataclasses import dataclass

from apps.audits.models import Audit
from apps.audits.standing import Standing
from apps.calc.decision import digest, draw_strata
from apps.record.models import Entry
from apps.record.whole import agrees


@dataclass(frozen=True, slots=True)
class Again:
    """What came out of drawing again."""

    frame: bool
    """The frame that is kept has the digest that was entered."""
    sample: bool
    """Seed and frame give the hold points that were entered, and those are the ones on file."""
    entry: bool
    """The entry of the draw agrees with its hash."""

    @property
    def same(self) -> bool:
        """Whether all three are so."""
        return self.frame and self.sample and self.entry


def drawn_again(stands: Standing) -> Again:
    """Draw again by the seed, the frame and the size of the record's entry. One query."""
    audit = stands.audit
    entry = Entry.objects.filter(log=audit.corridor_id, sequence=audit.drawn_entry, act="draw_audit").first()
    if entry is None:
        return Again(False, False, False)
    said = entry.payload
    return Again(
        frame=digest(item for _, items in audit.frame for item in items) == said["frame"]["digest"],
        sample=_drawn(audit, said["seed"], said["sample"])
        == said["drawn"]
        == [each.drawn.item for each in stands.judged],
        entry=agrees(entry),
    )


def _drawn(audit: Audit, seed: str, sample: int) -> list[str]:
    return [each.item for each in draw_strata(audit.by_stratum, seed, sample)]
