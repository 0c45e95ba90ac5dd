"""Gates: what must be so before a stage may go on. Each answers open, opens at a time, or closed because.

Which gates stand before which stage is the table GATES; which of them an edition asks for is data of the edition. All are
answered for many foundations with a fixed number of queries.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import Max

from apps.corridor.models import Foundation
from apps.holdpoints import concrete
from apps.holdpoints.models import HoleLook, Inspection
from apps.materials.models import Certificate, Instrument, LocateTicket
from apps.requirements.models import Edition


@dataclass(frozen=True, slots=True)
class Gate:
    """How one gate stands at a moment."""

    is_open: bool
    sentence: str
    opens_at: datetime | None = None
    closes_at: datetime | None = None
    """When it closes again by itself, where that is known."""
    renewable: bool = False
    """A look on the spot opens it again: it stops only the inspection, not the notice and not the crew."""
    name: str = ""

    def stands_at(self, at: datetime) -> bool:
        """Say whether it is open at a moment."""
        opened = self.is_open or (self.opens_at is not None and self.opens_at <= at)
        return opened and (self.closes_at is None or at <= self.closes_at)


@dataclass(frozen=True, slots=True)
class Gates:
    """All gates before a stage, answering as one."""

    parts: tuple[Gate, ...] = ()

    @property
    def is_open(self) -> bool:
        """Whether every one is."""
        return all(each.is_open for each in self.parts)

    @property
    def sentence(self) -> str:
        """What the closed ones say; what the open ones say when none is closed."""
        closed = [each.sentence for each in self.parts if not each.is_open]
        return " ".join(closed or [each.sentence for each in self.parts if each.sentence])

    @property
    def opens_at(self) -> datetime | None:
        """When the last of them opens; None where one is closed without a time."""
        closed = [each for each in self.parts if not each.is_open and not each.renewable]
        times = [each.opens_at for each in closed or self.parts if each.opens_at is not None]
        return max(times) if times and (not closed or len(times) == len(closed)) else None

    def shut(self, at: datetime, *, looking: bool) -> list[str]:
        """Return what the gates say that do not stand at a moment; those that a look opens only when one is `looking`."""
        return [each.sentence for each in self.parts if not each.stands_at(at) and (looking or not each.renewable)]

    def stands_at(self, at: datetime) -> bool:
        """Say whether the crew may build at a moment."""
        return not self.shut(at, looking=False)


def concrete_gates(foundations: list[Foundation], edition: Edition, at: datetime) -> dict[object, Gate]:
    """Return the concrete gate of each foundation by key: old enough, or strong enough, whichever comes first.

    Defaults of the edition: 7 days or 75 % of the specified strength from field-cured specimens. A fixed number of queries.
    """
    if not edition.gates.get("concrete_age_d"):
        return {}
    days, share = int(edition.gates["concrete_age_d"]), int(edition.gates.get("concrete_strength_percent", 0))
    placed = concrete.placements(foundations)
    poured, strengths = (
        concrete.poured_at(foundations, placed),
        concrete.strengths(foundations, placed, by_maturity=bool(edition.gates.get("concrete_maturity"))),
    )
    return {
        foundation.pk: _concrete(foundation, poured.get(foundation.pk), strengths.get(foundation.pk), days, share, at)
        for foundation in foundations
    }


def _concrete(
    foundation: Foundation,
    poured: datetime | None,
    reached: concrete.Reached | None,
    days: int,
    share: int,
    at: datetime,
) -> Gate:
    """Judge one foundation's concrete."""
    if poured is None:
        return Gate(False, "Closed: no concrete is entered yet.", name=CONCRETE)
    specified = foundation.design.concrete_strength_psi
    if share and reached is not None and reached.psi * 100 >= specified * share:
        return Gate(True, f"Open: {reached.psi:,} of {specified:,} psi {reached.how}.", name=CONCRETE)
    opens = poured + timedelta(days=days)
    local = opens.astimezone(foundation.corridor.zone)
    if opens <= at:
        return Gate(True, f"Open: {days} d of cure reached {local:%-d %b %H:%M}.", opens, name=CONCRETE)
    return Gate(False, f"Opens {local:%a %-d %b %H:%M}, at {days} d of cure.", opens, name=CONCRETE)


CONCRETE, TICKET, HOLE, PAPERS, WRENCH = "Concrete", "Locate ticket", "Open hole", "Certificates", "Torque wrench"
Answers = dict[object, Gate]
"""Foundation to how its gate stands; a foundation without the gate has none."""


def ticket_gates(foundations: list[Foundation], edition: Edition, at: datetime) -> Answers:
    """Return whether a locate ticket covers each foundation: every owner has answered, and its days have begun."""
    if not edition.gates.get("locate_ticket"):
        return {}
    tickets = list(LocateTicket.objects.filter(corridor=foundations[0].corridor_id))
    day = foundations[0].corridor.day(at)
    return {
        each.pk: _ticket([ticket for ticket in tickets if ticket.covers(each.station_ft)], each, day)
        for each in foundations
    }


