"""Gates: conditions with a time or a strength between one stage and the next. Each answers open, opens at, or closed because."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Max

from apps.corridor.models import Foundation
from apps.holdpoints.models import Inspection
from apps.materials.models import Placement, StrengthTest
from apps.requirements.models import Edition

GATED_BY_CONCRETE = ("base_set", "pole_set")


@dataclass(frozen=True, slots=True)
class Gate:
    """How a gate stands at a moment."""

    is_open: bool
    sentence: str
    opens_at: datetime | None = None

    def stands_at(self, at: datetime) -> bool:
        """Say whether it is open at a moment."""
        return self.is_open or (self.opens_at is not None and self.opens_at <= at)


def _placements(foundations: Iterable[Foundation]) -> dict[object, list[Placement]]:
    """Return what was placed in each foundation, with its loads and their tests."""
    found: dict[object, list[Placement]] = defaultdict(list)
    placed = Placement.objects.filter(foundation__in=[each.pk for each in foundations])
    for placement in placed.select_related("load").prefetch_related("load__tests"):
        found[placement.foundation_id].append(placement)
    return found


def _poured_at(foundations: Iterable[Foundation], placed: dict[object, list[Placement]]) -> dict[object, datetime]:
    """Return when each foundation's last concrete was placed: end of discharge, else the inspection of the pour.

    The server's clock counts there: a phone whose clock runs behind must not open the gate early.
    """
    found = {
        foundation: max(each.load.discharged_at for each in placements) for foundation, placements in placed.items()
    }
    if without := [foundation.pk for foundation in foundations if foundation.pk not in found]:
        pours = Inspection.objects.filter(hold_point__foundation__in=without, hold_point__stage="pour")
        found.update(pours.values_list("hold_point__foundation").annotate(last=Max("received_at")))
    return found


def _strengths(placed: dict[object, list[Placement]]) -> dict[object, StrengthTest]:
    """Return the break that speaks for loading each foundation: field-cured, the best of its load, of its weakest load.

    A foundation with a load that nobody broke has none: one load does not speak for another.
    """
    best: dict[object, list[StrengthTest | None]] = defaultdict(list)
    for foundation, placements in placed.items():
        for placement in placements:
            cured = [test for test in placement.load.tests.all() if test.field_cured]
            best[foundation].append(max(cured, key=lambda test: test.strength_psi, default=None))
    return {
        foundation: min((test for test in tests if test is not None), key=lambda test: test.strength_psi)
        for foundation, tests in best.items()
        if None not in tests
    }


def concrete_gates(foundations: list[Foundation], edition: Edition, at: datetime) -> dict[object, Gate]:
    """Return the concrete gate of each foundation by key: old enough, or strong enough, whichever comes first.

    Defaults of the edition: 7 days or 75 % of the specified strength from field-cured specimens. A fixed number of queries.
    """
    days = int(edition.gates.get("concrete_age_d", 7))
    share = int(edition.gates.get("concrete_strength_percent", 75))
    placed = _placements(foundations)
    poured, strengths = _poured_at(foundations, placed), _strengths(placed)
    return {
        foundation.pk: _concrete(foundation, poured.get(foundation.pk), strengths.get(foundation.pk), days, share, at)
        for foundation in foundations
    }


def _concrete(
    foundation: Foundation, poured: datetime | None, test: StrengthTest | None, days: int, share: int, at: datetime
) -> Gate:
    """Judge one foundation's concrete."""
    if poured is None:
        return Gate(False, "Closed: no concrete is entered yet.")
    specified = foundation.design.concrete_strength_psi
    if test is not None and test.strength_psi * 100 >= specified * share:
        return Gate(True, f"Open: {test.strength_psi:,} of {specified:,} psi at {test.age_d} d.")
    opens = poured + timedelta(days=days)
    local = opens.astimezone(foundation.corridor.zone)
    if opens <= at:
        return Gate(True, f"Open: {days} d of cure reached {local:%-d %b %H:%M}.", opens)
    return Gate(False, f"Opens {local:%a %-d %b %H:%M}, at {days} d of cure.", opens)


def gate(foundation: Foundation, stage: str, edition: Edition, at: datetime) -> Gate:
    """Return how the gate before a stage stands; always open where there is none."""
    if stage not in GATED_BY_CONCRETE:
        return Gate(True, "")
    return concrete_gates([foundation], edition, at)[foundation.pk]
