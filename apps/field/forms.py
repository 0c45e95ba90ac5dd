"""An inspection as a form: one check for each requirement of the edition, everything typed kept, whatever comes of it."""

from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID

from django.core.files.uploadedfile import UploadedFile
from django.http import QueryDict
from django.utils.datastructures import MultiValueDict
from django.utils.dateparse import parse_datetime

from apps.calc.units import KINDS
from apps.holdpoints import judging
from apps.holdpoints.judging import Answered, Judged, Typed
from apps.holdpoints.models import HoldPoint
from apps.materials.models import Instrument
from apps.record.ids import uuid7
from apps.record.models import Attachment
from apps.requirements.models import Requirement

# Units that a field offers beside its own, for the quantities that are read in more than one on a road. Others may be typed.
OFFERED = {"length": ("in", "ft", "mm", "m"), "torque": ("ft-lb", "N m"), "temperature": ("F", "C")}
READ_WITH = {"length": ("tape", "gauge", "survey"), "angle": ("level",), "torque": ("wrench",), "ratio": ("level",)}

# First word of a key after the stage → the sub-heading that it stands under, at the stages with the longest lists.
GROUPS: dict[str, dict[str, str]] = {
    "cage": {
        "bolt": "Bolts and templates",
        "template": "Bolts and templates",
        "conduit": "Conduits",
        "bond": "Bond and grounding",
        "electrode": "Bond and grounding",
        "rod": "Bond and grounding",
        "photo": "Bond and grounding",
        "": "Cage and cover",
    },
    "pour": {
        "release": "Before the truck",
        "hole": "Before the truck",
        "mix": "Ticket and truck",
        "ticket": "Ticket and truck",
        "discharge": "Ticket and truck",
        "revolutions": "Ticket and truck",
        "water": "Ticket and truck",
        "slump": "Fresh concrete",
        "air": "Fresh concrete",
        "temp": "Fresh concrete",
        "cold": "Fresh concrete",
        "cylinders": "Fresh concrete",
        "bolt": "Bolts and top after placing",
        "bolts": "Bolts and top after placing",
        "top": "Bolts and top after placing",
        "cage": "Bolts and top after placing",
        "conduit": "Bolts and top after placing",
        "bond": "Bolts and top after placing",
        "curing": "Bolts and top after placing",
        "": "Placing",
    },
}


@dataclass
class Entry:
    """One field of a check: a place, and what was typed there."""

    name: str
    place: str
    value: str = ""
    fault: str = ""


@dataclass
class Check:
    """One requirement as the page draws it."""

    row: Requirement
    limit: str
    entries: list[Entry]
    units: tuple[str, ...] = ()
    unit: str = ""
    choices: tuple[str, ...] = ()
    other: str = ""
    instruments: list[Instrument] = field(default_factory=list)
    instrument: str = ""
    reason: str = ""
    not_applicable: bool = False
    confirmed: bool = False
    judged: Judged | None = None
    fault: str = ""
    caution: dict[str, str] | None = None
    source: str = ""
    group: str = ""
    offers_reason: bool = False

    @property
    def key(self) -> str:
        """The requirement's key."""
        return self.row.key

    @property
    def kind(self) -> str:
        """check, choice, text, or number."""
        return self.row.spec.kind if self.row.spec.kind in {"check", "choice", "text"} else "number"

    @property
    def answered(self) -> bool:
        """Whether it was answered: a verdict, or a reason why there is none."""
        return self.judged is not None and (
            self.judged.verdict.outcome in {"conforms", "refer", "nonconforming"} or bool(self.reason)
        )

    @property
    def shows_verdict(self) -> bool:
        """Whether there is a verdict to show: something was typed and could be read."""
        return self.judged is not None and bool(self.judged.readings) and not self.judged.faults


