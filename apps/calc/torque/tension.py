"""Torque and the preload that it means, which the lubricant decides as much as the wrench."""

from dataclasses import dataclass

from apps.calc.errors import CalcError, not_negative, positive
from apps.calc.registry import Input, Output, calculation
from apps.calc.torque.caution import CAUTION
from apps.calc.torque.rod import GRADES, stress_area, threads_per_inch
from apps.calc.working import Step
from apps.calc.working import number_text as text

# zipfastener.com engineering data. Other handbooks differ (zinc 0.20 to 0.295), so the factor is always an input.
NUT_FACTORS = {
    "dry steel": (0.18, 0.27),
    "machine oil": (0.10, 0.26),
    "cadmium": (0.15, 0.19),
    "phosphate and oil": (0.15, 0.22),
    "zinc": (0.17, 0.35),
}


def torque_for(*, preload_lbf: float, diameter_in: float, nut_factor: float) -> float:
    """Return the torque T = K D F [ft-lb] for a preload [lbf], diameter [in] and nut factor.

    Errors: CalcError on a value of zero or less. Source: common bolting formula, e.g. Bickford.

    >>> round(torque_for(preload_lbf=4940, diameter_in=0.375, nut_factor=0.20), 1)
    30.9
    """
    positive("preload_lbf", preload_lbf)
    return positive("nut_factor", nut_factor) * positive("diameter_in", diameter_in) * preload_lbf / 12


@dataclass(frozen=True, slots=True)
class Preload:
    """Preload of a bolt under a torque, between the ends of the nut factor's range."""

    low_lbf: float
    high_lbf: float
    stress_area_in2: float
    highest_yield_ratio: float | None
    """Stress at the high end over the grade's yield; None without a grade."""
    sentence: str
    working: tuple[Step, ...]
    caution: str = CAUTION


@calculation(
    "torque.preload",
    "Preload that a torque gives",
    "T = K D F; stress area ASME B1.1; nut factors zipfastener.com engineering data",
    inputs=(
        Input("torque_ftlb", "torque", "ft-lb", "torque", low=0),
        Input("diameter_in", "length", "in", "nominal diameter", low=0.2, high=6),
        Input("low_factor", "ratio", "1", "lowest nut factor K", default=0.18, low=0.05, high=1),
        Input("high_factor", "ratio", "1", "highest nut factor K", default=0.27, low=0.05, high=1),
        Input("threads", "ratio", "1", "threads per inch (absent: coarse)", optional=True, low=1, high=80),
        Input("grade", "choice", "", "grade, ASTM F1554", optional=True, choices=tuple(GRADES)),
    ),
    outputs=(
        Output("low_lbf", "force", "lbf", "least preload"),
        Output("high_lbf", "force", "lbf", "greatest preload"),
        Output("highest_yield_ratio", "ratio", "1", "greatest stress over yield"),
    ),
    caution=CAUTION,
    beyond=(
        "The preload of one bolt: only a gauge or a turned nut tells that. On a breakaway base it is no leave to tighten further."
    ),
    # Nut factors of dry steel, zipfastener.com engineering data (tests/calc/test_torque.py, B-D14); bolt and torque invented.
    example={
        "torque_ftlb": "150",
        "diameter_in": "1 in",
        "low_factor": "0.18",
        "high_factor": "0.27",
        "grade": "55",
    },
)
def preload(
    *,
    torque_ftlb: float,
    diameter_in: float,
    low_factor: float = 0.18,
    high_factor: float = 0.27,
    threads: float | None = None,
    grade: str | None = None,
) -> Preload:
    """Return the range of preload [lbf] that a torque [ft-lb] can mean, F = T/(K D), for a range of nut factors.

    The same torque gives twice the preload on an oiled thread: that is why a range comes back and not a number.
    Errors: CalcError on a value of zero or less, factors the wrong way round, an unknown grade or thread.
    Source: T = K D F, common bolting formula; stress area ASME B1.1; F1554 strengths.

    >>> result = preload(torque_ftlb=150, diameter_in=1)
    >>> round(result.low_lbf), round(result.high_lbf)
    (6667, 10000)
    """
    not_negative("torque_ftlb", torque_ftlb)
    if positive("low_factor", low_factor) > positive("high_factor", high_factor):
        raise CalcError("low_factor", f"{low_factor} is over the highest factor, {high_factor}")
    if grade is not None and grade not in GRADES:
        raise CalcError("grade", f"expected one of {', '.join(GRADES)}, got {grade!r}")
    n = threads_per_inch(diameter_in) if threads is None else threads
    area = stress_area(diameter_in, n)
    low, high = (12 * torque_ftlb / (factor * diameter_in) for factor in (high_factor, low_factor))
    ratio = None if grade is None else high / 1000 / area / GRADES[grade].yield_ksi
    shown = f"12 · {text(torque_ftlb)}"
    working = [
        Step("A_t", "π/4 (D − 0.9743/n)²", f"π/4 · ({text(diameter_in)} − 0.9743/{text(n)})²", area, "in²"),
        Step("F_low", "12 T / (K_high D)", f"{shown} / ({high_factor} · {text(diameter_in)})", low, "lbf"),
        Step("F_high", "12 T / (K_low D)", f"{shown} / ({low_factor} · {text(diameter_in)})", high, "lbf"),
    ]
    if grade is not None:
        numbers = f"{text(high / 1000)} / {text(area)} / {GRADES[grade].yield_ksi}"
        working.append(Step("f / F_y", "F_high / A_t / F_y", numbers, ratio))
    said = f"{text(torque_ftlb)} ft-lb on a {text(diameter_in)} in bolt"
    return Preload(low, high, area, ratio, _sentence(said, low, high, ratio), tuple(working))


def _sentence(said: str, low: float, high: float, ratio: float | None) -> str:
    means = f"{said} means anything from {low:,.0f} to {high:,.0f} lbf: the nut factor decides."
    if ratio is None:
        return means
    share = f"{100 * ratio:.0f} % of yield"
    return f"Over yield: up to {share}. {means}" if ratio > 1 else f"{means} At most {share}."
