"""From a schedule's lines to foundations with their hold points: each line checked, then brought in by one act."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from fractions import Fraction
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import connection

from apps.calc.alignment import OffAlignment
from apps.calc.errors import NotAReading
from apps.calc.scales import convert
from apps.calc.shown import show
from apps.calc.stages import STAGES
from apps.calc.stationing import parse_station, show_station
from apps.calc.units import parse
from apps.corridor import tally
from apps.corridor.acts.setting import setter
from apps.corridor.models import Alignment, Corridor, Design, Foundation
from apps.corridor.plan import kept
from apps.corridor.schedule_file import REST, Line
from apps.holdpoints.models import HoldPoint
from apps.people.models import Person
from apps.record.acts import Answer, Refused, act, enter

SIDES = {"l": "L", "lt": "L", "left": "L", "r": "R", "rt": "R", "right": "R"}
# What no plan orders, so that a slip of the unit is seen. Common practice, no source.
MOST_OFFSET_FT = 300
LEAST_POLE_FT, MOST_POLE_FT, MOST_ARM_FT = 6, 150, 60
LONGEST_CIRCUIT = 40
MORE = ("setback", "barrier", "barrier_clearance", "walk", "button")
"""Facts of the place that a column of the schedule may give."""
MANY = 500
"""So many foundations brought in at once are counted anew; fewer the database counts by itself in time."""


@dataclass
class Row:
    """One line of a schedule: the foundation that it makes, or what is wrong with it."""

    number: int
    cells: Mapping[str, str]
    foundation: Foundation | None = None
    faults: list[str] = field(default_factory=list)

    @property
    def words(self) -> str:
        """What will be made, in one line."""
        made = self.foundation
        if made is None:
            return ""
        pole = f", pole {show(Fraction(made.pole_height_ft), 'ft')}" if made.pole_height_ft else ""
        where = f"{show_station(made.station_ft)} {made.get_side_display()}, {show(Fraction(made.offset_ft), 'ft')}"
        return f"{made.mark} at {where}, {made.design.name}, depth {show(Fraction(made.depth_in), 'in', 'feet_inches')}{pole}"


class _Reader:
    """Reads lines against one corridor: its alignments, designs and the marks that are taken."""

    def __init__(self, corridor: Corridor) -> None:
        self.corridor = corridor
        self.alignments = {line.name.lower(): line for line in corridor.alignments.all()}
        self.designs = {design.name.lower(): design for design in corridor.designs.all()}
        self.taken = dict.fromkeys(
            corridor.foundations.values_list("mark", flat=True), "stands in the corridor already"
        )
        self.places: dict[object, str] = {}

    def row(self, line: Line) -> Row:
        """Return the row of a line, with every fault that it has."""
        row = Row(line.number, line.cells)
        if rest := line.cells.get(REST):
            row.faults.append(f'"{rest[:60]}" stands past the last column. Put a cell that holds a comma in quotes.')
        made = Foundation(corridor=self.corridor)
        self._mark(row, made)
        design = self._named(row, "design", self.designs)
        alignment = self._named(row, "alignment", self.alignments)
        self._size(row, made, "offset", "offset_ft", 0, MOST_OFFSET_FT, places=2)
        self._side(row, made)
        if isinstance(design, Design):
            made.design = design
            self._depth(row, made, design)
        if row.cells.get("pole height"):
            self._size(row, made, "pole height", "pole_height_ft", LEAST_POLE_FT, MOST_POLE_FT)
        if row.cells.get("arm"):
            self._size(row, made, "arm", "arm_ft", 0, MOST_ARM_FT)
        made.circuit, made.notes = row.cells.get("circuit", ""), row.cells.get("notes", "")
        self._more(row, made)
        if len(made.circuit) > LONGEST_CIRCUIT:
            row.faults.append(f"Circuit has {len(made.circuit)} characters; at most {LONGEST_CIRCUIT} are kept.")
        made.solar = "solar" in made.notes.lower()
        if isinstance(alignment, Alignment):
            made.alignment = alignment
            self._station(row, made, alignment)
        if not row.faults:
            row.foundation = made
        return row

    def _more(self, row: Row, made: Foundation) -> None:
        """Read the columns that say more of the place; an empty cell says nothing."""
        for name in MORE:
            column = name.replace("_", " ")
            if text := row.cells.get(column, ""):
                try:
                    made.more[name] = kept(name, text)
                except NotAReading as fault:
                    row.faults.append(f"{column.capitalize()}: {fault.message}")

    def _mark(self, row: Row, made: Foundation) -> None:
        made.mark = row.cells.get("mark", "").upper()
        try:
            Foundation._meta.get_field("mark").run_validators(made.mark)
        except ValidationError:
            row.faults.append(
                f'Mark "{made.mark}" is not read: expected at most 20 letters, digits, points and hyphens, like LP-047.'
            )
            return
        if not made.mark:
            row.faults.append("There is no mark.")
        elif made.mark in self.taken:
            row.faults.append(f"Mark {made.mark} {self.taken[made.mark]}.")
        else:
            self.taken[made.mark] = f"stands in line {row.number} already"

    def _named(self, row: Row, column: str, known: Mapping[str, Any]) -> Any:
        text = row.cells.get(column, "")
        found = known.get(text.lower())
        if found is None:
            expected = ", ".join(each.name for each in known.values()) or f"none: bring in the {column} first"
            row.faults.append(f'{column.capitalize()} "{text}" is not known here. Expected {expected}.')
        return found

    def _side(self, row: Row, made: Foundation) -> None:
        text = row.cells.get("side", "")
        made.side = SIDES.get(text.lower().rstrip("."), "")
        if not made.side:
            row.faults.append(f'Side "{text}" is not read. Expected left or right, looking up-station.')

    def _size(
        self, row: Row, made: Foundation, column: str, attribute: str, least: int, most: int, places: int = 4
    ) -> None:
        """Read a length into a field in ft, kept to so many places as the field has."""
        text = row.cells.get(column, "")
        try:
            read = parse(text, "length", "ft")
        except NotAReading as fault:
            row.faults.append(f"{column.capitalize()}: {fault.message}")
            return
        value = convert(read.value, read.unit, "ft")
        if not least <= value <= most:
            said = f"less than {least}" if value < least else f"more than {most}"
            row.faults.append(f"{column.capitalize()} {show(value, 'ft')} is {said} ft: look at its unit again.")
        setattr(made, attribute, _decimal(value, places))

    def _depth(self, row: Row, made: Foundation, design: Design) -> None:
        text = row.cells.get("depth", "")
        try:
            read = parse(text, "length", "ft")
        except NotAReading as fault:
            row.faults.append(f"Depth: {fault.message}")
            return
        made.depth_in = _decimal(convert(read.value, read.unit, "in"))
        if not design.least_depth_in <= made.depth_in <= design.most_depth_in:
            least, most = (
                show(Fraction(each), "in", "feet_inches") for each in (design.least_depth_in, design.most_depth_in)
            )
            shown = show(Fraction(made.depth_in), "in", "feet_inches")
            row.faults.append(f"Depth {shown} does not fit design {design.name}: expected {least} to {most}.")

    def _station(self, row: Row, made: Foundation, alignment: Alignment) -> None:
        text = row.cells.get("station", "")
        words = text.rsplit(" ", 1)
        part = words[1].lower() if len(words) == 2 and words[1].lower() in {"back", "ahead"} else None
        try:
            station = parse_station(words[0] if part else text)
            distance = alignment.geometry.distance(station, part)
        except (NotAReading, OffAlignment) as fault:
            row.faults.append(f"Station: {fault.message}")
            return
        made.station_ft, made.distance_ft = _decimal(station, 2), _decimal(distance, 2)
        if row.faults:
            return
        there = (alignment.pk, made.distance_ft, made.side, made.offset_ft)
        other = self.places.setdefault(there, made.mark)
        if other != made.mark:
            row.faults.append(f"{made.mark} stands at the same station, side and offset as {other}.")
        _place(made, alignment)


def _decimal(value: Fraction, places: int = 4) -> Decimal:
    """Return a fraction to so many places; a station or size on the plans has no more."""
    scale = 10**places
    return Decimal(round(value * scale)) / Decimal(scale)


def _place(made: Foundation, alignment: Alignment) -> None:
    """Give a foundation its coordinates from station, offset and side."""
    sign = 1 if made.side == Foundation.Side.RIGHT else -1
    east, north = alignment.geometry.point(made.distance_ft, sign * made.offset_ft)
    made.east_ft, made.north_ft = Decimal(f"{east:.3f}"), Decimal(f"{north:.3f}")


def check(corridor: Corridor, lines: Iterable[Line]) -> list[Row]:
    """Return every line as the foundation that it would make, or with what is wrong. Nothing is written."""
    reader = _Reader(corridor)
    return [reader.row(line) for line in lines]


@act
def take_in_schedule(
    *, corridor: Corridor, lines: Sequence[Line], by: Person, at: datetime, client_id: UUID, skip_bad: bool = False
) -> Answer:
    """Bring a schedule in: all of its foundations, or none if a line is wrong, unless the person says to skip the bad ones."""
    role = setter(by, corridor, at)
    tally.lock(corridor)
    rows = check(corridor, lines)
    bad = [row for row in rows if row.foundation is None]
    if bad and not skip_bad:
        raise Refused(*(f"Line {row.number}: {' '.join(row.faults)}" for row in bad))
    made = [row.foundation for row in rows if row.foundation is not None]
    if not made:
        raise Refused("No line of the schedule can be brought in.")
    add_foundation_rows(made, corridor=corridor, by=by, role=role, at=at)
    if len(made) >= MANY:
        _count_anew()
    return {"made": len(made), "skipped": [row.number for row in bad]}


def _count_anew() -> None:
    """Let PostgreSQL count the tables that grew, or the first pages of a long road are planned for the short one of before."""
    if connection.vendor == "postgresql":
        tables = ", ".join(model._meta.db_table for model in (Foundation, HoldPoint))
        with connection.cursor() as cursor:
            cursor.execute(f"ANALYZE {tables}")


def add_foundation_rows(made: Sequence[Foundation], *, corridor: Corridor, by: Person, role: str, at: datetime) -> None:
    """Write foundations, their hold points, counts and one entry each, inside an act's transaction."""
    Foundation.objects.bulk_create(made)
    points = [
        HoldPoint(
            corridor=corridor,
            foundation=foundation,
            stage=stage.key,
            place=place,
            state=HoldPoint.State.NOT_READY if place else HoldPoint.State.READY,
            since=at,
        )
        for foundation in made
        for place, stage in enumerate(STAGES)
    ]
    HoldPoint.objects.bulk_create(points)
    change = tally.Change(foundations=len(made))
    change.hold_points.update((point.stage, str(point.state)) for point in points)
    tally.apply(corridor, change, at)
    for place, foundation in enumerate(made):
        enter(
            log=corridor.pk,
            act="bring_in_foundation",
            subject=foundation.mark,
            by=by,
            role=role,
            at=at,
            about=foundation,
            payload=_planned(foundation),
            rows=[foundation, *points[place * len(STAGES) : (place + 1) * len(STAGES)]],
        )


