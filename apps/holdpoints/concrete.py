"""What is known of the concrete in foundations: its loads, when it was placed, how strong it is, and what of it answers a requirement."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import datetime
from decimal import Decimal
from fractions import Fraction
from math import floor
from typing import NamedTuple

from django.db.models import Max

from apps.calc.facts import ON_FILE
from apps.corridor.models import Foundation
from apps.holdpoints.models import Inspection
from apps.materials.models import ConcreteLoad, MaturityReading, Placement, StrengthTest


def placements(foundations: Iterable[Foundation]) -> dict[object, list[Placement]]:
    """Return what was placed in each foundation, with its loads and their tests."""
    found: dict[object, list[Placement]] = defaultdict(list)
    placed = Placement.objects.filter(foundation__in=[each.pk for each in foundations])
    for placement in placed.select_related("load").prefetch_related("load__tests"):
        found[placement.foundation_id].append(placement)
    return found


def poured_at(foundations: Iterable[Foundation], placed: dict[object, list[Placement]]) -> dict[object, datetime]:
    """Return when each foundation's last concrete was placed: end of discharge, else the inspection of the pour.

    The server's clock counts there: a phone whose clock runs behind must not open the gate early.
    """
    found = {foundation: max(each.load.discharged_at for each in rows) for foundation, rows in placed.items()}
    if without := [foundation.pk for foundation in foundations if foundation.pk not in found]:
        pours = Inspection.objects.filter(hold_point__foundation__in=without, hold_point__stage="pour")
        found.update(pours.values_list("hold_point__foundation").annotate(last=Max("received_at")))
    return found


class Reached(NamedTuple):
    """A strength that speaks for loading a foundation, and by what."""

    psi: int
    how: str
    """at 5 d; by maturity."""
    where: str
    """load T-1001; entry 1,204."""


def strengths(
    foundations: Iterable[Foundation], placed: dict[object, list[Placement]], *, by_maturity: bool
) -> dict[object, Reached]:
    """Return the strength of each foundation: the best of its breaks, and of its maturity where the edition lets it count."""
    found = _by_breaks(placed)
    if by_maturity:
        keys = [each.pk for each in foundations]
        for row in MaturityReading.objects.filter(foundation__in=keys):
            known = found.get(row.foundation_id)
            if known is None or row.strength_psi > known.psi:
                found[row.foundation_id] = Reached(row.strength_psi, "by maturity", f"entry {row.entry:,}")
    return found


def _by_breaks(placed: dict[object, list[Placement]]) -> dict[object, Reached]:
    """Return the break that speaks for loading each foundation: field-cured, the best of its load, of its weakest load.

    A foundation with a load that nobody broke has none: one load does not speak for another.
    """
    best: dict[object, list[StrengthTest | None]] = defaultdict(list)
    for foundation, rows in placed.items():
        for placement in rows:
            cured = [test for test in placement.load.tests.all() if test.field_cured]
            best[foundation].append(max(cured, key=lambda test: test.strength_psi, default=None))
    found = {}
    for foundation, tests in best.items():
        if None not in tests:
            weakest = min((test for test in tests if test is not None), key=lambda test: test.strength_psi)
            found[foundation] = Reached(weakest.strength_psi, f"at {weakest.age_d} d", f"load {weakest.load.ticket}")
    return found


class OnFile(NamedTuple):
    """A value that the papers give, as one would type it, and where it is from."""

    text: str
    unit: str
    said: str


def on_file(foundation: Foundation, at: datetime) -> Mapping[str, OnFile]:
    """Return what is known of a foundation's concrete at a moment, by the names of calc.facts.ON_FILE. Unknown ones are absent."""
    placed = placements([foundation])
    rows = placed.get(foundation.pk, [])
    found = _of_loads(rows) | _of_age(foundation, poured_at([foundation], placed).get(foundation.pk), at)
    counts = bool(foundation.corridor.edition.gates.get("concrete_maturity"))
    if reached := strengths([foundation], placed, by_maturity=counts).get(foundation.pk):
        share = Fraction(reached.psi * 100, foundation.design.concrete_strength_psi)
        found["concrete.strength"] = (_tenths(share), f"{reached.psi:,} psi {reached.how}, {reached.where}")
    return {name: OnFile(text, ON_FILE[name].unit, said) for name, (text, said) in found.items()}


def _of_loads(rows: Iterable[Placement]) -> dict[str, tuple[str, str]]:
    loads = [row.load for row in rows]
    if not loads:
        return {}
    every = f"load{'s' if len(loads) > 1 else ''} {', '.join(load.ticket for load in loads)}"
    longest = max(loads, key=_minutes)
    found = {
        "load.minutes": (_tenths(_minutes(longest)), f"load {longest.ticket}"),
        "load.placed": (_plain(sum((row.volume_yd3 for row in rows), Decimal(0))), every),
    }
    for name, column in (("load.slump", "slump_in"), ("load.air", "air_percent")):
        values = {getattr(load, column) for load in loads}
        if len(values) == 1 and None not in values:
            found[name] = (_plain(values.pop()), every)
    warm = [(load.temperature_f, load.ticket) for load in loads if load.temperature_f is not None]
    if len(warm) == len(loads):
        for name, (degrees, ticket) in (("load.warmest", max(warm)), ("load.coldest", min(warm))):
            found[name] = (_plain(degrees), f"load {ticket}")
    return found


def _of_age(foundation: Foundation, poured: datetime | None, at: datetime) -> dict[str, tuple[str, str]]:
    if poured is None or poured > at:
        return {}
    days = Fraction((at - poured).total_seconds()) / 86400
    return {"concrete.age": (_tenths(days), f"placed {poured.astimezone(foundation.corridor.zone):%-d %b %H:%M}")}


def _minutes(load: ConcreteLoad) -> Fraction:
    return Fraction((load.discharged_at - load.batched_at).total_seconds()) / 60


def _tenths(value: Fraction) -> str:
    """Write a number to a tenth, never more than it is: 6.97 days are not 7."""
    return _plain(Decimal(floor(value * 10)) / 10)


def _plain(value: Decimal) -> str:
    """Write a number without needless zeros."""
    return f"{value.normalize():f}"
