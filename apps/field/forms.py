"""An inspection as a form: one check for each requirement of the edition, everything typed kept, whatever comes of it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction
from typing import Any, NamedTuple
from uuid import UUID

from django.core.files.uploadedfile import UploadedFile
from django.http import QueryDict
from django.utils.datastructures import MultiValueDict
from django.utils.dateparse import parse_datetime

from apps.calc.errors import NotAReading
from apps.calc.facts import Plan
from apps.calc.readings import questions
from apps.calc.requirement import Requirement as Spec
from apps.calc.stationing import parse_station, show_station
from apps.calc.units import KINDS, UNITS
from apps.holdpoints import judging
from apps.holdpoints.acts import Incomplete, Shot, refuse_incomplete
from apps.holdpoints.concrete import OnFile
from apps.holdpoints.judging import Answered, Judged, Typed
from apps.holdpoints.models import HoldPoint
from apps.materials.models import Instrument
from apps.record.ids import uuid7
from apps.record.models import Attachment
from apps.requirements.models import Requirement

LONGEST_NOTE = 2000
ANSWERS = (("yes", "Yes"), ("no", "No"), ("not seen", "Not seen"))

# Units that a field offers beside its own, for quantities that are read in more than one on a road. Others may be typed.
OFFERED = {
    "length": ("in", "ft", "mm", "m"),
    "torque": ("ft-lb", "N m"),
    "temperature": ("F", "C"),
    "volume": ("yd3", "ft3", "m3"),
    "time": ("min", "h", "d"),
    "mass": ("lb", "kg"),
    "rate": ("in/h", "mm/h"),
    "ratio": ("%", "1:n"),
}
READ_WITH = {
    "length": ("tape", "gauge", "survey"),
    "angle": ("level",),
    "ratio": ("level",),
    "torque": ("wrench",),
    "temperature": ("concrete",),
    "percent": ("concrete",),
}
# The phone's keyboard: digits where only digits are typed; text where a fraction, a colon or a plus may be.
DECIMAL_KINDS = {"temperature", "percent", "volume", "mass", "time", "rate", "torque", "angle"}

# First word of a key after the stage → the sub-heading that it stands under, at the stages with the longest lists.
GROUPS: dict[str, dict[str, str]] = {
    "cage": {
        "bolt": "Bolts and templates",
        "template": "Bolts and templates",
        "conduit": "Conduits",
        "bond": "Bond and ground",
        "electrode": "Bond and ground",
        "rod": "Bond and ground",
        "photo": "Photos",
        "": "Bars, spiral and cover",
    },
    "pour": {
        "release": "Before the truck",
        "hole": "Before the truck",
        "mix": "Ticket and truck",
        "ticket": "Ticket and truck",
        "cold": "Ticket and truck",
        "discharge": "Ticket and truck",
        "revolutions": "Ticket and truck",
        "water": "Ticket and truck",
        "slump": "Fresh concrete",
        "air": "Fresh concrete",
        "temp": "Fresh concrete",
        "top": "Top and bolts after placing",
        "bolt": "Top and bolts after placing",
        "cage": "Top and bolts after placing",
        "cylinders": "Cylinders, curing, protection",
        "curing": "Cylinders, curing, protection",
        "bond": "Cylinders, curing, protection",
        "conduit": "Cylinders, curing, protection",
        "bolts": "Cylinders, curing, protection",
        "": "Placing",
    },
}


class Gauge(NamedTuple):
    """An instrument that a check may be read with."""

    key: str
    label: str


@dataclass
class Entry:
    """One field of a check: a place, and what was typed there."""

    name: str
    place: str
    value: str = ""
    other: str = ""
    """What was typed beside the choices."""
    fault: str = ""


@dataclass
class Check:
    """One requirement as the page draws it."""

    row: Requirement
    limit: str
    entries: list[Entry]
    judged: Judged
    kind: str
    """check, choice, number, text, or computed."""
    inputmode: str = "text"
    units: tuple[tuple[str, str], ...] = ()
    unit: str = ""
    unit_sign: str = ""
    choices: tuple[str, ...] = ()
    instruments: list[Gauge] = field(default_factory=list)
    instrument: str = ""
    reason: str = ""
    not_applicable: bool = False
    asks: tuple[str, ...] = ()
    """What is asked about an unlikely value, also after it was answered."""
    sure: str = ""
    """What was typed, as the answer to the question names it: another reading is asked about anew."""
    confirmed: bool = False
    lacks: str = ""
    """What the act would still ask for, empty when it is answered."""
    caution: dict[str, str] | None = None
    source: str = ""
    known: OnFile | None = None
    """What the papers say to it."""
    group: str = ""

    @property
    def key(self) -> str:
        """The requirement's key."""
        return self.row.key

    @property
    def dom(self) -> str:
        """The key as an address within the page."""
        return self.row.key.replace(".", "-")

    @property
    def asks_now(self) -> bool:
        """Whether a question waits for its answer: the value is neither judged nor erased then."""
        return bool(self.asks) and not self.confirmed

    @property
    def open_places(self) -> list[str]:
        """The places without a reading, of a check that has some."""
        return [place for place in self.judged.verdict.missing if place in self.row.spec.places]

    @property
    def shows_verdict(self) -> bool:
        """Whether there is a verdict to show: something was typed and read, or a reason was given."""
        said = (
            self.judged.readings or self.reason or (self.kind == "computed" and self.judged.verdict.value is not None)
        )
        return bool(said) and not self.judged.faults and not self.asks_now


