"""Grounding: electrodes and their resistance to earth, the conditions they meet, fall of potential."""

import math
from dataclasses import dataclass

from apps.calc.errors import CalcError, between, finite, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.working import Step
from apps.calc.working import number_text as text

CAUTION = (
    "Electricity kills: a qualified person isolates, locks, tags and proves dead before touching. Never open a ground "
    "that carries current. The electrical code in force locally, and its authority, decide."
)
FOOT_M = 0.3048
INCH_M = 0.0254


def rod_resistance_ohm(*, resistivity_ohm_m: float, length_m: float, diameter_m: float) -> float:
    """Return the resistance to earth [ohm] of one driven rod: ρ/(2π L) (ln(8 L/d) − 1).

    Soil resistivity [ohm m], length and diameter [m]. For a rod much longer than thick, in uniform soil.
    Errors: CalcError on a value of zero or less, a rod no longer than thick.
    Source: H. B. Dwight, Calculation of resistances to ground, 1936; IEEE Std 142.

    >>> round(rod_resistance_ohm(resistivity_ohm_m=100, length_m=10 * 0.3048, diameter_m=0.75 * 0.0254), 3)
    32.137
    """
    length, diameter = _rod(length_m, diameter_m)
    return (
        positive("resistivity_ohm_m", resistivity_ohm_m)
        / (2 * math.pi * length)
        * (math.log(8 * length / diameter) - 1)
    )


def _rod(length: float, diameter: float) -> tuple[float, float]:
    if positive("length_m", length) <= positive("diameter_m", diameter):
        raise CalcError("length_m", f"a rod is longer than thick, got {length} m by {diameter} m")
    return length, diameter


def two_rods_resistance_ohm(*, resistivity_ohm_m: float, length_m: float, diameter_m: float, spacing_m: float) -> float:
    """Return the resistance to earth [ohm] of two equal rods farther apart [m] than they are long.

    ρ/(4π L)(ln(4 L/a) − 1) + ρ/(4π s)(1 − L²/(3 s²) + 2 L⁴/(5 s⁴)), a the radius. Far apart it is half of one rod.
    Errors: CalcError also on rods closer than their length. Source: H. B. Dwight, 1936 (from memory).

    >>> round(two_rods_resistance_ohm(resistivity_ohm_m=100, length_m=2.4384, diameter_m=0.015875, spacing_m=1e9), 2)
    19.95
    """
    one = rod_resistance_ohm(resistivity_ohm_m=resistivity_ohm_m, length_m=length_m, diameter_m=diameter_m)
    if positive("spacing_m", spacing_m) <= length_m:
        raise CalcError("spacing_m", f"the formula holds for rods farther apart than {length_m} m, got {spacing_m}")
    ratio = (length_m / spacing_m) ** 2
    mutual = resistivity_ohm_m / (4 * math.pi * spacing_m) * (1 - ratio / 3 + 2 * ratio**2 / 5)
    return one / 2 + mutual


def encased_resistance_ohm(
    *,
    resistivity_ohm_m: float,
    concrete_ohm_m: float,
    length_m: float,
    concrete_diameter_m: float,
    bar_diameter_m: float,
) -> float:
    """Return the resistance to earth [ohm] of a vertical bar encased in concrete.

    [ρc ln(De/DI) + ρ (ln(8 L/De) − 1)]/(2π L), diameters of concrete and bar. Concrete in moist earth is some 30 to 90
    ohm m, dry far more (from memory). With ρc = ρ it is the bare bar.
    Errors: CalcError on a value of zero or less, a bar as thick as its concrete, a shaft no longer than thick.
    Source: IEEE Std 80, rod encased in concrete (from memory).

    >>> sizes = dict(length_m=2.44, concrete_diameter_m=0.6, bar_diameter_m=0.0254)
    >>> round(encased_resistance_ohm(resistivity_ohm_m=100, concrete_ohm_m=50, **sizes), 1)
    26.5
    """
    length, outside = _rod(length_m, concrete_diameter_m)
    if positive("bar_diameter_m", bar_diameter_m) >= outside:
        raise CalcError("bar_diameter_m", "the bar is as thick as its concrete")
    through = positive("concrete_ohm_m", concrete_ohm_m) * math.log(outside / bar_diameter_m)
    beyond = positive("resistivity_ohm_m", resistivity_ohm_m) * (math.log(8 * length / outside) - 1)
    return (through + beyond) / (2 * math.pi * length)


