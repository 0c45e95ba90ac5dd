"""What the plans say of one foundation, as the judging core asks for it (calc.requirement.FACTS)."""

from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

from apps.calc.errors import NotAReading
from apps.calc.facts import FACTS, FREE, FactValue, Plan
from apps.calc.typed import NO, YES
from apps.calc.units import WORDLESS, convert, parse

if TYPE_CHECKING:
    from apps.corridor.models import Design, Foundation


def _cage(foundation: "Foundation") -> dict[str, FactValue]:
    """The cage that the cover leaves room for: shaft less two covers across, depth less two covers along."""
    design = foundation.design
    return {
        "cage_diameter": Fraction(design.shaft_diameter_in - 2 * design.cover_in),
        "cage_length": Fraction(foundation.depth_in - 2 * design.cover_in),
    }


def _bolt_side(circle: Decimal) -> Fraction:
    """Side of the square on a bolt circle, to a thousandth of an inch (circle / √2)."""
    return Fraction((circle / Decimal(2).sqrt()).quantize(Decimal("0.001")))


def _volume_yd3(foundation: "Foundation") -> Fraction:
    """Neat volume to a hundredth of a cubic yard: π/4 · d² · depth, 46,656 in³ to the yd³."""
    from math import pi

    diameter, depth = float(foundation.design.shaft_diameter_in), float(foundation.depth_in)
    return Fraction(Decimal(pi / 4 * diameter**2 * depth / 46656).quantize(Decimal("0.01")))


def facts_of_design(design: "Design") -> dict[str, FactValue]:
    """Return what a design says of every foundation that is built to it."""
    found: dict[str, FactValue] = {
        "family": design.family,
        "design": design.name,
        "shaft_diameter": Fraction(design.shaft_diameter_in),
        "bar_count": Fraction(design.bar_count),
        "bar_size": design.bar_size,
        "spiral_size": design.spiral_size,
        "spiral_pitch": Fraction(design.spiral_pitch_in),
        "flat_turns": Fraction(design.flat_turns),
        "bolt_count": Fraction(design.bolt_count),
        "bolt_diameter": Fraction(design.bolt_diameter_in),
        "bolt_length": Fraction(design.bolt_length_in),
        "bolt_grade": design.bolt_grade,
        "bolt_circle": Fraction(design.bolt_circle_in),
        "bolt_side": _bolt_side(design.bolt_circle_in),
        "bolt_projection": Fraction(design.bolt_projection_in),
        "conduit_count": Fraction(design.conduit_count),
        "concrete_strength": Fraction(design.concrete_strength_psi),
    }
    if design.washer_count is not None:
        found["washer_count"] = Fraction(design.washer_count)
    if design.conduit_size:
        found["conduit_size"] = design.conduit_size
    found.update({name: _value(name, text) for name, text in design.more.items()})
    return found


def facts(foundation: "Foundation") -> Plan:
    """Return every fact that the plans give; one that they do not give is absent."""
    found: dict[str, FactValue] = {
        **facts_of_design(foundation.design),
        "station": Fraction(foundation.station_ft),
        "offset": Fraction(foundation.offset_ft),
        "side": "left" if foundation.side == "L" else "right",
        "depth": Fraction(foundation.depth_in),
        "volume": _volume_yd3(foundation),
        "solar": foundation.solar,
        "served": not foundation.solar,
        **NOT_SAID,
        **_cage(foundation),
    }
    optional: dict[str, Decimal | None] = {"pole_height": foundation.pole_height_ft, "arm_length": foundation.arm_ft}
    found.update({name: Fraction(value) for name, value in optional.items() if value is not None})
    said = {**foundation.design.more, **foundation.more}
    return found | {name: _value(name, text) for name, text in said.items()}


NOT_SAID: dict[str, FactValue] = {"button": False, "walk": False, "barrier": False}
"""What holds where the plans do not say it."""


def kept(name: str, typed: str) -> str:
    """Return a fact of calc.facts.FREE as the database keeps it: an exact number in the fact's unit, yes or no, a word.

    NotAReading says what was typed and what is expected; ValueError for another name.
    """
    if name not in FREE:
        raise ValueError(f"no fact is named {name!r}; there are {', '.join(FREE)}")
    fact, text = FACTS[name], typed.strip()
    if fact.kind == "check":
        if text.lower() not in YES + NO:
            raise NotAReading(f'"{text}" is not read. Expected yes or no.', ("yes", "no"))
        return "yes" if text.lower() in YES else "no"
    if fact.kind in WORDLESS:
        if not text:
            raise NotAReading("Nothing is typed.")
        return text
    read = parse(text, fact.kind, fact.unit)
    return str(convert(read.value, read.unit, fact.unit))


def _value(name: str, text: str) -> FactValue:
    kind = FACTS[name].kind
    if kind == "check":
        return text == "yes"
    return text if kind in WORDLESS else Fraction(text)
