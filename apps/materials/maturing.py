"""Strength by maturity: the curve of a mix from its own cylinders, and the temperatures of the concrete in a foundation.

ASTM C1074. The estimate speaks only for the mix that the curve was made of; cylinders confirm it.
"""

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal
from math import floor
from uuid import UUID

from apps.calc.errors import CalcError
from apps.calc.strength.curves import Curve, fit_curve
from apps.calc.working import as_rows
from apps.corridor import access, tally
from apps.corridor.models import Corridor, Foundation
from apps.materials.acts import ROLES
from apps.materials.computing import computed
from apps.materials.models import MaturityCurve, MaturityReading
from apps.people.models import Person
from apps.record.acts import Answer, Refused, act, checked, enter


def curve_of(row: MaturityCurve) -> Curve:
    """Return the curve of a row, fitted again from its tests."""
    return fit_curve(maturities=row.degree_hours, strengths=row.strengths_psi, form=row.form)


@act
def add_curve(
    *,
    corridor: Corridor,
    mix: str,
    form: str,
    datum_c: Decimal,
    degree_hours: list[int],
    strengths_psi: list[int],
    by: Person,
    at: datetime,
    client_id: UUID,
) -> Answer:
    """Enter the tests of a mix's cylinders, maturity [°C h] and strength [psi], through which its curve is laid."""
    role = access.role_for(by, corridor, frozenset({access.Role.ENGINEER, access.Role.OFFICE}), at)
    try:
        found = fit_curve(maturities=degree_hours, strengths=strengths_psi, form=form)
    except CalcError as fault:
        raise Refused(f"The curve cannot be laid: {fault.message}.") from fault
    said = {"mix": mix.strip(), "form": form, "datum_c": datum_c}
    tests = {"degree_hours": degree_hours, "strengths_psi": strengths_psi, "sentence": found.sentence}
    made = checked(MaturityCurve(corridor=corridor, by=by, added_at=at, **said, **tests))
    made.save()
    tally.apply(corridor, tally.Change(), at)
    entry = enter(
        log=corridor.pk, act="add_curve", subject=f"mix {made.mix}", by=by, role=role, at=at, payload={**said, **tests}, rows=[made]
    )  # fmt: skip
    return {"curve": str(made.pk), "entry": entry.sequence}


@act
def add_maturity(
    *,
    foundation: Foundation,
    curve: MaturityCurve,
    typed: Mapping[str, str],
    by: Person,
    at: datetime,
    client_id: UUID,
    system: str = "US",
) -> Answer:
    """Enter the temperatures of a foundation's concrete since it was placed (`hours`, `temperatures_c`); the strength is computed here.

    Refused for a mix that was not placed there, for what cannot be read, and beyond the tests that the curve rests on.
    """
    corridor = foundation.corridor
    role = access.role_for(by, corridor, ROLES, at)
    mixes = set(foundation.placements.values_list("load__mix", flat=True))
    if curve.corridor_id != corridor.pk or mixes != {curve.mix}:
        raise Refused(
            f"{foundation.mark} holds mix {', '.join(sorted(mixes)) or 'of no load'}, the curve is of mix {curve.mix}."
        )
    kept = {name: typed.get(name, "").strip() for name in ("hours", "temperatures_c")}
    _, result = computed("strength.maturity", {**kept, "datum_c": f"{curve.datum_c} C"}, system)
    reached = result.degree_hours  # type: ignore[attr-defined]
    if reached > max(curve.degree_hours):
        raise Refused(
            f"{reached:,.0f} °C h lie beyond the {max(curve.degree_hours):,} °C h of the last cylinder: the curve says nothing there."
        )
    strength = max(floor(curve_of(curve).strength(reached)), 0) if reached > 0 else 0
    made = MaturityReading(
        foundation=foundation, curve=curve, typed=kept, system=system, degree_hours=round(Decimal(reached), 1), strength_psi=strength,
        sentence=f"{result.sentence} By the curve of mix {curve.mix}: {strength:,} psi.", working=as_rows(result.working), by=by,
        at=at, entry=0,
    )  # fmt: skip
    checked(made, "entry")
    tally.apply(corridor, tally.Change(), at)
    payload = {**kept, "system": system, "mix": curve.mix, "degree_hours": made.degree_hours, "strength_psi": strength}
    made.entry = enter(
        log=corridor.pk, act="add_maturity", subject=foundation.mark, by=by, role=role, at=at, about=foundation,
        payload=payload, rows=[made],
    ).sequence  # fmt: skip
    made.save()
    return {"strength_psi": strength, "entry": made.entry}