@dataclass(frozen=True, slots=True)
class Electrode:
    """Estimated resistance to earth of one electrode."""

    resistance_ohm: float
    supplement_needed: bool
    """A single rod over 25 ohm gets a second electrode: NEC 250.53(A)(2)."""
    resistivity_for_25_ohm_m: float
    """Soil resistivity at which this electrode would just give 25 ohm."""
    sentence: str
    working: tuple[Step, ...]
    caution: str = CAUTION


@calculation(
    "electrical.rod",
    "Resistance of a ground rod",
    "H. B. Dwight, 1936; IEEE Std 142; NEC 250.53(A)(2)",
    inputs=(
        Input("resistivity_ohm_m", "resistivity", "ohm m", "soil resistivity", low=0.1, high=100_000),
        Input("length_ft", "length", "ft", "length in the earth", default=8.0, low=0.5, high=200),
        Input("diameter_in", "length", "in", "diameter", default=0.625, low=0.1, high=6),
    ),
    outputs=(
        Output("resistance_ohm", "resistance", "ohm", "resistance to earth"),
        Output("supplement_needed", "check", "", "a second electrode is needed"),
        Output("resistivity_for_25_ohm_m", "resistivity", "ohm m", "soil that would give 25 ohm"),
    ),
    caution=CAUTION,
    beyond=(
        "What the rod has: soil differs with depth, season and salt, and only a measurement on the day tells. "
        "Whether the grounding of the installation is safe, which is more than one electrode."
    ),
    # The rod of the test beside it: 5/8 in by 8 ft in soil of 100 ohm m (Dwight 1936).
    example={"resistivity_ohm_m": "100", "length_ft": "8 ft", "diameter_in": "5/8 in"},
)
def rod(*, resistivity_ohm_m: float, length_ft: float = 8.0, diameter_in: float = 0.625) -> Electrode:
    """Return the estimated resistance [ohm] of a driven rod [ft, in] in soil [ohm m], and whether it needs a second.

    An estimate: soil varies with season and depth; the measured value counts.
    Errors: CalcError on a value of zero or less. Source: Dwight 1936; NEC 250.53(A)(2) and exception.

    >>> result = rod(resistivity_ohm_m=100)
    >>> round(result.resistance_ohm, 3), result.supplement_needed, round(result.resistivity_for_25_ohm_m, 2)
    (39.905, True, 62.65)
    """
    length, diameter = FOOT_M * positive("length_ft", length_ft), INCH_M * positive("diameter_in", diameter_in)
    found = rod_resistance_ohm(resistivity_ohm_m=resistivity_ohm_m, length_m=length, diameter_m=diameter)
    for_25 = 25 * resistivity_ohm_m / found
    numbers = f"{text(resistivity_ohm_m)} / (2π · {text(length)}) · (ln(8 · {text(length)} / {text(diameter)}) − 1)"
    working = (
        Step("R", "ρ / (2π L) · (ln(8 L / d) − 1)", numbers, found, "ohm"),
        Step("ρ₂₅", "25 ρ / R", f"25 · {text(resistivity_ohm_m)} / {text(found)}", for_25, "ohm m"),
    )
    second = needs_supplement(found)
    sentence = (
        f"About {text(found, 3)} ohm to earth: {'over' if second else 'within'} the 25 ohm of a single rod"
        f"{', so it gets a second electrode' if second else ''}. Soil of {text(for_25, 3)} ohm m would give 25 ohm."
    )
    return Electrode(found, second, for_25, sentence, working)


def needs_supplement(measured_ohm: float) -> bool:
    """Say whether a single rod, pipe or plate needs a supplemental electrode: over 25 ohm.

    Errors: CalcError on a negative resistance. Source: NEC 2011, 250.53(A)(2) and exception.

    >>> needs_supplement(25), needs_supplement(25.1)
    (False, True)
    """
    return not_negative("measured_ohm", measured_ohm) > 25


