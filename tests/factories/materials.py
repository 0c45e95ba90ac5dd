"""Instruments, loads of concrete, breaks, calculations."""

from datetime import date, datetime
from decimal import Decimal
from typing import Any

from apps.corridor.models import Corridor, Foundation
from apps.materials import acts, computing, lots, maturing
from apps.materials.models import (
    AcceptedProduct,
    Certificate,
    Computation,
    ConcreteLoad,
    Instrument,
    LotUse,
    MaturityCurve,
    MaturityReading,
    StrengthTest,
)
from tests.factories.corridor import member
from tests.factories.kept import done
from tests.factories.record import paper
from tests.factories.times import HOUR, NOW


def instrument(
    corridor: Corridor, until: date | None, name: str = "TW-04", at: datetime = NOW, **more: Any
) -> Instrument:
    """Return a torque wrench, calibrated until a day."""
    by = member(corridor, "office")
    said = {"name": name, "kind": "wrench", "calibrated_until": until, **more}
    done(acts.calibrate, corridor=corridor, by=by, at=at, **said)
    return Instrument.objects.get(corridor=corridor, name=name)


def certificate(corridor: Corridor, at: datetime = NOW, **more: Any) -> Certificate:
    """Return a certificate of steel, with its paper on file unless `more` says otherwise."""
    said = {"covers": "steel", "number": "C-77", "received_on": corridor.day(at), "paper": paper(), **more}
    by = member(corridor, "office")
    answer = done(acts.add_certificate, corridor=corridor, by=by, at=at, **said)
    return Certificate.objects.get(pk=answer["certificate"])


def load(*foundations: Foundation, ticket: str = "T-1001", at: datetime = NOW, **more: Any) -> ConcreteLoad:
    """Return a load discharged into these foundations at a time, batched an hour before."""
    corridor = foundations[0].corridor
    done(
        acts.add_load,
        corridor=corridor,
        ticket=ticket,
        mix="4000-A",
        batched_at=at - HOUR,
        discharged_at=at,
        placed={foundation: Decimal("0.95") for foundation in foundations},
        by=member(corridor, "inspector"),
        at=at,
        **more,
    )
    return ConcreteLoad.objects.get(corridor=corridor, ticket=ticket)


def strength(of: ConcreteLoad, psi: int, age_d: int, at: datetime, field_cured: bool = False) -> StrengthTest:
    """Return a strength test of a load."""
    by = member(of.corridor, "office")
    answer = done(acts.add_break, load=of, age_d=age_d, strength_psi=psi, field_cured=field_cured, by=by, at=at)
    return StrengthTest.objects.get(pk=answer["test"])


def computation(foundation: Foundation, at: datetime = NOW, **more: Any) -> Computation:
    """Return how a base that rocks was seated, put to a foundation."""
    asked = {"calculation": "seating", "typed": {"a": "0", "b": "1/32", "c": "3/16 in", "d": "0"}} | more
    by = member(foundation.corridor, "inspector")
    answer = done(computing.attach_computation, foundation=foundation, by=by, at=at, **asked)
    return Computation.objects.get(pk=answer["computation"])


def product(corridor: Corridor, until: date | None = None, at: datetime = NOW) -> AcceptedProduct:
    """Return a product on the owner's list, until a day."""
    said = {"name": "Base TB-1", "listed_as": "Breakaway list, item 12", "accepted_from": date(2026, 1, 1)}
    answer = done(
        lots.accept_product, corridor=corridor, accepted_until=until, by=member(corridor, "office"), at=at, **said
    )
    return AcceptedProduct.objects.get(pk=answer["product"])


def lot(*foundations: Foundation, at: datetime = NOW, **which: Any) -> LotUse:
    """Return that the lot of the corridor's first certificate, or of `which`, went into foundations."""
    corridor = foundations[0].corridor
    certificate = Certificate.objects.filter(corridor=corridor, **which).first()
    assert certificate is not None
    by = member(corridor, "inspector")
    done(lots.use_lot, certificate=certificate, foundations=foundations, by=by, at=at)
    return LotUse.objects.filter(foundation=foundations[0]).latest("at")


def curve(corridor: Corridor, mix: str = "4000-A", at: datetime = NOW) -> MaturityCurve:
    """Return a curve that is straight over the logarithm: 1,000 psi at 100 °C h, 2,000 psi more for each tenfold."""
    tests = {"degree_hours": [100, 1000, 10_000], "strengths_psi": [1000, 3000, 5000]}
    answer = done(
        maturing.add_curve, corridor=corridor, mix=mix, form="logarithmic", datum_c=Decimal(0), by=member(corridor, "engineer"), at=at,
        **tests,
    )  # fmt: skip
    return MaturityCurve.objects.get(pk=answer["curve"])


def matured(
    foundation: Foundation, at: datetime = NOW, hours: str = "50", temperatures: str = "20 C"
) -> MaturityReading:
    """Return what a foundation's temperatures come to; 50 h at 20 °C are 1,000 °C h: 3,000 psi."""
    found = foundation.corridor.maturity_curves.first() or curve(foundation.corridor)
    typed = {"hours": hours, "temperatures_c": temperatures}
    by = member(foundation.corridor, "inspector")
    done(maturing.add_maturity, foundation=foundation, curve=found, typed=typed, by=by, at=at)
    return MaturityReading.objects.filter(foundation=foundation).latest("at")