class InspectionForm:
    """What one inspection page holds: checks, note, the id and clock that make a repeat one submission."""

    def __init__(
        self,
        hold_point: HoldPoint,
        rows: list[Requirement],
        instruments: Iterable[Instrument],
        *,
        plan: Plan,
        at: datetime,
        on_file: Mapping[str, OnFile] | None = None,
        data: QueryDict | None = None,
        files: "MultiValueDict[str, UploadedFile[Any]] | None" = None,
    ) -> None:
        self.hold_point, self.rows, self.at = hold_point, rows, at
        corridor = hold_point.foundation.corridor
        self.plan, self.edition = plan, corridor.edition
        self.instruments = {str(each.pk): each for each in instruments}
        self.on_file = on_file or {}
        self.data: QueryDict = data if data is not None else self._from_file()
        self.files: MultiValueDict[str, UploadedFile[Any]] = files if files is not None else MultiValueDict()
        self.client_id = self._client_id()
        self.looked_at = self._looked_at()
        self.day = corridor.day(self.looked_at)
        self.note = self.data.get("note", "").strip()[:LONGEST_NOTE]
        titles = self.edition.views(hold_point.stage)
        asked = judging.required_views(rows)
        self.views = {key: title for key, title in titles.items() if key in asked}
        self._station_faults: dict[str, dict[str, str]] = {}
        self.answers = {row.key: self._answer(row) for row in rows}
        self._whole = self._judge(so_far=False)
        self.faults = self.lacking(()).faults
        self.checks = [self._check(each) for each in self._judge(so_far=True)]
        self._place_cautions()

    def _place_cautions(self) -> None:
        """Put each caution of the stage before the first of the fields in a row that it guards; the others stand above them all."""
        known, last = self.edition.stage_cautions(self.hold_point.stage), ""
        for check in self.checks:
            key = check.row.spec.caution
            check.caution = known.get(key) if key != last else None
            last = key
        guarding = {row.spec.caution for row in self.rows}
        self.cautions = [caution for key, caution in known.items() if key not in guarding] + list(self.edition.cautions)

    def _judge(self, *, so_far: bool) -> list[Judged]:
        return judging.judge_all(
            self.rows, self.answers, plan=self.plan, day=self.day, rule=self.edition.rule, so_far=so_far
        )

    def _from_file(self) -> QueryDict:
        """Return what the papers answer already, as if it had been typed: the inspector sees it, and may change it."""
        said = QueryDict(mutable=True)
        for row in self.rows:
            if known := self.on_file.get(row.spec.on_file):
                said[f"r:{row.key}:"], said[f"u:{row.key}"] = known.text, known.unit
        return said

    def _client_id(self) -> UUID:
        try:
            return UUID(self.data.get("client_id", ""))
        except ValueError:
            return uuid7()

    def _looked_at(self) -> datetime:
        """Return the device's clock where it was sent, else the server's; a clock that runs ahead is held at the server's."""
        try:
            sent = parse_datetime(self.data.get("looked_at", ""))
        except ValueError:
            sent = None
        return min(sent, self.at) if sent is not None and sent.tzinfo is not None else self.at

    # ---- what was typed

    def _said(self, row: Requirement, place: str) -> tuple[str, str]:
        """Return what stands in a field, and what was typed beside its choices."""
        name = f"{row.key}:{place}"
        return self.data.get(f"r:{name}", "").strip(), self.data.get(f"o:{name}", "").strip()

    def _typed(self, row: Requirement, place: str, unit: str) -> Typed:
        text, other = self._said(row, place)
        if text == "other" or (other and not text):
            text = other
        if "+" not in text or not _is_station(row.spec):
            return Typed(place, text, unit)
        try:
            return Typed(place, _as_feet(text), "ft")
        except NotAReading as fault:
            self._station_faults.setdefault(row.key, {})[place] = str(fault)
            return Typed(place, text, unit)

    def _answer(self, row: Requirement) -> Answered:
        unit = self.data.get(f"u:{row.key}", "")
        return Answered(
            tuple(self._typed(row, place, unit) for place in row.spec.places or ("",)),
            reason=self.data.get(f"why:{row.key}", "").strip(),
            not_applicable=f"na:{row.key}" in self.data,
            instrument=self.instruments.get(self.data.get(f"i:{row.key}", "")),
            confirmed=self.data.get(f"sure:{row.key}", "") == self._sure(row) != "",
        )

    def _sure(self, row: Requirement) -> str:
        """Return what was typed to a requirement as one text."""
        said = [text for place in row.spec.places or ("",) if (text := " ".join(self._said(row, place)).strip())]
        return " | ".join([*said, self.data.get(f"u:{row.key}", "")]) if said else ""

    # ---- what is still missing

    def lacking(self, photos: Iterable[str]) -> Incomplete:
        """Return what the act would refuse, with photos of these views at hand: faults by key, views, reasons; all empty if nothing."""
        there = [Shot(view, Attachment()) for view in photos]
        try:
            refuse_incomplete(self._whole, there, set(self.views), self.edition.views(self.hold_point.stage))
        except Incomplete as missing:
            return missing
        return Incomplete({}, [], [])

    @property
    def missing(self) -> list[Check]:
        """The checks that are not answered, in the order of work."""
        return [check for check in self.checks if check.lacks]

    def with_key(self, key: str) -> list[Check]:
        """Return the check with this key, then those that are computed from it; none if there is no such check."""
        found = [check for check in self.checks if check.key == key]
        return found + [check for check in self.checks if found and key in check.row.spec.inputs.values()]

    # ---- how it is drawn

    def _check(self, judged: Judged) -> Check:
        row, answer, spec = judged.requirement, judged.answer, judged.requirement.spec
        choices = tuple(str(each) for each in spec.limits(self.plan).allowed) if spec.kind == "choice" else ()
        unit = answer.readings[0].unit if answer.readings and answer.readings[0].unit else spec.unit
        return Check(
            row=row,
            limit=self._limit(spec),
            entries=[self._entry(judged, place, choices) for place in spec.places or ("",)],
            judged=judged,
            kind=_kind(spec, choices),
            inputmode=_inputmode(spec),
            units=_units(spec),
            unit=self.data.get(f"u:{row.key}", "") or unit,
            unit_sign=_sign(spec.unit),
            choices=choices,
            instruments=self._gauges(spec),
            instrument=str(answer.instrument.pk) if answer.instrument else "",
            reason=answer.reason,
            not_applicable=answer.not_applicable,
            asks=tuple(questions(spec, judged.readings, self.plan)),
            sure=self._sure(row),
            confirmed=answer.confirmed and not judged.questions,
            lacks=" ".join(self.faults.get(row.key, {}).values()),
            source=_source(self.edition.sources.get(spec.source, {}), spec),
            known=self.on_file.get(spec.on_file),
            group=_group(row),
        )

    def _entry(self, judged: Judged, place: str, choices: tuple[str, ...]) -> Entry:
        text, other = self._said(judged.requirement, place)
        if choices and text and text not in choices:
            text, other = "other", other or ("" if text == "other" else text)
        fault = self._station_faults.get(judged.requirement.key, {}).get(place) or judged.faults.get(place, "")
        return Entry(f"r:{judged.requirement.key}:{place}", place, text, other, fault)

    def _limit(self, spec: Spec) -> str:
        """Say the limit, with what goes to the engineer; a station also as the stake has it."""
        parts = [_limit_words(spec, spec.limit_text(self.plan)), spec.refer_text(self.plan)]
        planned = self.plan.get("station")
        if _is_station(spec) and isinstance(planned, Fraction):
            parts.append(f"station {show_station(planned)} by plan")
        return ", ".join(part for part in parts if part)

    def _gauges(self, spec: Spec) -> list[Gauge]:
        kinds = READ_WITH.get(spec.kind, ())
        if spec.kind == "length" and spec.stage == "pour":
            kinds = (*kinds, "concrete")
        return [Gauge(key, _gauge(each, self.day)) for key, each in self.instruments.items() if each.kind in kinds]


