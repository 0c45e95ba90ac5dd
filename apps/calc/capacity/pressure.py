"""Wind at a height above ground: its pressure, and the drag of a round tube."""

from dataclasses import dataclass
from typing import NamedTuple

from apps.calc.capacity.caution import CAUTION, DECIDES
from apps.calc.errors import CalcError, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.working import Step
from apps.calc.working import number_text as text

SOURCE = "AASHTO LTS, 4th to 6th ed., section 3.8 (from memory); exposure exponents as in ASCE 7-05"
PRESSURE_CONSTANT = 0.00256
"""psf for 1 mph: half the density of standard air (AASHTO LTS 3.8, ASCE 7)."""
LOWEST_FT = 16.4
"""Height below which Kz no longer falls: 5 m, where the AASHTO table starts (from memory)."""


class Exposure(NamedTuple):
    """Gradient height [ft] and power-law exponent of a terrain (ASCE 7-05; B from memory)."""

    gradient_ft: float
    alpha: float


EXPOSURES = {"B": Exposure(1200, 7.0), "C": Exposure(900, 9.5), "D": Exposure(700, 11.5)}


def height_factor(height_ft: float, exposure: str = "C", lowest_ft: float = LOWEST_FT) -> float:
    """Return Kz = 2.01 (z / zg)^(2/α), no number below the lowest height and none above the gradient height.

    Height above ground [ft], 0 or more; exposure B, C or D. Building codes start at 15 ft instead: give `lowest_ft`.
    Errors: CalcError on a negative height or an unknown exposure.
    Source: AASHTO LTS Kz table (from memory), formula and exponents ASCE 7-05.

    >>> round(height_factor(32.8), 4)
    1.0009
    """
    if exposure not in EXPOSURES:
        raise CalcError("exposure", f"expected one of {', '.join(EXPOSURES)}, got {exposure!r}")
    terrain = EXPOSURES[exposure]
    height = min(max(not_negative("height_ft", height_ft), positive("lowest_ft", lowest_ft)), terrain.gradient_ft)
    return float(2.01 * (height / terrain.gradient_ft) ** (2 / terrain.alpha))


def round_drag(speed_mph: float, diameter_ft: float, speed_conversion: float = 1.0) -> float:
    """Return the drag coefficient of a round tube from C = Cv V d: 1.10 to C = 39, 129/C^1.3 to 78, then 0.45.

    Wind speed [mph], diameter [ft], Cv for the recurrence interval (1.0 for 50 years).
    Errors: CalcError on a value of zero or less. Source: AASHTO LTS Table 3-6 (from memory).

    >>> round(round_drag(90, 0.5), 3)
    0.915
    """
    c = (
        positive("speed_conversion", speed_conversion)
        * positive("speed_mph", speed_mph)
        * positive("diameter_ft", diameter_ft)
    )
    if c <= 39:
        return 1.10
    return 129 / c**1.3 if c < 78 else 0.45


@dataclass(frozen=True, slots=True)
class Pressure:
    """Wind pressure at one height."""

    height_factor: float
    pressure_psf: float
    sentence: str
    working: tuple[Step, ...]
    caution: str = CAUTION


@calculation(
    "capacity.pressure",
    "Wind pressure at a height",
    SOURCE,
    inputs=(
        Input("height_ft", "length", "ft", "height above ground", low=0),
        Input("speed_mph", "speed", "mph", "gust speed of the map", low=1, high=300),
        Input("gust", "ratio", "1", "gust effect factor G", default=1.14, low=0.5, high=3),
        Input(
            "importance", "ratio", "1", "importance factor Ir (1 where the map holds it)", default=1.0, low=0.5, high=2
        ),
        Input("directionality", "ratio", "1", "directionality factor Kd", default=1.0, low=0.5, high=1),
        Input("drag", "ratio", "1", "drag coefficient Cd", default=1.0, low=0, high=3),
        Input("exposure", "choice", "", "exposure", default="C", choices=tuple(EXPOSURES)),
    ),
    outputs=(Output("pressure_psf", "pressure", "psf", "wind pressure"),),
    caution=CAUTION,
    beyond="What a pole feels: its own sway, gusts in step with it, vortices and ice are not in a pressure.",
    # Invented: the map speed; a computed check value, no published one (tests/calc/test_capacity.py, W-D3).
    example={"height_ft": "30 ft", "speed_mph": "90"},
)
def pressure(
    *,
    height_ft: float,
    speed_mph: float,
    gust: float = 1.14,
    importance: float = 1.0,
    directionality: float = 1.0,
    drag: float = 1.0,
    exposure: str = "C",
    lowest_ft: float = LOWEST_FT,
) -> Pressure:
    """Return Pz = 0.00256 Kz Kd G V² Ir Cd [psf] at a height [ft] for a 3-second gust [mph].

    AASHTO LTS to the 6th edition uses Ir and no Kd; LRFDLTS-1 (2015) uses Kd and a map of its own, without Ir.
    Errors: CalcError on a negative height or drag, a factor or speed of zero or less, an unknown exposure.
    Source: AASHTO LTS 3.8 (from memory).

    >>> round(pressure(height_ft=30, speed_mph=90).pressure_psf, 2)
    23.22
    """
    kz = height_factor(height_ft, exposure, lowest_ft)
    factors = positive("gust", gust) * positive("importance", importance)
    factors *= positive("directionality", directionality) * not_negative("drag", drag)
    result = PRESSURE_CONSTANT * kz * factors * positive("speed_mph", speed_mph) ** 2
    numbers = f"0.00256 · {text(kz)} · {directionality} · {gust} · {text(speed_mph)}² · {importance} · {text(drag)}"
    terrain = EXPOSURES[exposure]
    working = (
        Step(
            "Kz",
            "2.01 (z / z_g)^(2/α)",
            f"2.01 · ({text(max(height_ft, lowest_ft))} / {text(terrain.gradient_ft)})^(2 / {terrain.alpha})",
            kz,
        ),
        Step("Pz", "0.00256 Kz Kd G V² Ir Cd", numbers, result, "psf"),
    )
    said = f"At {text(height_ft)} ft the wind presses with {result:.1f} psf where {text(speed_mph)} mph blow at 33 ft. {DECIDES}"
    return Pressure(kz, float(result), said, working)