class InspectionForm:
    """What one inspection page holds: checks, photos, note, the ids and clocks that make a repeat one submission."""

    def __init__(
        self,
        hold_point: HoldPoint,
        rows: list[Requirement],
        instruments: list[Instrument],
        *,
        at: datetime,
        data: QueryDict | None = None,
        files: MultiValueDict[str, UploadedFile[Any]] | None = None,
        only: str = "",
    ) -> None:
        self.hold_point, self.rows, self.at = hold_point, rows, at
        self.instruments = {str(each.pk): each for each in instruments}
        self.data: QueryDict = data if data is not None else QueryDict()
        self.files: MultiValueDict[str, UploadedFile[Any]] = files if files is not None else MultiValueDict()
        self.client_id = self._client_id()
        self.looked_at = self._looked_at()
        self.note = self.data.get("note", "").strip()
        self.answers = {row.key: self._answer(row) for row in rows}
        corridor = hold_point.foundation.corridor
        judged = judging.judge_all(
            rows,
            self.answers,
            plan=hold_point.foundation.plan,
            day=corridor.day(self.looked_at),
            rule=corridor.edition.rule,
            so_far=True,
        )
        self.checks = [self._check(each) for each in judged if only in {"", each.requirement.key}]

    def _client_id(self) -> UUID:
        try:
            return UUID(self.data.get("client_id", ""))
        except ValueError:
            return uuid7()

    def _looked_at(self) -> datetime:
        """The device's clock where it was sent, else the server's."""
        try:
            sent = parse_datetime(self.data.get("looked_at", ""))
        except ValueError:
            sent = None
        return sent if sent is not None and sent.tzinfo is not None else self.at

    def _typed(self, row: Requirement, place: str) -> str:
        typed = self.data.get(f"r:{row.key}:{place}", "").strip()
        return self.data.get(f"o:{row.key}:{place}", "").strip() if typed == "other" else typed

    def _answer(self, row: Requirement) -> Answered:
        unit = self.data.get(f"u:{row.key}", "")
        return Answered(
            tuple(Typed(place, self._typed(row, place), unit) for place in row.spec.places or ("",)),
            reason=self.data.get(f"why:{row.key}", "").strip(),
            not_applicable=f"na:{row.key}" in self.data,
            instrument=self.instruments.get(self.data.get(f"i:{row.key}", "")),
            confirmed=f"sure:{row.key}" in self.data,
        )

    def _check(self, judged: Judged) -> Check:
        row, answer, plan = judged.requirement, judged.answer, self.hold_point.foundation.plan
        spec, edition = row.spec, self.hold_point.foundation.corridor.edition
        entries = [
            Entry(f"r:{row.key}:{typed.place}", typed.place, typed.text, judged.faults.get(typed.place, ""))
            for typed in answer.readings
        ]
        choices = tuple(str(each) for each in spec.limits(plan).allowed) if spec.kind == "choice" else ()
        offered = OFFERED.get(spec.kind, ())
        units = tuple(dict.fromkeys((spec.unit, *offered))) if offered and spec.unit in KINDS[spec.kind] else ()
        source = edition.sources.get(spec.source, {})
        first = answer.readings[0].text
        wanted = READ_WITH.get(spec.kind, ())
        return Check(
            row=row,
            limit=spec.limit_text(plan),
            entries=entries,
            units=units,
            unit=answer.readings[0].unit or spec.unit,
            choices=choices,
            other=first if choices and first and first not in choices else "",
            instruments=[each for each in self.instruments.values() if each.kind in wanted],
            instrument=str(answer.instrument.pk) if answer.instrument else "",
            reason=answer.reason,
            not_applicable=answer.not_applicable,
            confirmed=answer.confirmed,
            judged=judged,
            caution=edition.stage_cautions(row.stage).get(spec.caution),
            source=", ".join(
                part for part in (source.get("title", ""), str(source.get("edition", "")), spec.clause) if part
            ),
            group=_group(row),
            offers_reason=bool(answer.reason or answer.not_applicable),
        )

    def kept(self, views: dict[str, str]) -> dict[str, Attachment]:
        """Return the photos that an earlier, refused sending already brought, by view."""
        ids = {view: self.data.get(f"kept:{view}", "") for view in views}
        wanted = [each for each in ids.values() if _is_uuid(each)]
        found = (
            {str(row.pk): row for row in Attachment.objects.filter(log=self.hold_point.corridor_id, pk__in=wanted)}
            if wanted
            else {}
        )
        return {view: found[each] for view, each in ids.items() if each in found}


def _is_uuid(text: str) -> bool:
    try:
        UUID(text)
    except ValueError:
        return False
    return True


def _group(row: Requirement) -> str:
    """Return the sub-heading that a check stands under, empty where the list is short."""
    groups = GROUPS.get(row.stage)
    if groups is None:
        return ""
    word = row.key.split(".", 1)[1].split("_", 1)[0]
    return groups.get(word, groups[""])
