"""Entering instruments, concrete loads, strength tests, locate tickets and certificates."""

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal
from math import ceil
from typing import Any
from uuid import UUID

from django.core.files.uploadedfile import UploadedFile
from django.db import models

from apps.calc.doubt import read_doubt
from apps.calc.errors import NotAReading
from apps.corridor import access, tally
from apps.corridor.models import Corridor, Foundation
from apps.findings.acts import raise_from_reading
from apps.findings.models import Finding
from apps.materials.models import (
    AcceptedProduct,
    Certificate,
    ConcreteLoad,
    Instrument,
    LocateTicket,
    Placement,
    StrengthTest,
)
from apps.people.models import Person
from apps.record import papers
from apps.record.acts import Answer, Refused, act, checked, enter, within
from apps.record.models import Attachment

ROLES = frozenset({access.Role.INSPECTOR, access.Role.ENGINEER, access.Role.OFFICE})

# Share of the specified strength that a 7-day break should show; below it the 28-day result is in doubt. Common practice, no source.
SEVEN_DAY_SHARE = Decimal("0.65")


def _entry(
    corridor: Corridor,
    act: str,
    subject: str,
    by: Person,
    role: str,
    at: datetime,
    payload: dict[str, Any],
    *rows: models.Model,
    about: Foundation | None = None,
) -> int:
    tally.apply(corridor, tally.Change(), at)
    return enter(
        log=corridor.pk, act=act, subject=subject, by=by, role=role, at=at, payload=payload, about=about, rows=rows
    ).sequence


def _filed(corridor: Corridor, paper: "UploadedFile[Any] | Attachment | None", at: datetime) -> Attachment | None:
    """Return a paper's file sealed; one that was sealed before is of this corridor. Refused, with the sentence, if it cannot be kept."""
    if paper is None or isinstance(paper, Attachment):
        if paper is not None and paper.log != corridor.pk:
            raise Refused("A paper of another corridor was named.")
        return paper
    try:
        return papers.keep(log=corridor.pk, file=paper, at=at)
    except papers.NotAPaper as fault:
        raise Refused(str(fault)) from fault


def _told(paper: Attachment | None) -> dict[str, Any]:
    """Return how an entry names a paper's file; nothing where there is none, as in entries from before a file could be kept."""
    return {"paper": {"sha256": paper.sha256, "name": paper.name}} if paper else {}


@act
def calibrate(
    *,
    corridor: Corridor,
    name: str,
    kind: str,
    calibrated_until: date | None,
    by: Person,
    at: datetime,
    client_id: UUID,
    uncertainty: str = "",
    paper: "UploadedFile[Any] | Attachment | None" = None,
) -> Answer:
    """Bring in an instrument, or a new calibration of one. `calibrated_until` None: it needs none.

    `uncertainty` is that of one reading, expanded, as the certificate has it: "1/16 in", "4 %"; empty: not known. `paper` is the file of
    the calibration; one that is on file stays as long as the calibration is the same.
    """
    role = access.role_for(by, corridor, ROLES, at)
    if uncertainty:
        try:
            read_doubt(uncertainty)
        except NotAReading as fault:
            raise Refused(fault.message) from fault
    tally.lock(corridor)
    known = Instrument.objects.filter(corridor=corridor, name=name).first()
    instrument = known or Instrument(corridor=corridor, name=name)
    same = known is not None and known.calibrated_until == calibrated_until
    instrument.paper = _filed(corridor, paper, at) or (instrument.paper if same else None)
    instrument.kind, instrument.needs_calibration = kind, calibrated_until is not None
    instrument.calibrated_until, instrument.uncertainty = calibrated_until, uncertainty
    checked(instrument).save()
    payload = {"name": name, "kind": kind, "calibrated_until": calibrated_until, "uncertainty": uncertainty}
    payload |= _told(instrument.paper)
    entry = _entry(corridor, "calibrate", name, by, role, at, payload, instrument)
    return {"instrument": str(instrument.pk), "entry": entry}


