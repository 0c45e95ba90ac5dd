"""What the drawings of a foundation as built are drawn from, and what they say was not measured."""

from collections.abc import Mapping, Sequence
from fractions import Fraction

from apps.calc.seating.answer import seat
from apps.calc.shaft.bars import BARS
from apps.corridor.models import Foundation
from apps.sheet.as_built.values import Values
from apps.sheet.drawn import as_built as drawn
from apps.sheet.drawn.as_built.values import CORNERS

BASES = {"transformer_base": "transformer base", "pedestal_base": "pedestal base"}


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
    """Return the conduits where they were measured off the centre line, each with what stands above the concrete and its size."""
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


def section(values: Values) -> drawn.Section | None:
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


def _pole(values: Values) -> drawn.Pole | None:
    if "pole_set" not in values.stages:
        return None
    height = values.one("pole_set.height", unit="ft") or values.planned("pole_height")
    return drawn.Pole(height, values.at("pole_set.plumb", unit="deg"))


def base(values: Values) -> drawn.Base | None:
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


def section_note(section: drawn.Section) -> str:
    """Say what of the section was not measured, and how it is drawn then."""
    drawn_so = [
        ("finished grade level", True),
        ("the bars spaced evenly", section.cage is not None),
        ("the conduits one to each side", bool(section.conduits)),
        ("base and pole as outlines", bool(section.base or section.pole)),
    ]
    return f"Not measured, and drawn so: {_listed([words for words, holds in drawn_so if holds])}."


def plan_note(base: drawn.Base) -> str:
    """Say what of the base plan was not measured, and how it is drawn then; "" where all of it was."""
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