def _ticket(tickets: Sequence[LocateTicket], foundation: Foundation, day: date) -> Gate:
    """Judge the ticket that lasts longest, of those that hold today; else the one to come, else say what is wrong."""
    corridor = foundation.corridor
    holding = [each for each in tickets if each.answered and each.valid_from <= day <= each.valid_until]
    if holding:
        last = max(holding, key=lambda each: each.valid_until)
        ends = corridor.day_ends(last.valid_until)
        return Gate(True, f"Locate ticket {last.number}, until {last.valid_until:%-d %b}.", closes_at=ends, name=TICKET)
    coming = [each for each in tickets if each.answered and each.valid_from > day]
    if coming:
        first = min(coming, key=lambda each: each.valid_from)
        words = f"Locate ticket {first.number} begins {first.valid_from:%a %-d %b}."
        begins, ends = corridor.day_begins(first.valid_from), corridor.day_ends(first.valid_until)
        return Gate(False, words, begins, ends, name=TICKET)
    waiting = [each for each in tickets if not each.answered and each.valid_until >= day]
    if waiting:
        return Gate(False, f"Closed: an owner has not answered locate ticket {waiting[-1].number}.", name=TICKET)
    if tickets:
        last = max(tickets, key=lambda each: each.valid_until)
        return Gate(False, f"Closed: locate ticket {last.number} ended {last.valid_until:%-d %b}.", name=TICKET)
    return Gate(False, "Closed: no locate ticket covers this station.", name=TICKET)


def hole_gates(foundations: list[Foundation], edition: Edition, at: datetime) -> Answers:
    """Return how long ago each open hole was looked at: at drilling, or again since."""
    hours = edition.gates.get("open_hole_h")
    if not hours:
        return {}
    keys = [each.pk for each in foundations]
    drilled = Inspection.objects.filter(hold_point__foundation__in=keys, hold_point__stage="drill")
    looks: dict[object, datetime] = dict(
        drilled.values_list("hold_point__foundation").annotate(last=Max("received_at"))
    )
    again = HoleLook.objects.filter(foundation__in=keys).values_list("foundation").annotate(last=Max("at"))
    for foundation, last in again:
        looks[foundation] = max(last, looks.get(foundation, last))
    return {each.pk: _hole(each, looks.get(each.pk), int(hours), at) for each in foundations}


def _hole(foundation: Foundation, looked: datetime | None, hours: int, at: datetime) -> Gate:
    if looked is None:
        return Gate(False, "The hole was not looked at: look at it first.", name=HOLE, renewable=True)
    closes = looked + timedelta(hours=hours)
    local = closes.astimezone(foundation.corridor.zone)
    if at <= closes:
        return Gate(
            True, f"Hole looked at: counts until {local:%a %H:%M}.", closes_at=closes, name=HOLE, renewable=True
        )
    ago = int((at - looked).total_seconds() // 3600)
    said = f"The hole was last looked at {ago} h ago, over {hours} h: look at it again."
    return Gate(False, said, closes_at=closes, name=HOLE, renewable=True)


PAPERS_BEFORE = {
    "pour": (Certificate.Covers.STEEL, Certificate.Covers.BOLTS),
    "base_set": (Certificate.Covers.BASE,),
    "pole_set": (Certificate.Covers.POLE,),
}
"""Certificates that must be on file before a stage."""


def paper_gates(stage: str) -> "Asked":
    """Return the gate of the certificates before a stage."""

    def answers(foundations: list[Foundation], edition: Edition, at: datetime) -> Answers:
        """Return whether the certificates are on file and count on the day."""
        if not edition.gates.get("certificates"):
            return {}
        wanted, day = PAPERS_BEFORE[stage], foundations[0].corridor.day(at)
        rows = Certificate.objects.filter(corridor=foundations[0].corridor_id, covers__in=wanted).select_related(
            "product"
        )
        here = {row.covers for row in rows if row.holds_on(day)}
        missing = [each.label.split(":")[0].lower() for each in wanted if each not in here]
        words = f"Closed: no certificate on file for {' and '.join(missing)}." if missing else ""
        return dict.fromkeys((each.pk for each in foundations), Gate(not missing, words, name=PAPERS))

    return answers


def wrench_gates(foundations: list[Foundation], edition: Edition, at: datetime) -> Answers:
    """Return whether a torque wrench is in calibration on the day."""
    if not edition.gates.get("wrench_calibration"):
        return {}
    day = foundations[0].corridor.day(at)
    wrenches = list(Instrument.objects.filter(corridor=foundations[0].corridor_id, kind=Instrument.Kind.WRENCH))
    good = [each for each in wrenches if each.in_calibration(day)]
    if good:
        words = ""
    elif wrenches:
        words = f"Closed: no torque wrench is in calibration: {', '.join(each.name for each in wrenches)}."
    else:
        words = "Closed: no torque wrench is entered."
    return dict.fromkeys((each.pk for each in foundations), Gate(bool(good), words, name=WRENCH))


Asked = Callable[[list[Foundation], Edition, datetime], Answers]
GATES: dict[str, tuple[Asked, ...]] = {
    "drill": (ticket_gates,),
    "cage": (hole_gates,),
    "pour": (hole_gates, paper_gates("pour")),
    "base_set": (concrete_gates, paper_gates("base_set"), wrench_gates),
    "pole_set": (concrete_gates, paper_gates("pole_set")),
}
"""What stands before each stage, in the order in which it is said."""


def before_stage(stage: str, foundations: list[Foundation], edition: Edition, at: datetime) -> dict[object, Gates]:
    """Return the gates before a stage of foundations of one corridor, by foundation."""
    asked = [gates(foundations, edition, at) for gates in GATES.get(stage, ())] if foundations else []
    return {each.pk: Gates(tuple(answers[each.pk] for answers in asked if each.pk in answers)) for each in foundations}
