"""Trying a draft against history: which past verdicts would be others, before anybody publishes it."""

import json
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, NamedTuple
from uuid import UUID

from django.db.models import TextField
from django.db.models.functions import Cast

from apps.calc.batch import Given as Row
from apps.calc.batch import judge_many
from apps.calc.facts import Plan, facts_from_json
from apps.calc.readings import Reading
from apps.calc.requirement import Requirement as Spec
from apps.calc.verdict import Verdict
from apps.corridor.models import Corridor
from apps.holdpoints.judging import Given, verdicts
from apps.holdpoints.models import Inspection, Measurement
from apps.holdpoints.replay import Reader, facts_of, given, given_of
from apps.requirements.models import Edition

LISTED = 200
"""So many changed readings of one requirement are named; all of them are counted."""


class Changed(NamedTuple):
    """A reading that the draft would judge otherwise."""

    measurement: UUID
    mark: str
    stage: str
    key: str
    title: str
    attempt: int
    looked_at: datetime
    value_text: str
    value: str
    """Exact, in the requirement's unit; empty where it is no number."""
    before: str
    after: str
    limit_before: str
    limit_after: str
    margin_after: str


class ByKey(NamedTuple):
    """What a draft does to one requirement: outcome before and after to how many."""

    key: str
    title: str
    judged: int
    moves: tuple[tuple[str, str, int], ...]

    @property
    def changed(self) -> int:
        """How many verdicts would be others."""
        return sum(number for _, _, number in self.moves)


@dataclass(frozen=True, slots=True)
class Trial:
    """What a draft would have changed on a corridor."""

    judged: int
    same: int
    changed: list[Changed]
    """At most LISTED of each requirement, in the order of the draft."""
    by_key: list[ByKey]
    """The requirements with any change."""
    added: list[tuple[str, str]]
    """Keys that the draft asks and nobody ever measured, with their titles."""
    dropped: list[tuple[str, str]]
    """Keys that were measured and the draft lacks."""


class _Kept(NamedTuple):
    """A measurement as it is judged again. JSON stays text: most rows say the same, and each text is read once."""

    pk: UUID
    entry: int
    """Of its inspection: within one corridor it names the inspection, and is quicker to read than a UUID."""
    readings: str
    outcome: str
    given: str | None
    reason: str


Others = Mapping[int, Mapping[str, tuple[Reading, ...]]]
"""Readings of other requirements by the inspection's entry and the key."""


def _text(column: str) -> Cast:
    return Cast(column, TextField())


class _History:
    """One corridor's measurements, read key by key."""

    def __init__(self, corridor: Corridor, draft: Edition) -> None:
        self.rows = Measurement.objects.filter(inspection__hold_point__corridor=corridor)
        self.draft = draft
        self.specs = {row.key: row.spec for row in draft.requirements.order_by("place")}
        self.reader = Reader()
        self._facts: dict[int, Plan] | None = None
        self._read: dict[tuple[str, str], tuple[Reading, ...]] = {}
        self._given: dict[tuple[str | None, str, bool], Given] = {}
        self.corridor = corridor

    def changed_keys(self) -> set[str]:
        """Return the keys whose verdicts can differ: another block in any edition used, or the other of two that is enough."""
        editions = Edition.objects.filter(inspections__hold_point__corridor=self.corridor).distinct()
        keys: set[str] = set()
        for edition in editions:
            old = {row.key: row.spec for row in edition.requirements.all()}
            if edition.rule != self.draft.rule:
                return set(self.specs)
            keys |= {key for key, spec in self.specs.items() if key in old and old[key].block != spec.block}
        fed = {key for key, spec in self.specs.items() if keys & set(spec.inputs.values())}
        either = {spec.unless for key, spec in self.specs.items() if key in keys | fed and spec.unless}
        return keys | fed | either

    def facts(self) -> dict[int, Plan]:
        """Return the facts that each inspection was judged by."""
        if self._facts is None:
            found = Inspection.objects.filter(hold_point__corridor=self.corridor)
            kept = found.exclude(facts=None).values_list("entry", "facts")
            self._facts = {entry: facts_from_json(facts or {}) for entry, facts in kept}
            for each in found.filter(facts=None).select_related("hold_point__foundation__design"):
                self._facts[each.entry] = facts_of(each)
        return self._facts

    def kept(self, key: str) -> list[_Kept]:
        """Return the measurements of a key, in the order of the record."""
        columns = ("pk", "inspection__entry", _text("readings"), "outcome", _text("given"), "reason")
        found = self.rows.filter(requirement_key=key).order_by("inspection__entry")
        return [_Kept(*row) for row in found.values_list(*columns)]

    def readings_of(self, spec: Spec, text: str) -> tuple[Reading, ...]:
        """Return stored readings as a requirement of the draft reads them."""
        known = self._read.get((spec.key, text))
        if known is None:
            known = self._read[spec.key, text] = self.reader.readings(spec, json.loads(text))
        return known

    def given_of(self, row: _Kept) -> Given:
        """Return what was said besides the readings of a measurement."""
        said = (row.given, row.reason, row.outcome == "not_applicable")
        if said not in self._given:
            kept = json.loads(row.given) if row.given else {}
            self._given[said] = given(kept or {}, row.reason, row.outcome)
        return self._given[said]

    def others(self, spec: Spec, entries: Iterable[int] | None = None) -> Others:
        """Return the readings that a requirement rests on besides its own: of all inspections, or of these."""
        wanted = {name for name in (*spec.inputs.values(), spec.unless) if name in self.specs}
        found: dict[int, dict[str, tuple[Reading, ...]]] = defaultdict(dict)
        if not wanted:
            return found
        rows = self.rows.filter(requirement_key__in=wanted)
        if entries is not None:
            rows = rows.filter(inspection__entry__in=entries)
        for entry, key, text in rows.order_by().values_list("inspection__entry", "requirement_key", _text("readings")):
            found[entry][key] = self.readings_of(self.specs[key], text)
        return found