@act
def add_load(
    *,
    corridor: Corridor,
    ticket: str,
    mix: str,
    batched_at: datetime,
    discharged_at: datetime,
    placed: Mapping[Foundation, Decimal],
    by: Person,
    at: datetime,
    client_id: UUID,
    slump_in: Decimal | None = None,
    air_percent: Decimal | None = None,
    temperature_f: Decimal | None = None,
    water_added_gal: Decimal | None = None,
) -> Answer:
    """Enter a concrete load and how much of it went into which foundation (yd³ by foundation)."""
    role = access.role_for(by, corridor, ROLES, at)
    if not placed:
        raise Refused("Name at least one foundation that took concrete of this load.")
    if strange := sorted(each.mark for each in placed if each.corridor_id != corridor.pk):
        raise Refused(f"{', '.join(strange)} is not on {corridor.name}.")
    if any(volume <= 0 for volume in placed.values()):
        raise Refused("A volume placed is more than 0 yd³.")
    if discharged_at < batched_at:
        raise Refused("Discharge ended before batching: look at the times on the ticket again.")
    tally.lock(corridor)
    if ConcreteLoad.objects.filter(corridor=corridor, ticket=ticket).exists():
        raise Refused(f"Ticket {ticket} is entered already.")
    load = ConcreteLoad(
        corridor=corridor,
        ticket=ticket,
        mix=mix,
        batched_at=batched_at,
        discharged_at=discharged_at,
        volume_yd3=sum(placed.values(), Decimal(0)),
        slump_in=slump_in,
        air_percent=air_percent,
        temperature_f=temperature_f,
        water_added_gal=water_added_gal,
        added_at=at,
    )
    checked(load).save()
    placements = [
        Placement(load=load, foundation=foundation, volume_yd3=volume) for foundation, volume in placed.items()
    ]
    Placement.objects.bulk_create(placements)
    marks = {foundation.mark: volume for foundation, volume in placed.items()}
    payload = {
        "ticket": ticket,
        "mix": mix,
        "batched_at": batched_at,
        "discharged_at": discharged_at,
        "placed_yd3": marks,
        "slump_in": slump_in,
        "air_percent": air_percent,
        "temperature_f": temperature_f,
        "water_added_gal": water_added_gal,
    }
    entries = [
        _entry(corridor, "add_load", f"load {ticket}", by, role, at, payload, load, row, about=row.foundation)
        for row in placements
    ]
    return {"load": str(load.pk), "entry": entries[0]}


def _least(specified: int, age_d: int) -> int:
    """Return the least strength, psi, that a break at an age may show before it raises a finding; 0 before seven days.

    From 28 days on the floor of a single test: ACI 318-19, 26.12.3.1(b).
    """
    from apps.calc.strength import single_test_floor

    if age_d >= 28:
        return ceil(single_test_floor(specified))
    return ceil(specified * SEVEN_DAY_SHARE) if age_d >= 7 else 0


def _raise_low(
    placements: Sequence[Placement], age_d: int, strength_psi: int, by: Person, role: str, at: datetime
) -> Finding | None:
    """Raise a finding at every standing foundation for which a strength is too low for its age; return the last, None for none."""
    finding = None
    for foundation in (placement.foundation for placement in placements):
        specified = foundation.design.concrete_strength_psi
        least = _least(specified, age_d)
        if strength_psi >= least or foundation.abandoned_at:
            continue
        finding = raise_from_reading(
            foundation=foundation,
            stage="pour",
            title=f"{age_d}-day cylinders at {strength_psi * 100 // specified} % of specified",
            grade="critical",
            cause="material",
            reading=f"{strength_psi:,} psi at {age_d} d",
            limit=f"at least {least:,} psi at {age_d} d",
            by=by,
            role=role,
            at=at,
        )
    return finding


