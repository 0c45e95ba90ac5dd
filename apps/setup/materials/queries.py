"""What the page Materials shows, and what lacks or ends next in one sentence."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta

from apps.calc.strength.acceptance import Acceptance, acceptance
from apps.corridor.models import Corridor
from apps.holdpoints.gates import PAPERS_BEFORE
from apps.materials.models import (
    AcceptedProduct,
    Certificate,
    ConcreteLoad,
    Instrument,
    LocateTicket,
    MaturityCurve,
    MaturityReading,
    Placement,
    StrengthTest,
)

SOON = timedelta(days=7)
"""What ends within so many days is said beforehand."""
LOADS = 50
TESTS = 12
"""So many of a mix are listed; all are judged."""


@dataclass(frozen=True, slots=True)
class Mix:
    """The 28-day tests of one mix at one specified strength, in order of sampling, against the two rules of the code."""

    name: str
    specified: int
    tests: list[StrengthTest]
    result: Acceptance

    @property
    def last(self) -> list[tuple[StrengthTest, float | None]]:
        """The last tests, each with the average of three that ends with it."""
        averages: list[float | None] = [None] * (len(self.tests) - len(self.result.averages))
        return list(zip(self.tests, averages + list(self.result.averages), strict=True))[-TESTS:]


@dataclass(frozen=True, slots=True)
class Materials:
    """The whole page."""

    tickets: list[tuple[LocateTicket, str]]
    certificates: list[tuple[Certificate, str]]
    instruments: list[tuple[Instrument, str]]
    loads: list[ConcreteLoad]
    load_count: int
    products: list[tuple[AcceptedProduct, str]]
    curves: list[MaturityCurve]
    matured: list[MaturityReading]
    mixes: list[Mix]
    lacking: list[str]
    """What closes a gate today."""
    ending: list[str]
    """What ends within a week."""


def materials(corridor: Corridor, day: date) -> Materials:
    """Return what is on file on a day, with a fixed number of queries."""
    tickets = list(corridor.locate_tickets.select_related("paper").order_by("-valid_until"))
    certificates = list(corridor.certificates.select_related("product", "paper").prefetch_related("uses__foundation"))
    instruments = list(corridor.instruments.select_related("paper"))
    loads = corridor.loads.order_by("-batched_at").prefetch_related("placements__foundation", "tests")
    lacking, ending = (
        _lacking(tickets, certificates, instruments, day),
        _ending(tickets, certificates, instruments, day),
    )
    return Materials(
        tickets=[(each, _ticket_state(each, day)) for each in tickets],
        certificates=[(each, "counts" if each.holds_on(day) else "does not count today") for each in certificates],
        instruments=[(each, "counts" if each.in_calibration(day) else "past its calibration") for each in instruments],
        products=[
            (each, "accepted" if each.is_accepted(day) else "not on the list today")
            for each in corridor.accepted_products.all()
        ],
        curves=list(corridor.maturity_curves.all()),
        matured=list(
            MaturityReading.objects.filter(foundation__corridor=corridor)
            .select_related("foundation", "curve", "by")
            .order_by("-at")[:LOADS]
        ),
        mixes=_mixes(corridor),
        loads=list(loads[:LOADS]),
        load_count=corridor.loads.count(),
        lacking=lacking,
        ending=ending,
    )


def _mixes(corridor: Corridor) -> list[Mix]:
    """Judge the 28-day tests of each mix: averages of three, and each alone (ACI 318-19, 26.12.3.1). Two queries."""
    tests = StrengthTest.objects.filter(load__corridor=corridor, age_d=28, field_cured=False)
    specified = dict(
        Placement.objects.filter(load__corridor=corridor).values_list(
            "load", "foundation__design__concrete_strength_psi"
        )
    )
    found: dict[tuple[str, int], list[StrengthTest]] = defaultdict(list)
    for test in tests.select_related("load").order_by("load__batched_at", "tested_at"):
        if test.load_id in specified:
            found[test.load.mix, specified[test.load_id]].append(test)
    return [
        Mix(name, psi, rows, acceptance(tests=[row.strength_psi for row in rows], specified=psi))
        for (name, psi), rows in sorted(found.items())
    ]


def _ticket_state(ticket: LocateTicket, day: date) -> str:
    if ticket.valid_until < day:
        return "ended"
    if not ticket.answered:
        return "an owner has not answered"
    return "begins later" if ticket.valid_from > day else "holds"


def _lacking(
    tickets: list[LocateTicket], certificates: list[Certificate], instruments: list[Instrument], day: date
) -> list[str]:
    """Say what closes a gate today."""
    said = [] if any(_ticket_state(each, day) == "holds" for each in tickets) else ["no locate ticket holds today"]
    held = {each.covers for each in certificates if each.holds_on(day)}
    needed = dict.fromkeys(kind for kinds in PAPERS_BEFORE.values() for kind in kinds)
    said += [f"no certificate for {kind.label.split(':')[0].lower()}" for kind in needed if kind not in held]
    wrenches = [each for each in instruments if each.kind == Instrument.Kind.WRENCH]
    if not any(each.in_calibration(day) for each in wrenches):
        said.append("no torque wrench is in calibration")
    return said


def _ending(
    tickets: list[LocateTicket], certificates: list[Certificate], instruments: list[Instrument], day: date
) -> list[str]:
    """Say which instruments are past their calibration, and what ends within a week, the first to end first."""
    dated = [(each.valid_until, f"locate ticket {each.number}") for each in tickets]
    dated += [(each.valid_until, str(each)) for each in certificates if each.valid_until]
    dated += [(each.calibrated_until, f"calibration of {each.name}") for each in instruments if each.calibrated_until]
    over = sorted(each.name for each in instruments if not each.in_calibration(day))
    past = [f"{name} is past its calibration: its readings refer to the engineer" for name in over]
    return past + [f"{name} ends {until:%a %-d %b}" for until, name in sorted(dated) if day <= until <= day + SOON]
