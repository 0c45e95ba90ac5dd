"""A foundation as it was built: exact values of the attempts that stand, beside the plans, each with its entry; and drawn.

Which attempt stands: the last one of a stage that was released, else the last one. Values are read again from what was typed
by the requirement that it was judged by; what follows from several of them comes from apps.calc.
"""

import re
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Any, NamedTuple

from apps.calc.bolt_circle import BoltCircle, measured_circle
from apps.calc.errors import CalcError
from apps.calc.facts import Plan
from apps.calc.readings import Reading
from apps.calc.requirement import Requirement as Spec
from apps.calc.seating.answer import seat
from apps.calc.shaft.bars import BARS
from apps.calc.shown import show
from apps.calc.stages import STAGE_BY_KEY
from apps.calc.stationing import show_station
from apps.corridor.models import Foundation
from apps.holdpoints.models import Inspection, Measurement
from apps.holdpoints.replay import Reader
from apps.requirements.models import Requirement
from apps.sheet.drawn import as_built as drawn
from apps.sheet.drawn.as_built.values import CORNERS
from apps.sheet.measured import Measured

RELEASES = ("release", "release_with_condition")
SIDES = ("1-2", "2-3", "3-4", "4-1")
DIAGONALS = ("1-3", "2-4")
PEDESTAL = "_pedestal"
"""Ends the key of a requirement that a pedestal has in place of the one without it."""


@dataclass(frozen=True, slots=True)
class Source:
    """One attempt that the drawings are made from."""

    stage: str
    """Its title."""
    attempt: int
    entry: int
    said: str
    """What the engineer said of it, and where it is no longer so."""


@dataclass(frozen=True, slots=True)
class Row:
    """One quantity, as planned and as built."""

    title: str
    plan: str
    planned: bool
    """Whether the plans give the value; otherwise `plan` is the limit that it was judged by."""
    built: str
    typed: str
    """Every reading as typed where there are several, or how the value was worked out."""
    entry: int
    outcome: str
    """Verdict of the measurement; empty for a value worked out from others."""


@dataclass(frozen=True, slots=True)
class AsBuilt:
    """A foundation as built: two drawings, "" where nothing of them was measured yet, and the table beside them."""

    section: str
    base_plan: str
    rows: tuple[Row, ...]
    sources: tuple[Source, ...]
    section_note: str
    """What of the section was not measured, and how it is drawn then."""
    base_plan_note: str
    section_pt: float
    """Width on paper [pt] at which it is 1/2 in = 1 ft (1/4 in = 1 ft below 12 1/2 ft of depth)."""
    base_plan_pt: float
    """Width on paper [pt] at which it is 3/4 in = 1 ft."""

    @property
    def entries(self) -> list[int]:
        """The entries that it is made from, in the order of the record."""
        return sorted(each.entry for each in self.sources)


def drawings(foundation: Foundation) -> AsBuilt:
    """Return a foundation as it was built. Three queries, whatever was measured."""
    found = Inspection.objects.filter(hold_point__foundation=foundation).select_related("hold_point", "decision")
    tried: dict[str, list[Inspection]] = defaultdict(list)
    for each in found.order_by("attempt"):
        tried[each.hold_point.stage].append(each)
    stand = [standing(each) for each in tried.values()]
    rows = Measurement.objects.filter(inspection__in=stand).select_related("finding", "instrument")
    return of(foundation, stand, list(rows))


def standing(attempts: Sequence[Inspection]) -> Inspection:
    """Return the attempt of one stage that stands: the last one released, else the last; in order of attempts."""
    released = [each for each in attempts if getattr(getattr(each, "decision", None), "kind", "") in RELEASES]
    return (released or attempts)[-1]


def of(foundation: Foundation, stand: Sequence[Inspection], rows: Sequence[Measurement]) -> AsBuilt:
    """Return a foundation as it was built from the attempts that stand and their measurements. One query."""
    return built(Values(foundation, stand, rows), stand)


def built(values: "Values", stand: Sequence[Inspection]) -> AsBuilt:
    """Return a foundation as it was built from readings that were read already."""
    foundation = values.foundation
    section, base = _section(values), _base(values)
    upright = drawn.section(section) if section else None
    above = drawn.base_plan(base) if base else None
    key = f"built-{foundation.pk}"
    return AsBuilt(
        section=upright.svg(f"{key}-section") if upright else "",
        base_plan=above.svg(f"{key}-plan") if above else "",
        rows=tuple(_rows(values)),
        sources=tuple(_source(each) for each in sorted(stand, key=lambda each: each.entry)),
        section_note=_section_note(section) if section else "",
        base_plan_note=_plan_note(base) if base else "",
        section_pt=upright.width * drawn.SECTION_POINTS if upright else 0.0,
        base_plan_pt=above.width * drawn.PLAN_POINTS if above else 0.0,
    )


