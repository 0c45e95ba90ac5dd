"""The shape of one foundation of the demo, so that what is read of it at different stages belongs to one thing.

Invented sizes. The top of the concrete is a plane tilted a little with a twist; a rigid base on it touches three corners and stands
open at one; the bolts stand out as far after the pour as before it, within the reading; what is left standing over the chord
follows from bolts, conduits and ground. Everything is read to the grain of its instrument, which is the only noise.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import cos, radians, sin
from random import Random

from apps.calc.fresh_concrete.drying import ACT_ABOVE, evaporation
from apps.calc.readings import read
from apps.calc.requirement import Requirement as Spec
from apps.calc.shown import show
from apps.holdpoints.judging import Answered, Typed
from apps.sheet.checks import GROUND, GROUND_AT_IN

CORNERS = ("A", "B", "C", "D")
GAUGE, TAPE, ROD = Fraction(1, 64), Fraction(1, 16), Fraction(1, 8)
"""What a feeler gauge, a tape and a level with its rod are read to [in]."""
CHORDS = {"along the road": 0, "across the road": 90, "diagonal A-C": 135, "diagonal B-D": 45}
"""Direction of the straightedge, as directions of the ground are counted."""
HALF_CHORD_IN = 30
TOO_WIDE = Fraction(1, 8)
"""A gap over it was made to go wrong by the season, and stays."""


def _read(value: float | Fraction, grain: Fraction) -> Fraction:
    """Return a size as the instrument shows it."""
    return Fraction(round(Fraction(value) / grain)) * grain


@dataclass(frozen=True)
class Shape:
    """One foundation as it is, in inches from the top of its concrete."""

    heights: tuple[Fraction, ...]
    """Of the concrete at the four corners, from any one level."""
    bolts: tuple[float, ...]
    above_grade: float
    fall_along: float
    """Rise of the ground toward up-station, as a ratio."""
    fall_across: float
    conduits: tuple[float, ...]
    weather: tuple[float, float, float]
    """Air [°F], humidity [%], wind [mph] while the top is finished."""

    @property
    def twist(self) -> Fraction:
        """What a rigid base will show as a gap."""
        a, b, c, d = self.heights
        return a + c - b - d

    def ground(self, direction_deg: float, away_in: float) -> float:
        """Return the height of the ground at a place."""
        turn = radians(direction_deg)
        return -self.above_grade + away_in * (self.fall_along * cos(turn) + self.fall_across * sin(turn))

    def standing(self, direction_deg: float) -> float:
        """Return what stands above a straightedge laid evenly over the middle."""
        ends = (self.ground(direction_deg + turn, HALF_CHORD_IN) for turn in (0, 180))
        return max(*self.bolts, *self.conduits, 0) - sum(ends) / 2

    def gaps(self, chance: Random, widest: Fraction | None = None) -> list[Fraction]:
        """Return the gauge at each corner: three bear, one of the low pair stands open by the twist, as read."""
        low = ("B", "D") if self.twist >= 0 else ("A", "C")
        open_at = chance.choice(low)
        gap = abs(self.twist) if widest is None else widest
        return [gap if corner == open_at else Fraction(0) for corner in CORNERS]


def shape_of(mark: str) -> Shape:
    """Return the shape of the foundation of this mark: the same each time."""
    chance = Random(f"shape of {mark}")
    level, first, second = chance.randint(16, 48), chance.randint(-3, 3), chance.randint(-3, 3)
    twist = chance.choices((0, 1, 2, 3, 4, 5, 6), (2, 3, 4, 3, 2, 1, 1))[0] * chance.choice((-1, 1))
    # Half the twist on each diagonal, the odd 64th on the first corner.
    heights = [level + first, level + second, level - first, level - second]
    heights[0 if twist > 0 else 1] += abs(twist) - abs(twist) // 2
    heights[2 if twist > 0 else 3] += abs(twist) // 2
    stands = chance.uniform(2.0, 3.0)
    return Shape(
        heights=tuple(Fraction(each, 64) for each in heights),
        bolts=tuple(stands + chance.uniform(-0.12, 0.12) for _ in range(4)),
        above_grade=chance.randint(0, 6) / 16,
        fall_along=chance.uniform(-0.02, 0.02),
        fall_across=chance.uniform(-0.04, 0.02),
        conduits=tuple(chance.uniform(1.6, 2.8) for _ in range(2)),
        weather=(chance.uniform(46, 76), chance.uniform(32, 78), chance.uniform(1, 11)),
    )


def fitted(shape: Shape, answers: Mapping[str, Answered], specs: Mapping[str, Spec]) -> dict[str, Answered]:
    """Return answers in which what belongs to one shape agrees; a gap that goes wrong this time stays as wide."""
    chance = Random(f"read of {shape}")
    found = {"pour.top_twist": list(shape.heights)}
    for key in ("cage.bolt_projection", "pour.bolt_projection"):
        found[key] = [_read(each, TAPE) for each in shape.bolts]
    found["cage.conduit_projection"] = [_read(each, TAPE) for each in shape.conduits]
    for key in ("pour.top_elevation", "pour.top_elevation_pedestal"):
        found[key] = [_read(shape.above_grade, TAPE)]
    widest = max(_values("base_set.corner_gap", answers, specs), default=Fraction(0))
    found["base_set.corner_gap"] = shape.gaps(chance, widest if widest > TOO_WIDE else None)
    found["base_set.ground"] = [_read(shape.ground(turn, GROUND_AT_IN), ROD) for turn in GROUND.values()]
    found["base_set.stub_height"] = [_read(shape.standing(turn), TAPE) for turn in CHORDS.values()]
    found |= _weather(shape, answers, specs)
    return {**answers, **{key: _typed(specs[key], values) for key, values in found.items() if key in answers}}


def _values(key: str, answers: Mapping[str, Answered], specs: Mapping[str, Spec]) -> list[Fraction]:
    """Return what stands in an answer as numbers."""
    typed = answers[key].readings if key in answers else ()
    read_as = (read(specs[key], each.place, each.text).value for each in typed)
    return [value for value in read_as if isinstance(value, Fraction)]


def _weather(shape: Shape, answers: Mapping[str, Answered], specs: Mapping[str, Spec]) -> dict[str, list[Fraction]]:
    """Return air, humidity and wind; the crew puts up a wind break where the top would dry too fast."""
    if "pour.evaporation" not in answers:
        return {}
    concrete = float(max(_values("pour.temp_max", answers, specs)))
    air, humid, wind = (Fraction(round(each)) for each in shape.weather)
    while wind > 0 and _rate(concrete, air, humid, wind) > ACT_ABOVE:
        wind -= 1
    return {"pour.air_temperature": [air], "pour.humidity": [humid], "pour.wind": [wind]}


def _rate(concrete: float, *weather: Fraction) -> float:
    air, humid, wind = (float(each) for each in weather)
    return evaporation(concrete_f=concrete, air_f=air, humidity_percent=humid, wind_mph=wind).rate_lb_ft2_h


def _typed(spec: Spec, values: list[Fraction]) -> Answered:
    places = spec.places or ("",)
    texts = (show(each, spec.unit, spec.notation, grouped=False) for each in values)
    return Answered(tuple(Typed(place, text) for place, text in zip(places, texts, strict=True)))
