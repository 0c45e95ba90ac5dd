"""Concrete and steel that a shaft takes, and what was placed against it."""

from dataclasses import dataclass

from apps.calc.errors import not_negative
from apps.calc.registry import Input, Output, calculation
from apps.calc.shaft.bars import BARS, bar, bar_weight
from apps.calc.shaft.cage import Cage, Spiral, cage_of, spiral_of
from apps.calc.shaft.caution import CAUTION
from apps.calc.shaft.volume import neat_volume
from apps.calc.working import Step
from apps.calc.working import number_text as text


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
    sentence: str
    working: tuple[Step, ...]
    caution: str = CAUTION


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
        Output("bars_lb", "mass", "lb", "vertical bars"),
        Output("spiral_lb", "mass", "lb", "spiral"),
        Output("steel_lb", "mass", "lb", "steel in all"),
    ),
    caution=CAUTION,
    beyond=(
        "Whether the shaft is sound: a volume shows no void, no soil in the concrete and no bend in the cage. The plans say which "
        "steel is asked for."
    ),
    # A 30 in shaft 8 ft deep takes 1.4544 yd³ and 1.75 were placed: computed (tests/calc/test_shaft.py, R-D15). Its cage, No. 4
    # spiral and No. 9 bars with 3 in of cover, is geometry too (R-D12); how many bars and what pitch is invented.
    example={
        "shaft_diameter": "30 in",
        "depth": "8 ft",
        "cover": "3 in",
        "bar_size": "9",
        "bar_count": "8",
        "spiral_size": "4",
        "pitch": "6 in",
        "placed": "1.75",
    },
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
    long = bar_length_of(depth, cover, bar_length)
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
        sentence=_sentence(volume, placed, ratio, upright_lb, wound_lb),
        working=(
            *_volume_steps(shaft_diameter, depth, volume, placed, ratio),
            *_cage_steps(shaft_diameter, cover, cage),
            *_spiral_steps(cage, pitch, tall, flat_turns, laps, wound),
            *_weight_steps((bar_count, long, bar_size, upright_lb), (wound.total / 12, spiral_size, wound_lb)),
        ),
    )


def bar_length_of(depth: float, cover: float, bar_length: float | None = None) -> float:
    """Return the length of the vertical bars [ft]: as given, or the depth [ft] less a cover [in] at both ends."""
    return float(depth) - float(cover) / 6 if bar_length is None else float(not_negative("bar_length", bar_length))


def _sentence(volume: float, placed: float | None, ratio: float | None, bars_lb: float, spiral_lb: float) -> str:
    said = f"The shaft takes {volume:.2f} yd³ of concrete"
    if placed is not None and ratio is not None:
        away = (ratio - 1) * 100
        said += f"; {text(placed, 4)} yd³ were placed, {ratio:.2f} times that, {abs(away):.0f} % {'over' if away >= 0 else 'short'}"
    return f"{said}. It takes {bars_lb + spiral_lb:,.0f} lb of steel: {bars_lb:,.0f} lb of bars, {spiral_lb:,.0f} lb of spiral."


def _weight_steps(bars: tuple[float, float, str, float], wound: tuple[float, str, float]) -> tuple[Step, ...]:
    count, long, size, bars_lb = bars
    length, thin, spiral_lb = wound
    numbers = f"{text(count)} × {text(long)} × {bar(size).weight_lbft}"
    return (
        Step("bars", "count × length × weight per ft", numbers, bars_lb, "lb"),
        Step("spiral", "length × weight per ft", f"{text(length)} × {bar(thin).weight_lbft}", spiral_lb, "lb"),
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
