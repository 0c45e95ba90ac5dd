"""Judging again what was judged before: from what was typed, the facts of the day and the edition, to the same verdicts."""

from collections.abc import Iterable, Iterator, Mapping
from fractions import Fraction
from typing import Any, NamedTuple

from apps.calc.errors import NotAReading
from apps.calc.facts import Plan, facts_from_json
from apps.calc.readings import Reading, read
from apps.calc.requirement import Requirement as Spec
from apps.calc.verdict import Verdict
from apps.corridor.models import Corridor
from apps.holdpoints.judging import Given, limits_as_text, verdicts
from apps.holdpoints.models import Inspection, Measurement

AT_A_TIME = 500
"""Inspections in memory at once."""


class Difference(NamedTuple):
    """A measurement that is judged otherwise now, in which column, and both values."""

    measurement: Measurement
    column: str
    kept: str
    now: str

    def __str__(self) -> str:
        where = f"{self.measurement.inspection}, {self.measurement.requirement_key}"
        return f"{where}: {self.column} was {self.kept or 'empty'}, is {self.now or 'empty'}"


class Reader:
    """Reads typed texts; the same text of the same kind is parsed once."""

    def __init__(self) -> None:
        """Begin with nothing read."""
        self._known: dict[tuple[str, str, str, str, bool], Reading | None] = {}

    def readings(self, spec: Spec, kept: Iterable[Mapping[str, str]]) -> tuple[Reading, ...]:
        """Return stored readings as this requirement reads them; one that it cannot read, or has no place for, is left out."""
        found = []
        for each in kept:
            place, typed, unit = each["place"], each["typed"], each["unit"]
            if place not in (spec.places or ("",)):
                continue
            key = (spec.kind, unit, spec.notation if unit == spec.unit else "", typed, spec.signed)
            if spec.kind in ("choice", "text") or key not in self._known:
                self._known[key] = _read(spec, place, typed, unit)
            known = self._known[key]
            if known is not None:
                found.append(known if known.place == place else Reading(place, known.typed, known.unit, known.value))
        return tuple(found)


def _read(spec: Spec, place: str, typed: str, unit: str) -> Reading | None:
    try:
        return read(spec, place, typed, unit or None)
    except NotAReading:
        return None


def facts_of(inspection: Inspection) -> Plan:
    """Return the facts that an inspection was judged by; those of the plans today where none were kept."""
    return facts_from_json(inspection.facts) if inspection.facts is not None else inspection.hold_point.foundation.plan


def given(kept: Mapping[str, Any], reason: str, outcome: str) -> Given:
    """Return what was said besides the readings, from the columns of a measurement."""
    typed = reason if outcome != "not_applicable" or kept.get("not_applicable") else ""
    return Given.from_json(kept, "" if typed == "Not seen" else typed)


def given_of(row: Measurement) -> Given:
    """Return what was said besides the readings of a measurement."""
    return given(row.given or {}, row.reason, row.outcome)


def again(
    inspection: Inspection, rows: Iterable[Measurement], specs: Mapping[str, Spec], reader: Reader
) -> dict[str, Verdict]:
    """Return the verdicts of one inspection, judged anew by these requirements."""
    kept = {row.requirement_key: row for row in rows}
    asked = [spec for key, spec in specs.items() if key in kept]
    readings = {spec.key: reader.readings(spec, kept[spec.key].readings) for spec in asked}
    given = {spec.key: given_of(kept[spec.key]) for spec in asked}
    return verdicts(asked, readings, given, plan=facts_of(inspection), rule=inspection.edition.rule)


def differences(corridor: Corridor) -> Iterator[Difference | None]:
    """Yield for every measurement of a corridor None, or how it is judged otherwise now."""
    found = Inspection.objects.filter(hold_point__corridor=corridor).order_by("entry")
    chunks = found.select_related("edition", "hold_point__foundation__design").prefetch_related("measurements")
    specs: dict[Any, dict[str, Spec]] = {}
    reader = Reader()
    for inspection in chunks.iterator(chunk_size=AT_A_TIME):
        edition = inspection.edition
        if edition.pk not in specs:
            specs[edition.pk] = {row.key: row.spec for row in edition.requirements.order_by("place")}
        yield from compared(inspection, list(inspection.measurements.all()), specs[edition.pk], reader)


def compared(
    inspection: Inspection, rows: list[Measurement], specs: Mapping[str, Spec], reader: Reader
) -> Iterator[Difference | None]:
    """Yield for every measurement of one inspection None, or how it is judged otherwise now."""
    judged = again(inspection, rows, specs, reader)
    for row in rows:
        yield _difference(row, inspection, judged.get(row.requirement_key))


def _difference(row: Measurement, inspection: Inspection, verdict: Verdict | None) -> Difference | None:
    row.inspection = inspection
    if verdict is None:
        return Difference(row, "requirement", row.requirement_key, "")
    pairs: tuple[tuple[str, Any, Any], ...] = (
        ("outcome", row.outcome, verdict.outcome),
        ("value", Fraction(row.value) if row.value else None, verdict.value),
        ("margin", Fraction(row.margin) if row.margin else None, verdict.margin),
        ("limits", row.limits, limits_as_text(verdict)),
        ("at the limit", row.at_limit, verdict.at_limit),
    )
    for column, kept, now in pairs:
        if kept != now:
            return Difference(row, column, str(kept), str(now))
    return None