def _source(each: Inspection) -> Source:
    decision = getattr(each, "decision", None)
    said = decision.get_kind_display().lower() if decision else "not decided yet"
    if decision and decision.kind in RELEASES and each.hold_point.state != "released":
        said += f", since then {each.hold_point.get_state_display().lower()}"
    return Source(STAGE_BY_KEY[each.hold_point.stage].title, each.attempt, each.entry, said)


# What was measured ---------------------------------------------------------------------------------------------------


class Values:
    """The readings that stand, exact, by requirement and place."""

    def __init__(self, foundation: Foundation, stand: Sequence[Inspection], rows: Sequence[Measurement]) -> None:
        self.foundation = foundation
        self.plan: Plan = foundation.plan
        self.stages = {each.hold_point.stage for each in stand}
        self._entries = {each.pk: each.entry for each in stand}
        self._rows = {row.requirement_key: row for row in rows if row.inspection_id in self._entries}
        editions = {each.pk: each.edition_id for each in stand}
        asked = Requirement.objects.filter(edition__in=set(editions.values()), key__in=self._rows)
        specs: dict[tuple[object, str], Spec] = {(each.edition_id, each.key): each.spec for each in asked}
        self._specs = {key: specs.get((editions[row.inspection_id], key)) for key, row in self._rows.items()}
        self._reader = Reader()

    def spec(self, key: str) -> Spec | None:
        """Return the requirement that a measurement was judged by; None where it has none or was not measured."""
        return self._specs.get(key) if self.measured(key) else None

    def readings(self) -> dict[str, tuple[Reading, ...]]:
        """Return every reading that stands, by requirement."""
        asked = {key: spec for key, spec in self._specs.items() if spec is not None}
        return {key: self._reader.readings(spec, self._rows[key].readings) for key, spec in asked.items()}

    def key(self, *keys: str) -> str:
        """Return the first of these requirements that was measured, a pedestal's own among them; "" for none."""
        both = (name for each in keys for name in (each, each + PEDESTAL))
        return next((each for each in both if self.measured(each)), "")

    def measured(self, key: str) -> bool:
        """Say whether a requirement has a reading or a value worked out."""
        row = self._rows.get(key)
        return row is not None and row.outcome not in ("not_measured", "not_applicable")

    def row(self, *keys: str) -> Measurement | None:
        """Return the measurement of the first of these requirements that was measured."""
        return self._rows.get(self.key(*keys))

    def entry(self, row: Measurement) -> int:
        """Return the entry that a measurement is in."""
        return self._entries[row.inspection_id]

    def at(self, *keys: str, unit: str = "in") -> dict[str, Fraction]:
        """Return the readings of a requirement by place, in a unit; empty where nothing was measured."""
        key = self.key(*keys)
        spec = self._specs.get(key)
        if not key or spec is None:
            return {}
        read = self._reader.readings(spec, self._rows[key].readings)
        known = ((each.place, each.measured(unit)) for each in read)
        return {place: value for place, value in known if value is not None}

    def one(self, *keys: str, unit: str = "in") -> Fraction | None:
        """Return the only reading of a requirement."""
        return self.at(*keys, unit=unit).get("")

    def count(self, *keys: str) -> int:
        """Return a count; 0 where nothing was counted."""
        return int(self.one(*keys, unit="") or 0)

    def word(self, *keys: str) -> str:
        """Return what was read in words."""
        row = self.row(*keys)
        return row.value_text if row else ""

    def planned(self, name: str) -> Fraction | None:
        """Return a length or number of the plans."""
        value = self.plan.get(name)
        return value if isinstance(value, Fraction) else None

    def needed(self, name: str) -> Fraction:
        """Return a number that every design has."""
        value = self.planned(name)
        assert value is not None, f"a design has no {name}"
        return value

    def limit(self, *keys: str, end: str = "high") -> Fraction | None:
        """Return the upper limit that a requirement was judged by, or the lower: end="low"."""
        row = self.row(*keys)
        found = row.limits.get(end) if row else None
        return Fraction(found) if found else None

    def wrong(self, *keys: str) -> bool:
        """Say whether a measurement does not conform."""
        row = self.row(*keys)
        return row is not None and row.outcome == "nonconforming"

    @cached_property
    def chords(self) -> dict[str, Any]:
        """The six measured lengths of the bolts as the calculation takes them; the diagonals are those after the pour once measured.

        Empty while one lacks.
        """
        sides, diagonals = self.at("cage.bolt_adjacent"), self.at("pour.bolt_circle", "cage.bolt_circle")
        if not (set(SIDES) <= sides.keys() and set(DIAGONALS) <= diagonals.keys()):
            return {}
        return {
            "sides": [float(sides[each]) for each in SIDES],
            "diagonals": [float(diagonals[each]) for each in DIAGONALS],
            "nominal": float(self.needed("bolt_circle")),
        }

    @cached_property
    def circle(self) -> BoltCircle | None:
        """The bolts where six measured lengths put them."""
        if not self.chords:
            return None
        try:
            return measured_circle(**self.chords)
        except CalcError:  # lengths that close to no four points are shown in the table, not drawn
            return None