@act
def add_break(
    *,
    load: ConcreteLoad,
    age_d: int,
    by: Person,
    at: datetime,
    client_id: UUID,
    strength_psi: int = 0,
    breaks: Sequence[int] = (),
    field_cured: bool = False,
) -> Answer:
    """Enter a strength test: each cylinder's break, or their mean where the report has no more.

    The mean is rounded down to the psi, and one that is too low for its age raises a finding at every standing foundation of the load.
    """
    corridor = load.corridor
    role = access.role_for(by, corridor, ROLES, at)
    if len(breaks) == 1:
        raise Refused("A strength test is the mean of at least two cylinders (ACI 318-19, 26.12.1.1).")
    strength_psi = sum(breaks) // len(breaks) if breaks else strength_psi
    if not 0 < strength_psi < 20_000:
        raise Refused(f"{strength_psi} psi is not a cylinder strength; expected between 1 and 20,000.")
    placements = list(load.placements.select_related("foundation__design", "foundation__corridor"))
    finding = _raise_low(placements, age_d, strength_psi, by, role, at)
    test = StrengthTest.objects.create(
        load=load,
        age_d=age_d,
        strength_psi=strength_psi,
        breaks=list(breaks),
        field_cured=field_cured,
        tested_at=at,
        by=by,
        finding=finding,
    )
    payload = {
        "ticket": load.ticket,
        "age_d": age_d,
        "strength_psi": strength_psi,
        "breaks": list(breaks),
        "field_cured": field_cured,
    }
    entries = [
        _entry(corridor, "add_break", f"load {load.ticket}", by, role, at, payload, test, about=placement.foundation)
        for placement in placements
    ]
    return {"test": str(test.pk), "entry": entries[0] if entries else None}


@act
def add_locate_ticket(
    *,
    corridor: Corridor,
    number: str,
    valid_from: date,
    valid_until: date,
    answered: bool,
    by: Person,
    at: datetime,
    client_id: UUID,
    from_station_ft: Decimal | None = None,
    to_station_ft: Decimal | None = None,
    note: str = "",
    paper: "UploadedFile[Any] | Attachment | None" = None,
) -> Answer:
    """Enter a one-call ticket: from when to when, on which stretch (None: all), and whether every owner has answered.

    `paper` is its file, a PDF or picture.
    """
    role = access.role_for(by, corridor, ROLES, at)
    if valid_until < valid_from:
        raise Refused("The ticket ends before it begins: look at its dates again.")
    if from_station_ft is not None and to_station_ft is not None and to_station_ft < from_station_ft:
        raise Refused("The stretch ends before it begins: look at its stations again.")
    said = {
        "number": number.strip(),
        "valid_from": valid_from,
        "valid_until": valid_until,
        "from_station_ft": from_station_ft,
        "to_station_ft": to_station_ft,
        "answered": answered,
        "note": within(note, 200, "The note"),
    }
    made = checked(LocateTicket(corridor=corridor, by=by, added_at=at, paper=_filed(corridor, paper, at), **said))
    made.save()
    said |= _told(made.paper)
    entry = _entry(corridor, "add_locate_ticket", f"locate ticket {made.number}", by, role, at, said, made)
    return {"ticket": str(made.pk), "entry": entry}


@act
def add_certificate(
    *,
    corridor: Corridor,
    covers: str,
    number: str,
    received_on: date,
    by: Person,
    at: datetime,
    client_id: UUID,
    lot: str = "",
    valid_until: date | None = None,
    note: str = "",
    product: AcceptedProduct | None = None,
    paper: "UploadedFile[Any] | Attachment | None" = None,
) -> Answer:
    """Enter a certificate of a material, or the eligibility letter of a base; `product` is the one on the owner's list that it is for.

    `paper` is its file, a PDF or picture.
    """
    role = access.role_for(by, corridor, ROLES, at)
    if received_on > corridor.day(at):
        raise Refused("A certificate that is still to come cannot be entered: look at the day again.")
    said = {
        "covers": covers,
        "number": number.strip(),
        "lot": lot.strip(),
        "received_on": received_on,
        "valid_until": valid_until,
        "note": within(note, 200, "The note"),
    }
    if product is not None and product.corridor_id != corridor.pk:
        raise Refused(f"{product.name} is not on the list of {corridor.name}.")
    filed = _filed(corridor, paper, at)
    made = checked(Certificate(corridor=corridor, product=product, paper=filed, by=by, added_at=at, **said))
    said |= {"product": product.name if product else "", **_told(filed)}
    made.save()
    entry = _entry(corridor, "add_certificate", str(made), by, role, at, said, made)
    return {"certificate": str(made.pk), "entry": entry}
