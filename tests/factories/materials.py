"""Instruments, loads of concrete, breaks, calculations."""

from datetime import date, datetime
from decimal import Decimal
from typing import Any

from apps.corridor.models import Corridor, Foundation
from apps.materials import acts, computing
from apps.materials.models import Computation, ConcreteLoad, Instrument, StrengthTest
from apps.record.ids import uuid7
from tests.factories.corridor import member
from tests.factories.times import HOUR, NOW


def instrument(corridor: Corridor, until: date | None, name: str = "TW-04", at: datetime = NOW) -> Instrument:
    """Return a torque wrench, calibrated until a day."""
    by = member(corridor, "office")
    acts.calibrate(corridor=corridor, name=name, kind="wrench", calibrated_until=until, by=by, at=at, client_id=uuid7())
    return Instrument.objects.get(corridor=corridor, name=name)


def load(*foundations: Foundation, ticket: str = "T-1001", at: datetime = NOW, **more: Any) -> ConcreteLoad:
    """Return a load discharged into these foundations at a time, batched an hour before."""
    corridor = foundations[0].corridor
    acts.add_load(
        corridor=corridor,
        ticket=ticket,
        mix="4000-A",
        batched_at=at - HOUR,
        discharged_at=at,
        placed={foundation: Decimal("0.95") for foundation in foundations},
        by=member(corridor, "inspector"),
        at=at,
        client_id=uuid7(),
        **more,
    )
    return ConcreteLoad.objects.get(corridor=corridor, ticket=ticket)


def strength(of: ConcreteLoad, psi: int, age_d: int, at: datetime, field_cured: bool = False) -> StrengthTest:
    """Return a strength test of a load."""
    by = member(of.corridor, "office")
    answer = acts.add_break(
        load=of, age_d=age_d, strength_psi=psi, field_cured=field_cured, by=by, at=at, client_id=uuid7()
    )
    return StrengthTest.objects.get(pk=answer["test"])


def computation(foundation: Foundation, at: datetime = NOW, **more: Any) -> Computation:
    """Return how a base that rocks was seated, put to a foundation."""
    asked = {"calculation": "seating", "typed": {"a": "0", "b": "1/32", "c": "3/16 in", "d": "0"}} | more
    by = member(foundation.corridor, "inspector")
    answer = computing.attach_computation(foundation=foundation, by=by, at=at, client_id=uuid7(), **asked)
    return Computation.objects.get(pk=answer["computation"])