# The drawings --------------------------------------------------------------------------------------------------------


def bolts(values: Values) -> tuple[drawn.Bolt, ...]:
    """Return the bolts on the base plan: about the middle of their circle, their pairs square to the sheet, 1 at A."""
    circle = values.circle
    if circle is None:
        return ()
    above, long = values.at("pour.bolt_projection", "cage.bolt_projection"), values.at("cage.bolt_length")
    points = [complex(x - circle.x, circle.y - y) for x, y in circle.points]
    way = (points[1] - points[0]) + (points[2] - points[3])
    turned = [each * way.conjugate() / abs(way) for each in points]
    return tuple(
        drawn.Bolt(each.real, each.imag, above.get(str(number)), long.get(str(number)))
        for number, each in enumerate(turned, 1)
    )


def _cage(values: Values) -> drawn.Cage | None:
    if "cage" not in values.stages:
        return None
    over, bars, turns = (
        values.at("cage.outside_diameter"),
        values.word("cage.bar_size"),
        values.word("cage.spiral_size"),
    )
    return drawn.Cage(
        along=over.get("along"),
        across=over.get("across"),
        length=values.one("cage.length"),
        top_cover=values.one("cage.top_cover"),
        bottom_cover=values.one("cage.bottom_cover"),
        covers=values.at("cage.side_cover"),
        pitches=values.at("cage.spiral_pitch"),
        flat=values.at("cage.flat_turns", unit=""),
        bars=values.count("cage.bar_count"),
        bar_size=bars,
        spiral_size=turns,
        bar_in=_bar_in(bars),
        spiral_in=_bar_in(turns),
        cover_limit=values.limit("cage.side_cover", end="low"),
    )


def _bar_in(size: str) -> float:
    """Return the nominal diameter of a bar as its number was read, "4" or "No. 4"; 0 for one that the table lacks."""
    known = BARS.get(size.casefold().removeprefix("no.").strip())
    return known.diameter_in if known else 0.0


def conduits(values: Values) -> tuple[drawn.Conduit, ...]:
    off, above = values.at("cage.conduit_offset"), values.at("cage.conduit_projection")
    first = values.word("cage.conduit_size").split(" ", 1)[0]
    size = float(first) if first.isdecimal() else None
    return tuple(drawn.Conduit(each, above.get(place), size) for place, each in off.items())


def _widths(values: Values) -> dict[str, Fraction]:
    """Return the widths that lie in the section."""
    found = values.at("drill.diameter")
    places = {"top": "top, along the road", "bottom": "bottom"}
    return {name: found[place] for name, place in places.items() if place in found}


def _stub(values: Values) -> drawn.Stub | None:
    found, limit = values.at("base_set.stub_height"), values.limit("base_set.stub_height")
    if not found or limit is None:
        return None
    where = max(found, key=lambda place: found[place])
    return drawn.Stub(found.get("along the road"), found[where], limit, where)


