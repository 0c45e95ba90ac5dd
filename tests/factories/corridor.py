"""One corridor with its line, two designs, a crew and its people, set up by the acts as an administrator would."""

from datetime import date
from decimal import Decimal
from typing import Any

from apps.corridor import acts
from apps.corridor.models import Corridor, Crew, Design, Foundation
from apps.corridor.schedule_file import Line
from apps.holdpoints import schedule
from apps.materials import acts as material_acts
from apps.people.models import Person
from tests.factories.kept import done, kept
from tests.factories.people import administrator, person
from tests.factories.requirements import default_edition
from tests.factories.times import FIRST_DAY, START

ALIGNMENT: dict[str, Any] = {
    "start_station": "100+00.00",
    "start_e": "51200",
    "start_n": "88400",
    "start_bearing_deg": "84.5",
    "elements": [
        {"kind": "tangent", "length": "5200"},
        {"kind": "curve", "length": "2400", "radius": "4200", "turn": "left"},
        {"kind": "tangent", "length": "22400"},
    ],
}
SHAFT: dict[str, Any] = {
    "least_depth_in": Decimal(36),
    "most_depth_in": Decimal(144),
    "bar_size": "6",
    "spiral_size": "4",
    "spiral_pitch_in": Decimal(6),
    "conduit_size": "2 in schedule 40",
    "washer_count": 8,
    "concrete_strength_psi": 4000,
    "more": {"mix": "4000-A", "air": "6 %"},
}
LIGHT_POLE: dict[str, Any] = {
    **SHAFT,
    "name": "LP1",
    "family": "transformer_base",
    "shaft_diameter_in": Decimal(24),
    "bar_count": 8,
    "bolt_diameter_in": Decimal("1.25"),
    "bolt_length_in": Decimal(42),
    "bolt_grade": "55",
    "bolt_circle_in": Decimal(14),
    "base": "breakaway transformer base",
}
PEDESTAL: dict[str, Any] = {
    **SHAFT,
    "name": "PB1",
    "family": "pedestal_base",
    "shaft_diameter_in": Decimal(20),
    "bar_count": 6,
    "bolt_diameter_in": Decimal("0.75"),
    "bolt_length_in": Decimal(18),
    "bolt_grade": "36",
    "bolt_circle_in": Decimal("12.75"),
    "base": "breakaway pedestal base",
}
MEMBERS = (
    ("d.reyes", "inspector"),
    ("a.whitlock", "inspector"),
    ("r.halvorsen", "engineer"),
    ("s.okafor", "engineer"),
    ("j.brandt", "foreman"),
    ("p.lindqvist", "office"),
    ("e.marsh", "auditor"),
)


def open_corridor(slug: str = "alder-mesa", **more: Any) -> Corridor:
    """Open a corridor with an empty record, nothing else on it."""
    fields = {"contract": "CC-2207", "time_zone": "America/Denver", **more}
    done(
        acts.open_corridor,
        slug=slug,
        name="Alder Mesa Parkway lighting",
        owner="Calder County",
        edition=default_edition(),
        starts_on=date(2026, 3, 2),
        finishes_on=date(2026, 6, 26),
        by=administrator(),
        at=START,
        more=fields,
    )
    return Corridor.objects.get(slug=slug)


def grant(corridor: Corridor, member: Person, role: str, crew: Crew | None = None) -> None:
    """Make a person a member, by the administrator."""
    done(
        acts.grant_role,
        corridor=corridor,
        person=member,
        role=role,
        starts_on=FIRST_DAY,
        crew=crew,
        by=administrator(),
        at=START,
    )


def whole_corridor(slug: str = "alder-mesa", **more: Any) -> Corridor:
    """Open a corridor with alignment "Parkway", designs LP1 and PB1, "Crew 1" and a member for every role."""
    _whole(slug, **more)
    return Corridor.objects.select_related("edition").get(slug=slug)


@kept
def _whole(slug: str, **more: Any) -> None:
    corridor = open_corridor(slug, **more)
    by = administrator()
    done(
        acts.add_alignment,
        corridor=corridor,
        name="Parkway",
        definition=ALIGNMENT,
        crossings=[{"station": "112+40.00", "name": "Juniper St"}],
        by=by,
        at=START,
    )
    for fields in (LIGHT_POLE, PEDESTAL):
        done(acts.add_design, corridor=corridor, fields=fields, by=by, at=START)
    done(acts.add_crew, corridor=corridor, name="Crew 1", by=by, at=START)
    crew = corridor.crews.get()
    for username, role in MEMBERS:
        grant(corridor, person(username), role, crew if role == "foreman" else None)
    _papers(corridor)


def _papers(corridor: Corridor) -> None:
    """Enter what the gates of the default edition ask for: a locate ticket, certificates, a wrench, for years."""
    told = {"corridor": corridor, "by": member(corridor, "office"), "at": START}
    done(
        material_acts.add_locate_ticket,
        number="2231",
        valid_from=FIRST_DAY,
        valid_until=date(2029, 3, 2),
        answered=True,
        **told,
    )
    for covers in ("steel", "bolts", "base", "pole"):
        done(material_acts.add_certificate, covers=covers, number=f"C-{covers}", received_on=FIRST_DAY, **told)
    done(material_acts.calibrate, name="TW-00", kind="wrench", calibrated_until=date(2029, 3, 2), **told)


def member(corridor: Corridor, role: str) -> Person:
    """Return the first member of a corridor in a role."""
    return corridor.memberships.filter(role=role).order_by("starts_on", "id").first().person  # type: ignore[union-attr]


def cells(mark: str, design: Design, place: int = 0) -> dict[str, str]:
    """Return a schedule's line: every 120 ft from 104+00, sides in turn."""
    pole = design.family == "transformer_base"
    return {
        "mark": mark,
        "alignment": "Parkway",
        "station": f"{104 + (place * 120) // 100}+{(place * 120) % 100:02d}.00",
        "side": "left" if place % 2 else "right",
        "offset": "28 ft",
        "setback": "4 ft",
        "design": design.name,
        "depth": "8 ft" if pole else "4 ft",
        "pole height": "40 ft" if pole else "14 ft",
        "arm": "8 ft" if pole else "",
        "circuit": "C1",
        "notes": "",
    }


def bring_in(corridor: Corridor, marks: list[str], design: str = "LP1", **changed: str) -> list[Foundation]:
    """Bring foundations in through the schedule, by the project office. `changed` overrides cells."""
    made = corridor.designs.get(name=design)
    first = corridor.foundations.count()
    lines = [Line(number, cells(mark, made, first + number) | changed) for number, mark in enumerate(marks, start=1)]
    office = member(corridor, "office")
    done(schedule.take_in_schedule, corridor=corridor, lines=lines, by=office, at=START)
    return list(_foundations(corridor).filter(mark__in=marks).order_by("mark"))


def _foundations(corridor: Corridor) -> Any:
    return Foundation.objects.select_related("design", "alignment", "crew", "corridor__edition").filter(
        corridor=corridor
    )


def light_pole(corridor: Corridor, mark: str = "LP-001") -> Foundation:
    """Bring in one light pole foundation."""
    return bring_in(corridor, [mark])[0]


def pedestal(corridor: Corridor, mark: str = "PB-001") -> Foundation:
    """Bring in one pedestal foundation."""
    return bring_in(corridor, [mark], "PB1")[0]
