"""How an audit stands: what of each drawn hold point is answered, what is not in order, and what the sample says."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple

from apps.audits.checklist import Question, parse
from apps.audits.models import Answer, Audit, Drawn
from apps.calc.decision import Share, share
from apps.calc.shown import share_text

CONFIDENCE = 0.95


class Line(NamedTuple):
    """One question of one drawn hold point with the answer that counts, None while there is none."""

    question: Question
    answer: Answer | None

    @property
    def at_odds(self) -> bool:
        """Whether the auditor says otherwise than what was recomputed: yes against no, or no against yes."""
        return self.answer is not None and {self.answer.word, self.answer.recomputed} == {"yes", "no"}


@dataclass(frozen=True, slots=True)
class Judged:
    """One drawn hold point and how far it is answered."""

    drawn: Drawn
    lines: tuple[Line, ...]
    last_entry: int
    """Entry of the newest answer, 0 before the first: what a page has seen."""

    @property
    def stage(self) -> str:
        """Key of its stage."""
        return self.drawn.inspection.hold_point.stage

    @property
    def missing(self) -> list[Question]:
        """What nobody answered yet."""
        return [line.question for line in self.lines if line.answer is None]

    @property
    def answered(self) -> int:
        """How many questions are answered."""
        return len(self.lines) - len(self.missing)

    @property
    def noes(self) -> list[Line]:
        """What was answered with no."""
        return [line for line in self.lines if line.answer is not None and line.answer.word == Answer.Word.NO]

    @property
    def state(self) -> str:
        """not_in_order as soon as one answer is no; else in_order when all is answered, under_way or open."""
        if self.noes:
            return "not_in_order"
        if not self.missing:
            return "in_order"
        return "under_way" if self.answered else "open"


@dataclass(frozen=True, slots=True)
class Stratum:
    """One stratum of the result."""

    name: str
    size: int
    """Hold points of the lot."""
    drawn: int
    answered: int
    """Drawn hold points with every question answered."""
    found: int
    """Not in order."""


@dataclass(frozen=True, slots=True)
class Standing:
    """An audit as it stands."""

    audit: Audit
    judged: tuple[Judged, ...]

    @property
    def found(self) -> int:
        """Drawn hold points not in order: one no is enough, several count once."""
        return sum(bool(each.noes) for each in self.judged)

    @property
    def finished(self) -> int:
        """Drawn hold points with every question answered."""
        return sum(not each.missing for each in self.judged)

    @property
    def missing(self) -> int:
        """Questions without an answer."""
        return sum(len(each.missing) for each in self.judged)

    @property
    def accepted(self) -> bool:
        """Whether so many not in order are accepted by the plan."""
        return self.found <= self.audit.accept

    @property
    def share(self) -> Share:
        """What the sample says of the lot: share found, with exact (Clopper-Pearson) ends at CONFIDENCE."""
        return share(found=self.found, of=len(self.judged), confidence=CONFIDENCE)

    @property
    def sentence(self) -> str:
        """Say what the sample tells of the lot. The exact ends are those of a process: a lot, drawn without putting back, lies within."""
        told = self.share
        return (
            f"{share_text(told.share)} of the sample. With {share_text(CONFIDENCE)} confidence between "
            f"{share_text(told.exact_low)} and {share_text(told.exact_high)} of all hold points of the lot are not in order "
            "(exact, Clopper-Pearson)."
        )

    @property
    def strata(self) -> list[Stratum]:
        """The strata in the order drawn."""
        by_name: dict[str, list[Judged]] = defaultdict(list)
        for each in self.judged:
            by_name[each.drawn.stratum].append(each)
        return [
            Stratum(
                name,
                len(items),
                len(by_name[name]),
                sum(not each.missing for each in by_name[name]),
                sum(bool(each.noes) for each in by_name[name]),
            )
            for name, items in self.audit.frame
        ]


def standing(audit: Audit) -> Standing:
    """Return how an audit stands. Two queries."""
    return standings([audit])[audit.pk]


def standings(audits: Iterable[Audit]) -> dict[object, Standing]:
    """Return how audits stand, by key: two queries for any number of them."""
    rows = list(audits)
    drawn: dict[object, list[Drawn]] = defaultdict(list)
    found = Drawn.objects.filter(audit__in=[each.pk for each in rows])
    for each in found.select_related(
        "inspection__hold_point__foundation__design", "inspection__inspector", "inspection__decision__by"
    ).order_by("place"):
        drawn[each.audit_id].append(each)
    answers: dict[object, dict[str, Answer]] = defaultdict(dict)
    for answer in (
        Answer.objects.filter(drawn__audit__in=[each.pk for each in rows])
        .select_related("by", "finding")
        .order_by("entry")
    ):
        answers[answer.drawn_id][answer.question] = answer
    return {each.pk: _standing(each, drawn[each.pk], answers) for each in rows}


def _standing(audit: Audit, drawn: list[Drawn], answers: dict[object, dict[str, Answer]]) -> Standing:
    asked = parse(audit.checklist)
    judged = []
    for each in drawn:
        each.audit = audit
        here = answers.get(each.pk, {})
        stage = each.inspection.hold_point.stage
        lines = tuple(Line(question, here.get(question.key)) for question in asked if question.asked_at(stage))
        judged.append(Judged(each, lines, max((answer.entry for answer in here.values()), default=0)))
    return Standing(audit, tuple(judged))