def _section(values: Values) -> drawn.Section | None:
    """Return what the section is drawn from; None before anything in the ground was measured."""
    widths, depths = _widths(values), values.at("drill.depth")
    if not widths and not depths:
        return None
    poured = "pour" in values.stages
    return drawn.Section(
        name=values.foundation.mark,
        diameter=values.needed("shaft_diameter"),
        depth=values.needed("depth"),
        widths=widths,
        depths=depths,
        narrow=values.wrong("drill.diameter"),
        shallow=values.wrong("drill.depth"),
        volume=values.one("pour.volume_placed", unit="yd3"),
        neat=values.planned("volume"),
        top=values.one("pour.top_elevation") if poured else None,
        cage=_cage(values),
        bolts=bolts(values),
        bolt_diameter=values.one("cage.bolt_diameter"),
        bolt_grade=values.word("cage.bolt_grade"),
        conduits=conduits(values),
        conduit_size=values.word("cage.conduit_size"),
        buried=values.one("cage.conduit_burial"),
        base=BASES[values.foundation.family] if "base_set" in values.stages else "",
        torques=tuple(values.at("base_set.torque", unit="ft-lb").values()),
        stub=_stub(values),
        pole=_pole(values),
        mirrored=values.foundation.side == Foundation.Side.LEFT,
    )


BASES = {"transformer_base": "transformer base", "pedestal_base": "pedestal base"}


def _pole(values: Values) -> drawn.Pole | None:
    if "pole_set" not in values.stages:
        return None
    height = values.one("pole_set.height", unit="ft") or values.planned("pole_height")
    return drawn.Pole(height, values.at("pole_set.plumb", unit="deg"))


def _base(values: Values) -> drawn.Base | None:
    """Return what the base plan is drawn from; None before bolts or the top of the hole were measured."""
    hole, gaps = values.at("drill.diameter"), values.at("base_set.corner_gap")
    if not hole and not values.circle and not gaps:
        return None
    torques = values.at("base_set.torque", unit="ft-lb")
    return drawn.Base(
        name=values.foundation.mark,
        diameter=values.needed("shaft_diameter"),
        bolt_circle=values.needed("bolt_circle"),
        right_side=values.foundation.side == Foundation.Side.RIGHT,
        along=hole.get("top, along the road"),
        across=hole.get("top, across the road"),
        poured="pour" in values.stages,
        cage=_cage(values),
        bolts=bolts(values),
        bolt_diameter=values.one("cage.bolt_diameter"),
        fitted=values.circle.bolt_circle if values.circle else None,
        off=values.wrong("pour.bolt_circle", "cage.bolt_circle"),
        angle=values.one("pour.bolt_orientation", "cage.bolt_orientation", unit="deg"),
        angle_limit=values.limit("pour.bolt_orientation", "cage.bolt_orientation"),
        conduits=conduits(values),
        set="base_set" in values.stages,
        gaps=gaps,
        gap_limit=values.limit("base_set.corner_gap"),
        high=_high(gaps),
        torques={corner: torques[str(number)] for number, corner in enumerate(CORNERS, 1) if str(number) in torques},
    )


def _high(gaps: Mapping[str, Fraction]) -> tuple[str, ...]:
    """Return the two corners that a base with these gaps rocks on; none where it is steady, or did not rest free."""
    if set(CORNERS) != gaps.keys() or min(gaps.values()) > 0:
        return ()
    found = seat(gaps=[gaps[each] for each in CORNERS])
    carries = tuple(each for each in CORNERS if all(each in one.carries for one in found.seats))
    return carries if found.rocks and len(carries) == 2 else ()


def _section_note(section: drawn.Section) -> str:
    drawn_so = [
        ("finished grade level", True),
        ("the bars spaced evenly", section.cage is not None),
        ("the conduits one to each side", bool(section.conduits)),
        ("base and pole as outlines", bool(section.base or section.pole)),
    ]
    return f"Not measured, and drawn so: {_listed([words for words, holds in drawn_so if holds])}."


def _plan_note(base: drawn.Base) -> str:
    drawn_so = [
        ("the bolts about the middle of the plans", bool(base.bolts)),
        ("bolt 1 at corner A, the others clockwise", bool(base.bolts)),
        ("the bars spaced evenly", base.cage is not None),
        ("the conduits one to each side", bool(base.conduits)),
        ("the base as an outline", base.set),
    ]
    kept = [words for words, holds in drawn_so if holds]
    return f"Not measured, and drawn so: {_listed(kept)}." if kept else ""


