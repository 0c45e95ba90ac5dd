"""The drilled shaft: concrete and steel that it needs, what was placed against it, the cover that the cage leaves."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

from apps.calc.errors import CalcError, counted, finite, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.working import Step
from apps.calc.working import number_text as text

CAUTION = (
    "Never enter the hole: measure from the top, keep it covered or guarded. Cap bar ends; stay out from under a "
    "suspended cage. Tolerances are the plans' and the engineer's."
)
IN3_PER_YD3 = 46_656
BOTTOM_ALLOWED_IN = 0.5
"""Sediment counts as thin under this: FHWA GEC-10 (FHWA-NHI-10-016), guide specification (from memory)."""


class Bar(NamedTuple):
    """A reinforcing bar in both systems; the diameter, area and weight are nominal."""

    diameter_in: float
    area_in2: float
    weight_lbft: float
    perimeter_in: float
    metric: str
    diameter_mm: float
    area_mm2: float
    mass_kgm: float


# ASTM A615/A615M, Table 1. Numbers 3, 4, 6, 8, 9 and 11 read in a reprint (concreteconstruction.net), 4 and 8 in SI as
# well; the others from memory and recomputed: 3.4 lb/ft for each square inch. From No. 9 up the areas are those of
# square bars, so the table rules and not a formula. No. 2 is plain bar, outside A615: its dimensions are computed.
BARS: dict[str, Bar] = {
    "2": Bar(0.250, 0.05, 0.167, 0.785, "6", 6.4, 32, 0.249),
    "3": Bar(0.375, 0.11, 0.376, 1.178, "10", 9.5, 71, 0.560),
    "4": Bar(0.500, 0.20, 0.668, 1.571, "13", 12.7, 129, 0.994),
    "5": Bar(0.625, 0.31, 1.043, 1.963, "16", 15.9, 199, 1.552),
    "6": Bar(0.750, 0.44, 1.502, 2.356, "19", 19.1, 284, 2.235),
    "7": Bar(0.875, 0.60, 2.044, 2.749, "22", 22.2, 387, 3.042),
    "8": Bar(1.000, 0.79, 2.670, 3.142, "25", 25.4, 510, 3.973),
    "9": Bar(1.128, 1.00, 3.400, 3.544, "29", 28.7, 645, 5.060),
    "10": Bar(1.270, 1.27, 4.303, 3.990, "32", 32.3, 819, 6.404),
    "11": Bar(1.410, 1.56, 5.313, 4.430, "36", 35.8, 1006, 7.907),
}


class Cage(NamedTuple):
    """Diameters of a cage [in]: over the spiral, at the centre line of the spiral, through the centres of the bars."""

    outside: float
    spiral: float
    bars: float


class Spiral(NamedTuple):
    """Length of a spiral [in]: turns in the height, one turn, the helix, the flat turns, all with laps."""

    turns: float
    turn: float
    helix: float
    flat: float
    total: float


@dataclass(frozen=True, slots=True)
class Shaft:
    """What a shaft needs, and what was placed."""

    volume_yd3: float
    """Neat volume."""
    ratio: float | None
    """Placed over neat; None when nothing was placed."""
    overbreak_percent: float | None
    cage: Cage
    spiral: Spiral
    bars_lb: float
    spiral_lb: float
    steel_lb: float
    working: tuple[Step, ...]
    caution: str = CAUTION


@dataclass(frozen=True, slots=True)
class Interval:
    """A stretch of the pour between two soundings [ft below the top, yd³]."""

    low_ft: float
    high_ft: float
    placed_yd3: float
    neat_yd3: float

    @property
    def ratio(self) -> float:
        """Placed over neat; under 1 the hole closed in, or the sounding is wrong."""
        return self.placed_yd3 / self.neat_yd3


@dataclass(frozen=True, slots=True)
class Curve:
    """The concrete curve: placed against neat volume as the concrete rises."""

    intervals: tuple[Interval, ...]
    """From the bottom up."""
    ratio: float
    """Of the whole pour so far."""
    least: float
    greatest: float
    sentence: str
    working: tuple[Step, ...]
    caution: str = CAUTION


@dataclass(frozen=True, slots=True)
class Cover:
    """Clear cover between cage and soil [in]."""

    centred: float
    """All round, with the cage in the middle of the hole."""
    least: float
    """On the side that the cage stands off to."""
    working: tuple[Step, ...]
    caution: str = CAUTION


@dataclass(frozen=True, slots=True)
class Hole:
    """Where a hole stands and how clean it is."""

    off_centre_in: float
    off_plumb_in: float
    plumb_percent: float
    """Off plumb over depth."""
    plumb_in_per_ft: float
    thin_percent: float | None
    """Share of the bottom soundings with less sediment than 1/2 in; None without soundings."""
    thickest_in: float | None
    working: tuple[Step, ...]
    caution: str = CAUTION


def bar(number: str) -> Bar:
    """Return the dimensions of a bar by its number, such as "4". CalcError on one that the table lacks.

    Source: ASTM A615/A615M, Table 1, nominal dimensions.

    >>> bar("9").weight_lbft
    3.4
    """
    try:
        return BARS[str(number)]
    except KeyError:
        raise CalcError("bar", f"expected a bar number of {', '.join(BARS)}, got {number!r}") from None


def bar_weight(number: str, count: float, length_ft: float) -> float:
    """Return the weight [lb] of so many bars of a length [ft]. CalcError on negative or non-finite numbers.

    Source: ASTM A615/A615M, Table 1.

    >>> round(bar_weight("9", 8, 9.5), 1)
    258.4
    """
    return bar(number).weight_lbft * float(not_negative("count", count)) * float(not_negative("length_ft", length_ft))


def cage_of(*, shaft_diameter: float, cover: float, spiral: str, vertical: str) -> Cage:
    """Return the diameters of the cage [in] that leaves a clear cover [in] in a shaft of a diameter [in].

    Source: plane geometry. CalcError when no room is left inside the cover.

    >>> cage_of(shaft_diameter=24, cover=3, spiral="3", vertical="8")
    Cage(outside=18.0, spiral=17.625, bars=16.25)
    """
    thin, thick = bar(spiral).diameter_in, bar(vertical).diameter_in
    outside = float(positive("shaft_diameter", shaft_diameter)) - 2 * float(not_negative("cover", cover))
    found = Cage(outside, outside - thin, outside - 2 * thin - thick)
    if found.bars <= 0:
        raise CalcError("cover", f"a cover of {text(cover)} in leaves no room for the cage")
    return found


def spiral_of(*, centre_diameter: float, pitch: float, height: float, flat_turns: float = 0, laps: float = 0) -> Spiral:
    """Return the length of a spiral [in]: helix over its height, flat turns in all (both ends together), laps.

    centre_diameter and pitch [in] over 0; height, flat_turns, laps [in] 0 or more. CalcError otherwise.
    Source: geometry of the helix, turn = √((π D)² + pitch²). ACI 318-19, 25.7.3.4 asks 1 1/2 flat turns at each end
    (from memory).

    >>> round(spiral_of(centre_diameter=17.625, pitch=6, height=96, flat_turns=3).total, 3)
    1057.227
    """
    around = math.pi * float(positive("centre_diameter", centre_diameter))
    rise, tall = float(positive("pitch", pitch)), float(not_negative("height", height))
    turn, turns = math.hypot(around, rise), tall / rise
    flat = float(not_negative("flat_turns", flat_turns)) * around
    return Spiral(turns, turn, turns * turn, flat, turns * turn + flat + float(not_negative("laps", laps)))


def neat_volume(diameter_in: float, depth_ft: float) -> float:
    """Return the neat volume [yd³] of a shaft of a diameter [in] and depth [ft], both over 0.

    Source: volume of a cylinder; 1 yd³ is 46,656 in³. CalcError otherwise.

    >>> round(neat_volume(30, 8), 4)
    1.4544
    """
    across, deep = float(positive("diameter_in", diameter_in)), float(positive("depth_ft", depth_ft))
    return math.pi / 4 * across**2 * deep * 12 / IN3_PER_YD3


@calculation(
    "shaft",
    "Shaft: concrete and steel",
    "Plane geometry; ASTM A615/A615M, Table 1 for the bars",
    inputs=(
        Input("shaft_diameter", "length", "in", "shaft diameter", low=6, high=240),
        Input("depth", "length", "ft", "depth", low=0.5, high=200),
        Input("cover", "length", "in", "clear cover", default=3.0, low=0, high=24),
        Input("bar_size", "choice", "", "vertical bar, No.", default="4", choices=tuple(BARS)),
        Input("bar_count", "count", "", "vertical bars", default=6, low=3, high=100),
        Input(
            "bar_length",
            "length",
            "ft",
            "vertical bar length; depth less two covers unless given",
            optional=True,
            low=0,
        ),
        Input("spiral_size", "choice", "", "spiral bar, No.", default="3", choices=tuple(BARS)),
        Input("pitch", "length", "in", "spiral pitch", default=6.0, low=0.5, high=36),
        Input("spiral_height", "length", "in", "height wound; the bar length unless given", optional=True, low=0),
        Input("flat_turns", "count", "", "flat turns, both ends together", default=4, low=0, high=20),
        Input("laps", "length", "in", "laps of the spiral in all", default=0.0, low=0),
        Input("placed", "volume", "yd3", "concrete placed", optional=True, low=0),
    ),
    outputs=(
        Output("volume_yd3", "volume", "yd3", "neat volume"),
        Output("ratio", "ratio", "1", "placed over neat"),
        Output("overbreak_percent", "percent", "%", "over the neat volume"),
        Output("steel_lb", "mass", "lb", "steel in all"),
    ),
    caution=CAUTION,
)
def shaft(
    *,
    shaft_diameter: float,
    depth: float,
    cover: float = 3.0,
    bar_size: str = "4",
    bar_count: float = 6,
    bar_length: float | None = None,
    spiral_size: str = "3",
    pitch: float = 6.0,
    spiral_height: float | None = None,
    flat_turns: float = 4,
    laps: float = 0.0,
    placed: float | None = None,
) -> Shaft:
    """Return the neat volume, the placed ratio, the cage diameters and the lengths and weights of its steel.

    shaft_diameter, cover, pitch, spiral_height, laps [in]; depth and bar_length [ft]; placed [yd³]; sizes by number.
    Ranges as registered; CalcError outside them, or when the cover leaves no room for the cage.
    Source: plane geometry; ASTM A615/A615M, Table 1.

    >>> found = shaft(shaft_diameter=30, depth=8, placed=1.75)
    >>> round(found.volume_yd3, 4), round(found.ratio, 4)
    (1.4544, 1.2032)
    """
    volume = neat_volume(shaft_diameter, depth)
    cage = cage_of(shaft_diameter=shaft_diameter, cover=cover, spiral=spiral_size, vertical=bar_size)
    long = float(depth) - float(cover) / 6 if bar_length is None else float(not_negative("bar_length", bar_length))
    tall = long * 12 if spiral_height is None else float(not_negative("spiral_height", spiral_height))
    wound = spiral_of(centre_diameter=cage.spiral, pitch=pitch, height=tall, flat_turns=flat_turns, laps=laps)
    upright_lb = bar_weight(bar_size, bar_count, long)
    wound_lb = bar_weight(spiral_size, 1, wound.total / 12)
    ratio = None if placed is None else float(not_negative("placed", placed)) / volume
    return Shaft(
        volume_yd3=volume,
        ratio=ratio,
        overbreak_percent=None if ratio is None else (ratio - 1) * 100,
        cage=cage,
        spiral=wound,
        bars_lb=upright_lb,
        spiral_lb=wound_lb,
        steel_lb=upright_lb + wound_lb,
        working=(
            *_volume_steps(shaft_diameter, depth, volume, placed, ratio),
            *_cage_steps(shaft_diameter, cover, cage),
            *_spiral_steps(cage, pitch, tall, flat_turns, laps, wound),
            Step(
                "bars",
                "count × length × weight per ft",
                f"{text(bar_count)} × {text(long)} × {bar(bar_size).weight_lbft}",
                upright_lb,
                "lb",
            ),
            Step(
                "spiral",
                "length × weight per ft",
                f"{text(wound.total / 12)} × {bar(spiral_size).weight_lbft}",
                wound_lb,
                "lb",
            ),
        ),
    )


def _volume_steps(
    diameter: float, depth: float, volume: float, placed: float | None, ratio: float | None
) -> tuple[Step, ...]:
    neat = Step("V", "π D² / 4 × depth / 27", f"π × ({text(diameter)} / 12)² / 4 × {text(depth)} / 27", volume, "yd3")
    if placed is None or ratio is None:
        return (neat,)
    return neat, Step("ratio", "placed / neat", f"{text(placed)} / {text(volume)}", ratio, "1")


def _cage_steps(diameter: float, cover: float, cage: Cage) -> tuple[Step, ...]:
    thin, thick = cage.outside - cage.spiral, cage.spiral * 2 - cage.outside - cage.bars
    return (
        Step("Do", "D − 2 cover", f"{text(diameter)} − 2 × {text(cover)}", cage.outside, "in"),
        Step("Dc", "Do − spiral bar", f"{text(cage.outside)} − {text(thin)}", cage.spiral, "in"),
        Step(
            "bar circle",
            "Do − 2 spiral bar − vertical bar",
            f"{text(cage.outside)} − 2 × {text(thin)} − {text(thick)}",
            cage.bars,
            "in",
        ),
    )


def _spiral_steps(
    cage: Cage, pitch: float, height: float, flat_turns: float, laps: float, wound: Spiral
) -> tuple[Step, ...]:
    return (
        Step("turn", "√((π Dc)² + pitch²)", f"√((π × {text(cage.spiral)})² + {text(pitch)}²)", wound.turn, "in"),
        Step("turns", "height / pitch", f"{text(height)} / {text(pitch)}", wound.turns),
        Step(
            "spiral length",
            "turns × turn + flat turns × π Dc + laps",
            f"{text(wound.turns)} × {text(wound.turn)} + {text(flat_turns)} × π × {text(cage.spiral)} + {text(laps)}",
            wound.total,
            "in",
        ),
    )


@calculation(
    "shaft.curve",
    "Concrete curve",
    "Volume of a cylinder between soundings; limits on the ratio: common practice, no source",
    inputs=(
        Input("shaft_diameter", "length", "in", "shaft diameter", low=6, high=240),
        Input("depth", "length", "ft", "depth of the hole", low=0.5, high=200),
        Input("soundings", "length", "ft", "depth from the top to the concrete, one after each load", many=True, low=0),
        Input("placed", "volume", "yd3", "concrete placed by then, in all", many=True, low=0),
        Input("least", "ratio", "1", "ratio under which a stretch is questioned", default=1.0, low=0),
        Input("most", "ratio", "1", "ratio over which it is explained", default=1.3, low=0),
    ),
    outputs=(
        Output("ratio", "ratio", "1", "placed over neat, in all"),
        Output("least", "ratio", "1", "least of any stretch"),
        Output("greatest", "ratio", "1", "greatest of any stretch"),
    ),
    caution=CAUTION,
)
def curve(
    *,
    shaft_diameter: float,
    depth: float,
    soundings: Sequence[float],
    placed: Sequence[float],
    least: float = 1.0,
    most: float = 1.3,
) -> Curve:
    """Return placed against neat volume for each stretch between soundings, and for the pour so far.

    shaft_diameter [in]; depth and soundings [ft below the top], each higher than the one before; placed [yd³] in all by
    each sounding, never falling. A stretch under `least` may be a hole that closed in; over `most`, caving.
    CalcError otherwise. Source: volume of a cylinder; the limits are common practice, no source.

    >>> found = curve(shaft_diameter=30, depth=8, soundings=[4, 0], placed=[0.7, 1.75])
    >>> [round(each.ratio, 3) for each in found.intervals]
    [0.963, 1.444]
    """
    low, high = float(not_negative("least", least)), float(not_negative("most", most))
    levels = [float(positive("depth", depth))]
    levels += [float(not_negative("soundings", each)) for each in counted("soundings", soundings, 1)]
    volumes = [0.0] + [
        float(not_negative("placed", each)) for each in counted("placed", placed, len(soundings), len(soundings))
    ]
    if any(above >= below for below, above in pairwise(levels)):
        raise CalcError("soundings", "the concrete must rise from one sounding to the next, and from the bottom")
    if any(after < before for before, after in pairwise(volumes)):
        raise CalcError("placed", "is the volume in all by each sounding: it cannot fall")
    intervals = tuple(
        Interval(below, above, after - before, neat_volume(shaft_diameter, below - above))
        for (below, above), (before, after) in zip(pairwise(levels), pairwise(volumes), strict=True)
    )
    ratios = [each.ratio for each in intervals]
    total = volumes[-1] / neat_volume(shaft_diameter, levels[0] - levels[-1])
    return Curve(
        intervals=intervals,
        ratio=total,
        least=min(ratios),
        greatest=max(ratios),
        sentence=_curve_sentence(intervals, total, low, high),
        working=(
            *(
                Step(
                    f"{text(each.low_ft)} to {text(each.high_ft)} ft",
                    "placed / neat",
                    f"{text(each.placed_yd3)} / {text(each.neat_yd3)}",
                    each.ratio,
                    "1",
                )
                for each in intervals
            ),
            Step(
                "in all",
                "placed / neat",
                f"{text(volumes[-1])} / {text(volumes[-1] / total if total else 0)}",
                total,
                "1",
            ),
        ),
    )


def _curve_sentence(intervals: Sequence[Interval], total: float, low: float, high: float) -> str:
    said = f"Placed {total:.2f} times the neat volume."
    for word, chosen in (
        ("short", [each for each in intervals if each.ratio < low]),
        ("over", [each for each in intervals if each.ratio > high]),
    ):
        for each in chosen:
            why = (
                "the hole closed in, or the sounding is wrong: tell the engineer"
                if word == "short"
                else "caving, waste or a wrong share of the ticket: explain"
            )
            said += f" From {each.low_ft:g} to {each.high_ft:g} ft, {each.ratio:.2f}: {why}."
    return said


@calculation(
    "shaft.cover",
    "Cover round the cage",
    "Plane geometry",
    inputs=(
        Input("hole_diameter", "length", "in", "smallest diameter of the hole", low=6, high=240),
        Input("cage_diameter", "length", "in", "diameter over the spiral", low=1, high=240),
        Input("off_centre", "length", "in", "cage off the centre of the hole", default=0.0, low=0),
    ),
    outputs=(
        Output("least", "length", "in", "least clear cover"),
        Output("centred", "length", "in", "clear cover, cage centred"),
    ),
    caution=CAUTION,
)
def cover(*, hole_diameter: float, cage_diameter: float, off_centre: float = 0.0) -> Cover:
    """Return the clear cover [in] that a cage leaves in a hole, centred and where it stands off centre.

    Diameters [in] over 0, off_centre [in] 0 or more. CalcError when the cage is not smaller than the hole, or stands
    into the soil. Source: plane geometry, (hole − cage) / 2 − off centre.

    >>> cover(hole_diameter=30, cage_diameter=24, off_centre=0.75).least
    2.25
    """
    hole, over = float(positive("hole_diameter", hole_diameter)), float(positive("cage_diameter", cage_diameter))
    off = float(not_negative("off_centre", off_centre))
    if over >= hole:
        raise CalcError("cage_diameter", f"a cage of {text(over)} in does not go into a hole of {text(hole)} in")
    centred = (hole - over) / 2
    if off > centred:
        raise CalcError(
            "off_centre", f"{text(off)} in puts the cage into the soil: there are {text(centred)} in all round"
        )
    return Cover(
        centred,
        centred - off,
        (
            Step("centred", "(hole − cage) / 2", f"({text(hole)} − {text(over)}) / 2", centred, "in"),
            Step("least", "centred − off centre", f"{text(centred)} − {text(off)}", centred - off, "in"),
        ),
    )


@calculation(
    "shaft.hole",
    "Place, plumb and bottom of a hole",
    "Plane geometry; sediment: FHWA GEC-10 (FHWA-NHI-10-016), guide specification (from memory)",
    inputs=(
        Input("depth", "length", "ft", "depth", low=0.5, high=200),
        Input("off_x", "length", "in", "top off its stake, one way", default=0.0),
        Input("off_y", "length", "in", "and square to it", default=0.0),
        Input("lean_x", "length", "in", "bottom off plumb, one way", default=0.0),
        Input("lean_y", "length", "in", "and square to it", default=0.0),
        Input("sediment", "length", "in", "sediment at points of equal area", many=True, optional=True, low=0),
        Input("thin", "length", "in", "sediment that counts as thin is under this", default=BOTTOM_ALLOWED_IN, low=0),
    ),
    outputs=(
        Output("off_centre_in", "length", "in", "off the stake"),
        Output("off_plumb_in", "length", "in", "off plumb"),
        Output("plumb_percent", "percent", "%", "off plumb, of the depth"),
        Output("plumb_in_per_ft", "length", "in", "off plumb in each foot"),
        Output("thin_percent", "percent", "%", "share of the bottom with thin sediment"),
        Output("thickest_in", "length", "in", "thickest sediment"),
    ),
    caution=CAUTION,
)
def hole(
    *,
    depth: float,
    off_x: float = 0.0,
    off_y: float = 0.0,
    lean_x: float = 0.0,
    lean_y: float = 0.0,
    sediment: Sequence[float] | None = None,
    thin: float = BOTTOM_ALLOWED_IN,
) -> Hole:
    """Return how far a hole is off its stake and off plumb, and how much of its bottom is clean.

    depth [ft] over 0; off and lean in two square directions [in]; sediment at points of equal area [in].
    CalcError otherwise. Which limit applies is the project's: 1/4 in per ft, 2 % and 1.5 % are all in use.
    Source: plane geometry; FHWA GEC-10, guide specification (from memory): half the bottom under 1/2 in.

    >>> found = hole(depth=10, lean_x=2.2)
    >>> round(found.plumb_percent, 3)
    1.833
    """
    deep = float(positive("depth", depth))
    off = math.hypot(float(finite("off_x", off_x)), float(finite("off_y", off_y)))
    lean = math.hypot(float(finite("lean_x", lean_x)), float(finite("lean_y", lean_y)))
    steps = [
        Step("off centre", "√(x² + y²)", f"√({text(off_x)}² + {text(off_y)}²)", off, "in"),
        Step("off plumb", "√(x² + y²)", f"√({text(lean_x)}² + {text(lean_y)}²)", lean, "in"),
        Step("plumb", "off plumb / depth", f"{text(lean)} / ({text(deep)} × 12)", lean / deep / 12 * 100, "%"),
    ]
    clean, thickest = None, None
    if sediment is not None:
        depths = [float(not_negative("sediment", each)) for each in counted("sediment", sediment, 1)]
        less = sum(each < float(not_negative("thin", thin)) for each in depths)
        clean, thickest = 100 * less / len(depths), max(depths)
        steps.append(Step("thin", "points under the limit / points", f"{less} / {len(depths)}", clean, "%"))
    return Hole(off, lean, lean / deep / 12 * 100, lean / deep, clean, thickest, tuple(steps))