CONDUCTORS = ("bar", "copper wire")


def encased_electrode_meets(
    *, conductor: str, length_ft: float, cover_in: float, bar_in: float = 0.0, gauge_awg: int = 99
) -> bool:
    """Say whether a conductor in concrete meets the code's conditions for a concrete-encased electrode.

    At least 20 ft [ft] of bare or conductive-coated steel bar of 1/2 in or more [in], or of bare copper not smaller
    than 4 AWG (a smaller gauge number is a thicker wire; 1/0 is 0, 2/0 is −1), in at least 2 in [in] of concrete that
    touches the earth.
    Errors: CalcError on an unknown conductor, a negative length, cover or bar.
    Source: NEC 250.52(A)(3), as quoted at forums.mikeholt.com.

    >>> encased_electrode_meets(conductor="bar", length_ft=20, cover_in=3, bar_in=0.5)
    True
    """
    if conductor not in CONDUCTORS:
        raise CalcError("conductor", f"expected one of {', '.join(CONDUCTORS)}, got {conductor!r}")
    thick = not_negative("bar_in", bar_in) >= 0.5 if conductor == "bar" else finite("gauge_awg", gauge_awg) <= 4
    return thick and not_negative("length_ft", length_ft) >= 20 and not_negative("cover_in", cover_in) >= 2


def rod_electrode_meets(length_ft: float) -> bool:
    """Say whether a rod has the least length in contact with the earth, 8 ft [ft].

    Errors: CalcError on a negative length. Source: NEC 250.52(A)(5) (from memory).

    >>> rod_electrode_meets(8), rod_electrode_meets(7.5)
    (True, False)
    """
    return not_negative("length_ft", length_ft) >= 8


# --- fall of potential


def hemisphere_reading_ohm(*, resistivity_ohm_m: float, radius_m: float, current_m: float, potential_m: float) -> float:
    """Return what a fall-of-potential test reads [ohm] on a hemisphere electrode in uniform soil.

    ρ/(2π) (1/a − 1/D − 1/x + 1/(D − x)); probe distances D and x [m] from the centre.
    Errors: CalcError on a value of zero or less, a probe inside the electrode or beyond the current probe.
    Source: potentials of point currents; IEEE Std 81.

    >>> round(hemisphere_reading_ohm(resistivity_ohm_m=100, radius_m=0.5, current_m=30, potential_m=15), 4)
    31.3005
    """
    radius, far = positive("radius_m", radius_m), positive("current_m", current_m)
    if not radius <= finite("potential_m", potential_m) < far:
        raise CalcError("potential_m", f"must lie from {radius} to under {far}, got {potential_m}")
    unit = positive("resistivity_ohm_m", resistivity_ohm_m) / (2 * math.pi)
    return unit * (1 / radius - 1 / far - 1 / potential_m + 1 / (far - potential_m))


TRUE_PLACE = (math.sqrt(5) - 1) / 2
"""Place of the potential probe that reads true on a hemisphere: the root of x/D = 1 − (x/D)², 61.8 %. IEEE Std 81."""

SLOPE_RANGE = (0.40, 1.59)
"""Slopes that the printed table holds: outside them the probes stand too near."""


def slope_place(slope: float) -> float:
    """Return where the potential probe reads true, as a share of the current probe's distance, for a slope µ.

    µ = (R3 − R2)/(R2 − R1) of readings at 0.2, 0.4 and 0.6 D. Derived, not copied: the electrical centre of the
    electrode lies a share of D behind the point that distances are measured from; µ gives the share, and the share the
    true place. It gives the rows that were read in the printed table (0.40, 0.50, 0.80) to their last digit.
    Errors: CalcError outside µ 0.40 to 1.59: the probes stand too near, measure farther out.
    Source: G. F. Tagg's slope method; rows in Megger, Getting Down to Earth, table VII, p. 34.

    >>> round(slope_place(0.8), 3)
    0.58
    """
    from scipy.optimize import brentq

    between("slope", slope, *SLOPE_RANGE)
    centre = float(brentq(lambda share: _slope(share) - slope, -0.15, 20.0))
    return float(brentq(lambda x: _excess(x, centre), max(0.0, -centre) + 1e-6, 1 - 1e-9))