def _listed(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


# The table -----------------------------------------------------------------------------------------------------------


class _Quantity(NamedTuple):
    """A row of the table: its title, whose readings it shows, and which fact of the plans stands beside them."""

    title: str
    keys: tuple[str, ...]
    fact: str = ""
    unit: str = "in"
    notation: str = ""


QUANTITIES = (
    _Quantity("Station", ("layout.station",), "station", "station"),
    _Quantity("Offset", ("layout.offset",), "offset", "ft"),
    _Quantity("Setback", ("layout.setback",), "setback", "ft"),
    _Quantity("Hole off its stake", ("drill.location",)),
    _Quantity("Shaft diameter", ("drill.diameter",), "shaft_diameter"),
    _Quantity("Depth", ("drill.depth",), "depth", "in", "feet_inches"),
    _Quantity("Out of plumb", ("drill.plumb",)),
    _Quantity("Loose soil on the bottom", ("drill.sediment",)),
    _Quantity("Vertical bars", ("cage.bar_count",), "bar_count", ""),
    _Quantity("Bar length", ("cage.length",), "cage_length", "in", "feet_inches"),
    _Quantity("Cage over the spiral", ("cage.outside_diameter",), "cage_diameter"),
    _Quantity("Pitch of the spiral", ("cage.spiral_pitch",), "spiral_pitch"),
    _Quantity("Side cover", ("cage.side_cover",)),
    _Quantity("Cover under the bars", ("cage.bottom_cover",)),
    _Quantity("Conduits off the centre line", ("cage.conduit_offset",)),
    _Quantity("Concrete", ("pour.volume_placed",), "volume", "yd3"),
    _Quantity("Top of concrete over grade", ("pour.top_elevation",)),
    _Quantity("Bolt diameter", ("cage.bolt_diameter",), "bolt_diameter"),
    _Quantity("Bolt length", ("cage.bolt_length",), "bolt_length"),
    _Quantity("Bolt circle, diagonals", ("pour.bolt_circle", "cage.bolt_circle"), "bolt_circle"),
    _Quantity("Bolts above concrete", ("pour.bolt_projection", "cage.bolt_projection")),
    _Quantity("Lean of the bolts", ("pour.bolt_plumb", "cage.bolt_plumb")),
    _Quantity("Bolt pair off the road", ("pour.bolt_orientation", "cage.bolt_orientation")),
    _Quantity("Gap a rigid base will show", ("pour.top_twist",)),
    _Quantity("Gap at a corner, base free", ("base_set.corner_gap",)),
    _Quantity("Torque", ("base_set.torque",)),
    _Quantity("Left standing over the chord", ("base_set.stub_height",)),
    _Quantity("Lean of the pole", ("pole_set.plumb",)),
    _Quantity("Arm to the road", ("pole_set.arm_angle",)),
    _Quantity("Finished ground", ("pole_set.final_grade",)),
)


def _rows(values: Values) -> list[Row]:
    """Return the table: what was measured, in the order of work, the fitted bolt circle after its diagonals."""
    found = []
    for each in QUANTITIES:
        row = values.row(*each.keys)
        if row is not None and row.value:
            found.append(_row(values, each, row))
        if each.title == "Bolt circle, diagonals" and row is not None and values.circle:
            found.append(_fitted(values, values.circle, row))
    return found


def _row(values: Values, asked: _Quantity, row: Measurement) -> Row:
    fact = values.planned(asked.fact) if asked.fact else None
    write: Callable[[Fraction], str] = (
        show_station if asked.unit == "station" else lambda value: show(value, asked.unit, asked.notation)
    )
    station = asked.unit == "station" and row.value
    return Row(
        title=asked.title,
        plan=_unbroken(write(fact) if fact is not None else row.limit_text),
        planned=fact is not None,
        built=_unbroken(show_station(Fraction(row.value)) if station else row.value_text),
        typed="" if station or len(row.readings) < 2 else _unbroken(Measured.of(row).typed),
        entry=values.entry(row),
        outcome=row.outcome,
    )


def _unbroken(words: str) -> str:
    """Return words whose fractions stay on the line of their whole number, and units on that of their figure."""
    return re.sub(r"(?<=\d) (?=\d+/\d|(?:in|ft|yd³|%|ft-lb)\b)", "\N{NO-BREAK SPACE}", words)


def _fitted(values: Values, circle: BoltCircle, row: Measurement) -> Row:
    sides = values.row("cage.bolt_adjacent")
    from_sides = f", sides of entry {values.entry(sides)}" if sides and sides.inspection_id != row.inspection_id else ""
    return Row(
        title="Bolt circle, fitted",
        plan=show(values.needed("bolt_circle"), "in"),
        planned=True,
        built=f"{circle.bolt_circle:.2f} in",
        typed=f"worst bolt {circle.worst:.2f} in off its place, lengths agree to {circle.misclosure:.2f} in{from_sides}",
        entry=values.entry(row),
        outcome="",
    )