def trial(corridor: Corridor, draft: Edition) -> Trial:
    """Judge every past measurement of a corridor by a draft and return what would be otherwise."""
    history = _History(corridor, draft)
    measured = dict(history.rows.order_by().values_list("requirement_key", "title").distinct())
    judged, changed, by_key = history.rows.count(), [], []
    for key in sorted(history.changed_keys() & set(measured), key=list(history.specs).index):
        moved, total = _moved(history, key)
        if moved:
            moves = Counter((before, after) for _, before, after in moved)
            by_key.append(
                ByKey(key, history.specs[key].title, total, tuple((*pair, n) for pair, n in moves.most_common()))
            )
            changed += _named(history, key, moved[:LISTED])
    return Trial(
        judged=judged,
        same=judged - sum(each.changed for each in by_key),
        changed=changed,
        by_key=by_key,
        added=[(key, spec.title) for key, spec in history.specs.items() if key not in measured],
        dropped=sorted((key, title) for key, title in measured.items() if key not in history.specs),
    )


def _moved(history: _History, key: str) -> tuple[list[tuple[UUID, str, str]], int]:
    """Return (measurement, before, after) of every verdict of a key that would be another one, and how many were judged."""
    spec, facts = history.specs[key], history.facts()
    kept, others = history.kept(key), history.others(spec)
    groups: dict[tuple[Any, ...], list[int]] = defaultdict(list)
    names = sorted(spec.facts)
    for index, row in enumerate(kept):
        groups[tuple(facts[row.entry].get(name) for name in names)].append(index)
    moved = []
    for indexes in groups.values():
        rows = [kept[index] for index in indexes]
        after = _outcomes(history, spec, rows, others, facts[rows[0].entry])
        moved += [
            (index, row.pk, row.outcome, new)
            for index, row, new in zip(indexes, rows, after, strict=True)
            if row.outcome != new
        ]
    return [each[1:] for each in sorted(moved)], len(kept)


def _outcomes(history: _History, spec: Spec, rows: Sequence[_Kept], others: Others, plan: Plan) -> list[str]:
    """Return what the draft finds at foundations that share the facts which the requirement uses."""
    readings = [history.readings_of(spec, row.readings) for row in rows]
    said = [history.given_of(row) for row in rows]
    judged = judge_many(
        spec,
        [
            Row(read, {**others.get(row.entry, {}), spec.key: read}, each.uncertainty, each.reason, each.not_applicable)
            for row, read, each in zip(rows, readings, said, strict=True)
        ],
        plan=plan,
        rule=history.draft.rule,
    )
    found = [
        "refer" if each.outcome == "conforms" and given.doubt else each.outcome
        for each, given in zip(judged, said, strict=True)
    ]
    return [_settled(history, spec, row, outcome, others) for row, outcome in zip(rows, found, strict=True)]


def _settled(history: _History, spec: Spec, row: _Kept, outcome: str, others: Others) -> str:
    """Let the other of two requirements be enough, where this one is not met and the other conforms."""
    if not spec.unless or spec.unless not in history.specs or outcome in ("conforms", "not_applicable"):
        return outcome
    other = history.specs[spec.unless]
    read = others.get(row.entry, {}).get(spec.unless, ())
    facts = history.facts()[row.entry]
    beside = judge_many(other, [Row(read, {spec.unless: read})], plan=facts, rule=history.draft.rule)[0]
    return "not_applicable" if beside.outcome == "conforms" else outcome


def _named(history: _History, key: str, moved: Sequence[tuple[UUID, str, str]]) -> list[Changed]:
    """Return changed verdicts with what a reader wants to know: where, when, what was read, both limits."""
    spec = history.specs[key]
    after = {pk: new for pk, _, new in moved}
    rows = list(
        Measurement.objects.filter(pk__in=after)
        .order_by("inspection__entry")
        .select_related("inspection", "foundation")
    )
    others = history.others(spec, [row.inspection.entry for row in rows])
    found = []
    for row in rows:
        verdict = _verdict(history, spec, row, others.get(row.inspection.entry, {}))
        found.append(
            Changed(
                measurement=row.pk,
                mark=row.foundation.mark,
                stage=row.stage,
                key=key,
                title=spec.title,
                attempt=row.inspection.attempt,
                looked_at=row.inspection.looked_at,
                value_text=row.value_text or row.reason,
                value=row.value,
                before=row.outcome,
                after=after[row.pk],
                limit_before=row.limit_text,
                limit_after=verdict.limit_text,
                margin_after=verdict.margin_text if verdict.outcome == after[row.pk] else "",
            )
        )
    return found


def _verdict(history: _History, spec: Spec, row: Measurement, others: Mapping[str, tuple[Reading, ...]]) -> Verdict:
    """Return the draft's verdict on one measurement, words and all."""
    readings = {**others, spec.key: history.reader.readings(spec, row.readings)}
    plan = history.facts()[row.inspection.entry]
    return verdicts([spec], readings, {spec.key: given_of(row)}, plan=plan, rule=history.draft.rule)[spec.key]