def _excess(x: float, centre: float) -> float:
    """Reading less true value, in units of ρ/2πD, the electrical centre a share of D behind zero."""
    return 1 / (1 - x) - 1 / (x + centre) - 1 / (1 + centre)


def _slope(centre: float) -> float:
    near, middle, far = (_excess(x, centre) for x in (0.2, 0.4, 0.6))
    return (far - middle) / (middle - near)


@dataclass(frozen=True, slots=True)
class FallOfPotential:
    """A fall-of-potential test judged by the slope method."""

    slope: float
    place: float
    """Share of the current probe's distance at which the true resistance is read."""
    true_resistance_ohm: float
    """Read off the curve through the three readings at that place; a reading taken there is better."""
    sentence: str
    working: tuple[Step, ...]
    caution: str = CAUTION


@calculation(
    "electrical.fall_of_potential",
    "Fall-of-potential test by the slope method",
    "G. F. Tagg, slope method; rows in Megger, Getting Down to Earth, table VII; IEEE Std 81",
    inputs=(
        Input("near_ohm", "resistance", "ohm", "reading at 20 % of the current probe's distance", low=0),
        Input("middle_ohm", "resistance", "ohm", "reading at 40 %", low=0),
        Input("far_ohm", "resistance", "ohm", "reading at 60 %", low=0),
    ),
    outputs=(
        Output("true_resistance_ohm", "resistance", "ohm", "resistance to earth"),
        Output("place", "ratio", "1", "place of the true reading, share of the current probe's distance"),
        Output("slope", "ratio", "1", "slope of the three readings"),
    ),
    caution=CAUTION,
    beyond=(
        "Whether the current probe stood far enough out or near buried metal: measure once more in another direction. "
        "What the electrode has in a dry season."
    ),
    # The readings of the printed row µ = 0.80 (Megger, Getting Down to Earth, table VII).
    example={"near_ohm": "4.4", "middle_ohm": "4.9", "far_ohm": "5.3"},
)
def fall_of_potential(*, near_ohm: float, middle_ohm: float, far_ohm: float) -> FallOfPotential:
    """Return the slope of three readings [ohm] at 20, 40 and 60 % of D, and where, and what, the true value is.

    Errors: CalcError on readings that do not rise, or a slope outside 0.40 to 1.59 (set the current probe farther out).
    Source: as `slope_place`.

    >>> result = fall_of_potential(near_ohm=4.4, middle_ohm=4.9, far_ohm=5.3)
    >>> round(result.slope, 3), round(result.place, 3), round(result.true_resistance_ohm, 2)
    (0.8, 0.58, 5.27)
    """
    if not positive("near_ohm", near_ohm) < finite("middle_ohm", middle_ohm) < finite("far_ohm", far_ohm):
        raise CalcError("middle_ohm", f"readings rise with distance, got {near_ohm}, {middle_ohm}, {far_ohm}")
    slope = (far_ohm - middle_ohm) / (middle_ohm - near_ohm)
    place = slope_place(slope)
    t = (place - 0.2) / 0.2  # the parabola through readings at t = 0, 1, 2
    value = near_ohm + t * (middle_ohm - near_ohm) + t * (t - 1) / 2 * (far_ohm - 2 * middle_ohm + near_ohm)
    r1, r2, r3 = text(near_ohm), text(middle_ohm), text(far_ohm)
    working = (
        Step("µ", "(R₃ − R₂) / (R₂ − R₁)", f"({r3} − {r2}) / ({r2} − {r1})", slope),
        Step("x/D", "place of the true reading for µ", f"µ {text(slope)}", place),
        Step("R", "curve through the three readings at x/D", f"{r1}, {r2}, {r3} at {text(place)}", value, "ohm"),
    )
    sentence = (
        f"{text(value, 3)} ohm to earth, read at {text(100 * place, 3)} % of the way to the current probe. "
        "Put the potential probe there and read once more."
    )
    return FallOfPotential(slope, place, value, sentence, working)