def _kind(spec: Spec, choices: tuple[str, ...]) -> str:
    if spec.calculation and spec.key not in spec.inputs.values():
        return "computed"
    if spec.kind == "choice":
        return "choice" if choices else "text"
    return spec.kind if spec.kind in {"check", "text"} else "number"


def _limit_words(spec: Spec, text: str) -> str:
    """Say in words what a check or a free answer must be."""
    return {"yes": "must be yes", "noted": "is noted, not judged"}.get(text, text)


def _is_station(spec: Spec) -> bool:
    """Whether what is read is a station: its limit is the plan's station."""
    return spec.nominal is not None and spec.nominal.fact == "station"


def _as_feet(text: str) -> str:
    """Return a station such as 231+40.00 in feet, as decimal text. NotAReading."""
    feet = parse_station(text)
    return str(Decimal(feet.numerator) / Decimal(feet.denominator))


def _inputmode(spec: Spec) -> str:
    if spec.kind == "count":
        return "numeric"
    return "decimal" if spec.kind in DECIMAL_KINDS and not spec.signed else "text"


def _sign(unit: str) -> str:
    """Return a unit as a page writes it."""
    known = UNITS.get(unit)
    return (known.sign or known.name) if known else unit


def _units(spec: Spec) -> tuple[tuple[str, str], ...]:
    """Return the units that a field offers, its own first; none where there is nothing to choose."""
    offered = [unit for unit in OFFERED.get(spec.kind, ()) if unit in KINDS[spec.kind]]
    names = tuple(dict.fromkeys((spec.unit, *offered)))
    own = {spec.unit: "ft, in"} if spec.notation == "feet_inches" else {}
    return tuple((name, own.get(name) or _sign(name)) for name in names) if offered and len(names) > 1 else ()


def _gauge(instrument: Instrument, day: date) -> str:
    """Name an instrument and say until when its readings count."""
    if not instrument.needs_calibration:
        return instrument.name
    until = f"{instrument.calibrated_until:%-d %b %Y}" if instrument.calibrated_until else "no date"
    said = "calibrated to" if instrument.in_calibration(day) else "past calibration:"
    return f"{instrument.name}, {said} {until}"


def _source(source: dict[str, Any], spec: Spec) -> str:
    parts = (source.get("title", ""), str(source.get("edition") or ""), spec.clause)
    return ", ".join(part for part in parts if part)


def _group(row: Requirement) -> str:
    """Return the sub-heading that a check stands under, empty where the list is short."""
    groups = GROUPS.get(row.stage)
    if groups is None:
        return ""
    word = row.key.split(".", 1)[1].split("_", 1)[0]
    return groups.get(word, groups[""])