def _planned(foundation: Foundation) -> dict[str, Any]:
    """What the plans say of a new foundation, for its first entry."""
    return {
        "alignment": foundation.alignment.name,
        "station": show_station(foundation.station_ft),
        "side": foundation.side,
        "offset_ft": foundation.offset_ft,
        "design": foundation.design.name,
        "depth_in": foundation.depth_in,
        "pole_height_ft": foundation.pole_height_ft,
        "arm_ft": foundation.arm_ft,
        "circuit": foundation.circuit,
        "notes": foundation.notes,
        "more": foundation.more,
        "replaces": foundation.replaces.mark if foundation.replaces else None,
    }


def _station_text(foundation: Foundation) -> str:
    """Write a foundation's station as a schedule does: with back or ahead where an equation makes it stand twice."""
    geometry, text = foundation.alignment.geometry, show_station(foundation.station_ft)
    try:
        geometry.distance(text)
    except OffAlignment:
        back = _decimal(geometry.distance(text, "back"), 2)
        return f"{text} {'back' if back == foundation.distance_ft else 'ahead'}"
    return text


def row_for_successor(old: Foundation, fields: Mapping[str, Any]) -> Foundation:
    """Return the foundation that replaces an abandoned one: its plan values, at the station, offset and depth given. Refused if wrong."""
    taken = {
        "alignment": old.alignment.name,
        "station": _station_text(old),
        "offset": f"{old.offset_ft} ft",
        "side": old.side,
        "design": old.design.name,
        "depth": f"{old.depth_in} in",
        "pole height": f"{old.pole_height_ft} ft" if old.pole_height_ft is not None else "",
        "arm": f"{old.arm_ft} ft" if old.arm_ft is not None else "",
        "circuit": old.circuit,
        "notes": old.notes,
        **{name.replace("_", " "): text for name, text in old.more.items()},
    }
    cells = {**taken, **{key: str(value) for key, value in fields.items() if str(value).strip()}}
    row = _Reader(old.corridor).row(Line(1, cells))
    if row.foundation is None:
        raise Refused(*row.faults)
    row.foundation.replaces = old
    return row.foundation
